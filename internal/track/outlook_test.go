package track

import (
	"testing"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

func at[T any](v T) *T { return &v }

// The orderings are published: slower at low pH and with more SO2 (Liu and
// Gallander 1983), below 18 °C and above 15 % vol (AWRI); a starter helps a
// difficult wine (AWRI starter page).
func TestSuitOrdersWinesAsPublished(t *testing.T) {
	kind := Facts{PH: at(quantity.PH(3.6)), Alcohol: at(quantity.Strength(12.5)), Temperature: at(quantity.Temperature(21)), TotalSO2: at(quantity.Concentration(15e-3)), Malic: at(quantity.Concentration(2))}
	within := func(f Facts, how malolactic.Inoculation) float64 {
		s, err := Suit(f, how)
		if err != nil {
			t.Fatal(err)
		}
		return s.Outlook.WithinSixty
	}
	base := within(kind, malolactic.Direct)
	if base < 0.6 {
		t.Errorf("a kind wine is over in sixty days with a chance of only %.2f", base)
	}
	for name, change := range map[string]func(*Facts){
		"sour":     func(f *Facts) { f.PH = at(quantity.PH(3.2)) },
		"cold":     func(f *Facts) { f.Temperature = at(quantity.Temperature(15)) },
		"strong":   func(f *Facts) { f.Alcohol = at(quantity.Strength(15.3)) },
		"sulfited": func(f *Facts) { f.TotalSO2 = at(quantity.Concentration(55e-3)) },
	} {
		f := kind
		change(&f)
		if hard := within(f, malolactic.Direct); hard >= base {
			t.Errorf("%s: %.2f, not less than the kind wine's %.2f", name, hard, base)
		} else if helped := within(f, malolactic.Starter); helped <= hard {
			t.Errorf("%s: a starter gives %.2f, without one %.2f", name, helped, hard)
		}
	}
}

func TestSuitNamesWhatItAssumed(t *testing.T) {
	s, err := Suit(Facts{}, malolactic.Direct)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Assumed) != 5 || len(s.Remedies) == 0 {
		t.Errorf("assumed %v, %d remedies", s.Assumed, len(s.Remedies))
	}
	if _, err := Suit(Facts{PH: at(quantity.PH(9))}, malolactic.Direct); err == nil {
		t.Error("a pH of 9 was taken")
	}
}
