package serve

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// What was described once is described anew here: the order of the walk, and the
// protocol that a lot follows.

// walkPage asks where each vessel stands and in which order they are come to.
func (s *Server) walkPage(w http.ResponseWriter, r *http.Request) error {
	return s.showWalk(w, r, http.StatusOK, nil, nil)
}

func (s *Server) showWalk(w http.ResponseWriter, r *http.Request, status int, q url.Values, wrong []fault.Field) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	view := rowsView{Action: "/walk", Button: "Keep this order"}
	for _, vessel := range walkers(v) {
		walk := ""
		if vessel.Walk != 0 {
			walk = strconv.Itoa(vessel.Walk)
		}
		view.Rows = append(view.Rows, rowView{Head: vesselWords(v, vessel), Fields: []ui.Field{
			{Name: "walk-" + vessel.Slug, Label: "Place in the walk", Kind: ui.Number, Value: walk, Optional: true, Left: " "},
			{Name: "place-" + vessel.Slug, Label: "Where it stands", Value: vessel.Place, Optional: true, Left: " ", Beside: true}}})
	}
	if len(view.Rows) == 0 {
		view.Nothing = "No vessel is named yet."
	}
	view.answer(q, wrong)
	return s.showRows(w, r, status, "The walk", "1 for the vessel that you come to first. Today's list, the cards and the rounds follow it.", ui.Link{Text: "Today", URL: "/"}, view)
}

// walkers are the vessels that are still there, bottles apart, in the order of the walk.
func walkers(v *desk.View) []*cellar.Vessel {
	var out []*cellar.Vessel
	for _, vessel := range v.State.Vessels {
		if !vessel.Gone && !vessel.Bottles && vessel.Known {
			out = append(out, vessel)
		}
	}
	return out
}

func (s *Server) keepWalk(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	var drafts []cellar.Draft
	var wrong []fault.Field
	for _, vessel := range walkers(v) {
		b := vessel.VesselNamed
		b.Walk, b.Place, b.Anew, b.Words = 0, text(r.PostForm, "place-"+vessel.Slug), true, ""
		if n := text(r.PostForm, "walk-"+vessel.Slug); n != "" {
			walk, err := strconv.Atoi(n)
			if err != nil || walk < 0 || walk > 100000 {
				wrong = append(wrong, fault.Field{Name: "walk-" + vessel.Slug, Given: n, Allowed: "a whole number from 1, or nothing"})
			}
			b.Walk = walk
		}
		if b.Walk != vessel.Walk || b.Place != vessel.Place {
			drafts = append(drafts, cellar.Draft{Happened: cellar.At(v.Now), Body: b})
		}
	}
	if len(wrong) > 0 {
		return s.showWalk(w, r, http.StatusUnprocessableEntity, r.PostForm, wrong)
	}
	var kept []cellar.Entry
	if len(drafts) > 0 {
		if kept, err = s.keep(r.Context(), s.now(), drafts...); err != nil {
			return err
		}
	}
	s.follow(w, r, "/", kept)
	return nil
}

// protocolPage shows which protocol a lot follows, lets it follow another, and says
// what of it fires here and why.
func (s *Server) protocolPage(w http.ResponseWriter, r *http.Request) error {
	return s.showProtocol(w, r, http.StatusOK, "")
}

