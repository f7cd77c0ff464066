package bench

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "water-addition",
	Title:    "Water addition",
	Purpose:  "water to lower a must's Brix, what it thins, the acid that keeps the acidity, and the law's limits",
	Question: HowMuch,
	Inputs: []Input{
		inVolume("the must as liquid"),
		{Key: "brix", Label: "Brix of the must", Unit: brix, Min: 5, Max: 40, Required: true, Fill: LotBrix},
		{Key: "target_brix", Label: "Brix wanted", Unit: brix, Min: 5, Max: 40, Required: true, Exact: true},
		{Key: "ta_g_l", Label: "titratable acidity of the must", Unit: gPerL, Min: 1, Max: 30, Fill: LotTA, Help: "as tartaric acid"},
		{Key: "yan_mg_l", Label: "yeast nitrogen of the must", Unit: mgPerL, Min: 0, Max: 1000, Fill: LotYAN},
		{Key: "place", Label: "law to hold it against", Kind: Option, Default: "none", Fill: CellarPlace, Options: []Choice{
			{"none", "none: own use"}, {"us", "United States, to ease fermentation"}, {"eu", "European Union"},
		}},
	},
	Outputs: []Output{
		{Key: "water_l", Label: "water", Unit: litre, Decimals: 2},
		{Key: "volume_after_l", Label: "volume after", Unit: litre, Decimals: 2},
		{Key: "brix_after", Label: "Brix after", Decimals: 1},
		{Key: "ta_after_g_l", Label: "acidity after, if nothing is added", Unit: gPerL, Decimals: 2, Optional: true},
		{Key: "tartaric_g", Label: "tartaric acid that keeps the acidity", Unit: gram, Decimals: 1, Optional: true},
		{Key: "yan_after_mg_l", Label: "yeast nitrogen after", Unit: mgPerL, Decimals: 0, Optional: true},
		{Key: "us_floor_brix", Label: "United States: not below", Unit: brix, Decimals: 1},
		{Key: "us_amelioration_l", Label: "United States: most water and sugar that acidity allows", Unit: litre, Decimals: 1, Optional: true},
	},
	Cautions: []Warning{
		{Code: "dilutes", When: "always", Mark: cited.CommonPractice,
			Text: "Water thins acid, nitrogen, flavour and tannin alike: chlorine-free, acidified to the acidity wanted, and not before the raisins have soaked up."},
		{Code: "guard-rail", When: "own use", Mark: cited.Read, Ref: "27 CFR 24.176, 2015 edition",
			Text: "For own use no such law holds; the floor of 22 Brix is a useful guard rail all the same."},
		{Code: "amelioration", When: "an acidity is given", Mark: cited.Read, Ref: "27 CFR 24.178, 2015 edition",
			Text: "The amelioration rule is another law: only where fixed acid is over 5 g/L, sugar counted with the water, never below 5 g/L, at most 538.4 gal in 1000."},
	},
	Stops: []Warning{
		{Code: "under-us-floor", When: "place is us and below the floor", Mark: cited.Read, Ref: "27 CFR 24.176, 2015 edition",
			Text: "United States law for bonded wine: water to ease fermentation not below 22 Brix, and at most 1 Brix where the must starts below 23."},
		{Code: "eu-water", When: "place is eu", Mark: cited.Memory,
			Text: "Water in must is generally forbidden in the European Union: ask first."},
	},
	Sources: []Source{
		{Used: "mass balance: water = must × (B1/B2 − 1)", Mark: cited.Computed},
		{Ref: "27 CFR 24.176 and 24.178 (2015)", Used: "floor of 22 Brix; amelioration 20 gal in 1000 for 0.1 g/L, cap 538.4", Mark: cited.Read},
	},
	Check:   Check{Against: "27 CFR 24.176 and 24.178; mass balance worked by hand", Mark: cited.Read},
	Example: []string{"volume_l=100", "brix=26", "target_brix=24", "ta_g_l=5.5", "yan_mg_l=180"},
	Work:    workWaterAddition,
})

