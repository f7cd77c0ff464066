package ageing

import (
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"elevage/science/ageing"
	"elevage/science/bayes"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// A DayAhead is the fan on one day.
type DayAhead struct {
	Day       time.Time                                 `json:"day"`
	Free      quantity.Interval[quantity.Concentration] `json:"free_g_l"`
	Molecular quantity.Interval[quantity.Concentration] `json:"molecular_g_l"`
	Below     float64                                   `json:"below"` // probability of lying under the floor
}

// paths are all draws carried forward, free SO2 in mg/L by day from Input.At.
type paths struct {
	free   [][]float64 // [day][draw]
	demand [][]float64 // [day][draw]: demand since now, as ageing.Deplete takes it
	days   int
	need   []float64 // per draw, mg/L free at the floor
	share  []float64 // per draw, molecular over free
}

func (ft *fitted) ahead(in Input) (paths, error) {
	last := math.Max(float64(in.Horizon), float64(quantity.Span(in.At, in.Until)))
	p := paths{days: int(math.Ceil(last)), need: make([]float64, len(ft.draws)), share: make([]float64, len(ft.draws))}
	p.free, p.demand = grid(p.days+1, len(ft.draws)), grid(p.days+1, len(ft.draws))
	temperature := quantity.Temperature(temperatureAt(in.Temperatures, in.At))
	for i := range ft.draws {
		d := &ft.draws[i]
		w := sulfite.Wine{PH: quantity.PH(math.Min(5, math.Max(2.5, d.ph))), Alcohol: in.Alcohol, Temperature: temperature}
		share, err := in.Floor.Rule().Share(w)
		if err != nil {
			return p, err
		}
		p.share[i] = share.Fraction
		d.need = in.Floor.Amount().MgPerL() / share.Fraction
		p.need[i] = d.need
	}
	warm := make([]float64, p.days)
	for k := range warm {
		at := in.At.Add(quantity.Days(float64(k) + 0.5).Duration())
		warm[k] = (temperatureAt(in.Temperatures, at) - ageing.ReferenceTemperature.Celsius()) / 10
	}
	plans := planned(ft.tl.future, in.At, p.days)
	for i := range ft.draws {
		ft.draws[i].walk(i, &p, warm, plans, in.At)
	}
	return p, nil
}

// planned puts the plans on their days.
func planned(future []step, at time.Time, days int) [][]step {
	out := make([][]step, days)
	for _, s := range future {
		if k := int(quantity.Span(at, s.at)); k >= 0 && k < days {
			out[k] = append(out[k], s)
		}
	}
	return out
}

// walk carries one draw forward day by day. Its chance is drawn once per calendar
// month, from the draw's own number and the month's, so that next week's forecast
// meets the same weather.
func (d draw) walk(i int, p *paths, warm []float64, plans [][]step, at time.Time) {
	f, pending, owed, demand := d.free, d.pending, d.owed, 0.0
	bindDaily := -math.Expm1(-1 / d.c.tau)
	useDaily := -math.Expm1(-1 / float64(ageing.OxygenUse))
	block, noise, drift := math.MinInt, 0.0, 0.0
	factor, warmed := 1.0, math.NaN()
	scale := 1 / d.c.holding
	slow := 1 / (1 - math.Exp(-ageing.TypicalFree*scale))
	first := int(at.Unix() / 86400)
	for k := 0; ; k++ {
		p.free[k][i], p.demand[k][i] = f, demand
		if k == p.days {
			return
		}
		if b := (first + k) / 30; b != block {
			block = b
			rng := rand.New(rand.NewPCG(d.seed, uint64(b)))
			noise, drift = 1+lossScatter*rng.NormFloat64(), monthScatter*rng.NormFloat64()/monthDays
		}
		if warm[k] != warmed {
			warmed = warm[k]
			factor = d.c.warmth(warmed, 0)
		}
		for _, s := range plans[k] {
			switch s.what {
			case doses:
				f += s.amount
				pending += (1 - d.c.freeShare(s.order)) * s.amount
			case breathes:
				owed += d.c.perOxygen * s.amount
				f = math.Max(0, f+s.freeStep)
			}
		}
		if pending > 1e-4 {
			b := pending * bindDaily
			pending -= b
			f = math.Max(0, f-b)
		}
		want := d.c.baseLoss*factor*noise + drift
		if owed > 1e-4 {
			used := owed * useDaily
			owed -= used
			want += used
		}
		demand += want
		// a day's loss is far below k: the first-order step is as good as ageing.Deplete
		f = max(0, f-want*slow*(1-math.Exp(-f*scale)))
	}
}

// fan reads the days off the paths: each day for two months, then each week.
func (p paths) fan(in Input) []DayAhead {
	var out []DayAhead
	sorted := make([]float64, len(p.need))
	molecular := make([]float64, len(p.need))
	for k := 0; k <= int(in.Horizon); k++ {
		if k > 60 && k%7 != 0 && k != int(in.Horizon) {
			continue
		}
		d := DayAhead{Day: in.At.Add(quantity.Days(k).Duration())}
		for i, f := range p.free[k] {
			molecular[i] = f * p.share[i]
		}
		copy(sorted, p.free[k])
		d.Free, d.Molecular, d.Below = interval(sorted), interval(molecular), p.below(k)
		out = append(out, d)
	}
	return out
}

// below is the probability of lying under the floor on a day.
func (p paths) below(k int) float64 {
	n := 0
	for i, f := range p.free[k] {
		if f < p.need[i] {
			n++
		}
	}
	return float64(n) / float64(len(p.need))
}

// crossings are, per draw, the first day under the floor; +Inf if none in the horizon.
func (p paths) crossings(horizon int) []float64 {
	out := make([]float64, len(p.need))
	for i := range out {
		out[i] = math.Inf(1)
		for k := 0; k <= horizon; k++ {
			if p.free[k][i] < p.need[i] {
				out[i] = float64(k)
				break
			}
		}
	}
	return out
}

// interval sorts in place and reads off the median and the central 90 %.
func interval(mgPerL []float64) quantity.Interval[quantity.Concentration] {
	sort.Float64s(mgPerL)
	at := func(q float64) quantity.Concentration {
		return quantity.Concentration(bayes.Quantile(mgPerL, q)) * quantity.MilligramPerLitre
	}
	return quantity.Interval[quantity.Concentration]{Q05: at(0.05), Q50: at(0.5), Q95: at(0.95)}
}

func grid(rows, cols int) [][]float64 {
	flat := make([]float64, rows*cols)
	out := make([][]float64, rows)
	for i := range out {
		out[i] = flat[i*cols : (i+1)*cols]
	}
	return out
}
