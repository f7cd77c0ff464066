package advise

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"cel.dev/cel-go/common/types/traits"

	"elevage/internal/cellar"
	"elevage/internal/track/gather"
	"elevage/science/ageing"
	"elevage/science/quantity"
)

// A ledgerOfTicks answers done["step"]: the day on which a step was last ticked for
// this wine, never if it was not.
type ledgerOfTicks struct {
	traits.Mapper
	s *subject
}

func (l ledgerOfTicks) Find(key ref.Val) (ref.Val, bool) { return l.Get(key), true }

// Get never fails: a step that was not ticked was ticked never.
func (l ledgerOfTicks) Get(key ref.Val) ref.Val {
	step, ok := key.(types.String)
	if !ok {
		return types.MaybeNoSuchOverloadErr(key)
	}
	if t, ok := l.s.life.done[string(step)]; ok {
		return on(t.at, l.s.plan.zone)
	}
	return never
}

var noTicks = types.DefaultTypeAdapter.NativeToValue(map[string]string{}).(traits.Mapper)

func troubleWords() []word {
	return []word{
		{name: "done", typ: cel.MapType(tText, celTypes[date]), of: OfParcel, means: `days on which steps were last ticked for this wine: done["retest-malic"]; never if not`, get: func(s *subject) ref.Val { return ledgerOfTicks{noTicks, s} }},
		{name: "wine.va_rising", typ: tBool, of: OfParcel, means: "whether volatile acidity rose three times running, or most likely by more than 0.05 g/L a month", ask: "two readings of volatile acidity a month apart", get: func(s *subject) ref.Val {
			acids := s.volatile()
			if len(acids) < 2 {
				return nil
			}
			t, err := ageing.VolatileTrend(acids)
			if err != nil {
				return nil
			}
			return yes(t.Rises >= 3 || t.Rising > 0.9 && t.PerMonth.Q50 > 0.05*quantity.GramPerLitre)
		}},
		{name: "wine.warming", typ: tNumber, of: OfParcel, means: "rise of the wine's temperature since the coldest reading of the last six months, °C", ask: "two readings of temperature", get: func(s *subject) ref.Val {
			if w, ok := s.warming(); ok {
				return num(w)
			}
			return nil
		}},
		{name: "wine.so2_lost_fast", typ: tBool, of: OfParcel, means: "whether free SO2 fell by more than 10 mg/L within six weeks of a reading, with no dose between", ask: "two readings of free SO2", get: func(s *subject) ref.Val {
			ks := s.life.looks[cellar.ReadFreeSO2]
			if len(ks) < 2 {
				return nil
			}
			a, b := ks[len(ks)-2], ks[len(ks)-1]
			return yes(b.at.Sub(a.at) < 43*24*time.Hour && b.at.Sub(a.at) > 24*time.Hour && s.life.sulfited.Before(a.at) && a.value-b.value > 0.010)
		}},
		{name: "wine.dose_yield", typ: tNumber, of: OfParcel, means: "share of the last dose of sulfur dioxide that the next test found free", ask: "a free SO2 test after the dose", get: func(s *subject) ref.Val {
			if y, ok := s.doseYield(); ok {
				return num(y)
			}
			return nil
		}},
		{name: "wine.fault", typ: tText, of: OfParcel, means: "the faults named at the last tasting, in one text, lower case", get: func(s *subject) ref.Val { return text(strings.ToLower(strings.Join(s.life.faults, " "))) }},
		{name: "sulfite.aim", typ: celTypes[concentration], of: OfParcel, means: "molecular SO2 to stay above: the belief's floor, or 0.5 mg/L for reds, 0.8 for others", get: func(s *subject) ref.Val {
			aim := gather.Floor(s.lot.Colour).Amount()
			if s.ageing != nil {
				aim = s.ageing.Floor
			}
			return measure{kind: concentration, v: float64(aim), unit: "mg/L", decimals: 2}
		}},
		{name: "wine.must_kg", typ: celTypes[mass], of: OfParcel, means: "weight of the must: of the fruit received for its lot if that is all here, or else about 1.09 kg for each litre", get: func(s *subject) ref.Val { return s.mustWeight() }},
		{name: "at.opened", typ: celTypes[date], of: OfParcel, means: "day on which a bottle was last opened", get: func(s *subject) ref.Val {
			if s.life.opened.IsZero() {
				return never
			}
			return on(s.life.opened, s.plan.zone)
		}},
		{name: "at.bottling", typ: celTypes[date], of: OfParcel, means: "day on which it is to be bottled, by the lot's tag bottling-2026-12-05; never without one", get: func(s *subject) ref.Val {
			for _, tag := range s.lot.Tags {
				rest, ok := strings.CutPrefix(tag, "bottling-")
				if t, err := time.Parse(time.DateOnly, rest); ok && err == nil {
					return measure{kind: date, v: dayNumber(t)}
				}
			}
			return never
		}},
		{name: "trouble.sulfite", typ: tText, of: OfParcel, means: "whether sulfur dioxide may go in now, in a few words", get: func(s *subject) ref.Val {
			if s.converting() || s.fermenting() {
				return text("no sulfur dioxide before the end of the fermentation")
			}
			return text("sulfur dioxide as the bench reckons it")
		}},
		{name: "wine.dose_yield_words", typ: tText, of: OfParcel, means: "share of the last dose that was found free, in per cent", ask: "a free SO2 test after the dose", get: func(s *subject) ref.Val {
			if y, ok := s.doseYield(); ok {
				return percent(y)
			}
			return nil
		}},
		{name: "wine.warming_degrees", typ: tText, of: OfParcel, means: "rise of temperature since the coldest reading, in words", get: func(s *subject) ref.Val {
			w, ok := s.warming()
			switch {
			case !ok:
				return nil
			case s.usUnits():
				return text(fmt.Sprintf("%.0f °F", w*1.8))
			}
			return text(fmt.Sprintf("%.0f °C", w))
		}},
		{name: "wine.warmth_words", typ: tText, of: OfParcel, means: "temperature as last read, in words that also do for one that was not", read: cellar.ReadTemperature, get: func(s *subject) ref.Val {
			ks := s.life.looks[cellar.ReadTemperature]
			if len(ks) == 0 {
				return text("its temperature not read")
			}
			return text("last at " + measure{kind: temperature, v: ks[len(ks)-1].value}.inWords(s.usUnits()))
		}},
		{name: "wine.last_dose", typ: celTypes[concentration], of: OfParcel, means: "sulfur dioxide of the last dose", get: func(s *subject) ref.Val {
			return measure{kind: concentration, v: float64(s.life.lastDose), unit: "mg/L"}
		}},
		{name: "wine.doses", typ: tInt, of: OfParcel, means: "how many times sulfur dioxide was added", get: func(s *subject) ref.Val { return count(s.life.doses) }},
		{name: "fruit.rot", typ: tNumber, of: OfParcel, means: "share of rotten clusters in the fruit, 0 to 1, 0 if nothing is written", get: func(s *subject) ref.Val { return num(s.life.rot) }},
		{name: "fruit.warmth", typ: celTypes[temperature], of: OfParcel, means: "highest temperature of the fruit when it came in", ask: "the temperature of the fruit", get: func(s *subject) ref.Val {
			if s.life.warmFruit == 0 {
				return nil
			}
			return measure{kind: temperature, v: float64(s.life.warmFruit)}
		}},
		{name: "topped.so2", typ: celTypes[concentration], of: OfParcel, means: "total SO2 that toppings brought into this wine since its culture", get: func(s *subject) ref.Val {
			return measure{kind: concentration, v: float64(s.toppedSO2()), unit: "mg/L", decimals: 0}
		}},
		{name: "topped.from_sick", typ: tText, of: OfParcel, means: "vessels of sick wine that it was topped from; empty if none", get: func(s *subject) ref.Val { return text(s.toppedSick()) }},
		{name: "wine.sick", typ: tBool, of: OfParcel, means: "whether it was declared sick and not sound since", get: func(s *subject) ref.Val { return yes(s.life.sick.After(s.life.sound)) }},
		{name: "wine.gear_shared", typ: tText, of: OfParcel, means: "wines that sick wine went into", get: func(s *subject) ref.Val { return text(s.neighbours()) }},
		{name: "wine.findings", typ: tTexts, of: OfParcel, means: "codes of what does not add up in the record of this wine", get: func(s *subject) ref.Val {
			var codes []string
			for _, f := range s.plan.State.Findings.All() {
				if f.Parcel == s.parcel.ID && !slices.Contains(codes, string(f.Code)) {
					codes = append(codes, string(f.Code))
				}
			}
			return texts(codes)
		}},
	}
}

