package serve

import (
	"fmt"
	"strings"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/science/cited"
)

// planView lays out the plan as a walk through the cellar.
func (s *Server) planView(v *desk.View) todayView {
	t := todayView{
		Walk:    s.walk(v, mattering(v.Plan.With(advise.Due), true)),
		Spare:   s.walk(v, mattering(v.Plan.With(advise.Due), false)),
		Soon:    s.walk(v, v.Plan.With(advise.Soon)),
		Waiting: s.walk(v, v.Plan.With(advise.Waiting)),
	}
	if v.Plan.Minutes > 0 && len(t.Walk)+len(t.Spare) > 0 {
		at := ui.Notice{Kind: ui.Told, Head: howLong(v.Plan) + "."}
		if len(v.Plan.Needs) > 0 {
			at.Text = "At hand: " + list(v.Plan.Needs) + "."
		}
		t.Batches = append(t.Batches, at)
	}
	for _, b := range v.Plan.Batches {
		t.Batches = append(t.Batches, ui.Notice{Kind: ui.Told, Head: b.Title + ".", Text: b.Says})
	}
	if len(t.Walk) == 0 {
		t.Nothing = "Nothing that matters is due tonight."
	}
	if c := v.Plan.ComeBack; c != nil {
		t.Back = &ui.ComeBack{When: ui.Weekday(v.At(c.Time), v.Now), Why: v.Plan.For}
	}
	return t
}

// howLong is how long what is due takes: "About 1¾ h, and 25 min more when there is time".
func howLong(t advise.Today) string {
	spare := spareMinutes(t)
	if spare > 0 && spare < t.Minutes {
		return "About " + hours(t.Minutes-spare) + ", and " + hours(spare) + " more when there is time"
	}
	return "About " + hours(t.Minutes)
}

// spareMinutes is the time of what costs nothing when it waits, apart from what is done
// in one go with something that matters.
func spareMinutes(t advise.Today) int {
	joined := map[string]bool{}
	for _, b := range t.Batches {
		for _, id := range b.Acts {
			joined[id] = true
		}
	}
	sum := 0
	for _, a := range t.With(advise.Due) {
		if a.Matters <= 1 && !joined[a.ID] {
			sum += a.Minutes
		}
	}
	return sum
}

// hours is a time for a person's evening, no finer than it can be known: "25 min",
// "1¾ h", "5½ h".
func hours(minutes int) string {
	switch {
	case minutes < 60:
		return fmt.Sprintf("%d min", max(5, (minutes+2)/5*5))
	case minutes < 180:
		minutes = (minutes + 7) / 15 * 15
	default:
		minutes = (minutes + 15) / 30 * 30
	}
	return fmt.Sprintf("%d", minutes/60) + [...]string{"", "¼", "½", "¾"}[minutes%60/15] + " h"
}

// mattering keeps the acts that cost something when they wait, or the others.
func mattering(acts []advise.Act, much bool) []advise.Act {
	var out []advise.Act
	for _, a := range acts {
		if (a.Matters > 1) == much {
			out = append(out, a)
		}
	}
	return out
}

// walk groups acts by place in the order in which they come.
func (s *Server) walk(v *desk.View, acts []advise.Act) []ui.Stop {
	var stops []ui.Stop
	for i := range acts {
		place := acts[i].Place
		if place == "" {
			place = "Anywhere"
		}
		if n := len(stops); n == 0 || stops[n-1].Place != place {
			stops = append(stops, ui.Stop{Place: place})
		}
		last := &stops[len(stops)-1]
		last.Acts = append(last.Acts, s.actOf(v, &acts[i]))
	}
	for i := range stops {
		sayOnce(stops[i].Acts)
	}
	return stops
}

// sayOnce takes a caution out where the act before, at the same place, has said it.
func sayOnce(acts []ui.Act) {
	said := map[string]bool{}
	for i := range acts {
		kept := acts[i].Cautions[:0]
		for _, n := range acts[i].Cautions {
			if n.Kind != ui.Caution || !said[n.Text] {
				kept = append(kept, n)
			}
			said[n.Text] = said[n.Text] || n.Kind == ui.Caution
		}
		acts[i].Cautions = kept
	}
}

var urgencies = map[advise.Standing]ui.Urgency{advise.Due: ui.Due, advise.Soon: ui.Soon, advise.Waiting: ui.Waiting, advise.Later: ui.Soon}

