package ageing_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"elevage/internal/track/ageing"
	science "elevage/science/ageing"
	"elevage/science/quantity"
	"elevage/science/sulfite"

	"pgregory.net/rapid"
)

const mg = quantity.MilligramPerLitre

func date(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 9, 0, 0, 0, time.UTC) }

func carboy() ageing.Input {
	aim, _ := sulfite.Handbook.Target(0.5 * mg)
	kmbs, _ := sulfite.Powder(sulfite.PotassiumMetabisulfite, 1)
	return ageing.Input{
		Vessel: science.Glass, Volume: 23, PH: 3.55, Alcohol: 13, Red: true,
		Doses: []ageing.Dose{{ID: "d1", At: date(2025, 11, 3), SO2: 60 * mg}},
		Readings: []ageing.Reading{
			{ID: "r1", At: date(2025, 11, 6), Of: ageing.Free, Method: ageing.Aspiration, Value: 36 * mg},
			{ID: "r2", At: date(2025, 12, 10), Of: ageing.Free, Method: ageing.Aspiration, Value: 33 * mg},
		},
		At: date(2026, 1, 10), Floor: aim, Until: date(2026, 6, 1), Product: &kmbs,
	}
}

func believe(t *testing.T, in ageing.Input) ageing.Belief {
	t.Helper()
	b, err := ageing.Believe(in)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestSameDataSameBelief(t *testing.T) {
	t.Parallel()
	a, _ := json.Marshal(believe(t, carboy()))
	b, _ := json.Marshal(believe(t, carboy()))
	if string(a) != string(b) {
		t.Error("two runs over the same input differ")
	}
}

func TestWildReadingIsFlaggedAndHardlyMovesTheBelief(t *testing.T) {
	t.Parallel()
	calm := believe(t, carboy())
	in := carboy()
	in.Readings = append(in.Readings, ageing.Reading{ID: "swapped", At: date(2026, 1, 8), Of: ageing.Free, Method: ageing.Aspiration, Value: 92 * mg})
	b := believe(t, in)
	if moved := b.Free.Q50 - calm.Free.Q50; moved > 2*mg || moved < -2*mg {
		t.Errorf("free moved by %.1f mg/L on an absurd reading", moved.MgPerL())
	}
	found := false
	for _, f := range b.Flags {
		found = found || f.Code == "absurd-reading" && f.Entry == "swapped"
	}
	if !found {
		t.Errorf("no flag on the reading of 92: %+v", b.Flags)
	}
}

func TestIodineInRedsIsTakenDown(t *testing.T) {
	t.Parallel()
	red := carboy()
	for i := range red.Readings {
		red.Readings[i].Method = ageing.Iodine
	}
	white := red
	white.Red = false
	r, w := believe(t, red), believe(t, white)
	if r.Free.Q50 >= w.Free.Q50-1.5*mg {
		t.Errorf("red %.1f, white %.1f mg/L: the same iodine readings should mean less in a red", r.Free.Q50.MgPerL(), w.Free.Q50.MgPerL())
	}
}

// Late truth: the belief is a function of the set of entries, not of their arrival.
func TestOrderOfArrivalDoesNotMatter(t *testing.T) {
	t.Parallel()
	in := season()
	want, _ := json.Marshal(believe(t, in))
	rapid.Check(t, func(r *rapid.T) {
		in := season()
		in.Readings = rapid.Permutation(in.Readings).Draw(r, "readings")
		in.Events = rapid.Permutation(in.Events).Draw(r, "events")
		in.Doses = rapid.Permutation(in.Doses).Draw(r, "doses")
		in.Temperatures = rapid.Permutation(in.Temperatures).Draw(r, "temperatures")
		b, err := ageing.Believe(in)
		if err != nil {
			r.Fatal(err)
		}
		if got, _ := json.Marshal(b); string(got) != string(want) {
			r.Fatal("another order, another belief")
		}
	})
}

func TestTheDoseDoesWhatItSays(t *testing.T) {
	t.Parallel()
	in := season()
	in.Until = in.At.AddDate(0, 4, 0)
	b := believe(t, in)
	if b.Dose.SO2 <= 0 {
		t.Fatalf("the season's lot needs a dose: %v", b.Summary)
	}
	if math.Abs(b.Dose.Risk-in.Risk) > 0.03 && math.Abs(b.Dose.Risk-0.2) > 0.03 {
		t.Errorf("chance of falling short with the dose %.3f, asked for 0.2", b.Dose.Risk)
	}
	// give it as a plan and look at the day it must last to
	with := in
	with.Doses = append(with.Doses, ageing.Dose{At: in.At.Add(time.Hour), SO2: b.Dose.SO2})
	p := believe(t, with)
	last := p.Forecast[0]
	for _, d := range p.Forecast {
		if !d.Day.After(in.Until) {
			last = d
		}
	}
	if last.Below < 0.1 || last.Below > 0.26 {
		t.Errorf("with the dose planned, %.0f %% lie under the floor on %s; 20 were meant", 100*last.Below, last.Day)
	}
	// 23 L of powder at 57.63 % SO2: grams by hand
	grams := b.Dose.SO2.MgPerL() * 23 / 1000 / 0.5763
	if math.Abs(b.Dose.Take.Mass.Grams()/grams-1) > 1e-3 {
		t.Errorf("%.3f g, by hand %.3f g", b.Dose.Take.Mass.Grams(), grams)
	}
}

func TestMoreReadingsTeachTheVessel(t *testing.T) {
	t.Parallel()
	b := believe(t, season())
	prior, now := b.LossPrior.Q95/b.LossPrior.Q05, b.Loss.Q95/b.Loss.Q05
	if now > prior/1.5 {
		t.Errorf("loss rate: 95 over 5 %% went from %.1f to %.1f only", prior, now)
	}
	next := season()
	next.Readings, next.Prior = next.Readings[:1], &b.Learned
	alone := season()
	alone.Readings = alone.Readings[:1]
	if a, c := believe(t, alone), believe(t, next); c.Loss.Q95/c.Loss.Q05 >= a.Loss.Q95/a.Loss.Q05 {
		t.Error("the next lot in the vessel starts no wiser")
	}
}

func TestBadInputNamesItself(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		bend func(*ageing.Input)
		want string
	}{
		{"pH", func(i *ageing.Input) { i.PH = 34.7 }, "pH is 34.7: allowed is 2.5 to 4.5"},
		{"no day", func(i *ageing.Input) { i.At = time.Time{} }, "day of the belief is missing"},
		{"vessel", func(i *ageing.Input) { i.Vessel = "amphora" }, `vessel is "amphora"`},
		{"volume", func(i *ageing.Input) { i.Volume = 0 }, "volume is 0 L: allowed is 0.1 to 1e+06 L"},
		{"floor", func(i *ageing.Input) { i.Floor = sulfite.Target{} }, "floor for molecular SO2 is missing"},
		{"reading", func(i *ageing.Input) { i.Readings[0].Value = -3 * mg }, "free SO2 of 6 November 2025 is -3 mg/L: allowed is 0 to 1000 mg/L"},
		{"method", func(i *ageing.Input) { i.Readings[0].Method = "nose" }, `method of the reading of 6 November 2025 is "nose"`},
		{"dose", func(i *ageing.Input) { i.Doses[0].SO2 = 60 }, "SO2 added on 3 November 2025 is 60000 mg/L"},
		{"until", func(i *ageing.Input) { i.Until = i.At }, "date the dose must last to is 10 January 2026: allowed is after"},
		{"not a number", func(i *ageing.Input) { i.PH = quantity.PH(math.NaN()) }, "pH is NaN"},
	} {
		in := carboy()
		c.bend(&in)
		_, err := ageing.Believe(in)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// Nothing a person can type makes it panic or give NaN.
func TestAnyRecordGivesAnAnswer(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		in := carboy()
		in.Vessel = rapid.SampledFrom(science.Vessels()).Draw(r, "vessel")
		in.PH = quantity.PH(rapid.Float64Range(2.5, 4.5).Draw(r, "pH"))
		in.Readings, in.Doses, in.Horizon = nil, nil, 60
		when := func(what string) time.Time {
			return in.At.AddDate(0, 0, rapid.IntRange(-800, 60).Draw(r, what))
		}
		for range rapid.IntRange(0, 5).Draw(r, "readings") {
			in.Readings = append(in.Readings, ageing.Reading{At: when("read"), Of: rapid.SampledFrom([]ageing.Of{ageing.Free, ageing.Total}).Draw(r, "of"),
				Method: rapid.SampledFrom(ageing.Methods()).Draw(r, "method"), Value: quantity.Concentration(rapid.Float64Range(0, 0.3).Draw(r, "value")), Below: rapid.Bool().Draw(r, "below")})
		}
		for range rapid.IntRange(0, 3).Draw(r, "doses") {
			in.Doses = append(in.Doses, ageing.Dose{At: when("dose"), SO2: quantity.Concentration(rapid.Float64Range(0, 0.4).Draw(r, "SO2"))})
		}
		for range rapid.IntRange(0, 3).Draw(r, "events") {
			in.Events = append(in.Events, ageing.Event{At: when("event"), Kind: rapid.SampledFrom(science.Events()).Draw(r, "kind"), Air: quantity.Volume(rapid.Float64Range(0, 10).Draw(r, "air"))})
		}
		b, err := ageing.Believe(in)
		if err != nil {
			r.Fatal(err)
		}
		if _, err := json.Marshal(b); err != nil { // json refuses NaN and Inf
			r.Fatal(err)
		}
		if b.Free.Q05 > b.Free.Q50 || b.Free.Q50 > b.Free.Q95 || b.Free.Q05 < 0 {
			r.Fatalf("%+v", b.Free)
		}
	})
}

