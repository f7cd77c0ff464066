package gas

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// Surroundings are what a wine under an airlock feels.
type Surroundings struct {
	Temperature quantity.Temperature
	Barometer   quantity.Pressure
}

// Saturation is the CO2 that a wine under a full head of CO2 at the barometer's
// pressure holds. New wine is at or above it for weeks. The vapour pressure of
// water and alcohol (3 to 4 % of the whole at 20 °C) is left out.
func (r Relation) Saturation(l Liquid, s Surroundings) (quantity.Concentration, error) {
	if err := checkBarometer(s.Barometer); err != nil {
		return 0, err
	}
	solubility, err := r.Solubility(l, s.Temperature)
	if err != nil {
		return 0, err
	}
	return solubility.At(s.Barometer), nil
}

// Release is the CO2 that a saturated wine gives off when its surroundings change
// from one state to another: positive on warming or a falling barometer, negative
// (it can take up gas, the lock goes silent or sucks back) on cooling or a rising
// one. Not malolactic, though it looks so at the lock.
func (r Relation) Release(l Liquid, from, to Surroundings) (quantity.Concentration, error) {
	before, err := r.Saturation(l, from)
	if err != nil {
		return 0, err
	}
	after, err := r.Saturation(l, to)
	return before - after, err
}

// ApparentMalic is the malic acid that would have made this much CO2: ÷ 0.3282, one CO2
// per malic acid by molar mass. It is what a lock's gas is mistaken for.
func ApparentMalic(co2 quantity.Concentration) quantity.Concentration { return co2 / PerMalic }

// FromMalic is the CO2 formed by converting this much malic acid: × 0.3282, by molar
// mass.
func FromMalic(malic quantity.Concentration) quantity.Concentration { return malic * PerMalic }

// FromHexose is the CO2 formed by fermenting this much glucose or fructose: × 0.4886,
// two CO2 per hexose by molar mass; 0.46 to 0.47 in practice (from memory).
func FromHexose(sugar quantity.Concentration) quantity.Concentration { return sugar * PerHexose }

// PushedOut is the gas that leaves through a lock on warming only because wine and
// headspace grow: the wine by its expansion ([strength.Expansion], 28 mL for 23 L
// from 15 to 20 °C at 12 % vol and 25 g/L extract), the gas by ΔT/T. Negative on cooling. Neither CO2
// set free nor malic acid is in it.
func PushedOut(wine, headspace quantity.Volume, alcohol quantity.Strength, from, to quantity.Temperature) (quantity.Volume, error) {
	if err := quantity.Check("volume", wine.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	if err := quantity.Check("headspace", headspace.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	growth, err := strength.Expansion(alcohol, 25*quantity.GramPerLitre, from, to)
	if err != nil {
		return 0, err
	}
	gas := headspace.Litres() * (to - from).Celsius() / from.Kelvin()
	return quantity.Volume(wine.Litres()*(growth-1) + gas), nil
}

// A StillLimit is the CO2 above which a place no longer calls a wine still.
type StillLimit struct {
	Place  string
	Max    quantity.Concentration
	Source cited.Source
}

// StillLimits are outlines to check against the authority.
var StillLimits = []StillLimit{
	{"United States", 3.92 * quantity.GramPerLitre, cited.Source{Text: "27 CFR 24.245, 2015 edition (tolerance 0.09 g/L)", Mark: cited.Read}},
	{"European Union", 2 * quantity.GramPerLitre, cited.Source{Text: "Reg. (EC) 643/2006 annex, wine treated with CO2; 3 g/L in later law from memory", Mark: cited.Read}},
}
