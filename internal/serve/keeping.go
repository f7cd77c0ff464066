package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
	"elevage/internal/track/gather"
	"elevage/science/ageing"
	"elevage/science/quantity"
)

// clockFigure says how long a wine has stood without sulfur dioxide.
func clockFigure(v *desk.View, st *desk.Standing) (ui.Figure, bool) {
	if st.Parcel.Form != cellar.FormWine {
		return ui.Figure{}, false
	}
	ph, ok := v.Read(st, cellar.ReadPH)
	c := ageing.SinceSO2(gather.Milestones(v.State, st.Parcel, v.Now), phOr(ph, ok), v.Now)
	if !c.Known {
		return ui.Figure{}, false
	}
	f := ui.Figure{Name: "without SO2", Text: fmt.Sprintf("%d d", int(c.Since)), Source: "since the last SO2"}
	if c.FromDryness {
		f.Source = "since it went dry"
	}
	if c.Caution != nil {
		f.Note = capital(c.Caution.Text) + "."
	}
	return f, true
}

// trade is what waiting with the first dose gains and costs, from today on.
type trade struct {
	Says     string
	Table    ui.Table
	Disagree string
	Shorten  []ui.Notice
	Sources  []string
}

func tradeOf(v *desk.View, st *desk.Standing) *trade {
	w, ok := gather.AtTheEnd(v.State, st.Parcel, st.Malo, v.Now)
	if !ok {
		return nil
	}
	t, err := ageing.FirstDose(0, w)
	if err != nil {
		return nil
	}
	out := &trade{Disagree: t.Disagree, Table: ui.Table{Caption: "The first dose: at once, or after a wait",
		Head: []string{"wait", "SO2 that binds, mg/L", "less to add, mg/L", "butter left", "days unprotected", ""}, Numbers: []bool{false, true, true, true, true}}}
	since := quantity.Span(endOf(v, st), v.Now)
	if since >= 1 {
		out.Says = fmt.Sprintf("Its malic acid has been gone for about %.0f days.", float64(since))
	}
	choices := stillOpen(t.Choices, since)
	if len(choices) == 1 {
		c := choices[0]
		out.Says += fmt.Sprintf(" What a wait gains is gained: %.0f mg/L of SO2 still bind, and %s of the butter is left. Each further day it only stands unprotected.", c.Binders.MgPerL(), ui.Chance(c.Butter))
		choices = nil
	}
	for _, c := range choices {
		wait := fmt.Sprintf("%.0f days", float64(c.Wait))
		switch {
		case c.Wait == 0:
			wait = "at once"
		case c.Wait == since:
			wait = "now"
		}
		out.Table.Rows = append(out.Table.Rows, []string{wait, fmt.Sprintf("%.0f", c.Binders.MgPerL()), fmt.Sprintf("%.0f", c.Spared.MgPerL()),
			fmt.Sprintf("%.0f %%", 100*c.Butter), fmt.Sprintf("%.0f", float64(c.Unprotected)), c.Keeps})
	}
	for _, s := range t.Shorten {
		text := capital(s.Text)
		if len(choices) > 0 { // what to do about it while one waits
			text += ": " + s.Act
		}
		out.Shorten = append(out.Shorten, ui.Notice{Kind: ui.Caution, Text: text + "."})
	}
	for _, s := range t.Sources {
		out.Sources = append(out.Sources, s.Text+" ("+string(s.Mark)+")")
	}
	return out
}

// endOf is the day on which the malic acid was gone: as believed, or else as declared.
func endOf(v *desk.View, st *desk.Standing) time.Time {
	if b := st.Malo; b != nil && b.Decision.Call == track.CallFinished && b.Finish.Q50 != nil {
		return b.Finish.Q50.Time
	}
	return gather.Milestones(v.State, st.Parcel, v.Now).Malolactic
}

