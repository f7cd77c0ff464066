package ageing

import (
	"math"

	"elevage/science/ageing"
	"elevage/science/bayes"
)

// The unknown constants, one standard-normal coordinate each.
const (
	zIngress = iota
	zPerOxygen
	zQ10
	zFreeShare
	zLater
	zBinding
	zRelease
	zHolding
	unknowns
)

// The filtered state: free, bound, the SO2 that oxygen taken up has yet to use, and
// the offset of each test method. All in mg/L.
const (
	free = iota
	bound
	owed
	firstOffset
	maxOffsets = 5
	maxState   = firstOffset + maxOffsets
)

// What is left out of the balance (lees, late loss without oxygen, an ill-fitting
// bung for a month) is taken as scatter of each month's loss: a share of the loss
// and a little in any case. Both are judgements, not published figures.
const (
	lossScatter  = 0.35 // of the month's loss
	monthScatter = 0.3  // mg/L in a month
	leastScatter = 0.3  // of that, is left when free SO2 is all but gone
	boundScatter = 1.0  // mg/L in a month
	bindScatter  = 0.05 // of a dose, from one dose to the next
	outlierShare = 0.02 // of readings (judgement; wrong vessel, swapped digits)
	outlierSD    = 25.0 // mg/L
	monthDays    = 365.25 / 12
)

// priors are those of the unknowns, with what earlier lots taught put in.
func (in Input) priors() [unknowns]bayes.Prior {
	p := [unknowns]bayes.Prior{
		zIngress:   ageing.Ingress(in.Vessel, in.Size),
		zPerOxygen: ageing.PerOxygen,
		zQ10:       ageing.Q10,
		zFreeShare: ageing.FreeShare,
		zLater:     ageing.LaterBinding,
		zBinding:   ageing.BindingTime,
		zRelease:   ageing.Release,
		zHolding:   ageing.Holding,
	}
	if in.Prior != nil {
		p[zIngress] = in.Prior.Ingress
		p[zFreeShare] = in.Prior.FreeShare
	}
	return p
}

// constants are the unknowns of one draw in their own units.
type constants struct {
	ingress, perOxygen, lnQ10           float64
	share, later, tau, release, holding float64
	freeShares                          [2]float64 // of a first and of a later dose
	baseLoss                            float64    // mg/L free SO2 a day at 15 °C
}

func constantsAt(p *[unknowns]bayes.Prior, z []float64) constants {
	c := constants{
		ingress: p[zIngress].At(z[zIngress]), perOxygen: p[zPerOxygen].At(z[zPerOxygen]), lnQ10: math.Log(p[zQ10].At(z[zQ10])),
		share: p[zFreeShare].At(z[zFreeShare]), later: p[zLater].At(z[zLater]), tau: p[zBinding].At(z[zBinding]), release: p[zRelease].At(z[zRelease]), holding: p[zHolding].At(z[zHolding]),
	}
	c.freeShares = [2]float64{c.share, 1 - (1-c.share)*c.later}
	c.baseLoss = c.ingress * c.perOxygen / 365.25
	return c
}

func (c constants) freeShare(order int) float64 { return c.freeShares[min(order, 1)] }

// warmth is the mean of Q10^x over a span whose x = (T−15)/10 has this mean and
// variance (second order in the variance).
func (c constants) warmth(mean, variance float64) float64 {
	if mean == 0 && variance == 0 {
		return 1
	}
	return math.Exp(c.lnQ10*mean + 0.5*c.lnQ10*c.lnQ10*variance)
}

// A filter carries the Gaussian belief about the state for one draw of the constants.
type filter struct {
	c       constants
	n       int // of state variables in use
	m       [maxState]float64
	p       [maxState][maxState]float64
	pending float64 // added, not yet bound
	logL    float64
}

func newFilter(tl *timeline, c constants) filter {
	f := filter{c: c, n: firstOffset + len(tl.offsets)}
	f.m[free], f.p[free][free] = tl.first[0], tl.first[1]*tl.first[1]
	f.m[bound], f.p[bound][bound] = tl.bound[0], tl.bound[1]*tl.bound[1]
	for i, q := range tl.offsets {
		f.m[firstOffset+i], f.p[firstOffset+i][firstOffset+i] = q.offset, q.offsetSD*q.offsetSD
	}
	return f
}

// A look is what a draw expected of a reading before it saw it.
type look struct{ expected, sd, wild float64 }

// run filters the record; looks, if given, is filled per reading.
func (f *filter) run(steps []step, looks []look) {
	for i := range steps {
		s := &steps[i]
		if s.days > 0 {
			f.wait(s)
		}
		switch s.what {
		case doses:
			f.dose(s)
		case breathes:
			f.m[owed] += f.c.perOxygen * s.amount
			f.p[owed][owed] += sq(f.c.perOxygen * s.spread)
			f.m[free] = max(0, f.m[free]+s.freeStep)
		case reads:
			l := f.read(s)
			if looks != nil {
				looks[s.reading] = l
			}
		}
	}
}

