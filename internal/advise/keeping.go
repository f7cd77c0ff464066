package advise

import (
	"strings"
	"time"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/track/ageing"
	science "elevage/science/ageing"
	"elevage/science/quantity"
)

// sulfiteWords are what is believed about sulfur dioxide in an ageing wine.
func sulfiteWords() []word {
	believed := "a free SO2 test, or a dose on record"
	belief := func(get func(*subject, *ageing.Belief) ref.Val) func(*subject) ref.Val {
		return func(s *subject) ref.Val {
			if s.ageing == nil {
				return nil
			}
			return get(s, s.ageing)
		}
	}
	level := func(get func(*ageing.Belief) quantity.Concentration, decimals int) func(*subject) ref.Val {
		return belief(func(_ *subject, b *ageing.Belief) ref.Val {
			return measure{kind: concentration, v: float64(get(b)), unit: "mg/L", decimals: decimals}
		})
	}
	day := func(get func(*ageing.Belief) *time.Time) func(*subject) ref.Val {
		return belief(func(s *subject, b *ageing.Belief) ref.Val {
			if t := get(b); t != nil {
				return on(*t, s.plan.zone)
			}
			return nil
		})
	}
	return []word{
		{name: "sulfite.believed", typ: tBool, of: OfParcel, means: "whether there is a belief about its sulfur dioxide", get: func(s *subject) ref.Val { return yes(s.ageing != nil) }},
		{name: "sulfite.free", typ: celTypes[concentration], of: OfParcel, means: "free SO2 now, most likely", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.Free.Q50 }, 0)},
		{name: "sulfite.free_low", typ: celTypes[concentration], of: OfParcel, means: "free SO2 now, at least (95 %)", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.Free.Q05 }, 0)},
		{name: "sulfite.free_high", typ: celTypes[concentration], of: OfParcel, means: "free SO2 now, at most (95 %)", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.Free.Q95 }, 0)},
		{name: "sulfite.molecular", typ: celTypes[concentration], of: OfParcel, means: "molecular SO2 now, most likely", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.Molecular.Q50 }, 2)},
		{name: "sulfite.floor", typ: celTypes[concentration], of: OfParcel, means: "molecular SO2 to stay above", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.Floor }, 2)},
		{name: "sulfite.floor_free", typ: celTypes[concentration], of: OfParcel, means: "free SO2 that the floor asks for", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.FloorFree.Q50 }, 0)},
		{name: "sulfite.below", typ: tNumber, of: OfParcel, means: "chance of lying under the floor now", ask: believed, get: belief(func(_ *subject, b *ageing.Belief) ref.Val { return num(b.Below) })},
		{name: "sulfite.risk", typ: tNumber, of: OfParcel, means: "chance of lying under the floor that is put up with", ask: believed, get: belief(func(_ *subject, b *ageing.Belief) ref.Val { return num(b.Risk) })},
		{name: "sulfite.dose", typ: celTypes[concentration], of: OfParcel, means: "SO2 to add that lasts to the date asked; 0 where none is needed", ask: believed, get: level(func(b *ageing.Belief) quantity.Concentration { return b.Dose.SO2 }, 0)},
		{name: "sulfite.binds", typ: tNumber, of: OfParcel, means: "share of an addition expected to bind", ask: believed, get: belief(func(_ *subject, b *ageing.Belief) ref.Val { return num(1 - b.Dose.Share) })},
		{name: "sulfite.worth_measuring", typ: tBool, of: OfParcel, means: "whether a free SO2 test now is worth making", ask: believed, get: belief(func(_ *subject, b *ageing.Belief) ref.Val { return yes(b.Measure.Worth) })},
		{name: "sulfite.measured", typ: tBool, of: OfParcel, means: "whether any SO2 reading stands behind the belief", ask: believed, get: belief(func(_ *subject, b *ageing.Belief) ref.Val { return yes(len(b.Looks) > 0) })},
		{name: "sulfite.absurd", typ: tText, of: OfParcel, means: "a reading of SO2 that does not fit, in a sentence; empty if all fit", ask: believed, get: belief(func(_ *subject, b *ageing.Belief) ref.Val { return text(absurd(b)) })},
		{name: "at.measure_by", typ: celTypes[date], of: OfParcel, means: "day on which the chance of lying under the floor reaches what is put up with", ask: believed, get: day(func(b *ageing.Belief) *time.Time { return b.MeasureBy })},
		{name: "at.falls_under", typ: celTypes[date], of: OfParcel, means: "day on which it most likely falls under the floor", ask: believed, get: day(func(b *ageing.Belief) *time.Time { return b.FallsUnder.Q50 })},
		{name: "at.dose_lasts", typ: celTypes[date], of: OfParcel, means: "day to which the dose is reckoned to last", ask: believed, get: belief(func(s *subject, b *ageing.Belief) ref.Val { return on(b.Dose.Until, s.plan.zone) })},
	}
}

func absurd(b *ageing.Belief) string {
	for _, f := range b.Flags {
		if f.Code == "absurd-reading" {
			return f.Text
		}
	}
	return ""
}

// waitForFirstDose names the table of what waiting with the first dose gains and
// costs.
const waitForFirstDose = "wait-for-first-dose"

// airy is the share of a vessel from which on air over the wine is told of: "more than 2
// to 3 %", common practice, no source.
const airy = 0.03

// firstDose is that table for this wine; nil if its figures are out of range.
func (s *subject) firstDose() *science.FirstDoseTradeOff {
	w := science.Standing{Film: strings.Contains(strings.ToLower(strings.Join(s.life.faults, " ")), "film"), Ullage: float64(s.air()) > airy*float64(s.vessel.Capacity())}
	if k := s.life.last(cellar.ReadPH); k != nil {
		w.PH = quantity.PH(k.value)
	}
	if k := s.life.last(cellar.ReadTemperature); k != nil {
		w.Temperature = quantity.Temperature(k.value)
	}
	if t, err := science.VolatileTrend(s.volatile()); err == nil {
		w.VolatileUp = t.Rises >= 2
	}
	table, err := science.FirstDose(0, w)
	if err != nil {
		return nil
	}
	return &table
}
