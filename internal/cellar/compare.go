package cellar

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"elevage/science/quantity"
)

// A Difference is something that two lots did not have in common; a lot of which
// nothing is written has "".
type Difference struct {
	What string
	A, B string
}

// A StageDifference is where two lots differ in one stage of their lives.
type StageDifference struct {
	Stage string
	Rows  []Difference
}

// Stages of a lot's life by which two are compared.
const (
	stageFruit   = "fruit"
	stageCrush   = "crush and must"
	stagePrimary = "primary fermentation"
	stagePress   = "pressing"
	stageMalo    = "malolactic fermentation"
	stageKeeping = "keeping"
	stageBottle  = "bottling and after"
)

var stagesInOrder = []string{stageFruit, stageCrush, stagePrimary, stagePress, stageMalo, stageKeeping, stageBottle}

// Compare sets two lots side by side, stage by stage, and shows only what differs.
// Days are counted from the crush, or from when a wine came in. It is false if one
// of them is not known.
func (s *State) Compare(a, b string) ([]StageDifference, bool) {
	la, lb := s.Lot(a), s.Lot(b)
	if la == nil || lb == nil {
		return nil, false
	}
	fa, fb := s.life(la), s.life(lb)
	var out []StageDifference
	for _, stage := range stagesInOrder {
		d := StageDifference{Stage: stage}
		for _, what := range namesOf(fa.names(stage), fb.names(stage)) {
			if x, y := fa.said(stage, what), fb.said(stage, what); x != y {
				d.Rows = append(d.Rows, Difference{what, x, y})
			}
		}
		if len(d.Rows) > 0 {
			out = append(out, d)
		}
	}
	return out, true
}

