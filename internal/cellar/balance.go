package cellar

import (
	"slices"
	"strings"
	"time"

	"elevage/science/quantity"
)

// A Scope is what an account is drawn up for: a lot, what one vessel held, or with
// neither the whole cellar.
type Scope struct {
	Lot    string
	Vessel string
}

// holds says whether a parcel is within the scope.
func (s Scope) holds(p *Parcel) bool {
	return (s.Lot == "" || p.Lot == s.Lot) && (s.Vessel == "" || p.Vessel == s.Vessel)
}

// Within returns the test of whether a parcel is within the scope, by names that
// are valid in the state. Without a lot and a vessel every parcel is.
func (s *State) Within(scope Scope) func(ParcelID) bool {
	if l := s.Lot(scope.Lot); scope.Lot != "" && l != nil {
		scope.Lot = l.Slug
	}
	if v := s.Vessel(scope.Vessel); scope.Vessel != "" && v != nil {
		scope.Vessel = v.Slug
	}
	return func(id ParcelID) bool {
		p := s.Parcel(id)
		return p != nil && scope.holds(p)
	}
}

// DoorElsewhere is how wine goes to, or comes from, parcels of this cellar that an
// account is not drawn up for.
const DoorElsewhere = "elsewhere in the cellar"

// Through is what went through one door.
type Through[Q ~float64] struct {
	Door    string
	In, Out Q
}

// A Sheet accounts for one thing over a span of time: what was there, what came and
// went by which door, and what is there.
type Sheet[Q ~float64] struct {
	What    string // "volume", or a substance
	Opening Q
	Doors   []Through[Q] // by name
	Closing Q
}

// Off is by how much the sheet does not close: nothing but rounding.
func (s *Sheet[Q]) Off() Q {
	off := s.Opening - s.Closing
	for _, d := range s.Doors {
		off += d.In - d.Out
	}
	return off
}

// Pass adds what goes through a door: in if positive, out if negative.
func (s *Sheet[Q]) Pass(door string, q Q) {
	i, found := slices.BinarySearchFunc(s.Doors, door, func(t Through[Q], door string) int { return strings.Compare(t.Door, door) })
	if !found {
		if q == 0 {
			return
		}
		s.Doors = slices.Insert(s.Doors, i, Through[Q]{Door: door})
	}
	if q > 0 {
		s.Doors[i].In += q
	} else {
		s.Doors[i].Out -= q
	}
}

// A Balance accounts for the wine of a scope, and for everything that was added to
// it, over a span of time. What happened at From is in the opening, what happened
// at To in the closing.
type Balance struct {
	Scope
	From, To time.Time
	Volume   Sheet[quantity.Volume]
	Added    []Sheet[quantity.Mass] // one for each substance, by name
}

// Balance draws up the account of a scope from one moment to another. What wine is
// made of is accounted for by package compose.
func (s *State) Balance(scope Scope, from, to time.Time) Balance {
	within := s.Within(scope)
	b := Balance{Scope: scope, From: from, To: to, Volume: Sheet[quantity.Volume]{What: "volume"}}
	added := map[string]*Sheet[quantity.Mass]{}
	sheet := func(what string) *Sheet[quantity.Mass] {
		if added[what] == nil {
			added[what] = &Sheet[quantity.Mass]{What: what}
		}
		return added[what]
	}
	for _, p := range s.Parcels.All() {
		if !within(p.ID) {
			continue
		}
		opening, closing := p.At(from), p.At(to)
		b.Volume.Opening += opening.Volume
		b.Volume.Closing += closing.Volume
		for _, a := range opening.Amounts {
			sheet(a.Substance).Opening += a.Mass
		}
		for _, a := range closing.Amounts {
			sheet(a.Substance).Closing += a.Mass
		}
	}
	for t := range s.Transfers.from(func(t *Transfer) bool { return t.At.After(from) }) {
		if t.At.After(to) {
			break
		}
		door, sign := t.Through(within)
		if sign == 0 {
			continue
		}
		b.Volume.Pass(door, quantity.Volume(sign)*t.Volume)
		for _, a := range t.Amounts {
			sheet(a.Substance).Pass(door, quantity.Mass(sign)*a.Mass)
		}
	}
	for _, m := range added {
		b.Added = append(b.Added, *m)
	}
	slices.SortFunc(b.Added, func(x, y Sheet[quantity.Mass]) int { return strings.Compare(x.What, y.What) })
	return b
}

// Through is the door by which a transfer enters (+1) or leaves (-1) a scope; 0 if
// it does neither.
func (t *Transfer) Through(within func(ParcelID) bool) (door string, sign int) {
	out, in := t.From != "" && within(t.From), t.To != "" && within(t.To)
	switch {
	case out == in:
		return "", 0
	case out:
		sign = -1
	default:
		sign = 1
	}
	if t.Door == "" {
		return DoorElsewhere, sign
	}
	return t.Door, sign
}
