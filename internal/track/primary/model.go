package primary

import (
	"math"
	"slices"

	"elevage/science/bayes"
	"elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// A datum is one reading, ready for the likelihood.
type datum struct {
	hours   float64 // from pitching
	what    What
	value   float64 // specific gravity at 20 °C, Brix, g/L
	scatter float64
	grows   float64 // share of the value by which the scatter grows
	lift    float64
	offset  int // coordinate of the instrument's offset; −1: none
	shared  float64
	less    float64 // sugar that was not in yet when it was read, g/L
	reading int
}

// A model is one ferment with its data. Two are fitted: one that runs on, and one
// that has stalled.
type model struct {
	in      Input
	stalled bool
	grid    *primary.Grid
	priors  [fixed]bayes.Prior
	data    []datum
	late    []int // readings after At, left out
	now     float64
	until   float64 // a stall after this is none: now, or when the sugar was gone
	last    int     // node at or after now
	knots   int     // in use as coordinates
	offsets int
	dim     int
	table   *lookup
	yeast   quantity.Concentration
	added   []primary.Nitrogen

	path   primary.Path // scratch
	wander []float64
	pred   []float64
}

// stallPriors are those of a stall's fading, hours, and what use of sugar is left.
var stallFade = bayes.Prior{Name: "fading of a stall", Unit: "h", Family: bayes.LogNormal, Location: 10, Spread: 0.4}

// stallRest is the share of sugar use left after a stall: next to none. With more, a long
// flat line would be blamed on dying cells.
const stallRest = 0.005

func newModel(in Input, stalled bool) *model {
	table := shown()
	m := &model{in: in, stalled: stalled, priors: in.priors(), table: &table}
	m.now = math.Max(0, in.At.Sub(in.Pitched).Hours())
	m.until, m.yeast = m.now, in.Yeast
	if in.Wild {
		m.yeast = wildYeast
	}
	ahead := 24 * float64(in.Horizon)
	if in.NoForecast {
		ahead = 0
	}
	m.grid = primary.Coleman.NewGrid(in.warmth(), m.now+ahead+12)
	m.last = int(math.Ceil(m.now / m.grid.Step))
	for _, d := range in.Nutrients {
		m.added = append(m.added, primary.Nitrogen{Hours: math.Max(0, d.At.Sub(in.Pitched).Hours()), Amount: d.Amount})
	}
	for m.knots = 1; m.knots < len(knotDays) && knotDays[m.knots-1]*24 < m.now; m.knots++ {
	}
	m.gather()
	m.dim = fixed + m.knots + m.offsets
	if stalled {
		m.dim += 2
	}
	m.wander = make([]float64, m.grid.Nodes)
	m.pred = make([]float64, len(m.data))
	return m
}

// gather prepares the readings. A float's reading is brought to 20 °C with a rough
// guess of the alcohol, which hardly matters.
func (m *model) gather() {
	instruments := map[string]int{}
	first := m.firstGravity()
	for i, r := range m.in.Readings {
		if r.At.After(m.in.At) {
			m.late = append(m.late, i)
			continue
		}
		d := datum{hours: r.At.Sub(m.in.Pitched).Hours(), what: r.What, value: r.Value, offset: -1, reading: i}
		q := r.quality(d.hours > 6)
		d.scatter, d.grows, d.shared, d.lift = q.scatter, q.grows, q.offset, q.lift
		if r.What == Gravity || r.What == Brix || r.What == Float {
			sg, ok := m.at20(r, first)
			if !ok {
				continue
			}
			d.value = sg
		}
		if d.shared > 0 {
			key := string(r.What) + "\x00" + r.Instrument
			if r.What == Brix {
				key = string(Gravity) + "\x00" + r.Instrument
			}
			if _, ok := instruments[key]; !ok && m.offsets < 4 {
				instruments[key] = m.offsets
				m.offsets++
			}
			d.offset = fixed + m.knots + instruments[key]
		}
		for _, s := range m.in.Sugared {
			if s.At.After(r.At) {
				d.less += s.Amount.GPerL()
			}
		}
		m.data = append(m.data, d)
	}
}

func (m *model) firstGravity() float64 {
	for _, r := range m.in.Readings {
		if r.What == Gravity || r.What == Float {
			return r.Value
		}
		if r.What == Brix {
			if sg, err := strength.Brix(math.Max(0, r.Value)).SG(); err == nil {
				return float64(sg)
			}
		}
	}
	return 1.09
}

func (m *model) at20(r Reading, first float64) (float64, bool) {
	float := r.Graduated
	if float == (strength.Hydrometer{}) {
		float = strength.At20C
	}
	t := r.Temperature
	if t == 0 {
		t = m.in.warmth()(r.At.Sub(m.in.Pitched).Hours())
	}
	var c strength.Corrected
	var err error
	if r.What == Brix {
		c, err = float.CorrectBrix(strength.Brix(r.Value), t, 0)
		if err == nil {
			c, err = float.CorrectBrix(strength.Brix(r.Value), t, roughAlcohol(first, float64(c.SG)))
		}
	} else {
		c, err = float.CorrectSG(strength.SpecificGravity(r.Value), t, roughAlcohol(first, r.Value))
	}
	return float64(c.SG), err == nil
}

func roughAlcohol(first, now float64) quantity.Strength {
	return quantity.Strength(math.Min(16, math.Max(0, (first-now)*130)))
}

// A lot is the unknowns of one draw in their own units.
type lot struct {
	sugar, extract, perPercent float64
	draw                       primary.Draw
}

// usualPerPercent is the sugar for 1 % vol at the median yield; what the yield
// varies is drawn for each particle afterwards, since a float hardly tells it from
// the extract.
var usualPerPercent = primary.SugarPerPercent(primary.EthanolYield.Location)

// unfold turns coordinates into a lot. The wandering is laid out over the whole
// grid; knots beyond those in use come from more, which may be nil (no wandering).
func (m *model) unfold(z []float64, more []float64, to int) lot {
	p := &m.priors
	l := lot{sugar: p[zSugar].At(z[zSugar]), extract: p[zExtract].At(z[zExtract]), perPercent: usualPerPercent}
	l.draw = primary.Draw{
		Must: primary.Must{
			Sugar: quantity.Concentration(l.sugar), Nitrogen: quantity.Concentration(p[zNitrogen].At(z[zNitrogen])), Yeast: m.yeast,
			Factors: primary.LotFactors{Beta: p[zBeta].At(z[zBeta]), Death: p[zDeath].At(z[zDeath]), Lag: p[zLag].At(z[zLag])},
			Added:   m.added,
		},
		Brake: p[zBrake].At(z[zBrake]), Tail: p[zTail].At(z[zTail]), Stall: math.Inf(1), Rest: stallRest,
	}
	if m.stalled {
		l.draw.Stall = m.stallAt(z[m.dim-2])
		l.draw.Fade = stallFade.At(z[m.dim-1])
	}
	m.lay(z[fixed:fixed+m.knots], more, to)
	l.draw.Wander = m.wander
	return l
}

// stallAt spreads the stall between half a day and the end of the time in which one
// would have mattered, its density growing with time as alcohol does (ours).
func (m *model) stallAt(z float64) float64 {
	return 12 + (math.Max(24, m.until)-12)*math.Sqrt(bayes.NormalCDF(z))
}

// lay writes the wandering activity up to a node.
func (m *model) lay(z, more []float64, to int) {
	var ln [len(knotDays)]float64
	w := 0.0
	for k := range ln {
		x := 0.0
		switch {
		case k < len(z):
			x = z[k]
		case k-len(z) < len(more):
			x = more[k-len(z)]
		}
		if k == 0 {
			w = wanderSD * x
		} else {
			w = wanderCarry*w + wanderSD*math.Sqrt(1-wanderCarry*wanderCarry)*x
		}
		ln[k] = w
	}
	for k := range ln {
		ln[k] = math.Exp(ln[k])
	}
	k := 0
	for i := range min(to+1, len(m.wander)) {
		d := float64(i) * m.grid.Step / 24
		for k < len(knotDays)-1 && d > knotDays[k] {
			k++
		}
		if k == 0 || d > knotDays[k] {
			m.wander[i] = ln[k]
		} else {
			f := (d - knotDays[k-1]) / (knotDays[k] - knotDays[k-1])
			m.wander[i] = ln[k-1] + f*(ln[k]-ln[k-1])
		}
	}
}

// The warmth to come is not the last one read: the room changes, and the heat of the
// ferment itself goes. Two degrees either way, at 7 % a degree (Q10 of 2), set in over
// a day; ours, a proposal.
const comingWarmth = 2 * 0.07

// weather lets the days after now be warmer or colder than the last reading says.
func (m *model) weather(z float64, to int) {
	first := int(m.now/m.grid.Step) + 1
	for k := max(0, first); k < min(to+1, len(m.wander)); k++ {
		ahead := (float64(k)*m.grid.Step - m.now) / 24
		m.wander[k] *= math.Exp(-comingWarmth * z * math.Expm1(-ahead))
	}
}

// predict says what each reading should have shown.
func (m *model) predict(z []float64) []float64 {
	l := m.unfold(z, nil, m.last)
	m.grid.Run(&l.draw, &m.path, m.last)
	for i := range m.data {
		d := &m.data[i]
		s := m.path.At(math.Max(0, d.hours))
		alcohol := math.Max(0, (l.sugar-s)/l.perPercent)
		x := math.Max(0, s-d.less) + l.extract
		switch d.what {
		case Refractometer:
			m.pred[i] = m.table.refractometer(x, alcohol)
		case SugarTest:
			m.pred[i] = s + pentoses
		case SugarEnzyme:
			m.pred[i] = s
		default:
			m.pred[i] = m.table.gravity(x, alcohol) + d.lift
		}
		if d.offset >= 0 {
			m.pred[i] += d.shared * z[d.offset]
		}
	}
	return m.pred
}

// pentoses are what a reducing-sugar test reads in a dry wine, g/L: dry is then 2
// and not 1 (Purdue FS-56-W).
const pentoses = 1.0

var scatter = bayes.Student(tails)

// tails are the degrees of freedom of a reading's scatter: now and then one is far off.
const tails = 4

// at is the scatter where the reading should have shown p. That of a sugar test grows
// with the sugar that is there, not with what it read.
func (d *datum) at(p float64) float64 {
	if d.grows > 0 {
		return math.Hypot(d.scatter, d.grows*p)
	}
	return d.scatter
}

func (m *model) logL(z []float64) float64 {
	sum := 0.0
	for i, p := range m.predict(z) {
		sum += scatter.LogDensity(m.data[i].value, p, m.data[i].at(p))
	}
	return sum
}

// mode finds the posterior's peak by Gauss–Newton with Levenberg's damping, readings
// weighted by the t's own weights, and gives it with the inverse of the curvature.
func (m *model) mode(start []float64) *bayes.Guess {
	z := slices.Clone(start)
	n := len(m.data)
	base := make([]float64, n)
	jac := make([][]float64, m.dim)
	for j := range jac {
		jac[j] = make([]float64, n)
	}
	cost := func(z []float64) float64 {
		c := -m.logL(z)
		for _, v := range z {
			c += 0.5 * v * v
		}
		return c
	}
	now, damp := cost(z), 1e-2
	a := make([][]float64, m.dim)
	for i := range a {
		a[i] = make([]float64, m.dim)
	}
	g := make([]float64, m.dim)
	trial := make([]float64, m.dim)
	for range 12 {
		copy(base, m.predict(z))
		m.slopes(z, base, jac)
		m.normal(z, base, jac, a, g)
		better := false
		for range 5 {
			step := solve(a, g, damp)
			for j := range z {
				trial[j] = z[j] + math.Min(1.5, math.Max(-1.5, step[j]))
			}
			if c := cost(trial); c < now {
				better = c < now-1e-2
				copy(z, trial)
				now, damp = c, damp*0.3
				break
			}
			damp *= 8
		}
		if !better {
			break
		}
	}
	copy(base, m.predict(z))
	m.slopes(z, base, jac)
	m.normal(z, base, jac, a, g)
	return &bayes.Guess{Mean: z, Cov: invert(a)}
}

// slopes are the changes of the predictions along each coordinate, by differences.
func (m *model) slopes(z, base []float64, jac [][]float64) {
	const h = 0.02
	for j := range jac {
		keep := z[j]
		z[j] = keep + h
		for i, p := range m.predict(z) {
			jac[j][i] = (p - base[i]) / h
		}
		z[j] = keep
	}
}

// normal builds the normal equations with the prior.
func (m *model) normal(z, base []float64, jac, a [][]float64, g []float64) {
	w := make([]float64, len(base))
	r := make([]float64, len(base))
	for i, d := range m.data {
		r[i] = d.value - base[i]
		sd := d.at(base[i])
		u := r[i] / sd
		w[i] = (tails + 1) / (tails + u*u) / (sd * sd)
	}
	for j := range a {
		g[j] = -z[j]
		for i := range r {
			g[j] += jac[j][i] * w[i] * r[i]
		}
		for k := 0; k <= j; k++ {
			s := 0.0
			for i := range r {
				s += jac[j][i] * w[i] * jac[k][i]
			}
			if j == k {
				s++
			}
			a[j][k], a[k][j] = s, s
		}
	}
}
