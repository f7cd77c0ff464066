package track

import (
	"fmt"
	"math"
	"sort"

	"elevage/science/bayes"
)

// None is the option of making no test.
const None What = "none"

const (
	lookAgain = 14 // days until one would look again after a test that settled nothing
	lookAhead = 75 // days over which a course of action is costed
	testThin  = 400
)

// nextTest asks of each test on each of some days: what would it show, given each
// way the wine may be going, and what would one then do? The best is the one with
// the lowest expected cost of everything: the test, the minutes, a wrong "finished",
// a finished wine standing unprotected, a stall unseen (preposterior analysis;
// Raiffa & Schlaifer 1961).
func (p *posterior) nextTest(d Decision, s State) NextTest {
	g := p.gambler()
	doubt := round(doubtful(s.Finished), 4)
	none := Option{What: string(None), WrongBefore: doubt, WrongAfter: doubt,
		Expected: round(g.without(d), 2)}
	options := []Option{none}
	for _, t := range p.in.Options.Tests {
		if o, ok := g.best(t); ok {
			options = append(options, o)
		}
	}
	sort.SliceStable(options, func(i, j int) bool { return options[i].Expected < options[j].Expected })
	best := options[0]
	if d.Call == CallFinished {
		best = none // the call stands; another test is a matter of taste, shown with its price
	}
	return NextTest{What: best.What, On: best.On, Reason: g.reason(best, d), Options: options}
}

// goneBy is the chance that malic acid is under the limit by a day, over all draws.
func (p *posterior) goneBy(day int) float64 {
	return p.share(func(f *fate) bool { return f.finish <= float64(day) })
}

func doubtful(p float64) float64 { return math.Min(p, 1-p) }

// A gambler holds a thinned set of fates and weighs what to do.
type gambler struct {
	*posterior
	fates []fate
	z     [][]float64
	days  []int
	malic map[int][]float64
	c     Costs

	standings map[int][]standing // by day
	scratch   [followUps + 1][]float64

	startKnown bool // the malic acid was measured at the start
}

func (p *posterior) gambler() *gambler {
	g := &gambler{posterior: p, c: *p.in.Options.Costs, malic: map[int][]float64{}, standings: map[int][]standing{}}
	_, g.startKnown = p.measuredStart()
	step := p.everyOf(testThin)
	for i := 0; i < len(p.fates); i += step {
		g.fates, g.z = append(g.fates, p.fates[i]), append(g.z, p.draws.Z[i])
	}
	for i := range g.scratch {
		g.scratch[i] = make([]float64, len(g.fates))
	}
	g.days = g.candidateDays()
	return g
}

// candidateDays are today, the next days, and days about the expected end.
func (g *gambler) candidateDays() []int {
	now := g.season.now
	set := map[int]bool{}
	for _, d := range []int{0, 3, 7, 14, 21, 28, 35, 42, 56, 70} {
		set[now+d] = true
	}
	finish := column(g.fates, func(f *fate) float64 { return f.finish })
	sort.Float64s(finish)
	for _, q := range []float64{0.25, 0.5, 0.65, 0.8} {
		if d := bayes.Quantile(finish, q); d <= float64(now+lookAhead-lookAgain) {
			if x := int(math.Ceil(d)) + 5; x > now {
				set[x] = true
			}
		}
	}
	days := make([]int, 0, len(set))
	for d := range set {
		days = append(days, d)
	}
	sort.Ints(days)
	return days
}

// without is the expected cost of making no test: acting now if the decision
// allows, else letting things stand until the end of what is looked at.
func (g *gambler) without(d Decision) float64 {
	now, end := float64(g.season.now), float64(g.season.now+lookAhead)
	cost := 0.0
	for i := range g.fates {
		f := &g.fates[i]
		switch {
		case d.Call == CallFinished && f.finish > now:
			cost += g.c.FalseFinished * math.Min(1, f.now/float64(Trace))
		case d.Call == CallFinished:
		default:
			cost += g.idle(f, now, end, d.Call == CallStalled)
		}
	}
	return cost / float64(len(g.fates))
}

// idle is what letting a wine be from one day to another costs: days finished and
// unprotected, days stalled unseen.
func (g *gambler) idle(f *fate, from, to float64, seen bool) float64 {
	cost := 0.0
	if f.finish < to {
		cost += g.c.UnprotectedDay * (to - math.Max(from, f.finish))
	} else if f.stall < to && !seen {
		cost += g.c.LostDay * (to - math.Max(from, f.stall))
	}
	return cost
}