// warming is the rise since the coldest reading of the last six months, °C.
func (s *subject) warming() (float64, bool) {
	ks := s.life.looks[cellar.ReadTemperature]
	if len(ks) < 2 {
		return 0, false
	}
	last, least := ks[len(ks)-1], math.Inf(1)
	for _, k := range ks {
		if last.at.Sub(k.at) < 183*24*time.Hour {
			least = min(least, k.value)
		}
	}
	return last.value - least, true
}

func (s *subject) volatile() []ageing.Acid {
	var out []ageing.Acid
	for _, k := range s.life.looks[cellar.ReadVA] {
		out = append(out, ageing.Acid{At: k.at, Value: quantity.Concentration(k.value), SD: quantity.Concentration(k.plus)})
	}
	return out
}

// doseYield is what a test within three weeks of the last dose found of it.
func (s *subject) doseYield() (float64, bool) {
	ks := s.life.looks[cellar.ReadFreeSO2]
	if len(ks) == 0 || s.life.sulfited.IsZero() || s.life.lastDose <= 0 {
		return 0, false
	}
	last := ks[len(ks)-1]
	if !last.at.After(s.life.sulfited) || last.at.Sub(s.life.sulfited) > 21*24*time.Hour {
		return 0, false
	}
	before := 0.0
	for _, k := range ks {
		if k.at.Before(s.life.sulfited) {
			before = k.value
		}
	}
	return (last.value - before) / float64(s.life.lastDose), true
}

