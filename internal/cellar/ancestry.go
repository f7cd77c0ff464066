package cellar

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"elevage/science/quantity"
)

// An Origin is where a part of a wine comes from: a load of fruit, or wine that
// came from outside.
type Origin struct {
	Entry *Record // the load of fruit, or the entry by which wine came in
	Lot   string
	Share float64 // of the wine's volume; the shares add up to 1
	Fruit *FruitReceived
}

// Origins are where the wine of a parcel comes from, as it was at a moment: back
// through every racking, topping and blend to fruit, greatest share first. Fruit
// that was crushed straight from receipt is told apart by the weights received for
// its lot until then.
func (s *State) Origins(id ParcelID, at time.Time) []Origin {
	p := s.Parcel(id)
	if p == nil {
		return nil
	}
	shares := map[*Record]*Origin{}
	add := func(r *Record, lot string, share float64) {
		o := shares[r]
		if o == nil {
			o = &Origin{Entry: r, Lot: lot}
			if b, ok := r.Body.(FruitReceived); ok {
				o.Fruit = &b
			}
			shares[r] = o
		}
		o.Share += share
	}
	for _, root := range p.At(at).Roots {
		entry, _, _ := strings.Cut(string(root.Parcel), "/")
		r := s.Record(ID(entry))
		if r == nil {
			continue
		}
		loads := s.loads(r)
		if len(loads) == 0 {
			add(r, root.Lot, root.Share)
			continue
		}
		var total quantity.Mass
		for _, l := range loads {
			total += weightOf(l)
		}
		for _, l := range loads {
			add(l, root.Lot, root.Share*float64(weightOf(l)/total))
		}
	}
	var out []Origin
	for _, o := range shares {
		out = append(out, *o)
	}
	slices.SortFunc(out, func(a, b Origin) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), before(a.Entry, b.Entry))
	})
	return out
}

// loads are the loads of fruit that went into a crush straight from receipt: those
// of its lot that were in no vessel, received since the lot was last crushed; if
// there are none, all that were received before.
func (s *State) loads(crush *Record) []*Record {
	b, ok := crush.Body.(Crush)
	if !ok {
		return nil
	}
	lot := s.Lot(b.Lot)
	if lot == nil {
		return nil
	}
	var last *Record
	for _, p := range lot.Parcels {
		if r := s.Record(p.Start); r != nil && r.Entry.Kind == KindCrush && before(r, crush) < 0 && (last == nil || before(last, r) < 0) {
			last = r
		}
	}
	var all, since []*Record
	for _, r := range lot.Records {
		if f, ok := r.Body.(FruitReceived); ok && f.Vessel == "" && r.Counts() && before(r, crush) < 0 && weightOf(r) > 0 {
			all = append(all, r)
			if last == nil || before(last, r) < 0 {
				since = append(since, r)
			}
		}
	}
	if len(since) > 0 {
		return since
	}
	return all
}

func weightOf(r *Record) quantity.Mass {
	b, ok := r.Body.(FruitReceived)
	if !ok {
		return 0
	}
	w, err := b.Net()
	if err != nil {
		return 0
	}
	return w
}

// A Trace follows something that came into a wine, forward to all it touched.
type Trace struct {
	Of *Record
	// Now are the parcels where some of it is, with the part of it that is there;
	// Gone are the doors by which the rest left.
	Now  []Share
	Gone []Through[float64]
	// Touched is every parcel that ever held some of it, with the most that it held,
	// in the order in which it came there.
	Touched []Share
}

// Trace follows a load of fruit, an addition, or wine from outside. It is false for
// entries that brought nothing into a wine.
func (s *State) Trace(id ID) (Trace, bool) {
	r := s.Record(id)
	if r == nil || !r.Counts() {
		return Trace{}, false
	}
	start, from := s.traceStart(r)
	if len(start) == 0 {
		return Trace{}, false
	}
	w := tracer{held: map[ParcelID]float64{}, most: map[ParcelID]float64{}}
	for _, p := range start {
		w.arrive(p.Parcel, p.Part)
	}
	for group := range byEntry(s.transfersAfter(from)) {
		w.follow(group)
	}
	return w.trace(r), true
}

// byEntry puts the transfers of each entry together, where the first of them stands.
// Others may lie between them: of an entry that had waited for a parcel which the
// first one began.
func byEntry(all func(func(*Transfer) bool)) func(func([]*Transfer) bool) {
	var ts []*Transfer
	left := map[ID]int{}
	for t := range all {
		ts = append(ts, t)
		left[t.Entry]++
	}
	return func(yield func([]*Transfer) bool) {
		for i, t := range ts {
			n := left[t.Entry]
			if n == 0 {
				continue // went with the first of its entry
			}
			left[t.Entry] = 0
			group := make([]*Transfer, 0, n)
			for j := i; len(group) < n; j++ {
				if ts[j].Entry == t.Entry {
					group = append(group, ts[j])
				}
			}
			if !yield(group) {
				return
			}
		}
	}
}

