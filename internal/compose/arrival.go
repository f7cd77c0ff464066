package compose

import (
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// An Arrival is wine that came into a parcel after it began: a topping, a blend, a
// starter. It says what a belief about the parcel has to be told in mid-course:
// which share of the wine, just after, came with it, and what it brought.
type Arrival struct {
	At     time.Time
	Entry  cellar.ID
	From   cellar.ParcelID // "" from outside
	Volume quantity.Volume
	Share  float64 // of the parcel, just after
	Brings Wine    // what came, as it was; zero where that is not known
	// Live says that the wine that came was converting: a culture was given to it, or
	// its conversion declared begun, and it was not declared over. Its bacteria came
	// along.
	Live bool
	// SO2 and Malic are by how much it moved the total sulfur dioxide and the malic
	// acid of the parcel.
	SO2, Malic Figure[quantity.Concentration]
}

// Arrivals is every arrival in a parcel up to a moment, in time. The wine that the
// parcel began with is none, nor is what came in the same entry.
func Arrivals(s *cellar.State, id cellar.ParcelID, until time.Time) []Arrival {
	p := s.Parcel(id)
	if p == nil {
		return nil
	}
	var out []Arrival
	for _, in := range p.Inflows {
		if in.Entry == p.Start || in.At.After(until) {
			continue
		}
		a := Arrival{At: in.At, Entry: in.Entry, From: in.From, Volume: in.Volume, Share: in.Share}
		if in.From != "" {
			a.brought(s, id)
		}
		out = append(out, a)
	}
	return out
}

// brought finds what the wine was that came, and what the parcel was before.
func (a *Arrival) brought(s *cellar.State, id cellar.ParcelID) {
	a.Live = live(s, a.From, a.At)
	just := a.At.Add(-time.Nanosecond) // as both were before the entry
	wines, err := All(s, []cellar.ParcelID{a.From, id}, just)
	if err != nil {
		return
	}
	a.Brings = wines[0]
	moves := func(k int) Figure[quantity.Concentration] {
		d := wines[0].body.f[k].minus(wines[1].body.f[k]).times(a.Share)
		how := Reckon
		if wines[0].body.assumed[k] > 0.5 || wines[1].body.assumed[k] > 0.5 {
			how = Assumed
		}
		return Figure[quantity.Concentration]{Value: gPerL(d.v), SD: gPerL(d.sd()), How: how}
	}
	a.SO2, a.Malic = moves(so2), moves(malic)
}

// live says whether a wine was converting at a moment, by what was done and declared.
func live(s *cellar.State, id cellar.ParcelID, at time.Time) bool {
	on := false
	for _, h := range s.History(id) {
		if h.At.After(at) || !h.Counts() || h.Share < 0.5 {
			continue
		}
		switch b := h.Body.(type) {
		case cellar.Inoculation:
			on = on || b.Of == "malolactic"
		case cellar.Verdict:
			switch b.Says {
			case cellar.VerdictMalolacticStarted:
				on = true
			case cellar.VerdictMalolacticFinished, cellar.VerdictMalolacticGivenUp:
				on = false
			}
		}
	}
	return on
}
