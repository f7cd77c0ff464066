package line

import (
	"fmt"
	"strings"

	"elevage/internal/cellar"
)

// reading reads "ph 3.47 b2", with what may follow: "to 8.2", "as sulfuric",
// "by strip", "with meter".
func (s *sentence) reading() ([]cellar.Body, error) {
	word := s.peek()
	r, _ := cellar.LookupReadable(word)
	if isScale(word) {
		r, _ = cellar.LookupReadable(cellar.ReadDensity)
	}
	unit := r.Unit
	if u, ok := cellar.LookupUnit(word); ok && isScale(word) {
		unit = u.Sign
	}
	s.at++
	if r.What == cellar.ReadFreeSO2 || r.What == cellar.ReadTotalSO2 {
		s.take("so2") // "free so2 22" reads as well
	}
	return s.readingOf(r, unit)
}

// isScale says whether a word names a scale of density: "brix 22", "sg 1.092".
func isScale(word string) bool {
	u, ok := cellar.LookupUnit(word)
	return ok && u.Dimension == cellar.Gravity
}

func (s *sentence) readingOf(r *cellar.Readable, unit string) ([]cellar.Body, error) {
	b := cellar.Reading{What: r.What}
	s.take("in", "of")
	if s.isVessel(s.peek()) { // "ph b2 3.47" reads as well
		b.Vessel, _ = s.vessel("where it was read")
	}
	if len(r.Words) > 0 {
		spot, ok := s.take(r.Words...)
		if !ok {
			return nil, wrong(s.peek(), r.Title+": "+strings.Join(r.Words, ", "), nearest(s.peek(), r.Words))
		}
		b.Value = cellar.M(spot, "")
	} else {
		if unit == "SG" && s.at < len(s.words) { // "1,092" can only be meant as 1.092
			s.words[s.at] = strings.Replace(s.words[s.at], ",", ".", 1)
		}
		m, err := s.measure(r.Title, unit)
		if err != nil {
			return nil, err
		}
		b.Value = m
	}
	if err := s.circumstances(&b); err != nil {
		return nil, err
	}
	if b.Vessel == "" {
		s.take("in", "of")
		if lot := s.lotNamed(s.peek()); lot != "" && !s.isVessel(s.peek()) { // fruit of a lot
			b.Lot = lot
			s.at++
		} else {
			vessel, err := s.vessel("where it was read")
			if err != nil {
				return nil, err
			}
			b.Vessel = vessel
		}
	}
	if err := s.circumstances(&b); err != nil {
		return nil, err
	}
	return []cellar.Body{b}, nil
}

// circumstances reads how a reading was made, before or after the vessel.
func (s *sentence) circumstances(b *cellar.Reading) error {
	for {
		word, ok := s.take("to", "as", "by", "with", "at", "control", "degassed")
		if !ok {
			return nil
		}
		switch word {
		case "control":
			b.Control = true
			continue
		case "degassed":
			b.Degassed = true
			continue
		case "at":
			warm, err := s.measure("temperature of the sample", "°C")
			if err != nil {
				return err
			}
			b.Warm = warm
			continue
		}
		value := s.peek()
		if value == "" {
			return wrong(word, "what follows “"+word+"”", "")
		}
		s.at++
		switch word {
		case "to":
			b.EndPoint = value
		case "as":
			b.As = value
		case "by":
			b.Method = value
		case "with":
			if s.state.Instrument(value) == nil {
				var names []string
				for _, i := range s.state.Instruments {
					names = append(names, i.Slug)
				}
				return wrong(value, "an instrument's name: "+strings.Join(names, ", "), nearest(value, names))
			}
			b.Instrument = value
		}
	}
}

func (s *sentence) sulfur(string) ([]cellar.Body, error) {
	word, ok := s.take("free", "total")
	if !ok {
		if word := s.peek(); isFigure(word) {
			return nil, wrong(word, "free or total before the figure", "write so2 free "+word+", or so2 total "+word)
		}
		return nil, wrong(s.peek(), "free or total", nearest(s.peek(), []string{"free", "total"}))
	}
	r, _ := cellar.LookupReadable(word + "-so2")
	return s.readingOf(r, r.Unit)
}

func (s *sentence) paper(string) ([]cellar.Body, error) {
	r, _ := cellar.LookupReadable(cellar.ReadChromatogram)
	if _, ok := s.take("clear", "gone"); ok {
		s.at--
		s.words[s.at] = "none"
	}
	return s.readingOf(r, "")
}

func (s *sentence) bubble(string) ([]cellar.Body, error) {
	r, _ := cellar.LookupReadable(cellar.ReadBubble)
	return s.readingOf(r, r.Unit)
}

