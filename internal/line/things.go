package line

import (
	"slices"
	"strconv"
	"strings"

	"elevage/internal/cellar"
)

// newVessel reads "vessel b2 barrel 225 L in the cold room".
func (s *sentence) newVessel(string) ([]cellar.Body, error) {
	slug := s.peek()
	if slug == "" {
		return nil, wrong("", "what is chalked on it, such as b2", "")
	}
	if s.vesselNamed(slug) != "" {
		return nil, wrong(s.typed(), "a name that no vessel has yet", "")
	}
	if s.lotNamed(slug) != "" {
		return nil, wrong(s.typed(), "a name that no lot has: the line could not tell them apart", "")
	}
	s.at++
	b := cellar.VesselNamed{Slug: slug}
	b.Type, _ = s.take(cellar.VesselTypes...)
	if s.peek() == "" {
		return nil, wrong("", "what it holds when full: a number, with its unit if it is not L", "")
	}
	size, err := s.measure("what it holds when full", "L")
	if err != nil {
		if b.Type == "" {
			return nil, wrong(s.typed(), "its kind ("+strings.Join(cellar.VesselTypes, ", ")+"), or what it holds when full", nearest(s.peek(), cellar.VesselTypes))
		}
		return nil, err
	}
	b.Size = size
	if b.Type == "" {
		b.Type, _ = s.take(cellar.VesselTypes...)
	}
	if _, ok := s.take("in", "at"); ok {
		s.take("the")
	}
	b.Place = s.rest()
	return []cellar.Body{b}, nil
}

// colours are the words for the colour of a lot.
var colours = map[string]string{"red": "red", "white": "white", "rosé": "rosé", "rose": "rosé", "orange": "orange"}

// newLot reads "lot Merlot red 2026 malolactic wanted": the name, and after it in
// any order what kind of wine it is. The name is as short as what follows allows,
// so that in "Early White white" the second word is still part of it.
func (s *sentence) newLot(string) ([]cellar.Body, error) {
	began, stuck, plain := s.at, -1, false
	var b cellar.LotStarted
	for n := began + 1; n <= len(s.words); n++ {
		b = cellar.LotStarted{}
		s.at = n
		for s.peek() != "" && s.ofLot(&b) {
		}
		if s.peek() == "" {
			b.Name, plain = strings.TrimSuffix(strings.Join(s.words[began:n], " "), ","), n == len(s.words)
			break
		}
		if s.at > n && stuck < 0 {
			stuck = s.at
		}
	}
	if stuck >= 0 && plain {
		return nil, wrong(s.words[stuck], "red, white, rosé or orange, a year, malolactic wanted or kept from, variety and its name, or in gallons; the name comes first", "")
	}
	b.Slug = cellar.Slug(b.Name)
	switch {
	case b.Name == "":
		return nil, wrong("", "the lot's name: lot merlot red", "")
	case b.Slug == "":
		return nil, wrong(b.Name, "a name with a letter in it", "")
	case s.lotNamed(b.Slug) != "":
		return nil, wrong(b.Name, "a name that no lot has yet", "")
	case s.vesselNamed(b.Slug) != "":
		return nil, wrong(b.Name, "a name that no vessel has: the line could not tell them apart", "")
	}
	return []cellar.Body{b}, nil
}

// ofLot reads one thing that is said of a lot after its name.
func (s *sentence) ofLot(b *cellar.LotStarted) bool {
	word := strings.TrimSuffix(s.peek(), ",")
	next := ""
	if s.at+1 < len(s.words) {
		next = strings.ToLower(strings.TrimSuffix(s.words[s.at+1], ","))
	}
	year, err := strconv.Atoi(word)
	switch {
	case colours[word] != "" && b.Colour == "":
		b.Colour = colours[word]
	case err == nil && len(word) == 4 && b.Vintage == 0:
		b.Vintage = year
	case word == "malolactic" && next == "wanted":
		b.Malolactic = cellar.MalolacticWanted
		s.at++
	case word == "malolactic" && (next == "kept" || next == cellar.MalolacticKeptFrom):
		b.Malolactic = cellar.MalolacticKeptFrom
		s.at++
		if s.at+1 < len(s.words) && strings.EqualFold(strings.TrimSuffix(s.words[s.at+1], ","), "from") {
			s.at++
		}
	case word == "in" && slices.Contains([]string{"gallons", "gal"}, next):
		b.Units = "us"
		s.at++
	case word == "variety" && next != "":
		b.Variety = strings.TrimSuffix(s.words[s.at+1], ",")
		s.at++
	default:
		return false
	}
	s.at++
	return true
}

