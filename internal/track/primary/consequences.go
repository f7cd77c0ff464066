package primary

import (
	"math"
	"time"

	"elevage/science/cited"
	"elevage/science/gas"
	"elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// Heat is what the ferment gives off. All of it must leave the vessel to hold the
// temperature; walls and surface take a share that is not known here.
type Heat struct {
	Now      quantity.Interval[quantity.Power] `json:"now_w"`      // W
	Peak     quantity.Interval[quantity.Power] `json:"peak_w"`     // W, from now on
	PeakAt   *time.Time                        `json:"peak_at"`    // median; nil: it is past
	RiseADay quantity.Interval[float64]        `json:"rise_c_day"` // °C a day now, if no heat escaped
	IceADay  quantity.Mass                     `json:"ice_g"`      // frozen water in closed bottles that takes up the present heat for a day
	Limit    quantity.Temperature              `json:"limit_c"`    // liquid above this: cool now
	Source   cited.Source                      `json:"source"`
}

// Gas is the carbon dioxide that comes of it, at the room's temperature.
type Gas struct {
	Now    quantity.Interval[quantity.Flow] `json:"now_l_h"`     // L/h
	Peak   quantity.Interval[quantity.Flow] `json:"peak_l_h"`    // L/h, from now on
	Air    quantity.Flow                    `json:"air_l_h"`     // outside air for the present flow, 95 % end, to keep the shift limit
	AirMax quantity.Flow                    `json:"air_max_l_h"` // for the peak, 95 % end
	Left   quantity.Volume                  `json:"left_l"`      // still to come, 95 % end
	Limit  gas.ExposureLimit                `json:"limit"`
}

// NutrientTiming is when nitrogen is of use: a first part at the first fall of
// density, a second when a third of the sugar is gone, none after two thirds.
type NutrientTiming struct {
	FirstDrop DayInterval  `json:"first_drop"`
	Third     DayInterval  `json:"third"`
	Closes    DayInterval  `json:"closes"`
	Gone      float64      `json:"gone"` // share of the sugar that is gone now, median
	Words     string       `json:"words"`
	Source    cited.Source `json:"source"`
}

// Pressing is when a red reaches the density at which it is pressed, and what follows.
type Pressing struct {
	From   DayInterval  `json:"from"` // 0 Brix
	By     DayInterval  `json:"by"`   // −1.5 Brix
	Words  string       `json:"words"`
	Rack   string       `json:"rack"`
	Source cited.Source `json:"source"`
}

// BacteriaTiming is when a malolactic culture may go in.
type BacteriaTiming struct {
	WithYeastFrom time.Time    `json:"with_yeast_from"`
	WithYeastTo   time.Time    `json:"with_yeast_to"`
	Against       []string     `json:"against"` // what speaks against adding it with the yeast
	After         DayInterval  `json:"after"`   // dry
	Words         string       `json:"words"`
	Source        cited.Source `json:"source"`
}

// passing is the time at which a level of sugar is passed, per particle in hours from
// pitching, as days.
func (ft *fitted) passing(in Input, level func(*particle) float64) DayInterval {
	hours := ft.each(func(p *particle) float64 { return p.path.When(level(p)) })
	at := func(q float64) *time.Time {
		h := hours[min(len(hours)-1, int(q*float64(len(hours))))]
		if math.IsInf(h, 1) {
			return nil
		}
		t := in.Pitched.Add(time.Duration(h * float64(time.Hour))).Truncate(time.Minute)
		return &t
	}
	return DayInterval{at(0.05), at(0.5), at(0.95)}
}

func (ft *fitted) consequences(b *Belief, in Input) error {
	if err := ft.heatAndGas(b, in); err != nil {
		return err
	}
	ft.nutrient(b, in)
	ft.pressing(b, in)
	ft.bacteria(b, in)
	return nil
}

// fastest is the peak of a particle from now on: g/(L·h), and when.
func (p *particle) fastest() (rate, hours float64) {
	for k := p.m.last; k < len(p.path.Sugar); k++ {
		if r := p.path.Rate(k); r > rate {
			rate, hours = r, float64(k)*p.m.grid.Step
		}
	}
	return rate, hours
}

func (ft *fitted) heatAndGas(b *Belief, in Input) error {
	peaks := span[quantity.Rate](ft.each(func(p *particle) float64 { r, _ := p.fastest(); return 24 * math.Max(r, p.rateNow()) }))
	when := ft.each(func(p *particle) float64 { _, h := p.fastest(); return h })
	temp := in.warmth()(ft.runs.now)
	power := func(i quantity.Interval[quantity.Rate]) quantity.Interval[quantity.Power] {
		return quantity.Interval[quantity.Power]{Q05: primary.Heat(i.Q05, in.Volume), Q50: primary.Heat(i.Q50, in.Volume), Q95: primary.Heat(i.Q95, in.Volume)}
	}
	perDegree := primary.HeatPerGram.Location / primary.HeatCapacity
	b.Heat = Heat{Now: power(b.Rate), Peak: power(peaks), Limit: 32, Source: primary.HeatPerGram.Source,
		RiseADay: quantity.Interval[float64]{Q05: b.Rate.Q05.GPerLDay() * perDegree, Q50: b.Rate.Q50.GPerLDay() * perDegree, Q95: b.Rate.Q95.GPerLDay() * perDegree}}
	b.Heat.IceADay = primary.Ice(b.Heat.Now.Q50, temp)
	if h := when[len(when)/2]; h > ft.runs.now+ft.runs.grid.Step {
		t := in.Pitched.Add(time.Duration(h * float64(time.Hour)))
		b.Heat.PeakAt = &t
	}
	var err error
	flow := func(r quantity.Rate) quantity.Flow {
		f, e := gas.Ferment{Must: in.Volume, Rate: min(r, 150)}.Flow(in.Room, quantity.Atmosphere)
		if e != nil {
			err = e
		}
		return f
	}
	flows := func(i quantity.Interval[quantity.Rate]) quantity.Interval[quantity.Flow] {
		return quantity.Interval[quantity.Flow]{Q05: flow(i.Q05), Q50: flow(i.Q50), Q95: flow(i.Q95)}
	}
	b.Gas = Gas{Now: flows(b.Rate), Peak: flows(peaks), Limit: gas.CO2Shift}
	if err != nil {
		return err
	}
	if b.Gas.Air, err = gas.OutsideAir(b.Gas.Now.Q95, gas.CO2Shift.PPM); err != nil {
		return err
	}
	if b.Gas.AirMax, err = gas.OutsideAir(b.Gas.Peak.Q95, gas.CO2Shift.PPM); err != nil {
		return err
	}
	b.Gas.Left, err = gas.Volume(gas.FromHexose(b.Sugar.Q95).In(in.Volume), in.Room, quantity.Atmosphere)
	return err
}

func (ft *fitted) nutrient(b *Belief, in Input) {
	n := NutrientTiming{Source: cited.Source{Text: "first part at the first fall of density (12 to 24 h), second at a third of the sugar, none after two thirds; no ammonium at pitching", Mark: cited.CommonPractice}}
	n.FirstDrop = ft.passing(in, func(p *particle) float64 { return p.lot.sugar - 3 })
	n.Third = ft.passing(in, func(p *particle) float64 { return p.lot.sugar * 2 / 3 })
	n.Closes = ft.passing(in, func(p *particle) float64 { return p.lot.sugar / 3 })
	gone := ft.each(func(p *particle) float64 { return 1 - p.sugarNow()/p.lot.sugar })
	n.Gone = gone[len(gone)/2]
	switch {
	case n.Gone > 2./3:
		n.Words = "Nitrogen comes too late now: over two thirds of the sugar are gone, what yeast leaves feeds others."
	case n.Gone > 1./3:
		n.Words = "A second part of nitrogen still makes sense until two thirds of the sugar are gone" + at(in, n.Closes.Q50) + "."
	case n.Gone*b.Start.Q50.GPerL() > 3:
		n.Words = "A first part of nitrogen may go in; the second when a third of the sugar is gone" + at(in, n.Third.Q50) + "."
	default:
		n.Words = "Wait with nitrogen for the first fall of density" + at(in, n.FirstDrop.Q50) + "."
	}
	b.Nutrient = n
}

// sugarAt is the sugar at which a particle shows a gravity, by halving.
func (p *particle) sugarAt(sg float64) float64 {
	lo, hi := -40.0, p.lot.sugar
	for range 30 {
		if mid := (lo + hi) / 2; p.gravity(mid) > sg {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}

func (ft *fitted) pressing(b *Belief, in Input) {
	if !in.Red {
		return
	}
	p := Pressing{Rack: "Let it settle, rack off the gross lees a day or two after pressing, into vessels filled to the shoulder until it is quiet.",
		Source: cited.Source{Text: "0 to −1.5 Brix for fresh reds, taste of tannin decides", Mark: cited.CommonPractice}}
	zero, _ := strength.Brix(0).SG()
	p.From = ft.passing(in, func(q *particle) float64 { return q.sugarAt(float64(zero)) })
	low := float64(zero) - 1.5*(1.0039-1.0000) // Brix below 0: 1.5 × 0.0039
	p.By = ft.passing(in, func(q *particle) float64 { return q.sugarAt(low) })
	switch {
	case b.Gravity.Q50 <= strength.SpecificGravity(low):
		p.Words = "It has passed −1.5 Brix: press by taste, or leave the skins for structure."
	case b.Gravity.Q50 <= zero:
		p.Words = "It is between 0 and −1.5 Brix: press when the tannin fits."
	case p.From.Q50 == nil:
		p.Words = "As it is run now it does not reach 0 Brix: help the ferment first; on dead skins press rather early."
	default:
		p.Words = "It reaches 0 Brix" + at(in, p.From.Q50) + "; taste the tannin daily from now on."
	}
	b.Press = p
}

func (ft *fitted) bacteria(b *Belief, in Input) {
	x := BacteriaTiming{WithYeastFrom: in.Pitched.Add(24 * time.Hour), WithYeastTo: in.Pitched.Add(48 * time.Hour), After: b.Dry,
		Source: cited.Source{Text: "24 to 48 h after yeast (Australian Wine Research Institute, “Winemaking treatment: MLF timing”; Winemakers Research Exchange 2023); total SO2 under 40 mg/L, 15 to 25 °C (the former, “Preparation of an MLF starter culture using freeze dried bacteria”); a must rising from 22 to 32 °C stopped O. oeni, 16 to 22 and 18 to 24 did not (Ann Microbiol 2020)", Mark: cited.Read}}
	hot := quantity.Temperature(0)
	for _, t := range in.Warmth {
		hot = max(hot, t.Value)
	}
	if hot > 26 {
		x.Against = append(x.Against, "the must is or was above 26 °C")
	}
	if in.TotalSO2 > 40*quantity.MilligramPerLitre {
		x.Against = append(x.Against, "total SO2 is over 40 mg/L")
	}
	if in.PH > 0 && in.PH < 3.2 {
		x.Against = append(x.Against, "pH is under 3.2")
	}
	if b.Sticks > 0.2 {
		x.Against = append(x.Against, "it may stick: bacteria in a sweet, stuck wine make volatile acidity")
	}
	switch {
	case !in.Bacteria.IsZero():
		x.Words = "Bacteria are in; while sugar is above 2 g/L watch volatile acidity."
	case b.States[Dry] > 0.8:
		x.Words = "It is probably dry: after a sugar test the culture may go in now."
	case len(x.Against) == 0 && in.At.Before(x.WithYeastTo):
		x.Words = "A culture may go in with the yeast, 24 to 48 h after it, or when it is dry" + at(in, b.Dry.Q50) + "."
	default:
		x.Words = "Put the culture in when it is dry" + at(in, b.Dry.Q50) + ", after a sugar test."
	}
	b.Bacteria = x
}
