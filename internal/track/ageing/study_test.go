package ageing_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"elevage/internal/track/ageing"
	"elevage/science/bayes"
	"elevage/science/quantity"
)

var study = flag.Bool("study", false, "run the long study and rewrite testdata/study.txt")

// A tally scores forecasts of one kind against a world.
type tally struct {
	bayes.Coverage
	width, miss, hand float64
}

func (c *tally) add(i quantity.Interval[quantity.Concentration], truth, hand float64) {
	c.Add(i.Q05.MgPerL(), i.Q95.MgPerL(), truth)
	c.width += i.Width().MgPerL()
	c.miss += math.Abs(i.Q50.MgPerL() - truth)
	c.hand += math.Abs(hand - truth)
}

func (c *tally) row(name string) string {
	n := float64(c.Total)
	return fmt.Sprintf("%-34s %5d %9.3f %10.1f %14.1f %14.1f\n", name, c.Total, c.Share(), c.width/n, c.miss/n, c.hand/n)
}

// lot is a parcel of a world with months behind it, and the record of it.
func lot(s int) *world {
	w := newWorld(uint64(s) + 70001) // none of them seen while the priors were set
	w.total = uniform(w.rng, 3, 20)
	w.free = w.settled()
	w.add(math.Round(uniform(w.rng, 45, 80)))
	w.live(3)
	w.read()
	for m := range 1 + s%10 {
		w.month(m, m%2 == 1 || s%2 == 0)
	}
	w.live(uniform(w.rng, 0, 30))
	return w
}

