package bench

import "elevage/science/cited"

var _ = declare(Calculator{
	Name:     "stock-solution",
	Title:    "Stock solution",
	Purpose:  "what to weigh for a solution, and how much of it carries a dose into a glass or a vessel",
	Question: HowMuch,
	Inputs: []Input{
		{Key: "stock_pct", Label: "strength, grams in 100 mL", Min: 0.001, Max: 60, Required: true, Exact: true, Help: "weight in volume: 10 for 10 g made up to 100 mL"},
		{Key: "stock_ml", Label: "make this much", Unit: millilitre, Min: 1, Max: 100000, Default: "100"},
		{Key: "purity_pct", Label: "purity of the powder", Unit: percent, Min: 1, Max: 100, Default: "100"},
		{Key: "dose_g_hl", Label: "dose", Unit: gPerHL, Min: 0.001, Max: 2000, Required: true},
		{Key: "sample_ml", Label: "into a sample of", Unit: millilitre, Min: 1, Max: 10000, Default: "100"},
		inVolume("into this much wine").withDefault(""),
	},
	Outputs: []Output{
		{Key: "weigh_g", Label: "weigh, and make up to the volume", Unit: gram, Decimals: 3},
		{Key: "per_sample_ml", Label: "solution into the sample", Unit: millilitre, Decimals: 2},
		{Key: "per_litre_ml", Label: "solution per litre of wine", Unit: millilitre, Decimals: 2},
		{Key: "for_volume_ml", Label: "solution for the wine", Unit: millilitre, Decimals: 1, Optional: true},
		{Key: "water_pct", Label: "water it brings", Unit: percent, Decimals: 2},
	},
	Cautions: []Warning{
		{Code: "water-over-one", When: "over 1 % of the volume", Mark: cited.Read, Ref: "27 CFR 24.246(a)(2), 2015 edition", Text: "Brings more than 1 % water, the limit of United States law for treating agents: make a stronger stock."},
		{Code: "drop", When: "under 0.1 mL into the sample", Mark: cited.CommonPractice, Text: "Under 0.1 mL cannot be measured with a 1 mL syringe: weaker stock or larger sample."},
		{Code: "label-stock", When: "always", Mark: cited.CommonPractice, Text: "Made up to the volume, not added to it. Label it with name, strength and date; sulfite solutions keep days to weeks, protein solutions a day."},
	},
	Sources: []Source{{Used: "mL of stock = dose (g/hL) × sample (mL) / (1000 × stock % w/v)", Mark: cited.Computed},
		{Ref: "27 CFR 24.246(a)(2) (2015)", Used: "water with treating agents at most 1 %", Mark: cited.Read}},
	Check:   Check{Against: "arithmetic worked by hand; 27 CFR 24.246(a)(2)", Mark: cited.Computed},
	Example: []string{"stock_pct=5", "stock_ml=200", "dose_g_hl=25", "sample_ml=100", "volume_l=54"},
	Work:    workStockSolution,
})

func workStockSolution(s *Sheet) error {
	strength := term("grams in 100 mL", s.Num("stock_pct"), plain)
	s.Out("weigh_g", s.Num("stock_pct")*s.Num("stock_ml")/s.Num("purity_pct"), "{grams in 100 mL} / 100 * {make this much} / ({purity of the powder} / 100)", strength, s.term("stock_ml"), s.term("purity_pct"))
	per := s.Num("dose_g_hl") / (1000 * s.Num("stock_pct")) // mL of stock per mL of wine
	s.Out("per_sample_ml", per*s.Num("sample_ml"), "{dose} * {into a sample of} / (1000 * {grams in 100 mL})", s.term("dose_g_hl"), s.term("sample_ml"), strength)
	s.Out("per_litre_ml", per*1000, "{dose} / {grams in 100 mL}", s.term("dose_g_hl"), strength)
	if s.Given("volume_l") {
		s.Out("for_volume_ml", per*1000*s.Num("volume_l"), "{dose} / {grams in 100 mL} * {volume}", s.term("dose_g_hl"), strength, s.term("volume_l"))
	}
	s.Out("water_pct", per*100, "{dose} / {grams in 100 mL} / 10", s.term("dose_g_hl"), strength)
	if per*100 > 1+1e-9 {
		s.Caution("water-over-one")
	}
	if per*s.Num("sample_ml") < 0.1 {
		s.Caution("drop")
	}
	s.Caution("label-stock")
	return nil
}
