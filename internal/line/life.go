package line

import (
	"slices"
	"strconv"
	"strings"

	"elevage/internal/cellar"
)

// splitCommas makes a comma at the end of a word a word of its own, where a
// sentence lists vessels with their volumes.
func (s *sentence) splitCommas() {
	var out []string
	for _, w := range s.words[s.at:] {
		if cut := strings.TrimSuffix(w, ","); cut != w && cut != "" {
			out = append(out, cut, ",")
			continue
		}
		out = append(out, w)
	}
	s.words = append(s.words[:s.at:s.at], out...)
}

// isFigure says whether a word begins with a figure: "12", "1/2", "54L".
func isFigure(word string) bool {
	return word != "" && (word[0] >= '0' && word[0] <= '9' || strings.HasPrefix(word, ".") || strings.ContainsAny(word[:min(2, len(word))], "½¼¾"))
}

// portions reads "c1 54 L free run and c2 12 L press": vessels, each with how much
// before or after it. With parts, words after a volume name a fraction of a press.
func (s *sentence) portions(role, how string, needed, parts bool) ([]cellar.Portion, error) {
	var out []cellar.Portion
	for {
		var p cellar.Portion
		var err error
		if isFigure(s.peek()) {
			if p.Volume, err = s.measure(how, "L"); err != nil {
				return nil, err
			}
		}
		s.take("in", "into", "of", "from")
		if p.Vessel, err = s.vessel(role); err != nil {
			return nil, err
		}
		if p.Volume == nil && isFigure(s.peek()) {
			if p.Volume, err = s.measure(how, "L"); err != nil {
				return nil, err
			}
		}
		if p.Volume == nil && needed {
			return nil, wrong(s.typed(), how+" "+p.Vessel+": a number, with its unit if it is not L", "")
		}
		if parts {
			p.Part = s.part()
		}
		out = append(out, p)
		sep, more := s.take("and", ",", "&")
		if _, and := s.take("and"); !more || sep == "," && !and && !isFigure(s.peek()) && !s.isVessel(s.peek()) {
			return out, nil
		}
	}
}

// part is the words that name a fraction of a press.
func (s *sentence) part() string {
	var words []string
	for w := s.peek(); w != "" && w != "and" && w != "," && w != "&" && w != "lees" && w != "rest" && !s.isVessel(w) && !isFigure(w); w = s.peek() {
		words = append(words, w)
		s.at++
	}
	return strings.Join(words, " ")
}

func (s *sentence) to() error {
	if _, ok := s.take("to", "into", "->"); !ok {
		return wrong(s.typed(), "to, and the vessel it went into", "")
	}
	return nil
}

// received reads "received 120 kg merlot into bin1 from Hazel Row".
func (s *sentence) received(string) ([]cellar.Body, error) {
	weight, err := s.measure("how much fruit, without the crates", "kg")
	if err != nil {
		return nil, err
	}
	s.take("of")
	b := cellar.FruitReceived{Weight: weight}
	if b.Lot, err = s.lot("which lot it is for"); err != nil {
		return nil, err
	}
	if _, ok := s.take("into", "in", "to"); ok {
		if b.Vessel, err = s.vessel("where it waits"); err != nil {
			return nil, err
		}
	}
	if _, ok := s.take("from"); ok {
		b.Grower = s.rest()
	}
	return []cellar.Body{b}, nil
}

// sampled reads "sampled merlot 200 berries block hill".
func (s *sentence) sampled(string) ([]cellar.Body, error) {
	lot, err := s.lot("which lot it grows for")
	if err != nil {
		return nil, err
	}
	s.splitCommas()
	b := cellar.Sample{Lot: lot}
	for isFigure(s.peek()) {
		n, err := strconv.Atoi(s.peek())
		if err != nil {
			return nil, wrong(s.typed(), "how many, a whole number", "")
		}
		s.at++
		what, ok := s.take("berries", "clusters", "bunches", "rotten")
		switch {
		case !ok:
			return nil, wrong(s.typed(), "berries, clusters or rotten", nearest(s.peek(), []string{"berries", "clusters", "rotten"}))
		case what == "berries":
			b.Berries = n
		case what == "rotten":
			b.Rotten = n
		default:
			b.Clusters = n
		}
		s.take(",", "and")
	}
	if _, ok := s.take("block"); ok {
		b.Block = s.rest()
	}
	b.Taste = s.rest()
	return []cellar.Body{b}, nil
}

