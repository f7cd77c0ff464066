package track

import (
	"math"
	"math/rand/v2"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// The table of pH and TA against exact solutions of the same anchored wine.
func TestChemistryAgainstExactSolutions(t *testing.T) {
	t.Parallel()
	ph, ta := quantity.PH(3.42), quantity.Concentration(6.8)
	c := newChemistry(Facts{PH: &ph, TA: &ta}, ph)
	for _, m0 := range []float64{0.7, 1.9, 3.3, 4.6} {
		w, err := acidbase.Anchor(acidbase.Measured{PH: ph, TA: ta, EndPoint: 8.2, Malic: quantity.Concentration(m0), Alcohol: 13, Temperature: 20})
		if err != nil {
			t.Fatal(err)
		}
		for _, left := range []float64{0.8, 0.5, 0.1, 0} {
			done, err := w.Malolactic(quantity.Concentration(m0 * (1 - left)))
			if err != nil {
				t.Fatal(err)
			}
			p, err := done.PH()
			if err != nil {
				t.Fatal(err)
			}
			a, err := done.TA(8.2, acidbase.Tartaric)
			if err != nil {
				t.Fatal(err)
			}
			dph, dta := c.at(m0, m0*left)
			if math.Abs(dph-float64(p-ph)) > 0.003 || math.Abs(dta-float64(a-ta)) > 0.01 {
				t.Errorf("from %.1f to %.0f %%: table %+.4f pH %+.3f g/L, exact %+.4f %+.3f", m0, 100*left, dph, dta, float64(p-ph), float64(a-ta))
			}
		}
	}
}

// Conditioning and leave-one-out against the textbook formulas worked directly on
// the joint covariance (Rasmussen & Williams 2006, eqs. 2.19 and 5.12).
func TestPanelAgainstDirectGaussian(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At = day("2026-11-10")
	if err := in.settle(); err != nil {
		t.Fatal(err)
	}
	m := newModel(in)
	p := m.panel
	n := len(p.gauges)
	rng := rand.New(rand.NewPCG(1, 2))
	resid := make([]float64, n)
	moving := make([]float64, len(p.moving))
	for i := range resid {
		resid[i] = p.gauges[i].value - p.gauges[i].base
	}
	for i, g := range p.moving {
		moving[i] = 0.1 * rng.NormFloat64()
		resid[g] = moving[i]
	}
	full := square(n)
	for i := range full {
		copy(full[i], p.fixed[i])
		full[i][i] += p.noise(i)
	}
	// ln p(moving | still) = ln p(all) − ln p(still)
	var still []int
	for i := range p.gauges {
		if !p.gauges[i].wine {
			still = append(still, i)
		}
	}
	sub := make([]float64, len(still))
	for i, s := range still {
		sub[i] = resid[s]
	}
	want := logGaussian(full, resid) - logGaussian(pick(full, still, still), sub)
	if got := p.logLikelihood(append([]float64(nil), moving...)); math.Abs(got-want) > 1e-6 {
		t.Errorf("conditional log-density %.8f, direct %.8f", got, want)
	}
	loo := make([]float64, n)
	p.leaveOneOut(loo, resid)
	for i := 0; i < n; i++ {
		var others []int
		for j := 0; j < n; j++ {
			if j != i {
				others = append(others, j)
			}
		}
		inv := square(n - 1)
		invert(inv, pick(full, others, others))
		mean, v := 0.0, full[i][i]
		for a, j := range others {
			g := 0.0
			for b, k := range others {
				g += full[i][k] * inv[b][a]
			}
			mean += g * resid[j]
			v -= g * full[i][j]
		}
		if math.Abs(loo[i]-(resid[i]-mean)) > 1e-6 || math.Abs(p.sdLOO[i]-math.Sqrt(v)) > 1e-6 {
			t.Errorf("gauge %d: %.6f ± %.6f, direct %.6f ± %.6f", i, loo[i], p.sdLOO[i], resid[i]-mean, math.Sqrt(v))
		}
	}
}

func logGaussian(cov [][]float64, x []float64) float64 {
	l := cholesky(cov)
	y := make([]float64, len(x))
	s := 0.0
	for i := range x {
		v := x[i]
		for j := 0; j < i; j++ {
			v -= l[i][j] * y[j]
		}
		y[i] = v / l[i][i]
		s += -0.5*y[i]*y[i] - math.Log(l[i][i])
	}
	return s
}

// A reading of the saturated cream of tartar or of the control narrows what a
// session's pH can say, a 7.00 check less so: it pins the offset, not the slope.
func TestWhatACheckIsWorth(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At, in.Readings = day("2026-11-10"), nil
	if err := in.settle(); err != nil {
		t.Fatal(err)
	}
	p := newModel(in).panel
	f := in.Options.Faults
	next := gauge{what: PH, day: 20, session: 20, sd: f.PHRepeat, slope: 1}
	check := func(w What, at float64) *gauge {
		return &gauge{what: w, day: 20, session: 20, sd: math.Hypot(f.PHCheck, f.PHRepeat/2), slope: (7 - at) / 3.5}
	}
	alone := p.predictiveVariance(next, nil)
	seven := p.predictiveVariance(next, check(PHCheck7, 7))
	tartar := p.predictiveVariance(next, check(PHCheck356, 3.557))
	control := p.predictiveVariance(next, &gauge{what: PHControl, day: 20, session: 20, sd: f.PHRepeat, slope: 1})
	if !(control < tartar && tartar < seven && seven < alone) {
		t.Errorf("SD of the next reading: alone %.4f, with 7.00 %.4f, with cream of tartar %.4f, with control %.4f",
			math.Sqrt(alone), math.Sqrt(seven), math.Sqrt(tartar), math.Sqrt(control))
	}
}
