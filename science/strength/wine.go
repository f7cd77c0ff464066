package strength

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// WineDensity is the density of a liquid with this alcohol and total extract, at a
// temperature. At 20 °C it is the Tabarié relation read backwards,
//
//	ρ = ρ(alcohol and water) + ρ(extract in water) − ρ(water)
//
// and at other temperatures each part expands as its own table says (OIML R 22,
// ICUMSA SPS-4); that product is this package's, not a published table. Domain: 0
// to 25 % vol, −30 to 400 g/L extract, 0 to 40 °C. Expect 0.3 kg/m³ at 20 °C.
func WineDensity(alcohol quantity.Strength, extract quantity.Concentration, t quantity.Temperature) (quantity.Density, error) {
	if err := checkWine(alcohol, extract); err != nil {
		return 0, err
	}
	if err := checkTemperature(t); err != nil {
		return 0, err
	}
	w, err := fractionOfExtract(extract)
	if err != nil {
		return 0, err
	}
	p, err := MassFraction(alcohol)
	if err != nil {
		return 0, err
	}
	at20 := r22(p, 20) + sucrose(w, 20) - kell(20)
	return quantity.Density(at20 * expansion(p, w, t.Celsius())), nil
}

// expansion is ρ(t)/ρ(20) of a wine from those of its parts. The water that is taken
// off again is that of R 22, so that must without alcohol follows SPS-4 exactly.
func expansion(p, w, t float64) float64 {
	return r22(p, t) / r22(p, 20) * (sucrose(w, t) / sucrose(w, 20)) / (r22(0, t) / r22(0, 20))
}

// fractionOfExtract is the mass fraction of a sucrose solution with this much
// sucrose in a litre at 20 °C.
func fractionOfExtract(extract quantity.Concentration) (float64, error) {
	return root.Between(func(w float64) float64 { return w*sucrose(w, 20) - extract.GPerL() }, brixLow/100.0, 0.5)
}

func checkWine(alcohol quantity.Strength, extract quantity.Concentration) error {
	if err := quantity.Check("alcohol", alcohol.Percent(), "% vol", 0, 25); err != nil {
		return err
	}
	return quantity.Check("extract", extract.GPerL(), "g/L", -30, 400)
}

// Expansion is the factor by which a wine's volume grows between two temperatures;
// 1.0032 from 20 to 30 °C at 12.5 % vol.
func Expansion(alcohol quantity.Strength, extract quantity.Concentration, from, to quantity.Temperature) (float64, error) {
	before, err := WineDensity(alcohol, extract, from)
	if err != nil {
		return math.NaN(), err
	}
	after, err := WineDensity(alcohol, extract, to)
	return before.KgPerM3() / after.KgPerM3(), err
}