// season is a year of an invented carboy: two doses, eight readings, four events.
func season() ageing.Input {
	in := carboy()
	in.At, in.Until, in.Horizon = date(2026, 10, 20), date(2027, 2, 1), 200
	in.Doses = append(in.Doses, ageing.Dose{ID: "d2", At: date(2026, 4, 2), SO2: 15 * mg})
	in.Readings = nil
	for i, r := range []struct {
		m  time.Month
		d  int
		y  int
		mg float64
	}{{11, 6, 2025, 36}, {12, 10, 2025, 33}, {1, 20, 2026, 30}, {3, 30, 2026, 25}, {4, 6, 2026, 34}, {6, 12, 2026, 30}, {8, 15, 2026, 27}, {10, 5, 2026, 24}} {
		in.Readings = append(in.Readings, ageing.Reading{ID: fmt.Sprint("r", i), At: date(r.y, r.m, r.d), Of: ageing.Free, Method: ageing.Aspiration, Value: quantity.Concentration(r.mg) * mg})
		in.Temperatures = append(in.Temperatures, ageing.Temperature{At: date(r.y, r.m, r.d), Value: []quantity.Temperature{14, 13, 12, 13, 14, 17, 19, 16}[i]})
	}
	in.Readings = append(in.Readings, ageing.Reading{ID: "t", At: date(2026, 4, 6), Of: ageing.Total, Method: ageing.Laboratory, Value: 84 * mg})
	in.Events = []ageing.Event{{ID: "e1", At: date(2026, 2, 10), Kind: science.RackingCareful}, {ID: "e2", At: date(2026, 5, 1), Kind: science.Opened}, {ID: "e3", At: date(2026, 7, 1), Kind: science.Topping}, {ID: "e4", At: date(2026, 9, 1), Kind: science.AirOver, Air: 0.2}}
	return in
}

