package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/science/quantity"
)

// sheetsView is a page of tables under a few words, with at most one question above.
type sheetsView struct {
	Form  *askView
	Says  []string
	Parts []sheetPart
	Do    []ui.Link
}

type sheetPart struct {
	ID      string
	Head    string
	Do      []ui.Link
	Notices []ui.Notice
	Says    []string
	Tables  []ui.Table
}

// askView is a form that only asks: its answers are in the address of the page.
type askView struct {
	Action, Button string
	Carry          []ui.Pair
	Fields         []ui.Field
	Errors         ui.FormErrors
}

func (s *Server) sheets(w http.ResponseWriter, r *http.Request, status int, title, lead string, view sheetsView) error {
	if view.Form != nil {
		view.Form.Errors = ui.FormErrors{Fields: view.Form.Fields}
	}
	p := s.page(r, title, ui.Cellar, view)
	p.Lead, p.Up = lead, &ui.Link{Text: "Cellar", URL: "/cellar"}
	return s.kit.Render(w, status, "sheets", p)
}

// lotOptions are the lots, with an empty answer first where none is one too.
func lotOptions(v *desk.View, none string) []ui.Option {
	var out []ui.Option
	if none != "" {
		out = append(out, ui.Option{Text: none})
	}
	for _, lot := range v.State.Lots.All() {
		out = append(out, ui.Option{Value: lot.Slug, Text: lot.Title()})
	}
	return out
}

// comparePage sets two lots side by side by stage, showing only what differs.
func (s *Server) comparePage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	view := sheetsView{Form: &askView{Action: "/compare", Button: "Set side by side", Fields: []ui.Field{
		{Name: "a", Label: "One lot", Kind: ui.Choice, Value: q.Get("a"), Options: lotOptions(v, "")},
		{Name: "b", Label: "The other", Kind: ui.Choice, Value: q.Get("b"), Options: lotOptions(v, "")}}}}
	status := http.StatusOK
	if q.Has("b") {
		var lots [2]*cellar.Lot
		for i := range view.Form.Fields {
			f := &view.Form.Fields[i]
			if lots[i] = v.State.Lot(f.Value); lots[i] == nil {
				f.Error = fault.Field{Given: f.Value, Allowed: "a lot of this cellar"}.String()
				status = http.StatusUnprocessableEntity
			}
		}
		if status == http.StatusOK {
			view.Parts, view.Says = differences(v, lots[0], lots[1])
		}
	}
	return s.sheets(w, r, status, "Two lots side by side", "By stage of their lives; only what differs.", view)
}

func differences(v *desk.View, a, b *cellar.Lot) (parts []sheetPart, says []string) {
	stages, _ := v.State.Compare(a.Slug, b.Slug)
	t := ui.Table{Caption: "What differs, by stage", Head: []string{"stage", "", a.Title(), b.Title()}}
	for _, st := range stages {
		name := capital(st.Stage)
		for _, d := range st.Rows {
			t.Rows = append(t.Rows, []string{name, d.What, dash(d.A), dash(d.B)})
			name = ""
		}
	}
	if len(t.Rows) == 0 {
		return nil, []string{"Nothing that was written down differs."}
	}
	return []sheetPart{{Tables: []ui.Table{t}, Says: []string{"Days are counted from the crush, or from when the wine came in."}}}, nil
}

// accountPage draws up the account of a lot, a vessel or the whole cellar: what was
// there, what came and went by which door, what is there.
func (s *Server) accountPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	vessels := []ui.Option{{Text: "every vessel"}}
	for _, vessel := range v.State.Vessels {
		vessels = append(vessels, ui.Option{Value: vessel.Slug, Text: vessel.Title()})
	}
	view := sheetsView{Form: &askView{Action: "/account", Button: "Draw up", Fields: []ui.Field{
		{Name: "lot", Label: "Lot", Kind: ui.Choice, Value: q.Get("lot"), Options: lotOptions(v, "every lot"), Optional: true},
		{Name: "vessel", Label: "Vessel", Kind: ui.Choice, Value: q.Get("vessel"), Options: vessels, Optional: true, Help: "a vessel by itself, whatever it held"},
		{Name: "from", Label: "From", Kind: ui.Date, Value: q.Get("from"), Optional: true, Help: "from the first entry if left empty"},
		{Name: "to", Label: "To", Kind: ui.Date, Value: q.Get("to"), Optional: true}}}}
	status := http.StatusOK
	scope, from, to := cellar.Scope{Lot: q.Get("lot"), Vessel: q.Get("vessel")}, time.Time{}, v.Now
	if scope.Lot != "" && v.State.Lot(scope.Lot) == nil {
		view.Form.Fields[0].Error = fault.Field{Given: scope.Lot, Allowed: "a lot of this cellar"}.String()
	}
	if scope.Vessel != "" && v.State.Vessel(scope.Vessel) == nil {
		view.Form.Fields[1].Error = fault.Field{Given: scope.Vessel, Allowed: "a vessel of this cellar"}.String()
	}
	for i, end := range []*time.Time{&from, &to} {
		f := &view.Form.Fields[2+i]
		if f.Value == "" {
			continue
		}
		d, err := time.ParseInLocation(time.DateOnly, f.Value, s.Zone)
		if err != nil {
			f.Error = fault.Field{Given: f.Value, Allowed: "a date such as 2026-12-03"}.String()
			continue
		}
		*end = d
		if i == 1 { // the whole last day counts
			*end = d.AddDate(0, 0, 1).Add(-time.Nanosecond)
		}
	}
	if to.Before(from) {
		view.Form.Fields[3].Error = fault.Field{Given: q.Get("to"), Allowed: "a day not before the first"}.String()
	}
	if len((ui.FormErrors{Fields: view.Form.Fields}).Wrong()) > 0 {
		status = http.StatusUnprocessableEntity
	} else {
		view.Parts = accountParts(v, compose.AccountOf(v.State, scope, from, to))
	}
	return s.sheets(w, r, status, "The account", "What was there, what came and went by which door, and what is there.", view)
}

