package cellar

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

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
// sources, lets the losses go and puts the rest into the destinations.
func (f *fold) move(w flow) {
	s := f.settle(&w)
	p := &pool{lots: make(map[string]float64), empty: true}
	evaporates := s.evaporates()
	for i := range s.draws {
		f.take(w, &s.draws[i], p, evaporates)
	}
	f.lose(w, &s, p)
	for _, i := range s.ins {
		if i.volume > dust {
			f.put(w, i, p, i.volume/s.arrives)
		}
	}
	for i := range s.draws {
		d := &s.draws[i]
		if d.held != nil && d.held.parcel.Ender == "" && !f.lives(d.held.parcel) {
			f.end(w.r, d.vessel, d.held.parcel)
		}
	}
}

// lives says whether a parcel is still what its vessel holds.
func (f *fold) lives(p *Parcel) bool {
	c := f.holds[p.Vessel]
	return c != nil && c.parcel == p
}

func clampShare(x float64) float64 { return max(0, min(x, 1)) }

// lose lets the losses out of the pool. What evaporates leaves everything else
// behind; other losses take their share of all that is in the wine along.
func (f *fold) lose(w flow, s *settled, p *pool) {
	if len(w.from) == 0 {
		for _, i := range s.ins {
			f.pass(w.r, DoorOutside, i.vessel.Slug, i.volume, nil)
		}
		for _, l := range s.losses { // lost on the way in: it never was here
			f.pass(w.r, DoorOutside, "", l.volume, nil)
			f.pass(w.r, l.door, "", -l.volume, nil)
		}
		return
	}
	vessel := s.draws[0].vessel.Slug
	base := p.volume + s.gained
	for _, l := range s.losses {
		if l.door == LossEvaporation {
			base -= l.volume
		}
	}
	kept := 1.0
	for _, l := range s.losses {
		var gone []Amount
		if l.door != LossEvaporation && base > 0 {
			share := min(l.volume/base, kept)
			gone = scaleAmounts(p.amounts, share)
			kept -= share
		}
		f.pass(w.r, l.door, vessel, -l.volume, gone)
	}
	if s.gained > 0 {
		f.pass(w.r, DoorUnknown, vessel, s.gained, nil)
	}
	if s.arrives <= dust && kept > 0 && len(p.amounts) > 0 { // nothing is left that could hold it
		f.pass(w.r, DoorUnknown, vessel, 0, scaleAmounts(p.amounts, kept))
		kept = 0
	}
	p.amounts = scaleAmounts(p.amounts, kept)
}

// dust is a volume, in L, below which nothing is left: rounding of sums.
const dust = 1e-9

// take draws wine from one source into the pool, of which a part evaporates:
// that part leaves what is dissolved behind.
func (f *fold) take(w flow, d *draw, p *pool, evaporates float64) {
	slug := d.vessel.Slug
	if d.held == nil {
		p.volume += d.want
		f.pass(w.r, DoorUnknown, slug, d.want, nil)
		f.find(w.r, FoundEmptyVessel, fmt.Sprintf("%s is taken from %s, which held nothing", orSome(d.want), slug)).Vessel = slug
		return
	}
	touch(w.r, d.held.parcel)
	if d.fruit() { // pressed whole: it comes to volume here
		f.pass(w.r, DoorFruit, slug, d.want, nil)
		p.join(d.held, d.want, 1)
		f.hold(w.r, d.vessel, nil)
		return
	}
	available := d.held.volume
	if short := d.want - available; short > dust {
		f.pass(w.r, DoorUnknown, slug, short, nil)
		if short > 2*sqrt(d.variance+d.held.variance) {
			g := f.find(w.r, FoundOverdrawn, fmt.Sprintf("%s L is taken from %s, which held %s ± %s L", figure(d.want), slug, figure(available), figure(sqrt(d.held.variance))))
			g.Vessel, g.Lot, g.Parcel = slug, d.held.parcel.Lot, d.held.parcel.ID
		}
	}
	share, gone := 1.0, d.want*evaporates
	if available > gone {
		share = clampShare((d.want - gone) / (available - gone))
	}
	left := available - d.want
	if d.all || left <= dust {
		if left > dust { // it held as much less as its ± allows
			f.pass(w.r, DoorReanchored, slug, -left, nil)
		}
		p.join(d.held, d.want, 1)
		f.hold(w.r, d.vessel, nil)
		return
	}
	p.join(d.held, d.want, share)
	n := *d.held
	n.volume, n.variance = left, d.held.variance+d.variance
	n.amounts = scaleAmounts(n.amounts, 1-share)
	if n.count > 0 {
		n.count = int(math.Round(float64(n.count) * left / available))
	}
	f.hold(w.r, d.vessel, &n)
}