func BenchmarkBelief(b *testing.B) {
	in := carboy()
	for b.Loop() {
		if _, err := ageing.Believe(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBeliefOfAYear(b *testing.B) {
	in := season()
	for b.Loop() {
		if _, err := ageing.Believe(in); err != nil {
			b.Fatal(err)
		}
	}
}

// Where no date is asked for, a dose lasts three months, or less where free SO2 would
// stand above what is tasted, 50 mg/L (common practice, no source); a date that is
// asked for is kept.
func TestAnOpenDoseIsNotTasted(t *testing.T) {
	t.Parallel()
	in := season()
	in.Until, in.PH = time.Time{}, 3.74 // the floor asks for more free SO2 than at 3.5
	asked := in
	asked.Until = in.At.AddDate(0, 3, 0)
	far, near := believe(t, asked), believe(t, in)
	if far.Dose.After.Q50.MgPerL() <= 50 {
		t.Fatalf("free SO2 %.0f mg/L: this lot tests nothing", far.Dose.After.Q50.MgPerL())
	}
	if !far.Dose.Until.Equal(asked.Until) {
		t.Errorf("asked until %s, reckoned until %s", asked.Until, far.Dose.Until)
	}
	if days := near.Dose.Until.Sub(in.At).Hours() / 24; days >= 91 || days < 31 || near.Dose.SO2 >= far.Dose.SO2 {
		t.Errorf("lasts %.0f days with %.0f mg/L; three months want %.0f", days, near.Dose.SO2.MgPerL(), far.Dose.SO2.MgPerL())
	}
}

// Nothing is to be added to closed bottles, and no sentence speaks of a dose.
func TestClosedBottlesGetNoDose(t *testing.T) {
	t.Parallel()
	in := season()
	in.Closed = true
	b := believe(t, in)
	if b.Dose.SO2 != 0 || b.Measure.Worth {
		t.Errorf("dose %+v, measure %+v", b.Dose, b.Measure)
	}
	for _, s := range b.Summary {
		if strings.Contains(s, "added today") || strings.Contains(s, "dose") {
			t.Errorf("closed bottles: %s", s)
		}
	}
	for _, f := range b.Flags {
		if f.Code == "sulfite-handling" || f.Code == "free-high" {
			t.Errorf("closed bottles: %s", f.Text)
		}
	}
}
