package compose

import (
	"math"

	"elevage/internal/cellar"
)

// move carries out the transfers of one entry: what comes ahead, then all leaves at
// once, then all arrives.
func (w *walk) move(r *cellar.Record, moves []*cellar.Transfer) {
	var rest []*cellar.Transfer
	for _, t := range moves {
		if t.Ahead {
			w.ahead(r, t)
		} else {
			rest = append(rest, t)
		}
	}
	m := movement{w: w, r: r, from: map[cellar.ParcelID]*leaving{}, to: map[cellar.ParcelID][]arriving{}}
	for _, t := range rest {
		if t.From != "" && w.kept(t.From) {
			m.leaves(t)
		}
	}
	for _, t := range rest {
		if t.To != "" && w.kept(t.To) {
			m.arrives(t)
		}
	}
	m.settle()
}

// ahead changes a parcel's volume before anything moves, and not what it is made of.
func (w *walk) ahead(r *cellar.Record, t *cellar.Transfer) {
	id, sign := t.To, 1.0
	if t.From != "" {
		id, sign = t.From, -1
	}
	c := w.cells[id]
	if c == nil {
		return
	}
	if t.Door == cellar.DoorFruit && len(c.reads[sugar]) == 0 && c.ph.f.e == nil { // what was read of the lot's fruit is true of this must
		w.readFruit(c, r)
	}
	v := sign * float64(t.Volume)
	w.ledger.wine(w, c, r.At, t, v)
	c.volume += v
}

// movement is the transfers of one entry under way.
type movement struct {
	w    *walk
	r    *cellar.Record
	from map[cellar.ParcelID]*leaving
	to   map[cellar.ParcelID][]arriving
	row  []cellar.ParcelID // keys of to, in order
}

// leaving is a parcel that gives: what it was made of before.
type leaving struct {
	c          *cell
	b          body
	before     float64 // L
	gone       float64 // L
	evaporated float64 // L
	share      float64 // of what is dissolved that went along
}

// arriving is what comes into a parcel: a body, and how much of it.
type arriving struct {
	t      *cellar.Transfer
	b      body
	volume float64
}

func (m *movement) leaves(t *cellar.Transfer) {
	l := m.from[t.From]
	if l == nil {
		c := m.w.cells[t.From]
		l = &leaving{c: c, b: c.now(m.w, m.r.At), before: c.volume}
		m.from[t.From] = l
	}
	l.gone += float64(t.Volume)
	l.share += t.Share
	if t.Door == cellar.LossEvaporation {
		l.evaporated += float64(t.Volume)
	}
	if t.To == "" {
		m.w.ledger.left(t, &l.b, l.before)
	}
}

// concentrated is a body of which a part evaporated: water and alcohol alike, which
// leaves the strength as it is; what is dissolved stays. How far that holds hangs on
// how dry the air is; common practice, no source.
func concentrated(b body, k float64) body {
	if k == 1 {
		return b
	}
	for part := range b.f {
		if part != alcohol {
			b.f[part] = b.f[part].times(k)
		}
	}
	return b
}

func (m *movement) arrives(t *cellar.Transfer) {
	a := arriving{t: t, volume: float64(t.Volume)}
	switch l := m.from[t.From]; {
	case l != nil && t.Volume > 0:
		a.b = concentrated(l.b, t.Share*l.before/float64(t.Volume))
	case l != nil:
		a.b = l.b
	case t.From != "": // not looked at: of no account here
		return
	case t.Door == cellar.DoorFruit:
		a.b = m.w.must(t, m.r)
	case t.Door == cellar.DoorUnknown:
		a.b = m.likeTheRest(t)
	default:
		a.b = m.w.unread(usualWine, "wine/"+string(t.Entry))
	}
	if len(m.to[t.To]) == 0 {
		m.row = append(m.row, t.To)
	}
	m.to[t.To] = append(m.to[t.To], a)
	m.w.ledger.arrived(t, &a.b)
}

// likeTheRest is wine that came from nowhere: most likely more of what came with it.
func (m *movement) likeTheRest(t *cellar.Transfer) body {
	for _, a := range m.to[t.To] {
		return a.b
	}
	if c := m.w.cells[t.To]; c != nil {
		return c.now(m.w, m.r.At)
	}
	return m.w.unread(usualWine, "wine/"+string(t.Entry))
}

