package bench

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "sugar-addition",
	Title:    "Sugar addition",
	Purpose:  "sugar to raise a must's Brix or its alcohol, and the volume it then has",
	Question: HowMuch,
	Inputs: []Input{
		inVolume("the must as liquid; on skins the liquid expected, 0.65 to 0.75 of the must"),
		{Key: "brix", Label: "Brix of the must", Unit: brix, Min: 5, Max: 40, Required: true, Fill: LotBrix},
		{Key: "target_brix", Label: "Brix wanted", Unit: brix, Min: 5, Max: 40, Exact: true},
		{Key: "rise_pct", Label: "or alcohol wanted on top", Unit: percentVol, Min: 0, Max: 10, Usual: 1, Exact: true, Help: "% vol more than the must would give"},
		inConvention(), inSugarPlace(),
	},
	Groups: []Group{{ExactlyOne, []string{"target_brix", "rise_pct"}}},
	Outputs: []Output{
		{Key: "sugar_kg", Label: "sugar (sucrose)", Unit: kilogram, Decimals: 2},
		{Key: "sugar_g_l", Label: "per litre of must", Unit: gPerL, Decimals: 1, Usual: 50},
		{Key: "brix_after", Label: "Brix after", Decimals: 1},
		{Key: "volume_after_l", Label: "volume after", Unit: litre, Decimals: 2},
		{Key: "volume_us_l", Label: "volume after, as United States law counts it", Unit: litre, Decimals: 2},
		{Key: "alcohol_rise_pct", Label: "raises the alcohol by about", Unit: percentVol, Decimals: 1},
	},
	Cautions: []Warning{
		{Code: "wait-for-raisins", When: "always", Mark: cited.CommonPractice,
			Text: "Wait until the Brix stands still: raisins give up sugar for two days after crush. Dissolve the sugar in must first, early in fermentation, in two parts."},
		{Code: "hobby-rule", When: "always", Mark: cited.Computed,
			Text: "The hobby rule of 15 g/L per Brix overshoots by about 9 %."},
		{Code: "law", When: "no place is given", Mark: cited.Read, Ref: "27 CFR 24.177 (2015); Austrian wine glossary",
			Text: "For wine that is sold the law limits or forbids sugar: United States to 25 Brix at most, Austria 3.4 kg per 100 L; European zones A, B, C 3, 2, 1.5 % vol (from memory). Dry sugar is not allowed in all regions."},
	},
	Stops: []Warning{
		{Code: "over-us-brix", When: "place is us and over 25 Brix", Mark: cited.Read, Ref: "27 CFR 24.177, 2015 edition",
			Text: "United States law for bonded wine: sugar must not bring the must over 25 Brix."},
		{Code: "over-at-sugar", When: "place is austria and over 3.4 kg per 100 L", Mark: cited.Read, Ref: "Austrian wine glossary, chaptalisation",
			Text: "Austria: at most 3.4 kg of sugar per 100 L, which counts as 2 % vol."},
		{Code: "over-eu-zone", When: "over the zone's enrichment", Mark: cited.Memory, Ref: "Reg. (EU) 1308/2013 Annex VIII",
			Text: "European Union: enrichment at most 3 % vol in zone A, 2 in B, 1.5 in C."},
	},
	Sources: []Source{
		{Used: "mass balance m = V·ρ·(B2 − B1)/(100 − B2); sucrose adds 0.62 L/kg", Mark: cited.Computed},
		{Ref: "27 CFR 24.304 (2015)", Used: "13.5 lb of sugar count as 1 US gal, 0.618 L/kg", Mark: cited.Read},
		{Ref: "27 CFR 24.177 (2015)", Used: "25 Brix", Mark: cited.Read},
		sourceConvention,
	},
	Check:   Check{Against: "mass balance worked by hand over sucrose densities checked against NBS C440; 27 CFR 24.304; Austrian wine glossary", Mark: cited.Computed},
	Example: []string{"volume_l=100", "brix=20", "target_brix=22"},
	Work:    workSugarAddition,
})

func inSugarPlace() Input {
	return Input{Key: "place", Label: "law to hold it against", Kind: Option, Default: "none", Options: []Choice{
		{"none", "none: own use"}, {"us", "United States"}, {"austria", "Austria"},
		{"eu-a", "European zone A"}, {"eu-b", "European zone B"}, {"eu-c", "European zone C"},
	}}
}

