package track

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"elevage/science/bayes"
	"elevage/science/gas"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// Coordinates of the hidden state beyond those of malolactic.Constants. All are
// N(0,1) beforehand.
const (
	zMalic  = malolactic.Coordinates + iota // ln of initial malic acid
	zBuffer                                 // ln of how far pH moves, against the anchored wine
	zKit                                    // bias of the malic assay kit
	zLock                                   // ln of the airlock's leak over bubble size
	zSpot                                   // ln of the malic acid at which a spot is seen half the time
	zStir                                   // what stirring does
	zStall                                  // where or when the conversion stops for good; see stop
	zRest                                   // ln of the malic acid that is never converted
	zWander                                 // first knot of the activity that comes and goes
)

type assay struct {
	reading int
	day     int
	value   float64
}

type spot struct {
	reading int
	day     int
	word    string
}

type lock struct {
	reading int
	day     int
	seconds float64
	ln      float64 // of seconds
	other   float64 // gas that is not malolactic, as g/L malic acid per day
	doubt   float64 // its SD
}

// A model is one parcel with its data, ready to say how likely they are at z.
type model struct {
	facts  Facts
	priors malolactic.Priors
	faults Faults
	how    malolactic.Inoculation
	malic  malolactic.Distribution
	season *season
	past   malolactic.Schedule // season up to today
	chem   *chemistry
	panel  *panel
	used   []Reading // readings up to Input.At, in the order given
	assays []assay
	spots  []spot
	locks  []lock
	volume float64 // L
	gasML  float64 // mL of gas per L wine and g/L malic acid
	dim    int
	days   []int // days on which the course is wanted
	slot   []int // day → index into days, −1

	work, factors, wander []float64 // scratch
	malicOn, resid        []float64
}

func newModel(in Input) *model {
	m := &model{facts: in.Facts, priors: in.Options.Priors, faults: in.Options.Faults,
		how: or(in.Facts.Inoculation, malolactic.Direct), used: upTo(in.Readings, in.At)}
	m.season = newSeason(m.facts, m.used, in.At, &m.priors, change{})
	m.malic = malicPrior(m.facts, &m.priors)
	m.past = m.season.schedule
	m.past.On = m.past.On[:m.season.now+1]
	ph := or(m.facts.PH, firstPH(m.used))
	m.chem = newChemistry(m.facts, ph)
	m.volume = float64(or(m.facts.Volume, assumed.volume))
	if v, err := gas.Volume(quantity.Mass(gas.PerMalic), quantity.Celsius(m.season.temps[m.season.now]), quantity.Atmosphere); err == nil {
		m.gasML = v.Millilitres()
	}
	m.sort()
	knots := 2 + int(float64(m.season.now+1)/m.faults.WanderDays)
	m.dim = zWander + knots
	if len(m.past.Added) > 0 {
		m.dim++ // where the bacteria added later stop
	}
	n := m.season.now + 1
	m.wander = make([]float64, n)
	m.factors = make([]float64, 2*len(m.season.schedule.Conditions))
	return m
}

func upTo(readings []Reading, at time.Time) []Reading {
	var out []Reading
	for _, r := range readings {
		if !r.On.After(at) {
			out = append(out, r)
		}
	}
	return out
}

func malicPrior(f Facts, p *malolactic.Priors) malolactic.Distribution {
	red := f.Colour == "" || f.Colour == "red"
	switch {
	case red && f.Site == "warm":
		return p.MalicRedWarm
	case red && f.Site == "cool":
		return p.MalicRedCool
	case red:
		return p.MalicRed
	case f.Site == "warm":
		return p.MalicWhiteWarm
	case f.Site == "cool":
		return p.MalicWhiteCool
	}
	return p.MalicWhite
}

