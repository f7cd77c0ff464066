package bayes

import (
	"math"
	"math/rand/v2"
)

// A walk proposes about the particles' own mean m and covariance C = LLᵀ. In
// whitened coordinates u = L⁻¹(z−m) it is the autoregression
//
//	u' = √(1−s²) u + s ξ,  ξ ~ N(0, I)
//
// which is reversible for N(m, C), so the acceptance ratio needs only prior over
// N(m, C) at both ends.
type walk struct {
	free  []int // coordinates that the walk may move
	mean  []float64
	l     []float64   // lower triangle by rows, len d(d+1)/2
	u     [][]float64 // of each particle
	ratio []float64   // of each particle: ln of N(m, C) over prior
	v     []float64   // u′ of the proposal
	trial float64     // its ratio
}

func newWalk(n int, jumped []bool) walk {
	w := walk{ratio: make([]float64, n)}
	for c, j := range jumped {
		if !j {
			w.free = append(w.free, c)
		}
	}
	d := len(w.free)
	w.mean, w.v, w.u = make([]float64, d), make([]float64, d), rows(n, d)
	w.l = make([]float64, d*(d+1)/2)
	return w
}

// adapt fits mean and covariance to the particles. The covariance is shrunk a
// little towards its diagonal and widened by 5 %, so that it stays positive and
// its tails cover those of the target.
func (w *walk) adapt(z [][]float64) {
	n, d := float64(len(z)), len(w.free)
	for a, c := range w.free {
		m := 0.0
		for _, row := range z {
			m += row[c]
		}
		w.mean[a] = m / n
	}
	shrink := math.Min(0.5, 0.05+float64(d)/(4*n))
	for a := 0; a < d; a++ {
		for b := 0; b <= a; b++ {
			s := 0.0
			ca, cb, ma, mb := w.free[a], w.free[b], w.mean[a], w.mean[b]
			for _, row := range z {
				s += (row[ca] - ma) * (row[cb] - mb)
			}
			s /= n
			if a == b {
				s = 1.05*s + 1e-4
			} else {
				s *= 1 - shrink
			}
			w.l[a*(a+1)/2+b] = s
		}
	}
	choleskyPacked(w.l, d)
	for i, row := range z {
		w.whiten(i, row)
	}
}

// whiten works out u and the ratio of a particle.
func (w *walk) whiten(i int, z []float64) {
	u, sum := w.u[i], 0.0
	for a, c := range w.free {
		row := w.l[a*(a+1)/2 : a*(a+1)/2+a+1]
		x := z[c] - w.mean[a]
		for b, lb := range row[:a] {
			x -= lb * u[b]
		}
		u[a] = x / row[a]
		sum += z[c]*z[c] - u[a]*u[a]
	}
	w.ratio[i] = 0.5 * sum
}

// choleskyPacked factors a packed symmetric matrix in place; pivots that rounding
// made non-positive are lifted to a small value.
func choleskyPacked(l []float64, d int) {
	for i := 0; i < d; i++ {
		ri := i * (i + 1) / 2
		for j := 0; j <= i; j++ {
			rj := j * (j + 1) / 2
			s := l[ri+j]
			for k := 0; k < j; k++ {
				s -= l[ri+k] * l[rj+k]
			}
			if i == j {
				l[ri+j] = math.Sqrt(math.Max(s, 1e-8))
			} else {
				l[ri+j] = s / l[rj+j]
			}
		}
	}
}

// propose fills trial with a step from particle i at z and returns ln of prior over
// N(m, C) at trial minus the same at z. If the step is taken, say so to took.
func (w *walk) propose(rng *rand.Rand, i int, z, trial []float64, s float64) float64 {
	copy(trial, z)
	keep, sum := math.Sqrt(1-s*s), 0.0
	for a, u := range w.u[i] {
		w.v[a] = keep*u + s*rng.NormFloat64()
	}
	for a, c := range w.free {
		row := w.l[a*(a+1)/2 : a*(a+1)/2+a+1]
		y := w.mean[a]
		for b, lb := range row {
			y += lb * w.v[b]
		}
		trial[c] = y
		sum += y*y - w.v[a]*w.v[a]
	}
	w.trial = 0.5 * sum
	return w.ratio[i] - w.trial
}

// took moves particle i to what was proposed last.
func (w *walk) took(i int) {
	copy(w.u[i], w.v)
	w.ratio[i] = w.trial
}
