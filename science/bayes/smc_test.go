package bayes

import (
	"math"
	"sort"
	"testing"
)

// Conjugate normal: the posterior is known in closed form (any textbook, e.g.
// Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.5).
func TestRunConjugateNormal(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name       string
		y, sd      float64
		mean, post float64 // exact posterior mean and SD
	}{
		{"vague reading", 1.2, 2, 1.2 / 5, math.Sqrt(4.0 / 5)},
		{"sharp reading", 1.2, 0.1, 1.2 / 1.01, math.Sqrt(0.01 / 1.01)},
		{"far in the tail", 4, 0.3, 4 / 1.09, math.Sqrt(0.09 / 1.09)},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := Sampler{Particles: 4000, Seed: 7}
			p := s.Run(3, func(z []float64) float64 { return NormalLogDensity(c.y, z[0], c.sd) })
			x := p.Column(0)
			tol := 4 * c.post / math.Sqrt(p.ESS)
			if d := math.Abs(Mean(x) - c.mean); d > tol {
				t.Errorf("mean %.4f, exact %.4f, tolerance %.4f (ESS %.0f)", Mean(x), c.mean, tol, p.ESS)
			}
			if r := SD(x) / c.post; r < 0.93 || r > 1.07 {
				t.Errorf("SD %.4f, exact %.4f", SD(x), c.post)
			}
			exact := NormalLogDensity(c.y, 0, math.Hypot(1, c.sd))
			if math.Abs(p.LogEvidence-exact) > 0.15 {
				t.Errorf("ln evidence %.3f, exact %.3f", p.LogEvidence, exact)
			}
			for j := 1; j < 3; j++ { // coordinates without data stay at their prior
				y := p.Column(j)
				if math.Abs(Mean(y)) > 0.08 || math.Abs(SD(y)-1) > 0.06 {
					t.Errorf("coordinate %d drifted: mean %.3f SD %.3f", j, Mean(y), SD(y))
				}
			}
		})
	}
}

// Idle coordinates leave as the prior has them, and the rest as without them.
func TestRunIdle(t *testing.T) {
	t.Parallel()
	s := Sampler{Particles: 4000, Seed: 5, Idle: []int{1, 2}}
	p := s.Run(4, func(z []float64) float64 { return NormalLogDensity(1.2, z[0]+z[3], 0.5) })
	post := math.Sqrt(1 / (1 + 1/1.25)) // of z[0], the other being a reading's noise: SD √(0.25 + 1)
	if m := Mean(p.Column(0)); math.Abs(m-1.2/2.25) > 4*post/math.Sqrt(p.ESS) {
		t.Errorf("mean %.4f, exact %.4f (ESS %.0f)", m, 1.2/2.25, p.ESS)
	}
	if sd := SD(p.Column(0)); math.Abs(sd/post-1) > 0.07 {
		t.Errorf("SD %.4f, exact %.4f", sd, post)
	}
	for _, j := range s.Idle {
		y := p.Column(j)
		if math.Abs(Mean(y)) > 0.005 || math.Abs(SD(y)-1) > 0.01 {
			t.Errorf("idle coordinate %d: mean %.4f SD %.4f", j, Mean(y), SD(y))
		}
		if c := squaredCorrelation(y, p.Column(0)); c > 12.0/4000 {
			t.Errorf("idle coordinate %d goes with another: r² %.4f", j, c)
		}
	}
}

// Two modes far apart: exact weights by symmetry of the likelihood and ratio of the prior.
func TestRunTwoModes(t *testing.T) {
	t.Parallel()
	like := func(z []float64) float64 {
		return LogAddExp(NormalLogDensity(z[0], -2, 0.2), NormalLogDensity(z[0], 1, 0.2))
	}
	p := Sampler{Particles: 4000, Seed: 3}.Run(2, like)
	left := 0.0
	for _, v := range p.Column(0) {
		if v < -0.5 {
			left++
		}
	}
	left /= 4000
	s := math.Hypot(1, 0.2)
	a, b := math.Exp(NormalLogDensity(-2, 0, s)), math.Exp(NormalLogDensity(1, 0, s))
	if want := a / (a + b); math.Abs(left-want) > 0.03 {
		t.Errorf("left mode holds %.3f, exact %.3f", left, want)
	}
}

// A banana: z1 given z0 is bent. Moments against numerical quadrature.
func TestRunBanana(t *testing.T) {
	t.Parallel()
	like := func(z []float64) float64 { return NormalLogDensity(1, z[1]+z[0]*z[0], 0.15) }
	p := Sampler{Particles: 4000, Seed: 11}.Run(2, like)
	var w, m, q float64
	for x := -6.0; x <= 6; x += 0.01 {
		for y := -8.0; y <= 6; y += 0.01 {
			d := math.Exp(like([]float64{x, y}) - x*x/2 - y*y/2)
			w, m, q = w+d, m+d*y, q+d*x*x
		}
	}
	if got, want := Mean(p.Column(1)), m/w; math.Abs(got-want) > 0.06 {
		t.Errorf("E z1 = %.3f, quadrature %.3f", got, want)
	}
	got := 0.0
	for _, v := range p.Column(0) {
		got += v * v / 4000
	}
	if want := q / w; math.Abs(got-want) > 0.08 {
		t.Errorf("E z0² = %.3f, quadrature %.3f", got, want)
	}
}

