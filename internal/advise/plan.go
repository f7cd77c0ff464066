package advise

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/science/cited"
)

// Input is all that a plan is made of. It is only read.
type Input struct {
	State *cellar.State
	// Beliefs and Ageing are what is believed of parcels, by id; parcels may be
	// missing from either.
	Beliefs map[cellar.ParcelID]*track.Belief
	Ageing  map[cellar.ParcelID]*ageing.Belief
	// Protocols are those in force; nil stands for the built-in ones.
	Protocols *Library
	// Now is the moment of the plan, in the cellar's own zone.
	Now   time.Time
	Prefs Prefs
	// Previous is the plan that was shown last: windows then move only when
	// something was learned, and say so. Optional.
	Previous *Today
}

// Prefs are what a person may set; the zero value stands for the defaults.
type Prefs struct {
	Soon int    // days within which an act is "due soon"; 0: 7
	Law  string // whose limits are held: none, us, eu, eu-organic, canada, australia; "": none
	US   bool   // US units for lots that do not say otherwise
	// South is for cellars south of the equator, where winter begins in June.
	South bool
	Away  *Away // a time away; see Absence
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
	p := &plan{Input: in, zone: in.Now.Location(), scaleStep: 0.1, meterChecked: never, seen: map[string]bool{}}
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

func (p *plan) instruments() {
	for _, i := range p.State.Instruments {
		if i.Gone {
			continue
		}
		switch i.Type {
		case "ph-meter":
			if checked := p.lastCheck(i); p.meter == nil || checked.v > p.meterChecked.v {
				p.meter, p.meterChecked = i, checked
			}
		case "scale":
			if m, err := i.Step.Mass(); err == nil && m > 0 {
				p.scaleStep = min(p.scaleStep, m.Grams())
			}
		}
	}
}

// lastCheck is the day on which an instrument was last checked or calibrated.
func (p *plan) lastCheck(i *cellar.Instrument) measure {
	last := never
	for _, r := range i.Records {
		switch r.Body.(type) {
		case cellar.PHCheck, cellar.Calibration:
			if r.Counts() {
				last = on(r.At, p.zone)
			}
		}
	}
	return last
}

// A packet is the malolactic culture on the shelf.
type packet struct{ body *cellar.Purchase }

func (k packet) weight() ref.Val {
	if k.body == nil {
		return nil
	}
	m, err := k.body.Amount.Mass()
	if err != nil || m <= 0 {
		return nil
	}
	return measure{kind: mass, v: m.Grams()}
}

func (k packet) rated() ref.Val {
	if k.body == nil {
		return nil
	}
	v, _, err := k.body.Treats.Volume()
	if err != nil || v <= 0 {
		return nil
	}
	return measure{kind: volume, v: v.Litres()}
}

func (p *plan) shelf() {
	for _, r := range p.State.Stores {
		b, ok := r.Body.(cellar.Purchase)
		if !ok || !r.Counts() {
			continue
		}
		if strings.Contains(b.Product, "malolactic") && !strings.Contains(b.Product, "nutrient") {
			p.packet = packet{&b}
		}
	}
}

// readyForCulture are the wines that one packet would be divided over.
func (p *plan) readyForCulture() string {
	var rows []string
	for _, s := range p.all {
		if s.scope != OfParcel || s.parcel.Form != cellar.FormWine || s.parcel.Volume <= 0 {
			continue
		}
		c, wanted, dry := s.conversion(), s.wanted(), s.dry()
		if c.started || c.over || c.givenUp || wanted == nil || !*wanted || dry == nil || !*dry {
			continue
		}
		rows = append(rows, s.cultureRow())
	}
	return strings.Join(rows, ";")
}

// cultureRow is a wine as the culture calculator reads it: half as much again for one
// with a hard factor. A proposal of the bench.
func (s *subject) cultureRow() string {
	weight := "1"
	if k, ok := s.conditions(); ok && k.Difficult() > 0 {
		weight = "1.5"
	}
	return s.vessel.Slug + "," + numeral(math.Round(float64(s.parcel.Volume)*10)/10) + "," + weight
}

// lastTick is the day on which a step about the cellar was last ticked.
func (p *plan) lastTick(step string) ref.Val {
	last := never
	for _, r := range p.State.Records {
		if b, ok := r.Body.(cellar.Done); ok && r.Counts() && stepOf(b.Task) == step {
			last = on(r.At, p.zone)
		}
	}
	return last
}

func (p *plan) bought(products ...string) ref.Val {
	last := never
	for _, r := range p.State.Stores {
		if b, ok := r.Body.(cellar.Purchase); ok && r.Counts() && slices.Contains(products, b.Product) {
			last = on(r.At, p.zone)
		}
	}
	return last
}

func (p *plan) subject(scope Scope) *subject {
	return &subject{plan: p, scope: scope, known: map[string]ref.Val{}, from: map[string]origin{}}
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
	s.belief, s.ageing = p.Beliefs[s.parcel.ID], p.Ageing[s.parcel.ID]
}

// follows are the protocols that a subject is under: the one that its lot was told
// to follow or that fits it first, and all that stand beside.
func (p *plan) follows(s *subject) []*Protocol {
	var out []*Protocol
	own := false
	if s.lot != nil && s.lot.Protocol != "" {
		if told := p.Protocols.Find(s.lot.Protocol); told != nil {
			out, own = append(out, told), true
		}
	}
	for _, pr := range p.Protocols.Protocols {
		if pr.Beside {
			if p.holds(s, pr.follows) {
				out = append(out, pr)
			}
			continue
		}
		if !own && s.scope == OfParcel && len(pr.follows) > 0 && p.holds(s, pr.follows) {
			out, own = append(out, pr), true
		}
	}
	return out
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

// tool says with what the amount is measured out.
func (p *plan) tool(r reckoned) string {
	switch {
	case r.stock:
		return fmt.Sprintf("measure %s mL of a 10 %% solution: the weight is under %d steps of a %s g scale", r.text, finestWeighing, numeral(p.scaleStep))
	case r.unit == "g" || r.unit == "kg":
		return "weigh " + r.text + " " + r.unit
	case r.unit == "mL" || r.unit == "L":
		return "measure " + r.text + " " + r.unit
	}
	return ""
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

// ticked is the last tick of a step on this wine, vessel or instrument.
func (p *plan) ticked(s *subject, step *Step) (tick, bool) {
	if s.scope == OfParcel {
		t, ok := s.life.done[step.ID]
		return t, ok
	}
	records := p.State.Records
	if s.vessel != nil {
		records = s.vessel.Records
	}
	var last tick
	for _, r := range records {
		b, ok := r.Body.(cellar.Done)
		if !ok || !r.Counts() || stepOf(b.Task) != step.ID {
			continue
		}
		if s.instrument != nil && !strings.HasSuffix(b.Task, "/"+s.instrument.Slug) {
			continue
		}
		last = tick{at: r.At, skipped: b.Skipped, words: b.Words, count: last.count + 1}
	}
	if s.vessel != nil && s.parcel != nil {
		if t, ok := s.life.done[step.ID]; ok && t.at.After(last.at) {
			return t, true
		}
	}
	return last, last.count > 0
}

// window sets the days between which the act is due. It is false where it has
// none: a date that the window hangs on never comes.
func (p *plan) window(s *subject, step *Step, a *Act, t tick, ticked bool) bool {
	from, ok := p.day(s, step.from, a)
	if !ok {
		return false
	}
	if ticked {
		gap, ok := p.rests(s, step, t)
		if !ok {
			return false
		}
		next := math.Ceil(on(t.at, p.zone).v + gap)
		if from == nil || next > from.v {
			from = &measure{kind: date, v: next}
		}
	}
	about, ok := p.day(s, step.about, a)
	if !ok {
		return false
	}
	by, ok := p.day(s, step.by, a)
	if !ok {
		return false
	}
	if from == nil {
		from = &p.today
	}
	a.open = from.v == p.today.v && (step.from == nil || slices.Contains(step.from.uses, "today"))
	if ticked {
		a.since = &Day{p.local(t.at.In(p.zone))}
	}
	a.From = p.date(from.v)
	if a.From == nil {
		return len(a.WaitingOn) > 0
	}
	if by != nil {
		a.To = p.date(max(by.v, from.v))
	}
	if about != nil {
		a.About = p.date(about.v)
	}
	return true
}

func (p *plan) date(n float64) *Day {
	t, ok := dayOf(math.Floor(n), p.zone)
	if !ok {
		return nil
	}
	return &Day{t}
}

// day evaluates one end of a window: nil where the step has none; not ok where it
// is never. An unknown end is waited for.
func (p *plan) day(s *subject, f *formula, a *Act) (*measure, bool) {
	if f == nil {
		return nil, true
	}
	v, unknown, err := f.eval(s)
	if err != nil {
		return nil, false
	}
	if unknown != nil {
		for _, ask := range asks(unknown) {
			if !slices.Contains(a.WaitingOn, ask) {
				a.WaitingOn = append(a.WaitingOn, ask)
			}
		}
		return nil, true
	}
	m, isDate := v.(measure)
	if !isDate || math.IsInf(m.v, 0) {
		return nil, false
	}
	return &m, true
}

// stand says where the act stands.
func (p *plan) stand(a *Act) {
	today := p.local(p.Now)
	switch {
	case len(a.WaitingOn) > 0:
		a.Standing = Waiting
	case a.From == nil || !a.From.After(today):
		a.Standing = Due
	case !a.From.After(today.AddDate(0, 0, p.Prefs.soon())):
		a.Standing = Soon
	default:
		a.Standing = Later
	}
	if a.Standing == Due && a.To != nil && a.To.Before(today) {
		a.Overdue = int(dayNumber(today) - dayNumber(a.To.Time))
	}
}

// sulfiteForms are the products that bring sulfur dioxide.
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
