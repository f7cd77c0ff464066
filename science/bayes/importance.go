package bayes

import (
	"math"
	"math/rand/v2"
)

// Importance draws from prior × likelihood over standard-normal coordinates by
// adaptive multiple importance sampling (Cornuet, Marin, Mira & Robert 2012,
// Scand. J. Statist. 39:798): each round draws from a heavy-tailed fit to what the
// rounds before found, and in the end all draws are weighted against the mixture
// of all proposals. It costs as many likelihoods as there are draws, about a tenth
// of what a Sampler spends, and is right for posteriors of one hump in some ten
// coordinates. Look at ESS: where it comes out small, take a Sampler.
type Importance struct {
	Draws  int // per round, default 500
	Rounds int // default 4, the first from the prior
	Seed   uint64
	Start  *Guess // where the posterior is thought to lie, if that is known roughly
}

// A Guess is a Gaussian to begin from, for instance a mode with the inverse of the
// curvature there. It steers the first round only; a poor one costs draws and does
// not bend the result.
type Guess struct {
	Mean []float64
	Cov  [][]float64
}

// A Weighted sample: rows of Z with weights that sum to one.
type Weighted struct {
	Z           [][]float64
	W           []float64
	LogL        []float64
	LogEvidence float64
	ESS         float64
}

// A proposal is a multivariate t with six degrees of freedom, mixed with a share
// of the prior so that no region is forgotten; the first is the prior alone.
type proposal struct {
	mean     []float64
	chol     [][]float64 // lower triangle of the scale matrix
	constant float64     // of ln(t density / normal density)
	prior    float64     // share drawn from the prior
}

const (
	tailDegrees = 6
	priorShare  = 0.1
)

// Run draws Rounds × Draws points over dim coordinates.
func (im Importance) Run(dim int, logL LogLikelihood) Weighted {
	if im.Draws == 0 {
		im.Draws = 500
	}
	if im.Rounds == 0 {
		im.Rounds = 4
	}
	rng := rand.New(rand.NewPCG(im.Seed, 0x1a5))
	n := im.Draws * im.Rounds
	out := Weighted{Z: rows(n, dim), LogL: make([]float64, n), W: make([]float64, n)}
	logw := make([]float64, n)
	mix := make([]float64, n) // sum over the proposals of their ratios to the prior
	proposals := []proposal{{prior: 1}}
	if im.Start != nil {
		proposals[0] = around(im.Start.Mean, im.Start.Cov, 0.2)
	}
	work := make([]float64, dim)
	for r := range im.Rounds {
		part := out.Z[r*im.Draws : (r+1)*im.Draws]
		stratified(rng, part, whole(dim))
		proposals[r].spread(rng, part)
		for i, z := range part {
			l := logL(z)
			if math.IsNaN(l) {
				l = math.Inf(-1)
			}
			out.LogL[r*im.Draws+i] = l
		}
		seen := (r + 1) * im.Draws
		for i, z := range out.Z[:seen] {
			if i < r*im.Draws { // an older draw meets the newest proposal only
				mix[i] += proposals[r].ratio(z, work)
			} else {
				for _, p := range proposals {
					mix[i] += p.ratio(z, work)
				}
			}
			logw[i] = out.LogL[i] - math.Log(mix[i]/float64(r+1))
		}
		var w []float64
		w, out.LogEvidence = Normalise(out.W[:seen], logw[:seen])
		out.ESS = ESS(w)
		if r+1 < im.Rounds {
			proposals = append(proposals, fit(out.Z[:seen], logw[:seen], dim, proposals[r]))
		}
	}
	return out
}

// spread turns stratified normals into draws of the proposal.
func (p proposal) spread(rng *rand.Rand, z [][]float64) {
	if p.prior == 1 {
		return
	}
	y := make([]float64, len(p.mean))
	for i := range z {
		if float64(i) < p.prior*float64(len(z)) {
			continue // rows of a Latin hypercube are in random order
		}
		chi := 0.0
		for range tailDegrees / 2 {
			chi -= 2 * math.Log(1-rng.Float64())
		}
		s := math.Sqrt(tailDegrees / chi)
		copy(y, z[i])
		for a := range y {
			v := p.mean[a]
			for b := 0; b <= a; b++ {
				v += s * p.chol[a][b] * y[b]
			}
			z[i][a] = v
		}
	}
}

