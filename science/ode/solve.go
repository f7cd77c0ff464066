package ode

import (
	"errors"
	"fmt"
	"math"
)

// A System writes dy/dt at t, y into dy. It must not keep its slices.
type System func(t float64, y, dy []float64)

// An Event is a function of t and y whose sign changes are looked for.
type Event struct {
	At       func(t float64, y []float64) float64
	Rising   bool // only from below zero upwards
	Falling  bool // only from above zero downwards; both or neither: either way
	Terminal bool // stop there
}

// A Hit is an event that happened.
type Hit struct {
	Event int // index of the event
	T     float64
	Y     []float64
}

// Solver holds the tolerances; the zero value is usable. A step is accepted when
// the root mean square of error/(Absolute + Relative·|y|) is at most 1.
type Solver struct {
	Relative float64 // default 1e-6
	Absolute float64 // default 1e-9
	MaxStep  float64 // default: the whole span
	MaxSteps int     // default 100000
}

// Errors of Solve; what was reached so far comes back with them.
var (
	ErrSteps  = errors.New("ode: too many steps; the system may be stiff")
	ErrStep   = errors.New("ode: step became too small; the system may be singular")
	ErrFinite = errors.New("ode: the derivative is not finite")
)

// Solution is the accepted steps and what happened on the way. It can be asked for
// any time between its ends.
type Solution struct {
	T     []float64
	Y     [][]float64
	Hits  []Hit
	Calls int // evaluations of the system
	dense []segment
}

// Solve integrates from t0 to t1, forwards or backwards, by the pair of Dormand & Prince
// 1980, and looks for the events on the way. The span must be finite and y0 hold one
// unknown or more. ErrSteps, ErrStep and ErrFinite come with what was reached.
func (s Solver) Solve(f System, t0, t1 float64, y0 []float64, events ...Event) (*Solution, error) {
	if len(y0) == 0 || math.IsNaN(t0+t1) || math.IsInf(t0, 0) || math.IsInf(t1, 0) {
		return nil, fmt.Errorf("ode: span %g to %g with %d unknowns: allowed is a finite span and one unknown or more", t0, t1, len(y0))
	}
	s = s.defaults(t0, t1)
	r := newRun(s, f, t0, y0, events)
	return r.sol, r.to(t1)
}

func (s Solver) defaults(t0, t1 float64) Solver {
	if s.Relative <= 0 {
		s.Relative = 1e-6
	}
	if s.Absolute <= 0 {
		s.Absolute = 1e-9
	}
	if s.MaxStep <= 0 {
		s.MaxStep = math.Abs(t1 - t0)
	}
	if s.MaxSteps <= 0 {
		s.MaxSteps = 100000
	}
	return s
}

// Coefficients of the pair: Dormand & Prince 1980, J. Comput. Appl. Math. 6:19, table
// 2; as in Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I, table
// II.5.2, with their continuous extension (DOPRI5).
var (
	node   = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}
	weight = [7][6]float64{
		{},
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	errorWeight = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}
	between     = [7]float64{-12715105075. / 11282082432, 0, 87487479700. / 32700410799, -10690763975. / 1880347072,
		701980252875. / 199316789632, -1453857185. / 822651844, 69997945. / 29380423}
)

type run struct {
	s      Solver
	f      System
	sol    *Solution
	events []Event
	signs  []float64 // event values at the last step
	k      [7][]float64
	next   []float64
	t, h   float64
}

func newRun(s Solver, f System, t0 float64, y0 []float64, events []Event) *run {
	r := &run{s: s, f: f, events: events, t: t0, next: make([]float64, len(y0)), sol: &Solution{}}
	for i := range r.k {
		r.k[i] = make([]float64, len(y0))
	}
	y := append([]float64(nil), y0...)
	r.sol.T, r.sol.Y = []float64{t0}, [][]float64{y}
	r.call(t0, y, r.k[0])
	for _, e := range events {
		r.signs = append(r.signs, e.At(t0, y))
	}
	return r
}

func (r *run) call(t float64, y, dy []float64) {
	r.f(t, y, dy)
	r.sol.Calls++
}

