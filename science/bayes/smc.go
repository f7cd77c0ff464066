package bayes

import (
	"math"
	"math/rand/v2"
)

// A LogLikelihood is ln of the probability of the data at z, where z has prior
// N(0, I). It may return −Inf. It must not keep z.
type LogLikelihood func(z []float64) float64

// A Jump is a move (tried on every second sweep) that a smooth random walk would hardly make, such as the
// refresh of an event that either has happened or has not. Propose changes z in
// place and returns ln q(z|z') − ln q(z'|z) + ln p(z') − ln p(z) over the
// coordinates that it touched, p being their N(0,1) prior: zero if it redraws
// them from the prior. It may also say that the likelihood cannot have changed, which
// saves working it out.
type Jump struct {
	Propose func(rng *rand.Rand, z []float64) (logRatio float64, same bool)
	Coords  []int // coordinates that only jumps move; the adapted walk leaves them alone
}

// A Sampler draws from prior × likelihood by tempered sequential Monte Carlo (Del
// Moral, Doucet & Jasra 2006): the likelihood is raised from power 0 to power 1 in
// steps chosen so that each keeps a set share of the effective sample size
// (Jasra et al. 2011), with systematic resampling and Markov moves between steps.
// The walk is a preconditioned Crank–Nicolson move about the mean and covariance
// of the particles themselves (Rudolf & Sprungk 2018), corrected to leave the
// target invariant, so that coordinates on which the data are silent stay at
// their prior at no cost.
type Sampler struct {
	Particles int     // default 800
	Seed      uint64  // same seed and data, same result
	Keep      float64 // share of ESS to keep per tempering step, default 0.5
	Moves     int     // walk sweeps after each step, default 3
	Last      int     // walk sweeps after the last step, default 2×Moves
	Enough    float64 // effective draws wanted: the last sweeps are repeated, at most six times, until they stand behind the sample
	Jumps     []Jump
	Idle      []int // coordinates that the likelihood does not look at: they cost nothing and come from the prior at the end

	// Settle, if given, is called between tempering steps with the particles (rows
	// of z) and may change the likelihood (for instance the weight it gives to each
	// reading); it returns whether it did. It is not called once the likelihood
	// stands at power 1, so the final moves have a fixed target.
	Settle func(temperature float64, z [][]float64) bool
}

// A Posterior is an equally weighted sample.
type Posterior struct {
	Z           [][]float64 // one row per particle
	LogL        []float64   // log-likelihood of each row
	LogEvidence float64     // estimate of ln p(data); meaningless if Settle changed the likelihood
	Steps       int         // tempering steps taken
	Evaluations int         // likelihood evaluations spent
	Acceptance  float64     // mean acceptance of the walk in the last sweep
	ESS         float64     // see Sampler.Run
}

// Column copies coordinate j of all particles.
func (p Posterior) Column(j int) []float64 {
	out := make([]float64, len(p.Z))
	for i, z := range p.Z {
		out[i] = z[j]
	}
	return out
}

// Run draws a posterior over dim coordinates.
//
// Posterior.ESS estimates how many independent draws the sample is worth: each
// reweighting divides it by the share of ESS kept, and each round of moves pulls
// it back towards the number of particles by as much as it decorrelates them (one
// minus the squared correlation of log-likelihood and of the stickiest coordinate
// before and after).
func (s Sampler) Run(dim int, logL LogLikelihood) Posterior {
	s = s.defaults()
	r := newRun(s, dim, logL)
	temperature, inflation := 0.0, 1.0
	settled := false
	for temperature < 1 {
		for i, l := range r.logL {
			r.old[i] = temperature * l
		}
		if s.Settle != nil && temperature > 0 && s.Settle(temperature, r.z) {
			r.evaluateAll()
			settled = true
		}
		next := r.nextTemperature(temperature, s.Keep, settled)
		for i, l := range r.logL {
			r.logw[i] = next*l - r.old[i]
		}
		var increment float64
		r.w, increment = Normalise(r.w, r.logw)
		r.post.LogEvidence += increment
		inflation /= ESS(r.w) / float64(s.Particles)
		r.resample()
		temperature = next
		sweeps := s.Moves
		if temperature >= 1 {
			sweeps = s.Last
		}
		stick := r.move(temperature, sweeps)
		inflation = 1 + (inflation-1)*stick
		r.post.Steps++
		settled = false
		if r.post.Steps > 200 { // a likelihood this sharp is a modelling error; stop with what stands
			break
		}
	}
	for again := 0; again < 6 && float64(s.Particles) < s.Enough*inflation; again++ {
		inflation = 1 + (inflation-1)*r.move(temperature, s.Last)
	}
	stratified(r.rng, r.z, s.Idle)
	r.post.Z, r.post.LogL = r.z, r.logL
	r.post.ESS = float64(s.Particles) / inflation
	return r.post
}

