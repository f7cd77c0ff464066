package bench

import (
	"elevage/science/acidbase"
	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "malolactic-shift",
	Title:    "pH and acidity after malolactic",
	Purpose:  "what converting the malic acid does to pH and titratable acidity",
	Question: Becomes,
	Inputs: append(inputsOfWine(),
		inMalic().required(),
		Input{Key: "converted_g_l", Label: "of which is converted", Unit: gPerL, Min: 0, Max: 15, Help: "left out: all of it"},
	),
	Outputs: []Output{
		{Key: "ph_after", Label: "pH after", Unit: ph, Decimals: 2},
		{Key: "ph_rise", Label: "rise of the pH", Unit: ph, Decimals: 2},
		{Key: "ta_after_g_l", Label: "titratable acidity after", Unit: gPerL, Decimals: 2},
		{Key: "lactic_g_l", Label: "lactic acid formed", Unit: gPerL, Decimals: 2},
		{Key: "co2_g_l", Label: "carbon dioxide given off", Unit: gPerL, Decimals: 2},
	},
	Cautions: []Warning{
		{Code: "tartrate-after", When: "always", Mark: cited.Read, Ref: "Rice, Mattick 1970, Am J Enol Vitic 21:145, abstract",
			Text: "Tartrate falls out after the pH has risen and lowers the acidity further; that is not in these figures."},
		{Code: "high-ph", When: "the pH after is over 3.65", Mark: cited.Memory,
			Text: "Above about pH 3.65 spoilage comes easily while the wine stands without sulfur dioxide: shorten the wait after the end."},
		{Code: "out-of-reach", When: "the pH after is over 3.7", Mark: cited.Computed,
			Text: "At this pH a molecular SO2 of 0.5 mg/L needs 39 mg/L free or more; consider the acid before the conversion rather than after it."},
	},
	Sources: []Source{
		sourceChargeBalance, sourceAnchorTest,
		{Used: "1 g malic acid gives 0.6718 g lactic acid and 0.3282 g carbon dioxide; one equivalent is lost per mole, 0.560 g/L as tartaric acid per g/L", Mark: cited.Computed},
		{Ref: "Bousbouras, Kunkee 1971, Am J Enol Vitic 22:121, abstract", Used: "rise up to 0.2, larger at higher starting pH", Mark: cited.Read},
	},
	Check:   Check{Against: "Bousbouras and Kunkee 1971, abstract (range and order); stoichiometry worked by hand", Mark: cited.Read},
	Example: []string{"ph=3.45", "ph_pm=0.03", "ta_g_l=6.4", "ta_g_l_pm=0.15", "ta_endpoint_ph=8.2", "malic_g_l=2.5", "malic_g_l_pm=0.2", "abv_pct=13", "temp_c=20"},
	Notes:   "The ± of the rise is smaller than the ± of the pH after: an error of the meter moves both ends alike.",
	Work:    workMalolacticShift,
})

func workMalolacticShift(s *Sheet) error {
	malic := s.Concentration("malic_g_l")
	converted := malic
	if s.Given("converted_g_l") {
		converted = s.Concentration("converted_g_l")
		if converted > malic {
			s.Refuse("converted_g_l", "at most the malic acid there is, %s g/L", tidy(malic.GPerL()))
			return nil
		}
	}
	wine, err := s.anchor(malic)
	if err != nil {
		return err
	}
	after, err := wine.Malolactic(converted)
	if err != nil {
		return err
	}
	phAfter, ta, err := phAndTA(&after, wine.EndPoint)
	if err != nil {
		return err
	}
	part := term("malic acid converted", converted.GPerL(), gPerL)
	s.Out("lactic_g_l", converted.GPerL()*acidbase.LacticPerMalic, "{malic acid converted} * {lactic per malic}", part, constant("lactic per malic", acidbase.LacticPerMalic, plain, "molar masses 90.078 / 134.087"))
	s.Out("co2_g_l", converted.GPerL()*acidbase.CO2PerMalic, "{malic acid converted} * {carbon dioxide per malic}", part, constant("carbon dioxide per malic", acidbase.CO2PerMalic, plain, "molar masses 44.009 / 134.087"))
	s.OutSolved("ph_after", float64(phAfter), "charge balance again, with that malic acid turned into lactic acid", part)
	s.Out("ph_rise", float64(phAfter-s.PH("ph")), "{pH after} - {pH}", term("pH after", float64(phAfter), ph), s.term("ph"))
	s.OutSolved("ta_after_g_l", ta.GPerL(), "lye that brings it to the end point, as tartaric acid; about 0.560 less for each gram of malic acid",
		s.term("ta_g_l"), part, s.term("ta_endpoint_ph"))

	s.Caution("tartrate-after")
	if phAfter > 3.65 {
		s.Caution("high-ph")
	}
	if phAfter > 3.7 {
		s.Caution("out-of-reach")
	}
	return nil
}
