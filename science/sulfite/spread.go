package sulfite

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// A Measurement is free SO2 and pH as they were measured, with one standard
// deviation of each: repeat and session offset together. For a hand pH meter that
// is about 0.06, for aspiration about 4 mg/L, for an iodine kit about 6 mg/L (all
// from memory; reds read 3 to 10 mg/L high by iodine).
type Measurement struct {
	Free   quantity.Concentration
	FreeSD quantity.Concentration
	Wine   Wine // as measured
	PHSD   float64
}

// Spread is what the errors of a measurement make of molecular SO2.
type Spread struct {
	Rule     Rule
	Interval quantity.Interval[quantity.Concentration] // 5, 50 and 95 % points
	// FromPH and FromFree are the relative standard deviations that either error
	// alone would cause, to first order: the larger tells which to measure better.
	FromPH, FromFree float64
}

// Sensitivity is the relative change of molecular SO2 for a small change of pH:
//
//	d ln(molecular)/dpH = −ln 10 · (1 − fraction)
//
// about −2.25 in wine, so 0.05 pH read too low shows 11 % more molecular SO2 than
// there is.
func (s Share) Sensitivity() float64 { return -math.Ln10 * (1 - s.Fraction) }

// Spread carries independent normal errors of free SO2 and pH through the rule. The
// error of the rule itself (40 % between rules) is not in it. SDs from 0 to 1 pH
// and 0 to 100 mg/L; free SO2 below zero counts as none.
func (r Rule) Spread(m Measurement) (Spread, error) {
	p, err := r.propagate(m)
	if err != nil {
		return Spread{}, err
	}
	s := Spread{Rule: r, FromPH: p.phSpread, FromFree: p.freeSpread}
	for _, q := range []struct {
		level float64
		to    *quantity.Concentration
	}{{0.05, &s.Interval.Q05}, {0.5, &s.Interval.Q50}, {0.95, &s.Interval.Q95}} {
		*q.to = quantity.Concentration(p.quantile(q.level))
	}
	// Each is sought by itself: where hardly anything is in doubt they lie within the
	// search's last digit of one another, in any order.
	s.Interval.Q05, s.Interval.Q95 = min(s.Interval.Q05, s.Interval.Q50), max(s.Interval.Q95, s.Interval.Q50)
	return s, nil
}

// Shortfall is the probability that the wine lies under the target, given the errors of
// the measurement, independent and normal. Domain and errors are those of Rule.Spread;
// the error of the rule itself is not in it.
func (t Target) Shortfall(m Measurement) (float64, error) {
	p, err := t.rule.propagate(m)
	if err != nil {
		return 0, err
	}
	return p.below(t.amount.GPerL()), nil
}

// propagation holds a checked measurement ready for its distribution.
type propagation struct {
	free, freeSD         float64 // g/L
	ph, phSD, pk         float64
	phSpread, freeSpread float64
}

func (r Rule) propagate(m Measurement) (propagation, error) {
	if err := checkSO2("free SO2", m.Free); err != nil {
		return propagation{}, err
	}
	if err := quantity.Check("standard deviation of free SO2", m.FreeSD.MgPerL(), "mg/L", 0, 100); err != nil {
		return propagation{}, err
	}
	if err := quantity.Check("standard deviation of pH", m.PHSD, "", 0, 1); err != nil {
		return propagation{}, err
	}
	s, err := r.Share(m.Wine)
	if err != nil {
		return propagation{}, err
	}
	p := propagation{
		free: m.Free.GPerL(), freeSD: m.FreeSD.GPerL(),
		ph: float64(m.Wine.PH), phSD: m.PHSD, pk: s.PK,
		phSpread: -s.Sensitivity() * m.PHSD,
	}
	if p.free > 0 {
		p.freeSpread = p.freeSD / p.free
	} else if p.freeSD > 0 {
		p.freeSpread = math.Inf(1)
	}
	return p, nil
}

func (p propagation) fraction(ph float64) float64 { return 1 / (1 + math.Pow(10, ph-p.pk)) }

// below is P(molecular < x). The error that spreads wider is integrated in closed
// form, the other by quadrature, so that the integrand is smooth even when one of
// them is nil.
func (p propagation) below(x float64) float64 {
	if x <= 0 {
		return 0
	}
	if p.freeSpread > p.phSpread {
		return normalMean(func(z float64) float64 {
			return phi((x/p.fraction(p.ph+z*p.phSD) - p.free) / p.freeSD)
		}, p.phSD)
	}
	return normalMean(func(z float64) float64 {
		free := p.free + z*p.freeSD
		if free <= x {
			return 1 // even if all of it were molecular
		}
		at := p.pk + math.Log10(free/x-1) // pH at which the molecular share is x
		if p.phSD == 0 {
			return step(p.ph - at)
		}
		return phi((p.ph - at) / p.phSD)
	}, p.freeSD)
}

func (p propagation) quantile(level float64) float64 {
	point := p.free * p.fraction(p.ph)
	switch {
	case p.freeSD == 0 && p.phSD == 0:
		return point
	case p.below(math.SmallestNonzeroFloat64) >= level: // free SO2 may well be nil
		return 0
	}
	high := (p.free + 9*p.freeSD) * p.fraction(p.ph-9*p.phSD)
	x, err := root.Between(func(x float64) float64 { return p.below(x) - level }, 0, high)
	if err != nil {
		return point
	}
	return x
}

// normalMean is E[f(Z)] for a standard normal Z; f is called once
// when the spread is nil. The trapezoidal rule is exact to 1e-14 for a smooth f on
// this grid.
func normalMean(f func(z float64) float64, sd float64) float64 {
	if sd == 0 {
		return f(0)
	}
	const h, n = 0.25, 34
	sum := 0.0
	for i := -n; i <= n; i++ {
		z := h * float64(i)
		sum += math.Exp(-z*z/2) * f(z)
	}
	return sum * h / math.Sqrt(2*math.Pi)
}

func phi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

func step(x float64) float64 {
	if x >= 0 {
		return 1
	}
	return 0
}
