package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/fill"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
)

// cellarView is every lot: what is in it, how sure, what comes next.
type cellarView struct {
	Empty    *ui.Empty
	River    *riverView
	Lots     []ui.LotLine
	Vessels  ui.Table
	Findings []ui.Notice
	Do       []ui.Link
}

func (s *Server) cellarPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	view := cellarView{Do: []ui.Link{{Text: "Start a lot", URL: "/write/lot"}, {Text: "Name a vessel", URL: "/write/vessel"}, {Text: "Blend", URL: "/blend"}, {Text: "How full the vessels are", URL: "/vessels"},
		{Text: "Two lots side by side", URL: "/compare"}, {Text: "The account", URL: "/account"}, {Text: "Where an addition went", URL: "/went"}, {Text: "What opened bottles teach", URL: "/bottles"},
		{Text: "pH meters", URL: "/meters"}, {Text: "Readings in doubt", URL: "/doubts"}, {Text: "Wine made in a year", URL: "/made"}, {Text: "The whole ledger", URL: "/ledger"}}}
	view.Empty = firstSteps(v)
	for _, lot := range v.State.Lots.All() {
		view.Lots = append(view.Lots, s.lotLine(v, lot))
	}
	view.Vessels = vesselTable(v)
	for _, f := range v.State.Findings.All() {
		if !f.Note {
			n := findingNotice(f)
			if len(f.Entries) > 0 {
				n.Link.URL = "/ledger" + n.Link.URL
			}
			view.Findings = append(view.Findings, n)
		}
	}
	if view.River, err = riverAsked(v, r.URL.Query()); err != nil {
		return err
	}
	p := s.page(r, "Cellar", ui.Cellar, view)
	p.Scripts = []string{"river.js"}
	p.Lead = fmt.Sprintf("%s in %s.", plural(len(view.Lots), "lot"), plural(len(v.Standings), "vessel"))
	return s.kit.Render(w, http.StatusOK, "cellar", p)
}

func lotURL(slug string) string { return "/lots/" + url.PathEscape(slug) }

func (s *Server) lotLine(v *desk.View, lot *cellar.Lot) ui.LotLine {
	standings := v.OfLot(lot)
	line := ui.LotLine{Lot: ui.Link{Text: lot.Title(), URL: lotURL(lot.Slug)}, What: leadOf(v.State, lot, standings)}
	if vol, spread := lot.Volume(); vol > 0 {
		line.Volume = volumeText(lot, float64(vol), float64(spread))
	} else if len(standings) > 0 {
		line.Volume = heldText(lot, standings[0].Parcel)
	}
	var sure []string
	for _, st := range standings {
		if words := sureOf(st); words != "" {
			if len(standings) > 1 {
				words = parcelName(st) + ": " + words
			}
			sure = append(sure, words)
		}
		if line.Spark == nil && st.Malo != nil {
			d := ui.Drawn(chart.Spark{ID: "spark-" + st.Vessel.Slug, Title: "Malic acid in " + parcelName(st), Unit: "g/L", Now: v.Now,
				Points: fanPoints(st.Malo, v.Now.Location()), Limit: &chart.Limit{Value: st.Malo.Limit.GPerL()}})
			line.Spark = &d
		}
	}
	line.Sure = strings.Join(sure, "; ")
	line.Next = s.nextOf(v, lot)
	return line
}

// sureOf is what is believed of a parcel in few words, with the chance.
func sureOf(st *desk.Standing) string {
	switch b := st.Malo; {
	case st.Primary != nil && b == nil:
		return fmt.Sprintf("%s (%s), sugar about %.0f g/L", st.Primary.State, ui.Chance(st.Primary.States[st.Primary.State]), st.Primary.Sugar.Q50.GPerL())
	case b == nil && st.SO2 != nil:
		return fmt.Sprintf("molecular SO2 %.2f mg/L, below its floor: %s", st.SO2.Molecular.Q50.MgPerL(), ui.Chance(st.SO2.Below))
	case b == nil:
		return ""
	default:
		name, p := likeliest(b)
		return fmt.Sprintf("%s (%s %s)", strings.ToLower(callWords[b.Decision.Call]), name, ui.Chance(p))
	}
}

func likeliest(b *track.Belief) (name string, p float64) {
	for _, s := range []struct {
		name string
		p    float64
	}{{"lagging", b.State.Lagging}, {"active", b.State.Active}, {"stalled", b.State.Stalled}, {"finished", b.State.Finished}} {
		if s.p > p {
			name, p = s.name, s.p
		}
	}
	return name, p
}

func vesselTable(v *desk.View) ui.Table {
	t := ui.Table{Caption: "Vessels", Head: []string{"vessel", "place", "holds", "lot", "air above"}}
	for _, vessel := range v.State.Vessels {
		if vessel.Gone || vessel.Bottles && vessel.Holds == nil {
			continue
		}
		row := []string{vessel.Title(), vessel.Place, "empty", "", "–"}
		if p := vessel.Holds; p != nil {
			lot := v.State.Lot(p.Lot)
			row[2] = heldText(lot, p)
			row[3] = p.Lot
			if lot != nil {
				row[3] = lot.Title()
			}
		}
		if air, ok := fill.Air(vessel); ok && vessel.Holds != nil && !vessel.Bottles && vessel.Holds.Form != cellar.FormFruit {
			row[4] = ui.Plain(float64(air), "L")
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