// crushed reads "crushed bin1 to c1 105 L", "crushed bin1 105 L" where the fruit
// stood, and "crushed merlot to c1 105 L" straight from the crates.
func (s *sentence) crushed(string) ([]cellar.Body, error) {
	s.splitCommas()
	var b cellar.Crush
	var err error
	if b.Lot = s.lotNamed(s.peek()); b.Lot != "" && !s.isVessel(s.peek()) {
		s.at++
	} else {
		b.Lot = ""
		from, err := s.vessels("what was crushed, a vessel with fruit or a lot")
		if err != nil {
			return nil, err
		}
		for _, v := range from {
			b.From = append(b.From, cellar.Portion{Vessel: v})
			if b.Lot == "" {
				b.Lot = s.lotIn(v)
			}
		}
	}
	if isFigure(s.peek()) && len(b.From) == 1 { // where it stood
		volume, err := s.measure("how much must", "L")
		if err != nil {
			return nil, err
		}
		b.To = []cellar.Portion{{Vessel: b.From[0].Vessel, Volume: volume}}
	} else {
		if err := s.to(); err != nil {
			return nil, err
		}
		if b.To, err = s.portions("where the must went", "how much must into", true, false); err != nil {
			return nil, err
		}
	}
	for {
		word, ok := s.take("destemmed", "whole", "juice", "of", ",")
		if !ok {
			break
		}
		switch word {
		case "destemmed":
			b.Destemmed = "all"
		case "whole":
			s.take("clusters", "bunches", "cluster", "bunch")
			b.Destemmed, b.Crushed = "none", "none"
		case "juice":
			b.Juice = true
		case "of":
			if b.Lot, err = s.lot("of which lot"); err != nil {
				return nil, err
			}
		}
	}
	if b.Lot == "" {
		return nil, wrong(s.typed(), "of, and the lot: by the record "+b.From[0].Vessel+" holds no fruit", "")
	}
	return []cellar.Body{b}, nil
}

// pressed reads "pressed bin1 to c1 54 L free run and c2 12 L press".
func (s *sentence) pressed(string) ([]cellar.Body, error) { return s.press(false) }

// drained reads "drained bin1 to c1 40 L": the skins stay.
func (s *sentence) drained(string) ([]cellar.Body, error) { return s.press(true) }

func (s *sentence) press(drained bool) ([]cellar.Body, error) {
	s.splitCommas()
	s.take("from")
	from, err := s.vessels("what was pressed")
	if err != nil {
		return nil, err
	}
	b := cellar.Press{Drained: drained}
	for _, v := range from {
		b.From = append(b.From, cellar.Portion{Vessel: v, All: !drained})
	}
	if err := s.to(); err != nil {
		return nil, err
	}
	if b.To, err = s.portions("where it ran", "how much ran into", true, true); err != nil {
		return nil, err
	}
	return []cellar.Body{b}, nil
}

// bled reads "bled 10 L bin1 to c3 as rose".
func (s *sentence) bled(string) ([]cellar.Body, error) {
	volume, from, err := s.figureAt("how much juice", "L")
	if err != nil {
		return nil, err
	}
	if err := s.to(); err != nil {
		return nil, err
	}
	to, err := s.vessel("where it went")
	if err != nil {
		return nil, err
	}
	b := cellar.Movement{How: "saignée", From: []cellar.Portion{{Vessel: from}}, To: []cellar.Portion{{Vessel: to, Volume: volume}}}
	b.Becomes, err = s.becomes()
	return []cellar.Body{b}, err
}

