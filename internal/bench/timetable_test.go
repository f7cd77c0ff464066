package bench

import (
	"strings"
	"testing"
	"time"
)

// Every timetable against the waits that the calculator itself states: 15 to 20
// minutes and 10 to 20 a step (AWRI, top tips for a successful yeast culture),
// activation 18 to 24 h (AWRI, preparation of an MLF starter culture).
func TestTimetables(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]struct {
		after []time.Duration
		says  []string
	}{
		// 38 °C to within 10 °C of 18 °C in one step of 10
		"yeast-rehydration": {[]time.Duration{0, 20 * time.Minute, 35 * time.Minute}, []string{"Sprinkle 25.0 g of yeast on 250 mL", "28 °C", "Pitch it"}},
		"culture-split":     {[]time.Duration{0, 10 * time.Minute}, []string{"2.50 g of culture into 50 mL of chlorine-free water at 20 to 25 °C", "c1 54 mL, c2 23 mL, c3 23 mL, b1 10 mL"}},
		"bacteria-starter":  {[]time.Duration{0, 18 * time.Hour, 72 * time.Hour, 120 * time.Hour}, []string{"1 activation", "2 half wine", "3 three quarters", "4 into the wine"}},
		"rescue-culture":    {[]time.Duration{0, 20 * time.Minute, 24 * time.Hour, 48 * time.Hour, 72 * time.Hour}, []string{"A: rehydrate", "B: into", "C: add", "D: double", "E: into"}},
	} {
		c, err := Find(name)
		if err != nil {
			t.Fatal(err)
		}
		given, err := ParseArgs(c.Example)
		if err != nil {
			t.Fatal(err)
		}
		res, err := c.Run(given)
		if err != nil {
			t.Fatal(err)
		}
		got := res.Timetable()
		if len(got) != len(want.after) || !Timed(name) {
			t.Fatalf("%s: %d steps: %+v", name, len(got), got)
		}
		for i, m := range got {
			if m.After != want.after[i] || !strings.Contains(m.Do, want.says[i]) || m.Then == "" {
				t.Errorf("%s, step %d: %+v", name, i, m)
			}
			if m.Until != 0 && m.Until < m.After {
				t.Errorf("%s, step %d is late before it is due: %+v", name, i, m)
			}
		}
	}
	if Timed("blend") {
		t.Error("a blend runs by the clock")
	}
}

// The acclimation as it is commonly done: nutrient in the water, 15 minutes, juice, 15
// minutes, wine, and then divided (common practice, no source), with whatever figures
// the packet has.
func TestAcclimationRunsByTheClock(t *testing.T) {
	t.Parallel()
	c, err := Find("culture-split")
	if err != nil {
		t.Fatal(err)
	}
	res, err := c.Run(Given{"lots": "c1,54;c2,23", "packet_g": 4.0, "packet_volume_l": 250.0, "nutrient_g_per_g": 20.0, "water_low_c": 24.5, "water_high_c": 25.5,
		"soak_min": 18.0, "juice_ml_per_g": 100.0, "wine_ml_per_g": 50.0, "wine_min": 30.0})
	if err != nil {
		t.Fatal(err)
	}
	got := res.Timetable()
	want := []struct {
		after, until time.Duration
		says         string
	}{
		{0, 0, "80.0 g of nutrient, then 4.00 g of culture, into 400 mL of chlorine-free water at 24.5 to 25.5 °C"},
		{12 * time.Minute, 18 * time.Minute, "400 mL of juice"}, {27 * time.Minute, 33 * time.Minute, "200 mL of the wine"},
		{57 * time.Minute, 63 * time.Minute, "Make up to 1000.0 mL"},
	}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, m := range got {
		if m.After != want[i].after || m.Until != want[i].until || !strings.Contains(m.Do, want[i].says) {
			t.Errorf("step %d: %+v", i, m)
		}
	}
}
