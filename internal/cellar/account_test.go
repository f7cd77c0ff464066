package cellar

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// What came in through the doors, less what went out, is what is there: for
// volume, and for every substance ever added, in any history whatever.
func TestWhatIsThereCameThroughADoor(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		balance(t, Fold(history(t), Options{}))
	})
}

type failer interface {
	Helper()
	Errorf(format string, args ...any)
}

func balance(t failer, s *State) {
	t.Helper()
	var volume, size float64
	amounts := map[string]float64{}
	for _, p := range s.Passages {
		volume += p.Volume.Litres()
		size += math.Abs(p.Volume.Litres())
		for _, a := range p.Amounts {
			amounts[a.Substance] += a.Mass.Grams()
		}
	}
	for _, p := range s.Parcels {
		if p.Ended() {
			if p.Volume != 0 {
				t.Errorf("%s has ended and holds %v L", p.ID, p.Volume)
			}
			continue
		}
		if p.Form != FormFruit && p.Volume <= 0 || p.Volume != p.Volume || p.Spread != p.Spread {
			t.Errorf("%s holds %v ± %v L", p.ID, p.Volume, p.Spread)
		}
		volume -= p.Volume.Litres()
		var share float64
		for _, r := range p.Roots {
			share += r.Share
			if r.Share <= 0 {
				t.Errorf("%s has a root with a share of %v", p.ID, r.Share)
			}
		}
		if math.Abs(share-1) > 1e-9 {
			t.Errorf("the shares of %s add up to %v: %v", p.ID, share, p.Roots)
		}
		for _, a := range p.Amounts {
			if a.Mass < 0 {
				t.Errorf("%s holds %v g of %s", p.ID, a.Mass, a.Substance)
			}
			amounts[a.Substance] -= a.Mass.Grams()
		}
	}
	// Rounding of sums of a few hundred terms.
	if math.Abs(volume) > 1e-9*(1+size) {
		t.Errorf("%v L did not come through a door: %v", volume, s.Passages)
	}
	for what, left := range amounts {
		if math.Abs(left) > 1e-9*(1+size) {
			t.Errorf("%v g of %s did not come through a door: %+v", left, what, s.Passages)
		}
	}
}

// In any history, a parcel's inflows are shares of it, its levels are in time,
// every event stands with the parcel that its record names, and what a vessel
// holds is the last of its parcels.
func TestStateHangsTogether(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := Fold(history(t), Options{})
		for _, p := range s.Parcels {
			for i, l := range p.Levels {
				if i > 0 && l.At.Before(p.Levels[i-1].At) {
					t.Errorf("%s: levels out of time", p.ID)
				}
			}
			if last := p.Levels[len(p.Levels)-1]; p.Ended() != (last.Volume == 0 && p.Form != FormFruit) && p.Form != FormFruit {
				t.Errorf("%s: ended %v with a last level of %v", p.ID, p.Ended(), last.Volume)
			}
			for _, in := range p.Inflows {
				if in.Share < 0 || in.Share > 1+1e-9 || in.Volume < 0 {
					t.Errorf("%s: inflow %+v", p.ID, in)
				}
				if in.From != "" && s.Parcel(in.From) == nil {
					t.Errorf("%s: inflow from nowhere: %+v", p.ID, in)
				}
			}
			v := s.Vessel(p.Vessel)
			if !p.Ended() && v.Holds != p {
				t.Errorf("%s lasts, and %s holds another", p.ID, p.Vessel)
			}
			for _, h := range s.History(p.ID) {
				if h.Share <= 0 || h.Share > 1+1e-9 {
					t.Errorf("%s: %s has a share of %v", p.ID, h.Entry.Kind, h.Share)
				}
			}
		}
		for _, r := range s.Records {
			if !r.Counts() && len(r.Parcels) > 0 {
				t.Errorf("an entry that does not count touches %v", r.Parcels)
			}
		}
	})
}
