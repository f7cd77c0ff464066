package advise

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"elevage/internal/cellar"
)

// An Outcome is what became of a step for one wine, vessel or instrument.
type Outcome string

// Outcomes.
const (
	Planned Outcome = "planned"        // it has an act: due, soon, later or waiting
	NotNow  Outcome = "not now"        // a condition is false
	Ticked  Outcome = "done"           // done or skipped before, and not to be done again
	Undated Outcome = "no day"         // the day that it hangs on does not come
	Stopped Outcome = "held back"      // its turn has come, and something forbids it
	Broken  Outcome = "no answer"      // a condition cannot be worked out
	Doubled Outcome = "stands already" // another protocol brought it
)

// consider adds the act of a step if its turn has come or will come.
func (p *plan) consider(s *subject, step *Step) {
	act, outcome, reason := p.weigh(s, step)
	switch {
	case outcome == Planned && p.seen[act.ID]:
	case outcome == Planned:
		p.seen[act.ID] = true
		p.acts = append(p.acts, *act)
	case outcome == Stopped || outcome == Broken:
		p.hold(s, step, reason)
	}
}

// weigh says what becomes of a step, and why if it is no act.
func (p *plan) weigh(s *subject, step *Step) (*Act, Outcome, string) {
	a := asked(s, step.when)
	if a.err != nil {
		return nil, Broken, a.err.Error()
	}
	if !a.yes {
		return nil, NotNow, ""
	}
	tick, ticked := p.ticked(s, step)
	if ticked && step.again == nil && !step.tells() {
		return nil, Ticked, tick.inWords(p)
	}
	act := p.act(s, step)
	act.WaitingOn = asks(a.unknown)
	if !p.window(s, step, &act, tick, ticked) {
		return nil, Undated, ""
	}
	if step.amount != nil && a.unknown == nil {
		r := step.amount.reckon(s)
		if r.stopped != "" {
			return nil, Stopped, r.stopped
		}
		if r.working != nil && r.value == 0 && (step.Class == ClassSulfite || step.Class == ClassAdd) {
			return nil, NotNow, "the bench finds nothing to add"
		}
		p.measured(s, step, &act, r)
	} else if step.write != nil {
		act.Entry = step.write.body(s, reckoned{})
	}
	if why := p.forbids(s, step); why != "" {
		return nil, Stopped, why
	}
	for _, code := range step.cautions {
		if !slices.ContainsFunc(act.Cautions, func(c Caution) bool { return c.Code == code }) {
			act.Cautions = append(act.Cautions, cautions[code])
		}
	}
	if step.shows == waitForFirstDose {
		act.Choice = s.firstDose()
	}
	p.stand(&act)
	return &act, Planned, ""
}

// tells says whether the entry that the step writes tells of itself that it was
// done: stirring shows in the record, a decision in words does not. A step that
// tells comes back when its conditions say so, not when it was ticked.
func (s *Step) tells() bool {
	if s.write == nil {
		return false
	}
	switch s.write.kind {
	case cellar.KindNote, cellar.KindLot, cellar.KindTasting:
		return false
	}
	return true
}

// rests is how long a step stays away after its tick, in days.
func (p *plan) rests(s *subject, step *Step, t tick) (float64, bool) {
	if step.again != nil {
		v, _, err := step.again.eval(s)
		gap, isSpan := v.(measure)
		return gap.v, err == nil && isSpan
	}
	if t.skipped {
		return skipRests, true
	}
	return 1, true // not twice in one day
}

// skipRests is how long a step that comes by itself stays away when it was skipped
// in words. A proposal.
const skipRests = 7

func (t tick) inWords(p *plan) string {
	if t.skipped {
		return "skipped " + p.when(t.at) + ": " + t.words
	}
	return "done " + p.when(t.at)
}

