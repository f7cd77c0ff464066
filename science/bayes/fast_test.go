package bayes

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"
)

func TestFastExpAndLog(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-750, 750).Draw(t, "x")
		if want, got := math.Exp(x), Exp(x); got != want && math.Abs(got-want) > 1e-11*want {
			t.Errorf("Exp(%v) = %v, want %v", x, got, want)
		}
		y := math.Exp(x)
		if want, got := math.Log(y), Log(y); got != want && math.Abs(got-want) > 1e-12*max(1, math.Abs(want)) {
			t.Errorf("Log(%v) = %v, want %v", y, got, want)
		}
	})
	for _, x := range []float64{0, 1, -1, math.Inf(1), math.Inf(-1)} {
		if Exp(x) != math.Exp(x) && math.Abs(Exp(x)/math.Exp(x)-1) > 1e-11 {
			t.Errorf("Exp(%v) = %v", x, Exp(x))
		}
	}
	if !math.IsInf(Log(0), -1) || !math.IsNaN(Log(-1)) || !math.IsNaN(Exp(math.NaN())) || math.Abs(Log(1)) > 1e-12 {
		t.Error("ends of the range")
	}
}

// The dot product against gonum's (a general library), of every length that rows have.
func TestDot(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(1, 2))
	for n := range 40 {
		a, b := make([]float64, n), make([]float64, n+3)
		for i := range b {
			b[i] = rng.NormFloat64()
		}
		for i := range a {
			a[i] = rng.NormFloat64()
		}
		if got, want := Dot(a, b), floats.Dot(a, b[:n]); math.Abs(got-want) > 1e-12 {
			t.Errorf("%d long: %v, gonum %v", n, got, want)
		}
	}
}
