package bench

import (
	"math"

	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "must-nitrogen",
	Title:    "Must nitrogen and nutrient split",
	Purpose:  "yeast nitrogen from a test, what is lacking, and the nutrient in two parts",
	Question: HowMuch,
	Inputs: []Input{
		inVolume("the must as liquid"),
		{Key: "brix", Label: "Brix of the must", Unit: brix, Min: 5, Max: 40, Required: true, Fill: LotBrix},
		{Key: "yan_mg_l", Label: "yeast nitrogen, N", Unit: mgPerL, Min: 0, Max: 1000, Fill: LotYAN, Help: "mg N per litre"},
		{Key: "ammonia_mg_l", Label: "or ammonium (ion)", Unit: mgPerL, Min: 0, Max: 500},
		{Key: "amino_mg_l", Label: "and amino nitrogen, N", Unit: mgPerL, Min: 0, Max: 1000},
		{Key: "formol_ml", Label: "or lye used in the formol titration", Unit: millilitre, Min: 0, Max: 200},
		{Key: "sample_ml", Label: "must titrated", Unit: millilitre, Min: 1, Max: 1000},
		{Key: "naoh_normality", Label: "strength of that lye", Unit: normal, Min: 0.001, Max: 5},
		{Key: "target_yan_mg_l", Label: "nitrogen wanted", Unit: mgPerL, Min: 50, Max: 600, Exact: true, Help: "from the yeast's data sheet; left out: 200 at 21 Brix and 25 more per Brix"},
		{Key: "organic_pct", Label: "share of it from yeast-based nutrient", Unit: percent, Min: 0, Max: 100, Default: "0", Exact: true},
		{Key: "organic_mg_g", Label: "nitrogen in that nutrient", Unit: mgPerG, Min: 5, Max: 150, Default: "40", Exact: true, Help: "from its label; about 40 mg a gram for inactivated yeast"},
		{Key: "first_pct", Label: "share given first", Unit: percent, Min: 0, Max: 100, Default: "50", Exact: true},
		inPlace(),
	},
	Groups: []Group{
		{AllOrNone, []string{"ammonia_mg_l", "amino_mg_l"}},
		{AllOrNone, []string{"formol_ml", "sample_ml", "naoh_normality"}},
		{ExactlyOne, []string{"yan_mg_l", "amino_mg_l", "formol_ml"}},
	},
	Outputs: []Output{
		{Key: "yan", Label: "yeast nitrogen of the must, mg N/L", Decimals: 0},
		{Key: "wanted_mg_l", Label: "nitrogen wanted", Unit: mgPerL, Decimals: 0},
		{Key: "lacking_mg_l", Label: "lacking", Unit: mgPerL, Decimals: 0},
		{Key: "dap_g_l", Label: "diammonium phosphate", Unit: gPerL, Decimals: 2, Usual: 0.6},
		{Key: "dap_g", Label: "for this volume", Unit: gram, Decimals: 1},
		{Key: "organic_g", Label: "yeast-based nutrient for this volume", Unit: gram, Decimals: 1},
		{Key: "parts", Label: "in two parts", Kind: Table, Columns: []Output{
			{Key: "when", Label: "when", Kind: Text}, {Key: "dap_g", Label: "diammonium phosphate", Unit: gram, Decimals: 1}, {Key: "organic_g", Label: "yeast-based", Unit: gram, Decimals: 1},
		}},
	},
	Cautions: []Warning{
		{Code: "need-unsure", When: "always", Mark: cited.Read, Ref: "Schreiner, Osborne, Skinkis 2018, Am J Enol Vitic 69:45, abstract",
			Text: "How much is needed is not agreed: musts of 25 to 200 mg/L all fermented dry, slower below 100; nitrogen explains speed, not success. The yeast's data sheet decides."},
		{Code: "no-ammonium-early", When: "any nutrient is given", Mark: cited.CommonPractice,
			Text: "No ammonium at inoculation, and nothing after two thirds of the sugar is gone. Never for bacteria."},
		{Code: "formol-toxic", When: "formol is used", Mark: cited.CommonPractice,
			Text: "Formaldehyde is poisonous and causes cancer: fume hood, gloves, goggles; laboratory waste, never the sink."},
		{Code: "law", When: "no place is given", Mark: cited.Read, Ref: "27 CFR 24.246, 2015 edition",
			Text: "For wine that is sold: ammonium phosphate at most 0.96 g/L (United States), 1 g/L (European Union, from memory)."},
		{Code: "enough", When: "nothing is lacking", Mark: cited.CommonPractice, Text: "Nothing is lacking; too much nitrogen feeds spoilage later."},
	},
	Stops: []Warning{
		{Code: "over-dap", When: "over 0.96 g/L (us) or 1 g/L (eu and own use)", Mark: cited.Read, Ref: "27 CFR 24.246 (2015); Reg. (EU) 2019/934 from memory",
			Text: "Ammonium phosphate over the legal limit; it also leaves phosphate and unused ammonium in the wine."},
	},
	Sources: []Source{
		{Used: "diammonium phosphate holds 212 mg N a gram; ammonium × 0.776; formol: mL × N × 14.007", Mark: cited.Computed},
		{Ref: "Bisson, Butzke 2000, Am J Enol Vitic 51:168", Used: "200 mg N/L at 21 Brix, 25 more per Brix (digits from memory)", Mark: cited.Memory},
		{Ref: "27 CFR 24.246 (2015)", Used: "0.96 g/L", Mark: cited.Read},
		{Used: "first part at the first drop of density, second at one third of the sugar gone", Mark: cited.CommonPractice},
		{Used: "inactivated yeast about 40 mg N a gram", Mark: cited.SecondHand, Ref: "consultant's worksheet"},
	},
	Check:   Check{Against: "stoichiometry worked by hand; limit of 27 CFR 24.246", Mark: cited.Computed},
	Example: []string{"volume_l=100", "brix=24", "yan_mg_l=130", "yan_mg_l_pm=15", "organic_pct=30"},
	Work:    workMustNitrogen,
})