// A plan is one test with what it may show on each day, worked out once.
type plan struct {
	Test
	price  float64
	chance [][][]float64 // by index into days, then outcome, then fate
	good   [][]float64   // by index into days, then fate: the chance of an outcome that speaks for the end
}

// best is a test on its cheapest day; false if nothing is known of the test.
func (g *gambler) best(t Test) (Option, bool) {
	p := plan{Test: t, price: t.Cost + g.c.Minute*t.Minutes}
	for _, day := range g.days {
		chance := g.outcomes(t.What, day)
		if chance == nil {
			return Option{}, false
		}
		p.chance = append(p.chance, chance)
		p.good = append(p.good, g.speaksForTheEnd(chance, day))
	}
	best := Option{Expected: math.Inf(1)}
	for i := range g.days {
		if g.days[i] > g.season.now+lookAhead-lookAgain {
			break
		}
		if o := g.weigh(&p, i); o.Expected < best.Expected-0.005 {
			best = o
		}
	}
	best.Expected = round(best.Expected, 2)
	return best, true
}

// speaksForTheEnd merges the outcomes in whose light the end is likelier than before.
func (g *gambler) speaksForTheEnd(chance [][]float64, day int) []float64 {
	out := make([]float64, len(g.fates))
	standing := g.on(day)
	n, gone := float64(len(standing)), 0.0
	for _, s := range standing {
		gone += float64(count(s.gone))
	}
	for _, l := range chance {
		var all, of float64
		for j, s := range standing {
			all += l[j]
			if s.gone {
				of += l[j]
			}
		}
		if of*n > gone*all {
			for j := range out {
				out[j] += l[j]
			}
		}
	}
	return out
}

// weigh is the expected cost of a test on the i-th day, acting on what it shows and
// following it up if it settles nothing.
func (g *gambler) weigh(p *plan, i int) Option {
	n := float64(len(g.fates))
	now, day := float64(g.season.now), g.days[i]
	on := Date{g.season.date(float64(day))}
	o := Option{What: string(p.What), On: &on, Cost: p.Cost, Minutes: p.Minutes, Expected: p.price}
	before := 0.0
	for j := range g.fates {
		o.Expected += g.idle(&g.fates[j], now, float64(day), false) / n
		if g.fates[j].finish <= float64(day) {
			before += 1 / n
		}
	}
	carries, wrong := g.carries(p.What), 0.0
	for _, l := range p.chance[i] {
		v := g.act(l, day, carries)
		wrong += math.Min(v.gone, v.all-v.gone) / n
		if v.settled {
			o.Settles += v.all / n
		} else if carries {
			next := later
			if v.gone > before*v.all {
				next = soon
			}
			v.cost = math.Min(v.cost, g.goOn(p, i, l, next, followUps))
		}
		o.Expected += v.cost / n
	}
	// What is said of the day is said of all draws, as everywhere else; the thinned set
	// only weighs by how much the test lowers it.
	o.WrongBefore, o.WrongAfter = round(doubtful(g.goneBy(day)), 4), 0
	if d := doubtful(before); d > 0 {
		o.WrongAfter = round(math.Min(1, wrong/d)*o.WrongBefore, 4)
	}
	o.Settles = round(o.Settles, 4)
	return o
}

// Days until one would make the same test again: sooner after a result that speaks for
// the end than after one that does not. How often it is followed up at most.
const (
	soon, later = 7, 14
	followUps   = 4
)

// goOn is the cost, from the i-th day, of following the test up until it settles
// something: the cost of a practice, not of the best plan there is, so that it errs
// towards caution. Later results only count as speaking for the end or not.
func (g *gambler) goOn(p *plan, i int, w []float64, gap, left int) float64 {
	k := i + 1
	for k < len(g.days) && g.days[k] < g.days[i]+gap {
		k++
	}
	if k >= len(g.days) || left == 0 {
		return g.act(w, g.days[i], true).cost
	}
	cost := 0.0
	from, to := g.on(g.days[i]), g.on(g.days[k])
	for j, wj := range w {
		cost += wj * (p.price + from[j].idle - to[j].idle)
	}
	u := g.scratch[left]
	for _, good := range []bool{true, false} {
		for j, c := range p.good[k] {
			if !good {
				c = 1 - c
			}
			u[j] = w[j] * c
		}
		v := g.act(u, g.days[k], true)
		switch next := later; {
		case v.settled:
			cost += v.cost
		default:
			if good {
				next = soon
			}
			cost += math.Min(v.cost, g.goOn(p, k, u, next, left-1))
		}
	}
	return cost
}