// mustDensity turns litres of must into kilograms where no scale was used: 1.09 kg/L
// is must of 22 °Brix. Reckoned.
const mustDensity = 1.09

func (s *subject) mustWeight() ref.Val {
	if s.lot.Fruit > 0 && len(s.lot.Holds()) == 1 {
		return measure{kind: mass, v: float64(s.lot.Fruit)}
	}
	if s.parcel.Volume <= 0 {
		return nil
	}
	return measure{kind: mass, v: float64(s.parcel.Volume) * mustDensity * 1000}
}

// neighbours are vessels now holding wine that came from this one.
func (s *subject) neighbours() string {
	var out []string
	for _, d := range s.plan.State.Descendants(s.parcel.ID) {
		if p := s.plan.State.Parcel(d.Parcel); p != nil && !p.Ended() && p != s.parcel {
			out = append(out, p.Vessel)
		}
	}
	return strings.Join(out, ", ")
}

// percent writes a share as a whole per cent.
func percent(share float64) ref.Val { return text(inPercent(share)) }

// inPercent writes a share or a chance; what is estimated is neither 0 nor 100 %.
func inPercent(share float64) string {
	switch {
	case share < 0.01:
		return "under 1 %"
	case share > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", math.Round(100*share)) // halves up, as tables have them
}

// toppedSO2 is what came in with topping wine since the culture: the share that each
// inflow was, times the sulfur dioxide added to the wine that it came from.
func (s *subject) toppedSO2() quantity.Concentration {
	var sum quantity.Concentration
	for _, in := range s.parcel.Inflows {
		from := s.plan.State.Parcel(in.From)
		if from == nil || in.Entry == s.parcel.Start || !in.At.After(s.life.bacteriaFirst) || s.life.bacteriaFirst.IsZero() {
			continue
		}
		sum += quantity.Concentration(in.Share) * s.plan.givenSO2(from, in.At)
	}
	return sum
}

// givenSO2 is the sulfur dioxide that was added to a wine up to a moment, per litre.
func (p *plan) givenSO2(of *cellar.Parcel, until time.Time) quantity.Concentration {
	var sum quantity.Concentration
	for _, h := range p.State.History(of.ID) {
		b, ok := h.Body.(cellar.Addition)
		if !ok || !h.Counts() || h.At.After(until) {
			continue
		}
		where := p.State.Parcel(h.Parcel)
		if where == nil {
			continue
		}
		v, _ := where.VolumeAt(h.At)
		if m, err := b.SO2(v); err == nil && v > 0 {
			sum += quantity.Concentration(h.Share) * m.Per(v)
		}
	}
	return sum
}

func (s *subject) toppedSick() string {
	var out []string
	for _, in := range s.parcel.Inflows {
		from := s.plan.State.Parcel(in.From)
		if from == nil || in.Entry == s.parcel.Start {
			continue
		}
		l := newLife(s.plan.State, from)
		if l.sick.After(l.sound) && !slices.Contains(out, from.Vessel) {
			out = append(out, from.Vessel)
		}
	}
	return strings.Join(out, ", ")
}
