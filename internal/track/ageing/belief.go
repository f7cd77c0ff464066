package ageing

import (
	"math"
	"sort"
	"time"

	"elevage/science/ageing"
	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// A Belief is what is thought of a parcel's SO2. Its JSON names
// the unit with each figure, in the manner of free_g_l.
type Belief struct {
	At        time.Time                                 `json:"at"`
	Free      quantity.Interval[quantity.Concentration] `json:"free_g_l"`
	Bound     quantity.Interval[quantity.Concentration] `json:"bound_g_l"`
	Total     quantity.Interval[quantity.Concentration] `json:"total_g_l"`
	Molecular quantity.Interval[quantity.Concentration] `json:"molecular_g_l"`
	Rule      string                                    `json:"rule"`      // by which molecular was reckoned
	Floor     quantity.Concentration                    `json:"floor_g_l"` // molecular, by the same rule
	FloorFree quantity.Interval[quantity.Concentration] `json:"floor_free_g_l"`
	Below     float64                                   `json:"below"` // probability of lying under the floor now

	Forecast   []DayAhead   `json:"forecast"`
	FallsUnder DayInterval  `json:"falls_under"`
	MeasureBy  *time.Time   `json:"measure_by,omitempty"` // first day on which Below reaches Risk; nil: not within the horizon
	Risk       float64      `json:"risk"`
	Dose       LastingDose  `json:"dose"`
	Measure    MeasureValue `json:"measure"`    // a test of free SO2 now
	MeasurePH  MeasureValue `json:"measure_ph"` // a pH reading with fresh buffers now

	Loss      quantity.Interval[quantity.Rate] `json:"loss_g_l_day"`       // free SO2 lost to the vessel at the present temperature
	LossPrior quantity.Interval[quantity.Rate] `json:"loss_prior_g_l_day"` // the same before any reading
	FreeShare quantity.Interval[float64]       `json:"free_share"`         // of the last or the next dose
	Learned   Learned                          `json:"learned"`
	Looks     []Look                           `json:"looks"`
	Flags     []Flag                           `json:"flags"`
	Summary   []string                         `json:"summary"`
	ESS       float64                          `json:"ess"` // independent draws the answer is worth
}

// A DayInterval is a day with its uncertainty; nil is later than the horizon.
type DayInterval struct {
	Q05 *time.Time `json:"q05"`
	Q50 *time.Time `json:"q50"`
	Q95 *time.Time `json:"q95"`
}

// A Look is one reading against what was expected of it from all entries before.
type Look struct {
	ID       string                 `json:"id"`
	At       time.Time              `json:"at"`
	Of       Of                     `json:"of"`
	Value    quantity.Concentration `json:"value_g_l"`
	Expected quantity.Concentration `json:"expected_g_l"`
	SD       quantity.Concentration `json:"sd_g_l"` // of the expectation with the method's scatter
	Absurd   float64                `json:"absurd"` // probability that it is not of this wine, or not right
}

// A Flag is something a person should know about the data or the answer.
type Flag struct {
	Code   string       `json:"code"`
	Entry  string       `json:"entry,omitempty"` // id of the reading or dose
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
	p, err := ft.ahead(in)
	if err != nil {
		return Belief{}, err
	}
	b := Belief{At: in.At, Rule: in.Floor.Rule().Label(), Floor: in.Floor.Amount(), Risk: in.Risk, ESS: ft.ess}
	ft.now(&b, p)
	b.Forecast = p.fan(in)
	b.Below = p.below(0)
	b.FallsUnder, b.MeasureBy = p.fall(in)
	if in.Closed {
		b.Dose = LastingDose{Until: in.Until}
		ft.rates(&b, in)
		ft.compare(&b, in)
		b.Flags = ft.flags(b, in)
		b.Summary = b.words(in)
		return b, nil
	}
	short := ft.shortfalls(p, in)
	if b.Dose, err = ft.lasting(p, in, short); err != nil {
		return Belief{}, err
	}
	for i := 1; in.open && i < len(lastsFor) && b.Dose.After.Q50 > tasted && b.Dose.SO2 > 0; i++ {
		in.Until = in.At.Add(lastsFor[i].Duration())
		short = ft.shortfalls(p, in)
		if b.Dose, err = ft.lasting(p, in, short); err != nil {
			return Belief{}, err
		}
	}
	b.Measure, b.MeasurePH = ft.measuring(p, in, short)
	ft.rates(&b, in)
	ft.compare(&b, in)
	b.Flags = ft.flags(b, in)
	b.Measure.Words = b.measureWords(in)
	b.Summary = b.words(in)
	return b, nil
}

func (ft *fitted) now(b *Belief, p paths) {
	n := len(ft.draws)
	f, bo, to, mo, need := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, d := range ft.draws {
		f[i], bo[i], to[i], mo[i], need[i] = d.free, d.bound, d.free+d.bound, d.free*p.share[i], d.need
	}
	b.Free, b.Bound, b.Total, b.Molecular, b.FloorFree = interval(f), interval(bo), interval(to), interval(mo), interval(need)
}

// fall reads off when the floor is crossed, and when its chance reaches the risk.
func (p paths) fall(in Input) (DayInterval, *time.Time) {
	days := p.crossings(int(in.Horizon))
	sort.Float64s(days)
	at := func(q float64) *time.Time {
		// smallest order statistic, not interpolated: beside "never" there is nothing to interpolate
		v := days[min(len(days)-1, int(q*float64(len(days))))]
		if math.IsInf(v, 1) {
			return nil
		}
		t := in.At.Add(quantity.Days(v).Duration())
		return &t
	}
	var by *time.Time
	for k := 0; k <= int(in.Horizon); k++ {
		if p.below(k) >= in.Risk {
			t := in.At.Add(quantity.Days(k).Duration())
			by = &t
			break
		}
	}
	return DayInterval{at(0.05), at(0.5), at(0.95)}, by
}

// rates tells what was learned of vessel and wine.
func (ft *fitted) rates(b *Belief, in Input) {
	warm := (temperatureAt(in.Temperatures, in.At) - ageing.ReferenceTemperature.Celsius()) / 10
	n := len(ft.draws)
	loss, ln, share, first := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, d := range ft.draws {
		loss[i] = d.c.baseLoss * d.c.warmth(warm, 0)
		ln[i] = math.Log(d.c.ingress)
		share[i] = d.c.freeShare(max(0, d.doses-1))
		first[i] = d.c.share
	}
	b.Learned = Learned{Ingress: ft.priors[zIngress], FreeShare: ft.priors[zFreeShare], Readings: len(in.Readings) - len(ft.tl.future0)}
	b.Learned.Ingress.Location, b.Learned.Ingress.Spread = math.Exp(bayes.Mean(ln)), bayes.SD(ln)
	b.Learned.FreeShare.Location, b.Learned.FreeShare.Spread = bayes.Mean(first), math.Max(0.02, bayes.SD(first))
	if b.Learned.Readings > 0 {
		s := cited.Source{Text: "this cellar's own readings", Mark: cited.Computed}
		b.Learned.Ingress.Source, b.Learned.FreeShare.Source = s, s
	}
	b.Loss, b.LossPrior = asRates(loss), asRates(ft.priorLoss(warm))
	sort.Float64s(share)
	b.FreeShare = quantity.Interval[float64]{Q05: bayes.Quantile(share, 0.05), Q50: bayes.Quantile(share, 0.5), Q95: bayes.Quantile(share, 0.95)}
}

// priorLoss is the loss rate before any reading, over a fixed lattice of the three
// unknowns that make it.
func (ft *fitted) priorLoss(warm float64) []float64 {
	const side = 8
	z := func(i int) float64 { return bayes.NormalQuantile((float64(i) + 0.5) / side) }
	var out []float64
	for i := range side {
		for j := range side {
			for k := range side {
				rate := ft.priors[zIngress].At(z(i)) * ft.priors[zPerOxygen].At(z(j)) / 365.25
				out = append(out, rate*math.Exp(math.Log(ft.priors[zQ10].At(z(k)))*warm))
			}
		}
	}
	return out
}

func asRates(mgPerLDay []float64) quantity.Interval[quantity.Rate] {
	c := interval(mgPerLDay)
	return quantity.Interval[quantity.Rate]{Q05: quantity.Rate(c.Q05), Q50: quantity.Rate(c.Q50), Q95: quantity.Rate(c.Q95)}
}

func (ft *fitted) compare(b *Belief, in Input) {
	late := map[int]bool{}
	for _, i := range ft.tl.future0 {
		late[i] = true
	}
	for i, r := range in.Readings {
		if late[i] {
			continue
		}
		l := ft.looks[i]
		b.Looks = append(b.Looks, Look{ID: r.ID, At: r.At, Of: r.Of, Value: r.Value, Absurd: l.wild,
			Expected: quantity.Concentration(math.Max(0, l.expected)) * quantity.MilligramPerLitre, SD: quantity.Concentration(l.sd) * quantity.MilligramPerLitre})
	}
	sort.SliceStable(b.Looks, func(i, j int) bool { return b.Looks[i].At.Before(b.Looks[j].At) })
}
