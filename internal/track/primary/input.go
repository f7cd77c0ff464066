package primary

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"time"

	"elevage/science/bayes"
	"elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// Input is all that is known of one ferment.
type Input struct {
	Volume quantity.Volume // of must; skins' share of a red included
	Red    bool
	PH     quantity.PH // 0: unknown

	Pitched time.Time              // yeast in; for a wild ferment the day of crush
	Yeast   quantity.Concentration // dry yeast; 0: 0.25 g/L
	Wild    bool                   // no yeast was pitched
	// Tolerance of the yeast for alcohol by its data sheet; 0: unknown.
	Tolerance quantity.Strength

	Nitrogen   *Measured // assimilable, at pitching; nil: unknown
	Nutrients  []Dose    // assimilable nitrogen given later
	Sugared    []Dose    // sugar given
	TotalSO2   quantity.Concentration
	Bacteria   time.Time // malolactic culture in, if so
	Readings   []Reading
	Warmth     []Temperature // beside the temperatures on the readings
	At         time.Time
	Horizon    quantity.Days          // of the forecast; 0: 45
	DryAt      quantity.Concentration // 0: 2 g/L
	Room       quantity.Temperature   // where the gas goes; 0: 20 °C
	StallOdds  float64                // hazard of a stall per day in good conditions; 0: the default
	Seed       uint64
	NoForecast bool // belief about now only
	// Care multiplies the sampler's moves; 0 and 1 are the quick setting, 8 is for
	// studies. The quick one leaves the tails of the lag and of the loss of cells thin
	// (docs/primary.md), which hardly shows in sugar, dates and chances.
	Care int
}

// Measured is a value with one standard deviation; 0: 15 % of the value.
type Measured struct {
	Value quantity.Concentration
	SD    quantity.Concentration
}

// Dose is something given at a time, per litre of must.
type Dose struct {
	At     time.Time
	Amount quantity.Concentration
}

// Temperature is one look at the liquid's temperature.
type Temperature struct {
	At    time.Time
	Value quantity.Temperature
}

// What was read.
type What string

// Readings.
const (
	Gravity       What = "gravity"       // hydrometer graduated in specific gravity
	Brix          What = "brix"          // hydrometer graduated in Brix
	Refractometer What = "refractometer" // Brix by light, not corrected for alcohol
	Float         What = "float"         // sensor that floats in the must, specific gravity
	SugarTest     What = "sugar"         // reducing sugar by tablet or kit, g/L
	SugarEnzyme   What = "glucose-fructose"
)

// Whats lists the readings.
func Whats() []What { return []What{Gravity, Brix, Refractometer, Float, SugarTest, SugarEnzyme} }

// Reading is one measurement. Value is in the unit of What; numerals stay as a
// person wrote them in the ledger.
type Reading struct {
	ID          string
	At          time.Time
	What        What
	Value       float64
	Temperature quantity.Temperature // of the sample; 0: not noted, taken as the must's
	Graduated   strength.Hydrometer  // zero: 20 °C
	Degassed    bool
	Instrument  string  // readings of one instrument share its offset; "" is one instrument for each What
	SD          float64 // in the unit of Value, if known; 0: that of the kind
}

// quality is how far a kind of reading may be trusted, in its unit. From the
// reference's error budget, from memory there: hydrometer 0.1 Brix degassed, 0.4
// fermenting, 0.3 between instruments; refractometer 0.15 and 0.4 in juice, 0.3 and
// 1.0 with alcohol. The float sensor's are proposals.
type quality struct{ scatter, grows, offset, lift float64 }

const perBrix = 0.0040 // specific gravity per Brix, near 10 Brix

func (r Reading) quality(fermenting bool) quality {
	var q quality
	switch r.What {
	case Refractometer:
		q = quality{0.3, 0, 1.0, 0}
		if !fermenting {
			q = quality{0.15, 0, 0.4, 0}
		}
	case Float:
		q = quality{0.3 * perBrix, 0, 1.0 * perBrix, 0}
	case SugarTest, SugarEnzyme:
		q = quality{0.5, 0.15, 0, 0}
	default:
		q = quality{0.15 * perBrix, 0, 0.3 * perBrix, 0}
		if fermenting && !r.Degassed { // bubbles lift it
			q.scatter, q.lift = 0.4*perBrix, 0.1*perBrix
		}
	}
	if r.SD > 0 {
		q.scatter, q.grows = r.SD, 0
		if r.What == Brix {
			q.scatter *= perBrix
		}
	}
	return q
}

// DefaultStallOdds is the hazard of a stall per day in good conditions, as a
// judgement of this project: some 4 % of ferments in a fortnight.
const DefaultStallOdds = 0.003