// becomes reads "as rose": the lot that the wine is from here on.
func (s *sentence) becomes() (string, error) {
	if _, ok := s.take("as"); !ok {
		return "", nil
	}
	return s.lot("which lot it becomes")
}

func (s *sentence) settled(string) ([]cellar.Body, error) { return s.racking("settling") }

// split reads "split c1 to b3 12 L and c3 8 L".
func (s *sentence) split(string) ([]cellar.Body, error) {
	s.splitCommas()
	from, err := s.vessel("what was split")
	if err != nil {
		return nil, err
	}
	if err := s.to(); err != nil {
		return nil, err
	}
	to, err := s.portions("where it went", "how much into", true, false)
	return []cellar.Body{cellar.Movement{How: "splitting", From: []cellar.Portion{{Vessel: from}}, To: to}}, err
}

// blended reads "blended b2 20 L and c1 2 L to c3 as cuvee". Without a volume all
// of it went in.
func (s *sentence) blended(string) ([]cellar.Body, error) {
	s.splitCommas()
	from, err := s.portions("what was blended", "how much of", false, false)
	if err != nil {
		return nil, err
	}
	for i := range from {
		from[i].All = from[i].Volume == nil
	}
	if err := s.to(); err != nil {
		return nil, err
	}
	to, err := s.vessel("where it went")
	if err != nil {
		return nil, err
	}
	b := cellar.Movement{How: "blending", From: from, To: []cellar.Portion{{Vessel: to}}}
	b.Becomes, err = s.becomes()
	return []cellar.Body{b}, err
}

// filled reads "filled c3 22 L merlot", with must or juice after it.
func (s *sentence) filled(string) ([]cellar.Body, error) {
	volume, vessel, err := s.figureAt("how much", "L")
	if err != nil {
		return nil, err
	}
	s.take("with", "of")
	lot, err := s.lot("which lot it is")
	if err != nil {
		return nil, err
	}
	to := []cellar.Portion{{Vessel: vessel, Volume: volume}}
	switch word, _ := s.take("must", "juice", "wine"); word {
	case "must", "juice":
		return []cellar.Body{cellar.Crush{Lot: lot, To: to, Juice: word == "juice"}}, nil
	}
	return []cellar.Body{cellar.Movement{How: "filling", Lot: lot, To: to}}, nil
}

// gone are the words for how wine left a vessel without going into another.
var gone = map[string]string{"sample": cellar.LossSample, "samples": cellar.LossSample, "spill": cellar.LossSpill, "spilt": cellar.LossSpill,
	"spilled": cellar.LossSpill, "evaporation": cellar.LossEvaporation, "evaporated": cellar.LossEvaporation, "lees": cellar.LossLees,
	"drunk": "", "given": "", "poured": "", "sold": ""}

// removed reads "removed 0.2 L c1 as sample".
func (s *sentence) removed(string) ([]cellar.Body, error) {
	volume, vessel, err := s.figureAt("how much", "L")
	if err != nil {
		return nil, err
	}
	s.take("as", "by", "to")
	b := cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: vessel, Volume: volume}}}
	word := s.peek()
	kind, known := gone[word]
	switch {
	case !known:
		return nil, wrong(s.typed(), "what became of it: sample, spilt, evaporated, lees, drunk, given, sold or poured away", nearest(word, []string{"sample", "spilt", "evaporated", "lees", "drunk", "given", "poured", "sold"}))
	case kind == "":
		b.Words = s.rest()
	default:
		s.at++
		b.Losses = []cellar.Loss{{Kind: kind, Volume: volume}}
	}
	return []cellar.Body{b}, nil
}

var treatments = map[string]string{"filtered": "filtration", "chilled": "chilling", "aerated": "aeration", "degassed": "degassing",
	"gassed": "topping-gas", "pasteurised": "pasteurising"}

