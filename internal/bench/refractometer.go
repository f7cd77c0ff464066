package bench

import (
	"elevage/science/cited"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "refractometer",
	Title:    "Refractometer reading",
	Purpose:  "a prism's reading brought to 20 °C; in a working must, with the must's own reading, the alcohol",
	Question: Measured,
	Inputs: []Input{
		{Key: "reading_brix", Label: "reading", Unit: brix, Min: -1, Max: 35, Required: true},
		{Key: "temp_c", Label: "temperature of prism and drop", Unit: celsius, Min: 5, Max: 30, Default: "20"},
		{Key: "compensated", Label: "the instrument compensates for temperature", Kind: YesNo, Default: "yes"},
		{Key: "zero_brix", Label: "it shows in water", Unit: brix, Min: -2, Max: 2, Default: "0", Exact: true},
		{Key: "must_brix", Label: "the must read, before fermentation", Unit: brix, Min: 10, Max: 35, Help: "only for a must in fermentation: same instrument"},
		{Key: "sg", Label: "specific gravity at the same hour", Unit: gravity, Min: 0.985, Max: 1.15, Fill: LotGravity, Help: "only with alcohol: 20/20, degassed"},
		inConvention(),
	},
	Outputs: []Output{
		{Key: "brix", Label: "Brix at 20 °C", Unit: brix, Decimals: 2},
		{Key: "sugar_g_l", Label: "fermentable sugar, likely", Unit: gPerL, Decimals: 0, Optional: true},
		{Key: "must_sg", Label: "specific gravity of such a must", Unit: gravity, Decimals: 4, Optional: true},
		{Key: "alcohol_pct", Label: "alcohol, from the two readings of the prism", Unit: percentVol, Decimals: 1, Optional: true},
		{Key: "alcohol_low_pct", Label: "not less than", Unit: percentVol, Decimals: 1, Optional: true},
		{Key: "alcohol_high_pct", Label: "not more than", Unit: percentVol, Decimals: 1, Optional: true},
		{Key: "float_sg", Label: "a float would show about", Unit: gravity, Decimals: 3, Optional: true},
		{Key: "pair_alcohol_pct", Label: "alcohol, from prism and float together", Unit: percentVol, Decimals: 1, Optional: true},
		{Key: "pair_low_pct", Label: "not less than", Unit: percentVol, Decimals: 1, Optional: true},
		{Key: "pair_high_pct", Label: "not more than", Unit: percentVol, Decimals: 1, Optional: true},
	},
	Cautions: []Warning{
		{Code: "no-residual-sugar", When: "the must's own reading or a gravity is given", Mark: cited.Computed,
			Text: "Alcohol bends light: this reading says nothing of the sugar left. Change to a float once fermentation starts, and test sugar chemically at the end."},
		{Code: "pair-rough", When: "a gravity is given", Mark: cited.Read, Ref: "Bavčar, Košmerl 2002, Food Technol Biotechnol, abstract",
			Text: "No single relation of density and refraction suits all wines: about 1.3 % vol either way."},
		{Code: "uncompensated", When: "no compensation, away from 17 to 23 °C", Mark: cited.Read, Ref: "OIV-MA-AS2-02 Table I",
			Text: "Far from 20 °C the correction is as large as the reading is good: let it come to room temperature."},
		{Code: "adjust", When: "more than 0.2 Brix off in water", Mark: cited.CommonPractice, Text: "More than 0.2 off in water: adjust it, then check with a 20 Brix solution."},
		{Code: "below-must", When: "under 10 Brix and no must reading", Mark: cited.CommonPractice,
			Text: "No grape must reads under 10 Brix: if it is fermenting, give what the must read before."},
	},
	Sources: []Source{
		{Ref: "OIV-MA-AS2-02, Tables I and II", Used: "temperature correction; sugar and density of must by Brix", Mark: cited.Read},
		{Ref: "checked against Rogerson, Symington 2006, Am J Enol Vitic 57:486 (young Ports, within 0.5 % vol)", Used: "refraction of alcohol and extract added up", Mark: cited.Computed},
		{Ref: "Bavčar, Košmerl 2002, Food Technol Biotechnol, abstract", Used: "spread of such relations on 58 wines", Mark: cited.Read},
		sourceConvention,
	},
	Check:   Check{Against: "OIV-MA-AS2-02 Table I (20 % at 10 °C, 25 % at 15 °C)", Mark: cited.Read},
	Example: []string{"reading_brix=12.5", "must_brix=23", "sg=1.020"},
	Work:    workRefractometer,
})

