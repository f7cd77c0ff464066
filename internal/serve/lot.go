package serve

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// lotView is one lot: its parcels one by one, then its ledger.
type lotView struct {
	Empty    *ui.Empty
	Compare  *ui.Drawing // the same fan for each of several vessels
	Parcels  []parcelView
	Origins  *ui.Table
	Look     []ui.Link
	Rested   []ui.Notice // decisions that rested on something else than what stands now
	Findings []ui.Notice
	Ledger   []ui.LedgerLine
	Slug     string
}

func (s *Server) lotPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	lot := v.State.Lot(r.PathValue("lot"))
	if lot == nil {
		return fault.New(fault.NotFound, "show lot", "there is no lot %q", r.PathValue("lot"))
	}
	view := lotView{Slug: lot.Slug, Ledger: s.ledgerOf(v, lot), Origins: originsOf(v, lot), Look: lookbackLinks(lot)}
	view.Rested, view.Findings = restedOf(findingsOf(v, lot))
	standings := v.OfLot(lot)
	for _, st := range standings {
		view.Parcels = append(view.Parcels, s.parcelOf(v, st))
	}
	if len(standings) > 1 {
		view.Compare = compare(v, lot, standings)
	}
	if len(standings) == 0 {
		view.Empty = &ui.Empty{Head: "No vessel holds this lot now.", Text: "Say what came in, and its figures stand here.", Do: comingIn(lot.Slug)}
	}
	p := s.page(r, lot.Title(), ui.Cellar, view)
	p.Lead = leadOf(v.State, lot, standings)
	p.Up = &ui.Link{Text: "Cellar", URL: "/cellar"}
	if len(standings) > 0 {
		p.Log.Vessel = standings[0].Vessel.Slug
	}
	return s.kit.Render(w, http.StatusOK, "lot", p)
}

func leadOf(state *cellar.State, lot *cellar.Lot, standings []*desk.Standing) string {
	var parts []string
	if lot.Vintage != 0 {
		parts = append(parts, fmt.Sprint(lot.Vintage))
	}
	for _, t := range []string{lot.Variety, lot.Colour} {
		if t != "" {
			parts = append(parts, t)
		}
	}
	switch state.Wish(lot) {
	case cellar.MalolacticKeptFrom:
		parts = append(parts, "kept from malolactic fermentation")
	case cellar.MalolacticWanted:
		parts = append(parts, "malolactic fermentation wanted")
	}
	if n := len(standings); n > 0 {
		names := make([]string, n)
		for i, st := range standings {
			names[i] = st.Vessel.Title()
		}
		parts = append(parts, "in "+list(names))
	}
	return strings.Join(parts, ", ")
}

// list writes "a", "a and b", "a, b and c".
func list(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

func findingsOf(v *desk.View, lot *cellar.Lot) []*cellar.Finding {
	var out []*cellar.Finding
	for _, f := range v.State.Findings.All() {
		if f.Lot == lot.Slug {
			out = append(out, f)
		}
	}
	return out
}

func findingNotice(f *cellar.Finding) ui.Notice {
	n := ui.Notice{Kind: ui.Finding, Text: f.Says}
	switch {
	case f.Code == cellar.FoundDoseVolume || f.Code == cellar.FoundRested:
		n.Head, n.Text = "Decided on another figure.", capital(f.Says)+"."
	case f.Note:
		n.Kind, n.Head = ui.Told, "Note."
	}
	if len(f.Entries) > 0 {
		n.Link = &ui.Link{Text: "the entry", URL: "#e-" + string(f.Entries[0])}
	}
	return n
}

// keeps is how long a figure can be relied on before it fades: choices of the
// house, by how fast the thing itself changes. No fact about wine.
var keeps = map[string]time.Duration{
	cellar.ReadPH: 21 * 24 * time.Hour, cellar.ReadTA: 45 * 24 * time.Hour, cellar.ReadFreeSO2: 30 * 24 * time.Hour,
	cellar.ReadTotalSO2: 60 * 24 * time.Hour, cellar.ReadTemperature: 4 * 24 * time.Hour, cellar.ReadAlcohol: 0,
	cellar.ReadVA: 120 * 24 * time.Hour, cellar.ReadDensity: 3 * 24 * time.Hour,
}
