package desk

import (
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/gather"
	"elevage/science/quantity"
)

// WarnConversionForeseen is the code of a warning that wine on its way into a
// converting parcel will tell on the conversion.
const WarnConversionForeseen = "conversion-foreseen"

// Foresee says, before a movement is kept, what the wine that it brings does to a
// conversion under way: the belief with it against the belief without. It is silent
// where that is not worth a word.
func (v *View) Foresee(d cellar.Draft) cellar.Warnings {
	move, ok := d.Body.(cellar.Movement)
	if !ok {
		return nil
	}
	var out cellar.Warnings
	for _, to := range move.To {
		into := v.State.In(to.Vessel)
		if into == nil || into.Volume <= 0 {
			continue
		}
		in, _, ok := gather.Malolactic(v.State, into, v.Now, nil)
		if !ok {
			continue
		}
		for _, part := range v.parts(move, to) {
			if part.from == into.ID {
				continue
			}
			inflow := gather.Inflow(v.State, part.from, float64(part.volume/(into.Volume+part.volume)), v.Now)
			t, err := track.Topped(in, inflow)
			if err != nil || len(t.Says) == 0 {
				continue
			}
			out = append(out, cellar.Warning{Code: WarnConversionForeseen,
				Says: "With " + inflow.Name + " in " + to.Vessel + ", " + strings.Join(t.Says, "; ") + "."})
		}
	}
	return out
}

// A part is a volume of one wine on its way; from is "" for wine from outside.
type part struct {
	from   cellar.ParcelID
	volume quantity.Volume
}

// parts are the wines that go into one destination, in proportion to what is taken
// of each.
func (v *View) parts(move cellar.Movement, to cellar.Portion) []part {
	var out []part
	var taken quantity.Volume
	for _, f := range move.From {
		p := v.State.In(f.Vessel)
		if p == nil {
			continue
		}
		volume := p.Volume
		if !f.All {
			if l, _, err := f.Volume.Volume(); err == nil {
				volume = l
			} else if l, _, err := to.Volume.Volume(); err == nil && len(move.From) == 1 {
				volume = l
			} else {
				continue
			}
		}
		out = append(out, part{p.ID, volume})
		taken += volume
	}
	arrives, _, err := to.Volume.Volume()
	switch {
	case err != nil:
		return out
	case len(move.From) == 0:
		return []part{{"", arrives}}
	}
	for i := range out {
		out[i].volume *= arrives / max(taken, 1e-9)
	}
	return out
}
