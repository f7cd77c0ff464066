package advise

import (
	"strings"
	"time"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/science/malolactic"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

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
	switch s.plan.State.Wish(s.lot) {
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
