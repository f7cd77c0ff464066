package advise

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"time"

	"cel.dev/cel-go/common/types"

	"elevage/internal/cellar"
	"elevage/internal/fill"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/primary"
	"elevage/science/cited"
)

// Input is all that a plan is made of. It is only read.
type Input struct {
	State *cellar.State
	// Beliefs and Ageing are what is believed of parcels, by id; parcels may be
	// missing from either.
	Beliefs map[cellar.ParcelID]*track.Belief
	Ageing  map[cellar.ParcelID]*ageing.Belief
	// Primary are beliefs about primary fermentations; optional.
	Primary map[cellar.ParcelID]*primary.Belief
	// Protocols are those in force; nil stands for the built-in ones.
	Protocols *Library
	// Now is the moment of the plan, in the cellar's own zone.
	Now   time.Time
	Prefs Prefs
	// Previous is the plan that was shown last: windows then move only when
	// something was learned, and say so. Optional.
	Previous *Today
	// Topper judges which wine may top which; nil: one is made for this plan. One may
	// be handed on for as long as State is the same.
	Topper *fill.Topper
}

// Prefs are what a person may set; the zero value stands for the defaults.
type Prefs struct {
	Soon int    // days within which an act is "due soon"; 0: 7
	Law  string // whose limits are held: none, us, eu, eu-organic, canada, australia; "": none
	US   bool   // US units for lots that do not say otherwise
	// South is for cellars south of the equator, where winter begins in June.
	South bool
}

func (p Prefs) law() string {
	if p.Law == "" {
		return "none"
	}
	return p.Law
}

func (p Prefs) soon() int {
	if p.Soon <= 0 {
		return 7
	}
	return p.Soon
}

// Plan works out what is to be done. It is a pure function of its input: the same
// input gives the same plan, to the letter. The error is the caller's: no state, no
// moment.
func Plan(in Input) (Today, error) {
	p, err := newPlan(in)
	if err != nil {
		return Today{}, err
	}
	for _, l := range in.State.Lots.All() {
		if l.Protocol != "" && p.Protocols.Find(l.Protocol) == nil && len(l.Holds()) > 0 {
			p.held = append(p.held, Held{Step: l.Protocol, Lot: l.Slug, Act: "follow " + l.Protocol, Reason: "no protocol of that name is known; the lot follows the one that fits it"})
		}
	}
	for _, s := range p.all {
		for _, protocol := range p.follows(s) {
			for _, step := range p.Protocols.steps(protocol) {
				if step.Of == s.scope {
					p.consider(s, step)
				}
			}
		}
	}
	return p.today0(), nil
}

// A plan is the work in progress.
type plan struct {
	Input
	zone         *time.Location
	today        measure
	meter        *cellar.Instrument
	meterChecked measure
	scaleStep    float64 // g
	packet       packet
	fermenting   int
	wines        int
	all          []*subject
	acts         []Act
	held         []Held
	seen         map[string]bool
	topper       *fill.Topper
}

func newPlan(in Input) (*plan, error) {
	switch {
	case in.State == nil:
		return nil, fmt.Errorf("the state of the cellar is missing")
	case in.Now.IsZero():
		return nil, fmt.Errorf("the moment of the plan is missing")
	}
	if in.Protocols == nil {
		in.Protocols = BuiltIn()
	}
	p := &plan{Input: in, zone: in.Now.Location(), scaleStep: 0.1, meterChecked: never, seen: map[string]bool{}, topper: in.Topper}
	if p.topper == nil {
		p.topper = fill.NewTopper(in.State, in.Beliefs, in.Now)
	}
	p.today = on(in.Now, p.zone)
	p.instruments()
	p.shelf()
	p.all = p.makeSubjects()
	for _, s := range p.all {
		if s.scope != OfParcel {
			continue
		}
		p.wines++
		if g := s.gone(); s.fermenting() && (g < 0.97 || math.IsNaN(g) && p.Now.Sub(s.life.pitched) < 21*24*time.Hour) {
			p.fermenting++
		}
	}
	return p, nil
}

func (p *plan) local(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, p.zone)
}

// when is a day in words, without the year if it is this one.
func (p *plan) when(t time.Time) string {
	t = t.In(p.zone)
	if t.Year() == p.Now.Year() {
		return t.Format("2 January")
	}
	return t.Format("2 January 2006")
}

// makeSubjects are all that steps may be about: wine and vessels along the walk, then
// instruments and the cellar, whose steps may ask what else is due.
func (p *plan) makeSubjects() []*subject {
	var all []*subject
	for _, v := range p.State.Vessels {
		if v.Gone {
			continue
		}
		wine := p.subject(OfParcel)
		wine.vessel, wine.parcel = v, v.Holds
		p.fillParcel(wine)
		if wine.parcel != nil {
			all = append(all, wine)
		}
		if !v.Bottles {
			vessel := *wine
			vessel.scope = OfVessel
			all = append(all, &vessel)
		}
	}
	for _, i := range p.State.Instruments {
		if !i.Gone {
			s := p.subject(OfInstrument)
			s.instrument = i
			all = append(all, s)
		}
	}
	return append(all, p.subject(OfCellar))
}