func (s *sentence) control(string) ([]cellar.Body, error) {
	r, ok := cellar.LookupReadable(s.peek())
	if !ok {
		return nil, wrong(s.peek(), "what was read in the control sample: ph, ta", "")
	}
	bodies, err := s.reading()
	if err != nil {
		return nil, err
	}
	b := bodies[0].(cellar.Reading)
	b.What, b.Control = r.What, true
	return []cellar.Body{b}, nil
}

func (s *sentence) check(string) ([]cellar.Body, error) {
	buffer, err := s.measure("buffer", "pH")
	if err != nil {
		return nil, err
	}
	s.take("read", "reads", "showed", "=")
	read, err := s.measure("what the meter showed", "pH")
	if err != nil {
		return nil, err
	}
	b := cellar.PHCheck{Buffer: buffer.Value, Read: read.Value}
	if b.Buffer == "3.56" {
		b.Of = "cream-of-tartar"
	}
	if _, ok := s.take("with"); ok {
		b.Instrument = s.peek()
		if s.state.Instrument(b.Instrument) == nil {
			return nil, wrong(b.Instrument, "an instrument's name", "")
		}
		s.at++
	} else {
		b.Instrument = s.onlyMeter()
	}
	return []cellar.Body{b}, nil
}

// onlyMeter is the pH meter when there is just one.
func (s *sentence) onlyMeter() string {
	found := ""
	for _, i := range s.state.Instruments {
		if i.Type == "ph-meter" && !i.Gone {
			if found != "" {
				return ""
			}
			found = i.Slug
		}
	}
	return found
}

func (s *sentence) addition(string) ([]cellar.Body, error) {
	amount, err := s.measure("how much", "g")
	if err != nil {
		return nil, err
	}
	p, err := s.product("what was added")
	if err != nil {
		return nil, err
	}
	s.take("to", "in", "into")
	vessels, err := s.vessels("what it was added to")
	if err != nil {
		return nil, err
	}
	var reckoned *cellar.Measure
	if _, ok := s.take("for"); ok {
		if reckoned, err = s.measure("the volume it was reckoned for", "L"); err != nil {
			return nil, err
		}
	}
	var out []cellar.Body
	for _, v := range vessels {
		out = append(out, cellar.Addition{Vessel: v, Product: p.Name, Amount: amount, For: reckoned, Purpose: p.Purpose})
	}
	return out, nil
}

func (s *sentence) racked(string) ([]cellar.Body, error) { return s.racking("racking") }

// racking reads a movement from one vessel into another that leaves something behind.
func (s *sentence) racking(how string) ([]cellar.Body, error) {
	var volume *cellar.Measure
	if !s.isVessel(s.peek()) {
		m, err := s.measure("how much wine arrived", "L")
		if err != nil {
			return nil, err
		}
		volume = m
	}
	s.take("from")
	from, err := s.vessel("where it came from")
	if err != nil {
		return nil, err
	}
	if _, ok := s.take("to", "into", "->"); !ok {
		return nil, wrong(s.peek(), "to, and the vessel it went into", "")
	}
	to, err := s.vessel("where it went")
	if err != nil {
		return nil, err
	}
	m := cellar.Movement{How: how, From: []cellar.Portion{{Vessel: from}}, To: []cellar.Portion{{Vessel: to, Volume: volume}}}
	return s.leftBehind(m)
}

// grossLees is the share of a vessel that may stay behind as lees without being
// asked about: 5 to 10 % at the first racking, from memory.
const grossLees = 0.10

// leftBehind settles what became of wine that did not arrive: "lees 1.5 L" and
// "rest lees" say so. Otherwise a small remainder is lees, and a large one stays
// where it was; the sentence tells which.
func (s *sentence) leftBehind(m cellar.Movement) ([]cellar.Body, error) {
	from := &m.From[0]
	s.take(",")
	if _, ok := s.take("lees"); ok {
		lees, err := s.measure("how much lees", "L")
		if err != nil {
			return nil, err
		}
		m.Losses = []cellar.Loss{{Kind: cellar.LossLees, Volume: lees}}
		return []cellar.Body{m}, nil
	}
	_, rest := s.take("rest")
	if rest {
		if _, ok := s.take("lees"); !ok {
			return nil, wrong(s.peek(), "lees, after rest", "")
		}
	}
	if m.To[0].Volume == nil {
		from.All = true
		return []cellar.Body{m}, nil
	}
	p := s.state.In(from.Vessel)
	moved, _, err := m.To[0].Volume.Volume()
	if p == nil || err != nil {
		return []cellar.Body{m}, nil
	}
	left := p.Volume - moved
	switch {
	case rest || left.Litres() <= max(grossLees*p.Volume.Litres(), 2*p.Spread.Litres()):
		from.All, m.Rest = true, cellar.LossLees
		if left > 0 {
			s.effect = fmt.Sprintf("%.3g L stayed behind as lees", left.Litres())
		}
	default:
		s.effect = fmt.Sprintf("%s keeps %.3g L (add “rest lees” if it is empty now)", from.Vessel, left.Litres())
	}
	return []cellar.Body{m}, nil
}

