package cellar

import (
	"bytes"
	"errors"
	"slices"
	"time"
)

// A Book keeps a cellar's state as entries come in, in any order: what they touch
// is reckoned anew, and what follows from that, and nothing else. Its State is
// always that of a fold from nothing.
//
//	book := cellar.NewBook(now)
//	change := book.Apply(entries...)
//	state := book.State()         // stays as it is while the book goes on
//	change.Parcels                // whose contents or history changed
//	change.Decisions()            // doses and verdicts that rested on what changed
//
// A Book is for one user at a time; the states it hands out are for any number.
type Book struct {
	o     Options
	epoch uint64

	names *names         // shared with states: replaced, not changed
	ids   map[ID]*node   // the one of an id that counts unless it is struck; see node.twins
	over  map[ID][]*node // strikes by what they strike
	// replacing are entries by the one that they put right; attached are attachments
	// by the entry they belong to; asking are nodes by the lots they depend on.
	replacing, attached map[ID][]*node
	asking              map[string][]*node
	ahead               []*node // that lie in the future

	groups      map[groupKey]*group
	lines       map[string]*line
	lots        map[string]*lotAccount
	instruments map[string]*instrumentAccount
	accounts    map[ParcelID]*account
	stores      []*node

	records, recordsByID *rack[*Record]
	parcels, parcelsByID *rack[*Parcel]
	lotViews             *rack[*Lot]
	findings             *rack[*Finding]
	transfers            *rack[*Transfer]

	todo  todo
	state *State
}

// NewBook begins an empty book. What happens after now is a finding; see SetNow.
func NewBook(now time.Time) *Book { return newBook(Options{Now: now}) }

func newBook(o Options) *Book {
	return &Book{o: o, epoch: 1, names: newNames(), ids: map[ID]*node{}, over: map[ID][]*node{}, replacing: map[ID][]*node{}, attached: map[ID][]*node{},
		asking: map[string][]*node{}, groups: map[groupKey]*group{}, lines: map[string]*line{}, lots: map[string]*lotAccount{}, instruments: map[string]*instrumentAccount{},
		accounts: map[ParcelID]*account{}, records: newRack(before), recordsByID: newRack(byID), parcels: newRack(byBeginning), parcelsByID: newRack(byParcelID), lotViews: newRack(byLotSlug),
		findings: newRack(byMoment), transfers: newRack(inTurn), state: &State{Now: o.Now, AsOf: o.AsOf, names: newNames()}}
}

// todo is what one round has still to do.
type todo struct {
	strikes         map[ID]bool // ids around which strikes are to be settled
	restanding      []*node     // whose standing may have changed
	groups          map[*group]bool
	dirty           queue   // nodes to be reckoned
	records         []*node // whose records may have to be shown anew
	attachments     map[*node]bool
	lines           map[*line]bool
	lots            map[*lotAccount]bool
	instruments     map[*instrumentAccount]bool
	accounts        []*account
	stores          bool
	moot            []*node // whose envelope findings are to be told anew
	change          Change
	vessels         []replaced[Vessel]
	instrumentViews []replaced[Instrument]
	told            map[findingKey]*Finding
	settled         map[findingKey]*Finding
}

// Apply takes entries in. The order in which they come makes no difference, nor
// does an entry that comes twice.
func (b *Book) Apply(entries ...Entry) Change {
	b.epoch++
	b.todo = todo{strikes: map[ID]bool{}, groups: map[*group]bool{}, attachments: map[*node]bool{}, lines: map[*line]bool{},
		lots: map[*lotAccount]bool{}, instruments: map[*instrumentAccount]bool{},
		told: map[findingKey]*Finding{}, settled: map[findingKey]*Finding{}}
	for _, n := range b.decode(entries) {
		b.admit(n)
	}
	for id := range b.todo.strikes {
		b.settleStrikes(id)
	}
	b.settleNames()
	b.stand()
	b.reckon()
	b.assemble()
	return b.report()
}

