package sulfite_test

import (
	"testing"

	"elevage/science/quantity"
	"elevage/science/sulfite"
)

func TestLawful(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		place sulfite.Place
		wine  sulfite.Finished
		over  bool
		says  string
	}{
		{"S17 EU red, 3 g/L, 151", sulfite.EU, sulfite.Finished{Colour: sulfite.Red, Sugar: 3, Total: 151 * mg}, true, "allowed 150"},
		{"S18 EU white, 5.0 g/L, 240", sulfite.EU, sulfite.Finished{Colour: sulfite.WhiteOrRose, Sugar: 5, Total: 240 * mg}, false, "allowed 250"},
		{"S19 US 350", sulfite.US, sulfite.Finished{Colour: sulfite.Red, Total: 350 * mg}, false, "allowed 350"},
		{"US 351", sulfite.US, sulfite.Finished{Colour: sulfite.Red, Total: 351 * mg}, true, "2004"},
		{"D51 EU red, 4.9 g/L, 155", sulfite.EU, sulfite.Finished{Colour: sulfite.Red, Sugar: 4.9, Total: 155 * mg}, true, "allowed 150"},
		{"D52 EU red, 5.0 g/L, 155", sulfite.EU, sulfite.Finished{Colour: sulfite.Red, Sugar: 5, Total: 155 * mg}, false, "allowed 200"},
		{"EU white dry, 200", sulfite.EU, sulfite.Finished{Colour: sulfite.WhiteOrRose, Sugar: 2, Total: 200 * mg}, false, "allowed 200"},
		{"organic red dry, 101", sulfite.EUOrganic, sulfite.Finished{Colour: sulfite.Red, Sugar: 1, Total: 101 * mg}, true, "allowed 100"},
		{"organic white, 3 g/L, 170", sulfite.EUOrganic, sulfite.Finished{Colour: sulfite.WhiteOrRose, Sugar: 3, Total: 170 * mg}, false, "allowed 170"},
		{"Australia dry, 260", sulfite.Australia, sulfite.Finished{Colour: sulfite.Red, Sugar: 2, Total: 260 * mg}, true, "allowed 250"},
		{"Australia sweet, 260", sulfite.Australia, sulfite.Finished{Colour: sulfite.WhiteOrRose, Sugar: 60, Total: 260 * mg}, false, "allowed 300"},
		{"OIV red at 4.0 g/L, 151", sulfite.OIVLimits, sulfite.Finished{Colour: sulfite.Red, Sugar: 4, Total: 151 * mg}, true, "allowed 150"},
		{"OIV red at 4.1 g/L, 151", sulfite.OIVLimits, sulfite.Finished{Colour: sulfite.Red, Sugar: 4.1, Total: 151 * mg}, false, "allowed 300"},
		{"UK scheme dry, free 46", sulfite.UKScheme, sulfite.Finished{Colour: sulfite.Red, Sugar: 1, Total: 90 * mg, Free: 46 * mg}, true, "allowed 45"},
	} {
		verdicts, err := sulfite.Lawful(c.place, c.wine)
		if err != nil || len(verdicts) != 1 {
			t.Errorf("%s: %v %v", c.name, verdicts, err)
			continue
		}
		if v := verdicts[0]; v.Over != c.over || v.Open || !contains(v.String(), c.says) {
			t.Errorf("%s: %v", c.name, v)
		}
	}
	canada := must[[]sulfite.Verdict](t)(sulfite.Lawful(sulfite.Canada, sulfite.Finished{Colour: sulfite.Red, Total: 90 * mg, Free: 75 * mg}))
	if len(canada) != 2 || !canada[0].Over || canada[1].Over {
		t.Errorf("Canada, 75 free of 90: %v", canada)
	}
	canada = must[[]sulfite.Verdict](t)(sulfite.Lawful(sulfite.Canada, sulfite.Finished{Colour: sulfite.Red, Total: 90 * mg}))
	if !canada[0].Open || canada[1].Open || canada[1].Over {
		t.Errorf("Canada, free unknown: %v", canada)
	}
}

// Every limit carries its edition and standing, and every wine falls under exactly
// one limit of each measure in each place.
func TestLimitsCoverEveryWineOnce(t *testing.T) {
	t.Parallel()
	places := map[sulfite.Place]bool{}
	for _, l := range sulfite.Limits {
		places[l.Place] = true
		if l.Edition == "" || l.Source.Text == "" || l.Source.Mark == "" || l.Max <= 0 {
			t.Errorf("%s, %s: edition, source and mark must be stated", l.Place, l.For)
		}
	}
	for place := range places {
		for _, colour := range []sulfite.Colour{sulfite.Red, sulfite.WhiteOrRose} {
			for _, sugar := range []quantity.Concentration{0, 1.9, 2, 3.9, 4, 4.5, 5, 20, 35, 120} {
				got := map[sulfite.Measure]int{}
				for _, v := range must[[]sulfite.Verdict](t)(sulfite.Lawful(place, sulfite.Finished{Colour: colour, Sugar: sugar, Total: 60 * mg, Free: 20 * mg})) {
					got[v.Limit.Measure]++
				}
				for m, n := range got {
					if n != 1 {
						t.Errorf("%s, colour %d, %v g/L: %d limits of %s", place, colour, sugar, n, m)
					}
				}
			}
		}
	}
}

func TestFreeMeasuredAsNil(t *testing.T) {
	t.Parallel()
	spent := sulfite.Finished{Colour: sulfite.Red, Total: 90 * mg, FreeIsNil: true}
	for _, v := range must[[]sulfite.Verdict](t)(sulfite.Lawful(sulfite.Canada, spent)) {
		if v.Open || v.Over {
			t.Errorf("%v", v)
		}
	}
}
