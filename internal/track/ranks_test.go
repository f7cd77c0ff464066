package track

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"elevage/science/bayes"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

var (
	rankRuns = flag.Int("ranks", 40, "simulated parcels for the calibration ranks; 400 for the study")
	rankOut  = flag.String("ranks-out", "", "folder to write the study's plot and table to")
)

// Simulation-based calibration (Talts et al. 2018): hidden states drawn from the
// prior, readings drawn from the model, and the rank of each truth among the draws
// of its posterior must be uniform. Wild readings and the tempering of the airlock
// are switched off, since neither is a way in which readings come about; everything
// else is the model as used.
func TestRanksUnderTheModel(t *testing.T) {
	if testing.Short() {
		t.Skip("a study")
	}
	t.Parallel()
	names := []string{"malic acid now", "initial malic acid", "work done", "rate now", "day of the end", "stop (z)", "half-saturation", "lot factor"}
	const draws = 99
	ranks := make([][]int, len(names))
	rng := rand.New(rand.NewPCG(5, 4))
	for run := 0; run < *rankRuns; run++ {
		in := rankInput(rng)
		if err := in.settle(); err != nil {
			t.Fatal(err)
		}
		in.Options.Faults.Outlier, in.Options.Faults.LockTemper = 0, 1
		in.Options.Seed = uint64(run + 1)
		truth := rankStats(invent(&in, rng), 0)
		p := sample(&in)
		pick := rng.Perm(len(p.fates))[:draws]
		got := make([][]float64, len(names))
		for _, i := range pick {
			for k, v := range rankStats(p, i) {
				got[k] = append(got[k], v)
			}
		}
		for k := range names {
			ranks[k] = append(ranks[k], bayes.Rank(got[k], truth[k]))
		}
	}
	var table, plots strings.Builder
	for k, name := range names {
		r := bayes.TestRanks(ranks[k], draws, 20, 0.01/float64(len(names)), 7)
		if !r.Uniform() {
			t.Errorf("%s: ranks leave the band: %.2f over %.2f, histogram %v", name, r.Worst, r.Limit, r.Histogram)
		}
		fmt.Fprintf(&table, "| %s | %d | %.2f | %.2f | %v |\n", name, len(ranks[k]), r.Worst, r.Limit, r.Uniform())
		rankPlot(&plots, k, name, r)
	}
	if *rankOut != "" {
		writeRanks(t, table.String(), plots.String(), len(names))
	}
}

// What the sampler is told is idle moves no likelihood, on parcels of every kind.
func TestIdleCoordinates(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 14))
	idle := 0
	for range 60 {
		in := rankInput(rng)
		if rng.Float64() < 0.5 {
			in = withSibling(rng)
		}
		for _, drop := range []What{PH, TA, Bubble, Chromatogram, Malic} {
			if rng.Float64() < 0.4 {
				in.Readings = slices.DeleteFunc(in.Readings, func(r Reading) bool { return r.What == drop })
			}
		}
		if rng.Float64() < 0.3 {
			free := quantity.Concentration(0.005)
			in.Facts.FreeSO2 = &free
		}
		if err := in.settle(); err != nil {
			t.Fatal(err)
		}
		m := newModel(in)
		z := make([]float64, m.dim)
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		was := m.logLikelihood(z)
		for _, c := range m.idle() {
			z[c] = rng.NormFloat64()
			idle++
		}
		if is := m.logLikelihood(z); is != was {
			t.Errorf("idle %v of %d coordinates: log-likelihood went from %v to %v", m.idle(), m.dim, was, is)
		}
	}
	if idle < 60 {
		t.Errorf("only %d coordinates were idle: this test tests nothing", idle)
	}
}

// rankInput is a parcel of random facts and a random plan of readings, values to come.
func rankInput(rng *rand.Rand) Input {
	ph, ta := quantity.PH(3.3+0.35*rng.Float64()), quantity.Concentration(5.5+2*rng.Float64())
	abv, temp := quantity.Strength(12+2*rng.Float64()), quantity.Celsius(17+5*rng.Float64())
	how := malolactic.Inoculation(rng.IntN(4))
	start := day("2026-10-01")
	in := Input{Facts: Facts{PH: &ph, TA: &ta, Alcohol: &abv, Temperature: &temp, Inoculated: &start, Inoculation: &how}}
	last := 20 + rng.IntN(60)
	in.Readings = rankRows(rng, start, 0, last, ph)
	in.At = start.AddDate(0, 0, last)
	return in
}

