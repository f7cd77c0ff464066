package serve

import (
	"encoding/binary"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"elevage/internal/blend"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/science/quantity"
)

// A tasting is blends under codes. All of it stands in the address of its page, so
// that the sheet, its key and the results belong together.
type tasting struct {
	Blends   []blend.Blend
	Sheet    blend.Sheet
	Glass    quantity.Volume
	Question string
	query    url.Values
}

// usualGlass is what one taster gets of one blend, mL: common practice, no source.
const usualGlass = 30

func splitNames(text string) []string {
	var out []string
	for name := range strings.FieldsFuncSeq(text, func(c rune) bool { return c == ',' || c == ';' || c == '\n' }) {
		if name = strings.TrimSpace(name); name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// candidatesOf are the blends that an address names.
func candidatesOf(v *desk.View, q url.Values) ([]blend.Blend, error) {
	var out []blend.Blend
	for _, recipe := range q["recipe"] {
		b, err := pouredFrom(v, recipe)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	if n := len(out); n < 2 || n > 5 {
		return nil, fault.BadFields("taste blends", fault.Field{Name: "blends", Given: strconv.Itoa(n), Allowed: "2 to 5: more tire the tongue"})
	}
	return out, nil
}

// tastingOf reads a tasting from an address or form.
func tastingOf(blends []blend.Blend, q url.Values) (*tasting, error) {
	t := &tasting{Blends: blends, Question: text(q, "question"), Glass: usualGlass * quantity.Millilitre, query: url.Values{}}
	var bad []fault.Field
	if g := text(q, "glass"); g != "" {
		n, err := cellar.ParseNumber(g)
		if err != nil || !(n >= 5 && n <= 250) {
			bad = append(bad, fault.Field{Name: "glass", Given: g, Allowed: "5 to 250 mL"})
		}
		t.Glass = quantity.Volume(n) * quantity.Millilitre
	}
	again := -1
	if a := text(q, "again"); a != "" {
		n, err := strconv.Atoi(a)
		if err != nil || n < 0 || n >= len(blends) {
			bad = append(bad, fault.Field{Name: "again", Given: a, Allowed: "one of the blends, or none"})
		}
		again = n
	}
	seed, err := strconv.ParseUint(text(q, "seed"), 10, 64)
	if err != nil {
		bad = append(bad, fault.Field{Name: "seed", Given: text(q, "seed"), Allowed: "the number that the sheet was drawn with"})
	}
	if err := fault.BadFields("taste blends", bad...); err != nil {
		return nil, err
	}
	t.Sheet, err = blend.NewSheet(len(blends), again, splitNames(q.Get("tasters")), seed)
	for _, name := range []string{"recipe", "tasters", "again", "glass", "question", "seed"} {
		if q.Has(name) {
			t.query[name] = q[name]
		}
	}
	return t, err
}

// trialPage asks who tastes, and then leads to the sheet, its key and the results.
func (s *Server) trialPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	blends, err := candidatesOf(v, q)
	if err != nil {
		return err
	}
	if !q.Has("tasters") {
		return s.askTasters(w, r, http.StatusOK, blends, q, nil)
	}
	drawn := q.Has("seed")
	if !drawn {
		var raw [4]byte
		if _, err := s.Pen.Random.Read(raw[:]); err != nil {
			return err
		}
		q.Set("seed", strconv.FormatUint(uint64(binary.BigEndian.Uint32(raw[:])), 10))
	}
	t, err := tastingOf(blends, q)
	if fault.KindOf(err) == fault.Invalid {
		return s.askTasters(w, r, http.StatusUnprocessableEntity, blends, q, fault.FieldsOf(err))
	}
	if err != nil {
		return err
	}
	if !drawn {
		http.Redirect(w, r, "/blend/trial?"+t.query.Encode(), http.StatusSeeOther)
		return nil
	}
	return s.showTrial(w, r, http.StatusOK, v, t, url.Values{}, nil)
}

func (s *Server) askTasters(w http.ResponseWriter, r *http.Request, status int, blends []blend.Blend, q url.Values, wrong []fault.Field) error {
	again := ui.Field{Name: "again", Label: "Pour one twice", Kind: ui.Choice, Optional: true, Left: "if you like", Options: []ui.Option{{Text: "none"}}, Help: "Under two codes: whoever tells them apart did not taste it."}
	part := sheetPart{Head: "What is tasted"}
	table := ui.Table{Caption: "The blends", Head: []string{"", "what", "volume, L"}, Numbers: []bool{false, false, true}}
	carry := []ui.Pair{}
	for i := range blends {
		again.Options = append(again.Options, ui.Option{Value: strconv.Itoa(i), Text: letters[i : i+1]})
		table.Rows = append(table.Rows, []string{letters[i : i+1], recipeWords(&blends[i]), fmt.Sprintf("%.2f", blends[i].Volume.Litres())})
		carry = append(carry, ui.Pair{Name: "recipe", Value: blends[i].Recipe()})
	}
	part.Tables = []ui.Table{table}
	fields := []ui.Field{
		{Name: "tasters", Label: "Who tastes", Example: "Runa, Odo, Wim", Help: "Names, parted by commas. Each gets an order of glasses of their own."}, again,
		{Name: "glass", Label: "In each glass", Kind: ui.Number, Unit: "mL", Value: strconv.Itoa(usualGlass)},
		{Name: "question", Label: "What is asked", Optional: true, Left: "if anything", Example: "Which would you drink with dinner?"}}
	fields, others := answered(form{Calls: map[string]string{"poured twice": "again"}}, fields, nil, q, wrong)
	part.Notices = others
	return s.sheets(w, r, status, "Taste the blends blind", "Codes instead of names, an order for each taster; the key is a page of its own.",
		sheetsView{Form: &askView{Action: "/blend/trial", Button: "Draw codes", Carry: carry, Fields: fields}, Parts: []sheetPart{part}})
}

// showTrial leads to sheet and key, and asks what came of it.
func (s *Server) showTrial(w http.ResponseWriter, r *http.Request, status int, v *desk.View, t *tasting, q url.Values, wrong []fault.Field) error {
	view := writeView{Action: "/blend/trial", Button: "Keep what they said",
		Do: []ui.Link{{Text: "Print the sheet", URL: "/cards/blend?" + t.query.Encode()}, {Text: "The key, for whoever pours", URL: "/cards/blend-key?" + t.query.Encode()}}}
	for name, values := range t.query {
		for _, value := range values {
			view.Carry = append(view.Carry, ui.Pair{Name: name, Value: value})
		}
	}
	slices.SortFunc(view.Carry, func(a, b ui.Pair) int { return strings.Compare(a.Name, b.Name) })
	for i, f := range t.Sheet.Tasters {
		view.Fields = append(view.Fields, ui.Field{Name: orderName(i), Label: f.Taster + ", best first", Optional: true, Left: "if said", Example: strings.Join(t.codes(), " "), Help: helpFirst(i, "Codes as they stand on the sheet; leave out what was not placed.")},
			ui.Field{Name: wordsName(i), Label: "In " + f.Taster + "’s words", Optional: true, Left: "if any"})
	}
	chosen := ui.Field{Name: "chosen", Label: "Chosen", Kind: ui.Choice, Optional: true, Left: "if one was", Options: []ui.Option{{Text: "none yet"}}}
	for _, code := range t.codes() {
		chosen.Options = append(chosen.Options, ui.Option{Value: code, Text: code})
	}
	view.Fields = append(view.Fields, chosen, ui.Field{Name: "decision", Label: "What was decided, and why", Kind: ui.Long, Optional: true, Left: "if anything"})
	view.Fields = append(view.Fields, whenFields(v.Now, q)...)
	view.Fields, view.Others = answered(form{}, view.Fields, nil, q, wrong)
	view.Errors = ui.FormErrors{Fields: view.Fields}
	p := s.page(r, "Blind tasting", ui.Cellar, view)
	p.Lead = fmt.Sprintf("%d glasses for %s. Print the sheet; whoever pours takes the key.", len(t.Sheet.Glasses), list(splitNames(t.query.Get("tasters"))))
	p.Up = &ui.Link{Text: "Blend", URL: "/blend"}
	return s.kit.Render(w, status, "write", p)
}

func helpFirst(i int, words string) string {
	if i > 0 {
		return ""
	}
	return words
}

func orderName(i int) string { return "order-" + strconv.Itoa(i+1) }
func wordsName(i int) string { return "words-" + strconv.Itoa(i+1) }

func (t *tasting) codes() []string {
	out := make([]string, len(t.Sheet.Glasses))
	for i, g := range t.Sheet.Glasses {
		out[i] = g.Code
	}
	return out
}

// entry is the tasting as it is kept, with what was said.
func (t *tasting) entry(q url.Values) (cellar.Trial, []fault.Field) {
	var bad []fault.Field
	b := t.Sheet.Trial(t.Blends, t.Glass)
	b.Question, b.Chosen, b.Decision = t.Question, text(q, "chosen"), text(q, "decision")
	if b.Chosen != "" && !slices.Contains(t.codes(), b.Chosen) {
		bad = append(bad, fault.Field{Name: "chosen", Given: b.Chosen, Allowed: "one of " + strings.Join(t.codes(), ", ")})
	}
	for i, f := range t.Sheet.Tasters {
		p := cellar.Preference{Taster: f.Taster, Words: text(q, wordsName(i))}
		for code := range strings.FieldsFuncSeq(q.Get(orderName(i)), func(c rune) bool { return strings.ContainsRune(" ,;>\t\n", c) }) {
			switch {
			case !slices.Contains(t.codes(), code):
				bad = append(bad, fault.Field{Name: orderName(i), Given: code, Allowed: "one of " + strings.Join(t.codes(), ", ")})
			case slices.Contains(p.Codes, code):
				bad = append(bad, fault.Field{Name: orderName(i), Given: q.Get(orderName(i)), Allowed: "each code once"})
			default:
				p.Codes = append(p.Codes, code)
			}
		}
		if len(p.Codes) > 0 || p.Words != "" {
			b.Preferred = append(b.Preferred, p)
		}
	}
	if len(bad) == 0 && len(b.Preferred) == 0 && b.Chosen == "" && b.Decision == "" {
		bad = append(bad, fault.Field{Name: orderName(0), Allowed: "what at least one taster said, or what was decided"})
	}
	return b, bad
}

// trialEntry keeps what the tasters said.
func (s *Server) trialEntry(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	q := r.PostForm
	blends, err := candidatesOf(v, q)
	if err != nil {
		return err
	}
	t, err := tastingOf(blends, q)
	if err != nil {
		return err
	}
	body, wrong := t.entry(q)
	when, bad := s.momentOf(q)
	wrong = append(wrong, bad...)
	draft := cellar.Draft{Happened: when, Body: body}
	if len(wrong) == 0 {
		wrong = fault.FieldsOf(draft.Check())
	}
	if len(wrong) > 0 {
		return s.showTrial(w, r, http.StatusUnprocessableEntity, v, t, q, wrong)
	}
	entries, err := s.Pen.Write(s.now(), draft)
	if err != nil {
		return err
	}
	if _, err := s.Ledger.Append(r.Context(), entries); err != nil {
		return err
	}
	http.Redirect(w, r, "/blend/tastings#t-"+string(entries[0].ID), http.StatusSeeOther)
	return nil
}

// drawnFor reads a tasting for its cards.
func (s *Server) drawnFor(r *http.Request) (*tasting, error) {
	v, err := s.view(r.Context())
	if err != nil {
		return nil, err
	}
	blends, err := candidatesOf(v, r.URL.Query())
	if err != nil {
		return nil, err
	}
	return tastingOf(blends, r.URL.Query())
}

// blendCards are a sheet for each taster: their glasses in their order, and nothing
// that tells what is in them.
func (s *Server) blendCards(w http.ResponseWriter, r *http.Request) error {
	t, err := s.drawnFor(r)
	if err != nil {
		return err
	}
	asked := t.Question
	if asked == "" {
		asked = "Which would you rather drink?"
	}
	var cards []ui.Card
	for _, f := range t.Sheet.Tasters {
		c := ui.Card{Vessel: f.Taster, Lot: asked, What: "taste in this order, without talking; water between; same glasses, same light", Foot: "Best first: ______  ______  ______  ______  ______", Blank: 2}
		for _, code := range f.Codes {
			c.Lines = append(c.Lines, ui.CardLine{Verb: "Glass", Amount: code, When: "______________________"})
		}
		cards = append(cards, c)
	}
	return s.showCards(w, r, "Tasting sheets", "/blend/trial?"+t.query.Encode(), "a6", cards...)
}

// blendKeyCard is what is in each glass, for whoever mixes and pours.
func (s *Server) blendKeyCard(w http.ResponseWriter, r *http.Request) error {
	t, err := s.drawnFor(r)
	if err != nil {
		return err
	}
	tasters := len(t.Sheet.Tasters)
	c := ui.Card{Vessel: "The key", Lot: plural(tasters, "taster") + ", " + ui.Plain(t.Glass.Millilitres(), "mL") + " in each glass", What: "for whoever mixes and pours; folded away until all have written",
		Foot: "Mix each in a cylinder, let it stand covered for some minutes, pour all at one temperature. What cannot be measured to 1 mL: mix more."}
	trial := t.Sheet.Trial(t.Blends, t.Glass*quantity.Volume(tasters))
	for i, g := range t.Sheet.Glasses {
		parts := make([]string, len(trial.Rows[i].Parts))
		for k, p := range trial.Rows[i].Parts {
			volume, _, err := p.Volume.Volume()
			if err != nil {
				return err
			}
			parts[k] = ui.Plain(volume.Millilitres(), "mL") + " of " + p.Vessel
		}
		name := letters[g.Blend : g.Blend+1]
		if g.Repeat {
			name += " again"
		}
		c.Lines = append(c.Lines, ui.CardLine{Verb: "Glass", Amount: g.Code, Of: "is " + name, When: strings.Join(parts, " + ")})
	}
	return s.showCards(w, r, "Key to the tasting", "/blend/trial?"+t.query.Encode(), "a5", c)
}

// tastingsPage is every blind tasting of blends that was kept: what was in the
// glasses, who put what first, and how far that may be chance.
func (s *Server) tastingsPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	var view sheetsView
	for _, rec := range v.State.Records.Backward() {
		if b, ok := rec.Body.(cellar.Trial); ok && rec.Counts() && b.What == "blend" {
			view.Parts = append(view.Parts, s.tastingPart(v, rec, b))
		}
	}
	if len(view.Parts) == 0 {
		view.Says = []string{"No tasting of blends was kept yet. Set blends side by side, and taste them blind."}
	}
	view.Do = []ui.Link{{Text: "Find blends", URL: "/blend"}}
	return s.sheets(w, r, http.StatusOK, "Tastings of blends", "What was in the glasses, and who liked which.", view)
}

func (s *Server) tastingPart(v *desk.View, rec *cellar.Record, b cellar.Trial) sheetPart {
	part := sheetPart{ID: "t-" + string(rec.Entry.ID), Head: ui.Day(rec.At.In(s.Zone), v.Now)}
	if b.Question != "" {
		part.Says = append(part.Says, b.Question)
	}
	first, placed := b.First(), 0
	t := ui.Table{Caption: "The glasses", Head: []string{"glass", "what was in it", "put first by", "placed, on average"}, Numbers: []bool{false, false, false, true}}
	for _, row := range b.Rows {
		var by []string
		sum, n := 0.0, 0
		for _, p := range b.Preferred {
			if len(p.Codes) > 0 && p.Codes[0] == row.Code {
				by = append(by, p.Taster)
			}
			if i := slices.Index(p.Codes, row.Code); i >= 0 {
				sum, n = sum+float64(i+1), n+1
			}
		}
		mean := "–"
		if n > 0 {
			mean = fmt.Sprintf("%.1f", sum/float64(n))
		}
		placed += len(by)
		code := row.Code
		if code == b.Chosen && code != "" {
			code += ", chosen"
		}
		t.Rows = append(t.Rows, []string{code, glassWords(row), dash(list(by)), mean})
	}
	part.Tables = []ui.Table{t}
	most := 0
	for _, n := range first {
		most = max(most, n)
	}
	if placed > 1 {
		part.Says = append(part.Says, fmt.Sprintf("%d of %d put one and the same glass first. Tasters who cannot tell the glasses apart would do so, with some glass or other, in %s of tastings.", most, placed, ui.Chance(blend.ByChance(placed, len(b.Rows), most))))
	}
	for _, p := range b.Preferred {
		if p.Words != "" {
			part.Says = append(part.Says, p.Taster+": “"+p.Words+"”")
		}
	}
	if b.Decision != "" {
		part.Says = append(part.Says, "Decided: "+b.Decision)
	}
	for _, row := range b.Rows {
		if q := ownQuery(v, row); row.Code == b.Chosen && q != nil {
			part.Do = []ui.Link{{Text: "Reckon " + row.Code + " in litres", URL: "/blend/own?" + q.Encode()}}
		}
	}
	return part
}

func glassWords(row cellar.TrialRow) string {
	parts := make([]string, len(row.Parts))
	for i, p := range row.Parts {
		parts[i] = p.Vessel
		if !p.Volume.IsZero() {
			parts[i] = p.Volume.String() + " of " + p.Vessel
		}
	}
	return dash(strings.Join(parts, " + "))
}

// ownQuery asks for the blend of a glass in litres; nil if its wines are gone.
func ownQuery(v *desk.View, row cellar.TrialRow) url.Values {
	q := url.Values{}
	for _, p := range row.Parts {
		volume, _, err := p.Volume.Volume()
		if err != nil || v.State.In(p.Vessel) == nil {
			return nil
		}
		q.Set(ownName("A", p.Vessel), strconv.FormatFloat(volume.Millilitres(), 'f', -1, 64))
	}
	if len(q) == 0 {
		return nil
	}
	return q
}
