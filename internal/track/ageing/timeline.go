package ageing

import (
	"math"
	"sort"
	"time"

	"elevage/science/ageing"
	"elevage/science/quantity"
)

// A step is the passage of time up to one entry, and the entry.
type step struct {
	at       time.Time
	days     float64
	warm     float64 // mean of (T−15)/10
	warmVar  float64
	what     act
	amount   float64 // mg/L: dose, reading, oxygen
	spread   float64 // mg/L: SD of dose, reading, oxygen
	order    int     // of a dose: 0 is the first after the fermentations
	method   int     // of a reading: which offset it shares
	total    bool
	below    bool
	depth    float64 // mg/L: extra SD of a reading taken before the dose was mixed in
	reading  int     // index in Input.Readings
	freeStep float64 // of an event: change of free SO2 by mixing
}

type act uint8

const (
	nothing act = iota
	reads
	breathes
	doses
)

// A timeline is the record of a parcel in order, ready for the filter.
type timeline struct {
	start   time.Time
	first   [2]float64 // mean and SD of free SO2 at the start
	bound   [2]float64
	past    []step // up to and with a last empty step at Input.At
	future  []step // plans: doses and events
	offsets []quality
	future0 []int // readings dated after At, left out
}

// line puts the entries in order. Entries with the same time are taken as: reading,
// then oxygen, then dose, since one measures before one doses.
func (in Input) line() timeline {
	var tl timeline
	var all []step
	methods := map[[2]string]int{}
	for i, r := range in.Readings {
		if r.At.After(in.At) {
			tl.future0 = append(tl.future0, i)
			continue
		}
		q := r.Method.quality(in.Red, r.Of)
		k := [2]string{string(r.Method), string(r.Of)}
		if _, ok := methods[k]; !ok && len(tl.offsets) < maxOffsets {
			methods[k] = len(tl.offsets)
			tl.offsets = append(tl.offsets, q)
		}
		sd := q.scatter
		if r.SD > 0 {
			sd = r.SD.MgPerL()
		}
		sd = math.Hypot(sd, r.Beside.MgPerL())
		if r.Of == Total {
			sd = math.Hypot(sd, 0.05*r.Value.MgPerL()) // total: 5 % repeatability (from memory)
		}
		all = append(all, step{at: r.At, what: reads, amount: r.Value.MgPerL(), spread: sd, method: methods[k],
			total: r.Of == Total, below: r.Below, reading: i})
	}
	for _, e := range in.Events {
		o := e.Kind.Oxygen()
		mean := o.Location * math.Exp(o.Spread*o.Spread/2)
		sd := mean * math.Sqrt(math.Exp(o.Spread*o.Spread)-1)
		if e.Kind == ageing.AirOver {
			// the air's oxygen, of which a share is taken up; a bad volume was refused before
			air, _ := ageing.HeadspaceOxygen(e.Air, in.Volume)
			mean, sd = mean*air.MgPerL(), sd*air.MgPerL()
		}
		all = append(all, step{at: e.At, what: breathes, amount: mean, spread: sd, freeStep: e.Free.MgPerL()})
	}
	for _, d := range in.Doses {
		rel := d.SD
		if rel == 0 {
			rel = 0.05
		}
		all = append(all, step{at: d.At, what: doses, amount: d.SO2.MgPerL(), spread: rel * d.SO2.MgPerL()})
	}
	sort.SliceStable(all, func(a, b int) bool {
		if !all[a].at.Equal(all[b].at) {
			return all[a].at.Before(all[b].at)
		}
		return all[a].what < all[b].what
	})
	in.begin(&tl, all)
	in.fill(&tl, all)
	return tl
}

// begin settles where the record starts and what is believed of the wine there.
func (in Input) begin(tl *timeline, all []step) {
	tl.start = in.At
	if len(all) > 0 && all[0].at.Before(in.At) {
		tl.start = all[0].at
	}
	// A wine that has had SO2 before, of which nothing is known; figures are ours.
	tl.first, tl.bound = [2]float64{20, 20}, [2]float64{50, 40}
	if in.Start != nil {
		if in.Start.At.Before(tl.start) {
			tl.start = in.Start.At
		}
		tl.first = [2]float64{in.Start.Free.MgPerL(), math.Max(0.5, in.Start.FreeSD.MgPerL())}
		tl.bound = [2]float64{in.Start.Bound.MgPerL(), math.Max(0.5, in.Start.BoundSD.MgPerL())}
		return
	}
	if !in.protected(all) && anyDose(all) {
		// Straight from the fermentations: hardly any free, and what yeast made is bound.
		tl.first, tl.bound = [2]float64{2, 3}, [2]float64{20, 15}
	}
}

// protected reports whether the wine had SO2 before the first dose on record: said
// so, or shown by a reading.
func (in Input) protected(all []step) bool {
	if in.DosedBefore {
		return true
	}
	for _, s := range all {
		switch {
		case s.what == doses:
			return false
		case s.what == reads && !s.total && !s.below && s.amount > 10:
			return true
		}
	}
	return false
}

func anyDose(all []step) bool {
	for _, s := range all {
		if s.what == doses {
			return true
		}
	}
	return false
}

func (in Input) fill(tl *timeline, all []step) {
	order := 0
	if in.protected(all) {
		order = 1
	}
	now, lastDose, lastAmount := tl.start, time.Time{}, 0.0
	for _, s := range all {
		if s.what == doses {
			s.order = order
			order++
		}
		if s.at.After(in.At) {
			tl.future = append(tl.future, s)
			continue
		}
		if s.at.Before(now) {
			s.at = now // before Start.At: the record there already contains it
		}
		s.days = float64(quantity.Span(now, s.at))
		s.warm, s.warmVar = heat(in.Temperatures, now, s.at)
		if s.what == reads && !lastDose.IsZero() && s.at.Sub(lastDose) < 24*time.Hour {
			s.depth = 0.25 * lastAmount
		}
		if s.what == doses {
			lastDose, lastAmount = s.at, s.amount
		}
		tl.past = append(tl.past, s)
		now = s.at
	}
	end := step{at: in.At, days: float64(quantity.Span(now, in.At))}
	end.warm, end.warmVar = heat(in.Temperatures, now, in.At)
	tl.past = append(tl.past, end)
}
