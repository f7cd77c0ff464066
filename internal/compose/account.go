package compose

import (
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// Doors that what a wine is made of goes through by itself.
const (
	DoorConverted    = "converted"    // sugar to alcohol, malic to lactic acid
	DoorPrecipitated = "precipitated" // tartaric acid and potassium that fell out
	DoorOxidised     = "oxidised"     // sulfur dioxide that is no longer found: oxidised, or gone into the air
)

// A Made accounts for one thing that wine is made of.
type Made struct {
	cellar.Sheet[quantity.Mass]
	// Assumed is the greater share, of what was there at first and at last, that
	// rests on what wines usually hold and was never read.
	Assumed float64
}

// An Account is a balance with what the wine is made of.
type Account struct {
	cellar.Balance
	Alcohol cellar.Sheet[quantity.Volume] // litres of pure alcohol
	Made    []Made                        // sugar, acids, potassium, total SO2
}

// accounted are the parts that an account shows, alcohol apart.
var accounted = [...]int{sugar, tartaric, malic, lactic, acetic, potassium, so2}

// AccountOf draws up the account of a scope from one moment to another.
func AccountOf(s *cellar.State, scope cellar.Scope, from, to time.Time) Account {
	a := Account{Balance: s.Balance(scope, from, to)}
	l := &ledger{from: from, within: s.Within(scope)}
	w := newWalk(s, nil)
	w.ledger = l
	w.until(from)
	assumed := l.stock(w, from, func(k int, q float64) { l.opening[k] += q })
	l.open = true
	w.between(from, to)
	for k, share := range l.stock(w, to, func(k int, q float64) { l.closing[k] += q }) {
		assumed[k] = max(assumed[k], share)
	}
	a.Alcohol = sheetOf[quantity.Volume](l, alcohol, "alcohol")
	for _, k := range accounted {
		a.Made = append(a.Made, Made{sheetOf[quantity.Mass](l, k, partNames[k]), assumed[k]})
	}
	return a
}

// between goes on from one moment to another.
func (w *walk) between(from, to time.Time) {
	for _, r := range w.state.Records.All() {
		if r.At.After(to) {
			return
		}
		if r.At.After(from) && r.Counts() && r.Body != nil {
			w.record(r)
		}
	}
}

func sheetOf[Q ~float64](l *ledger, k int, what string) cellar.Sheet[Q] {
	s := cellar.Sheet[Q]{What: what, Opening: Q(l.opening[k]), Closing: Q(l.closing[k])}
	for _, t := range l.doors[k].Doors {
		s.Doors = append(s.Doors, cellar.Through[Q]{Door: t.Door, In: Q(t.In), Out: Q(t.Out)})
	}
	return s
}

// A ledger notes what goes through doors while a walk goes on. A nil ledger notes
// nothing.
type ledger struct {
	from             time.Time
	within           func(cellar.ParcelID) bool
	open             bool // from is past
	opening, closing amounts
	doors            [parts]cellar.Sheet[float64]
}

// amounts are grams of each part; of alcohol, litres.
type amounts [parts]float64

// in are the amounts in a volume of a body.
func (b *body) in(volume float64) (out amounts) {
	for k := range out {
		out[k] = b.f[k].v * volume
	}
	out[alcohol] /= 100
	return out
}

// stock adds up what the scope holds, and returns what share of each was assumed.
func (l *ledger) stock(w *walk, at time.Time, add func(k int, q float64)) (assumed amounts) {
	var sum amounts
	for _, p := range w.state.Parcels.All() { // in their order, so that rounding is the same each time
		c := w.cells[p.ID]
		if c == nil || !l.within(p.ID) || c.volume <= 0 {
			continue
		}
		b := c.now(w, at)
		for k, q := range b.in(c.volume) {
			add(k, q)
			sum[k] += q
			assumed[k] += q * b.assumed[k]
		}
	}
	for k := range assumed {
		if sum[k] > 0 {
			assumed[k] /= sum[k]
		}
	}
	return assumed
}

func (l *ledger) counts(id cellar.ParcelID) bool { return l != nil && l.open && l.within(id) }

func (l *ledger) pass(door string, q amounts, sign float64) {
	for k := range q {
		l.doors[k].Pass(door, sign*q[k])
	}
}

// before is what a parcel holds before it is read.
func (l *ledger) before(w *walk, c *cell, at time.Time) (q amounts) {
	if !l.counts(c.id) {
		return q
	}
	b := c.now(w, at)
	return b.in(c.volume)
}

// changed finds the doors by which a reading, or a person's word, explains what is
// no longer there, or there now.
func (l *ledger) changed(w *walk, c *cell, r *cellar.Record, before amounts) {
	if !l.counts(c.id) {
		return
	}
	b := c.now(w, r.At)
	delta := b.in(c.volume)
	for k := range delta {
		delta[k] -= before[k]
	}
	take := func(k int, door string, q float64) {
		l.doors[k].Pass(door, q)
		delta[k] -= q
	}
	first := func(k int) bool { return c.unread(k) && len(c.reads[k]) == 1 } // nothing was known before
	if m := delta[malic]; m < 0 && !first(malic) {
		take(malic, DoorConverted, m)
		take(lactic, DoorConverted, -m*lacticPerMalic)
	}
	if s := delta[sugar]; s < 0 && !first(sugar) {
		take(sugar, DoorConverted, s)
		take(alcohol, DoorConverted, -s*alcoholPerSugar/100)
	}
	if delta[so2] < 0 && c.start.assumed[so2] < 0.5 {
		take(so2, DoorOxidised, delta[so2])
	}
	for _, k := range [...]int{tartaric, potassium} {
		if delta[k] < 0 && b.assumed[k] < 0.5 && c.start.assumed[k] < 0.5 {
			take(k, DoorPrecipitated, delta[k])
		}
	}
	for k := range delta {
		l.doors[k].Pass(cellar.DoorReanchored, delta[k])
	}
}

// added is what an addition brought.
func (l *ledger) added(id cellar.ParcelID, e effect, grams float64) {
	if !l.counts(id) {
		return
	}
	for k, per := range e {
		l.doors[k].Pass(cellar.DoorAddition, per*grams)
	}
}

// wine is a parcel's volume put right: what it is made of goes through the door with it.
func (l *ledger) wine(w *walk, c *cell, at time.Time, t *cellar.Transfer, volume float64) {
	if !l.counts(c.id) {
		return
	}
	b := c.now(w, at)
	l.pass(t.Door, b.in(volume), 1)
}

// left is wine that leaves by a door.
func (l *ledger) left(t *cellar.Transfer, b *body, before float64) {
	if !l.counts(t.From) {
		return
	}
	q := b.in(before)
	for k := range q {
		q[k] *= t.Share
	}
	q[alcohol] = b.f[alcohol].v / 100 * float64(t.Volume)
	l.pass(t.Door, q, -1)
}

// arrived is wine that comes into a parcel: from outside, or from one out of scope;
// seen from that one it leaves.
func (l *ledger) arrived(t *cellar.Transfer, b *body) {
	if l == nil || !l.open {
		return
	}
	if door, sign := t.Through(l.within); sign != 0 {
		l.pass(door, b.in(float64(t.Volume)), float64(sign))
	}
}
