package blend

import (
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/science/quantity"
)

func believing(call track.Call, low, mid, high quantity.Concentration) *track.Belief {
	return &track.Belief{At: track.Date{Time: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)}, Decision: track.Decision{Call: call},
		Malic: track.Spread[quantity.Concentration]{Q05: low, Q50: mid, Q95: high}}
}

// A conversion that a belief decides to call finished is over, though malic acid was
// read long ago only; one that it only thinks finished is not, however little is likely
// left. What is believed is what a limit on malic acid goes by.
func TestConversionsByTheirBeliefs(t *testing.T) {
	t.Parallel()
	wines := make([]wine, 4)
	for i, at := range []string{"c1", "c2", "c3", "c4"} {
		wines[i] = wine{at, "Merlot", 20, 13.4, 3.5, 5.6, 2.3, 0.4, 30, 1, true}
	}
	wines[3].malic = 0.05 // as it was read, and it would pass without the belief
	s, now := stateOf(t, wines...)
	beliefs := map[cellar.ParcelID]*track.Belief{
		s.In("c1").ID: believing(track.CallFinished, 0.01, 0.03, 0.08), s.In("c2").ID: believing(track.CallNotYet, 1.1, 1.4, 1.8),
		s.In("c3").ID: believing(track.CallStalled, 0.9, 1.2, 1.5), s.In("c4").ID: believing(track.CallCannotTell, 0.01, 0.04, 0.6),
	}
	sources, err := Sources(s, beliefs, now)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct{ unfinished, converted string }{
		{"", "its malolactic conversion is over, by the belief of 1 November 2026"},
		{"1.40 g/L of malic acid (1.10 to 1.80) are still to be converted, by the belief of 1 November 2026", ""},
		{"its malolactic conversion is stalled with 1.20 g/L of malic acid (0.90 to 1.50), by the belief of 1 November 2026", ""},
		{"whether its malolactic conversion is over can't be told: 0.04 g/L of malic acid (0.01 to 0.60), by the belief of 1 November 2026", ""},
	} {
		if got := sources[i]; got.Unfinished != want.unfinished || got.Converted != want.converted {
			t.Errorf("%s: unfinished %q, converted %q", got.Vessel, got.Unfinished, got.Converted)
		}
	}
	near(t, "malic acid of c1", sources[0].Wine.Malic.Value.GPerL(), 0.03, 1e-9)
	if how := sources[0].Wine.Malic.How.String(); how != "believed" {
		t.Errorf("it is %s", how)
	}
	a := find(t, Wish{Sources: sources, Limits: []Limit{Malic(0, 0.1)}})
	if len(a.Blends) != 1 || len(a.Blends[0].Parts) != 1 || a.Blends[0].Parts[0].Source.Vessel != "c1" || len(a.Excluded) != 3 {
		t.Errorf("%+v; left out: %+v", a.Blends, a.Excluded)
	}
	// Told to take in what may still ferment, it does, and the limit still holds it to little.
	a = find(t, Wish{Sources: sources[:2], Unfinished: true, Limits: []Limit{Malic(0, 0.1)}})
	if len(a.Blends) == 0 || a.Blends[0].litres("c2") > 20*(0.1-0.03)/(1.4-0.1)+1e-6 {
		t.Errorf("%+v", a)
	}
	plain, err := Sources(s, nil, now)
	if err != nil || plain[3].Unfinished != "" || !strings.Contains(plain[0].Unfinished, "2.3 g/L") {
		t.Errorf("without beliefs: %q, %q, %v", plain[0].Unfinished, plain[3].Unfinished, err)
	}
}
