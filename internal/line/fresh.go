package line

import (
	"strings"

	"elevage/internal/cellar"
)

// fresh is what earlier sentences of the same line named: it is not in the record
// yet, and a later sentence may speak of it.
type fresh struct {
	vessels map[string]bool
	lots    map[string]bool
	holds   map[string]string // the lot that came into a vessel
}

func newFresh() *fresh {
	return &fresh{vessels: map[string]bool{}, lots: map[string]bool{}, holds: map[string]string{}}
}

// learn takes in what a sentence named.
func (f *fresh) learn(b cellar.Body) {
	switch b := b.(type) {
	case cellar.VesselNamed:
		f.vessels[b.Slug] = true
	case cellar.LotStarted:
		f.lots[b.Slug] = true
	case cellar.Bottling:
		f.vessels[b.Slug] = true
	case cellar.FruitReceived:
		f.holds[b.Vessel] = b.Lot
	case cellar.Crush:
		for _, p := range b.To {
			f.holds[p.Vessel] = b.Lot
		}
	case cellar.Movement:
		for _, p := range b.To {
			if b.Lot != "" {
				f.holds[p.Vessel] = b.Lot
			}
		}
	}
}

// vesselNamed is the short name of the vessel that a word means, "" for none.
func (s *sentence) vesselNamed(word string) string {
	word = strings.ToLower(strings.TrimSuffix(word, ","))
	if word == "" {
		return ""
	}
	if v := s.state.Vessel(word); v != nil {
		return v.Slug
	}
	if s.fresh.vessels[word] {
		return word
	}
	return ""
}

// lotNamed is the short name of the lot that a word means, "" for none.
func (s *sentence) lotNamed(word string) string {
	word = strings.ToLower(strings.TrimSuffix(word, ","))
	if word == "" {
		return ""
	}
	if l := s.state.Lot(word); l != nil {
		return l.Slug
	}
	if s.fresh.lots[word] {
		return word
	}
	return ""
}

// lotIn is the lot that a vessel holds, "" if none is known.
func (s *sentence) lotIn(vessel string) string {
	if lot := s.fresh.holds[vessel]; lot != "" {
		return lot
	}
	if p := s.state.In(vessel); p != nil {
		return p.Lot
	}
	return ""
}

// lot reads a lot's name.
func (s *sentence) lot(role string) (string, error) {
	word := s.peek()
	slug := s.lotNamed(word)
	if slug == "" {
		names := make([]string, 0, s.state.Lots.Len())
		for _, l := range s.state.Lots.All() {
			names = append(names, l.Slug)
		}
		such := "start one first: lot " + orWord(word, "merlot") + " red"
		if len(names) > 0 {
			such = "such as " + names[0]
		}
		return "", wrong(s.typed(), role+": a lot's name, "+such, nearest(word, names))
	}
	s.at++
	return slug, nil
}

func orWord(word, other string) string {
	if word == "" || !cellar.SlugOK(word) {
		return other
	}
	return word
}

// typed is the next word as it was typed.
func (s *sentence) typed() string {
	if s.at >= len(s.words) {
		return ""
	}
	return s.words[s.at]
}
