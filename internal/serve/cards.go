package serve

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"rsc.io/qr"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// cardSizes are the papers a card can be printed on.
var cardSizes = map[string]bool{"a6": true, "a5": true, "a4": true, "half-letter": true}

type cardsView struct {
	Cards []ui.Card
	Sizes []ui.Link

	Drawing *ui.Drawing // what one page shows besides
	Clock   string      // address of the same steps by the clock
}

func (s *Server) cardPage(r *http.Request, title string, cards []ui.Card) (ui.Page, error) {
	size := r.URL.Query().Get("size")
	if size == "" {
		size = "a6"
	}
	if !cardSizes[size] {
		return ui.Page{}, fault.BadFields("print card", fault.Field{Name: "size", Given: size, Allowed: "a6, a5, a4 or half-letter"})
	}
	v := cardsView{Cards: cards}
	for _, one := range []string{"a6", "a5", "a4", "half-letter"} {
		q := r.URL.Query() // what the card is of stays
		q.Set("size", one)
		v.Sizes = append(v.Sizes, ui.Link{Text: strings.ToUpper(one), URL: r.URL.Path + "?" + q.Encode()})
	}
	p := s.page(r, title, "", v)
	p.Card = size
	return p, nil
}

// lotCards are the cards to hang on a lot's vessels.
func (s *Server) lotCards(w http.ResponseWriter, r *http.Request) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	lot := v.State.Lot(r.PathValue("lot"))
	if lot == nil {
		return fault.New(fault.NotFound, "print card", "there is no lot %q", r.PathValue("lot"))
	}
	var cards []ui.Card
	for _, st := range v.OfLot(lot) {
		c, err := s.cardOf(r, v, st)
		if err != nil {
			return err
		}
		cards = append(cards, c)
	}
	p, err := s.cardPage(r, "Cards for "+lot.Title(), cards)
	if err != nil {
		return err
	}
	p.Up = &ui.Link{Text: lot.Title(), URL: lotURL(lot.Slug)}
	return s.kit.Render(w, http.StatusOK, "cards", p)
}

func (s *Server) cardOf(r *http.Request, v *desk.View, st *desk.Standing) (ui.Card, error) {
	address := addressOf(r, lotURL(st.Lot.Slug)+"#v-"+st.Vessel.Slug)
	code, err := qrOf(address)
	if err != nil {
		return ui.Card{}, err
	}
	c := ui.Card{Vessel: st.Vessel.Slug, Lot: st.Lot.Title(), What: holds(st), QR: code, Foot: sureOf(st), Address: address, Blank: 3}
	for i := range v.Plan.Acts {
		a := &v.Plan.Acts[i]
		if a.Parcel == st.Parcel.ID && len(c.Lines) < 5 {
			l := s.cardLine(v, a)
			c.Lines = append(c.Lines, l)
			c.Blank = max(0, c.Blank-len(l.Notes)) // it stays one sheet
		}
	}
	return c, nil
}

// cardLine is an act as Today shows it, without its reasons: what it is, how much, by
// when, whether it is late, what must come first, and what would stop it.
func (s *Server) cardLine(v *desk.View, a *advise.Act) ui.CardLine {
	act := s.actOf(v, a)
	l := ui.CardLine{Verb: act.Verb, Of: act.Of, When: act.By, Late: act.Urgency == ui.Late}
	if act.Amount != "" {
		l.Amount = act.Amount + " " + act.Unit
	}
	for _, n := range act.Cautions {
		if n.Head == headBefore || n.Head == headFirst {
			l.Notes = append(l.Notes, n.Head+" "+n.Text)
		}
	}
	if b, ok := a.Entry.(cellar.Addition); ok && len(a.Order) > 0 && !b.For.IsZero() {
		l.Of = strings.TrimSpace("for " + b.For.String() + " " + l.Of)
	}
	return l
}

// tonightCard is tonight's list on paper, as Today has it: what matters in the order of
// the walk, then what may wait.
func (s *Server) tonightCard(w http.ResponseWriter, r *http.Request) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	c := ui.Card{Vessel: "Tonight", Lot: v.Now.Format("Monday 2 January"), Blank: 2}
	if v.Plan.ComeBack != nil {
		c.Foot = "Come back " + ui.Weekday(v.At(v.Plan.ComeBack.Time), v.Now)
	}
	due := v.Plan.With(advise.Due)
	c.What = plural(len(due), "act")
	if len(due) > 0 {
		c.What += ", a" + strings.TrimPrefix(howLong(v.Plan), "A")
	}
	for _, matters := range []bool{true, false} {
		for i, a := range mattering(due, matters) {
			l := s.cardLine(v, &a)
			l.Verb = strings.TrimSpace(a.Vessel + " " + l.Verb)
			if i == 0 && !matters {
				l.Head = "When there is time"
			}
			c.Lines = append(c.Lines, l)
		}
	}
	p, err := s.cardPage(r, "Tonight's list", []ui.Card{c})
	if err != nil {
		return err
	}
	if !r.URL.Query().Has("size") {
		p.Card = "a5"
	}
	p.Up = &ui.Link{Text: "Today", URL: "/"}
	return s.kit.Render(w, http.StatusOK, "cards", p)
}

func addressOf(r *http.Request, path string) string {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	return scheme + "://" + r.Host + path
}

// qrOf draws a QR code (ISO/IEC 18004, level M) as one path; a quiet zone of four
// modules belongs to it.
func qrOf(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4
	side := code.Size + 2*quiet
	var path strings.Builder
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			run := 0
			for x+run < code.Size && code.Black(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quiet, y+quiet, run, run)
				x += run
			}
		}
	}
	svg := fmt.Sprintf(`<svg viewBox="0 0 %d %d" role="img" aria-label="QR code of %s" shape-rendering="crispEdges"><rect width="%d" height="%d" fill="#fff"/><path d="%s" fill="#000"/></svg>`,
		side, side, template.HTMLEscapeString(text), side, side, path.String())
	return template.HTML(svg), nil //nolint:gosec // the one text in it is escaped
}
