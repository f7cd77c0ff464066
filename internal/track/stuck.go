package track

import (
	"fmt"
	"math"
	"sort"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// Stuck is what can be said of a conversion that has stopped, or may have, or is late: what held
// it back, what readings cannot show, and what trying again is worth.
type Stuck struct {
	Causes []Cause  `json:"causes"`        // most harm first
	Unseen []Check  `json:"not_seen_here"` // in no order: nothing logged tells them apart
	Tries  []Try    `json:"tries"`         // waiting, then the most helpful first
	Says   []string `json:"says"`
}

// A Cause is a condition that held the conversion back, by the belief's own
// counterfactual: the same wine and bacteria, without it since inoculation.
type Cause struct {
	What     string                 `json:"what"`
	Seen     string                 `json:"seen"`
	Malic    quantity.Concentration `json:"malic_without_g_l"`  // mean malic acid now, had it not been
	Harm     quantity.Concentration `json:"harm_g_l"`           // malic acid left because of it, mean
	Finished float64                `json:"p_finished_without"` // chance that it would be finished now
	Needs    string                 `json:"instead"`            // what "without it" means
}

// A Check is a cause that the model knows nothing of, with what would show it.
type Check struct {
	What string `json:"what"`
	Show string `json:"shown_by"`
}

// A Try is a remedy begun today, with 60 days to work.
type Try struct {
	What      string  `json:"what"`
	Within    float64 `json:"finished_within_60_days"`
	Gain      float64 `json:"gain"`       // over waiting
	Days      float64 `json:"cost"`       // of the days until it is over or given up, in the person's money
	BreakEven float64 `json:"worth_from"` // what a finished conversion must be worth for the try to pay; 0 for never
}

// trying is how long a remedy is given.
const trying = 60

// A harm is a condition that may hold bacteria back, and its absence.
type harm struct {
	what, instead string
	without       func(*malolactic.Conditions)
	seen          func(malolactic.Conditions) float64
	unit          string
}

// harms are compared with conditions that bulletins call favourable (Conditions.Difficult
// has the sources); reaching them is not always possible afterwards.
var harms = [...]harm{
	{}, // none
	{"cold", "20 °C all along", func(c *malolactic.Conditions) { c.Temperature = max(c.Temperature, 20) },
		func(c malolactic.Conditions) float64 { return c.Temperature.Celsius() }, "°C"},
	{"heat", "22 °C at most", func(c *malolactic.Conditions) { c.Temperature = min(c.Temperature, 22) },
		func(c malolactic.Conditions) float64 { return c.Temperature.Celsius() }, "°C"},
	{"low pH", "pH 3.5", func(c *malolactic.Conditions) { c.PH = max(c.PH, 3.5) },
		func(c malolactic.Conditions) float64 { return float64(c.PH) }, "pH"},
	{"alcohol", "12.5 % vol", func(c *malolactic.Conditions) { c.Alcohol = min(c.Alcohol, 12.5) },
		func(c malolactic.Conditions) float64 { return c.Alcohol.Percent() }, "% vol"},
	{"free SO2", "none", func(c *malolactic.Conditions) { c.Molecular = 0 },
		func(c malolactic.Conditions) float64 { return c.Molecular.MgPerL() }, "mg/L molecular"},
	{"bound SO2", "15 mg/L", func(c *malolactic.Conditions) { c.Bound = min(c.Bound, 15*quantity.MilligramPerLitre) },
		func(c malolactic.Conditions) float64 { return c.Bound.MgPerL() }, "mg/L bound"},
}

// unseen are causes that no ordinary reading shows (common practice, no source).
var unseen = []Check{
	{"the culture was weak or dead: old, warm, or shocked on its way in", "its packet's date and storage; a count or a microscope"},
	{"too little food for bacteria", "how long the wine lay off its lees; stirring them is the cheap try"},
	{"the yeast left something that poisons bacteria", "what is known of the yeast; whether a bench trial with yeast hulls gets going"},
	{"residues of sprays or of a cleaning agent", "the grower's spray record; how the vessel was rinsed"},
	{"sulfited wine, or a sulfured vessel, that was not logged", "free and total SO2 of today, measured"},
	{"it is not stuck: the last test misled", "the same test again, with control spots or a known wine beside it"},
}

// From this chance of a stall, or after six weeks (the longest that one usually takes;
// common practice, no source), causes are worth showing.
const (
	maybeStuck = 0.2
	overdue    = 42
)

// stuck weighs causes and remedies, nil for a conversion that is in good time.
func (p *posterior) stuck(s State) *Stuck {
	late := p.season.now >= overdue && s.Finished < 0.15
	if s.Stalled < maybeStuck && !late {
		return nil
	}
	k := &Stuck{Causes: p.causes(), Unseen: unseen, Tries: p.tries()}
	k.Says = k.say(s.Stalled >= 0.5, p.in.Options.Costs.LostDay)
	return k
}

func (p *posterior) causes() []Cause {
	thin := p.everyOf(400)
	was := nowOf(p.thinned(thin))
	var out []Cause
	for i := 1; i < len(harms); i++ {
		h := &harms[i]
		seen, there := p.exposure(h)
		if !there {
			continue
		}
		without := nowOf(p.follow(change{without: i, ahead: 2}, thin))
		c := Cause{What: h.what, Seen: seen, Needs: h.instead}
		for j, m := range without {
			c.Malic += quantity.Concentration(m) / quantity.Concentration(len(without))
			c.Harm += quantity.Concentration(was[j]-m) / quantity.Concentration(len(without))
			if m < float64(p.in.Options.Limit) {
				c.Finished += 1 / float64(len(without))
			}
		}
		c.Malic, c.Harm, c.Finished = round(c.Malic, 3), round(c.Harm, 3), round(c.Finished, 3)
		out = append(out, c)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Harm > out[j].Harm })
	return out
}