// treated reads "filtered c1 through 1 µm", "chilled c1 -2 C".
func (s *sentence) treated(word string) ([]cellar.Body, error) {
	return s.treatment(treatments[word])
}

// oaked reads "oak in b2 60 g staves" and "oak out b2".
func (s *sentence) oaked(string) ([]cellar.Body, error) {
	way, ok := s.take("in", "into", "out")
	if !ok {
		return nil, wrong(s.typed(), "in or out", "")
	}
	s.take("of")
	if way == "out" {
		return s.treatment("oak-out")
	}
	return s.treatment("oak-in")
}

func (s *sentence) treatment(what string) ([]cellar.Body, error) {
	vessels, err := s.vessels("what was treated")
	if err != nil {
		return nil, err
	}
	amount, words, err := s.amountAndWords(map[string]string{"chilling": "°C", "oak-in": "g"}[what])
	var out []cellar.Body
	for _, v := range vessels {
		out = append(out, cellar.Treatment{Vessel: v, What: what, Amount: amount, Words: words})
	}
	return out, err
}

// cared reads "sulfured b3 5 g", "cleaned b3 with soda".
func (s *sentence) cared(word string) ([]cellar.Body, error) {
	vessels, err := s.vessels("which vessel")
	if err != nil {
		return nil, err
	}
	b := cellar.Care{What: word}
	if b.Amount, b.Words, err = s.amountAndWords("g"); err != nil {
		return nil, err
	}
	if with, ok := strings.CutPrefix(b.Words, "with "); ok {
		b.With, b.Words = with, ""
	}
	var out []cellar.Body
	for _, v := range vessels {
		b.Vessel = v
		out = append(out, b)
	}
	return out, nil
}

// amountAndWords reads what may follow a vessel: how much, and words.
func (s *sentence) amountAndWords(unit string) (*cellar.Measure, string, error) {
	var amount *cellar.Measure
	if isFigure(strings.TrimPrefix(s.peek(), "-")) {
		m, err := s.measure("how much", unit)
		if err != nil {
			return nil, "", err
		}
		amount = m
	}
	return amount, s.rest(), nil
}

// tasted reads "tasted b2 7 closed, clean" and "tasted b2 sharp fault vinegar".
func (s *sentence) tasted(string) ([]cellar.Body, error) {
	vessels, err := s.vessels("what was tasted")
	if err != nil {
		return nil, err
	}
	var b cellar.Tasting
	if isFigure(s.peek()) {
		b.Score = s.typed()
		s.at++
	}
	rest := s.words[s.at:]
	s.at = len(s.words)
	cut := slices.IndexFunc(rest, func(w string) bool { w = strings.ToLower(w); return w == "fault" || w == "faults" })
	if cut >= 0 {
		for _, f := range strings.Split(strings.Join(rest[cut+1:], " "), ",") {
			if f = strings.TrimSpace(f); f != "" {
				b.Faults = append(b.Faults, f)
			}
		}
		rest = rest[:cut]
	}
	b.Words = strings.TrimSuffix(strings.Join(rest, " "), ",")
	if b.Score == "" && b.Words == "" && len(b.Faults) == 0 {
		return nil, wrong("", "a score, some words, or fault and its name", "")
	}
	var out []cellar.Body
	for _, v := range vessels {
		t := b
		t.Vessel = v
		if known := s.state.Vessel(v); known != nil && known.Bottles {
			t.Vessel, t.Bottling = "", v
		}
		out = append(out, t)
	}
	return out, nil
}

// count reads a whole number of something.
func (s *sentence) count(of string) (int, error) {
	n, err := strconv.Atoi(s.peek())
	if err != nil || n < 1 {
		return 0, wrong(s.typed(), of+", a whole number", "")
	}
	s.at++
	return n, nil
}

