package compose

import (
	"math"
	"slices"
)

// A fig is a number with its errors, each a standard deviation times the effect
// that its cause has here. Causes are independent of each other.
type fig struct {
	v float64
	e []cause
}

type cause struct {
	key int32
	c   float64
}

func exactly(v float64) fig { return fig{v: v} }

// read is a number with one error of its own.
func read(v float64, key int32, sd float64) fig { return fig{v, []cause{{key, sd}}} }

func (f fig) variance() (sum float64) {
	for _, e := range f.e {
		sum += e.c * e.c
	}
	return sum
}

func (f fig) sd() float64 { return math.Sqrt(f.variance()) }

// times scales a figure.
func (f fig) times(k float64) fig {
	out := fig{f.v * k, make([]cause, len(f.e))}
	for i, e := range f.e {
		out.e[i] = cause{e.key, e.c * k}
	}
	return out
}

// plus adds two figures, cause by cause.
func (f fig) plus(g fig) fig {
	out := fig{v: f.v + g.v, e: make([]cause, 0, len(f.e)+len(g.e))}
	a, b := f.e, g.e
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0].key < b[0].key:
			out.e, a = append(out.e, a[0]), a[1:]
		case a[0].key > b[0].key:
			out.e, b = append(out.e, b[0]), b[1:]
		default:
			if c := a[0].c + b[0].c; c != 0 {
				out.e = append(out.e, cause{a[0].key, c})
			}
			a, b = a[1:], b[1:]
		}
	}
	out.e = append(append(out.e, a...), b...)
	return out
}

func (f fig) minus(g fig) fig { return f.plus(g.times(-1)) }

// with adds one more error to a figure.
func (f fig) with(key int32, c float64) fig {
	if c == 0 {
		return f
	}
	return f.plus(fig{e: []cause{{key, c}}})
}

// above is the figure, but not below a limit. Its errors stay.
func (f fig) above(limit float64) fig {
	f.v = max(f.v, limit)
	return f
}

// causes are the keys of all errors of some figures, in order.
func causes(figs ...fig) []int32 {
	var out []int32
	for _, f := range figs {
		for _, e := range f.e {
			out = append(out, e.key)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// coefficient is the error of one cause.
func (f fig) coefficient(key int32) float64 {
	if i, ok := slices.BinarySearchFunc(f.e, key, func(e cause, key int32) int { return int(e.key) - int(key) }); ok {
		return f.e[i].c
	}
	return 0
}

// propagate carries the errors of some figures through a function of their values:
// every cause is moved up and down by one standard deviation, in all figures that it
// has a part in together, and half the difference is its error in the results.
func propagate(in []fig, f func(v []float64) ([]float64, error)) ([]fig, error) {
	v := make([]float64, len(in))
	for i := range in {
		v[i] = in[i].v
	}
	centre, err := f(v)
	if err != nil {
		return nil, err
	}
	out := make([]fig, len(centre))
	for i := range out {
		out[i].v = centre[i]
	}
	for _, key := range causes(in...) {
		up, errUp := f(moved(v, in, key, 1))
		down, errDown := f(moved(v, in, key, -1))
		width := 2.0
		switch { // where one side cannot be reckoned, the other has to do
		case errUp != nil && errDown != nil:
			return nil, errUp
		case errUp != nil:
			up, width = centre, 1
		case errDown != nil:
			down, width = centre, 1
		}
		for i := range out {
			if c := (up[i] - down[i]) / width; c != 0 {
				out[i].e = append(out[i].e, cause{key, c})
			}
		}
	}
	return out, nil
}

func moved(v []float64, in []fig, key int32, by float64) []float64 {
	out := slices.Clone(v)
	for i := range in {
		out[i] += by * in[i].coefficient(key)
	}
	return out
}
