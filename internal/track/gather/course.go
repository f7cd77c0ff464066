package gather

import (
	"time"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/track"
)

// Courses are beliefs about conversions as what wines are made of is reckoned with:
// malic acid day by day up to the day of each belief, where it is what the belief says
// now. Days begin at midnight in the zone.
func Courses(beliefs map[cellar.ParcelID]*track.Belief, zone *time.Location) map[cellar.ParcelID]compose.Course {
	out := make(map[cellar.ParcelID]compose.Course, len(beliefs))
	for id, b := range beliefs {
		if b != nil {
			out[id] = courseOf(b, zone)
		}
	}
	return out
}

// ninety is the width of the central 90 % of a normal distribution in standard deviations.
const ninety = 3.29

func courseOf(b *track.Belief, zone *time.Location) compose.Course {
	begins := func(d track.Date) time.Time {
		y, m, day := d.Date()
		return time.Date(y, m, day, 0, 0, 0, 0, zone)
	}
	var c compose.Course
	for _, f := range b.Fan {
		if f.On.Before(b.At.Time) {
			c = append(c, compose.Believing{At: begins(f.On), Malic: f.Q50, SD: (f.Q95 - f.Q05) / ninety})
		}
	}
	return append(c, compose.Believing{At: begins(b.At), Malic: b.Malic.Q50, SD: (b.Malic.Q95 - b.Malic.Q05) / ninety})
}
