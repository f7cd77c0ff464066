package ui

import (
	"strconv"
	"time"
)

// Age writes how old something is, short enough to stand next to a figure:
// "now", "40 min", "3 h", "3 d", "5 w", "7 mo", "2 y". What lies ahead reads "in 3 d".
// The larger unit is taken once there would be more than about two of it.
func Age(at, now time.Time) string {
	d := now.Sub(at)
	if d < 0 {
		if s := span(-d); s != "now" {
			return "in" + nbsp + s
		}
		return "now"
	}
	return span(d)
}

func span(d time.Duration) string {
	const dayLong = 24 * time.Hour
	n, unit := 0, ""
	switch {
	case d < 2*time.Minute:
		return "now"
	case d < 2*time.Hour:
		n, unit = int(d/time.Minute), "min"
	case d < 2*dayLong:
		n, unit = int(d/time.Hour), "h"
	case d < 3*7*dayLong:
		n, unit = int(d/dayLong), "d"
	case d < 13*7*dayLong:
		n, unit = int(d/(7*dayLong)), "w"
	case d < 730*dayLong:
		n, unit = int(float64(d)/float64(dayLong)/30.44), "mo"
	default:
		n, unit = int(d/(365*dayLong)), "y"
	}
	return strconv.Itoa(n) + nbsp + unit
}

// Faded is how far a figure has faded, 0 to 3: half of the time it keeps, all of
// it, twice that. A free SO2 keeps two weeks or so, a volume until the next
// racking; whoever knows the wine says how long. A figure that keeps for ever
// (keeps ≤ 0) does not fade.
func Faded(at, now time.Time, keeps time.Duration) int {
	if keeps <= 0 {
		return 0
	}
	switch age := now.Sub(at); {
	case age <= keeps/2:
		return 0
	case age <= keeps:
		return 1
	case age <= 2*keeps:
		return 2
	}
	return 3
}

// Day writes a date: "12 Nov", with the year when it is not this one.
func Day(t, now time.Time) string {
	if t.Year() != now.Year() {
		return t.Format("2" + nbsp + "Jan" + nbsp + "2006")
	}
	return t.Format("2" + nbsp + "Jan")
}

// Weekday writes "Thu 12 Nov".
func Weekday(t, now time.Time) string { return t.Format("Mon") + nbsp + Day(t, now) }

// Days writes a range of dates without saying a thing twice: "6–24 Nov",
// "28 Oct – 3 Nov", "28 Dec 2026 – 3 Jan 2027". The year is left out when both
// are this year. A zero end is open: "from 6 Nov"; a zero start: "by 24 Nov".
func Days(from, to, now time.Time) string {
	switch {
	case from.IsZero() && to.IsZero():
		return ""
	case to.IsZero():
		return "from" + nbsp + Day(from, now)
	case from.IsZero():
		return "by" + nbsp + Day(to, now)
	}
	if to.Before(from) {
		from, to = to, from
	}
	fy, fm, fd := from.Date()
	ty, tm, td := to.Date()
	switch {
	case fy == ty && fm == tm && fd == td:
		return Day(from, now)
	case fy == ty && fm == tm:
		return strconv.Itoa(fd) + "–" + Day(to, now)
	case fy == ty:
		return from.Format("2"+nbsp+"Jan") + " – " + Day(to, now)
	}
	return from.Format("2"+nbsp+"Jan"+nbsp+"2006") + " – " + to.Format("2"+nbsp+"Jan"+nbsp+"2006")
}

// Near writes a date as one says it: "today", "tomorrow", "yesterday", "Thu"
// within the coming week, else the date.
func Near(t, now time.Time) string {
	y, m, d := now.Date()
	ty, tm, td := t.Date()
	n := int(time.Date(ty, tm, td, 0, 0, 0, 0, time.UTC).Sub(time.Date(y, m, d, 0, 0, 0, 0, time.UTC)).Hours() / 24)
	switch {
	case n == 0:
		return "today"
	case n == 1:
		return "tomorrow"
	case n == -1:
		return "yesterday"
	case n > 1 && n < 7:
		return t.Format("Mon") + nbsp + Day(t, now)
	}
	return Day(t, now)
}
