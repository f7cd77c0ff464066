package blend

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"elevage/internal/compose"
	"elevage/internal/fault"
	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// A Part is how much of a source goes into a blend.
type Part struct {
	Source Source
	Volume quantity.Volume
	All    bool // the source is emptied
}

// A Miss is how far a blend is from a target.
type Miss struct {
	Target Target
	By     float64 // in tolerances, signed: above the target is positive
}

// A Blend is one answer.
type Blend struct {
	Parts  []Part
	Volume quantity.Volume
	Wine   compose.Wine // what it is made of, with ±
	Misses []Miss
	// Close are limits that the blend keeps, but by less than one standard deviation
	// of what is known: read the sources again before relying on it.
	Close []Limit
	// Broken are limits that a blend of Pour does not keep; Find gives none such.
	Broken []Limit
	// Filled are the vessels of Wish.Into that it fills, Over what is left over.
	Filled []quantity.Volume
	Over   quantity.Volume
	Why    string // what this one is best at
	// Free are the least and the greatest free sulfur dioxide of its parts, between
	// which its own lies; nil if one of them is not known.
	Free *[2]quantity.Concentration
}

// Worst is the greatest miss, in tolerances; 0 without targets.
func (b *Blend) Worst() (worst float64) {
	for _, m := range b.Misses {
		worst = max(worst, math.Abs(m.By))
	}
	return worst
}

// An Answer is what Find found.
type Answer struct {
	// Blends is the trade-off: none is better than another in every wish. The first
	// misses its targets least.
	Blends   []Blend
	Excluded []Excluded
	Conflict *Conflict // set if there is no blend
}

// Find finds the blends that keep all limits. The error is fault.Invalid for a wish
// that contradicts itself; a wish that the wines cannot meet is an answer with a
// Conflict.
func Find(w Wish) (Answer, error) {
	if err := w.check(); err != nil {
		return Answer{}, err
	}
	if w.Reserve == 0 {
		w.Reserve = usualReserve
	}
	in, out := w.usable()
	a := Answer{Excluded: out}
	w.Limits = slices.DeleteFunc(slices.Clone(w.Limits), func(l Limit) bool { return l.p == freeSO2 }) // kept by what is in
	f := &finder{wish: w, sources: in}
	if len(in) == 0 {
		a.Conflict = &Conflict{Says: "none of the wines can be reckoned with"}
		return a, nil
	}
	f.prepare()
	var err error
	if w.Whole {
		a.Blends, err = f.whole()
	} else {
		a.Blends, err = f.parts()
	}
	if err == nil && len(a.Blends) == 0 {
		a.Conflict, err = f.conflict()
	}
	return a, err
}

// finder holds what is reckoned once.
type finder struct {
	wish    Wish
	sources []Source
	values  map[property][]float64 // by source; pH left out
	bases   map[float64][]float64  // strong base to a pH, mol/L, by source
}

func (f *finder) prepare() {
	f.values, f.bases = map[property][]float64{}, map[float64][]float64{}
	for p := alcohol; p < share; p++ {
		if p == ph {
			continue
		}
		for i := range f.sources {
			v, _ := p.of(&f.sources[i].Wine)
			f.values[p] = append(f.values[p], v)
		}
	}
}

// base is the strong base that brings each source to a pH.
func (f *finder) base(at float64) ([]float64, error) {
	if b := f.bases[at]; b != nil {
		return b, nil
	}
	out := make([]float64, len(f.sources))
	for i := range f.sources {
		b, err := baseTo(&f.sources[i].Wine.Composition, at)
		if err != nil {
			return nil, fault.Wrap(fault.Invalid, "find blend", err)
		}
		out[i] = b
	}
	f.bases[at] = out
	return out, nil
}

// baseTo is the strong base, mol/L, that brings a wine to a pH; negative if it is
// above it already.
func baseTo(c *acidbase.Composition, at float64) (float64, error) {
	points, err := c.TitrationCurve(quantity.PH(at), quantity.PH(at), 2)
	if err != nil {
		return 0, err
	}
	return points[0].Base.MolPerL(), nil
}

// value is a property of each source, per litre; of a share, its part.
func (f *finder) value(l Limit) []float64 {
	if l.p != share {
		return f.values[l.p]
	}
	out := make([]float64, len(f.sources))
	for i := range f.sources {
		out[i] = f.sources[i].Shares[l.kind][l.name]
	}
	return out
}

