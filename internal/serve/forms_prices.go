package serve

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
)

// testNames are the tests that can be priced, in a winemaker's words: for the list, and
// over a price.
var testNames = map[string][2]string{cellar.ReadChromatogram: {"chromatogram, a spot on a shared sheet", "Paper"}, cellar.ReadMalic: {"malic acid by strip, kit or laboratory", "Malic acid"},
	cellar.ReadTA: {"titration", "Titration"}, cellar.ReadPH: {"pH", "pH"}, cellar.PHBesideControl: {"pH beside the control sample", "With control"}}

// stakes are what mistakes and waiting cost, by the field that asks for each.
var stakes = []struct {
	field, calls, label, help string
	of                        func(*track.Costs) float64
	set                       func(*cellar.Prices, string)
}{
	{"false_finished", "wrongly called finished", "Calling it finished when it is not", "What is lost then: the wine that ferments again in its bottles, or that is sulfited with malic acid left.",
		func(c *track.Costs) float64 { return c.FalseFinished }, func(b *cellar.Prices, v string) { b.FalseFinished = v }},
	{"unprotected_day", "a day unprotected", "A day that a finished wine stands without SO2", "What a day of the risk of spoilage is worth to you.",
		func(c *track.Costs) float64 { return c.UnprotectedDay }, func(b *cellar.Prices, v string) { b.UnprotectedDay = v }},
	{"lost_day", "a day lost", "A day that a stall goes unseen", "Warmth, room in the cellar, a wine that is late.",
		func(c *track.Costs) float64 { return c.LostDay }, func(b *cellar.Prices, v string) { b.LostDay = v }},
	{"minute", "a minute", "A minute of your time", "0 if you like to do it.",
		func(c *track.Costs) float64 { return c.Minute }, func(b *cellar.Prices, v string) { b.Minute = v }},
}

func pricesFields(v *desk.View, typed url.Values) []ui.Field {
	now, proposal := v.Prices, desk.Proposed()
	made := ui.Field{Name: "tests", Label: "Tests you can make", Kind: ui.Several, Optional: true, Help: "Making none is always weighed too."}
	var can []string
	var rows []ui.Field
	for _, what := range cellar.PricedTests {
		made.Options = append(made.Options, ui.Option{Value: what, Text: testNames[what][0]})
		p, _ := proposal.Price(what)
		t, ok := now.Price(what)
		if ok {
			can = append(can, what)
		} else {
			t = p
		}
		rows = append(rows,
			ui.Field{Name: "cost_" + what, Label: testNames[what][1] + " costs", Kind: ui.Number, Optional: true, Left: " ", Value: desk.Figure(t.Cost), Unit: now.Money,
				Help: fmt.Sprintf("Proposal: %s, %s min.", desk.Figure(p.Cost), desk.Figure(p.Minutes))},
			ui.Field{Name: "minutes_" + what, Label: "takes", Kind: ui.Number, Optional: true, Left: " ", Beside: true, Value: desk.Figure(t.Minutes), Unit: "min"})
	}
	if !typed.Has(stakes[0].field) { // else what was ticked stands, none included
		made.Value = strings.Join(can, "\n")
	}
	f := []ui.Field{{Name: "money", Label: "All figures are in", Optional: true, Left: "any money", Value: now.Money, Example: "EUR", Help: "Only how they stand to each other matters."}, made}
	f = append(f, rows...)
	for _, s := range stakes {
		f = append(f, ui.Field{Name: s.field, Label: s.label, Kind: ui.Number, Optional: true, Left: " ", Value: desk.Figure(s.of(&now.Costs)), Unit: now.Money,
			Help: s.help + " Proposal: " + desk.Figure(s.of(&proposal.Costs)) + "."})
	}
	return append(f, ui.Field{Name: "words", Label: "Words", Optional: true, Extra: true})
}

func pricesDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	b := cellar.Prices{Money: text(q, "money"), Words: text(q, "words")}
	for _, what := range cellar.PricedTests {
		t := cellar.TestPrice{What: what}
		if t.Cannot = !slices.Contains(q["tests"], what); !t.Cannot {
			t.Cost, t.Minutes = text(q, "cost_"+what), text(q, "minutes_"+what)
		}
		b.Tests = append(b.Tests, t)
	}
	for _, s := range stakes {
		s.set(&b, text(q, s.field))
	}
	return b, nil
}

// priceCalls are the fields by what the entry calls them.
func priceCalls() map[string]string {
	calls := map[string]string{}
	for _, what := range cellar.PricedTests {
		calls["cost of "+what], calls["minutes of "+what] = "cost_"+what, "minutes_"+what
	}
	for _, s := range stakes {
		calls[s.calls] = s.field
	}
	return calls
}

// judgedBy says by whose prices tests and "finished" are judged, and leads to them.
func judgedBy(p desk.Prices) ui.Notice {
	n := ui.Notice{Kind: ui.Told, Head: "Judged by your own prices.", Link: &ui.Link{Text: "Change them", URL: "/write/prices"}}
	if p.Proposed {
		n.Head, n.Link.Text = "Judged by proposed prices, not by yours.", "Put in your own"
	}
	c := p.Costs
	n.Text = fmt.Sprintf("Wrongly called finished %s, a day without SO2 after the end %s, a stalled day unseen %s, a minute of work %s", desk.Figure(c.FalseFinished), desk.Figure(c.UnprotectedDay), desk.Figure(c.LostDay), desk.Figure(c.Minute))
	if p.Money != "" {
		n.Text += ", all in " + p.Money
	}
	n.Text += "."
	return n
}

// onTheTable sets what calling a conversion finished today costs on average beside what
// another week costs.
func onTheTable(b *track.Belief, p desk.Prices) string {
	d, c := b.Decision, p.Costs
	in := ""
	if p.Money != "" {
		in = " " + p.Money
	}
	says := fmt.Sprintf("Calling it finished today costs %s%s on average: %s if malic acid is left, with a chance of %s. Another week costs %s%s: %s a day if it is finished and stands without SO2, %s a day if it has stalled unseen. ",
		trim(d.CostFinished), in, desk.Figure(c.FalseFinished), ui.Chance(1-b.State.Finished), trim(d.CostWaiting), in, desk.Figure(c.UnprotectedDay), desk.Figure(c.LostDay))
	says += fmt.Sprintf("By these it is called from a chance of %.4g %% on", 100*d.Threshold)
	if !d.Carried {
		return says + ", and only on evidence that can carry it, which there is not yet."
	}
	return says + ", on evidence that can carry it."
}
