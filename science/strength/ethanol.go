package strength

import (
	"elevage/science/quantity"
	"elevage/science/root"
)

const r22Low, r22High = -20.0, 40.0 // °C

// MixtureDensity is the density of ethanol and water by the general formula of
// OIML R 22 (1975):
//
//	ρ(p,t) = A1 + Σ A_k p^(k−1) + Σ B_k (t−20)^k + Σ Σ C_(i,k) p^k (t−20)^i
//
// p is the mass fraction of ethanol, 0 to 1; t from −20 to 40 °C, and only where
// the mixture is liquid. Agrees with the table of NBS Bulletin vol. 9 (USP 29)
// within 0.006 % mass and 0.00008 in specific gravity from 1 to 30 % vol.
func MixtureDensity(massFraction float64, t quantity.Temperature) (quantity.Density, error) {
	if err := quantity.Check("mass fraction of ethanol", massFraction, "", 0, 1); err != nil {
		return 0, err
	}
	if err := quantity.Check("temperature", t.Celsius(), "°C", r22Low, r22High); err != nil {
		return 0, err
	}
	return quantity.Density(r22(massFraction, t.Celsius())), nil
}

func r22(p, t float64) float64 {
	d := t - 20
	rho := horner(r22A[:], p) + d*horner(r22B[:], d)
	power := d
	for _, row := range r22C {
		rho += power * p * horner(row, p)
		power *= d
	}
	return rho
}

// horner evaluates c0 + c1 x + c2 x² + …
func horner(c []float64, x float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}

// StrengthOf is the alcoholic strength by volume at 20 °C of ethanol and water
// with this mass fraction of ethanol: q = p·ρ(p,20)/ρ(1,20), ρ by OIML R 22. Domain: 0
// to 1; a *quantity.RangeError outside.
func StrengthOf(massFraction float64) (quantity.Strength, error) {
	if err := quantity.Check("mass fraction of ethanol", massFraction, "", 0, 1); err != nil {
		return 0, err
	}
	return quantity.Strength(100 * massFraction * r22(massFraction, 20) / r22(1, 20)), nil
}

// MassFraction is the inverse of StrengthOf, to 1e-14. Allowed is 0 to 100 % vol.
func MassFraction(s quantity.Strength) (float64, error) {
	if err := quantity.Check("alcohol", s.Percent(), "% vol", 0, 100); err != nil {
		return 0, err
	}
	q := s.Percent() / 100
	return root.Between(func(p float64) float64 { return p*r22(p, 20)/r22(1, 20) - q }, 0, 1)
}

// AlcoholDensity is the density of ethanol and water of a given strength by
// volume (at 20 °C) at a temperature, by OIML R 22. Domain: 0 to 100 % vol, −20 to 40 °C
// and only where the mixture is liquid; a *quantity.RangeError outside.
func AlcoholDensity(s quantity.Strength, t quantity.Temperature) (quantity.Density, error) {
	p, err := MassFraction(s)
	if err != nil {
		return 0, err
	}
	return MixtureDensity(p, t)
}
