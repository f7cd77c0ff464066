package cellar

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A flow is any entry that moves wine: a movement, a press, a bottling.
type flow struct {
	r       *Record
	how     string
	lot     string // of wine from outside
	becomes string // lot of all destinations; "" as found
	from    []Portion
	to      []Portion
	losses  []Loss
	rest    string // where the remainder of the sources goes; "" it stays
	form    string // of what arrives; "" as it was
	stage   *stage // of what arrives; nil as it was
	count   int    // of bottles that arrive
}

// draw is what one source gives.
type draw struct {
	vessel   *Vessel
	held     *contents // before; nil if the vessel was empty
	want     float64   // L; NaN until it is known
	variance float64
	all      bool
}

// A pool is wine between vessels.
type pool struct {
	volume  float64
	amounts []Amount
	roots   []Root
	stage   stage
	lots    map[string]float64 // volume by lot
	parents []Inflow           // From and Volume only
	empty   bool               // nothing was joined yet
}

func (p *pool) join(c *contents, volume float64, share float64) {
	p.amounts = addAmounts(p.amounts, scaleAmounts(c.amounts, share))
	p.roots = mixRoots(p.roots, p.volume, c.roots, volume)
	if p.empty {
		p.stage, p.empty = c.stage, false
	} else {
		p.stage = p.stage.join(c.stage)
	}
	p.volume += volume
	p.lots[c.parcel.Lot] += volume
	p.parents = append(p.parents, Inflow{From: c.parcel.ID, Volume: litres(volume)})
}

// mainLot is the lot of which the pool holds most; of equals, the first by name.
func (p *pool) mainLot() string {
	best, most := "", math.Inf(-1)
	for lot, v := range p.lots {
		if v > most || v == most && lot < best {
			best, most = lot, v
		}
	}
	return best
}

// move carries a flow out: it settles how much goes where, takes it from the
// sources and puts it into the destinations.
func (f *fold) move(w flow) {
	draws := f.draws(w)
	ins, lost, evaporated, ok := f.settle(&w, draws)
	if !ok {
		return
	}
	p := &pool{lots: make(map[string]float64), empty: true}
	for i := range draws {
		f.take(w, &draws[i], p)
	}
	var arriving float64
	for _, in := range ins {
		arriving += in.volume
	}
	// What evaporates leaves everything else behind; other losses take their
	// share of all that is in the wine along.
	if base := p.volume - evaporated; base > 0 {
		p.amounts = scaleAmounts(p.amounts, clampShare((base-lost)/base))
	}
	for i, in := range ins {
		if arriving > 0 {
			f.put(w, in, p, in.volume/arriving, i)
		}
	}
	for i := range draws {
		d := &draws[i]
		if f.holds[d.vessel.Slug] == nil && d.held != nil && d.held.parcel.Ender == "" {
			f.end(w.r, d.vessel, d.held.parcel)
		}
	}
}

func clampShare(x float64) float64 { return max(0, min(x, 1)) }

func (f *fold) draws(w flow) []draw {
	draws := make([]draw, 0, len(w.from))
	for _, p := range w.from {
		v := f.vessel(w.r, p.Vessel)
		d := draw{vessel: v, held: f.holds[v.Slug], want: math.NaN(), all: p.All}
		if !p.Volume.IsZero() {
			q, variance, err := volumeOf(p.Volume, unstatedSpread)
			if err != nil {
				f.find(w.r, FoundBadFigure, "the volume from "+v.Slug+": "+err.Error()).Vessel = v.Slug
			} else {
				d.want, d.variance = q, variance
			}
		}
		draws = append(draws, d)
	}
	return draws
}

func (d *draw) available() float64 {
	if d.held == nil {
		return 0
	}
	return d.held.volume
}

// in is what one destination gets.
type in struct {
	portion  Portion
	vessel   *Vessel
	volume   float64 // L; NaN until it is known
	variance float64
}

