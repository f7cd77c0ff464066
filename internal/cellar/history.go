package cellar

import (
	"slices"
	"time"
)

// A Happening is something that was done to the wine that is now in a parcel,
// here or before it came here.
type Happening struct {
	*Record
	// Where it happened: the parcel itself or one that its wine came from.
	Parcel ParcelID
	// Share is what part of the parcel's wine, as it is now, was there: 1 for
	// the parcel's own events and for everything before a plain racking.
	Share float64
}

// History is what happened to the wine of a parcel, in time: its own events
// and those of the parcels that it came from, each up to when it left them. A
// control sample kept back speaks for all wine that was there when it was kept,
// so its readings are in the history of descendants at any time.
func (s *State) History(id ParcelID) []Happening {
	var out []Happening
	seen := make(map[*Record]int)
	s.gather(id, time.Time{}, 1, seen, &out, 0)
	slices.SortStableFunc(out, func(a, b Happening) int { return before(a.Record, b.Record) })
	return out
}

// maxGenerations bounds a history's depth; wine that was moved more often than
// that has a share of nothing left to tell.
const maxGenerations = 200

// leastShare is the share of a wine below which its history is left out.
const leastShare = 1e-3

func (s *State) gather(id ParcelID, until time.Time, share float64, seen map[*Record]int, out *[]Happening, depth int) {
	p := s.Parcel(id)
	if p == nil || depth > maxGenerations || share < leastShare {
		return
	}
	for _, r := range p.Events {
		reading, isReading := r.Body.(Reading)
		control := isReading && reading.Control
		if !until.IsZero() && r.At.After(until) && !control {
			continue
		}
		if i, ok := seen[r]; ok {
			(*out)[i].Share = min(1, (*out)[i].Share+share)
			continue
		}
		seen[r] = len(*out)
		*out = append(*out, Happening{Record: r, Parcel: id, Share: share})
	}
	for i, f := range p.Inflows {
		if f.From == "" || !until.IsZero() && f.At.After(until) {
			continue
		}
		part := share * f.Share
		for _, later := range p.Inflows[i+1:] {
			if later.Entry != f.Entry && (until.IsZero() || !later.At.After(until)) {
				part *= 1 - later.Share // diluted by what came in afterwards
			}
		}
		s.gather(f.From, f.At, part, seen, out, depth+1)
	}
}

// Descendants are the parcels that hold, or held, wine of a parcel, itself
// first, with the share of each that came from it; in time.
func (s *State) Descendants(id ParcelID) []Share {
	if s.Parcel(id) == nil {
		return nil
	}
	shares := map[ParcelID]float64{id: 1}
	out := []Share{{id, 1}}
	for _, p := range s.Parcels.All() { // parents begin before their children
		var from float64
		for i, f := range p.Inflows {
			part := f.Share * shares[f.From]
			for _, later := range p.Inflows[i+1:] {
				if later.Entry != f.Entry {
					part *= 1 - later.Share
				}
			}
			from += part
		}
		if from > 0 && p.ID != id {
			shares[p.ID] = from
			out = append(out, Share{p.ID, from})
		}
	}
	return out
}

// A Share is a part of a parcel's wine.
type Share struct {
	Parcel ParcelID
	Part   float64
}