func workRefractometer(s *Sheet) error {
	zero := s.Num("zero_brix")
	if zero > 0.2 || zero < -0.2 {
		s.Caution("adjust")
	}
	net := strength.Brix(s.Num("reading_brix") - zero)
	at20, how := net, "the reading less what it shows in water"
	if !s.Yes("compensated") && s.Num("temp_c") != 20 {
		var err error
		if at20, err = strength.CorrectRefractometer(net, s.Temperature("temp_c")); err != nil {
			return err
		}
		how = "the same, corrected by OIV-MA-AS2-02 Table I"
		if t := s.Num("temp_c"); t < 17 || t > 23 {
			s.Caution("uncompensated")
		}
	}
	s.OutSolved("brix", float64(at20), how, s.term("reading_brix"), s.term("zero_brix"), s.term("temp_c"))
	if !s.Given("must_brix") && !s.Given("sg") {
		return s.mustByPrism(at20)
	}
	s.Caution("no-residual-sugar")
	if s.Given("must_brix") {
		f := conventions[s.Choice("convention")]
		now, err := strength.FermentingByRefractometer(strength.Brix(s.Num("must_brix")), at20, f)
		if err != nil {
			return err
		}
		about := []Term{s.term("must_brix"), term("now", float64(at20), brix), term("sugar for 1 % vol", float64(f), gPerL)}
		s.OutSolved("alcohol_pct", now.Alcohol.Q50.Percent(), "the alcohol whose refraction, with the extract then left, gives the reading", about...)
		s.OutSolved("alcohol_low_pct", now.Alcohol.Q05.Percent(), "the same with the reading 1.7 Brix the other way")
		s.OutSolved("alcohol_high_pct", now.Alcohol.Q95.Percent(), "the same with the reading 1.7 Brix the other way")
		s.OutSolved("float_sg", float64(now.Gravity.Q50), "gravity of that alcohol and extract")
	}
	if s.Given("sg") {
		pair, err := strength.AlcoholFromPair(at20, strength.SpecificGravity(s.Num("sg")))
		if err != nil {
			return err
		}
		s.OutSolved("pair_alcohol_pct", pair.Alcohol.Q50.Percent(), "the alcohol and extract that explain both readings", term("Brix", float64(at20), brix), s.term("sg"))
		s.OutSolved("pair_low_pct", pair.Alcohol.Q05.Percent(), "90 % bounds, standard deviation 1.3 % vol")
		s.OutSolved("pair_high_pct", pair.Alcohol.Q95.Percent(), "90 % bounds, standard deviation 1.3 % vol")
		s.Caution("pair-rough")
	}
	return nil
}

// mustByPrism adds what a must of this Brix holds.
func (s *Sheet) mustByPrism(b strength.Brix) error {
	if b < 10 || b > 30 {
		if b < 10 {
			s.Caution("below-must")
		}
		return nil
	}
	sugar, err := strength.FermentableSugar(b)
	if err != nil {
		return err
	}
	sg, err := strength.MustGravity(b)
	if err != nil {
		return err
	}
	s.OutSolved("sugar_g_l", sugar.Likely.GPerL(), "OIV-MA-AS2-02 Table II", term("Brix", float64(b), brix))
	s.OutSolved("must_sg", float64(sg), "OIV-MA-AS2-02 Table II, density column", term("Brix", float64(b), brix))
	return nil
}
