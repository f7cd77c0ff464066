package acidbase

import (
	"fmt"
	"math"

	"elevage/science/quantity"
)

// An Amount is a concentration that may or may not have been measured. The zero
// value is "not measured"; Given makes a measured one.
type Amount struct {
	c     quantity.Concentration
	given bool
}

// Given is a measured amount, zero included.
func Given(c quantity.Concentration) Amount { return Amount{c: c, given: true} }

// Value is the amount and whether it was measured.
func (a Amount) Value() (quantity.Concentration, bool) { return a.c, a.given }

func (a Amount) or(c quantity.Concentration) quantity.Concentration {
	if a.given {
		return a.c
	}
	return c
}

// Amounts assumed of acids that were not measured: a finished wine of middling
// make. They lie within what was measured in six white wines (Prenesti and
// co-authors 2012, table 1: succinic 0.24 to 0.92, acetic 0.24 to 0.71, citric
// 0.26 to 0.72 g/L; lactic 0.37 to 1.12, some of it from malolactic conversion).
// Tartaric acid makes up for what they miss, so the buffer stays nearly right.
const (
	AssumedLactic   = 0.2 * quantity.GramPerLitre
	AssumedSuccinic = 0.7 * quantity.GramPerLitre
	AssumedCitric   = 0.2 * quantity.GramPerLitre
	AssumedAcetic   = 0.3 * quantity.GramPerLitre
)

// Measured is what is known of a wine from readings. PH, TA, EndPoint, Alcohol
// and Temperature are required; Malic counts as it stands (zero is zero).
type Measured struct {
	PH       quantity.PH
	TA       quantity.Concentration // expressed as TAAs
	TAAs     Acid                   // the zero value is tartaric
	EndPoint quantity.PH
	Malic    quantity.Concentration

	Tartaric, Lactic, Succinic, Citric, Acetic Amount

	FreeSO2   quantity.Concentration
	CO2       quantity.Concentration // left in the sample when it was read; 0 if degassed
	Phosphate quantity.Concentration
	Potassium Amount
	Calcium   Amount

	Alcohol     quantity.Strength
	Temperature quantity.Temperature // of the readings; both are taken to be at it
}

// Solved names what Anchor solved for, besides the strong-ion excess, to honour
// both readings.
type Solved uint8

// What can be solved for.
const (
	SolvedTartaric Solved = iota // the usual case: tartaric acid was not measured
	SolvedOther                  // tartaric acid was measured: the lumped acid took up the rest
	// SolvedMinor: the readings leave no room for tartaric acid (or, with tartaric
	// measured, for any lumped acid) beside the assumed minor acids, so these were
	// made less, all in one proportion, and tartaric acid is zero (or as measured).
	// The readings and the malic acid hardly agree.
	SolvedMinor
)

// String says it in words.
func (s Solved) String() string {
	switch s {
	case SolvedTartaric:
		return "tartaric acid solved for"
	case SolvedOther:
		return "tartaric acid as measured, other acids solved for"
	case SolvedMinor:
		return "no room for tartaric acid: the assumed minor acids were made less"
	}
	return "unknown"
}

// A Wine is a composition that honours a pH and a titratable acidity exactly,
// with a record of how that was brought about.
type Wine struct {
	Composition
	Solved   Solved
	Assumed  []Acid // acids that were assumed, not measured; a shared slice, not to be changed
	EndPoint quantity.PH
	// MinorShare is what SolvedMinor multiplied the assumed acids by; 1 otherwise.
	MinorShare float64
}

// A Contradiction says that a pH, a titratable acidity and the measured acids
// cannot all be true: even without any unmeasured acid, bringing the wine to the
// end point would take more base than was measured.
type Contradiction struct {
	PH       quantity.PH
	TA       quantity.Molarity // measured, mol/L of charge
	Needed   quantity.Molarity // taken by the measured acids alone
	EndPoint quantity.PH
}

