package track

import (
	"math"
	"math/rand/v2"
	"slices"

	"elevage/science/bayes"
	"elevage/science/gas"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// A course is one parcel as the likelihood wants it: what was done to it, what was
// read of it, and room to follow it day by day.
type course struct {
	facts  Facts
	how    malolactic.Inoculation
	season *season
	past   malolactic.Schedule // season up to today
	assays []assay
	spots  []spot
	locks  []lock
	bubble float64 // ln of the bubbles a second that a g/L malic acid a day makes, for the likeliest lock
	days   []int   // days on which the course is wanted
	slot   []int   // day → index into days, −1

	work, factors, wander []float64 // scratch
	malicOn               []float64 // malic acid on the days
	acidOn                []float64 // the same as the acids know it: what was never there counts as converted
	pieces                []piece
}

func newCourse(f Facts, readings []Reading, in *Input, inflows []Inflow) course {
	c := course{facts: f, how: or(f.Inoculation, malolactic.Direct)}
	c.season = newSeason(f, readings, in.At, &in.Options.Priors, inflows, change{})
	c.past = c.season.schedule
	c.past.On = c.past.On[:c.season.now+1]
	c.past.Added = slices.Clone(c.past.Added)
	if v, err := gas.Volume(quantity.Mass(gas.PerMalic), quantity.Celsius(c.season.temps[c.season.now]), quantity.Atmosphere); err == nil {
		c.bubble = lockCentre + math.Log(float64(or(f.Volume, assumed.volume))*v.Millilitres()/86400)
	}
	c.wander = make([]float64, c.season.now+1)
	c.factors = make([]float64, 2*len(c.season.schedule.Conditions))
	c.slot = make([]int, c.season.now+2)
	for d := range c.slot {
		c.slot[d] = -1
	}
	return c
}

// want makes malicOn hold a day.
func (c *course) want(d int) int {
	if c.slot[d] < 0 {
		c.slot[d] = len(c.days)
		c.days = append(c.days, d)
		c.malicOn, c.acidOn = append(c.malicOn, 0), append(c.acidOn, 0)
	}
	return d
}

// A piece is a stretch of a course from one arrival of wine to the next.
type piece struct {
	from  int     // day
	work  float64 // done by then
	tail  malolactic.Tail
	rest  float64
	shift float64 // of acidOn over malicOn
}

// A curve is malic acid over the work done.
type curve []piece

// at is the piece that a day lies in.
func (c curve) at(day int) *piece {
	i := len(c) - 1
	for i > 0 && c[i].from > day {
		i--
	}
	return &c[i]
}

func (p *piece) malic(work float64) float64 {
	return p.rest + float64(p.tail.Left(work-p.work))
}

// curve begins with what there was and bends where wine came in: the malic acids
// mix by their shares. What brought says of each arrival is g/L.
func (s *state) curve(buf curve, work []float64, in *season, brought func(i int) float64) curve {
	buf = append(buf[:0], piece{tail: s.tail(), rest: s.rest})
	m0 := s.m0
	for i := range in.inflows {
		f := &in.inflows[i]
		if f.day >= len(work) {
			break
		}
		last := &buf[len(buf)-1]
		was := last.malic(work[f.day])
		is := (1-f.Share)*was + f.Share*brought(i)
		gone := (1 - f.Share) * (m0 - was - last.shift) // converted, as it stands in the mixture
		rest := math.Min(s.rest, is/2)
		buf = append(buf, piece{from: f.day, work: work[f.day], rest: rest, shift: m0 - gone - is,
			tail: malolactic.NewTail(quantity.Concentration(math.Max(is-rest, 1e-6)), s.k.HalfSaturation)})
	}
	return buf
}

// look fills malicOn and acidOn.
func (c *course) look(s *state, brought func(i int) float64) {
	c.pieces = s.curve(c.pieces, c.work, c.season, brought)
	for i, d := range c.days {
		p := curve(c.pieces).at(d)
		c.malicOn[i] = p.malic(c.work[d])
		c.acidOn[i] = c.malicOn[i] + p.shift
	}
}

// A state is what z says of a course.
type state struct {
	k      malolactic.Constants
	m0     float64 // initial malic acid, g/L
	rest   float64 // of it never converted
	stop   float64 // coordinate of the stop, N(0,1); see season.stop
	again  float64 // the same for the bacteria whose adding ended it
	lagEnd float64
	stall  float64 // day on which it stopped for good, +Inf for none
	parted int     // for a sibling: the day until which it was one wine with the parcel judged
	before float64 // and the day on which that stopped
}

// converts is the malic acid that would be converted in the end, g/L.
func (s *state) converts() float64 { return s.m0 - s.rest }

// tail is its course.
func (s *state) tail() malolactic.Tail {
	return malolactic.NewTail(quantity.Concentration(s.converts()), s.k.HalfSaturation)
}

// run works out the work by day with its stop, and notes in s the end of the lag and
// the day of the stop. Bacteria added later end a stop; what they begin can stop
// again, as likely as the first did.
func (m *model) run(dst, factors, wander, z []float64, s *state, in *season, on *malolactic.Schedule) []float64 {
	m0, km := s.converts(), float64(s.k.HalfSaturation)
	woken := wakes(on.Added)
	if woken {
		m.priors.DrawInocula(&s.k, z)
	}
	free := m.activity(z, wander)
	work, lag := s.k.Work(dst, factors, on, free)
	s.lagEnd = float64(lag)
	s.stall = in.stop(s.stop, 0).falls(work, m0, km, 0)
	if s.stall < float64(s.parted) {
		s.stall = math.Inf(1) // that stop is not this parcel's own
	}
	if s.before < float64(s.parted) {
		s.stall = s.before
	}
	first := slices.IndexFunc(on.Added, func(a malolactic.Addition) bool { return a.Wakes() && float64(a.Day) >= s.stall })
	if !woken || first < 0 {
		hold(work, s.stall)
		return work
	}
	free.Stall = quantity.Days(s.stall)
	work, lag = s.k.Work(work, factors, on, free)
	s.lagEnd = float64(lag)
	from := on.Added[first].Day
	s.stall = in.stop(s.again, from).falls(work, m0, km, from)
	hold(work, s.stall)
	return work
}

// wakes says whether anything added can end a stop.
func wakes(added []malolactic.Addition) bool {
	return slices.ContainsFunc(added, malolactic.Addition.Wakes)
}

func (m *model) activity(z, wander []float64) malolactic.Activity {
	// Stirring lees up helps by some tenth, give or take as much (judged).
	return malolactic.Activity{Wander: wander, Stir: bayes.Exp(0.1 + 0.1*z[zStir]), Stall: quantity.Days(math.Inf(1))}
}

// fillWander turns knots into one multiplier a day: an autoregression of ln
// activity at knots WanderDays apart, with linear passages between. Knots that z
// does not have yet come from rng (nil: there are enough).
func (m *model) fillWander(dst, z []float64, rng *rand.Rand) {
	const keep, fresh = 1 / math.E, 0.929873495 // from knot to knot; fresh² = 1 − keep²
	step, sd := m.faults.WanderDays, m.faults.WanderSD
	x := z[0]
	left := bayes.Exp(sd * x)
	for knot, d := 1, 0; d < len(dst); knot++ {
		var news float64
		if knot < len(z) {
			news = z[knot]
		} else {
			news = rng.NormFloat64()
		}
		x = keep*x + fresh*news
		right := bayes.Exp(sd * x)
		from := step * float64(knot-1)
		rise := (right - left) / step
		at := left + rise*(float64(d)-from)
		for until := min(len(dst), int(math.Ceil(from+step))); d < until; d++ {
			dst[d] = at
			at += rise
		}
		left = right
	}
}

// lockReading works out the gas that a bubble reading owes to other causes than
// malic acid, as malic acid: what is left of the fermentation's supersaturation
// (0.15 of saturation at first, gone over some 15 days; judged), warming, weather.
func (c *course) lockReading(i, day int, r Reading) lock {
	const (
		left    = 0.6  // g/L malic acid that the first supersaturation is worth
		weather = 0.03 // g/L/day: some 20 hPa within three days
	)
	l := lock{reading: i, day: day, seconds: r.Value, ln: math.Log(r.Value)}
	old := left / 15 * math.Exp(-float64(day)/15)
	warming := 0.0
	if day > 0 && day < len(c.season.temps) {
		warming = math.Max(0, c.season.temps[day]-c.season.temps[day-1]) * c.perDegree(day)
	}
	l.other = old + warming
	l.doubt = math.Sqrt(weather*weather + old*old + 0.25*warming*warming)
	return l
}

// perDegree is the malic acid whose CO2 a saturated wine sets free per °C of warming.
func (c *course) perDegree(day int) float64 {
	wine := gas.Liquid{Alcohol: or(c.facts.Alcohol, assumed.alcohol)}
	t := quantity.Celsius(math.Min(math.Max(c.season.temps[day], 8), 28))
	at := func(t quantity.Temperature) gas.Surroundings {
		return gas.Surroundings{Temperature: t, Barometer: quantity.Atmosphere}
	}
	set, err := gas.Official.Release(wine, at(t-1), at(t+1))
	if err != nil {
		return 0.15 // g/L malic acid per °C near 18 °C: the reference's 0.24 g/L CO2 for 15 to 20 °C
	}
	return float64(gas.ApparentMalic(set)) / 2
}
