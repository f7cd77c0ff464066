package serve

import (
	"context"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/science/ageing"
	"elevage/science/quantity"
)

// A figure that has become a thing of the past says of which day it is: acidity of before
// the malic acid was gone is not the wine's, and least of all the bottles'. A density
// stands with its unit, and the must's is not the dry wine's.
func TestOldFiguresSayTheirDay(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	keep := func(month time.Month, day int, body cellar.Body) {
		t.Helper()
		at := time.Date(2026, month, day, 18, 0, 0, 0, evening.Location())
		if _, err := v.keep(context.Background(), at, cellar.Draft{Happened: cellar.At(at), Body: body}); err != nil {
			t.Fatal(err)
		}
	}
	read := func(month time.Month, day int, what, value, unit string) {
		t.Helper()
		keep(month, day, cellar.Reading{Vessel: "c1", What: what, Value: cellar.M(value, unit)})
	}
	keep(1, 5, cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("23", "L")})
	keep(1, 6, cellar.LotStarted{Slug: "gamay", Name: "Gamay", Colour: "red", Malolactic: cellar.MalolacticWanted})
	keep(1, 6, cellar.Movement{How: "filling", Lot: "gamay", To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("22", "L")}}})
	read(1, 7, cellar.ReadDensity, "1.058", "SG")
	if text := v.get("/lots/gamay").text(); !strings.Contains(text, "1.058 SG") {
		t.Errorf("a density without its unit: %s", text)
	}
	keep(1, 20, cellar.Verdict{Vessel: "c1", Says: cellar.VerdictDry})
	read(1, 21, cellar.ReadTA, "6.4", "g/L")
	read(1, 21, cellar.ReadPH, "3.41", "pH")
	if text := v.get("/lots/gamay").text(); strings.Contains(text, "density, read") {
		t.Errorf("the must's density stands for the dry wine's: %s", text)
	}
	keep(3, 30, cellar.Verdict{Vessel: "c1", Says: cellar.VerdictMalolacticFinished})
	read(4, 2, cellar.ReadPH, "3.52", "pH")
	keep(4, 3, cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("2", "g")})
	keep(4, 6, cellar.Reading{Vessel: "c1", What: cellar.ReadFreeSO2, Value: cellar.M("28", "mg/L")})
	v.get("/lots/gamay").shows(t, "21 Jan, before its malic acid was gone", "2 Apr", "236 d since the last SO2")
	keep(9, 1, cellar.Bottling{Slug: "gamay-bottles", From: []cellar.Portion{{Vessel: "c1", All: true}}, Count: 29, Size: cellar.M("750", "mL"), Closure: "cork"})
	text := v.get("/lots/gamay").text()
	if !regexp.MustCompile(`TA, read 6\.4 g/L \d+ mo old [^.]*21 Jan, before its malic acid was gone`).MatchString(text) {
		t.Errorf("the bottles' TA has no day: %s", text)
	}
	if !strings.Contains(text, "2 Apr, before it was bottled") {
		t.Errorf("the bottles' pH has no day: %s", text)
	}
}

// The page of a conversion says each thing once and in a winemaker's words: nothing of how
// it was reckoned, no day that has passed as one to come, no minus before nothing.
func TestWordsOfAConversion(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	for _, lot := range []string{"syrah", "zweigelt", "cabernet-franc", "grenache", "merlot", "petite-sirah", "blaufrankisch"} {
		text := v.get("/lots/" + lot).text()
		for _, not := range []string{"malo-", " seed ", " draws", "-0.00", "+0.00", "−0.00", "No test is worth making now", "at your prices", "most likely between"} {
			if strings.Contains(text, not) {
				t.Errorf("%s says %q", lot, not)
			}
		}
	}
	if text := v.get("/lots/grenache").text(); strings.Contains(text, "stop trying") || !strings.Contains(text, "Next test Run the chromatogram again, on a sample drawn from this vessel, as it stands above.") {
		t.Errorf("the readings contradict each other, and what to do about it is not plain: %s", text)
	}
	v.get("/lots/cabernet-franc").shows(t, "Stalled.", "stop trying and protect the wine", "That it has stopped is plain enough")
	if n := strings.Count(v.get("/lots/syrah").text(), "run a paper chromatogram"); n > 2 { // the call, the act
		t.Errorf("one test is proposed %d times over", n)
	}
}

// What waiting gains is said from today on: of waits that have gone by the last becomes
// today's, and where all have, only that there is nothing more to gain. Bound SO2 of 83
// mg/L at the end and 34 a week later: Jackowetz, Mira de Orduña 2012 (abstract).
func TestOnlyWaitsToComeAreOpen(t *testing.T) {
	t.Parallel()
	all, err := ageing.FirstDose(0, ageing.Standing{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		since   quantity.Days
		waits   []quantity.Days
		binders float64
	}{
		{0, []quantity.Days{0, 3, 7, 14, 21}, 83}, {5, []quantity.Days{5, 7, 14, 21}, 48}, {7, []quantity.Days{7, 14, 21}, 34}, {31, []quantity.Days{31}, 34},
	} {
		open := stillOpen(all.Choices, c.since)
		var waits []quantity.Days
		for _, o := range open {
			waits = append(waits, o.Wait)
		}
		if !slices.Equal(waits, c.waits) || math.Abs(open[0].Binders.MgPerL()-c.binders) > 0.01 || open[0].Unprotected != c.waits[0] {
			t.Errorf("after %v days: %v, %+v", c.since, waits, open[0])
		}
	}
	if all.Choices[0].Wait != 0 || all.Choices[1].Wait != 3 {
		t.Error("the table itself was changed")
	}
	page := demoToRead(t).get("/lots/merlot")
	if strings.Contains(page.text(), "before you wait") {
		t.Error("a wait is spoken of that has nothing more to gain")
	}
	page.shows(t, "The first sulfur dioxide: now, or later Its malic acid has been gone for about", "What a wait gains is gained: 34 mg/L of SO2 still bind")
}