// Error names the figures that disagree.
func (c *Contradiction) Error() string {
	return fmt.Sprintf("titratable acidity of %.2f g/L as tartaric acid (to pH %.1f) is too low: at pH %.2f the measured acids alone take %.2f g/L",
		Tartaric.FromEquivalents(c.TA).GPerL(), float64(c.EndPoint), float64(c.PH), Tartaric.FromEquivalents(c.Needed).GPerL())
}

// Anchor finds the composition that honours both the pH and the titratable
// acidity exactly: the strong-ion excess balances the charges at the measured
// pH, and tartaric acid (or what Solved names) takes up the titratable acidity.
//
// It returns a *quantity.RangeError for input that no wine has, and a
// *Contradiction if the readings exclude each other.
func Anchor(r Measured) (Wine, error) {
	m, err := NewMedium(r.Alcohol, r.Temperature)
	if err != nil {
		return Wine{}, err
	}
	return m.Anchor(&r)
}

// Anchor is the function of the same name in this medium; the readings' own
// alcohol and temperature are only copied. It does not allocate unless it fails.
func (m *Medium) Anchor(r *Measured) (Wine, error) {
	w := Wine{EndPoint: r.EndPoint, MinorShare: 1, Composition: r.composition(), Assumed: r.assumed()}
	if err := r.check(); err != nil {
		return w, err
	}
	if err := w.Check(); err != nil {
		return w, err
	}
	p := problem{medium: m, tot: w.totals(), calcium: w.calcium(), inert: w.InertSalt.MolPerL()}
	ta := r.TAAs.Equivalents(r.TA).MolPerL()

	var unit totals
	w.Solved = SolvedTartaric
	if r.Tartaric.given {
		w.Solved = SolvedOther
		unit[Lactic], unit[Succinic] = otherAsLactic, otherAsSuccinic
	} else {
		unit[Tartaric] = 1
	}
	x, strong := p.fit(&unit, float64(r.PH), float64(r.EndPoint), ta)
	switch {
	case x >= 0 && w.Solved == SolvedTartaric:
		w.Tartaric = Tartaric.Concentration(quantity.Molarity(x))
	case x >= 0:
		w.Other = quantity.Molarity(x)
	default:
		var err error
		if strong, err = w.shrinkMinor(m, r, ta); err != nil {
			return w, err
		}
	}
	w.StrongIons = quantity.Molarity(strong)
	w.assumePotassium(r)
	return w, w.Check()
}

// shrinkMinor scales the assumed acids down until the titratable acidity is met.
func (w *Wine) shrinkMinor(m *Medium, r *Measured, ta float64) (strong float64, err error) {
	minor := Composition{}
	for _, a := range w.Assumed {
		*minor.amount(a) = *w.amount(a)
		*w.amount(a) = 0
	}
	unit := minor.totals()
	p := problem{medium: m, tot: w.totals(), calcium: w.calcium(), inert: w.InertSalt.MolPerL()}
	x := -1.0
	if len(w.Assumed) > 0 {
		x, strong = p.fit(&unit, float64(r.PH), float64(r.EndPoint), ta)
	}
	if x < 0 {
		start, end := p.titrated(float64(r.PH)), p.titrated(float64(r.EndPoint))
		return 0, &Contradiction{PH: r.PH, TA: quantity.Molarity(ta), EndPoint: r.EndPoint,
			Needed: quantity.Molarity(end.need() - start.need())}
	}
	for _, a := range w.Assumed {
		*w.amount(a) = *minor.amount(a) * quantity.Concentration(x)
	}
	w.Solved, w.MinorShare = SolvedMinor, x
	return strong, nil
}

