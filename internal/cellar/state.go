package cellar

import (
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

	Lots        []*Lot        // by short name
	Vessels     []*Vessel     // in the order of a walk: Walk, then short name
	Instruments []*Instrument // by short name
	Parcels     []*Parcel     // by beginning
	Stores      []*Record     // purchases, in time
	Records     []*Record     // every entry, in the order in which they are reckoned
	Passages    []Passage     // wine through the cellar's doors, in time
	Findings    []Finding     // in the order of the entries they are about

	lots        map[string]*Lot // by every name that is valid
	vessels     map[string]*Vessel
	instruments map[string]*Instrument
	parcels     map[ParcelID]*Parcel
	records     map[ID]*Record
}

// Lot finds a lot by its short name, an earlier short name included; nil if there is none.
func (s *State) Lot(name string) *Lot { return s.lots[strings.ToLower(name)] }

// Vessel finds a vessel by its short name; nil if there is none.
func (s *State) Vessel(name string) *Vessel { return s.vessels[strings.ToLower(name)] }

// Instrument finds an instrument by its short name; nil if there is none.
func (s *State) Instrument(name string) *Instrument { return s.instruments[strings.ToLower(name)] }

// Parcel finds a parcel by its id; nil if there is none.
func (s *State) Parcel(id ParcelID) *Parcel { return s.parcels[id] }

// In is the parcel that a vessel holds; nil if it is empty or unknown.
func (s *State) In(vessel string) *Parcel {
	if v := s.Vessel(vessel); v != nil {
		return v.Holds
	}
	return nil
}

// Record finds an entry with what became of it; nil if there is none.
func (s *State) Record(id ID) *Record { return s.records[id] }