func (s *sentence) newInstrument(string) ([]cellar.Body, error) {
	slug := s.peek()
	if slug == "" || s.state.Instrument(slug) != nil {
		taken := make([]string, len(s.state.Instruments))
		for i, one := range s.state.Instruments {
			taken[i] = one.Slug
		}
		allowed := "a short name that no instrument has yet"
		if slug == "" {
			allowed += ", such as meter"
		}
		if len(taken) > 0 {
			allowed += "; taken are " + strings.Join(taken, ", ")
		}
		return nil, wrong(s.typed(), allowed, "")
	}
	s.at++
	if s.at+1 < len(s.words) { // "ph meter" is a ph-meter
		if both := s.peek() + "-" + strings.ToLower(s.words[s.at+1]); slices.Contains(cellar.InstrumentTypes, both) {
			s.words = append(append(s.words[:s.at:s.at], both), s.words[s.at+2:]...)
		}
	}
	kind, ok := s.take(cellar.InstrumentTypes...)
	if !ok {
		return nil, wrong(s.typed(), "its kind: "+strings.Join(cellar.InstrumentTypes, ", "), nearest(s.peek(), cellar.InstrumentTypes))
	}
	return []cellar.Body{cellar.InstrumentNamed{Slug: slug, Type: kind}}, nil
}

// bought reads "bought 250 g kmbs for 4.50 EUR".
func (s *sentence) bought(string) ([]cellar.Body, error) {
	amount, err := s.measure("how much", "g")
	if err != nil {
		return nil, err
	}
	product, err := s.product("what was bought")
	if err != nil {
		return nil, err
	}
	b := cellar.Purchase{Product: product.Name, Amount: amount}
	if _, ok := s.take("for"); ok {
		if b.Price, err = s.measure("price, with its currency", "EUR"); err != nil {
			return nil, err
		}
	}
	if _, ok := s.take("from"); ok {
		b.From = s.rest()
	}
	return []cellar.Body{b}, nil
}

// product reads the name of something that is added.
func (s *sentence) product(role string) (*cellar.Product, error) {
	s.take("of")
	word := s.peek()
	p, ok := cellar.LookupProduct(word)
	if !ok {
		var names []string
		for i := range cellar.Products {
			names = append(append(names, cellar.Products[i].Name), cellar.Products[i].Also...)
		}
		return nil, wrong(word, role+", such as kmbs, tartaric, nutrient", nearest(word, names))
	}
	s.at++
	return p, nil
}

// calibrated reads "calibrated meter 7.00 4.01 slope 98 %".
func (s *sentence) calibrated(string) ([]cellar.Body, error) {
	i := s.state.Instrument(s.peek())
	if i == nil {
		var names []string
		for _, i := range s.state.Instruments {
			names = append(names, i.Slug)
		}
		return nil, wrong(s.typed(), "an instrument's name: "+strings.Join(names, ", "), nearest(s.peek(), names))
	}
	s.at++
	b := cellar.Calibration{Instrument: i.Slug}
	for s.peek() != "" && s.peek() != "slope" {
		point := strings.TrimSuffix(s.peek(), ",")
		if _, err := cellar.ParseNumber(point); err != nil {
			break
		}
		b.Points = append(b.Points, point)
		s.at++
		s.take("and")
	}
	if _, ok := s.take("slope"); ok {
		slope, err := s.measure("slope", "%")
		if err != nil {
			return nil, err
		}
		b.Slope = slope
	}
	return []cellar.Body{b}, nil
}
