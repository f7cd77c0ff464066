package bench

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

var _ = declare(Calculator{
	Name:     "molecular-so2",
	Title:    "Molecular SO2",
	Purpose:  "how much of the free sulfur dioxide is in the form that protects",
	Question: Measured,
	Inputs: []Input{
		{Key: "free_so2_mg_l", Label: "free SO2", Unit: mgPerL, Min: 0, Max: 500, Required: true, Fill: LotFreeSO2},
		inPH(), inStrength("12"), inTemperature(), inMethod(),
	},
	Outputs: []Output{
		{Key: "molecular_so2_mg_l", Label: "molecular SO2", Unit: mgPerL, Decimals: 2},
		{Key: "percent", Label: "share of the free SO2", Unit: percent, Decimals: 2},
		{Key: "pk", Label: "constant used", Decimals: 3},
	},
	Cautions: []Warning{
		cautionOneRule, cautionOIVSlope, cautionPHError,
		{Code: "smelled", When: "molecular SO2 is 2 mg/L or more", Mark: cited.Read,
			Text: "Molecular SO2 is smelled from about 2 mg/L.", Ref: "Waterhouse, Sacks, Jeffery 2016, Understanding Wine Chemistry, table 17.1"},
		{Code: "nothing-left", When: "free SO2 is under 5 mg/L", Mark: cited.Memory,
			Text: "A free SO2 this low is within the error of the test, and red wine read by iodine shows 3 to 10 mg/L that is not there."},
	},
	Sources: []Source{
		sourceOIVSO2, sourceHandbookSO2, sourceSO2Slope,
		{Ref: "Waterhouse, Sacks, Jeffery 2016, Understanding Wine Chemistry, table 17.1", Used: "usual aims 0.6 to 0.8 mg/L, smelled from 2 mg/L", Mark: cited.Read},
	},
	Check:   Check{Against: "OIV-MA-AS323-04C formulas, and the free SO2 and pH pairs of Barata et al. 2008", Mark: cited.Read},
	Example: []string{"free_so2_mg_l=30", "ph=3.40", "ph_pm=0.05", "abv_pct=12", "temp_c=20", "method=handbook"},
	Notes: "The two rules differ by 40 % at 12 % vol and 20 °C. The usual aims (0.5, 0.6, 0.8 mg/L) were set with the handbook constant; " +
		"never hold a figure of one rule against an aim of the other.",
	Work: workMolecularSO2,
})

func inMethod() Input {
	return Input{Key: "method", Label: "rule for the molecular share", Kind: Option, Default: sulfite.Default.String(),
		Help: "the usual aims were set with the handbook constant",
		Options: []Choice{
			{"handbook", sulfite.Handbook.Label()}, {"oiv", sulfite.OIV.Label()}, {"oiv-slope", sulfite.OIVSlope.Label()},
		}}
}

var (
	sourceOIVSO2 = Source{Ref: "OIV-MA-AS323-04C, Table 1 and formulas (its 20 % vol row from memory)",
		Used: "pKT by strength and temperature, pKM = pKT − A√I/(1 + B√I) with I = 0.038", Mark: cited.Read}
	sourceHandbookSO2 = Source{Ref: "handbook constant 1.81; equal to the value in water at 20 °C from Shock, Helgeson, Sverjensky 1989",
		Used: "percent = 100/(1 + 10^(pH − 1.81))", Mark: cited.Computed}
	sourceSO2Slope = Source{Ref: "Shock, Helgeson, Sverjensky 1989; Shock, Helgeson 1988",
		Used: "ΔH −17.40 kJ/mol, for oiv-slope at temperatures other than 20 °C", Mark: cited.Computed}

	cautionOneRule = Warning{Code: "one-rule", When: "always", Mark: cited.Computed,
		Text: "The two rules differ by 40 %; hold this figure only against an aim set by the same rule.",
		Ref:  "OIV-MA-AS323-04C against the handbook constant"}
	cautionOIVSlope = Warning{Code: "oiv-slope", When: "the OIV table is used away from 20 °C", Mark: cited.Computed,
		Text: "The OIV table's effect of temperature is about four times what calorimetry allows; oiv-slope keeps the table at 20 °C and takes the thermodynamic slope.",
		Ref:  "OIV-MA-AS323-04C Table 1 against Shock, Helgeson, Sverjensky 1989"}
	cautionPHError = Warning{Code: "ph-error", When: "no ± was given for the pH", Mark: cited.Computed,
		Text: "The pH decides: an error of 0.05 moves molecular SO2 by 12 %, one of 0.10 by 26 %. Give ph_pm to see it."}
)

// ruleOf reads the chosen rule; the options are the rules' own names.
func (s *Sheet) ruleOf(key string) sulfite.Rule {
	rule, err := sulfite.ParseRule(s.Choice(key))
	if err != nil {
		panic("bench: " + err.Error())
	}
	return rule
}

// stepConstant shows where the constant came from.
func stepConstant(s *Sheet, share sulfite.Share, w sulfite.Wine) {
	switch share.Rule {
	case sulfite.Handbook:
		s.OutSolved("pk", share.PK, "the handbook constant, whatever the strength and the temperature")
	case sulfite.OIV:
		table, err := sulfite.TabulatedConstant(w.Alcohol, w.Temperature)
		if err != nil {
			return // the share itself was reckoned from it, so this cannot be
		}
		s.Solved("pKT of OIV-MA-AS323-04C", table, plain, 3, "Table 1, read in a straight line between its strengths and temperatures",
			term("alcohol", w.Alcohol.Percent(), percentVol), term("temperature", w.Temperature.Celsius(), celsius))
		s.Out("pk", share.PK, "{pKT} - {term of ionic strength 0.038}", term("pKT", table, plain), term("term of ionic strength 0.038", table-share.PK, plain))
	default:
		s.OutSolved("pk", share.PK, "Table 1 of OIV-MA-AS323-04C at 20 °C, carried to this temperature by ΔH −17.4 kJ/mol",
			term("alcohol", w.Alcohol.Percent(), percentVol), term("temperature", w.Temperature.Celsius(), celsius))
	}
}

func workMolecularSO2(s *Sheet) error {
	rule, free := s.ruleOf("method"), s.Concentration("free_so2_mg_l")
	wine := sulfite.Wine{PH: s.PH("ph"), Alcohol: s.Strength("abv_pct"), Temperature: s.Temperature("temp_c")}
	share, err := rule.Share(wine)
	if err != nil {
		return err
	}
	stepConstant(s, share, wine)
	pk := term("pK", share.PK, plain)
	s.Out("percent", share.Fraction*100, "100 / (1 + 10^({pH} - {pK}))", s.term("ph"), pk)
	s.Out("molecular_so2_mg_l", quantity.Concentration(share.Fraction*float64(free)).MgPerL(), "{free SO2} / (1 + 10^({pH} - {pK}))",
		s.term("free_so2_mg_l"), s.term("ph"), pk)

	s.Caution("one-rule")
	if rule == sulfite.OIV && math.Abs(wine.Temperature.Celsius()-20) > 0.5 {
		s.Caution("oiv-slope")
	}
	if s.of("ph").plus == 0 {
		s.Caution("ph-error")
	}
	if share.Fraction*free.MgPerL() >= 2 {
		s.Caution("smelled")
	}
	if free.MgPerL() < 5 {
		s.Caution("nothing-left")
	}
	return nil
}
