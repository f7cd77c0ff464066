package track

import (
	"math"

	"elevage/science/bayes"
)

// Faults of the instruments, one standard deviation. Marks and sources are in
// docs/inference.md; a cellar that knows its meter better edits these.
type Faults struct {
	PHRepeat    float64 `json:"ph_repeat"`      // one reading, in a session
	PHSession   float64 `json:"ph_session"`     // offset fresh with each calibration
	PHSlow      float64 `json:"ph_slow"`        // offset that lasts
	PHSlowDays  float64 `json:"ph_slow_days"`   // for about this long
	PHSlope     float64 `json:"ph_slope"`       // what an unchecked slope adds at wine pH, from 7.00
	PHCheck     float64 `json:"ph_check"`       // buffers and their temperature
	TARepeat    float64 `json:"ta_repeat_g_l"`  // one titration
	TASlow      float64 `json:"ta_slow_g_l"`    // ageing of the titrant
	TASlowDays  float64 `json:"ta_slow_days"`   // over about this long
	TABottle    float64 `json:"ta_bottle_g_l"`  // bias shared by all titrations from one bottle
	Outlier     float64 `json:"outlier_rate"`   // wrong vessel, swapped digits
	PHOutlier   float64 `json:"ph_outlier"`     // how far such a reading strays
	TAOutlier   float64 `json:"ta_outlier_g_l"` //
	Bitartrate  float64 `json:"bitartrate_g_l"` // lost over the months, mean and SD alike
	SampleCO2   float64 `json:"sample_co2_g_l"` // left in the first samples, mean; the SD is twice that
	AssayFixed  float64 `json:"assay_fixed_g_l"`
	AssayShare  float64 `json:"assay_share"`  // of the reading
	AssayKit    float64 `json:"assay_kit"`    // bias shared by all assays, share of the reading
	Misread     float64 `json:"spot_misread"` // a chromatogram read altogether wrong
	LockScatter float64 `json:"lock_scatter"` // SD of ln of a bubble rate
	LockTemper  float64 `json:"lock_temper"`  // power to which the airlock's likelihood is raised
	LockSilent  float64 `json:"lock_silent"`  // chance that a lock is silent for no reason of the wine's
	WanderSD    float64 `json:"wander_sd"`    // SD of ln of activity that comes and goes
	WanderDays  float64 `json:"wander_days"`  // over about this long
}

// DefaultFaults are a hand meter, a kit titration and a person with two hands.
func DefaultFaults() Faults {
	return Faults{
		PHRepeat: 0.025, PHSession: 0.040, PHSlow: 0.030, PHSlowDays: 30, PHSlope: 0.020, PHCheck: 0.015,
		TARepeat: 0.12, TASlow: 0.06, TASlowDays: 60, TABottle: 0.15,
		Outlier: 0.02, PHOutlier: 0.25, TAOutlier: 0.9,
		Bitartrate: 0.15, SampleCO2: 0.05,
		AssayFixed: 0.05, AssayShare: 0.06, AssayKit: 0.06, Misread: 0.03,
		LockScatter: 0.6, LockTemper: 0.5, LockSilent: 0.3,
		WanderSD: 0.4, WanderDays: 10,
	}
}

// A gauge is one pH or TA reading, or a check of the meter: everything about it
// that does not depend on the hidden course.
type gauge struct {
	reading int // index into the readings used; −1 for a fact
	what    What
	day     float64
	session int // day number of the parcel judged; facts are a session of their own
	parcel  int // 0 for the parcel judged, else its sibling
	on      int // day of its own course
	value   float64
	base    float64 // expected value apart from what the malic acid does
	sd      float64 // of the reading itself
	outlier float64 // SD of a wild one
	wine    bool    // moved by the hidden course
	slope   float64 // share of the slope error that it sees
	doubt   float64 // chance that it is wild, re-estimated as the sampler settles
	truth   bool    // not a reading but the wine itself, free of instruments
}

// A panel is all gauges together: a Gaussian once the course is given, since what
// is unknown about meters, titrant and the wine's own starting point adds up
// linearly. It is worked out once; only the residuals change from particle to
// particle.
type panel struct {
	f    *Faults
	chem *chemistry
	// inflows are the wines that came into the parcel judged.
	inflows []arrival
	gauges  []gauge
	moving  []int       // gauges that the course moves
	fixed   [][]float64 // covariance without reading noise
	k       [][]float64 // inverse of the full covariance
	sdLOO   []float64   // SD of each gauge given all others
	chol    []float64   // packed inverse Cholesky factor for the moving gauges given the others
	shift   []float64   // what the other gauges say the moving ones are off by
	logDet  float64
}

const (
	phPriorSD = 0.25 // true pH of a wine about the middle, before its reading
	taPriorSD = 1.5
)

