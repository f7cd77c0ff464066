package study

import (
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
	"sync"

	"elevage/internal/track"
	"elevage/science/bayes"
)

// A Tally is what one set of readings came to over many lots of the other world.
type Tally struct {
	Set        string
	set        Set
	Lots       int
	Coverage   bayes.Coverage
	ByStage    map[string]*bayes.Coverage
	CRPS       []float64
	Rule       [2][]float64 // six weeks; pH flat for two weeks
	False      int          // lots called finished with more than 0.25 g/L left
	FalseStall int          // lots called stalled that were neither stalled nor finished
	Ended      int          // lots that finished at least two weeks before the last look
	Called     int          // of those, called finished by 14 days after the end
	CalledEver int
	Decisive   int // of those that ended, with a decisive test
	DecCalled  int // of those, called within 14 days after the end
	Shown      int // lots with 14 days left after the first such test
	ShownCall  int // of those, called within 14 days after it
	Delays     []float64
	RuleFalse  [2]int
	Brier      []float64
	Notes      []string               // every false call, and decisive lots left uncalled
	Said       [2][len(saidBins)]Said // chance of being finished, and of more than 0.25 g/L, against how it was
	AtCall     []float64              // chance of more than 0.25 g/L at the first call of "finished"
	Looks      []string               // every look as a row of comma-separated values; see LooksHeader
	FinishCov  bayes.Coverage         // does [q05, q95] of the finish date, asked when half way, hold the end?
}

// Said are looks at which a chance lay in a bin, and how many of them it came true in.
type Said struct {
	Looks, True int
	Chance      float64 // summed
}

var saidBins = [...]float64{0.0075, 0.02, 0.05, 0.2, 0.5, 0.8, 0.9, 0.95, 0.98, 1}

func (s *Said) share() string {
	if s.Looks == 0 {
		return "–"
	}
	return fmt.Sprintf("%.3f, %.3f of %d", s.Chance/float64(s.Looks), float64(s.True)/float64(s.Looks), s.Looks)
}

func (t *Tally) said(what int, chance float64, so bool) {
	for i, up := range saidBins {
		if chance <= up {
			s := &t.Said[what][i]
			s.Looks, s.True, s.Chance = s.Looks+1, s.True+count(so), s.Chance+chance
			return
		}
	}
}

// LooksHeader names the columns of Tally.Looks.
const LooksHeader = "set,lot,law,finished_on,stalled_on,day,malic_g_l,stage,p_finished,p_over_0.25,p_stalled,carried,call"

// Stages by truth.
var stages = []string{"lag", "bulk", "tail", "finished", "stalled"}

func (l *Lot) stage(d int) string {
	m, m0 := l.Malic[d], l.Malic[0]
	switch {
	case m < 0.1:
		return "finished"
	case l.Stall >= 0 && d >= l.Stall:
		return "stalled"
	case m0-m < 0.1:
		return "lag"
	case m < 0.5:
		return "tail"
	}
	return "bulk"
}

// Worse runs n lots, from number first, through the sets, looking weekly, on the
// given number of cores.
func Worse(sets []Set, first, n, particles, cores int) []*Tally {
	tallies := make([]*Tally, len(sets))
	for i, s := range sets {
		tallies[i] = &Tally{Set: s.Name, set: s, ByStage: map[string]*bayes.Coverage{}}
		for _, st := range stages {
			tallies[i].ByStage[st] = &bayes.Coverage{}
		}
	}
	var mu sync.Mutex
	var wg sync.WaitGroup
	next := make(chan uint64)
	for range cores {
		wg.Go(func() {
			for seed := range next {
				l := NewLot(seed)
				for i, s := range sets {
					c := l.judge(s, particles)
					mu.Lock()
					tallies[i].add(l, c)
					mu.Unlock()
				}
			}
		})
	}
	for seed := first; seed < first+n; seed++ {
		next <- uint64(seed)
	}
	close(next)
	wg.Wait()
	return tallies
}

// A look is one weekly judgement.
type look struct {
	day    int
	truth  float64
	stage  string
	belief track.Belief
	rule   [2]float64 // malic acid as the rules used by hand have it
	called [2]bool
}

func (l *Lot) judge(s Set, particles int) []look {
	readings := s.Pick(l.Readings)
	var out []look
	for d := 7; d <= span; d += 7 {
		b, err := track.Malo(track.Input{Facts: l.Facts, Readings: readings, At: Start.AddDate(0, 0, d),
			Options: track.Options{Particles: particles, Brief: true}})
		if err != nil {
			panic(err) // the world makes no input that cannot be judged
		}
		k := look{day: d, truth: l.Malic[d], stage: l.stage(d), belief: b}
		k.rule, k.called = rules(l, readings, d)
		out = append(out, k)
	}
	return out
}