// settle finds the volumes that the entry leaves open, and says what does not
// add up. Of sources and destinations without a volume: one source gives what
// went elsewhere; one destination gets what is left; several share, which is a
// finding.
func (f *fold) settle(w *flow, draws []draw) (ins []in, lost, evaporated float64, ok bool) {
	ins = make([]in, 0, len(w.to))
	var into, intoVar float64
	open := 0
	for _, p := range w.to {
		i := in{portion: p, vessel: f.vessel(w.r, p.Vessel), volume: math.NaN()}
		if !p.Volume.IsZero() {
			if v, variance, err := volumeOf(p.Volume, unstatedSpread); err != nil {
				f.find(w.r, FoundBadFigure, "the volume into "+p.Vessel+": "+err.Error()).Vessel = p.Vessel
			} else {
				i.volume, i.variance = v, variance
			}
		}
		if math.IsNaN(i.volume) {
			open++
		} else {
			into, intoVar = into+i.volume, intoVar+i.variance
		}
		ins = append(ins, i)
	}
	for _, l := range w.losses {
		v, _, err := volumeOf(l.Volume, unstatedSpread)
		if err != nil {
			f.find(w.r, FoundBadFigure, "the loss to "+l.Kind+": "+err.Error())
			continue
		}
		if l.Kind == LossEvaporation {
			evaporated += v
		} else {
			lost += v
		}
	}
	if len(draws) == 0 {
		return ins, lost, evaporated, f.fromOutside(w, ins, open)
	}
	out := f.settleDraws(w, draws, into+lost+evaporated, open > 0 || len(ins) == 0 && lost+evaporated == 0)
	rest := out - into - lost - evaporated
	switch {
	case open == 1:
		for k := range ins {
			if math.IsNaN(ins[k].volume) {
				ins[k].volume = max(0, rest)
				ins[k].variance = outVariance(draws) + intoVar
			}
		}
	case open > 1:
		f.find(w.r, FoundMissingVolume, fmt.Sprintf("it is not written how much went into each of %d vessels: %s L is shared out evenly", open, figure(max(0, rest))))
		for k := range ins {
			if math.IsNaN(ins[k].volume) {
				ins[k].volume = max(0, rest) / float64(open)
				ins[k].variance = outVariance(draws) + math.Pow(ins[k].volume/2, 2)
			}
		}
	case len(ins) == 0 && w.rest == "":
		// What is not a stated loss left the cellar.
	default:
		tolerance := 2 * sqrt(outVariance(draws)+intoVar)
		if w.rest != "" && rest > 0 {
			lost += rest // the remainder of the sources, by the door the entry names
		} else if math.Abs(rest) > tolerance {
			f.find(w.r, FoundUnbalanced, fmt.Sprintf("%s L came out, %s L went in and %s L was lost: %s L is not accounted for",
				figure(out), figure(into), figure(lost+evaporated), figure(math.Abs(rest))))
			lost += max(0, rest)
		} else {
			lost += max(0, rest)
		}
	}
	return ins, lost, evaporated, true
}

func (f *fold) fromOutside(w *flow, ins []in, open int) bool {
	if open > 0 {
		f.find(w.r, FoundMissingVolume, "it is not written how much came from outside: nothing is counted")
		return open < len(ins) && dropOpen(ins)
	}
	return true
}

func dropOpen(ins []in) bool {
	for i := range ins {
		if math.IsNaN(ins[i].volume) {
			ins[i].volume = 0
		}
	}
	return true
}

// settleDraws finds how much each source gives, and returns the sum. needed is
// what is known to have gone elsewhere; unless everything else is open.
func (f *fold) settleDraws(w *flow, draws []draw, needed float64, openEnd bool) (out float64) {
	var open []*draw
	for i := range draws {
		d := &draws[i]
		switch {
		case d.all || w.rest != "" || math.IsNaN(d.want) && openEnd:
			if d.all && !math.IsNaN(d.want) && d.held != nil {
				// What came out was measured: more than the record's figure is worth.
				d.held = d.held.reanchored(d.want, d.variance)
			}
			d.want, d.all = d.available(), true
			if d.held != nil {
				d.variance = d.held.variance
			}
		case math.IsNaN(d.want):
			open = append(open, d)
			continue
		}
		out += d.want
	}
	if len(open) == 0 {
		return out
	}
	missing := max(0, needed-out)
	if len(open) > 1 {
		f.find(w.r, FoundMissingVolume, fmt.Sprintf("it is not written how much came from each of %d vessels: %s L is shared by what they held", len(open), figure(missing)))
	}
	var held float64
	for _, d := range open {
		held += d.available()
	}
	for _, d := range open {
		share := 1 / float64(len(open))
		if held > 0 {
			share = d.available() / held
		}
		d.want = missing * share
		d.variance = math.Pow(unstatedSpread*d.want, 2)
		out += d.want
	}
	return out
}

