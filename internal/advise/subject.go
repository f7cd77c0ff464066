package advise

import (
	"fmt"
	"math"
	"time"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/primary"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// A subject is what a step is about: a parcel of wine, a vessel, an instrument, or
// the cellar. It answers the words of conditions, each once.
type subject struct {
	plan       *plan
	scope      Scope
	lot        *cellar.Lot
	vessel     *cellar.Vessel
	parcel     *cellar.Parcel
	instrument *cellar.Instrument
	life       *life
	belief     *track.Belief
	ageing     *ageing.Belief
	primary    *primary.Belief

	known map[string]ref.Val
	from  map[string]origin
}

// An origin is where a figure comes from.
type origin struct{ words, entry string }

var _ cel.Activation = (*subject)(nil)

// Parent is nil: a subject answers all.
func (s *subject) Parent() cel.Activation { return nil }

// ResolveName answers a word; what is not known is an Unknown that carries its name.
func (s *subject) ResolveName(name string) (any, bool) {
	if v, ok := s.known[name]; ok {
		return v, true
	}
	w := vocabulary[name]
	if w == nil {
		return nil, false
	}
	var v ref.Val
	if s.has(w.of) {
		v = w.get(s)
	}
	if m, ok := v.(measure); ok && math.IsNaN(m.v) {
		v = nil
	}
	if v == nil {
		v = types.NewUnknown(1, types.NewAttributeTrail(name))
	}
	s.known[name] = v
	return v, true
}

// has says whether a word of a scope can be answered here.
func (s *subject) has(of Scope) bool {
	switch of {
	case OfParcel:
		return s.parcel != nil
	case OfVessel:
		return s.vessel != nil
	case OfInstrument:
		return s.instrument != nil
	}
	return true
}

func (s *subject) usUnits() bool {
	if s.lot != nil && s.lot.Units != "" {
		return s.lot.Units == "us"
	}
	return s.plan.Prefs.US
}

// last is the last reading of something, and notes it as the origin of its word.
func (s *subject) last(what string) *look {
	k := s.life.last(what)
	if k != nil {
		s.originOf("wine."+wordOf(what), k)
	}
	return k
}

func (s *subject) originOf(name string, k *look) {
	o := origin{words: "read " + s.plan.when(k.at), entry: string(k.rec.Entry.ID)}
	if k.method != "" {
		o.words += " by " + k.method
	}
	s.from[name] = o
}

// cared is the day on which the vessel was last cared for in one of these ways,
// full or empty.
func (s *subject) cared(how ...string) ref.Val {
	if s.vessel == nil {
		return nil
	}
	last := never
	for _, r := range s.vessel.Records {
		b, ok := r.Body.(cellar.Care)
		if !ok || !r.Counts() {
			continue
		}
		for _, h := range how {
			if b.What == h {
				last = on(r.At, s.plan.zone)
			}
		}
	}
	return last
}

// molecular is by the handbook constant, with which the usual aims were set.
func (s *subject) molecular() ref.Val {
	free, ph := s.last(cellar.ReadFreeSO2), s.last(cellar.ReadPH)
	if free == nil || ph == nil {
		return nil
	}
	share, err := sulfite.Handbook.Share(sulfite.Wine{PH: quantity.PH(ph.value), Alcohol: s.alcohol(), Temperature: 20})
	if err != nil {
		return nil
	}
	return measure{kind: concentration, v: free.value * share.Fraction, unit: "mg/L", decimals: 2}
}

// assumedStrength stands in for an alcohol that nobody measured. It moves no dose
// by more than a few per cent. A proposal.
const assumedStrength = 13

func (s *subject) alcohol() quantity.Strength {
	if k := s.life.last(cellar.ReadAlcohol); k != nil {
		return quantity.Strength(k.value)
	}
	return assumedStrength
}

// event makes the word for the day on which something last happened.
func event(name, means string, get func(*life) time.Time) []word {
	at := func(s *subject) measure {
		t := get(s.life)
		if t.IsZero() {
			return never
		}
		return on(t, s.plan.zone)
	}
	return []word{
		{name: "at." + name, typ: celTypes[date], of: OfParcel, means: "day on which " + means + "; never if it is not on record", get: func(s *subject) ref.Val { return at(s) }},
		{name: "since." + name, typ: celTypes[span], of: OfParcel, means: "days since " + means + "; without end if it is not on record", get: func(s *subject) ref.Val {
			return measure{kind: span, v: s.plan.today.v - at(s).v}
		}},
	}
}

func eventWords() []word {
	var all []word
	for _, e := range []struct {
		name, means string
		get         func(*life) time.Time
	}{
		{"began", "the wine came into this vessel", func(l *life) time.Time { return l.began }},
		{"fruit", "the fruit came in", func(l *life) time.Time { return l.fruit }},
		{"crushed", "it was crushed", func(l *life) time.Time { return l.crushed }},
		{"pressed", "it was pressed", func(l *life) time.Time { return l.pressed }},
		{"pitched", "yeast was given, or its start left to the fruit", func(l *life) time.Time { return l.pitched }},
		{"bacteria", "malolactic culture was last given, or its start left to the wine", func(l *life) time.Time { return l.bacteria }},
		{"first_bacteria", "malolactic culture was first given", func(l *life) time.Time { return l.bacteriaFirst }},
		{"racked", "it was last racked", func(l *life) time.Time { return l.racked }},
		{"topped", "it was last topped or put under gas", func(l *life) time.Time { return l.topped }},
		{"stirred", "its lees were last stirred", func(l *life) time.Time { return l.stirred }},
		{"cap_worked", "its cap was last worked", func(l *life) time.Time { return l.capped }},
		{"sulfited", "sulfur dioxide was last added", func(l *life) time.Time { return l.sulfited }},
		{"fed", "nutrient was last given", func(l *life) time.Time { return l.nutrient }},
		{"fined", "it was last fined", func(l *life) time.Time { return l.fined }},
		{"copper", "copper was last given", func(l *life) time.Time { return l.copper }},
		{"acid_moved", "acid was last added or taken away", func(l *life) time.Time { return l.acid }},
		{"oak_in", "oak last went in", func(l *life) time.Time { return l.oakIn }},
		{"oak_out", "oak last came out", func(l *life) time.Time { return l.oakOut }},
		{"filtered", "it was last filtered", func(l *life) time.Time { return l.filtered }},
		{"chilled", "it was last chilled", func(l *life) time.Time { return l.chilled }},
		{"blended", "it was last blended", func(l *life) time.Time { return l.blended }},
		{"tasted", "it was last tasted", func(l *life) time.Time { return l.tasted }},
		{"control", "a control sample was kept back", func(l *life) time.Time { return l.control }},
		{"warmed", "a temperature was last set", func(l *life) time.Time { return l.warmed }},
		{"dry", "it was declared dry", func(l *life) time.Time { return l.dry }},
		{"malolactic_declared", "malolactic fermentation was declared finished", func(l *life) time.Time { return l.mlFinished }},
		{"sick", "the wine was declared sick", func(l *life) time.Time { return l.sick }},
	} {
		all = append(all, event(e.name, e.means, e.get)...)
	}
	for _, r := range []string{cellar.ReadPH, cellar.ReadTA, cellar.ReadFreeSO2, cellar.ReadTotalSO2, cellar.ReadTemperature, cellar.ReadDensity, cellar.ReadVA, cellar.ReadMalic, cellar.ReadSugar, cellar.ReadChromatogram} {
		what := r
		all = append(all, word{name: "since.read_" + wordOf(what), typ: celTypes[span], of: OfParcel, means: fmt.Sprintf("days since the last reading of %s; without end if there is none", what),
			get: func(s *subject) ref.Val {
				return measure{kind: span, v: s.plan.today.v - s.life.readOn(what, s.plan.zone).v}
			}})
	}
	return all
}
