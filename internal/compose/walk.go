package compose

import (
	"math"
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// A walk goes through a cellar's entries in time and keeps what each parcel is made
// of. It looks only at parcels that are asked for and those that they come from.
type walk struct {
	state *cellar.State
	keep  map[cellar.ParcelID]bool // nil for all
	cells map[cellar.ParcelID]*cell
	keys  map[string]int32
	names []string
	// waits are acts of a day on wine that came later that day.
	waits  map[cellar.ParcelID][]*cellar.Record
	fruit  map[string][]*cellar.Record // readings of a lot's fruit in no vessel
	moves  map[cellar.ID][]*cellar.Transfer
	ledger *ledger // nil unless an account is kept
	// courses are what is believed of conversions; nil for none
	courses map[cellar.ParcelID]*followed
}

// A cell is a parcel under way.
type cell struct {
	id     cellar.ParcelID
	volume float64 // L
	// pitched is when its must was given yeast; zero if it was not.
	pitched time.Time
	stretch
}

func newWalk(s *cellar.State, of []cellar.ParcelID) *walk {
	w := &walk{state: s, cells: map[cellar.ParcelID]*cell{}, keys: map[string]int32{}, waits: map[cellar.ParcelID][]*cellar.Record{},
		fruit: map[string][]*cellar.Record{}, moves: map[cellar.ID][]*cellar.Transfer{}}
	if of != nil {
		w.keep = ancestors(s, of)
	}
	for _, t := range s.Transfers.All() {
		if w.kept(t.From) || w.kept(t.To) {
			w.moves[t.Entry] = append(w.moves[t.Entry], t)
		}
	}
	return w
}

// ancestors are parcels and all that they got wine from.
func ancestors(s *cellar.State, of []cellar.ParcelID) map[cellar.ParcelID]bool {
	keep := map[cellar.ParcelID]bool{}
	for queue := of; len(queue) > 0; {
		id := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		p := s.Parcel(id)
		if p == nil || keep[id] {
			continue
		}
		keep[id] = true
		for _, in := range p.Inflows {
			if in.From != "" {
				queue = append(queue[:len(queue):len(queue)], in.From)
			}
		}
	}
	return keep
}

func (w *walk) kept(id cellar.ParcelID) bool { return id != "" && (w.keep == nil || w.keep[id]) }

// key is the number of a cause of error.
func (w *walk) key(name string) int32 {
	k, ok := w.keys[name]
	if !ok {
		k = int32(len(w.keys)) //nolint:gosec // a cellar has fewer causes than that
		w.keys[name] = k
		w.names = append(w.names, name)
	}
	return k
}

func (w *walk) keyName(k int32) string { return w.names[k] }

// until goes through everything up to and including a moment.
func (w *walk) until(at time.Time) {
	for _, r := range w.state.Records.All() {
		if r.At.After(at) {
			return
		}
		if r.Counts() && r.Body != nil {
			w.record(r)
		}
	}
}

func (w *walk) record(r *cellar.Record) {
	if b, ok := r.Body.(cellar.Reading); ok && b.Vessel == "" && b.Lot != "" {
		w.fruit[b.Lot] = append(w.fruit[b.Lot], r)
		return
	}
	moves := w.moves[r.Entry.ID]
	if len(moves) > 0 {
		if p := w.missing(moves); p != "" {
			w.waits[p] = append(w.waits[p], r)
			return
		}
		if _, ok := r.Body.(cellar.Addition); ok {
			w.add(r, moves)
		} else {
			w.move(r, moves)
		}
	}
	for _, id := range r.Parcels {
		w.happen(r, id)
	}
}

// missing is the parcel that transfers are about and that is not there yet; "" if
// they make it themselves.
func (w *walk) missing(moves []*cellar.Transfer) cellar.ParcelID {
	for _, t := range moves {
		if t.From != "" && w.kept(t.From) && w.cells[t.From] == nil {
			return t.From
		}
		if _, born := w.state.Record(t.Entry).Body.(cellar.Addition); born && w.cells[t.To] == nil {
			return t.To
		}
	}
	return ""
}

// happen is what an entry says of a parcel besides moving it.
func (w *walk) happen(r *cellar.Record, id cellar.ParcelID) {
	if !w.kept(id) {
		return
	}
	c := w.cells[id]
	switch b := r.Body.(type) {
	case cellar.FruitReceived:
		if c == nil {
			w.begin(id, r.At, w.unread(usualMust, "must/"+string(id)))
			w.wake(id)
		}
		return
	case cellar.Reading:
		if b.Control {
			return
		}
		if c == nil {
			w.waits[id] = append(w.waits[id], r)
			return
		}
		w.read(c, r, b)
	case cellar.Inoculation:
		if c != nil && b.Of == "primary" {
			c.pitch(r.At)
		}
	case cellar.Verdict:
		if c != nil {
			w.declare(c, r, b)
		}
	}
}

func (c *cell) pitch(at time.Time) {
	if c.pitched.IsZero() || !at.IsZero() && at.Before(c.pitched) {
		c.pitched = at
	}
}

func (w *walk) begin(id cellar.ParcelID, at time.Time, b body) *cell {
	c := &cell{id: id, stretch: stretch{began: at, start: b, course: w.courses[id]}}
	w.cells[id] = c
	return c
}

// wake lets what waited for a parcel follow.
func (w *walk) wake(id cellar.ParcelID) {
	waiting := w.waits[id]
	delete(w.waits, id)
	for _, r := range waiting {
		w.record(r)
	}
}

// read puts a figure right.
func (w *walk) read(c *cell, r *cellar.Record, b cellar.Reading) {
	before := w.ledger.before(w, c, r.At)
	at := r.At
	if at.Before(c.began) {
		at = c.began
	}
	if b.What == cellar.ReadPH {
		v, err := b.Value.PH()
		if err != nil || b.Value.Bound() != "" {
			return
		}
		sd := spreads[cellar.ReadPH].fixed
		if b.Lab != "" {
			sd /= 2
		}
		if s := statedSpread(b.Value); s > 0 {
			sd = s
		}
		c.phKey = w.key("read/" + string(r.Entry.ID))
		c.ph = timed{at: at, f: read(float64(v), c.phKey, sd)}
	} else {
		part, f, ok := w.grasp(r, b)
		if !ok || b.What == cellar.ReadDensity && !c.must(w, at) {
			return
		}
		if part == ta {
			f = c.titrated(w, b, f)
		}
		c.take(part, timed{at: at, f: f})
	}
	w.ledger.changed(w, c, r, before)
}

// must says whether a parcel has not fermented yet, so that its float still tells of
// sugar: until a day after yeast went in, the least that a lag lasts.
func (c *cell) must(w *walk, at time.Time) bool {
	if !c.pitched.IsZero() && at.After(c.pitched.Add(24*time.Hour)) {
		return false
	}
	return c.now(w, at).f[alcohol].v < 1
}

// titrated brings a titration to pH 8.2, if it was to another end point.
func (c *cell) titrated(w *walk, b cellar.Reading, f fig) fig {
	end, err := cellar.ParseNumber(b.EndPoint)
	if b.EndPoint == "" || err != nil || math.Abs(end-8.2) < 0.15 {
		return f
	}
	k := 1 + (endFactor-1)*(8.2-end)/1.2
	return f.times(k).with(w.key("end point"), endFactorSpread*f.v*(8.2-end)/1.2)
}

// declare takes a person's word for the end of a fermentation: malic acid below a
// tenth of a gram, sugar below 2 g/L, the usual meaning of the words; common
// practice, no source.
func (w *walk) declare(c *cell, r *cellar.Record, b cellar.Verdict) {
	part, limit := malic, 0.1
	switch b.Says {
	case cellar.VerdictMalolacticFinished:
	case cellar.VerdictDry:
		part, limit = sugar, 2
	default:
		return
	}
	now := c.curve(part, r.At)
	if now.v <= limit {
		return
	}
	before := w.ledger.before(w, c, r.At)
	c.take(part, timed{at: r.At, f: read(limit/2, w.key("declared/"+string(r.Entry.ID)), limit/math.Sqrt(12)), word: true})
	w.ledger.changed(w, c, r, before)
}

// add dissolves what was added.
func (w *walk) add(r *cellar.Record, moves []*cellar.Transfer) {
	for _, t := range moves {
		c := w.cells[t.To]
		if c == nil {
			continue
		}
		b := c.now(w, r.At)
		volume := c.volume + float64(t.Volume)
		if volume <= 0 { // on fruit: it goes with the must
			volume = fruitLitres(w.state.Parcel(t.To))
		}
		if volume <= 0 {
			continue
		}
		if c.volume > 0 && t.Volume > 0 {
			for k := range b.f {
				b.f[k] = b.f[k].times(c.volume / volume)
			}
		}
		level := w.state.Parcel(t.To).At(r.At)
		loose := doseSpread
		if level.Volume > 0 {
			loose = math.Hypot(doseSpread, float64(level.Spread/level.Volume))
		}
		key := w.key("dose/" + string(r.Entry.ID))
		for _, a := range t.Amounts {
			e, known := effectOf(a.Substance)
			if !known {
				continue
			}
			dose := a.Mass.Grams() / volume
			for k, per := range e {
				if per != 0 {
					b.f[k] = b.f[k].plus(fig{dose * per, []cause{{key, dose * per * loose}}})
				}
			}
			if c.volume > 0 { // what was put on fruit comes in with its must
				w.ledger.added(c.id, e, a.Mass.Grams())
			}
		}
		c.volume += float64(t.Volume)
		c.restart(r.At, b)
	}
}

// doseSpread is how far a weighed dose may be off: a 0.1 g scale on a few grams, and
// the jar's strength. From memory, unverified.
const doseSpread = 0.03

// fruitLitres is the must that fruit in a vessel will roughly make: 0.87 L/kg at 4 %
// stems (handbook, computed from must of 24 Brix).
func fruitLitres(p *cellar.Parcel) float64 {
	if p == nil {
		return 0
	}
	var weight quantity.Mass
	for _, l := range p.Levels {
		weight = max(weight, l.Weight)
	}
	return 0.87 * weight.Kilograms()
}
