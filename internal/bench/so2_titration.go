package bench

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

var _ = declare(Calculator{
	Name:     "so2-titration",
	Title:    "SO2 from a titration",
	Purpose:  "free or total SO2 from the millilitres of an aspiration or an iodine titration",
	Question: Measured,
	Inputs: []Input{
		{Key: "method", Label: "method", Kind: Option, Default: "aspiration", Options: []Choice{
			{"aspiration", "aspiration into peroxide, lye"}, {"iodine", "iodine, starch"}}},
		{Key: "sample_ml", Label: "wine", Unit: millilitre, Min: 1, Max: 500, Required: true},
		{Key: "titrant_ml", Label: "titrant used", Unit: millilitre, Min: 0, Max: 200, Required: true},
		{Key: "titrant_normality", Label: "strength of the titrant", Unit: normal, Min: 0.0001, Max: 2, Required: true, Help: "0.01 for 0.01 N lye, 0.02 for 0.02 N iodine"},
		{Key: "blank_ml", Label: "titrant used by a blank", Unit: millilitre, Min: 0, Max: 50, Default: "0"},
		{Key: "fraction", Label: "what was titrated", Kind: Option, Default: "free", Options: []Choice{{"free", "free SO2"}, {"total", "total SO2"}}},
		inColour(),
	},
	Outputs: []Output{
		{Key: "so2_mg_l", Label: "SO2", Unit: mgPerL, Decimals: 1},
		{Key: "per_ml_mg_l", Label: "each millilitre of titrant is", Unit: mgPerL, Decimals: 2},
		{Key: "likely_low_mg_l", Label: "likely not less than", Unit: mgPerL, Decimals: 0},
		{Key: "likely_high_mg_l", Label: "likely not more than", Unit: mgPerL, Decimals: 0},
	},
	Cautions: []Warning{
		{Code: "iodine-red", When: "iodine on a red wine", Mark: cited.Memory,
			Text: "Red wines read 3 to 10 mg/L high by iodine: colour and phenols take it up, and bound SO2 lets go meanwhile. Do not dose on it without a margin."},
		{Code: "run-long", When: "aspiration", Mark: cited.Read, Ref: "Winemakers Research Exchange 2020, summary",
			Text: "A warm bath or too long a run reads high; in one trial three operators all read below a reference laboratory. Ice on the flask, a known spike recovered to 90 to 110 %."},
		{Code: "at-once", When: "always", Mark: cited.CommonPractice, Text: "Test within the hour: the sample loses SO2. Iodine and lye weaken: standardise each session."},
	},
	Sources: []Source{
		{Used: "two equivalents for each SO2: mg/L = (mL − blank) × N × 32 030 / mL wine", Mark: cited.Computed},
		{Ref: "USP monograph of potassium metabisulfite", Used: "1 mL of 0.1 N iodine is 3.203 mg SO2", Mark: cited.Read},
		{Used: "spread of one reading: aspiration 1.5 with 4 between kits, iodine 2.5 with 6 (SD, mg/L)", Mark: cited.Memory},
	},
	Check:   Check{Against: "USP monograph: 3.203 mg SO2 for each mL of 0.1 N iodine", Mark: cited.Read},
	Example: []string{"sample_ml=20", "titrant_ml=1.6", "titrant_ml_pm=0.05", "titrant_normality=0.01"},
	Work:    workSO2Titration,
})

func workSO2Titration(s *Sheet) error {
	if s.Num("blank_ml") > s.Num("titrant_ml") {
		s.Refuse("blank_ml", "at most the titrant used, %s mL", tidy(s.Num("titrant_ml")))
		return nil
	}
	t := sulfite.Titration{Titrant: s.Volume("titrant_ml"), Blank: s.Volume("blank_ml"), Normality: quantity.Molarity(s.Num("titrant_normality"))}
	found, err := t.InSample(s.Volume("sample_ml"))
	if err != nil {
		return err
	}
	const perEquivalent = sulfite.MolarMassSO2 / 2 * 1000
	factor := constant("mg SO2 per equivalent", perEquivalent, plain, "half the molar mass of SO2")
	s.Out("per_ml_mg_l", s.Num("titrant_normality")*perEquivalent/s.Num("sample_ml"), "{strength of the titrant} * {mg SO2 per equivalent} / {wine}", s.term("titrant_normality"), factor, s.term("sample_ml"))
	s.Out("so2_mg_l", found.MgPerL(), "({titrant used} - {titrant used by a blank}) * {strength of the titrant} * {mg SO2 per equivalent} / {wine}",
		s.term("titrant_ml"), s.term("blank_ml"), s.term("titrant_normality"), factor, s.term("sample_ml"))
	iodineOnRed := s.Choice("method") == "iodine" && s.Choice("colour") == "red"
	spread, shift := 4.3, 0.0 // hypot(1.5, 4)
	if s.Choice("method") == "iodine" {
		spread = 6.5 // hypot(2.5, 6)
	}
	if iodineOnRed {
		shift = 6.5 // middle of 3 to 10
	}
	if s.Choice("fraction") == "total" {
		spread = max(spread, 0.11*found.MgPerL()) // 5 % with 10 % between kits
	}
	terms := []Term{term("found", found.MgPerL(), mgPerL), term("usual excess", shift, mgPerL), term("spread", spread, mgPerL)}
	s.Out("likely_low_mg_l", max(0, found.MgPerL()-shift-spread), "max(0, {found} - {usual excess} - {spread})", terms...)
	s.Out("likely_high_mg_l", max(0, found.MgPerL()-shift+spread), "max(0, {found} - {usual excess} + {spread})", terms...)
	if iodineOnRed {
		s.Caution("iodine-red")
	}
	if s.Choice("method") == "aspiration" {
		s.Caution("run-long")
	}
	s.Caution("at-once")
	return nil
}
