package ode

import (
	"errors"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"elevage/internal/published"
)

var systems = map[string]struct {
	f   System
	y0  []float64
	end float64
	tol float64 // relative to max(1, |value|), with Relative 1e-12 and Absolute 1e-13
}{
	"oscillator": {func(t float64, y, dy []float64) { dy[0], dy[1] = y[1], -y[0] }, []float64{1, 0}, 20, 2e-11},
	"lotka-volterra": {func(t float64, y, dy []float64) {
		dy[0], dy[1] = 1.1*y[0]-0.4*y[0]*y[1], 0.1*y[0]*y[1]-0.4*y[1]
	}, []float64{10, 5}, 15, 2e-11},
	"arenstorf":       {arenstorf, []float64{0.994, 0, 0, -2.00158510637908252240537862224}, 17.0652165601579625588917206249, 1e-7},
	"logistic-season": {func(t float64, y, dy []float64) { dy[0] = y[0] * (1 - y[0]) * (1 + math.Sin(t)) }, []float64{0.01}, 12, 2e-11},
}

// arenstorf is a closed orbit of the restricted three-body problem, of Hairer,
// Nørsett & Wanner; it magnifies errors some 10^5-fold.
func arenstorf(_ float64, u, du []float64) {
	const m = 0.012277471
	const n = 1 - m
	x, y := u[0], u[1]
	d1, d2 := math.Pow((x+m)*(x+m)+y*y, 1.5), math.Pow((x-n)*(x-n)+y*y, 1.5)
	du[0], du[1] = u[2], u[3]
	du[2] = x + 2*u[3] - n*(x+m)/d1 - m*(x-n)/d2
	du[3] = y - 2*u[2] - n*y/d1 - m*y/d2
}

// Against SciPy's eighth-order solver at 1e-13 (testdata/reference.py).
func TestAgainstSciPy(t *testing.T) {
	t.Parallel()
	solved := map[string]*Solution{}
	worst := map[string]float64{}
	for _, row := range published.Lines(t, "testdata/scipy.csv") {
		c := systems[row[0]]
		s := solved[row[0]]
		if s == nil {
			var err error
			if s, err = (Solver{Relative: 1e-12, Absolute: 1e-13}).Solve(c.f, 0, c.end, c.y0); err != nil {
				t.Fatal(row[0], err)
			}
			solved[row[0]] = s
		}
		at, want := published.Number(t, row[1]), published.Number(t, row[3])
		j, _ := strconv.Atoi(row[2])
		off := math.Abs(s.At(at)[j]-want) / math.Max(1, math.Abs(want))
		worst[row[0]] = math.Max(worst[row[0]], off)
		if off > c.tol {
			t.Errorf("%s at %.3f: component %d is %.15g, SciPy %.15g (off %.1e)", row[0], at, j, s.At(at)[j], want, off)
		}
	}
	t.Log("largest difference:", worst)
	if len(solved) != len(systems) {
		t.Errorf("%d systems of %d", len(solved), len(systems))
	}
}

// A fifth-order method gains 2^5 for half the tolerance's step: the error must
// follow the tolerance over six decades.
func TestErrorFollowsTheTolerance(t *testing.T) {
	t.Parallel()
	c := systems["oscillator"]
	last := math.Inf(1)
	for _, tol := range []float64{1e-4, 1e-6, 1e-8, 1e-10} {
		s, err := Solver{Relative: tol, Absolute: tol}.Solve(c.f, 0, 20, c.y0)
		if err != nil {
			t.Fatal(err)
		}
		e := math.Abs(s.At(20)[0] - math.Cos(20))
		if e > 100*tol || e > last/20 {
			t.Errorf("tolerance %g: error %g, before %g", tol, e, last)
		}
		last = e
	}
}