// wait lets time pass: binding, use of oxygen, ingress.
func (f *filter) wait(s *step) {
	if f.pending > 1e-6 {
		b := f.pending * -math.Expm1(-s.days/f.c.tau)
		f.pending -= b
		f.m[free] = max(0, f.m[free]-b)
		f.m[bound] += b
	}
	used := -math.Expm1(-s.days / float64(ageing.OxygenUse))
	steady := f.c.baseLoss * f.c.warmth(s.warm, s.warmVar) * s.days
	demand := steady + max(0, f.m[owed])*used
	before := f.m[free]
	after := ageing.Deplete(before, demand, f.c.holding)
	// Slopes of the step: near 1 while there is plenty of free SO2, less as it runs low.
	c := ageing.Slowing(after, f.c.holding)
	a := min(1, c/max(1e-9, ageing.Slowing(before, f.c.holding)))
	f.m[free] = after
	// what oxygen takes beyond the fall of free SO2 comes out of the bound
	f.m[bound] = max(0, f.m[bound]-max(0, (1+f.c.release)*demand-(before-after)))
	f.m[owed] *= 1 - used
	f.mix(a, c*used, f.c.release*used, 1-used)
	months := s.days / monthDays
	scatter := sq(monthScatter) * months
	if months > 0 {
		scatter += sq(lossScatter*steady) / months
	}
	f.p[free][free] += scatter * sq(max(c, leastScatter))
	f.p[bound][bound] += sq(boundScatter) * months
}

// mix applies free' = a·free − cu·owed, bound' = bound − ru·owed, owed' = k·owed to
// the covariance.
func (f *filter) mix(a, cu, ru, k float64) {
	for j := range f.n {
		o := f.p[owed][j]
		f.p[free][j] = a*f.p[free][j] - cu*o
		f.p[bound][j] -= ru * o
		f.p[owed][j] = k * o
	}
	for i := range f.n {
		o := f.p[i][owed]
		f.p[i][free] = a*f.p[i][free] - cu*o
		f.p[i][bound] -= ru * o
		f.p[i][owed] = k * o
	}
}

func (f *filter) dose(s *step) {
	b := f.c.freeShare(s.order)
	f.m[free] += s.amount
	f.pending += (1 - b) * s.amount
	f.p[free][free] += sq(b*s.spread) + sq(bindScatter*s.amount)
	f.p[bound][bound] += sq((1-b)*s.spread) + sq(bindScatter*s.amount)
	cov := (1-b)*b*s.spread*s.spread - sq(bindScatter*s.amount)
	f.p[free][bound] += cov
	f.p[bound][free] += cov
}

// read takes a reading in: a Gaussian update weighted by the chance that the
// reading is not an outlier (a mixture collapsed to its first two moments).
func (f *filter) read(s *step) look {
	o := firstOffset + s.method
	var ph [maxState]float64 // covariance of the state with what is measured
	mean := f.m[free] + f.m[o]
	for i := range f.n {
		ph[i] = f.p[i][free] + f.p[i][o]
		if s.total {
			ph[i] += f.p[i][bound]
		}
	}
	vari := ph[free] + ph[o] + s.spread*s.spread + s.depth*s.depth
	if s.total {
		mean += f.m[bound]
		vari += ph[bound]
	}
	sd := math.Sqrt(vari)
	v := s.amount - mean
	var good, shift, shrink float64
	if s.below {
		// known only to lie under: mean and variance of the cut-off normal
		u := v / sd
		phi := bayes.NormalCDF(u)
		good = math.Log(math.Max(phi, 1e-300))
		lambda := math.Exp(bayes.NormalLogDensity(u, 0, 1) - good)
		shift, shrink = -lambda*sd, lambda*(lambda+u)
	} else {
		good = bayes.NormalLogDensity(v, 0, sd)
		shift, shrink = v, 1
	}
	bad := math.Log(0.5)
	if !s.below {
		bad = bayes.NormalLogDensity(v, 0, math.Hypot(sd, outlierSD))
	}
	lg, lb := math.Log1p(-outlierShare)+good, math.Log(outlierShare)+bad
	all := bayes.LogAddExp(lg, lb)
	w := math.Exp(lg - all)
	f.logL += all
	// covariance: w of it shrinks, and the two halves of the mixture stand apart
	k := -w*shrink/vari + w*(1-w)*shift*shift/(vari*vari)
	for i := range f.n {
		f.m[i] += w * ph[i] / vari * shift
		for j := range f.n {
			f.p[i][j] += k * ph[i] * ph[j]
		}
	}
	f.m[free] = max(0, f.m[free])
	f.m[bound] = max(0, f.m[bound])
	return look{expected: mean, sd: sd, wild: 1 - w}
}

func sq(x float64) float64 { return x * x }