// bottled reads "bottled c1 29 x 750 mL natural cork", and with the litres that were
// drawn "bottled 22 L c1 29 x 750 mL", "bottled c1 22 L and c3 5 L 36": of a vessel
// without litres all was drawn.
func (s *sentence) bottled(string) ([]cellar.Body, error) {
	b := cellar.Bottling{Size: cellar.M("750", "mL")}
	s.splitCommas()
	for {
		p, err := s.drawn()
		if err != nil {
			return nil, err
		}
		b.From = append(b.From, p)
		s.take(",")
		if _, and := s.take("and", "&"); !and && !s.isVessel(s.peek()) && !s.unitNext() {
			break
		}
	}
	var err error
	if b.Count, err = s.count("how many bottles"); err != nil {
		return nil, err
	}
	if _, ok := s.take("x", "×", "of"); ok {
		if b.Size, err = s.measure("what each holds", "mL"); err != nil {
			return nil, err
		}
	}
	s.take(",")
	if _, ok := s.take("lees"); ok {
		lees, err := s.measure("how much lees", "L")
		if err != nil {
			return nil, err
		}
		b.Losses = []cellar.Loss{{Kind: cellar.LossLees, Volume: lees}}
		s.take(",")
	}
	b.Closure = s.rest()
	name := s.lotIn(b.From[0].Vessel)
	if name == "" {
		name = b.From[0].Vessel
	}
	b.Slug = s.state.FreeName(name + "-bottles")
	return []cellar.Body{b}, nil
}

// drawn reads a vessel and how much was drawn from it, before or after its name. A
// figure after it that has no unit is the bottles.
func (s *sentence) drawn() (p cellar.Portion, err error) {
	if isFigure(s.peek()) {
		if p.Volume, err = s.measure("how much was drawn", "L"); err != nil {
			return p, err
		}
	}
	s.take("from", "of")
	if p.Vessel, err = s.vessel("what was bottled"); err != nil {
		return p, err
	}
	if p.Volume == nil && s.unitNext() {
		if p.Volume, err = s.measure("how much was drawn", "L"); err != nil {
			return p, err
		}
	}
	p.All = p.Volume == nil
	return p, nil
}

// unitNext says whether a figure with a unit of volume comes next: "22 L", "22L".
func (s *sentence) unitNext() bool {
	for n := 1; n <= 3 && s.at+n <= len(s.words) && isFigure(s.peek()); n++ {
		if m, err := cellar.ParseMeasure(strings.Join(s.words[s.at:s.at+n], " "), ""); err == nil && m.Unit != "" {
			_, _, err := m.Volume()
			return err == nil
		}
	}
	return false
}

var whyOpened = []string{"drunk", "given", "lost", "sold", "tested"}

// opened reads "opened merlot-bottles 2 given".
func (s *sentence) opened(string) ([]cellar.Body, error) {
	b := cellar.Opened{Count: 1}
	var err error
	if isFigure(s.peek()) {
		if b.Count, err = s.count("how many bottles"); err != nil {
			return nil, err
		}
	}
	v := s.state.Vessel(s.peek())
	if v == nil || !v.Bottles {
		var names []string
		for _, v := range s.state.Vessels {
			if v.Bottles {
				names = append(names, v.Slug)
			}
		}
		such := "none has been bottled yet"
		if len(names) > 0 {
			such = "such as " + names[0]
		}
		return nil, wrong(s.typed(), "which bottling: "+such, nearest(s.peek(), names))
	}
	b.Bottling = v.Slug
	s.at++
	if isFigure(s.peek()) {
		if b.Count, err = s.count("how many bottles"); err != nil {
			return nil, err
		}
	}
	b.Why, _ = s.take(whyOpened...)
	b.Words = s.rest()
	return []cellar.Body{b}, nil
}

func (s *sentence) pumped(string) ([]cellar.Body, error)   { return s.stirring("pump-over") }
func (s *sentence) returned(string) ([]cellar.Body, error) { return s.stirring("rack-and-return") }