// namesOf is the names of a and then those of b that a has not.
func namesOf(a, b []string) []string {
	out := slices.Clone(a)
	for _, n := range b {
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// lotLife is what can be said of a lot, in order.
type lotLife struct {
	s      *State
	lot    *Lot
	facts  []lotFact
	day0   time.Time
	press  time.Time
	begun  time.Time // malolactic
	ended  time.Time
	bottle time.Time
	counts map[string]int
	sums   map[string]float64
	firsts map[string]*Measure // first reading of a kind in a stage
	must   quantity.Volume
}

type lotFact struct{ stage, what, value string }

func (l *lotLife) names(stage string) (out []string) {
	for _, f := range l.facts {
		if f.stage == stage {
			out = append(out, f.what)
		}
	}
	return out
}

func (l *lotLife) said(stage, what string) string {
	for _, f := range l.facts {
		if f.stage == stage && f.what == what {
			return f.value
		}
	}
	return ""
}

// say notes a fact; said again, it takes the place of the first.
func (l *lotLife) say(stage, what, value string) {
	if value == "" {
		return
	}
	for i := range l.facts {
		if l.facts[i].stage == stage && l.facts[i].what == what {
			l.facts[i].value = value
			return
		}
	}
	l.facts = append(l.facts, lotFact{stage, what, value})
}

// first notes a fact unless it was noted before.
func (l *lotLife) first(stage, what, value string) {
	if l.said(stage, what) == "" {
		l.say(stage, what, value)
	}
}

// life goes through everything that was done to most of a lot's wine, in time.
func (s *State) life(lot *Lot) *lotLife {
	l := &lotLife{s: s, lot: lot, counts: map[string]int{}, sums: map[string]float64{}, firsts: map[string]*Measure{}}
	seen := map[*Record]bool{}
	var records []*Record
	add := func(r *Record) {
		if !seen[r] && r.Counts() && r.Body != nil {
			seen[r] = true
			records = append(records, r)
		}
	}
	for _, r := range lot.Records {
		add(r)
	}
	for _, p := range lot.Parcels {
		for _, h := range s.History(p.ID) {
			if h.Share >= 0.5 {
				add(h.Record)
			}
		}
	}
	slices.SortFunc(records, before)
	for _, r := range records {
		if r.Entry.Kind == KindCrush || l.day0.IsZero() && r.Entry.Kind == KindMovement {
			l.day0 = r.At
			break
		}
	}
	l.say(stageFruit, "variety", lot.Variety)
	if lot.Fruit > 0 {
		l.say(stageFruit, "fruit", figure(lot.Fruit.Kilograms())+" kg")
	}
	for _, r := range records {
		l.take(r)
	}
	l.sumUp()
	return l
}

func (l *lotLife) day(t time.Time) string {
	if l.day0.IsZero() {
		return ""
	}
	return fmt.Sprintf("day %d", int(t.Sub(l.day0).Hours()/24+0.5))
}

func (l *lotLife) take(r *Record) {
	switch b := r.Body.(type) {
	case FruitReceived:
		l.first(stageFruit, "from", strings.TrimSpace(b.Grower+" "+b.Block))
		l.first(stageFruit, "temperature at receipt", b.Warmth.String())
		l.first(stageFruit, "rot", b.RotPct.String())
	case Sample:
		if b.Berries > 0 {
			l.say(stageFruit, "berries sampled", fmt.Sprint(b.Berries))
		}
	case Crush:
		l.first(stageCrush, "destemmed", b.Destemmed)
		l.first(stageCrush, "crushed", b.Crushed)
		for _, p := range b.To {
			if v, _, err := p.Volume.Volume(); err == nil {
				l.must += v
			}
		}
	case Press:
		l.press = r.At
		l.first(stagePress, "pressed", l.day(r.At))
		l.first(stagePress, "density", b.Density.String())
	case Inoculation:
		l.inoculated(r, b)
	case Verdict:
		l.declared(r, b)
	case Reading:
		l.read(r, b)
	case Addition:
		l.added(r, b)
	case Stirring:
		if b.What == "lees" || b.What == "" {
			l.counts[l.stage(r)+"/lees stirred"]++
		} else {
			l.counts["cap worked"]++
		}
	case Warmth:
		l.say(l.stage(r), "held at", b.Set.String())
	case Movement:
		if b.How == "racking" || b.How == "topping" {
			l.counts[map[string]string{"racking": "rackings", "topping": "toppings"}[b.How]]++
		}
	case Treatment:
		l.counts[strings.ReplaceAll(b.What, "-", " ")]++
	case Bottling:
		l.bottle = r.At
		l.say(stageBottle, "bottled", l.day(r.At))
		l.say(stageBottle, "closure", b.Closure)
	case Tasting:
		if b.Score != "" {
			l.say(stageBottle, "last score", b.Score)
		}
	}
}

// stage is where in its life a wine was when something was done to it.
func (l *lotLife) stage(r *Record) string {
	switch {
	case l.day0.IsZero() || r.At.Before(l.day0):
		return stageFruit
	case l.press.IsZero() && l.must > 0:
		return stagePrimary
	case !l.bottle.IsZero():
		return stageBottle
	case !l.begun.IsZero() && l.ended.IsZero():
		return stageMalo
	}
	return stageKeeping
}

func (l *lotLife) inoculated(r *Record, b Inoculation) {
	stage := stagePrimary
	if b.Of == "malolactic" {
		stage = stageMalo
		if l.begun.IsZero() {
			l.begun = r.At
		}
	}
	l.first(stage, "inoculated", l.day(r.At))
	l.first(stage, "how", b.How)
	l.first(stage, "culture", b.Culture)
	l.first(stage, "amount", b.Amount.String())
}

func (l *lotLife) declared(r *Record, b Verdict) {
	switch b.Says {
	case VerdictDry:
		l.say(stagePrimary, "dry", l.day(r.At))
	case VerdictMalolacticFinished:
		l.ended = r.At
		l.say(stageMalo, "finished", l.day(r.At))
		if !l.begun.IsZero() {
			l.say(stageMalo, "took", fmt.Sprintf("%d days", int(r.At.Sub(l.begun).Hours()/24+0.5)))
		}
	case VerdictMalolacticGivenUp, VerdictMalolacticStuck, VerdictSick:
		l.say(l.stage(r), strings.ReplaceAll(b.Says, "-", " "), l.day(r.At))
	}
}

// read keeps the first and last reading of a stage.
func (l *lotLife) read(r *Record, b Reading) {
	if b.Control || b.Value.IsZero() {
		return
	}
	known, ok := LookupReadable(b.What)
	if !ok {
		return
	}
	stage, value := l.stage(r), b.Value.String()
	if b.What == ReadTemperature {
		if t, err := b.Value.Temperature(); err == nil {
			key := stage + "/warmest"
			if old, ok := l.sums[key]; !ok || t.Celsius() > old {
				l.sums[key] = t.Celsius()
				l.say(stage, "warmest reading", value)
			}
		}
		return
	}
	key := stage + "/" + known.Title
	if _, again := l.firsts[key]; !again {
		l.firsts[key] = b.Value
	}
	if first := l.firsts[key]; first.Value != b.Value.Value || first.Unit != b.Value.Unit {
		from := first.String()
		if first.Unit == b.Value.Unit {
			from = first.Value
		}
		value = from + " to " + value
	}
	l.say(stage, known.Title, value)
}

func (l *lotLife) added(r *Record, b Addition) {
	stage := l.stage(r)
	if stage == stagePrimary && l.said(stagePrimary, "inoculated") == "" {
		stage = stageCrush
	}
	var volume quantity.Volume
	for _, id := range r.Parcels {
		if p := l.s.Parcel(id); p != nil {
			v, _ := p.VolumeAt(r.At)
			volume += v
		}
	}
	what := ProductTitle(b.Product)
	if b.BringsSO2() {
		what = "SO2 added"
		l.counts[stage+"/SO2 doses"]++
		if m, err := b.SO2(volume); err == nil && volume > 0 {
			l.sums[stage+"/"+what] += m.Per(volume).MgPerL()
			l.say(stage, what, figure(l.sums[stage+"/"+what])+" mg/L in "+fmt.Sprint(l.counts[stage+"/SO2 doses"]))
		}
		return
	}
	if m, err := b.Mass(volume); err == nil && volume > 0 {
		l.sums[stage+"/"+what] += m.Per(volume).GPerL()
		l.say(stage, what, figure(l.sums[stage+"/"+what])+" g/L")
		return
	}
	l.say(stage, what, b.Amount.String())
}

// sumUp says what needs the whole life to be known.
func (l *lotLife) sumUp() {
	if l.must > 0 && l.lot.Fruit > 0 {
		l.say(stageCrush, "must from a kilogram", figure(l.must.Litres()/l.lot.Fruit.Kilograms())+" L")
	}
	if n := l.counts["cap worked"]; n > 0 {
		l.say(stagePrimary, "cap worked", fmt.Sprint(n))
	}
	for _, what := range [...]string{"rackings", "toppings", "oak in", "filtration", "chilling", "aeration"} {
		if n := l.counts[what]; n > 0 {
			l.say(stageKeeping, what, fmt.Sprint(n))
		}
	}
	for _, stage := range stagesInOrder {
		if n := l.counts[stage+"/lees stirred"]; n > 0 {
			l.say(stage, "lees stirred", fmt.Sprint(n))
		}
	}
	var bottles int
	for _, p := range l.lot.Parcels {
		if p.Form == FormBottle && len(p.Levels) > 0 {
			bottles += p.Levels[0].Count
		}
	}
	if bottles > 0 {
		l.say(stageBottle, "bottles", fmt.Sprint(bottles))
	}
	slices.SortStableFunc(l.facts, func(a, b lotFact) int {
		return slices.Index(stagesInOrder, a.stage) - slices.Index(stagesInOrder, b.stage)
	})
}
