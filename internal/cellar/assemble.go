package cellar

import (
	"cmp"
	"slices"
	"strings"
)

// An account is a parcel: the nodes that had to do with it, and its view.
type account struct {
	id    ParcelID
	nodes []*node
	rides []*node    // attachments of entries that touched it
	kids  []ParcelID // parcels that got wine from it
	from  *node      // in which it began
	line  *line
	lot   *lotAccount
	view  *Parcel
	open  bool // it is to be assembled anew
}

// A lotAccount is a lot, described or only named.
type lotAccount struct {
	slug    string
	notes   []*node
	parcels []*account // by their beginning
	trouble []*Finding
	view    *Lot
}

type instrumentAccount struct {
	slug  string
	notes []*node
	view  *Instrument
}

func (b *Book) lot(slug string) *lotAccount {
	l := b.lots[slug]
	if l == nil {
		l = &lotAccount{slug: slug}
		b.lots[slug] = l
	}
	return l
}

func (b *Book) instrument(slug string) *instrumentAccount {
	i := b.instruments[slug]
	if i == nil {
		i = &instrumentAccount{slug: slug}
		b.instruments[slug] = i
	}
	return i
}

func (b *Book) account(id ParcelID) *account {
	a := b.accounts[id]
	if a == nil {
		a = &account{id: id}
		b.accounts[id] = a
	}
	return a
}

// assemble makes anew the views that changed: first records, since all others hold
// them, then parcels, then vessels and lots, which hold parcels.
func (b *Book) assemble() {
	b.assembleRecords()
	for _, a := range b.todo.accounts {
		a.open = false
		b.assembleParcel(a)
	}
	for l := range b.todo.lines {
		b.assembleVessel(l)
	}
	for l := range b.todo.lots {
		b.assembleLot(l)
	}
	for i := range b.todo.instruments {
		b.assembleInstrument(i)
	}
	b.publish()
}

func (b *Book) assembleRecords() {
	for n := range b.todo.attachments {
		b.rideAlong(n)
	}
	for _, n := range b.todo.records {
		if !slices.EqualFunc(n.touches, n.rec.Parcels, func(t touched, id ParcelID) bool { return t.parcel == id }) {
			ids := make([]ParcelID, len(n.touches))
			for i, t := range n.touches {
				ids[i] = t.parcel
			}
			b.own(n).Parcels = ids
		}
		at := n.at
		if n.waker != nil {
			at = n.waker.at
		}
		if !sameTime(at, n.rec.At) {
			b.own(n).At = at
		}
	}
	for _, n := range b.todo.records {
		n.soiled = false
		if n.shown == n.rec {
			continue
		}
		if n.shown != nil {
			b.records.remove(n.shown)
			b.recordsByID.remove(n.shown)
			b.rehome(n)
		}
		b.records.insert(n.rec)
		b.recordsByID.insert(n.rec)
		n.shown = n.rec
	}
}

// rehome marks the views that hold a record that was replaced.
func (b *Book) rehome(n *node) {
	for _, t := range n.touches {
		b.open(b.account(t.parcel))
	}
	if key, ok := describes(n.rec.Body); ok {
		switch key.kind {
		case lotGroup:
			b.todo.lots[b.lot(key.slug)] = true
		case vesselGroup:
			b.todo.lines[b.line(key.slug)] = true
		case instrumentGroup:
			b.todo.instruments[b.instrument(key.slug)] = true
		}
	}
	for _, l := range n.lines { // it may have been done to the empty vessel
		b.todo.lines[l] = true
	}
	if n.run == nil || n.run.rare == nil {
		return
	}
	for i := range n.run.rare.notes {
		switch m := &n.run.rare.notes[i]; m.where {
		case withLot:
			b.todo.lots[b.lot(m.name)] = true
		case withInstrument:
			b.todo.instruments[b.instrument(m.name)] = true
		case withStores:
			b.todo.stores = true
		}
	}
}

// rideAlong puts an attachment with the parcels of the entry that it belongs to.
func (b *Book) rideAlong(n *node) {
	for _, t := range n.touches {
		if a := b.accounts[t.parcel]; t.by == nil && a != nil {
			a.rides = removeNode(a.rides, n)
			b.open(a)
		}
	}
	n.touches = slices.DeleteFunc(n.touches, func(t touched) bool { return t.by == nil })
	b.soil(n)
	to := b.first(n.rec.Body.(Attachment).To)
	if n.state != counted || to == nil {
		return
	}
	for _, t := range to.touches {
		if a := b.accounts[t.parcel]; a != nil && len(a.nodes) > 0 && !slices.ContainsFunc(n.touches, func(o touched) bool { return o.parcel == t.parcel }) {
			n.touches = append(n.touches, touched{nil, t.parcel})
			a.rides = insertNode(a.rides, n)
			b.open(a)
		}
	}
}

// byBeginning is the order of parcels.
func byBeginning(a, b *Parcel) int {
	return cmp.Or(sequence(a.from, b.from), strings.Compare(string(a.ID), string(b.ID)))
}

