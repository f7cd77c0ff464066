package bench

import (
	"math"

	"elevage/science/cited"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "hydrometer",
	Title:    "Hydrometer reading",
	Purpose:  "a float's reading brought to 20 °C, on every scale",
	Question: Measured,
	Inputs: []Input{
		{Key: "reading_sg", Label: "reading, specific gravity", Unit: gravity, Min: 0.97, Max: 1.2},
		{Key: "reading_brix", Label: "reading, Brix", Unit: brix, Min: -4, Max: 45},
		{Key: "reading_oechsle", Label: "reading, Oechsle", Unit: oechsle, Min: -20, Max: 190},
		{Key: "reading_baume", Label: "reading, Baumé", Unit: baume, Min: -3, Max: 24},
		{Key: "temp_c", Label: "temperature of the liquid", Unit: celsius, Min: 0, Max: 40, Required: true},
		{Key: "graduated", Label: "float graduated at", Kind: Option, Default: "20c", Options: []Choice{{"20c", "20 °C"}, {"60f", "60 °F (15.56 °C)"}},
			Help: "it stands on the stem"},
		{Key: "abv_pct", Label: "alcohol formed so far", Unit: percentVol, Min: 0, Max: 20, Default: "0", Fill: LotStrength, Help: "0 for must; a guess within 2 % vol does"},
		{Key: "water_sg", Label: "the float shows in water", Unit: gravity, Min: 0.98, Max: 1.02, Default: "1", Exact: true, Help: "distilled, at the float's own temperature; 1.000 is right"},
	},
	Groups: []Group{{ExactlyOne, []string{"reading_sg", "reading_brix", "reading_oechsle", "reading_baume"}}},
	Outputs: []Output{
		{Key: "sg", Label: "specific gravity 20/20", Unit: gravity, Decimals: 4},
		{Key: "correction_sg", Label: "correction", Unit: gravity, Decimals: 4},
		{Key: "brix", Label: "Brix", Unit: brix, Decimals: 2},
		{Key: "oechsle", Label: "Oechsle", Unit: oechsle, Decimals: 1},
		{Key: "baume", Label: "Baumé", Unit: baume, Decimals: 2},
	},
	Cautions: []Warning{
		{Code: "bubbles", When: "alcohol is given", Mark: cited.Memory,
			Text: "Bubbles lift the float, by 0.4 Brix and more in a working must: pour ten times or warm, strain, read at rest. The slope matters more than the value."},
		{Code: "not-sugar", When: "alcohol is given", Mark: cited.Computed,
			Text: "Density is not sugar once there is alcohol: 1 g/L sugar moves it by 0.0004, the step of the scale. A flat float and one chemical sugar test say dry, the float alone never."},
		{Code: "bad-float", When: "the float is more than 0.001 off in water", Mark: cited.Proposal,
			Text: "A float more than 0.001 off in water has a slipped scale or a crack: discard it."},
	},
	Sources: []Source{
		{Ref: "OIML R 22 (1975)", Used: "density of alcohol and water by temperature", Mark: cited.Read},
		{Ref: "ICUMSA SPS-4, coefficients recalled, checked at 20 °C against Zoecklein et al. App. I and NBS C440", Used: "density of sucrose solutions; temperature terms unchecked", Mark: cited.Memory},
		{Ref: "UC Davis, Brix temperature correction", Used: "direction: below 20 °C subtract, above add", Mark: cited.Read},
		{Used: "glass expands 25e-6 per degree; the reading is what liquid and glass make together", Mark: cited.Computed},
	},
	Check:   Check{Against: "Zoecklein et al. App. I Table I-1 at 20 °C; OIML R 22 and ICUMSA SPS-4 (temperature terms from memory) computed apart; UC Davis for the direction", Mark: cited.Computed},
	Example: []string{"reading_brix=22", "reading_brix_pm=0.2", "temp_c=28"},
	Work:    workHydrometer,
})

