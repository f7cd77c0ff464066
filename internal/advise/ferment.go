package advise

import (
	"fmt"
	"math"
	"strings"
	"time"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/science/malolactic"
	"elevage/science/quantity"
	"elevage/science/strength"
	"elevage/science/sulfite"
)

func wordOf(what string) string { return strings.ReplaceAll(what, "-", "_") }

// drySugar is the sugar below which a wine counts as dry: glucose and fructose
// below 1 g/L (Purdue FS-56), 2 g/L where the method also counts pentoses.
const drySugar = 2 * quantity.GramPerLitre

// dryEnd is the specific gravity of a dry red about which the share of sugar that
// is gone is reckoned. A rule of thumb, no source.
const dryEnd = 0.994

// stillSweet is the specific gravity above which no wine is dry (5 g/L sugar and
// more at 14 % vol); below it a float cannot tell. Reckoned from the density of
// dry wine near 0.992 to 0.996.
const stillSweet = 1.000

// dry says whether sugar is gone: true, false, or nil where nothing on record can tell.
func (s *subject) dry() *bool {
	t, f := true, false
	l := s.life
	if !l.dry.IsZero() || !l.mlFinished.IsZero() {
		return &t
	}
	if k := l.last(cellar.ReadSugar); k != nil && k.value <= float64(drySugar) {
		return &t
	}
	if s.parcel.Form == cellar.FormFruit || s.parcel.Form == cellar.FormMust && l.last(cellar.ReadDensity) == nil {
		return &f
	}
	if k := l.last(cellar.ReadSugar); k != nil && s.plan.Now.Sub(k.at) < 4*24*time.Hour {
		return &f
	}
	if k := l.last(cellar.ReadDensity); k != nil && k.value > stillSweet && s.recent(k.at) {
		return &f
	}
	// Wine that comes into the record as wine, with malolactic or sulfur dioxide
	// on record and no density, was dry before.
	if len(l.looks[cellar.ReadDensity]) == 0 && l.crushed.IsZero() && l.pitched.IsZero() && s.parcel.Form == cellar.FormWine {
		return &t
	}
	return nil
}

// fermenting says whether sugar is turning to alcohol, as far as the record tells.
func (s *subject) fermenting() bool {
	if s.parcel.Form != cellar.FormMust && s.parcel.Form != cellar.FormWine {
		return false
	}
	d := s.dry()
	if d != nil && *d {
		return false
	}
	k := s.life.last(cellar.ReadDensity)
	moving := k != nil && s.recent(k.at) && s.gone() > 0.03
	return moving || s.recent(s.life.pitched) || s.recent(s.life.primaryStarted)
}

// staleAfter is how long what was last heard of a primary fermentation speaks of
// today: a ferment of which nobody wrote a word for a month is over or given up on,
// and either way not to be nagged about. A proposal.
const staleAfter = 30 * 24 * time.Hour

func (s *subject) recent(t time.Time) bool { return !t.IsZero() && s.plan.Now.Sub(t) < staleAfter }

// gone is the share of the fall from the first density to that of a dry wine that
// has been made; NaN without a density.
func (s *subject) gone() float64 {
	ks := s.life.looks[cellar.ReadDensity]
	if len(ks) == 0 {
		return math.NaN()
	}
	first := ks[0].value
	for _, k := range ks {
		first = max(first, k.value)
	}
	if first <= 1.02 {
		return math.NaN()
	}
	return (first - ks[len(ks)-1].value) / (first - dryEnd)
}

// rate is the fall of specific gravity per day over the last two days or so.
func (s *subject) rate() (float64, bool) {
	last, before := s.life.last(cellar.ReadDensity), s.life.before(cellar.ReadDensity, 36*time.Hour)
	if before == nil {
		before = s.life.before(cellar.ReadDensity, 10*time.Hour)
	}
	if before == nil {
		return 0, false
	}
	return (before.value - last.value) / (last.at.Sub(before.at).Hours() / 24), true
}

// unfermented says whether it is must or juice before its yeast.
func (s *subject) unfermented() bool {
	if s.parcel.Form != cellar.FormMust && s.parcel.Form != cellar.FormWine || !s.life.pitched.IsZero() || !s.life.primaryStarted.IsZero() || s.conversion().started || s.life.alive {
		return false
	}
	if s.parcel.Form == cellar.FormWine && s.life.crushed.IsZero() {
		return false
	}
	g := s.gone()
	d := s.dry()
	return (math.IsNaN(g) || g < 0.03) && (d == nil || !*d)
}

