package bench

import (
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "deacidification",
	Title:    "Deacidification",
	Purpose:  "what a carbonate does to pH and acidity, at once and after the cold, or the dose for an aim",
	Question: HowMuch,
	Inputs: append(inputsOfWine(),
		inMalic().withDefault("0"),
		Input{Key: "agent", Label: "carbonate", Kind: Option, Default: "potassium-bicarbonate", Options: []Choice{
			{"potassium-bicarbonate", "potassium bicarbonate, KHCO3"}, {"potassium-carbonate", "potassium carbonate, K2CO3"}, {"calcium-carbonate", "calcium carbonate, CaCO3"},
		}},
		Input{Key: "dose_g_l", Label: "dose", Unit: gPerL, Min: 0, Max: 50, Usual: 2},
		inTargetPH(), inTargetTA(),
		inVolume(wineNotVessel).withDefault(""),
		inCold(), inPlace(),
	),
	Groups: []Group{{ExactlyOne, []string{"dose_g_l", "target_ph", "target_ta_g_l"}}},
	Outputs: []Output{
		{Key: "agent_g_l", Label: "to add", Unit: gPerL, Decimals: 2, Usual: 2},
		{Key: "agent_g", Label: "for this volume", Unit: gram, Decimals: 1, Optional: true},
		{Key: "ph_after", Label: "pH at once", Unit: ph, Decimals: 2},
		{Key: "ta_after_g_l", Label: "titratable acidity at once", Unit: gPerL, Decimals: 2},
		{Key: "ph_after_cold", Label: "pH once tartrate has fallen", Unit: ph, Decimals: 2, Optional: true},
		{Key: "ta_after_cold_g_l", Label: "acidity once tartrate has fallen", Unit: gPerL, Decimals: 2, Optional: true},
		{Key: "bitartrate_falls_g_l", Label: "potassium bitartrate that may fall", Unit: gPerL, Decimals: 2, Optional: true},
		{Key: "potassium_added_mg_l", Label: "potassium added", Unit: mgPerL, Decimals: 0},
		{Key: "calcium_added_mg_l", Label: "calcium added", Unit: mgPerL, Decimals: 0},
		{Key: "co2_g_l", Label: "carbon dioxide set free", Unit: gPerL, Decimals: 2},
	},
	Cautions: []Warning{
		cautionRemeasure,
		{Code: "foam", When: "always", Mark: cited.CommonPractice,
			Text: "It foams: add slowly, stirring, with a fifth of the vessel empty; the gas needs an aired room."},
		{Code: "three-answers", When: "a potassium salt", Mark: cited.Computed,
			Text: "For 1 g/L of acidity three doses of bicarbonate are in use: 1.33 g/L if no tartrate falls, 0.67 if all the added potassium leaves as tartrate, 0.9 in handbooks. Allow weeks in the cold and measure."},
		{Code: "most-that-falls", When: "a cold temperature is given", Mark: cited.Computed,
			Text: "This is the most that can fall at that temperature; colloids hold some of it back for months. Where potassium was not measured it is good to 20 %."},
		{Code: "poor-place", When: "acidity over 10 g/L and pH 3.0 or more, a potassium salt", Mark: cited.Read, Ref: "Mattick, Plane, Weirs 1980, Am J Enol Vitic 31:350, abstract",
			Text: "Potassium bicarbonate is only effective below pH 3.0 when the acidity is above 10 g/L."},
		{Code: "malolactic-instead", When: "malic acid over 4 g/L", Mark: cited.Read, Ref: "Mattick, Plane, Weirs 1980, Am J Enol Vitic 31:350, abstract",
			Text: "With malic acid much above 4 g/L malolactic is the better road."},
		{Code: "calcium-later", When: "calcium carbonate", Mark: cited.Memory,
			Text: "Calcium tartrate may fall months later, in the bottle, and the cold does not hurry it: early in must, never shortly before bottling."},
		{Code: "ph-too-high", When: "the pH at once is over 3.65", Mark: cited.Memory,
			Text: "Above about pH 3.65 wine spoils easily and sulfur dioxide protects poorly."},
		{Code: "law", When: "no place is given", Mark: cited.Read, Ref: "27 CFR 24.246, 2015 edition",
			Text: "For wine that is sold: United States law wants 5 g/L fixed acid left; the European Union allows 1 g/L of deacidification in wine (from memory)."},
	},
	Stops: []Warning{
		{Code: "under-us-acid", When: "place is us and the acidity would fall under 5 g/L", Mark: cited.Read, Ref: "27 CFR 24.246, 2015 edition",
			Text: "United States law for bonded wine: deacidification not below 5 g/L fixed acid (titratable acidity stands for it here)."},
		{Code: "over-eu-deacidification", When: "place is eu and more than 1 g/L as tartaric is taken off", Mark: cited.Memory, Ref: "Reg. (EU) 1308/2013 Annex VIII",
			Text: "European Union: at most 1 g/L as tartaric acid may be taken off wine."},
	},
	Sources: []Source{
		sourceChargeBalance,
		{Used: "stoichiometry: 1 g/L takes off 0.750 (KHCO3), 1.086 (K2CO3), 1.500 g/L (CaCO3) as tartaric acid before anything falls", Mark: cited.Computed},
		{Ref: "Mattick, Plane, Weirs 1980, Am J Enol Vitic 31:350, abstract", Used: "when bicarbonate works", Mark: cited.Read},
		{Ref: "27 CFR 24.246 (2015)", Used: "floor of 5 g/L", Mark: cited.Read},
		{Ref: "Berg, Keefer 1958, quoted by Ribéreau-Gayon (Russian edition, table 12.3)", Used: "solubility of potassium bitartrate in alcohol and water", Mark: cited.SecondHand},
	},
	Check:   Check{Against: "stoichiometry by hand; another program's charge-balance model (NIST 46 constants) for the rise in pH", Mark: cited.Computed},
	Example: []string{"ph=3.20", "ta_g_l=8.5", "ta_endpoint_ph=8.2", "abv_pct=12", "agent=potassium-bicarbonate", "dose_g_l=1", "volume_l=54", "cold_c=2"},
	Notes:   "Calcium carbonate is reckoned plain; removing tartaric and malic acid together as a double salt, on a part of the must above pH 5, is not reckoned here.",
	Work:    workDeacidification,
})

