package cellar

import (
	"slices"
	"sort"
	"strings"
	"time"

	"elevage/science/quantity"
)

// State is a cellar at one moment, computed from its entries. It is not to be
// changed by its reader, and may be read by many at once. Every slice has a
// fixed order: the same entries give the same State, in whatever order they came.
type State struct {
	// Now is the moment that entries were held against to find those of the
	// future; AsOf is the moment up to which they were counted, zero for all.
	Now, AsOf time.Time

	Lots        List[*Lot]      // by short name
	Vessels     []*Vessel       // in the order of a walk: Walk, then short name
	Instruments []*Instrument   // by short name
	Parcels     List[*Parcel]   // by beginning
	Stores      []*Record       // purchases, in time
	Records     List[*Record]   // every entry, in time
	Transfers   List[*Transfer] // of wine, between parcels and through the cellar's doors, in time
	Findings    List[*Finding]  // in the order of the entries they are about

	names       *names
	bySlug      []*Vessel // by short name
	parcelsByID List[*Parcel]
	recordsByID List[*Record]
}

// Lot finds a lot by its short name, an earlier short name included; nil if there is none.
func (s *State) Lot(name string) *Lot {
	slug, _ := s.names.lot(name)
	for l := range s.Lots.from(func(l *Lot) bool { return l.Slug >= slug }) {
		if l.Slug == slug {
			return l
		}
		break
	}
	return nil
}

// Vessel finds a vessel by its short name, an earlier one included; nil if there is none.
func (s *State) Vessel(name string) *Vessel {
	return lookUp(s.bySlug, s.names.vessel(name), func(v *Vessel) string { return v.Slug })
}

// FreeName is a name that no vessel and no bottling has: the one given, or with a number.
func (s *State) FreeName(name string) string {
	free := name
	for n := 2; s.Vessel(free) != nil; n++ {
		free = name + "-" + itoa(n)
	}
	return free
}

// Instrument finds an instrument by its short name; nil if there is none.
func (s *State) Instrument(name string) *Instrument {
	return lookUp(s.Instruments, strings.ToLower(name), func(i *Instrument) string { return i.Slug })
}

// lookUp finds the one with a name in a list sorted by it; nil if there is none.
func lookUp[T any](list []*T, name string, nameOf func(*T) string) *T {
	i, ok := slices.BinarySearchFunc(list, name, func(x *T, name string) int { return strings.Compare(nameOf(x), name) })
	if !ok {
		return nil
	}
	return list[i]
}

// Parcel finds a parcel by its id; nil if there is none.
func (s *State) Parcel(id ParcelID) *Parcel {
	for p := range s.parcelsByID.from(func(p *Parcel) bool { return p.ID >= id }) {
		if p.ID == id {
			return p
		}
		break
	}
	return nil
}

// In is the parcel that a vessel holds; nil if it is empty or unknown.
func (s *State) In(vessel string) *Parcel {
	if v := s.Vessel(vessel); v != nil {
		return v.Holds
	}
	return nil
}

// Record finds an entry with what became of it; nil if there is none.
func (s *State) Record(id ID) *Record {
	for r := range s.recordsByID.from(func(r *Record) bool { return r.Entry.ID >= id }) {
		if r.Entry.ID == id {
			return r
		}
		break
	}
	return nil
}

// FindingsAbout are the findings tied to an entry.
func (s *State) FindingsAbout(id ID) []*Finding {
	var out []*Finding
	for _, f := range s.Findings.All() {
		if slices.Contains(f.Entries, id) {
			out = append(out, f)
		}
	}
	return out
}

// A Record is an entry with what the fold made of it.
type Record struct {
	Entry Entry
	Body  Body      // nil for unknown kinds and bodies that cannot be read
	At    time.Time // the moment reckoned with; for a reading, when the sample was drawn
	// Struck are the strikes in effect on it, in order; none if it stands.
	Struck []ID
	// Beyond says that it is left out because it lies after State.AsOf.
	Beyond bool
	// Other is set on an entry whose id another, which counts, has too.
	Other bool
	// Parcels are those it touched, in the order in which it names their vessels.
	Parcels []ParcelID
}

// Counts says whether the entry is part of the state.
func (r *Record) Counts() bool { return len(r.Struck) == 0 && !r.Beyond && !r.Other }

// Vessels are the names of the vessels that the entry speaks of, also when it is
// struck and touched none.
func (r *Record) Vessels() []string {
	if r.Body == nil {
		return nil
	}
	return r.Body.vessels(nil)
}

// A Lot is a wine with a name and a history.
type Lot struct {
	LotStarted               // as it was described last
	Records    []*Record     // what describes it, and what was done to it in no vessel
	Fruit      quantity.Mass // received in all
	Parcels    []*Parcel     // all it ever had, by beginning
}

// Title is the lot's name for people.
func (l *Lot) Title() string {
	if l.Name != "" {
		return l.Name
	}
	return l.Slug
}

// Holds are the parcels that the lot has now, by vessel.
func (l *Lot) Holds() []*Parcel {
	var out []*Parcel
	for _, p := range l.Parcels {
		if !p.Ended() {
			out = append(out, p)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Vessel < out[j].Vessel })
	return out
}

// Volume is what the lot holds now in all its vessels, and its ± as one standard deviation.
func (l *Lot) Volume() (v, spread quantity.Volume) {
	var variance float64
	for _, p := range l.Holds() {
		v += p.Volume
		variance += float64(p.Spread) * float64(p.Spread)
	}
	return v, quantity.Volume(sqrt(variance))
}

// A Vessel is a place for wine.
type Vessel struct {
	VesselNamed           // as it was described last
	Known       bool      // false if it is only named by entries, not described
	Bottles     bool      // it stands for the bottles of a bottling
	Holds       *Parcel   // nil when empty
	Parcels     []*Parcel // all it ever held, by beginning
	Records     []*Record // what describes it and what was done to it
	Emptied     time.Time // when it was last emptied; zero if never
}

// Title is the vessel's name for people.
func (v *Vessel) Title() string {
	if v.Name != "" {
		return v.Name
	}
	return v.Slug
}

// Capacity is what the vessel holds when full; 0 if not known.
func (v *Vessel) Capacity() quantity.Volume {
	size, _, err := v.Size.Volume()
	if err != nil {
		return 0
	}
	return size
}

// Ullage is the room above the wine; ok is false if the size is not known.
func (v *Vessel) Ullage() (room quantity.Volume, ok bool) {
	size := v.Capacity()
	if size == 0 {
		return 0, false
	}
	if v.Holds == nil {
		return size, true
	}
	return max(0, size-v.Holds.Volume), true
}

// An Instrument measures.
type Instrument struct {
	InstrumentNamed
	Known   bool
	Records []*Record // what describes it, its checks and calibrations
}