func optional(b *bool) ref.Val {
	if b == nil {
		return nil
	}
	return yes(*b)
}

// floatStep is what a hydrometer reading of fermenting must is good to, in SG:
// 0.4 °Brix, from memory.
const floatStep = 0.0016

func primaryWords() []word {
	density := "a reading of density"
	return []word{
		{name: "primary.dry", typ: tBool, of: OfParcel, means: "whether sugar is gone: by verdict or sugar test; a hydrometer alone can only deny it", ask: "a sugar test", read: cellar.ReadSugar, get: func(s *subject) ref.Val { return optional(s.dry()) }},
		{name: "primary.fermenting", typ: tBool, of: OfParcel, means: "whether yeast was given or density fell, and it is not shown to be dry", get: func(s *subject) ref.Val { return yes(s.fermenting()) }},
		{name: "primary.gone", typ: tNumber, of: OfParcel, means: "share of the sugar that is gone by density, 0 to 1", ask: density, read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			if g := s.gone(); !math.IsNaN(g) {
				return num(g)
			}
			return nil
		}},
		{name: "primary.gone_words", typ: tText, of: OfParcel, means: "share of the sugar that is gone, in per cent", ask: density, read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			if g := s.gone(); !math.IsNaN(g) {
				return percent(min(1, max(0, g)))
			}
			return nil
		}},
		{name: "primary.rate_words", typ: tText, of: OfParcel, means: "fall of density per day, in points of a thousandth", ask: density, read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			if rate, ok := s.rate(); ok {
				return text(fmt.Sprintf("%.1f", 1000*rate))
			}
			return nil
		}},
		{name: "wine.first_brix", typ: tNumber, of: OfParcel, means: "degrees Brix of the must by its highest density", ask: density, read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			first := 0.0
			for _, k := range s.life.looks[cellar.ReadDensity] {
				first = max(first, k.value)
			}
			if first < 1.02 {
				return nil
			}
			b, err := strength.SpecificGravity(first).Brix()
			if err != nil {
				return nil
			}
			return num(math.Round(float64(b)*10) / 10)
		}},
		{name: "wine.hottest", typ: celTypes[temperature], of: OfParcel, means: "highest temperature read since it was crushed, in the last three weeks", ask: "a reading of temperature", read: cellar.ReadTemperature, get: func(s *subject) ref.Val {
			hottest := math.Inf(-1)
			for _, k := range s.life.looks[cellar.ReadTemperature] {
				if s.plan.Now.Sub(k.at) < 21*24*time.Hour {
					hottest = max(hottest, k.value)
				}
			}
			if math.IsInf(hottest, -1) {
				return nil
			}
			return measure{kind: temperature, v: hottest}
		}},
		{name: "primary.moved", typ: tBool, of: OfParcel, means: "whether density has fallen since the first reading by more than the float's error", ask: density, read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			ks := s.life.looks[cellar.ReadDensity]
			if len(ks) < 2 {
				return nil
			}
			return yes(ks[0].value-ks[len(ks)-1].value > 2*floatStep)
		}},
		{name: "primary.rate", typ: tNumber, of: OfParcel, means: "fall of specific gravity per day over the last two days or so", ask: "two readings of density a day or two apart", read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			if rate, ok := s.rate(); ok {
				return num(rate)
			}
			return nil
		}},
		{name: "primary.flat", typ: celTypes[span], of: OfParcel, means: "for how long density has stood still within the float's error", ask: density, read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			if len(s.life.looks[cellar.ReadDensity]) == 0 {
				return nil
			}
			return measure{kind: span, v: s.life.flat(cellar.ReadDensity, floatStep).Hours() / 24}
		}},
		{name: "primary.juice", typ: tBool, of: OfParcel, means: "whether it is must or juice that no yeast was given yet and whose density has not fallen", get: func(s *subject) ref.Val { return yes(s.unfermented()) }},
		{name: "at.press_likely", typ: celTypes[date], of: OfParcel, means: "day on which density falls under 1.000 at the present rate", ask: "two readings of density a day or two apart", read: cellar.ReadDensity, get: func(s *subject) ref.Val {
			rate, ok := s.rate()
			last := s.life.last(cellar.ReadDensity)
			if !ok || rate < 0.0005 || last == nil {
				return nil
			}
			return measure{kind: date, v: on(last.at, s.plan.zone).v + math.Ceil(max(0, last.value-stillSweet)/rate)}
		}},
		{name: "primary.nutrients", typ: tInt, of: OfParcel, means: "how many times nutrient was given", get: func(s *subject) ref.Val { return count(s.life.nutrients) }},
	}
}

