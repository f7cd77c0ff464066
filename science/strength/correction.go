package strength

import "elevage/science/quantity"

// An Adjusted must is what is left after sugar or water went in.
type Adjusted struct {
	Added  quantity.Mass // sucrose or water
	Volume quantity.Volume
	Brix   Brix
}

// SugarAddition is the sucrose that raises must from one Brix to another, by mass
// balance:
//
//	m = V·ρ1·(B2 − B1)/(100 − B2)
//
// The must grows by 0.62 L for each kg (United States law counts 0.618, 27 CFR
// 24.304). The hobby rule of 15 g/L per Brix overshoots by about 9 %. Whether sugar
// may be added, and how much, the law decides. Domain: 0 to 40 Brix, to no lower
// than from.
func SugarAddition(must quantity.Volume, from, to Brix) (Adjusted, error) {
	if err := checkCorrection(must, from); err != nil {
		return Adjusted{}, err
	}
	if err := quantity.Check("Brix wanted", float64(to), "Brix", float64(from), 40); err != nil {
		return Adjusted{}, err
	}
	before := must.Litres() * sucrose(float64(from)/100, 20) / 1e3 // kg
	added := before * float64(to-from) / (100 - float64(to))
	after := (before + added) * 1e3 / sucrose(float64(to)/100, 20)
	return Adjusted{Added: quantity.Mass(added) * quantity.Kilogram, Volume: quantity.Volume(after), Brix: to}, nil
}

// SweetenedTo is the must that comes of adding a mass of sucrose: SugarAddition
// read forwards. Domain: 1 mL to 1 000 000 L of must at 0 to 40 Brix, and no more sugar
// than must by weight; a *quantity.RangeError outside.
func SweetenedTo(must quantity.Volume, from Brix, sucroseAdded quantity.Mass) (Adjusted, error) {
	if err := checkCorrection(must, from); err != nil {
		return Adjusted{}, err
	}
	before := must.Litres() * sucrose(float64(from)/100, 20) / 1e3
	if err := quantity.Check("sugar added", sucroseAdded.Kilograms(), "kg", 0, before); err != nil {
		return Adjusted{}, err
	}
	total := before + sucroseAdded.Kilograms()
	b := (before*float64(from) + 100*sucroseAdded.Kilograms()) / total
	return Adjusted{Added: sucroseAdded, Volume: quantity.Volume(total * 1e3 / sucrose(b/100, 20)), Brix: Brix(b)}, nil
}

// WaterAddition is the water that lowers must from one Brix to another:
//
//	m = M·(B1/B2 − 1)
//
// Water is not allowed everywhere; United States law for bonded wine stops at 22
// Brix (27 CFR 24.176, 2015). Domain: 0 to 40 Brix, to above 1.
func WaterAddition(must quantity.Volume, from, to Brix) (Adjusted, error) {
	if err := checkCorrection(must, from); err != nil {
		return Adjusted{}, err
	}
	if err := quantity.Check("Brix wanted", float64(to), "Brix", 1, float64(from)); err != nil {
		return Adjusted{}, err
	}
	before := must.Litres() * sucrose(float64(from)/100, 20) / 1e3
	added := before * (float64(from/to) - 1)
	after := (before + added) * 1e3 / sucrose(float64(to)/100, 20)
	return Adjusted{Added: quantity.Mass(added) * quantity.Kilogram, Volume: quantity.Volume(after), Brix: to}, nil
}

// SugarVolumeUS is the volume that a mass of dry sugar adds in the eyes of United
// States law: 1 US gallon for 13.5 lb (27 CFR 24.304, read). Mass balance gives
// 0.5 % more between 18 and 24 Brix.
func SugarVolumeUS(sugar quantity.Mass) quantity.Volume {
	return quantity.Volume(float64(sugar/quantity.Pound)/13.5) * quantity.USGallon
}

func checkCorrection(must quantity.Volume, from Brix) error {
	if err := quantity.Check("volume", must.Litres(), "L", 1e-3, 1e6); err != nil {
		return err
	}
	return quantity.Check("Brix of the must", float64(from), "Brix", 0, 40)
}
