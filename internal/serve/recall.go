package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/recall"
	"elevage/internal/serve/ui"
	"elevage/internal/track/ageing"
)

// bottlesPage is what opened bottles teach: when to drink the rest, and whether a bad
// one speaks of the lot or of its closure.
func (s *Server) bottlesPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	var view sheetsView
	for _, b := range recall.Bottled(v.State, v.Now) {
		view.Parts = append(view.Parts, bottlesPart(v, &b))
	}
	if len(view.Parts) == 0 {
		view.Says = []string{"Nothing has been bottled yet."}
	}
	view.Do = []ui.Link{{Text: "Write a tasting", URL: "/write/tasting"}}
	return s.sheets(w, r, http.StatusOK, "Bottles", "What the opened ones teach: when to drink the rest, and what a bad one means.", view)
}

func bottlesPart(v *desk.View, b *recall.Bottles) sheetPart {
	part := sheetPart{Head: b.Vessel.Title()}
	if b.Lot != nil {
		part.Head = b.Lot.Title() + ", " + plural(b.Left, "bottle")
	}
	if o := b.Oxidised(); o != nil {
		part.Notices = append(part.Notices, ui.Notice{Kind: ui.Finding, Head: "Oxidised bottles.", Text: strings.Join(o.Says, " ") + " (" + string(o.Source.Mark) + ")"})
	}
	if b.Left > 0 {
		d := b.Drink(v.State, sulfurOf(v, b), v.Now)
		part.Says = append(part.Says, "When to drink it: "+strings.Join(d.Says, " ")+" ("+string(d.Source.Mark)+")")
	} else {
		part.Says = append(part.Says, "None is left.")
	}
	t := ui.Table{Caption: "Opened bottles", Head: []string{"day", "score", "what it was like"}}
	for _, o := range b.Opened {
		t.Rows = append(t.Rows, []string{ui.Day(o.At.In(v.Now.Location()), v.Now), dash(o.Score), dash(strings.TrimPrefix(strings.TrimSuffix(strings.Join(o.Faults, ", ")+"; "+o.Words, "; "), "; "))})
	}
	part.Tables = []ui.Table{t}
	return part
}

// sulfurOf is what is believed of the sulfur dioxide in a bottling, nil if nothing is.
func sulfurOf(v *desk.View, b *recall.Bottles) *ageing.Belief {
	if b.Vessel.Holds == nil {
		return nil
	}
	if st := v.Of(b.Vessel.Holds.ID); st != nil {
		return st.SO2
	}
	return nil
}

// doubtsPage lists the readings that are not to be trusted, and what rests on them.
func (s *Server) doubtsPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	var view sheetsView
	for _, d := range recall.Doubts(v.State, v.Now) {
		view.Parts = append(view.Parts, doubtPart(v, &d))
	}
	if part, ok := beliefDoubts(v); ok {
		view.Parts = append(view.Parts, part)
	}
	if len(view.Parts) == 0 {
		view.Says = []string{"No instrument failed a check, no kit was used after its day, and no reading contradicts the others."}
	}
	view.Says = append(view.Says, neverChecked(v)...)
	view.Do = []ui.Link{{Text: "Write a check", URL: "/write/check"}, {Text: "Weigh a check on the bench", URL: "/bench/ph-meter-check"}}
	return s.sheets(w, r, http.StatusOK, "Readings in doubt", "Read between a failed check and the good ones on either side, or with a kit past its day.", view)
}

func doubtPart(v *desk.View, d *recall.Doubt) sheetPart {
	until := "to now"
	if !d.To.IsZero() {
		until = "to " + ui.Day(d.To.In(v.Now.Location()), v.Now)
	}
	from := "from its first reading"
	if !d.From.IsZero() {
		from = "from " + ui.Day(d.From.In(v.Now.Location()), v.Now)
	}
	part := sheetPart{Head: instrumentName(d.Instrument), Notices: []ui.Notice{{Kind: ui.Caution, Head: "Not to be trusted.", Text: capital(d.Why) + ": " + from + " " + until + "."}}}
	if len(d.Readings) == 0 {
		part.Says = []string{"Nothing was read with it in that time."}
		return part
	}
	t := ui.Table{Caption: "Readings in doubt", Head: []string{"day", "where", "read", "doses that rest on it"}}
	for _, x := range d.Readings {
		where := strings.Join(x.Record.Vessels(), ", ")
		if !x.Named {
			where += " (taken to be this instrument's)"
		}
		var doses []string
		for _, dose := range x.Doses {
			doses = append(doses, ui.Day(dose.At.In(v.Now.Location()), v.Now)+": "+cellar.Sentence(dose))
		}
		t.Rows = append(t.Rows, []string{ui.Day(x.Record.At.In(v.Now.Location()), v.Now), where, x.Value, dash(strings.Join(doses, "; "))})
	}
	part.Tables = []ui.Table{t}
	part.Says = []string{"Read again where the wine is still there; reckon the next dose from the new figure, not from these."}
	return part
}

func instrumentName(i *cellar.Instrument) string {
	if i.Name != "" {
		return i.Name
	}
	return i.Slug
}