// rankRows is a plan of readings from one day to another.
func rankRows(rng *rand.Rand, start time.Time, from, last int, ph quantity.PH) []Reading {
	var rows []Reading
	for d := from + 4 + rng.IntN(5); d <= last; d += 4 + rng.IntN(8) {
		for _, w := range []What{PH, TA, Bubble, PHCheck7, PHControl, Chromatogram, Malic} {
			chance := map[What]float64{PH: 0.9, TA: 0.6, Bubble: 0.5, PHCheck7: 0.3, PHControl: 0.3, Chromatogram: 0.15, Malic: 0.1}[w]
			if rng.Float64() < chance {
				rows = append(rows, Reading{On: start.AddDate(0, 0, d), What: w, Value: map[What]float64{PH: 3.5, TA: 6, Bubble: 600, PHCheck7: 7, PHControl: float64(ph), Malic: 1}[w], Text: SpotNone})
			}
		}
	}
	return rows
}

// invent draws a hidden state and its readings from the model, writes the readings
// into in, and returns the truth as a posterior of one particle.
func invent(in *Input, rng *rand.Rand) *posterior {
	m := newModel(*in)
	z := make([]float64, m.dim)
	for i := range z {
		z[i] = rng.NormFloat64()
	}
	s := m.at(z)
	m.inventSeen(&m.course, in.Readings, z, z[zLock], &s, rng)
	for i, q := range m.kin {
		its := m.atKin(q, z, &s)
		m.inventSeen(&q.course, in.Siblings[i].Own, z, z[q.first+kLock], &its, rng)
	}
	m.residuals(m.resid, z, &s)
	noise := m.drawMoving(rng)
	for i, gi := range m.panel.moving {
		g := &m.panel.gauges[gi]
		rows := in.Readings
		if g.parcel > 0 {
			rows = in.Siblings[g.parcel-1].Own
		}
		rows[g.reading].Value = g.value - m.resid[i] + noise[i]
	}
	p := &posterior{model: newModel(*in), in: in, draws: bayes.Posterior{Z: [][]float64{z}}}
	p.fates = p.follow(change{}, 1)
	return p
}

// inventSeen writes what shows malic acid or its going into the rows of a course.
func (m *model) inventSeen(c *course, rows []Reading, z []float64, lock float64, s *state, rng *rand.Rand) {
	for i := range c.assays {
		a := &c.assays[i]
		malic := c.malicOn[c.slot[a.day]]
		f := &m.faults
		sd := f.AssayFixed + f.AssayShare*malic
		v := malic*(1+f.AssayKit*z[zKit]) + 0.3*f.AssayFixed*z[zKit] + sd*studentDraw(rng, 5)
		rows[a.reading].Value = math.Max(v, 0.05)
	}
	for i := range c.spots {
		malic := c.malicOn[c.slot[c.spots[i].day]]
		u := rng.Float64()
		word := SpotStrong
		if none := m.spotChance(SpotNone, malic, z[zSpot]); u < none {
			word = SpotNone
		} else if u < none+m.spotChance(SpotFaint, malic, z[zSpot]) {
			word = SpotFaint
		}
		rows[c.spots[i].reading].Text = word
	}
	for i := range c.locks {
		rows[c.locks[i].reading].Value = m.inventBubble(c, &c.locks[i], lock, s, rng)
	}
}

// drawMoving draws residuals of the moving gauges given the others.
func (m *model) drawMoving(rng *rand.Rand) []float64 {
	n := len(m.panel.moving)
	x := make([]float64, n)
	for i := 0; i < n; i++ { // solve L⁻¹ x = ξ
		row := m.panel.chol[i*(i+1)/2:]
		v := rng.NormFloat64()
		for j := 0; j < i; j++ {
			v -= row[j] * x[j]
		}
		x[i] = v / row[i]
	}
	for i := range x {
		x[i] += m.panel.shift[i]
	}
	return x
}

