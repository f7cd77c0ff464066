package track

import (
	"encoding/json"
	"flag"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"elevage/science/bayes"
)

var dump = flag.String("dump", "", "file to write one parcel's density and posterior to, for study/emcee_compare.py")

// TestDumpForComparison writes what another sampler needs to sample the same
// density, which it must program anew from the formulas: data, covariances, table.
func TestDumpForComparison(t *testing.T) {
	if *dump == "" {
		t.Skip("asked for with -dump")
	}
	in := carboy(t)
	var keep []Reading
	for _, r := range in.Readings {
		if r.What != Bubble && r.What != Stir {
			keep = append(keep, r)
		}
	}
	in.Readings, in.At = append(keep, Reading{On: day("2026-10-22"), What: Malic, Value: 0.9, Text: "0.90"}), day("2026-11-05")
	in.Options.Particles, in.Options.Brief = 4000, true
	if err := in.settle(); err != nil {
		t.Fatal(err)
	}
	const seeds = 8
	t0 := time.Now()
	var p *posterior
	var fates []fate
	ess := 0.0
	for seed := uint64(1); seed <= seeds; seed++ {
		in.Options.Seed = seed
		p = sample(&in)
		fates, ess = append(fates, p.fates...), ess+p.draws.ESS
	}
	took := time.Since(t0).Seconds()
	p.fates = fates
	quantiles := func(get func(*fate) float64) []float64 {
		s := append([]float64(nil), column(p.fates, get)...)
		var out []float64
		for _, q := range []float64{0.05, 0.25, 0.5, 0.75, 0.95} {
			out = append(out, bayes.WeightedQuantile(s, ones(len(s)), q))
		}
		return out
	}
	var gauges []map[string]any
	for _, i := range p.panel.moving {
		g := p.panel.gauges[i]
		gauges = append(gauges, map[string]any{"ta": g.what == TA, "day": g.day, "y": g.value - g.base})
	}
	var assays, spots []map[string]any
	for _, a := range p.assays {
		assays = append(assays, map[string]any{"day": a.day, "value": a.value})
	}
	for _, s := range p.spots {
		spots = append(spots, map[string]any{"day": s.day, "word": s.word})
	}
	c := p.season.schedule.Conditions[0]
	raw, err := json.Marshal(map[string]any{
		"now": p.season.now, "dim": p.dim, "conditions": c, "hazard": p.season.hazard[1], "stop_share": p.season.stopShare,
		"malic": p.malic, "faults": p.faults, "spread": p.chem.spread, "nodes": p.chem.nodes, "dph": p.chem.dph, "dta": p.chem.dta,
		"chol": p.panel.chol, "shift": p.panel.shift, "gauges": gauges, "assays": assays, "spots": spots, "priors": p.priors, "how": p.how,
		"seconds": took, "ess": ess, "conditions_count": len(p.season.schedule.Conditions),
		"now_q": quantiles(func(f *fate) float64 { return f.now }), "initial_q": quantiles(func(f *fate) float64 { return f.m0 }),
		"p_finished": p.states().Finished, "z0": p.draws.Z[0], "logl0": p.logLikelihood(p.draws.Z[0]),
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(*dump, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	p.bruteQuantiles(t)
}

// bruteQuantiles logs what draws from the prior say, weighted by the likelihood as it
// stands: no Markov chain has to mix for these.
func (m *model) bruteQuantiles(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	z := make([]float64, m.dim)
	var logw, malic, initial []float64
	for range *bruteDraws {
		for j := range z {
			z[j] = rng.NormFloat64()
		}
		logw = append(logw, m.logLikelihood(z))
		malic, initial = append(malic, m.malicNow(z, m.season.now)), append(initial, m.initialMalic(z))
	}
	w, _ := bayes.Normalise(nil, logw)
	gone := 0.0
	for i := range w {
		if malic[i] < 0.1 {
			gone += w[i]
		}
	}
	t.Logf("brute force: finished %.4f (ESS %.0f)", gone, bayes.ESS(w))
	for _, q := range []float64{0.05, 0.25, 0.5, 0.75, 0.95} {
		t.Logf("%.2f: malic acid now %.4f, initial %.4f", q, bayes.WeightedQuantile(malic, w, q), bayes.WeightedQuantile(initial, w, q))
	}
}

func ones(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 1
	}
	return w
}
