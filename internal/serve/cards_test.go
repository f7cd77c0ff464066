package serve

import (
	"strings"
	"testing"
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