func (s Sampler) defaults() Sampler {
	if s.Particles == 0 {
		s.Particles = 800
	}
	if s.Keep == 0 {
		s.Keep = 0.5
	}
	if s.Moves == 0 {
		s.Moves = 3
	}
	if s.Last == 0 {
		s.Last = 2 * s.Moves
	}
	return s
}

// A run is the sampler's working memory; nothing in the move loop allocates.
type run struct {
	s         Sampler
	dim       int
	f         LogLikelihood
	rng       *rand.Rand
	z, spare  [][]float64
	logL      []float64
	spareL    []float64
	old, logw []float64
	w         []float64
	ancestor  []int
	walk      walk
	still     []bool // coordinates that the walk leaves alone: jumped or idle
	scale     float64
	post      Posterior
}

func newRun(s Sampler, dim int, f LogLikelihood) *run {
	n := s.Particles
	r := &run{s: s, dim: dim, f: f, rng: rand.New(rand.NewPCG(s.Seed, 0x9e3779b97f4a7c15)),
		z: rows(n, dim), spare: rows(n, dim), logL: make([]float64, n), spareL: make([]float64, n),
		old: make([]float64, n), logw: make([]float64, n), w: make([]float64, n),
		ancestor: make([]int, n), still: make([]bool, dim), scale: 0.6}
	for _, j := range s.Jumps {
		for _, c := range j.Coords {
			r.still[c] = true
		}
	}
	for _, c := range s.Idle {
		r.still[c] = true
	}
	r.walk = newWalk(n, r.still)
	stratified(r.rng, r.z, whole(dim))
	r.evaluateAll()
	return r
}

// stratified draws a Latin hypercube (McKay, Beckman & Conover 1979) of normals into
// some coordinates: each has exactly one draw in each 1/n of its distribution, which
// steadies small samples.
func stratified(rng *rand.Rand, z [][]float64, coords []int) {
	n := len(z)
	perm := make([]int, n)
	for i := range perm {
		perm[i] = i
	}
	for _, j := range coords {
		rng.Shuffle(n, func(a, b int) { perm[a], perm[b] = perm[b], perm[a] })
		for i := range z {
			z[i][j] = NormalQuantile((float64(perm[i]) + rng.Float64()) / float64(n))
		}
	}
}

// whole is every coordinate.
func whole(dim int) []int {
	c := make([]int, dim)
	for i := range c {
		c[i] = i
	}
	return c
}

func (r *run) evaluateAll() {
	for i, z := range r.z {
		r.logL[i] = r.eval(z)
	}
}

func (r *run) eval(z []float64) float64 {
	r.post.Evaluations++
	l := r.f(z)
	if math.IsNaN(l) {
		return math.Inf(-1)
	}
	return l
}