func newPanel(f *Faults, chem *chemistry, inflows []arrival, gauges []gauge) *panel {
	p := &panel{f: f, chem: chem, inflows: inflows, gauges: gauges}
	n := len(gauges)
	p.fixed = square(n)
	for i := range gauges {
		gauges[i].base += p.expected(&gauges[i])
		if gauges[i].wine {
			p.moving = append(p.moving, i)
		}
		for j := 0; j <= i; j++ {
			p.fixed[i][j] = p.covariance(&gauges[i], &gauges[j])
			p.fixed[j][i] = p.fixed[i][j]
		}
	}
	p.k = square(n)
	p.sdLOO = make([]float64, n)
	p.refresh()
	return p
}

func titration(w What) bool { return w == TA }

// covariance of two gauges from everything they share.
func (p *panel) covariance(a, b *gauge) float64 {
	f, gap := p.f, math.Abs(a.day-b.day)
	lost, sample := f.Bitartrate*f.Bitartrate, 4*f.SampleCO2*f.SampleCO2
	cov := lost*p.lostGain(a)*p.lostGain(b) + sample*p.co2Gain(a)*p.co2Gain(b)
	instrument := !a.truth && !b.truth
	kin := a.parcel == b.parcel && a.parcel > 0
	switch {
	case titration(a.what) && titration(b.what):
		cov += taPriorSD*taPriorSD + p.arrived(a, b)
		if kin {
			cov += kinTA * kinTA
		}
		if instrument {
			cov += f.TABottle*f.TABottle + f.TASlow*f.TASlow*math.Exp(-gap/f.TASlowDays)
		}
	case !titration(a.what) && !titration(b.what):
		if instrument {
			cov += f.PHSlow * f.PHSlow * math.Exp(-gap/f.PHSlowDays)
			if a.session == b.session {
				cov += f.PHSession*f.PHSession + f.PHSlope*f.PHSlope*a.slope*b.slope
			}
		}
		if a.readsWine() && b.readsWine() {
			cov += phPriorSD * phPriorSD
		}
		if a.what == PH && b.what == PH {
			cov += p.arrived(a, b)
			if kin {
				cov += kinPH * kinPH
			}
		}
	}
	return cov
}

func (g *gauge) readsWine() bool { return g.what == PH || g.what == PHControl }

// lostGain is what a g/L of bitartrate that will be lost in the end does to the
// reading by then; the control is kept cold and full from day 0 and is left out.
func (p *panel) lostGain(g *gauge) float64 {
	past := 1 - math.Exp(-math.Max(0, g.day)/40)
	switch g.what {
	case TA:
		return p.chem.khtTA * past
	case PH:
		return p.chem.khtPH * past
	}
	return 0
}

func (p *panel) co2Gain(g *gauge) float64 {
	if g.what == TA {
		return p.chem.co2TA * math.Exp(-math.Max(0, g.day)/20)
	}
	return 0
}

// refresh works out inverse and factor anew for the present doubts.
func (p *panel) refresh() {
	n := len(p.gauges)
	full := square(n)
	for i := range full {
		copy(full[i], p.fixed[i])
		full[i][i] += p.noise(i)
	}
	invert(p.k, full)
	for i := range p.sdLOO {
		p.sdLOO[i] = 1 / math.Sqrt(p.k[i][i])
	}
	p.condition(full)
}

// noise is the variance of reading i, between that of a sound and of a wild
// reading by the chance that it is wild (mean precision).
func (p *panel) noise(i int) float64 {
	g := &p.gauges[i]
	v := g.sd * g.sd
	w := v + g.outlier*g.outlier
	return 1 / ((1-g.doubt)/v + g.doubt/w)
}

// condition folds the gauges that the course does not move into the expectation
// and covariance of those that it does, and inverts the factor of the latter.
func (p *panel) condition(full [][]float64) {
	m := len(p.moving)
	still := make([]int, 0, len(p.gauges)-m)
	for i := range p.gauges {
		if !p.gauges[i].wine {
			still = append(still, i)
		}
	}
	a := pick(full, still, still)
	inv := square(len(still))
	invert(inv, a)
	cross := pick(full, p.moving, still)
	resid := make([]float64, len(still))
	for i, s := range still {
		resid[i] = p.gauges[s].value - p.gauges[s].base
	}
	p.shift = make([]float64, m)
	cov := pick(full, p.moving, p.moving)
	for i := 0; i < m; i++ {
		gain := make([]float64, len(still))
		for j := range still {
			for k := range still {
				gain[j] += cross[i][k] * inv[k][j]
			}
			p.shift[i] += gain[j] * resid[j]
		}
		for l := 0; l < m; l++ {
			for j := range still {
				cov[i][l] -= gain[j] * cross[l][j]
			}
		}
	}
	p.factor(cov)
}

func (p *panel) factor(cov [][]float64) {
	m := len(cov)
	l := cholesky(cov)
	p.chol = make([]float64, m*(m+1)/2)
	p.logDet = 0
	for i := 0; i < m; i++ { // L⁻¹, row by row
		p.logDet += 2 * math.Log(l[i][i])
		row := p.chol[i*(i+1)/2:]
		for j := 0; j <= i; j++ {
			s := 0.0
			if i == j {
				s = 1
			}
			for k := j; k < i; k++ {
				s -= l[i][k] * p.chol[k*(k+1)/2+j]
			}
			row[j] = s / l[i][i]
		}
	}
}

