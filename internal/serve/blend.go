package serve

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"elevage/internal/blend"
	"elevage/internal/compose"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/science/quantity"
)

// blendView is a wish, and what may be poured together to meet it.
type blendView struct {
	Action, Button string
	Own            bool // volumes are chosen, not looked for
	Errors         ui.FormErrors
	Wines          []blendWine
	Volumes        []ui.Field // how much, in all
	Into           []ui.Field
	Checks         []ui.Field
	Wants          []wantRow
	WantsOpen      bool
	Columns        []string // of volumes of one's own

	Notices []ui.Notice // wrong with what has no field of its own

	Answer   []ui.Notice
	Says     []string
	Conflict *ui.Table
	Compared *comparedView
	LeftOut  ui.Table
	Do       []ui.Link
}

// A blendWine is a wine on hand, to be let in or left out.
type blendWine struct {
	Vessel, Lot, Volume string
	What                string // its figures in few words
	Warn                string // why it is better left out
	Over                string // by which belief its conversion is over
	Use                 bool
	Cells               []cellIn // of volumes of one's own
}

// wantRow is what is wanted of one property.
type wantRow struct {
	Name, Unit, Note string
	Of               *ui.Field // which share
	Cells            []cellIn
}

// cellIn is one small field in a table of fields.
type cellIn struct{ Name, Label, Value, Error string }

// comparedView sets blends side by side: none is the answer.
type comparedView struct {
	Columns []blendColumn
	Rows    []comparedRow
	Notes   []string
}

// Span is over how many columns a head goes.
func (c *comparedView) Span() int { return len(c.Columns) + 1 }

type blendColumn struct {
	Letter, Why, Recipe, Make string
	Taste                     bool // ticked to be tasted: three at most, more tire the tongue
}

// comparedRow is one property of all blends; with Head only it begins a group.
type comparedRow struct {
	Head, Name string
	Cells      []comparedCell
}

type comparedCell struct {
	Text, Note string
	Weak       bool // assumed, missed or broken: set paler or marked
	Bad        bool
}

// shown is how many blends are set side by side.
const shownBlends = 6

// letters name blends on a page.
const letters = "ABCDEFGHIJKL"

// blendPage looks for blends that meet a wish, and sets them side by side.
func (s *Server) blendPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	view := blendView{Action: "/blend#answer", Button: "Find blends"}
	status := http.StatusOK
	sources, err := blend.Sources(v.State, v.Conversions(), v.Now)
	if err != nil {
		return err
	}
	asked := q.Has("ask")
	var order blend.Order
	var wrong error
	if asked {
		order, wrong = blend.ReadOrder(q)
		if wrong == nil && len(order.Use) == 0 && len(sources) > 0 {
			wrong = fault.BadFields("find blend", fault.Field{Name: "use", Allowed: "at least one wine"})
		}
		if wrong == nil {
			wrong = s.findBlends(v, &view, order)
		}
		if wrong != nil && fault.KindOf(wrong) != fault.Invalid {
			return wrong
		}
		if wrong != nil {
			status = http.StatusUnprocessableEntity
		}
	}
	view.fill(v, sources, q, fault.FieldsOf(wrong))
	for i := range view.Wines {
		one := &view.Wines[i]
		one.Use = one.Warn == ""
		if asked {
			one.Use = slices.Contains(order.Use, one.Vessel) || slices.Contains(q["use"], one.Vessel)
		}
	}
	view.Do = []ui.Link{{Text: "Try volumes of your own", URL: "/blend/own?" + wantsOf(q).Encode()}, {Text: "Tastings of blends", URL: "/blend/tastings"}, {Text: "How full the vessels are", URL: "/vessels"}}
	return s.showBlend(w, r, status, "Blend", "What may go in, what it is to be; several ways to get there, none of them the answer.", view)
}

func (s *Server) showBlend(w http.ResponseWriter, r *http.Request, status int, title, lead string, view blendView) error {
	p := s.page(r, title, ui.Cellar, view)
	p.Lead, p.Up = lead, &ui.Link{Text: "Cellar", URL: "/cellar"}
	if view.Own {
		p.Up = &ui.Link{Text: "Blend", URL: "/blend"}
	}
	return s.kit.Render(w, status, "blend", p)
}

