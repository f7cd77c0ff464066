package bench

import (
	"errors"

	"elevage/internal/fault"
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "acid-addition",
	Title:    "Acid addition",
	Purpose:  "what a dose of acid does to pH and acidity, or the dose for a pH or an acidity",
	Question: HowMuch,
	Inputs: append(inputsOfWine(),
		inMalic().withDefault("0"),
		Input{Key: "acid", Label: "acid", Kind: Option, Default: "tartaric", Options: []Choice{
			{"tartaric", "tartaric acid"}, {"malic", "malic acid"}, {"lactic", "lactic acid"},
			{"citric", "citric acid, anhydrous"}, {"citric-monohydrate", "citric acid with one water"},
		}},
		Input{Key: "dose_g_l", Label: "dose", Unit: gPerL, Min: 0, Max: 50, Usual: 4},
		inTargetPH(), inTargetTA(),
		inVolume(wineNotVessel).withDefault(""),
		inCold(), stateOfMalolactic(), inPlace(),
	),
	Groups: []Group{{ExactlyOne, []string{"dose_g_l", "target_ph", "target_ta_g_l"}}},
	Outputs: []Output{
		{Key: "acid_g_l", Label: "acid to add", Unit: gPerL, Decimals: 2, Usual: 4},
		{Key: "acid_g", Label: "for this volume", Unit: gram, Decimals: 1, Optional: true},
		{Key: "ph_after", Label: "pH after", Unit: ph, Decimals: 2},
		{Key: "ta_after_g_l", Label: "titratable acidity after", Unit: gPerL, Decimals: 2},
		{Key: "ph_after_cold", Label: "pH once tartrate has fallen", Unit: ph, Decimals: 2, Optional: true},
		{Key: "ta_after_cold_g_l", Label: "acidity once tartrate has fallen", Unit: gPerL, Decimals: 2, Optional: true},
		{Key: "bitartrate_falls_g_l", Label: "potassium bitartrate that may fall", Unit: gPerL, Decimals: 2, Optional: true},
	},
	Cautions: []Warning{
		cautionRemeasure,
		{Code: "tenth-rule", When: "tartaric acid is added", Mark: cited.Computed,
			Text: "The rule of 0.1 pH per gram of tartaric acid holds near pH 3.1 only; at 3.5 it is 0.17, at 3.95 it is 0.24 before tartrate falls."},
		{Code: "tartrate-falls", When: "tartaric acid is added and no cold temperature is given", Mark: cited.Read,
			Ref:  "Winemakers Research Exchange, Cabernet Franc, Blenheim 2021",
			Text: "Part of added tartaric acid falls out again as potassium bitartrate; acid given at crush cost 2.3 times as much as acid given after malolactic in one trial."},
		{Code: "most-that-falls", When: "a cold temperature is given", Mark: cited.Computed,
			Text: "This is the most that can fall at that temperature; colloids hold some of it back for months. Where potassium was not measured it is good to 20 %."},
		{Code: "malic-eaten", When: "malic acid is added and malolactic is not blocked", Mark: cited.CommonPractice,
			Text: "Bacteria will turn added malic acid into lactic acid and gas."},
		{Code: "citric-bacteria", When: "citric acid is added and bacteria may be at work", Mark: cited.Memory,
			Text: "Bacteria turn citric acid into acetic acid and diacetyl: never before malolactic is over."},
		cautionAcidLaw,
	},
	Stops: []Warning{
		{Code: "over-us-acid", When: "place is us and the acidity would pass 9.0 g/L as tartaric", Mark: cited.Read, Ref: "27 CFR 24.182(b), 2015 edition",
			Text: "United States law for bonded wine: fixed acid at most 9.0 g/L as tartaric after the addition (titratable acidity stands for it here)."},
		{Code: "over-eu-acid", When: "place is eu and the dose is over 54 meq/L", Mark: cited.Read, Ref: "OIV code II.3.1.1.1",
			Text: "Acidification of must and wine together is at most 54 meq/L, 4 g/L as tartaric acid."},
		{Code: "over-citric", When: "citric acid over 0.7 g/L (us) or 1 g/L (eu)", Mark: cited.Read, Ref: "27 CFR 24.246 and 24.244, 2015 edition; Reg. (EC) 643/2006 annex",
			Text: "Citric acid: at most 0.7 g/L added in the United States, 1 g/L in the wine in the European Union."},
		{Code: "citric-malolactic", When: "citric acid is added while malolactic is wanted", Mark: cited.Memory,
			Text: "Malolactic is still wanted: the bacteria would turn citric acid into acetic acid and diacetyl."},
	},
	Sources: []Source{
		sourceChargeBalance, sourceAnchorTest,
		{Ref: "Winemakers Research Exchange, Blenheim 2021", Used: "0.86 g/L tartaric took pH 3.95 to 3.69; acid at crush costs 2.3 times as much", Mark: cited.Read},
		{Ref: "27 CFR 24.182, 24.246 (2015); OIV code II.3.1.1.1; Reg. (EC) 643/2006", Used: "limits", Mark: cited.Read},
		{Ref: "Berg, Keefer 1958, Am J Enol Vitic 9:180, quoted by Ribéreau-Gayon (Russian edition, table 12.3)", Used: "solubility of potassium bitartrate in alcohol and water", Mark: cited.SecondHand},
	},
	Check:   Check{Against: "bench trials of the Winemakers Research Exchange, Blenheim 2021; another program's charge-balance model (NIST 46 constants) for the size; stoichiometry by hand", Mark: cited.Read},
	Example: []string{"ph=3.60", "ph_pm=0.03", "ta_g_l=5.6", "ta_endpoint_ph=8.2", "abv_pct=13", "acid=tartaric", "dose_g_l=1", "volume_l=23", "cold_c=5"},
	Notes:   "Malic acid of the wine counts for its buffer: give it for a wine before malolactic, leave it at 0 after.",
	Work:    workAcidAddition,
})