func coverage(lots int) (now, ahead60, ahead120 tally, day bayes.Coverage, text string) {
	var inner bayes.Coverage // of day, where the interval neither begins today nor is open
	for s := range lots {
		w := lot(s)
		in := w.recorded
		in.At, in.Horizon = w.at(), 200
		b, err := ageing.Believe(in)
		if err != nil {
			panic(err)
		}
		last := in.Readings[len(in.Readings)-1].Value.MgPerL()
		now.add(b.Free, w.free, last)
		cross, need := math.Inf(1), w.needs()
		for d := range 200 {
			if w.free < need && math.IsInf(cross, 1) {
				cross = float64(d)
			}
			switch d {
			case 60:
				ahead60.add(b.Forecast[60].Free, w.free, last)
			case 119: // the fan's weeks: 119 = 17 × 7
				for _, f := range b.Forecast {
					if int(quantity.Span(in.At, f.Day)+0.5) == 119 {
						ahead120.add(f.Free, w.free, last)
					}
				}
			}
			w.live(1)
		}
		lo, hi := math.Inf(1), math.Inf(1)
		if b.FallsUnder.Q05 != nil {
			lo = float64(quantity.Span(in.At, *b.FallsUnder.Q05))
		}
		if b.FallsUnder.Q95 != nil {
			hi = float64(quantity.Span(in.At, *b.FallsUnder.Q95))
		}
		day.Add(lo-1, hi+1, cross)
		if lo > 1 && !math.IsInf(hi, 1) {
			inner.Add(lo-1, hi+1, cross)
		}
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%-34s %5s %9s %10s %14s %14s\n", "free SO2, mg/L", "lots", "in 90 %", "width", "median misses", "last reading")
	out.WriteString(now.row("today"))
	out.WriteString(ahead60.row("60 days ahead"))
	out.WriteString(ahead120.row("119 days ahead"))
	fmt.Fprintf(&out, "%-34s %5d %9.3f\n", "day under the floor (200 ahead)", day.Total, day.Share())
	fmt.Fprintf(&out, "%-34s %5d %9.3f\n", "  both ends within the 200 days", inner.Total, inner.Share())
	return now, ahead60, ahead120, day, out.String()
}

// dosing gives each lot the dose that is to last three months, and by hand the dose
// that a rule of thumb gives: last reading up to ten over the floor, half of it
// binding. It counts the lots under the floor at the end, and the free SO2 to spare.
func dosing(lots int) string {
	type outcome struct{ short, spare, dose, deficit float64 }
	var belief, hand outcome
	for s := range lots {
		in := lot(s).recorded
		at := lot(s).at()
		in.At, in.Horizon, in.Until = at, 120, at.Add(quantity.Days(91).Duration())
		b, err := ageing.Believe(in)
		if err != nil {
			panic(err)
		}
		need := b.FloorFree.Q50.MgPerL()
		last := in.Readings[len(in.Readings)-1].Value.MgPerL()
		for o, dose := range map[*outcome]float64{&belief: b.Dose.SO2.MgPerL(), &hand: math.Max(0, need+10-last) / 0.5} {
			w := lot(s)
			w.add(dose)
			w.live(91)
			gap := w.free - w.needs()
			o.dose += dose / float64(lots)
			if gap < 0 {
				o.short += 1 / float64(lots)
				o.deficit -= gap / float64(lots)
			} else {
				o.spare += gap / float64(lots)
			}
		}
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%-44s %12s %14s %12s %12s\n", "three months after the dose, free SO2", "mean dose", "under floor", "deficit", "to spare")
	for _, r := range []struct {
		name string
		o    outcome
	}{{"dose of the belief (20 % risk accepted)", belief}, {"by hand: last reading to floor + 10, half binds", hand}} {
		fmt.Fprintf(&out, "%-44s %12.1f %13.1f%% %12.2f %12.1f\n", r.name, r.o.dose, 100*r.o.short, r.o.deficit, r.o.spare)
	}
	return out.String()
}

// learning shows how the intervals narrow with the number of readings.
func learning(lots int) string {
	counts := []int{0, 1, 3, 6, 12}
	width, ahead, rate := make([]float64, len(counts)), make([]float64, len(counts)), make([]float64, len(counts))
	inside := make([]bayes.Coverage, len(counts))
	for s := range lots {
		w := newWorld(uint64(s) + 50001)
		w.total = uniform(w.rng, 3, 20)
		w.free = w.settled()
		w.add(60)
		w.live(3)
		w.read()
		for m := range 11 {
			w.month(m, true)
		}
		w.live(7)
		at := w.at()
		truth := w.free
		for i, n := range counts {
			in := w.recorded
			in.At, in.Horizon = at, 120
			// spread over the year, the last kept: 12 readings thinned to n
			in.Readings = nil
			for k := range n {
				in.Readings = append(in.Readings, w.recorded.Readings[11-k*12/n])
			}
			b, err := ageing.Believe(in)
			if err != nil {
				panic(err)
			}
			width[i] += b.Free.Width().MgPerL() / float64(lots)
			ahead[i] += b.Forecast[len(b.Forecast)-1].Free.Width().MgPerL() / float64(lots)
			rate[i] += math.Log(float64(b.Loss.Q95/b.Loss.Q05)) / float64(lots)
			inside[i].Add(b.Free.Q05.MgPerL(), b.Free.Q95.MgPerL(), truth)
		}
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%-10s %18s %26s %30s %9s\n", "readings", "width today mg/L", "width 120 days ahead mg/L", "loss rate, 95 % over 5 %", "in 90 %")
	for i, n := range counts {
		fmt.Fprintf(&out, "%-10d %18.1f %26.1f %29.1fx %9.3f\n", n, width[i], ahead[i], math.Exp(rate[i]), inside[i].Share())
	}
	return out.String()
}

// Coverage on a world that is not the model. 90 % intervals are to hold the truth in
// 85 to 95 % of lots by the judgement of the design, and do in the study of a
// thousand (testdata/study.txt); these 80 may be off by two standard errors, 7 %. The
// day under the floor is often today or never, which any interval holds: it is
// judged in the study.
func TestIntervalsHoldOnAnotherSimulator(t *testing.T) {
	if testing.Short() {
		t.Skip("80 simulated cellars")
	}
	t.Parallel()
	now, a60, a120, _, text := coverage(80)
	t.Log("\n" + text)
	for name, share := range map[string]float64{"today": now.Share(), "60 days": a60.Share(), "119 days": a120.Share()} {
		if share < 0.80 {
			t.Errorf("%s: 90 %% intervals hold %.0f %% of truths", name, 100*share)
		}
	}
	if now.miss >= now.hand {
		t.Errorf("the belief misses by %.2f, the last reading by %.2f mg/L", now.miss, now.hand)
	}
}

func TestStudy(t *testing.T) {
	if !*study {
		t.Skip("long; run with -study")
	}
	_, _, _, _, text := coverage(1000)
	out := "# Written by: go test ./internal/track/ageing -run Study -study\n" +
		"# Worlds: mass-action binding, seasonal cellar, wandering ingress, 10 % unnoticed leaks,\n# heavy-tailed tests with 2 % slips (simulator_test.go). Seeds fixed.\n\n" +
		text + "\n" + learning(200) + "\n" + dosing(1000)
	t.Log("\n" + out)
	if err := os.WriteFile("testdata/study.txt", []byte(out), 0o644); err != nil {
		t.Fatal(err)
	}
}
