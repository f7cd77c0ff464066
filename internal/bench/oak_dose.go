package bench

import (
	"fmt"
	"strings"

	"elevage/science/cited"
)

// An oakPiece is a form of oak with what is commonly given; all from memory.
type oakPiece struct {
	value               string
	low, high, middle   float64 // g/L, or cm²/L for staves
	weeksLow, weeksHigh float64
	byArea              bool
}

var oakPieces = []oakPiece{
	{"chips", 1, 4, 2.5, 2, 8, false},
	{"cubes", 1.5, 4, 2.75, 8, 17, false},
	{"staves", 20, 90, 45, 17, 52, true},
}

var _ = declare(Calculator{
	Name:     "oak-dose",
	Title:    "Oak pieces",
	Purpose:  "how much oak in pieces for a lot, how long, and the trial glasses that decide",
	Question: HowMuch,
	Inputs: []Input{
		inVolume(wineNotVessel),
		{Key: "piece", Label: "form", Kind: Option, Default: "cubes", Options: []Choice{{"chips", "chips"}, {"cubes", "cubes"}, {"staves", "staves"}}},
		{Key: "dose_g_l", Label: "dose of chips or cubes", Unit: gPerL, Min: 0.1, Max: 100, Usual: 4, Exact: true, Help: "left out: the middle of what is common"},
		{Key: "area_cm2_l", Label: "surface of staves for a litre", Min: 1, Max: 1000, Usual: 90, Exact: true, Help: "cm² per L; a new 225 L barrel offers about 90"},
		{Key: "stave_cm2", Label: "surface of one stave", Min: 1, Max: 100000, Exact: true, Help: "cm², both faces and edges"},
		{Key: "sample_ml", Label: "trial glass", Unit: millilitre, Min: 10, Max: 5000, Default: "250"},
	},
	Outputs: []Output{
		{Key: "oak_g", Label: "oak", Unit: gram, Decimals: 1, Optional: true},
		{Key: "area_cm2", Label: "surface, cm²", Decimals: 0, Optional: true},
		{Key: "staves", Label: "staves", Decimals: 1, Optional: true},
		{Key: "weeks", Label: "commonly left in", Kind: Text},
		{Key: "trial", Label: "trial glasses", Kind: Table, Columns: []Output{
			{Key: "glass", Label: "glass", Kind: Text}, {Key: "dose", Label: "dose", Kind: Text}, {Key: "into_glass", Label: "into the glass", Kind: Text},
		}},
	},
	Cautions: []Warning{
		{Code: "cannot-be-undone", When: "always", Mark: cited.CommonPractice, Text: "Oak can be added, not taken out: taste weekly and blind, stop at four fifths of what you want, or treat a part and blend."},
		{Code: "not-linear", When: "always", Mark: cited.Read, Ref: "Petrozziello et al. 2020, Chemistry and technology of wine aging with oak chips (opening read)", Text: "Extraction is not in proportion to dose or time: twice the oak is not half the weeks."},
		{Code: "bag", When: "always", Mark: cited.CommonPractice, Text: "In a nylon bag on a string, counted in and out, boiled five minutes or rinsed with wine; new oak binds some free sulfur dioxide: measure after."},
		{Code: "outside-use", When: "outside what is common", Mark: cited.Memory, Text: "Outside the doses that are common."},
	},
	Sources: []Source{
		{Used: "chips 1 to 4 g/L for 2 to 8 weeks; cubes 1.5 to 4 g/L for 2 to 4 months; staves by area for 4 to 12 months; 90 cm² a litre in a 225 L barrel", Mark: cited.Memory},
		{Ref: "Petrozziello et al. 2020, IntechOpen 93529", Used: "extraction is not linear", Mark: cited.Read},
	},
	Check:   Check{Against: "common practice, no source; arithmetic by hand", Mark: cited.CommonPractice},
	Example: []string{"volume_l=54", "piece=cubes", "dose_g_l=2"},
	Work:    workOakDose,
})

func workOakDose(s *Sheet) error {
	var piece oakPiece
	for _, p := range oakPieces {
		if p.value == s.Choice("piece") {
			piece = p
		}
	}
	dose, unit := piece.middle, "g/L"
	if piece.byArea {
		unit = "cm²/L"
		if s.Given("dose_g_l") {
			s.Refuse("dose_g_l", "staves are dosed by surface: give area_cm2_l")
			return nil
		}
		if s.Given("area_cm2_l") {
			dose = s.Num("area_cm2_l")
		}
		area := dose * s.Num("volume_l")
		s.Out("area_cm2", area, "{surface for a litre} * {volume}", term("surface for a litre", dose, plain), s.term("volume_l"))
		if s.Given("stave_cm2") {
			s.Out("staves", area/s.Num("stave_cm2"), "{surface} / {surface of one stave}", term("surface", area, plain), s.term("stave_cm2"))
		}
	} else {
		if s.Given("area_cm2_l") || s.Given("stave_cm2") {
			s.Refuse("area_cm2_l", "chips and cubes are dosed by weight: give dose_g_l")
			return nil
		}
		if s.Given("dose_g_l") {
			dose = s.Num("dose_g_l")
		}
		s.Out("oak_g", dose*s.Num("volume_l"), "{dose} * {volume}", term("dose", dose, gPerL), s.term("volume_l"))
	}
	s.OutText("weeks", fmt.Sprintf("%s to %s weeks (from memory); the glass decides", tidy(piece.weeksLow), tidy(piece.weeksHigh)))
	rows := []map[string]any{}
	for _, g := range []struct {
		name   string
		factor float64
	}{{"nothing", 0}, {"half", 0.5}, {"full", 1}, {"double", 2}} {
		into := dose * g.factor * s.Num("sample_ml") / 1000
		rows = append(rows, map[string]any{"glass": g.name, "dose": tidy(dose*g.factor) + " " + unit, "into_glass": fixed(into, 2) + " " + strings.TrimSuffix(unit, "/L")})
	}
	s.OutRows("trial", rows)
	if dose < piece.low || dose > piece.high {
		s.Caution("outside-use", "Common are %s to %s %s.", tidy(piece.low), tidy(piece.high), unit)
	}
	s.Caution("cannot-be-undone")
	s.Caution("not-linear")
	s.Caution("bag")
	return nil
}
