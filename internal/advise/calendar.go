package advise

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"elevage/internal/feed"
)

// Calendar is the plan as events for package feed: one whole day for each act, the
// likeliest where the window is a forecast's, else the first; what is late stands on
// the day of the plan. Waiting acts come with what they wait on. key names the cellar,
// so that two cellars in one phone do not mix; link makes the address of a lot's page,
// nil for none.
//
// An act keeps its UID for as long as it is the same step on the same wine, and the
// revision never falls, so that a phone moves the event instead of showing it twice.
// before is the plan that was written out last, nil for none: what stood in it and
// no longer does comes as called off, for calendars that read a file and do not
// subscribe.
func (t Today) Calendar(key string, link func(lot string) string, before *Today) []feed.Event {
	var out []feed.Event
	today := time.Date(t.AsOf.Year(), t.AsOf.Month(), t.AsOf.Day(), 0, 0, 0, 0, t.AsOf.Location())
	stands := map[string]bool{}
	for i := range t.Acts {
		a := &t.Acts[i]
		if a.From == nil {
			continue
		}
		stands[a.ID] = true
		out = append(out, a.event(key, today, t.Revision, link))
	}
	if before == nil {
		return out
	}
	for i := range before.Acts {
		a := &before.Acts[i]
		if a.From == nil || stands[a.ID] {
			continue
		}
		e := a.event(key, today, t.Revision, link)
		e.Lapsed = true
		out = append(out, e)
	}
	return out
}

func (a *Act) event(key string, today time.Time, revision int, link func(string) string) feed.Event {
	day := a.From.Time
	if a.About != nil && a.About.After(day) {
		day = a.About.Time
	}
	if day.Before(today) {
		day = today
	}
	sum := sha256.Sum256([]byte(key + "\n" + a.ID))
	e := feed.Event{UID: hex.EncodeToString(sum[:16]) + "@elevage", Revision: revision, Day: day,
		Summary: a.headline(), Notes: a.notes(), Place: strings.TrimSpace(a.Vessel + " " + a.Place), Topics: []string{string(a.Class)}, Urgent: a.Matters == 3}
	if link != nil && a.Lot != "" {
		e.Link = link(a.Lot)
	}
	return e
}

// headline is the act in a line: where, what, how much.
func (a *Act) headline() string {
	where := a.Vessel
	if where == "" {
		where = a.Instrument
	}
	var b strings.Builder
	if where != "" {
		b.WriteString(where + ": ")
	}
	b.WriteString(a.Do)
	if a.Amount != "" {
		fmt.Fprintf(&b, ", %s", strings.TrimSpace(a.Amount+" "+a.Unit))
	}
	return b.String()
}

func (a *Act) notes() string {
	var lines []string
	add := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	if a.LotName != "" {
		add("%s", a.LotName)
	}
	if a.Tool != "" {
		add("%s", strings.TrimSpace(a.Amount+" "+a.Unit+" "+a.Tool)+".")
	}
	add("%s", a.Why)
	const layout = "2 January 2006"
	if a.To != nil && a.To.After(a.From.Time) {
		add("Between %s and %s.", a.From.Format(layout), a.To.Format(layout))
	}
	if a.Moved != nil {
		add("Moved from %s: %s.", a.Moved.From.Format(layout), a.Moved.Because)
	}
	if len(a.WaitingOn) > 0 {
		add("Waiting on %s.", strings.Join(a.WaitingOn, "; "))
	}
	if a.Late != "" {
		add("Late: %s.", a.Late)
	}
	if a.Proposal {
		add("This is the tool's own proposal, not a rule of the trade.")
	}
	for _, c := range a.Cautions {
		add("Caution: %s", c.Text)
	}
	return strings.Join(lines, "\n")
}