func (m *model) inventBubble(c *course, l *lock, z float64, s *state, rng *rand.Rand) float64 {
	expect, variance := m.lockExpectation(c, l, z, s)
	x := expect + math.Sqrt(variance)*studentDraw(rng, 4)
	if rng.Float64() < m.faults.LockSilent || -x >= math.Log(NoBubbleSeconds) {
		return NoBubbleSeconds
	}
	return math.Exp(-x)
}

func studentDraw(rng *rand.Rand, nu int) float64 {
	q := 0.0
	for i := 0; i < nu; i++ {
		v := rng.NormFloat64()
		q += v * v
	}
	return rng.NormFloat64() / math.Sqrt(q/float64(nu))
}

// rankStats of one particle. The future of particle 0 is that of the truth, so
// statistics stop at today; where a statistic can be infinite or tied it is nudged
// by the particle's own lot factor, which breaks ties at random.
func rankStats(p *posterior, i int) []float64 {
	f, z := &p.fates[i], p.draws.Z[i]
	nudge := 1e-9 * z[malolactic.ZPHMin]
	now := float64(p.season.now)
	end := math.Min(f.finish, now+1)
	return []float64{f.now + nudge, f.m0, f.work[p.season.now] + nudge, f.rate + nudge, end + nudge, z[zStall],
		z[malolactic.ZHalfSaturation], z[malolactic.ZLot]}
}

func rankPlot(w *strings.Builder, k int, name string, r bayes.RankTest) {
	x0, y0, width, height := 20+240*(k%4), 30+260*(k/4), 200.0, 90.0
	fmt.Fprintf(w, `<text x="%d" y="%d">%s</text>`, x0, y0-8, name)
	expect := float64(r.Ranks) / float64(len(r.Histogram))
	sd := math.Sqrt(expect * (1 - 1/float64(len(r.Histogram))))
	scale := height / (2.2 * expect)
	fmt.Fprintf(w, `<rect x="%d" y="%.1f" width="%.0f" height="%.1f" fill="#ddd"/>`, x0, float64(y0)+height-(expect+2.6*sd)*scale, width, 5.2*sd*scale)
	for i, c := range r.Histogram {
		bar := width / float64(len(r.Histogram))
		fmt.Fprintf(w, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#7a2e3a"/>`, float64(x0)+float64(i)*bar, float64(y0)+height-float64(c)*scale, bar-1, float64(c)*scale)
	}
	mid, span := float64(y0)+height+60, 50.0
	band := func(sign float64) string {
		var b strings.Builder
		for i, g := range r.Grid {
			fmt.Fprintf(&b, "%.1f,%.1f ", float64(x0)+g*width, mid-sign*r.Band[i]*span*4)
		}
		return b.String()
	}
	fmt.Fprintf(w, `<polyline points="%s" fill="none" stroke="#999"/><polyline points="%s" fill="none" stroke="#999"/>`, band(1), band(-1))
	var line strings.Builder
	for i, g := range r.Grid {
		fmt.Fprintf(&line, "%.1f,%.1f ", float64(x0)+g*width, mid-r.Excess[i]*span*4)
	}
	fmt.Fprintf(w, `<polyline points="%s" fill="none" stroke="#7a2e3a" stroke-width="1.5"/>`+"\n", line.String())
}

func writeRanks(t *testing.T, table, plots string, n int) {
	t.Helper()
	svg := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 980 %d" font-family="sans-serif" font-size="12"><title>Ranks of the truth among posterior draws: histogram with 99 percent of bins, and ECDF less uniform with simultaneous 99 percent band over all panels</title>%s</svg>`,
		30+260*((n+3)/4), plots)
	text := fmt.Sprintf("# Calibration under the model itself\n\nRanks of the truth among 99 posterior draws, %d simulated parcels. Made by\n\n    go test ./internal/track -run TestRanksUnderTheModel -ranks %d -ranks-out \"$PWD/docs/studies\"\n\n"+
		"Worst is the largest standardised deviation of the ranks' distribution function from uniform, limit what uniform ranks exceed with probability 1 %% over all rows together.\n\n![ranks](ranks.svg)\n\n| statistic | parcels | worst | limit | inside |\n|---|---|---|---|---|\n%s", *rankRuns, *rankRuns, table)
	for name, body := range map[string]string{"ranks.svg": svg, "ranks.md": text} {
		if err := os.WriteFile(filepath.Join(*rankOut, name), []byte(body), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
