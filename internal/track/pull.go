package track

import (
	"math"
	"sort"

	"elevage/science/bayes"
)

// pulls says for every reading what the belief would be without it, by weighting
// the particles with one over the chance they gave it (importance sampling leave
// one out, Gelfand 1996; weights cut off at √n times their mean, Ionides 2008), and
// how much it surprised the others.
func (p *posterior) pulls(median float64) ([]Pull, []Flag) {
	var keep []int
	for i := 0; i < len(p.fates); i += p.everyOf(400) {
		keep = append(keep, i)
	}
	sort.SliceStable(keep, func(a, b int) bool { return p.fates[keep[a]].now < p.fates[keep[b]].now }) // quantiles below are then a walk
	ev := p.evidence(keep)
	now := make([]float64, len(keep))
	gone := make([]float64, len(keep))
	for j, i := range keep {
		now[j] = p.fates[i].now
		if now[j] < float64(p.in.Options.Limit) {
			gone[j] = 1
		}
	}
	var out []Pull
	var flags []Flag
	for _, e := range ev {
		w := inverseWeights(e.logL)
		pull := Pull{On: Date{e.on}, What: e.what, Value: e.value, Line: e.line, Expected: e.expected,
			Surprise: round(e.surprise, 2), Doubt: round(e.doubt, 3),
			Malic: toGPerL(round(bayes.WeightedQuantile(now, w, 0.5), 3))}
		without := 0.0
		for j := range w {
			without += w[j] * gone[j]
		}
		pull.PFinished = round(without, 4)
		pull.Shift = toGPerL(round(median-float64(pull.Malic), 3))
		if e.doubt > 0.5 {
			pull.Flagged = true
			flags = append(flags, Flag{Kind: "contradiction", Line: e.line, Message: e.contradiction()})
		}
		out = append(out, pull)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].On.Before(out[j].On.Time) })
	return out, flags
}

func inverseWeights(logL []float64) []float64 {
	neg := make([]float64, len(logL))
	for i, l := range logL {
		neg[i] = -l
	}
	w, _ := bayes.Normalise(nil, neg)
	limit, sum := math.Sqrt(float64(len(w)))/float64(len(w)), 0.0
	for i := range w {
		w[i] = math.Min(w[i], limit)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}
