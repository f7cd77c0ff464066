// Package line reads the one line that logs anything: "ph 3.47 b2",
// "racked 20 L c1 to b3", "bubble 9 min c4", "+12 g kmbs c1".
//
//	u, err := line.Read("yesterday ph 3,47 b2", state, now)
//	u.Says    // "b2, Merlot: pH 3.47, on 24 Nov": shown before it is kept
//	u.Drafts  // what will be written
//
// The words are those of the cellar; Grammar lists them. What is not understood
// is an error of kind fault.Invalid whose field names the word, what was
// expected there, and a likely intention. What was understood and cannot be is
// one too, whose field is that of the entry: "volume to d3".
package line

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"elevage/internal/cellar"
	"elevage/internal/fault"
)

// Understood is what a line was taken to mean.
type Understood struct {
	Drafts []cellar.Draft
	Says   []string // one sentence a draft
	// Like is, beside an error, a sentence of the kind that was begun and not
	// understood; "" where the kind was not understood, or the sentence was and cannot be.
	Like string
}

// MaxLine is the longest line that is read, in bytes.
const MaxLine = 400

// Read takes a line apart. It may hold several sentences, parted by semicolons.
// State tells what the vessels are; now is the moment of typing, in the
// cellar's own zone.
func Read(text string, state *cellar.State, now time.Time) (Understood, error) {
	if len(text) > MaxLine || !utf8.ValidString(text) {
		return Understood{}, fault.BadFields("log", fault.Field{Name: "line", Given: fmt.Sprintf("%d bytes", len(text)), Allowed: fmt.Sprintf("up to %d bytes of text", MaxLine)})
	}
	var u Understood
	named, when := newFresh(), cellar.At(now)
	for sentence := range strings.SplitSeq(text, ";") {
		if strings.TrimSpace(sentence) == "" {
			continue
		}
		drafts, effect, err := readSentence(sentence, state, now, when, named)
		if err != nil {
			return Understood{Like: likeOf(sentence, state, now)}, err
		}
		if n := len(drafts); n > 0 {
			when = drafts[n-1].Happened // the next sentence is of the same day, unless it says another
		}
		for _, d := range drafts {
			if err := d.CheckIn(state); err != nil {
				return Understood{}, err
			}
			u.Drafts = append(u.Drafts, d)
			named.learn(d.Body)
			says := sentenceOf(d, state, now)
			if effect != "" {
				says += "; " + effect
			}
			u.Says = append(u.Says, says)
		}
	}
	if len(u.Drafts) == 0 {
		return Understood{}, fault.BadFields("log", fault.Field{Name: "line", Allowed: "a sentence such as: ph 3.47 b2"})
	}
	return u, nil
}

// sentenceOf says a draft back, with the wine that it is about.
func sentenceOf(d cellar.Draft, state *cellar.State, now time.Time) string {
	r := &cellar.Record{Body: d.Body}
	s := cellar.Sentence(r)
	if vessel, rest, ok := strings.Cut(s, ": "); ok {
		if held := heldBy(state, vessel, d.Happened.Reckoned(now)); held != "" {
			s = vessel + " (" + held + "): " + rest
		}
	}
	if d.Happened.Precision == cellar.Day {
		return s + ", on " + d.Happened.Time.Format("2 Jan 2006")
	}
	if d.Happened.Time.Format(time.DateOnly) != now.Format(time.DateOnly) {
		return s + ", on " + d.Happened.Time.Format("2 Jan 2006 at 15:04")
	}
	return s + ", at " + d.Happened.Time.Format("15:04")
}

// heldBy is the lot that a vessel held at a moment; it is said when it held none
// then and holds one now, since that is more likely a slip. "" for no vessel.
func heldBy(state *cellar.State, name string, at time.Time) string {
	vessel := state.Vessel(name)
	if vessel == nil {
		return ""
	}
	for _, p := range vessel.Parcels {
		if !at.Before(p.Began) && (!p.Ended() || at.Before(p.End)) {
			if lot := state.Lot(p.Lot); lot != nil {
				return lot.Title()
			}
		}
	}
	if vessel.Holds != nil {
		return "empty then, by the record"
	}
	return ""
}

// A sentence is one statement being taken apart, word by word.
type sentence struct {
	state *cellar.State
	now   time.Time
	fresh *fresh
	words []string // as typed
	at    int      // the next word
	when  cellar.Moment
	// effect is what the statement leads to and its words do not say; it is told
	// with what was understood.
	effect string
}

// wrong is an error about a word.
func wrong(word, allowed, hint string) error {
	return fault.BadFields("log", fault.Field{Name: "line", Given: word, Allowed: allowed, Hint: hint})
}

