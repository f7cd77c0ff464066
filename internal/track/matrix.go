package track

import "math"

// Small dense symmetric matrices; a parcel has tens of readings, and these are
// factored a handful of times per belief.

func square(n int) [][]float64 {
	flat := make([]float64, n*n)
	m := make([][]float64, n)
	for i := range m {
		m[i] = flat[i*n : (i+1)*n]
	}
	return m
}

func pick(a [][]float64, rows, cols []int) [][]float64 {
	out := make([][]float64, len(rows))
	for i, r := range rows {
		out[i] = make([]float64, len(cols))
		for j, c := range cols {
			out[i][j] = a[r][c]
		}
	}
	return out
}

// cholesky is the lower factor; covariances here hold reading noise on the
// diagonal and are positive definite, a floor guards against rounding.
func cholesky(a [][]float64) [][]float64 {
	n := len(a)
	l := square(n)
	for i := 0; i < n; i++ {
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := 0; k < j; k++ {
				s -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(math.Max(s, 1e-10))
			} else {
				l[i][j] = s / l[j][j]
			}
		}
	}
	return l
}

// invert writes the inverse of a positive definite matrix.
func invert(dst, a [][]float64) {
	n := len(a)
	l := cholesky(a)
	inv := square(n) // L⁻¹
	for i := 0; i < n; i++ {
		inv[i][i] = 1 / l[i][i]
		for j := 0; j < i; j++ {
			s := 0.0
			for k := j; k < i; k++ {
				s -= l[i][k] * inv[k][j]
			}
			inv[i][j] = s / l[i][i]
		}
	}
	for i := 0; i < n; i++ {
		for j := 0; j <= i; j++ {
			s := 0.0
			for k := i; k < n; k++ {
				s += inv[k][i] * inv[k][j]
			}
			dst[i][j], dst[j][i] = s, s
		}
	}
}
