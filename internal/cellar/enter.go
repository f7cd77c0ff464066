package cellar

import "slices"

// open notes that a parcel is to be assembled anew.
func (b *Book) open(a *account) {
	if !a.open {
		a.open = true
		b.todo.accounts = append(b.todo.accounts, a)
	}
}

// parcelsOf calls f for each parcel that a run has to do with; some more than once.
func (r *run) parcelsOf(f func(ParcelID)) {
	for i := range r.touches {
		f(r.touches[i].parcel)
	}
	for i := range r.levels {
		f(r.levels[i].parcel)
	}
	if r.rare == nil {
		return
	}
	for _, h := range r.rare.heads {
		f(h.ID)
	}
	for i := range r.rare.ends {
		f(r.rare.ends[i].parcel)
	}
	for i := range r.rare.inflows {
		f(r.rare.inflows[i].parcel)
	}
}

// enter notes what came of a node wherever it is to be seen.
func (b *Book) enter(n *node) {
	n.run.parcelsOf(func(id ParcelID) {
		a := b.account(id)
		a.nodes = insertNode(a.nodes, n)
		b.open(a)
	})
	for _, t := range n.run.touches {
		t.node.touches = append(t.node.touches, touched{n, t.parcel})
		b.soil(t.node)
		b.ride(t.node)
	}
	for _, slug := range n.run.lots {
		if len(b.asking[slug]) == 0 || sequence(n, b.asking[slug][0]) < 0 {
			b.todo.lots[b.lot(slug)] = true
		}
		b.asking[slug] = insertNode(b.asking[slug], n)
	}
	more := n.run.rare
	if more == nil {
		return
	}
	for _, f := range more.findings {
		b.tell(f)
	}
	for _, t := range more.transfers {
		b.transfers.insert(t)
	}
	for _, w := range more.moved {
		w.waker = n
		b.soil(w)
	}
	for i := range more.notes {
		b.noted(n, &more.notes[i], insertNode)
	}
}

// withdraw takes back what enter noted.
func (b *Book) withdraw(n *node) {
	if n.run == nil {
		return
	}
	n.run.parcelsOf(func(id ParcelID) {
		if a := b.accounts[id]; a != nil {
			a.nodes = removeNode(a.nodes, n)
			b.open(a)
		}
	})
	for _, t := range n.run.touches {
		t.node.touches = slices.DeleteFunc(t.node.touches, func(o touched) bool { return o.by == n })
		b.soil(t.node)
		b.ride(t.node)
	}
	for _, slug := range n.run.lots {
		if len(b.asking[slug]) > 0 && b.asking[slug][0] == n {
			b.todo.lots[b.lot(slug)] = true
		}
		b.asking[slug] = removeNode(b.asking[slug], n)
	}
	more := n.run.rare
	if more == nil {
		return
	}
	for _, f := range more.findings {
		b.untell(f)
	}
	for _, t := range more.transfers {
		b.transfers.remove(t)
	}
	for _, w := range more.moved {
		if w.waker == n {
			w.waker = nil
		}
		b.soil(w)
	}
	for i := range more.notes {
		b.noted(n, &more.notes[i], removeNode)
	}
}

// ride marks the attachments of an entry whose parcels may have changed.
func (b *Book) ride(n *node) {
	for _, a := range b.attached[n.rec.Entry.ID] {
		b.todo.attachments[a] = true
	}
}

func (b *Book) noted(n *node, m *noteMark, put func([]*node, *node) []*node) {
	switch m.where {
	case withVessel:
		m.line.notes = put(m.line.notes, n)
		b.todo.lines[m.line] = true
	case withLot:
		l := b.lot(m.name)
		l.notes = put(l.notes, n)
		b.todo.lots[l] = true
	case withInstrument:
		i := b.instrument(m.name)
		i.notes = put(i.notes, n)
		b.todo.instruments[i] = true
		b.todo.change.Instruments = true
	case withStores:
		b.stores = put(b.stores, n)
		b.todo.stores = true
	}
}

// notesFor are the records that notes of these nodes put with one thing.
func notesFor(out []*Record, nodes []*node, here func(*noteMark) bool) []*Record {
	for _, n := range nodes {
		for i := range n.run.rare.notes {
			if m := &n.run.rare.notes[i]; here(m) && !m.unlisted {
				out = append(out, m.node.rec)
			}
		}
	}
	return out
}