// nextTemperature finds the power at which the weights keep the wanted share of
// ESS, by bisection. If the likelihood was just changed even the present power may
// fall short; then the smallest step is taken.
func (r *run) nextTemperature(now, keep float64, changed bool) float64 {
	share := func(t float64) float64 {
		for i, l := range r.logL {
			r.logw[i] = t*l - r.old[i]
		}
		r.w, _ = Normalise(r.w, r.logw)
		return ESS(r.w) / float64(len(r.w))
	}
	if share(1) >= keep {
		return 1
	}
	lo, hi := now, 1.0
	if changed && share(now) < keep {
		return math.Min(1, now+1e-3)
	}
	for k := 0; k < 30 && hi-lo > 1e-6*hi; k++ {
		mid := (lo + hi) / 2
		if share(mid) >= keep {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Min(1, math.Max(lo, now+1e-6))
}

func (r *run) resample() {
	Systematic(r.rng, r.ancestor, r.w)
	for i, a := range r.ancestor {
		copy(r.spare[i], r.z[a])
		r.spareL[i] = r.logL[a]
	}
	r.z, r.spare = r.spare, r.z
	r.logL, r.spareL = r.spareL, r.logL
}

// move runs sweeps of the walk and of each jump at the given power, and returns
// the squared correlation that is left between the particles before and after.
func (r *run) move(t float64, sweeps int) float64 {
	for i := range r.z {
		copy(r.spare[i], r.z[i])
	}
	copy(r.spareL, r.logL)
	r.walk.adapt(r.z)
	trial := make([]float64, r.dim)
	for sweep := 0; sweep < sweeps; sweep++ {
		accepted := 0
		for i := range r.z {
			if r.step(t, i, trial) {
				accepted++
			}
		}
		r.post.Acceptance = float64(accepted) / float64(len(r.z))
		r.scale = math.Min(1, math.Max(0.02, r.scale*math.Exp(0.7*(r.post.Acceptance-0.3))))
		if sweep%2 == 0 {
			for _, j := range r.s.Jumps {
				r.jump(t, j, trial)
			}
		}
	}
	return r.stickiness()
}

func (r *run) step(t float64, i int, trial []float64) bool {
	s := r.scale * (0.3 + 1.4*r.rng.Float64())
	logRatio := r.walk.propose(r.rng, i, r.z[i], trial, math.Min(1, s))
	l := r.eval(trial)
	logRatio += t * (l - r.logL[i])
	if !(Log(r.rng.Float64()) < logRatio) {
		return false
	}
	copy(r.z[i], trial)
	r.logL[i] = l
	r.walk.took(i)
	return true
}

func (r *run) jump(t float64, j Jump, trial []float64) {
	for i, z := range r.z {
		copy(trial, z)
		logRatio, same := j.Propose(r.rng, trial)
		l := r.logL[i]
		if !same {
			l = r.eval(trial)
		}
		if logRatio+t*(l-r.logL[i]) > Log(r.rng.Float64()) {
			copy(z, trial)
			r.logL[i] = l
		}
	}
}

func (r *run) stickiness() float64 {
	worst := squaredCorrelation(r.spareL, r.logL)
	a, b := make([]float64, len(r.z)), make([]float64, len(r.z))
	for j := 0; j < r.dim; j++ {
		if r.still[j] {
			continue // events are all or nothing; a correlation says little about them
		}
		for i := range r.z {
			a[i], b[i] = r.spare[i][j], r.z[i][j]
		}
		worst = math.Max(worst, squaredCorrelation(a, b))
	}
	return worst
}

func squaredCorrelation(a, b []float64) float64 {
	ma, mb := Mean(a), Mean(b)
	var sab, saa, sbb float64
	for i := range a {
		x, y := a[i]-ma, b[i]-mb
		sab += x * y
		saa += x * x
		sbb += y * y
	}
	if saa == 0 || sbb == 0 || math.IsNaN(sab) {
		return 1
	}
	return sab * sab / (saa * sbb)
}

func rows(n, d int) [][]float64 {
	flat := make([]float64, n*d)
	out := make([][]float64, n)
	for i := range out {
		out[i] = flat[i*d : (i+1)*d : (i+1)*d]
	}
	return out
}