// ratio is the density of the proposal over that of the prior at z.
func (p proposal) ratio(z, work []float64) float64 {
	if p.prior == 1 {
		return 1
	}
	quad, prior := 0.0, 0.0
	for a := range z {
		v := z[a] - p.mean[a]
		for b := 0; b < a; b++ {
			v -= p.chol[a][b] * work[b]
		}
		work[a] = v / p.chol[a][a]
		quad += work[a] * work[a]
		prior += z[a] * z[a]
	}
	logT := p.constant - 0.5*(tailDegrees+float64(len(z)))*math.Log1p(quad/tailDegrees)
	return p.prior + (1-p.prior)*math.Exp(math.Min(logT+0.5*prior, 700))
}

// fit takes mean and covariance of the weighted draws. Where a few draws hold all
// the weight it first flattens the weights until enough of them count, so that the
// next round looks about before it closes in; and it trusts the covariance of n
// effective draws against that of the last proposal as n to twice the dimensions.
func fit(z [][]float64, logw []float64, dim int, last proposal) proposal {
	w := make([]float64, len(z))
	flat := make([]float64, len(z))
	share := func(t float64) float64 {
		for i, l := range logw {
			flat[i] = t * l
		}
		w, _ = Normalise(w, flat)
		return ESS(w)
	}
	need := math.Max(float64(4*dim), 0.04*float64(len(z)))
	if share(1) < need {
		lo, hi := 0.0, 1.0
		for range 30 {
			if mid := (lo + hi) / 2; share(mid) < need {
				hi = mid
			} else {
				lo = mid
			}
		}
		share(lo)
	}
	mean := make([]float64, dim)
	for i := range z {
		for a := range mean {
			mean[a] += w[i] * z[i][a]
		}
	}
	cov := rows(dim, dim)
	for i := range z {
		for a := range dim {
			for b := 0; b <= a; b++ {
				cov[a][b] += w[i] * (z[i][a] - mean[a]) * (z[i][b] - mean[b])
			}
		}
	}
	if last.prior < 1 {
		share := ESS(w) / (ESS(w) + float64(2*dim))
		for a := range dim {
			for b := 0; b <= a; b++ {
				before := 0.0
				for k := 0; k <= b; k++ {
					before += last.chol[a][k] * last.chol[b][k]
				}
				cov[a][b] = share*cov[a][b] + (1-share)*before/widening
			}
		}
	}
	return around(mean, cov, priorShare)
}

// widening of a proposal's scale over the covariance it was fitted to.
const widening = 1.15

// around is a proposal about a mean with a covariance (lower triangle), a little
// widened.
func around(mean []float64, cov [][]float64, prior float64) proposal {
	p := proposal{mean: mean, prior: prior}
	var logD float64
	p.chol, logD = cholesky(cov, widening)
	d := float64(len(mean))
	g1, _ := math.Lgamma((tailDegrees + d) / 2)
	g2, _ := math.Lgamma(tailDegrees / 2)
	p.constant = g1 - g2 - 0.5*d*math.Log(tailDegrees*math.Pi) - logD + d*halfLog2Pi
	return p
}

// cholesky of scale·cov with a floor on the pivots, and ln of its determinant; it
// never fails.
func cholesky(cov [][]float64, scale float64) ([][]float64, float64) {
	n := len(cov)
	l := rows(n, n)
	logD := 0.0
	for a := range n {
		for b := 0; b <= a; b++ {
			v := scale * cov[a][b]
			for k := range b {
				v -= l[a][k] * l[b][k]
			}
			if a == b {
				l[a][a] = math.Sqrt(math.Max(v, 1e-8))
				logD += math.Log(l[a][a])
			} else {
				l[a][b] = v / l[b][b]
			}
		}
	}
	return l, logD
}