func outVariance(draws []draw) (sum float64) {
	for i := range draws {
		sum += draws[i].variance
	}
	return sum
}

// dust is a volume, in L, below which nothing is left: rounding of sums.
const dust = 1e-9

// take draws wine from one source into the pool.
func (f *fold) take(w flow, d *draw, p *pool) {
	slug := d.vessel.Slug
	if d.held == nil {
		g := f.find(w.r, FoundEmptyVessel, fmt.Sprintf("%s L is taken from %s, which held nothing", figure(d.want), slug))
		g.Vessel = slug
		p.volume += d.want
		return
	}
	touch(w.r, d.held.parcel)
	available := d.held.volume
	if short := d.want - available; short > 2*sqrt(d.variance+d.held.variance) && short > dust {
		g := f.find(w.r, FoundOverdrawn, fmt.Sprintf("%s L is taken from %s, which held %s ± %s L", figure(d.want), slug, figure(available), figure(sqrt(d.held.variance))))
		g.Vessel, g.Lot, g.Parcel = slug, d.held.parcel.Lot, d.held.parcel.ID
	}
	share := 1.0
	if available > 0 {
		share = clampShare(d.want / available)
	}
	p.join(d.held, d.want, share)
	left := available - d.want
	if d.all || left <= dust {
		f.hold(w.r, d.vessel, nil)
		return
	}
	n := *d.held
	n.volume, n.variance = left, d.held.variance+d.variance
	n.amounts = scaleAmounts(n.amounts, 1-share)
	if n.count > 0 {
		n.count = int(math.Round(float64(n.count) * left / available))
	}
	f.hold(w.r, d.vessel, &n)
}

// put brings a share of the pool into one destination.
func (f *fold) put(w flow, i in, p *pool, share float64, at int) {
	v, r := i.vessel, w.r
	self := ParcelID(string(r.Entry.ID) + "/" + v.Slug)
	n := contents{volume: i.volume, variance: i.variance, count: w.count, amounts: scaleAmounts(p.amounts, share), roots: p.roots, stage: p.stage}
	inflows := p.parents
	lot := cmpOr(w.becomes, p.mainLot(), w.lot)
	if len(w.from) == 0 {
		n.stage = stage{fermented: true}
		inflows = []Inflow{{Volume: litres(i.volume)}}
	}
	if w.stage != nil {
		n.stage = *w.stage
	}
	if len(n.roots) == 0 {
		n.roots = []Root{{self, f.lot(r, lot).Slug, 1}}
	}
	before := f.holds[v.Slug]
	switch {
	case before == nil:
		if old := continued(p, v); old != nil && (w.becomes == "" || w.becomes == old.Lot) && w.form == "" {
			n.parcel = old // poured back into the vessel it came from
		} else {
			n.parcel = f.begin(w, v, self, lot, i.portion.Part, p)
		}
	default:
		mixed := f.lot(r, lot).Slug != before.parcel.Lot
		n.volume, n.variance = before.volume+i.volume, before.variance+i.variance
		n.amounts = addAmounts(before.amounts, n.amounts)
		n.roots = mixRoots(before.roots, before.volume, n.roots, i.volume)
		n.stage = before.stage.join(n.stage)
		n.count = before.count + w.count
		n.weight = before.weight
		if mixed && w.becomes != "" {
			old := before.parcel
			f.end(r, v, old)
			n.parcel = f.begin(w, v, self, lot, i.portion.Part, p)
			n.parcel.Inflows = append(n.parcel.Inflows, Inflow{At: r.At, Entry: r.Entry.ID, From: old.ID, Volume: litres(before.volume), Share: before.volume / n.volume})
			break
		}
		n.parcel = before.parcel
		if mixed && w.how != "topping" && w.how != "blending" {
			g := f.find(r, FoundMixed, fmt.Sprintf("%s L of %s joins %s in %s and goes on as %s", figure(i.volume), lot, before.parcel.Lot, v.Slug, before.parcel.Lot))
			g.Vessel, g.Lot, g.Note = v.Slug, before.parcel.Lot, true
		}
	}
	for _, in := range inflows {
		in.At, in.Entry = r.At, r.Entry.ID
		in.Volume = litres(float64(in.Volume) * share * clampRatio(i.volume, share, p.volume))
		if n.volume > 0 {
			in.Share = float64(in.Volume) / n.volume
		}
		if in.From != n.parcel.ID {
			n.parcel.Inflows = append(n.parcel.Inflows, in)
		}
	}
	f.overfull(r, v, &n)
	touch(r, n.parcel)
	f.hold(r, v, &n)
}

