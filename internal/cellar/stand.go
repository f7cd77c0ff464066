package cellar

import (
	"container/heap"
	"slices"
)

// settleNames works out anew what things are called and are, and marks what
// depends on it.
func (b *Book) settleNames() {
	for _, n := range b.todo.restanding {
		key, ok := describes(n.rec.Body)
		if !ok {
			continue
		}
		g := b.groups[key]
		if g == nil {
			g = &group{groupKey: key}
			b.groups[key] = g
		}
		if was := len(g.nodes); n.rec.Other || len(n.rec.Struck) > 0 {
			g.nodes = removeNode(g.nodes, n)
			b.todo.groups[g] = b.todo.groups[g] || len(g.nodes) != was
		} else {
			g.nodes = insertNode(g.nodes, n)
			b.todo.groups[g] = true
		}
	}
	if len(b.todo.groups) == 0 {
		return
	}
	b.names = b.names.clone()
	renamed := map[groupKind]bool{}
	for g := range b.todo.groups {
		b.settleGroup(g, renamed)
	}
	if renamed[lotGroup] {
		b.renameLots()
	}
	if renamed[vesselGroup] {
		b.renameVessels()
	}
}

func (b *Book) settleGroup(g *group, renamed map[groupKind]bool) {
	old, was := *g, slices.Clone(g.was())
	g.settle()
	b.retell(&old.trouble, g.trouble)
	known := len(g.nodes) > 0
	switch g.kind {
	case lotGroup:
		_, before := b.names.lots[g.slug]
		renamed[lotGroup] = renamed[lotGroup] || before != known || !slices.Equal(was, g.lot.Was)
		if known {
			lot := g.lot
			b.names.lots[g.slug] = &lot
		} else {
			delete(b.names.lots, g.slug)
		}
		if before != known || old.lot.Colour != g.lot.Colour || old.lot.Malolactic != g.lot.Malolactic {
			b.reask(g.slug)
		}
		b.todo.lots[b.lot(g.slug)] = true
		b.todo.change.lots = append(b.todo.change.lots, g.slug)
	case vesselGroup:
		capacity, before := b.names.capacities[g.slug]
		renamed[vesselGroup] = renamed[vesselGroup] || before != known || !slices.Equal(was, g.vessel.Was)
		if known {
			b.names.capacities[g.slug] = g.capacity()
		} else {
			delete(b.names.capacities, g.slug)
		}
		l := b.line(g.slug)
		if capacity != b.names.capacities[g.slug] {
			for _, n := range l.nodes {
				b.todo.dirty.push(n)
			}
		}
		b.todo.lines[l] = true
		b.todo.change.vessels = append(b.todo.change.vessels, g.slug)
	case instrumentGroup:
		b.todo.instruments[b.instrument(g.slug)] = true
		b.todo.change.Instruments = true
	}
}

// reask has everything reckoned again that depends on a lot.
func (b *Book) reask(slug string) {
	for _, n := range b.asking[slug] {
		b.todo.dirty.push(n)
	}
}

// renameLots works out which earlier names mean which lots now.
func (b *Book) renameLots() {
	old := b.names.lotNow
	b.names.lotNow = earlier(b.groups, lotGroup)
	for name := range union(old, b.names.lotNow) {
		if old[name] != b.names.lotNow[name] {
			b.reask(name)
			b.reask(old[name])
		}
	}
}

// renameVessels does so for vessels, and puts entries that use the name where they
// belong now.
func (b *Book) renameVessels() {
	old := b.names.vesselNow
	b.names.vesselNow = earlier(b.groups, vesselGroup)
	moved := map[string]bool{}
	for name := range union(old, b.names.vesselNow) {
		if old[name] != b.names.vesselNow[name] {
			moved[name], moved[old[name]] = true, true
		}
	}
	// A vessel that is described from now on takes its own name back.
	for g := range b.todo.groups {
		if g.kind == vesselGroup {
			moved[g.slug] = true
			moved[old[g.slug]] = true
		}
	}
	for slug := range moved {
		if l := b.lines[slug]; l != nil {
			b.todo.restanding = append(b.todo.restanding, l.nodes...)
		}
	}
}

func union(a, b map[string]string) map[string]bool {
	out := make(map[string]bool, len(a)+len(b))
	for k := range a {
		out[k] = true
	}
	for k := range b {
		out[k] = true
	}
	return out
}

// line is the life of a vessel, by its short name.
func (b *Book) line(slug string) *line {
	l := b.lines[slug]
	if l == nil {
		l = &line{slug: slug}
		b.lines[slug] = l
	}
	return l
}

// standingOf is how a node is to be reckoned.
func standingOf(r *Record) standing {
	switch {
	case r.Other || r.Beyond || r.Body == nil:
		return idle
	case len(r.Struck) == 0:
		return counted
	}
	if b, ok := r.Body.(Reading); ok && b.Vessel != "" && !b.Control {
		return ghostly
	}
	return idle
}