// A row is one end of a limit as a linear inequality: Σ share·coefficient ≤ 0.
type row struct {
	limit Limit
	upper bool
	k     []float64
	// at is the pH of a row on pH, base what each source needs of strong base to it,
	// and off how much more each needs as a part of the mixture, found by solving it.
	at        float64
	base, off []float64
}

// rowsOf are the ends of limits.
func (f *finder) rowsOf(limits ...Limit) (out []*row, err error) {
	for _, l := range limits {
		for _, upper := range [...]bool{false, true} {
			end := l.low
			if upper {
				end = l.high
			}
			if math.IsInf(end, 0) {
				continue
			}
			r := &row{limit: l, upper: upper, at: end, k: make([]float64, len(f.sources))}
			if l.p == ph { // the base to the upper end is not negative; to the lower not positive
				if r.base, err = f.base(end); err != nil {
					return nil, err
				}
				for i, b := range r.base {
					r.k[i] = -r.sign() * b
				}
			} else {
				for i, v := range f.value(l) {
					r.k[i] = r.sign() * (v - end)
				}
			}
			out = append(out, r)
		}
	}
	return out, nil
}

func (r *row) sign() float64 {
	if r.upper {
		return 1
	}
	return -1
}

// coefficients of the row, with what the mixture is off put in.
func (r *row) coefficients() []float64 {
	if r.off == nil {
		return r.k
	}
	out := slices.Clone(r.k)
	for i := range out {
		out[i] -= r.sign() * r.off[i]
	}
	return out
}

// buffer is the base that one pH takes, mol/L, middling for wines: only to weigh a
// pH against other things.
const buffer = 0.035

// scale is what a difference that matters amounts to in the row.
func (r *row) scale() float64 {
	if r.limit.p == ph {
		return properties[ph].scale * buffer
	}
	return properties[r.limit.p].scale
}

// mix is the composition of shares.
func (f *finder) mix(x []float64) (acidbase.Composition, error) {
	var parts []acidbase.Part
	for i, v := range x {
		if v > 0 {
			parts = append(parts, acidbase.Part{Composition: f.sources[i].Wine.Composition, Volume: quantity.Volume(v)})
		}
	}
	c, _, err := acidbase.Mix(parts...)
	return c, err
}

// correct puts right what rows on pH are off for a mixture; it returns by how much
// the mixture missed what it was taken for, in mol/L of base. The base that volumes
// need is as many times as much for as many times the volumes, so that its slopes
// by the volumes, times them, add up to it (Euler): the row that they make touches
// the truth at the mixture, in its value and in its slopes.
func (f *finder) correct(rows []*row, x []float64) (moved float64, err error) {
	for _, r := range rows {
		if r.limit.p != ph {
			continue
		}
		truth, err := f.needs(x, r.at)
		if err != nil {
			return 0, err
		}
		taken := 0.0
		for i, v := range x {
			taken += v * r.base[i]
			if r.off != nil {
				taken += v * r.off[i]
			}
		}
		miss := math.Abs(truth - taken)
		if r.off == nil { // of a wine alone the value is right, and its slopes are not known yet
			miss = math.Inf(1)
		}
		if miss < settled {
			continue
		}
		moved = max(moved, miss)
		off := make([]float64, len(x))
		more := slices.Clone(x)
		for i := range x {
			more[i] += step
			up, err := f.needs(more, r.at)
			if err != nil {
				return 0, err
			}
			more[i] = x[i]
			off[i] = (up-truth)/step - r.base[i]
		}
		r.off = off
	}
	return moved, nil
}

// step is a volume, to 1 of the mixture, over which a slope is taken.
const step = 1e-3

// needs is the strong base, mol, that volumes of the sources need together to a pH.
func (f *finder) needs(x []float64, at float64) (float64, error) {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	c, err := f.mix(x)
	if err != nil {
		return 0, err
	}
	base, err := baseTo(&c, at)
	return sum * base, err
}

// rounds of putting pH rows right are more than ever needed; settled is when the
// rest is worth less than a ten-thousandth of a pH in any wine.
const (
	rounds  = 25
	settled = 1e-7
)

// A task is one linear programme over shares of a volume.
type task struct {
	rows    []*row
	volume  float64       // L
	elastic map[*row]bool // rows that may be broken, at a cost
}

var errNone = errors.New("no blend keeps all limits")

