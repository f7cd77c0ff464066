package strength

import (
	"elevage/science/quantity"
	"elevage/science/root"
)

// A Hydrometer is a float and the temperature it was graduated at: 20 °C for most
// laboratory and Brix floats, 60 °F (15.56 °C) for many hobby ones. Read it off
// the stem; a wrong guess costs about 0.0008 in specific gravity.
type Hydrometer struct {
	Graduated quantity.Temperature
}

// Floats in common use.
var (
	At20C = Hydrometer{Graduated: 20}
	At60F = Hydrometer{Graduated: 140.0 / 9}
)

// glassExpansion is the cubic expansion of soda-lime glass, 1/K, as ISO 649 and
// the reference tables take it.
const glassExpansion = 25e-6

// Corrected is a reading brought to 20 °C and to water of 20 °C.
type Corrected struct {
	SG   SpecificGravity
	Brix Brix
}

// CorrectSG brings a specific gravity, read in a liquid at temperature t, to
// 20/20 °C. The float is made for its own temperature, so
//
//	ρ(liquid, t)·(1 + 25e-6·(t − tg)) = reading · ρw(tg)
//
// and the liquid's density at 20 °C follows from how it expands: must by SPS-4,
// wine by OIML R 22 for its alcohol and SPS-4 for its extract. alcohol is what has
// formed so far, 0 for must; a guess within 2 % vol moves the result by less than
// 0.0001. The liquid must be free of CO2: bubbles lift the float.
//
// Domain: 0 to 40 °C, reading 0.97 to 1.2, 0 to 25 % vol. The correction itself is
// good to 0.0003; the reading of a cellar float to about 0.0004 (0.1 Brix, from
// memory).
func (h Hydrometer) CorrectSG(reading SpecificGravity, t quantity.Temperature, alcohol quantity.Strength) (Corrected, error) {
	if err := quantity.Check("specific gravity", float64(reading), "", 0.97, 1.2); err != nil {
		return Corrected{}, err
	}
	return h.correct(float64(reading)*kell(h.Graduated.Celsius()), t, alcohol)
}

// CorrectBrix is CorrectSG for a float graduated in Brix, by the sucrose densities of
// ICUMSA SPS-4 at its own temperature. Domain: −4 to 45 Brix, else as for CorrectSG.
func (h Hydrometer) CorrectBrix(reading Brix, t quantity.Temperature, alcohol quantity.Strength) (Corrected, error) {
	if err := quantity.Check("Brix", float64(reading), "Brix", -4, 45); err != nil {
		return Corrected{}, err
	}
	return h.correct(sucrose(float64(reading)/100, h.Graduated.Celsius()), t, alcohol)
}

// correct finds the gravity at 20 °C of the liquid in which the float stands where
// its own liquid of the given density would carry it.
func (h Hydrometer) correct(shown float64, t quantity.Temperature, alcohol quantity.Strength) (Corrected, error) {
	if err := quantity.Check("temperature of graduation", h.Graduated.Celsius(), "°C", 10, 30); err != nil {
		return Corrected{}, err
	}
	if err := checkTemperature(t); err != nil {
		return Corrected{}, err
	}
	if err := quantity.Check("alcohol", alcohol.Percent(), "% vol", 0, 25); err != nil {
		return Corrected{}, err
	}
	p, err := MassFraction(alcohol)
	if err != nil {
		return Corrected{}, err
	}
	glass := 1 + glassExpansion*(t-h.Graduated).Celsius()
	mixture := r22(p, 20) - r22(0, 20)
	standsAt := func(w float64) float64 {
		at20 := sucrose(w, 20) + mixture
		return at20*expansion(p, w, t.Celsius())*glass - shown
	}
	w, err := root.Between(standsAt, brixLow/100.0, brixHigh/100.0)
	if err != nil {
		return Corrected{}, &quantity.RangeError{Field: "reading", Value: shown / kell(20), Min: 0.98, Max: 1.2,
			Why: "lighter or heavier than any wine or must of this alcohol"}
	}
	sg := SpecificGravity((sucrose(w, 20) + mixture) / kell(20))
	brix, err := sg.Brix()
	return Corrected{SG: sg, Brix: brix}, err
}

// Reading is what the float shows in a liquid of known gravity at 20 °C when the
// liquid stands at temperature t: the inverse of CorrectSG, with its sources. Domain:
// SG 0.96 to 1.2, 0 to 25 % vol, 0 to 40 °C; a *quantity.RangeError outside.
func (h Hydrometer) Reading(at20 SpecificGravity, t quantity.Temperature, alcohol quantity.Strength) (SpecificGravity, error) {
	dr, err := Dealcoholised(at20, alcohol)
	if err != nil {
		return 0, err
	}
	if err := checkTemperature(t); err != nil {
		return 0, err
	}
	p, err := MassFraction(alcohol)
	if err != nil {
		return 0, err
	}
	w, err := sucroseFraction(float64(dr))
	if err != nil {
		return 0, err
	}
	glass := 1 + glassExpansion*(t-h.Graduated).Celsius()
	rho := float64(at20) * kell(20) * expansion(p, w, t.Celsius()) * glass
	return SpecificGravity(rho / kell(h.Graduated.Celsius())), nil
}
