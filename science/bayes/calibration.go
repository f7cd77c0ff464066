package bayes

import (
	"math"
	"math/rand/v2"
	"sort"
)

// Rank is the number of draws below the truth: the statistic of simulation-based
// calibration (Talts, Betancourt, Simpson, Vehtari & Gelman 2018,
// arXiv:1804.06788). If truth and data are drawn from the model itself and the
// draws are independent, it is uniform on 0…len(draws).
func Rank(draws []float64, truth float64) int {
	r := 0
	for _, d := range draws {
		if d < truth {
			r++
		}
	}
	return r
}

// A RankTest judges a set of ranks for uniformity by their empirical distribution
// function, which sees a slope, a hump or a smile alike, with a band that holds
// simultaneously over all ranks.
type RankTest struct {
	Ranks     int       // how many ranks were judged
	Draws     int       // ranks run from 0 to Draws
	Grid      []float64 // fractions of the rank range at which the ECDF is judged
	Excess    []float64 // ECDF − uniform, at Grid
	Band      []float64 // half-width of the simultaneous band at Grid
	Worst     float64   // largest |Excess| in units of pointwise standard deviations
	Limit     float64   // the value of Worst that uniform ranks exceed with probability Alpha
	Alpha     float64
	Histogram []int // counts in equal bins of ranks, for the eye
}

// Uniform reports whether the ranks stay inside the simultaneous band.
func (t RankTest) Uniform() bool { return t.Worst <= t.Limit }

// TestRanks judges ranks in 0…draws at level alpha (say 0.05). The limit is found
// by simulating sets of uniform ranks of the same size, so that the band is exact
// for this number of ranks up to Monte Carlo error (after Säilynoja, Bürkner &
// Vehtari 2022, Statistics and Computing 32:32, with the supremum of standardised
// deviations as the statistic).
func TestRanks(ranks []int, draws, bins int, alpha float64, seed uint64) RankTest {
	const points = 50
	n := len(ranks)
	t := RankTest{Ranks: n, Draws: draws, Alpha: alpha, Histogram: make([]int, bins)}
	for _, r := range ranks {
		t.Histogram[min(bins-1, r*bins/(draws+1))]++
	}
	cut := make([]int, 0, points)
	for i := 1; i < points; i++ {
		c := i * (draws + 1) / points // ranks < c
		if c > 0 && (len(cut) == 0 || c > cut[len(cut)-1]) {
			cut = append(cut, c)
		}
	}
	t.Excess = ecdfExcess(ranks, cut, draws)
	sd := make([]float64, len(cut))
	for i, c := range cut {
		p := float64(c) / float64(draws+1)
		t.Grid = append(t.Grid, p)
		sd[i] = math.Sqrt(p * (1 - p) / float64(n))
	}
	t.Worst = supremum(t.Excess, sd)
	rng := rand.New(rand.NewPCG(seed, 0x5bc))
	sims := make([]float64, 2000)
	fake := make([]int, n)
	for s := range sims {
		for i := range fake {
			fake[i] = rng.IntN(draws + 1)
		}
		sims[s] = supremum(ecdfExcess(fake, cut, draws), sd)
	}
	sort.Float64s(sims)
	t.Limit = Quantile(sims, 1-alpha)
	for _, s := range sd {
		t.Band = append(t.Band, t.Limit*s)
	}
	return t
}

func ecdfExcess(ranks, cut []int, draws int) []float64 {
	counts := make([]int, draws+2)
	for _, r := range ranks {
		counts[r+1]++
	}
	for i := 1; i < len(counts); i++ {
		counts[i] += counts[i-1] // counts[c] = ranks < c
	}
	out := make([]float64, len(cut))
	for i, c := range cut {
		out[i] = float64(counts[c])/float64(len(ranks)) - float64(c)/float64(draws+1)
	}
	return out
}

func supremum(excess, sd []float64) float64 {
	worst := 0.0
	for i, e := range excess {
		worst = math.Max(worst, math.Abs(e)/sd[i])
	}
	return worst
}
