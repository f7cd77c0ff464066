package bayes

import (
	"math"
	"math/rand/v2"
	"sort"
)

// Normalise turns log-weights into weights that sum to one, in place of dst
// (grown if need be), and returns ln of their mean: the evidence increment of a
// reweighting step. If every log-weight is −Inf (the data are impossible for all
// particles) the weights come back equal and the mean as −Inf.
func Normalise(dst, logw []float64) ([]float64, float64) {
	dst = grow(dst, len(logw))
	top := math.Inf(-1)
	for _, l := range logw {
		if l > top {
			top = l
		}
	}
	if math.IsInf(top, -1) {
		for i := range dst {
			dst[i] = 1 / float64(len(dst))
		}
		return dst, top
	}
	sum := 0.0
	for i, l := range logw {
		dst[i] = math.Exp(l - top)
		sum += dst[i]
	}
	for i := range dst {
		dst[i] /= sum
	}
	return dst, top + math.Log(sum/float64(len(logw)))
}

// ESS is the effective sample size (Σw)²/Σw² (Kish 1965): the number of equally
// weighted draws that the weights are worth.
func ESS(w []float64) float64 {
	s, q := 0.0, 0.0
	for _, x := range w {
		s += x
		q += x * x
	}
	if q == 0 {
		return 0
	}
	return s * s / q
}

// Systematic fills idx with ancestors drawn by systematic resampling (Kitagawa
// 1996): one uniform shift, equally spaced pointers, so that a particle of weight
// w is copied either ⌊nw⌋ or ⌈nw⌉ times.
func Systematic(rng *rand.Rand, idx []int, w []float64) {
	n := float64(len(idx))
	u := rng.Float64() / n
	j, cum := 0, w[0]
	for i := range idx {
		target := u + float64(i)/n
		for cum < target && j < len(w)-1 {
			j++
			cum += w[j]
		}
		idx[i] = j
	}
}

// Mean is the arithmetic mean; NaN of nothing.
func Mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

// SD is the standard deviation about the mean, with divisor n.
func SD(x []float64) float64 {
	m, s := Mean(x), 0.0
	for _, v := range x {
		s += (v - m) * (v - m)
	}
	return math.Sqrt(s / float64(len(x)))
}

// Quantile is the p-quantile of an ascending sample by linear interpolation
// between order statistics (definition 7 of Hyndman & Fan 1996). Infinite values
// are honoured: a quantile that falls beside one is infinite.
func Quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	if n == 0 {
		return math.NaN()
	}
	h := p * float64(n-1)
	i := int(h)
	switch {
	case i < 0:
		return sorted[0]
	case i >= n-1:
		return sorted[n-1]
	}
	f := h - float64(i)
	if f == 0 || sorted[i] == sorted[i+1] { // also two infinities of one sign
		return sorted[i]
	}
	return sorted[i] + f*(sorted[i+1]-sorted[i])
}

// WeightedQuantile is the p-quantile of values x with weights w (which need not
// sum to one): the smallest x whose cumulated weight reaches p.
func WeightedQuantile(x, w []float64, p float64) float64 {
	order := make([]int, len(x))
	total := 0.0
	for i := range order {
		order[i] = i
		total += w[i]
	}
	sort.Slice(order, func(a, b int) bool { return x[order[a]] < x[order[b]] })
	cum := 0.0
	for _, i := range order {
		cum += w[i]
		if cum >= p*total {
			return x[i]
		}
	}
	if len(order) == 0 {
		return math.NaN()
	}
	return x[order[len(order)-1]]
}

func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}
