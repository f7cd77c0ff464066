package ageing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"elevage/science/ageing"
	"elevage/science/bayes"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// Input is all that is known of one parcel.
type Input struct {
	Vessel ageing.Vessel
	Size   quantity.Volume // of the vessel; scales a barrel's ingress. 0: as Volume
	Volume quantity.Volume // wine in it

	PH      quantity.PH
	PHSD    float64 // one standard deviation of that pH; 0: 0.06, a hand meter with its session offset
	Alcohol quantity.Strength
	Red     bool // an iodine titration reads high in reds

	Temperatures []Temperature // in any order; none: 15 °C, and a wider spread is not added
	Doses        []Dose
	Readings     []Reading
	Events       []Event

	// Start is what is known of the wine when its record begins, for instance
	// carried over from the lots it was blended from. Optional.
	Start *Start
	// DosedBefore says that the wine had SO2 after its fermentations before the
	// first dose given here, so that no dose here is a first one.
	DosedBefore bool

	// Closed says that the wine is in closed bottles: nothing can be added to it.
	Closed bool

	At      time.Time      // the moment of the belief; entries after it are plans
	Floor   sulfite.Target // molecular SO2 to stay above, with its rule
	Horizon quantity.Days  // of the forecast; 0: 365
	Until   time.Time      // the date a dose must last to; zero: three months from At, or sooner where free SO2 would be tasted
	Risk    float64        // chance of being under the floor that is put up with; 0: 0.2, a proposal
	Product *sulfite.Product
	Limit   quantity.Concentration // total SO2 allowed; 0: not checked
	Test    Method                 // the test at hand, for the value of measuring; "": aspiration
	Prior   *Learned               // what earlier lots taught of this vessel and cellar
	Seed    uint64

	open bool // no date was asked for
}

// Temperature is one look at the wine's temperature.
type Temperature struct {
	At    time.Time
	Value quantity.Temperature
}

// Dose is an addition of SO2. After Input.At it is a plan.
type Dose struct {
	ID  string
	At  time.Time
	SO2 quantity.Concentration // added, per litre of wine: product × strength / volume
	SD  float64                // relative standard deviation of what really went in; 0: 0.05 (volume and jar)
}

// Event brings oxygen. After Input.At it is a plan.
type Event struct {
	ID   string
	At   time.Time
	Kind ageing.Event
	Air  quantity.Volume // of air over the wine, for ageing.AirOver
	// Free is the change of free SO2 that the event itself makes by mixing (topping
	// with wine of another SO2), signed.
	Free quantity.Concentration
}

// Of says which SO2 was measured.
type Of string

// What can be measured.
const (
	Free  Of = "free"
	Total Of = "total"
)

// Reading is one measurement.
type Reading struct {
	ID     string
	At     time.Time // when the sample was drawn
	Of     Of
	Method Method
	Value  quantity.Concentration
	Below  bool                   // the result was "under Value"
	SD     quantity.Concentration // repeatability if known; 0: that of the method
	// Beside is a further ±, one standard deviation: of a reading made before other
	// wine came in, what is not known of that wine.
	Beside quantity.Concentration
}

// Start is the wine when its record begins.
type Start struct {
	At      time.Time
	Free    quantity.Concentration
	FreeSD  quantity.Concentration
	Bound   quantity.Concentration
	BoundSD quantity.Concentration
}

// Learned is what a parcel taught that the next may start from.
type Learned struct {
	Ingress   bayes.Prior `json:"ingress"`    // mg O2 per litre and year at 15 °C
	FreeShare bayes.Prior `json:"free_share"` // of a first addition
	Readings  int         `json:"readings"`
}

// Method is how SO2 was measured.
type Method string

// The methods.
const (
	Aspiration Method = "aspiration"
	Iodine     Method = "iodine" // Ripper titration
	Strip      Method = "strip"  // strips and colour kits
	Laboratory Method = "laboratory"
)

// Methods lists the methods.
func Methods() []Method { return []Method{Aspiration, Iodine, Strip, Laboratory} }

// quality is how far a method may be trusted, mg/L. Scatter of aspiration and
// iodine is the mean of the reference's half-normal 2.5 and 4; the shared offsets
// are from memory except that of iodine in reds, +5 ± 3 (reads 3 to 10 high: pigment
// and phenols, bound SO2 released in the titration), also from memory.
type quality struct{ scatter, offset, offsetSD float64 }

func (m Method) quality(red bool, of Of) quality {
	q := quality{2, 0, 2}
	switch m {
	case Iodine:
		q = quality{3.2, 0, 2.5}
		if red && of == Free {
			q.offset, q.offsetSD = 5, 3
		}
	case Strip:
		q = quality{5, 0, 5}
	case Laboratory:
		q = quality{1.5, 0, 1.5}
	}
	return q
}

