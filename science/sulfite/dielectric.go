package sulfite

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/strength"
)

// Dielectric constant of ethanol and water by mass fraction, Åkerlöf 1932, J. Am.
// Chem. Soc. 54:4125, at 20 and 40 °C. From memory, confirmed by computation: they
// reproduce the ionic-strength term of the OIV method's Table 2 to 0.001.
var (
	akerlofMass = [...]float64{0, 0.10, 0.20, 0.30}
	akerlof20   = [...]float64{80.37, 74.60, 68.66, 62.63}
	akerlof40   = [...]float64{73.12, 67.86, 62.41, 56.73}
)

// debyeHueckel gives the limiting coefficients on the molar scale, A in (L/mol)^½
// and B in (L/mol)^½/Å:
//
//	A = e³·√(2000 N) / (8π·(ε0·ε·k·T)^1.5·ln 10)
//	B = √(2000·N·e²/(ε0·ε·k·T))
//
// with CODATA 2018 constants; ε linear in mass fraction, its logarithm linear in
// temperature. The alcohol must already have been checked (0 to 20 % vol).
func debyeHueckel(alcohol quantity.Strength, t quantity.Temperature) (a, b float64) {
	const (
		charge    = 1.602176634e-19
		avogadro  = 6.02214076e23
		vacuum    = 8.8541878128e-12
		boltzmann = 1.380649e-23
	)
	p, err := strength.MassFraction(alcohol)
	if err != nil {
		return math.NaN(), math.NaN()
	}
	i, u := cell(akerlofMass[:], p)
	e20 := akerlof20[i] + u*(akerlof20[i+1]-akerlof20[i])
	e40 := akerlof40[i] + u*(akerlof40[i+1]-akerlof40[i])
	epsilon := e20 * math.Pow(e40/e20, (t.Celsius()-20)/20)

	energy := vacuum * epsilon * boltzmann * t.Kelvin()
	a = charge * charge * charge * math.Sqrt(2000*avogadro) / (8 * math.Pi * math.Pow(energy, 1.5) * math.Ln10)
	b = math.Sqrt(2000*avogadro*charge*charge/energy) * 1e-10
	return a, b
}