// euEnrichment is the most % vol that sugar may bring, by zone (from memory).
var euEnrichment = map[string]float64{"eu-a": 3, "eu-b": 2, "eu-c": 1.5}

func workSugarAddition(s *Sheet) error {
	volume, from := s.Volume("volume_l"), strength.Brix(s.Num("brix"))
	f := conventions[s.Choice("convention")]
	var after strength.Adjusted
	var err error
	if s.Given("target_brix") {
		if s.Num("target_brix") < s.Num("brix") {
			s.Refuse("target_brix", "at least the must's Brix, %s", tidy(s.Num("brix")))
			return nil
		}
		after, err = strength.SugarAddition(volume, from, strength.Brix(s.Num("target_brix")))
	} else {
		sugar := quantity.Mass(s.Num("rise_pct") * float64(f) * volume.Litres())
		after, err = strength.SweetenedTo(volume, from, sugar)
	}
	if err != nil {
		return err
	}
	rho, err := strength.SucroseDensity(from, quantity.Celsius(20))
	if err != nil {
		return err
	}
	density := rho.KgPerM3() / 1000
	kg := after.Added.Kilograms()
	if s.Given("target_brix") {
		s.Solved("density of the must", density, Unit{Symbol: "kg/L"}, 4, "sucrose solution of that Brix (ICUMSA SPS-4)", s.term("brix"))
		s.Out("sugar_kg", kg, "{volume} * {density} * ({Brix wanted} - {Brix of the must}) / (100 - {Brix wanted})",
			s.term("volume_l"), term("density", density, plain), s.term("target_brix"), s.term("brix"))
	} else {
		s.Out("sugar_kg", kg, "{alcohol on top} * {sugar for 1 % vol} * {volume} / 1000",
			term("alcohol on top", s.Num("rise_pct"), percentVol), term("sugar for 1 % vol", float64(f), gPerL), s.term("volume_l"))
	}
	perLitre := kg * 1000 / volume.Litres()
	s.Out("sugar_g_l", perLitre, "{sugar} * 1000 / {volume}", term("sugar", kg, kilogram), s.term("volume_l"))
	// What comes of it is reckoned for the sugar weighed.
	if after, err = strength.SweetenedTo(volume, from, quantity.Mass(s.Fix("sugar", after.Added.Grams()))); err != nil {
		return err
	}
	s.OutSolved("brix_after", float64(after.Brix), "sugar over sugar and must, by weight")
	s.OutSolved("volume_after_l", after.Volume.Litres(), "weight of must and sugar over the density of that Brix")
	s.Out("volume_us_l", volume.Litres()+strength.SugarVolumeUS(after.Added).Litres(), "{volume} + {sugar} * {litres per kg}",
		s.term("volume_l"), term("sugar", kg, kilogram), constant("litres per kg", strength.SugarVolumeUS(quantity.Kilogram).Litres(), plain, "27 CFR 24.304: 1 US gal for 13.5 lb"))
	rise := perLitre / float64(f)
	s.Out("alcohol_rise_pct", rise, "{sugar per litre} / {sugar for 1 % vol}", term("sugar per litre", perLitre, gPerL), term("sugar for 1 % vol", float64(f), gPerL))

	s.sugarLaw(float64(after.Brix), perLitre, rise)
	s.Caution("wait-for-raisins")
	s.Caution("hobby-rule")
	return nil
}

func (s *Sheet) sugarLaw(brixAfter, perLitre, rise float64) {
	const printed = 1e-6 // what meets a printed limit is within it
	switch place := s.Choice("place"); place {
	case "none":
		s.Caution("law")
	case "us":
		if brixAfter > 25+printed {
			s.Stop("over-us-brix", "It would come to %s Brix.", fixed(brixAfter, 1))
		}
	case "austria":
		if perLitre > 34+printed {
			s.Stop("over-at-sugar", "This is %s kg per 100 L.", fixed(perLitre/10, 2))
		}
	default:
		if rise > euEnrichment[place]+printed {
			s.Stop("over-eu-zone", "This is %s %% vol.", fixed(rise, 2))
		}
	}
}
