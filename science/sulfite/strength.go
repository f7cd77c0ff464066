package sulfite

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// Loss of strength of an opened jar of metabisulfite: a tenth in a year "or more" is
// said. Buy fresh yearly, or find the strength ([FoundStrength]).
const OpenedLossPerYear = 0.10

// OpenedLossSource is the standing of OpenedLossPerYear.
var OpenedLossSource = cited.Source{Text: "10 % or more a year once opened", Mark: cited.Memory}

// AgedStrength is what is left of a strength after a time, if it goes by the same
// share each year: k = k0·(1 − loss)^(days/365.25). A rule of thumb only: the form
// is ours, the usual rate from memory ([OpenedLossPerYear]). Domain: strength as a share, 0.2 to 1; 0 to 20 years; loss as
// a share a year, 0 to 0.9. Outside it the error is a *quantity.RangeError.
func AgedStrength(start float64, age quantity.Days, lossPerYear float64) (float64, error) {
	if err := quantity.Check("strength of the powder", 100*start, "%", 20, 100); err != nil {
		return 0, err
	}
	if err := quantity.Check("age", float64(age), "days", 0, 20*365.25); err != nil {
		return 0, err
	}
	if err := quantity.Check("loss of strength", 100*lossPerYear, "% a year", 0, 90); err != nil {
		return 0, err
	}
	return start * math.Pow(1-lossPerYear, float64(age)/365.25), nil
}

// so2PerEquivalent is the mass of SO2 that one mole of iodine atoms, or of sodium
// hydroxide after oxidation to sulfuric acid, answers to, g.
const so2PerEquivalent = MolarMassSO2 / 2

// A Titration is a volume of titrant of known normality, with the blank to take off.
type Titration struct {
	Titrant   quantity.Volume
	Blank     quantity.Volume
	Normality quantity.Molarity // equivalents per litre
}

// SO2 is the mass of SO2 that the titrant answers to: 3.203 mg for each mL of 0.1 N
// iodine (USP monograph of potassium metabisulfite), or of 0.1 N sodium hydroxide
// when the SO2 was carried over into hydrogen peroxide. Titrant 0 to 200 mL, the blank
// not more than that, 0.0001 to 2 N; a *quantity.RangeError outside.
func (t Titration) SO2() (quantity.Mass, error) {
	if err := quantity.Check("titrant", t.Titrant.Millilitres(), "mL", 0, 200); err != nil {
		return 0, err
	}
	if err := quantity.Check("blank", t.Blank.Millilitres(), "mL", 0, t.Titrant.Millilitres()); err != nil {
		return 0, err
	}
	if err := quantity.Check("normality", t.Normality.MolPerL(), "N", 1e-4, 2); err != nil {
		return 0, err
	}
	return quantity.Mass((t.Titrant - t.Blank).Litres() * t.Normality.MolPerL() * so2PerEquivalent), nil
}

// InSample is the SO2 of a wine from a titration: mg/L = (mL − blank)·N·32 030/mL
// sample, for the iodine titration and for aspiration alike. Free or total depends
// on how the sample was treated. By iodine, reds read 3 to 10 mg/L high (from
// memory). Sample 1 to 500 mL.
func (t Titration) InSample(sample quantity.Volume) (quantity.Concentration, error) {
	so2, err := t.SO2()
	if err != nil {
		return 0, err
	}
	return so2.Per(sample), quantity.Check("sample", sample.Millilitres(), "mL", 1, 500)
}

// FoundStrength is the strength of a powder from a titration of a weighed amount:
// SO2 found against what the pure salt would give. 250 mg of potassium
// metabisulfite that takes 42.0 mL of 0.1 N iodine is at 93.4 %. Mass 10 mg to 10 g.
func (t Titration) FoundStrength(s Salt, powder quantity.Mass) (float64, error) {
	if err := quantity.Check("powder weighed", powder.Grams()*1e3, "mg", 10, 10000); err != nil {
		return 0, err
	}
	so2, err := t.SO2()
	if err != nil {
		return 0, err
	}
	k := so2.Grams() / powder.Grams() / s.SO2Fraction()
	return k, quantity.Check("strength found", 100*k, "%", 0, 103)
}
