package cellar

import (
	"fmt"

	"elevage/science/quantity"
)

// A Warning is said before an entry is kept.
type Warning struct {
	Code string
	Says string // a sentence with the figures of this case
	// Stop holds the entry back until it is overruled in words that are kept;
	// otherwise it is only said.
	Stop bool
}

// Warnings are what was found by Weigh.
type Warnings []Warning

// Stops are those that hold the entry back.
func (w Warnings) Stops() []Warning {
	var out []Warning
	for _, one := range w {
		if one.Stop {
			out = append(out, one)
		}
	}
	return out
}

// Weigh looks at a draft before it is kept: a dose ten times the usual, SO2
// before a wanted malolactic fermentation is over, sorbate where lactic bacteria
// may live, a reading far outside what wine has. It changes nothing, and what it
// stops may be overruled in words (Draft.Overruled).
func Weigh(s *State, d Draft) Warnings {
	switch b := d.Body.(type) {
	case Addition:
		return weighAddition(s, b)
	case Reading:
		return weighReading(b)
	case Movement:
		return weighTopping(s, b)
	}
	return nil
}

// absurd is how many times the usual dose is stopped.
const absurd = 10

func weighAddition(s *State, b Addition) (out Warnings) {
	product, known := LookupProduct(b.Product)
	parcel := s.In(b.Vessel)
	if !known || parcel == nil {
		return nil
	}
	mass, err := b.Mass(parcel.Volume)
	if err == nil && parcel.Volume > 0 && product.Usual > 0 {
		rate, of := mass.Per(parcel.Volume), product.Title
		if product.SO2 > 0 {
			rate, of = quantity.Concentration(float64(rate)*product.SO2), "SO2"
		}
		if rate > absurd*product.Usual {
			out = append(out, Warning{Code: "ten-times-usual", Stop: true,
				Says: fmt.Sprintf("%s into %.1f L is %.0f mg/L %s: more than ten times the most that is usual, %.0f mg/L (%s).",
					b.Amount, parcel.Volume.Litres(), rate.MgPerL(), of, product.Usual.MgPerL(), product.Source)})
		}
	}
	if product.SO2 > 0 && s.converting(parcel) {
		out = append(out, Warning{Code: "so2-before-malolactic-end", Stop: true,
			Says: "Malolactic fermentation is wanted in " + b.Vessel + " and has not been declared over: sulfur dioxide now may stop it."})
	}
	if product.Lactic && s.bacteria(parcel) {
		out = append(out, Warning{Code: "sorbate-with-bacteria", Stop: true,
			Says: "Lactic bacteria may live in " + b.Vessel + ": with sorbate they make a smell of geranium leaves, for which there is no remedy."})
	}
	return out
}

// converting says whether conversion is wanted in a parcel's lot and was neither
// declared over nor given up.
func (s *State) converting(p *Parcel) bool {
	lot := s.Lot(p.Lot)
	if lot == nil || lot.Malolactic != MalolacticWanted || p.Form != FormWine {
		return false
	}
	return !s.declared(p, VerdictMalolacticFinished, VerdictMalolacticGivenUp)
}

// bacteria says whether lactic bacteria were given to a wine or wanted in it.
func (s *State) bacteria(p *Parcel) bool {
	if lot := s.Lot(p.Lot); lot != nil && lot.Malolactic == MalolacticWanted {
		return true
	}
	for _, h := range s.History(p.ID) {
		if b, ok := h.Body.(Inoculation); ok && h.Counts() && b.Of == "malolactic" {
			return true
		}
	}
	return false
}

func (s *State) declared(p *Parcel, verdicts ...string) bool {
	yes := false
	for _, h := range s.History(p.ID) {
		b, ok := h.Body.(Verdict)
		if !ok || !h.Counts() {
			continue
		}
		for _, v := range verdicts {
			yes = yes || b.Says == v
		}
		if b.Says == VerdictMalolacticStarted {
			yes = false
		}
	}
	return yes
}

func weighReading(b Reading) Warnings {
	r, ok := LookupReadable(b.What)
	if !ok || len(r.Words) > 0 || r.High == 0 {
		return nil
	}
	u, ok := LookupUnit(b.Value.unit())
	usual, known := LookupUnit(r.Unit)
	n, err := b.Value.Number()
	if !ok || !known || err != nil || u.Dimension != usual.Dimension {
		return nil
	}
	// Density is written on many scales; only the one of the range is weighed.
	if u.Dimension == Gravity && u != usual {
		return nil
	}
	if v := u.base(n); v < usual.base(r.Low) || v > usual.base(r.High) {
		return Warnings{{Code: "unlikely-reading", Stop: true,
			Says: fmt.Sprintf("%s %s is far from what wine has, %g to %g %s: two digits swapped, another unit, or another vessel?", r.Title, b.Value, r.Low, r.High, r.Unit)}}
	}
	return nil
}

// weighTopping warns of sulfited wine going into wine that is to convert.
func weighTopping(s *State, b Movement) (out Warnings) {
	for _, to := range b.To {
		into := s.In(to.Vessel)
		if into == nil || !s.converting(into) {
			continue
		}
		for _, from := range b.From {
			source := s.In(from.Vessel)
			if source == nil || source.ID == into.ID || source.Volume <= 0 {
				continue
			}
			if so2 := source.Amount(SubstanceSO2).Per(source.Volume); so2 > 0 {
				out = append(out, Warning{Code: "topping-with-so2", Stop: true,
					Says: fmt.Sprintf("The wine in %s was given %.0f mg/L SO2, and %s is still to convert: bacteria may stop.", from.Vessel, so2.MgPerL(), to.Vessel)})
			}
		}
	}
	return out
}
