package blend

import (
	"fmt"
	"slices"
)

// whole finds the trade-off where sources are emptied or left alone: every choice of
// them is looked at, as long as what is left to choose can still make the least.
func (f *finder) whole() ([]Blend, error) {
	const mostSources = 20
	if len(f.sources) > mostSources {
		return nil, tooMany(len(f.sources), mostSources)
	}
	var found []Blend
	var failed error
	x := make([]float64, len(f.sources))
	f.choose(0, 0, x, func(total float64) {
		if failed != nil {
			return
		}
		shares := make([]float64, len(x))
		for i, v := range x {
			shares[i] = v / total
		}
		if !f.keepsLinear(shares) {
			return
		}
		b, err := f.blend(shares, total, "")
		if err != nil {
			failed = err
			return
		}
		if !f.keeps(&b, shares) {
			return
		}
		f.fill(&b)
		b.Why = fmt.Sprintf("empties %d", len(b.Parts))
		if found = append(found, b); len(found) > 4000 {
			found = undominatedAll(found)
		}
	})
	return undominated(found), failed
}

// choose goes through every choice of sources whose volume is within the wish.
func (f *finder) choose(i int, total float64, x []float64, take func(total float64)) {
	if m := f.wish.Most.Litres(); m > 0 && total > m+1e-9 {
		return
	}
	if i == len(f.sources) {
		if total > 0 && total >= f.wish.Least.Litres()-1e-9 && f.fits(total) {
			take(total)
		}
		return
	}
	x[i] = f.sources[i].Volume.Litres()
	f.choose(i+1, total+x[i], x, take)
	x[i] = 0
	f.choose(i+1, total, x, take)
}

// fits says whether a volume fills vessels with no more left over than the reserve.
func (f *finder) fits(total float64) bool {
	if len(f.wish.Into) == 0 {
		return true
	}
	all := fillings(f.wish.Into, total)
	best := all[len(all)-1].sum
	return best > 0 && total-best <= f.wish.Reserve*total
}

// keepsLinear rejects at once what breaks a limit that mixes by volume.
func (f *finder) keepsLinear(x []float64) bool {
	for _, l := range f.wish.Limits {
		if l.p == ph {
			continue
		}
		sum, slack := 0.0, 1e-3*properties[l.p].scale
		for i, v := range f.value(l) {
			sum += v * x[i]
		}
		if sum > l.high+slack || sum < l.low-slack {
			return false
		}
	}
	return true
}

// undominatedAll is undominated without a limit on how many.
func undominatedAll(found []Blend) []Blend {
	var out []Blend
	for i := range found {
		if !slices.ContainsFunc(out, func(o Blend) bool { return beats(&o, &found[i]) }) {
			out = append(out, found[i])
		}
	}
	return out
}
