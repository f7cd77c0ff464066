package ageing

import (
	"math"
	"math/rand/v2"
	"sort"

	"elevage/science/bayes"
)

// A draw is one possible truth about the parcel at the moment of the belief.
type draw struct {
	c       constants
	free    float64
	bound   float64
	owed    float64
	pending float64
	ph      float64
	doses   int     // how many doses it has behind it, from the first after the fermentations
	need    float64 // free SO2 at the floor
	seed    uint64
}

// A fitted belief before anything is read off it.
type fitted struct {
	tl     timeline
	priors [unknowns]bayes.Prior
	draws  []draw
	looks  []look // per reading, averaged over the draws
	ess    float64
	widen  bool // few effective draws: the intervals were widened
}

const (
	drawsPerRound = 420
	rounds        = 4
	kept          = 400
)

func (in Input) fit() fitted {
	ft := fitted{tl: in.line(), priors: in.priors()}
	logL := func(z []float64) float64 {
		f := newFilter(&ft.tl, constantsAt(&ft.priors, z))
		f.run(ft.tl.past, nil)
		return f.logL
	}
	sample := bayes.Importance{Draws: drawsPerRound, Rounds: rounds, Seed: in.Seed}
	if len(in.Readings) == len(ft.tl.future0) { // nothing to learn from
		sample.Draws, sample.Rounds = kept, 1
	}
	post := sample.Run(unknowns, logL)
	ft.ess = post.ESS
	if post.ESS < 60 { // more than one hump, or a record at odds with itself: take the slow road
		slow := bayes.Sampler{Particles: 300, Seed: in.Seed, Moves: 3}.Run(unknowns, logL)
		post = bayes.Weighted{Z: slow.Z, W: make([]float64, len(slow.Z)), ESS: slow.ESS}
		for i := range post.W {
			post.W[i] = 1 / float64(len(post.W))
		}
		ft.ess, ft.widen = slow.ESS, slow.ESS < 60
	}
	ft.take(in, post)
	return ft
}

// take turns the weighted sample into equally weighted draws of everything. The
// sample is put in order of ingress first, so that a little more knowledge moves a
// draw a little and not to another place.
func (ft *fitted) take(in Input, post bayes.Weighted) {
	order := make([]int, len(post.W))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return post.Z[order[a]][zIngress] < post.Z[order[b]][zIngress] })
	w := make([]float64, len(order))
	for i, j := range order {
		w[i] = post.W[j]
	}
	rng := rand.New(rand.NewPCG(in.Seed, 0xa6e))
	pick := make([]int, kept)
	bayes.Systematic(rng, pick, w)
	normals := stratifiedNormals(rng, kept, 4)
	ft.looks = make([]look, len(in.Readings))
	sums := make([]look, len(in.Readings))
	count := doseCount(ft.tl.past, in)
	var f filter
	last := -1
	for i, p := range pick {
		if p != last {
			f = newFilter(&ft.tl, constantsAt(&ft.priors, post.Z[order[p]]))
			f.run(ft.tl.past, ft.looks)
			last = p
		}
		for r, l := range ft.looks {
			sums[r].expected += l.expected / kept
			sums[r].sd += l.sd / kept
			sums[r].wild += l.wild / kept
		}
		ft.draws = append(ft.draws, f.draw(normals[i], in, count, uint64(i)))
	}
	ft.looks = sums
}

func doseCount(past []step, in Input) int {
	n := 0
	if in.protected(past) {
		n = 1
	}
	for _, s := range past {
		if s.what == doses {
			n = s.order + 1
		}
	}
	return n
}

// draw takes one state from the filter's Gaussian.
func (f *filter) draw(n [4]float64, in Input, count int, seed uint64) draw {
	var l [3][3]float64
	for a := range 3 {
		for b := 0; b <= a; b++ {
			v := f.p[a][b]
			for k := range b {
				v -= l[a][k] * l[b][k]
			}
			if a == b {
				l[a][a] = math.Sqrt(math.Max(v, 0))
			} else if l[b][b] > 0 {
				l[a][b] = v / l[b][b]
			}
		}
	}
	x := [3]float64{f.m[free], f.m[bound], f.m[owed]}
	for a := range 3 {
		for b := 0; b <= a; b++ {
			x[a] += l[a][b] * n[b]
		}
		x[a] = math.Max(0, x[a])
	}
	return draw{c: f.c, free: x[free], bound: x[bound], owed: x[owed], pending: f.pending,
		ph: float64(in.PH) + in.PHSD*n[3], doses: count, seed: seed}
}

func stratifiedNormals(rng *rand.Rand, n, dims int) [][4]float64 {
	out := make([][4]float64, n)
	perm := make([]int, n)
	for j := range dims {
		for i := range perm {
			perm[i] = i
		}
		rng.Shuffle(n, func(a, b int) { perm[a], perm[b] = perm[b], perm[a] })
		for i := range out {
			out[i][j] = bayes.NormalQuantile((float64(perm[i]) + rng.Float64()) / float64(n))
		}
	}
	return out
}
