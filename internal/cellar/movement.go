package cellar

import (
	"fmt"
	"math"
	"strings"
)

// A pool is wine between vessels: what was drawn, not yet parted.
type pool struct {
	volume  float64
	amounts []Amount
	roots   []Root
	stage   stage
	memory  *memory
	lots    []lotVolume // in the order in which they came
	sources []giver
}

type lotVolume struct {
	lot    string
	volume float64
}

// A giver is what one vessel, or a door, gave to a pool.
type giver struct {
	parcel  ParcelID // "" from outside
	form    string
	door    string
	volume  float64
	share   float64 // of what was in the parcel, and is still in the pool
	drawn   float64 // of what was in the parcel
	amounts []Amount
}

func newPool() *pool { return &pool{} }

// join adds a part of what a vessel held, and what was read of it.
func (p *pool) join(c *contents, m *memory, volume, share float64) {
	amounts := scaleAmounts(c.amounts, share)
	p.amounts = addAmounts(p.amounts, amounts)
	p.roots = mixRoots(p.roots, p.volume, c.roots, volume)
	if len(p.sources) == 0 {
		p.stage = c.stage
	} else {
		p.stage = p.stage.join(c.stage)
	}
	if volume >= p.volume {
		p.memory = m // what was read of the greater part
	}
	p.volume += volume
	p.ofLot(c.parcel.Lot, volume)
	p.sources = append(p.sources, giver{parcel: c.parcel.ID, form: c.parcel.Form, volume: volume, share: share, drawn: share, amounts: amounts})
}

func (p *pool) ofLot(lot string, volume float64) {
	for i := range p.lots {
		if p.lots[i].lot == lot {
			p.lots[i].volume += volume
			return
		}
	}
	p.lots = append(p.lots, lotVolume{lot, volume})
}

// gain adds wine that came from nowhere.
func (p *pool) gain(volume float64) {
	p.volume += volume
	p.sources = append(p.sources, giver{door: DoorUnknown, volume: volume})
}

// mainLot is the lot of which the pool holds most; of equals, the first by name.
func (p *pool) mainLot() string {
	best, most := "", math.Inf(-1)
	for _, l := range p.lots {
		if l.volume > most || l.volume == most && l.lot < best {
			best, most = l.lot, l.volume
		}
	}
	return best
}

// move carries a flow out: it settles how much goes where, takes it from the
// sources, lets the losses go and puts the rest into the destinations.
func (s *step) move(w flow) {
	set := s.settle(&w)
	p := newPool()
	evaporates := set.evaporates()
	for i := range set.draws {
		s.take(&set.draws[i], p, evaporates)
	}
	if len(w.from) == 0 {
		w.outside = true
		p.sources = []giver{{door: DoorOutside, volume: set.arrives}}
		p.volume = set.arrives
	} else {
		if set.gained > 0 {
			p.gain(set.gained)
		}
		kept := s.loseAll(p, &set)
		p.amounts = scaleAmounts(p.amounts, kept)
		for i := range p.sources {
			p.sources[i].amounts = scaleAmounts(p.sources[i].amounts, kept)
			p.sources[i].share *= kept
		}
	}
	for _, i := range set.ins {
		if i.volume > dust {
			s.put(w, i, p, i.volume/set.arrives)
		}
	}
	for i := range set.draws {
		d := &set.draws[i]
		if d.held != nil && d.emptied && !s.lives(d.vessel, d.held.parcel) {
			s.end(d.vessel, d.held.parcel)
		}
	}
}

// lives says whether a parcel is still what its vessel holds.
func (s *step) lives(v vessel, p *head) bool {
	c := v.holds()
	return c != nil && c.parcel.ID == p.ID
}

func clampShare(x float64) float64 { return max(0, min(x, 1)) }

// loseAll lets the losses out of the pool, and returns the part of its substances
// that is kept. What evaporates leaves everything else behind; other losses take
// their share of all that is in the wine along.
func (s *step) loseAll(p *pool, set *settled) (kept float64) {
	base := p.volume
	for _, l := range set.losses {
		if l.door == LossEvaporation {
			base -= l.volume
		}
	}
	kept = 1
	for _, l := range set.losses {
		share := 0.0
		if l.door != LossEvaporation && base > 0 {
			share = min(l.volume/base, kept)
			kept -= share
		}
		s.lose(p, l, share)
	}
	if set.arrives <= dust && kept > 0 { // nothing is left that could hold it
		s.lose(p, loss{door: DoorUnknown}, kept)
		kept = 0
	}
	return kept
}