// sort hands each reading to the part of the likelihood that understands it.
func (m *model) sort() {
	const factsSession = math.MinInt
	ph0, ta0 := float64(assumed.ph), float64(assumed.ta)
	var gauges []gauge
	f := &m.faults
	ph := gauge{what: PH, sd: f.PHRepeat, outlier: f.PHOutlier, base: ph0, slope: 1}
	ta := gauge{what: TA, sd: f.TARepeat, outlier: f.TAOutlier, base: ta0}
	if m.facts.PH != nil {
		g := ph
		g.reading, g.session, g.value = -1, factsSession, float64(*m.facts.PH)
		gauges = append(gauges, g)
	}
	if m.facts.TA != nil {
		g := ta
		g.reading, g.session, g.value = -1, factsSession, float64(*m.facts.TA)
		gauges = append(gauges, g)
	}
	if m.facts.Malic != nil {
		m.assays = append(m.assays, assay{-1, 0, float64(*m.facts.Malic)})
	}
	for i, r := range m.used {
		d := m.season.day(r.On)
		at := max(0, d)
		g := gauge{}
		switch r.What {
		case PH, PHControl:
			g = ph
			g.wine = r.What == PH && d > 0
		case TA:
			g = ta
			g.wine = d > 0
		case PHCheck7, PHCheck4, PHCheck356:
			g = gauge{sd: math.Hypot(f.PHCheck, f.PHRepeat/2), outlier: f.PHOutlier, base: nominal[r.What]}
			g.slope = (7 - g.base) / (7 - ph0)
		case Malic:
			m.assays = append(m.assays, assay{i, at, r.Value})
			continue
		case Chromatogram:
			m.spots = append(m.spots, spot{i, at, r.Text})
			continue
		case Bubble:
			m.locks = append(m.locks, m.lockReading(i, at, r))
			continue
		default:
			continue // conditions and acts: the season has them
		}
		g.what, g.reading, g.session, g.day, g.value = r.What, i, d, float64(d), r.Value
		gauges = append(gauges, g)
	}
	for i := range gauges {
		gauges[i].doubt = f.Outlier
	}
	m.panel = newPanel(f, m.chem, gauges)
	m.resid = make([]float64, len(m.panel.moving))
	m.listDays()
}

var nominal = map[What]float64{PHCheck7: 7.00, PHCheck4: 4.01, PHCheck356: 3.557}

// lockReading works out the gas that a bubble reading owes to other causes than
// malic acid, as malic acid: what is left of the fermentation's supersaturation
// (0.15 of saturation at first, gone over some 15 days; judged), warming, weather.
func (m *model) lockReading(i, day int, r Reading) lock {
	const (
		left    = 0.6  // g/L malic acid that the first supersaturation is worth
		weather = 0.03 // g/L/day: some 20 hPa within three days
	)
	l := lock{reading: i, day: day, seconds: r.Value, ln: math.Log(r.Value)}
	old := left / 15 * math.Exp(-float64(day)/15)
	warming := 0.0
	if day > 0 && day < len(m.season.temps) {
		warming = math.Max(0, m.season.temps[day]-m.season.temps[day-1]) * m.perDegree(day)
	}
	l.other = old + warming
	l.doubt = math.Sqrt(weather*weather + old*old + 0.25*warming*warming)
	return l
}

// perDegree is the malic acid whose CO2 a saturated wine sets free per °C of warming.
func (m *model) perDegree(day int) float64 {
	wine := gas.Liquid{Alcohol: or(m.facts.Alcohol, assumed.alcohol)}
	t := quantity.Celsius(math.Min(math.Max(m.season.temps[day], 8), 28))
	at := func(t quantity.Temperature) gas.Surroundings {
		return gas.Surroundings{Temperature: t, Barometer: quantity.Atmosphere}
	}
	set, err := gas.Official.Release(wine, at(t-1), at(t+1))
	if err != nil {
		return 0.15 // g/L malic acid per °C near 18 °C: the reference's 0.24 g/L CO2 for 15 to 20 °C
	}
	return float64(gas.ApparentMalic(set)) / 2
}

func (m *model) listDays() {
	m.slot = make([]int, m.season.now+2)
	for d := range m.slot {
		m.slot[d] = -1
	}
	want := func(d int) {
		if m.slot[d] < 0 {
			m.slot[d] = len(m.days)
			m.days = append(m.days, d)
		}
	}
	for _, i := range m.panel.moving {
		want(int(m.panel.gauges[i].day))
	}
	for _, a := range m.assays {
		want(a.day)
	}
	for _, s := range m.spots {
		want(s.day)
	}
	for _, l := range m.locks {
		want(l.day)
	}
	m.malicOn = make([]float64, len(m.days))
}

// A state is the hidden course at one z, as far as the likelihood wants it.
type state struct {
	k      malolactic.Constants
	m0     float64 // initial malic acid, g/L
	rest   float64 // of it never converted
	stop   float64 // coordinate of the stop, N(0,1); see season.stop
	again  float64 // the same for the bacteria whose adding ended it
	lagEnd float64
}

