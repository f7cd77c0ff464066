package primary

import (
	"math"
	"math/rand/v2"
	"sort"

	"elevage/science/bayes"
	"elevage/science/primary"
)

// A particle is one possible truth about the ferment now.
type particle struct {
	m     *model
	z     []float64
	more  []float64 // knots of the wandering still to come
	yield float64   // g ethanol per g sugar
	fate  float64   // of a stall to come: cumulated hazard at which it strikes
	warm  float64   // of the warmth to come, in its standard deviations
	lot   lot
	path  primary.Path // to the horizon
	peak  float64      // fastest use of sugar so far, g/(L·h)
}

// A fitted belief before anything is read off it.
type fitted struct {
	runs, stalls *model
	stalled      float64 // probability that it has stalled
	hazard       float64
	stress       []string
	particles    []particle
	looks        []Look
	ess          float64
	poor         bool
}

const (
	particles     = 192
	drawsPerRound = 300
	rounds        = 4
	enough        = 60 // effective draws below which the slow road is taken
	sweeps        = 3
	// A stall whose chance comes out under this at its mode (Laplace's
	// approximation) is not drawn from.
	negligible = 0.01
)

func (in Input) fit() *fitted {
	ft := &fitted{runs: newModel(in, false)}
	ft.hazard, ft.stress = in.hazard()
	a := ft.runs.sample(in.Seed, ft.runs.peak(make([]float64, ft.runs.dim)))
	ft.ess = a.ess
	n := 0
	var b sample
	until := ft.runs.gone(a)
	exposed := math.Max(0, until-24) / 24 // days in which it could have stalled
	if exposed > 0 && len(ft.runs.data) > 2 {
		ft.stalls = newModel(in, true)
		ft.stalls.until = until
		top := ft.stalls.peak(ft.stalls.starts(a)...)
		prior := -math.Expm1(-ft.hazard * exposed)
		odds := math.Log(prior/(1-prior)) - a.evidence
		ft.stalled = bayes.Logistic(odds + top.evidence)
		if ft.stalled > negligible {
			b = ft.stalls.sample(in.Seed+1, top)
			ft.stalled = bayes.Logistic(odds + b.evidence)
			n = int(math.Round(ft.stalled * particles))
			ft.ess = (1-ft.stalled)*a.ess + ft.stalled*b.ess
		}
	}
	ft.take(in, ft.runs, a, particles-n, 0)
	ft.take(in, ft.stalls, b, n, 1)
	ft.poor = ft.ess < 40
	if ft.stalled > 0.5 {
		ft.compare(in, ft.stalls, b)
	} else {
		ft.compare(in, ft.runs, a)
	}
	return ft
}

// starts are where to look for a stall: early, in the middle, late from a lot that
// ran as lots do until then, and near the end from the best run. The best run alone
// would not do: it may have blamed the flat line on dying cells, and the climb would
// stay there.
func (m *model) starts(a sample) [][]float64 {
	var out [][]float64
	for _, when := range []float64{-1, 0, 1.2} {
		z := make([]float64, m.dim)
		copy(z, a.best)
		z[zBeta], z[zDeath], z[zBrake], z[zTail] = 0, 0, 0, 0
		clear(z[fixed : fixed+m.knots])
		z[m.dim-2], z[m.dim-1] = when, 0
		out = append(out, z)
	}
	z := make([]float64, m.dim)
	copy(z, a.best)
	z[m.dim-2], z[m.dim-1] = 0.8, 0
	return append(out, z)
}

// gone is when the best run has no sugar left worth a stall, or now.
func (m *model) gone(a sample) float64 {
	m.predict(a.best)
	return math.Min(m.now, m.path.When(m.in.DryAt.GPerL()))
}

// A summit is a mode with the shape about it, and Laplace's approximation to the
// evidence there: likelihood × prior × √|covariance|, in logarithms.
type summit struct {
	guess    *bayes.Guess
	evidence float64
}

// peak climbs from each start and keeps the highest.
func (m *model) peak(starts ...[]float64) summit {
	best := summit{evidence: math.Inf(-1)}
	if len(m.data) == 0 {
		return best
	}
	for _, start := range starts {
		g := m.mode(start)
		v := m.logL(g.Mean)
		for _, x := range g.Mean {
			v -= 0.5 * x * x
		}
		for i, row := range factor(g.Cov, 0) {
			v += math.Log(row[i])
		}
		if v > best.evidence {
			best = summit{g, v}
		}
	}
	return best
}

// A sample is draws with weights that sum to one, and ln of the evidence.
type sample struct {
	z        [][]float64
	w        []float64
	best     []float64 // the most probable
	evidence float64
	ess      float64
}

