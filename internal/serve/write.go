package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// A form is one kind of entry to be filled in. It is declared once, in forms.go.
type form struct {
	Name, Title, Lead string
	Fields            func(v *desk.View, q url.Values) []ui.Field
	Draft             func(v *desk.View, q url.Values) (cellar.Body, []fault.Field)
	// Of is the thing that it describes anew: the field that must be known before
	// anything can be asked.
	Of string
	// More is what else is kept with it.
	More     func(v *desk.View, q url.Values, body cellar.Body) ([]cellar.Body, []fault.Field)
	Timeless bool // it describes a thing; when it was written is enough
	// Before is where it can be thought over first.
	Before []ui.Link
	// Calls are the fields by what the entry calls them, where that is not the
	// field's name or label: an entry's "to vessel" is asked for as "to".
	Calls map[string]string
}

// asks is the field that asks for what an entry calls by a name.
func (f *form) asks(name string, typed url.Values) string {
	if field, ok := f.Calls[name]; ok {
		return field
	}
	for _, volume := range []string{"volume ", "wine in ", "must in ", "loss to "} { // "volume to b2"
		if strings.HasPrefix(name, volume) {
			return volumeOf(name[strings.LastIndex(name, " ")+1:], typed)
		}
	}
	return name
}

// placed is the field next to which something wrong is told: of several of a kind
// the last that was answered so.
func (f *form) placed(bad fault.Field, typed url.Values) string {
	name := f.asks(bad.Name, typed)
	for n := several; n > 1 && bad.Given != ""; n-- {
		if strings.EqualFold(text(typed, numbered(name, n)), bad.Given) {
			return numbered(name, n)
		}
	}
	return name
}

// volumeOf is the field that asks how much of or into a vessel.
func volumeOf(vessel string, typed url.Values) string {
	for n := 2; n <= several; n++ {
		for _, name := range []string{"to", "vessel"} {
			if slugOf(typed, numbered(name, n)) == vessel && typed.Has(numbered("volume", n)) {
				return numbered("volume", n)
			}
		}
	}
	return "volume"
}

type writeView struct {
	Action string
	Files  bool // it may carry a picture
	Errors ui.FormErrors
	Fields []ui.Field
	Others []ui.Notice
	Button string
	Warned string // what was warned of on this page, so that it is asked once
	Carry  []ui.Pair
	Before *ui.Table // what it comes to, shown before it is kept
	Do     []ui.Link
}

func formNamed(name string) (form, error) {
	for _, f := range forms {
		if f.Name == name {
			return f, nil
		}
	}
	return form{}, fault.New(fault.NotFound, "find form", "there is no form %q", name)
}

func (s *Server) writeForm(w http.ResponseWriter, r *http.Request) error {
	f, err := formNamed(r.PathValue("form"))
	if err != nil {
		return err
	}
	if f.Of != "" && r.URL.Query().Get(f.Of) == "" {
		return s.askWhich(w, r, f)
	}
	return s.showForm(w, r, http.StatusOK, f, r.URL.Query(), nil)
}

// askWhich lists the things that a form could describe.
func (s *Server) askWhich(w http.ResponseWriter, r *http.Request, f form) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	group := benchGroup{Question: "Which " + f.Of + "?"}
	for _, o := range f.Fields(v, nil)[0].Options[1:] {
		group.Tools = append(group.Tools, benchTool{URL: "/write/" + f.Name + "?" + url.Values{f.Of: {o.Value}}.Encode(), Title: o.Text})
	}
	p := s.page(r, f.Title, ui.Write, []benchGroup{group})
	p.Lead, p.Up = f.Lead, &ui.Link{Text: "Write", URL: "/write"}
	return s.kit.Render(w, http.StatusOK, "bench", p)
}