func orSome(litres float64) string {
	if litres > 0 {
		return figure(litres) + " L"
	}
	return "wine"
}

// pass notes wine, and what was added to it, going through a door: in with a
// positive volume, out with a negative one. Amounts are those that go out.
func (f *fold) pass(r *Record, door, vessel string, volume float64, gone []Amount) {
	if volume == 0 && len(gone) == 0 {
		return
	}
	f.state.Passages = append(f.state.Passages, Passage{At: r.At, Entry: r.Entry.ID, Door: door, Vessel: vessel, Volume: litres(volume), Amounts: scaleAmounts(gone, -1)})
}

// put brings a share of the pool into one destination.
func (f *fold) put(w flow, i in, p *pool, share float64) {
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
		n.roots = mixRoots(before.roots, before.liquid(), n.roots, i.volume)
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
		if n.parcel.Form == FormFruit {
			n.parcel.Form = FormMust // fruit in liquid
		}
		if mixed && w.how != "topping" && w.how != "blending" {
			g := f.find(r, FoundMixed, fmt.Sprintf("%s L of %s joins %s in %s and goes on as %s", figure(i.volume), lot, before.parcel.Lot, v.Slug, before.parcel.Lot))
			g.Vessel, g.Lot, g.Note = v.Slug, before.parcel.Lot, true
		}
	}
	f.inflow(w, i, p, &n, inflows)
	f.overfull(r, v, &n)
	touch(r, n.parcel)
	f.hold(r, v, &n)
}

// inflow notes what came into a parcel, and which share of it that was.
func (f *fold) inflow(w flow, i in, p *pool, n *contents, inflows []Inflow) {
	for _, in := range inflows {
		if len(w.from) > 0 {
			part := 0.0
			if p.volume > 0 {
				part = float64(in.Volume) / p.volume
			}
			in.Volume = litres(i.volume * part)
		}
		in.At, in.Entry = w.r.At, w.r.Entry.ID
		if n.volume > 0 {
			in.Share = float64(in.Volume) / n.volume
		}
		if in.From != n.parcel.ID {
			n.parcel.Inflows = append(n.parcel.Inflows, in)
		}
	}
}

// continued is the parcel of v if this movement emptied v of it and nothing
// else joined: racked and returned.
func continued(p *pool, v *Vessel) *Parcel {
	if len(p.parents) != 1 || len(v.Parcels) == 0 {
		return nil
	}
	last := v.Parcels[len(v.Parcels)-1]
	if last.ID == p.parents[0].From && last.Ender == "" && last.Form != FormFruit {
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
	if n := len(p.Levels); n == 0 || p.Levels[n-1].Volume != 0 {
		p.setLevel(Level{At: r.At, Entry: r.Entry.ID})
	}
	if f.holds[v.Slug] == nil {
		v.Emptied = r.At
	}
}

// hold notes what a vessel holds from here on; nil when it is empty.
func (f *fold) hold(r *Record, v *Vessel, c *contents) {
	if c == nil {
		if old := f.holds[v.Slug]; old != nil {
			old.parcel.setLevel(Level{At: r.At, Entry: r.Entry.ID})
		}
		delete(f.holds, v.Slug)
		return
	}
	f.holds[v.Slug] = c
	c.parcel.setLevel(Level{At: r.At, Entry: r.Entry.ID, Volume: litres(c.volume), Spread: litres(sqrt(c.variance))})
	f.wake(r, v)
}

// setLevel notes a volume, one for each entry.
func (p *Parcel) setLevel(l Level) {
	if n := len(p.Levels); n > 0 && p.Levels[n-1].Entry == l.Entry {
		p.Levels = p.Levels[:n-1]
	}
	p.Levels = append(p.Levels, l)
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