// TraceAdded follows every addition of a product, or only those of one supplier's
// lot: where did that sack go? In time.
func (s *State) TraceAdded(product, supply string) []Trace {
	var out []Trace
	for _, r := range s.Records.All() {
		if b, ok := r.Body.(Addition); ok && b.Product == product && (supply == "" || b.Supply == supply) {
			if t, ok := s.Trace(r.Entry.ID); ok {
				out = append(out, t)
			}
		}
	}
	return out
}

// traceStart is where what an entry brought is just after it, and the last transfer
// that brought it there.
func (s *State) traceStart(r *Record) (start []Share, after *Record) {
	switch b := r.Body.(type) {
	case FruitReceived:
		if b.Vessel != "" {
			if len(r.Parcels) > 0 {
				return []Share{{r.Parcels[0], 1}}, r
			}
			return nil, nil
		}
		return s.crushedFrom(r, b)
	case Addition:
		if len(r.Parcels) > 0 {
			return []Share{{r.Parcels[0], 1}}, r
		}
	case Movement:
		var total quantity.Volume
		for t := range s.transfersOf(r) {
			if t.Door == DoorOutside {
				total += t.Volume
			}
		}
		for t := range s.transfersOf(r) {
			if t.Door == DoorOutside && total > 0 {
				start = append(start, Share{t.To, float64(t.Volume / total)})
			}
		}
		return start, r
	}
	return nil, nil
}

// crushedFrom is where fruit that was in no vessel went when it was crushed.
func (s *State) crushedFrom(r *Record, b FruitReceived) (start []Share, after *Record) {
	for _, c := range s.Records.All() {
		if _, ok := c.Body.(Crush); !ok || !c.Counts() || !slices.Contains(s.loads(c), r) {
			continue
		}
		var total quantity.Volume
		for t := range s.transfersOf(c) {
			total += t.Volume
		}
		for t := range s.transfersOf(c) {
			if t.To != "" && total > 0 {
				start = append(start, Share{t.To, float64(t.Volume / total)})
			}
		}
		return start, c
	}
	return nil, nil
}

// transfersOf are the transfers of one entry.
func (s *State) transfersOf(r *Record) func(func(*Transfer) bool) {
	return func(yield func(*Transfer) bool) {
		for t := range s.Transfers.from(func(t *Transfer) bool { return !t.At.Before(r.At) }) {
			if t.At.After(r.At) {
				return
			}
			if t.Entry == r.Entry.ID && !yield(t) {
				return
			}
		}
	}
}

// transfersAfter are the transfers that come after an entry and are not its own.
func (s *State) transfersAfter(r *Record) func(func(*Transfer) bool) {
	last, own, i := -1, -1, 0
	for t := range s.Transfers.from(func(t *Transfer) bool { return !t.At.Before(r.At) }) {
		if t.At.After(r.At) {
			break
		}
		if t.Entry == r.Entry.ID {
			if own < 0 {
				own = i
			}
		} else if x := s.Record(t.Entry); x != nil && before(x, r) < 0 {
			last = i // an entry without transfers of its own stands where it was reckoned
		}
		i++
	}
	if own >= 0 {
		last = own
	}
	return func(yield func(*Transfer) bool) {
		i := 0
		for t := range s.Transfers.from(func(t *Transfer) bool { return !t.At.Before(r.At) }) {
			if i > last && t.Entry != r.Entry.ID && !yield(t) {
				return
			}
			i++
		}
	}
}

// tracer carries parts of one thing through transfers.
type tracer struct {
	held, most map[ParcelID]float64
	order      []ParcelID
	gone       Sheet[float64]
}

func (w *tracer) arrive(p ParcelID, part float64) {
	if part <= 0 {
		return
	}
	if _, seen := w.most[p]; !seen {
		w.order = append(w.order, p)
	}
	w.held[p] += part
	w.most[p] = max(w.most[p], w.held[p])
}

// follow carries out the transfers of one entry: all leave at once, then all arrive.
func (w *tracer) follow(group []*Transfer) {
	moved := make([]float64, len(group))
	for i, t := range group {
		if t.From != "" {
			moved[i] = w.held[t.From] * t.Share
		}
	}
	for i, t := range group {
		if moved[i] > 0 {
			w.held[t.From] -= moved[i]
		}
	}
	for i, t := range group {
		switch {
		case moved[i] == 0:
		case t.To == "":
			w.gone.Pass(t.Door, -moved[i])
		default:
			w.arrive(t.To, moved[i])
		}
	}
}

// trifle is a part below which nothing is left to tell.
const trifle = 1e-9

func (w *tracer) trace(r *Record) Trace {
	t := Trace{Of: r, Gone: w.gone.Doors}
	for _, p := range w.order {
		t.Touched = append(t.Touched, Share{p, w.most[p]})
		if w.held[p] > trifle {
			t.Now = append(t.Now, Share{p, w.held[p]})
		}
	}
	return t
}