// stand puts nodes into the lines of their vessels, or takes them out.
func (b *Book) stand() {
	for _, n := range b.todo.restanding {
		to := standingOf(n.rec)
		var lines []*line
		if to != idle {
			for _, raw := range n.raw {
				if l := b.line(b.names.vessel(raw)); !slices.Contains(lines, l) {
					lines = append(lines, l)
				}
			}
		}
		if to == n.state && slices.Equal(lines, n.lines) && (n.run != nil || to == idle || n.queued) {
			continue
		}
		b.unplace(n)
		n.state, n.lines = to, lines
		if to == idle {
			continue
		}
		for _, l := range lines {
			l.nodes = insertNode(l.nodes, n)
			b.todo.lines[l] = true
			b.pushNext(l, n) // it stood on what was before
		}
		b.todo.dirty.push(n)
	}
	for _, n := range b.todo.moot {
		b.retell(&n.trouble, b.envelope(n))
	}
	for _, n := range b.todo.restanding {
		b.retell(&n.trouble, b.envelope(n))
	}
}

// unplace takes a node out of where it was reckoned.
func (b *Book) unplace(n *node) {
	if n.state == idle {
		return
	}
	for _, l := range n.lines {
		b.pushNext(l, n)
		l.nodes = removeNode(l.nodes, n)
		l.hint = 0
		b.todo.lines[l] = true
	}
	b.withdraw(n)
	n.run, n.state, n.lines = nil, idle, nil
}

// pushNext has the node after n in a line reckoned again.
func (b *Book) pushNext(l *line, n *node) {
	if i, ok := l.place(n); ok && i+1 < len(l.nodes) {
		b.todo.dirty.push(l.nodes[i+1])
	}
}

// reckon makes the runs of all that is to be reckoned, in order. Where a vessel is
// then as it was, what follows there stands.
func (b *Book) reckon() {
	for {
		n := b.todo.dirty.pop()
		if n == nil {
			return
		}
		if n.state == idle {
			continue
		}
		old := n.run
		s := step{names: b.names, node: n, actor: n, r: n.record()}
		s.start()
		if n.state == ghostly {
			s.haunt()
		} else {
			s.reckon()
		}
		b.todo.change.Reckoned++
		for i := range s.run.slots {
			slot := &s.run.slots[i]
			if old != nil {
				if was := old.after(slot.line); was.same(slot.now) {
					slot.now = was
					continue
				}
				b.pushNext(slot.line, n)
			}
			if slot.place+1 == len(slot.line.nodes) {
				b.todo.lines[slot.line] = true // what the vessel is like now changed
			}
		}
		if old != nil {
			b.withdraw(n)
		}
		n.run = s.run
		b.enter(n)
	}
}

// start lays out the vessels of the step as they were before it.
func (s *step) start() {
	s.run = &run{}
	s.run.slots, s.run.touches = s.run.slot1[:0], s.run.touch1[:0]
	for _, l := range s.node.lines {
		i, _ := l.place(s.node)
		l.hint = i + 1
		s.run.slots = append(s.run.slots, slot{l, l.reach(i), i})
	}
	if len(s.node.lines) <= len(s.fresh1) {
		s.fresh = s.fresh1[:len(s.node.lines)]
	} else {
		s.fresh = make([]bool, len(s.node.lines))
	}
}

// A queue hands out nodes in order, each once. Most come in order and stand in a
// row; the others wait in a heap.
type queue struct {
	row  []*node
	head int
	heap nodeHeap
}

func (q *queue) push(n *node) {
	if n.queued || n.state == idle {
		return
	}
	n.queued = true
	if k := len(q.row); k == q.head || sequence(q.row[k-1], n) < 0 {
		q.row = append(q.row, n)
		return
	}
	heap.Push(&q.heap, n)
}

// pop is the first node; nil if there is none.
func (q *queue) pop() (n *node) {
	switch {
	case q.head < len(q.row) && (len(q.heap) == 0 || sequence(q.row[q.head], q.heap[0]) < 0):
		n = q.row[q.head]
		q.row[q.head] = nil
		q.head++
	case len(q.heap) > 0:
		n = heap.Pop(&q.heap).(*node)
	default:
		return nil
	}
	n.queued = false
	return n
}

type nodeHeap []*node

func (h nodeHeap) Len() int           { return len(h) }
func (h nodeHeap) Less(i, j int) bool { return sequence(h[i], h[j]) < 0 }
func (h nodeHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *nodeHeap) Push(n any)        { *h = append(*h, n.(*node)) }
func (h *nodeHeap) Pop() any {
	old := *h
	n := old[len(old)-1]
	old[len(old)-1] = nil
	*h = old[:len(old)-1]
	return n
}
