package cellar

import (
	"fmt"
	"strings"
	"time"
)

// Precision says how exactly a moment is known.
type Precision uint8

// Precisions.
const (
	Minute Precision = iota // "3 Nov 2026 at 19:30"
	Second                  // from an instrument
	Day                     // "on 3 Nov 2026": somewhere in that day, not at its midnight
)

func (p Precision) String() string {
	return [...]string{"minute", "second", "day"}[min(p, Day)]
}

// A Moment is when something happened, as exactly as the person knows it, in
// the zone in which they live.
//
// As text it is "2026-11-03T19:30+01:00", "2026-11-03T19:30:05+01:00" or, for a
// day, "2026-11-03+01:00" (a date with its offset, as in XML Schema).
type Moment struct {
	// Time is the start of the stated minute, second or day, in the offset it
	// was stated in. For a Day that is midnight and only names the day: what
	// moment to reckon with is told by Reckoned.
	Time      time.Time
	Precision Precision
	Zone      string // IANA name ("Europe/Vienna") if known; the offset in Time rules
	Order     int    // place among the other entries of the day; 0 when not stated
}

// At is a moment known to the minute.
func At(t time.Time) Moment {
	return Moment{Time: t.Truncate(time.Minute), Precision: Minute, Zone: zoneName(t)}
}

// On is the day of t, in t's zone.
func On(t time.Time) Moment {
	y, m, d := t.Date()
	return Moment{Time: time.Date(y, m, d, 0, 0, 0, 0, t.Location()), Precision: Day, Zone: zoneName(t)}
}

func zoneName(t time.Time) string {
	name := t.Location().String()
	if strings.Contains(name, "/") && len(name) <= 64 {
		return name
	}
	return ""
}

// IsZero says that no moment was stated.
func (m Moment) IsZero() bool { return m.Time.IsZero() }

// Reckoned is the instant to reckon with. A moment known to the minute is that
// minute, and written down within it, the moment of writing, so that what is
// logged quickly keeps its order. A day is noon, moved by as many minutes as
// Order says; but a day that is also the day of writing, with no order stated,
// is the moment of writing: it cannot have been later, and was most likely just
// then.
func (m Moment) Reckoned(written time.Time) time.Time {
	if m.Precision == Minute && m.Order == 0 {
		if from, to := m.Bounds(); !written.Before(from) && written.Before(to) {
			return written
		}
	}
	if m.Precision != Day {
		return m.Time
	}
	if m.Order == 0 {
		w := written.In(m.Time.Location())
		if wy, wm, wd := w.Date(); time.Date(wy, wm, wd, 0, 0, 0, 0, m.Time.Location()).Equal(m.Time) {
			return written
		}
	}
	return m.Time.Add(12*time.Hour + time.Duration(clampOrder(m.Order))*time.Minute)
}

// maxOrder keeps a day's entries within the day: noon ± 11 h 59 min.
const maxOrder = 719

func clampOrder(n int) int { return max(-maxOrder, min(n, maxOrder)) }

// Bounds are the earliest and latest instants that the statement allows: a whole
// day for a date, one minute or second otherwise. The end does not belong to it.
func (m Moment) Bounds() (from, to time.Time) {
	switch m.Precision {
	case Day:
		y, mo, d := m.Time.Date()
		return m.Time, time.Date(y, mo, d+1, 0, 0, 0, 0, m.Time.Location())
	case Second:
		return m.Time, m.Time.Add(time.Second)
	}
	return m.Time, m.Time.Add(time.Minute)
}

const (
	layoutMinute = "2006-01-02T15:04Z07:00"
	layoutSecond = "2006-01-02T15:04:05Z07:00"
	layoutDay    = "2006-01-02Z07:00"
)

// String is the moment as text, without zone name and order; "" if none was stated.
func (m Moment) String() string {
	if m.IsZero() {
		return ""
	}
	switch m.Precision {
	case Day:
		return m.Time.Format(layoutDay)
	case Second:
		return m.Time.Format(layoutSecond)
	}
	return m.Time.Format(layoutMinute)
}

// ParseMoment reads the text that String writes: years 1 to 9999, offsets to the minute.
func ParseMoment(text string) (Moment, error) {
	layout, precision := layoutMinute, Minute
	switch {
	case len(text) < len("2006-01-02T"):
		layout, precision = layoutDay, Day
	case text[10] != 'T':
		layout, precision = layoutDay, Day
	case len(text) > 16 && text[16] == ':':
		layout, precision = layoutSecond, Second
	}
	text = strings.Replace(text, "+00:00", "Z", 1)
	// In UTC, so that the machine's own zone has no say in what is returned.
	t, err := time.ParseInLocation(layout, text, time.UTC)
	m := Moment{Time: t, Precision: precision}
	// Parsing also takes fractions of a second, which String would not give
	// back; a moment is only what comes back as it was.
	if err != nil || t.IsZero() || m.String() != text {
		return Moment{}, fmt.Errorf("%q is not a moment: allowed is 2026-11-03T19:30+01:00, or 2026-11-03+01:00 for a day", text)
	}
	return m, nil
}
