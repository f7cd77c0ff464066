package track

import (
	"math"
	"sort"
	"time"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// A season is what has been done to the parcel, day by day from inoculation, and
// what is taken to go on: the last known conditions hold.
type season struct {
	start     time.Time
	now       int // days from inoculation to Input.At; never negative
	schedule  malolactic.Schedule
	temps     []float64 // °C by day
	hazard    []float64 // cumulated stall hazard at the start of each day
	stopShare float64   // chance of a stop on the way
	inflows   []arrival // in time
}

// horizon is how far ahead a forecast looks; later than this is "later than a year".
const horizon = 365

// assumed stand in for facts that are not known; the lot factor's spread covers
// what they may be wrong by.
var assumed = struct {
	ph                quantity.PH
	ta                quantity.Concentration
	alcohol           quantity.Strength
	temperature       quantity.Temperature
	total             quantity.Concentration
	endPoint          quantity.PH
	volume            quantity.Volume
	daysSinceInoculum int
}{3.5, 6, 13, 19, 25 * quantity.MilligramPerLitre, 8.2, 23, 21}

// A change is what a what-if alters, from today on unless said otherwise.
type change struct {
	without     int // of harms, since inoculation
	temperature *quantity.Temperature
	stir        bool
	inoculate   *malolactic.Inoculation
	sulfite     quantity.Concentration // free SO2 added
	inflow      *Inflow
	nothingCame bool // as if no wine had come in since inoculation
	ahead       int  // days to follow it; 0 for the horizon
}

func newSeason(f Facts, readings []Reading, at time.Time, p *malolactic.Priors, inflows []Inflow, c change) *season {
	s := &season{}
	s.start = inoculated(f, readings, at)
	s.now = max(0, int(math.Round(at.Sub(s.start).Hours()/24)))
	days := s.now + horizon
	if c.ahead > 0 {
		days = s.now + c.ahead
	}
	s.temperatures(f, readings, days)
	s.arrivals(f, inflows, at, c)
	free, total := s.sulfiteByDay(f, readings, days)
	s.applyChange(c, free, total)
	ph, alcohol := or(f.PH, firstPH(readings)), or(f.Alcohol, assumed.alcohol)

	came := s.inflows
	index := map[malolactic.Conditions]int{}
	s.schedule.On = make([]int, days)
	for d := range s.schedule.On {
		for len(came) > 0 && came[0].day <= d {
			ph += quantity.PH(came[0].Share * (float64(or(came[0].PH, ph)) - float64(ph)))
			came = came[1:]
		}
		x := malolactic.Conditions{
			Temperature: quantity.Celsius(math.Round(2*s.temps[d]) / 2), // half a degree is finer than a cellar knows
			PH:          ph, Alcohol: alcohol,
			Molecular: molecular(free[d], ph),
			Bound:     max(0, total[d]-free[d]),
		}
		if rid := harms[c.without].without; rid != nil {
			rid(&x)
		}
		i, ok := index[x]
		if !ok {
			i = len(s.schedule.Conditions)
			index[x] = i
			s.schedule.Conditions = append(s.schedule.Conditions, x)
		}
		s.schedule.On[d] = i
	}
	s.stirrings(readings, days, c)
	s.additions(readings, c)
	s.stopShare = p.StopShare(s.schedule.Conditions[s.schedule.On[s.now/2]])
	s.hazard = make([]float64, days+1)
	for d := 0; d < days; d++ {
		s.hazard[d+1] = s.hazard[d] + float64(p.Hazard(s.schedule.Conditions[s.schedule.On[d]]))
	}
	return s
}

// day is the number of a date, counted from inoculation; negative before it.
func (s *season) day(t time.Time) int { return int(math.Round(t.Sub(s.start).Hours() / 24)) }

func (s *season) date(day float64) time.Time {
	return s.start.AddDate(0, 0, int(math.Ceil(day-1e-9)))
}

func inoculated(f Facts, readings []Reading, at time.Time) time.Time {
	if f.Inoculated != nil {
		return midnight(*f.Inoculated)
	}
	if len(readings) > 0 && !readings[0].On.After(at) {
		return readings[0].On
	}
	return at.AddDate(0, 0, -assumed.daysSinceInoculum)
}

// temperatures interpolates between the readings; a probe now and then is all
// there is, and wine in a vessel changes slowly.
func (s *season) temperatures(f Facts, readings []Reading, days int) {
	type point struct {
		day  int
		temp float64
	}
	pts := []point{{0, float64(or(f.Temperature, assumed.temperature))}}
	for _, r := range readings {
		if r.What != Temperature {
			continue
		}
		if d := s.day(r.On); d <= 0 {
			pts[0].temp = r.Value
		} else if last := &pts[len(pts)-1]; last.day == d {
			last.temp = (last.temp + r.Value) / 2
		} else {
			pts = append(pts, point{d, r.Value})
		}
	}
	s.temps = make([]float64, days)
	i := 0
	for d := range s.temps {
		for i+1 < len(pts) && pts[i+1].day <= d {
			i++
		}
		s.temps[d] = pts[i].temp
		if i+1 < len(pts) {
			a, b := pts[i], pts[i+1]
			s.temps[d] += (b.temp - a.temp) * float64(d-a.day) / float64(b.day-a.day)
		}
	}
}

// sulfiteByDay holds each reading of free SO2 until the next or until more is given.
// Free SO2 that rises was added, so total rises with it; free that falls is bound or lost, half each. Wine
// that comes in brings its own by its share, free as free: what the bacteria's
// aldehydes will bind of it is not foreseen.
func (s *season) sulfiteByDay(f Facts, readings []Reading, days int) (free, total []quantity.Concentration) {
	free, total = make([]quantity.Concentration, days), make([]quantity.Concentration, days)
	f0 := or(f.FreeSO2, 0)
	t0 := max(f0, or(f.TotalSO2, max(assumed.total, f0)))
	for d := range free {
		free[d], total[d] = f0, t0
	}
	came := s.inflows
	mix := func(before int) {
		for len(came) > 0 && came[0].day < before {
			a := &came[0]
			part := quantity.Concentration(a.Share)
			for d := a.day; d < days; d++ {
				free[d] += part * (a.FreeSO2 - free[d])
				total[d] += part * (max(a.TotalSO2, a.FreeSO2) - total[d])
			}
			came = came[1:]
		}
	}
	for _, r := range readings {
		if r.What != FreeSO2 && r.What != AddedSO2 {
			continue
		}
		v := quantity.Concentration(r.Value) * quantity.MilligramPerLitre
		from := max(0, s.day(r.On))
		if from >= days {
			continue
		}
		mix(from + 1)
		if r.What == AddedSO2 {
			for d := from; d < days; d++ {
				free[d], total[d] = free[d]+v, total[d]+v
			}
			continue
		}
		diff := v - free[from]
		if diff < 0 {
			diff /= 2
		}
		for d := from; d < days; d++ {
			free[d] = v
			total[d] = max(v, total[d]+diff)
		}
	}
	mix(days)
	return free, total
}

func (s *season) applyChange(c change, free, total []quantity.Concentration) {
	for d := s.now; d < len(s.temps); d++ {
		if c.temperature != nil {
			s.temps[d] = float64(*c.temperature)
		}
		free[d] += c.sulfite
		total[d] += c.sulfite
	}
}

// stirrings: lees brought up feed bacteria for some ten days (judged).
const stirDays = 10

func (s *season) stirrings(readings []Reading, days int, c change) {
	mark := func(from int) {
		if s.schedule.Stirred == nil {
			s.schedule.Stirred = make([]bool, days)
		}
		for d := max(0, from); d < min(days, from+stirDays); d++ {
			s.schedule.Stirred[d] = true
		}
	}
	for _, r := range readings {
		if r.What == Stir {
			mark(s.day(r.On))
		}
	}
	if c.stir {
		mark(s.now)
	}
}

func (s *season) additions(readings []Reading, c change) {
	for _, r := range readings {
		if d := s.day(r.On); r.What == Inoculate && d > 0 {
			s.schedule.Added = append(s.schedule.Added, malolactic.Addition{Day: d, How: r.inoculation()})
		}
	}
	if c.inoculate != nil {
		s.schedule.Added = append(s.schedule.Added, malolactic.Addition{Day: s.now, How: *c.inoculate})
	}
	sort.SliceStable(s.schedule.Added, func(i, j int) bool { return s.schedule.Added[i].Day < s.schedule.Added[j].Day })
}

// stallDay is when the cumulated hazard reaches e, an exponential of mean 1.
func (s *season) stallDay(e float64) float64 {
	n := len(s.hazard) - 1
	if e >= s.hazard[n] {
		rate := s.hazard[n] - s.hazard[n-1]
		return float64(n) + (e-s.hazard[n])/rate
	}
	i := sort.SearchFloat64s(s.hazard, e)
	if i == 0 {
		return 0
	}
	return float64(i-1) + (e-s.hazard[i-1])/(s.hazard[i]-s.hazard[i-1])
}

// molecular SO2 by the handbook constant 1.81, the one that the inhibition priors
// were drawn with; it is not the figure for dosing.
func molecular(free quantity.Concentration, ph quantity.PH) quantity.Concentration {
	return free / quantity.Concentration(1+math.Pow(10, float64(ph)-1.81))
}

func firstPH(readings []Reading) quantity.PH {
	for _, r := range readings {
		if r.What == PH {
			return quantity.PH(r.Value)
		}
	}
	return assumed.ph
}

func or[T any](p *T, otherwise T) T {
	if p != nil {
		return *p
	}
	return otherwise
}
