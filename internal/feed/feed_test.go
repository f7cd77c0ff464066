package feed

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

var stamp = time.Date(2026, 11, 3, 18, 30, 0, 0, time.UTC)

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

func written(t testing.TB, c Calendar) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, c); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestFile is a whole file as RFC 5545 has it: 3.6 (VERSION and PRODID required),
// 3.6.1 (UID, DTSTAMP and DTSTART required; a DATE start without an end lasts one
// day), 3.8.2.2 (DTEND is the day after the last), 3.3.11 (escaping).
func TestFile(t *testing.T) {
	t.Parallel()
	got := written(t, Calendar{Name: "Cellar; north, upper", Stamp: stamp, Refresh: 6 * time.Hour, Events: []Event{
		{UID: "stir/b2@home", Day: day("2026-11-05"), Summary: "Stir the lees, gently: b2", Revision: 3, Place: `rack 2\left`, Notes: "Why: slow.\nSmell; then stir.",
			Link: "https://cellar.example/lot/b2", Topics: []string{"stir", "lees, fine"}},
		{UID: "test/b2@home", Day: day("2026-12-31"), Days: 3, Summary: "Chromatogram", Urgent: true, Lapsed: true},
	}})
	want := strings.ReplaceAll(`BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//Elevage//Plan//EN
CALSCALE:GREGORIAN
METHOD:PUBLISH
NAME:Cellar\; north\, upper
REFRESH-INTERVAL;VALUE=DURATION:PT6H
BEGIN:VEVENT
UID:stir/b2@home
DTSTAMP:20261103T183000Z
DTSTART;VALUE=DATE:20261105
SEQUENCE:3
SUMMARY:Stir the lees\, gently: b2
DESCRIPTION:Why: slow.\nSmell\; then stir.
LOCATION:rack 2\\left
URL:https://cellar.example/lot/b2
CATEGORIES:stir,lees\, fine
PRIORITY:5
TRANSP:TRANSPARENT
END:VEVENT
BEGIN:VEVENT
UID:test/b2@home
DTSTAMP:20261103T183000Z
DTSTART;VALUE=DATE:20261231
DTEND;VALUE=DATE:20270103
SEQUENCE:0
SUMMARY:Chromatogram
PRIORITY:1
TRANSP:TRANSPARENT
STATUS:CANCELLED
END:VEVENT
END:VCALENDAR
`, "\n", "\r\n")
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	sound := Event{UID: "a", Day: day("2026-11-05"), Summary: "s"}
	with := func(change func(*Event)) []Event { e := sound; change(&e); return []Event{e} }
	for name, c := range map[string]Calendar{
		"no stamp":          {Events: []Event{sound}},
		"no uid":            {Stamp: stamp, Events: with(func(e *Event) { e.UID = " " })},
		"one uid twice":     {Stamp: stamp, Events: []Event{sound, sound}},
		"no day":            {Stamp: stamp, Events: with(func(e *Event) { e.Day = time.Time{} })},
		"no summary":        {Stamp: stamp, Events: with(func(e *Event) { e.Summary = "" })},
		"negative revision": {Stamp: stamp, Events: with(func(e *Event) { e.Revision = -1 })},
		"relative link":     {Stamp: stamp, Events: with(func(e *Event) { e.Link = "/lot/b2" })},
		"link with a break": {Stamp: stamp, Events: with(func(e *Event) { e.Link = "https://a/\r\nATTENDEE:x" })},
	} {
		var b bytes.Buffer
		if err := Write(&b, c); err == nil || b.Len() > 0 {
			t.Errorf("%s: error %v, %d bytes written", name, err, b.Len())
		}
	}
}

// Any text comes back from an independent reading of the file, and every rule of the
// grammar holds on the way.
func TestAnyTextSurvives(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := Calendar{Name: rapid.String().Draw(rt, "name"), Stamp: stamp}
		for i := range rapid.IntRange(0, 4).Draw(rt, "events") {
			c.Events = append(c.Events, Event{UID: fmt.Sprintf("%d%s", i, rapid.String().Draw(rt, "uid")), Summary: "x" + rapid.String().Draw(rt, "summary"),
				Notes: rapid.String().Draw(rt, "notes"), Place: rapid.String().Draw(rt, "place"), Day: stamp.AddDate(0, 0, rapid.IntRange(-9999, 9999).Draw(rt, "day")),
				Days: rapid.IntRange(0, 30).Draw(rt, "days"), Revision: rapid.IntRange(0, 1<<30).Draw(rt, "revision"), Topics: rapid.SliceOfN(rapid.String(), 0, 3).Draw(rt, "topics")})
		}
		// Two UIDs can only differ by control characters, which no text may hold;
		// the number in front keeps them apart.
		var b bytes.Buffer
		if err := Write(&b, c); err != nil {
			rt.Fatal(err)
		}
		cal, err := read(b.String())
		if err != nil {
			rt.Fatalf("%v in\n%q", err, b.String())
		}
		if len(cal.parts) != len(c.Events) {
			rt.Fatalf("%d events of %d came back", len(cal.parts), len(c.Events))
		}
		for i, e := range c.Events {
			got := cal.parts[i]
			for name, want := range map[string]string{"UID": e.UID, "SUMMARY": e.Summary, "DESCRIPTION": e.Notes, "LOCATION": e.Place} {
				if have := unescape(got.values[name]); have != legible(want) {
					rt.Fatalf("%s: %q came back as %q", name, want, have)
				}
			}
			if got.values["DTSTART"] != e.Day.Format("20060102") || got.values["SEQUENCE"] != fmt.Sprint(e.Revision) {
				rt.Fatalf("day and revision came back as %s, %s", got.values["DTSTART"], got.values["SEQUENCE"])
			}
		}
	})
}