// FindingsAbout are the findings tied to an entry.
func (s *State) FindingsAbout(id ID) []Finding {
	var out []Finding
	for _, f := range s.Findings {
		for _, e := range f.Entries {
			if e == id {
				out = append(out, f)
				break
			}
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

// ParcelID names a parcel: the id of the entry that began it, and the vessel.
type ParcelID string

// Forms of what a parcel is.
const (
	FormFruit  = "fruit"  // reckoned by weight
	FormMust   = "must"   // on skins: its volume is not litres of wine
	FormWine   = "wine"   // liquid, juice included
	FormBottle = "bottle" // in bottles
)

// A Parcel is one lot in one vessel over one span of time: what is sampled,
// heated, stirred and believed about.
type Parcel struct {
	ID     ParcelID
	Lot    string // short name
	Vessel string
	Form   string
	Began  time.Time
	Start  ID        // the entry that began it
	End    time.Time // zero while it lasts
	Ender  ID        // the entry that ended it
	Part   string    // fraction of a press it came from

	Volume quantity.Volume // now, 0 when it has ended
	Spread quantity.Volume // of Volume, one standard deviation
	Weight quantity.Mass   // of fruit
	Count  int             // of bottles left

	// Amounts are what was added to the wine that is here now, since it came
	// into the cellar, carried with it through every movement; by substance.
	Amounts []Amount
	// Roots are where the wine that is here now comes from: the parcels that
	// began with fruit, or with wine from outside, and the share of each.
	Roots []Root

	Levels  []Level   // the volume after each change, in time
	Inflows []Inflow  // what came in, in time
	Events  []*Record // what was done to it here, in time

	stage stage // of the wine that is here now
}

// Ended says whether the parcel is over.
func (p *Parcel) Ended() bool { return !p.End.IsZero() }

// AddressedAs is how the parcel is spoken of: the vessel that holds it.
func (p *Parcel) AddressedAs() string { return p.Vessel }

// Amount is how much of a substance was added to the wine that is here.
func (p *Parcel) Amount(substance string) quantity.Mass {
	for _, a := range p.Amounts {
		if a.Substance == substance {
			return a.Mass
		}
	}
	return 0
}

// VolumeAt is the volume at a moment in the parcel's life, and its ±.
func (p *Parcel) VolumeAt(t time.Time) (v, spread quantity.Volume) {
	i := sort.Search(len(p.Levels), func(i int) bool { return p.Levels[i].At.After(t) })
	if i == 0 {
		return 0, 0
	}
	return p.Levels[i-1].Volume, p.Levels[i-1].Spread
}

// An Amount is a mass of a substance.
type Amount struct {
	Substance string
	Mass      quantity.Mass
}

// A Root is a share of a wine by where it comes from: the parcel of fruit, or
// of wine from outside, in which the record of it begins.
type Root struct {
	Parcel ParcelID
	Lot    string
	Share  float64 // of the volume; the shares of a parcel add up to 1
}

// A Level is a parcel's volume from a moment on.
type Level struct {
	At     time.Time
	Entry  ID
	Volume quantity.Volume
	Spread quantity.Volume
}

// An Inflow is wine that came into a parcel.
type Inflow struct {
	At     time.Time
	Entry  ID
	From   ParcelID // "" from outside the cellar or from fruit
	Volume quantity.Volume
	// Share is what part of the parcel, just after, this wine was.
	Share float64
}

// Doors, besides the Losses: how wine, and what was added to it, comes into and
// goes out of the parcels of a cellar. There is no other way, so that what came
// in less what went out is what is there.
const (
	DoorOutside    = "outside"     // came from outside the cellar
	DoorFruit      = "fruit"       // fruit became must or juice
	DoorAddition   = "addition"    // something was added
	DoorRemoval    = "removal"     // left the cellar: drunk, given, poured away
	DoorOpened     = "opened"      // bottles opened
	DoorReanchored = "re-anchored" // a measurement put the record right
	DoorUnknown    = LossUnknown   // out or in, not accounted for
)

// A Passage is wine, or what was added to it, going through a door: in if
// positive, out if negative. Movements between vessels are none.
type Passage struct {
	At      time.Time
	Entry   ID
	Door    string
	Vessel  string // where it came in, or what it came out of; may be empty
	Volume  quantity.Volume
	Amounts []Amount
}

// A FindingCode says what does not add up. The list is closed.
type FindingCode string

// The findings.
const (
	FoundSameID         FindingCode = "same-id"                   // two entries have one id
	FoundFuture         FindingCode = "future"                    // it happens after now
	FoundUnknownKind    FindingCode = "unknown-kind"              // from a newer program
	FoundNewerSchema    FindingCode = "newer-schema"              // from a newer program, read as far as understood
	FoundUnreadable     FindingCode = "unreadable"                // the body is not what its kind says
	FoundBadFigure      FindingCode = "bad-figure"                // a numeral or unit that cannot be read
	FoundUnknownVessel  FindingCode = "unknown-vessel"            // no entry describes it
	FoundUnknownLot     FindingCode = "unknown-lot"               // no entry describes it
	FoundTwoNames       FindingCode = "two-of-one-name"           // two devices gave one name to two things
	FoundEmptyVessel    FindingCode = "empty-vessel"              // an act on a vessel that held nothing
	FoundOverdrawn      FindingCode = "overdrawn"                 // more taken out than was there
	FoundOverfull       FindingCode = "overfull"                  // more put in than it holds
	FoundUnbalanced     FindingCode = "unbalanced"                // out, in and losses do not add up
	FoundMissingVolume  FindingCode = "missing-volume"            // it had to be guessed
	FoundMixed          FindingCode = "lots-mixed"                // wine joined another lot
	FoundVolumeOff      FindingCode = "volume-off"                // a dip is off by more than its ±
	FoundDoseVolume     FindingCode = "dose-volume"               // a dose was reckoned for another volume
	FoundSO2Early       FindingCode = "so2-before-malolactic-end" // a wanted conversion was not over
	FoundCultureSulfite FindingCode = "culture-into-sulfited"     // more SO2 was given than a culture bears
	FoundSorbate        FindingCode = "sorbate-with-bacteria"     // they make a taint of it
	FoundStrikeUnknown  FindingCode = "strike-of-unknown"         // what it strikes has not arrived
	FoundStrikeCircle   FindingCode = "strikes-in-circle"         // strikes that strike each other
	FoundBothCount      FindingCode = "replaced-not-struck"       // a correction, and what it corrects still counts
	FoundOverOpened     FindingCode = "more-opened-than-filled"   // bottles
)

// A Finding is something that does not add up, to be settled by the person. It
// changes nothing by itself.
type Finding struct {
	Code    FindingCode
	Entries []ID // what it is about; the first is the one to show it next to
	Vessel  string
	Lot     string
	Parcel  ParcelID
	Says    string // a sentence with its figures
	// Note says that it only informs: nothing needs to be settled.
	Note bool
	at   time.Time
}