// showForm shows a form with what was typed still in it.
func (s *Server) showForm(w http.ResponseWriter, r *http.Request, status int, f form, q url.Values, wrong []fault.Field, warned ...cellar.Warning) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	view := writeView{Do: f.Before, Action: "/write/" + f.Name, Fields: f.Fields(v, q), Button: "Keep"}
	if !f.Timeless {
		view.Fields = append(view.Fields, whenFields(v.Now, q)...)
	}
	var came []ui.Notice
	if s.Files != nil {
		var picture ui.Field
		picture, came = s.pictureAsked(q)
		view.Fields, view.Files = append(view.Fields, picture), true
		for _, name := range []string{pictureDigest, pictureName} {
			if q.Get(name) != "" {
				view.Carry = append(view.Carry, ui.Pair{Name: name, Value: q.Get(name)})
			}
		}
	}
	view.Fields, view.Others = answered(f, view.Fields, nil, q, wrong)
	view.Others = append(append(lacking(v, view.Fields), view.Others...), came...)
	if len(warned) > 0 {
		view.Warned, view.Button = warnedOf(warned), "Keep it all the same"
		for _, one := range warned {
			view.Others = append(view.Others, ui.Notice{Kind: ui.Caution, Head: "Not kept yet.", Text: one.Says})
		}
	}
	view.Errors = ui.FormErrors{Fields: view.Fields}
	p := s.page(r, f.Title, ui.Write, view)
	p.Lead = f.Lead
	p.Up = &ui.Link{Text: "Write", URL: "/write"}
	return s.kit.Render(w, status, "write", p)
}

// lacking says what must be there before a form can be filled in: a list with
// nothing to choose is no question.
func lacking(v *desk.View, fields []ui.Field) []ui.Notice {
	var out []ui.Notice
	for _, f := range fields {
		if f.Kind != ui.Choice || f.Optional || len(f.Options) > 1 || len(f.Options) == 1 && f.Options[0].Value != "" {
			continue
		}
		n := ui.Notice{Kind: ui.Told, Head: f.Label + ":"}
		switch {
		case f.Name == "lot":
			n.Text, n.Link = "no lot is there to choose yet.", &ui.Link{Text: "Start a lot", URL: "/write/lot"}
		case f.Name == "instrument":
			n.Text, n.Link = "no instrument is there to choose yet.", &ui.Link{Text: "Name an instrument", URL: "/write/instrument"}
		case f.Label == "Bottling":
			n.Text, n.Link = "no bottles are left, or none were filled yet.", &ui.Link{Text: "Bottling", URL: "/write/bottling"}
		case len(v.State.Vessels) == 0:
			n.Text, n.Link = "no vessel is there to choose yet.", &ui.Link{Text: "Name a vessel", URL: "/write/vessel"}
		default:
			n.Text, n.Link = "no vessel holds wine yet.", &ui.Link{Text: "Fill a vessel", URL: "/write/fill"}
		}
		out = append(out, n)
	}
	return out
}

// answered puts into the fields what was typed, or else what is known, and next
// to each what is wrong with it. What is wrong with no field of the form is told
// apart.
func answered(f form, fields []ui.Field, known, typed url.Values, wrong []fault.Field) ([]ui.Field, []ui.Notice) {
	placed := map[string]bool{}
	for i := range fields {
		field := &fields[i]
		for _, q := range []url.Values{known, typed} {
			if q.Has(field.Name) {
				field.Value = strings.Join(q[field.Name], "\n")
			}
		}
		for _, bad := range wrong {
			if f.placed(bad, typed) == field.Name || strings.EqualFold(bad.Name, field.Label) {
				field.Error = joined(field.Error, bad)
				placed[bad.Name] = true
			}
		}
	}
	var others []ui.Notice
	for _, bad := range wrong {
		if !placed[bad.Name] {
			others = append(others, ui.Notice{Kind: ui.Stopped, Head: "Not kept.", Text: bad.String()})
		}
	}
	return fields, others
}

func whenFields(now time.Time, q url.Values) []ui.Field {
	day := q.Get("day")
	if day == "" {
		day = now.Format(time.DateOnly)
	}
	return []ui.Field{
		{Name: "day", Label: "Day", Kind: ui.Date, Value: day},
		{Name: "hour", Label: "Hour", Kind: ui.Words, Value: q.Get("hour"), Optional: true, Beside: true, Example: "19:30", Help: "Left empty, only the day is kept."},
	}
}

