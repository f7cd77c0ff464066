package cellar

import (
	"slices"
	"strings"
)

// PricedTests are the tests of a conversion that can be priced: a paper
// chromatogram, malic acid by strip, kit or laboratory, a titration, a pH, and a pH
// beside the control sample kept back on day 0.
var PricedTests = []string{ReadChromatogram, ReadMalic, ReadTA, ReadPH, PHBesideControl}

// PHBesideControl is a pH read in one session with the control sample.
const PHBesideControl = "ph-control"

// Prices tells which tests of a conversion can be made and what they cost, and what a
// mistake or a day of waiting would: the person's own figures, by which the next test
// and "finished" are judged. All are in one money; only their ratios matter. The latest
// such entry counts, as a whole; a test or a cost that it leaves out is taken as the
// program proposes it.
type Prices struct {
	Money          string      `json:"money,omitempty"`           // whatever the figures are in: "EUR", "bottles"
	Tests          []TestPrice `json:"tests,omitempty"`           // what each costs, or that it cannot be made
	FalseFinished  string      `json:"false_finished,omitempty"`  // of calling a conversion finished that is not
	UnprotectedDay string      `json:"unprotected_day,omitempty"` // of a day that a finished wine stands without sulfur dioxide
	LostDay        string      `json:"lost_day,omitempty"`        // of a day that a stall goes unseen
	Minute         string      `json:"minute,omitempty"`          // of one's own time
	Words          string      `json:"words,omitempty"`
}

// A TestPrice is what one test costs: its price for one vessel, and minutes of work.
type TestPrice struct {
	What    string `json:"what"` // of PricedTests
	Cost    string `json:"cost,omitempty"`
	Minutes string `json:"minutes,omitempty"`
	Cannot  bool   `json:"cannot,omitempty"` // it cannot be made here
}

// Kind is KindPrices.
func (Prices) Kind() Kind { return KindPrices }

// mostCost and mostMinutes bound what can be meant: a million of any money, a week.
const (
	mostCost    = 1e6
	mostMinutes = 7 * 24 * 60
)

func (b Prices) check(c *checker) {
	c.text("money", b.Money, maxName)
	if len(b.Tests) == 0 && b.FalseFinished+b.UnprotectedDay+b.LostDay+b.Minute == "" {
		c.bad("prices", "", "the price of a test, or a cost")
	}
	seen := map[string]bool{}
	for _, t := range b.Tests {
		c.oneOf("test", t.What, true, PricedTests...)
		if seen[t.What] {
			c.bad("test", t.What, "each test once")
		}
		seen[t.What] = true
		c.number("cost of "+t.What, t.Cost, 0, mostCost, "0 to 1000000")
		c.number("minutes of "+t.What, t.Minutes, 0, mostMinutes, "0 to 10080 minutes")
	}
	c.number("wrongly called finished", b.FalseFinished, 1e-6, mostCost, "more than 0, up to 1000000")
	c.number("a day unprotected", b.UnprotectedDay, 0, mostCost, "0 to 1000000")
	c.number("a day lost", b.LostDay, 0, mostCost, "0 to 1000000")
	c.number("a minute", b.Minute, 0, mostCost, "0 to 1000000")
	c.text("words", b.Words, maxText)
}

// number checks a numeral that may be left out.
func (c *checker) number(name, given string, low, high float64, allowed string) {
	if given == "" {
		return
	}
	if n, err := ParseNumber(given); err != nil || n < low || n > high {
		c.bad(name, given, allowed)
	}
}

func (b Prices) vessels(names []string) []string { return names }

// testTitles are the tests in a winemaker's words.
var testTitles = map[string]string{ReadChromatogram: "chromatogram", ReadMalic: "malic acid", ReadTA: "titration", ReadPH: "pH", PHBesideControl: "pH beside the control"}

// says is "prices: chromatogram 1 EUR and 30 min, no malic acid, a stalled day unseen 0.60 EUR".
func (b Prices) says() string {
	money := func(n string) string { return join(" ", n, b.Money) }
	var out []string
	for _, what := range PricedTests {
		i := slices.IndexFunc(b.Tests, func(t TestPrice) bool { return t.What == what })
		if i < 0 {
			continue
		}
		if b.Tests[i].Cannot {
			out = append(out, "no "+testTitles[what])
			continue
		}
		cost, minutes := b.Tests[i].Cost, b.Tests[i].Minutes
		if cost == "" {
			cost = "0"
		}
		one := testTitles[what] + " " + money(cost)
		if minutes != "" {
			one += " and " + minutes + " min"
		}
		out = append(out, one)
	}
	for _, s := range []struct{ cost, of string }{{b.FalseFinished, "wrongly called finished"}, {b.UnprotectedDay, "a day unprotected"}, {b.LostDay, "a stalled day unseen"}, {b.Minute, "a minute"}} {
		if s.cost != "" {
			out = append(out, s.of+" "+money(s.cost))
		}
	}
	return "prices: " + strings.Join(out, ", ") + tail(b.Words)
}

// Prices are the person's own, as they stand; false where none were ever written down.
func (s *State) Prices() (Prices, bool) {
	var latest Prices
	found := false
	for _, r := range s.Records.All() {
		if b, ok := r.Body.(Prices); ok && r.Counts() {
			latest, found = b, true
		}
	}
	return latest, found
}
