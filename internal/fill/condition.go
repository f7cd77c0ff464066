package fill

import (
	"fmt"
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// A Condition is how a vessel stands at a moment.
type Condition struct {
	Vessel *cellar.Vessel
	Holds  *cellar.Parcel // nil when empty
	// Air is what is above the wine, less a gap that was written down for the vessel.
	// Room is what it lacks to be full: the usual gap is kept where none was written
	// down. Sized says that the vessel's size is known, without which there is no telling.
	Air   quantity.Volume
	Room  quantity.Volume
	Sized bool
	Full  bool

	Emptied, Cleaned, Sulfured, Swelled time.Time // when last; zero if never written down
	// Dirty says that it held something since it was cleaned last.
	Dirty bool
	Says  string // in words: "empty since 3 November, not cleaned since"
}

// fullWithin is the room, as a share of the size, up to which a vessel passes for
// full where no gap was stated. A choice of this program, no fact about wine: a
// carboy filled to 2 or 3 cm under its stopper lacks about so much.
const fullWithin = 0.02

// fullToTheEye is less than the tenth of a litre to which rooms are written.
const fullToTheEye = quantity.Volume(0.05)

// Air is what is above the wine in a vessel, less a gap that was written down for it;
// false where its size is not known.
func Air(v *cellar.Vessel) (quantity.Volume, bool) {
	air, sized := v.Ullage()
	if gap, _, err := v.Headgap.Volume(); err == nil {
		air = max(0, air-gap)
	}
	return air, sized
}

// Room is what a vessel lacks to be full: the air above the wine, less the usual gap where
// none was written down. False where its size is not known.
func Room(v *cellar.Vessel) (quantity.Volume, bool) {
	room, sized := Air(v)
	if _, _, err := v.Headgap.Volume(); err != nil && v.Type != "barrel" { // a barrel is filled to the bung
		room = max(0, room-fullWithin*v.Capacity())
	}
	return room, sized
}

// Conditions are those of every vessel that is still there, in the order of a walk.
// Bottles are none.
func Conditions(s *cellar.State, now time.Time) []Condition {
	var out []Condition
	for _, v := range s.Vessels {
		if !v.Bottles && !v.Gone {
			out = append(out, condition(v, now))
		}
	}
	return out
}

func condition(v *cellar.Vessel, now time.Time) Condition {
	c := Condition{Vessel: v, Holds: v.Holds, Emptied: v.Emptied}
	if c.Air, c.Sized = Air(v); c.Sized {
		c.Room, _ = Room(v)
		c.Full = v.Holds != nil && v.Holds.Form != cellar.FormFruit && c.Room < fullToTheEye
	}
	for _, r := range v.Records {
		b, ok := r.Body.(cellar.Care)
		if !ok || !r.Counts() || r.At.After(now) {
			continue
		}
		switch b.What {
		case "cleaned", "steamed":
			c.Cleaned = r.At
		case "sulfured":
			c.Sulfured = r.At
		case "swelled":
			c.Swelled = r.At
		}
	}
	c.Dirty = v.Holds == nil && !c.Emptied.IsZero() && !c.Cleaned.After(c.Emptied)
	c.Says = c.words(now)
	return c
}

func (c *Condition) words(now time.Time) string {
	day := func(t time.Time) string { return t.Format("2 January 2006") }
	switch {
	case c.Holds != nil && c.Holds.Form == cellar.FormFruit:
		return "fruit waits in it"
	case c.Holds != nil && !c.Sized:
		return fmt.Sprintf("holds %.1f L; its size is not written down", c.Holds.Volume.Litres())
	case c.Full:
		return fmt.Sprintf("full, %.1f L", c.Holds.Volume.Litres())
	case c.Holds != nil:
		return fmt.Sprintf("holds %.1f L and lacks %.1f L", c.Holds.Volume.Litres(), c.Room.Litres())
	}
	says := "empty"
	if !c.Emptied.IsZero() {
		says += " since " + day(c.Emptied)
	}
	switch {
	case c.Dirty:
		says += ", not cleaned since"
	case !c.Cleaned.IsZero():
		says += ", cleaned " + day(c.Cleaned)
	}
	if !c.Sulfured.IsZero() && c.Sulfured.After(c.Emptied) {
		says += ", sulfured " + day(c.Sulfured)
		if d := now.Sub(c.Sulfured); d > sulfurLasts && c.Vessel.Type == "barrel" {
			says += fmt.Sprintf(", %d weeks ago: due again", int(d.Hours()/24/7))
		}
	} else if c.Vessel.Type == "barrel" && !c.Dirty && !c.Emptied.IsZero() {
		says += ", not sulfured since it was emptied"
	}
	return says
}

// sulfurLasts is how long burned sulfur keeps an empty barrel: repeated every 4 to 6
// weeks (common practice, no source).
const sulfurLasts = 6 * 7 * 24 * time.Hour
