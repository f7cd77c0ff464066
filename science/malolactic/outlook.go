package malolactic

import (
	"math"
	"math/rand/v2"
	"sort"

	"elevage/science/bayes"
	"elevage/science/quantity"
)

// A Case is a wine about to be inoculated.
type Case struct {
	Conditions Conditions
	How        Inoculation
	Malic      Distribution           // g/L; the prior, or a measurement with its spread as "normal"
	Limit      quantity.Concentration // called finished below this, usually 0.1 g/L
}

// An Outlook is the predicted course before any reading: suitability said in days
// and chances rather than as a score.
type Outlook struct {
	Q05, Q50, Q95 quantity.Days // time to the limit; +Inf for later than a year or never
	WithinSixty   float64       // chance of being finished 60 days after inoculation
	NotInAYear    float64       // chance of not finishing within a year, stalls included
	Stall         float64       // chance of stopping for good before the limit
	NoGrowth      float64       // chance that these conditions alone forbid growth
}

const year = 365

// Predict draws n courses from the priors and sums them up. Deterministic for a
// seed; quantiles of 2 000 draws carry a Monte Carlo error of some 3 %. Conditions
// outside those of a wine are an error.
func (p *Priors) Predict(c Case, n int, seed uint64) (Outlook, error) {
	if err := c.Conditions.Check(); err != nil {
		return Outlook{}, err
	}
	days, stalled, barred := p.finishes(c, n, seed, true)
	var o Outlook
	for _, d := range days {
		if d <= 60 {
			o.WithinSixty++
		}
		if math.IsInf(d, 1) {
			o.NotInAYear++
		}
	}
	o.WithinSixty /= float64(n)
	o.NotInAYear /= float64(n)
	o.Stall, o.NoGrowth = stalled, barred
	o.Q05 = quantity.Days(bayes.Quantile(days, 0.05))
	o.Q50 = quantity.Days(bayes.Quantile(days, 0.50))
	o.Q95 = quantity.Days(bayes.Quantile(days, 0.95))
	return o, nil
}

// finishes are the ascending days to the limit, with the shares that stalled
// before it and that no growth was possible for; stalls and the malic acid that is
// never converted can be left out.
func (p *Priors) finishes(c Case, n int, seed uint64, stalls bool) (days []float64, stalled, barred float64) {
	rng := rand.New(rand.NewPCG(seed, 0x6d616c6f))
	s := Steady(c.Conditions, year)
	hazard, stop := float64(p.Hazard(c.Conditions)), p.StopShare(c.Conditions)
	var work []float64
	factors := make([]float64, 2)
	z := make([]float64, Coordinates)
	for i := 0; i < n; i++ {
		for j := range z {
			z[j] = rng.NormFloat64()
		}
		k := p.Draw(z, c.How)
		m0 := quantity.Concentration(math.Max(0.02, c.Malic.At(rng.NormFloat64())))
		work, _ = k.Work(work, factors, s, NoStall)
		rest := quantity.Concentration(0)
		if stalls {
			rest = min(quantity.Concentration(p.Rest.At(rng.NormFloat64())), m0/2)
		}
		day := math.Inf(1)
		if rest < c.Limit {
			day = float64(DayOfWork(work, WorkTo(m0-rest, k.HalfSaturation, c.Limit-rest)))
		}
		if factors[0] == 0 {
			barred += 1 / float64(n)
		}
		// A stop on the way comes before the limit unless the limit itself comes first.
		stops, at := rng.Float64(), rng.Float64() // both drawn whatever comes of them, so that priors are compared on the same draws
		onTheWay := stops < stop && at < 1-float64(c.Limit/m0)
		if wait := rng.ExpFloat64() / hazard; stalls && (onTheWay || wait < math.Min(day, year)) {
			stalled += 1 / float64(n)
			day = math.Inf(1)
		}
		days = append(days, day)
	}
	sort.Float64s(days)
	return days, stalled, barred
}

// A Remedy is one change that might be made before inoculating, and the outlook with it.
type Remedy struct {
	What    string // in a winemaker's words
	Case    Case
	Outlook Outlook
	Caution string // what the change itself can cost; empty if nothing special
}

// Remedies are the changes that the case leaves open, with the outlook of each
// under the same random draws, most helpful first: by chance of finishing within
// sixty days. Sulfite is not lowered by magic: the remedy there is to wait.
func (p *Priors) Remedies(c Case, n int, seed uint64) ([]Remedy, error) {
	var out []Remedy
	try := func(what, caution string, change func(*Case)) error {
		d := c
		change(&d)
		o, err := p.Predict(d, n, seed)
		if err != nil {
			return err
		}
		out = append(out, Remedy{What: what, Case: d, Outlook: o, Caution: caution})
		return nil
	}
	type option struct {
		open          bool
		what, caution string
		change        func(*Case)
	}
	for _, o := range []option{
		{c.Conditions.Temperature < 20.5 || c.Conditions.Temperature > 23, "hold the wine at 21 °C", "warming a full vessel pushes wine and gas out: leave room or vent it",
			func(d *Case) { d.Conditions.Temperature = 21 }},
		{c.Conditions.Molecular > 0.02*quantity.MilligramPerLitre, "wait until free SO2 is bound or lost", "bound SO2 still slows bacteria; the wine waits unprotected",
			func(d *Case) { d.Conditions.Bound += 5 * quantity.MilligramPerLitre; d.Conditions.Molecular = 0 }},
		{c.How == Native, "sprinkle a culture on", "", func(d *Case) { d.How = Direct }},
		{c.How < Rehydrated, "rehydrate the culture first", "water, temperature and minutes as its packet says", func(d *Case) { d.How = Rehydrated }},
		{c.How != Starter, "build up a starter in this wine", "takes days and sugar-free, sulfite-free juice", func(d *Case) { d.How = Starter }},
	} {
		if !o.open {
			continue
		}
		if err := try(o.what, o.caution, o.change); err != nil {
			return nil, err
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Outlook.WithinSixty > out[j].Outlook.WithinSixty })
	return out, nil
}