func accountParts(v *desk.View, a compose.Account) []sheetPart {
	wine := sheetPart{Head: "Wine", Tables: []ui.Table{
		doorTable(a.Volume, "Volume, L", quantity.Volume.Litres, 2),
		doorTable(a.Alcohol, "Pure alcohol, L", quantity.Volume.Litres, 3)}}
	made := sheetPart{Head: "What it is made of"}
	for _, m := range a.Made {
		caption := capital(m.What) + ", g"
		if m.Assumed > 0.5 {
			caption += " (mostly what wines usually hold: little was read)"
		}
		made.Tables = append(made.Tables, doorTable(m.Sheet, caption, quantity.Mass.Grams, 1))
	}
	added := sheetPart{Head: "What was added"}
	for _, m := range a.Added {
		added.Tables = append(added.Tables, doorTable(m, capital(substance(m.What))+", g", quantity.Mass.Grams, 2))
	}
	parts := []sheetPart{wine, made, added}
	return slices.DeleteFunc(parts, func(p sheetPart) bool { return len(p.Tables) == 0 })
}

// doorNames are the doors of an account as a page writes them.
var doorNames = map[string]string{
	cellar.DoorOutside: "from outside the cellar", cellar.DoorFruit: "from fruit", cellar.DoorAddition: "with additions", cellar.DoorRemoval: "drunk, given or poured away",
	cellar.DoorOpened: "bottles opened", cellar.DoorReanchored: "put right by a measurement", cellar.DoorUnknown: "not accounted for",
	cellar.LossLees: "left with the lees", cellar.LossSample: "drawn as samples", cellar.LossSpill: "spilt", cellar.LossEvaporation: "evaporated", cellar.LossPomace: "left in the pomace",
}

func doorName(door string) string {
	if name, ok := doorNames[door]; ok {
		return name
	}
	return door
}

// substance is the name of a product as a page writes it.
func substance(key string) string {
	if p, ok := cellar.LookupProduct(key); ok {
		return p.Title
	}
	return strings.ReplaceAll(key, "-", " ")
}

// doorTable is one sheet of an account: in to the left, out to the right.
func doorTable[Q ~float64](sheet cellar.Sheet[Q], caption string, unit func(Q) float64, decimals int) ui.Table {
	figure := func(q Q) string {
		if unit(q) == 0 {
			return "–"
		}
		return fmt.Sprintf("%.*f", decimals, unit(q))
	}
	t := ui.Table{Caption: caption, Head: []string{"", "in", "out"}, Numbers: []bool{false, true, true}}
	t.Rows = append(t.Rows, []string{"there at first", figure(sheet.Opening), ""})
	for _, d := range sheet.Doors {
		t.Rows = append(t.Rows, []string{doorName(d.Door), figure(d.In), figure(d.Out)})
	}
	t.Rows = append(t.Rows, []string{"there at last", "", figure(sheet.Closing)})
	return t
}

// wentPage follows one entry's fruit, wine or addition, or all of one product (with
// the number on its sack), forward to everything it touched.
func (s *Server) wentPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	if id := r.PathValue("entry"); id != "" {
		t, ok := v.State.Trace(cellar.ID(id))
		if !ok {
			return fault.New(fault.NotFound, "follow entry", "no wine, fruit or addition came by entry %q", id)
		}
		return s.sheets(w, r, http.StatusOK, "Where it went", cellar.Sentence(t.Of), sheetsView{Parts: []sheetPart{tracePart(v, t)}})
	}
	q := r.URL.Query()
	products := productsUsed(v.State)
	view := sheetsView{Form: &askView{Action: "/went", Button: "Follow it", Fields: []ui.Field{
		{Name: "product", Label: "What was added", Kind: ui.Choice, Value: q.Get("product"), Options: products},
		{Name: "supply", Label: "Number on the sack", Value: q.Get("supply"), Optional: true, Help: "as it was written with the addition; left empty: all of it"}}}}
	if len(products) == 0 {
		view = sheetsView{Says: []string{"Nothing was added to any wine yet."}}
	}
	status := http.StatusOK
	if q.Has("product") {
		p, ok := cellar.LookupProduct(q.Get("product"))
		if !ok {
			view.Form.Fields[0].Error = fault.Field{Given: q.Get("product"), Allowed: "one of those that were added"}.String()
			status = http.StatusUnprocessableEntity
		} else if traces := v.State.TraceAdded(p.Name, q.Get("supply")); len(traces) == 0 {
			view.Says = append(view.Says, "None of it was added.")
		} else {
			for _, t := range traces {
				view.Parts = append(view.Parts, tracePart(v, t))
			}
		}
	}
	return s.sheets(w, r, status, "Where it went", "Follow fruit, wine or an addition forward to all it touched.", view)
}