// beliefDoubts are readings that the beliefs give little weight, since they contradict
// the others.
func beliefDoubts(v *desk.View) (sheetPart, bool) {
	part := sheetPart{Head: "Readings that contradict the others"}
	for _, st := range v.Standings {
		if st.Malo != nil {
			for _, f := range st.Malo.Flags {
				if f.Kind == "contradiction" {
					part.Notices = append(part.Notices, ui.Notice{Kind: ui.Finding, Head: st.Vessel.Title() + ".", Text: spoken(capital(f.Message), v.Now)})
				}
			}
		}
		if st.SO2 != nil {
			for _, f := range st.SO2.Flags {
				if f.Code == "absurd-reading" {
					part.Notices = append(part.Notices, ui.Notice{Kind: ui.Finding, Head: st.Vessel.Title() + ".", Text: capital(f.Text)})
				}
			}
		}
	}
	return part, len(part.Notices) > 0
}

// neverChecked tells of meters without a check: nothing is known against them, nor for them.
func neverChecked(v *desk.View) []string {
	var names []string
	for _, i := range v.State.Instruments {
		if i.Gone || !slices.Contains([]string{"ph-meter", "hydrometer", "scale"}, i.Type) {
			continue
		}
		checked := false
		for _, r := range i.Records {
			switch r.Body.(type) {
			case cellar.PHCheck, cellar.Calibration:
				checked = checked || r.Counts()
			}
		}
		if !checked {
			names = append(names, instrumentName(i))
		}
	}
	if len(names) == 0 {
		return nil
	}
	return []string{"Never checked on record: " + list(names) + ". What was read with them is believed as far as such instruments usually go."}
}

// madePage is the wine of a calendar year, held against the household's allowance.
func (s *Server) madePage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	year, status := v.Now.Year(), http.StatusOK
	field := ui.Field{Name: "year", Label: "Year", Kind: ui.Number, Value: strconv.Itoa(year)}
	if q := r.URL.Query(); q.Has("year") {
		field.Value = q.Get("year")
		if n, err := strconv.Atoi(field.Value); err == nil && n >= 1900 && n <= year+1 {
			year = n
		} else {
			field.Error, status = fault.Field{Given: field.Value, Allowed: fmt.Sprintf("a year from 1900 to %d", year+1)}.String(), http.StatusUnprocessableEntity
		}
	}
	m := recall.Made(v.State, year, s.Zone)
	t := ui.Table{Caption: fmt.Sprintf("Wine begun in %d", year), Head: []string{"lot", "L", "US gal", ""}, Numbers: []bool{false, true, true, false}}
	for _, l := range m.Lots {
		t.Rows = append(t.Rows, []string{l.Lot.Title(), fmt.Sprintf("%.1f", l.Litres.Litres()), fmt.Sprintf("%.1f", l.Litres.Litres()/litresPerUSGallon), l.How})
	}
	view := sheetsView{Form: &askView{Action: "/made", Button: "Show", Fields: []ui.Field{field}},
		Parts: []sheetPart{{Says: append(m.Says, m.Source.Text+" ("+string(m.Source.Mark)+")"), Tables: []ui.Table{t}}}}
	return s.sheets(w, r, status, "Wine made in a year", "In litres of the day on which it was pressed or came in.", view)
}

// narrowed are the days and the lot that a ledger is narrowed to.
type narrowed struct {
	lot      *cellar.Lot
	from, to time.Time // zero: open
}

// narrow reads the ledger's question from the address; the fields come back with what
// is wrong with them.
func (s *Server) narrow(v *desk.View, q url.Values) (n narrowed, fields []ui.Field, ok bool) {
	fields = []ui.Field{
		{Name: "lot", Label: "Lot", Kind: ui.Choice, Optional: true, Value: q.Get("lot"), Options: lotOptions(v, "every lot")},
		{Name: "from", Label: "From", Kind: ui.Date, Optional: true, Value: q.Get("from")},
		{Name: "to", Label: "To", Kind: ui.Date, Optional: true, Value: q.Get("to"), Help: "that day too"}}
	ok = true
	wrong := func(f *ui.Field, allowed string) {
		f.Error, ok = fault.Field{Given: f.Value, Allowed: allowed}.String(), false
	}
	if f := &fields[0]; f.Value != "" {
		if n.lot = v.State.Lot(f.Value); n.lot == nil {
			wrong(f, "a lot of this cellar")
		}
	}
	for i, at := range []*time.Time{&n.from, &n.to} {
		f := &fields[1+i]
		if f.Value == "" {
			continue
		}
		d, err := time.ParseInLocation(time.DateOnly, f.Value, s.Zone)
		if err != nil {
			wrong(f, "a date such as 2026-03-31, or nothing")
			continue
		}
		*at = d.AddDate(0, 0, i)
	}
	return n, fields, ok
}

// holds says whether an entry is among those asked for.
func (n *narrowed) holds(r *cellar.Record, ofLot map[cellar.ID]bool) bool {
	return (n.lot == nil || ofLot[r.Entry.ID]) && (n.from.IsZero() || !r.At.Before(n.from)) && (n.to.IsZero() || r.At.Before(n.to))
}
