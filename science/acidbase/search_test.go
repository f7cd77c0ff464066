package acidbase

import (
	"math"
	"testing"

	"elevage/science/quantity"

	"pgregory.net/rapid"
)

// The two ways to solve agree: Newton on pH and ionic strength together, and the
// bracketed search that stands behind it; over wilder solutions than wine, where
// Newton may hand over to the search by itself.
func TestSearchAgreesWithNewton(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		abv := quantity.Strength(rapid.Float64Range(0, 20).Draw(t, "alcohol"))
		m, err := NewMedium(abv, quantity.Celsius(rapid.Float64Range(0, 40).Draw(t, "temperature")))
		if err != nil {
			t.Fatal(err)
		}
		p := problem{medium: &m, strong: rapid.Float64Range(-0.02, 0.15).Draw(t, "strong")}
		for a := range p.tot {
			if rapid.Bool().Draw(t, "present") {
				p.tot[a] = rapid.Float64Range(0, 0.08).Draw(t, Acid(a).String())
			}
		}
		start := state{lnh: -math.Ln10 * rapid.Float64Range(1, 12).Draw(t, "start"), ionic: rapid.Float64Range(1e-6, 0.2).Draw(t, "ionic")}
		newton, err := p.solve(start)
		if err != nil {
			t.Skip(err)
		}
		nested, err := p.search()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(newton.lnh-nested.lnh) > 1e-8 || math.Abs(newton.ionic-nested.ionic) > 1e-9 {
			t.Fatalf("Newton: pH %g, I %g; search: pH %g, I %g", -newton.lnh/math.Ln10, newton.ionic, -nested.lnh/math.Ln10, nested.ionic)
		}
		if miss := newton.need() - p.strong; math.Abs(miss) > 1e-12 {
			t.Fatalf("charges off by %g", miss)
		}
	})
}

// No pH balances a solution of strong acid beyond the scale.
func TestNoEquilibrium(t *testing.T) {
	t.Parallel()
	c := Composition{StrongIons: 1.9, Temperature: 20} // two molar base: pH above 14 but within the bracket
	if _, err := c.PH(); err != nil {
		t.Error(err)
	}
	m, err := c.Medium()
	if err != nil {
		t.Fatal(err)
	}
	p := problem{medium: &m, strong: 1e4}
	if _, err := p.search(); err != ErrNoEquilibrium {
		t.Errorf("got %v", err)
	}
}