func nowOf(fates []fate) []float64 { return column(fates, func(f *fate) float64 { return f.now }) }

// exposure is the range of a condition so far, and whether any day of it differs
// from what "without it" means.
func (p *posterior) exposure(h *harm) (text string, there bool) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, i := range p.past.On {
		c := p.past.Conditions[i]
		lo, hi = math.Min(lo, h.seen(c)), math.Max(hi, h.seen(c))
		d := c
		h.without(&d)
		there = there || d != c
	}
	figure := func(v float64) string { return fmt.Sprintf("%.3g", v) }
	if figure(lo) == figure(hi) {
		return figure(lo) + " " + h.unit, there
	}
	return figure(lo) + " to " + figure(hi) + " " + h.unit, there
}

// tries are the remedies, each against waiting with the same draws.
func (p *posterior) tries() []Try {
	thin := p.everyOf(400)
	within := func(fates []fate) (share, days float64) {
		for i := range fates {
			left := fates[i].finish - float64(p.season.now)
			if left <= trying {
				share += 1 / float64(len(fates))
			}
			days += math.Min(math.Max(left, 0), trying) / float64(len(fates))
		}
		return share, days
	}
	wait, _ := within(p.thinned(thin))
	out := []Try{{What: "wait", Within: round(wait, 3)}}
	for _, a := range p.remedies() {
		a.c.ahead = trying + 2
		share, days := within(p.follow(a.c, thin))
		t := Try{What: a.what, Within: round(share, 3), Gain: round(share-wait, 3), Days: round(days*p.in.Options.Costs.LostDay, 1)}
		if share-wait > 0.005 {
			t.BreakEven = round(t.Days/(share-wait), 0)
		}
		out = append(out, t)
	}
	rest := out[1:]
	sort.SliceStable(rest, func(i, j int) bool { return rest[i].Gain > rest[j].Gain })
	return out
}

// worthHarm is the malic acid, g/L, from which a cause is called one.
const worthHarm = 0.1

// say puts it in words. Only of a wine that has likely stopped is giving it up said: one
// that is late may still be on its way.
func (k *Stuck) say(stopped bool, lostDay float64) []string {
	var s []string
	if len(k.Causes) > 0 && k.Causes[0].Harm >= worthHarm {
		c := k.Causes[0]
		s = append(s, fmt.Sprintf("Of what was logged, %s did most (%s): without it (%s) some %.1f g/L of the malic acid left would be gone.", c.What, c.Seen, c.Needs, c.Harm.GPerL()))
	} else {
		s = append(s, "Nothing that was logged explains it: the conditions were fair. Look among the causes that no reading here can show.")
	}
	wait, best := k.Tries[0], k.Tries[min(1, len(k.Tries)-1)]
	protect := "stop trying and protect the wine: cold, sulfited, apart, and treated as unstable at bottling."
	if wait.Within >= 0.5 {
		s = append(s, fmt.Sprintf("Left alone, it is over within %d days with a chance of %s.", trying, percent(wait.Within)))
	}
	switch {
	case best.BreakEven > 0:
		price := "your own price"
		if lostDay == DefaultCosts().LostDay {
			price = "a proposal of this tool"
		}
		s = append(s, fmt.Sprintf("The best try is to %s: over within %d days with a chance of %s, against %s by waiting. Counting %.2f for each day until then, which is %s, it pays if a finished conversion is worth more than %.0f to you.",
			best.What, trying, percent(best.Within), percent(wait.Within), lostDay, price, best.BreakEven))
		if stopped && wait.Within < 0.5 {
			s = append(s, "Below that, "+protect)
		}
	case stopped && wait.Within < 0.5:
		s = append(s, "No remedy here helps more than waiting: "+protect)
	case wait.Within < 0.5:
		s = append(s, "No remedy here helps more than waiting.")
	}
	return s
}
