package serve

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
	"elevage/internal/track/gather"
)

// starterCard is a malolactic starter with its timetable, for the lot in a vessel.
func (s *Server) starterCard(w http.ResponseWriter, r *http.Request) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	st := v.In(r.PathValue("vessel"))
	if st == nil {
		return fault.New(fault.NotFound, "print card", "there is no wine in %q", r.PathValue("vessel"))
	}
	c, err := bench.Find("bacteria-starter")
	if err != nil {
		return err
	}
	given := c.Prefill(v.Facts(st))
	given["start"] = v.Now.Format(time.DateOnly)
	res, err := c.Run(given)
	if err != nil {
		return err
	}
	card := ui.Card{Vessel: st.Vessel.Slug, Lot: st.Lot.Title(), What: "malolactic starter for " + holds(st), Foot: "The packet's own sheet governs. Steps after the first are from memory."}
	var out []string
	for _, one := range []struct{ key, of, unit string }{{"culture_g", "culture", "g"}, {"nutrient_g", "nutrient", "g"}, {"juice_l", "juice", "L"}, {"wine_l", "wine", "L"}} {
		if n, ok := res.Number(one.key); ok {
			out = append(out, fmt.Sprintf("%s\u00a0%s %s", shortFigure(n), one.unit, one.of))
		}
	}
	card.Lines = append(card.Lines, ui.CardLine{Verb: "Lay out", Of: list(out)})
	if steps, ok := res.Figure("steps"); ok {
		for _, row := range steps.Rows {
			card.Lines = append(card.Lines, ui.CardLine{Verb: fmt.Sprint(row["step"]) + ":", Of: fmt.Sprint(row["add"]), When: strings.TrimSpace(cardDay(row["earliest"], v) + " " + fmt.Sprint(row["go_on"]))})
		}
	}
	delete(given, "start")
	p, err := s.cardPage(r, "Starter for "+st.Vessel.Slug, []ui.Card{card})
	if err != nil {
		return err
	}
	clock := url.Values{}
	for key, value := range given {
		clock.Set(key, fmt.Sprint(value))
	}
	view := p.Body.(cardsView)
	view.Clock = "/clock/" + c.Name + "?" + clock.Encode()
	p.Body = view
	return s.finishCards(w, r, p, lotURL(st.Lot.Slug), "a5")
}

func cardDay(value any, v *desk.View) string {
	t, err := time.ParseInLocation(time.DateOnly, fmt.Sprint(value), v.Now.Location())
	if err != nil {
		return ""
	}
	return ui.Day(t, v.Now) + ":"
}

// showCards renders cards with a way back and a size that suits them.
func (s *Server) showCards(w http.ResponseWriter, r *http.Request, title, back, size string, cards ...ui.Card) error {
	p, err := s.cardPage(r, title, cards)
	if err != nil {
		return err
	}
	return s.finishCards(w, r, p, back, size)
}

func (s *Server) finishCards(w http.ResponseWriter, r *http.Request, p ui.Page, back, size string) error {
	if !r.URL.Query().Has("size") {
		p.Card = size
	}
	p.Up = &ui.Link{Text: "Back", URL: back}
	return s.kit.Render(w, http.StatusOK, "cards", p)
}

// readiness is what must be known before bottling, in the order in which it is
// asked: the practice handbook's list, common practice.
var readiness = []struct{ what, reads, wants string }{
	{"Sugar tested", cellar.ReadSugar, "under 1 g/L"},
	{"Malic acid tested, or kept from converting and filtered", cellar.ReadMalic, "under 0.1 g/L"},
	{"Clear for four weeks", "", ""},
	{"Cold and warmth tested (whites)", "", ""},
	{"pH", cellar.ReadPH, ""},
	{"TA", cellar.ReadTA, ""},
	{"Alcohol", cellar.ReadAlcohol, ""},
	{"Volatile acidity", cellar.ReadVA, ""},
	{"Total SO2 under the law", cellar.ReadTotalSO2, ""},
	{"Free SO2, within three days", cellar.ReadFreeSO2, ""},
	{"Wine at 15 to 20 °C", cellar.ReadTemperature, ""},
	{"No fining for four weeks, no copper for one", "", ""},
}