// wantsOf are the limits and aims in a query, without the rest.
func wantsOf(q url.Values) url.Values {
	out := url.Values{}
	for _, k := range blend.Keys() {
		if strings.Contains(k, "_least") || strings.Contains(k, "_most") || strings.Contains(k, "_aim") || strings.HasSuffix(k, "_of") {
			if t := strings.TrimSpace(q.Get(k)); t != "" {
				out.Set(k, t)
			}
		}
	}
	return out
}

// findBlends answers a wish on the page.
func (s *Server) findBlends(v *desk.View, view *blendView, order blend.Order) error {
	wish, err := order.Wish(v.State, v.Conversions(), v.Now)
	if err != nil {
		return err
	}
	answer, err := blend.Find(wish)
	if err != nil {
		return err
	}
	for _, x := range answer.Excluded {
		view.LeftOut.Rows = append(view.LeftOut.Rows, []string{vesselTitle(v, x.Vessel), x.Why})
	}
	view.LeftOut.Caption, view.LeftOut.Head = "Left out", []string{"wine", "why"}
	if c := answer.Conflict; c != nil {
		view.Answer = append(view.Answer, ui.Notice{Kind: ui.Finding, Head: "No blend does it.", Text: capital(c.Says) + "."})
		if len(c.Limits) > 1 {
			view.Conflict = &ui.Table{Caption: "How far each would have to give way, were the others kept", Head: []string{"limit", "the others allow", "off by"}, Numbers: []bool{false, true, true}}
			for _, l := range c.Limits {
				nearest, by := l.Told()
				view.Conflict.Rows = append(view.Conflict.Rows, []string{l.Limit.String(), nearest, by})
			}
		}
		return nil
	}
	found := distinct(answer.Blends)
	if n := len(found); n > 1 {
		found = found[:min(n, shownBlends)]
		view.Says = append(view.Says, fmt.Sprintf("%d blends, of which none is better than another in everything: how near to each aim, how much, of how few wines.", len(found)))
	}
	view.Compared = compared(v, &wish, found, wish.Sources)
	if len(found) == 1 { // beside one blend stand its wines by themselves
		alone, err := wish.Alone(&found[0])
		if err != nil {
			return err
		}
		view.Compared = compared(v, &wish, append(slices.Clip(found), alone...), wish.Sources)
		view.Says = append(view.Says, "No other blend is better than A in any wish. Beside it stand its wines by themselves.")
	}
	for i := range found {
		c := &view.Compared.Columns[i]
		c.Make = "/blend/make?" + url.Values{"recipe": {c.Recipe}, "into": order.Into}.Encode()
	}
	return nil
}

// distinct leaves out what a measuring jug cannot tell from a blend before it: the same
// wines, each within two hundredths of the whole, and as much to one part in fifty.
func distinct(blends []blend.Blend) []blend.Blend {
	const alike = 0.02
	share := func(b *blend.Blend, vessel string) float64 {
		for _, p := range b.Parts {
			if p.Source.Vessel == vessel {
				return float64(p.Volume / b.Volume)
			}
		}
		return math.Inf(1)
	}
	var out []blend.Blend
	for i := range blends {
		b := &blends[i]
		same := slices.ContainsFunc(out, func(o blend.Blend) bool {
			return len(o.Parts) == len(b.Parts) && math.Abs(float64(o.Volume/b.Volume)-1) < alike &&
				!slices.ContainsFunc(b.Parts, func(p blend.Part) bool {
					return math.Abs(share(&o, p.Source.Vessel)-float64(p.Volume/b.Volume)) > alike
				})
		})
		if !same {
			out = append(out, *b)
		}
	}
	return out
}

// ownPage sets side by side blends of volumes that somebody chose.
func (s *Server) ownPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	sources, err := blend.Sources(v.State, v.Conversions(), v.Now)
	if err != nil {
		return err
	}
	view := blendView{Action: "/blend/own#answer", Button: "Set side by side", Own: true, Columns: ownColumns}
	status := http.StatusOK
	var wrong error
	if q.Has("ask") {
		if wrong = s.pourOwn(v, &view, sources, q); wrong != nil {
			if fault.KindOf(wrong) != fault.Invalid {
				return wrong
			}
			status = http.StatusUnprocessableEntity
		}
	}
	view.fill(v, sources, q, fault.FieldsOf(wrong))
	view.WantsOpen = len(wantsOf(q)) > 0
	view.Do = []ui.Link{{Text: "Find blends instead", URL: "/blend?" + wantsOf(q).Encode()}, {Text: "Tastings of blends", URL: "/blend/tastings"}}
	return s.showBlend(w, r, status, "Blend by your own volumes", "Such as 60 to 40 beside 70 to 30: what each comes to.", view)
}

