package track

import (
	"math"
	"math/rand/v2"

	"elevage/science/bayes"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// A stop is an end of the conversion before its time: at a share converted, or on a
// day, whichever is below infinity.
type stop struct {
	share float64 // converted of what would be, +Inf for none
	day   float64 // +Inf for none
}

// stop reads the coordinate, for bacteria that begin on a day: the lowest part of
// its distribution is a stop on the way, the rest waits for the hazard of time.
func (s *season) stop(z float64, from int) stop {
	u, on := bayes.NormalCDF(z), s.stopShare
	if u < on {
		return stop{u / on, math.Inf(1)}
	}
	e := -math.Log(0.5*math.Erfc(z/math.Sqrt2)) + math.Log1p(-on) // of (u − on)/(1 − on)
	return stop{math.Inf(1), s.stallDay(s.hazard[from] + math.Max(e, 0))}
}

// falls is the day of the stop in a course that does not know of it, +Inf if it
// comes to no stop. A share is of what is left on the day from.
func (s stop) falls(work []float64, m0, km float64, from int) float64 {
	if !math.IsInf(s.day, 1) {
		return s.day
	}
	if s.share >= 1 {
		return math.Inf(1)
	}
	if want := s.want(work, m0, km, from); work[len(work)-1] > want {
		return float64(malolactic.DayOfWork(work, want))
	}
	return math.Inf(1)
}

// want is the work that is done when the share is converted.
func (s stop) want(work []float64, m0, km float64, from int) float64 {
	left := quantity.Concentration(m0)
	if from > 0 {
		left = malolactic.Left(left, quantity.Concentration(km), work[from])
	}
	return malolactic.WorkTo(quantity.Concentration(m0), quantity.Concentration(km), left*quantity.Concentration(1-s.share))
}

// hold stops the work on a day, in place.
func hold(work []float64, day float64) {
	n := len(work) - 1
	if !(day < float64(n)) {
		return
	}
	i := int(day)
	done := work[i] + (day-float64(i))*(work[i+1]-work[i])
	for i++; i <= n; i++ {
		work[i] = done
	}
}

// stallJump refreshes the stop of a course, at a coordinate: half the time from its prior, half the time among
// the stops on the way, which is where one explains something.
func (m *model) stallJump(at int, c *course) bayes.Jump {
	on := c.season.stopShare
	lnRatio := func(z float64) float64 { // ln of proposal over prior
		if bayes.NormalCDF(z) < on {
			return math.Log(0.5 + 0.5/on)
		}
		return math.Log(0.5)
	}
	// From here on a stop has yet to come, and no reading can know of it.
	quiet := bayes.NormalQuantile(1 - (1-on)*math.Exp(-c.season.hazard[len(c.past.On)]))
	return bayes.Jump{Coords: []int{at}, Propose: func(rng *rand.Rand, z []float64) (float64, bool) {
		old := z[at]
		if rng.Float64() < 0.5 {
			z[at] = rng.NormFloat64()
		} else {
			z[at] = bayes.NormalQuantile(on * rng.Float64())
		}
		return lnRatio(old) - lnRatio(z[at]), old > quiet && z[at] > quiet
	}}
}