func workHydrometer(s *Sheet) error {
	float := strength.At20C
	if s.Choice("graduated") == "60f" {
		float = strength.At60F
	}
	offset := s.Num("water_sg") - 1
	if math.Abs(offset) > 0.001+1e-9 {
		s.Caution("bad-float")
	}
	t, alcohol := s.Temperature("temp_c"), s.Strength("abv_pct")
	var shown strength.SpecificGravity
	var corrected strength.Corrected
	var err error
	switch {
	case s.Given("reading_brix"):
		reading := strength.Brix(s.Num("reading_brix"))
		if shown, err = reading.SG(); err != nil {
			return err
		}
		if offset == 0 {
			corrected, err = float.CorrectBrix(reading, t, alcohol)
			break
		}
		corrected, err = float.CorrectSG(shown-strength.SpecificGravity(offset), t, alcohol)
	default:
		switch {
		case s.Given("reading_oechsle"):
			shown = strength.Oechsle(s.Num("reading_oechsle")).SG()
		case s.Given("reading_baume"):
			shown = strength.Baume(s.Num("reading_baume")).SG()
		default:
			shown = strength.SpecificGravity(s.Num("reading_sg"))
		}
		corrected, err = float.CorrectSG(shown-strength.SpecificGravity(offset), t, alcohol)
	}
	if err != nil {
		return err
	}
	s.showGravity(corrected.SG, float64(corrected.Brix), "the density at which liquid and glass at this temperature give that reading, taken to 20 °C by the liquid's own expansion",
		term("reading as specific gravity", float64(shown), plain), term("offset in water", offset, plain), s.term("temp_c"),
		term("graduated at", float.Graduated.Celsius(), celsius), s.term("abv_pct"))
	s.Out("correction_sg", float64(corrected.SG-shown), "{specific gravity} - {reading}", term("specific gravity", float64(corrected.SG), plain), term("reading", float64(shown), plain))
	if s.Num("abv_pct") > 0 {
		s.Caution("bubbles")
		s.Caution("not-sugar")
	}
	return nil
}

// showGravity puts one gravity out on every scale.
func (s *Sheet) showGravity(sg strength.SpecificGravity, onBrix float64, how string, terms ...Term) {
	s.OutSolved("sg", float64(sg), how, terms...)
	gravityTerm := term("specific gravity", float64(sg), plain)
	s.OutSolved("brix", onBrix, "the sucrose solution of that density (ICUMSA SPS-4)", gravityTerm)
	s.Out("oechsle", float64(sg.Oechsle()), "1000 * ({specific gravity} - 1)", gravityTerm)
	s.Out("baume", float64(sg.Baume()), "145 - 145 / {specific gravity}", gravityTerm)
}

// conventions are the grams of sugar that the trade or the law takes for one % vol.
var conventions = map[string]strength.SugarPerAlcohol{
	"must-law": strength.MustLaw, "practice": strength.Practical, "old": strength.OldConvention, "conservative": strength.Conservative,
}

func inConvention() Input {
	return Input{Key: "convention", Label: "sugar for 1 % vol", Kind: Option, Default: "must-law", Options: []Choice{
		{"must-law", "16.83 g/L, French must law"}, {"practice", "17 g/L"}, {"old", "17.5 g/L, the old convention"}, {"conservative", "18 g/L"},
	}}
}

var sourceConvention = Source{Ref: "Arrêté of 3 May 1996, art. 2 (16.83 g/L); Arrêté of 14 September 2011, annex IV (17.5); Code du vin art. 297, repealed (18); 17 from memory",
	Used: "sugar that gives 1 % vol", Mark: cited.Read}

// brixFrom reads the one of brix, sg, oechsle and baume that was given, as Brix.
func (s *Sheet) brixFrom() (strength.Brix, error) {
	var sg strength.SpecificGravity
	switch {
	case s.Given("brix"):
		return strength.Brix(s.Num("brix")), nil
	case s.Given("oechsle"):
		sg = strength.Oechsle(s.Num("oechsle")).SG()
	case s.Given("baume"):
		sg = strength.Baume(s.Num("baume")).SG()
	default:
		sg = strength.SpecificGravity(s.Num("sg"))
	}
	b, err := strength.MustBrix(sg)
	if err == nil {
		s.Solved("Brix of a must of that gravity", float64(b), brix, 2, "OIV-MA-AS2-02 Table II", term("specific gravity", float64(sg), plain))
	}
	return b, err
}

func inMustScales() []Input {
	return []Input{
		{Key: "brix", Label: "Brix of the must", Unit: brix, Min: 10, Max: 30, Fill: LotBrix, Help: "by refractometer at 20 °C"},
		{Key: "sg", Label: "or its specific gravity", Unit: gravity, Min: 1.041, Max: 1.13, Help: "20/20"},
		{Key: "oechsle", Label: "or Oechsle", Unit: oechsle, Min: 41, Max: 130},
		{Key: "baume", Label: "or Baumé", Unit: baume, Min: 5.8, Max: 16.7},
	}
}

var groupMustScales = Group{ExactlyOne, []string{"brix", "sg", "oechsle", "baume"}}