func TestEventsOfAFallingStone(t *testing.T) {
	t.Parallel()
	fall := func(t float64, y, dy []float64) { dy[0], dy[1] = y[1], -9.81 }
	height := func(h float64) func(float64, []float64) float64 {
		return func(_ float64, y []float64) float64 { return y[0] - h }
	}
	s, err := Solver{}.Solve(fall, 0, 10, []float64{20, 5},
		Event{At: height(21)}, Event{At: height(21), Falling: true}, Event{At: height(0), Terminal: true}, Event{At: height(10), Rising: true})
	if err != nil {
		t.Fatal(err)
	}
	// closed form: h = 20 + 5t − 4.905t²
	time := func(h, sign float64) float64 { return (5 + sign*math.Sqrt(25-4*4.905*(h-20))) / (2 * 4.905) }
	want := []Hit{{Event: 0, T: time(21, -1)}, {Event: 0, T: time(21, 1)}, {Event: 1, T: time(21, 1)}, {Event: 2, T: time(0, 1)}}
	if len(s.Hits) != len(want) {
		t.Fatalf("%d hits: %+v", len(s.Hits), s.Hits)
	}
	for i, w := range want {
		if s.Hits[i].Event != w.Event || math.Abs(s.Hits[i].T-w.T) > 1e-9 {
			t.Errorf("hit %d: event %d at %.12f, want %d at %.12f", i, s.Hits[i].Event, s.Hits[i].T, w.Event, w.T)
		}
	}
	if end := s.T[len(s.T)-1]; end != s.Hits[3].T {
		t.Errorf("the solution ends at %g and not at the terminal event", end)
	}
	if h := s.At(1)[0]; math.Abs(h-(20+5-4.905)) > 1e-9 {
		t.Errorf("height after a second %g", h)
	}
}

func TestBackwardsUndoesForwards(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-2, 2).Draw(t, "a"), rapid.Float64Range(-2, 2).Draw(t, "b")
		span := rapid.Float64Range(0.01, 5).Draw(t, "span")
		f := func(t float64, y, dy []float64) { dy[0], dy[1] = y[1]-a*math.Sin(t), -b*y[0] }
		there, err := Solver{Relative: 1e-10, Absolute: 1e-12}.Solve(f, 1, 1+span, []float64{1, -0.5})
		if err != nil {
			t.Fatal(err)
		}
		back, err := Solver{Relative: 1e-10, Absolute: 1e-12}.Solve(f, 1+span, 1, there.At(1+span))
		if err != nil {
			t.Fatal(err)
		}
		y := back.At(1)
		scale := math.Exp(2 * span)
		if math.Abs(y[0]-1) > 1e-8*scale || math.Abs(y[1]+0.5) > 1e-8*scale {
			t.Fatalf("came back to %v", y)
		}
		mid := 1 + span/2
		if p, q := there.At(mid), back.At(mid); math.Abs(p[0]-q[0]) > 1e-7*scale {
			t.Fatalf("in the middle %v and %v", p, q)
		}
	})
}

func TestTroubleIsSaid(t *testing.T) {
	t.Parallel()
	blow := func(t float64, y, dy []float64) { dy[0] = y[0] * y[0] } // infinite at t = 1
	if _, err := (Solver{}).Solve(blow, 0, 2, []float64{1}); !errors.Is(err, ErrStep) && !errors.Is(err, ErrFinite) && !errors.Is(err, ErrSteps) {
		t.Errorf("a solution that runs to infinity: %v", err)
	}
	stiff := func(t float64, y, dy []float64) { dy[0] = -1e7 * (y[0] - math.Cos(t)) }
	if _, err := (Solver{MaxSteps: 1000}).Solve(stiff, 0, 100, []float64{0}); !errors.Is(err, ErrSteps) {
		t.Errorf("a stiff system: %v", err)
	}
	if _, err := (Solver{}).Solve(stiff, 0, math.NaN(), []float64{0}); err == nil {
		t.Error("a span that is not a number is not refused")
	}
	if s, err := (Solver{}).Solve(blow, 3, 3, []float64{7}); err != nil || s.At(3)[0] != 7 {
		t.Errorf("an empty span: %v %v", s, err)
	}
}

func BenchmarkOscillator(b *testing.B) {
	c := systems["oscillator"]
	for b.Loop() {
		if _, err := (Solver{}).Solve(c.f, 0, 20, c.y0); err != nil {
			b.Fatal(err)
		}
	}
}
