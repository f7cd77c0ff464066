package track

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"elevage/science/bayes"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// A fate is one particle followed from inoculation to a year from now.
type fate struct {
	m0     float64 // initial malic acid, g/L
	km     quantity.Concentration
	curve  curve
	work   []float64 // g/L at the start of each day
	now    float64   // malic acid, g/L
	rate   float64   // g/L a day, now
	stall  float64   // day on which it stops for good, +Inf if it never does
	finish float64   // day on which it falls below the limit, +Inf if not within the horizon
}

func (f *fate) malic(day int) float64 {
	day = min(max(day, 0), len(f.work)-1)
	return f.curve.at(day).malic(f.work[day])
}

// last is how it goes on since wine last came in.
func (f *fate) last() *piece { return &f.curve[len(f.curve)-1] }

// A posterior is the sampled belief with its fates.
type posterior struct {
	*model
	in    *Input
	draws bayes.Posterior
	fates []fate
	room  []float64 // for the work of changes
}

const lowESS = 150

func sample(in *Input) *posterior {
	m := newModel(*in)
	s := bayes.Sampler{Particles: in.Options.Particles, Seed: in.Options.Seed,
		Enough: min(lowESS, 0.3*float64(in.Options.Particles)),
		Jumps:  m.jumps(), Idle: m.idle(), Settle: m.settleDoubts}
	if len(m.kin) > 0 { // more coordinates to mix, and whose steps must be learned
		s.Particles += s.Particles / 2
		s.Moves, s.Last = 4, 8
	}
	p := &posterior{model: m, in: in, draws: s.Run(m.dim, m.logLikelihood)}
	p.fates = p.follow(change{}, 1)
	return p
}

// settleDoubts re-estimates which readings are wild, from a few dozen particles.
func (m *model) settleDoubts(_ float64, z [][]float64) bool {
	if len(m.panel.gauges) == 0 {
		return false
	}
	return m.panel.settle(m.leaveOneOut(z, 60))
}

// leaveOneOut are the residuals of every gauge against all others, for about n of
// the particles.
func (m *model) leaveOneOut(z [][]float64, n int) [][]float64 {
	step := max(1, len(z)/n)
	var loo [][]float64
	for i := 0; i < len(z); i += step {
		out := make([]float64, len(m.panel.gauges))
		m.panel.leaveOneOut(out, m.allResiduals(z[i]))
		loo = append(loo, out)
	}
	return loo
}

// allResiduals of the gauges, those included that the course does not move.
func (m *model) allResiduals(z []float64) []float64 {
	s := m.at(z)
	for _, q := range m.kin {
		m.atKin(q, z, &s)
	}
	m.residuals(m.resid, z, &s)
	full := make([]float64, len(m.panel.gauges))
	for i := range m.panel.gauges {
		full[i] = m.panel.gauges[i].value - m.panel.gauges[i].base
	}
	for i, g := range m.panel.moving {
		full[g] = m.resid[i]
	}
	return full
}

// follow continues every step-th particle under a change from today, with the same future
// for each change, so that what-ifs differ by the change alone. Fates under a change are
// good until the next is followed.
func (p *posterior) follow(c change, step int) []fate {
	season := p.season
	if c != (change{}) {
		came := p.in.Inflows
		if c.nothingCame {
			came = nil
		}
		season = newSeason(p.facts, p.used, p.in.At, &p.priors, came, c)
	}
	n := season.schedule.Days()
	fates := make([]fate, (len(p.draws.Z)+step-1)/step)
	var flat []float64
	if size := len(fates) * (n + 1); c == (change{}) {
		flat = make([]float64, size)
	} else {
		p.room = slices.Grow(p.room[:0], size)[:size]
		flat = p.room
	}
	bends := 1 + len(season.inflows)
	pieces := make(curve, len(fates)*bends)
	wander := make([]float64, n)
	factors := make([]float64, 2*len(season.schedule.Conditions))
	for i := range fates {
		z := p.draws.Z[i*step]
		rng := rand.New(rand.NewPCG(p.in.Options.Seed, uint64(i*step)+0xf00d))
		st := p.begin(z)
		f := &fates[i]
		f.m0, f.km = st.m0, st.k.HalfSaturation
		p.fillWander(wander, p.knots(z), rng)
		if p.again < 0 {
			st.again = rng.NormFloat64() // after the knots to come, so that no other change moves them
		}
		f.work = p.run(flat[i*(n+1):(i+1)*(n+1):(i+1)*(n+1)], factors, wander, z, &st, season, &season.schedule)
		f.stall = st.stall
		f.curve = st.curve(pieces[i*bends:i*bends:(i+1)*bends], f.work, season, func(k int) float64 {
			if k < len(p.season.inflows) {
				return season.inflows[k].malic(z[p.came+k])
			}
			return season.inflows[k].malic(rng.NormFloat64())
		})
		f.now = f.malic(season.now)
		going := f.now - f.curve.at(season.now).rest
		f.rate = (f.work[season.now+1] - f.work[season.now]) * going / (float64(f.km) + going)
		f.finish = f.reaches(p.in.Options.Limit)
	}
	return fates
}

