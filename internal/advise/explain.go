package advise

import (
	"fmt"
	"slices"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/fault"
)

// An Explanation says which rules fire for a lot and why, and which do not.
type Explanation struct {
	Lot     string       `json:"lot"`
	Parcels []Parcelwise `json:"parcels"`
}

// Parcelwise is the explanation of one vessel's wine.
type Parcelwise struct {
	Vessel  string   `json:"vessel"`
	Follows []string `json:"follows"` // protocols, in the order in which they are asked
	Steps   []Trace  `json:"steps"`
}

// A Trace is what became of one step.
type Trace struct {
	Protocol   string          `json:"protocol"`
	Step       string          `json:"step"`
	Line       int             `json:"line"`
	Act        string          `json:"act"`
	Outcome    Outcome         `json:"outcome"`
	Standing   Standing        `json:"standing,omitempty"`
	From       *Day            `json:"due_from,omitempty"`
	To         *Day            `json:"due_to,omitempty"`
	WaitingOn  []string        `json:"waiting_on,omitempty"`
	Reason     string          `json:"reason,omitempty"`
	Conditions []ConditionSeen `json:"conditions"`
}

// A ConditionSeen is one condition with its answer and the values it was given.
type ConditionSeen struct {
	Text   string   `json:"text"`
	Line   int      `json:"line"`
	Answer string   `json:"answer"` // yes, no, unknown, or what went wrong
	Uses   []Figure `json:"uses"`
}

// Explain says, for each vessel that holds the lot, which steps of which protocols
// fire and why. The error is fault.NotFound for a lot that is not there.
func Explain(in Input, lot string) (Explanation, error) {
	p, err := newPlan(in)
	if err != nil {
		return Explanation{}, err
	}
	l := in.State.Lot(lot)
	if l == nil {
		return Explanation{}, fault.New(fault.NotFound, "explain", "no lot is called %q", lot)
	}
	e := Explanation{Lot: l.Slug}
	for _, s := range p.all {
		if s.lot != l || s.scope != OfParcel {
			continue
		}
		w := Parcelwise{Vessel: s.vessel.Slug}
		vessel := p.vesselSubject(s)
		seen := map[string]bool{}
		for _, protocol := range p.follows(s) {
			w.Follows = append(w.Follows, protocol.Name)
			for _, step := range p.Protocols.steps(protocol) {
				about := s
				switch step.Of {
				case OfVessel:
					about = vessel
				case OfInstrument, OfCellar:
					continue
				}
				if about == nil {
					continue
				}
				t := p.trace(about, step)
				if seen[step.ID] && t.Outcome == Planned {
					t.Outcome = Doubled
				}
				seen[step.ID] = seen[step.ID] || t.Outcome == Planned
				w.Steps = append(w.Steps, t)
			}
		}
		e.Parcels = append(e.Parcels, w)
	}
	return e, nil
}

func (p *plan) vesselSubject(of *subject) *subject {
	for _, s := range p.all {
		if s.scope == OfVessel && s.vessel == of.vessel {
			return s
		}
	}
	return nil
}

// trace weighs a step and shows every condition.
func (p *plan) trace(s *subject, step *Step) Trace {
	act, outcome, reason := p.weigh(s, step)
	t := Trace{Protocol: step.Protocol, Step: step.ID, Line: step.Line, Outcome: outcome, Reason: reason}
	t.Act, _ = step.act.fill(s)
	if act != nil {
		t.Standing, t.From, t.To, t.WaitingOn = act.Standing, act.From, act.To, act.WaitingOn
	}
	for _, c := range step.when {
		seen := ConditionSeen{Text: c.text, Line: c.line, Uses: s.figures(c.uses)}
		v, unknown, err := c.eval(s)
		switch {
		case err != nil:
			seen.Answer = err.Error()
		case unknown != nil:
			seen.Answer = "unknown"
		case v == types.True:
			seen.Answer = "yes"
		default:
			seen.Answer = "no"
		}
		t.Conditions = append(t.Conditions, seen)
	}
	return t
}

// figures are words with their values here.
func (s *subject) figures(names []string) []Figure {
	var out []Figure
	for _, n := range names {
		w := vocabulary[n]
		if w == nil {
			continue
		}
		f := Figure{Name: n, Label: w.label(), Shown: notKnown}
		if v, _ := s.ResolveName(n); v != nil && !types.IsUnknown(v.(ref.Val)) {
			f.Shown = s.show(v.(ref.Val))
		}
		f.From, f.Entry = s.from[n].words, s.from[n].entry
		out = append(out, f)
	}
	return out
}

