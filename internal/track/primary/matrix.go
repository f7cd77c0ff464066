package primary

import "math"

// factor is the Cholesky factor of a symmetric positive definite matrix whose
// diagonal is first raised by a share.
func factor(a [][]float64, damp float64) [][]float64 {
	n := len(a)
	l := make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			v := a[i][j]
			if i == j {
				v *= 1 + damp
			}
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(math.Max(v, 1e-12))
			} else {
				l[i][j] = v / l[j][j]
			}
		}
	}
	return l
}

// solve gives x of (a + damp·diag a) x = g.
func solve(a [][]float64, g []float64, damp float64) []float64 {
	return backward(factor(a, damp), g)
}

func backward(l [][]float64, g []float64) []float64 {
	n := len(g)
	x := append([]float64(nil), g...)
	for i := range n {
		for k := range i {
			x[i] -= l[i][k] * x[k]
		}
		x[i] /= l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x
}

// invert gives the inverse of a symmetric positive definite matrix.
func invert(a [][]float64) [][]float64 {
	n := len(a)
	l := factor(a, 0)
	out := make([][]float64, n)
	e := make([]float64, n)
	for j := range n {
		clear(e)
		e[j] = 1
		out[j] = backward(l, e)
	}
	return out
}
