package malolactic

import (
	"math"

	"elevage/science/quantity"
)

// PerDay is a rate, 1/day.
type PerDay float64

// CellsPerML is a count of active bacteria, CFU/mL.
type CellsPerML float64

// UsePerCell is malic acid converted per cell and day at saturation, g/(cell·day).
type UsePerCell float64

// Conditions are what the bacteria live in. The zero value is not a wine.
type Conditions struct {
	Temperature quantity.Temperature
	PH          quantity.PH
	Alcohol     quantity.Strength
	Molecular   quantity.Concentration // molecular SO2, at pK 1.81: the constant that the priors were drawn with
	Bound       quantity.Concentration // bound SO2 (total less free): it inhibits where no free is measurable
}

// Check refuses conditions in which no wine is: temperature −5 to 45 °C, pH 2.5
// to 4.8, alcohol 0 to 22 % vol, molecular SO2 0 to 20 mg/L, bound 0 to 500 mg/L.
func (c Conditions) Check() error {
	for _, f := range []struct {
		name, unit  string
		v, min, max float64
	}{
		{"temperature", "°C", c.Temperature.Celsius(), -5, 45},
		{"pH", "", float64(c.PH), 2.5, 4.8},
		{"alcohol", "% vol", c.Alcohol.Percent(), 0, 22},
		{"molecular SO2", "mg/L", c.Molecular.MgPerL(), 0, 20},
		{"bound SO2", "mg/L", c.Bound.MgPerL(), 0, 500},
	} {
		if err := quantity.Check(f.name, f.v, f.unit, f.min, f.max); err != nil {
			return err
		}
	}
	return nil
}

// Reference conditions: the factor is 1 here for every draw of the constants.
var Reference = Conditions{Temperature: 20, PH: 3.5, Alcohol: 12.5, Bound: 15 * quantity.MilligramPerLitre}

// Difficult counts the factors that lie in the band which bulletins call
// difficult: under 15 or over 25 °C and alcohol over 15 % vol (Australian Wine
// Research Institute, "Preparation of an MLF starter culture using freeze dried
// bacteria"), pH under 3.1 and molecular SO2 above what 10 mg/L free makes at pH
// 3.4, 0.25 mg/L (the same, "Ask the AWRI: malolactic fermentation issues
// explored"), bound above 30 mg/L (Winemakers Research Exchange, review of SO2
// management).
func (c Conditions) Difficult() int {
	n := 0
	for _, hard := range []bool{
		c.Temperature < 15 || c.Temperature > 25,
		c.PH < 3.1,
		c.Alcohol > 15,
		c.Molecular.MgPerL() > 0.25,
		c.Bound.MgPerL() > 30,
	} {
		if hard {
			n++
		}
	}
	return n
}

// Constants are one draw of everything unknown about bacteria and wine.
type Constants struct {
	Use            UsePerCell
	HalfSaturation quantity.Concentration
	Growth         PerDay     // at Reference
	Ceiling        CellsPerML // of active cells
	Start          CellsPerML
	Lag            quantity.Days // at Reference
	Lot            float64       // what makes this wine faster or slower than its figures say

	PHMin, PHSaturated        quantity.PH
	TempMin, TempOpt, TempMax quantity.Temperature // the latter two at 12.5 % vol
	TempOptPerAlcohol         float64              // °C per % vol
	AlcoholMax                quantity.Strength
	MolecularHalf, BoundHalf  quantity.Concentration

	// Inocula are the ways that bacteria may be added later on, by Inoculation; those
	// without cells are taken as Start and Lag.
	Inocula [4]Inoculum
}

// An Inoculum is what a way of inoculating brings.
type Inoculum struct {
	Start CellsPerML
	Lag   quantity.Days // at Reference
}

func (k *Constants) inoculum(how Inoculation) Inoculum {
	if i := k.Inocula[how]; i.Start > 0 {
		return i
	}
	return Inoculum{k.Start, k.Lag}
}

// Factor is the speed in these conditions relative to Reference (1 there), not
// counting Lot. Zero where one condition alone forbids growth. The forms are
// judged to fit the published orderings, not taken from one paper:
//
//	γ(pH) = clamp((pH − pH_min)/(pH_sat − pH_min), 0, 1)
//	γ(T)  = cardinal temperature model with inflection (Rosso, Lobry & Flandrois 1993, form from memory)
//	γ(E)  = √(1 − E/E_max)
//	γ(S)  = 1/[(1 + m/m½)(1 + b/b½)]     m molecular, b bound SO2
func (k *Constants) Factor(c Conditions) float64 {
	return k.raw(&c) / k.reference()
}

// reference is what Factor is relative to; a draw that would forbid even the reference
// is slow everywhere.
func (k *Constants) reference() float64 {
	if ref := k.raw(&Reference); ref > 0 {
		return ref
	}
	return 1e-3
}

func (k *Constants) raw(c *Conditions) float64 {
	span := math.Max(0.1, float64(k.PHSaturated-k.PHMin))
	acid := math.Min(1, math.Max(0, float64(c.PH-k.PHMin)/span))
	if acid == 0 || c.Alcohol >= k.AlcoholMax {
		return 0
	}
	alcohol := math.Sqrt(1 - float64(c.Alcohol/k.AlcoholMax))
	opt := k.TempOpt + quantity.Temperature(k.TempOptPerAlcohol*float64(c.Alcohol-12.5))
	heat := CardinalTemperature(c.Temperature, k.TempMin, opt, k.TempMax)
	sulfite := 1 / ((1 + float64(c.Molecular/k.MolecularHalf)) * (1 + float64(c.Bound/k.BoundHalf)))
	return acid * alcohol * heat * sulfite
}

// CardinalTemperature is the cardinal temperature model with inflection: 1 at
// opt, 0 at and beyond lo and hi,
//
//	(T−hi)(T−lo)² / {(opt−lo)[(opt−lo)(T−opt) − (opt−hi)(opt+lo−2T)]}
//
// (Rosso, Lobry & Flandrois 1993, J Theor Biol 162:447; form from memory). It is
// defined for opt > (lo+hi)/2; nearer optima are moved there, and bounds that
// cross are spread to 2 °C about opt.
func CardinalTemperature(t, lo, opt, hi quantity.Temperature) float64 {
	lo, hi = min(lo, opt-2), max(hi, opt+2)
	if opt < (lo+hi)/2+0.1 {
		hi = 2*opt - lo - 0.2
	}
	if t <= lo || t >= hi {
		return 0
	}
	T, a, o, b := float64(t), float64(lo), float64(opt), float64(hi)
	return (T - b) * (T - a) * (T - a) / ((o - a) * ((o-a)*(T-o) - (o-b)*(o+a-2*T)))
}
