package strength

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// MixtureGravity is the specific gravity 20/20 of ethanol and water (OIML R 22). Domain:
// 0 to 100 % vol; a *quantity.RangeError outside.
func MixtureGravity(alcohol quantity.Strength) (SpecificGravity, error) {
	d, err := AlcoholDensity(alcohol, 20)
	return SpecificGravityOf(d), err
}

// Dealcoholised is the specific gravity that a wine would have without its alcohol,
// by the Tabarié relation of OIV-MA-AS2-03B:
//
//	dr = dv − da + 1.000
//
// dv should be corrected for volatile acidity and sulfur dioxide first where that
// matters: see [CorrectedGravity]. Domain: 0 to 25 % vol, SG 0.96 to 1.2.
func Dealcoholised(wine SpecificGravity, alcohol quantity.Strength) (SpecificGravity, error) {
	if err := quantity.Check("specific gravity", float64(wine), "", 0.96, 1.2); err != nil {
		return 0, err
	}
	if err := quantity.Check("alcohol", alcohol.Percent(), "% vol", 0, 25); err != nil {
		return 0, err
	}
	da, err := MixtureGravity(alcohol)
	return wine - da + 1, err
}

// ExtractOf is the extract behind the gravity of a must or alcohol-free wine: the
// grams of sucrose that, made up to one litre with water at 20 °C, give the same
// gravity (OIV-MA-AS2-03B). Reckoned with SPS-4; the method's own Plato-based table
// is remembered 0.1 to 0.3 g/L lower. Slightly negative for a gravity below 1.
// Domain: 0.985 to 1.2.
func ExtractOf(dealcoholised SpecificGravity) (quantity.Concentration, error) {
	if err := quantity.Check("specific gravity without alcohol", float64(dealcoholised), "", 0.985, 1.2); err != nil {
		return 0, err
	}
	w, err := sucroseFraction(float64(dealcoholised))
	return quantity.Concentration(w * sucrose(w, 20)), err
}

// TotalExtract is the total dry extract of a wine by density: [Dealcoholised], then
// [ExtractOf]. An error of 0.1 % vol in the alcohol moves it by 0.3 g/L, one of
// 0.0005 in the gravity by 1.3 g/L.
func TotalExtract(wine SpecificGravity, alcohol quantity.Strength) (quantity.Concentration, error) {
	dr, err := Dealcoholised(wine, alcohol)
	if err != nil {
		return 0, err
	}
	return ExtractOf(dr)
}

// An Extract is a wine's dry matter under the names of OIV-MA-AS2-03B.
type Extract struct {
	Total     quantity.Concentration
	SugarFree quantity.Concentration // total less sugars
	Reduced   quantity.Concentration // total less sugars above 1 g/L and potassium sulfate above 1 g/L
	Residual  quantity.Concentration // sugar-free less fixed acidity as tartaric
}

// SplitExtract names the parts of a total extract. Mannitol and added substances,
// which the method also takes off the reduced extract, are not known here.
func SplitExtract(total, sugars, potassiumSulfate, fixedAcidity quantity.Concentration) Extract {
	above := func(c quantity.Concentration) quantity.Concentration { return max(c-quantity.GramPerLitre, 0) }
	return Extract{
		Total:     total,
		SugarFree: total - sugars,
		Reduced:   total - above(sugars) - above(potassiumSulfate),
		Residual:  total - sugars - fixedAcidity,
	}
}

// CorrectedGravity takes the weight of sulfur dioxide off a measured density at
// 20 °C, as OIV-MA-AS2-01A does where accuracy asks for it:
//
//	ρ = ρ' − 0.0006·S   (g/mL, S total SO2 in g/L)
//
// 0.1 g/L moves the gravity by 0.00006, a fifth of the smallest division of a
// cellar float.
func CorrectedGravity(measured quantity.Density, totalSO2 quantity.Concentration) quantity.Density {
	return measured - quantity.Density(0.6*totalSO2.GPerL())
}