var agentsOfAcid = map[string]acidbase.Agent{
	"tartaric": acidbase.TartaricAcid, "malic": acidbase.MalicAcid, "lactic": acidbase.LacticAcid,
	"citric": acidbase.CitricAcid, "citric-monohydrate": acidbase.CitricAcidMonohydrate,
}

var cautionAcidLaw = Warning{Code: "law", When: "no place is given", Mark: cited.Read, Ref: "27 CFR 24.182 (2015); OIV code II.3.1.1.1",
	Text: "For wine that is sold the law limits acid: United States fixed acid at most 9.0 g/L as tartaric after it, European Union 4 g/L in all. Give place to hold the dose against it."}

func inTargetPH() Input {
	return Input{Key: "target_ph", Label: "pH wanted", Unit: ph, Min: 2.8, Max: 4.5, Exact: true}
}

func inTargetTA() Input {
	return Input{Key: "target_ta_g_l", Label: "titratable acidity wanted", Unit: gPerL, Min: 1, Max: 20, Exact: true}
}

func inCold() Input {
	return Input{Key: "cold_c", Label: "later kept at", Unit: celsius, Min: -4, Max: 25, Exact: true,
		Help: "to see what potassium bitartrate may fall"}
}

func inPlace() Input {
	return Input{Key: "place", Label: "law to hold it against", Kind: Option, Default: "none", Fill: CellarPlace, Options: []Choice{
		{"none", "none: own use"}, {"us", "United States, wine for sale"}, {"eu", "European Union, wine for sale"},
	}}
}

// doseOf is the dose as given, or the one that reaches the pH or acidity wanted.
func (s *Sheet) doseOf(wine *acidbase.Wine, agent acidbase.Agent) (quantity.Concentration, string, error) {
	var dose quantity.Concentration
	var err error
	var key, how string
	switch {
	case s.Given("target_ph"):
		key, how = "target_ph", "the dose at which the charge balance gives the pH wanted"
		dose, err = wine.DoseForPH(agent, s.PH(key))
	case s.Given("target_ta_g_l"):
		key, how = "target_ta_g_l", "the dose at which the acidity wanted is titrated"
		dose, err = wine.DoseForTA(agent, s.Concentration(key), wine.EndPoint, acidbase.Tartaric)
	default:
		return s.Concentration("dose_g_l"), "as given", nil
	}
	var unreachable *acidbase.Unreachable
	if errors.As(err, &unreachable) {
		s.refusals = append(s.refusals, fault.Field{Name: key, Given: tidy(s.Num(key)), Allowed: "what this agent can reach", Hint: err.Error()})
	}
	return dose, how, err
}