// conversion is where malolactic fermentation stands by what is declared and believed.
type conversion struct {
	started, over, declared, givenUp bool
	finished                         time.Time // when it was, or most likely was, over
}

func (s *subject) conversion() conversion {
	l := s.life
	c := conversion{started: !l.bacteria.IsZero() || !l.mlStarted.IsZero(), declared: l.finishedShare >= nearlyAll && l.mlFinished.After(l.mlStuck) && l.mlFinished.After(l.mlGivenUp),
		givenUp: !l.mlGivenUp.IsZero() && l.mlGivenUp.After(l.mlFinished)}
	if c.declared {
		c.over, c.finished = true, l.mlFinished
	}
	if b := s.belief; b != nil && b.Decision.Call == track.CallFinished && !c.declared && !c.givenUp {
		c.over, c.finished = true, s.plan.Now
	}
	if b := s.belief; b != nil && b.Decision.Call == track.CallFinished && b.Finish.Q50 != nil {
		// The malic acid was gone before anyone could show it.
		if day := s.plan.local(b.Finish.Q50.Time); day.Before(c.finished) {
			c.finished = day
		}
	}
	return c
}

// nearlyAll is the share of a wine that must have been declared finished for the
// whole to count so: a barrel topped for years stays finished, a blend with a fifth
// of unfinished wine does not. A proposal.
const nearlyAll = 0.8

// wanted says whether malolactic fermentation is wanted; nil where nothing is decided.
func (s *subject) wanted() *bool {
	t, f := true, false
	switch s.lot.Malolactic {
	case cellar.MalolacticWanted:
		return &t
	case cellar.MalolacticKeptFrom:
		return &f
	}
	return nil
}

