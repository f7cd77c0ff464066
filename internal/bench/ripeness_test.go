package bench

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Against gonum's own distribution, which would bring a whole algebra into the program.
func TestStudentsT(t *testing.T) {
	t.Parallel()
	for _, nu := range []int{1, 2, 3, 5, 10, 30, 999} {
		want := distuv.StudentsT{Sigma: 1, Nu: float64(nu)}.Quantile(0.975)
		if got := student975(nu); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%d degrees of freedom: %.12g, want %.12g", nu, got, want)
		}
	}
}
