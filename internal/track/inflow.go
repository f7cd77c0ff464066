package track

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// An Inflow is wine that came into the parcel after its bacteria: a topping, a
// starter, a part of a blend. Malic acid, sulfur dioxide and, near enough for wines
// alike, pH and titratable acidity mix by its share on that day.
type Inflow struct {
	On       time.Time
	Name     string  // of what came, for words
	Share    float64 // of the parcel, just after: above 0, at most 0.95
	Malic    quantity.Concentration
	MalicSD  quantity.Concentration
	PH       *quantity.PH            // nil: not known
	TA       *quantity.Concentration // as tartaric acid; nil: not known
	FreeSO2  quantity.Concentration
	TotalSO2 quantity.Concentration
	Live     bool // it was converting, so that it brought bacteria
}

func (f *Inflow) check() error {
	name := "wine that came in on " + f.On.Format(DateLayout)
	for _, c := range []struct {
		what, unit string
		v, lo, hi  float64
	}{
		{"share of it", "", f.Share, 1e-6, 0.95},
		{"malic acid", "g/L", f.Malic.GPerL(), 0, 15},
		{"spread of its malic acid", "g/L", f.MalicSD.GPerL(), 0, 15},
		{"free SO2", "mg/L", f.FreeSO2.MgPerL(), 0, 300},
		{"total SO2", "mg/L", f.TotalSO2.MgPerL(), 0, 500},
	} {
		if err := quantity.Check(name+": "+c.what, c.v, c.unit, c.lo, c.hi); err != nil {
			return err
		}
	}
	return nil
}

// An arrival is an inflow on its day of the season.
type arrival struct {
	Inflow
	day    int
	ph, ta float64 // of the wine that it came to, at the start
}

// malic is the malic acid brought, z standard deviations from the likeliest.
func (a *arrival) malic(z float64) float64 {
	return math.Max(0, a.Malic.GPerL()+a.MalicSD.GPerL()*z)
}

// differs is by how much what came reads otherwise than the wine did at the start.
func (a *arrival) differs(what What) float64 {
	switch {
	case what == PH && a.PH != nil:
		return float64(*a.PH) - a.ph
	case what == TA && a.TA != nil:
		return a.TA.GPerL() - a.ta
	}
	return 0
}

// doubt is the standard deviation of that: of a reading, or of wines in general.
func (a *arrival) doubt(what What) float64 {
	switch {
	case what == PH && a.PH != nil:
		return 0.05
	case what == PH:
		return phPriorSD
	case what == TA && a.TA != nil:
		return 0.25
	}
	return taPriorSD
}

// arrivals are the inflows since inoculation, and one more today if a change has it.
func (s *season) arrivals(f Facts, inflows []Inflow, at time.Time, c change) {
	add := func(in Inflow, day int) {
		s.inflows = append(s.inflows, arrival{Inflow: in, day: day, ph: float64(or(f.PH, assumed.ph)), ta: float64(or(f.TA, assumed.ta))})
		s.schedule.Added = append(s.schedule.Added, malolactic.Addition{Day: day, Share: in.Share, Live: in.Live})
	}
	for _, in := range inflows {
		if d := s.day(midnight(in.On)); d > 0 && !in.On.After(at.Add(24*time.Hour-1)) {
			add(in, d)
		}
	}
	slices.SortStableFunc(s.inflows, func(a, b arrival) int { return cmp.Compare(a.day, b.day) })
	if c.inflow != nil {
		add(*c.inflow, s.now)
	}
}

// A Prospect is what lies ahead of a conversion.
type Prospect struct {
	Finish Finish
	Within float64                // chance of being below the limit within 60 days
	Malic  quantity.Concentration // median now
}

// A Topping is what an inflow would change: the same draws with it and without.
type Topping struct {
	Without, With Prospect
	Says          []string
}

// Topped foresees what wine that came in on Input.At would do to a conversion, before
// it does.
func Topped(in Input, with Inflow) (Topping, error) {
	with.On = in.At
	if err := with.check(); err != nil {
		return Topping{}, err
	}
	in.Options.Brief = true
	if err := in.settle(); err != nil {
		return Topping{}, err
	}
	p := sample(&in)
	t := Topping{Without: p.prospect(p.fates), With: p.prospect(p.follow(change{inflow: &with}, 1))}
	t.say()
	return t, nil
}

func (p *posterior) prospect(fates []fate) Prospect {
	r := Prospect{Finish: p.finish(fates), Malic: spread[quantity.Concentration](nowOf(fates), 2).Q50}
	for i := range fates {
		if fates[i].finish <= float64(p.season.now+trying) {
			r.Within += 1 / float64(len(fates))
		}
	}
	r.Within = round(r.Within, 3)
	return r
}

// arrived says what the wine that came in since inoculation did, if that is worth a
// word: the same wine and bacteria, without it.
func (p *posterior) arrived() []Flag {
	if len(p.season.inflows) == 0 {
		return nil
	}
	thin := max(1, len(p.fates)/400)
	t := Topping{Without: p.prospect(p.follow(change{nothingCame: true}, thin)), With: p.prospect(p.thinned(thin))}
	t.say()
	if len(t.Says) == 0 {
		return nil
	}
	var names []string
	for i := range p.season.inflows {
		f := &p.season.inflows[i]
		names = append(names, fmt.Sprintf("%s on %s (%.2g %% of the wine, %.0f mg/L SO2)", f.Name, f.On.Format(DateLayout), 100*f.Share, f.TotalSO2.MgPerL()))
	}
	return []Flag{{Kind: "arrival", Message: "what came in, " + strings.Join(names, ", ") + ", tells on the conversion: " + strings.Join(t.Says, "; ")}}
}

// From these on a difference is worth a word: the chance of being done in sixty
// days, days of the median, g/L of malic acid (judged).
const (
	worthChance = 0.03
	worthDays   = 3
	worthMalic  = 0.05
)

func (t *Topping) say() {
	if d := t.Without.Within - t.With.Within; d >= worthChance {
		t.Says = append(t.Says, fmt.Sprintf("the chance that the conversion is over within %d days falls from %s to %s", trying, percent(t.Without.Within), percent(t.With.Within)))
	}
	a, b := t.Without.Finish.Q50, t.With.Finish.Q50
	switch {
	case a != nil && b != nil && b.Sub(a.Time).Hours() >= 24*worthDays:
		t.Says = append(t.Says, fmt.Sprintf("it is likely to be over %.0f days later, by %s instead of %s", b.Sub(a.Time).Hours()/24, b, a))
	case a != nil && b == nil:
		t.Says = append(t.Says, fmt.Sprintf("it would as likely as not be over by %s, and with this as likely never", a))
	}
	if d := t.With.Finish.Never - t.Without.Finish.Never; d >= worthChance {
		t.Says = append(t.Says, fmt.Sprintf("the chance that it stops for good rises from %s to %s", percent(t.Without.Finish.Never), percent(t.With.Finish.Never)))
	}
	if d := (t.With.Malic - t.Without.Malic).GPerL(); d >= worthMalic {
		t.Says = append(t.Says, fmt.Sprintf("it brings malic acid: %.2f g/L instead of %.2f", t.With.Malic.GPerL(), t.Without.Malic.GPerL()))
	}
}
