package serve

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
)

// TestQuestionsOnPages asks those cellar questions whose answer is a page, and checks
// what the page answers of the invented cellar. docs/questions.md says so.
func TestQuestionsOnPages(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	asked := map[int]func(t *testing.T){
		// What did I do different the year it was good? Only what differs: the colour of both is red.
		52: func(t *testing.T) {
			p := v.get("/compare?a=zweigelt&b=merlot")
			p.shows(t, "What differs, by stage", "Zweigelt", "Merlot")
			if text := p.text(); strings.Contains(text, "colour red red") {
				t.Errorf("what is alike is shown: %s", text)
			}
		},
		// Who touched lot 12 in March and with what?
		55: func(t *testing.T) {
			all, some := v.get("/ledger"), v.get("/ledger?lot=syrah&from=2026-10-01&to=2026-10-31")
			some.shows(t, "Syrah")
			if n, m := strings.Count(some.Body, `class="entry"`), strings.Count(all.Body, `class="entry"`); n == 0 || n >= m {
				t.Errorf("%d entries of %d", n, m)
			}
			for _, line := range strings.Split(some.Body, `class="entry-date">`)[1:] {
				if day, _, _ := strings.Cut(line, "<"); !strings.Contains(day, "Oct") {
					t.Errorf("asked for October, shown %s", day)
				}
			}
			// by whom, with what
			some.shows(t, "Runa")
			if p := v.get("/ledger?from=March"); p.Code != 422 || p.wrong("from") == "" {
				t.Errorf("a date that is none: %d", p.Code)
			}
		},
	}
	doc, err := os.ReadFile("../../docs/questions.md")
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n <= 55; n++ {
		said := false
		for _, line := range strings.Split(string(doc), "\n") {
			said = said || strings.HasPrefix(line, fmt.Sprintf("| %d |", n)) && strings.HasSuffix(line, "| yes, on its page |")
		}
		if said != (asked[n] != nil) {
			t.Errorf("question %d: docs/questions.md says %v, the tests %v", n, said, asked[n] != nil)
		}
		if asked[n] != nil {
			t.Run(fmt.Sprint(n), asked[n])
		}
	}
}

// The pages that look back show what internal/recall finds, in its words.
func TestBottlesDoubtsAndYears(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	v.get("/bottles").shows(t, "Nothing has been bottled yet.")
	v.get("/doubts").shows(t, "No instrument failed a check")
	v.get("/made").shows(t, "2026: 0 L by this record", "27 CFR 24.75")
	for _, one := range []struct {
		month time.Month
		day   int
		body  cellar.Body
	}{
		{1, 5, cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("23", "L")}},
		{1, 5, cellar.VesselNamed{Slug: "c2", Type: "carboy", Size: cellar.M("23", "L")}},
		{1, 5, cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}},
		{1, 6, cellar.LotStarted{Slug: "gamay", Name: "Gamay", Colour: "red"}},
		{1, 6, cellar.Movement{How: "filling", Lot: "gamay", To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("22", "L")}}}},
		{1, 7, cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.01"}},
		{2, 1, cellar.Reading{Vessel: "c1", What: cellar.ReadPH, Value: cellar.M("3.61", "pH"), Instrument: "meter"}},
		{2, 2, cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("2", "g")}},
		{2, 20, cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.15"}},
		{3, 1, cellar.Bottling{Slug: "gamay-bottles", From: []cellar.Portion{{Vessel: "c1", All: true}}, Count: 29, Size: cellar.M("750", "mL"), Closure: "cork, lot 7"}},
		{9, 1, cellar.Opened{Bottling: "gamay-bottles", Why: "drunk", Score: "7", Words: "clean"}},
		{9, 9, cellar.Opened{Bottling: "gamay-bottles", Why: "drunk", Score: "3", Words: "oxidised"}},
		{9, 20, cellar.Opened{Bottling: "gamay-bottles", Why: "drunk", Score: "7", Words: "clean, cherry"}},
	} {
		at := time.Date(2026, one.month, one.day, 18, 0, 0, 0, evening.Location())
		if _, err := v.keep(context.Background(), at, cellar.Draft{Happened: cellar.At(at), Body: one.body}); err != nil {
			t.Fatal(err)
		}
	}
	v.get("/bottles").shows(t, "Gamay, 26 bottles", "Oxidised bottles.", "1 of 3 opened bottles was oxidised", "cork, lot 7", "When to drink it:", "best from about", "clean, cherry")
	v.get("/doubts").shows(t, "meter", "it read 7.15 in the buffer of 7.00, +0.15 off", "pH 3.61", "2 g")
	v.get("/made?year=2026").shows(t, "22 L by this record, 6 US gallons", "filled in")
	if p := v.get("/made?year=soon"); p.Code != 422 || p.wrong("year") == "" {
		t.Errorf("a year that is none: %d", p.Code)
	}
	v.get("/lots/gamay").shows(t, "Nothing can be added in the bottle")
}