// ownColumns are the blends of one's own that are set side by side.
var ownColumns = []string{"A", "B", "C"}

func ownName(column, vessel string) string { return strings.ToLower(column) + "-" + vessel }

func (s *Server) pourOwn(v *desk.View, view *blendView, sources []blend.Source, q url.Values) error {
	order, err := blend.ReadOrder(wantsOf(q))
	bad := fault.FieldsOf(err)
	whole := ui.Field{Value: q.Get("whole_l")}
	litres := 0.0
	if strings.TrimSpace(whole.Value) != "" {
		var ok bool
		if litres, ok = litresIn(&whole, 0.01, 1e5); !ok {
			bad = append(bad, fault.Field{Name: "whole_l", Given: whole.Value, Allowed: "a volume of 0.01 to 100000 L, or nothing"})
		}
	}
	var recipes []map[string]quantity.Volume
	var names []string
	for _, column := range ownColumns {
		parts := map[string]quantity.Volume{}
		for i := range sources {
			name := ownName(column, sources[i].Vessel)
			f := ui.Field{Value: q.Get(name)}
			if strings.TrimSpace(f.Value) == "" {
				continue
			}
			one, ok := litresIn(&f, 0, 1e5)
			if !ok {
				bad = append(bad, fault.Field{Name: name, Given: f.Value, Allowed: "a volume of 0 to 100000 L, or nothing"})
			} else if one > 0 {
				parts[sources[i].Vessel] = quantity.Volume(one)
			}
		}
		if len(parts) == 0 {
			continue
		}
		if litres > 0 {
			parts = blend.Of(quantity.Volume(litres), parts)
		}
		recipes, names = append(recipes, parts), append(names, column)
	}
	if len(recipes) == 0 && len(bad) == 0 {
		bad = append(bad, fault.Field{Name: "a", Allowed: "some of at least one wine"})
	}
	if err := fault.BadFields("pour blend", bad...); err != nil {
		return err
	}
	wish, err := order.Wish(v.State, v.Conversions(), v.Now)
	if err != nil {
		return err
	}
	var blends []blend.Blend
	for i, parts := range recipes {
		b, err := wish.Pour(parts)
		for _, f := range fault.FieldsOf(err) {
			f.Name = ownName(names[i], f.Name)
			bad = append(bad, f)
		}
		if err != nil && len(fault.FieldsOf(err)) == 0 {
			return err
		}
		blends = append(blends, b)
	}
	if err := fault.BadFields("pour blend", bad...); err != nil {
		return err
	}
	view.Compared = compared(v, &wish, blends, sources)
	for i := range view.Compared.Columns {
		c := &view.Compared.Columns[i]
		c.Letter = names[i]
		c.Make = "/blend/make?" + url.Values{"recipe": {c.Recipe}}.Encode()
	}
	return nil
}

