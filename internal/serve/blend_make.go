package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"elevage/internal/blend"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/science/quantity"
)

// newLot is the answer that a blend becomes a lot of its own.
const newLot = "+"

// pouredFrom reads the blend that an address or form names, from what is on hand now.
func pouredFrom(v *desk.View, recipe string) (blend.Blend, error) {
	parts, err := blend.ReadRecipe(recipe)
	if err != nil {
		return blend.Blend{}, err
	}
	wish, err := (&blend.Order{Unfinished: true}).Wish(v.State, v.Conversions(), v.Now)
	if err != nil {
		return blend.Blend{}, err
	}
	return wish.Pour(parts)
}

// makeForm asks where a blend goes and what it is called.
func (s *Server) makeForm(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	b, err := pouredFrom(v, q.Get("recipe"))
	if err != nil {
		return err
	}
	return s.showMake(w, r, http.StatusOK, v, &b, q, nil)
}

// intoNames is the field that ticks a vessel.
func intoName(slug string) string { return "into-" + slug }

// goesInto are the vessels that were ticked, in the order of a walk.
func goesInto(b *blend.Blend, v *desk.View, q url.Values) []blend.Vessel {
	return slices.DeleteFunc(b.Rooms(v.State), func(room blend.Vessel) bool {
		return q.Get(intoName(room.Slug)) == "" && !slices.Contains(q["into"], room.Slug)
	})
}

func makeFields(v *desk.View, b *blend.Blend, q url.Values) []ui.Field {
	var out []ui.Field
	into := goesInto(b, v, q)
	for _, room := range b.Rooms(v.State) {
		f := ui.Field{Name: intoName(room.Slug), Kind: ui.Check, Label: fmt.Sprintf("into %s, which holds %s", room.Slug, ui.Plain(room.Size.Litres(), "L"))}
		if v.State.In(room.Slug) != nil {
			f.Label += ", once it is emptied"
		}
		if slices.Contains(into, room) {
			f.Value = "yes"
		}
		out = append(out, f)
	}
	main := v.State.Lot(b.Parts[0].Source.Wine.Lot)
	lot := ui.Field{Name: "lot", Label: "It becomes", Kind: ui.Choice, Value: newLot, Options: []ui.Option{{Value: newLot, Text: "a new lot"}}}
	for i := range b.Parts {
		if l := v.State.Lot(b.Parts[i].Source.Wine.Lot); l != nil && !slices.ContainsFunc(lot.Options, func(o ui.Option) bool { return o.Value == l.Slug }) {
			lot.Options = append(lot.Options, ui.Option{Value: l.Slug, Text: "part of " + l.Title()})
		}
	}
	if len(b.Parts) == 1 && main != nil {
		lot.Value = main.Slug
	}
	out = append(out, lot, ui.Field{Name: "name", Label: "Name of the new lot", Optional: true, Left: "if it is new", Example: "House red 2026"})
	if colours := coloursOf(v, b); len(colours) > 1 {
		out = append(out, ui.Field{Name: "colour", Label: "Its colour", Kind: ui.Pick, Value: colours[0], Options: choices(cellar.Colours...)})
	}
	return out
}

// coloursOf are the colours of a blend's parts, once each, that of the greatest first.
func coloursOf(v *desk.View, b *blend.Blend) []string {
	var out []string
	for i := range b.Parts {
		if lot := v.State.Lot(b.Parts[i].Source.Wine.Lot); lot != nil && lot.Colour != "" && !slices.Contains(out, lot.Colour) {
			out = append(out, lot.Colour)
		}
	}
	return out
}