// legible is a text without what RFC 5545 3.3.11 lets no text hold.
func legible(s string) string {
	s = strings.ReplaceAll(string([]rune(s)), "\r\n", "\n") // bytes that are no UTF-8 become U+FFFD each
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\r':
			return '\n'
		case r == '\n' || r == '\t':
			return r
		case r < 0x20 || r == 0x7f || r >= 0x80 && r < 0xa0:
			return -1
		}
		return r
	}, s)
}

// ---- a second, strict reading of the grammar of RFC 5545, for checking only ----

type component struct {
	name   string
	values map[string]string
	parts  []*component
}

var contentLine = regexp.MustCompile(`(?s)^([A-Z][A-Z0-9-]*)((?:;[A-Z-]+=[A-Z-]+)*):(.*)$`)

// read checks line ends, line length, folding, nesting and the properties that a
// component must have exactly once.
func read(file string) (*component, error) {
	if !strings.HasSuffix(file, "\r\n") {
		return nil, errors.New("the last line is not ended")
	}
	physical := strings.Split(strings.TrimSuffix(file, "\r\n"), "\r\n")
	var logical []string
	for _, l := range physical {
		if len(l) > 75 {
			return nil, fmt.Errorf("a line of %d octets", len(l))
		}
		if strings.ContainsAny(l, "\r\n") {
			return nil, fmt.Errorf("a bare line end in %q", l)
		}
		if !utf8.ValidString(l) {
			return nil, fmt.Errorf("a character is torn in %q", l)
		}
		if strings.HasPrefix(l, " ") {
			if len(logical) == 0 {
				return nil, errors.New("a fold without a line")
			}
			logical[len(logical)-1] += l[1:]
			continue
		}
		logical = append(logical, l)
	}
	root := &component{}
	open := []*component{root}
	for _, l := range logical {
		m := contentLine.FindStringSubmatch(l)
		if m == nil {
			return nil, fmt.Errorf("no content line: %q", l)
		}
		top := open[len(open)-1]
		switch m[1] {
		case "BEGIN":
			c := &component{name: m[3], values: map[string]string{}}
			top.parts = append(top.parts, c)
			open = append(open, c)
		case "END":
			if top.name != m[3] {
				return nil, fmt.Errorf("%s ends %s", m[3], top.name)
			}
			open = open[:len(open)-1]
		default:
			if _, twice := top.values[m[1]]; twice {
				return nil, fmt.Errorf("%s twice", m[1])
			}
			top.values[m[1]] = m[3]
		}
	}
	if len(open) != 1 || len(root.parts) != 1 || root.parts[0].name != "VCALENDAR" {
		return nil, errors.New("not one calendar")
	}
	cal := root.parts[0]
	if cal.values["VERSION"] != "2.0" || cal.values["PRODID"] == "" {
		return nil, errors.New("VERSION or PRODID is missing")
	}
	for _, e := range cal.parts {
		for _, must := range []string{"UID", "DTSTAMP", "DTSTART", "SUMMARY"} {
			if e.values[must] == "" {
				return nil, fmt.Errorf("an event without %s", must)
			}
		}
		if !regexp.MustCompile(`^\d{8}T\d{6}Z$`).MatchString(e.values["DTSTAMP"]) || !regexp.MustCompile(`^\d{8}$`).MatchString(e.values["DTSTART"]) {
			return nil, fmt.Errorf("%q or %q is no date", e.values["DTSTAMP"], e.values["DTSTART"])
		}
	}
	return cal, nil
}

func unescape(s string) string {
	return strings.NewReplacer(`\\`, `\`, `\;`, `;`, `\,`, `,`, `\n`, "\n", `\N`, "\n").Replace(s)
}

// Folding counts octets, not characters (RFC 5545 3.1), and never within one.
func TestFoldsBetweenCharacters(t *testing.T) {
	t.Parallel()
	for n := 0; n < 90; n++ {
		file := written(t, Calendar{Stamp: stamp, Events: []Event{{UID: "u", Day: stamp, Summary: strings.Repeat("a", n) + strings.Repeat("é🍷", 40)}}})
		if _, err := read(file); err != nil {
			t.Fatalf("after %d letters: %v", n, err)
		}
	}
}

func FuzzWrite(f *testing.F) {
	f.Add("u", "Stir", "why\r\nthen", "b2")
	f.Add("a,b;c\\", "\x00\x7f\u0085", "\xff\xfe", "\r")
	f.Fuzz(func(t *testing.T, uid, summary, notes, place string) {
		var b bytes.Buffer
		if err := Write(&b, Calendar{Stamp: stamp, Events: []Event{{UID: "u" + uid, Day: stamp, Summary: "s" + summary, Notes: notes, Place: place}}}); err != nil {
			t.Fatal(err)
		}
		cal, err := read(b.String())
		if err != nil {
			t.Fatalf("%v in %q", err, b.String())
		}
		if got := unescape(cal.parts[0].values["DESCRIPTION"]); got != legible(notes) {
			t.Errorf("%q came back as %q", notes, got)
		}
	})
}