// settled shows what is left once potassium bitartrate has fallen in the cold.
func (s *Sheet) settled(c *acidbase.Composition, end quantity.PH, phKey, taKey, saltKey string) error {
	p, err := c.Precipitate(s.Temperature("cold_c"), acidbase.Bitartrate)
	if err != nil {
		return err
	}
	phCold, taCold, err := phAndTA(&p.Left, end)
	if err != nil {
		return err
	}
	fallen := p.Bitartrate.GPerL()
	s.OutSolved(saltKey, fallen, "until the wine holds no more than alcohol and water of that temperature would (Berg, Keefer 1958)",
		s.term("cold_c"), term("potassium", c.Potassium.GPerL(), gPerL), term("tartaric acid", c.Tartaric.GPerL(), gPerL))
	s.OutSolved(phKey, float64(phCold), "charge balance without what fell", term("potassium bitartrate fallen", fallen, gPerL))
	s.OutSolved(taKey, taCold.GPerL(), "lye to the end point, without what fell; 0.399 less for each gram", term("potassium bitartrate fallen", fallen, gPerL))
	s.Caution("most-that-falls")
	return nil
}

func workAcidAddition(s *Sheet) error {
	agent := agentsOfAcid[s.Choice("acid")]
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
	s.OutSolved("acid_g_l", needed.GPerL(), how)
	if s.Given("volume_l") {
		s.Out("acid_g", needed.In(s.Volume("volume_l")).Grams(), "{dose} * {volume}", term("dose", needed.GPerL(), gPerL), s.term("volume_l"))
	}
	s.OutSolved("ph_after", float64(phAfter), "charge balance of the wine with the acid in it", added)
	s.OutSolved("ta_after_g_l", ta.GPerL(), "lye that brings it to the end point, as tartaric acid", s.term("ta_g_l"), added)
	if s.Given("cold_c") {
		if err := s.settled(&after, wine.EndPoint, "ph_after_cold", "ta_after_cold_g_l", "bitartrate_falls_g_l"); err != nil {
			return err
		}
	}
	s.acidLaw(agent, dose, ta)
	s.acidCautions(agent)
	return nil
}

// acidLaw holds an addition against the law of the chosen place.
func (s *Sheet) acidLaw(agent acidbase.Agent, dose, ta quantity.Concentration) {
	citric := agent == acidbase.CitricAcid || agent == acidbase.CitricAcidMonohydrate
	meq := -agent.NeutralisesPerGram() * acidbase.Tartaric.Equivalents(dose).MmolPerL()
	switch s.Choice("place") {
	case "us":
		if ta.GPerL() > 9 {
			s.Stop("over-us-acid", "It would come to %s g/L.", fixed(ta.GPerL(), 2))
		}
		if citric && dose.GPerL() > 0.7 {
			s.Stop("over-citric", "Asked for %s g/L.", tidy(dose.GPerL()))
		}
	case "eu":
		if meq > 54 {
			s.Stop("over-eu-acid", "This is %s meq/L.", fixed(meq, 1))
		}
		if citric && dose.GPerL() > 1 {
			s.Stop("over-citric", "Asked for %s g/L.", tidy(dose.GPerL()))
		}
	default:
		s.Caution("law")
	}
}

func (s *Sheet) acidCautions(agent acidbase.Agent) {
	state := s.Choice("malolactic")
	switch agent {
	case acidbase.TartaricAcid:
		s.Caution("tenth-rule")
		if !s.Given("cold_c") {
			s.Caution("tartrate-falls")
		}
	case acidbase.MalicAcid:
		if state != "blocked" {
			s.Caution("malic-eaten")
		}
	case acidbase.CitricAcid, acidbase.CitricAcidMonohydrate:
		switch state {
		case "wanted":
			s.Stop("citric-malolactic")
		case "unknown":
			s.Caution("citric-bacteria")
		}
	}
	s.Caution("measure-again")
}
