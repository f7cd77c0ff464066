package track

import (
	"math"
	"slices"
	"time"

	"elevage/science/malolactic"
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

// A model is one parcel, with its siblings, and the data, ready to say how likely
// they are at z.
type model struct {
	course
	priors malolactic.Priors
	faults Faults
	malic  malolactic.Distribution
	chem   *chemistry
	panel  *panel
	used   []Reading // readings up to Input.At, in the order given
	kin    []*kin
	dim    int
	own    int // one past the knots of the parcel's own activity
	again  int // coordinate of where bacteria added later stop, −1 for none added
	came   int // first coordinate of the malic acid that arrivals brought
	resid  []float64
}

func newModel(in Input) *model {
	m := &model{priors: in.Options.Priors, faults: in.Options.Faults, used: upTo(in.Readings, in.At), again: -1}
	m.course = newCourse(in.Facts, m.used, &in, in.Inflows)
	m.malic = malicPrior(m.facts, &m.priors)
	ph := or(m.facts.PH, firstPH(m.used))
	m.chem = newChemistry(m.facts, ph)
	m.own = zWander + 2 + int(float64(m.season.now+1)/m.faults.WanderDays)
	m.dim = m.own
	if wakes(m.past.Added) {
		m.again = m.dim
		m.dim++
	}
	m.came = m.dim
	m.dim += len(m.season.inflows)
	m.kinOf(&in)
	m.sort()
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
		m.assays = append(m.assays, assay{-1, m.want(0), float64(*m.facts.Malic)})
	}
	take := func(parcel int, c *course, rows []Reading) {
		for i, r := range rows {
			d := c.season.day(r.On)
			at := max(0, d)
			var g gauge
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
				c.assays = append(c.assays, assay{i, c.want(at), r.Value})
				continue
			case Chromatogram:
				c.spots = append(c.spots, spot{i, c.want(at), r.Text})
				continue
			case Bubble:
				c.locks = append(c.locks, c.lockReading(i, c.want(at), r))
				continue
			default:
				continue // conditions and acts: the season has them
			}
			if g.wine {
				g.on = c.want(d)
			}
			session := m.season.day(r.On)
			g.what, g.reading, g.parcel, g.session, g.day, g.value = r.What, i, parcel, session, float64(session), r.Value
			gauges = append(gauges, g)
		}
	}
	take(0, &m.course, m.used)
	for i, q := range m.kin {
		take(i+1, &q.course, q.Own)
	}
	for i := range gauges {
		gauges[i].doubt = f.Outlier
	}
	m.panel = newPanel(f, m.chem, m.season.inflows, gauges)
	m.resid = make([]float64, len(m.panel.moving))
}

var nominal = map[What]float64{PHCheck7: 7.00, PHCheck4: 4.01, PHCheck356: 3.557}

// idle are the coordinates that nothing read so far depends on.
func (m *model) idle() []int {
	courses := []*course{&m.course}
	for _, q := range m.kin {
		courses = append(courses, &q.course)
	}
	used := map[int]bool{}
	maybe := []int{zKit, zSpot, zStir, zLock, zBuffer, malolactic.ZAcclimatised, malolactic.ZMolecularHalf}
	for _, c := range courses {
		used[zKit] = used[zKit] || len(c.assays) > 0
		used[zSpot] = used[zSpot] || len(c.spots) > 0
		used[zStir] = used[zStir] || slices.Contains(c.past.Stirred, true)
		used[malolactic.ZAcclimatised] = used[malolactic.ZAcclimatised] || c.how == malolactic.Starter
		for _, i := range c.past.On {
			used[malolactic.ZMolecularHalf] = used[malolactic.ZMolecularHalf] || c.past.Conditions[i].Molecular > 0
		}
	}
	used[zLock] = len(m.locks) > 0
	used[zBuffer] = slices.ContainsFunc(m.panel.moving, func(i int) bool { return m.panel.gauges[i].what == PH })
	var idle []int
	for _, q := range m.kin {
		used[q.first+kLag] = q.parted == 0
		used[q.first+kLock] = len(q.locks) > 0
		used[q.first+kAgain] = wakes(q.past.Added)
		maybe = append(maybe, q.first+kLag, q.first+kLock, q.first+kAgain)
	}
	for _, z := range maybe {
		if !used[z] {
			idle = append(idle, z)
		}
	}
	return idle
}

// at works out the courses at z: work by day, malicOn and acidOn by wanted day.
func (m *model) at(z []float64) state {
	s := m.begin(z)
	m.fillWander(m.wander, m.knots(z), nil)
	m.work = m.run(m.work, m.factors, m.wander, z, &s, m.season, &m.past)
	m.look(&s, m.brought(z))
	return s
}

// begin is what z says apart from the course.
func (m *model) begin(z []float64) state {
	s := state{k: m.priors.Draw(z, m.how), m0: m.initialMalic(z), stop: z[zStall]}
	if m.again >= 0 {
		s.again = z[m.again]
	}
	s.rest = math.Min(m.priors.Rest.At(z[zRest]), s.m0/2)
	return s
}

// knots are the coordinates of the activity that comes and goes.
func (m *model) knots(z []float64) []float64 { return z[zWander:m.own] }

// brought is the malic acid of each arrival.
func (m *model) brought(z []float64) func(i int) float64 {
	if len(m.season.inflows) == 0 {
		return nothing
	}
	return func(i int) float64 { return m.season.inflows[i].malic(z[m.came+i]) }
}

func nothing(int) float64 { return 0 }

func (m *model) initialMalic(z []float64) float64 {
	return math.Min(math.Max(m.malic.At(z[zMalic]), 0.03), malicMax)
}
