package bench

import "elevage/science/cited"

var _ = declare(Calculator{
	Name:     "sorbate",
	Title:    "Potassium sorbate",
	Purpose:  "sorbate that keeps yeast from multiplying in a sweet wine; refused where lactic bacteria may live",
	Question: HowMuch,
	Inputs: []Input{
		inVolume(wineNotVessel),
		inStrength("12").required(),
		{Key: "sorbic_mg_l", Label: "sorbic acid wanted", Unit: mgPerL, Min: 10, Max: 2000, Usual: 200, Exact: true, Help: "left out: 200 up to 11 % vol, falling to 100 at 14"},
		stateOfMalolactic(),
		{Key: "sterile", Label: "filtered sterile", Kind: YesNo, Default: "no", Help: "0.45 µm membrane, integrity tested, everything after it sanitised"},
		{Key: "free_so2_mg_l", Label: "free SO2", Unit: mgPerL, Min: 0, Max: 500, Fill: LotFreeSO2, Exact: true},
		inPlace(),
	},
	Outputs: []Output{
		{Key: "sorbate_g", Label: "potassium sorbate", Unit: gram, Decimals: 2},
		{Key: "sorbate_mg_l", Label: "per litre", Unit: mgPerL, Decimals: 0},
		{Key: "sorbic_acid_mg_l", Label: "as sorbic acid", Unit: mgPerL, Decimals: 0},
	},
	Cautions: []Warning{
		{Code: "not-a-stop", When: "always", Mark: cited.Read, Ref: "Cook, University of Minnesota, Potassium sorbate as a wine preservative",
			Text: "Sorbate keeps yeast from multiplying; it stops no ferment that goes, and no bacteria. Clear wine, few yeast, dissolved in water first. People taste it at 135 to 400 mg/L."},
		{Code: "geranium", When: "always", Mark: cited.Memory, Text: "With lactic bacteria it turns into a smell of geranium at a tenth of a microgram a litre, for which there is no remedy."},
		{Code: "so2-with-it", When: "free SO2 is under 25 mg/L or not given", Mark: cited.CommonPractice, Text: "Only with enough free sulfur dioxide, which is what holds the bacteria."},
		{Code: "ages", When: "always", Mark: cited.Memory, Text: "The powder keeps one to two years in the dark; brown is spent."},
	},
	Stops: []Warning{
		{Code: "lactic-bacteria", When: "malolactic is not blocked, or not stated, and the wine is not filtered sterile", Mark: cited.Memory,
			Text: "Lactic bacteria may live in this wine (malolactic wanted, going, done, or not stated, and no sterile filtration): sorbate would become geranium taint, and there is no remedy."},
		{Code: "over-limit", When: "over 300 mg/L (us) or 200 mg/L (eu); own use over 300", Mark: cited.Read, Ref: "27 CFR 24.246 (2015): 300; Reg. (EU) 2019/934: 200, from memory",
			Text: "Sorbic acid over the legal limit."},
	},
	Sources: []Source{
		{Used: "potassium sorbate 150.22, sorbic acid 112.13 g/mol: 1.340 g for each gram", Mark: cited.Computed},
		{Used: "200 mg/L sorbic acid at 10 to 11 % vol, 100 at 14 % vol", Mark: cited.Memory},
		{Ref: "27 CFR 24.246 (2015)", Used: "300 mg/L", Mark: cited.Read},
		{Ref: "Cook, University of Minnesota", Used: "what sorbate does and at what dose it is tasted", Mark: cited.Read},
	},
	Check:   Check{Against: "factor 1.34 from molar masses; limits of 27 CFR 24.246; doses by strength from memory", Mark: cited.Computed},
	Example: []string{"volume_l=23", "abv_pct=12", "malolactic=blocked", "sterile=no", "free_so2_mg_l=35"},
	Work:    workSorbate,
})

const sorbatePerSorbic = 150.218 / 112.127

func workSorbate(s *Sheet) error {
	acid := s.Num("sorbic_mg_l")
	if s.Given("sorbic_mg_l") {
		s.OutSolved("sorbic_acid_mg_l", acid, "as given")
	} else {
		acid = max(100, min(200, 200-(s.Num("abv_pct")-11)*100/3))
		s.Out("sorbic_acid_mg_l", acid, "max(100, min(200, 200 - ({alcohol} - 11) * 100 / 3))", s.term("abv_pct"))
	}
	salt := acid * sorbatePerSorbic
	s.Out("sorbate_mg_l", salt, "{sorbic acid} * {sorbate per gram of the acid}", term("sorbic acid", acid, mgPerL), constant("sorbate per gram of the acid", sorbatePerSorbic, plain, "molar masses"))
	s.Out("sorbate_g", salt*s.Num("volume_l")/1000, "{sorbate} * {volume} / 1000", term("sorbate", salt, mgPerL), s.term("volume_l"))

	if s.Choice("malolactic") != "blocked" && !s.Yes("sterile") {
		s.Stop("lactic-bacteria")
	}
	limit := 300.0
	if s.Choice("place") == "eu" {
		limit = 200
	}
	if acid > limit+1e-9 {
		s.Stop("over-limit", "%s mg/L, allowed %s.", tidy(acid), tidy(limit))
	}
	if !s.Given("free_so2_mg_l") || s.Num("free_so2_mg_l") < 25 {
		s.Caution("so2-with-it")
	}
	s.Caution("geranium")
	s.Caution("not-a-stop")
	s.Caution("ages")
	return nil
}