// lose lets a volume, and a share of the substances, out of the pool by a door.
func (s *step) lose(p *pool, l loss, share float64) {
	for _, from := range p.sources {
		if from.parcel == "" {
			continue // it never was here
		}
		part := 0.0
		if p.volume > 0 {
			part = from.volume / p.volume
		}
		s.transfer(Transfer{From: from.parcel, Door: l.door, Volume: litres(l.volume * part), Share: from.share * share, Amounts: scaleAmounts(from.amounts, share)})
	}
}

// dust is a volume, in L, below which nothing is left: rounding of sums.
const dust = 1e-9

// take draws wine from one source into the pool, of which a part evaporates: that
// part leaves what is dissolved behind.
func (s *step) take(d *draw, p *pool, evaporates float64) {
	slug := d.vessel.Slug
	if d.held == nil {
		p.gain(d.want)
		s.find(s.r, FoundEmptyVessel, fmt.Sprintf("%s is taken from %s, which held nothing", orSome(d.want), slug)).Vessel = slug
		return
	}
	s.touch(s.node, d.held.parcel)
	if d.fruit() { // pressed whole: it comes to volume here
		s.transfer(Transfer{To: d.held.parcel.ID, Door: DoorFruit, Volume: litres(d.want), Ahead: true})
		p.join(d.held, d.memory, d.want, 1)
		s.empty(d)
		return
	}
	available := d.held.volume
	if short := d.want - available; short > dust {
		s.transfer(Transfer{To: d.held.parcel.ID, Door: DoorUnknown, Volume: litres(short), Ahead: true})
		if short > 2*sqrt(d.variance+d.held.variance) {
			s.find(s.r, FoundOverdrawn, fmt.Sprintf("%s L is taken from %s, which held %s ± %s L", figure(d.want), slug, figure(available), figure(sqrt(d.held.variance)))).about(d.held)
		}
	}
	share, gone := 1.0, d.want*evaporates
	if available > gone {
		share = clampShare((d.want - gone) / (available - gone))
	}
	left := available - d.want
	if d.all || left <= dust {
		if left > dust { // it held as much less as its ± allows
			s.reanchor(d.held, d.want)
		}
		p.join(d.held, d.memory, d.want, 1)
		s.empty(d)
		return
	}
	p.join(d.held, d.memory, d.want, share)
	n := *d.held
	n.volume, n.variance = left, d.held.variance+d.variance
	n.amounts = scaleAmounts(n.amounts, 1-share)
	if n.count > 0 {
		n.count = int(math.Round(float64(n.count) * left / available))
	}
	s.hold(d.vessel, &n)
}

func (s *step) empty(d *draw) {
	d.emptied = true
	s.hold(d.vessel, nil)
}

func orSome(litres float64) string {
	if litres > 0 {
		return figure(litres) + " L"
	}
	return "wine"
}

// put brings a share of the pool into one destination.
func (s *step) put(w flow, i in, p *pool, share float64) {
	v := i.vessel
	n := contents{volume: i.volume, variance: i.variance, count: w.count, amounts: scaleAmounts(p.amounts, share), roots: p.roots, stage: p.stage}
	memory := p.memory
	lot := s.lot(cmpOr(w.becomes, p.mainLot(), w.lot)).Slug
	if w.outside {
		n.stage = stage{fermented: true}
	}
	if w.stage != nil {
		n.stage = *w.stage
	}
	if len(n.roots) == 0 {
		n.roots = []Root{{s.self(v), lot, 1}}
	}
	if before := v.holds(); before != nil {
		if before.liquid() >= i.volume { // what was read of the greater part
			memory = v.state().memory
		}
		s.joinIn(w, i, before, &n, lot, p)
	} else if old := continued(p, v); old != nil && (w.becomes == "" || lot == old.Lot) && w.form == "" {
		n.parcel = old // poured back into the vessel it came from
	} else {
		n.parcel = s.beginFrom(w, i, lot, p)
	}
	s.arrive(i, p, share, &n)
	s.overfull(v, &n)
	s.touch(s.node, n.parcel)
	s.hold(v, &n)
	v.own().memory = memory
}