// bottlingCard is the sheet that lies beside the filler: what must be known, with
// what is, and lines to write on.
func (s *Server) bottlingCard(w http.ResponseWriter, r *http.Request) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	st := v.In(r.PathValue("vessel"))
	if st == nil {
		return fault.New(fault.NotFound, "print card", "there is no wine in %q", r.PathValue("vessel"))
	}
	c := ui.Card{Vessel: st.Vessel.Slug, Lot: st.Lot.Title(), What: "bottling: " + holds(st), Blank: 2,
		Foot: "Goggles at the filler. Bottles counted + 3 %. Free SO2 at the first, a middle and the last bottle. A missing test is a reason to wait."}
	for _, one := range readiness {
		l := ui.CardLine{Verb: one.what, Of: one.wants, When: "not on record"}
		if one.reads == "" {
			l.When = ""
		} else if m, at, ok := gather.Latest(v.State, st.Parcel, one.reads, v.Now); ok {
			l.Amount, l.When = m.Value.String(), ui.Day(at, v.Now)
		}
		c.Lines = append(c.Lines, l)
	}
	if b := st.Parcel.Volume.Litres(); b > 0 {
		const bottle, loss = 0.75, 0.015 // L; 1 to 2 % are lost in bottling (from memory)
		c.Lines = append(c.Lines, ui.CardLine{Verb: "Bottles of 750 mL, about", Amount: strconv.Itoa(int(b * (1 - loss) / bottle))})
	}
	return s.showCards(w, r, "Bottling sheet", lotURL(st.Lot.Slug), "a5", c)
}

// trialCard is a tasting sheet with coded glasses. The codes follow from the day
// and the question, so that the sheet and its key can be printed again.
func (s *Server) trialCard(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	levels := strings.FieldsFunc(q.Get("levels"), func(c rune) bool { return c == ',' || c == ';' })
	if len(levels) == 0 {
		levels = []string{"control", "half", "full", "double"}
	}
	const most = 12
	if len(levels) > most {
		return fault.BadFields("trial sheet", fault.Field{Name: "levels", Given: q.Get("levels"), Allowed: fmt.Sprintf("up to %d, parted by commas", most)})
	}
	question := q.Get("question")
	if question == "" {
		question = "Which is best, and would you drink it?"
	}
	seed := [32]byte{}
	copy(seed[:], s.now().Format(time.DateOnly)+question+q.Get("levels"))
	random := rand.New(rand.NewChaCha8(seed))
	sheet := ui.Card{Vessel: "Trial", Lot: question, What: "glasses in the order of pouring; same temperature, same light, no talking", Foot: "Rank, and two words for each glass."}
	key := ui.Card{Vessel: "The key", Lot: question, What: "for whoever poured; folded away until all have written", Foot: "Choose the least that works; scale it on the bench."}
	used := map[int]bool{}
	for _, i := range random.Perm(len(levels)) {
		code := 100 + random.IntN(900)
		for used[code] {
			code = 100 + random.IntN(900)
		}
		used[code] = true
		sheet.Lines = append(sheet.Lines, ui.CardLine{Amount: strconv.Itoa(code), When: "rank ____"})
		key.Lines = append(key.Lines, ui.CardLine{Verb: strconv.Itoa(code), Amount: strings.TrimSpace(levels[i])})
	}
	return s.showCards(w, r, "Bench trial sheet", "/bench", "a5", sheet, key)
}

// chromatographyCard lays out one sheet of paper for all lots that convert:
// controls first, then the vessels in the order of a walk.
func (s *Server) chromatographyCard(w http.ResponseWriter, r *http.Request) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	c := ui.Card{Vessel: "Paper", Lot: v.Now.Format("2 January 2006"), What: "one sheet, spots 2 cm apart and 2 cm above the edge, in pencil",
		Foot: "Solvent burns, formic acid hurts: air, gloves, goggles. Dry until nothing smells."}
	sheet := chart.Sheet{ID: "layout", Title: "Where each spot goes", Desc: "The sheet before it is run: a lane for each control and each vessel, by the numbers of the list.", Acids: runs}
	add := func(name, of string) {
		c.Lines = append(c.Lines, ui.CardLine{Verb: fmt.Sprintf("%d. %s", len(c.Lines)+1, name), Of: of, When: "strong   faint   none"})
		sheet.Lanes = append(sheet.Lanes, chart.SheetLane{Name: strconv.Itoa(len(c.Lines))}) // a narrow lane has room for its number
	}
	for _, g := range []string{"0", "0.1", "0.3", "1"} {
		add(g+" g/L", "malic acid, control")
	}
	const lanes = 15 // a sheet holds 10 to 15 spots (proposal of the practice handbook)
	for _, st := range v.Standings {
		if st.Malo != nil && len(c.Lines) < lanes && st.Malo.Decision.Call != track.CallFinished {
			add(st.Vessel.Slug, st.Lot.Title())
		}
	}
	p, err := s.cardPage(r, "Chromatography sheet", []ui.Card{c})
	if err != nil {
		return err
	}
	if !r.URL.Query().Has("size") {
		p.Card = "a5"
	}
	view := p.Body.(cardsView)
	d := ui.Drawn(sheet)
	view.Drawing = &d
	p.Body = view
	p.Up = &ui.Link{Text: "Today", URL: "/"}
	return s.kit.Render(w, http.StatusOK, "cards", p)
}
