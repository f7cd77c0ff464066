package study

import (
	"math"
	"testing"

	"elevage/internal/track"
)

// The short form of the study in docs/studies: half a dozen lots of the world that the
// model does not know. It guards the two things that must not slip, no false
// "finished" and intervals that mean something; the committed table has the rest.
func TestOtherWorldShortForm(t *testing.T) {
	if testing.Short() {
		t.Skip("a study")
	}
	t.Parallel()
	sets := []Set{Sets[1], Sets[len(Sets)-1]} // pH; all
	tallies := Worse(sets, 501, 6, 150, 2)
	for _, tally := range tallies {
		if tally.False > 0 {
			t.Errorf("%s: %v", tally.Set, tally.Notes)
		}
		if share := tally.Coverage.Share(); share < 0.75 {
			t.Errorf("%s: 90 %% intervals hold the truth in %.2f of %d looks", tally.Set, share, tally.Coverage.Total)
		}
	}
	if tallies[0].CalledEver > 0 {
		t.Error("a lot was called finished on pH alone")
	}
}

// The world keeps its own books: malic acid never rises, stops where it says, and
// the meter reads wines, not nonsense.
func TestLotsAreWines(t *testing.T) {
	t.Parallel()
	ended, stalled := 0, 0
	for seed := uint64(1); seed <= 150; seed++ {
		l := NewLot(seed)
		for d := 1; d < len(l.Malic); d++ {
			if l.Malic[d] > l.Malic[d-1]+1e-12 || math.IsNaN(l.Malic[d]) {
				t.Fatalf("lot %d: malic acid %v after %v", seed, l.Malic[d], l.Malic[d-1])
			}
		}
		if l.Stall >= 0 && l.Stall < span && l.Malic[span] != l.Malic[l.Stall+1] {
			t.Errorf("lot %d goes on after its stall", seed)
		}
		if l.Finish >= 0 {
			ended++
		}
		if l.Stall >= 0 {
			stalled++
		}
		for _, r := range l.Readings {
			if r.What == track.PH && (r.Value < 2.8 || r.Value > 4.4) {
				t.Errorf("lot %d: pH %v", seed, r.Value)
			}
		}
	}
	if ended < 80 || stalled < 8 {
		t.Errorf("%d of 150 lots ended, %d stalled: not the world described", ended, stalled)
	}
}

// Reading pH costs minutes until a lot is called, and nothing after.
func TestNobodyPaysAfterTheCall(t *testing.T) {
	t.Parallel()
	called := 0
	for seed := uint64(1); seed <= 20; seed++ {
		l := NewLot(seed)
		o := playFlat(l, 0)
		until := span
		if o.Called >= 0 {
			until = o.Called
			called++
		}
		want := 0.0
		for _, r := range l.Readings {
			if r.What == track.PH && !r.On.After(Start.AddDate(0, 0, until)) {
				want += 10
			}
		}
		if o.Minutes != want {
			t.Errorf("lot %d, called on day %d: %v minutes, want %v", seed, o.Called, o.Minutes, want)
		}
	}
	if called == 0 {
		t.Error("no lot was called: nothing is shown")
	}
}