func (p *plan) fillParcel(s *subject) {
	if s.parcel == nil {
		return
	}
	s.lot = p.State.Lot(s.parcel.Lot)
	if s.lot == nil {
		s.parcel = nil
		return
	}
	s.life = newLife(p.State, s.parcel)
	s.belief, s.ageing, s.primary = p.Beliefs[s.parcel.ID], p.Ageing[s.parcel.ID], p.Primary[s.parcel.ID]
}

// follows are the protocols that a subject is under: the one that its lot was told
// to follow or that fits it first, and all that stand beside.
func (p *plan) follows(s *subject) []*Protocol {
	var own *Protocol
	if s.lot != nil && s.lot.Protocol != "" {
		own = p.Protocols.Find(s.lot.Protocol)
	}
	var out []*Protocol
	for _, pr := range p.Protocols.Protocols {
		switch {
		case pr.Beside && pr != own && p.holds(s, pr.follows):
			out = append(out, pr)
		case own == nil && !pr.Beside && s.scope == OfParcel && len(pr.follows) > 0 && p.holds(s, pr.follows):
			own = pr
		}
	}
	if own == nil {
		return out
	}
	return append([]*Protocol{own}, out...)
}

// holds says whether all conditions are true; an unknown one is not.
func (p *plan) holds(s *subject, conditions []*formula) bool {
	for _, c := range conditions {
		if v, _, err := c.eval(s); err != nil || v != types.True {
			return false
		}
	}
	return true
}

// answer is what the conditions of a step come to.
type answer struct {
	yes     bool
	unknown []string // names that would have to be known
	err     error
}

// asked evaluates conditions that must all hold: one that is false decides, even
// beside unknown ones.
func asked(s *subject, conditions []*formula) answer {
	a := answer{yes: true}
	for _, c := range conditions {
		v, unknown, err := c.eval(s)
		switch {
		case err != nil:
			return answer{err: err}
		case unknown != nil:
			a.unknown = append(a.unknown, unknown...)
		case v != types.True:
			return answer{}
		}
	}
	return a
}

// asks are the words' own, each once.
func asks(names []string) []string {
	var out []string
	for _, n := range names {
		ask := n
		if w := vocabulary[n]; w != nil && w.ask != "" {
			ask = w.ask
		}
		if !slices.Contains(out, ask) {
			out = append(out, ask)
		}
	}
	return out
}

func (p *plan) hold(s *subject, step *Step, reason string) {
	h := Held{Step: step.Protocol + "/" + step.ID, Act: step.act.plainText(), Reason: reason}
	if s.lot != nil {
		h.Lot = s.lot.Slug
	}
	if s.vessel != nil {
		h.Vessel = s.vessel.Slug
	}
	p.held = append(p.held, h)
}

// act makes the act of a step without window and amount.
func (p *plan) act(s *subject, step *Step) Act {
	a := Act{Protocol: step.Protocol, Step: step.ID, Class: step.Class, Late: step.Late, Matters: step.Matters,
		Together: step.Together, Minutes: step.Minutes, Needs: step.Needs, Source: step.Source, Proposal: step.Source.Mark == cited.Proposal}
	a.Do, _ = step.act.fill(s)
	a.Why, a.Figures = step.why.fill(s)
	place := "cellar"
	switch {
	case s.scope == OfParcel:
		a.Lot, a.LotName, a.Vessel, a.Parcel, a.Place = s.lot.Slug, s.lot.Title(), s.vessel.Slug, s.parcel.ID, s.vessel.Place
		place = s.vessel.Slug + "/" + short(string(s.parcel.ID))
	case s.scope == OfVessel:
		a.Vessel, a.Place = s.vessel.Slug, s.vessel.Place
		place = s.vessel.Slug
		if s.lot != nil {
			a.Lot, a.LotName, a.Parcel = s.lot.Slug, s.lot.Title(), s.parcel.ID
		}
	case s.scope == OfInstrument:
		a.Instrument = s.instrument.Slug
		place = s.instrument.Slug
	}
	a.ID = step.ID + "/" + place
	a.Done = cellar.Done{Task: a.ID, Act: a.Do, Vessel: a.Vessel, Lot: a.Lot}
	if s.vessel != nil {
		a.walk = slices.Index(p.State.Vessels, s.vessel) + 1
	}
	if step.write != nil && step.write.kind == cellar.KindReading {
		a.read = step.write.fields["what"]
	}
	a.Basis = p.basis(s)
	return a
}

// short is a name's fingerprint: eight hexadecimal digits, enough for all parcels
// that one vessel ever holds.
func short(name string) string {
	sum := sha256.Sum256([]byte(name))
	return hex.EncodeToString(sum[:4])
}
