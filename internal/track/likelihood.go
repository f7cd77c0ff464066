package track

import (
	"math"

	"elevage/science/bayes"
)

// logLikelihood of everything read, at z.
func (m *model) logLikelihood(z []float64) float64 {
	s := m.at(z)
	l := m.seen(&m.course, z, &s, z[zLock])
	for _, q := range m.kin {
		its := m.atKin(q, z, &s)
		l += m.seen(&q.course, z, &its, z[q.first+kLock])
	}
	m.residuals(m.resid, z, &s)
	return l + m.panel.logLikelihood(m.resid)
}

// seen is the log-likelihood of what shows malic acid or its going in one course.
func (m *model) seen(c *course, z []float64, s *state, lock float64) float64 {
	l := 0.0
	for i := range c.assays {
		l += m.assayLog(&c.assays[i], c.malicOn[c.slot[c.assays[i].day]], z[zKit])
	}
	for i := range c.spots {
		l += bayes.Log(m.spotChance(c.spots[i].word, c.malicOn[c.slot[c.spots[i].day]], z[zSpot]))
	}
	return l + m.locksLog(c, lock, s)
}

// locksLog sums lockLog over all bubbles, with one logarithm for many.
func (m *model) locksLog(c *course, z float64, s *state) float64 {
	l, spread := 0.0, 1.0
	for i := range c.locks {
		if c.locks[i].seconds >= NoBubbleSeconds {
			l += m.lockLog(c, &c.locks[i], z, s)
			continue
		}
		expect, variance := m.lockExpectation(c, &c.locks[i], z, s)
		off := c.locks[i].ln + expect
		tail := 1 + off*off/(variance*lockT.Nu())
		l += m.faults.LockTemper * lockT.Constant()
		spread *= variance * tail * tail * tail * tail * tail // squared: σ² (1+u²/ν)^(ν+1)
		if spread > 1e200 || spread < 1e-200 {
			l -= m.faults.LockTemper * 0.5 * bayes.Log(spread)
			spread = 1
		}
	}
	return l - m.faults.LockTemper*0.5*bayes.Log(spread)
}

// residuals of the moving gauges: value less what base and courses explain.
func (m *model) residuals(dst, z []float64, s *state) {
	scale := bayes.Exp(m.chem.spread * z[zBuffer])
	from := m.chem.place(s.m0)
	var dph, dta float64
	parcel, day := -1, 0 // of these
	for i, gi := range m.panel.moving {
		g := &m.panel.gauges[gi]
		if g.parcel != parcel || g.on != day { // one session reads several things of one wine
			c := &m.course
			if g.parcel > 0 {
				c = &m.kin[g.parcel-1].course
			}
			dph, dta = m.chem.between(&from, c.acidOn[c.slot[g.on]])
			parcel, day = g.parcel, g.on
		}
		if g.what == TA {
			dst[i] = g.value - g.base - dta
		} else {
			dst[i] = g.value - g.base - scale*dph
		}
	}
}

var assayT = bayes.Student(5)

// assayLog: Student t about the true value with a kit's shared bias, a reading at
// or below the kit's floor counting as "below it", and a small chance of a reading
// that has nothing to do with the wine.
func (m *model) assayLog(a *assay, malic, kit float64) float64 {
	const floor = 0.05 // g/L: small-winery kits read high below it (WRE)
	f := &m.faults
	sd := f.AssayFixed + f.AssayShare*malic
	mean := malic*(1+f.AssayKit*kit) + 0.3*f.AssayFixed*kit
	rate := f.Outlier
	if a.reading < 0 {
		rate /= 4 // a fact was written down with more care than a reading in passing
	}
	if a.value <= floor {
		p := assayT.CDF(floor, mean, sd)
		return math.Log((1-rate)*p + rate*0.2)
	}
	wild := math.Log(rate) - math.Log(8) // anywhere from 0 to 8 g/L
	return bayes.LogAddExp(math.Log(1-rate)+assayT.LogDensity(a.value, mean, sd), wild)
}

const (
	spotHalf   = 0.12 // g/L at which a spot is seen half the time (judged, after kit texts)
	spotSpread = 0.4  // SD of its ln
	spotSlope  = 3.5  // logistic slope in ln malic
	spotStrong = 2.5  // times spotHalf: half of such spots are called strong (judged)
)

var spotGap = spotSlope * math.Log(spotStrong)

// spotChance is the chance of the word at this malic acid.
func (m *model) spotChance(word string, malic, z float64) float64 {
	x := spotSlope * (bayes.Log(malic/spotHalf) - spotSpread*z)
	seen := bayes.Logistic(x)
	strong := bayes.Logistic(x - spotGap)
	p := seen - strong
	switch word {
	case SpotNone:
		p = 1 - seen
	case SpotStrong:
		p = strong
	}
	return (1-m.faults.Misread)*p + m.faults.Misread/3
}

const (
	lockCentre = -0.154
	lockSpread = 1.0 // SD of its ln: 0.9 for the bubble, 0.5 for the leak
)

// lockLog is the tempered log-normal likelihood of a bubble interval; z is that of the
// parcel's own airlock.
func (m *model) lockLog(c *course, l *lock, z float64, s *state) float64 {
	f := &m.faults
	expect, variance := m.lockExpectation(c, l, z, s)
	sd := math.Sqrt(variance)
	if l.seconds >= NoBubbleSeconds {
		p := lockT.CDF(-math.Log(NoBubbleSeconds), expect, sd)
		return f.LockTemper * math.Log(f.LockSilent+(1-f.LockSilent)*p)
	}
	return f.LockTemper * lockT.LogDensity(-l.ln, expect, sd)
}

// lockExpectation is ln of the bubbles per second to be expected, and its variance.
func (m *model) lockExpectation(c *course, l *lock, z float64, s *state) (expect, variance float64) {
	d := l.day
	km := float64(s.k.HalfSaturation)
	a, b := max(0, d-1), min(d+1, len(c.work)-1)
	going := c.malicOn[c.slot[d]] - s.rest
	rate := (c.work[b] - c.work[a]) / float64(b-a) * going / (km + going)
	total := rate + l.other + 0.005
	expect = bayes.Log(total) + c.bubble + lockSpread*z
	weak := l.doubt / total
	return expect, m.faults.LockScatter*m.faults.LockScatter + weak*weak
}

var lockT = bayes.Student(4) // locksLog writes its power, ν+1 = 5, out