// stillOpen leaves out the waits that have gone by; the last of them becomes today's.
func stillOpen(choices []ageing.WaitChoice, since quantity.Days) []ageing.WaitChoice {
	open := slices.Clone(choices)
	for len(open) > 1 && open[1].Wait <= since {
		open = open[1:]
	}
	if now := &open[0]; now.Wait < since && since >= 1 {
		whole := now.Binders + now.Spared // what bound at the end
		now.Wait, now.Unprotected, now.Butter = since, since, ageing.Diacetyl(since)
		now.Binders = whole * quantity.Concentration(ageing.Binders(since))
		now.Spared = whole - now.Binders
	}
	return open
}

// risksOf are the dangers of ageing wine that its record shows.
func risksOf(v *desk.View, st *desk.Standing) []ui.Notice {
	if st.SO2 == nil || st.Parcel.Form != cellar.FormWine {
		return nil
	}
	risks, err := ageing.Watch(gather.Look(v.State, st.Parcel, st.SO2, v.Now))
	if err != nil {
		return nil
	}
	var out []ui.Notice
	for _, r := range risks {
		text := ""
		for _, e := range r.Evidence {
			text += capital(e) + ". "
		}
		out = append(out, ui.Notice{Kind: ui.Caution, Head: capital(r.Name) + ".", Text: text + capital(r.Act) + ". (" + string(r.Source.Mark) + ")"})
	}
	return out
}

type awayView struct {
	Fields  []ui.Field
	Errors  ui.FormErrors
	Before  []ui.Act
	Within  []ui.Act
	Wait    []ui.Act
	Risks   []ui.Notice
	Asked   bool
	Nothing bool
}

// awayPage asks what a time away means: what to do before, what can wait, what
// is at risk.
func (s *Server) awayPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	view := awayView{Asked: q.Has("from"), Fields: []ui.Field{
		{Name: "from", Label: "First day away", Kind: ui.Date, Value: q.Get("from")},
		{Name: "to", Label: "Last day away", Kind: ui.Date, Value: q.Get("to")}}}
	status := http.StatusOK
	if view.Asked && !s.away(v, q, &view) {
		status = http.StatusUnprocessableEntity
	}
	view.Errors = ui.FormErrors{Fields: view.Fields}
	p := s.page(r, "A time away", ui.Today, view)
	p.Lead = "What to do before, what can wait, and what is at risk."
	p.Up = &ui.Link{Text: "Today", URL: "/"}
	return s.kit.Render(w, status, "away", p)
}

// away fills the view; false when the days are not what they can be.
func (s *Server) away(v *desk.View, q url.Values, view *awayView) bool {
	var days [2]time.Time
	for i := range view.Fields {
		f := &view.Fields[i]
		d, err := time.ParseInLocation(time.DateOnly, q.Get(f.Name), s.Zone)
		if err != nil {
			f.Error = fault.Field{Given: q.Get(f.Name), Allowed: "a date such as 2026-12-03"}.String()
			continue
		}
		days[i] = d
	}
	if view.Fields[0].Error != "" || view.Fields[1].Error != "" {
		return false
	}
	a, err := advise.Away(s.Desk.PlanInput(v), days[0], days[1])
	if err != nil {
		view.Fields[1].Error = err.Error()
		return false
	}
	acts := func(list []advise.AwayAct) []ui.Act {
		var out []ui.Act
		for i := range list {
			act := s.actOf(v, &list[i].Act)
			act.Tick, act.Cautions = nil, nil
			act.By, act.LateWhy = capital(act.By)+":", spoken(list[i].Because, v.Now)+"."
			out = append(out, act)
		}
		return out
	}
	view.Before, view.Within, view.Wait = acts(a.Before), acts(a.Meets), acts(a.CanWait)
	for _, risk := range a.AtRisk {
		n := ui.Notice{Kind: ui.Caution, Head: risk.Vessel + ".", Text: capital(spoken(risk.Says, v.Now)) + "."}
		view.Risks = append(view.Risks, n)
	}
	view.Nothing = len(view.Before)+len(view.Within)+len(view.Risks) == 0
	return true
}