func malolacticWords() []word {
	believed := "a belief, which needs one reading since inoculation"
	belief := func(get func(*subject, *track.Belief) ref.Val) func(*subject) ref.Val {
		return func(s *subject) ref.Val {
			if s.belief == nil {
				return nil
			}
			return get(s, s.belief)
		}
	}
	day := func(get func(*track.Belief) *track.Date) func(*subject) ref.Val {
		return belief(func(s *subject, b *track.Belief) ref.Val {
			if d := get(b); d != nil {
				return measure{kind: date, v: dayNumber(d.Time)}
			}
			return nil
		})
	}
	chance := func(get func(*track.Belief) float64) func(*subject) ref.Val {
		return belief(func(_ *subject, b *track.Belief) ref.Val { return num(get(b)) })
	}
	words := func(get func(*track.Belief) string) func(*subject) ref.Val {
		return belief(func(_ *subject, b *track.Belief) ref.Val { return text(get(b)) })
	}
	left := func(get func(track.Spread[quantity.Concentration]) quantity.Concentration) func(*subject) ref.Val {
		return belief(func(_ *subject, b *track.Belief) ref.Val {
			return measure{kind: concentration, v: float64(get(b.Malic)), unit: "g/L", decimals: 1}
		})
	}
	return []word{
		{name: "malolactic.wanted", typ: tBool, of: OfParcel, means: "whether malolactic fermentation is wanted", ask: "a decision: is malolactic fermentation wanted?", get: func(s *subject) ref.Val { return optional(s.wanted()) }},
		{name: "malolactic.started", typ: tBool, of: OfParcel, means: "whether culture was given, a native start noted, or conversion declared started", get: func(s *subject) ref.Val { return yes(s.conversion().started) }},
		{name: "malolactic.over", typ: tBool, of: OfParcel, means: "whether it is finished: declared so, or believed so on evidence that can carry it", get: func(s *subject) ref.Val { return yes(s.conversion().over) }},
		{name: "malolactic.declared", typ: tBool, of: OfParcel, means: "whether it was declared finished", get: func(s *subject) ref.Val { return yes(s.conversion().declared) }},
		{name: "malolactic.given_up", typ: tBool, of: OfParcel, means: "whether it was declared given up", get: func(s *subject) ref.Val { return yes(s.conversion().givenUp) }},
		{name: "at.malolactic_finished", typ: celTypes[date], of: OfParcel, means: "day on which it was over: as believed where there is a belief, as declared otherwise; never while it is not over", get: func(s *subject) ref.Val {
			if c := s.conversion(); c.over {
				return on(c.finished, s.plan.zone)
			}
			return never
		}},
		{name: "malolactic.call", typ: tText, of: OfParcel, means: "what the belief calls it: finished, not_yet, cannot_tell, stalled", ask: believed, get: words(func(b *track.Belief) string { return string(b.Decision.Call) })},
		{name: "malolactic.reason", typ: tText, of: OfParcel, means: "why the belief calls it so", ask: believed, get: words(func(b *track.Belief) string { return b.Decision.Reason })},
		{name: "malolactic.chance_finished", typ: tNumber, of: OfParcel, means: "chance that it is finished", ask: believed, get: chance(func(b *track.Belief) float64 { return b.PFinished })},
		{name: "malolactic.chance_stalled", typ: tNumber, of: OfParcel, means: "chance that it has stopped for good", ask: believed, get: chance(func(b *track.Belief) float64 { return b.State.Stalled })},
		{name: "malolactic.chance_stalled_words", typ: tText, of: OfParcel, means: "chance that it has stopped for good, in per cent", ask: believed, get: belief(func(_ *subject, b *track.Belief) ref.Val { return percent(b.State.Stalled) })},
		{name: "malolactic.chance_lagging_words", typ: tText, of: OfParcel, means: "chance that it has hardly begun, in per cent", ask: believed, get: belief(func(_ *subject, b *track.Belief) ref.Val { return percent(b.State.Lagging) })},
		{name: "wine.malic_fell", typ: tBool, of: OfParcel, means: "whether malic acid was read at less than half of an earlier reading", ask: "two readings of malic acid", get: func(s *subject) ref.Val {
			ks := s.life.looks[cellar.ReadMalic]
			if len(ks) < 2 {
				return nil
			}
			return yes(ks[len(ks)-1].value < 0.5*ks[0].value)
		}},
		{name: "wine.culture_row", typ: tText, of: OfParcel, means: "this vessel as the culture calculator reads it", get: func(s *subject) ref.Val { return text(s.cultureRow()) }},
		{name: "malolactic.chance_lagging", typ: tNumber, of: OfParcel, means: "chance that it has hardly begun", ask: believed, get: chance(func(b *track.Belief) float64 { return b.State.Lagging })},
		{name: "malolactic.malic", typ: celTypes[concentration], of: OfParcel, means: "malic acid left, most likely", ask: believed, get: left(func(m track.Spread[quantity.Concentration]) quantity.Concentration { return m.Q50 })},
		{name: "malolactic.malic_high", typ: celTypes[concentration], of: OfParcel, means: "malic acid left, at most (95 %)", ask: believed, get: left(func(m track.Spread[quantity.Concentration]) quantity.Concentration { return m.Q95 })},
		{name: "malolactic.malic_low", typ: celTypes[concentration], of: OfParcel, means: "malic acid left, at least (95 %)", ask: believed, get: left(func(m track.Spread[quantity.Concentration]) quantity.Concentration { return m.Q05 })},
		{name: "at.finish_early", typ: celTypes[date], of: OfParcel, means: "day by which it is finished with a chance of 5 %", ask: believed, get: day(func(b *track.Belief) *track.Date { return b.Finish.Q05 })},
		{name: "at.finish_likely", typ: celTypes[date], of: OfParcel, means: "day by which it is finished with a chance of 50 %", ask: believed, get: day(func(b *track.Belief) *track.Date { return b.Finish.Q50 })},
		{name: "at.finish_late", typ: celTypes[date], of: OfParcel, means: "day by which it is finished with a chance of 95 %", ask: believed, get: day(func(b *track.Belief) *track.Date { return b.Finish.Q95 })},
		{name: "malolactic.next_test", typ: tText, of: OfParcel, means: "test most worth making: chromatogram, malic, ta, ph, ph_control, or none", ask: believed, get: words(func(b *track.Belief) string { return b.NextTest.What })},
		{name: "malolactic.test_reason", typ: tText, of: OfParcel, means: "why that test on that day", ask: believed, get: words(func(b *track.Belief) string { return b.NextTest.Reason })},
		{name: "at.next_test", typ: celTypes[date], of: OfParcel, means: "day on which that test is most worth making", ask: believed, get: day(func(b *track.Belief) *track.Date { return b.NextTest.On })},
		{name: "malolactic.contradiction", typ: tBool, of: OfParcel, means: "whether a reading contradicts the others", ask: believed, get: belief(func(_ *subject, b *track.Belief) ref.Val { return yes(contradiction(b) != "") })},
		{name: "malolactic.contradicts", typ: tText, of: OfParcel, means: "which reading contradicts the others, in a sentence", ask: believed, get: words(contradiction)},
		{name: "malolactic.hard_factors", typ: tInt, of: OfParcel, means: "how many of temperature, pH, alcohol, molecular and bound SO2 lie where bulletins call conversion difficult", ask: "pH and temperature, measured", get: func(s *subject) ref.Val {
			if c, ok := s.conditions(); ok {
				return count(c.Difficult())
			}
			return nil
		}},
		{name: "malolactic.hard", typ: tText, of: OfParcel, means: "which of them, in words", ask: "pH and temperature, measured", get: func(s *subject) ref.Val {
			if c, ok := s.conditions(); ok {
				return text(hardFactors(c))
			}
			return nil
		}},
	}
}

