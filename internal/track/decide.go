package track

import (
	"fmt"
	"math"
	"strings"
)

// carry says whether anything read can carry a call of "finished", and what.
//
// A clear chromatogram or a low malic assay can, if it was taken when the belief
// has the malic acid gone. Titratable acidity can only if the malic acid was measured
// at the start, it has fallen by what that is worth, and stood still at three readings
// over two weeks; and then the chance must be 99 %, since the fall rests on two
// readings only. pH and bubbles cannot: 0.1 g/L malic acid is
// worth 0.004 to 0.008 pH, and a stall looks the same.
func (p *posterior) carry() (bool, string) {
	for i := len(p.used) - 1; i >= 0; i-- {
		r := p.used[i]
		switch {
		case r.What == Chromatogram && r.Text == SpotNone && p.mostlyGone(r):
			return true, fmt.Sprintf("no malic spot on %s", r.On.Format(DateLayout))
		case r.What == Malic && r.Value <= 1.5*float64(p.in.Options.Limit):
			return true, fmt.Sprintf("malic acid read as %.2f g/L on %s", r.Value, r.On.Format(DateLayout))
		}
	}
	return p.titrationCarries()
}

// titrationCarries: titratable acidity certifies the end only against a known
// amount. With the initial malic acid unmeasured, a stall half way and a wine that
// began with half as much look the same on every reading.
func (p *posterior) titrationCarries() (bool, string) {
	began, known := p.measuredStart()
	if p.facts.TA == nil || !known {
		return false, ""
	}
	var late []Reading
	for _, r := range p.used {
		if r.What == TA && p.season.day(r.On) > 0 {
			late = append(late, r)
		}
	}
	if len(late) < 3 {
		return false, ""
	}
	last := late[len(late)-3:]
	lo, hi, mean := math.Inf(1), math.Inf(-1), 0.0
	for _, r := range last {
		lo, hi, mean = math.Min(lo, r.Value), math.Max(hi, r.Value), mean+r.Value/3
	}
	fallen, amount := float64(*p.facts.TA)-mean, taPerMalic*began
	if span := last[2].On.Sub(last[0].On).Hours() / 24; span >= 12 && hi-lo < 2.5*p.faults.TARepeat && fallen >= amount-p.faults.TARepeat {
		return true, fmt.Sprintf("titratable acidity fell by %.1f g/L, the amount that %.1f g/L malic acid is worth, and stood still from %s to %s",
			fallen, began, last[0].On.Format(DateLayout), last[2].On.Format(DateLayout))
	}
	return false, ""
}

// taPerMalic is the titratable acidity, as tartaric acid, that goes with a g/L of
// malic acid: one equivalent a mole, 75.04/134.09 (K03 of docs/inference.md's table).
const taPerMalic = 0.5597

// measuredStart is the malic acid measured at the beginning: on day 0, or before a
// tenth of it is likely to have gone.
func (p *posterior) measuredStart() (float64, bool) {
	for _, a := range p.assays {
		gone := 0.0
		for i := range p.fates {
			gone += (1 - p.fates[i].malic(a.day)/p.fates[i].m0) / float64(len(p.fates))
		}
		if a.day == 0 || gone < 0.1 {
			return a.value, true
		}
	}
	return 0, false
}

// mostlyGone: a clear sheet from a day on which the belief itself, with that sheet
// in it, has malic acid left does not carry a call.
func (p *posterior) mostlyGone(r Reading) bool {
	d, gone := p.season.day(r.On), 0
	for i := range p.fates {
		if p.fates[i].malic(d) < 2*float64(p.in.Options.Limit) {
			gone++
		}
	}
	return 2*gone > len(p.fates)
}

// traceRisk is the chance of more than 0.25 g/L that a call of "finished" may still
// carry. One in two hundred is the aim over many lots; calls are mostly made well
// below the bound, at 0.003 on average (docs/inference.md has the sums). It is what
// keeps a single misread sheet from carrying a wine that the other readings hold to be
// half way.
const traceRisk = 0.015

