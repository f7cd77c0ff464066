package line

import (
	"regexp"
	"strings"
	"time"

	"elevage/internal/cellar"
)

var dayLayouts = []string{time.DateOnly, "2.1.2006"}

// looksLikeDay is a word that can only be meant as a day, such as 2026-02-30, which is none.
var looksLikeDay = regexp.MustCompile(`^\d{4}-\d+-\d+$|^\d+\.\d+\.\d{4}$`)

// readWhen reads a day, and an hour, that stand before the statement: "yesterday",
// "2026-11-03 19:30", "3 nov". Nothing stands for now.
func (s *sentence) readWhen() error {
	began := s.at
	day, found := s.day()
	hour, clock := s.hour()
	switch {
	case found && clock:
		y, m, d := day.Date()
		s.when = cellar.At(time.Date(y, m, d, hour.Hour(), hour.Minute(), 0, 0, s.now.Location()))
	case found:
		s.when = cellar.On(day)
	case clock:
		y, m, d := s.when.Time.In(s.now.Location()).Date()
		s.when = cellar.At(time.Date(y, m, d, hour.Hour(), hour.Minute(), 0, 0, s.now.Location()))
	}
	if word := s.peek(); !found && looksLikeDay.MatchString(word) {
		return wrong(word, "a day of the calendar, such as 2026-11-03 or 3.11.2026", "")
	}
	if s.when.Time.After(s.now) {
		return wrong(strings.Join(s.words[began:s.at], " "), "a day or hour that has been: this one lies ahead", "")
	}
	return nil
}

func (s *sentence) day() (time.Time, bool) {
	if w, ok := s.take("today", "yesterday"); ok {
		if w == "yesterday" {
			return s.now.AddDate(0, 0, -1), true
		}
		return s.now, true
	}
	word := s.peek()
	for _, layout := range dayLayouts {
		if t, err := time.ParseInLocation(layout, word, s.now.Location()); err == nil {
			s.at++
			return t, true
		}
	}
	// "3 nov": of this year, or of the last one if that would lie ahead.
	if s.at+1 < len(s.words) {
		two := word + " " + strings.ToLower(s.words[s.at+1])
		for _, layout := range []string{"2 Jan", "2 January"} {
			if t, err := time.ParseInLocation(layout, two, s.now.Location()); err == nil {
				s.at += 2
				d := time.Date(s.now.Year(), t.Month(), t.Day(), 0, 0, 0, 0, s.now.Location())
				if d.After(s.now) {
					d = d.AddDate(-1, 0, 0)
				}
				return d, true
			}
		}
	}
	return time.Time{}, false
}

func (s *sentence) hour() (time.Time, bool) {
	word := s.peek()
	if word == "at" && s.at+1 < len(s.words) {
		word = s.words[s.at+1]
		if t, err := time.Parse("15:04", word); err == nil {
			s.at += 2
			return t, true
		}
		return time.Time{}, false
	}
	if t, err := time.Parse("15:04", word); err == nil {
		s.at++
		return t, true
	}
	return time.Time{}, false
}
