package track

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// An Input is one parcel and the day on which it is judged.
type Input struct {
	Facts    Facts
	Readings []Reading // any order; those later than At are ignored
	At       time.Time // its whole day counts
	Siblings []Sibling // other parcels of the same wine
	Inflows  []Inflow  // wine that came in since inoculation, in time
	Options  Options
}

// Options are what a person may set; the zero value stands for the defaults.
type Options struct {
	Particles int                    // default 640
	Seed      uint64                 // default 1
	Limit     quantity.Concentration // "finished" is below this; default 0.1 g/L
	Costs     *Costs
	Tests     []Test // tests that can be made, with prices; "none" is always among the options
	Priors    malolactic.Priors
	Faults    Faults
	Brief     bool // leave out fan, what-ifs, pulls and the next test: state and decision only
}

// Costs are the stakes in the person's own money. Only their ratios matter.
type Costs struct {
	FalseFinished  float64 `json:"false_finished"`  // wine that ferments again in bottle, or is sulfited with malic acid left
	UnprotectedDay float64 `json:"unprotected_day"` // a day that a finished wine stands without sulfite
	LostDay        float64 `json:"lost_day"`        // a day that a stall goes unseen
	Minute         float64 `json:"minute"`          // of the person's time
}

// DefaultCosts are for a carboy whose wine is worth some 200 in any money: a
// judgement, to be edited. They make "finished" worth calling from 95 % on, a week's
// wait being the alternative.
func DefaultCosts() Costs {
	return Costs{FalseFinished: 150, UnprotectedDay: 1.13, LostDay: 0.6, Minute: 0.1}
}

// Threshold is the chance of being finished from which calling it costs less than
// waiting another week: false·(1−p) = 7·day·p. It is held between 0.95 and 0.995,
// so that no edit of prices makes a coin toss into a call.
func (c Costs) Threshold() float64 {
	t := c.FalseFinished / (c.FalseFinished + 7*c.UnprotectedDay)
	return min(max(t, 0.95), 0.995)
}

// A Test is something that the person can do, and its price.
type Test struct {
	What    What    `json:"what"`
	Cost    float64 `json:"cost"`
	Minutes float64 `json:"minutes"`
}

// DefaultTests are the usual ones; prices are rough and meant to be edited (a
// paper spot about 0.50, a strip or kit 3 to 10: the handbook's figures of 2010 and
// from memory).
func DefaultTests() []Test {
	return []Test{
		{Chromatogram, 1, 30},
		{Malic, 8, 30},
		{TA, 0.5, 20},
		{PH, 0, 10},
		{PHControl, 0, 15},
	}
}

// Trace is the malic acid that certainly is too much to call finished, 0.25 g/L.
const Trace = 0.25 * quantity.GramPerLitre

func (in *Input) settle() error {
	if in.At.IsZero() {
		return errors.New("the day on which to judge is missing")
	}
	in.At = midnight(in.At)
	o := &in.Options
	if o.Particles == 0 {
		o.Particles = 640
	}
	if o.Seed == 0 {
		o.Seed = 1
	}
	if o.Limit == 0 {
		o.Limit = 0.1
	}
	if err := quantity.Check("limit of malic acid", o.Limit.GPerL(), "g/L", 0.01, 1); err != nil {
		return err
	}
	if o.Particles < 50 || o.Particles > 100000 {
		return fmt.Errorf("particles is %d: allowed is 50 to 100000", o.Particles)
	}
	if o.Costs == nil {
		c := DefaultCosts()
		o.Costs = &c
	}
	if o.Tests == nil {
		o.Tests = DefaultTests()
	}
	if o.Priors.Use.Family == "" {
		o.Priors = malolactic.DefaultPriors()
	}
	if o.Faults.PHRepeat == 0 {
		o.Faults = DefaultFaults()
	}
	in.Readings = slices.Clone(in.Readings)
	slices.SortStableFunc(in.Readings, func(a, b Reading) int { return a.On.Compare(b.On) })
	for i := range in.Inflows {
		if err := in.Inflows[i].check(); err != nil {
			return err
		}
	}
	start := inoculated(in.Facts, in.Readings, in.At)
	if start.After(in.At) {
		return fmt.Errorf("inoculated is %s: it must not be later than the day judged, %s", start.Format(DateLayout), in.At.Format(DateLayout))
	}
	if in.At.Sub(start) > 3*365*24*time.Hour {
		return fmt.Errorf("inoculated is %s: more than three years before the day judged, %s", start.Format(DateLayout), in.At.Format(DateLayout))
	}
	return nil
}
