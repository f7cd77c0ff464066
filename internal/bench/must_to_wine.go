package bench

import (
	"elevage/science/cited"
	"elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "must-to-wine",
	Title:    "The wine that a must will make",
	Purpose:  "alcohol, pH and acidity of the wine to come, as the must is and as corrected, side by side",
	Question: Becomes,
	Inputs: []Input{
		inVolume("the must as liquid"),
		{Key: "brix", Label: "Brix of the must", Unit: brix, Min: 10, Max: 30, Required: true, Fill: LotBrix, Exact: true},
		{Key: "ph", Label: "pH of the must", Unit: ph, Min: 2.7, Max: 4.5, Required: true, Fill: LotPH, Exact: true, Help: "from a meter that was checked today"},
		{Key: "ta_g_l", Label: "titratable acidity of the must", Unit: gPerL, Min: 1, Max: 20, Required: true, Fill: LotTA, Exact: true, Help: "as tartaric acid"},
		inEndpoint(),
		{Key: "malic_g_l", Label: "malic acid", Unit: gPerL, Min: 0.1, Max: 15, Fill: LotMalic, Exact: true, Help: "left out: nothing is said of malolactic"},
		{Key: "yan_mg_l", Label: "yeast nitrogen, N", Unit: mgPerL, Min: 1, Max: 1000, Fill: LotYAN, Exact: true},
		{Key: "water_to_brix", Label: "water it down to", Unit: brix, Min: 10, Max: 30, Exact: true},
		{Key: "sugar_to_brix", Label: "or sugar it up to", Unit: brix, Min: 10, Max: 30, Exact: true},
		{Key: "acid", Label: "acid", Kind: Option, Default: "tartaric", Options: []Choice{
			{"tartaric", "tartaric acid"}, {"malic", "malic acid"}, {"lactic", "lactic acid"}, {"citric", "citric acid, anhydrous"}, {"citric-monohydrate", "citric acid with one water"},
		}},
		{Key: "acid_g_l", Label: "dose of it", Unit: gPerL, Min: 0, Max: 10, Usual: 4, Exact: true, Help: "per litre of the must after water or sugar"},
		{Key: "nitrogen_mg_l", Label: "nitrogen to add, N", Unit: mgPerL, Min: 0, Max: 500, Exact: true},
	},
	Outputs: []Output{
		{Key: "ahead", Label: "side by side", Kind: Table, Columns: []Output{
			{Key: "figure", Label: "figure", Kind: Text}, {Key: "as_it_is", Label: "as it is", Kind: Text}, {Key: "corrected", Label: "corrected", Kind: Text},
		}},
		{Key: "abv_pct", Label: "alcohol, corrected", Unit: percentVol, Decimals: 1},
		{Key: "ph_wine", Label: "pH of the wine, corrected", Unit: ph, Decimals: 2},
		{Key: "ph_after_malolactic", Label: "pH after malolactic, corrected", Unit: ph, Decimals: 2, Optional: true},
		{Key: "volume_after_l", Label: "must after the correction", Unit: litre, Decimals: 1},
		{Key: "water_kg", Label: "water to add", Unit: kilogram, Decimals: 2, Optional: true},
		{Key: "sugar_kg", Label: "sugar to add", Unit: kilogram, Decimals: 2, Optional: true},
		{Key: "acid_g", Label: "acid to add", Unit: gram, Decimals: 1, Optional: true},
	},
	Cautions: []Warning{
		{Code: "not-counted", When: "always", Mark: cited.Computed,
			Text: "Not counted: potassium out of the skins of a red, which lifts pH by more than all else; malic acid that yeast uses, succinic acid that it makes. Ranges run from all bitartrate kept to all fallen that can; on top a pH that was reckoned has a spread of 0.11 (178 measured wines)."},
		{Code: "correct-half", When: "acid is added", Mark: cited.CommonPractice, Text: "Correct half, read again, then the rest: part of added tartaric acid falls out as bitartrate."},
		{Code: "law-of-must", When: "water, sugar or acid is added", Mark: cited.CommonPractice,
			Text: "Whether water, sugar or acid may be added, and how much, the law of the place decides for wine that is sold."},
		{Code: "no-malic", When: "malic acid is not given", Mark: cited.Computed, Text: "Malic acid was not given: nothing is said of pH after malolactic."},
	},
	Sources: []Source{
		sourceChargeBalance, sourceAnchorTest,
		{Ref: "OIV-MA-AS2-02 Table II", Used: "sugar of a must by its Brix", Mark: cited.Read},
		{Used: "16.83 g/L sugar for 1 % vol", Ref: "EU and OIV convention", Mark: cited.Read},
	},
	Check:   Check{Against: "OIV-MA-AS2-02 Table II for alcohol; mass balance by hand; one equivalent per mole for malolactic", Mark: cited.Computed},
	Example: []string{"volume_l=105", "brix=25.5", "ph=3.72", "ta_g_l=5.2", "ta_endpoint_ph=8.2", "malic_g_l=2.2", "yan_mg_l=140", "water_to_brix=24", "acid_g_l=1.5"},
	Notes:   "Water first, then sugar, then acid, as the must stands after each.",
	Work:    workMustToWine,
})