// settle brings parcels to what they are after the entry.
func (m *movement) settle() {
	for _, l := range m.from {
		l.c.volume = max(0, l.before-l.gone)
		if l.evaporated > 0 && l.c.volume > 1e-9 {
			b := concentrated(l.b, (1-l.share)*l.before/l.c.volume)
			l.c.restart(m.r.At, b)
		}
	}
	for _, id := range m.row {
		m.pour(id, m.to[id])
	}
	for _, id := range m.row {
		m.w.wake(id)
	}
}

// pour mixes what arrives with what is there.
func (m *movement) pour(id cellar.ParcelID, in []arriving) {
	c := m.w.cells[id]
	total := 0.0
	var bodies []*body
	var volumes []float64
	if c != nil && c.volume > 1e-9 {
		b := c.now(m.w, m.r.At)
		bodies, volumes, total = append(bodies, &b), append(volumes, c.volume), c.volume
	}
	for i := range in {
		bodies, volumes = append(bodies, &in[i].b), append(volumes, in[i].volume)
		total += in[i].volume
	}
	var b body
	switch {
	case total <= 0:
		b = in[0].b
	case len(bodies) == 1:
		b = *bodies[0]
	default:
		b = blend(bodies, m.shares(id, in, volumes, total))
	}
	if c == nil {
		c = m.w.begin(id, m.r.At, b)
	} else {
		c.restart(m.r.At, b)
	}
	c.volume = total
	for _, a := range in {
		if l := m.from[a.t.From]; l != nil {
			c.pitch(l.c.pitched)
		}
	}
}

// shares are the parts of a blend, uncertain by how far each volume is.
func (m *movement) shares(id cellar.ParcelID, in []arriving, volumes []float64, total float64) []fig {
	out := make([]fig, len(volumes))
	for i, v := range volumes {
		out[i] = exactly(v / total)
	}
	first := len(volumes) - len(in)
	for j := range volumes {
		name, sd := "held/"+string(id)+"/"+string(m.r.Entry.ID), m.heldSpread(id, volumes[j])
		if j >= first {
			t := in[j-first].t
			name, sd = "poured/"+string(t.Entry)+"/"+string(t.From)+"/"+string(t.To), pouredSpread*volumes[j]
		}
		key := m.w.key(name)
		for i := range out { // d(v_i/V)/dv_j
			d := -volumes[i] / (total * total)
			if i == j {
				d += 1 / total
			}
			out[i] = out[i].with(key, d*sd)
		}
	}
	return out
}

// heldSpread is the ± of what a vessel held before wine came in.
func (m *movement) heldSpread(id cellar.ParcelID, volume float64) float64 {
	p := m.w.state.Parcel(id)
	spread := pouredSpread * volume
	for _, l := range p.Levels {
		if l.Entry == m.r.Entry.ID {
			break
		}
		spread = float64(l.Spread)
	}
	return spread
}

// pouredSpread is the ± of a volume that was poured, as a share of it: 2 to 5 % by
// the marks of a vessel, from memory, unverified.
const pouredSpread = 0.02

// must is fruit that was crushed straight from receipt.
func (w *walk) must(t *cellar.Transfer, r *cellar.Record) body {
	c := &cell{id: t.To, stretch: stretch{began: r.At, start: w.unread(usualMust, "must/"+string(t.Entry))}}
	w.readFruit(c, r)
	return c.now(w, r.At)
}

// readFruit takes over what was read of a lot's fruit before it was crushed: the
// last of each kind, with the spread that a sample of berries has.
func (w *walk) readFruit(c *cell, r *cellar.Record) {
	p := w.state.Parcel(c.id)
	if p == nil {
		return
	}
	quiet := *w
	quiet.ledger = nil
	for _, read := range w.fruit[p.Lot] {
		if b := read.Body.(cellar.Reading); !read.At.After(r.At) && r.At.Sub(read.At) < sampleLasts {
			quiet.read(c, read, b)
		}
	}
	for k := range c.reads {
		for i := range c.reads[k] {
			f := &c.reads[k][i].f
			*f = f.with(quiet.key("sample/"+string(c.id)+"/"+partNames[k]), sampleSpread*math.Abs(f.v))
		}
	}
	if c.ph.f.e != nil {
		c.ph.f = c.ph.f.with(quiet.key("sample/"+string(c.id)+"/pH"), samplePHSpread)
	}
	w.names = quiet.names
}
