package serve

import (
	"fmt"
	"math"
	"strings"

	"elevage/internal/bench"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/science/malolactic"
)

// before is what is to be expected of a wine before bacteria go in.
type before struct {
	Says    string
	Table   ui.Table
	Assumed string
	Control string // what a control sample would gain
	Links   []ui.Link
}

func beforeOf(v *desk.View, st *desk.Standing) *before {
	o := st.Outlook
	if o == nil {
		return nil
	}
	b := &before{Says: fmt.Sprintf("Sprinkled in as it is, it would be over %s, and stall for good with a chance of %s.", spanOf(o.Outlook), ui.Chance(o.Outlook.Stall)),
		Table: ui.Table{Caption: "What would help, before the culture goes in", Head: []string{"", "over, 1 in 2", "9 in 10 between", "over in 60 days", "stalls", ""}}}
	row := func(what string, now malolactic.Outlook, caution string) {
		b.Table.Rows = append(b.Table.Rows, []string{what, daysOf(float64(now.Q50)) + changeOf(float64(now.Q50), float64(o.Outlook.Q50), "\u00a0d"), daysOf(float64(now.Q05)) + " – " + daysOf(float64(now.Q95)),
			ui.Chance(now.WithinSixty) + changeOf(100*now.WithinSixty, 100*o.Outlook.WithinSixty, ""), ui.Chance(now.Stall) + changeOf(100*now.Stall, 100*o.Outlook.Stall, ""), caution})
	}
	row("as it is, sprinkled in", o.Outlook, "")
	if st.Alone != nil {
		row("do nothing: leave it to start by itself", *st.Alone, "unknown bacteria; the wine waits unprotected")
	}
	for _, r := range o.Remedies {
		row(r.What, r.Outlook, r.Caution)
	}
	b.Control = controlGain(v, st)
	slug := st.Vessel.Slug
	b.Links = []ui.Link{{Text: "Divide one culture", URL: "/bench/" + cultureSplit}, {Text: "Build a starter", URL: calculatorURL("bacteria-starter", slug)},
		{Text: "Keep a control sample", URL: writeURL("control", slug)}, {Text: "When and how", URL: "/guides/giving-bacteria"}}
	if len(o.Assumed) > 0 {
		b.Assumed = "Not known, so assumed: " + strings.Join(o.Assumed, ", ") + ". A reading narrows it. "
	}
	b.Assumed += "How rich its lees are, and nutrients, are not reckoned with."
	return b
}

// handNoise and handOffset are a hand meter's spread from one reading to the next, and
// from one session to another, both from memory; the control sample's guide has them too.
const (
	handNoise  = 0.03
	handOffset = 0.05
)

// controlGain says what wine kept back today is worth later: how far a change of pH can be
// told with it and without, and how much malic acid of this wine that is.
func controlGain(v *desk.View, st *desk.Standing) string {
	apart := math.Sqrt2 * math.Hypot(handNoise, handOffset)
	beside := math.Sqrt2 * handNoise
	says := fmt.Sprintf("100 mL of it kept back today, frozen, and read in the same session later: a change of pH is then good to ± %.2f, or ± %.3f with three readings of each, instead of ± %.2f.", beside, beside/math.Sqrt(3), apart)
	c, err := bench.Find("malolactic-shift")
	if err != nil {
		return says
	}
	given := c.Prefill(v.Facts(st))
	if _, known := given["malic_g_l"]; !known {
		given["malic_g_l"] = usualMalic
	}
	res, err := c.Run(given)
	if err != nil {
		return says // pH or acidity was not read
	}
	rise, ok := res.Number("ph_rise")
	malic := res.Input("malic_g_l")
	if !ok || rise <= 0 || malic <= 0 {
		return says
	}
	per := rise / malic
	return says + fmt.Sprintf(" In this wine, whose pH rises by about %.2f for each g/L of malic acid, that is ± %.1f (± %.1f) g/L instead of ± %.1f. A test of malic acid still decides.", per, beside/per, beside/math.Sqrt(3)/per, apart/per)
}

// usualMalic is taken for malic acid that was not measured, g/L: a middling red's, judged.
const usualMalic = 2.0

// changeOf is a change in brackets, "" for one too small to be shown or not to be told.
func changeOf(to, from float64, unit string) string {
	by := math.Round(to) - math.Round(from)
	switch {
	case math.IsInf(to, 0) || math.IsInf(from, 0) || by == 0:
		return ""
	case by < 0:
		return fmt.Sprintf(" (−%.0f%s)", -by, unit)
	}
	return fmt.Sprintf(" (+%.0f%s)", by, unit)
}

func daysOf(d float64) string {
	if math.IsInf(d, 1) {
		return "over a year"
	}
	return fmt.Sprintf("%.0f d", d)
}

func spanOf(o malolactic.Outlook) string {
	if math.IsInf(float64(o.Q50), 1) {
		return "within a year with less than even odds"
	}
	return fmt.Sprintf("in about %s (%s to %s)", daysOf(float64(o.Q50)), daysOf(float64(o.Q05)), daysOf(float64(o.Q95)))
}
