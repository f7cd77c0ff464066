package bench

import (
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "solution-ph",
	Title:    "pH of a solution of known make",
	Purpose:  "the pH that acids and potassium of known amounts come to",
	Question: Becomes,
	Inputs: []Input{
		amountOf("tartaric_g_l", "tartaric acid", 20), amountOf("malic_g_l", "malic acid", 20), amountOf("lactic_g_l", "lactic acid", 20),
		amountOf("succinic_g_l", "succinic acid", 20), amountOf("citric_g_l", "citric acid, anhydrous", 20), amountOf("acetic_g_l", "acetic acid", 20),
		amountOf("potassium_g_l", "potassium", 5),
		inStrength("0"), inTemperature(),
	},
	Outputs: []Output{
		{Key: "ph", Label: "pH", Unit: ph, Decimals: 3},
		{Key: "ionic_strength", Label: "ionic strength, mol/L", Decimals: 4},
		{Key: "ta_g_l", Label: "titratable acidity to 8.2, as tartaric", Unit: gPerL, Decimals: 2},
	},
	Cautions: []Warning{
		{Code: "extrapolated", When: "the ionic strength is beyond the activity equation's range", Mark: cited.Computed,
			Text: "The ionic strength lies beyond what the Davies equation is meant for (0.5 mol/L): a guess."},
		{Code: "not-a-wine", When: "alcohol is given", Mark: cited.Computed, Ref: "Forina et al. 1986, 178 wines",
			Text: "A wine holds acids and ions that are not in this sum: predicted from a laboratory's panel its pH is good to ± 0.2; for a wine use its measured pH."},
	},
	Sources: []Source{sourceChargeBalance},
	Check:   Check{Against: "NIST and Staples-Bates pH standards; acid solutions computed from NIST 46 constants", Mark: cited.Read},
	Example: []string{"tartaric_g_l=2.5", "malic_g_l=2", "succinic_g_l=0.7", "potassium_g_l=1.0", "abv_pct=12"},
	Notes:   "No dissolved carbon dioxide and no ion pairs. 0 to 20 % vol, 0 to 40 °C.",
	Work:    workSolutionPH,
})

func amountOf(key, label string, most float64) Input {
	return Input{Key: key, Label: label, Unit: gPerL, Min: 0, Max: most, Default: "0"}
}

// potassiumMass is the molar mass of potassium, g/mol (IUPAC).
const potassiumMass = 39.0983

func workSolutionPH(s *Sheet) error {
	potassium := s.Concentration("potassium_g_l")
	charge := quantity.Molarity(potassium.GPerL() / potassiumMass)
	c := acidbase.Composition{
		Tartaric: s.Concentration("tartaric_g_l"), Malic: s.Concentration("malic_g_l"), Lactic: s.Concentration("lactic_g_l"),
		Succinic: s.Concentration("succinic_g_l"), Citric: s.Concentration("citric_g_l"), Acetic: s.Concentration("acetic_g_l"),
		Potassium: potassium, StrongIons: charge,
		Alcohol: s.Strength("abv_pct"), Temperature: s.Temperature("temp_c"),
	}
	solution, err := c.Solve()
	if err != nil {
		return err
	}
	ta, err := c.TA(acidbase.EndPointAOAC, acidbase.Tartaric)
	if err != nil {
		return err
	}
	s.Step("strong-ion excess", charge.MmolPerL(), milliequivalent, 2, "{potassium} / {molar mass} * 1000", s.term("potassium_g_l"), term("molar mass", potassiumMass, plain))
	s.OutSolved("ionic_strength", solution.IonicStrength.MolPerL(), "half the sum of all ions times their charge squared, at the pH found")
	s.OutSolved("ph", float64(solution.PH), "where potassium and hydrogen ions balance the acids' anions, with Davies activity coefficients",
		s.term("tartaric_g_l"), s.term("malic_g_l"), s.term("lactic_g_l"), s.term("succinic_g_l"), s.term("citric_g_l"), s.term("acetic_g_l"),
		term("strong-ion excess", charge.MmolPerL(), milliequivalent), s.term("abv_pct"), s.term("temp_c"))
	s.OutSolved("ta_g_l", ta.GPerL(), "lye that brings it to pH 8.2")
	if solution.Extrapolated {
		s.Caution("extrapolated")
	}
	if s.Given("abv_pct") && s.Num("abv_pct") > 0 {
		s.Caution("not-a-wine")
	}
	return nil
}
