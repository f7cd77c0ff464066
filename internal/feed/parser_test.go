package feed

import (
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"pgregory.net/rapid"
)

// What is written is read by somebody else's parser of RFC 5545 (go-ical, a general
// library) with the same texts and days, whatever the texts hold.
func TestAnotherParserReadsIt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := Calendar{Name: "Cellar; north, upper", Stamp: stamp, Refresh: 6 * time.Hour}
		for i := range rapid.IntRange(1, 4).Draw(rt, "events") {
			c.Events = append(c.Events, Event{UID: "act-" + string(rune('a'+i)) + "@elevage", Summary: "x" + rapid.String().Draw(rt, "summary"), Notes: rapid.String().Draw(rt, "notes"),
				Place: rapid.String().Draw(rt, "place"), Day: stamp.AddDate(0, 0, rapid.IntRange(-999, 999).Draw(rt, "day")), Days: rapid.IntRange(0, 30).Draw(rt, "days"),
				Revision: rapid.IntRange(0, 1<<30).Draw(rt, "revision"), Lapsed: rapid.Bool().Draw(rt, "lapsed")})
		}
		cal, err := ical.NewDecoder(strings.NewReader(written(t, c))).Decode()
		if err != nil {
			rt.Fatal(err)
		}
		events := cal.Events()
		if len(events) != len(c.Events) {
			rt.Fatalf("%d events of %d came back", len(events), len(c.Events))
		}
		for i, want := range c.Events {
			got := events[i]
			for name, text := range map[string]string{ical.PropUID: want.UID, ical.PropSummary: want.Summary, ical.PropDescription: want.Notes, ical.PropLocation: want.Place} {
				have, err := got.Props.Text(name)
				if err != nil || have != legible(text) {
					rt.Fatalf("%s: %q came back as %q, %v", name, text, have, err)
				}
			}
			from, err := got.DateTimeStart(time.UTC)
			if err != nil || from.Format(time.DateOnly) != want.Day.Format(time.DateOnly) {
				rt.Fatalf("begins %v, want %v: %v", from, want.Day, err)
			}
			to, err := got.DateTimeEnd(time.UTC)
			if days := max(1, want.Days); err != nil || to.Sub(from) != time.Duration(days)*24*time.Hour {
				rt.Fatalf("lasts %v, want %d days: %v", to.Sub(from), days, err)
			}
			if status, _ := got.Props.Text(ical.PropStatus); (status == "CANCELLED") != want.Lapsed {
				rt.Fatalf("status %q", status)
			}
		}
	})
}
