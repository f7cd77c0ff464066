package bayes

import (
	"math"
	"sort"
)

// CRPS is the continuous ranked probability score of a sample from a forecast
// against the value that came true, in the unit of the values; smaller is better,
// and for a forecast of a single number it is the absolute error. Computed from
//
//	E|X − y| − ½ E|X − X'|     (Gneiting & Raftery 2007, eq. 21)
//
// over the ascending sample in O(n log n). NaN for an empty sample.
func CRPS(sample []float64, truth float64) float64 {
	n := len(sample)
	if n == 0 {
		return math.NaN()
	}
	x := append([]float64(nil), sample...)
	sort.Float64s(x)
	abs, spread := 0.0, 0.0
	for i, v := range x {
		abs += math.Abs(v - truth)
		spread += v * float64(2*i-n+1)
	}
	nf := float64(n)
	return abs/nf - spread/(nf*nf)
}

// LogScore is −ln of the probability given to what happened; smaller is better.
// A probability of 0 for something that happened scores +Inf.
func LogScore(p float64, happened bool) float64 {
	if !happened {
		p = 1 - p
	}
	return -math.Log(p)
}

// Brier is the squared distance between a probability and the outcome (0 or 1).
func Brier(p float64, happened bool) float64 {
	if happened {
		return (1 - p) * (1 - p)
	}
	return p * p
}

// A Coverage counts how often intervals held the truth.
type Coverage struct{ Inside, Total int }

// Add records one interval [lo, hi] against the truth; the ends belong to it.
func (c *Coverage) Add(lo, hi, truth float64) {
	c.Total++
	if truth >= lo && truth <= hi {
		c.Inside++
	}
}

// Share is the fraction of intervals that held the truth; NaN if none was added.
func (c Coverage) Share() float64 { return float64(c.Inside) / float64(c.Total) }

// Wilson is the Wilson score interval (Wilson 1927) for a proportion of k in n at
// z standard errors (1.96 for 95 %).
func Wilson(k, n int, z float64) (lo, hi float64) {
	if n == 0 {
		return 0, 1
	}
	p, m := float64(k)/float64(n), float64(n)
	centre := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return math.Max(0, centre-half), math.Min(1, centre+half)
}
