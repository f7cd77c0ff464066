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

// stop reads the coordinate: the lowest part of its distribution is a stop on the
// way, the rest waits for the hazard of time.
func (m *model) stop(z float64) stop {
	u, on := bayes.NormalCDF(z), m.season.stopShare
	if u < on {
		return stop{u / on, math.Inf(1)}
	}
	e := -math.Log(0.5*math.Erfc(z/math.Sqrt2)) + math.Log1p(-on) // of (u − on)/(1 − on)
	return stop{math.Inf(1), m.season.stallDay(math.Max(e, 0))}
}

// cap stops work at the share converted, in place, and returns the day on which
// that happened (+Inf if it did not).
func (s stop) cap(work []float64, m0, km float64) float64 {
	if s.share >= 1 {
		return math.Inf(1)
	}
	want := malolactic.WorkTo(quantity.Concentration(m0), quantity.Concentration(km), quantity.Concentration(m0*(1-s.share)))
	n := len(work) - 1
	if work[n] <= want {
		return math.Inf(1)
	}
	day := float64(malolactic.DayOfWork(work, want))
	for i := int(math.Ceil(day)); i <= n; i++ {
		work[i] = want
	}
	return day
}

// stallJump refreshes the stop: half the time from its prior, half the time among
// the stops on the way, which is where one explains something.
func (m *model) stallJump() bayes.Jump {
	on := m.season.stopShare
	lnRatio := func(z float64) float64 { // ln of proposal over prior
		if bayes.NormalCDF(z) < on {
			return math.Log(0.5 + 0.5/on)
		}
		return math.Log(0.5)
	}
	return bayes.Jump{Coords: []int{zStall}, Propose: func(rng *rand.Rand, z []float64) float64 {
		old := z[zStall]
		if rng.Float64() < 0.5 {
			z[zStall] = rng.NormFloat64()
		} else {
			z[zStall] = bayes.NormalQuantile(on * rng.Float64())
		}
		return lnRatio(old) - lnRatio(z[zStall])
	}}
}