func readSentence(text string, state *cellar.State, now time.Time, when cellar.Moment, named *fresh) (drafts []cellar.Draft, effect string, err error) {
	s := &sentence{state: state, now: now, fresh: named, words: strings.Fields(text), when: when}
	if err := s.readWhen(); err != nil {
		return nil, "", err
	}
	first := s.peek()
	if first == "" {
		return nil, "", wrong("", "what happened, after the day: ph 3.47 b2", "")
	}
	bodies, err := s.statement(first)
	if err != nil {
		return nil, "", err
	}
	if rest := s.peek(); rest != "" {
		return nil, "", wrong(rest, "the end of the sentence, or a semicolon before the next", s.likelyVessel(rest))
	}
	drafts = make([]cellar.Draft, len(bodies))
	for i, b := range bodies {
		drafts[i] = cellar.Draft{Happened: s.when, Body: b}
	}
	return drafts, s.effect, nil
}

// statement reads from the first word, which says what happened.
func (s *sentence) statement(first string) ([]cellar.Body, error) {
	for i := range Grammar {
		g := &Grammar[i]
		if g.read == nil {
			continue
		}
		for _, w := range g.Words {
			if first == w || g.prefix && strings.HasPrefix(first, w) {
				if g.prefix {
					s.splitPrefix(w)
				}
				s.at++
				return g.read(s, w)
			}
		}
	}
	if _, ok := cellar.LookupReadable(first); ok || isScale(first) {
		return s.reading()
	}
	return nil, wrong(s.words[s.at], "a word that says what happened: "+everyday, nearest(first, allFirstWords()))
}

// splitPrefix parts "+12" into "+" and "12".
func (s *sentence) splitPrefix(prefix string) {
	word := s.words[s.at]
	if len(word) == len(prefix) {
		return
	}
	rest := append([]string{prefix, word[len(prefix):]}, s.words[s.at+1:]...)
	s.words = append(s.words[:s.at:s.at], rest...)
}

// peek is the next word in lower case, "" at the end.
func (s *sentence) peek() string {
	if s.at >= len(s.words) {
		return ""
	}
	return strings.ToLower(s.words[s.at])
}

// take skips the next word if it is one of these.
func (s *sentence) take(words ...string) (string, bool) {
	next := s.peek()
	for _, w := range words {
		if next == w {
			s.at++
			return w, true
		}
	}
	return "", false
}

// rest are the words that are left, as typed.
func (s *sentence) rest() string {
	r := strings.ReplaceAll(strings.Join(s.words[s.at:], " "), " ,", ",")
	s.at = len(s.words)
	return r
}

// isVessel says whether a word names a vessel.
func (s *sentence) isVessel(word string) bool { return s.vesselNamed(word) != "" }

// vessel reads a vessel's name.
func (s *sentence) vessel(role string) (string, error) {
	word := strings.TrimSuffix(s.peek(), ",")
	slug := s.vesselNamed(word)
	if slug == "" {
		return "", wrong(s.typed(), role+": a vessel's name, such as "+s.someVessel(), s.likelyVessel(word))
	}
	s.at++
	return slug, nil
}

// vessels reads one vessel or more: "b2", "b2 c3", "b2 and c3", "b2, c3".
func (s *sentence) vessels(role string) ([]string, error) {
	first, err := s.vessel(role)
	if err != nil {
		return nil, err
	}
	out := []string{first}
	for {
		s.take("and", ",", "&")
		word := strings.TrimSuffix(s.peek(), ",")
		if !s.isVessel(word) {
			return out, nil
		}
		out = append(out, s.vesselNamed(word))
		s.at++
	}
}

func (s *sentence) someVessel() string {
	for _, v := range s.state.Vessels {
		if !v.Gone && !v.Bottles {
			return v.Slug
		}
	}
	return "b2, once a vessel is named"
}

func (s *sentence) likelyVessel(word string) string {
	var names []string
	for _, v := range s.state.Vessels {
		names = append(names, v.Slug)
	}
	return nearest(word, names)
}

// ownUnit is the unit that a bare number is in: gallons and °F where the sentence
// is about a lot that is kept in US units.
func (s *sentence) ownUnit(unit string) string {
	us := map[string]string{"L": "gal", "°C": "°F"}[unit]
	if us == "" {
		return unit
	}
	for _, w := range s.words {
		if p := s.state.In(strings.TrimSuffix(w, ",")); p != nil {
			if lot := s.state.Lot(p.Lot); lot != nil && lot.Units == "us" {
				return us
			}
		}
	}
	return unit
}

// measure reads a figure with its unit in the next words: "3.47", "66F", "9 min",
// "1 1/2 gal", "30 mg/L". A bare number takes the unit given.
func (s *sentence) measure(what, unit string) (*cellar.Measure, error) {
	unit = s.ownUnit(unit)
	const longest = 3
	var last error
	for n := min(longest, len(s.words)-s.at); n > 0; n-- {
		words := s.words[s.at : s.at+n]
		if n > 1 && s.isVessel(strings.ToLower(words[n-1])) {
			continue // "ph 3.47 c1": c1 is a vessel, not a unit
		}
		m, err := cellar.ParseMeasure(strings.Join(words, " "), unit)
		if err == nil {
			s.at += n
			return m, nil
		}
		last = err
	}
	given, hint := s.typed(), ""
	if last != nil && given != "" {
		hint = last.Error()
	}
	allowed := what + ": a number"
	if unit != "" && unit != "pH" {
		allowed += ", with its unit if it is not " + unit
	}
	return nil, wrong(given, allowed, hint)
}