// Text is the explanation for a terminal.
func (e Explanation) Text() string {
	var b strings.Builder
	for _, w := range e.Parcels {
		fmt.Fprintf(&b, "%s in %s follows %s\n", e.Lot, w.Vessel, strings.Join(w.Follows, ", "))
		for _, t := range w.Steps {
			fmt.Fprintf(&b, "\n%s (%s, line %d): %s", t.Step, t.Protocol, t.Line, t.Outcome)
			if t.Standing != "" {
				fmt.Fprintf(&b, ", %s", t.Standing)
			}
			if t.From != nil {
				fmt.Fprintf(&b, " from %s", t.From)
			}
			if t.To != nil {
				fmt.Fprintf(&b, " to %s", t.To)
			}
			b.WriteByte('\n')
			if t.Reason != "" {
				fmt.Fprintf(&b, "  %s\n", t.Reason)
			}
			for _, c := range t.Conditions {
				fmt.Fprintf(&b, "  %-7s  %s\n", c.Answer, c.Text)
				for _, u := range c.Uses {
					fmt.Fprintf(&b, "           %s is %s", u.Name, u.Shown)
					if u.From != "" {
						fmt.Fprintf(&b, ", %s", u.From)
					}
					b.WriteByte('\n')
				}
			}
			if len(t.WaitingOn) > 0 {
				fmt.Fprintf(&b, "  waiting on %s\n", strings.Join(t.WaitingOn, "; "))
			}
		}
	}
	return b.String()
}

// A Checked is what a sound protocol file holds, for a person to look over.
type Checked struct {
	Name     string   `json:"name"`
	Title    string   `json:"title"`
	Steps    int      `json:"steps"`
	Includes []string `json:"includes,omitempty"`
	Words    []string `json:"words"`           // of the vocabulary that it uses
	Bench    []string `json:"bench,omitempty"` // calculators that it calls
	// Notes are not faults: things that a careful author would look at again.
	Notes []string `json:"notes,omitempty"`
}

// Check reads a protocol file and says what is in it. The error is fault.Invalid,
// with line and reason of everything that is wrong.
func Check(origin string, text []byte) (Checked, error) {
	p, err := ParseProtocol(origin, text)
	if err != nil {
		return Checked{}, err
	}
	if _, err := BuiltIn().With(p); err != nil {
		return Checked{}, err
	}
	c := Checked{Name: p.Name, Title: p.Title, Steps: len(p.Steps), Includes: p.Includes}
	add := func(list *[]string, s string) {
		if s != "" && !slices.Contains(*list, s) {
			*list = append(*list, s)
		}
	}
	for _, s := range p.Steps {
		for _, f := range s.formulas() {
			for _, u := range f.uses {
				if vocabulary[u] != nil {
					add(&c.Words, u)
					if !reaches(s.Of, vocabulary[u].of) {
						add(&c.Notes, fmt.Sprintf("line %d: %s is never known in a step about the %s", f.line, u, s.Of))
					}
				}
			}
		}
		if s.amount != nil {
			add(&c.Bench, s.amount.calculator)
		}
		if s.by == nil {
			add(&c.Notes, fmt.Sprintf("line %d: %s has no day by which it is due, so it is never late", s.Line, s.ID))
		}
	}
	if len(p.follows) == 0 {
		add(&c.Notes, "no lot follows it unless it is told to")
	}
	if BuiltIn().Find(p.Name) != nil {
		add(&c.Notes, "it stands in for the built-in protocol of the same name")
	}
	slices.Sort(c.Words)
	return c, nil
}

// reaches says whether a step of one scope can know words of another.
func reaches(step, word Scope) bool {
	switch word {
	case OfParcel:
		return step == OfParcel || step == OfVessel
	case OfVessel:
		return step == OfParcel || step == OfVessel
	}
	return word == OfCellar || word == step
}

// formulas are all of a step.
func (s *Step) formulas() []*formula {
	out := append([]*formula(nil), s.when...)
	for _, f := range []*formula{s.from, s.about, s.by, s.again} {
		if f != nil {
			out = append(out, f)
		}
	}
	for _, t := range []*template{s.act, s.why, s.tool} {
		if t == nil {
			continue
		}
		for _, p := range t.parts {
			if p.formula != nil {
				out = append(out, p.formula)
			}
		}
	}
	if s.amount != nil {
		for _, in := range s.amount.with {
			out = append(out, in.value)
		}
	}
	return out
}