// fit finds x such that the acids p.tot + x·unit, whose charges balance at ph,
// take ta of strong base to the end point; and the strong-ion excess. At fixed
// ionic strengths both conditions are linear in x, so only the ionic strengths
// have to settle. x may come out negative; p.tot is left at p.tot + x·unit then as well.
func (p *problem) fit(unit *totals, ph, end, ta float64) (x, strong float64) {
	base := p.tot
	a := state{lnh: -ph * math.Ln10, ionic: 0.03}
	b := state{lnh: -end * math.Ln10, ionic: 0.1}
	a.h, b.h = math.Exp(a.lnh), math.Exp(b.lnh)
	for range maxIterations {
		needA, squareA, perA, perSquareA := p.split(&a, &base, unit)
		needB, squareB, perB, perSquareB := p.split(&b, &base, unit)
		x = (ta - (needB - needA)) / (perB - perA)
		strong = needA + x*perA
		a.square, b.square = squareA+x*perSquareA, squareB+x*perSquareB
		// A negative x is only looked at for its sign; keep the ionic strength real.
		ionicA := math.Max(0, p.ionicStrength(&a, strong))
		ionicB := math.Max(0, p.ionicStrength(&b, strong+ta))
		settled := math.Abs(ionicA-a.ionic) < 1e-15+1e-14*ionicA && math.Abs(ionicB-b.ionic) < 1e-15+1e-14*ionicB
		a.ionic, b.ionic = ionicA, ionicB
		if settled {
			break
		}
	}
	for i := range p.tot {
		p.tot[i] = base[i] + x*unit[i]
	}
	return x, strong
}

// split gives the strong ions needed and Σ c z² of the base, and both per unit
// of the acid solved for.
func (p *problem) split(s *state, base, unit *totals) (need, square, perNeed, perSquare float64) {
	s.g = p.medium.inverseGamma(s.ionic)
	s.hc = s.h * s.g
	s.oh = p.medium.kw * s.g / s.h
	fixed := p.medium.dissociate(base, s.h, s.g)
	per := p.medium.dissociate(unit, s.h, s.g)
	return fixed.charge + s.oh - s.hc, fixed.square, per.charge, per.square
}

// check refuses readings that no must or wine gives.
func (r *Measured) check() error {
	if ph := float64(r.PH); !(ph >= 2 && ph <= 5) {
		return quantity.Check("pH", ph, "", 2, 5)
	}
	if err := checkEndPoint(r.EndPoint); err != nil {
		return err
	}
	if !r.TAAs.Known() {
		return quantity.Check("acid that titratable acidity is expressed as", float64(r.TAAs), "", 0, float64(Sulfuric))
	}
	if ta := Tartaric.FromEquivalents(r.TAAs.Equivalents(r.TA)).GPerL(); !(ta > 0 && ta <= 30) {
		return quantity.Check("titratable acidity", ta, "g/L as tartaric acid", 0.1, 30)
	}
	return nil
}

func (r *Measured) composition() Composition {
	return Composition{
		Tartaric: r.Tartaric.or(0), Malic: r.Malic,
		Lactic: r.Lactic.or(AssumedLactic), Succinic: r.Succinic.or(AssumedSuccinic),
		Citric: r.Citric.or(AssumedCitric), Acetic: r.Acetic.or(AssumedAcetic),
		FreeSO2: r.FreeSO2, CO2: r.CO2, Phosphate: r.Phosphate,
		Potassium: r.Potassium.or(0), Calcium: r.Calcium.or(0),
		Alcohol: r.Alcohol, Temperature: r.Temperature,
	}
}

// minorSets holds every combination of the four minor acids, so that naming the
// assumed ones needs no allocation.
var minorSets = func() (sets [16][]Acid) {
	for mask := range sets {
		for bit, a := range [...]Acid{Lactic, Succinic, Citric, Acetic} {
			if mask&(1<<bit) != 0 {
				sets[mask] = append(sets[mask], a)
			}
		}
	}
	return sets
}()

func (r *Measured) assumed() []Acid {
	mask := 0
	for bit, given := range [...]bool{r.Lactic.given, r.Succinic.given, r.Citric.given, r.Acetic.given} {
		if !given {
			mask |= 1 << bit
		}
	}
	return minorSets[mask]
}

// assumePotassium takes potassium to be all of the strong-ion excess where it was not measured.
func (w *Wine) assumePotassium(r *Measured) {
	if r.Potassium.given {
		return
	}
	w.Potassium = quantity.Concentration(math.Max(0, w.StrongIons.MolPerL()) * potassiumMass)
}