// rules are the two used by hand: after six weeks it is done; when pH has been flat
// for two weeks (within 0.03 over three sessions, after having risen 0.05) it is
// done. Before that all the usual malic acid is taken to be there.
func rules(l *Lot, readings []track.Reading, d int) (malic [2]float64, done [2]bool) {
	usual := 2.1
	if l.Facts.Colour == "white" {
		usual = 2.9
	}
	if l.Facts.Malic != nil {
		usual = float64(*l.Facts.Malic)
	}
	done[0] = d >= 42
	var ph []track.Reading
	for _, r := range readings {
		if r.What == track.PH && !r.On.After(Start.AddDate(0, 0, d)) {
			ph = append(ph, r)
		}
	}
	if n := len(ph); n >= 3 {
		a, b, c := ph[n-3], ph[n-2], ph[n-1]
		lo, hi := math.Min(a.Value, math.Min(b.Value, c.Value)), math.Max(a.Value, math.Max(b.Value, c.Value))
		done[1] = hi-lo <= 0.031 && c.On.Sub(a.On).Hours() >= 12*24 && c.Value-float64(*l.Facts.PH) >= 0.05
	}
	for i := range malic {
		malic[i] = usual
		if done[i] {
			malic[i] = 0
		}
	}
	return malic, done
}

func (t *Tally) add(l *Lot, looks []look) {
	t.Lots++
	calledOn, false_, falseStall := -1, false, false
	var ruleFalse [2]bool
	half := false
	for _, k := range looks {
		b := &k.belief
		t.Coverage.Add(float64(b.Malic.Q05), float64(b.Malic.Q95), k.truth)
		t.ByStage[k.stage].Add(float64(b.Malic.Q05), float64(b.Malic.Q95), k.truth)
		t.CRPS = append(t.CRPS, bayes.CRPS(b.Draws, k.truth))
		t.said(0, b.PFinished, k.truth < 0.1)
		t.said(1, k.trace(), k.truth > 0.25)
		t.Looks = append(t.Looks, fmt.Sprintf("%s,%d,%d,%d,%d,%d,%.4f,%s,%.4f,%.4f,%.4f,%v,%s", t.Set, l.Seed, l.Law, l.Finish, l.Stall, k.day, k.truth, k.stage,
			b.PFinished, k.trace(), b.State.Stalled, b.Decision.Carried, b.Decision.Call))
		t.Brier = append(t.Brier, bayes.Brier(b.PFinished, k.truth < 0.1))
		for i := range k.rule {
			t.Rule[i] = append(t.Rule[i], math.Abs(k.rule[i]-k.truth))
			if k.called[i] && k.truth > 0.25 {
				ruleFalse[i] = true
			}
		}
		switch b.Decision.Call {
		case track.CallFinished:
			if calledOn < 0 {
				calledOn = k.day
				t.AtCall = append(t.AtCall, k.trace())
			}
			if k.truth > 0.25 && !false_ {
				false_ = true
				t.Notes = append(t.Notes, fmt.Sprintf("lot %d (%s): called finished on day %d at %.3f with %.2f g/L left of %.2f, stalled on day %d, law %d: %s",
					l.Seed, t.Set, k.day, b.PFinished, k.truth, l.Malic[0], l.Stall, l.Law, b.Decision.CarriedBy))
			}
		case track.CallStalled:
			if k.stage != "stalled" && k.stage != "finished" {
				falseStall = true
			}
		}
		if !half && l.Malic[k.day] < l.Malic[0]/2 && l.Malic[k.day] > 0.1 && l.Stall < 0 {
			half = true
			if l.Finish >= 0 {
				t.FinishCov.Add(dayOf(b.Finish.Q05), dayOf(b.Finish.Q95), float64(l.Finish))
			}
		}
	}
	t.False += count(false_)
	t.FalseStall += count(falseStall)
	for i := range ruleFalse {
		t.RuleFalse[i] += count(ruleFalse[i])
	}
	if l.Finish >= 0 && l.Finish+14 <= span {
		t.Ended++
		in := calledOn >= 0 && calledOn <= l.Finish+14+6 // looks are weekly: the first one at or after day 14
		t.Called += count(in)
		t.CalledEver += count(calledOn >= 0)
		if calledOn >= 0 {
			t.Delays = append(t.Delays, float64(calledOn-l.Finish))
		}
		if test, ok := l.decisive(t.set); ok {
			if test+14 <= span {
				t.Shown++
				t.ShownCall += count(calledOn >= 0 && calledOn <= test+14+6)
			}
			t.Decisive++
			t.DecCalled += count(in)
			if !in {
				t.Notes = append(t.Notes, fmt.Sprintf("lot %d (%s): finished on day %d, law %d, called on day %d; %s; chance (and of more than 0.25 g/L) by day:%s", l.Seed, t.Set, l.Finish, l.Law, calledOn, l.decisiveTests(), chances(looks, l.Finish)))
			}
		}
	}
}