func (in Input) prepared() (Input, error) {
	for _, c := range []struct {
		missing bool
		what    string
	}{{in.At.IsZero(), "day of the belief"}, {in.Pitched.IsZero(), "day the yeast went in"}} {
		if c.missing {
			return in, fmt.Errorf("%s is missing", c.what)
		}
	}
	in.Yeast = orDefault(in.Yeast, 0.25)
	in.Horizon = orDefault(in.Horizon, 45)
	in.DryAt = orDefault(in.DryAt, 2)
	in.Room = orDefault(in.Room, 20)
	in.StallOdds = orDefault(in.StallOdds, DefaultStallOdds)
	checks := []error{
		quantity.Check("volume of must", in.Volume.Litres(), "L", 0.1, 1e6),
		quantity.Check("dry yeast", in.Yeast.GPerL(), "g/L", 0.001, 5),
		quantity.Check("forecast horizon", float64(in.Horizon), "days", 1, 120),
		quantity.Check("sugar that counts as dry", in.DryAt.GPerL(), "g/L", 0.2, 20),
		quantity.Check("hazard of a stall", in.StallOdds, "per day", 1e-6, 0.5),
		quantity.Check("alcohol tolerance", in.Tolerance.Percent(), "% vol", 0, 22),
		quantity.Check("care", float64(in.Care), "", 0, 50),
		quantity.Check("temperature of the room", in.Room.Celsius(), "°C", -5, 45),
	}
	if in.At.Sub(in.Pitched) > 200*24*time.Hour {
		checks = append(checks, fmt.Errorf("day of the belief is %s: allowed is up to 200 days after the yeast went in, %s", day(in.At), day(in.Pitched)))
	}
	if in.Nitrogen != nil {
		checks = append(checks, quantity.Check("assimilable nitrogen", in.Nitrogen.Value.MgPerL(), "mg/L", 5, 1000))
	}
	for _, d := range in.Nutrients {
		checks = append(checks, quantity.Check("nitrogen given on "+day(d.At), d.Amount.MgPerL(), "mg/L", 0, 500))
	}
	for _, d := range in.Sugared {
		checks = append(checks, quantity.Check("sugar given on "+day(d.At), d.Amount.GPerL(), "g/L", 0, 200))
	}
	for _, t := range in.Warmth {
		checks = append(checks, quantity.Check("temperature of "+day(t.At), t.Value.Celsius(), "°C", -2, 45))
	}
	for _, r := range in.Readings {
		checks = append(checks, r.check())
	}
	for _, err := range checks {
		if err != nil {
			return in, err
		}
	}
	in.Readings = slices.Clone(in.Readings)
	slices.SortStableFunc(in.Readings, func(a, b Reading) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	in.Warmth = in.temperatures()
	return in, nil
}

func (r Reading) check() error {
	of := " of " + day(r.At)
	var err error
	switch r.What {
	case Gravity, Float:
		err = quantity.Check("specific gravity"+of, r.Value, "", 0.98, 1.17)
	case Brix:
		err = quantity.Check("Brix"+of, r.Value, "Brix", -4, 38)
	case Refractometer:
		err = quantity.Check("refractometer"+of, r.Value, "Brix", 0, 38)
	case SugarTest, SugarEnzyme:
		err = quantity.Check("sugar"+of, r.Value, "g/L", 0, 400)
	default:
		return fmt.Errorf("reading%s is of %q: allowed is one of %v", of, r.What, Whats())
	}
	if err == nil {
		err = quantity.Check("temperature of the sample"+of, r.Temperature.Celsius(), "°C", 0, 40)
	}
	if err == nil {
		err = quantity.Check("standard deviation of the reading"+of, r.SD, "", 0, 100)
	}
	return err
}

// temperatures joins those on readings to the others, in order.
func (in Input) temperatures() []Temperature {
	out := slices.Clone(in.Warmth)
	for _, r := range in.Readings {
		if r.Temperature != 0 && (r.What == Float || !r.At.Before(in.Pitched)) {
			out = append(out, Temperature{r.At, r.Temperature})
		}
	}
	slices.SortStableFunc(out, func(a, b Temperature) int { return a.At.Compare(b.At) })
	return out
}

// assumed is the temperature where none was noted.
func (in Input) assumed() quantity.Temperature {
	if in.Red {
		return 25
	}
	return 16
}

// warmth is the must's temperature by hours from pitching: between the looks in
// straight lines, the ends held.
func (in Input) warmth() primary.Temperatures {
	ts := in.Warmth
	if len(ts) == 0 {
		return primary.Steady(in.assumed())
	}
	hours := make([]float64, len(ts))
	for i, t := range ts {
		hours[i] = t.At.Sub(in.Pitched).Hours()
	}
	return func(h float64) quantity.Temperature {
		i := sort.SearchFloat64s(hours, h)
		switch {
		case i == 0:
			return ts[0].Value
		case i == len(ts):
			return ts[len(ts)-1].Value
		case hours[i] == hours[i-1]:
			return ts[i].Value
		}
		f := (h - hours[i-1]) / (hours[i] - hours[i-1])
		return ts[i-1].Value + quantity.Temperature(f)*(ts[i].Value-ts[i-1].Value)
	}
}

func orDefault[T comparable](v, otherwise T) T {
	var zero T
	if v == zero {
		return otherwise
	}
	return v
}

func day(t time.Time) string { return t.Format("2 January 2006") }

// priors of the lot, by coordinate.
func (in Input) priors() [fixed]bayes.Prior { return lotPriors(in) }
