package cellar

import (
	"cmp"
	"time"

	"elevage/science/quantity"
)

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

// A Transfer is wine that went from one parcel to another, or through a door. Of
// the transfers of one entry, those that come Ahead are to be reckoned first; then
// everything leaves at once, and then everything arrives.
type Transfer struct {
	At    time.Time
	Entry ID
	From  ParcelID // "" if it came through Door
	To    ParcelID // "" if it left through Door
	Door  string   // of the Doors or Losses; "" between parcels
	Ahead bool

	Volume quantity.Volume
	// Share is what part of all that was dissolved in From went along: less than
	// its share of the volume, or 0, where wine evaporates or its volume is only put
	// right.
	Share   float64
	Amounts []Amount // of what was added that went along

	by   *node
	turn int
}

// inTurn is the order of transfers.
func inTurn(a, b *Transfer) int { return cmp.Or(sequence(a.by, b.by), cmp.Compare(a.turn, b.turn)) }