// clampRatio is what of the drawn volume arrived, so that inflows add up to
// what went in after losses.
func clampRatio(arrived, share, drawn float64) float64 {
	if drawn*share <= 0 {
		return 1
	}
	return arrived / (drawn * share)
}

// continued is the parcel of v if this movement emptied v of it and nothing
// else joined: racked and returned.
func continued(p *pool, v *Vessel) *Parcel {
	if len(p.parents) != 1 || len(v.Parcels) == 0 {
		return nil
	}
	last := v.Parcels[len(v.Parcels)-1]
	if last.ID == p.parents[0].From && last.Ender == "" {
		return last
	}
	return nil
}

func (f *fold) overfull(r *Record, v *Vessel, n *contents) {
	size := float64(v.Capacity())
	if size == 0 || n.parcel.Form == FormFruit || n.volume <= size+2*sqrt(n.variance) {
		return
	}
	g := f.find(r, FoundOverfull, fmt.Sprintf("%s then holds %s ± %s L and has room for %s L", v.Slug, figure(n.volume), figure(sqrt(n.variance)), figure(size)))
	g.Vessel, g.Lot, g.Parcel = v.Slug, n.parcel.Lot, n.parcel.ID
}

// begin starts a parcel in a vessel.
func (f *fold) begin(w flow, v *Vessel, id ParcelID, lot, part string, p *pool) *Parcel {
	form := w.form
	if form == "" {
		form = FormWine
		for _, in := range p.parents {
			if from := f.state.parcels[in.From]; from != nil && from.Form == FormMust {
				form = FormMust
			}
		}
	}
	l := f.lot(w.r, lot)
	n := &Parcel{ID: id, Lot: l.Slug, Vessel: v.Slug, Form: form, Began: w.r.At, Start: w.r.Entry.ID, Part: part}
	f.state.parcels[id] = n
	f.state.Parcels = append(f.state.Parcels, n)
	l.Parcels = append(l.Parcels, n)
	v.Parcels = append(v.Parcels, n)
	return n
}

// end closes a parcel.
func (f *fold) end(r *Record, v *Vessel, p *Parcel) {
	p.End, p.Ender = r.At, r.Entry.ID
	p.Volume, p.Spread = 0, 0
	if f.holds[v.Slug] == nil {
		v.Emptied = r.At
	}
}

// hold notes what a vessel holds from here on; nil when it is empty.
func (f *fold) hold(r *Record, v *Vessel, c *contents) {
	if c == nil {
		if old := f.holds[v.Slug]; old != nil {
			old.parcel.Levels = append(old.parcel.Levels, Level{At: r.At, Entry: r.Entry.ID})
		}
		delete(f.holds, v.Slug)
		return
	}
	f.holds[v.Slug] = c
	if n := len(c.parcel.Levels); n > 0 && c.parcel.Levels[n-1].Entry == r.Entry.ID {
		c.parcel.Levels = c.parcel.Levels[:n-1] // one level an entry
	}
	c.parcel.Levels = append(c.parcel.Levels, Level{At: r.At, Entry: r.Entry.ID, Volume: litres(c.volume), Spread: litres(sqrt(c.variance))})
	f.wake(r, v)
}

// reanchored is the contents with a measured volume.
func (c *contents) reanchored(volume, variance float64) *contents {
	n := *c
	n.volume, n.variance = volume, variance
	return &n
}

// touch notes that an entry is about a parcel.
func touch(r *Record, p *Parcel) {
	if !slices.Contains(r.Parcels, p.ID) {
		r.Parcels = append(r.Parcels, p.ID)
		p.Events = append(p.Events, r)
	}
}

func cmpOr(words ...string) string {
	for _, w := range words {
		if w != "" {
			return w
		}
	}
	return ""
}

// figure prints a number of litres, grams or milligrams for a sentence: three
// figures, no trailing zeros.
func figure(v float64) string {
	if math.Abs(v) >= 1000 {
		return fmt.Sprintf("%.0f", v)
	}
	s := fmt.Sprintf("%#.3g", v)
	if strings.Contains(s, ".") && !strings.Contains(s, "e") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