// at works out the course at z: m.work by day and m.malicOn by wanted day.
func (m *model) at(z []float64) state {
	s := m.begin(z)
	m.fillWander(m.wander, m.knots(z), nil)
	m.work, s.lagEnd, _ = m.workOf(m.work, m.factors, z, m.wander, &s, m.season, &m.past)
	tail := s.tail()
	for i, d := range m.days {
		m.malicOn[i] = s.rest + float64(tail.Left(m.work[d]))
	}
	return s
}

// begin is what z says apart from the course.
func (m *model) begin(z []float64) state {
	s := state{k: m.priors.Draw(z, m.how), m0: m.initialMalic(z), stop: z[zStall]}
	if len(m.past.Added) > 0 {
		s.again = z[m.dim-1]
	}
	s.rest = math.Min(m.priors.Rest.At(z[zRest]), s.m0/2)
	return s
}

// knots are the coordinates of the activity that comes and goes.
func (m *model) knots(z []float64) []float64 {
	if len(m.past.Added) > 0 {
		return z[zWander : m.dim-1]
	}
	return z[zWander:]
}

// converts is the malic acid that would be converted in the end, g/L.
func (s *state) converts() float64 { return s.m0 - s.rest }

// tail is its course.
func (s *state) tail() malolactic.Tail {
	return malolactic.NewTail(quantity.Concentration(s.converts()), s.k.HalfSaturation)
}

// workOf is the work by day with its stop, the end of the lag, and the day on which
// it stopped for good (+Inf for none). Bacteria added later end a stop; what they
// begin can stop again, as likely as the first did.
func (m *model) workOf(dst, factors, z, wander []float64, s *state, in *season, on *malolactic.Schedule) (work []float64, lagEnd, stall float64) {
	m0, km := s.converts(), float64(s.k.HalfSaturation)
	first := in.stop(s.stop, 0)
	if len(on.Added) == 0 {
		work, lag := s.k.Work(dst, factors, on, m.activity(z, wander, first.day))
		if math.IsInf(first.day, 1) {
			return work, float64(lag), first.hold(work, m0, km, 0)
		}
		return work, float64(lag), first.day
	}
	m.priors.DrawInocula(&s.k, z)
	work, lag := s.k.Work(dst, factors, on, m.activity(z, wander, first.day))
	stall = math.Min(first.day, first.falls(work, m0, km, 0))
	woken := slices.IndexFunc(on.Added, func(a malolactic.Addition) bool { return float64(a.Day) >= stall })
	if woken < 0 {
		if math.IsInf(first.day, 1) {
			first.hold(work, m0, km, 0)
		}
		return work, float64(lag), stall
	}
	if math.IsInf(first.day, 1) { // only now is its day known
		work, lag = s.k.Work(work, factors, on, m.activity(z, wander, stall))
	}
	from := on.Added[woken].Day
	return work, float64(lag), in.stop(s.again, from).hold(work, m0, km, from)
}

func (m *model) initialMalic(z []float64) float64 {
	return math.Min(math.Max(m.malic.At(z[zMalic]), 0.03), malicMax)
}

func (m *model) activity(z, wander []float64, stall float64) malolactic.Activity {
	// Stirring lees up helps by some tenth, give or take as much (judged).
	return malolactic.Activity{Wander: wander, Stir: bayes.Exp(0.1 + 0.1*z[zStir]), Stall: quantity.Days(stall)}
}

// fillWander turns knots into one multiplier a day: an autoregression of ln
// activity at knots WanderDays apart, with linear passages between. Knots that z
// does not have yet come from rng (nil: there are enough).
func (m *model) fillWander(dst, z []float64, rng *rand.Rand) {
	step, sd := m.faults.WanderDays, m.faults.WanderSD
	keep := math.Exp(-1.0)
	fresh := math.Sqrt(1 - keep*keep)
	draw := func(i int) float64 {
		if i < len(z) {
			return z[i]
		}
		return rng.NormFloat64()
	}
	x := draw(0)
	left := bayes.Exp(sd * x)
	for knot, d := 1, 0; d < len(dst); knot++ {
		x = keep*x + fresh*draw(knot)
		right := bayes.Exp(sd * x)
		rise, from := (right-left)/step, step*float64(knot-1)
		for ; d < len(dst) && float64(d) < from+step; d++ {
			dst[d] = left + rise*(float64(d)-from)
		}
		left = right
	}
}