func TestRunIsDeterministic(t *testing.T) {
	t.Parallel()
	f := func(z []float64) float64 { return NormalLogDensity(0.5, z[0]*z[1], 0.2) }
	a := Sampler{Particles: 200, Seed: 5}.Run(2, f)
	b := Sampler{Particles: 200, Seed: 5}.Run(2, f)
	c := Sampler{Particles: 200, Seed: 6}.Run(2, f)
	for i := range a.Z {
		if a.Z[i][0] != b.Z[i][0] {
			t.Fatal("same seed gave different particles")
		}
	}
	if a.Z[0][0] == c.Z[0][0] {
		t.Error("another seed gave the same particle")
	}
}

func TestImpossibleDataDoNotPanic(t *testing.T) {
	t.Parallel()
	p := Sampler{Particles: 50, Seed: 1}.Run(1, func([]float64) float64 { return math.Inf(-1) })
	if len(p.Z) != 50 {
		t.Fatalf("got %d particles", len(p.Z))
	}
}

// Simulation-based calibration of the sampler on a nonlinear two-parameter model.
func TestSamplerRanksUniform(t *testing.T) {
	t.Parallel()
	var ranks []int
	rng := newTestRand(99)
	for rep := 0; rep < 200; rep++ {
		a, b := rng.NormFloat64(), rng.NormFloat64()
		y1 := math.Exp(0.5*a) + 0.2*rng.NormFloat64()
		y2 := math.Exp(0.5*a)*b + 0.3*rng.NormFloat64()
		p := Sampler{Particles: 300, Seed: uint64(rep)}.Run(2, func(z []float64) float64 {
			e := math.Exp(0.5 * z[0])
			return NormalLogDensity(y1, e, 0.2) + NormalLogDensity(y2, e*z[1], 0.3)
		})
		draws := p.Column(1)
		thin := make([]float64, 0, 99)
		for i := 0; i < 297; i += 3 {
			thin = append(thin, draws[i])
		}
		ranks = append(ranks, Rank(thin, b))
	}
	if r := TestRanks(ranks, 99, 10, 0.01, 1); !r.Uniform() {
		t.Errorf("ranks leave the 99 %% band: worst %.2f, limit %.2f, histogram %v", r.Worst, r.Limit, r.Histogram)
	}
}

func TestRanksSeeOverconfidence(t *testing.T) {
	t.Parallel()
	rng := newTestRand(4)
	var narrow, good []int
	for rep := 0; rep < 300; rep++ {
		truth := rng.NormFloat64()
		a, b := make([]float64, 99), make([]float64, 99)
		for i := range a {
			a[i], b[i] = 0.6*rng.NormFloat64(), rng.NormFloat64()
		}
		narrow, good = append(narrow, Rank(a, truth)), append(good, Rank(b, truth))
	}
	if TestRanks(narrow, 99, 10, 0.05, 1).Uniform() {
		t.Error("a posterior 40 % too narrow was not seen")
	}
	if r := TestRanks(good, 99, 10, 0.01, 1); !r.Uniform() {
		t.Errorf("an honest posterior was rejected: %.2f over %.2f", r.Worst, r.Limit)
	}
}

func BenchmarkRun35(b *testing.B) {
	b.ReportAllocs()
	for i := 0; i < b.N; i++ {
		Sampler{Particles: 800, Seed: 1}.Run(35, func(z []float64) float64 {
			return NormalLogDensity(1, z[0]+0.5*z[1], 0.05) + NormalLogDensity(0.3, z[2]*z[3], 0.1)
		})
	}
}

func sorted(x []float64) []float64 { y := append([]float64(nil), x...); sort.Float64s(y); return y }

// In thirty coordinates a sample must be as wide as the density that it is drawn from: with z ~ N(0, 1) and a reading of 1 ± 0.5 of each, the posterior
// is N(0.8, 0.2) (conjugate normals, any textbook).
func TestManyCoordinatesKeepTheirWidth(t *testing.T) {
	t.Parallel()
	const dim, seeds, parts = 30, 12, 800
	var variance, far float64
	for seed := uint64(1); seed <= seeds; seed++ {
		p := Sampler{Particles: parts, Seed: seed}.Run(dim, func(z []float64) float64 {
			l := 0.0
			for _, x := range z {
				l -= 2 * (x - 1) * (x - 1)
			}
			return l
		})
		for _, z := range p.Z {
			for _, x := range z {
				variance += (x - 0.8) * (x - 0.8) / (parts * dim * seeds)
				if math.Abs(x-0.8) > 2*math.Sqrt(0.2) {
					far += 1.0 / (parts * dim * seeds)
				}
			}
		}
	}
	if math.Abs(variance/0.2-1) > 0.02 || math.Abs(far/0.0455-1) > 0.04 {
		t.Errorf("variance %.4f, want 0.2; beyond two deviations %.4f, want 0.0455", variance, far)
	}
}
