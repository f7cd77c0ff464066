package bench

import (
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "ta-titration",
	Title:    "Titratable acidity from a titration",
	Purpose:  "millilitres of lye into grams of acid per litre",
	Question: Measured,
	Inputs: []Input{
		{Key: "sample_ml", Label: "sample", Unit: millilitre, Min: 0.1, Max: 1000, Required: true, Help: "degassed; water added to it does not count"},
		{Key: "naoh_normality", Label: "strength of the lye", Unit: normal, Min: 0.001, Max: 5, Required: true, Help: "0.1 for 0.1 N; sodium hydroxide has one equivalent a mole"},
		{Key: "naoh_ml", Label: "lye used", Unit: millilitre, Min: 0, Max: 500, Required: true},
		{Key: "blank_ml", Label: "lye used by a blank", Unit: millilitre, Min: 0, Max: 50, Default: "0", Help: "the same water and indicator without wine"},
		{Key: "factor", Label: "factor of the lye", Min: 0.5, Max: 1.5, Default: "1", Help: "found against potassium hydrogen phthalate or a known tartaric solution; 1 is nominal"},
		inAcid("as", "expressed as"),
		{Key: "ta_endpoint_ph", Label: "end point", Unit: ph, Min: 6.5, Max: 9, Exact: true, Help: "kept with the result; nothing is converted between end points"},
	},
	Outputs: []Output{
		{Key: "ta_g_l", Label: "titratable acidity", Unit: gPerL, Decimals: 2},
		{Key: "ta_meq_l", Label: "the same in equivalents", Unit: milliequivalent, Decimals: 1},
		{Key: "ta_tartaric_g_l", Label: "the same as tartaric acid", Unit: gPerL, Decimals: 2},
	},
	Cautions: []Warning{
		cautionCaustic,
		{Code: "degas", When: "always", Mark: cited.Memory,
			Text: "Dissolved carbon dioxide adds 0.2 to 0.4 g/L: shake under vacuum, or warm to 40 °C and cool, before titrating."},
		{Code: "end-point", When: "no end point is given", Mark: cited.Memory,
			Text: "A titratable acidity without its end point cannot be compared: 8.2 and 7.0 differ by 0.1 to 0.4 g/L in real wine."},
		{Code: "odd-acidity", When: "the result is under 2 or over 15 g/L as tartaric acid", Mark: cited.Proposal,
			Text: "Wine and must lie between 2 and 15 g/L as tartaric acid: look again at the sample, the normality and the burette."},
		{Code: "titrant", When: "the factor is left at 1", Mark: cited.CommonPractice,
			Text: "Lye takes up carbon dioxide and weakens: standardise it weekly while in use."},
	},
	Sources: []Source{
		{Ref: "OIV-MA-AS313-01 (summary)", Used: "titratable acidity is the sum to the end point, carbon dioxide excluded, in meq/L or as an acid", Mark: cited.Read},
		{Used: "grams per equivalent from molar masses: tartaric 75.04, malic 67.04, lactic 90.08, citric 64.04, acetic 60.05, sulfuric 49.04", Mark: cited.Computed},
	},
	Check:   Check{Against: "stoichiometry worked by hand from molar masses", Mark: cited.Computed},
	Example: []string{"sample_ml=5", "naoh_normality=0.1", "naoh_ml=4.20", "naoh_ml_pm=0.05", "as=tartaric", "ta_endpoint_ph=8.2"},
	Work:    workTATitration,
})

// acids are the ones that titratable acidity is expressed as.
var acids = map[string]acidbase.Acid{
	"tartaric": acidbase.Tartaric, "malic": acidbase.Malic, "lactic": acidbase.Lactic, "succinic": acidbase.Succinic,
	"citric": acidbase.Citric, "acetic": acidbase.Acetic, "sulfuric": acidbase.Sulfuric,
}

func inAcid(key, label string) Input {
	return Input{Key: key, Label: label, Kind: Option, Default: "tartaric", Options: []Choice{
		{"tartaric", "tartaric acid"}, {"malic", "malic acid"}, {"lactic", "lactic acid"}, {"succinic", "succinic acid"},
		{"citric", "citric acid"}, {"acetic", "acetic acid"}, {"sulfuric", "sulfuric acid"},
	}}
}

// perEquivalent is the mass of an acid that one mole of charge stands for, g/mol.
func perEquivalent(a acidbase.Acid) float64 { return a.FromEquivalents(quantity.MolPerLitre).GPerL() }

func workTATitration(s *Sheet) error {
	acid := acids[s.Choice("as")]
	used := s.Num("naoh_ml") - s.Num("blank_ml")
	if used < 0 {
		s.Refuse("blank_ml", "at most the lye used, %s mL", tidy(s.Num("naoh_ml")))
		return nil
	}
	meq := used * s.Num("naoh_normality") * s.Num("factor") / s.Num("sample_ml") * 1000
	s.Out("ta_meq_l", meq, "({lye used} - {lye used by a blank}) * {strength of the lye} * {factor of the lye} / {sample} * 1000",
		s.term("naoh_ml"), s.term("blank_ml"), s.term("naoh_normality"), s.term("factor"), s.term("sample_ml"))
	charge := quantity.Molarity(meq) * quantity.MillimolPerLitre
	s.Out("ta_g_l", acid.FromEquivalents(charge).GPerL(), "{meq/L} / 1000 * {g per equivalent of "+acid.String()+"}",
		term("meq/L", meq, milliequivalent), term("g per equivalent of "+acid.String(), perEquivalent(acid), plain))
	tartaric := acidbase.Tartaric.FromEquivalents(charge).GPerL()
	s.Out("ta_tartaric_g_l", tartaric, "{meq/L} / 1000 * {g per equivalent of tartaric acid}",
		term("meq/L", meq, milliequivalent), term("g per equivalent of tartaric acid", perEquivalent(acidbase.Tartaric), plain))

	s.Caution("degas")
	if !s.Given("ta_endpoint_ph") {
		s.Caution("end-point")
	}
	if tartaric < 2 || tartaric > 15 {
		s.Caution("odd-acidity")
	}
	if s.Num("factor") == 1 {
		s.Caution("titrant")
	}
	s.Caution("caustic")
	return nil
}
