package bench

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

var _ = declare(Calculator{
	Name:     "sulfite-strength",
	Title:    "Strength of a jar of metabisulfite",
	Purpose:  "what is left of a powder's SO2, by iodine on a weighed amount",
	Question: Measured,
	Inputs: []Input{
		{Key: "salt", Label: "salt", Kind: Option, Default: "potassium-metabisulfite", Options: []Choice{
			{"potassium-metabisulfite", "potassium metabisulfite"}, {"sodium-metabisulfite", "sodium metabisulfite"}}},
		{Key: "powder_mg", Label: "powder titrated", Unit: milligram, Min: 10, Max: 10000, Required: true, Help: "of 2.50 g made up to 100 mL, 10 mL hold 250 mg"},
		{Key: "titrant_ml", Label: "iodine used", Unit: millilitre, Min: 0.1, Max: 200, Required: true},
		{Key: "titrant_normality", Label: "strength of the iodine", Unit: normal, Min: 0.0001, Max: 2, Default: "0.1"},
		{Key: "blank_ml", Label: "iodine used by a blank", Unit: millilitre, Min: 0, Max: 10, Default: "0"},
	},
	Outputs: []Output{
		{Key: "strength_pct", Label: "strength, of the pure salt", Unit: percent, Decimals: 1},
		{Key: "so2_pct", Label: "SO2 in the powder", Unit: percent, Decimals: 1},
		{Key: "extra_pct", Label: "so take more by", Unit: percent, Decimals: 1},
	},
	Cautions: []Warning{
		{Code: "replace", When: "under 80 %", Mark: cited.Proposal, Text: "Under 80 %: replace the jar; what has become of it is sulfate, and it goes on."},
		{Code: "pharmacopoeia", When: "under 51.8 % SO2, potassium salt", Mark: cited.Read, Ref: "USP, Potassium metabisulfite", Text: "Under what the pharmacopoeia accepts (51.8 to 57.6 % SO2)."},
		{Code: "over-pure", When: "over 100 %", Mark: cited.Computed, Text: "More than a pure salt can hold: look at the iodine's strength and the weight."},
		cautionSO2Gas,
	},
	Sources: []Source{
		{Ref: "USP monograph of potassium metabisulfite", Used: "250 mg sample, 1 mL of 0.1 N iodine is 3.203 mg SO2, 51.8 to 57.6 % accepted", Mark: cited.Read},
		{Used: "SO2 per gram by molar mass: 0.5763 and 0.6740", Mark: cited.Computed},
	},
	Check:   Check{Against: "USP monograph; titrations worked by hand from it", Mark: cited.Read},
	Example: []string{"powder_mg=250", "titrant_ml=42.0", "titrant_ml_pm=0.1"},
	Work:    workSulfiteStrength,
})

func workSulfiteStrength(s *Sheet) error {
	if s.Num("blank_ml") > s.Num("titrant_ml") {
		s.Refuse("blank_ml", "at most the iodine used, %s mL", tidy(s.Num("titrant_ml")))
		return nil
	}
	salt := sulfite.PotassiumMetabisulfite
	if s.Choice("salt") == "sodium-metabisulfite" {
		salt = sulfite.SodiumMetabisulfite
	}
	t := sulfite.Titration{Titrant: s.Volume("titrant_ml"), Blank: s.Volume("blank_ml"), Normality: quantity.Molarity(s.Num("titrant_normality"))}
	so2, err := t.SO2()
	if err != nil {
		return err
	}
	share := so2.Grams() / s.Mass("powder_mg").Grams() * 100
	s.Out("so2_pct", share, "({iodine used} - {iodine used by a blank}) * {strength of the iodine} * {mg SO2 per mL and N} / {powder titrated} * 100",
		s.term("titrant_ml"), s.term("blank_ml"), s.term("titrant_normality"), constant("mg SO2 per mL and N", sulfite.MolarMassSO2/2, plain, "half the molar mass of SO2"), s.term("powder_mg"))
	strength := share / salt.SO2Fraction()
	s.Out("strength_pct", strength, "{SO2 in the powder} / {SO2 in a pure gram}", term("SO2 in the powder", share, percent), constant("SO2 in a pure gram", salt.SO2Fraction(), plain, "molar mass of "+salt.Formula()))
	if strength <= 0 {
		s.Refuse("titrant_ml", "more than the blank: no SO2 was found at all")
		return nil
	}
	s.Out("extra_pct", (100/strength-1)*100, "(100 / {strength} - 1) * 100", term("strength", strength, percent))
	switch {
	case strength > 100.5:
		s.Caution("over-pure")
	case strength < 80:
		s.Caution("replace")
	case share < 51.8 && salt == sulfite.PotassiumMetabisulfite:
		s.Caution("pharmacopoeia")
	}
	s.Caution("so2-gas")
	return nil
}