func (s *sentence) topped(string) ([]cellar.Body, error) {
	into, err := s.vessel("what was topped")
	if err != nil {
		return nil, err
	}
	s.take("with", "by")
	volume, err := s.measure("how much", "L")
	if err != nil {
		return nil, err
	}
	if _, ok := s.take("from"); !ok {
		return nil, wrong(s.peek(), "from, and the vessel the wine came from", "")
	}
	from, err := s.vessel("where it came from")
	if err != nil {
		return nil, err
	}
	return []cellar.Body{cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: from, Volume: volume}}, To: []cellar.Portion{{Vessel: into, Volume: volume}}}}, nil
}

func (s *sentence) stirred(string) ([]cellar.Body, error) { return s.stirring("lees") }
func (s *sentence) punched(string) ([]cellar.Body, error) { return s.stirring("punch-down") }

func (s *sentence) stirring(what string) ([]cellar.Body, error) {
	vessels, err := s.vessels("what was stirred")
	if err != nil {
		return nil, err
	}
	var out []cellar.Body
	for _, v := range vessels {
		out = append(out, cellar.Stirring{Vessel: v, What: what})
	}
	return out, nil
}

func (s *sentence) inoculated(string) ([]cellar.Body, error) {
	vessels, err := s.vessels("what was inoculated")
	if err != nil {
		return nil, err
	}
	b := cellar.Inoculation{Of: "malolactic", How: "direct"}
	if word, ok := s.take("yeast", "primary", "malolactic"); ok && word != "malolactic" {
		b.Of = "primary"
	}
	if how, ok := s.take(cellar.Inoculations...); ok {
		b.How = how
	}
	if s.peek() != "" {
		m, err := s.measure("how much culture", "g")
		if err != nil {
			return nil, err
		}
		b.Amount = m
	}
	var out []cellar.Body
	for _, v := range vessels {
		b.Vessel = v
		out = append(out, b)
	}
	return out, nil
}

// figureAt reads a figure and a vessel in either order: "52.5 L d1", "d1 52.5 L".
func (s *sentence) figureAt(what, unit string) (*cellar.Measure, string, error) {
	if s.isVessel(s.peek()) {
		v, err := s.vessel("where")
		if err != nil {
			return nil, "", err
		}
		m, err := s.measure(what, unit)
		return m, v, err
	}
	m, err := s.measure(what, unit)
	if err != nil {
		return nil, "", err
	}
	s.take("in", "of", "from")
	v, err := s.vessel("where")
	return m, v, err
}

func (s *sentence) holds(string) ([]cellar.Body, error) {
	m, v, err := s.figureAt("what it holds", "L")
	return []cellar.Body{cellar.Dip{Vessel: v, Volume: m}}, err
}

func (s *sentence) set(string) ([]cellar.Body, error) {
	m, v, err := s.figureAt("temperature", "°C")
	return []cellar.Body{cellar.Warmth{Vessel: v, Set: m}}, err
}

func (s *sentence) kept(string) ([]cellar.Body, error) {
	m, v, err := s.figureAt("how much was kept back", "mL")
	return []cellar.Body{cellar.ControlKept{Vessel: v, Volume: m}}, err
}

var verdictWords = map[string]string{"dry": cellar.VerdictDry, "finished": cellar.VerdictMalolacticFinished, "over": cellar.VerdictMalolacticFinished,
	"stuck": cellar.VerdictMalolacticStuck, "sound": cellar.VerdictSound, "sick": cellar.VerdictSick}

func (s *sentence) declared(string) ([]cellar.Body, error) {
	vessels, err := s.vessels("what was declared")
	if err != nil {
		return nil, err
	}
	verdict, ok := verdictWords[s.peek()]
	if !ok {
		return nil, wrong(s.peek(), "dry, finished, stuck, sound or sick", "")
	}
	s.at++
	evidence := s.rest()
	var out []cellar.Body
	for _, v := range vessels {
		out = append(out, cellar.Verdict{Vessel: v, Says: verdict, Evidence: evidence})
	}
	return out, nil
}

func (s *sentence) note(string) ([]cellar.Body, error) {
	b := cellar.Note{}
	if s.isVessel(s.peek()) {
		b.Vessel, _ = s.vessel("where")
	}
	b.Words = s.rest()
	if b.Words == "" {
		return nil, wrong("", "some words", "")
	}
	return []cellar.Body{b}, nil
}