func (s *Server) showProtocol(w http.ResponseWriter, r *http.Request, status int, trouble string) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	lot := v.State.Lot(r.PathValue("lot"))
	if lot == nil {
		return fault.New(fault.NotFound, "show protocol", "there is no lot %q", r.PathValue("lot"))
	}
	in := s.Desk.PlanInput(v)
	library := in.Protocols
	if library == nil {
		library = advise.BuiltIn()
	}
	field := ui.Field{Name: "protocol", Label: "It follows", Kind: ui.Choice, Value: lot.Protocol, Error: trouble, Optional: true, Left: " ",
		Options: []ui.Option{{Text: "the one that fits it"}}}
	for _, p := range library.Choices() {
		field.Options = append(field.Options, ui.Option{Value: p.Name, Text: p.Title})
	}
	view := protocolView{Action: r.URL.Path, Field: field}
	if e, err := advise.Explain(in, lot.Slug); err == nil {
		view.Parts = explained(v, library, e)
	}
	p := s.page(r, "What "+lot.Title()+" follows", ui.Cellar, view)
	p.Lead, p.Up = "A protocol is a list of steps with conditions. Steps that are skipped in words stay away by themselves.", &ui.Link{Text: lot.Title(), URL: lotURL(lot.Slug)}
	return s.kit.Render(w, status, "protocol", p)
}

type protocolView struct {
	Action string
	Field  ui.Field
	Parts  []sheetPart
}

// explained are the steps of each vessel: those that are planned first, with why, then
// the others.
func explained(v *desk.View, library *advise.Library, e advise.Explanation) []sheetPart {
	var out []sheetPart
	for _, w := range e.Parcels {
		var titles []string
		for _, name := range w.Follows {
			if p := library.Find(name); p != nil {
				titles = append(titles, p.Title)
			}
		}
		t := ui.Table{Caption: "What comes of its steps", Head: []string{"step", "", "because"}}
		for _, planned := range []bool{true, false} {
			for _, step := range w.Steps {
				if (step.Outcome == advise.Planned) != planned || step.Outcome == advise.Doubled {
					continue
				}
				t.Rows = append(t.Rows, []string{capital(step.Act), standingOf(v, step), spoken(becauseOf(v, w.Vessel, step), v.Now)})
			}
		}
		out = append(out, sheetPart{Head: w.Vessel, Says: []string{"Follows " + list(titles) + "."}, Tables: []ui.Table{t}})
	}
	return out
}

func standingOf(v *desk.View, t advise.Trace) string {
	if t.Outcome != advise.Planned {
		return string(t.Outcome)
	}
	if t.Standing == advise.Waiting {
		return "waiting on " + list(t.WaitingOn)
	}
	if t.From != nil {
		return string(t.Standing) + ", from " + ui.Day(v.At(t.From.Time), v.Now)
	}
	return string(t.Standing)
}

// becauseOf is the reason of an outcome: the plan's own sentence for what is planned,
// else the figures of the first condition that does not hold.
func becauseOf(v *desk.View, vessel string, t advise.Trace) string {
	if t.Reason != "" {
		return t.Reason
	}
	if t.Outcome == advise.Planned {
		for _, a := range v.Plan.At(vessel) {
			if a.Step == t.Step {
				return a.Why
			}
		}
	}
	var parts []string
	for _, c := range t.Conditions {
		if c.Answer != "no" {
			continue
		}
		for _, u := range c.Uses {
			parts = append(parts, u.Label+": "+u.Shown)
		}
		break
	}
	return strings.Join(parts, "; ")
}

func (s *Server) keepProtocol(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	lot := v.State.Lot(r.PathValue("lot"))
	if lot == nil {
		return fault.New(fault.NotFound, "show protocol", "there is no lot %q", r.PathValue("lot"))
	}
	library := s.Desk.PlanInput(v).Protocols
	if library == nil {
		library = advise.BuiltIn()
	}
	b := lot.LotStarted
	b.Protocol, b.Anew, b.Words = text(r.PostForm, "protocol"), true, ""
	if p := library.Find(b.Protocol); b.Protocol != "" && (p == nil || p.Beside) {
		return s.showProtocol(w, r, http.StatusUnprocessableEntity, fault.Field{Given: b.Protocol, Allowed: "one of the list"}.String())
	}
	if b.Protocol != lot.Protocol {
		if _, err := s.keep(r.Context(), s.now(), cellar.Draft{Happened: cellar.At(v.Now), Body: b}); err != nil {
			return err
		}
	}
	http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
	return nil
}