func (s *Server) actOf(v *desk.View, a *advise.Act) ui.Act {
	u := ui.Act{ID: a.ID, Vessel: a.Vessel, Verb: capital(a.Do), Amount: a.Amount, Unit: a.Unit, Why: spoken(a.Why, v.Now), By: windowOf(v, a), Urgency: urgencies[a.Standing], Tick: &ui.Link{Text: "Done", URL: "/tick/" + a.ID}}
	if a.Overdue > 0 {
		u.Urgency = ui.Late
	}
	if a.Instrument != "" && u.Vessel == "" {
		u.Vessel = a.Instrument
	}
	if a.Lot != "" {
		u.Lot = ui.Link{Text: a.LotName, URL: lotURL(a.Lot)}
	}
	u.Of = a.Tool
	if a.Late != "" {
		u.LateWhy = "If late: " + a.Late + "."
	}
	u.Cautions = beforehand(v, a)
	for _, c := range a.Cautions {
		u.Cautions = append(u.Cautions, ui.Notice{Kind: ui.Caution, Text: spoken(cautionText(c), v.Now)})
	}
	for _, o := range a.Order {
		u.Cautions = append(u.Cautions, ui.Notice{Kind: ui.Told, Head: headFirst, Text: o})
	}
	for _, w := range a.WaitingOn {
		u.Cautions = append(u.Cautions, ui.Notice{Kind: ui.Unsure, Head: "Waiting on", Text: w})
	}
	if m := a.Moved; m != nil {
		u.Cautions = append(u.Cautions, ui.Notice{Kind: ui.Told, Head: "Moved", Text: "from " + ui.Day(v.At(m.From.Time), v.Now) + " to " + ui.Day(v.At(m.To.Time), v.Now) + ": " + m.Because})
	}
	u.Working, u.WorkingName = actWorking(a, v.Now), "How much, and why"
	return u
}

// Heads of what stands beside an act, on the page and on the card: what would stop it,
// and what must come first.
const (
	headBefore = "Before this:"
	headFirst  = "First:"
)

func cautionText(c advise.Caution) string {
	t := c.Text
	if c.Ref != "" {
		t += " (" + c.Ref + ")"
	} else if c.Mark != "" {
		t += " (" + string(c.Mark) + ")"
	}
	return t
}

// windowOf is "today", "by 14 Nov", "around 12 Nov, 6–24 Nov".
func windowOf(v *desk.View, a *advise.Act) string {
	day := func(d *advise.Day) string { return ui.Day(v.At(d.Time), v.Now) }
	today := func(d *advise.Day) bool { return d != nil && d.Format(time.DateOnly) == v.Now.Format(time.DateOnly) }
	var parts []string
	if a.About != nil {
		parts = append(parts, "around "+day(a.About))
	}
	switch {
	case a.From != nil && a.To != nil && a.From.Equal(a.To.Time):
		if today(a.From) {
			parts = append(parts, "today")
		} else {
			parts = append(parts, "on "+day(a.From))
		}
	case a.From != nil && a.To != nil && a.From.After(v.Now):
		parts = append(parts, ui.Days(v.At(a.From.Time), v.At(a.To.Time), v.Now))
	case a.To != nil && today(a.To):
		parts = append(parts, "today")
	case a.To != nil:
		parts = append(parts, "by "+day(a.To))
	case a.From != nil && a.From.After(v.Now):
		parts = append(parts, "from "+day(a.From))
	}
	return strings.Join(parts, ", ")
}

// actWorking opens the figures that an act rests on and how its amount came about.
func actWorking(a *advise.Act, now time.Time) *ui.Working {
	w := &ui.Working{}
	for _, f := range a.Figures {
		if len(f.Shown) > len("30 November 2026") && strings.Contains(a.Why, f.Shown) {
			continue // a sentence that stands just above
		}
		w.Inputs = append(w.Inputs, ui.Figure{Name: f.Label, Text: spoken(f.Shown, now), Source: f.From})
	}
	if a.Working != nil {
		w.Formula = "by the calculator “" + a.Working.Result.Title + "”"
		w.Steps = workingOf(a.Working.Result).Steps
	}
	mark := string(a.Source.Mark)
	if a.Proposal {
		mark = "this tool's own proposal, not a rule of the trade"
	}
	source := a.Source.Text
	if source == "" || source == string(a.Source.Mark) {
		source = mark
	} else if a.Source.Mark == cited.Memory && strings.Contains(source, "from memory") {
		source += ", unverified"
	} else if mark != "" && !strings.Contains(source, mark) {
		source += " (" + mark + ")"
	}
	w.Sources = []string{source}
	return w
}

// actsFor are the acts at one parcel's vessel.
func (s *Server) actsFor(v *desk.View, st *desk.Standing) []ui.Act {
	var out []ui.Act
	for i := range v.Plan.Acts {
		a := &v.Plan.Acts[i]
		if a.Parcel == st.Parcel.ID && a.Standing != advise.Later {
			out = append(out, s.actOf(v, a))
		}
	}
	sayOnce(out)
	return out
}

// nextOf is the first thing that comes next for a lot.
func (s *Server) nextOf(v *desk.View, lot *cellar.Lot) string {
	for i := range v.Plan.Acts {
		a := &v.Plan.Acts[i]
		if a.Lot != lot.Slug {
			continue
		}
		text := a.Do
		if a.Amount != "" {
			text += " " + a.Amount + " " + a.Unit
		}
		if when := windowOf(v, a); when != "" {
			text += ", " + when
		}
		return text
	}
	for _, q := range v.Plan.Quiet {
		if q.Lot == lot.Slug {
			if q.Until == nil {
				return "nothing"
			}
			return "nothing until " + ui.Day(v.At(q.Until.Time), v.Now)
		}
	}
	return ""
}