func (r *run) to(t1 float64) error {
	dir := math.Copysign(1, t1-r.t)
	if t1 == r.t {
		return nil
	}
	r.h = dir * math.Min(r.firstStep(t1), r.s.MaxStep)
	refused := false
	for step := 0; (t1-r.t)*dir > 0; step++ {
		if step >= r.s.MaxSteps {
			return ErrSteps
		}
		if math.Abs(r.h) < 16*math.Nextafter(math.Abs(r.t), math.Inf(1))-16*math.Abs(r.t) {
			return ErrStep
		}
		last := false
		if (r.t+1.01*r.h-t1)*dir > 0 {
			r.h, last = t1-r.t, true
		}
		err := r.try()
		if math.IsNaN(err) {
			if refused && math.Abs(r.h) < 1e-12*math.Abs(t1) {
				return ErrFinite
			}
			r.h, refused = r.h/10, true
			continue
		}
		factor := 0.9 * math.Pow(math.Max(err, 1e-10), -0.2)
		if err > 1 {
			r.h, refused = r.h*math.Max(0.2, factor), true
			continue
		}
		grow := math.Min(5, math.Max(0.2, factor))
		if refused {
			grow = math.Min(1, grow)
		}
		h := r.h
		if stop := r.accept(last, t1); stop {
			return nil
		}
		r.h = dir * math.Min(math.Abs(h*grow), r.s.MaxStep)
		refused = false
	}
	return nil
}

// firstStep is that of Hairer, Nørsett & Wanner, section II.4.
func (r *run) firstStep(t1 float64) float64 {
	y, f0 := r.sol.Y[0], r.k[0]
	d0, d1 := r.norm(y, y), r.norm(f0, y)
	h := 1e-6
	if d0 > 1e-5 && d1 > 1e-5 {
		h = 0.01 * d0 / d1
	}
	h = math.Min(h, math.Abs(t1-r.t))
	dir := math.Copysign(1, t1-r.t)
	for i := range y {
		r.next[i] = y[i] + dir*h*f0[i]
	}
	r.call(r.t+dir*h, r.next, r.k[1])
	for i := range y {
		r.k[1][i] = (r.k[1][i] - f0[i]) / h
	}
	d2 := r.norm(r.k[1], y)
	h1 := math.Max(1e-6, h*1e-3)
	if m := math.Max(d1, d2); m > 1e-15 {
		h1 = math.Pow(0.01/m, 0.2)
	}
	if math.IsNaN(h1) {
		h1 = h
	}
	return math.Min(math.Min(100*h, h1), math.Abs(t1-r.t))
}

func (r *run) norm(v, y []float64) float64 {
	sum := 0.0
	for i := range v {
		e := v[i] / (r.s.Absolute + r.s.Relative*math.Abs(y[i]))
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(v)))
}

// try takes a step of r.h into r.next and returns its error in units of the
// tolerance; the last stage is the derivative at its end.
func (r *run) try() float64 {
	y := r.sol.Y[len(r.sol.Y)-1]
	for stage := 1; stage < 7; stage++ {
		for i := range y {
			v := 0.0
			for j := range stage {
				v += weight[stage][j] * r.k[j][i]
			}
			r.next[i] = y[i] + r.h*v
		}
		r.call(r.t+node[stage]*r.h, r.next, r.k[stage])
	}
	sum := 0.0
	for i := range y {
		e := 0.0
		for j := range r.k {
			e += errorWeight[j] * r.k[j][i]
		}
		e *= r.h / (r.s.Absolute + r.s.Relative*math.Max(math.Abs(y[i]), math.Abs(r.next[i])))
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(y)))
}

// accept books the step, looks for events in it, and reports whether to stop.
func (r *run) accept(last bool, t1 float64) bool {
	n := len(r.next)
	y0 := r.sol.Y[len(r.sol.Y)-1]
	t := r.t + r.h
	if last {
		t = t1
	}
	y1 := append([]float64(nil), r.next...)
	var d [5][]float64
	flat := make([]float64, 5*n)
	for i := range d {
		d[i] = flat[i*n : (i+1)*n]
	}
	for i := range y0 {
		diff := y1[i] - y0[i]
		bspl := r.h*r.k[0][i] - diff
		d[0][i], d[1][i], d[2][i] = y0[i], diff, bspl
		d[3][i] = diff - r.h*r.k[6][i] - bspl
		for j := range r.k {
			d[4][i] += r.h * between[j] * r.k[j][i]
		}
	}
	r.sol.T, r.sol.Y, r.sol.dense = append(r.sol.T, t), append(r.sol.Y, y1), append(r.sol.dense, segment{r.t, t - r.t, d})
	r.k[0], r.k[6] = r.k[6], r.k[0]
	from := r.t
	r.t = t
	return r.look(from, t)
}