func chances(looks []look, from int) string {
	s := ""
	for _, k := range looks {
		if k.day >= from && k.day < from+28 {
			s += fmt.Sprintf(" %d %.3f (%.3f)", k.day, k.belief.PFinished, k.trace())
		}
	}
	return s
}

// trace is the chance that more malic acid is left than may be called finished.
func (k *look) trace() float64 {
	n := 0
	for _, m := range k.belief.Draws {
		n += count(m > float64(track.Trace))
	}
	return float64(n) / float64(len(k.belief.Draws))
}

// decisiveTests are the tests that see malic acid itself, from a week before the end
// to four weeks after it.
func (l *Lot) decisiveTests() string {
	s := "tests:"
	for _, r := range l.Readings {
		d := int(r.On.Sub(Start).Hours() / 24)
		if (r.What == track.Chromatogram || r.What == track.Malic) && d >= l.Finish-7 && d <= l.Finish+28 {
			s += fmt.Sprintf(" %s on %d (%.2f g/L)", r.Text, d, l.Malic[d])
		}
	}
	return s
}

// decisive is the first day, from 2 to 14 days after the end, on which a test that sees
// malic acid itself saw none: a clear sheet, or an assay at the limit or below.
func (l *Lot) decisive(set Set) (day int, ok bool) {
	for _, r := range set.Pick(l.Readings) {
		d := int(r.On.Sub(Start).Hours() / 24)
		if (r.What == track.Chromatogram && r.Text == track.SpotNone || r.What == track.Malic && r.Value <= 0.1) && d >= l.Finish+2 && d <= l.Finish+14 && (!ok || d < day) {
			day, ok = d, true
		}
	}
	return day, ok
}

func dayOf(d *track.Date) float64 {
	if d == nil {
		return math.Inf(1)
	}
	return d.Sub(Start).Hours() / 24
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Print writes the table.
func Print(w io.Writer, tallies []*Tally) {
	fmt.Fprintf(w, "| readings | lots | 90 %% covers | lag | bulk | tail | finished | stalled | CRPS g/L | six weeks | pH flat | Brier | finish date covers |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|\n")
	for _, t := range tallies {
		fmt.Fprintf(w, "| %s | %d | %.3f |", t.Set, t.Lots, t.Coverage.Share())
		for _, s := range stages {
			fmt.Fprintf(w, " %.2f |", t.ByStage[s].Share())
		}
		fmt.Fprintf(w, " %.3f | %.3f | %.3f | %.3f | %.2f |\n", bayes.Mean(t.CRPS), bayes.Mean(t.Rule[0]), bayes.Mean(t.Rule[1]), bayes.Mean(t.Brier), t.FinishCov.Share())
	}
	fmt.Fprintf(w, "\n| readings | false finished | upper 95 %% | six weeks: false | pH flat: false | false stalled | ended | called in 14 d | ever called | median delay d | saw none 2 to 14 d after the end | of these called in 14 d | 14 d left after that test | of these called by then |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n")
	for _, t := range tallies {
		_, hi := bayes.Wilson(t.False, t.Lots, 1.96)
		sort.Float64s(t.Delays)
		fmt.Fprintf(w, "| %s | %d of %d | %.3f | %d | %d | %d | %d | %d | %d | %.0f | %d | %d | %d | %d |\n", t.Set, t.False, t.Lots, hi, t.RuleFalse[0], t.RuleFalse[1],
			t.FalseStall, t.Ended, t.Called, t.CalledEver, bayes.Quantile(t.Delays, 0.5), t.Decisive, t.DecCalled, t.Shown, t.ShownCall)
	}
	fmt.Fprintf(w, "\nWhat chances were worth: mean chance said, share in which it was so, number of looks.\n\n| readings | of |")
	for _, up := range saidBins {
		fmt.Fprintf(w, " to %g |", up)
	}
	fmt.Fprintf(w, "\n|---|---|%s\n", strings.Repeat("---|", len(saidBins)))
	for _, t := range tallies {
		for what, name := range []string{"finished", "over 0.25 g/L"} {
			fmt.Fprintf(w, "| %s | %s |", t.Set, name)
			for i := range saidBins {
				fmt.Fprintf(w, " %s |", t.Said[what][i].share())
			}
			fmt.Fprintln(w)
		}
	}
	for _, t := range tallies {
		if len(t.AtCall) > 0 {
			fmt.Fprintf(w, "\nAt the first call of \"finished\" (%s) the mean chance of more than 0.25 g/L was %.4f.\n", t.Set, bayes.Mean(t.AtCall))
		}
	}
}
