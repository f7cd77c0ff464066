package compose

import (
	"sort"
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// A Course is what is believed of the malic acid of a wine from day to day, by all
// that was read of its conversion: assays, but spots, titrations and pH too. It holds
// from its first day on, in place of what assays alone would say, and stays after its
// last as it was then.
type Course []Believing

// A Believing is what is believed of one day, with one standard deviation.
type Believing struct {
	At        time.Time
	Malic, SD quantity.Concentration
}

// AllBelieving is All with the course of conversion of the parcels for which there is
// one. A course tells of the wine that a parcel was filled from as well, as far back as
// most of it was that wine.
func AllBelieving(s *cellar.State, ids []cellar.ParcelID, at time.Time, courses map[cellar.ParcelID]Course) ([]Wine, error) {
	w := newWalk(s, ids)
	w.follow(courses)
	w.until(at)
	return w.wines(ids, at)
}

// A followed course is one with the key of its error: what is wrong with it on one day
// is wrong with it on the next.
type followed struct {
	days Course
	key  int32
}

// follow hands courses to parcels and to those that these were mostly filled from,
// unless those have their own.
func (w *walk) follow(courses map[cellar.ParcelID]Course) {
	w.courses = map[cellar.ParcelID]*followed{}
	var own []cellar.ParcelID
	for _, p := range w.state.Parcels.All() { // in their order, so that keys are the same each time
		if c := courses[p.ID]; len(c) > 0 && w.kept(p.ID) {
			own = append(own, p.ID)
			w.courses[p.ID] = &followed{c, w.key("believed/" + string(p.ID))}
		}
	}
	for _, id := range own {
		c := w.courses[id]
		for id = mainly(w.state, id); id != "" && w.courses[id] == nil; id = mainly(w.state, id) {
			w.courses[id] = c
		}
	}
}

// mainly is the parcel that most of a parcel was filled from; "" if there is none.
func mainly(s *cellar.State, id cellar.ParcelID) cellar.ParcelID {
	p := s.Parcel(id)
	if p == nil {
		return ""
	}
	for _, in := range p.Inflows {
		if in.Entry == p.Start && in.Share >= 0.5 {
			return in.From
		}
	}
	return ""
}

// at is what is believed of a moment; false before the course begins, and for none.
func (f *followed) at(t time.Time) (fig, bool) {
	if f == nil || t.Before(f.days[0].At) {
		return fig{}, false
	}
	i := sort.Search(len(f.days), func(i int) bool { return f.days[i].At.After(t) })
	last := f.days[i-1]
	value, sd := last.Malic.GPerL(), last.SD.GPerL()
	if i < len(f.days) {
		next := f.days[i]
		k := float64(t.Sub(last.At)) / float64(next.At.Sub(last.At))
		value += k * (next.Malic.GPerL() - value)
		sd += k * (next.SD.GPerL() - sd)
	}
	return read(value, f.key, sd), true
}
