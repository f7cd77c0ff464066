package serve

import (
	"fmt"
	"math"
	"strings"

	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/science/malolactic"
)

// before is what is to be expected of a wine before bacteria go in.
type before struct {
	Says    string
	Table   ui.Table
	Assumed string
	Links   []ui.Link
}

func beforeOf(st *desk.Standing) *before {
	o := st.Outlook
	if o == nil {
		return nil
	}
	b := &before{Says: fmt.Sprintf("Sprinkled in as it is, it would be over %s, and stall for good with a chance of %s.", spanOf(o.Outlook), ui.Chance(o.Outlook.Stall)),
		Table: ui.Table{Caption: "What would help, before the culture goes in", Head: []string{"", "over, 1 in 2", "9 in 10 between", "over in 60 days", "stalls", ""}}}
	row := func(what string, now malolactic.Outlook, caution string) {
		b.Table.Rows = append(b.Table.Rows, []string{what, daysOf(float64(now.Q50)) + changeOf(float64(now.Q50), float64(o.Outlook.Q50), " d"), daysOf(float64(now.Q05)) + " – " + daysOf(float64(now.Q95)),
			ui.Chance(now.WithinSixty) + changeOf(100*now.WithinSixty, 100*o.Outlook.WithinSixty, ""), ui.Chance(now.Stall) + changeOf(100*now.Stall, 100*o.Outlook.Stall, ""), caution})
	}
	row("as it is, sprinkled in", o.Outlook, "")
	if st.Alone != nil {
		row("do nothing: leave it to start by itself", *st.Alone, "unknown bacteria; the wine waits unprotected")
	}
	for _, r := range o.Remedies {
		row(r.What, r.Outlook, r.Caution)
	}
	slug := st.Vessel.Slug
	b.Links = []ui.Link{{Text: "Divide one culture", URL: "/bench/" + cultureSplit}, {Text: "Build a starter", URL: calculatorURL("bacteria-starter", slug)},
		{Text: "Keep a control sample", URL: writeURL("control", slug)}, {Text: "When and how", URL: "/guides/giving-bacteria"}}
	if len(o.Assumed) > 0 {
		b.Assumed = "Not known, so assumed: " + strings.Join(o.Assumed, ", ") + ". A reading narrows it. "
	}
	b.Assumed += "How rich its lees are, and nutrients, are not reckoned with."
	return b
}

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