// fill puts into the form what is on hand, what was typed and what is wrong with it.
func (b *blendView) fill(v *desk.View, sources []blend.Source, q url.Values, wrong []fault.Field) {
	errs := map[string]string{}
	for _, f := range wrong {
		errs[f.Name] = joined(errs[f.Name], f)
	}
	var listed []ui.Field
	field := func(f ui.Field) ui.Field {
		f.Value = q.Get(f.Name)
		f.Error = errs[f.Name]
		delete(errs, f.Name)
		listed = append(listed, f)
		return f
	}
	cell := func(name, label string) cellIn {
		f := field(ui.Field{Name: name, Label: label})
		return cellIn{name, label, f.Value, f.Error}
	}
	ready := slices.Clone(sources)
	slices.SortStableFunc(ready, func(a, b blend.Source) int { // what is finished first
		return cmp.Compare(min(len(a.Unfinished), 1), min(len(b.Unfinished), 1))
	})
	for i := range ready {
		one := &ready[i]
		wine := blendWine{Vessel: one.Vessel, Warn: one.Unfinished, Over: one.Converted, Volume: ui.Plain(one.Volume.Litres(), "L"), What: inShort(one)}
		if lot := v.State.Lot(one.Wine.Lot); lot != nil {
			wine.Lot = lot.Title()
		}
		for _, column := range b.Columns {
			wine.Cells = append(wine.Cells, cell(ownName(column, one.Vessel), "Blend "+column+", "+one.Vessel))
		}
		b.Wines = append(b.Wines, wine)
	}
	if b.Own {
		b.Volumes = []ui.Field{field(ui.Field{Name: "whole_l", Label: "As parts of a whole of", Kind: ui.Number, Unit: "L", Optional: true, Left: "or left empty", Help: "With it 60 and 40 are shares; without it they are litres."})}
	} else {
		b.Wants = append(b.Wants, wantRow{Name: "Volume", Unit: "L", Cells: []cellIn{cell("least_l", "Volume at least"), cell("most_l", "Volume at most")}})
		b.Checks = []ui.Field{field(ui.Field{Name: "whole", Label: "Leave no vessel part full: empty each or leave it alone", Kind: ui.Check}),
			field(ui.Field{Name: "unfinished", Label: "Take in wines that may still ferment", Kind: ui.Check})}
		for _, vessel := range v.State.Vessels {
			if size := vessel.Capacity(); !vessel.Gone && !vessel.Bottles && size > 0 {
				label := vessel.Slug + ", " + ui.Plain(size.Litres(), "L")
				if vessel.Holds != nil {
					label += ", holds wine now"
				}
				b.Into = append(b.Into, ui.Field{Name: "into", Label: label, Value: vessel.Slug, Optional: slices.Contains(q["into"], vessel.Slug)})
			}
		}
	}
	shares := shareOptions(sources)
	for _, row := range blend.Asked() {
		w := wantRow{Name: row.Name, Unit: row.Unit}
		label := row.Name
		if row.Share {
			of := field(ui.Field{Name: row.Field + "_of", Label: "Share of", Kind: ui.Choice, Optional: true})
			of.Options = shares
			w.Of, label = &of, "Share"
		}
		for _, end := range [...]struct{ key, words string }{{"_least", "at least"}, {"_most", "at most"}, {"_aim", "aimed at"}} {
			if end.key == "_aim" && !row.Aims {
				w.Note = "settles anew: dose it afterwards"
				continue
			}
			w.Cells = append(w.Cells, cell(row.Field+end.key, label+" "+end.words))
		}
		b.Wants = append(b.Wants, w)
	}
	b.Errors = ui.FormErrors{Fields: listed}
	for _, f := range wrong { // wrong with nothing that the form asks by that name
		if text, left := errs[f.Name]; left {
			delete(errs, f.Name)
			b.Notices = append(b.Notices, ui.Notice{Kind: ui.Stopped, Head: "Not found.", Text: fieldWords(f.Name) + ": " + text})
		}
	}
}

// fieldWords are what a form calls a field that has no place of its own in it.
func fieldWords(name string) string {
	switch name {
	case "use":
		return "Wines that may go in"
	case "into":
		return "Vessels to fill"
	case "a":
		return "Blend A"
	}
	return capital(name)
}

// shareOptions are the names that shares may be of, from what is on hand.
func shareOptions(sources []blend.Source) []ui.Option {
	out := []ui.Option{{Text: "–"}}
	for _, kind := range []string{blend.ByVariety, blend.ByPlace, blend.ByVintage, blend.ByLot} {
		var names []string
		for i := range sources {
			for name := range sources[i].Shares[kind] {
				if !slices.Contains(names, name) {
					names = append(names, name)
				}
			}
		}
		slices.Sort(names)
		for _, name := range names {
			out = append(out, ui.Option{Value: kind + ":" + name, Text: name + " (" + kind + ")"})
		}
	}
	return out
}

// inShort is a wine in few figures, as far as they are not only assumed.
func inShort(s *blend.Source) string {
	w := &s.Wine
	var out []string
	if w.Alcohol.How != compose.Assumed {
		out = append(out, ui.Plain(w.Alcohol.Value.Percent(), "% vol"))
	}
	if w.PHTrouble == "" {
		out = append(out, "pH "+ui.Plain(float64(w.PH.Value), "pH"))
	}
	if w.TA.How != compose.Assumed {
		out = append(out, "TA "+ui.Plain(w.TA.Value.GPerL(), "g/L"))
	}
	if len(out) == 0 {
		return "nothing was read"
	}
	return strings.Join(out, ", ")
}

func vesselTitle(v *desk.View, slug string) string {
	p := v.State.In(slug)
	if p == nil {
		return slug
	}
	if lot := v.State.Lot(p.Lot); lot != nil {
		return slug + ", " + lot.Title()
	}
	return slug
}
