package acidbase

import (
	"math"

	"elevage/science/quantity"
)

// Density of ethanol-water at 20 °C, kg/m³, by % vol in steps of 5: OIML R 22
// general formula (Directive 76/766/EEC).
var densityAt20 = [...]float64{998.201, 991.059, 984.708, 978.851, 973.083}

const ethanolDensityAt20 = 789.239 // kg/m³, OIML R 22

// massFraction is grams of ethanol per gram of the mixture, at 20 °C: volume
// strength is defined at that temperature, so it holds at any other.
func massFraction(s quantity.Strength) float64 {
	v := s.Percent()
	i := int(math.Min(v/5, float64(len(densityAt20)-2)))
	i = max(0, min(i, len(densityAt20)-3))
	// Newton's quadratic through three neighbours.
	u := v/5 - float64(i)
	d0, d1, d2 := densityAt20[i], densityAt20[i+1], densityAt20[i+2]
	rho := d0 + u*(d1-d0) + u*(u-1)/2*(d2-2*d1+d0)
	return v / 100 * ethanolDensityAt20 / rho
}

// akerlof holds the dielectric constant of ethanol-water at 20 and 40 °C for
// 0, 10, 20 and 30 % ethanol by mass: Åkerlöf 1932 (J. Am. Chem. Soc. 54:4125).
var akerlof = [...][2]float64{{80.37, 73.12}, {74.60, 67.86}, {68.66, 62.41}, {62.63, 56.73}}

// permittivity is the relative permittivity of the mixture: linear in mass
// fraction between Åkerlöf's points, exponential in temperature through 20 and 40 °C.
func permittivity(s quantity.Strength, t quantity.Temperature) float64 {
	w := massFraction(s) * 10
	i := max(0, min(int(w), len(akerlof)-2))
	u := w - float64(i)
	at20 := akerlof[i][0] + u*(akerlof[i+1][0]-akerlof[i][0])
	at40 := akerlof[i][1] + u*(akerlof[i+1][1]-akerlof[i][1])
	return at20 * math.Pow(at40/at20, (t.Celsius()-20)/20)
}

// Physical constants, CODATA 2018 (exact, but for the electric constant).
const (
	elementaryCharge = 1.602176634e-19  // C
	avogadro         = 6.02214076e23    // 1/mol
	boltzmann        = 1.380649e-23     // J/K
	electricConstant = 8.8541878128e-12 // F/m
)

// debyeHuckel gives A (molar scale, decimal logarithms) and B (per ångström):
//
//	A = e³ √(2000 N) / (8π (ε0 ε k T)^1.5 ln 10)
//	B = √(2000 N e² / (ε0 ε k T)) · 10⁻¹⁰
func debyeHuckel(s quantity.Strength, t quantity.Temperature) (a, b float64) {
	ekt := electricConstant * permittivity(s, t) * boltzmann * t.Kelvin()
	e := elementaryCharge
	a = e * e * e * math.Sqrt(2000*avogadro) / (8 * math.Pi * ekt * math.Sqrt(ekt) * math.Ln10)
	b = math.Sqrt(2000*avogadro*e*e/ekt) * 1e-10
	return a, b
}
