package cellar

import (
	"slices"
	"time"
)

// A strike is in effect unless it is itself struck by one in effect; strikes that
// strike each other in a circle have none. A strike holds for the past of its
// target too: it says that the entry should never have been.

// settleStrikes works out anew which strikes are in effect among all that hang
// together with the entry of this id, and what they leave struck.
func (b *Book) settleStrikes(id ID) {
	strikes := b.strikesAround(id)
	circular := circles(strikes)
	inEffect := b.effects(strikes, circular)
	targets := map[ID]bool{id: true}
	for _, n := range strikes {
		targets[n.rec.Body.(Strike).Target] = true
		var says []*Finding
		target := b.first(n.rec.Body.(Strike).Target)
		if circular[n] {
			says = append(says, n.finding(FoundStrikeCircle, "this strike strikes itself by way of others: none of them has effect", sourceStrikes, 0))
		}
		if target == nil {
			says = append(says, n.finding(FoundStrikeUnknown, "what this strikes has not arrived", sourceStrikes, 1))
		}
		b.retell(&n.strikeTrouble, says)
	}
	for t := range targets {
		var struck []ID
		var at time.Time
		for _, s := range b.over[t] {
			if inEffect[s] {
				struck = append(struck, s.rec.Entry.ID)
				if at.IsZero() || s.rec.Entry.Written.Before(at) {
					at = s.rec.Entry.Written
				}
			}
		}
		for _, n := range b.twins(t) {
			b.strike(n, struck, at)
		}
	}
}

// strikesAround are the strikes that hang together with an id: those over it, over
// those, and so on, and what it strikes itself.
func (b *Book) strikesAround(id ID) []*node {
	seen := map[ID]bool{}
	sink := id
	for !seen[sink] { // down to what the last of them strikes
		seen[sink] = true
		n := b.first(sink)
		if n == nil {
			break
		}
		s, ok := n.rec.Body.(Strike)
		if !ok {
			break
		}
		sink = s.Target
	}
	var out []*node
	clear(seen)
	for queue := []ID{sink}; len(queue) > 0; queue = queue[1:] {
		if seen[queue[0]] {
			continue
		}
		seen[queue[0]] = true
		for _, n := range b.over[queue[0]] {
			out = append(out, n)
			queue = append(queue, n.rec.Entry.ID)
		}
	}
	slices.SortFunc(out, sequence)
	return slices.Compact(out)
}

// circles are the strikes that, followed from target to target, come back to
// themselves. Every strike has one target, so each belongs to one circle at most.
func circles(strikes []*node) map[*node]bool {
	by := make(map[ID]*node, len(strikes))
	for _, n := range strikes {
		by[n.rec.Entry.ID] = n
	}
	target := func(n *node) *node { return by[n.rec.Body.(Strike).Target] }
	circular := make(map[*node]bool)
	seen := make(map[*node]*node, len(strikes)) // by the strike from which the walk began
	for _, start := range strikes {
		for n := start; n != nil; n = target(n) {
			if from, ok := seen[n]; ok {
				if from == start { // met on this very walk: n lies on a circle
					for c := n; !circular[c]; c = target(c) {
						circular[c] = true
					}
				}
				break
			}
			seen[n] = start
		}
	}
	return circular
}

// effects tells which strikes are in effect.
func (b *Book) effects(strikes []*node, circular map[*node]bool) map[*node]bool {
	inEffect := make(map[*node]bool, len(strikes))
	settled := make(map[*node]bool, len(strikes))
	var effective func(n *node) bool
	effective = func(n *node) bool {
		if settled[n] || circular[n] {
			return inEffect[n]
		}
		on := true
		for _, s := range b.over[n.rec.Entry.ID] {
			on = on && !effective(s)
		}
		settled[n], inEffect[n] = true, on
		return on
	}
	for _, n := range strikes {
		effective(n)
	}
	return inEffect
}