func (p *plan) measured(s *subject, step *Step, act *Act, r reckoned) {
	for _, ask := range r.asks {
		if !slices.Contains(act.WaitingOn, ask) {
			act.WaitingOn = append(act.WaitingOn, ask)
		}
	}
	r.text = p.measurable(r)
	act.Amount, act.Unit, act.Plus, act.Working, act.Cautions = r.text, r.unit, r.plus, r.working, r.cautions
	if r.working != nil {
		act.Tool = p.tool(r)
	}
	if t, _ := step.tool.fill(s); t != "" {
		act.Tool = t
	}
	if step.write != nil {
		act.Entry = step.write.body(s, r)
	}
}

// dueRead says whether a reading is due today or late.
func (p *plan) dueRead(what string) bool {
	return slices.ContainsFunc(p.acts, func(a Act) bool { return a.Standing == Due && a.read == what })
}

// measurable is an amount in the digits that it can be measured out to: a weight in
// steps of the finest scale, millilitres to half a division of the smallest measuring
// cylinder that holds them (ISO 4788: 10 mL by 0.2, 25 mL by 0.5, 100 mL by 1, 250 mL by
// 2; from memory), which leaves an error of 2.5 % at most from 2 mL on. What is too
// little for either stays as the bench gives it.
func (p *plan) measurable(r reckoned) string {
	step := 0.0
	switch {
	case r.working == nil:
	case r.unit == "g" && r.value >= coarsestWeighing*p.scaleStep:
		step = p.scaleStep
	case r.unit == "mL" && r.value >= 25:
		step = 1
	case r.unit == "mL" && r.value >= 10:
		step = 0.5
	case r.unit == "mL" && r.value >= 1:
		step = 0.1
	}
	if step == 0 {
		return r.text
	}
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	text := strconv.FormatFloat(math.Round(r.value/step)*step, 'f', decimals, 64)
	if r.unit == "mL" {
		text = strings.TrimSuffix(text, ".0") // a weight keeps its last nought: it says how fine the scale is
	}
	return text
}

// coarsestWeighing is how many of its steps a weighing needs for an error under 10 %: with
// fewer, rounding to the scale would hide that it cannot weigh that.
const coarsestWeighing = 10

// tool says what the amount is measured with or from, where its digits do not.
func (p *plan) tool(r reckoned) string {
	switch {
	case r.stock:
		return fmt.Sprintf("of a 10 %% solution: too little for a scale of %s g", numeral(p.scaleStep))
	case r.unit == "g" && r.value < coarsestWeighing*p.scaleStep:
		return fmt.Sprintf("on a finer scale than the one of %s g", numeral(p.scaleStep))
	}
	return ""
}

// bringsSulfite says whether a step gives sulfur dioxide.
func bringsSulfite(step *Step) bool {
	if step.Class == ClassSulfite {
		return true
	}
	if step.write == nil || step.write.kind != cellar.KindAddition {
		return false
	}
	product, ok := cellar.LookupProduct(step.write.fields["product"])
	return ok && product.SO2 > 0
}

// forbids is the one rule that no protocol can overrule: from its yeast on, wine
// whose malolactic fermentation is wanted gets no sulfur dioxide, sorbate or
// lysozyme before that is over or given up.
func (p *plan) forbids(s *subject, step *Step) string {
	if s.parcel == nil || s.unfermented() {
		return "" // at crush it keeps wild yeast and air off, and is bound and lost before the bacteria come
	}
	product := ""
	if step.write != nil {
		product = step.write.fields["product"]
	}
	if !bringsSulfite(step) && product != "potassium-sorbate" && product != "lysozyme" {
		return ""
	}
	c, wanted := s.conversion(), s.wanted()
	switch {
	case c.over || c.givenUp:
		return ""
	case wanted == nil && !c.started:
		return "" // nothing is wanted yet; the bench says that it does not know
	case wanted != nil && !*wanted:
		return ""
	}
	return "malolactic fermentation is wanted and not shown to be finished"
}