func workWaterAddition(s *Sheet) error {
	volume, from := s.Volume("volume_l"), s.Num("brix")
	if s.Num("target_brix") > from {
		s.Refuse("target_brix", "at most the must's Brix, %s", tidy(from))
		return nil
	}
	after, err := strength.WaterAddition(volume, strength.Brix(from), strength.Brix(s.Num("target_brix")))
	if err != nil {
		return err
	}
	rho, err := strength.SucroseDensity(strength.Brix(from), quantity.Celsius(20))
	if err != nil {
		return err
	}
	water, err := strength.SucroseDensity(0, quantity.Celsius(20))
	if err != nil {
		return err
	}
	weight, waterDensity := volume.Litres()*rho.KgPerM3()/1000, water.KgPerM3()/1000
	s.Solved("weight of the must", weight, kilogram, 2, "volume × density of that Brix (ICUMSA SPS-4)", s.term("volume_l"), s.term("brix"))
	s.Out("water_l", after.Added.Kilograms()/waterDensity, "{weight of the must} * ({Brix of the must} / {Brix wanted} - 1) / {kg per L of water}",
		term("weight of the must", weight, kilogram), s.term("brix"), s.term("target_brix"), term("kg per L of water", waterDensity, plain))
	// What comes of it is reckoned for the water measured.
	added := s.Fix("water", after.Added.Kilograms())
	brixAfter := from * weight / (weight + added)
	thin, err := strength.SucroseDensity(strength.Brix(brixAfter), quantity.Celsius(20))
	if err != nil {
		return err
	}
	after.Volume = quantity.Volume((weight + added) / (thin.KgPerM3() / 1000))
	s.Out("brix_after", brixAfter, "{Brix of the must} * {weight of the must} / ({weight of the must} + {water})", s.term("brix"), term("weight of the must", weight, kilogram), term("water", added, kilogram))
	s.Out("volume_after_l", after.Volume.Litres(), "({weight of the must} + {water}) / {kg per L after}", term("weight of the must", weight, kilogram), term("water", added, kilogram),
		term("kg per L after", thin.KgPerM3()/1000, plain))
	s.thinned(volume, after.Volume)
	s.waterLaw(from)
	s.Caution("dilutes")
	return nil
}

// thinned is what the water thins, and what puts the acid back.
func (s *Sheet) thinned(volume, after quantity.Volume) {
	thinned := func(in string) (float64, []Term) {
		return s.Num(in) * volume.Litres() / after.Litres(), []Term{s.term(in), s.term("volume_l"), term("volume after", after.Litres(), litre)}
	}
	if s.Given("ta_g_l") {
		ta, terms := thinned("ta_g_l")
		s.Out("ta_after_g_l", ta, "{titratable acidity of the must} * {volume} / {volume after}", terms...)
		s.Out("tartaric_g", (s.Num("ta_g_l")-ta)*after.Litres(), "({titratable acidity of the must} - {acidity after}) * {volume after}",
			s.term("ta_g_l"), term("acidity after", ta, gPerL), term("volume after", after.Litres(), litre))
		per1000 := math.Min(538.4, math.Max(0, 200*(s.Num("ta_g_l")-5)))
		s.Out("us_amelioration_l", per1000/1000*volume.Litres(), "min(538.4, max(0, 200 * ({titratable acidity of the must} - 5))) / 1000 * {volume}", s.term("ta_g_l"), s.term("volume_l"))
		s.Caution("amelioration")
	}
	if s.Given("yan_mg_l") {
		yan, terms := thinned("yan_mg_l")
		s.Out("yan_after_mg_l", yan, "{yeast nitrogen of the must} * {volume} / {volume after}", terms...)
	}
}

// waterLaw holds the Brix wanted against the law of the place.
func (s *Sheet) waterLaw(from float64) {
	floor := 22.0
	if from < 23 {
		floor = from - 1
	}
	s.OutSolved("us_floor_brix", floor, "22 Brix, or 1 Brix under the start where that is below 23", s.term("brix"))
	switch s.Choice("place") {
	case "us":
		if s.Num("target_brix") < floor-1e-9 {
			s.Stop("under-us-floor", "The floor here is %s Brix.", fixed(floor, 1))
		}
	case "eu":
		s.Stop("eu-water")
	default:
		s.Caution("guard-rail")
	}
}
