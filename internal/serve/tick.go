package serve

import (
	"net/http"
	"net/url"
	"strings"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

type tickView struct {
	Act    ui.Act
	Writes string // the sentence that will be kept
	Action string
	Fields []ui.Field
	Errors ui.FormErrors
	Others []ui.Notice
}

func (s *Server) planned(r *http.Request) (*desk.View, *advise.Act, error) {
	v, err := s.view(r.Context())
	if err != nil {
		return nil, nil, err
	}
	a := v.Plan.Find(r.PathValue("act"))
	if a == nil {
		return v, nil, fault.New(fault.NotFound, "tick", "this act is no longer planned: it was done, or something was learned")
	}
	return v, a, nil
}

// tickForm shows the half-written entry of a planned act.
func (s *Server) tickForm(w http.ResponseWriter, r *http.Request) error {
	v, a, err := s.planned(r)
	if err != nil {
		return err
	}
	return s.showTick(w, r, http.StatusOK, v, a, nil)
}

func (s *Server) showTick(w http.ResponseWriter, r *http.Request, status int, v *desk.View, a *advise.Act, wrong []fault.Field) error {
	view := tickView{Act: s.actOf(v, a), Action: "/tick/" + a.ID}
	view.Act.Tick = nil
	f, known, unfinished := finishing(a.Entry)
	switch amount, _ := amountOf(a.Entry); {
	case unfinished:
		view.Fields = f.Fields(v, known)
	case amount != nil:
		f.Calls = map[string]string{"temperature": "amount"}
		view.Fields = append(view.Fields, ui.Field{Name: "amount", Label: "What was really done", Value: amount.String(), Help: "Change it if it was another amount."})
	}
	if !unfinished && a.Entry != nil {
		view.Writes = cellar.Says(a.Entry)
	}
	view.Fields = append(view.Fields, whenFields(v.Now, r.Form)...)
	if !hasField(view.Fields, "words") {
		view.Fields = append(view.Fields, ui.Field{Name: "words", Label: "Words", Optional: true, Help: "If you skip it, say here why."})
	}
	view.Fields, view.Others = answered(f, view.Fields, known, r.Form, wrong)
	view.Errors = ui.FormErrors{Fields: view.Fields}
	p := s.page(r, "Done", ui.Today, view)
	p.Up = &ui.Link{Text: "Today", URL: "/"}
	return s.kit.Render(w, status, "tick", p)
}

// amountOf is the amount in a half-written entry and a function that changes it.
func amountOf(b cellar.Body) (*cellar.Measure, func(*cellar.Measure) cellar.Body) {
	switch b := b.(type) {
	case cellar.Addition:
		return b.Amount, func(m *cellar.Measure) cellar.Body { b.Planned, b.Amount = b.Amount, m; return b }
	case cellar.Inoculation:
		return b.Amount, func(m *cellar.Measure) cellar.Body { b.Amount = m; return b }
	case cellar.Warmth:
		return b.Set, func(m *cellar.Measure) cellar.Body { b.Set = m; return b }
	}
	return nil, nil
}

// tickAct writes what was really done and ticks the act, or skips it in words.
func (s *Server) tickAct(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	v, a, err := s.planned(r)
	if err != nil {
		return err
	}
	drafts, wrong := s.ticked(v, a, r.PostForm)
	if len(wrong) > 0 {
		return s.showTick(w, r, http.StatusUnprocessableEntity, v, a, wrong)
	}
	for i, weighed := range cellar.WeighAll(v.State, v.Now, drafts...) {
		held := weighed.Held()
		switch {
		case len(held) == 0 || drafts[i].Overruled != "":
		case len(weighed.Stops()) > 0:
			return s.askToOverrule(w, r, a.Do+" "+a.Vessel, "/tick/"+a.ID, r.PostForm, held)
		case r.PostForm.Get("warned") != warnedOf(held):
			return s.askAgain(w, r, a.Do+" "+a.Vessel, "/tick/"+a.ID, r.PostForm, held)
		}
	}
	at := s.now()
	entries, err := s.Pen.Write(at, drafts...)
	if err != nil {
		return err
	}
	// The tick names what was written with it, so it is written last.
	done := a.Done
	done.Words = strings.TrimSpace(r.PostForm.Get("words"))
	done.Skipped = r.PostForm.Get("skip") != ""
	for _, e := range entries {
		done.Entries = append(done.Entries, e.ID)
	}
	tick, err := s.Pen.Write(at, cellar.Draft{Happened: cellar.At(at), Body: done})
	if err != nil {
		return err
	}
	entries = append(entries, tick...)
	if _, err := s.Ledger.Append(r.Context(), entries); err != nil {
		return err
	}
	s.follow(w, r, "/", entries)
	return nil
}

// ticked are the drafts of what was really done; none for an act that is skipped
// or leaves nothing to write.
func (s *Server) ticked(v *desk.View, a *advise.Act, q url.Values) ([]cellar.Draft, []fault.Field) {
	if q.Get("skip") != "" {
		if strings.TrimSpace(q.Get("words")) == "" {
			return nil, []fault.Field{{Name: "words", Allowed: "why it is skipped"}}
		}
		return nil, nil
	}
	if a.Entry == nil {
		return nil, nil
	}
	when, bad := s.momentOf(q)
	w := wrong(bad)
	body := a.Entry
	var more []cellar.Body
	if f, _, unfinished := finishing(body); unfinished {
		finished, bad := f.Draft(v, q)
		body, w = withPlanned(finished, a.Entry), append(w, bad...)
		if f.More != nil && len(w) == 0 {
			more, bad = f.More(v, q, finished)
			w = append(w, bad...)
		}
	} else if amount, set := amountOf(body); amount != nil && strings.TrimSpace(q.Get("amount")) != amount.String() {
		if m := w.measure(q, "amount", amount.Unit, true); m != nil {
			body = set(m)
		}
	}
	drafts := []cellar.Draft{{Happened: when, Body: body, Overruled: strings.TrimSpace(q.Get("overruled"))}}
	for _, b := range more {
		drafts = append(drafts, cellar.Draft{Happened: when, Body: b})
	}
	for _, d := range drafts {
		if len(w) == 0 {
			w = fault.FieldsOf(d.CheckIn(v.State))
		}
	}
	return drafts, w
}

// beforehand says what would stop a planned act's entry, and what would let it
// through, before anyone has tried.
func beforehand(v *desk.View, a *advise.Act) []ui.Notice {
	if a.Entry == nil {
		return nil
	}
	var out []ui.Notice
	for _, stop := range cellar.Weigh(v.State, v.Now, cellar.Draft{Happened: cellar.At(v.Now), Body: a.Entry}).Stops() {
		n := ui.Notice{Kind: ui.Caution, Head: headBefore, Text: stop.Says}
		if stop.Code == cellar.WarnSO2Early {
			n.Link = &ui.Link{Text: "Declare it over", URL: "/write/verdict?" + url.Values{"vessel": {a.Vessel}, "says": {cellar.VerdictMalolacticFinished}}.Encode()}
		}
		out = append(out, n)
	}
	return out
}
