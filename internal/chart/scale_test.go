package chart

import (
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // a zone with summer time, wherever the test runs

	"pgregory.net/rapid"
)

// TestLinearTicksAreNice: labels at 1, 2 or 5 times a power of ten are the choice
// of P. Heckbert, "Nice numbers for graph labels", Graphics Gems (1990), 61–63.
func TestLinearTicksAreNice(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e6, 1e6).Draw(t, "lo")
		hi := lo + math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "span"))
		n := rapid.IntRange(1, 12).Draw(t, "n")
		ks := linearTicks(lo, hi, n)
		if len(ks) > n+1 {
			t.Fatalf("%d ticks, asked for at most %d steps", len(ks), n)
		}
		seen := map[string]bool{}
		for i, k := range ks {
			if k.v < lo-(hi-lo)*1e-6 || k.v > hi+(hi-lo)*1e-6 {
				t.Fatalf("tick %g outside %g to %g", k.v, lo, hi)
			}
			if seen[k.label] {
				t.Fatalf("label %q twice in %v", k.label, ks)
			}
			seen[k.label] = true
			if i == 0 {
				continue
			}
			step := k.v - ks[i-1].v
			m := step / math.Pow(10, math.Floor(math.Log10(step)+1e-6))
			if math.Abs(m-1) > 1e-3 && math.Abs(m-2) > 1e-3 && math.Abs(m-5) > 1e-3 {
				t.Fatalf("step %g is %g times a power of ten", step, m)
			}
		}
	})
}

func TestLinearTickLabels(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		lo, hi float64
		n      int
		want   string
	}{
		"grams":    {0, 2.5, 5, "0.0 0.5 1.0 1.5 2.0 2.5"},
		"pH":       {3.3, 3.8, 5, "3.3 3.4 3.5 3.6 3.7 3.8"},
		"below":    {-1, 1, 4, "−1.0 −0.5 0.0 0.5 1.0"},
		"hundreds": {0, 400, 5, "0 100 200 300 400"},
		"nothing":  {3, 3, 5, ""},
	} {
		var got []string
		for _, k := range linearTicks(c.lo, c.hi, c.n) {
			got = append(got, k.label)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %q, want %q", name, s, c.want)
		}
	}
}

func TestLogTicks(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		lo, hi float64
		n      int
		want   string
	}{
		"decades":     {0.01, 10, 4, "0.01 0.1 1 10"},
		"one decade":  {0.1, 1, 6, "0.1 0.2 0.5 1"},
		"two decades": {0.1, 10, 5, "0.1 0.3 1 3 10"},
		"not above 0": {-1, 10, 5, ""},
	} {
		var got []string
		for _, k := range logTicks(c.lo, c.hi, c.n) {
			got = append(got, k.label)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %q, want %q", name, s, c.want)
		}
	}
}

// TestScaleKeepsOrder: more is never drawn lower, and the ends lie at the ends.
func TestScaleKeepsOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(0.001, 100).Draw(t, "lo")
		s := scale{lo: lo, hi: lo + rapid.Float64Range(0.01, 1000).Draw(t, "span"), a: 200, b: 20, log: rapid.Bool().Draw(t, "log")}
		x := rapid.Float64Range(-10, 2000).Draw(t, "x")
		y := x + rapid.Float64Range(0, 100).Draw(t, "more")
		if s.at(y) > s.at(x)+1e-9 {
			t.Fatalf("%g lies at %g, %g at %g", x, s.at(x), y, s.at(y))
		}
		if math.Abs(s.at(s.lo)-200) > 1e-9 || math.Abs(s.at(s.hi)-20) > 1e-9 {
			t.Fatalf("ends lie at %g and %g", s.at(s.lo), s.at(s.hi))
		}
	})
}