// best solves a task; shares come back. Rows on pH begin as they were put right last,
// for a task much like this; where that leaves no room, as if nothing were off.
func (f *finder) best(t *task) ([]float64, error) {
	x, err := f.settle(t)
	if !errors.Is(err, errNone) || !slices.ContainsFunc(t.rows, func(r *row) bool { return r.off != nil }) {
		return x, err
	}
	for _, r := range t.rows {
		r.off = nil
	}
	return f.settle(t)
}

func (f *finder) settle(t *task) (x []float64, err error) {
	for range rounds {
		if x, err = f.linear(t); err != nil {
			return nil, err
		}
		moved, err := f.correct(t.rows, x)
		if err != nil {
			return nil, fault.Wrap(fault.Invalid, "find blend", err)
		}
		if moved < settled {
			break
		}
	}
	return x, nil // what still swings is less than the wine is known by
}

// linear is a task with pH rows as they stand. Columns: shares, then a miss for each
// target that mixes by volume, then a violation for each elastic row.
func (f *finder) linear(t *task) ([]float64, error) {
	n, targets := len(f.sources), len(f.wish.Targets)
	columns := n + targets + len(t.elastic)
	p := programme{cost: make([]float64, columns)}
	add := func(k []float64, limit float64) { p.rows, p.limit = append(p.rows, k), append(p.limit, limit) }
	blank := func() []float64 { return make([]float64, columns) }
	violation := n + targets
	for _, r := range t.rows {
		k := blank()
		copy(k, r.coefficients())
		if t.elastic[r] {
			k[violation] = -r.scale()
			p.cost[violation] = 1e3
			violation++
		}
		add(k, 0)
	}
	for j, target := range f.wish.Targets {
		if target.p == ph {
			continue
		}
		p.cost[n+j] = 1 // of equals, the one that misses less in all
		for _, sign := range [...]float64{1, -1} {
			k := blank()
			for i, v := range f.value(target.Limit) {
				k[i] = sign * (v - target.low)
			}
			k[n+j] = -target.tolerance
			add(k, 0)
		}
	}
	ones := blank()
	for i := range f.sources {
		k := blank()
		k[i], ones[i] = 1, 1
		add(k, f.sources[i].Volume.Litres()/t.volume)
	}
	p.equal, p.value = [][]float64{ones}, []float64{1}
	x, _, err := p.solve()
	if err != nil {
		return nil, errNone
	}
	return x[:n], nil
}

// blend shows shares of a volume as an answer.
func (f *finder) blend(x []float64, volume float64, why string) (Blend, error) {
	b := Blend{Volume: quantity.Volume(volume), Why: why}
	var parts []compose.Part
	for i, s := range f.sources {
		v := x[i] * volume
		if v < 1e-6*volume {
			continue
		}
		all := s.Volume.Litres()-v <= pourable
		b.Parts = append(b.Parts, Part{Source: s, Volume: quantity.Volume(v), All: all})
		parts = append(parts, compose.Part{Wine: s.Wine, Volume: quantity.Volume(v)})
	}
	var err error
	if b.Wine, err = compose.Mix(parts...); err != nil {
		return b, err
	}
	for _, t := range f.wish.Targets {
		b.Misses = append(b.Misses, Miss{t, (f.valueOf(t.Limit, &b, x) - t.low) / t.tolerance})
	}
	for _, l := range f.wish.Limits {
		if l.p == freeSO2 {
			continue
		}
		v := f.valueOf(l, &b, x)
		if _, sd := l.p.of(&b.Wine); l.p != share && (v+sd > l.high || v-sd < l.low) {
			b.Close = append(b.Close, l)
		}
	}
	slices.SortStableFunc(b.Parts, func(p, q Part) int { return cmp.Compare(q.Volume, p.Volume) })
	b.Free = freeOf(b.Parts)
	return b, nil
}

func freeOf(parts []Part) *[2]quantity.Concentration {
	var out *[2]quantity.Concentration
	for _, p := range parts {
		switch f := p.Source.Free; {
		case f == nil:
			return nil
		case out == nil:
			out = &[2]quantity.Concentration{f.Value, f.Value}
		default:
			out[0], out[1] = min(out[0], f.Value), max(out[1], f.Value)
		}
	}
	return out
}

// valueOf is the property of a blend that a limit is about.
func (f *finder) valueOf(l Limit, b *Blend, x []float64) float64 {
	if l.p == share {
		sum := 0.0
		for i, v := range f.value(l) {
			sum += v * x[i]
		}
		return sum
	}
	v, _ := l.p.of(&b.Wine)
	return v
}
