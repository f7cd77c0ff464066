package ageing

import (
	"math"
	"sort"
	"time"

	"elevage/science/ageing"
	"elevage/science/bayes"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// settled is how long after a dose the floor is first asked of it, days: within it
// the dose has not bound yet, and the wine had been under anyway.
const settled = 3

// shortfalls are, per draw, the dose (mg/L SO2 added today) that keeps it above
// the floor from then until the date; negative where there is some to spare.
func (ft *fitted) shortfalls(p paths, in Input) []float64 {
	last := min(p.days, int(math.Ceil(float64(quantity.Span(in.At, in.Until)))))
	// free SO2 only falls between doses: it is lowest on the last day and before each plan
	tight := []int{last}
	for _, s := range ft.tl.future {
		if k := int(quantity.Span(in.At, s.at)); s.what == doses && k > settled && k < last {
			tight = append(tight, k)
		}
	}
	out := make([]float64, len(ft.draws))
	for i, d := range ft.draws {
		worst := math.Inf(-1)
		for _, k := range tight {
			// what must be there now so that the floor is left on day k, plans aside
			must := ageing.Deplete(d.need, -p.demand[k][i], d.c.holding) - planGain(ft.tl.future, d, in.At, k)
			worst = math.Max(worst, must)
		}
		out[i] = (worst - (d.free - d.pending)) / d.c.freeShare(d.doses)
	}
	return out
}

// planGain is the free SO2 that plans up to a day bring for good.
func planGain(future []step, d draw, at time.Time, k int) float64 {
	gain := 0.0
	for _, s := range future {
		if float64(quantity.Span(at, s.at)) > float64(k) {
			break
		}
		switch s.what {
		case doses:
			gain += d.c.freeShare(s.order) * s.amount
		case breathes:
			gain += s.freeStep
		}
	}
	return gain
}

// lastsFor is how long a dose should last where no date is asked for: three months, or
// less where free SO2 would stand above what is tasted after it. A proposal.
var lastsFor = []quantity.Days{91, 76, 61, 46, 31}

// tasted is the free SO2 from which it is a nuisance to the senses: about 50 mg/L
// (common practice, no source).
const tasted = 50 * quantity.MilligramPerLitre

// A LastingDose is the addition today that keeps the wine above the floor to a date.
type LastingDose struct {
	Until time.Time                                 `json:"until"`
	SO2   quantity.Concentration                    `json:"so2_g_l"`  // to add, per litre of wine; 0: none is needed
	Need  quantity.Interval[quantity.Concentration] `json:"need_g_l"` // what it may turn out to need; the dose is its (1 − risk) quantile
	Risk  float64                                   `json:"risk"`     // chance of being under the floor before then, with the dose
	Share float64                                   `json:"share"`    // of the dose expected to stay free
	Take  *sulfite.Amount                           `json:"take,omitempty"`
	Words string                                    `json:"words,omitempty"` // the amount as weighed or poured
	Mass  quantity.Mass                             `json:"so2_mass_g"`
	After quantity.Interval[quantity.Concentration] `json:"free_after_g_l"`  // free SO2 three days after
	Total quantity.Interval[quantity.Concentration] `json:"total_after_g_l"` // total SO2 after, as far as it is known
}

// lasting chooses the (1 − risk) quantile of what it may need, which is the best
// choice where a mg/L short costs (1 − risk)/risk times a mg/L too much: 4 to 1 at
// the default.
func (ft *fitted) lasting(p paths, in Input, short []float64) (LastingDose, error) {
	sorted := append([]float64(nil), short...)
	sort.Float64s(sorted)
	dose := math.Max(0, bayes.Quantile(sorted, 1-in.Risk))
	if dose < 1 { // under a mg/L is no dose
		dose = 0
	}
	out := LastingDose{Until: in.Until, SO2: quantity.Concentration(dose) * quantity.MilligramPerLitre}
	for i := range sorted {
		sorted[i] = math.Max(0, sorted[i])
	}
	out.Need = interval(sorted)
	after, total := make([]float64, len(short)), make([]float64, len(short))
	k := min(settled, p.days)
	for i, d := range ft.draws {
		if short[i] > dose {
			out.Risk += 1 / float64(len(short))
		}
		b := d.c.freeShare(d.doses)
		out.Share += b / float64(len(short))
		after[i] = p.free[k][i] + b*dose
		total[i] = d.free + d.bound + dose
	}
	out.After, out.Total = interval(after), interval(total)
	out.Mass = out.SO2.In(in.Volume)
	if in.Product == nil || dose == 0 {
		return out, nil
	}
	add := sulfite.Addition{Volume: in.Volume, FreeAfter: quantity.Concentration(out.Share) * out.SO2, Binding: math.Min(0.95, 1-out.Share), Product: *in.Product}
	exact, err := add.Dose()
	if err != nil {
		return out, err
	}
	out.Take, out.Words = &exact.Take, exact.Take.String()
	return out, nil
}

// A MeasureValue says what a reading today would change.
type MeasureValue struct {
	What   string `json:"what"`   // "free SO2" or "pH"
	Method Method `json:"method"` // of free SO2; "" for pH
	// Changes is the chance that after the reading something else would be done
	// today (dose instead of leave, or the other way round). At the very edge it is
	// large and means little; Saves decides.
	Changes float64 `json:"changes"`
	// Saves is what the reading is worth: how much nearer the dose would come to
	// what is needed, in mg/L SO2 given too much (a mg/L short counts
	// (1 − risk)/risk times).
	Saves quantity.Concentration `json:"saves_g_l"`
	Worth bool                   `json:"worth"` // Saves reaches WorthSaving
	Words string                 `json:"words,omitempty"`
}

// WorthSaving is the saving from which a test is called worth making; a proposal.
const WorthSaving = 1.5 * quantity.MilligramPerLitre

// freshBuffers is one SD of a pH read with two buffers the same day: offset 0.03,
// repeat 0.01 (both from memory).
const freshBuffers = 0.032

// measuring weighs a reading today by what would be done after each result that it
// might give (preposterior analysis, Raiffa & Schlaifer 1961).
func (ft *fitted) measuring(p paths, in Input, short []float64) (so2, ph MeasureValue) {
	q := in.Test.quality(in.Red, Free)
	so2 = ft.weigh(p, in, short, math.Hypot(q.scatter, q.offsetSD), func(d *draw) float64 { return d.free })
	so2.What, so2.Method = "free SO2", in.Test
	ph = ft.weigh(p, in, short, freshBuffers, func(d *draw) float64 { return d.ph })
	ph.What = "pH"
	return so2, ph
}

// weigh does so for a reading of a draw's property with a given SD.
func (ft *fitted) weigh(p paths, in Input, short []float64, sd float64, of func(*draw) float64) MeasureValue {
	n := len(ft.draws)
	order := make([]int, n)
	truth := make([]float64, n)
	for i := range order {
		order[i], truth[i] = i, of(&ft.draws[i])
	}
	sort.Slice(order, func(a, b int) bool { return short[order[a]] < short[order[b]] })
	w := make([]float64, n)
	for i := range w {
		w[i] = 1 / float64(n)
	}
	soon := min(p.days, 30)
	doseNow := p.below(soon) >= in.Risk
	before := expectedLoss(order, short, w, in.Risk)
	var out MeasureValue
	const results = 40
	after := 0.0
	for r := range results {
		y := truth[r*n/results] + sd*bayes.NormalQuantile((float64(r*17%results)+0.5)/results)
		sum, under := 0.0, 0.0
		for i := range w {
			u := (y - truth[i]) / sd
			w[i] = math.Exp(-0.5 * u * u)
			sum += w[i]
		}
		for i := range w {
			w[i] /= sum
			if p.free[soon][i] < p.need[i] {
				under += w[i]
			}
		}
		if (under >= in.Risk) != doseNow {
			out.Changes += 1.0 / results
		}
		after += expectedLoss(order, short, w, in.Risk) / results
	}
	out.Saves = quantity.Concentration(math.Max(0, before-after)) * quantity.MilligramPerLitre
	out.Worth = out.Saves >= WorthSaving
	return out
}

// expectedLoss of the best dose under the weights: the pinball loss at 1 − risk,
// in mg/L too much.
func expectedLoss(order []int, short, w []float64, risk float64) float64 {
	cum, dose := 0.0, 0.0
	for _, i := range order {
		cum += w[i]
		if cum >= 1-risk {
			dose = math.Max(0, short[i])
			break
		}
	}
	loss := 0.0
	for i, s := range short {
		if gap := math.Max(0, s) - dose; gap > 0 {
			loss += w[i] * gap * (1 - risk) / risk
		} else {
			loss -= w[i] * gap
		}
	}
	return loss
}