// productsUsed are those that were added to some wine, once each.
func productsUsed(st *cellar.State) []ui.Option {
	var out []ui.Option
	seen := map[string]bool{}
	for _, r := range st.Records.All() {
		a, ok := r.Body.(cellar.Addition)
		if !ok || !r.Counts() {
			continue
		}
		name := a.Product
		if p, known := cellar.LookupProduct(name); known {
			name = p.Name
		}
		if !seen[name] {
			seen[name] = true
			out = append(out, ui.Option{Value: name, Text: capital(substance(name))})
		}
	}
	return out
}

// tracePart says where something is now, and by which doors the rest left.
func tracePart(v *desk.View, t cellar.Trace) sheetPart {
	part := sheetPart{Head: ui.Day(t.Of.At.In(v.Now.Location()), v.Now) + ": " + cellar.Sentence(t.Of)}
	is := ui.Table{Caption: "Of all of it", Head: []string{"where", "share"}, Numbers: []bool{false, true}}
	for _, n := range t.Now {
		is.Rows = append(is.Rows, []string{"now in " + wineName(v, n.Parcel), shareWords(n.Part)})
	}
	for _, g := range t.Gone {
		is.Rows = append(is.Rows, []string{capital(doorName(g.Door)), shareWords(g.Out)})
	}
	touched := ui.Table{Caption: "Every wine that ever held some of it", Head: []string{"wine", "most of it that was there"}, Numbers: []bool{false, true}}
	for _, n := range t.Touched {
		touched.Rows = append(touched.Rows, []string{wineName(v, n.Parcel), shareWords(n.Part)})
	}
	part.Tables = []ui.Table{is, touched}
	return part
}

// wineName is a parcel for one who walks the cellar: "d1, Syrah, from 3 Oct".
func wineName(v *desk.View, id cellar.ParcelID) string {
	p := v.State.Parcel(id)
	if p == nil {
		return string(id)
	}
	name := p.Vessel
	if lot := v.State.Lot(p.Lot); lot != nil {
		if name != "" {
			name += ", "
		}
		name += lot.Title()
	}
	return name + ", from " + ui.Day(p.Began.In(v.Now.Location()), v.Now)
}

// originsOf are the loads of fruit that each of a lot's vessels goes back to.
func originsOf(v *desk.View, lot *cellar.Lot) *ui.Table {
	t := ui.Table{Caption: "Back to the fruit, by volume", Head: []string{"vessel", "share", "from", "when"}, Numbers: []bool{false, true, false, false}}
	for _, st := range v.OfLot(lot) {
		for _, o := range v.State.Origins(st.Parcel.ID, v.Now) {
			from := o.Lot
			if l := v.State.Lot(o.Lot); l != nil {
				from = l.Title()
			}
			when := "–"
			if o.Entry != nil {
				from += ": " + cellar.Sentence(o.Entry)
				when = ui.Day(o.Entry.At.In(v.Now.Location()), v.Now)
			}
			t.Rows = append(t.Rows, []string{parcelName(st), shareWords(o.Share), from, when})
		}
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return &t
}

func lookbackLinks(lot *cellar.Lot) []ui.Link {
	return []ui.Link{
		{Text: "Its river", URL: "/cellar?" + url.Values{"of": {lot.Slug}}.Encode() + "#river"},
		{Text: "What it follows", URL: lotURL(lot.Slug) + "/protocol"},
		{Text: "Its account", URL: "/account?" + url.Values{"lot": {lot.Slug}}.Encode()},
		{Text: "Beside another lot", URL: "/compare?" + url.Values{"a": {lot.Slug}}.Encode()},
		{Text: "Where an addition went", URL: "/went"},
		{Text: "Who did what, and when", URL: "/ledger?" + url.Values{"lot": {lot.Slug}}.Encode()},
		{Text: "Describe it anew", URL: "/write/lot-anew?" + url.Values{"lot": {lot.Slug}}.Encode()},
	}
}

// shareWords is a share of a wine or of an addition. Unlike a chance it may be all.
func shareWords(share float64) string {
	switch {
	case share > 0.9995:
		return "all"
	case share > 0 && share < 0.005:
		return fmt.Sprintf("%.1f %%", 100*share)
	}
	return fmt.Sprintf("%.0f %%", 100*share)
}