// showMake shows the form, or what it comes to before it is kept.
func (s *Server) showMake(w http.ResponseWriter, r *http.Request, status int, v *desk.View, b *blend.Blend, q url.Values, wrong []fault.Field, before ...cellar.Draft) error {
	view := writeView{Action: "/blend/make", Button: "Show what is written", Carry: []ui.Pair{{Name: "recipe", Value: b.Recipe()}}}
	view.Fields = append(makeFields(v, b, q), whenFields(v.Now, q)...)
	if len(b.Rooms(v.State)) == 0 {
		view.Others = append(view.Others, ui.Notice{Kind: ui.Stopped, Head: "No vessel is free.", Text: "A blend goes into vessels that are empty, or that it empties.", Link: &ui.Link{Text: "Name a vessel", URL: "/write/vessel"}})
	}
	ticks := view.Fields[:len(b.Rooms(v.State))]
	kept := make([]string, len(ticks))
	for i := range ticks {
		kept[i] = ticks[i].Value
	}
	var more []ui.Notice
	view.Fields, more = answered(form{}, view.Fields, nil, q, wrong)
	for i := range kept {
		view.Fields[i].Value = kept[i]
	}
	view.Others = append(view.Others, more...)
	if len(before) > 0 {
		weighed := cellar.Weigh(v.State, v.Now, before[len(before)-1])
		view.Button, view.Warned = "Keep", makeToken(b, before, weighed)
		view.Others = append(view.Others, ui.Notice{Kind: ui.Told, Head: "Nothing is kept yet.", Text: "This is what will be written:"})
		for _, d := range before {
			view.Others = append(view.Others, ui.Notice{Kind: ui.Told, Head: ui.Day(d.Happened.Time.In(s.Zone), v.Now) + ":", Text: capital(cellar.Says(d.Body)) + "."})
		}
		for _, one := range weighed {
			view.Others = append(view.Others, ui.Notice{Kind: ui.Caution, Text: one.Says})
		}
		view.Before = standsAfter(v, b, before[len(before)-1].Body.(cellar.Movement), goesInto(b, v, q))
		if slices.ContainsFunc(view.Before.Rows, func(row []string) bool { return row[4] == partFull }) {
			view.Others = append(view.Others, ui.Notice{Kind: ui.Caution, Text: "Air stands over the wine in what is left part full: top it up, pour it into something smaller, or use it soon."})
		}
	}
	if warm := unfinishedIn(b); warm != "" {
		view.Others = append(view.Others, ui.Notice{Kind: ui.Caution, Text: warm})
	}
	view.Errors = ui.FormErrors{Fields: view.Fields}
	p := s.page(r, "Make this blend", ui.Cellar, view)
	p.Lead = recipeWords(b)
	p.Up = &ui.Link{Text: "Blend", URL: "/blend"}
	return s.kit.Render(w, status, "write", p)
}

// recipeWords is a blend in one line: "12.00 L of c1 and 8.00 L of c2".
func recipeWords(b *blend.Blend) string {
	names := make([]string, len(b.Parts))
	for i, p := range b.Parts {
		names[i] = litresText(p.Volume) + " of " + p.Source.Vessel
		if p.All {
			names[i] = "all of " + p.Source.Vessel + " (" + litresText(p.Volume) + ")"
		}
	}
	return list(names)
}

