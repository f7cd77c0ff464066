package gather

import (
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track/primary"
	"elevage/science/quantity"
)

// oldNews: a ferment whose last density is older than this is not followed; it
// was dry long ago and nobody wrote it down.
const oldNews = 21 * 24 * time.Hour

// Primary gathers what the belief about primary fermentation of a parcel wants to
// know. It is false for fruit and bottles, for what was declared dry, for wine
// that was never must here, and where no density was read of late.
func Primary(s *cellar.State, p *cellar.Parcel, at time.Time) (primary.Input, bool) {
	lot := s.Lot(p.Lot)
	if lot == nil || p.Ended() || (p.Form != cellar.FormMust && p.Form != cellar.FormWine) {
		return primary.Input{}, false
	}
	events := History(s, p, at)
	in := primary.Input{Volume: p.Volume, Red: lot.Colour == "red" || lot.Colour == "", At: at.Truncate(time.Hour).Add(time.Hour)}
	var read time.Time
	for _, e := range events {
		switch b := e.Body.(type) {
		case cellar.Crush:
			if in.Pitched.IsZero() {
				in.Pitched, in.Wild = e.At, true
			}
		case cellar.Inoculation:
			switch {
			case b.Of == "malolactic":
				in.Bacteria = e.At
			case in.Pitched.IsZero() || in.Wild:
				in.Pitched, in.Wild = e.At, b.How == "native"
			}
		case cellar.Verdict:
			if b.Says == cellar.VerdictDry {
				return in, false
			}
		case cellar.Addition:
			addMust(&in, b, e)
		case cellar.Reading:
			if addDensity(&in, b, e) {
				read = e.At
			}
		case cellar.Warmth:
			if t, err := b.Set.Temperature(); err == nil {
				in.Warmth = append(in.Warmth, primary.Temperature{At: e.At, Value: t})
			}
		}
	}
	return in, !in.Pitched.IsZero() && !read.IsZero() && at.Sub(read) < oldNews
}

// addMust counts what was given to the must: sugar and nitrogen.
func addMust(in *primary.Input, b cellar.Addition, e Event) {
	volume, _ := e.Here.VolumeAt(e.At)
	m, err := b.Mass(volume)
	if err != nil || volume <= 0 {
		return
	}
	rate := m.Per(volume)
	// Nitrogen of diammonium phosphate: 2 × 14.007 / 132.06, stoichiometry.
	const nitrogenOfDAP = 0.2121
	switch b.Product {
	case "sugar":
		in.Sugared = append(in.Sugared, primary.Dose{At: e.At, Amount: rate})
	case "diammonium-phosphate":
		in.Nutrients = append(in.Nutrients, primary.Dose{At: e.At, Amount: quantity.Concentration(float64(rate) * nitrogenOfDAP)})
	}
}

// addDensity adds a reading that the ferment is followed by; it is false for others.
func addDensity(in *primary.Input, b cellar.Reading, e Event) bool {
	if b.Control {
		return false
	}
	r := primary.Reading{ID: string(e.Entry.ID), At: e.At, Degassed: b.Degassed, Instrument: b.Instrument}
	if t, err := b.Warm.Temperature(); err == nil {
		r.Temperature = t
	}
	v, ok := number(b.Value)
	if !ok {
		return false
	}
	switch b.What {
	case cellar.ReadDensity:
		if byLight := b.Method == "refractometer"; b.Value.Unit == "°Brix" || b.Value.Unit == "°P" {
			r.What, r.Value = primary.Brix, v
			if byLight {
				r.What = primary.Refractometer
			}
			break
		}
		sg, err := b.Value.Gravity()
		if err != nil {
			return false
		}
		r.What, r.Value = primary.Gravity, float64(sg)
	case cellar.ReadSugar:
		c := concentration(b.Value)
		if c == nil {
			return false
		}
		r.What, r.Value = primary.SugarTest, c.GPerL()
	case cellar.ReadTemperature:
		if t, err := b.Value.Temperature(); err == nil {
			in.Warmth = append(in.Warmth, primary.Temperature{At: e.At, Value: t})
		}
		return false
	case cellar.ReadYAN:
		if c := concentration(b.Value); c != nil {
			in.Nitrogen = &primary.Measured{Value: *c}
		}
		return false
	case cellar.ReadPH:
		if p, err := b.Value.PH(); err == nil && in.PH == 0 {
			in.PH = p
		}
		return false
	default:
		return false
	}
	in.Readings = append(in.Readings, r)
	return true
}
