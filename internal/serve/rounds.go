package serve

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/internal/track/gather"
)

// The day's rounds: every vessel that ferments on one page, its density, its warmth
// and whether the cap was worked, kept with one button.

// A round is one vessel of them.
type round struct {
	st    *desk.Standing
	skins bool // there is a cap
	last  map[string]lastRead
	cap   time.Time // last worked; zero if never
}

type lastRead struct {
	value *cellar.Measure
	at    time.Time
}

// roundsOf are the vessels that ferment, in the order of a walk: must, and wine that
// is not shown to be dry.
func roundsOf(v *desk.View) []round {
	var out []round
	for _, st := range v.Standings {
		if st.Parcel.Form != cellar.FormMust && (st.Parcel.Form != cellar.FormWine || !stillFerments(v, st.Parcel)) {
			continue
		}
		one := round{st: st, last: map[string]lastRead{}}
		for _, h := range v.State.History(st.Parcel.ID) {
			if !h.Counts() || h.At.After(v.Now) {
				continue
			}
			switch b := h.Body.(type) {
			case cellar.Crush:
				one.skins = !b.Juice
			case cellar.Press:
				one.skins = false
			case cellar.Stirring:
				if b.What != "lees" {
					one.cap = h.At
				}
			}
		}
		for _, what := range []string{cellar.ReadDensity, cellar.ReadTemperature} {
			if r, at, ok := gather.Latest(v.State, st.Parcel, what, v.Now); ok {
				one.last[what] = lastRead{r.Value, at}
			}
		}
		out = append(out, one)
	}
	return out
}

// stillFerments says whether yeast was given to wine here, or its density fell, and it
// was not declared dry since.
func stillFerments(v *desk.View, p *cellar.Parcel) bool {
	going := false
	for _, h := range v.State.History(p.ID) {
		if !h.Counts() || h.At.After(v.Now) || h.Share < 0.5 {
			continue
		}
		switch b := h.Body.(type) {
		case cellar.Inoculation:
			going = going || b.Of == "primary"
		case cellar.Verdict:
			if b.Says == cellar.VerdictDry || b.Says == cellar.VerdictMalolacticFinished {
				going = false
			}
		case cellar.Reading:
			if b.What == cellar.ReadSugar {
				if c, _, err := b.Value.Concentration(); err == nil && c.GPerL() < 2 {
					going = false
				}
			}
		}
	}
	return going
}

// unit is that of a bare figure: the one that was read last, or the usual.
func (r *round) unit(what string) string {
	if l, ok := r.last[what]; ok && l.value.Unit != "" {
		return l.value.Unit
	}
	switch {
	case what == cellar.ReadDensity:
		return "SG"
	case r.st.Lot.Units == "us":
		return "°F"
	}
	return "°C"
}

func (r *round) says(v *desk.View) string {
	var parts []string
	for _, what := range []string{cellar.ReadDensity, cellar.ReadTemperature} {
		if l, ok := r.last[what]; ok {
			parts = append(parts, fmt.Sprintf("%s %s, %s ago", what, l.value, ui.Age(l.at, v.Now)))
		}
	}
	if r.skins && !r.cap.IsZero() {
		parts = append(parts, "cap worked "+ui.Age(r.cap, v.Now)+" ago")
	} else if r.skins {
		parts = append(parts, "cap not worked on record")
	}
	if len(parts) == 0 {
		return "Nothing read yet."
	}
	return capital(strings.Join(parts, "; ")) + "."
}

func (r *round) fields() []ui.Field {
	slug := r.st.Vessel.Slug
	f := []ui.Field{
		{Name: "density-" + slug, Label: "Density", Unit: unitShownIn(r.unit(cellar.ReadDensity)), Kind: ui.Number, Optional: true, Left: " "},
		{Name: "temperature-" + slug, Label: "Temperature", Unit: r.unit(cellar.ReadTemperature), Kind: ui.Number, Optional: true, Left: " ", Beside: true}}
	if r.skins {
		f = append(f, ui.Field{Name: "cap-" + slug, Label: "Cap worked", Kind: ui.Check, Optional: true, Beside: true})
	}
	return f
}

// unitShownIn is a unit as it stands beside a box; specific gravity has none.
func unitShownIn(unit string) string {
	if unit == "SG" {
		return ""
	}
	return unit
}

func (s *Server) roundsPage(w http.ResponseWriter, r *http.Request) error {
	return s.showRounds(w, r, http.StatusOK, r.URL.Query(), nil)
}

func (s *Server) showRounds(w http.ResponseWriter, r *http.Request, status int, q url.Values, wrong []fault.Field, warned ...cellar.Warning) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	view := rowsView{Action: "/rounds", Button: "Keep all"}
	for _, one := range roundsOf(v) {
		view.Rows = append(view.Rows, rowView{Head: one.st.Vessel.Title() + ", " + one.st.Lot.Title(), Says: one.says(v), Fields: one.fields()})
	}
	if len(view.Rows) == 0 {
		view.Nothing = "Nothing ferments now."
	}
	now := url.Values{"hour": {v.Now.Format("15:04")}}
	view.When = whenFields(v.Now, now)
	view.answer(q, wrong)
	if len(warned) > 0 {
		view.Warned, view.Button = warnedOf(warned), "Keep all the same"
		for _, one := range warned {
			view.Others = append(view.Others, ui.Notice{Kind: ui.Caution, Head: "Not kept yet.", Text: one.Says})
		}
	}
	return s.showRows(w, r, status, "The day's rounds", "Every vessel that ferments. What is left empty is not kept.", ui.Link{Text: "Today", URL: "/"}, view)
}

