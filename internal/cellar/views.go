package cellar

import (
	"cmp"
	"slices"
	"strings"
)

// assembleVessel makes a vessel's view anew.
func (b *Book) assembleVessel(l *line) {
	g := b.groups[groupKey{vesselGroup, l.slug}]
	known := g != nil && len(g.nodes) > 0
	state := l.last()
	var says []*Finding
	first := slices.IndexFunc(l.nodes, func(n *node) bool { return n.state == counted })
	if !known && first >= 0 {
		text := "no vessel is called " + l.slug
		if l.slug == unnamed {
			text = "no vessel is named"
		}
		f := l.nodes[first].finding(FoundUnknownVessel, text, sourceVessel, 0)
		f.Vessel = l.slug
		says = append(says, f)
	}
	v := &Vessel{Known: known, Emptied: state.emptied}
	v.Slug = l.slug
	if known {
		v.VesselNamed, v.Bottles = g.vessel, g.bottles
		v.Records = recordsOf(g.shown)
	}
	v.Records = notesFor(v.Records, l.notes, func(m *noteMark) bool { return m.line == l })
	for i, w := range state.waiting { // for wine that did not come that day
		v.Records = append(v.Records, w.rec)
		if text := emptySays(w, l.slug); text != "" {
			f := w.finding(FoundEmptyVessel, text, sourceVessel, i+1)
			f.Vessel = l.slug
			says = append(says, f)
		}
	}
	for _, a := range l.parcels {
		v.Parcels = append(v.Parcels, a.view)
		if state.holds != nil && a.id == state.holds.parcel.ID {
			v.Holds = a.view
		}
	}
	b.retell(&l.trouble, says)
	if !known && first < 0 || b.unborn(v.Records, len(v.Parcels)) {
		v = nil
	}
	b.todo.vessels = append(b.todo.vessels, replaced[Vessel]{l.view, v})
	l.view = v
	if known || first >= 0 {
		return
	}
	if len(l.nodes) == 0 && len(l.parcels) == 0 {
		delete(b.lines, l.slug)
	}
}

func recordsOf(nodes []*node) []*Record {
	out := make([]*Record, len(nodes))
	for i, n := range nodes {
		out[i] = n.rec
	}
	return out
}

// unborn is what is only described after the moment asked for, and was not named
// by anything before it.
func (b *Book) unborn(about []*Record, parcels int) bool {
	return !b.o.AsOf.IsZero() && parcels == 0 && len(about) > 0 && !slices.ContainsFunc(about, (*Record).Counts)
}

// assembleLot makes a lot's view anew.
func (b *Book) assembleLot(l *lotAccount) {
	g := b.groups[groupKey{lotGroup, l.slug}]
	known := g != nil && len(g.nodes) > 0
	asking := b.asking[l.slug]
	var says []*Finding
	if !known && len(asking) > 0 {
		text := "no lot is called " + l.slug
		if l.slug == unnamed {
			text = "it is not written of which lot this wine is"
		}
		f := asking[0].finding(FoundUnknownLot, text, sourceLot, 0)
		f.Lot = l.slug
		says = append(says, f)
	}
	v := &Lot{}
	v.Slug = l.slug
	if known {
		v.LotStarted = g.lot
		v.Records = recordsOf(g.shown)
	}
	v.Records = notesFor(v.Records, l.notes, func(m *noteMark) bool { return m.where == withLot && m.name == l.slug })
	for _, n := range l.notes {
		for i := range n.run.rare.notes {
			if m := &n.run.rare.notes[i]; m.where == withLot && m.name == l.slug {
				v.Fruit += m.fruit
			}
		}
	}
	for _, a := range l.parcels {
		v.Parcels = append(v.Parcels, a.view)
	}
	b.retell(&l.trouble, says)
	if !known && len(asking) == 0 || b.unborn(v.Records, len(v.Parcels)) {
		v = nil
	}
	switch {
	case v != nil:
		b.lotViews.insert(v)
	case l.view != nil:
		b.lotViews.remove(l.view)
	}
	l.view = v
}

