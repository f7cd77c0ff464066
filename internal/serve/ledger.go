package serve

import (
	"net/http"
	"slices"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
)

// ledgerView is a stretch of the ledger under the question that narrows it.
type ledgerView struct {
	Form  askView
	Lines []ui.LedgerLine
}

// ledgerPage is everything that was ever written, newest first, or what of it is about
// a lot or between two days.
func (s *Server) ledgerPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	ask, fields, ok := s.narrow(v, r.URL.Query())
	status := http.StatusOK
	if !ok {
		status = http.StatusUnprocessableEntity
	}
	ofLot := map[cellar.ID]bool{}
	if ask.lot != nil {
		ofLot = entriesOf(v, ask.lot)
	}
	var lines []ui.LedgerLine
	for _, rec := range v.State.Records.Backward() {
		if ask.holds(rec, ofLot) {
			lines = append(lines, s.ledgerLine(v, rec))
		}
	}
	p := s.page(r, "Ledger", ui.Cellar, ledgerView{askView{Action: "/ledger", Button: "Show only these", Fields: fields, Errors: ui.FormErrors{Fields: fields}}, s.withFiles(v, lines)})
	p.Lead = plural(len(lines), "entry")
	if len(lines) != 1 {
		p.Lead = plural(len(lines), "entrie")
	}
	p.Up = &ui.Link{Text: "Cellar", URL: "/cellar"}
	return s.kit.Render(w, status, "ledger", p)
}

// ledgerOf are the entries about a lot, newest first: what was done to its
// parcels and their forebears, and what describes it.
func (s *Server) ledgerOf(v *desk.View, lot *cellar.Lot) []ui.LedgerLine {
	mine := entriesOf(v, lot)
	var out []ui.LedgerLine
	for _, r := range v.State.Records.Backward() {
		if mine[r.Entry.ID] {
			out = append(out, s.ledgerLine(v, r))
		}
	}
	return s.withFiles(v, out)
}

// entriesOf are the entries about a lot: what was done to its parcels and their
// forebears, what describes it, and what was struck of either.
func entriesOf(v *desk.View, lot *cellar.Lot) map[cellar.ID]bool {
	mine := map[cellar.ID]bool{}
	for _, r := range lot.Records {
		mine[r.Entry.ID] = true
	}
	for _, p := range lot.Parcels {
		for _, h := range v.State.History(p.ID) {
			mine[h.Entry.ID] = true
		}
		for _, r := range p.Events {
			mine[r.Entry.ID] = true
		}
	}
	for _, r := range v.State.Records.All() {
		if touches(r, lot) {
			mine[r.Entry.ID] = true
		}
	}
	return mine
}

// touches finds struck entries too: they are in no parcel's history, but speak of
// a vessel that held the lot when they say it happened.
func touches(r *cellar.Record, lot *cellar.Lot) bool {
	if !r.Counts() {
		for _, p := range lot.Parcels {
			if slices.Contains(r.Vessels(), p.Vessel) && !r.At.Before(p.Began) && (!p.Ended() || !r.At.After(p.End)) {
				return true
			}
		}
	}
	for _, id := range r.Parcels {
		for _, p := range lot.Parcels {
			if p.ID == id {
				return true
			}
		}
	}
	return false
}

func (s *Server) ledgerLine(v *desk.View, r *cellar.Record) ui.LedgerLine {
	e := r.Entry
	at := e.Happened.Time.In(s.Zone)
	l := ui.LedgerLine{ID: string(e.ID), Date: ui.Day(at, v.Now), Kind: string(e.Kind), Text: cellar.Sentence(r), By: e.By}
	if e.Happened.Precision != cellar.Day {
		l.Time = at.Format("15:04")
	}
	if late := e.Written.Sub(r.At); late > 36*time.Hour {
		l.Late = "written " + ui.Age(r.At, e.Written) + " later"
	}
	if e.Overruled != "" {
		l.Notices = append(l.Notices, ui.Notice{Kind: ui.Stopped, Head: "Overruled:", Text: "“" + e.Overruled + "”"})
	}
	for _, f := range v.State.FindingsAbout(e.ID) {
		n := findingNotice(f)
		n.Link = nil
		l.Notices = append(l.Notices, n)
	}
	if len(r.Struck) > 0 {
		if strike := v.State.Record(r.Struck[len(r.Struck)-1]); strike != nil {
			b, _ := strike.Body.(cellar.Strike)
			l.Strike = &ui.Strike{When: ui.Day(strike.At.In(s.Zone), v.Now), By: strike.Entry.By, Why: b.Reason}
			l.Undo = &ui.Link{Text: "bring back", URL: "/strike/" + string(strike.Entry.ID)}
		}
		return l
	}
	l.Undo = &ui.Link{Text: "strike", URL: "/strike/" + string(e.ID)}
	return l
}