func contradiction(b *track.Belief) string {
	for _, f := range b.Flags {
		if f.Kind == "contradiction" {
			return f.Message
		}
	}
	for _, p := range b.Readings {
		if p.Flagged {
			return string(p.What) + " " + p.Value + " of " + p.On.Format("2 January") + " was expected near " + p.Expected
		}
	}
	return ""
}

// conditions are what bacteria would live in, by the last readings.
func (s *subject) conditions() (malolactic.Conditions, bool) {
	ph, temp := s.last(cellar.ReadPH), s.last(cellar.ReadTemperature)
	if ph == nil || temp == nil {
		return malolactic.Conditions{}, false
	}
	c := malolactic.Conditions{Temperature: quantity.Temperature(temp.value), PH: quantity.PH(ph.value), Alcohol: s.alcohol()}
	free, total := 0.0, 0.0
	if k := s.life.last(cellar.ReadFreeSO2); k != nil {
		free = k.value
	}
	if k := s.life.last(cellar.ReadTotalSO2); k != nil {
		total = k.value
	} else if s.parcel.Volume > 0 {
		total = float64(s.parcel.Amount(cellar.SubstanceSO2)) / float64(s.parcel.Volume)
	}
	if share, err := sulfite.Handbook.Share(sulfite.Wine{PH: c.PH, Alcohol: c.Alcohol, Temperature: 20}); err == nil {
		c.Molecular = quantity.Concentration(free * share.Fraction)
	}
	c.Bound = quantity.Concentration(max(0, total-free))
	return c, c.Check() == nil
}

// hardFactors names what malolactic.Conditions.Difficult counts.
func hardFactors(c malolactic.Conditions) string {
	kind := malolactic.Reference
	var names []string
	for _, f := range []struct {
		name string
		set  func(*malolactic.Conditions)
	}{
		{"temperature", func(k *malolactic.Conditions) { k.Temperature = c.Temperature }},
		{"pH", func(k *malolactic.Conditions) { k.PH = c.PH }},
		{"alcohol", func(k *malolactic.Conditions) { k.Alcohol = c.Alcohol }},
		{"free sulfur dioxide", func(k *malolactic.Conditions) { k.Molecular = c.Molecular }},
		{"bound sulfur dioxide", func(k *malolactic.Conditions) { k.Bound = c.Bound }},
	} {
		one := kind
		f.set(&one)
		if one.Difficult() > 0 {
			names = append(names, f.name)
		}
	}
	if len(names) == 0 {
		return "nothing"
	}
	return strings.Join(names, ", ")
}