// assembleInstrument makes an instrument's view anew.
func (b *Book) assembleInstrument(i *instrumentAccount) {
	g := b.groups[groupKey{instrumentGroup, i.slug}]
	known := g != nil && len(g.nodes) > 0
	v := &Instrument{Known: known}
	v.Slug = i.slug
	if known {
		v.InstrumentNamed = g.instrument
		v.Records = recordsOf(g.shown)
	}
	v.Records = notesFor(v.Records, i.notes, func(m *noteMark) bool { return m.where == withInstrument && m.name == i.slug })
	if len(v.Records) == 0 || b.unborn(v.Records, 0) {
		v = nil
	}
	b.todo.instrumentViews = append(b.todo.instrumentViews, replaced[Instrument]{i.view, v})
	i.view = v
}

// A replaced view is one that takes the place of another; either may be nil.
type replaced[T any] struct{ old, new *T }

// replaceViews makes a sorted list anew with some views replaced.
func replaceViews[T any](list []*T, changes []replaced[T], order func(a, b *T) int) []*T {
	if len(changes) == 0 {
		return list
	}
	out := append(make([]*T, 0, len(list)+len(changes)), list...)
	if len(changes) > 8+len(list)/8 { // many at once: sort instead
		gone := make(map[*T]bool, len(changes))
		for _, c := range changes {
			gone[c.old] = true
		}
		out = slices.DeleteFunc(out, func(v *T) bool { return gone[v] })
		for _, c := range changes {
			if c.new != nil {
				out = append(out, c.new)
			}
		}
		slices.SortFunc(out, order)
		return out
	}
	for _, c := range changes {
		if c.old != nil {
			if i, ok := slices.BinarySearchFunc(out, c.old, order); ok {
				if c.new != nil && order(c.old, c.new) == 0 {
					out[i] = c.new
					continue
				}
				out = slices.Delete(out, i, i+1)
			}
		}
		if c.new != nil {
			i, _ := slices.BinarySearchFunc(out, c.new, order)
			out = slices.Insert(out, i, c.new)
		}
	}
	return out
}

func byWalk(a, b *Vessel) int {
	return cmp.Or(cmp.Compare(walk(a), walk(b)), strings.Compare(a.Slug, b.Slug))
}

func byVesselSlug(a, b *Vessel) int { return strings.Compare(a.Slug, b.Slug) }

func byLotSlug(a, b *Lot) int { return strings.Compare(a.Slug, b.Slug) }

func byInstrumentSlug(a, b *Instrument) int { return strings.Compare(a.Slug, b.Slug) }

// walk puts vessels without a stated place in the walk last, bottles after them.
func walk(v *Vessel) int {
	switch {
	case v.Walk > 0:
		return v.Walk
	case v.Bottles:
		return 1<<30 + 1
	}
	return 1 << 30
}

// publish hands out a new state.
func (b *Book) publish() {
	old := b.state
	s := &State{Now: b.o.Now, AsOf: b.o.AsOf, names: b.names, Stores: old.Stores,
		Lots:        b.lotViews.share(),
		Vessels:     replaceViews(old.Vessels, b.todo.vessels, byWalk),
		bySlug:      replaceViews(old.bySlug, b.todo.vessels, byVesselSlug),
		Instruments: replaceViews(old.Instruments, b.todo.instrumentViews, byInstrumentSlug),
		Parcels:     b.parcels.share(), parcelsByID: b.parcelsByID.share(), Records: b.records.share(), recordsByID: b.recordsByID.share(),
		Transfers: b.transfers.share(), Findings: b.findings.share()}
	if b.todo.stores {
		s.Stores = recordsOf(b.stores)
	}
	b.todo.vessels, b.todo.instrumentViews, b.todo.stores = nil, nil, false
	b.state = s
}

// State is the cellar by all that the book holds. It stays as it is while the book
// goes on.
func (b *Book) State() *State { return b.state }
