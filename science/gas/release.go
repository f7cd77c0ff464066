package gas

import "elevage/science/quantity"

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

// ApparentMalic is the malic acid that would have made this much CO2.
func ApparentMalic(co2 quantity.Concentration) quantity.Concentration { return co2 / PerMalic }

// FromMalic is the CO2 formed by converting this much malic acid.
func FromMalic(malic quantity.Concentration) quantity.Concentration { return malic * PerMalic }

// FromHexose is the CO2 formed by fermenting this much glucose or fructose.
func FromHexose(sugar quantity.Concentration) quantity.Concentration { return sugar * PerHexose }