func byParcelID(a, b *Parcel) int { return strings.Compare(string(a.ID), string(b.ID)) }

func accountOrder(a, b *account) int {
	return cmp.Or(sequence(a.from, b.from), strings.Compare(string(a.id), string(b.id)))
}

// assembleParcel makes a parcel's view out of all that had to do with it.
func (b *Book) assembleParcel(a *account) {
	old := a.view
	var p *Parcel
	if len(a.nodes) > 0 {
		p = a.assemble()
		if holds := b.line(p.Vessel).last().holds; holds != nil && holds.parcel.ID == p.ID {
			p.stage = holds.stage
		}
	}
	if old != nil {
		for _, in := range old.Inflows {
			b.unkid(in.From, a.id)
		}
		if p == nil || p.from != old.from || p.Lot != old.Lot {
			b.parcels.remove(old)
			b.parcelsByID.remove(old)
			a.line.parcels = removeAccount(a.line.parcels, a)
			a.lot.parcels = removeAccount(a.lot.parcels, a)
			b.todo.lines[a.line], b.todo.lots[a.lot] = true, true
			old = nil
		}
	}
	if p == nil {
		delete(b.accounts, a.id)
		b.todo.change.gone = append(b.todo.change.gone, a.id)
		return
	}
	a.view = p
	if old == nil {
		a.from, a.line, a.lot = p.from, b.line(p.Vessel), b.lot(p.Lot)
		a.line.parcels, a.lot.parcels = insertAccount(a.line.parcels, a), insertAccount(a.lot.parcels, a)
	}
	b.parcels.insert(p)
	b.parcelsByID.insert(p)
	for _, in := range p.Inflows {
		if in.From != "" {
			from := b.account(in.From)
			if !slices.Contains(from.kids, a.id) {
				from.kids = append(from.kids, a.id)
			}
		}
	}
	b.todo.lines[a.line], b.todo.lots[a.lot] = true, true
	b.todo.change.touched = append(b.todo.change.touched, a.id)
}

func (b *Book) unkid(parent, kid ParcelID) {
	if a := b.accounts[parent]; a != nil {
		a.kids = slices.DeleteFunc(a.kids, func(id ParcelID) bool { return id == kid })
	}
}

func insertAccount(list []*account, a *account) []*account {
	if k := len(list); k == 0 || accountOrder(list[k-1], a) < 0 {
		return append(list, a)
	}
	i, found := slices.BinarySearchFunc(list, a, accountOrder)
	if found {
		list[i] = a
		return list
	}
	return slices.Insert(list, i, a)
}

func removeAccount(list []*account, a *account) []*account {
	return slices.DeleteFunc(list, func(o *account) bool { return o == a })
}

// assemble goes through the nodes of a parcel in order.
func (a *account) assemble() *Parcel {
	p := &Parcel{ID: a.id, Levels: make([]Level, 0, len(a.nodes)), Events: make([]*Record, 0, len(a.nodes)+len(a.rides))}
	for _, n := range a.nodes {
		for i := range n.run.touches {
			if t := &n.run.touches[i]; t.parcel == a.id {
				p.Events = append(p.Events, t.node.rec)
			}
		}
		for i := range n.run.levels {
			if l := &n.run.levels[i]; l.parcel == a.id {
				p.setLevel(l.level)
			}
		}
		if n.run.rare != nil {
			p.assembleRare(n)
		}
	}
	if len(a.rides) > 0 {
		for _, n := range a.rides {
			p.Events = append(p.Events, n.rec)
		}
		slices.SortStableFunc(p.Events, before)
	}
	if k := len(p.Levels); k > 0 && !p.Ended() {
		last := &p.Levels[k-1]
		p.Volume, p.Spread, p.Weight, p.Count, p.Amounts, p.Roots = last.Volume, last.Spread, last.Weight, last.Count, last.Amounts, last.Roots
	}
	return p
}

func (p *Parcel) assembleRare(n *node) {
	for _, h := range n.run.rare.heads {
		if h.ID == p.ID {
			if p.from == nil {
				p.from = n
			}
			p.Lot, p.Vessel, p.Form, p.Began, p.Start, p.Part = h.Lot, h.Vessel, h.Form, h.Began, h.Start, h.Part
		}
	}
	for i := range n.run.rare.inflows {
		if m := &n.run.rare.inflows[i]; m.parcel == p.ID {
			p.Inflows = append(p.Inflows, m.inflow)
		}
	}
	for i := range n.run.rare.ends {
		if m := &n.run.rare.ends[i]; m.parcel == p.ID {
			p.End, p.Ender = m.at, m.by
		}
	}
}

// setLevel notes a volume, one for each entry.
func (p *Parcel) setLevel(l Level) {
	if n := len(p.Levels); n > 0 && p.Levels[n-1].Entry == l.Entry {
		p.Levels = p.Levels[:n-1]
	}
	p.Levels = append(p.Levels, l)
}
