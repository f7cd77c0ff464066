// Package feed writes iCalendar (RFC 5545) for calendars that subscribe to a plan or
// read it as a file.
//
//	err := feed.Write(w, feed.Calendar{Name: "Cellar", Stamp: now, Events: []feed.Event{{
//		UID: "stir-lees/b2/0f3a9c11@home", Day: day, Summary: "Stir the lees gently: b2", Revision: 12,
//	}}})
//
// Events are whole days. An event that keeps its UID is the same event moved, so that
// a phone updates it instead of showing it twice. The same calendar gives the same
// bytes; nothing here reads a clock.
package feed

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// A Calendar is what a subscriber sees.
type Calendar struct {
	Name string
	// Product names the program that wrote it, as in "-//Elevage//Plan//EN"; left
	// out it is that.
	Product string
	// Stamp is the moment of writing (DTSTAMP, RFC 5545 3.8.7.2). Required.
	Stamp time.Time
	// Refresh is how often a subscriber may ask again (RFC 7986 5.7); 0 leaves it out.
	Refresh time.Duration
	Events  []Event
}

// An Event is something to do on a day.
type Event struct {
	UID string // globally unique and the same for as long as it is the same event
	// Revision goes up whenever the event changes (SEQUENCE, RFC 5545 3.8.7.4).
	Revision int
	Day      time.Time // only its date counts
	Days     int       // how many days it lasts; 0 is one
	Summary  string
	Notes    string
	Place    string
	Link     string // an absolute URI; left out where it is none
	Topics   []string
	Urgent   bool // PRIORITY 1 instead of 5
	// Lapsed says that it was called off: a subscriber takes it out.
	Lapsed bool
}

// Write writes the calendar. It is an error to leave out the stamp or the UID, day
// or summary of an event, to give one UID twice, or a negative revision; nothing is
// written then.
func Write(w io.Writer, c Calendar) error {
	if err := c.check(); err != nil {
		return err
	}
	var b block
	b.line("BEGIN", "VCALENDAR")
	b.line("VERSION", "2.0")
	product := c.Product
	if product == "" {
		product = "-//Elevage//Plan//EN"
	}
	b.text("PRODID", product)
	b.line("CALSCALE", "GREGORIAN")
	b.line("METHOD", "PUBLISH")
	if c.Name != "" {
		b.text("NAME", c.Name)
	}
	if c.Refresh > 0 {
		b.line("REFRESH-INTERVAL;VALUE=DURATION", duration(c.Refresh))
	}
	for _, e := range c.Events {
		b.event(e, c.Stamp)
	}
	b.line("END", "VCALENDAR")
	_, err := io.WriteString(w, b.String())
	return err
}

func (c Calendar) check() error {
	if c.Stamp.IsZero() {
		return fmt.Errorf("moment of writing is missing")
	}
	seen := make(map[string]bool, len(c.Events))
	for i, e := range c.Events {
		var what string
		switch {
		case strings.TrimSpace(e.UID) == "":
			what = "has no UID"
		case seen[e.UID]:
			what = fmt.Sprintf("has the UID %q of another", e.UID)
		case e.Day.IsZero() || e.Day.Year() < 1 || e.Day.Year() > 9999:
			what = "has no day"
		case strings.TrimSpace(e.Summary) == "":
			what = "has no summary"
		case e.Revision < 0 || e.Days < 0:
			what = "has a negative revision or length"
		case e.Link != "" && !absolute(e.Link):
			what = fmt.Sprintf("has the link %q: allowed is an absolute URI", e.Link)
		}
		if what != "" {
			return fmt.Errorf("event %d %s", i+1, what)
		}
		seen[e.UID] = true
	}
	return nil
}

// absolute says whether a link is printable ASCII with a scheme, as a URI is.
func absolute(link string) bool {
	scheme, rest, ok := strings.Cut(link, ":")
	if !ok || scheme == "" || rest == "" {
		return false
	}
	for _, r := range link {
		if r <= ' ' || r > '~' {
			return false
		}
	}
	return true
}

// A block is a sequence of content lines.
type block struct{ strings.Builder }

func (b *block) event(e Event, stamp time.Time) {
	const day = "20060102"
	b.line("BEGIN", "VEVENT")
	b.text("UID", e.UID)
	b.line("DTSTAMP", stamp.UTC().Format("20060102T150405Z"))
	b.line("DTSTART;VALUE=DATE", e.Day.Format(day))
	if e.Days > 1 { // one day is what a date without an end means (3.6.1)
		b.line("DTEND;VALUE=DATE", e.Day.AddDate(0, 0, e.Days).Format(day))
	}
	b.line("SEQUENCE", strconv.Itoa(e.Revision))
	b.text("SUMMARY", e.Summary)
	if e.Notes != "" {
		b.text("DESCRIPTION", e.Notes)
	}
	if e.Place != "" {
		b.text("LOCATION", e.Place)
	}
	if e.Link != "" {
		b.line("URL", e.Link)
	}
	if len(e.Topics) > 0 {
		escaped := make([]string, len(e.Topics))
		for i, t := range e.Topics {
			escaped[i] = escape(t)
		}
		b.line("CATEGORIES", strings.Join(escaped, ","))
	}
	priority := "5"
	if e.Urgent {
		priority = "1"
	}
	b.line("PRIORITY", priority)
	b.line("TRANSP", "TRANSPARENT") // work to do, not time taken
	if e.Lapsed {
		b.line("STATUS", "CANCELLED")
	}
	b.line("END", "VEVENT")
}

func (b *block) text(name, value string) { b.line(name, escape(value)) }

// longest is how many octets a line may have, its end not counted (RFC 5545 3.1).
const longest = 75

// line writes a content line, folded between characters.
func (b *block) line(name, value string) {
	rest := name + ":" + value
	room := longest
	for len(rest) > room {
		cut := room
		for !utf8.RuneStart(rest[cut]) {
			cut--
		}
		b.WriteString(rest[:cut] + "\r\n ")
		rest = rest[cut:]
		room = longest - 1 // the space that folds counts too
	}
	b.WriteString(rest + "\r\n")
}

// escape writes a text value (RFC 5545 3.3.11). Control characters other than line
// ends and tabs are not allowed in one and are left out; bytes that are no UTF-8
// become U+FFFD.
func escape(s string) string {
	s = strings.ReplaceAll(s, "\r\n", "\n")
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\\' || r == ';' || r == ',':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n' || r == '\r':
			b.WriteString(`\n`)
		case r == '\t' || !unicode.IsControl(r):
			b.WriteRune(r)
		}
	}
	return b.String()
}

// duration writes whole hours and minutes (RFC 5545 3.3.6), at least a minute.
func duration(d time.Duration) string {
	minutes := max(1, int(d/time.Minute))
	if minutes%60 == 0 {
		return fmt.Sprintf("PT%dH", minutes/60)
	}
	return fmt.Sprintf("PT%dM", minutes)
}