var carbonates = map[string]acidbase.Agent{
	"potassium-bicarbonate": acidbase.PotassiumBicarbonate, "potassium-carbonate": acidbase.PotassiumCarbonate, "calcium-carbonate": acidbase.CalciumCarbonate,
}

func workDeacidification(s *Sheet) error {
	agent := carbonates[s.Choice("agent")]
	wine, err := s.anchor(s.Concentration("malic_g_l"))
	if err != nil {
		return err
	}
	dose, how, err := s.doseOf(&wine, agent)
	if err != nil {
		return err
	}
	needed := dose
	dose = quantity.Concentration(s.Fix("dose", needed.GPerL())) // an error of the readings does not change what was weighed
	after, err := wine.Add(agent, dose)
	if err != nil {
		return err
	}
	phAfter, ta, err := phAndTA(&after, wine.EndPoint)
	if err != nil {
		return err
	}
	added := term(agent.String()+" added", dose.GPerL(), gPerL)
	s.OutSolved("agent_g_l", needed.GPerL(), how)
	if s.Given("volume_l") {
		s.Out("agent_g", needed.In(s.Volume("volume_l")).Grams(), "{dose} * {volume}", term("dose", needed.GPerL(), gPerL), s.term("volume_l"))
	}
	for _, brought := range []struct {
		key string
		ion acidbase.Ion
	}{{"potassium_added_mg_l", acidbase.Potassium}, {"calcium_added_mg_l", acidbase.Calcium}} {
		s.OutSolved(brought.key, agent.Brings(brought.ion, dose).MgPerL(), "by molar mass of "+agent.Formula(), added)
	}
	s.OutSolved("co2_g_l", agent.CO2(dose).GPerL(), "one carbon dioxide from each "+agent.Formula(), added)
	s.OutSolved("ph_after", float64(phAfter), "charge balance of the wine with the salt in it and its carbon dioxide gone", added)
	s.OutSolved("ta_after_g_l", ta.GPerL(), "lye that brings it to the end point, as tartaric acid", s.term("ta_g_l"), added,
		term("taken off per gram", agent.NeutralisesPerGram(), plain))
	if s.Given("cold_c") {
		if err := s.settled(&after, wine.EndPoint, "ph_after_cold", "ta_after_cold_g_l", "bitartrate_falls_g_l"); err != nil {
			return err
		}
	}
	s.deacidificationNotices(agent, float64(phAfter), ta.GPerL())
	return nil
}

func (s *Sheet) deacidificationNotices(agent acidbase.Agent, phAfter, ta float64) {
	switch s.Choice("place") {
	case "us":
		if ta < 5 {
			s.Stop("under-us-acid", "It would come to %s g/L.", fixed(ta, 2))
		}
	case "eu":
		if taken := s.Num("ta_g_l") - ta; taken > 1.005 { // a limit printed as 1 is met by what rounds to 1.00
			s.Stop("over-eu-deacidification", "This takes off %s g/L.", fixed(taken, 2))
		}
	default:
		s.Caution("law")
	}
	if agent == acidbase.CalciumCarbonate {
		s.Caution("calcium-later")
	} else {
		s.Caution("three-answers")
		if s.Num("ta_g_l") > 10 && s.Num("ph") >= 3.0 {
			s.Caution("poor-place")
		}
	}
	if s.Num("malic_g_l") > 4 {
		s.Caution("malolactic-instead")
	}
	if phAfter > 3.65 {
		s.Caution("ph-too-high")
	}
	s.Caution("foam")
	s.Caution("measure-again")
}
