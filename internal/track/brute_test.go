package track

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"elevage/science/bayes"
)

var bruteDraws = flag.Int("brute", 300_000, "draws from the prior for the brute-force posterior; 3000000 for the study")

// The sampler against brute force: the same density weighted over draws from the
// prior (self-normalised importance sampling, whose error needs no Markov chain to
// have mixed), with the doubts about single readings held.
func TestSamplerAgainstBruteForce(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.Readings, in.At = append(in.Readings, Reading{On: day("2026-10-22"), What: Malic, Value: 0.9, Text: "0.90"}), day("2026-11-05")
	if err := in.settle(); err != nil {
		t.Fatal(err)
	}
	m := newModel(in)
	rng := rand.New(rand.NewPCG(5, 6))
	z := make([]float64, m.dim)
	now := m.season.now
	var logw, malic []float64
	for i := 0; i < *bruteDraws; i++ {
		for j := range z {
			z[j] = rng.NormFloat64()
		}
		logw = append(logw, m.logLikelihood(z))
		malic = append(malic, m.malicNow(z, now))
	}
	w, _ := bayes.Normalise(nil, logw)
	ess := bayes.ESS(w)
	gone, stuck := 0.0, 0.0
	for i := range w {
		if malic[i] < 0.1 {
			gone += w[i]
		}
		if malic[i] > 0.5 {
			stuck += w[i]
		}
	}
	var gone2, stuck2, n, essSMC float64
	for seed := uint64(1); seed <= 6; seed++ {
		s := bayes.Sampler{Particles: 1000, Seed: seed, Jumps: m.jumps(), Idle: m.idle()}
		p := s.Run(m.dim, m.logLikelihood)
		essSMC += p.ESS
		for _, z := range p.Z {
			m.logLikelihood(z)
			v := m.malicNow(z, now)
			n++
			if v < 0.1 {
				gone2++
			}
			if v > 0.5 {
				stuck2++
			}
		}
	}
	for _, c := range []struct {
		name       string
		brute, smc float64
	}{{"malic acid below 0.1 g/L", gone, gone2 / n}, {"above 0.5 g/L", stuck, stuck2 / n}} {
		se := math.Sqrt(c.brute * (1 - c.brute) * (1/ess + 1/essSMC))
		t.Logf("%s: brute force %.4f (ESS %.0f), sampler %.4f (ESS %.0f), difference %.1f standard errors", c.name, c.brute, ess, c.smc, essSMC, (c.smc-c.brute)/se)
		if math.Abs(c.smc-c.brute) > 3.5*se {
			t.Errorf("%s: brute force %.4f, sampler %.4f, standard error %.4f", c.name, c.brute, c.smc, se)
		}
	}
}

// malicNow after logLikelihood has been asked at z.
func (m *model) malicNow(z []float64, day int) float64 {
	s := m.begin(z)
	tail := s.tail()
	return s.rest + float64(tail.Left(m.work[day]))
}
