package sulfite

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// PerOxygen is the free SO2 lost for each mg of oxygen taken up, mg/mg: likely 2.5
// (SD 0.6) in about 100 bottled wines over two years, never under 2 (one molecule to
// one) nor over 4 (two to one).
var PerOxygen = quantity.Bounds[float64]{Low: 2, Likely: 2.5, High: 4}

// PerOxygenSource is the standing of PerOxygen.
var PerOxygenSource = cited.Source{Text: "Pascal, Diéval, Vidal, about 100 bottled wines; limits Danilewicz, Standing 2018, Am. J. Enol. Vitic.", Mark: cited.Read}

// LossTo is the free SO2 that an uptake of oxygen costs over the following weeks: oxygen
// × PerOxygen, mg per mg, whose source stands at PerOxygenSource. Domain: 0 to 100 mg/L
// oxygen; a *quantity.RangeError outside.
func LossTo(oxygen quantity.Concentration) (quantity.Bounds[quantity.Concentration], error) {
	if err := quantity.Check("oxygen", oxygen.MgPerL(), "mg/L", 0, 100); err != nil {
		return quantity.Bounds[quantity.Concentration]{}, err
	}
	return quantity.Bounds[quantity.Concentration]{
		Low:    oxygen * quantity.Concentration(PerOxygen.Low),
		Likely: oxygen * quantity.Concentration(PerOxygen.Likely),
		High:   oxygen * quantity.Concentration(PerOxygen.High),
	}, nil
}

// RateRatio is how many times faster a change runs at one temperature than at
// another when a stated rise, 0.5 to 200 °C, doubles it: 2^((a − b)/doubling). Butzke
// ("Wine storage guidelines", Purdue Extension FS-58-W) gives 30 °C for the fall of SO2 in
// white wine and 3.8 °C for oxygen uptake; the sources conflict widely.
func RateRatio(a, b quantity.Temperature, doubling float64) (float64, error) {
	if err := quantity.Check("rise that doubles the rate", doubling, "°C", 0.5, 200); err != nil {
		return 0, err
	}
	return math.Exp2((a - b).Celsius() / doubling), nil
}

// Filling is the oxygen that bottling brings, per litre of wine.
type Filling struct {
	Dissolved quantity.Concentration // taken up in filling: 0.2 to 0.5 mg/L when good, 0.8 to 5 when poor
	Headspace quantity.Concentration // air under the closure, up to 2.8 mg/L without vacuum
}

// FillingSource is the standing of the figures at Filling.
var FillingSource = cited.Source{Text: "WineLand/Winetech 2019; mean of an industrial trial 2.0 mg/L in all (Vidal et al. 2017, OENO One)", Mark: cited.SecondHand}

// HeadspaceAir is the oxygen that a volume of air over a volume of wine brings when
// the wine takes all of it up: 0.279 mg per mL at 20 °C and 1 atm, as an ideal gas with
// 20.95 % oxygen. Domain: 1 mL to 1 000 000 L of wine, 0 or more of air, 0 to 40 °C; a
// *quantity.RangeError outside.
func HeadspaceAir(air, wine quantity.Volume, t quantity.Temperature) (quantity.Concentration, error) {
	if err := quantity.Check("volume of wine", wine.Litres(), "L", 1e-3, 1e6); err != nil {
		return 0, err
	}
	if err := quantity.Check("air", air.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	if err := quantity.Check("temperature", t.Celsius(), "°C", 0, 40); err != nil {
		return 0, err
	}
	const share, molar, gas = 0.2095, 2 * weightO, 8.314462618
	grams := share * quantity.Atmosphere.Pascals() * air.Litres() * 1e-3 / (gas * t.Kelvin()) * molar
	return quantity.Mass(grams).Per(wine), nil
}

// BottlingAllowance is by how much free SO2 at filling should stand above what the
// bottled wine is to have: the oxygen of the filling times PerOxygen. 5 mg/L at the
// 2 mg/L of a usual line; a packaging guideline asks for 5 mg/L to start from.
func BottlingAllowance(f Filling) (quantity.Bounds[quantity.Concentration], error) {
	return LossTo(f.Dissolved + f.Headspace)
}