// everyOf is the step that leaves at most n of the particles.
func (p *posterior) everyOf(n int) int { return (len(p.fates) + n - 1) / n }

// thinned are every step-th of the fates as things stand: what follow gives for no change.
func (p *posterior) thinned(step int) []fate {
	out := make([]fate, 0, len(p.fates)/step+1)
	for i := 0; i < len(p.fates); i += step {
		out = append(out, p.fates[i])
	}
	return out
}

// reaches is the day from which malic acid stays below a limit, +Inf if none within
// the horizon.
func (f *fate) reaches(limit quantity.Concentration) float64 {
	p := f.last()
	want := limit - quantity.Concentration(p.rest)
	if want <= 0 {
		return math.Inf(1)
	}
	return math.Max(float64(p.from), float64(malolactic.DayOfWork(f.work, p.work+p.tail.To(want))))
}

func spread[T ~float64](x []float64, decimals int) Spread[T] {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	q := func(p float64) T { return round(T(bayes.Quantile(s, p)), decimals) }
	return Spread[T]{Mean: round(T(bayes.Mean(s)), decimals), Q05: q(0.05), Q25: q(0.25), Q50: q(0.5), Q75: q(0.75), Q95: q(0.95)}
}

// outward rounds the ends of an interval away from the middle to 0.01 g/L: nobody
// can measure finer, and an interval from 0.0004 g/L up would deny a wine whose
// malic acid is simply gone.
func outward(s Spread[quantity.Concentration]) Spread[quantity.Concentration] {
	s.Q05 = quantity.Concentration(math.Floor(float64(s.Q05)*100) / 100)
	s.Q95 = quantity.Concentration(math.Ceil(float64(s.Q95)*100) / 100)
	s.Mean, s.Q25, s.Q50, s.Q75 = round(s.Mean, 4), round(s.Q25, 4), round(s.Q50, 4), round(s.Q75, 4)
	return s
}

func column(fates []fate, get func(*fate) float64) []float64 {
	out := make([]float64, len(fates))
	for i := range fates {
		out[i] = get(&fates[i])
	}
	return out
}

// states counts particles; see State for what each means.
func (p *posterior) states() State {
	var s State
	one := 1 / float64(len(p.fates))
	for i := range p.fates {
		f := &p.fates[i]
		switch {
		case f.now < float64(p.in.Options.Limit):
			s.Finished += one
		case f.stall <= float64(p.season.now) || f.last().rest >= float64(p.in.Options.Limit) && f.now < 1.2*f.last().rest:
			s.Stalled += one
		case f.m0-f.now < math.Min(0.1, 0.05*f.m0):
			s.Lagging += one
		default:
			s.Active += one
		}
	}
	s.Finished, s.Stalled, s.Lagging = round(s.Finished, 4), round(s.Stalled, 4), round(s.Lagging, 4)
	s.Active = round(1-s.Finished-s.Stalled-s.Lagging, 4)
	return s
}

