package track

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"elevage/science/bayes"
	"elevage/science/quantity"
)

// A testimony is one reading with what each kept particle thinks of it.
type testimony struct {
	on       time.Time
	what     What
	value    string
	line     int
	logL     []float64
	expected string
	surprise float64
	doubt    float64 // chance that it is wild
	got      float64
	mean, sd float64 // predicted by all others; sd 0 where that has no meaning
}

func toGPerL(v float64) quantity.Concentration { return quantity.Concentration(v) }

// evidence lists every reading and fact that entered the likelihood.
func (p *posterior) evidence(keep []int) []testimony {
	var out []testimony
	loo := make([][]float64, len(keep))
	for j, i := range keep {
		loo[j] = make([]float64, len(p.panel.gauges))
		p.panel.leaveOneOut(loo[j], p.allResiduals(p.draws.Z[i]))
	}
	for gi := range p.panel.gauges {
		if p.panel.gauges[gi].parcel == 0 { // a sibling's are shown with the sibling
			out = append(out, p.gaugeTestimony(gi, loo))
		}
	}
	states := make([]state, len(keep))
	malic := make([][]float64, len(keep))
	lockL := make([][]float64, len(p.locks))
	for j, i := range keep {
		states[j] = p.at(p.draws.Z[i])
		malic[j] = append([]float64(nil), p.malicOn...)
		for k := range p.locks {
			lockL[k] = append(lockL[k], p.lockLog(&p.course, &p.locks[k], p.draws.Z[i][zLock], &states[j]))
		}
	}
	for k := range p.assays {
		out = append(out, p.assayTestimony(&p.assays[k], keep, malic))
	}
	for k := range p.spots {
		out = append(out, p.spotTestimony(&p.spots[k], keep, malic))
	}
	for k := range p.locks {
		t := p.testimony(p.locks[k].reading, Bubble, p.locks[k].seconds)
		t.logL = lockL[k]
		out = append(out, t)
	}
	return out
}

func (p *posterior) testimony(reading int, what What, value float64) testimony {
	t := testimony{on: p.season.start, what: what, value: strconv.FormatFloat(value, 'f', -1, 64), got: value}
	if reading >= 0 {
		r := p.used[reading]
		t.on, t.what, t.value, t.line = r.On, r.What, r.Text, r.Line
	}
	return t
}

func (p *posterior) gaugeTestimony(gi int, loo [][]float64) testimony {
	g := &p.panel.gauges[gi]
	t := p.testimony(g.reading, g.what, g.value)
	sound := math.Sqrt(math.Max(p.panel.sdLOO[gi]*p.panel.sdLOO[gi]-p.panel.noise(gi)+g.sd*g.sd, 1e-8))
	wild := math.Hypot(sound, g.outlier)
	mean := 0.0
	for _, r := range loo {
		mean += r[gi] / float64(len(loo))
	}
	vary := 0.0
	for _, r := range loo {
		vary += (r[gi] - mean) * (r[gi] - mean) / float64(len(loo))
		t.logL = append(t.logL, bayes.LogAddExp(math.Log(1-p.faults.Outlier)+bayes.NormalLogDensity(r[gi], 0, sound),
			math.Log(p.faults.Outlier)+bayes.NormalLogDensity(r[gi], 0, wild)))
	}
	t.mean, t.sd = g.value-mean, math.Sqrt(sound*sound+vary)
	t.surprise = mean / t.sd
	t.doubt = g.doubt
	t.expected = fmt.Sprintf("%.2f ± %.2f", t.mean, t.sd)
	if g.what == TA {
		t.expected += " g/L"
	}
	return t
}

func (p *posterior) assayTestimony(a *assay, keep []int, malic [][]float64) testimony {
	t := p.testimony(a.reading, Malic, a.value)
	slot := p.slot[a.day]
	var mean, square float64
	for j, i := range keep {
		l := p.assayLog(a, malic[j][slot], p.draws.Z[i][zKit])
		t.logL = append(t.logL, l)
		t.doubt += math.Exp(math.Log(p.faults.Outlier)-math.Log(5)-l) / float64(len(keep))
		mean += malic[j][slot] / float64(len(keep))
		square += malic[j][slot] * malic[j][slot] / float64(len(keep))
	}
	sd := p.faults.AssayFixed + (p.faults.AssayShare+p.faults.AssayKit)*mean
	t.mean, t.sd = mean, math.Sqrt(sd*sd+math.Max(0, square-mean*mean))
	t.surprise = (a.value - mean) / t.sd
	t.expected = fmt.Sprintf("%.2f ± %.2f g/L", t.mean, t.sd)
	return t
}

func (p *posterior) spotTestimony(s *spot, keep []int, malic [][]float64) testimony {
	t := p.testimony(s.reading, Chromatogram, 0)
	chance, wild := 0.0, 0.0
	for j, i := range keep {
		c := p.spotChance(s.word, malic[j][p.slot[s.day]], p.draws.Z[i][zSpot])
		t.logL = append(t.logL, math.Log(c))
		chance += c / float64(len(keep))
		wild += p.faults.Misread / 3 / c / float64(len(keep))
	}
	t.surprise = -math.Log2(chance)
	t.doubt = wild
	return t
}

// contradiction names the reading and, where one fits, the usual slip.
func (t *testimony) contradiction() string {
	s := fmt.Sprintf("%s %s on %s contradicts the other readings", ReadingWords(t.what), t.value, t.on.Format(DateLayout))
	if t.expected != "" {
		s += fmt.Sprintf(" (they expect %s)", t.expected)
	}
	if sw, ok := t.swapped(); ok {
		return s + fmt.Sprintf("; with two digits swapped (%s) it would fit", sw)
	}
	if t.what == PH || t.what == TA || t.what == Malic || t.what == Chromatogram {
		return s + "; it would fit if it was another vessel's wine, or a slip"
	}
	return s
}

// swapped tries neighbouring digits exchanged.
func (t *testimony) swapped() (string, bool) {
	if t.sd == 0 {
		return "", false
	}
	b := []byte(t.value)
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	for i := range b {
		j := i + 1
		if j < len(b) && !digit(b[j]) {
			j++
		}
		if j >= len(b) || !digit(b[i]) || !digit(b[j]) || b[i] == b[j] {
			continue
		}
		c := append([]byte(nil), b...)
		c[i], c[j] = c[j], c[i]
		if v, err := strconv.ParseFloat(string(c), 64); err == nil && math.Abs(v-t.mean) < 1.5*t.sd {
			return string(c), true
		}
	}
	return "", false
}
