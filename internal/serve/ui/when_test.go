package ui

import (
	"testing"
	"time"
)

func at(s string) time.Time {
	t, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		panic(err)
	}
	return t
}

func TestAge(t *testing.T) {
	t.Parallel()
	now := at("2026-11-12 19:20")
	for then, want := range map[string]string{
		"2026-11-12 19:19": "now", "2026-11-12 18:40": "40 min", "2026-11-12 17:21": "119 min", "2026-11-12 17:20": "2 h",
		"2026-11-11 08:00": "35 h", "2026-11-10 19:20": "2 d", "2026-11-09 19:20": "3 d", "2026-10-23 19:20": "20 d",
		"2026-10-22 19:20": "3 w", "2026-10-08 19:20": "5 w", "2026-04-12 19:20": "7 mo", "2024-11-12 19:20": "2 y", "2021-11-12 12:00": "5 y",
		"2026-11-12 19:21": "now", "2026-11-15 19:20": "in 3 d",
	} {
		if got := plainly(Age(at(then), now)); got != want {
			t.Errorf("%s: %q, want %q", then, got, want)
		}
	}
}

func TestFaded(t *testing.T) {
	t.Parallel()
	now, day := at("2026-11-12 19:20"), 24*time.Hour
	for _, c := range []struct {
		days  int
		keeps time.Duration
		want  int
	}{{0, 14 * day, 0}, {7, 14 * day, 0}, {8, 14 * day, 1}, {14, 14 * day, 1}, {15, 14 * day, 2}, {28, 14 * day, 2}, {29, 14 * day, 3}, {900, 0, 0}, {-3, 14 * day, 0}} {
		if got := Faded(now.AddDate(0, 0, -c.days), now, c.keeps); got != c.want {
			t.Errorf("%d days of %v: %d, want %d", c.days, c.keeps, got, c.want)
		}
	}
}

func TestDays(t *testing.T) {
	t.Parallel()
	now := at("2026-11-12 19:20")
	day := func(s string) time.Time {
		if s == "" {
			return time.Time{}
		}
		return at(s + " 12:00")
	}
	for _, c := range []struct{ from, to, want string }{
		{"2026-11-06", "2026-11-24", "6–24 Nov"}, {"2026-11-24", "2026-11-06", "6–24 Nov"}, {"2026-11-12", "2026-11-12", "12 Nov"},
		{"2026-10-28", "2026-11-03", "28 Oct – 3 Nov"}, {"2026-12-28", "2027-01-03", "28 Dec 2026 – 3 Jan 2027"},
		{"2027-01-03", "2027-01-09", "3–9 Jan 2027"}, {"2027-01-28", "2027-02-09", "28 Jan – 9 Feb 2027"},
		{"", "2026-11-24", "by 24 Nov"}, {"2026-11-06", "", "from 6 Nov"}, {"", "", ""},
	} {
		if got := plainly(Days(day(c.from), day(c.to), now)); got != c.want {
			t.Errorf("%s to %s: %q, want %q", c.from, c.to, got, c.want)
		}
	}
}

func TestNear(t *testing.T) {
	t.Parallel()
	now := at("2026-11-12 23:50") // a Thursday
	for then, want := range map[string]string{
		"2026-11-12 00:05": "today", "2026-11-13 00:05": "tomorrow", "2026-11-11 23:59": "yesterday", "2026-11-14 08:00": "Sat 14 Nov",
		"2026-11-18 08:00": "Wed 18 Nov", "2026-11-19 08:00": "19 Nov", "2026-11-01 08:00": "1 Nov", "2027-01-01 08:00": "1 Jan 2027",
	} {
		if got := plainly(Near(at(then), now)); got != want {
			t.Errorf("%s: %q, want %q", then, got, want)
		}
	}
}