// momentOf reads day and hour of a form.
func (s *Server) momentOf(q url.Values) (cellar.Moment, []fault.Field) {
	day, err := time.ParseInLocation(time.DateOnly, q.Get("day"), s.Zone)
	if err != nil {
		return cellar.Moment{}, []fault.Field{{Name: "day", Given: q.Get("day"), Allowed: "a date such as 2026-11-03"}}
	}
	hour := strings.TrimSpace(q.Get("hour"))
	if hour == "" {
		return cellar.On(day), nil
	}
	t, err := time.ParseInLocation("2006-01-02 15:04", q.Get("day")+" "+hour, s.Zone)
	if err != nil {
		return cellar.Moment{}, []fault.Field{{Name: "hour", Given: hour, Allowed: "an hour such as 19:30, or nothing"}}
	}
	return cellar.At(t), nil
}

// warnedOf is the token of warnings that were shown, figures and all: another
// figure is warned of anew.
func warnedOf(warnings []cellar.Warning) string {
	said := sha256.New()
	for _, one := range warnings {
		fmt.Fprintln(said, one.Says)
	}
	sum := said.Sum(nil)
	const enough = 12
	return hex.EncodeToString(sum[:enough])
}

// readForm reads what was posted.
func readForm(r *http.Request) error {
	return unreadable(r.ParseForm())
}

// unreadable says that a form could not be read; nil for no error.
func unreadable(err error) error {
	if err == nil {
		return nil
	}
	text := "the form could not be read"
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		text = fmt.Sprintf("the form is too long: at most %d bytes are taken", big.Limit)
	}
	return &fault.Error{Kind: fault.Invalid, Op: "read form", Text: text, Err: err}
}

// writeEntry keeps what a form says, or shows it again with what is wrong.
func (s *Server) writeEntry(w http.ResponseWriter, r *http.Request) error {
	f, err := formNamed(r.PathValue("form"))
	if err != nil {
		return err
	}
	unfit, err := s.readAnswers(r)
	if err != nil {
		return err
	}
	q := r.PostForm
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	drafts, wrong := s.drafted(f, v, q)
	picture, pictured, lost := s.pictureOf(q)
	if wrong = append(append(wrong, unfit...), lost...); len(wrong) > 0 {
		return s.showForm(w, r, http.StatusUnprocessableEntity, f, q, wrong)
	}
	draft := drafts[0]
	var weighed cellar.Warnings
	for i, found := range cellar.WeighAll(v.State, v.Now, drafts...) {
		found = append(found, v.Foresee(drafts[i])...)
		if i > 0 && len(found.Stops()) == 0 {
			drafts[i].Overruled = ""
		}
		weighed = append(weighed, found...)
	}
	if len(weighed.Stops()) > 0 && draft.Overruled == "" {
		return s.askToOverrule(w, r, f.Title, "/write/"+f.Name, q, weighed)
	}
	if len(weighed) > 0 && draft.Overruled == "" && q.Get("warned") != warnedOf(weighed) {
		return s.showForm(w, r, http.StatusOK, f, q, nil, weighed...)
	}
	now := s.now()
	entries, err := s.Pen.Write(now, drafts...)
	if err != nil {
		return err
	}
	kept := entries
	if pictured {
		picture.To = entries[0].ID
		of, err := s.Pen.Write(now, cellar.Draft{Happened: cellar.At(now), Body: picture})
		if err != nil {
			return err
		}
		entries = append(slices.Clip(entries), of...)
	}
	if _, err := s.Ledger.Append(r.Context(), entries); err != nil {
		return err
	}
	s.backTo(w, r, kept)
	return nil
}

