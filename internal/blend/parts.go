package blend

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"elevage/science/quantity"
)

// parts finds the trade-off where any part of a source may be used.
func (f *finder) parts() ([]Blend, error) {
	volumes, err := f.volumes()
	if err != nil || len(volumes) == 0 {
		return nil, err
	}
	var found []Blend
	for _, v := range volumes {
		more, err := f.at(v)
		if err != nil {
			return nil, err
		}
		found = append(found, more...)
	}
	best := undominated(found)
	if len(best) == 0 || len(best[0].Parts) < 2 {
		return best, nil
	}
	for _, p := range best[0].Parts { // what each wine of the best is worth
		more, err := f.without(p.Source.Vessel)
		if err != nil {
			return nil, err
		}
		found = append(found, more...)
	}
	return undominated(found), nil
}

// without finds blends that leave one source alone.
func (f *finder) without(vessel string) ([]Blend, error) {
	g := &finder{wish: f.wish, sources: slices.DeleteFunc(slices.Clone(f.sources), func(s Source) bool { return s.Vessel == vessel })}
	g.prepare()
	volumes, err := g.volumes()
	if err != nil {
		return nil, err
	}
	var out []Blend
	for _, v := range volumes {
		more, err := g.at(v)
		if err != nil {
			return nil, err
		}
		for i := range more {
			more[i].Why = "without " + vessel + ", " + more[i].Why
		}
		out = append(out, more...)
	}
	return out, nil
}