// joinIn makes n what a vessel holds when wine joins what is there.
func (s *step) joinIn(w flow, i in, before, n *contents, lot string, p *pool) {
	n.volume, n.variance = before.volume+i.volume, before.variance+i.variance
	n.amounts = addAmounts(before.amounts, n.amounts)
	n.roots = mixRoots(before.roots, before.liquid(), n.roots, i.volume)
	n.stage = before.stage.join(n.stage)
	n.count = before.count + w.count
	n.weight = before.weight
	mixed := lot != before.parcel.Lot
	if mixed && w.becomes != "" {
		old := before.parcel
		s.end(i.vessel, old)
		n.parcel = s.beginFrom(w, i, lot, p)
		left := 1.0
		for _, g := range p.sources {
			if g.parcel == old.ID {
				left -= g.drawn
			}
		}
		s.transfer(Transfer{From: old.ID, To: n.parcel.ID, Volume: litres(before.volume), Share: left, Amounts: before.amounts})
		s.inflow(n.parcel, Inflow{From: old.ID, Volume: litres(before.volume)}, n.volume)
		return
	}
	n.parcel = before.parcel
	if n.parcel.Form == FormFruit { // fruit in liquid
		h := *n.parcel
		h.Form = FormMust
		n.parcel = s.begin(h)
	}
	if mixed && w.how != "topping" && w.how != "blending" {
		g := s.find(s.r, FoundMixed, fmt.Sprintf("%s L of %s joins %s in %s and goes on as %s", figure(i.volume), lot, before.parcel.Lot, i.vessel.Slug, before.parcel.Lot))
		g.Vessel, g.Lot, g.Note = i.vessel.Slug, before.parcel.Lot, true
	}
}

// arrive notes what came into a parcel, from where.
func (s *step) arrive(i in, p *pool, share float64, n *contents) {
	for _, from := range p.sources {
		part := 0.0
		if p.volume > 0 {
			part = i.volume * from.volume / p.volume
		}
		if from.parcel == n.parcel.ID {
			continue
		}
		s.transfer(Transfer{From: from.parcel, To: n.parcel.ID, Door: from.door, Volume: litres(part), Share: from.share * share, Amounts: scaleAmounts(from.amounts, share)})
		if from.door != DoorUnknown {
			s.inflow(n.parcel, Inflow{From: from.parcel, Volume: litres(part)}, n.volume)
		}
	}
}

func (s *step) inflow(p *head, f Inflow, volume float64) {
	f.At, f.Entry = s.r.At, s.r.Entry.ID
	if volume > 0 {
		f.Share = float64(f.Volume) / volume
	}
	m := s.run.more()
	m.inflows = append(m.inflows, inflowMark{p.ID, f})
}

// continued is the parcel of v if this movement emptied v of it and nothing
// else joined: racked and returned.
func continued(p *pool, v vessel) *head {
	last := v.state().last
	if len(p.sources) == 1 && last != nil && last.ID == p.sources[0].parcel && v.state().ended.IsZero() && last.Form != FormFruit {
		return last
	}
	return nil
}

func (s *step) overfull(v vessel, n *contents) {
	size := v.capacity()
	if size == 0 || n.parcel.Form == FormFruit || n.volume <= size+2*sqrt(n.variance) {
		return
	}
	s.find(s.r, FoundOverfull, fmt.Sprintf("%s then holds %s ± %s L and has room for %s L", v.Slug, figure(n.volume), figure(sqrt(n.variance)), figure(size))).about(n)
}

// beginFrom starts a parcel with wine of a pool.
func (s *step) beginFrom(w flow, i in, lot string, p *pool) *head {
	form := w.form
	if form == "" {
		form = FormWine
		for _, from := range p.sources {
			if from.form == FormMust {
				form = FormMust
			}
		}
	}
	return s.begin(head{ID: s.self(i.vessel), Lot: lot, Vessel: i.vessel.Slug, Form: form, Began: s.r.At, Start: s.r.Entry.ID, Part: i.portion.Part})
}

// reanchored is the contents with a measured volume.
func (c *contents) reanchored(volume, variance float64) *contents {
	n := *c
	n.volume, n.variance = volume, variance
	return &n
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
