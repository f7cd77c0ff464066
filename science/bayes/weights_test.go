package bayes

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func newTestRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

// CRPS of a normal forecast in closed form (Gneiting & Raftery 2007, eq. 5):
// σ{ u(2Φ(u)−1) + 2φ(u) − 1/√π }, u = (y−μ)/σ.
func TestCRPSAgainstNormalFormula(t *testing.T) {
	t.Parallel()
	x := make([]float64, 20001)
	for i := range x {
		x[i] = NormalQuantile((float64(i) + 0.5) / float64(len(x)))
	}
	for _, u := range []float64{0, 0.7, -2, 3.5} {
		want := u*(2*NormalCDF(u)-1) + 2*math.Exp(-u*u/2)/math.Sqrt(2*math.Pi) - 1/math.Sqrt(math.Pi)
		if got := CRPS(x, u); math.Abs(got-want) > 2e-4 {
			t.Errorf("u=%v: %.5f, formula %.5f", u, got, want)
		}
	}
	if got := CRPS([]float64{3}, 1); got != 2 {
		t.Errorf("a single number scores its absolute error: got %v", got)
	}
}

// Reference densities from SciPy 1.10: scipy.stats.t.logpdf, norm.logpdf, t.cdf.
func TestDensitiesAgainstSciPy(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name      string
		got, want float64
	}{
		{"t nu=4 x=1.5 m=0.2 s=0.7", StudentLogDensity(1.5, 0.2, 0.7, 4), -2.1786110449},
		{"t nu=3 x=-8", StudentLogDensity(-8, 0, 1, 3), -7.2130495111},
		{"normal", NormalLogDensity(1.5, 0.2, 0.7), -2.2867533853},
		{"t CDF nu=1 x=1.7", Student(1).CDF(1.7, 0, 1), 0.8307469727},
		{"t CDF nu=2 x=-2.5", Student(2).CDF(-2.5, 0, 1), 0.0648058601},
		{"t CDF nu=5 x=0.3, moved and scaled", Student(5).CDF(1.6, 1, 2), 0.6118754789},
		{"t CDF nu=8 x=1.7", Student(8).CDF(1.7, 0, 1), 0.9362235651},
	}
	for _, c := range cases {
		if math.Abs(c.got-c.want) > 1e-8 {
			t.Errorf("%s: %.10f, SciPy %.10f", c.name, c.got, c.want)
		}
	}
}

func TestSystematicCopiesFloorOrCeil(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.SliceOfN(rapid.Float64Range(0, 5), 2, 40).Draw(t, "w")
		w[0] += 0.01
		logw := make([]float64, len(w))
		for i := range w {
			logw[i] = math.Log(w[i])
		}
		norm, _ := Normalise(nil, logw)
		n := rapid.IntRange(1, 60).Draw(t, "n")
		idx := make([]int, n)
		Systematic(newTestRand(rapid.Uint64().Draw(t, "seed")), idx, norm)
		count := make([]float64, len(w))
		for _, i := range idx {
			count[i]++
		}
		for i := range w {
			if e := norm[i] * float64(n); count[i] < math.Floor(e-1e-9) || count[i] > math.Ceil(e+1e-9) {
				t.Fatalf("particle %d of weight %v copied %v times", i, norm[i], count[i])
			}
		}
	})
}

func TestQuantileLaws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := sorted(rapid.SliceOfN(rapid.Float64Range(-9, 9), 1, 50).Draw(t, "x"))
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		q := Quantile(x, p)
		if q < x[0] || q > x[len(x)-1] {
			t.Fatalf("quantile %v outside sample", q)
		}
		if p2 := rapid.Float64Range(0, p).Draw(t, "p2"); Quantile(x, p2) > q+1e-12 {
			t.Fatal("quantile not monotone")
		}
	})
	if got := Quantile([]float64{1, 2, 3, math.Inf(1)}, 0.9); !math.IsInf(got, 1) {
		t.Errorf("quantile beside never is never: got %v", got)
	}
	if got := WeightedQuantile([]float64{3, 1, 2}, []float64{1, 1, 2}, 0.5); got != 2 {
		t.Errorf("weighted median %v, want 2", got)
	}
}

func TestESSAndWilson(t *testing.T) {
	t.Parallel()
	if got := ESS([]float64{0.25, 0.25, 0.25, 0.25}); got != 4 {
		t.Errorf("equal weights: %v", got)
	}
	if got := ESS([]float64{1, 0, 0}); got != 1 {
		t.Errorf("one weight: %v", got)
	}
	// 0 in 110 proves less than about 3.3 % two-sided by Wilson: z²/n/(1+z²/n) in Python
	if _, hi := Wilson(0, 110, 1.959964); math.Abs(hi-0.03374) > 1e-4 {
		t.Errorf("Wilson upper %v", hi)
	}
}
