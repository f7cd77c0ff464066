package primary

import (
	"math"
	"testing"

	"elevage/science/quantity"
)

// The fast path against the solved course, over musts and temperatures that a cellar
// sees.
func TestGridKeepsToTheCourse(t *testing.T) {
	t.Parallel()
	wave := func(h float64) quantity.Temperature { return quantity.Temperature(20 + 6*math.Sin(h/50)) }
	for name, c := range map[string]struct {
		must Must
		temp Temperatures
		tol  float64
	}{
		"15 °C":           {Must{Sugar: 220, Nitrogen: 0.15, Yeast: 0.25}, Steady(15), 0.2},
		"20 °C":           {Must{Sugar: 240, Nitrogen: 0.2, Yeast: 0.25}, Steady(20), 0.2},
		"28 °C, lag":      {Must{Sugar: 250, Nitrogen: 0.25, Yeast: 0.25, Factors: LotFactors{Lag: 13, Beta: 0.8}}, Steady(28), 0.2},
		"34 °C, sticks":   {Must{Sugar: 265, Nitrogen: 0.08, Yeast: 0.25, Factors: LotFactors{Death: 1.5}}, Steady(34), 0.2},
		"wave, additions": {Must{Sugar: 245, Nitrogen: 0.1, Yeast: 0.2, Factors: LotFactors{Lag: 20, Mu: 0.8}, Added: []Nitrogen{{40, 0.04}, {80, 0.04}}}, wave, 0.2},
		"few cells":       {Must{Sugar: 230, Nitrogen: 0.18, Yeast: 0.005}, Steady(24), 0.2},
	} {
		course, err := Coleman.Course(c.must, c.temp, 20)
		if err != nil {
			t.Fatal(name, err)
		}
		g := Coleman.NewGrid(c.temp, 480)
		var p Path
		g.Run(&Draw{Must: c.must, Stall: math.Inf(1)}, &p, g.Nodes-1)
		worst := 0.0
		for h := 0.0; h < 480; h += 0.7 {
			worst = math.Max(worst, math.Abs(p.At(h)-course.At(h).Sugar.GPerL()))
		}
		t.Logf("%-16s step %.2f h, worst %.3f g/L", name, g.Step, worst)
		if worst > c.tol {
			t.Errorf("%s: %.2f g/L off", name, worst)
		}
		exact, ok := course.When(2)
		if got := p.When(2) / 24; ok && math.Abs(got-float64(exact)) > 0.1 {
			t.Errorf("%s: 2 g/L after %.3f days, exact %.3f", name, got, exact)
		}
	}
}

// Carrying on from a node must be the same as having gone through, but for what is
// interpolated inside a long step.
func TestGridCarriesOn(t *testing.T) {
	t.Parallel()
	g := Coleman.NewGrid(Steady(22), 300)
	m := Must{Sugar: 240, Nitrogen: 0.2, Yeast: 0.25, Factors: LotFactors{Lag: 9}}
	var whole, part Path
	g.Run(&Draw{Must: m, Stall: math.Inf(1)}, &whole, g.Nodes-1)
	mid := g.Run(&Draw{Must: m, Stall: math.Inf(1)}, &part, 40)
	g.Run(&Draw{Must: m, Stall: math.Inf(1), From: 40, State: mid}, &part, g.Nodes-1)
	for i := 40; i < g.Nodes; i++ {
		if math.Abs(whole.Sugar[i]-part.Sugar[i]) > 0.01 {
			t.Fatalf("node %d: %.12f and %.12f", i, whole.Sugar[i], part.Sugar[i])
		}
	}
}

func TestStallStops(t *testing.T) {
	t.Parallel()
	g := Coleman.NewGrid(Steady(22), 700)
	var p Path
	g.Run(&Draw{Must: Must{Sugar: 240, Nitrogen: 0.2, Yeast: 0.25}, Stall: 60, Fade: 12, Rest: 0.01}, &p, g.Nodes-1)
	if left := p.Sugar[g.Nodes-1]; left < 20 {
		t.Errorf("stalled after 60 h, yet only %.1f g/L left after a month", left)
	}
}

func BenchmarkGrid(b *testing.B) {
	g := Coleman.NewGrid(Steady(24), 14*24)
	var p Path
	d := Draw{Must: Must{Sugar: 240, Nitrogen: 0.2, Yeast: 0.25}, Stall: math.Inf(1)}
	for b.Loop() {
		g.Run(&d, &p, g.Nodes-1)
	}
}

func BenchmarkCourse(b *testing.B) {
	for b.Loop() {
		if _, err := Coleman.Course(Must{Sugar: 240, Nitrogen: 0.2, Yeast: 0.25}, Steady(24), 14); err != nil {
			b.Fatal(err)
		}
	}
}
