package primary

import (
	"math"
	"sort"
	"time"

	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// A State of a ferment.
type State string

// The states. Stuck is: it will not come dry within the horizon, or has stalled.
const (
	Lag     State = "lag"
	Growth  State = "growth"
	Steady  State = "steady"
	Slowing State = "slowing"
	Stuck   State = "stuck"
	Dry     State = "dry"
)

// A Belief is what is thought of a ferment. Its JSON names the unit with
// each figure, in the manner of sugar_g_l.
type Belief struct {
	At       time.Time                                   `json:"at"`
	Sugar    quantity.Interval[quantity.Concentration]   `json:"sugar_g_l"`
	Gravity  quantity.Interval[strength.SpecificGravity] `json:"gravity"`
	Alcohol  quantity.Interval[quantity.Strength]        `json:"alcohol_pct"`       // formed so far
	Final    quantity.Interval[quantity.Strength]        `json:"final_alcohol_pct"` // at dryness
	Start    quantity.Interval[quantity.Concentration]   `json:"start_sugar_g_l"`
	Rate     quantity.Interval[quantity.Rate]            `json:"rate_g_l_day"` // sugar used now
	State    State                                       `json:"state"`
	States   map[State]float64                           `json:"states"`
	Stalled  float64                                     `json:"stalled"` // probability that it has stopped for a reason outside the law
	Sticks   float64                                     `json:"sticks"`  // probability that it will not be dry within the horizon, as it is run now
	DryAt    quantity.Concentration                      `json:"dry_at_g_l"`
	Dry      DayInterval                                 `json:"dry"`
	Forecast []DayAhead                                  `json:"forecast"`
	Heat     Heat                                        `json:"heat"`
	Gas      Gas                                         `json:"gas"`
	Nutrient NutrientTiming                              `json:"nutrient"`
	Press    Pressing                                    `json:"press"`
	Bacteria BacteriaTiming                              `json:"bacteria"`
	Looks    []Look                                      `json:"looks"`
	Flags    []Flag                                      `json:"flags"`
	Summary  []string                                    `json:"summary"`
	Factors  map[string]quantity.Interval[float64]       `json:"factors"` // what was learned of the lot
	ESS      float64                                     `json:"ess"`
}

// A DayInterval is a day with its uncertainty; nil is later than the horizon.
type DayInterval struct {
	Q05 *time.Time `json:"q05"`
	Q50 *time.Time `json:"q50"`
	Q95 *time.Time `json:"q95"`
}

// A DayAhead is the fan at one moment.
type DayAhead struct {
	Day     time.Time                                   `json:"day"`
	Sugar   quantity.Interval[quantity.Concentration]   `json:"sugar_g_l"`
	Gravity quantity.Interval[strength.SpecificGravity] `json:"gravity"`
}

// A Look is one reading against what all readings together say it should have been,
// in its own unit (specific gravity at 20 °C for floats).
type Look struct {
	ID       string    `json:"id"`
	At       time.Time `json:"at"`
	What     What      `json:"what"`
	Value    float64   `json:"value"`
	Expected float64   `json:"expected"`
	Off      float64   `json:"off"` // in units of its scatter
	Absurd   bool      `json:"absurd"`
}

// A Flag is something a person should know about the data, the answer or the danger.
type Flag struct {
	Code   string       `json:"code"`
	Entry  string       `json:"entry,omitempty"`
	Text   string       `json:"text"`
	Act    string       `json:"act,omitempty"`
	Source cited.Source `json:"source"`
}

// Believe works out the belief. An error names the field, what was given and what
// is allowed.
func Believe(given Input) (Belief, error) {
	in, err := given.prepared()
	if err != nil {
		return Belief{}, err
	}
	ft := in.fit()
	ft.ahead(in)
	b := Belief{At: in.At, DryAt: in.DryAt, Stalled: ft.stalled, Looks: ft.looks, ESS: ft.ess}
	ft.now(&b, in)
	ft.states(&b, in)
	if !in.NoForecast {
		b.Forecast = ft.fan(in)
	}
	if err := ft.consequences(&b, in); err != nil {
		return Belief{}, err
	}
	b.Flags = ft.flags(b, in)
	b.Summary = b.words(in)
	return b, nil
}

// each reads a figure off every particle and sorts.
func (ft *fitted) each(f func(*particle) float64) []float64 {
	out := make([]float64, len(ft.particles))
	for i := range out {
		out[i] = f(&ft.particles[i])
	}
	sort.Float64s(out)
	return out
}

func span[T ~float64](sorted []float64) quantity.Interval[T] {
	return quantity.Interval[T]{Q05: T(bayes.Quantile(sorted, 0.05)), Q50: T(bayes.Quantile(sorted, 0.5)), Q95: T(bayes.Quantile(sorted, 0.95))}
}

// sugarNow is the sugar of a particle at the moment of the belief.
func (p *particle) sugarNow() float64 { return p.path.At(p.m.now) }

// rateNow is the use of sugar now, g/(L·h).
func (p *particle) rateNow() float64 {
	if p.m.now < p.m.grid.Step {
		return p.path.Rate(0)
	}
	return math.Max(0, (p.path.At(p.m.now-p.m.grid.Step/2)-p.path.At(p.m.now+p.m.grid.Step/2))/p.m.grid.Step)
}

// alcohol formed at a sugar left, % vol, by the particle's own yield.
func (p *particle) alcohol(sugar float64) float64 {
	return math.Max(0, (p.lot.sugar-sugar)/primary.SugarPerPercent(p.yield))
}

// gravity is what a float would show, by the median yield as in the fit.
func (p *particle) gravity(sugar float64) float64 {
	return p.m.table.gravity(sugar+p.lot.extract, math.Max(0, p.lot.sugar-sugar)/p.lot.perPercent)
}

func (ft *fitted) now(b *Belief, in Input) {
	b.Sugar = span[quantity.Concentration](ft.each((*particle).sugarNow))
	b.Gravity = span[strength.SpecificGravity](ft.each(func(p *particle) float64 { return p.gravity(p.sugarNow()) }))
	b.Alcohol = span[quantity.Strength](ft.each(func(p *particle) float64 { return p.alcohol(p.sugarNow()) }))
	b.Final = span[quantity.Strength](ft.each(func(p *particle) float64 { return p.alcohol(0) }))
	b.Start = span[quantity.Concentration](ft.each(func(p *particle) float64 { return p.lot.sugar }))
	b.Rate = span[quantity.Rate](ft.each(func(p *particle) float64 { return 24 * p.rateNow() }))
	b.Factors = map[string]quantity.Interval[float64]{}
	for j, name := range [fixed]string{zNitrogen: "nitrogen g/L", zLag: "lag at 20 °C, h", zBeta: "speed against the flask", zDeath: "loss of cells against the flask"} {
		if name != "" {
			b.Factors[name] = span[float64](ft.each(func(p *particle) float64 { return p.m.priors[j].At(p.z[j]) }))
		}
	}
}

// dryHours is when a particle comes dry, from now; 0 if it is, +Inf if not within
// the horizon.
func (p *particle) dryHours(at float64) float64 {
	if p.sugarNow() <= at {
		return 0
	}
	return math.Max(0, p.path.When(at)-p.m.now)
}

// state of one particle now.
func (p *particle) state(in Input) State {
	sugar, rate := p.sugarNow(), p.rateNow()
	at := in.DryAt.GPerL()
	switch {
	case sugar <= at:
		return Dry
	case !in.NoForecast && math.IsInf(p.dryHours(at), 1) && (p.lot.draw.Stall <= p.m.now || rate < stuckRate):
		return Stuck
	case p.m.now < p.path.Begins || p.lot.sugar-sugar < 2:
		return Lag
	case p.path.Growth[min(p.m.last, len(p.path.Growth)-1)] > growing*p.path.Growth[0]:
		return Growth
	case rate < slowing*p.peak:
		return Slowing
	}
	return Steady
}

// Limits between the states; proposals. A rate of 0.1 g/(L·h) is a quarter of a Brix
// a day.
const (
	stuckRate = 0.1 // g/(L·h)
	growing   = 0.2 // of the first growth rate
	slowing   = 0.6 // of the fastest use so far
)

func (ft *fitted) states(b *Belief, in Input) {
	b.States = map[State]float64{}
	n := float64(len(ft.particles))
	for i := range ft.particles {
		b.States[ft.particles[i].state(in)] += 1 / n
	}
	for _, s := range []State{Lag, Growth, Steady, Slowing, Stuck, Dry} {
		if b.States[s] > b.States[b.State] {
			b.State = s
		}
	}
	if in.NoForecast {
		return
	}
	hours := ft.each(func(p *particle) float64 { return p.dryHours(in.DryAt.GPerL()) })
	for _, h := range hours {
		if math.IsInf(h, 1) {
			b.Sticks += 1 / n
		}
	}
	at := func(q float64) *time.Time {
		h := hours[min(len(hours)-1, int(q*n))]
		if math.IsInf(h, 1) {
			return nil
		}
		t := in.At.Add(time.Duration(h * float64(time.Hour))).Truncate(time.Minute)
		return &t
	}
	b.Dry = DayInterval{at(0.05), at(0.5), at(0.95)}
}

// fan reads the forecast off every half day for a fortnight, then each day.
func (ft *fitted) fan(in Input) []DayAhead {
	var out []DayAhead
	for h := 0.0; h <= 24*float64(in.Horizon); h += 12 {
		if h > 14*24 && math.Mod(h, 24) != 0 {
			continue
		}
		t := ft.runs.now + h
		d := DayAhead{Day: in.At.Add(time.Duration(h * float64(time.Hour)))}
		d.Sugar = span[quantity.Concentration](ft.each(func(p *particle) float64 { return p.path.At(t) }))
		d.Gravity = span[strength.SpecificGravity](ft.each(func(p *particle) float64 { return p.gravity(p.path.At(t)) }))
		out = append(out, d)
	}
	return out
}
