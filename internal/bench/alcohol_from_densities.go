package bench

import (
	"elevage/science/cited"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "alcohol-from-densities",
	Title:    "Alcohol from two densities",
	Purpose:  "the alcohol formed between the must's gravity and the present one",
	Question: Measured,
	Inputs: []Input{
		{Key: "must_sg", Label: "gravity of the must", Unit: gravity, Min: 1.02, Max: 1.2, Required: true, Help: "20/20"},
		{Key: "sg", Label: "gravity now", Unit: gravity, Min: 0.985, Max: 1.2, Required: true, Fill: LotGravity, Help: "20/20, free of gas"},
		inConvention(),
	},
	Outputs: []Output{
		{Key: "abv_pct", Label: "alcohol", Unit: percentVol, Decimals: 1},
		{Key: "low", Label: "not less than", Unit: percentVol, Decimals: 1},
		{Key: "high", Label: "not more than", Unit: percentVol, Decimals: 1},
		{Key: "extract_g_l", Label: "total extract now", Unit: gPerL, Decimals: 0},
		{Key: "dealcoholised_sg", Label: "gravity without its alcohol", Unit: gravity, Decimals: 4},
	},
	Cautions: []Warning{
		{Code: "half-percent", When: "always", Mark: cited.Proposal,
			Text: "A derivation from density, good to ± 0.5 % vol: glycerol and other by-products make it slightly low. For a label, have it measured."},
		{Code: "corrected-first", When: "always", Mark: cited.CommonPractice, Text: "Both readings corrected to 20 °C, and sugar or water added in between counted in the first."},
	},
	Sources: []Source{
		{Ref: "OIV-MA-AS2-03B", Used: "Tabarié relation dr = dv − da + 1, and the extract behind dr", Mark: cited.Read},
		{Ref: "OIML R 22 (1975)", Used: "gravity of alcohol and water", Mark: cited.Read},
		sourceConvention,
	},
	Check:   Check{Against: "another program's solution of the Tabarié relation (OIV-MA-AS2-03B) with OIML R 22; the width of ± 0.5 % vol is a judgement without source", Mark: cited.Computed},
	Example: []string{"must_sg=1.0970", "must_sg_pm=0.0005", "sg=0.9940", "sg_pm=0.0005"},
	Work:    workAlcoholFromDensities,
})

func workAlcoholFromDensities(s *Sheet) error {
	must, now := strength.SpecificGravity(s.Num("must_sg")), strength.SpecificGravity(s.Num("sg"))
	if now > must {
		s.Refuse("sg", "at most the must's gravity, %s", fixed(float64(must), 4))
		return nil
	}
	f := conventions[s.Choice("convention")]
	a, err := strength.AlcoholFromGravities(must, now, f)
	if err != nil {
		return err
	}
	mustExtract, err := strength.ExtractOf(must)
	if err != nil {
		return err
	}
	without, err := strength.Dealcoholised(now, a.Alcohol.Likely)
	if err != nil {
		return err
	}
	s.Solved("extract of the must", mustExtract.GPerL(), gPerL, 1, "sucrose made up to a litre that has its gravity", s.term("must_sg"))
	s.OutSolved("dealcoholised_sg", float64(without), "gravity now − gravity of alcohol and water of that strength + 1", s.term("sg"))
	s.OutSolved("extract_g_l", a.Extract.GPerL(), "sucrose made up to a litre that has that gravity")
	s.OutSolved("abv_pct", a.Alcohol.Likely.Percent(), "the strength at which (extract of the must − extract now) / sugar for 1 % vol is that strength itself",
		term("extract of the must", mustExtract.GPerL(), gPerL), term("extract now", a.Extract.GPerL(), gPerL), term("sugar for 1 % vol", float64(f), gPerL))
	s.OutSolved("low", a.Alcohol.Low.Percent(), "0.5 % vol under it")
	s.OutSolved("high", a.Alcohol.High.Percent(), "0.5 % vol over it")
	s.Caution("half-percent")
	s.Caution("corrected-first")
	return nil
}