// drafted are the drafts that a form's answers make, and what is wrong with them.
func (s *Server) drafted(f form, v *desk.View, q url.Values) ([]cellar.Draft, []fault.Field) {
	body, wrong := f.Draft(v, q)
	bodies := []cellar.Body{body}
	when := cellar.At(v.Now)
	if !f.Timeless {
		var bad []fault.Field
		when, bad = s.momentOf(q)
		wrong = append(wrong, bad...)
	}
	if f.More != nil && len(wrong) == 0 {
		more, bad := f.More(v, q, body)
		bodies, wrong = append(bodies, more...), append(wrong, bad...)
	}
	drafts := make([]cellar.Draft, len(bodies))
	for i, b := range bodies {
		drafts[i] = cellar.Draft{Body: b, Happened: when, Overruled: strings.TrimSpace(q.Get("overruled"))}
		if len(wrong) == 0 {
			wrong = fault.FieldsOf(drafts[i].CheckIn(v.State))
		}
	}
	return drafts, wrong
}

// keep writes drafts into the ledger.
func (s *Server) keep(ctx context.Context, at time.Time, drafts ...cellar.Draft) ([]cellar.Entry, error) {
	entries, err := s.Pen.Write(at, drafts...)
	if err != nil {
		return nil, err
	}
	_, err = s.Ledger.Append(ctx, entries)
	return entries, err
}

// backTo leads to the page where what was kept is best seen.
func (s *Server) backTo(w http.ResponseWriter, r *http.Request, kept []cellar.Entry) {
	to := "/cellar"
	if v, err := s.look(r.Context()); err == nil {
		for _, e := range kept {
			rec := v.State.Record(e.ID)
			if rec == nil {
				continue
			}
			home := s.homeOf(v.State, rec)
			if home != "/ledger" || to == "/cellar" { // of several, the last that a lot's page shows
				to = home + "#e-" + string(e.ID)
			}
			if lot, ok := rec.Body.(cellar.LotStarted); ok && !lot.Anew {
				to = "/write/" + nextOfLot(r.PostForm.Get("comes")) + "?lot=" + url.QueryEscape(lot.Slug)
			}
		}
	}
	s.follow(w, r, to, kept)
}

// nextOfLot is the form with which a lot comes in.
func nextOfLot(comes string) string {
	for _, c := range comings {
		if c.Value == comes {
			return comes
		}
	}
	return "fill"
}

// askAgain shows what cannot be true by the record so far, and asks whether it is to be
// kept all the same.
func (s *Server) askAgain(w http.ResponseWriter, r *http.Request, what, action string, q url.Values, asked []cellar.Warning) error {
	c := ui.Confirm{What: what, Action: action, Yes: "Keep it all the same", No: ui.Link{Text: "Leave it", URL: "/cellar"}}
	for _, one := range asked {
		c.Reasons = append(c.Reasons, ui.Notice{Kind: ui.Caution, Text: one.Says})
	}
	c.Reasons = append(c.Reasons, ui.Notice{Kind: ui.Told, Text: "What was done before it may be written down later, with its own day."})
	c.Carry = append(carried(q, "warned"), ui.Pair{Name: "warned", Value: warnedOf(asked)})
	return s.kit.Render(w, http.StatusOK, "confirm", s.page(r, "Not by the record", "", c))
}

// carried are the answers of a form, to be sent with the next, but for one.
func carried(q url.Values, but string) []ui.Pair {
	var out []ui.Pair
	for name, values := range q {
		for _, value := range values {
			if name != but {
				out = append(out, ui.Pair{Name: name, Value: value})
			}
		}
	}
	return out
}

// askToOverrule shows why something was stopped, and asks for the words that
// are kept when it is done all the same.
func (s *Server) askToOverrule(w http.ResponseWriter, r *http.Request, what, action string, q url.Values, stops []cellar.Warning) error {
	c := ui.Confirm{What: what, Action: action, Yes: "Keep it all the same", No: ui.Link{Text: "Leave it", URL: "/cellar"},
		Words: ui.Field{Name: "overruled", Label: "Why all the same?", Help: "Your words are kept with the entry."}}
	for _, stop := range stops {
		c.Reasons = append(c.Reasons, ui.Notice{Kind: ui.Stopped, Text: stop.Says})
	}
	c.Carry = carried(q, "overruled")
	p := s.page(r, "Stop and think", "", c)
	return s.kit.Render(w, http.StatusUnprocessableEntity, "confirm", p)
}
