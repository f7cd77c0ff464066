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

// balance replays every transfer: out of nothing but these, each parcel must come to
// hold what the state says it holds, or nothing if it has ended; shares that leave
// one parcel in one entry may not add up to more than all of it.
func balance(t failer, s *State) {
	t.Helper()
	held := map[ParcelID]float64{}
	amounts := map[ParcelID]map[string]float64{}
	shares := map[ParcelID]float64{}
	var size float64
	var entry ID
	for _, x := range s.Transfers.All() {
		if x.Entry != entry {
			entry = x.Entry
			clear(shares)
		}
		if x.Volume < 0 || x.Share < 0 || x.Share > 1 || x.From == "" && x.To == "" || (x.Door == "") != (x.From != "" && x.To != "") || x.From == x.To {
			t.Errorf("a transfer of no kind: %+v", x)
		}
		size += x.Volume.Litres()
		if x.From != "" {
			held[x.From] -= x.Volume.Litres()
			if shares[x.From] += x.Share; shares[x.From] > 1+1e-9 {
				t.Errorf("%v of %s leaves at once: %+v", shares[x.From], x.From, x)
			}
		}
		if x.To != "" {
			held[x.To] += x.Volume.Litres()
		}
		for _, a := range x.Amounts {
			for id, sign := range map[ParcelID]float64{x.From: -1, x.To: 1} {
				if id != "" {
					if amounts[id] == nil {
						amounts[id] = map[string]float64{}
					}
					amounts[id][a.Substance] += sign * a.Mass.Grams()
				}
			}
		}
	}
	for _, p := range s.Parcels.All() {
		if p.Ended() && p.Volume != 0 || !p.Ended() && (p.Form != FormFruit && p.Volume <= 0 || p.Volume != p.Volume || p.Spread != p.Spread) {
			t.Errorf("%s holds %v ± %v L, ended %v", p.ID, p.Volume, p.Spread, p.Ended())
		}
		// Rounding of sums of a few hundred terms.
		if off := held[p.ID] - p.Volume.Litres(); math.Abs(off) > 1e-9*(1+size) {
			t.Errorf("%s holds %v L of which %v L came by no transfer: %+v", p.ID, p.Volume, off, s.Transfers.Slice())
		}
		for _, a := range p.Amounts {
			if a.Mass < 0 {
				t.Errorf("%s holds %v g of %s", p.ID, a.Mass, a.Substance)
			}
			if !p.Ended() {
				amounts[p.ID][a.Substance] -= a.Mass.Grams()
			}
		}
		for what, left := range amounts[p.ID] {
			if math.Abs(left) > 1e-9*(1+size) {
				t.Errorf("%s: %v g of %s came by no transfer: %+v", p.ID, left, what, s.Transfers.Slice())
			}
		}
		delete(held, p.ID)
		checkRoots(t, p)
	}
	for id, v := range held {
		t.Errorf("%v L were transferred to %s, which is no parcel", v, id)
	}
}

func checkRoots(t failer, p *Parcel) {
	t.Helper()
	if p.Ended() {
		return
	}
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
}

// In any history, a parcel's inflows are shares of it, its levels are in time,
// every event stands with the parcel that its record names, and what a vessel
// holds is the last of its parcels.
func TestStateHangsTogether(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := Fold(history(t), Options{})
		for _, p := range s.Parcels.All() {
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
		for _, r := range s.Records.All() {
			if !r.Counts() && len(r.Parcels) > 0 {
				t.Errorf("an entry that does not count touches %v", r.Parcels)
			}
		}
	})
}
