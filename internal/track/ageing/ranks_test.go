package ageing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"strings"
	"testing"
	"time"

	"elevage/science/ageing"
	"elevage/science/bayes"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// played lets a record happen once: the filter's own balance with its chance drawn
// instead of averaged, which fills in what was read.
func played(in *Input, rng *rand.Rand) (z [unknowns]float64, free float64) {
	tl := in.line()
	p := in.priors()
	for j := range z {
		z[j] = rng.NormFloat64()
	}
	c := constantsAt(&p, z[:])
	g := func(mean, sd float64) float64 { return mean + sd*rng.NormFloat64() }
	f, b, o, pending := math.Max(0, g(tl.first[0], tl.first[1])), math.Max(0, g(tl.bound[0], tl.bound[1])), 0.0, 0.0
	off := make([]float64, len(tl.offsets))
	for i, q := range tl.offsets {
		off[i] = g(q.offset, q.offsetSD)
	}
	for _, s := range tl.past {
		if s.days > 0 {
			bind := pending * -math.Expm1(-s.days/c.tau)
			pending -= bind
			f, b = math.Max(0, f-bind), b+bind
			used := -math.Expm1(-s.days / float64(ageing.OxygenUse))
			steady := c.baseLoss * c.warmth(s.warm, s.warmVar) * s.days
			demand, months := steady+math.Max(0, o)*used, s.days/monthDays
			before := f
			f = ageing.Deplete(f, demand, c.holding)
			slow := math.Max(ageing.Slowing(f, c.holding), leastScatter)
			b = math.Max(0, b-math.Max(0, (1+c.release)*demand-(before-f)))
			f = math.Max(0, g(f, slow*math.Sqrt(monthScatter*monthScatter*months+sq(lossScatter*steady)/months)))
			b = math.Max(0, g(b, boundScatter*math.Sqrt(months)))
			o *= 1 - used
		}
		switch s.what {
		case doses:
			share := c.freeShare(s.order)
			really, bound := g(s.amount, s.spread), bindScatter*s.amount*rng.NormFloat64()
			f += s.amount + share*(really-s.amount) - bound
			pending += (1 - share) * s.amount
			b += (1-share)*(really-s.amount) + bound
		case breathes:
			o += c.perOxygen * g(s.amount, s.spread)
		case reads:
			v := f + off[s.method]
			if s.total {
				v += b
			}
			sd := math.Hypot(s.spread, s.depth)
			if rng.Float64() < outlierShare {
				sd = math.Hypot(sd, outlierSD)
			}
			in.Readings[s.reading].Value = quantity.Concentration(math.Max(0, g(v, sd))) * quantity.MilligramPerLitre
		}
	}
	return z, f
}

// Simulation-based calibration (Talts et al. 2018): records drawn from the model,
// believed, and the truth's rank among the draws counted. Uniform within the 99 %
// band, or the filter, the sampler or the draws are wrong.
func TestRanksAreUniform(t *testing.T) {
	if testing.Short() {
		t.Skip("120 simulated parcels")
	}
	t.Parallel()
	aim, _ := sulfite.Handbook.Target(0.5 * quantity.MilligramPerLitre)
	start := time.Date(2025, 1, 1, 8, 0, 0, 0, time.UTC)
	at := func(d int) time.Time { return start.Add(time.Duration(d) * 24 * time.Hour) }
	ranks := map[string][]int{}
	const draws = kept / 4
	for s := range 120 {
		rng := rand.New(rand.NewPCG(31, uint64(s)))
		in := Input{Vessel: []ageing.Vessel{ageing.Barrel, ageing.Glass, ageing.Steel}[s%3], Volume: 100, PH: 3.5, Alcohol: 13, Red: s%2 == 0, Floor: aim, Seed: uint64(s), Horizon: 10, DosedBefore: true,
			Start: &Start{At: start, Free: 0.035, FreeSD: 0.004, Bound: 0.06, BoundSD: 0.008}, At: at(40 + 30*(s%9))}
		in.Until = in.At.Add(240 * time.Hour)
		for d := 20; at(d).Before(in.At); d += 28 {
			in.Readings = append(in.Readings, Reading{ID: fmt.Sprint(d), At: at(d), Of: []Of{Free, Free, Free, Total}[d/28%4], Method: []Method{Aspiration, Iodine}[s%2], Value: 0.03})
		}
		in.Events = []Event{{At: at(30), Kind: ageing.RackingCareful}, {At: at(120), Kind: ageing.Topping}}
		in.Doses = []Dose{{At: at(75), SO2: 0.02}}
		in, err := in.prepared()
		if err != nil {
			t.Fatal(err)
		}
		z, free := played(&in, rng)
		ft := in.fit()
		p := ft.priors
		for name, truth := range map[string]float64{"free now": free, "ingress": p[zIngress].At(z[zIngress]), "SO2 per oxygen": p[zPerOxygen].At(z[zPerOxygen]), "free share": p[zFreeShare].At(z[zFreeShare])} {
			var d []float64
			for i := 0; i < len(ft.draws); i += 4 {
				x := ft.draws[i]
				d = append(d, map[string]float64{"free now": x.free, "ingress": x.c.ingress, "SO2 per oxygen": x.c.perOxygen, "free share": x.c.share}[name])
			}
			ranks[name] = append(ranks[name], bayes.Rank(d, truth))
		}
	}
	var text strings.Builder
	var names []string
	for n := range ranks {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		r := bayes.TestRanks(ranks[n], draws, 8, 0.01, 3)
		fmt.Fprintf(&text, "%-16s %4d worst %.2f limit %.2f %v\n", n, r.Ranks, r.Worst, r.Limit, r.Histogram)
		if !r.Uniform() {
			t.Errorf("ranks of %s leave the band", n)
		}
	}
	t.Log("\n" + text.String())
}
