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
		"culture-split":     {[]time.Duration{0, 10 * time.Minute}, []string{"Culture into 50 mL", "c1 54 mL, c2 23 mL, c3 23 mL, b1 10 mL"}},
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