func TestTimeTicks(t *testing.T) {
	t.Parallel()
	day := func(s string) time.Time {
		d, err := time.Parse("2006-01-02", s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for name, c := range map[string]struct {
		from, to string
		width    float64
		want     string
	}{
		// The Gregorian calendar: 12 Oct 2026 is a Monday.
		"days":     {"2026-10-12", "2026-10-16", 270, "12/Oct 13 14 15 16"},
		"weeks":    {"2026-10-09", "2026-11-06", 270, "12/Oct 19 26 2/Nov"},
		"months":   {"2026-09-15", "2027-02-15", 270, "Oct/2026 Nov Dec Jan/2027 Feb"},
		"quarters": {"2026-02-01", "2027-12-31", 330, "Apr/2026 Jul Oct Jan/2027 Apr Jul Oct"},
		"years":    {"2020-03-01", "2030-03-01", 600, "2021 2022 2023 2024 2025 2026 2027 2028 2029 2030"},
		"nothing":  {"2026-03-01", "2026-03-01", 600, ""},
	} {
		var got []string
		for _, k := range (timescale{from: day(c.from), to: day(c.to), b: c.width}).ticks(textSize) {
			l := k.label
			if k.under != "" {
				l += "/" + k.under
			}
			got = append(got, l)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %q, want %q", name, s, c.want)
		}
	}
}

// TestTimeTicksOverSummerTime: days are days of the calendar, not of 24 hours. In
// Zürich clocks went back on 25 Oct 2026 (last Sunday of October, EU directive 2000/84/EC, followed by Switzerland).
func TestTimeTicksOverSummerTime(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	s := timescale{from: time.Date(2026, 10, 23, 0, 0, 0, 0, zone), to: time.Date(2026, 10, 28, 12, 0, 0, 0, zone), b: 400}
	ks := s.ticks(textSize)
	if len(ks) != 6 {
		t.Fatalf("%d ticks for six days", len(ks))
	}
	for i, k := range ks {
		if k.at.Hour() != 0 || k.at.Day() != 23+i {
			t.Errorf("tick %d at %v, want midnight of the %d.", i, k.at, 23+i)
		}
	}
}

// TestSplitAtLosesNothing: both halves of a fan meet at the cut and hold every point once.
func TestSplitAtLosesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pts := fall(-20, 20, rapid.IntRange(1, 7).Draw(t, "step"))
		cut := in(rapid.Float64Range(-25, 25).Draw(t, "cut"))
		past, ahead := splitAt(pts, cut)
		have := map[time.Time]int{}
		for _, q := range append(append([]FanPoint{}, past...), ahead...) {
			have[q.At]++
		}
		for _, q := range pts {
			if have[q.At] == 0 {
				t.Fatalf("point of %v is lost", q.At)
			}
		}
		if len(past) > 0 && len(ahead) > 0 {
			if end := past[len(past)-1]; end != ahead[0] || !end.At.Equal(cut) {
				t.Fatalf("halves meet at %v and %v, cut at %v", end.At, ahead[0].At, cut)
			}
		}
		for _, q := range past {
			if q.At.After(cut) {
				t.Fatalf("past holds %v, after the cut %v", q.At, cut)
			}
		}
	})
}

