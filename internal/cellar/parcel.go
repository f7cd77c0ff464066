package cellar

import (
	"sort"
	"time"

	"elevage/science/quantity"
)

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
	from  *node // in which it began; for a Book only
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

// At is what the parcel was at a moment: zero before it began and after it ended.
func (p *Parcel) At(t time.Time) Level {
	i := sort.Search(len(p.Levels), func(i int) bool { return p.Levels[i].At.After(t) })
	if i == 0 {
		return Level{}
	}
	return p.Levels[i-1]
}

// VolumeAt is the volume at a moment in the parcel's life, and its ±.
func (p *Parcel) VolumeAt(t time.Time) (v, spread quantity.Volume) {
	l := p.At(t)
	return l.Volume, l.Spread
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

// A Level is what a parcel is from a moment on.
type Level struct {
	At     time.Time
	Entry  ID
	Volume quantity.Volume
	Spread quantity.Volume // of Volume, one standard deviation
	Weight quantity.Mass   // of fruit
	Count  int             // of bottles
	// Amounts and Roots are as in Parcel. They are shared: not to be changed.
	Amounts []Amount
	Roots   []Root
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
