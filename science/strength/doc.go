// Package strength turns what floats, prisms and scales show into sugar, alcohol
// and extract.
//
//	reading, _ := strength.At20C.CorrectSG(1.0900, 25, 0) // must at 25 °C: 1.0915
//	potential, _ := strength.PotentialAlcohol(22, strength.MustLaw)
//	// likely 12.8 % vol, between 11.4 and 14.2
//	now, _ := strength.AlcoholFromGravities(1.0900, 0.9930, strength.MustLaw)
//	// 12.5 ± 0.5 % vol
//
// Ethanol and water follow OIML R 22 (54 coefficients), sucrose ICUMSA SPS-4, must
// Table II of OIV-MA-AS2-02, wine the Tabarié relation between them. Volumes and
// strengths are at 20 °C. What cannot be known well comes back as bounds or an
// interval, never as a bare figure: fermentable sugar and potential alcohol from
// Brix, alcohol from two gravities, anything a refractometer says once there is
// alcohol.
//
// Arguments outside the domain a function states come back as a
// [quantity.RangeError] that names the field, the value and what is allowed.
package strength
