package serve

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"elevage/internal/advise"
	"elevage/internal/bench"
	"elevage/internal/serve/ui"
)

// cultureSplit is the calculator that divides a culture over the wines that wait for it.
const cultureSplit = "culture-split"

// cultureFilled fills in the wines that wait for bacteria and the packet on the shelf
// where nothing was typed, and says so.
func (s *Server) cultureFilled(r *http.Request, given bench.Given) (string, error) {
	if _, typed := given["lots"]; typed {
		return "", nil
	}
	v, err := s.view(r.Context())
	if err != nil {
		return "", err
	}
	known, err := advise.CultureAtHand(s.Desk.PlanInput(v))
	if err != nil {
		return "", err
	}
	for key, value := range known {
		if _, typed := given[key]; !typed {
			given[key] = value
		}
	}
	var from []string
	if lots, ok := known["lots"].([]any); ok {
		from = append(from, plural(len(lots), "wine")+" that can take culture now")
	}
	if _, ok := known["packet_g"]; ok {
		from = append(from, "the packet on the shelf")
	}
	if len(from) == 0 {
		return "", nil
	}
	return "Filled in from " + list(from) + ". Take out what is not to have any.", nil
}

// stepsCard is the address of a culture's steps as a printed card.
func stepsCard(name string, inputs url.Values) string {
	q := url.Values{}
	for key, values := range inputs {
		if key != "size" {
			q[key] = values
		}
	}
	return "/cards/steps/" + name + "?" + q.Encode()
}

// stepsCardPage prints a culture's steps by the clock: what to lay out, what to do when,
// and how much goes where.
func (s *Server) stepsCardPage(w http.ResponseWriter, r *http.Request) error {
	c, res, q, err := timed(r, "print card", "size")
	if err != nil {
		return err
	}
	card := ui.Card{Vessel: "Culture", Lot: c.Title, What: "begun at ______", Foot: "The packet's own sheet governs.", Blank: 1}
	for i := range res.Figures {
		if f := &res.Figures[i]; f.Kind == bench.Number && f.Key != "adequacy" {
			card.Lines = append(card.Lines, ui.CardLine{Verb: capital(f.Label), Amount: f.Shown()})
		}
	}
	for i, m := range res.Timetable() {
		l := ui.CardLine{Verb: fmt.Sprintf("%d.", i+1), Of: m.Do, When: "at the start", Notes: []string{"Go on when: " + m.Then + "."}}
		if i == 0 {
			l.Head = "By the clock"
		}
		if m.After > 0 {
			l.When = "after " + spell(m.After)
		}
		if m.Until > m.After {
			l.When += ", " + spell(m.Until) + " at most"
		}
		card.Lines = append(card.Lines, l)
	}
	if shares, ok := res.Figure("shares"); ok {
		for i, row := range shares.Rows {
			l := ui.CardLine{Verb: fmt.Sprint(row["lot"]), Amount: shortFigure(row["dose_ml"]) + " mL", When: "into " + shortFigure(row["volume_l"]) + " L"}
			if i == 0 {
				l.Head = "Pour, stirring"
			}
			card.Lines = append(card.Lines, l)
		}
	}
	p, err := s.cardPage(r, c.Title, []ui.Card{card})
	if err != nil {
		return err
	}
	view := p.Body.(cardsView)
	view.Clock = "/clock/" + c.Name + "?" + q.Encode()
	p.Body = view
	return s.finishCards(w, r, p, "/bench/"+c.Name+"?ask=1&"+q.Encode(), "a5")
}

// shortFigure writes a figure of a table, without the noughts that say nothing.
func shortFigure(value any) string {
	n, _ := value.(float64)
	text := fmt.Sprintf("%.2f", n)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}
