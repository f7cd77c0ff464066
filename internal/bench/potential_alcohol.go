package bench

import (
	"elevage/science/cited"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "potential-alcohol",
	Title:    "Potential alcohol",
	Purpose:  "the strength a must may come to, as a range",
	Question: Becomes,
	Inputs:   append(inMustScales(), inConvention()),
	Groups:   []Group{groupMustScales},
	Outputs: []Output{
		{Key: "abv_pct", Label: "likely", Unit: percentVol, Decimals: 1},
		{Key: "low", Label: "low", Unit: percentVol, Decimals: 1},
		{Key: "high", Label: "high (all Brix taken for sugar)", Unit: percentVol, Decimals: 1},
		{Key: "sugar_g_l", Label: "fermentable sugar, likely", Unit: gPerL, Decimals: 0},
		{Key: "sugar_low_g_l", Label: "low", Unit: gPerL, Decimals: 0},
		{Key: "sugar_high_g_l", Label: "high", Unit: gPerL, Decimals: 0},
	},
	Cautions: []Warning{
		{Code: "poor-predictor", When: "always", Mark: cited.Read, Ref: "Ough, Amerine 1963, Hilgardia 34:585; Jones, Ough 1985, Am J Enol Vitic 36:268; abstracts",
			Text: "Brix is a poor predictor of alcohol: variety, region and year all matter; your own finished wines tell better."},
		{Code: "raisins", When: "always", Mark: cited.Memory,
			Text: "Shrivelled berries give up sugar for two days after crush: the strength ends 1 to 2 % vol higher than the first reading says."},
		{Code: "strong", When: "likely over 15 % vol", Mark: cited.CommonPractice,
			Text: "The yeast must bear the strength and 1 % vol more, and malolactic bacteria will find it hard."},
	},
	Sources: []Source{
		sourceConvention,
		{Ref: "OIV-MA-AS2-02, Table II", Used: "sugar of grape must by Brix (likely)", Mark: cited.Read},
		{Used: "low: 10 g/L under the table, at 18 g/L; high: all Brix as sugar at 16.83", Mark: cited.Proposal},
	},
	Check:   Check{Against: "Dujardin 1913 as quoted; sucrose by ICUMSA SPS-4 over the 16.83 g/L of French law; the span 0.55 to 0.64 % vol per Brix, from memory", Mark: cited.Read},
	Example: []string{"brix=24", "brix_pm=0.3"},
	Work:    workPotentialAlcohol,
})

func workPotentialAlcohol(s *Sheet) error {
	b, err := s.brixFrom()
	if err != nil {
		return err
	}
	f := conventions[s.Choice("convention")]
	sugar, err := strength.FermentableSugar(b)
	if err != nil {
		return err
	}
	alcohol, err := strength.PotentialAlcohol(b, f)
	if err != nil {
		return err
	}
	at := term("Brix", float64(b), brix)
	s.OutSolved("sugar_g_l", sugar.Likely.GPerL(), "OIV-MA-AS2-02 Table II, which leaves out acids and salts", at)
	s.OutSolved("sugar_low_g_l", sugar.Low.GPerL(), "10 g/L under the table", at)
	s.OutSolved("sugar_high_g_l", sugar.High.GPerL(), "all Brix taken for sugar, a bound no must reaches", at)
	s.Out("abv_pct", alcohol.Likely.Percent(), "{sugar} / {grams for 1 % vol}", term("sugar", sugar.Likely.GPerL(), gPerL), term("grams for 1 % vol", float64(f), gPerL))
	s.Out("low", alcohol.Low.Percent(), "{low sugar} / {grams for 1 % vol}", term("low sugar", sugar.Low.GPerL(), gPerL), term("grams for 1 % vol", float64(strength.Conservative), gPerL))
	s.Out("high", alcohol.High.Percent(), "{high sugar} / {grams for 1 % vol}", term("high sugar", sugar.High.GPerL(), gPerL), term("grams for 1 % vol", float64(strength.MustLaw), gPerL))
	s.Caution("poor-predictor")
	s.Caution("raisins")
	if alcohol.Likely > 15 {
		s.Caution("strong")
	}
	return nil
}
