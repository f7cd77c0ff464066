package serve

import (
	"net/http"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

type strikeView struct {
	Entry  ui.LedgerLine
	Action string
	Reason ui.Field
	Back   string
}

// strikeForm asks why an entry is struck; nothing is ever erased.
func (s *Server) strikeForm(w http.ResponseWriter, r *http.Request) error {
	return s.showStrike(w, r, http.StatusOK, "", "")
}

func (s *Server) showStrike(w http.ResponseWriter, r *http.Request, status int, typed, trouble string) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	rec := v.State.Record(cellar.ID(strings.ToLower(r.PathValue("id"))))
	if rec == nil {
		return fault.New(fault.NotFound, "strike", "there is no entry %q", r.PathValue("id"))
	}
	line := s.ledgerLine(v, rec)
	line.Undo = nil
	p := s.page(r, "Strike an entry out", ui.Cellar, strikeView{Entry: line, Action: "/strike/" + string(rec.Entry.ID), Back: s.homeOf(v.State, rec),
		Reason: ui.Field{Name: "reason", Label: "Why", Value: typed, Error: trouble, Help: "It stays legible, with your reason. Striking the strike brings it back."}})
	p.Up = &ui.Link{Text: "Ledger", URL: "/ledger"}
	return s.kit.Render(w, status, "strike", p)
}

func (s *Server) strikeEntry(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	reason := strings.TrimSpace(r.PostForm.Get("reason"))
	if reason == "" {
		return s.showStrike(w, r, http.StatusUnprocessableEntity, reason, "nothing is given: a few words are wanted, such as wrong vessel")
	}
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	rec := v.State.Record(cellar.ID(strings.ToLower(r.PathValue("id"))))
	if rec == nil {
		return fault.New(fault.NotFound, "strike", "there is no entry %q", r.PathValue("id"))
	}
	now := s.now()
	kept, err := s.keep(r.Context(), now, cellar.Draft{Happened: cellar.At(now), Body: cellar.Strike{Target: rec.Entry.ID, Reason: reason}})
	if err != nil {
		return err
	}
	s.follow(w, r, s.homeOf(v.State, rec)+"#e-"+string(rec.Entry.ID), kept)
	return nil
}

// homeOf is the page on which an entry is best seen: its lot's, or the ledger.
func (s *Server) homeOf(state *cellar.State, rec *cellar.Record) string {
	for _, id := range rec.Parcels {
		if p := state.Parcel(id); p != nil && state.Lot(p.Lot) != nil {
			return lotURL(p.Lot)
		}
	}
	if lot := state.Lot(namesLot(rec.Body)); lot != nil {
		return lotURL(lot.Slug)
	}
	return "/ledger"
}

// namesLot is the lot that an entry names where it is of no vessel; "" if it names none.
func namesLot(b cellar.Body) string {
	switch b := b.(type) {
	case cellar.Sample:
		return b.Lot
	case cellar.FruitReceived:
		return b.Lot
	case cellar.Reading:
		return b.Lot
	case cellar.LotStarted:
		return b.Slug
	}
	return ""
}
