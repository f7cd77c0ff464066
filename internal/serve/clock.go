package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"elevage/internal/bench"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// clockView is a culture's timetable. Its beginning stands in the address, so that
// the page may be left, loaded again or handed on.
type clockView struct {
	Action string    // with its inputs, for whoever follows it without the form
	Carry  []ui.Pair // what was asked of the calculator
	Began  string    // in words; "" before the start
	Again  string    // address of the page before the start
	Reckon string    // address of the calculator's answer
	Card   string    // address of the steps as a printed card
	Now    int64     // ms since 1970, for a phone whose clock is off
	Steps  []clockStep
	Notes  []ui.Notice
	Hour   ui.Field
}

// A clockStep is shown by how long after the start it is, and by the clock once
// that is known.
type clockStep struct {
	After, At, Latest string
	Due, Late         int64 // ms since 1970; 0 before the start, and where it is never late
	Do, Then          string
}

// beganLayout is how the beginning stands in the address.
const beganLayout = "2006-01-02T15:04"

// timed runs the calculator that a page by the clock is of, on the query without what is
// the page's own; inputs are what is left of it.
func timed(r *http.Request, to string, own ...string) (c *bench.Calculator, res bench.Result, inputs url.Values, err error) {
	if c, err = bench.Find(r.PathValue("name")); err != nil {
		return nil, res, nil, err
	}
	if !bench.Timed(c.Name) {
		return nil, res, nil, fault.New(fault.NotFound, to, "%s does not run by the clock", c.Title)
	}
	inputs = r.URL.Query()
	for _, key := range own {
		inputs.Del(key)
	}
	given, err := bench.ParseForm(inputs)
	if err != nil {
		return nil, res, nil, err
	}
	res, err = c.Run(given)
	return c, res, inputs, err
}

// clockPage shows the steps of a culture by the clock. "start" asks for the present
// minute as the beginning, or for the last time that it was the hour given.
func (s *Server) clockPage(w http.ResponseWriter, r *http.Request) error {
	asked := r.URL.Query()
	began, start, hour := asked.Get("began"), asked.Has("start"), strings.TrimSpace(asked.Get("hour"))
	c, res, q, err := timed(r, "show timetable", "began", "start", "hour", "ask", "from")
	if err != nil {
		return err
	}
	here := "/clock/" + c.Name
	now := s.now().In(s.Zone)
	view := clockView{Hour: ui.Field{Name: "hour", Label: "Or it began at", Kind: ui.Words, Optional: true, Example: "19:30"}, Action: here + "?" + q.Encode(), Again: here + "?" + q.Encode(), Reckon: "/bench/" + c.Name + "?ask=1&" + q.Encode(), Card: stepsCard(c.Name, q), Now: now.UnixMilli()}
	if start {
		at, err := lastTime(hour, now)
		if err == nil {
			with := url.Values{"began": {at.Format(beganLayout)}}
			http.Redirect(w, r, view.Again+"&"+with.Encode(), http.StatusSeeOther)
			return nil
		}
		view.Hour.Error, view.Hour.Value = err.Error(), hour
	}
	var from time.Time
	if began != "" {
		if from, err = time.ParseInLocation(beganLayout, began, s.Zone); err != nil {
			return fault.BadFields("show timetable", fault.Field{Name: "began", Given: began, Allowed: "a moment such as 2026-11-03T19:30"})
		}
		view.Began = clockTime(from, now)
	}
	for key, values := range q {
		for _, v := range values {
			view.Carry = append(view.Carry, ui.Pair{Name: key, Value: v})
		}
	}
	for _, m := range res.Timetable() {
		view.Steps = append(view.Steps, stepOf(m, from, now))
	}
	for _, caution := range res.Cautions {
		view.Notes = append(view.Notes, ui.Notice{Kind: ui.Caution, Text: caution.Text})
	}
	p := s.page(r, c.Title+" by the clock", ui.Bench, view)
	p.Up = &ui.Link{Text: c.Title, URL: view.Reckon}
	p.Scripts = []string{"clock.js"}
	status := http.StatusOK
	if view.Hour.Error != "" {
		status = http.StatusUnprocessableEntity
	}
	return s.kit.Render(w, status, "clock", p)
}

// lastTime is now, or the last time that it was an hour of the clock.
func lastTime(hour string, now time.Time) (time.Time, error) {
	if hour == "" {
		return now, nil
	}
	t, err := time.Parse("15:04", hour)
	if err != nil {
		return now, fmt.Errorf("%q was typed: an hour such as 19:30 is wanted, or nothing for now", hour)
	}
	at := time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location())
	if at.After(now) {
		at = at.AddDate(0, 0, -1)
	}
	return at, nil
}

func stepOf(m bench.Moment, from, now time.Time) clockStep {
	step := clockStep{After: "at the start", Do: m.Do, Then: m.Then}
	if m.After > 0 {
		step.After = "after " + spell(m.After)
	}
	if m.Until > m.After {
		step.Latest = spell(m.Until) + " at the latest"
	}
	if from.IsZero() {
		return step
	}
	due := from.Add(m.After)
	step.At, step.Due = clockTime(due, now), due.UnixMilli()
	if m.Until > m.After {
		late := from.Add(m.Until)
		step.Latest, step.Late = clockTime(late, now)+" at the latest", late.UnixMilli()
	}
	return step
}

// clockTime is an hour, with its day unless that is today.
func clockTime(t, now time.Time) string {
	if t.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return t.Format("15:04")
	}
	return ui.Weekday(t, now) + ", " + t.Format("15:04")
}

// spell is a wait in words: 20 min, 18 h, 3 days.
func spell(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.3g h", d.Hours())
	}
	return fmt.Sprintf("%.0f days", d.Hours()/24)
}
