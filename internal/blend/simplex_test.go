package blend

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

// The classic two-product example of Dantzig's textbook kind: greatest 3x+5y with
// x ≤ 4, 2y ≤ 12, 3x+2y ≤ 18 is 36 at (2, 6) (Hillier and Lieberman, Introduction to
// Operations Research, the Wyndor Glass problem).
func TestSimplexTextbook(t *testing.T) {
	t.Parallel()
	p := programme{cost: []float64{-3, -5}, rows: [][]float64{{1, 0}, {0, 2}, {3, 2}}, limit: []float64{4, 12, 18}}
	x, cost, err := p.solve()
	if err != nil || math.Abs(cost+36) > 1e-9 || math.Abs(x[0]-2) > 1e-9 || math.Abs(x[1]-6) > 1e-9 {
		t.Errorf("%v %v %v", x, cost, err)
	}
}

func TestSimplexEnds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		p    programme
		want error
	}{
		{"no x", programme{cost: []float64{1}, rows: [][]float64{{1}, {-1}}, limit: []float64{1, -2}}, errInfeasible},
		{"no x that is equal", programme{cost: []float64{1, 1}, equal: [][]float64{{1, 1}, {2, 2}}, value: []float64{1, 3}}, errInfeasible},
		{"no least", programme{cost: []float64{-1}, rows: [][]float64{{-1}}, limit: []float64{1}}, errUnbounded},
		{"twice the same", programme{cost: []float64{1, 2}, equal: [][]float64{{1, 1}, {2, 2}}, value: []float64{1, 2}}, nil},
		{"nothing asked", programme{cost: []float64{1, 1}}, nil},
		{"empty row", programme{cost: []float64{1}, rows: [][]float64{{0}}, limit: []float64{0}}, nil},
		// Beale's example, on which the simplex method without Bland's rule goes round
		// for ever; its least cost is -1/20.
		{"Beale", programme{cost: []float64{-0.75, 150, -0.02, 6}, rows: [][]float64{{0.25, -60, -0.04, 9}, {0.5, -90, -0.02, 3}, {0, 0, 1, 0}}, limit: []float64{0, 0, 1}}, nil},
	} {
		x, cost, err := c.p.solve()
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v %v", c.name, x, err)
		}
		if c.name == "Beale" && math.Abs(cost+0.05) > 1e-9 {
			t.Errorf("Beale: %v", cost)
		}
	}
}

// On random programmes like those of blends, the least cost is that which gonum's
// simplex finds, and the x meets every row.
func TestSimplexAgainstGonum(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n, m := rapid.IntRange(1, 8).Draw(t, "n"), rapid.IntRange(0, 6).Draw(t, "m")
		// In thousandths: a row of 1e-14 is a row here and nothing to gonum, which then
		// breaks it by as much.
		number := rapid.Map(rapid.IntRange(-5000, 5000), func(k int) float64 { return float64(k) / 1000 })
		p := programme{}
		ones := make([]float64, n)
		for j := range n {
			p.cost = append(p.cost, number.Draw(t, "cost"))
			ones[j] = 1
			row := make([]float64, n)
			row[j] = 1
			p.rows, p.limit = append(p.rows, row), append(p.limit, rapid.Float64Range(0.05, 1).Draw(t, "most"))
		}
		for range m {
			row := make([]float64, n)
			for j := range row {
				row[j] = number.Draw(t, "row")
			}
			p.rows, p.limit = append(p.rows, row), append(p.limit, number.Draw(t, "limit"))
		}
		p.equal, p.value = [][]float64{ones}, []float64{1}
		x, cost, err := p.solve()
		want, gonumErr := gonum(&p)
		if gonumErr != nil && !errors.Is(gonumErr, lp.ErrInfeasible) {
			t.Skip(gonumErr) // gonum gives up on some degenerate ones
		}
		if (err == nil) != (gonumErr == nil) {
			// At the edge of what is feasible the two may round differently.
			if !nearlyFeasible(&p) {
				t.Fatalf("%v, gonum %v", err, gonumErr)
			}
			t.Skip("at the edge")
		}
		if err != nil {
			return
		}
		if math.Abs(cost-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("cost %v, gonum %v", cost, want)
		}
		for i, row := range p.rows {
			if over := dot(row, x) - p.limit[i]; over > 1e-7 {
				t.Errorf("row %d is over by %v", i, over)
			}
		}
	})
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// nearlyFeasible says whether a hair's breadth decides.
func nearlyFeasible(p *programme) bool {
	decide := func(by float64) error {
		q := *p
		q.limit = append([]float64(nil), p.limit...)
		for i := range q.limit {
			q.limit[i] += by
		}
		_, _, err := q.solve()
		return err
	}
	return (decide(1e-6) == nil) != (decide(-1e-6) == nil)
}

func gonum(p *programme) (float64, error) {
	n, m := len(p.cost), len(p.rows)
	a := mat.NewDense(m+1, n+m, nil)
	b := make([]float64, m+1)
	for i, row := range p.rows {
		for j, v := range row {
			a.Set(i, j, v)
		}
		a.Set(i, n+i, 1)
		b[i] = p.limit[i]
	}
	for j := range n {
		a.Set(m, j, 1)
	}
	b[m] = p.value[0]
	for i := range b { // gonum wants right sides of no less than 0
		if b[i] < 0 {
			for j := range n + m {
				a.Set(i, j, -a.At(i, j))
			}
			b[i] = -b[i]
		}
	}
	z, _, err := lp.Simplex(append(append([]float64(nil), p.cost...), make([]float64, m)...), a, b, 1e-10, nil)
	return z, err
}
