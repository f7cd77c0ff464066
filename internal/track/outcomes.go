package track

import (
	"math"
	"sort"

	"elevage/science/bayes"
)

// outcomes gives, for each thing the test may show, its chance for each fate.
func (g *gambler) outcomes(w What, day int) [][]float64 {
	switch w {
	case Chromatogram:
		return g.table(3, func(out []float64, i int) {
			m := g.malicOn(i, day)
			for k, word := range []string{SpotNone, SpotFaint, SpotStrong} {
				out[k] = g.spotChance(word, m, g.z[i][zSpot])
			}
		})
	case Malic:
		return g.binned([]float64{0.05, 0.1, 0.15, 0.25, 0.5}, func(i int) (float64, float64) {
			m := g.malicOn(i, day)
			return m, math.Hypot(g.faults.AssayFixed, (g.faults.AssayShare+g.faults.AssayKit)*m)
		}, g.faults.Outlier)
	case TA, PH, PHControl:
		return g.acidOutcomes(w, day)
	}
	return nil
}

func (g *gambler) table(n int, fill func(out []float64, i int)) [][]float64 {
	t := square2(n, len(g.fates))
	out := make([]float64, n)
	for i := range g.fates {
		fill(out, i)
		for k := range t {
			t[k][i] = out[k]
		}
	}
	return t
}

// binned is the chance of a reading between edges, normal about a mean, with a
// share of readings that say nothing.
func (g *gambler) binned(edges []float64, reading func(i int) (mean, sd float64), wild float64) [][]float64 {
	n := len(edges) + 1
	return g.table(n, func(out []float64, i int) {
		mean, sd := reading(i)
		last, per := 0.0, 1/sd
		for k, e := range edges {
			c := bayes.NormalCDF((e - mean) * per)
			out[k] = c - last
			last = c
		}
		out[n-1] = 1 - last
		for k := range out {
			out[k] = (1-wild)*out[k] + wild/float64(n)
		}
	})
}

// acidOutcomes: what one more pH or TA reading would show, as malic acid left, with
// what is already known of this wine's starting point and these instruments. For
// the control the reading is the difference within a session.
func (g *gambler) acidOutcomes(w What, day int) [][]float64 {
	next := gauge{what: PH, day: float64(day), session: day, sd: g.faults.PHRepeat, slope: 1}
	var beside *gauge
	if w == TA {
		next.what, next.sd = TA, g.faults.TARepeat
	}
	if w == PHControl {
		beside = &gauge{what: PHControl, day: float64(day), session: day, sd: g.faults.PHRepeat, slope: 1}
	}
	sd := math.Sqrt(math.Max(g.panel.predictiveVariance(next, beside), 1e-8))
	shift := func(i int) float64 {
		dph, dta := g.chem.at(g.fates[i].m0, g.malicOn(i, day)+g.fates[i].curve.at(day).shift)
		if w == TA {
			return dta
		}
		return dph * math.Exp(g.chem.spread*g.z[i][zBuffer])
	}
	x := make([]float64, len(g.fates))
	for i := range x {
		x[i] = shift(i)
	}
	sorted := append([]float64(nil), x...)
	sort.Float64s(sorted)
	var edges []float64
	for q := 1.0 / 6; q < 0.9; q += 1.0 / 6 {
		edges = append(edges, bayes.Quantile(sorted, q))
	}
	return g.binned(edges, func(i int) (float64, float64) { return x[i], sd }, g.faults.Outlier)
}
