package serve

import (
	"strings"
	"testing"

	"elevage/internal/advise"
	"elevage/internal/serve/ui"
)

func TestSheetsAndCards(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	for path, words := range map[string]string{
		"/cards/starter/c7":                     "4 into the wine",
		"/cards/bottling/b1":                    "Bottles of 750 mL, about",
		"/cards/trial?levels=control,half,full": "for whoever poured",
		"/cards/chromatography":                 "malic acid, control",
		"/cards/lots/zweigelt?size=half-letter": "Zweigelt",
	} {
		v.get(path).shows(t, words)
	}
}

// Tonight's list on paper is Today's: the same acts with the same amounts and days, late
// where they are late there, with what must come first and what would stop them; what may
// wait stands apart on both.
func TestTonightsCardSaysWhatTodaySays(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	on, err := v.view(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	card := v.get("/cards/tonight")
	text := card.text()
	card.shows(t, "When there is time", "a"+strings.TrimPrefix(howLong(on.Plan), "A"))
	late, first, stopped := 0, 0, 0
	for _, a := range on.Plan.With(advise.Due) {
		act := v.actOf(on, &a)
		line := strings.TrimSpace(a.Vessel + " " + act.Verb)
		if act.Amount != "" {
			line += " " + act.Amount + " " + act.Unit
		}
		_, rest, found := strings.Cut(text, line)
		if !found {
			t.Errorf("%q is not on the card", line)
			continue
		}
		if act.Urgency == ui.Late {
			late++
			if !strings.Contains(rest[:min(len(rest), 80)], "Late. "+strings.ReplaceAll(act.By, "\u00a0", " ")) {
				t.Errorf("%s is late on Today, and the card says %q", line, rest[:min(len(rest), 80)])
			}
		}
		for _, n := range act.Cautions {
			switch {
			case n.Head == headFirst && a.Class == advise.ClassSulfite:
				first++
				if !strings.Contains(rest[:min(len(rest), 600)], n.Head+" "+n.Text) || !strings.Contains(rest[:min(len(rest), 30)], "for ") {
					t.Errorf("%s: %q is not on the card, or not for how much the dose is: %q", line, n.Text, rest[:min(len(rest), 200)])
				}
			case n.Head == headBefore:
				stopped++
				if !strings.Contains(rest[:min(len(rest), 600)], n.Text) {
					t.Errorf("%s: %q is not on the card", line, n.Text)
				}
			}
		}
	}
	if n := strings.Count(text, "Late. "); n != late || late == 0 || first == 0 || stopped == 0 {
		t.Errorf("%d are late on Today and %d on the card; %d doses wait for something, %d are stopped", late, n, first, stopped)
	}
}

// From the printed card of a starter it is one tap to its running clock.
func TestStarterCardLeadsToItsClock(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	card := v.get("/cards/starter/c7").Body
	_, rest, ok := strings.Cut(card, `href="/clock/`)
	to, _, _ := strings.Cut(rest, `"`)
	if !ok {
		t.Fatal("the card of a starter leads to no clock")
	}
	v.get("/clock/"+strings.ReplaceAll(to, "&amp;", "&")).shows(t, "Malolactic starter by the clock", "1 activation", "after 18 h", "Started")
}

// The culture plan begins with the wines that wait for bacteria and the packet on the
// shelf, and goes from the answer to the clock and to a printed card, which say the same.
func TestCulturePlanFromLotsToCard(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	form := v.get("/bench/culture-split")
	form.shows(t, "Filled in from 2 wines that can take culture now and the packet on the shelf.")
	for _, want := range []string{`name="lots.0.lot" value="c7"`, `name="lots.1.lot" value="j1"`, `name="lots.0.volume_l" value="21.4"`} {
		if !strings.Contains(form.Body, want) {
			t.Errorf("the form lacks %s", want)
		}
	}
	if form.value("packet_g") != "4" || form.value("packet_volume_l") != "250" {
		t.Errorf("a packet of %s g for %s L", form.value("packet_g"), form.value("packet_volume_l"))
	}
	// What is seldom another way is asked under "More", closed, with what is taken otherwise.
	if more := form.Body[strings.Index(form.Body, `<details class="more"`):]; !strings.Contains(more, "else 20") || strings.Contains(more[:40], "open") || !strings.Contains(more, `name="soak_min" value=""`) {
		t.Error("the seldom figures are not under More")
	}
	if typed := v.get("/bench/culture-split?soak_min=15&water_low_c=24.5"); typed.value("soak_min") != "15" || typed.value("water_low_c") != "24.5" {
		t.Error("what was typed is gone")
	}
	const inputs = "lots.0.lot=c7&lots.0.volume_l=21.4&lots.1.lot=j1&lots.1.volume_l=4.6&packet_g=4&packet_volume_l=250&nutrient_g_per_g=20&juice_ml_per_g=100&wine_ml_per_g=100&step_ml=10"
	answer := v.get("/bench/culture-split?ask=1&" + inputs)
	// By hand: 4 × 100 = 400 mL each of water, juice and wine; 21.4/26 and 4.6/26 of 1200 mL in steps of 10.
	answer.shows(t, "1200.0", "990.00", "210.00", "it is rated for 9.6 times this wine, which asks for 0.42 of its 4 g", "An opened packet cannot be kept", "Print its card")
	card := v.get("/cards/steps/culture-split?" + inputs)
	card.shows(t, "Nutrient in the water 80.0 g", "80.0 g of nutrient, then 4.00 g of culture, into 400 mL", "after 10 min, 15 min at most", "c7 990 mL", "j1 210 mL", "Run it by the clock")
	v.get("/clock/culture-split?"+inputs).shows(t, "Stir in 400 mL of juice without sulfite or sorbate", "c7 990 mL, j1 210 mL", "Print its card")
	v.get("/cards/steps/yeast-rehydration?volume_l=100&must_c=18").shows(t, "Pitch it, at once.")
	if p := v.get("/cards/steps/blend"); p.Code != 404 {
		t.Errorf("a blend has steps: %d", p.Code)
	}
}

// The same trial has the same codes on every printing, and each level once.
func TestTrialCodesStay(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	const path = "/cards/trial?question=acid&levels=control,half,full"
	first, again := v.get(path).Body, v.get(path).Body
	if first != again {
		t.Error("the codes changed between two printings")
	}
	for _, level := range []string{"control", "half", "full"} {
		if n := strings.Count(first, ">"+level+"<"); n != 1 {
			t.Errorf("%s stands %d times on the key, want once", level, n)
		}
	}
}
