package acidbase

import (
	"elevage/science/quantity"
)

// What one gram of L-malic acid becomes: C4H6O5 → C3H6O3 + CO2, by molar mass.
const (
	LacticPerMalic = 90.078 / 134.087
	CO2PerMalic    = 44.009 / 134.087
)

// Malolactic turns an amount of malic acid into lactic acid. The carbon dioxide
// is taken to have left; add CO2PerMalic of it to the result's CO2 for a sample
// that still holds it. Converting more than there is, is a *quantity.RangeError.
//
// One equivalent of acid is lost per mole: 0.560 g/L of titratable acidity as
// tartaric acid per g/L of malic.
func (c *Composition) Malolactic(malic quantity.Concentration) (Composition, error) {
	// A rounding error of the caller's is not worth an error.
	if err := quantity.Check("malic acid converted", malic.GPerL(), "g/L", 0, c.Malic.GPerL()+1e-12); err != nil {
		return *c, err
	}
	out := *c
	out.Malic = max(0, c.Malic-malic)
	out.Lactic += malic * LacticPerMalic
	return out, nil
}
