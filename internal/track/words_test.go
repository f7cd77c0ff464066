package track

import (
	"math"
	"strings"
	"testing"
	"time"

	"elevage/science/quantity"
)

func november(d int) Date { return Date{time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC)} }

// A reading of TA 0.28 g/L below what the others expect speaks of 0.5 g/L less
// malic acid: one equivalent a mole, 0.56 g/L as tartaric for each g/L
// (stoichiometry, molar masses 134.087 and 150.087).
func TestImplied(t *testing.T) {
	b := Belief{Initial: Spread[quantity.Concentration]{Q50: 2}, Fan: []FanDay{{On: november(1), Q50: 2}, {On: november(11), Q50: 1}}}
	for _, c := range []struct {
		pull        Pull
		lo, mid, hi float64
		ok          bool
	}{
		{Pull{On: november(1), What: Malic, Value: "1.00"}, -1, 1, -1, true},
		{Pull{On: november(6), What: TA, Value: "5.42", Expected: "5.70 ± 0.20"}, -1, 1.0, -1, true},
		{Pull{On: november(6), What: PH, Value: "3.50", Expected: "3.50 ± 0.03"}, -1, 1.5, -1, true},
		{Pull{On: november(6), What: Chromatogram, Value: SpotNone}, 0, 0.06, 0.12, true},
		{Pull{On: november(6), What: Bubble, Value: "9 min"}, 0, 0, 0, false},
		{Pull{On: november(20), What: TA, Value: "5.4", Expected: "5.5 ± 0.2"}, 0, 0, 0, false},
		{Pull{On: november(6), What: TA, Value: "5.4"}, 0, 0, 0, false},
		// The only titration: what the others expect is as wide as all wines are, and
		// what it speaks of is the wine's other acids.
		{Pull{On: november(6), What: TA, Value: "7.8", Expected: "6.08 ± 1.52 g/L"}, 0, 0, 0, false},
		{Pull{On: november(6), What: TA, Value: "5.42", Expected: "5.70 ± 0.20 g/L"}, -1, 1.0, -1, true},
	} {
		lo, mid, hi, ok := b.Implied(c.pull)
		if ok != c.ok {
			t.Errorf("%+v: ok %v, want %v", c.pull, ok, c.ok)
			continue
		}
		if !ok {
			continue
		}
		if math.Abs(mid.GPerL()-c.mid) > 0.01 || lo > mid || hi < mid {
			t.Errorf("%+v: %.3f, %.3f, %.3f; want the middle at %.2f", c.pull, lo, mid, hi, c.mid)
		}
		if c.lo >= 0 && (math.Abs(lo.GPerL()-c.lo) > 1e-9 || math.Abs(hi.GPerL()-c.hi) > 1e-9) {
			t.Errorf("%+v: from %v to %v, want %v to %v", c.pull, lo, hi, c.lo, c.hi)
		}
	}
}

// Giving up is said of a wine that has likely stopped, not of one that is only late; and
// a sentence rounds a chance as the table beside it does.
func TestStuckInWords(t *testing.T) {
	t.Parallel()
	k := Stuck{Causes: []Cause{{What: "cold", Seen: "13 °C", Needs: "20 °C all along", Harm: 0.4}},
		Tries: []Try{{What: "wait", Within: 0.245}, {What: "warm to 21 °C", Within: 0.305, Gain: 0.06, Days: 30, BreakEven: 500}}}
	stopped, late := strings.Join(k.say(true, 0.6), " "), strings.Join(k.say(false, 0.6), " ")
	if !strings.Contains(stopped, "stop trying and protect the wine") || strings.Contains(late, "stop trying") {
		t.Errorf("stopped: %s\nlate: %s", stopped, late)
	}
	for _, says := range []string{"31 %", "25 % by waiting", "Counting 0.60 for each day", "more than 500"} {
		if !strings.Contains(late, says) {
			t.Errorf("%q is not in: %s", says, late)
		}
	}
	k.Tries[1].BreakEven = 0
	if late := strings.Join(k.say(false, 0.6), " "); !strings.HasSuffix(late, "No remedy here helps more than waiting.") {
		t.Errorf("late, and nothing helps: %s", late)
	}
}

// Not yet has three kinds, and each says its own.
func TestNotYetInWords(t *testing.T) {
	t.Parallel()
	for says, s := range map[string]State{
		"It has hardly begun, with a chance of 98 %; the chance that it is finished is under 1 %.": {Lagging: 0.98, Active: 0.005, Stalled: 0.01, Finished: 0.005},
		"Malic acid is left: still going with a chance of 53 %, stopped for good with 47 %.":       {Lagging: 0.06, Active: 0.47, Stalled: 0.47},
		"Still converting or about to: the chance that it is finished is 4 %.":                     {Lagging: 0.2, Active: 0.66, Stalled: 0.1, Finished: 0.04},
	} {
		if got := notYet(s); got != says {
			t.Errorf("%+v: %q, want %q", s, got, says)
		}
	}
}
