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
//
// The particles are taken in blocks, and each block walks about the mean and covariance
// of all others. A particle that took part in its own would find itself less of an
// outlier than it is, and stay: with 30 coordinates and some hundred particles that made
// tails too heavy.
type walk struct {
	free  []int // coordinates that the walk may move
	fits  [blocks]centre
	own   [blocks]centre // sums over each block itself
	u     [][]float64    // of each particle
	ratio []float64      // of each particle: ln of N(m, C) over prior
	v     []float64      // u′ of the proposal
	trial float64        // its ratio
}

const blocks = 8

// A centre is what one block of particles walks about: the mean, and the factor of the
// covariance as its lower triangle by rows, len d(d+1)/2.
type centre struct{ mean, l []float64 }

// about is that of particle i.
func (w *walk) about(i int) *centre { return &w.fits[blocks*i/len(w.u)] }

func newWalk(n int, still []bool) walk {
	w := walk{ratio: make([]float64, n)}
	for c, s := range still {
		if !s {
			w.free = append(w.free, c)
		}
	}
	d := len(w.free)
	w.v, w.u = make([]float64, d), rows(n, d)
	for i := range w.fits {
		w.fits[i] = centre{make([]float64, d), make([]float64, d*(d+1)/2)}
		w.own[i] = centre{make([]float64, d), make([]float64, d*(d+1)/2)}
	}
	return w
}

// adapt fits each block's mean and covariance to the other blocks. Copies made by
// resampling lie side by side, so that most fall into one block. The covariance is
// shrunk a little towards its diagonal and widened by 5 %, so that it stays positive and
// its tails cover those of the target.
func (w *walk) adapt(z [][]float64) {
	d := len(w.free)
	for b := range w.own {
		clear(w.own[b].mean)
		clear(w.own[b].l)
	}
	for i, row := range z {
		w.own[blocks*i/len(z)].add(row, w.free)
	}
	for b := range w.fits {
		f := &w.fits[b]
		clear(f.mean)
		clear(f.l)
		n := 0.0
		for i := range z {
			if blocks*i/len(z) != b {
				n++
			}
		}
		for o := range w.own {
			if o != b {
				for a, v := range w.own[o].mean {
					f.mean[a] += v / n
				}
				for k, v := range w.own[o].l {
					f.l[k] += v / n
				}
			}
		}
		shrink := math.Min(0.5, 0.05+float64(d)/(4*n))
		for a := range d {
			row := f.l[a*(a+1)/2 : a*(a+1)/2+a+1]
			for c := range row {
				row[c] = (row[c] - f.mean[a]*f.mean[c]) * (1 - shrink)
			}
			row[a] = 1.05*row[a]/(1-shrink) + 1e-4
		}
		choleskyPacked(f.l, d)
	}
	for i, row := range z {
		w.whiten(i, row)
	}
}

// add sums a particle and its products.
func (c *centre) add(z []float64, free []int) {
	for a, i := range free {
		c.mean[a] += z[i]
		row := c.l[a*(a+1)/2 : a*(a+1)/2+a+1]
		for b := range row {
			row[b] += z[i] * z[free[b]]
		}
	}
}

// whiten works out u and the ratio of a particle.
func (w *walk) whiten(i int, z []float64) {
	f, u, sum := w.about(i), w.u[i], 0.0
	for a, c := range w.free {
		row := f.l[a*(a+1)/2 : a*(a+1)/2+a+1]
		u[a] = (z[c] - f.mean[a] - Dot(row[:a], u)) / row[a]
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
	f, keep, sum := w.about(i), math.Sqrt(1-s*s), 0.0
	for a, u := range w.u[i] {
		w.v[a] = keep*u + s*rng.NormFloat64()
	}
	for a, c := range w.free {
		y := f.mean[a] + Dot(f.l[a*(a+1)/2:a*(a+1)/2+a+1], w.v)
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
