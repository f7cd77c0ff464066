package bench

import "elevage/science/cited"

var _ = declare(Calculator{
	Name:     "copper",
	Title:    "Copper against rotten egg",
	Purpose:  "copper sulfate for a dose of copper, with what is in the wine already, against the residual limits",
	Question: HowMuch,
	Inputs: []Input{
		inVolume(wineNotVessel),
		{Key: "dose_mg_l", Label: "copper to add", Unit: mgPerL, Min: 0.005, Max: 20, Required: true, Usual: 0.5, Help: "as Cu: the least that cleared the trial glass"},
		{Key: "copper_mg_l", Label: "copper in the wine already", Unit: mgPerL, Min: 0, Max: 10, Fill: LotCopper, Help: "measured, or the sum of earlier doses"},
		{Key: "stock_pct", Label: "solution, grams of the salt in 100 mL", Min: 0.0001, Max: 20, Default: "1", Exact: true, Help: "copper sulfate pentahydrate, weight in volume"},
		inPlace(),
	},
	Outputs: []Output{
		{Key: "salt_mg", Label: "copper sulfate pentahydrate", Unit: milligram, Decimals: 1},
		{Key: "stock_ml", Label: "as solution", Unit: millilitre, Decimals: 2},
		{Key: "trial_ml", Label: "solution of 0.004 % for a trial glass of 100 mL", Unit: millilitre, Decimals: 2},
		{Key: "copper_after_mg_l", Label: "copper in the wine, if all of it stays", Unit: mgPerL, Decimals: 2},
	},
	Cautions: []Warning{
		cautionBenchTrial,
		{Code: "all-stays", When: "always", Mark: cited.Read, Ref: "Bekker et al. 2016, Molecules 21:1214; Kreitman et al. 2024, abstracts",
			Text: "Copper does not all fall out, and copper with sulfur dioxide raised hydrogen sulfide later in the bottle in one wine: least dose, early, at least a week before bottling."},
		{Code: "copper-unknown", When: "no copper content is given", Mark: cited.CommonPractice, Text: "What is in the wine already counts against the limit (vineyard sprays, brass, earlier doses): none is assumed here."},
		{Code: "over-us", When: "over 0.5 mg/L, own use or European law", Mark: cited.Read, Ref: "27 CFR 24.246, 2015 edition", Text: "Over the residual limit of the United States, 0.5 mg/L."},
		{Code: "diagnose", When: "always", Mark: cited.Read, Ref: "AWRI, Diagnostic test for reductive wine characters", Text: "Copper clears hydrogen sulfide and thiols, not disulfides: smell a treated glass beside an untreated one first. During fermentation feed nitrogen and air instead."},
		{Code: "poison", When: "always", Mark: cited.CommonPractice, Text: "Copper sulfate is poisonous and kills water life: gloves, a labelled bottle, rests to a collection point."},
	},
	Stops: []Warning{
		{Code: "over-residual", When: "over 0.5 mg/L (us) or 1.0 mg/L (eu and own use) if all stays", Mark: cited.Read, Ref: "27 CFR 24.246 (2015): 0.5 mg/L; Reg. (EC) 643/2006 and OIV-MA-C1-01 (2019): 1 mg/L",
			Text: "Copper would pass the residual limit; only a laboratory-advised fining takes it out again."},
		{Code: "over-added", When: "over 6 mg/L added (us)", Mark: cited.Read, Ref: "27 CFR 24.246, 2015 edition", Text: "United States law: at most 6.0 mg/L copper may be added."},
	},
	Sources: []Source{
		{Used: "CuSO4·5H2O holds 25.45 % copper", Mark: cited.Computed},
		{Ref: "Dharmadhikari, Iowa State University, Treatment for removal of H2S", Used: "trial: 1 mL of 0.004 % in 100 mL is 0.10 mg/L; up to 0.5 mg/L", Mark: cited.Read},
		{Ref: "27 CFR 24.246 (2015); Reg. (EC) 643/2006; OIV-MA-C1-01 (2019)", Used: "residual limits", Mark: cited.Read},
	},
	Check:   Check{Against: "stoichiometry of the salt; the trial scheme of Dharmadhikari, Iowa State University, worked again by hand", Mark: cited.Read},
	Example: []string{"volume_l=54", "dose_mg_l=0.1", "copper_mg_l=0.15"},
	Work:    workCopper,
})

// copperInSalt is the share of copper in copper sulfate pentahydrate, by molar
// masses 63.546 and 249.685 g/mol.
const copperInSalt = 63.546 / 249.685

func workCopper(s *Sheet) error {
	share := constant("copper in a gram of the salt", copperInSalt, plain, "molar masses")
	salt := s.Num("dose_mg_l") * s.Num("volume_l") / copperInSalt
	s.Out("salt_mg", salt, "{copper to add} * {volume} / {copper in a gram of the salt}", s.term("dose_mg_l"), s.term("volume_l"), share)
	s.Out("stock_ml", salt/(s.Num("stock_pct")*10), "{salt} / ({grams in 100 mL} * 10)", term("salt", salt, milligram), term("grams in 100 mL", s.Num("stock_pct"), plain))
	s.Out("trial_ml", s.Num("dose_mg_l")*0.1/copperInSalt/0.04, "{copper to add} * 0.1 / {copper in a gram of the salt} / 0.04", s.term("dose_mg_l"), share)
	after := s.Num("dose_mg_l") + s.Num("copper_mg_l")
	s.Out("copper_after_mg_l", after, "{copper to add} + {copper in the wine already}", s.term("dose_mg_l"), s.term("copper_mg_l"))
	limit := 1.0
	if s.Choice("place") == "us" {
		limit = 0.5
	}
	const printed = 1e-9
	switch {
	case after > limit+printed:
		s.Stop("over-residual", "%s mg/L, allowed %s.", fixed(after, 2), tidy(limit))
	case after > 0.5+printed:
		s.Caution("over-us", "This comes to %s mg/L.", fixed(after, 2))
	}
	if s.Choice("place") == "us" && s.Num("dose_mg_l") > 6+printed {
		s.Stop("over-added", "Asked for %s mg/L.", tidy(s.Num("dose_mg_l")))
	}
	if !s.Given("copper_mg_l") {
		s.Caution("copper-unknown")
	}
	s.Caution("all-stays")
	s.Caution("diagnose")
	s.Caution("trial-first")
	s.Caution("poison")
	return nil
}