// decode makes nodes of entries that are not in the book yet, in the order in which
// they are reckoned.
func (b *Book) decode(entries []Entry) []*node {
	nodes := make([]*node, 0, len(entries))
	block := make([]node, len(entries))
	records := make([]Record, len(entries))
	bodies := decodeAll(entries)
	for i := range entries {
		e := &entries[i]
		if !b.o.KnownBy.IsZero() && e.Written.After(b.o.KnownBy) {
			continue
		}
		r, n := &records[i], &block[i]
		*r = Record{Entry: *e, Body: bodies[i], At: e.Happened.Reckoned(e.Written)}
		if d, ok := r.Body.(Reading); ok && d.Drawn != "" {
			r.At = d.SpeaksOf(e.Happened).Reckoned(e.Written)
		}
		r.Beyond = !b.o.AsOf.IsZero() && r.At.After(b.o.AsOf)
		*n = node{rec: r, at: r.At, epoch: b.epoch}
		if r.Body != nil {
			n.raw = r.Body.vessels(nil)
		}
		nodes = append(nodes, n)
	}
	slices.SortFunc(nodes, sequence)
	return nodes
}

// first is the entry with an id that counts unless it is struck; nil if there is none.
func (b *Book) first(id ID) *node {
	return b.ids[id]
}

// twins are all entries with an id, the one that counts first.
func (b *Book) twins(id ID) []*node {
	n := b.ids[id]
	switch {
	case n == nil:
		return nil
	case n.twins == nil:
		return []*node{n}
	}
	return n.twins
}

// admit takes a node in, unless an entry that says the same is there.
func (b *Book) admit(n *node) {
	id := n.rec.Entry.ID
	known := b.ids[id]
	var twins []*node
	if known != nil {
		twins = b.twins(id)
	}
	for _, o := range twins {
		if o.rec.Entry.Same(&n.rec.Entry) {
			// Of two ways to write the same, one is kept whichever came first.
			if bytes.Compare(n.rec.Entry.Body, o.rec.Entry.Body) < 0 {
				b.own(o).Entry.Body = n.rec.Entry.Body
			}
			return
		}
	}
	if known == nil {
		b.ids[id] = n
	} else {
		twins = append(slices.Clip(twins), n)
		slices.SortFunc(twins, func(x, y *node) int { return compareTwins(&x.rec.Entry, &y.rec.Entry) })
		b.ids[id] = twins[0]
		for _, o := range twins {
			o.twins = twins
		}
	}
	b.todo.restanding = append(b.todo.restanding, n)
	b.todo.change.Fresh = append(b.todo.change.Fresh, id)
	b.soil(n)
	if n.rec.Entry.Replaces != "" {
		b.replacing[n.rec.Entry.Replaces] = append(b.replacing[n.rec.Entry.Replaces], n)
	}
	if from, _ := n.rec.Entry.Happened.Bounds(); !b.o.Now.IsZero() && from.After(b.o.Now) {
		b.ahead = append(b.ahead, n)
	}
	if len(twins) > 1 {
		for i, o := range twins {
			b.setOther(o, i > 0)
		}
	}
	if !n.rec.Other {
		b.index(n)
	}
	// Strikes of it may be here already; a twin is struck along with the first.
	if len(b.over[id]) > 0 || len(twins) > 1 {
		b.todo.strikes[id] = true
	}
	b.todo.moot = append(b.todo.moot, b.replacing[id]...)
}

// index notes what an entry that has the say over its id points at.
func (b *Book) index(n *node) {
	switch d := n.rec.Body.(type) {
	case Strike:
		b.over[d.Target] = insertNode(b.over[d.Target], n)
		b.todo.strikes[d.Target], b.todo.strikes[n.rec.Entry.ID] = true, true
	case Attachment:
		if d.To != "" && d.Vessel == "" {
			b.attached[d.To] = insertNode(b.attached[d.To], n)
			b.todo.attachments[n] = true
		}
	}
}

