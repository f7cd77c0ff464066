package ode

import (
	"math"
	"sort"
)

// At is the solution at t, to fourth order; t outside the solved span is taken at
// the nearer end.
func (s *Solution) At(t float64) []float64 {
	y := make([]float64, len(s.Y[0]))
	s.Into(y, t)
	return y
}

// Into writes the solution at t, as At has it, into dst, which needs a place for each
// unknown.
func (s *Solution) Into(dst []float64, t float64) {
	n := len(s.T)
	if n == 1 {
		copy(dst, s.Y[0])
		return
	}
	forward := s.T[n-1] > s.T[0]
	i := sort.Search(n, func(i int) bool { return s.T[i] > t == forward && s.T[i] != t }) - 1
	i = min(max(i, 0), n-2)
	s.dense[i].into(dst, t, s.T[i], s.T[i+1])
}

// A segment is the continuous extension over one step as it was taken.
type segment struct {
	from, step float64
	p          [5][]float64
}

// into evaluates at t, kept between lo and hi.
func (g *segment) into(dst []float64, t, lo, hi float64) {
	t = math.Min(math.Max(t, math.Min(lo, hi)), math.Max(lo, hi))
	x := (t - g.from) / g.step
	u, p := 1-x, &g.p
	for i := range dst {
		dst[i] = p[0][i] + x*(p[1][i]+u*(p[2][i]+x*(p[3][i]+u*p[4][i])))
	}
}

// look finds sign changes of the events in the step just taken, in order of time.
func (r *run) look(from, to float64) bool {
	var hits []Hit
	y := r.sol.Y[len(r.sol.Y)-1]
	for e := range r.events {
		ev := &r.events[e]
		before, after := r.signs[e], ev.At(to, y)
		r.signs[e] = after
		up, down := before < 0 && after >= 0, before > 0 && after <= 0
		if ev.Rising != ev.Falling {
			up, down = up && ev.Rising, down && ev.Falling
		}
		if !up && !down {
			continue
		}
		x := r.cross(ev, before, from, to)
		at := make([]float64, len(y))
		t := from + x*(to-from)
		r.sol.dense[len(r.sol.dense)-1].into(at, t, from, to)
		hits = append(hits, Hit{Event: e, T: t, Y: at})
	}
	sort.SliceStable(hits, func(a, b int) bool { return (hits[a].T-hits[b].T)*(to-from) < 0 })
	for _, h := range hits {
		r.sol.Hits = append(r.sol.Hits, h)
		if r.events[h.Event].Terminal {
			r.cut(h)
			return true
		}
	}
	return false
}

// cross finds the zero of an event inside the step, as a fraction of it, by
// bisection of the dense output down to rounding.
func (r *run) cross(ev *Event, before, from, to float64) float64 {
	y := make([]float64, len(r.next))
	lo, hi := 0.0, 1.0
	for range 60 {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		t := from + mid*(to-from)
		r.sol.dense[len(r.sol.dense)-1].into(y, t, from, to)
		if v := ev.At(t, y); v == 0 || (v < 0) != (before < 0) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// cut ends the solution at a terminal event.
func (r *run) cut(h Hit) {
	n := len(r.sol.T) - 1
	r.sol.T[n], r.sol.Y[n] = h.T, append([]float64(nil), h.Y...)
	r.t = h.T
}
