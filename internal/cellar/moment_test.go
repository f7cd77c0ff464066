package cellar

import (
	"testing"
	"time"
)

func mustZone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Skipf("no time zones here: %v", err)
	}
	return z
}

// Dates with an offset as in XML Schema 1.1 part 2, 3.3.9 (its example:
// 2002-10-10+13:00); minutes and seconds as in ISO 8601.
func TestMomentText(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		p    Precision
		utc  string
	}{
		{"2002-10-10+13:00", Day, "2002-10-09T11:00:00Z"},
		{"2026-11-03Z", Day, "2026-11-03T00:00:00Z"},
		{"2026-11-03T19:30+01:00", Minute, "2026-11-03T18:30:00Z"},
		{"2026-11-03T19:30Z", Minute, "2026-11-03T19:30:00Z"},
		{"2026-11-03T19:30:05-03:30", Second, "2026-11-03T23:00:05Z"},
		{"2024-02-29+05:45", Day, "2024-02-28T18:15:00Z"},
	} {
		m, err := ParseMoment(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if m.Precision != c.p || m.Time.UTC().Format(time.RFC3339) != c.utc || m.String() != c.text {
			t.Errorf("%s: %s %s, written %s", c.text, m.Precision, m.Time.UTC().Format(time.RFC3339), m)
		}
	}
	if m, err := ParseMoment("2026-11-03T19:30+00:00"); err != nil || m.String() != "2026-11-03T19:30Z" {
		t.Errorf("%s %v", m, err)
	}
	for _, s := range []string{"", "2026-11-03", "2026-11-03T19:30", "2026-11-03T24:00Z", "2026-11-03T19:30:05.5Z", "2026-13-03Z", "2025-02-29Z",
		"2026-11-03 19:30Z", "2026-11-03T19:30+1:00", "0001-01-01Z", "yesterday"} {
		if m, err := ParseMoment(s); err == nil {
			t.Errorf("%q was taken as %s", s, m)
		}
	}
}

// A date is not a midnight: it is reckoned as noon, moved by its order; on the
// day of writing, as the moment of writing.
func TestReckoned(t *testing.T) {
	t.Parallel()
	vienna := mustZone(t, "Europe/Vienna")
	day := On(time.Date(2026, 11, 3, 8, 0, 0, 0, vienna))
	sameDay := time.Date(2026, 11, 3, 9, 5, 0, 0, vienna)
	late := time.Date(2026, 11, 5, 9, 5, 0, 0, vienna)
	noon := time.Date(2026, 11, 3, 12, 0, 0, 0, vienna)
	ordered := func(n int) Moment { m := day; m.Order = n; return m }
	for name, c := range map[string]struct {
		m       Moment
		written time.Time
		want    time.Time
	}{
		"to the minute":               {At(sameDay), late, sameDay},
		"a day, written later":        {day, late, noon},
		"a day, written that day":     {day, sameDay, sameDay},
		"a day, written the eve":      {day, noon.AddDate(0, 0, -1), noon},
		"second of the day":           {ordered(2), late, noon.Add(2 * time.Minute)},
		"order wins over writing":     {ordered(-1), sameDay, noon.Add(-time.Minute)},
		"an order beyond the day":     {ordered(100000), late, time.Date(2026, 11, 3, 23, 59, 0, 0, vienna)},
		"written in another zone":     {day, time.Date(2026, 11, 3, 23, 30, 0, 0, time.UTC), noon}, // 00:30 on the 4th in Vienna
		"written just after midnight": {day, time.Date(2026, 11, 2, 23, 30, 0, 0, time.UTC), time.Date(2026, 11, 3, 0, 30, 0, 0, vienna)},
	} {
		if got := c.m.Reckoned(c.written); !got.Equal(c.want) {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestBoundsOfADayWithSummerTime(t *testing.T) {
	t.Parallel()
	vienna := mustZone(t, "Europe/Vienna")
	// Summer time ended on 25 October 2026 (last Sunday of October, Directive
	// 2000/84/EC): that day has 25 hours.
	from, to := On(time.Date(2026, 10, 25, 15, 0, 0, 0, vienna)).Bounds()
	if d := to.Sub(from); d != 25*time.Hour {
		t.Errorf("the day has %s", d)
	}
	if m := On(time.Date(2026, 10, 25, 15, 0, 0, 0, vienna)); m.Zone != "Europe/Vienna" || m.String() != "2026-10-25+02:00" {
		t.Errorf("%s in %q", m, m.Zone)
	}
	from, to = At(from.Add(90 * time.Second)).Bounds()
	if to.Sub(from) != time.Minute || from.Second() != 0 {
		t.Errorf("%s to %s", from, to)
	}
}

func FuzzParseMoment(f *testing.F) {
	for _, s := range []string{"2026-11-03T19:30+01:00", "2026-11-03+01:00", "2026-11-03T19:30:05Z", "2026-11-03T19:30+00:00", "x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := ParseMoment(s)
		if err != nil {
			return
		}
		again, err := ParseMoment(m.String())
		if err != nil || !again.Time.Equal(m.Time) || again.Precision != m.Precision || again.String() != m.String() {
			t.Errorf("%q became %q became %q (%v)", s, m, again, err)
		}
	})
}
