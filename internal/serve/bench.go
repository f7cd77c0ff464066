package serve

import (
	"errors"
	"net/http"
	"net/url"

	"elevage/internal/bench"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

type benchGroup struct {
	Question string
	Tools    []benchTool
}

type benchTool struct{ URL, Title, Purpose string }

// benchPage finds a calculator by the question one asks. Opened from a vessel
// (?from=b2) it hands that on, so that the calculators are filled in.
func (s *Server) benchPage(w http.ResponseWriter, r *http.Request) error {
	from := r.URL.Query().Get("from")
	var groups []benchGroup
	for _, q := range bench.Questions {
		g := benchGroup{Question: q.Words()}
		for _, c := range bench.For(q) {
			g.Tools = append(g.Tools, benchTool{URL: calculatorURL(c.Name, from), Title: c.Title, Purpose: c.Purpose})
		}
		if q == bench.Becomes {
			g.Tools = append(g.Tools, benchTool{URL: "/blend", Title: "Blends from your own vessels", Purpose: "what to pour together to get what you want, or what your own volumes come to"})
		}
		if len(g.Tools) > 0 {
			groups = append(groups, g)
		}
	}
	groups = append(groups, guideTools())
	p := s.page(r, "Bench", ui.Bench, groups)
	p.Lead = "What do you ask?"
	if from != "" {
		p.Lead = "Filled in from " + from + "."
	}
	return s.kit.Render(w, http.StatusOK, "bench", p)
}

func calculatorURL(name, from string) string {
	u := url.URL{Path: "/bench/" + name}
	if from != "" {
		u.RawQuery = url.Values{"from": {from}}.Encode()
	}
	return u.String()
}

// calculatorView is one calculator as a form, with its answer once it was asked.
type calculatorView struct {
	Name     string
	From     string
	Errors   ui.FormErrors
	Fields   []ui.Field
	Tables   []benchTable
	Groups   []string
	Figures  []ui.Figure
	Answers  []ui.Table
	Words    []string
	Cautions []ui.Notice
	Working  *ui.Working
	Sources  []string
	Stop     *ui.Field // asks for the words that overrule a stop
	Stops    []ui.Notice
	Filled   string
	Clock    string // address of the answer as a timetable
	Card     string // and of its printed card
}

// calculatorPage shows a calculator; a query that holds any of its inputs asks it.
func (s *Server) calculatorPage(w http.ResponseWriter, r *http.Request) error {
	c, err := bench.Find(r.PathValue("name"))
	if err != nil {
		return err
	}
	q := r.URL.Query()
	view := calculatorView{Name: c.Name, From: q.Get("from"), Sources: sourcesOf(c)}
	asked := q.Has("ask")
	q.Del("ask")
	q.Del("from")
	given, err := bench.ParseForm(q)
	status := http.StatusOK
	var result *bench.Result
	if err == nil && !asked && view.From != "" {
		var v *desk.View
		if v, err = s.view(r.Context()); err != nil {
			return err
		}
		if st := v.In(view.From); st != nil {
			given = mergeGiven(c.Prefill(v.Facts(st)), given)
			view.Filled = "Filled in from " + parcelName(st) + ", " + st.Lot.Title() + ". Check what is old."
		}
	}
	if err == nil && !asked && c.Name == cultureSplit {
		if view.Filled, err = s.cultureFilled(r, given); err != nil {
			return err
		}
	}
	if err == nil && asked {
		var res bench.Result
		if res, err = c.Run(given); err == nil {
			result = &res
		}
	}
	var stop *bench.StopError
	switch {
	case errors.As(err, &stop):
		status = http.StatusUnprocessableEntity
		view.Stops = noticesOf(ui.Stopped, stop.Stops)
		view.Stop = &ui.Field{Name: "overrule", Label: "Why all the same?", Kind: ui.Words, Help: "Your words are kept with the result."}
	case err != nil && fault.KindOf(err) == fault.Invalid:
		status = http.StatusUnprocessableEntity
	case err != nil:
		return err
	}
	view.fields(c, q, given, fault.FieldsOf(err))
	if result != nil {
		view.answer(*result)
		if bench.Timed(c.Name) {
			view.Clock, view.Card = "/clock/"+c.Name+"?"+q.Encode(), stepsCard(c.Name, q)
		}
	}
	p := s.page(r, c.Title, ui.Bench, view)
	p.Lead = c.Purpose
	p.Up = &ui.Link{Text: "Bench", URL: benchURL(view.From)}
	return s.kit.Render(w, status, "calculator", p)
}

func benchURL(from string) string {
	if from == "" {
		return "/bench"
	}
	return "/bench?" + url.Values{"from": {from}}.Encode()
}

func mergeGiven(base, over bench.Given) bench.Given {
	if base == nil {
		base = bench.Given{}
	}
	for k, v := range over {
		base[k] = v
	}
	return base
}