// sample draws about a summit by adaptive importance sampling, which keeps the long
// flat tails (a lag too short to be seen, a loss of cells too small to matter); where
// few of its draws count, by the slower anneal. Without data it draws the prior.
func (m *model) sample(seed uint64, top summit) sample {
	im := bayes.Importance{Draws: drawsPerRound * max(1, m.in.Care), Rounds: rounds, Seed: seed, Start: top.guess}
	if top.guess == nil {
		im.Rounds = 1
	}
	p := im.Run(m.dim, m.logL)
	if p.ESS < enough && top.guess != nil {
		return m.anneal(seed, top)
	}
	s := sample{z: p.Z, w: p.W, evidence: p.LogEvidence, ess: p.ESS}
	most := math.Inf(-1)
	for i, z := range p.Z {
		v := p.LogL[i]
		for _, x := range z {
			v -= 0.5 * x * x
		}
		if v > most {
			most, s.best = v, z
		}
	}
	return s
}

// reach widens the Gaussian about the summit from which the sampler starts.
const reach = 1.4

// anneal draws from the posterior by tempered sequential Monte Carlo, which sets out
// not from the prior but from a Gaussian about the summit: in coordinates u with z =
// mean + C·u the target is that Gaussian times
//
//	L(z)·p(z)·|C| / φ(u)
func (m *model) anneal(seed uint64, top summit) sample {
	n := m.dim
	f := func(z []float64) float64 { return m.logL(z) }
	back := func(_, _ []float64) {}
	if top.guess != nil {
		wide := make([][]float64, n)
		for i, row := range top.guess.Cov {
			for _, v := range row {
				wide[i] = append(wide[i], reach*v)
			}
		}
		c := factor(wide, 0)
		logC := 0.0
		for i := range c {
			logC += math.Log(c[i][i])
		}
		z := make([]float64, n)
		back = func(z, u []float64) {
			for i := range z {
				z[i] = top.guess.Mean[i]
				for k := 0; k <= i; k++ {
					z[i] += c[i][k] * u[k]
				}
			}
		}
		f = func(u []float64) float64 {
			back(z, u)
			l := m.logL(z) + logC
			for i := range z {
				l += 0.5 * (u[i]*u[i] - z[i]*z[i])
			}
			return l
		}
	}
	moves := sweeps * max(1, m.in.Care)
	post := bayes.Sampler{Particles: particles, Moves: moves, Last: 2 * moves, Seed: seed}.Run(n, f)
	s := sample{z: post.Z, evidence: post.LogEvidence, ess: post.ESS}
	for range post.Z {
		s.w = append(s.w, 1/float64(len(post.Z)))
	}
	u := make([]float64, n)
	most := math.Inf(-1)
	for i, row := range s.z {
		if top.guess != nil {
			copy(u, row)
			back(row, u)
		}
		v := post.LogL[i]
		for _, x := range u {
			v -= 0.5 * x * x
		}
		if v > most {
			most, s.best = v, row
		}
	}
	return s
}

// take adds n particles, drawn by weight out of the sample in order of speed, so that
// a little more knowledge moves a particle only a little.
func (ft *fitted) take(in Input, m *model, s sample, n int, stream uint64) {
	if n == 0 {
		return
	}
	order := make([]int, len(s.z))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return s.z[order[a]][zBeta] < s.z[order[b]][zBeta] })
	w := make([]float64, len(order))
	for i, j := range order {
		w[i] = s.w[j]
	}
	rng := rand.New(rand.NewPCG(in.Seed, 0x7e45+stream))
	pick := make([]int, n)
	bayes.Systematic(rng, pick, w)
	for _, i := range pick {
		p := particle{m: m, z: s.z[order[i]], fate: rng.ExpFloat64(), yield: primary.EthanolYield.At(rng.NormFloat64()), warm: rng.NormFloat64()}
		for range len(knotDays) - m.knots {
			p.more = append(p.more, rng.NormFloat64())
		}
		ft.particles = append(ft.particles, p)
	}
}

// ahead runs every particle to the horizon. A particle that has not stalled may
// still do so, by the hazard.
func (ft *fitted) ahead(in Input) {
	for i := range ft.particles {
		p := &ft.particles[i]
		m := p.m
		to := m.last
		if !in.NoForecast {
			to = min(m.grid.Nodes-2, m.last+int(24*float64(in.Horizon)/m.grid.Step))
		}
		p.lot = m.unfold(p.z, p.more, to)
		m.weather(p.warm, to)
		if !m.stalled {
			p.lot.draw.Stall = m.now + 24*p.fate/ft.hazard
			p.lot.draw.Fade = stallFade.Location
		}
		m.grid.Run(&p.lot.draw, &p.path, to)
		p.lot.draw.Wander = nil // shared scratch
		for k := 0; k <= m.last; k++ {
			p.peak = math.Max(p.peak, p.path.Rate(k))
		}
	}
}

// compare sets each reading against what all readings together say of it.
func (ft *fitted) compare(in Input, m *model, a sample) {
	if len(m.data) == 0 {
		return
	}
	mean := make([]float64, len(m.data))
	best := a.best
	copy(mean, m.predict(best))
	for i, d := range m.data {
		r := in.Readings[d.reading]
		l := Look{ID: r.ID, At: r.At, What: r.What, Value: d.value, Expected: mean[i], Off: (d.value - mean[i]) / d.at(mean[i])}
		l.Absurd = math.Abs(l.Off) > absurd
		ft.looks = append(ft.looks, l)
	}
}

// absurd is how many of its own scatters a reading must be off to be called so.
const absurd = 5