// SugarPerAlcohol is the grams of sugar in a litre of must that become 1 % vol.
type SugarPerAlcohol float64

// The conventions; show the one that was used beside every potential alcohol. The
// stoichiometric limit is 15.43 g/L of hexose.
const (
	// MustLaw is 16.83 g/L, French Arrêté of 3 May 1996, art. 2, kept in the Arrêté of
	// 14 September 2011, annex IV (read).
	MustLaw SugarPerAlcohol = 16.83
	// Practical is 17 g/L (from memory).
	Practical SugarPerAlcohol = 17
	// OldConvention is 17.5 g/L, column 7 of the same annex IV (read).
	OldConvention SugarPerAlcohol = 17.5
	// Conservative is 18 g/L, old French Code du vin art. 297, repealed (read).
	Conservative SugarPerAlcohol = 18
)

func (f SugarPerAlcohol) check() error {
	return quantity.Check("sugar for 1 % vol", float64(f), "g/L", 15.43, 20)
}

// Alcohol is the strength that an amount of fermentable sugar gives: sugar over the
// convention. Domain: 0 to 500 g/L sugar, a convention of 15.43 (all of it ethanol) to
// 20 g/L for 1 % vol; a *quantity.RangeError outside.
func (f SugarPerAlcohol) Alcohol(sugar quantity.Concentration) (quantity.Strength, error) {
	if err := f.check(); err != nil {
		return 0, err
	}
	return quantity.Strength(sugar.GPerL() / float64(f)), quantity.Check("sugar", sugar.GPerL(), "g/L", 0, 500)
}

// Attenuation is what two gravities say about alcohol.
type Attenuation struct {
	Alcohol quantity.Bounds[quantity.Strength] // ±0.5 % vol about the likely value
	Extract quantity.Concentration             // total extract now: left-over sugar and what is not sugar
}

// attenuationError is the honest uncertainty of alcohol from two gravities.
const attenuationError = 0.5 // % vol

// AlcoholFromGravities reckons the alcohol formed between the must (d0) and now
// (d), both at 20/20 and free of CO2, by solving
//
//	f·A = X(d0) − X(d − da(A) + 1)
//
// for A, with X of [ExtractOf] and da of [MixtureGravity]. What is not sugar stands
// on both sides and drops out; glycerol and other by-products (6 to 8 g/L, from
// memory) make A slightly low; contraction is left out. A derivation, not a
// citation; ±0.5 % vol. Domain: d0 1.02 to 1.2, d 0.985 to d0, A up to 25 % vol.
func AlcoholFromGravities(must, now SpecificGravity, f SugarPerAlcohol) (Attenuation, error) {
	if err := f.check(); err != nil {
		return Attenuation{}, err
	}
	if err := quantity.Check("specific gravity of the must", float64(must), "", 1.02, 1.2); err != nil {
		return Attenuation{}, err
	}
	if err := quantity.Check("specific gravity now", float64(now), "", 0.985, float64(must)); err != nil {
		return Attenuation{}, err
	}
	before, err := ExtractOf(must)
	if err != nil {
		return Attenuation{}, err
	}
	extract := func(a float64) float64 {
		da, _ := MixtureGravity(quantity.Strength(a)) // 0 to 45 % vol is inside its domain
		w, err := sucroseFraction(float64(now - da + 1))
		if err != nil {
			return math.NaN()
		}
		return w * sucrose(w, 20)
	}
	a, err := root.Between(func(a float64) float64 { return float64(f)*a - before.GPerL() + extract(a) }, 0, 45)
	if err != nil {
		return Attenuation{}, err
	}
	if err := quantity.Check("alcohol from the two gravities", a, "% vol", 0, 25); err != nil {
		return Attenuation{}, err
	}
	likely := quantity.Strength(a)
	return Attenuation{
		Alcohol: quantity.Bounds[quantity.Strength]{Low: max(likely-attenuationError, 0), Likely: likely, High: likely + attenuationError},
		Extract: quantity.Concentration(extract(a)),
	}, nil
}
