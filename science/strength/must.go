package strength

import (
	"elevage/science/quantity"
)

// Table II of OIV-MA-AS2-02 at whole degrees, as reprinted in the French Arrêté of
// 14 September 2011, annex IV (read): density of grape must at 20 °C in kg/m³ and
// its sugar in g/L, by refractometer reading in % mass of sucrose.
var (
	mustBrix    = []float64{10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30}
	mustDensity = []float64{1039.1, 1043.1, 1047.2, 1051.4, 1055.6, 1059.8, 1064.1, 1068.5, 1072.9, 1077.3, 1081.8,
		1086.3, 1090.8, 1095.4, 1100.1, 1104.7, 1109.5, 1114.2, 1119.0, 1123.9, 1128.7}
	mustSugar = []float64{82.2, 92.8, 103.5, 114.3, 125.2, 136.1, 147.1, 158.2, 169.4, 180.6, 191.9,
		203.3, 214.7, 226.2, 237.8, 249.5, 261.2, 273.0, 284.9, 296.9, 308.9}
)

// poorMust is how much less sugar than in the table a must rich in acids and
// extract may hold. A proposal of this project: no published spread was found.
const poorMust = 10.0 // g/L

// FermentableSugar is the glucose and fructose of a grape must from its Brix by
// refractometer at 20 °C, as a range, since acids, salts and the rest of the
// soluble matter count as Brix too:
//
//	likely  OIV-MA-AS2-02 Table II (read), linear between whole degrees, within 0.1 g/L
//	high    all Brix taken for sugar: an upper bound that no must reaches
//	low     10 g/L under the table (proposal)
//
// At 20 Brix: 182, 192, 216 g/L. Taking all Brix for sugar overstates by 24 g/L, or
// 1.4 % vol. Domain: 10 to 30 Brix, unfermented grape must.
func FermentableSugar(b Brix) (quantity.Bounds[quantity.Concentration], error) {
	var none quantity.Bounds[quantity.Concentration]
	if err := quantity.Check("Brix", float64(b), "Brix", 10, 30); err != nil {
		return none, err
	}
	all, err := b.SucrosePerLitre()
	if err != nil {
		return none, err
	}
	likely := quantity.Concentration(linear(mustBrix, mustSugar, float64(b)))
	return quantity.Bounds[quantity.Concentration]{Low: likely - poorMust, Likely: likely, High: all}, nil
}

// MustBrix is the refractometer Brix of a grape must with this specific gravity, by
// the density column of the same table. It lies 0.15 to 0.25 under the sucrose scale
// ([SpecificGravity.Brix]) from 15 to 25 Brix: a float and a prism do not agree in
// must. Domain: the table's densities, SG 1.041 to 1.1307. The table's four
// decimals leave ±0.02 Brix.
func MustBrix(sg SpecificGravity) (Brix, error) {
	low, high := SpecificGravityOf(quantity.Density(mustDensity[0])), SpecificGravityOf(quantity.Density(mustDensity[len(mustDensity)-1]))
	if err := quantity.Check("specific gravity of the must", float64(sg), "", float64(low), float64(high)); err != nil {
		return 0, err
	}
	return Brix(linear(mustDensity, mustBrix, sg.Density().KgPerM3())), nil
}

// MustGravity is the specific gravity of a grape must of this refractometer Brix:
// the inverse of MustBrix, from the same table. Domain: 10 to 30 Brix; a
// *quantity.RangeError outside.
func MustGravity(b Brix) (SpecificGravity, error) {
	if err := quantity.Check("Brix", float64(b), "Brix", 10, 30); err != nil {
		return 0, err
	}
	return SpecificGravityOf(quantity.Density(linear(mustBrix, mustDensity, float64(b)))), nil
}

// FermentableSugarByFloat is FermentableSugar from a specific gravity 20/20 of the must
// before fermentation, by way of MustBrix. Domain: that of MustBrix, SG 1.041 to 1.1307.
func FermentableSugarByFloat(sg SpecificGravity) (quantity.Bounds[quantity.Concentration], error) {
	b, err := MustBrix(sg)
	if err != nil {
		return quantity.Bounds[quantity.Concentration]{}, err
	}
	return FermentableSugar(b)
}

// PotentialAlcohol is the strength that a must of this Brix may come to, with the
// likely value at the chosen convention:
//
//	likely  likely sugar / f
//	low     low sugar / 18, the conservative convention
//	high    all Brix as sugar / 16.83, an upper bound
//
// At 20 Brix and 16.83: 10.1, 11.4, 12.8 % vol. The range holds the 0.55 to 0.64 %
// vol per Brix of common practice (from memory) from 20 to 28 Brix. Brix is a poor
// predictor of alcohol: variety, region and year all matter (Ough, Amerine 1963;
// Jones, Ough 1985).
func PotentialAlcohol(b Brix, f SugarPerAlcohol) (quantity.Bounds[quantity.Strength], error) {
	var none quantity.Bounds[quantity.Strength]
	if err := f.check(); err != nil {
		return none, err
	}
	sugar, err := FermentableSugar(b)
	if err != nil {
		return none, err
	}
	at := func(c quantity.Concentration, f SugarPerAlcohol) quantity.Strength {
		return quantity.Strength(c.GPerL() / float64(f))
	}
	likely := at(sugar.Likely, f)
	return quantity.Bounds[quantity.Strength]{
		Low:    min(at(sugar.Low, Conservative), likely),
		Likely: likely,
		High:   max(at(sugar.High, MustLaw), likely),
	}, nil
}