// decide weighs the belief with the costs and with what the evidence can carry.
func (p *posterior) decide(s State) Decision {
	c := *p.in.Options.Costs
	d := Decision{Threshold: round(c.Threshold(), 4)}
	d.Carried, d.CarriedBy = p.carry()
	trace := p.share(func(f *fate) bool { return f.now > float64(Trace) })
	d.CostFinished = round(c.FalseFinished*(1-s.Finished), 2)
	d.CostWaiting = round(7*(c.UnprotectedDay*s.Finished+c.LostDay*s.Stalled), 2)
	sure := s.Finished >= c.Threshold() && trace <= traceRisk
	if strings.HasPrefix(d.CarriedBy, "titratable") {
		sure = sure && s.Finished >= 0.99
	}
	switch {
	case sure && d.Carried:
		d.Call = CallFinished
		d.Reason = fmt.Sprintf("Malic acid is below %.2g g/L with a chance of %s, and that rests on evidence that can carry it: %s.",
			float64(p.in.Options.Limit), percent(s.Finished), d.CarriedBy)
	case s.Finished >= c.Threshold() && !d.Carried:
		d.Call = CallCannotTell
		d.Reason = fmt.Sprintf("The readings fit a finished wine (%s), but %s cannot certify it: a stall would look the same. A test that sees malic acid itself would settle it.",
			percent(s.Finished), p.onlyWhat())
	case s.Stalled >= 0.8 && s.Finished < 0.05:
		d.Call = CallStalled
		d.Reason = fmt.Sprintf("Malic acid is left and nothing has moved for too long: stalled with a chance of %s.", percent(s.Stalled))
	case s.Finished <= 0.15 && s.Stalled < 0.5:
		d.Call = CallNotYet
		d.Reason = notYet(s)
	default:
		d.Call = CallCannotTell
		d.Reason = fmt.Sprintf("Finished with a chance of %s, stalled with %s, still going with %s: the readings do not tell these apart.",
			percent(s.Finished), percent(s.Stalled), percent(s.Active+s.Lagging))
	}
	return d
}

// notYet says which kind of not yet it is: not begun, perhaps stopped, or on its way.
func notYet(s State) string {
	switch {
	case s.Lagging >= 0.5:
		return fmt.Sprintf("It has hardly begun, with a chance of %s; the chance that it is finished is %s.", percent(s.Lagging), percent(s.Finished))
	case s.Stalled >= maybeStuck:
		return fmt.Sprintf("Malic acid is left: still going with a chance of %s, stopped for good with %s.", percent(s.Active+s.Lagging), percent(s.Stalled))
	}
	return fmt.Sprintf("Still converting or about to: the chance that it is finished is %s.", percent(s.Finished))
}

func (p *posterior) share(is func(*fate) bool) float64 {
	n := 0
	for i := range p.fates {
		if is(&p.fates[i]) {
			n++
		}
	}
	return float64(n) / float64(len(p.fates))
}

// onlyWhat names the evidence there is, for the sentence that it is not enough.
func (p *posterior) onlyWhat() string {
	seen := map[What]bool{}
	for _, r := range p.used {
		seen[r.What] = true
	}
	var names []string
	for _, n := range []struct {
		what What
		name string
	}{{PH, "pH"}, {TA, "titratable acidity so far"}, {Bubble, "the airlock"}, {Chromatogram, "the chromatograms so far"}} {
		if seen[n.what] {
			names = append(names, n.name)
		}
	}
	if len(names) == 0 {
		return "the calendar"
	}
	return strings.Join(names, " with ")
}

func percent(p float64) string {
	switch {
	case p < 0.01: // none of the samples is no proof of never
		return "under 1 %"
	case p > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", math.Round(100*p)) // halves up, as tables have them
}
