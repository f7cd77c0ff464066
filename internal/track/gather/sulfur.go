package gather

import (
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track/ageing"
	oxygen "elevage/science/ageing"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// Priors of what a wine is when nobody has measured it; the beliefs widen for it.
const (
	usualPH      quantity.PH       = 3.5
	unmeasuredPH                   = 0.2 // one standard deviation of a finished wine's pH around that
	usualAlcohol quantity.Strength = 13
)

// Floor is the molecular SO2 to stay above, by colour: reds 0.5, whites and rosés
// 0.8 mg/L by the handbook rule. Common practice, no source; the person may
// choose otherwise.
func Floor(colour string) sulfite.Target {
	mg := 0.5
	if colour == "white" || colour == "rosé" {
		mg = 0.8
	}
	t, err := sulfite.Handbook.Target(quantity.Concentration(mg) * quantity.MilligramPerLitre)
	if err != nil {
		panic("gather: a constant target is out of range: " + err.Error())
	}
	return t
}

// Sulfur gathers what the SO2 belief of a parcel wants to know. It is false for
// parcels that neither were given SO2 nor had it measured since they became
// wine, for wine that is still wanted to convert and was given none (its SO2 is
// to stay low), and for fruit and must.
func Sulfur(s *cellar.State, p *cellar.Parcel, at time.Time) (ageing.Input, bool) {
	lot, vessel := s.Lot(p.Lot), s.Vessel(p.Vessel)
	if lot == nil || vessel == nil || p.Ended() || (p.Form != cellar.FormWine && p.Form != cellar.FormBottle) {
		return ageing.Input{}, false
	}
	events := History(s, p, at)
	in := ageing.Input{
		Vessel: vesselKind(vessel), Size: vessel.Capacity(), Volume: p.Volume,
		PH: usualPH, PHSD: unmeasuredPH, Alcohol: usualAlcohol, Red: lot.Colour == "red" || lot.Colour == "",
		// The end of the hour: what was logged in it counts, and the belief need
		// not be computed anew every minute.
		At: at.Truncate(time.Hour).Add(time.Hour), Floor: Floor(lot.Colour), Closed: p.Form == cellar.FormBottle,
	}
	if r, _, ok := latest(events, cellar.ReadPH, at); ok {
		if v, err := r.Value.PH(); err == nil {
			in.PH, in.PHSD = v, 0
		}
	}
	if r, _, ok := latest(events, cellar.ReadAlcohol, at); ok {
		if v, err := r.Value.Strength(); err == nil {
			in.Alcohol = v
		}
	}
	for _, h := range s.History(p.ID) {
		here := s.Parcel(h.Parcel)
		if !h.Counts() || h.At.After(at) || here.Form != cellar.FormWine && here.Form != cellar.FormBottle {
			continue
		}
		share := h.Share
		if here == p || here.Ended() { // of one that lasts it is not told when the wine left it
			share *= undiluted(here, h.At, at)
		}
		if r, ok := h.Body.(cellar.Reading); ok && r.What == cellar.ReadPH && !r.Control && share >= mainStream {
			if in.PHSD = 0; share < 0.9 {
				in.PHSD = unmeasuredPH * (1 - share)
			}
		}
		addSulfur(&in, Event{h.Record, here}, share)
	}
	for i, r := range p.Inflows {
		if i > 0 && r.Share < mainStream {
			in.Events = append(in.Events, ageing.Event{ID: string(r.Entry), At: r.At, Kind: oxygen.Topping})
		}
	}
	if s.Wish(lot) == cellar.MalolacticWanted && len(in.Doses) == 0 && !settled(events) {
		return in, false
	}
	return in, len(in.Doses)+len(in.Readings) > 0
}

// undiluted is what part of a parcel's wine at a moment was there since another: other
// wine may have come in meanwhile.
func undiluted(p *cellar.Parcel, since, until time.Time) float64 {
	part := 1.0
	for i := 0; i < len(p.Inflows); {
		came, first := 0.0, p.Inflows[i]
		for ; i < len(p.Inflows) && p.Inflows[i].Entry == first.Entry; i++ {
			came += p.Inflows[i].Share
		}
		if first.At.After(since) && !first.At.After(until) {
			part *= max(0, 1-came)
		}
	}
	return part
}

// What wine may hold of which nothing is known, mg/L, when some of it goes into other
// wine: ours, a proposal, low so that a dose is rather too early than too late.
const (
	strangeFree  = 10 * quantity.MilligramPerLitre
	strangeTotal = 40 * quantity.MilligramPerLitre
)

// addSulfur adds what an entry says of a wine of which a share was there. A dose is
// diluted with it, to the milligram. A reading speaks for the share; of the rest
// little is known.
func addSulfur(in *ageing.Input, e Event, share float64) {
	id := string(e.Entry.ID)
	switch b := e.Body.(type) {
	case cellar.Addition:
		if so2, ok := sulfurOf(b, e); ok {
			in.Doses = append(in.Doses, ageing.Dose{ID: id, At: e.At, SO2: quantity.Concentration(share * float64(so2))})
		}
		return
	}
	if share < mainStream {
		return
	}
	switch b := e.Body.(type) {
	case cellar.Reading:
		if b.Control {
			return
		}
		if b.What == cellar.ReadTemperature {
			if t, err := b.Value.Temperature(); err == nil {
				in.Temperatures = append(in.Temperatures, ageing.Temperature{At: e.At, Value: t})
			}
		}
		of := map[string]ageing.Of{cellar.ReadFreeSO2: ageing.Free, cellar.ReadTotalSO2: ageing.Total}[b.What]
		if c := concentration(b.Value); of != "" && c != nil {
			r := ageing.Reading{ID: id, At: e.At, Of: of, Method: method(b.Method), Value: *c, Below: b.Value.Bound() == "<"}
			if share < 1 {
				strange := quantity.Concentration(1-share) * strangeFree
				if of == ageing.Total {
					strange = quantity.Concentration(1-share) * strangeTotal
				}
				r.Value, r.Beside = quantity.Concentration(share)*r.Value+strange, strange
			}
			in.Readings = append(in.Readings, r)
		}
	case cellar.Warmth:
		if t, err := b.Set.Temperature(); err == nil {
			in.Temperatures = append(in.Temperatures, ageing.Temperature{At: e.At, Value: t})
		}
	case cellar.Movement:
		if strings.Contains(b.How, "racking") {
			in.Events = append(in.Events, ageing.Event{ID: id, At: e.At, Kind: oxygen.RackingCareful})
		}
	case cellar.Stirring:
		in.Events = append(in.Events, ageing.Event{ID: id, At: e.At, Kind: oxygen.Stirring})
	case cellar.Treatment:
		if b.What == "filtration" {
			in.Events = append(in.Events, ageing.Event{ID: id, At: e.At, Kind: oxygen.Filtration})
		}
	}
}

// sulfurOf is the SO2 that an addition brought, per litre of the wine it went
// into; false for products that bring none or amounts that do not tell.
func sulfurOf(b cellar.Addition, e Event) (quantity.Concentration, bool) {
	p, ok := cellar.LookupProduct(b.Product)
	volume, _ := e.Here.VolumeAt(e.At)
	if !ok || p.SO2 == 0 || volume <= 0 {
		return 0, false
	}
	m, err := b.Mass(volume)
	if err != nil {
		return 0, false
	}
	return quantity.Mass(float64(m) * p.SO2).Per(volume), true
}

// method reads the word a person wrote for how SO2 was measured; iodine is what
// a kit without a name most often is.
func method(word string) ageing.Method {
	for _, m := range ageing.Methods() {
		if string(m) == word {
			return m
		}
	}
	switch {
	case strings.Contains(word, "strip"):
		return ageing.Strip
	case strings.Contains(word, "lab"):
		return ageing.Laboratory
	}
	return ageing.Iodine
}

func vesselKind(v *cellar.Vessel) oxygen.Vessel {
	switch {
	case v.Bottles:
		return oxygen.CorkBottle
	case v.Type == "barrel" || v.Material == "oak":
		return oxygen.Barrel
	case v.Type == "keg" || v.Type == "tank" || v.Material == "steel":
		return oxygen.Steel
	case v.Material == "plastic" || v.Type == "bucket" || v.Type == "bag" || v.Type == "bin":
		return oxygen.Plastic
	}
	return oxygen.Glass
}