// walked reads the rounds: a draft for each box that was filled in.
func (s *Server) walked(v *desk.View, q url.Values) ([]cellar.Draft, []fault.Field) {
	at, bad := s.momentOf(q)
	w := wrong(bad)
	var drafts []cellar.Draft
	keep := func(field string, b cellar.Body) {
		d := cellar.Draft{Happened: at, Body: b}
		for _, f := range fault.FieldsOf(d.Check()) {
			w = append(w, fault.Field{Name: field, Given: f.Given, Allowed: f.Allowed, Hint: f.Hint})
		}
		drafts = append(drafts, d)
	}
	for _, one := range roundsOf(v) {
		slug := one.st.Vessel.Slug
		warm := w.measure(q, "temperature-"+slug, one.unit(cellar.ReadTemperature), false)
		if m := w.measure(q, "density-"+slug, one.unit(cellar.ReadDensity), false); m != nil {
			keep("density-"+slug, cellar.Reading{Vessel: slug, What: cellar.ReadDensity, Value: m})
		}
		if warm != nil {
			keep("temperature-"+slug, cellar.Reading{Vessel: slug, What: cellar.ReadTemperature, Value: warm})
		}
		if one.skins && q.Get("cap-"+slug) != "" {
			keep("cap-"+slug, cellar.Stirring{Vessel: slug, What: "punch-down"})
		}
	}
	return drafts, w
}

func (s *Server) keepRounds(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	q := r.PostForm
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	drafts, wrong := s.walked(v, q)
	if len(wrong) > 0 {
		return s.showRounds(w, r, http.StatusUnprocessableEntity, q, wrong)
	}
	if len(drafts) == 0 {
		return s.showRounds(w, r, http.StatusOK, q, nil)
	}
	var weighed cellar.Warnings
	for _, d := range drafts {
		weighed = append(weighed, cellar.Weigh(v.State, v.Now, d)...)
	}
	if len(weighed) > 0 && q.Get("warned") != warnedOf(weighed) {
		return s.showRounds(w, r, http.StatusOK, q, nil, weighed...)
	}
	kept, err := s.keep(r.Context(), s.now(), drafts...)
	if err != nil {
		return err
	}
	s.follow(w, r, "/", kept)
	return nil
}

// RoundJSON is one vessel that ferments, for programs.
type RoundJSON struct {
	Vessel      string     `json:"vessel"`
	Lot         string     `json:"lot"`
	OnSkins     bool       `json:"on_skins" doc:"there is a cap to work"`
	Density     string     `json:"density,omitempty" doc:"as last read, with its unit"`
	DensityAt   *time.Time `json:"density_at,omitempty"`
	Temperature string     `json:"temperature,omitempty" doc:"as last read, with its unit"`
	WarmthAt    *time.Time `json:"temperature_at,omitempty"`
	CapWorked   *time.Time `json:"cap_worked_at,omitempty"`
}

func (s *Server) apiRounds(ctx context.Context, _ *struct{}) (*body[[]RoundJSON], error) {
	v, err := s.look(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	out := []RoundJSON{}
	for _, one := range roundsOf(v) {
		j := RoundJSON{Vessel: one.st.Vessel.Slug, Lot: one.st.Lot.Slug, OnSkins: one.skins}
		if l, ok := one.last[cellar.ReadDensity]; ok {
			j.Density, j.DensityAt = l.value.String(), &l.at
		}
		if l, ok := one.last[cellar.ReadTemperature]; ok {
			j.Temperature, j.WarmthAt = l.value.String(), &l.at
		}
		if !one.cap.IsZero() {
			j.CapWorked = &one.cap
		}
		out = append(out, j)
	}
	return &body[[]RoundJSON]{out}, nil
}

// apiKeepRounds keeps the same entries as the page does of the same answers.
func (s *Server) apiKeepRounds(ctx context.Context, in *struct {
	Body struct {
		At   time.Time `json:"at,omitempty" doc:"when they were made; now if left out"`
		Rows []struct {
			Vessel      string `json:"vessel"`
			Density     string `json:"density,omitempty" example:"1.024"`
			Temperature string `json:"temperature,omitempty" example:"24 °C"`
			Cap         bool   `json:"cap,omitempty" doc:"the cap was worked"`
		} `json:"rows" maxItems:"500"`
	}
}) (*body[LoggedJSON], error) {
	at := in.Body.At
	if at.IsZero() {
		at = s.now()
	}
	at = at.In(s.Zone)
	q := url.Values{"day": {at.Format(time.DateOnly)}, "hour": {at.Format("15:04")}}
	for _, one := range in.Body.Rows {
		q.Set("density-"+one.Vessel, one.Density)
		q.Set("temperature-"+one.Vessel, one.Temperature)
		if one.Cap {
			q.Set("cap-"+one.Vessel, "yes")
		}
	}
	v, err := s.look(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	ferments := map[string]bool{}
	for _, one := range roundsOf(v) {
		ferments[one.st.Vessel.Slug] = true
	}
	drafts, wrong := s.walked(v, q)
	for _, one := range in.Body.Rows {
		if !ferments[one.Vessel] {
			wrong = append(wrong, fault.Field{Name: "vessel", Given: one.Vessel, Allowed: "a vessel that ferments, as GET lists them"})
		}
	}
	if len(wrong) > 0 {
		return nil, s.apiError(ctx, fault.BadFields("keep rounds", wrong...))
	}
	out := LoggedJSON{Says: []string{}}
	if len(drafts) == 0 {
		return &body[LoggedJSON]{out}, nil
	}
	kept, err := s.keep(ctx, s.now(), drafts...)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	for _, d := range drafts {
		out.Says = append(out.Says, cellar.Says(d.Body))
	}
	if _, err := s.look(ctx); err == nil {
		out.Came = FindingsOf(s.Desk.Came(kept[0].ID))
	}
	return &body[LoggedJSON]{out}, nil
}