func (b *Book) setOther(n *node, other bool) {
	if n.rec.Other == other {
		return
	}
	b.own(n).Other = other
	b.todo.restanding = append(b.todo.restanding, n)
	b.todo.moot = append(b.todo.moot, n)
	if !other {
		b.index(n)
		return
	}
	switch d := n.rec.Body.(type) {
	case Strike:
		b.over[d.Target] = removeNode(b.over[d.Target], n)
		b.todo.strikes[d.Target], b.todo.strikes[n.rec.Entry.ID] = true, true
		b.retell(&n.strikeTrouble, nil)
	case Attachment:
		b.attached[d.To] = removeNode(b.attached[d.To], n)
		b.todo.attachments[n] = true
	}
}

// strike sets by which strikes an entry is struck.
func (b *Book) strike(n *node, by []ID, at time.Time) {
	if slices.Equal(n.rec.Struck, by) && n.struckAt.Equal(at) {
		return
	}
	b.own(n).Struck = by
	n.struckAt = at
	b.todo.restanding = append(b.todo.restanding, n)
	b.todo.moot = append(b.todo.moot, n)
	b.todo.moot = append(b.todo.moot, b.replacing[n.rec.Entry.ID]...)
	if n.state == ghostly { // since when it is struck is part of what is remembered
		b.todo.dirty.push(n)
	}
}

// own is a node's record, to be changed: a copy if a state shows it.
func (b *Book) own(n *node) *Record {
	if n.epoch != b.epoch {
		r := *n.rec
		n.rec, n.epoch = &r, b.epoch
	}
	b.soil(n)
	return n.rec
}

// soil notes that a node's record may have to be shown anew.
func (b *Book) soil(n *node) {
	if !n.soiled {
		n.soiled = true
		b.todo.records = append(b.todo.records, n)
	}
}

// SetNow says what time it is: entries that lie after it are findings.
func (b *Book) SetNow(now time.Time) {
	if now.Equal(b.o.Now) {
		return
	}
	back := now.Before(b.o.Now) || b.o.Now.IsZero() || now.IsZero()
	b.o.Now = now
	b.todo.told, b.todo.settled = map[findingKey]*Finding{}, map[findingKey]*Finding{}
	if back { // what was past may lie ahead again
		b.ahead = b.ahead[:0]
		for id := range b.ids {
			b.ahead = append(b.ahead, b.twins(id)...)
		}
	}
	kept := b.ahead[:0]
	for _, n := range b.ahead {
		b.retell(&n.trouble, b.envelope(n))
		if from, _ := n.rec.Entry.Happened.Bounds(); !now.IsZero() && from.After(now) {
			kept = append(kept, n)
		}
	}
	clear(b.ahead[len(kept):])
	b.ahead = kept
	b.publish()
}

// envelope tells what an entry has wrong before it is reckoned.
func (b *Book) envelope(n *node) (out []*Finding) {
	r, e := n.rec, &n.rec.Entry
	tell := func(code FindingCode, says string) *Finding {
		out = append(out, n.finding(code, says, sourceEnvelope, len(out)))
		return out[len(out)-1]
	}
	if r.Other {
		tell(FoundSameID, "another entry has the same id and says something else: the one written first counts; strike them and enter anew what happened")
		return out
	}
	if from, _ := e.Happened.Bounds(); !b.o.Now.IsZero() && from.After(b.o.Now) && len(r.Struck) == 0 {
		tell(FoundFuture, "this is entered for "+e.Happened.String()+", which has not come yet")
	}
	if r.Body == nil {
		if _, err := e.Decode(); errors.Is(err, ErrUnknownKind) {
			tell(FoundUnknownKind, "an entry of the kind "+string(e.Kind)+" comes from a newer program: it is kept, and not reckoned with").Note = true
		} else if err != nil {
			tell(FoundUnreadable, err.Error())
		}
	} else if e.Version > SchemaOf(e.Kind) {
		tell(FoundNewerSchema, "this comes from a newer program and is read as far as this one understands it").Note = true
	}
	if e.Replaces != "" && len(r.Struck) == 0 {
		if old := b.first(e.Replaces); old != nil && len(old.rec.Struck) == 0 {
			g := tell(FoundBothCount, "this puts right an entry that has not been struck: both count")
			g.Entries = append(g.Entries, e.Replaces)
		}
	}
	return out
}