// fields checks the input and fills in what was left out; it gives the first
// error, which names the field.
func (in Input) prepared() (Input, error) {
	if in.At.IsZero() {
		return in, fmt.Errorf("day of the belief is missing")
	}
	if in.Floor.Amount() <= 0 {
		return in, fmt.Errorf("floor for molecular SO2 is missing: allowed is 0.01 to 5 mg/L with its rule")
	}
	if _, err := ageing.ParseVessel(string(in.Vessel)); err != nil {
		return in, err
	}
	if in.Size == 0 {
		in.Size = in.Volume
	}
	if in.PHSD == 0 {
		in.PHSD = 0.06
	}
	if in.Horizon == 0 {
		in.Horizon = 365
	}
	if in.Until.IsZero() {
		in.open = true
		in.Until = in.At.Add(lastsFor[0].Duration())
	}
	if in.Risk == 0 {
		in.Risk = DefaultRisk
	}
	if in.Test == "" {
		in.Test = Aspiration
	}
	checks := []error{
		quantity.Check("volume", in.Volume.Litres(), "L", 0.1, 1e6),
		quantity.Check("size of the vessel", in.Size.Litres(), "L", 0.1, 1e6),
		quantity.Check("pH", float64(in.PH), "", 2.5, 4.5),
		quantity.Check("standard deviation of pH", in.PHSD, "", 0.001, 0.5),
		quantity.Check("alcohol", in.Alcohol.Percent(), "% vol", 0, 20),
		quantity.Check("forecast horizon", float64(in.Horizon), "days", 1, 3653),
		quantity.Check("chance of being under the floor", in.Risk, "", 0.01, 0.5),
	}
	for _, d := range in.Doses {
		checks = append(checks, quantity.Check("SO2 added on "+day(d.At), d.SO2.MgPerL(), "mg/L", 0, 400))
	}
	for _, r := range in.Readings {
		if r.Of != Free && r.Of != Total {
			checks = append(checks, fmt.Errorf("reading of %s is of %q: allowed is free or total", day(r.At), r.Of))
		}
		checks = append(checks, quantity.Check(string(r.Of)+" SO2 of "+day(r.At), r.Value.MgPerL(), "mg/L", 0, 1000))
	}
	for _, r := range in.Readings {
		if !slices.Contains(Methods(), r.Method) {
			checks = append(checks, fmt.Errorf("method of the reading of %s is %q: allowed is one of %v", day(r.At), r.Method, Methods()))
		}
	}
	for _, t := range in.Temperatures {
		checks = append(checks, quantity.Check("temperature of "+day(t.At), t.Value.Celsius(), "°C", -5, 45))
	}
	for _, e := range in.Events {
		checks = append(checks, quantity.Check("air let in on "+day(e.At), e.Air.Litres(), "L", 0, 1e5))
	}
	for _, err := range checks {
		if err != nil {
			return in, err
		}
	}
	if !in.Until.After(in.At) {
		return in, fmt.Errorf("date the dose must last to is %s: allowed is after %s", day(in.Until), day(in.At))
	}
	if last := in.At.Add(quantity.Days(3653).Duration()); in.Until.After(last) {
		return in, fmt.Errorf("date the dose must last to is %s: allowed is up to %s", day(in.Until), day(last))
	}
	in.Temperatures = inOrder(in.Temperatures, func(a, b Temperature) int { return a.At.Compare(b.At) })
	in.Readings = inOrder(in.Readings, func(a, b Reading) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	in.Doses = inOrder(in.Doses, func(a, b Dose) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	in.Events = inOrder(in.Events, func(a, b Event) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	return in, nil
}

// DefaultRisk is the chance of lying under the floor at which the next test or dose
// falls due. It is a proposal of this project, not a rule of the trade.
const DefaultRisk = 0.2

// inOrder sorts a copy, so that the belief does not hang on the order of arrival.
func inOrder[T any](s []T, before func(a, b T) int) []T {
	s = slices.Clone(s)
	slices.SortStableFunc(s, before)
	return s
}

func day(t time.Time) string { return t.Format("2 January 2006") }

// temperatureAt interpolates the history; it holds the first and last value.
func temperatureAt(ts []Temperature, t time.Time) float64 {
	if len(ts) == 0 {
		return ageing.ReferenceTemperature.Celsius()
	}
	i := sort.Search(len(ts), func(i int) bool { return ts[i].At.After(t) })
	switch i {
	case 0:
		return ts[0].Value.Celsius()
	case len(ts):
		return ts[len(ts)-1].Value.Celsius()
	}
	a, b := ts[i-1], ts[i]
	span := b.At.Sub(a.At).Hours()
	if span == 0 {
		return b.Value.Celsius()
	}
	f := t.Sub(a.At).Hours() / span
	return a.Value.Celsius() + f*(b.Value-a.Value).Celsius()
}

// heat is the mean and variance of (T−15)/10 over a span, sampled often enough for
// a temperature history of any shape.
func heat(ts []Temperature, from, to time.Time) (mean, variance float64) {
	n := 1
	if len(ts) > 1 {
		n = int(math.Min(40, math.Max(4, to.Sub(from).Hours()/24/3)))
	}
	var s, q float64
	for i := range n {
		at := from.Add(time.Duration((float64(i) + 0.5) / float64(n) * float64(to.Sub(from))))
		c := (temperatureAt(ts, at) - ageing.ReferenceTemperature.Celsius()) / 10
		s += c
		q += c * c
	}
	mean = s / float64(n)
	return mean, math.Max(0, q/float64(n)-mean*mean)
}
