package cellar

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// names is what lots and vessels are called and are. A name is valid for the whole
// of a record, also for entries that come before the one that gives it. It is
// never changed once a state holds it.
type names struct {
	lots       map[string]*LotStarted // as described last, by short name
	capacities map[string]float64     // of described vessels, L; 0 if not known
	lotNow     map[string]string      // short names by earlier names
	vesselNow  map[string]string
}

func newNames() *names {
	return &names{lots: map[string]*LotStarted{}, capacities: map[string]float64{}, lotNow: map[string]string{}, vesselNow: map[string]string{}}
}

func (n *names) clone() *names {
	return &names{maps.Clone(n.lots), maps.Clone(n.capacities), maps.Clone(n.lotNow), maps.Clone(n.vesselNow)}
}

// unnamed stands for a name that an entry leaves out.
const unnamed = "unnamed"

// vessel is the short name of the vessel that a name means.
func (n *names) vessel(name string) string {
	slug := cmp.Or(strings.ToLower(name), unnamed)
	if _, ok := n.capacities[slug]; ok {
		return slug
	}
	return cmp.Or(n.vesselNow[slug], slug)
}

func (n *names) capacity(slug string) float64 { return n.capacities[slug] }

// lot is the short name of the lot that a name means, and what it was described as.
func (n *names) lot(name string) (string, *LotStarted) {
	slug := cmp.Or(strings.ToLower(name), unnamed)
	if l := n.lots[slug]; l != nil {
		return slug, l
	}
	if now := n.lotNow[slug]; now != "" {
		return now, n.lots[now]
	}
	return slug, &LotStarted{Slug: slug}
}

// groupKind is a kind of thing that is described.
type groupKind uint8

const (
	lotGroup groupKind = iota
	vesselGroup
	instrumentGroup
)

type groupKey struct {
	kind groupKind
	slug string
}

// A group is every entry that describes one thing, and what it is by them.
type group struct {
	groupKey
	nodes   []*node
	shown   []*node // those that are listed with the thing
	trouble []*Finding

	lot        LotStarted
	vessel     VesselNamed
	bottles    bool
	instrument InstrumentNamed
}

// describes is the thing that an entry describes.
func describes(b Body) (groupKey, bool) {
	switch b := b.(type) {
	case LotStarted:
		return groupKey{lotGroup, strings.ToLower(b.Slug)}, true
	case VesselNamed:
		return groupKey{vesselGroup, strings.ToLower(b.Slug)}, true
	case Bottling:
		return groupKey{vesselGroup, strings.ToLower(b.Slug)}, true
	case InstrumentNamed:
		return groupKey{instrumentGroup, strings.ToLower(b.Slug)}, true
	}
	return groupKey{}, false
}

// settle works out what the thing is from all that describes it.
func (g *group) settle() {
	g.trouble, g.shown = nil, nil
	g.lot, g.vessel, g.bottles, g.instrument = LotStarted{}, VesselNamed{}, false, InstrumentNamed{}
	for _, n := range g.nodes {
		switch b := n.rec.Body.(type) {
		case LotStarted:
			b.Slug = g.slug
			if g.comes(n, "lot", b.Anew) {
				b.Was = append(slices.Clip(b.Was), g.lot.Was...)
				g.lot = b
			}
		case VesselNamed:
			b.Slug = g.slug
			if g.comes(n, "vessel", b.Anew) {
				b.Was = append(slices.Clip(b.Was), g.vessel.Was...)
				g.vessel = b
			}
		case InstrumentNamed:
			b.Slug = g.slug
			if g.comes(n, "instrument", b.Anew) {
				g.instrument = b
			}
		case Bottling: // the vessel that stands for its bottles
			if len(g.shown) > 0 {
				g.twoNames(n, "bottling or vessel")
				continue
			}
			g.shown = append(g.shown, n)
			g.vessel, g.bottles = VesselNamed{Slug: g.slug, Type: "bottles", Place: b.Place}, true
		}
	}
}

// comes takes in one more description, and says whether it counts: of those that
// lie after the moment asked for, none does if an earlier one is there.
func (g *group) comes(n *node, what string, anew bool) bool {
	first := len(g.shown) == 0
	if !first && !anew {
		g.twoNames(n, what)
	}
	g.shown = append(g.shown, n)
	return first || !n.rec.Beyond || g.shown[0].rec.Beyond || g.kind == instrumentGroup
}

func (g *group) twoNames(n *node, what string) {
	g.trouble = append(g.trouble, &Finding{Code: FoundTwoNames, Entries: []ID{n.rec.Entry.ID, g.shown[0].rec.Entry.ID},
		Says: fmt.Sprintf("there is a %s called %s already: if it is the same one, say that this describes it anew; if not, one of them needs another name", what, g.slug),
		at:   n.at, by: n, source: sourceNames, turn: len(g.trouble)})
}

func (g *group) was() []string {
	if g.kind == lotGroup {
		return g.lot.Was
	}
	return g.vessel.Was
}

// capacity of a described vessel, in L; 0 if not known.
func (g *group) capacity() float64 {
	size, _, err := g.vessel.Size.Volume()
	if err != nil {
		return 0
	}
	return float64(size)
}

// earlier makes earlier names valid, unless something else is called so now. Of
// two things that were called the same, the one described first keeps the name.
func earlier(groups map[groupKey]*group, kind groupKind) map[string]string {
	var with []*group
	for _, g := range groups {
		if g.kind == kind && len(g.nodes) > 0 && len(g.was()) > 0 {
			with = append(with, g)
		}
	}
	slices.SortFunc(with, func(a, b *group) int { return sequence(a.nodes[0], b.nodes[0]) })
	now := map[string]string{}
	for _, g := range with {
		for _, w := range g.was() {
			w = strings.ToLower(w)
			if other := groups[groupKey{kind, w}]; (other == nil || len(other.nodes) == 0) && now[w] == "" {
				now[w] = g.slug
			}
		}
	}
	return now
}