func unfinishedIn(b *blend.Blend) string {
	var out []string
	for _, p := range b.Parts {
		if p.Source.Unfinished != "" {
			out = append(out, p.Source.Vessel+": "+p.Source.Unfinished)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "Not finished, and its microbes come along with it. " + strings.Join(out, "; ") + "."
}

// standsAfter is how each vessel stands once it is done.
func standsAfter(v *desk.View, b *blend.Blend, m cellar.Movement, into []blend.Vessel) *ui.Table {
	t := &ui.Table{Caption: "How the vessels stand afterwards", Head: []string{"vessel", "held, L", "holds then, L", "room above, L", ""}, Numbers: []bool{false, true, true, true, false}}
	add := func(slug string, before, after, size quantity.Volume) {
		room, words := "–", ""
		if size > 0 {
			room = fmt.Sprintf("%.2f", max(0, size-after).Litres())
		}
		switch {
		case after.Litres() < 0.005:
			words = "empty: clean it"
		case size > 0 && size-after > nearlyFull*size:
			words = partFull
		case size > 0:
			words = "full"
		}
		t.Rows = append(t.Rows, []string{slug, fmt.Sprintf("%.2f", before.Litres()), fmt.Sprintf("%.2f", after.Litres()), room, words})
	}
	capacity := func(slug string) quantity.Volume {
		if vessel := v.State.Vessel(slug); vessel != nil {
			return vessel.Capacity()
		}
		return 0
	}
	poured := map[string]quantity.Volume{}
	for _, to := range m.To {
		poured[to.Vessel], _, _ = to.Volume.Volume() //nolint:errcheck // written by Drafts a moment ago
	}
	for i := range b.Parts {
		p := &b.Parts[i]
		add(p.Source.Vessel, p.Source.Volume, p.Left()+poured[p.Source.Vessel], capacity(p.Source.Vessel))
	}
	for _, room := range into {
		if v.State.In(room.Slug) == nil && poured[room.Slug] > 0 {
			add(room.Slug, 0, poured[room.Slug], room.Size)
		}
	}
	return t
}

const partFull = "part full"

// nearlyFull is the part of a vessel that may be air in one called full: what a
// nominal size is worth. Common practice, no source.
const nearlyFull = 0.03

// makeToken stands for what was shown: another figure is shown anew.
func makeToken(b *blend.Blend, drafts []cellar.Draft, weighed cellar.Warnings) string {
	shown := slices.Clone(weighed)
	for _, d := range drafts {
		shown = append(shown, cellar.Warning{Says: d.Happened.String() + cellar.Says(d.Body)})
	}
	return warnedOf(append(shown, cellar.Warning{Says: b.Recipe()}))
}

// blendDrafts are the entries of a blend: its lot, if that is new, and the movement.
func blendDrafts(v *desk.View, b *blend.Blend, when cellar.Moment, q url.Values) ([]cellar.Draft, []fault.Field) {
	var w wrong
	var out []cellar.Draft
	slug := text(q, "lot")
	if slug == newLot {
		body := lotOf(v, b, text(q, "name"))
		if colour := text(q, "colour"); colour != "" {
			body.Colour = colour
		}
		if body.Name == "" {
			w = append(w, fault.Field{Name: "name", Allowed: "a word or two"})
		} else if v.State.Lot(body.Slug) != nil {
			w = append(w, fault.Field{Name: "name", Given: body.Name, Allowed: "a name that no lot has yet"})
		}
		slug = body.Slug
		out = append(out, cellar.Draft{Happened: when, Body: body})
	} else if v.State.Lot(slug) == nil {
		w = append(w, fault.Field{Name: "lot", Given: slug, Allowed: "a new lot, or one of the lots that go in"})
	}
	into := goesInto(b, v, q)
	moves, err := b.Drafts(when, slug, into)
	for _, f := range fault.FieldsOf(err) {
		if rooms := b.Rooms(v.State); f.Name == "into" && len(rooms) > 0 {
			f.Name = intoName(rooms[0].Slug)
		}
		w = append(w, f)
	}
	return append(out, moves...), w
}

// lotOf is a new lot for a blend: what all its parts agree on, and of the rest what
// its greatest part is. Conversion stays wanted if one part still wants it, and is kept
// from if all are.
func lotOf(v *desk.View, b *blend.Blend, name string) cellar.LotStarted {
	body := cellar.LotStarted{Slug: cellar.Slug(name), Name: name, Units: "metric", Malolactic: cellar.MalolacticOpen}
	agreed, first := true, true
	for i := range b.Parts {
		lot := v.State.Lot(b.Parts[i].Source.Wine.Lot)
		if lot == nil {
			continue
		}
		wish := v.State.Wish(lot)
		if first {
			first = false
			body.Colour, body.Units, body.Malolactic, body.Variety, body.Vintage = lot.Colour, lot.Units, wish, lot.Variety, lot.Vintage
			continue
		}
		switch {
		case wish == cellar.MalolacticWanted || body.Malolactic == cellar.MalolacticWanted:
			body.Malolactic = cellar.MalolacticWanted
		case wish != body.Malolactic:
			body.Malolactic = cellar.MalolacticOpen
		}
		agreed = agreed && lot.Variety == body.Variety
		if lot.Vintage != body.Vintage {
			body.Vintage = 0
		}
	}
	if !agreed {
		body.Variety = ""
	}
	return body
}

// makeBlend keeps a blend's entries, once they were shown.
func (s *Server) makeBlend(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	q := r.PostForm
	b, err := pouredFrom(v, q.Get("recipe"))
	if err != nil {
		return err
	}
	when, bad := s.momentOf(q)
	drafts, wrong := blendDrafts(v, &b, when, q)
	wrong = append(wrong, bad...)
	for _, d := range drafts {
		if len(wrong) == 0 {
			wrong = fault.FieldsOf(d.CheckIn(v.State))
		}
	}
	if len(wrong) > 0 {
		return s.showMake(w, r, http.StatusUnprocessableEntity, v, &b, q, wrong)
	}
	move := &drafts[len(drafts)-1]
	weighed := cellar.Weigh(v.State, v.Now, *move)
	if q.Get("warned") != makeToken(&b, drafts, weighed) {
		return s.showMake(w, r, http.StatusOK, v, &b, q, nil, drafts...)
	}
	move.Overruled = strings.TrimSpace(q.Get("overruled"))
	if stops := weighed.Stops(); len(stops) > 0 && move.Overruled == "" {
		return s.askToOverrule(w, r, "Make this blend", "/blend/make", q, stops)
	}
	entries, err := s.Pen.Write(s.now(), drafts...)
	if err != nil {
		return err
	}
	if _, err := s.Ledger.Append(r.Context(), entries); err != nil {
		return err
	}
	http.Redirect(w, r, lotURL(move.Body.(cellar.Movement).Becomes)+"#e-"+string(entries[len(entries)-1].ID), http.StatusSeeOther)
	return nil
}