// A verdict is what one would do on a result, and what that costs from there on,
// weighted by the chance of the result.
type verdict struct {
	all, gone float64
	settled   bool
	cost      float64
}

// A standing is a fate on a day that is looked at.
type standing struct {
	idle  float64 // cost of letting it be from that day to the end of what is looked at
	loss  float64 // cost of calling it finished: 0 if it is
	gone  bool    // finished
	trace bool    // more is left than may be called finished
	stuck bool    // stopped for good, and not finished
}

// on remembers how all fates stand on a day.
func (g *gambler) on(day int) []standing {
	row, ok := g.standings[day]
	if !ok {
		then, end := float64(day), float64(g.season.now+lookAhead)
		row = make([]standing, len(g.fates))
		for j := range row {
			f, s := &g.fates[j], &row[j]
			s.idle, s.gone = g.idle(f, then, end, false), f.finish <= then
			if !s.gone {
				malic := g.malicOn(j, day)
				s.loss = g.c.FalseFinished * math.Min(1, malic/float64(Trace))
				s.trace, s.stuck = malic > float64(Trace), f.stall <= then
			}
		}
		g.standings[day] = row
	}
	return row
}

// act decides on weights: call it finished, treat it as stalled, or let things stand to
// the end of what is looked at.
func (g *gambler) act(weights []float64, day int, carries bool) verdict {
	var v verdict
	var call, trace, stuck, wait, seen float64
	for j, s := range g.on(day) {
		w := weights[j]
		v.all += w
		wait += w * s.idle
		call += w * s.loss
		if s.gone {
			v.gone += w
		}
		if s.trace {
			trace += w
		}
		if s.stuck {
			stuck += w
		} else {
			seen += w * s.idle
		}
	}
	switch {
	case v.all == 0:
	case carries && v.gone >= g.c.Threshold()*v.all && trace <= traceRisk*v.all:
		v.settled, v.cost = true, call
	case stuck >= 0.8*v.all:
		v.settled, v.cost = true, seen
	default:
		v.cost = wait
	}
	return v
}

// malicOn remembers the malic acid of a fate on the days looked at.
func (g *gambler) malicOn(j, day int) float64 {
	row, ok := g.malic[day]
	if !ok {
		row = make([]float64, len(g.fates))
		for i := range row {
			row[i] = g.fates[i].malic(day)
		}
		g.malic[day] = row
	}
	return row[j]
}

// carries: only a test that sees malic acid itself can settle the end; titratable
// acidity can once the wine has a history of it.
func (g *gambler) carries(w What) bool {
	switch w {
	case Chromatogram, Malic:
		return true
	case TA:
		n := 0
		for _, r := range g.used {
			if r.What == TA {
				n++
			}
		}
		return g.startKnown && g.facts.TA != nil && n >= 2
	}
	return false
}

func square2(rows, cols int) [][]float64 {
	flat := make([]float64, rows*cols)
	t := make([][]float64, rows)
	for i := range t {
		t[i] = flat[i*cols : (i+1)*cols]
	}
	return t
}

var testNames = map[What]string{Chromatogram: "run a paper chromatogram", Malic: "measure malic acid with a strip or kit",
	TA: "titrate", PH: "read the pH", PHControl: "read the pH beside the control wine kept back on day 0"}

// reason says the advice in words.
func (g *gambler) reason(o Option, d Decision) string {
	if o.What == string(None) {
		if d.Call == CallFinished {
			return "Nothing more is needed to call it; a second look costs more than it saves."
		}
		if d.Call == CallStalled {
			return "That it has stopped is plain enough: find out why first. A test of the malic acid would tell nothing new."
		}
		return "No test of the malic acid is worth its price yet: look again in two weeks, or when something changes."
	}
	day := g.season.day(o.On.Time)
	gone := g.goneBy(day)
	what := testNames[What(o.What)]
	settles := fmt.Sprintf("the result settles the question with a chance of %s", percent(o.Settles))
	if o.Settles < 0.02 {
		settles = "the result narrows the question down, though hardly any one result settles it yet"
	}
	if day <= g.season.now {
		return fmt.Sprintf("Do it now: %s. Malic acid is gone with a chance of %s; %s.", what, percent(gone), settles)
	}
	today := g.goneBy(g.season.now)
	wait := fmt.Sprintf("Wait until %s, then %s: by then malic acid is gone with a chance of %s (today %s), and %s.",
		o.On, what, percent(gone), percent(today), settles)
	if today < 0.5 && (o.What == string(Chromatogram) || o.What == string(Malic)) {
		wait += " Earlier it would most likely show malic acid and tell nothing new."
	}
	return wait
}
