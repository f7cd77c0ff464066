package serve

import (
	"fmt"
	"net/http"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/fill"
	"elevage/internal/serve/ui"
	"elevage/science/quantity"
)

// vesselsPage is how every vessel stands, what may fill the room in those that are
// not full, and which empty ones a volume would fill.
func (s *Server) vesselsPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	view := sheetsView{Form: &askView{Action: "/vessels", Button: "Which vessels does it fill?", Fields: []ui.Field{
		{Name: "volume", Label: "Wine to put away", Kind: ui.Number, Unit: "L", Value: q.Get("volume"), Help: "after what rackings will cost"},
		{Name: "spread", Label: "give or take", Kind: ui.Number, Unit: "L", Value: q.Get("spread"), Optional: true}}}}
	status := http.StatusOK
	conditions := fill.Conditions(v.State, v.Now)
	if q.Has("volume") && !s.setsFor(&view, conditions) {
		status = http.StatusUnprocessableEntity
	}
	view.Parts = append(view.Parts, sheetPart{Head: "How they stand", Says: []string{"A full vessel keeps a gap above the wine: the one that was written down for it, or 2 % of its size; a barrel keeps none."}, Tables: []ui.Table{conditionTable(v, conditions)}})
	view.Parts = append(view.Parts, toppingParts(v, conditions)...)
	view.Do = []ui.Link{{Text: "Blend", URL: "/blend"}, {Text: "Top up", URL: "/write/topping"}, {Text: "Name a vessel", URL: "/write/vessel"}}
	return s.sheets(w, r, status, "Vessels", "Which are full, empty, dirty or sulfured, and what would fill them.", view)
}

// setsFor answers the form with sets of clean, empty vessels; false if what was
// asked cannot be read.
func (s *Server) setsFor(view *sheetsView, conditions []fill.Condition) bool {
	volume, ok := litresIn(&view.Form.Fields[0], 0.5, 1e5)
	spread := 0.0
	if view.Form.Fields[1].Value != "" {
		var fine bool
		spread, fine = litresIn(&view.Form.Fields[1], 0, 1e4)
		ok = ok && fine
	}
	if !ok {
		return false
	}
	var free []fill.Vessel
	for _, c := range conditions {
		if c.Holds == nil && c.Sized {
			free = append(free, fill.Vessel{Slug: c.Vessel.Slug, Size: c.Room})
		}
	}
	part := sheetPart{Head: fmt.Sprintf("Sets that %s would fill", ui.Plain(volume, "L"))}
	t := ui.Table{Caption: "Empty vessels that end full", Head: []string{"vessels", "filled, L", "left to top up with, L", "enough for all"}, Numbers: []bool{false, true, true, true}}
	for _, set := range fill.Sets(quantity.Volume(volume), quantity.Volume(spread), free) {
		names := make([]string, len(set.Vessels))
		for i, f := range set.Vessels {
			names[i] = f.Slug
		}
		t.Rows = append(t.Rows, []string{list(names), fmt.Sprintf("%.1f", set.Filled.Litres()), fmt.Sprintf("%.1f", set.Over.Litres()), ui.Chance(set.Chance)})
	}
	if len(t.Rows) > 12 {
		t.Rows = t.Rows[:12]
	}
	if len(t.Rows) == 0 {
		part.Says = []string{fmt.Sprintf("No set of the %s fills with it.", plural(len(free), "empty vessel"))}
	}
	part.Tables = []ui.Table{t}
	view.Parts = append(view.Parts, part)
	return true
}

// litresIn reads a volume typed into a field, with its unit if one was written.
func litresIn(f *ui.Field, lo, hi float64) (float64, bool) {
	var volume float64
	text := strings.TrimSpace(f.Value)
	a, err := cellar.ParseMeasure(text, "L")
	if err == nil {
		var q quantity.Volume
		if q, _, err = a.Volume(); err == nil {
			volume = q.Litres()
		}
	}
	if err != nil || volume < lo || volume > hi {
		f.Error = fault.Field{Given: text, Allowed: fmt.Sprintf("a volume of %g to %g L", lo, hi)}.String()
		return 0, false
	}
	return volume, true
}

// conditionTable fits a phone: the place stands with the vessel, and what is in it, or
// how long nothing has been, in one column.
func conditionTable(v *desk.View, conditions []fill.Condition) ui.Table {
	t := ui.Table{Caption: "In the order of a walk", Head: []string{"vessel", "how it stands", "air above, L", "lacks, L"}, Numbers: []bool{false, false, true, true}}
	for _, c := range conditions {
		name, stands, air, room := c.Vessel.Title(), c.Says, "–", "–"
		if c.Vessel.Place != "" {
			name += ", " + c.Vessel.Place
		}
		if p := c.Holds; p != nil && p.Form != cellar.FormFruit {
			lot := v.State.Lot(p.Lot)
			stands = volumeText(lot, float64(p.Volume), float64(p.Spread))
			if lot != nil {
				stands += ", " + lot.Title()
			}
			switch {
			case !c.Sized:
				stands += "; the size of the vessel is not written down"
			case p.Form == cellar.FormMust:
				air = fmt.Sprintf("%.1f", c.Air.Litres()) // a cap needs it
			default:
				air, room = fmt.Sprintf("%.1f", c.Air.Litres()), "full"
				if !c.Full {
					room = fmt.Sprintf("%.1f", c.Room.Litres())
				}
			}
		}
		t.Rows = append(t.Rows, []string{name, stands, air, room})
	}
	return t
}

// toppingParts are, for each vessel that is not full, the wines that could fill it,
// with what speaks for and against each.
func toppingParts(v *desk.View, conditions []fill.Condition) []sheetPart {
	var out []sheetPart
	topper := fill.NewTopper(v.State, v.Conversions(), v.Now)
	for _, c := range conditions {
		toppings := topper.For(c.Vessel.Slug, c.Room)
		if len(toppings) == 0 {
			continue
		}
		part := sheetPart{Head: fmt.Sprintf("%s lacks %s", c.Vessel.Title(), ui.Plain(c.Room.Litres(), "L"))}
		t := ui.Table{Caption: "What could fill " + c.Vessel.Title(), Head: []string{"from", "gives, L", "", "why"}, Numbers: []bool{false, true, false, false}}
		for _, top := range toppings {
			verdict := "may"
			if !top.OK {
				verdict = "rather not"
			}
			var why []string
			for _, j := range top.Judgements {
				if !j.OK || top.OK {
					why = append(why, j.Says)
				}
			}
			t.Rows = append(t.Rows, []string{top.From.Title(), fmt.Sprintf("%.1f", top.Litres.Litres()), verdict, strings.Join(why, "; ")})
		}
		if len(t.Rows) > 6 {
			t.Rows = t.Rows[:6]
		}
		part.Tables = []ui.Table{t}
		out = append(out, part)
	}
	return out
}
