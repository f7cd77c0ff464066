package track

import (
	"cmp"
	"slices"
	"time"

	"elevage/science/bayes"
	"elevage/science/quantity"
)

// A Sibling is another parcel of the same wine, with the same bacteria: parted from
// the parcel judged in mid-course, or given its bacteria apart from it. What is
// unknown of bacteria, wine and kit is shared; what is read of one tells of the other.
type Sibling struct {
	Name   string
	Facts  Facts     // its conditions; what was read at its inoculation stands in Own, unless it is the parcel's own too
	Parted time.Time // the two were one wine until then; zero or before inoculation: all along apart
	Shared []Reading // rows that are the parcel's own as well: they tell of its conditions and are not counted again
	Own    []Reading // rows that are not
}

// maxSiblings bounds the cost of a belief, each sibling adding a course: those with
// most to say are taken.
const maxSiblings = 2

// How siblings differ: one standard deviation, all judged (wine divided
// into like vessels goes alike within days, but a barrel may lag by weeks; common practice,
// no source).
const (
	kinActivity = 0.3  // of ln activity
	kinLag      = 0.5  // of ln lag, where bacteria were added apart
	kinPH       = 0.02 // of the wine itself
	kinTA       = 0.1  // g/L
)

// Coordinates of a sibling, from kin.first on.
const (
	kLot = iota
	kLag
	kLock
	kStall
	kAgain
	kWander
)

// A kin is a sibling in the model.
type kin struct {
	course
	Sibling
	parted int // day until which it was one wine with the parcel; 0 for never
	first  int // of its coordinates
	last   int // one past them
}

// telling are the readings that say anything of malic acid.
func (s *Sibling) telling(at time.Time) int {
	n := 0
	for _, r := range s.Own {
		switch r.What {
		case PH, TA, Bubble:
			n += count(!r.On.After(at))
		case Malic, Chromatogram:
			n += 5 * count(!r.On.After(at))
		}
	}
	return n
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// kinOf takes the siblings that are counted and gives them their coordinates.
func (m *model) kinOf(in *Input) {
	var with []Sibling
	for _, s := range in.Siblings {
		start := inoculated(s.Facts, s.Own, in.At)
		if s.telling(in.At) > 0 && !start.After(in.At) && in.At.Sub(start) < 3*365*24*time.Hour {
			with = append(with, s)
		}
	}
	slices.SortStableFunc(with, func(a, b Sibling) int { return cmp.Compare(b.telling(in.At), a.telling(in.At)) })
	for _, s := range with[:min(len(with), maxSiblings)] {
		all := upTo(append(append([]Reading(nil), s.Shared...), s.Own...), in.At)
		slices.SortStableFunc(all, func(a, b Reading) int { return a.On.Compare(b.On) })
		q := &kin{course: newCourse(s.Facts, all, in, nil), Sibling: s, first: m.dim}
		if !s.Parted.IsZero() && q.season.start.Equal(m.season.start) {
			q.parted = min(max(0, m.season.day(midnight(s.Parted))), m.season.now)
		}
		q.Own = upTo(s.Own, in.At)
		m.dim += kWander + 2 + int(float64(q.season.now+1)/m.faults.WanderDays)
		q.last = m.dim
		m.kin = append(m.kin, q)
	}
}

// atKin works out a sibling's course at z, given that of the parcel itself.
func (m *model) atKin(q *kin, z []float64, own *state) state {
	s := *own
	if q.how != m.how {
		s.k = m.priors.Draw(z, q.how)
	}
	s.stop, s.again = z[q.first+kStall], z[q.first+kAgain]
	s.parted, s.before = q.parted, own.stall
	m.fillWander(q.wander, z[q.first+kWander:q.last], nil)
	faster := bayes.Exp(kinActivity * z[q.first+kLot])
	for d := range q.wander {
		if d < q.parted {
			q.wander[d] = m.wander[d]
		} else {
			q.wander[d] *= faster
		}
	}
	if q.parted == 0 {
		s.k.Lag *= quantity.Days(bayes.Exp(kinLag * z[q.first+kLag]))
	}
	q.work = m.run(q.work, q.factors, q.wander, z, &s, q.season, &q.past)
	q.look(&s, nothing)
	return s
}

// jumps refresh the stops: that of the parcel and of each sibling.
func (m *model) jumps() []bayes.Jump {
	out := []bayes.Jump{m.stallJump(zStall, &m.course)}
	for _, q := range m.kin {
		out = append(out, m.stallJump(q.first+kStall, &q.course))
	}
	return out
}