// logLikelihood of residuals of the moving gauges (value − base − what the course
// does), shifted by what the others say.
func (p *panel) logLikelihood(resid []float64) float64 {
	q := 0.0
	for i := range resid {
		resid[i] -= p.shift[i]
	}
	for i := range resid {
		s := bayes.Dot(p.chol[i*(i+1)/2:i*(i+1)/2+i+1], resid)
		q += s * s
	}
	return -0.5 * (q + p.logDet)
}

// leaveOneOut fills out with each gauge's residual against what all other gauges
// and the course predict, given all residuals.
func (p *panel) leaveOneOut(out, resid []float64) {
	for i := range out {
		s := 0.0
		for j, r := range resid {
			s += p.k[i][j] * r
		}
		out[i] = s / p.k[i][i]
	}
}

// settle re-estimates the doubt of each gauge from leave-one-out residuals of
// particles: the chance that it is wild against that it is sound. It reports
// whether any doubt moved enough to matter.
func (p *panel) settle(loo [][]float64) bool {
	moved := false
	for i := range p.gauges {
		g := &p.gauges[i]
		sound := p.sdLOO[i]*p.sdLOO[i] - p.noise(i) + g.sd*g.sd
		a, b := math.Sqrt(math.Max(sound, 1e-8)), math.Sqrt(math.Max(sound, 1e-8)+g.outlier*g.outlier)
		doubt := 0.0
		for _, r := range loo {
			wild := math.Log(p.f.Outlier) + bayes.NormalLogDensity(r[i], 0, b)
			fine := math.Log(1-p.f.Outlier) + bayes.NormalLogDensity(r[i], 0, a)
			doubt += bayes.Logistic(wild - fine)
		}
		doubt /= float64(len(loo))
		if math.Abs(doubt-g.doubt) > 0.02 {
			moved = true
		}
		g.doubt = doubt
	}
	if moved {
		p.refresh()
	}
	return moved
}

// estimate prepares the expectation of g given all gauges and a course: the gains
// on their residuals, and the variance that is left.
func (p *panel) estimate(g gauge) (gain []float64, variance float64) {
	n := len(p.gauges)
	c := make([]float64, n)
	for i := range c {
		c[i] = p.covariance(&g, &p.gauges[i])
	}
	gain = make([]float64, n)
	variance = p.covariance(&g, &g)
	for i := range gain {
		for j := range c {
			gain[i] += p.k[i][j] * c[j]
		}
		variance -= gain[i] * c[i]
	}
	return gain, math.Max(variance, 0)
}

// expected is what the mean loss of bitartrate and the mean CO2 left in the sample
// add to a reading on its day.
func (p *panel) expected(g *gauge) float64 {
	return p.f.Bitartrate*p.lostGain(g) + p.f.SampleCO2*p.co2Gain(g) + p.moved(g)
}

// moved is by how much wine that came in before a reading moved what it reads of.
func (p *panel) moved(g *gauge) float64 {
	by := 0.0
	if g.parcel > 0 || g.what != PH && g.what != TA {
		return 0
	}
	for i := range p.inflows {
		if f := &p.inflows[i]; float64(f.day) <= g.day {
			by = (1-f.Share)*by + f.Share*f.differs(g.what)
		}
	}
	return by
}

// arrived is the variance that the doubt about what came in gives to two readings
// after it.
func (p *panel) arrived(a, b *gauge) float64 {
	v := 0.0
	if a.parcel > 0 || b.parcel > 0 {
		return 0
	}
	for i := range p.inflows {
		if f := &p.inflows[i]; float64(f.day) <= math.Min(a.day, b.day) {
			sd := f.Share * f.doubt(a.what)
			v = (1-f.Share)*(1-f.Share)*v + sd*sd
		}
	}
	return v
}

// predictiveVariance is the variance of one more gauge given all that there are
// (the course held fixed), and perhaps one more that is read beside it.
func (p *panel) predictiveVariance(g gauge, beside *gauge) float64 {
	v := p.given(&g, &g) + g.sd*g.sd
	if beside != nil {
		c := p.given(&g, beside)
		v -= c * c / (p.given(beside, beside) + beside.sd*beside.sd)
	}
	return v
}

// given is the covariance of two more gauges, without their own noise, given all that
// there are.
func (p *panel) given(a, b *gauge) float64 {
	n := len(p.gauges)
	ca, cb := make([]float64, n), make([]float64, n)
	for i := range p.gauges {
		ca[i], cb[i] = p.covariance(a, &p.gauges[i]), p.covariance(b, &p.gauges[i])
	}
	v := p.covariance(a, b)
	for i, row := range p.k {
		for j, k := range row {
			v -= ca[i] * k * cb[j]
		}
	}
	return v
}
