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
