package advise

import (
	"fmt"
	"math"
	"strings"
	"time"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/track/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
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

// yeastWords are what is believed of a primary fermentation.
func yeastWords() []word {
	believed := "readings of density"
	belief := func(get func(*subject, *primary.Belief) ref.Val) func(*subject) ref.Val {
		return func(s *subject) ref.Val {
			if s.primary == nil {
				return nil
			}
			return get(s, s.primary)
		}
	}
	day := func(get func(*primary.Belief) *time.Time) func(*subject) ref.Val {
		return belief(func(s *subject, b *primary.Belief) ref.Val {
			if t := get(b); t != nil {
				return on(*t, s.plan.zone)
			}
			return nil
		})
	}
	return []word{
		{name: "primary.chance_stuck", typ: tNumber, of: OfParcel, means: "chance that it will not come dry as it is run now", ask: believed, read: cellar.ReadDensity, get: belief(func(_ *subject, b *primary.Belief) ref.Val { return num(b.Sticks) })},
		{name: "primary.chance_stuck_words", typ: tText, of: OfParcel, means: "chance that it will not come dry, in per cent", ask: believed, read: cellar.ReadDensity, get: belief(func(_ *subject, b *primary.Belief) ref.Val { return percent(b.Sticks) })},
		{name: "primary.chance_dry", typ: tNumber, of: OfParcel, means: "chance that it is dry", ask: believed, read: cellar.ReadDensity, get: belief(func(_ *subject, b *primary.Belief) ref.Val { return num(b.States[primary.Dry]) })},
		{name: "primary.chance_dry_words", typ: tText, of: OfParcel, means: "chance that it is dry, in per cent", ask: believed, read: cellar.ReadDensity, get: belief(func(_ *subject, b *primary.Belief) ref.Val { return percent(b.States[primary.Dry]) })},
		{name: "primary.sugar", typ: celTypes[concentration], of: OfParcel, means: "sugar left, most likely", ask: believed, read: cellar.ReadDensity, get: belief(func(_ *subject, b *primary.Belief) ref.Val {
			return measure{kind: concentration, v: float64(b.Sugar.Q50), unit: "g/L", decimals: 0}
		})},
		{name: "at.dry_early", typ: celTypes[date], of: OfParcel, means: "day by which it is dry with a chance of 5 %", ask: believed, get: day(func(b *primary.Belief) *time.Time { return b.Dry.Q05 })},
		{name: "at.dry_likely", typ: celTypes[date], of: OfParcel, means: "day by which it is dry with a chance of 50 %", ask: believed, get: day(func(b *primary.Belief) *time.Time { return b.Dry.Q50 })},
		{name: "at.dry_late", typ: celTypes[date], of: OfParcel, means: "day by which it is dry with a chance of 95 %", ask: believed, get: day(func(b *primary.Belief) *time.Time { return b.Dry.Q95 })},
		{name: "at.press_from", typ: celTypes[date], of: OfParcel, means: "day on which it most likely reaches 0 °Brix", ask: believed, get: day(func(b *primary.Belief) *time.Time { return b.Press.From.Q50 })},
		{name: "at.press_by", typ: celTypes[date], of: OfParcel, means: "day on which it most likely reaches −1.5 °Brix", ask: believed, get: day(func(b *primary.Belief) *time.Time { return b.Press.By.Q50 })},
	}
}