func (p *posterior) finish(fates []fate) Finish {
	days := column(fates, func(f *fate) float64 { return f.finish })
	sort.Float64s(days)
	end := float64(p.season.now + horizon)
	at := func(q float64) *Date {
		d := bayes.Quantile(days, q)
		if !(d <= end) {
			return nil
		}
		return &Date{p.season.date(d)}
	}
	never := 0.0
	for _, d := range days {
		if !(d <= end) {
			never++
		}
	}
	going := make([]float64, 0, len(fates))
	for i := range fates {
		if !(fates[i].stall < math.Min(fates[i].finish, end)) {
			going = append(going, fates[i].finish)
		}
	}
	sort.Float64s(going)
	f := Finish{Q05: at(0.05), Q50: at(0.5), Q95: at(0.95), Never: round(never/float64(len(days)), 4)}
	days = going
	f.Unstalled = Quantiles{at(0.05), at(0.5), at(0.95)}
	return f
}

// fan is the belief by day from inoculation to somewhat past the expected end.
func (p *posterior) fan(f Finish) []FanDay {
	last := p.season.now + 60
	if q := f.Unstalled.Q95; q != nil {
		last = min(max(p.season.now+21, p.season.day(q.Time)+10), p.season.now+150)
	}
	const points = 48
	step := max(1, (last+points-1)/points)
	thin := p.everyOf(400)
	var out []FanDay
	days := []int{p.season.now}
	for d := 0; d <= last; d += step {
		if d != p.season.now {
			days = append(days, d)
		}
	}
	sort.Ints(days)
	x := make([]float64, 0, len(p.fates)/thin+1)
	for _, d := range days {
		x = x[:0]
		for i := 0; i < len(p.fates); i += thin {
			x = append(x, p.fates[i].malic(d))
		}
		sort.Float64s(x)
		q := func(v float64) quantity.Concentration { return round(quantity.Concentration(bayes.Quantile(x, v)), 3) }
		out = append(out, FanDay{On: Date{p.season.date(float64(d))}, Q05: q(0.05), Q25: q(0.25), Q50: q(0.5), Q75: q(0.75), Q95: q(0.95)})
	}
	return out
}

// acidity is the wine's own pH and TA, now and once all malic acid is gone.
func (p *posterior) acidity() (Outcome[quantity.PH], Outcome[quantity.Concentration]) {
	now := float64(p.season.now)
	gph := gauge{what: PH, day: now, truth: true, base: float64(assumed.ph)}
	gta := gauge{what: TA, day: now, truth: true, base: float64(assumed.ta)}
	lost := p.faults.Bitartrate
	gph.base += lost * p.panel.lostGain(&gph)
	gta.base += lost * p.panel.lostGain(&gta)
	gainPH, varPH := p.panel.estimate(gph)
	gainTA, varTA := p.panel.estimate(gta)
	rng := rand.New(rand.NewPCG(p.in.Options.Seed, 0xacd))
	var ph, phEnd, ta, taEnd []float64
	step := p.everyOf(400)
	for i := 0; i < len(p.fates); i += step {
		z, f := p.draws.Z[i], &p.fates[i]
		resid := p.allResiduals(z)
		a, b := gph.base, gta.base
		for j, r := range resid {
			a += gainPH[j] * r
			b += gainTA[j] * r
		}
		a += math.Sqrt(varPH) * rng.NormFloat64()
		b += math.Sqrt(varTA) * rng.NormFloat64()
		scale := math.Exp(p.chem.spread * z[zBuffer])
		shift := f.curve.at(p.season.now).shift
		dph, dta := p.chem.at(f.m0, f.now+shift)
		eph, eta := p.chem.at(f.m0, shift)
		ph, ta = append(ph, a+scale*dph), append(ta, b+dta)
		phEnd, taEnd = append(phEnd, a+scale*eph), append(taEnd, b+eta)
	}
	return Outcome[quantity.PH]{spread[quantity.PH](ph, 3), spread[quantity.PH](phEnd, 3)},
		Outcome[quantity.Concentration]{spread[quantity.Concentration](ta, 3), spread[quantity.Concentration](taEnd, 3)}
}
