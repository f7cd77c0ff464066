package strength

import (
	"elevage/science/quantity"
	"elevage/science/root"
)

// Brix is a mass percentage of sucrose in water, or what an instrument graduated
// in it shows in another liquid: g sucrose in 100 g. A dry wine reads below zero on
// a float, because alcohol is lighter than water; such apparent values are allowed
// down to −5.
type Brix float64

const brixLow, brixHigh = -5, 70

// sps4 holds the coefficients of w^i·((t−20)/100)^j, first index j, second i−1.
var sps4 = [5][]float64{
	{385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890},
	{-46.2720, -7.1720, 1.1597, 5.1126, 17.5254},
	{59.7712, 7.2491, 12.3630, -35.4791},
	{-47.2207, -21.6977, 27.6301},
	{18.3184, 12.3081},
}

// SucroseDensity is the density of sucrose in water by ICUMSA SPS-4:
//
//	ρ(w,t) = ρw(t) + Σ c_ij w^i ((t−20)/100)^j
//
// with ρw(t) after Kell. Coefficients from memory; at 20 °C they agree within
// 0.00005 in specific gravity with two published tables (Zoecklein et al., App. I;
// NBS Circular C440) and within the last printed digit with the CRC Handbook. The
// temperature terms were checked against no table. Domain: −5 to 70 Brix (below
// zero the polynomial is carried on, for apparent readings in wine), 0 to 40 °C.
func SucroseDensity(b Brix, t quantity.Temperature) (quantity.Density, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	if err := checkTemperature(t); err != nil {
		return 0, err
	}
	return quantity.Density(sucrose(float64(b)/100, t.Celsius())), nil
}

func (b Brix) check() error { return quantity.Check("Brix", float64(b), "Brix", brixLow, brixHigh) }

func checkTemperature(t quantity.Temperature) error {
	return quantity.Check("temperature", t.Celsius(), "°C", 0, 40)
}

func sucrose(w, t float64) float64 {
	rho, scaled, power := kell(t), (t-20)/100, 1.0
	for _, row := range sps4 {
		rho += power * w * horner(row, w)
		power *= scaled
	}
	return rho
}

// kell is the density of water that SPS-4 builds on; within 0.004 kg/m³ of the
// water of OIML R 22 from 0 to 40 °C.
func kell(t float64) float64 {
	return horner([]float64{999.83952, 16.952577, -7.9905127e-3, -4.6241757e-5, 1.0584601e-7, -2.8103006e-10}, t) /
		(1 + 1.6887236e-2*t)
}

// sucroseFraction is the inverse of sucrose at 20 °C for a density relative to water.
func sucroseFraction(relative float64) (float64, error) {
	rho := relative * kell(20)
	return root.Between(func(w float64) float64 { return sucrose(w, 20) - rho }, brixLow/100.0, brixHigh/100.0)
}