const nitrogenPerDAP = 2 * 14.007 / 132.056 // (NH4)2HPO4, g per g

func workMustNitrogen(s *Sheet) error {
	yan := s.yan()
	wanted := 200 + 25*(s.Num("brix")-21)
	if s.Given("target_yan_mg_l") {
		wanted = s.Num("target_yan_mg_l")
		s.OutSolved("wanted_mg_l", wanted, "as given")
	} else {
		wanted = math.Max(wanted, 140)
		s.Out("wanted_mg_l", wanted, "max(140, 200 + 25 * ({Brix of the must} - 21))", s.term("brix"))
	}
	lacking := math.Max(0, wanted-yan)
	s.Out("lacking_mg_l", lacking, "max(0, {wanted} - {there is})", term("wanted", wanted, mgPerL), term("there is", yan, mgPerL))
	organicShare := s.Num("organic_pct") / 100
	dap := lacking * (1 - organicShare) / 1000 / nitrogenPerDAP
	organic := lacking * organicShare * s.Num("volume_l") / s.Num("organic_mg_g")
	lack, share := term("lacking", lacking, mgPerL), term("yeast-based share", organicShare, plain)
	s.Out("dap_g_l", dap, "{lacking} * (1 - {yeast-based share}) / 1000 / {nitrogen per gram}", lack, share, constant("nitrogen per gram", nitrogenPerDAP, plain, "molar masses, (NH4)2HPO4"))
	grams := dap * s.Num("volume_l")
	s.Out("dap_g", grams, "{dose} * {volume}", term("dose", dap, gPerL), s.term("volume_l"))
	s.Out("organic_g", organic, "{lacking} * {yeast-based share} * {volume} / {nitrogen in that nutrient}", lack, share, s.term("volume_l"), s.term("organic_mg_g"))
	first := s.Num("first_pct") / 100
	s.OutRows("parts", []map[string]any{
		{"when": "at the first drop of density, 12 to 24 h after inoculation", "dap_g": grams * first, "organic_g": organic * first},
		{"when": "when a third of the sugar is gone, near " + fixed(s.Num("brix")*2/3, 0) + " Brix", "dap_g": grams * (1 - first), "organic_g": organic * (1 - first)},
	})
	s.nitrogenNotices(dap, lacking)
	return nil
}

// yan is the yeast nitrogen by whichever test was made.
func (s *Sheet) yan() float64 {
	switch {
	case s.Given("formol_ml"):
		yan := s.Num("formol_ml") * s.Num("naoh_normality") * 14.007 * 1000 / s.Num("sample_ml")
		s.Out("yan", yan, "{lye} * {strength} * 14.007 * 1000 / {must titrated}",
			term("lye", s.Num("formol_ml"), millilitre), term("strength", s.Num("naoh_normality"), normal), term("must titrated", s.Num("sample_ml"), millilitre))
		s.Caution("formol-toxic")
		return yan
	case s.Given("amino_mg_l"):
		yan := s.Num("ammonia_mg_l")*14.007/18.039 + s.Num("amino_mg_l")
		s.Out("yan", yan, "{ammonium} * 14.007 / 18.039 + {amino nitrogen}", term("ammonium", s.Num("ammonia_mg_l"), mgPerL), term("amino nitrogen", s.Num("amino_mg_l"), mgPerL))
		return yan
	}
	s.OutSolved("yan", s.Num("yan_mg_l"), "as measured")
	return s.Num("yan_mg_l")
}

func (s *Sheet) nitrogenNotices(dap, lacking float64) {
	limit := 1.0
	switch s.Choice("place") {
	case "us":
		limit = 0.96
	case "none":
		s.Caution("law")
	}
	if dap > limit+1e-9 {
		s.Stop("over-dap", "This is %s g/L, allowed %s.", fixed(dap, 2), tidy(limit))
	}
	if lacking == 0 {
		s.Caution("enough")
	} else {
		s.Caution("no-ammonium-early")
	}
	s.Caution("need-unsure")
}