// volumes are those to try: what fills vessels, or the least and the greatest that
// can be made, and some between.
func (f *finder) volumes() ([]float64, error) {
	most, err := f.greatest()
	if errors.Is(err, errNone) || most <= 0 {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if m := f.wish.Most.Litres(); m > 0 {
		most = min(most, m)
	}
	least := f.wish.Least.Litres()
	if len(f.wish.Into) > 0 {
		var out []float64
		for _, s := range fillings(f.wish.Into, most) {
			if s.sum >= least-1e-9 && s.sum > 0 {
				out = append(out, s.sum)
			}
		}
		const tries = 12
		slices.Sort(out)
		return out[max(0, len(out)-tries):], nil
	}
	if least > most+1e-9 {
		return nil, nil
	}
	if least == 0 {
		least = most / 4
	}
	out := []float64{most}
	for _, k := range [...]float64{2. / 3, 1. / 3, 0} {
		if v := least + k*(most-least); v < most*0.999 {
			out = append(out, v)
		}
	}
	return out, nil
}

// greatest is the most that can be made within the limits, in litres: a linear
// programme in litres, with pH rows put right as for shares.
func (f *finder) greatest() (float64, error) {
	rows, err := f.rowsOf(f.wish.Limits...)
	if err != nil {
		return 0, err
	}
	n := len(f.sources)
	for round := 0; ; round++ {
		p := programme{cost: make([]float64, n)}
		for _, r := range rows {
			p.rows, p.limit = append(p.rows, r.coefficients()), append(p.limit, 0)
		}
		for i, s := range f.sources {
			k := make([]float64, n)
			k[i] = 1
			p.cost[i] = -1
			p.rows, p.limit = append(p.rows, k), append(p.limit, s.Volume.Litres())
		}
		x, cost, err := p.solve()
		if err != nil || -cost < 1e-6 {
			return 0, errNone
		}
		for i := range x {
			x[i] /= -cost
		}
		moved, err := f.correct(rows, x)
		if err != nil {
			return 0, err
		}
		if moved < settled || round == rounds {
			return -cost, nil
		}
	}
}

// at finds the blends of one volume: the one that misses its targets least at their
// worst, and for each target the one that misses it least and then the others.
func (f *finder) at(volume float64) ([]Blend, error) {
	limits, err := f.rowsOf(f.wish.Limits...)
	if err != nil {
		return nil, err
	}
	all := make([]int, len(f.wish.Targets))
	for j := range all {
		all[j] = j
	}
	x, _, err := f.minimax(limits, all, volume)
	if errors.Is(err, errNone) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var out []Blend
	take := func(x []float64, why string) error {
		b, err := f.blend(x, volume, why)
		if err == nil && f.keeps(&b, x) {
			f.fill(&b)
			out = append(out, b)
		}
		return err
	}
	why := "meets all its targets together best"
	switch len(all) {
	case 0:
		why = "keeps its limits"
	case 1:
		why = "meets " + f.wish.Targets[0].String() + " best"
	}
	if err := take(x, why); err != nil || len(all) < 2 {
		return out, err
	}
	for j, t := range f.wish.Targets {
		_, z, err := f.minimax(limits, all[j:j+1], volume)
		if errors.Is(err, errNone) { // at the very edge of a limit on pH
			continue
		}
		if err != nil {
			return nil, err
		}
		held, err := f.within(t, z*(1+hair)+hair)
		if err != nil {
			return nil, err
		}
		x, _, err := f.minimax(slices.Concat(limits, held), all, volume)
		if errors.Is(err, errNone) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := take(x, "meets "+t.String()+" best"); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// hair is what a miss may be off, in tolerances: less than anyone can tell.
const hair = 1e-3

// within are the rows that hold a target to a miss of at most z tolerances.
func (f *finder) within(t Target, z float64) ([]*row, error) {
	l := t.Limit
	l.low, l.high = t.low-z*t.tolerance, t.high+z*t.tolerance
	if l.p == ph { // no wine is there: no limit
		const lowest, highest = 2, 5
		if l.low < lowest {
			l.low = math.Inf(-1)
		}
		if l.high > highest {
			l.high = math.Inf(1)
		}
	}
	return f.rowsOf(l)
}

// minimax finds the blend whose greatest miss of some targets is least, and that
// miss. The wines that keep a pH within given ends are bounded by planes, as they
// are for everything that mixes by volume; so the least miss is where the room
// between the planes closes, and halving finds it.
func (f *finder) minimax(limits []*row, targets []int, volume float64) (x []float64, z float64, err error) {
	try := func(z float64) ([]float64, error) {
		rows := limits
		for _, j := range targets {
			more, err := f.within(f.wish.Targets[j], z)
			if err != nil {
				return nil, err
			}
			rows = slices.Concat(rows, more)
		}
		return f.best(&task{rows: rows, volume: volume})
	}
	if x, err = f.best(&task{rows: limits, volume: volume}); err != nil || len(targets) == 0 {
		return x, 0, err
	}
	low, high := 0.0, 1.0
	for {
		y, err := try(high)
		if err == nil {
			x = y
			break
		}
		if !errors.Is(err, errNone) {
			return nil, 0, err
		}
		if low = high; high > 1e6 {
			return x, high, nil // so far off that it is no target
		}
		high *= 4
	}
	for high-low > hair*(1+high)/4 {
		middle := (low + high) / 2
		y, err := try(middle)
		switch {
		case err == nil:
			x, high = y, middle
		case errors.Is(err, errNone):
			low = middle
		default:
			return nil, 0, err
		}
	}
	return x, high, nil
}

// keeps holds a blend against its limits as they are solved, not as they were
// linear: to a ten-thousandth of what matters.
func (f *finder) keeps(b *Blend, x []float64) bool {
	for _, l := range f.wish.Limits {
		if !f.keepsOne(l, b, x) {
			return false
		}
	}
	return true
}

func (f *finder) keepsOne(l Limit, b *Blend, x []float64) bool {
	if l.p == freeSO2 {
		return b.Free != nil && b.Free[0].GPerL() >= l.low && b.Free[1].GPerL() <= l.high
	}
	if l.p == ph && b.Wine.PHTrouble != "" {
		return false
	}
	v, slack := f.valueOf(l, b, x), 1e-3*properties[l.p].scale
	return v <= l.high+slack && v >= l.low-slack
}

// A filling is some vessels that are filled.
type filling struct {
	sum   float64
	sizes []quantity.Volume
}

// fillings are the sums that some of the vessels make, up to a limit, each once.
func fillings(into []quantity.Volume, most float64) []filling {
	sums := map[int]filling{0: {}}
	for _, size := range into {
		next := make(map[int]filling, 2*len(sums))
		for k, s := range sums {
			next[k] = s
		}
		for _, s := range sums {
			sum := s.sum + size.Litres()
			if k := int(math.Round(sum * 100)); sum <= most+1e-9 {
				if old, ok := next[k]; !ok || len(old.sizes) > len(s.sizes)+1 {
					next[k] = filling{sum, append(slices.Clip(s.sizes), size)}
				}
			}
		}
		sums = next
	}
	out := make([]filling, 0, len(sums))
	for _, s := range sums {
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b filling) int { return cmp.Compare(a.sum, b.sum) })
	return out
}

// fill finds the vessels that a blend fills, and what is left over.
func (f *finder) fill(b *Blend) {
	if len(f.wish.Into) == 0 {
		return
	}
	all := fillings(f.wish.Into, b.Volume.Litres())
	best := all[len(all)-1]
	b.Filled, b.Over = best.sizes, max(0, b.Volume-quantity.Volume(best.sum))
}

// undominated are the blends that no other beats: none misses every target less,
// makes as much, of as few wines. Best first.
func undominated(found []Blend) []Blend {
	var out []Blend
	for i := range found {
		beaten := false
		for j := range found {
			if i != j && (beats(&found[j], &found[i]) && (!beats(&found[i], &found[j]) || j < i)) {
				beaten = true
				break
			}
		}
		if !beaten {
			out = append(out, found[i])
		}
	}
	slices.SortStableFunc(out, func(a, b Blend) int {
		return cmp.Or(cmp.Compare(math.Round(a.Worst()/alike), math.Round(b.Worst()/alike)), cmp.Compare(b.Volume, a.Volume), cmp.Compare(len(a.Parts), len(b.Parts)))
	})
	const most = 12
	return out[:min(len(out), most)]
}

// alike is a difference of misses, in tolerances, that makes no other blend.
const alike = 0.02

// beats says whether a is as good as b in everything, to what can be told apart.
func beats(a, b *Blend) bool {
	if a.Volume < b.Volume*(1-1e-3) || len(a.Parts) > len(b.Parts) {
		return false
	}
	for k := range a.Misses {
		if math.Abs(a.Misses[k].By) > math.Abs(b.Misses[k].By)+alike {
			return false
		}
	}
	return true
}
