package bayes

import (
	"math"
	"testing"
)

// A linear Gaussian model has an exact posterior: z ~ N(0, I₃), readings
// y = 2 z₀ + z₁ ± 0.1 and y' = z₀ − z₁ ± 0.3. Precision and mean by hand from the
// normal equations (any textbook of Bayesian linear regression).
func linear(z []float64) float64 {
	return NormalLogDensity(1.5, 2*z[0]+z[1], 0.1) + NormalLogDensity(-0.4, z[0]-z[1], 0.3)
}

func TestImportanceMeetsTheExactPosterior(t *testing.T) {
	t.Parallel()
	post := Importance{Seed: 3}.Run(3, linear)
	// precision P = I + AᵀR⁻¹A over z₀, z₁, with A = [[2,1],[1,-1]], R = diag(0.01, 0.09)
	p00, p01, p11 := 1+400+100/9.0, 200-100/9.0, 1+100+100/9.0
	h0, h1 := 2*1.5/0.01-0.4/0.09, 1.5/0.01+0.4/0.09
	det := p00*p11 - p01*p01
	mean := [3]float64{(p11*h0 - p01*h1) / det, (p00*h1 - p01*h0) / det, 0}
	sd := [3]float64{math.Sqrt(p11 / det), math.Sqrt(p00 / det), 1}
	for j := range 3 {
		m, v := 0.0, 0.0
		for i, z := range post.Z {
			m += post.W[i] * z[j]
		}
		for i, z := range post.Z {
			v += post.W[i] * (z[j] - m) * (z[j] - m)
		}
		if se := sd[j] / math.Sqrt(post.ESS); math.Abs(m-mean[j]) > 4*se {
			t.Errorf("mean of z%d is %.4f, exact %.4f (standard error %.4f)", j, m, mean[j], se)
		}
		if got := math.Sqrt(v); math.Abs(got/sd[j]-1) > 4/math.Sqrt(2*post.ESS) {
			t.Errorf("SD of z%d is %.4f, exact %.4f", j, got, sd[j])
		}
	}
	if post.ESS < 300 {
		t.Errorf("ESS %.0f of 2000: the fit of the proposals does not work", post.ESS)
	}
	// Evidence: y ~ N(0, A Aᵀ + R).
	s00, s01, s11 := 5+0.01, 2-1.0, 2+0.09
	d := s00*s11 - s01*s01
	quad := (s11*1.5*1.5 - 2*s01*1.5*-0.4 + s00*0.16) / d
	exact := -2*halfLog2Pi - 0.5*math.Log(d) - 0.5*quad
	if math.Abs(post.LogEvidence-exact) > 0.15 {
		t.Errorf("ln evidence %.3f, exact %.3f", post.LogEvidence, exact)
	}
}

func TestImportanceIsAFunctionOfItsSeed(t *testing.T) {
	t.Parallel()
	a, b := (Importance{Seed: 9, Draws: 100}).Run(3, linear), (Importance{Seed: 9, Draws: 100}).Run(3, linear)
	for i := range a.W {
		if a.W[i] != b.W[i] || a.Z[i][0] != b.Z[i][0] {
			t.Fatal("same seed, different sample")
		}
	}
}

// Quantiles against tables of the normal distribution, and for the cut-off normal
// against its definition.
func TestPriorQuantiles(t *testing.T) {
	t.Parallel()
	const z95 = 1.6448536269514722 // standard normal table
	for _, c := range []struct {
		name string
		p    Prior
		q    float64
		want float64
	}{
		{"normal", Prior{Family: Normal, Location: 2.5, Spread: 0.6}, 0.95, 2.5 + 0.6*z95},
		{"log-normal", Prior{Family: LogNormal, Location: 18, Spread: 0.4}, 0.95, 18 * math.Exp(0.4*z95)},
		{"uniform", Prior{Family: Uniform, Location: 1, Spread: 3}, 0.25, 1.75},
		{"symmetric cut keeps the median", Prior{Family: Normal, Location: 3, Spread: 1, Low: 2, High: 4}, 0.5, 3},
		// Φ⁻¹ of Φ(−1) + 0.9 (Φ(1) − Φ(−1)) = Φ⁻¹(0.773069): 0.7490146
		{"cut normal", Prior{Family: Normal, Location: 0, Spread: 1, Low: -1, High: 1}, 0.9, 0.7490146},
	} {
		if got := c.p.Quantile(c.q); math.Abs(got-c.want) > 2e-7 {
			t.Errorf("%s: quantile %v is %.5f, want %.5f", c.name, c.q, got, c.want)
		}
	}
}