// TestRiverKeepsItsThickness: a band is as thick as what it holds, a flow as what it
// carries, and flows that leave together lie side by side within what was there.
func TestRiverKeepsItsThickness(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Float64Range(60, 300).Draw(t, "litres")
		up := rapid.Float64Range(10, total/2-10).Draw(t, "up")
		down := rapid.Float64Range(10, total/2-10).Draw(t, "down")
		whole := rapid.Bool().Draw(t, "whole")
		left := total - up - down
		if whole {
			left = 0
		}
		c := River{Now: in(10), Bands: []Band{
			{ID: "b", Name: "b", Points: []RiverPoint{{in(-30), 5}, {in(-5), 5 + up}}},
			{ID: "a", Name: "a", Points: []RiverPoint{{in(-20), total}, {in(-5), left}}},
			{ID: "c", Name: "c", Points: []RiverPoint{{in(-5), down}}}},
			Flows: []Flow{{"a", "b", in(-5), up}, {"a", "c", in(-5), down}}}
		p := c.plan(Wide)
		for id, want := range map[string]float64{"a": left, "b": 5 + up, "c": down} {
			l := p.lanes[id]
			if got := l.at(p.nowX) / p.perL; math.Abs(got-want) > thinnest/p.perL {
				t.Fatalf("%s is %g L thick, holds %g L", id, got, want)
			}
		}
		a := p.lanes["a"]
		first, second := p.flows[0], p.flows[1]
		if math.Abs(first.width/p.perL-up) > 1e-6*total || math.Abs(second.width/p.perL-down) > 1e-6*total {
			t.Fatalf("flows of %g and %g L carry %g and %g L", first.width/p.perL, second.width/p.perL, up, down)
		}
		if first.y0+first.width/2 > second.y0-second.width/2+0.01 || !whole && second.y0-second.width/2-first.y0-first.width/2 < left*p.perL-0.01 {
			t.Fatalf("they leave over each other or over what stays: %+v %+v", first, second)
		}
		if half := p.thick(total) / 2; !whole && (first.y0-first.width/2 < a.mid-half-0.01 || second.y0+second.width/2 > a.mid+half+0.01) {
			t.Fatalf("they leave beside the band")
		}
	})
}

// Wine that moves on whole stays in its row; what splits off lies under it; nothing
// in one row overlaps in time; wines lie in the order of their beginning.
func TestRiverRows(t *testing.T) {
	t.Parallel()
	c := River{Now: in(10), Reaches: []Reach{{ID: "old", Name: "Old"}, {ID: "new", Name: "New"}}, Bands: []Band{
		{ID: "n", Reach: "new", Name: "bin", Points: []RiverPoint{{in(-40), 80}, {in(-30), 0}}},
		{ID: "o", Reach: "old", Name: "cask", Points: []RiverPoint{{in(-90), 50}}},
		{ID: "n2", Reach: "new", Name: "carboy", Points: []RiverPoint{{in(-30), 20}}},
		{ID: "n1", Reach: "new", Name: "demijohn", Points: []RiverPoint{{in(-30), 50}, {in(-3), 0}}},
		{ID: "n3", Reach: "new", Name: "keg", Points: []RiverPoint{{in(-3), 49}}}},
		Flows: []Flow{{"n", "n1", in(-30), 50}, {"n", "n2", in(-30), 20}, {"n1", "n3", in(-3), 49}}}
	p := c.plan(Wide)
	if len(p.stages) != 2 || p.stages[0].ID != "old" || len(p.stages[1].rows) != 2 {
		t.Fatalf("%d stretches", len(p.stages))
	}
	mid := func(id string) float64 { return p.lanes[id].mid }
	if mid("n") != mid("n1") || mid("n1") != mid("n3") || mid("n2") <= mid("n1") || mid("o") >= mid("n") {
		t.Errorf("rows at %g, %g, %g; %g; %g", mid("n"), mid("n1"), mid("n3"), mid("n2"), mid("o"))
	}
	for _, s := range p.stages {
		for _, row := range s.rows {
			for i := 1; i < len(row); i++ {
				if row[i-1].end.IsZero() || row[i-1].end.After(row[i].begin) {
					t.Errorf("%s and %s share a row and overlap", row[i-1].band.Name, row[i].band.Name)
				}
			}
		}
	}
	c.PerYear = 4000
	if wide := c.plan(Wide); wide.w <= p.w {
		t.Errorf("a year of 4000 is drawn %g wide in all", wide.w)
	}
}

func TestPercentNeverSaysCertain(t *testing.T) {
	t.Parallel()
	for p, want := range map[float64]string{0: "< 1 %", 0.004: "< 1 %", 0.5: "50 %", 0.994: "> 99 %", 1: "> 99 %", -0.1: "–", 1.2: "–"} {
		if got := percent(p); got != want {
			t.Errorf("%g: %q, want %q", p, got, want)
		}
	}
}