func workMustToWine(s *Sheet) error {
	must := primary.MustEntry{Volume: s.Volume("volume_l"), Brix: strength.Brix(s.Num("brix")), PH: s.PH("ph"), TA: s.Concentration("ta_g_l"), EndPoint: s.PH("ta_endpoint_ph")}
	if s.Given("malic_g_l") {
		must.Malic = s.Concentration("malic_g_l")
	}
	if s.Given("yan_mg_l") {
		must.Nitrogen = s.Concentration("yan_mg_l")
	}
	var fix primary.Correction
	if s.Given("water_to_brix") && s.Num("water_to_brix") >= s.Num("brix") {
		s.Refuse("water_to_brix", "less than the Brix of the must, %s", tidy(s.Num("brix")))
	} else if s.Given("water_to_brix") {
		fix.WaterToBrix = strength.Brix(s.Num("water_to_brix"))
	}
	start := s.Num("brix")
	if fix.WaterToBrix > 0 {
		start = float64(fix.WaterToBrix)
	}
	if s.Given("sugar_to_brix") && s.Num("sugar_to_brix") <= start {
		s.Refuse("sugar_to_brix", "more than the Brix that the sugar finds, %s", tidy(start))
	} else if s.Given("sugar_to_brix") {
		fix.SugarToBrix = strength.Brix(s.Num("sugar_to_brix"))
	}
	if s.Refused() {
		return nil
	}
	if s.Given("acid_g_l") {
		fix.Acid, fix.AcidDose = agentsOfAcid[s.Choice("acid")], s.Concentration("acid_g_l")
	}
	if s.Given("nitrogen_mg_l") {
		fix.Nitrogen = s.Concentration("nitrogen_mg_l")
	}
	plain, err := primary.Foresee(must, primary.Correction{})
	if err != nil {
		return err
	}
	after, err := primary.Foresee(must, fix)
	if err != nil {
		return err
	}
	s.sideBySide(&plain, &after)
	s.OutSolved("volume_after_l", after.Must.Volume.Litres(), "by mass and density of sucrose solutions", s.term("volume_l"), s.term("brix"))
	s.OutSolved("abv_pct", after.Wine.Alcohol.Likely.Percent(), "sugar by Table II over 16.83 g/L for 1 % vol", term("Brix after the correction", float64(after.Must.Brix), brix))
	s.OutSolved("ph_wine", float64(after.Wine.PH.Likely), "charge balance with the alcohol in it, half way between all bitartrate kept and all fallen that can", s.term("ph"), s.term("ta_g_l"))
	if after.Wine.AfterMalic != nil {
		s.OutSolved("ph_after_malolactic", float64(after.Wine.AfterMalic.Likely), "the same with all malic acid turned into lactic acid", s.term("malic_g_l"))
	} else {
		s.Caution("no-malic")
	}
	if after.Water > 0 {
		s.OutSolved("water_kg", after.Water.Kilograms(), "so that the same sugar makes the lower Brix", s.term("brix"), s.term("water_to_brix"))
	}
	if after.Sugar > 0 {
		s.OutSolved("sugar_kg", after.Sugar.Kilograms(), "so that sugar and must together make the higher Brix", s.term("sugar_to_brix"))
	}
	if after.Acid > 0 {
		s.Out("acid_g", after.Acid.Grams(), "{dose of it} * {must after the correction}", s.term("acid_g_l"), term("must after the correction", after.Must.Volume.Litres(), litre))
		s.Caution("correct-half")
	}
	if after.Water > 0 || after.Sugar > 0 || after.Acid > 0 {
		s.Caution("law-of-must")
	}
	s.Caution("not-counted")
	return nil
}

// sideBySide is the table of the must left alone and the must corrected.
func (s *Sheet) sideBySide(plain, after *primary.Outcome) {
	var rows []map[string]any
	row := func(figure string, of func(*primary.Outcome) string) {
		rows = append(rows, map[string]any{"figure": figure, "as_it_is": of(plain), "corrected": of(after)})
	}
	row("must, L", func(o *primary.Outcome) string { return fixed(o.Must.Volume.Litres(), 1) })
	row("must, Brix", func(o *primary.Outcome) string { return fixed(float64(o.Must.Brix), 1) })
	row("must, pH", func(o *primary.Outcome) string { return fixed(float64(o.Must.PH), 2) })
	row("must, acidity g/L", func(o *primary.Outcome) string { return fixed(o.Must.TA.GPerL(), 1) })
	if plain.Must.Gap != nil {
		row("must, nitrogen mg/L", func(o *primary.Outcome) string { return fixed(o.Must.Nitrogen.MgPerL(), 0) })
		row("nitrogen lacking, mg/L", func(o *primary.Outcome) string { return fixed(o.Must.Gap.Gap.MgPerL(), 0) })
	}
	row("wine, alcohol % vol", func(o *primary.Outcome) string { return within(o.Wine.Alcohol, quantity.Strength.Percent, 1) })
	row("wine, pH", func(o *primary.Outcome) string {
		return within(o.Wine.PH, func(p quantity.PH) float64 { return float64(p) }, 2)
	})
	row("wine, acidity g/L", func(o *primary.Outcome) string { return within(o.Wine.TA, quantity.Concentration.GPerL, 1) })
	if plain.Wine.AfterMalic != nil {
		row("after malolactic, pH", func(o *primary.Outcome) string {
			return within(*o.Wine.AfterMalic, func(p quantity.PH) float64 { return float64(p) }, 2)
		})
		row("after malolactic, acidity g/L", func(o *primary.Outcome) string {
			return within(*o.Wine.TAAfterMalic, quantity.Concentration.GPerL, 1)
		})
	}
	s.OutRows("ahead", rows)
}

// within is "13.9 (13.4 to 14.6)".
func within[T ~float64](b quantity.Bounds[T], unit func(T) float64, decimals int) string {
	return fixed(unit(b.Likely), decimals) + " (" + fixed(unit(b.Low), decimals) + " to " + fixed(unit(b.High), decimals) + ")"
}
