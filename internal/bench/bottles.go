package bench

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "bottles",
	Title:    "Bottles from a volume",
	Purpose:  "how many bottles a volume fills, what to count out, and how low to fill cold wine",
	Question: Becomes,
	Inputs: []Input{
		inVolume(wineNotVessel),
		{Key: "loss_pct", Label: "loss at bottling", Unit: percent, Min: 0, Max: 50, Default: "1.5", Help: "1 to 2"},
		{Key: "bottle_ml", Label: "bottle", Unit: millilitre, Min: 50, Max: 20000, Default: "750", Exact: true},
		{Key: "spare_pct", Label: "spare closures and bottles", Unit: percent, Min: 0, Max: 50, Default: "3", Exact: true},
		{Key: "fill_c", Label: "wine at filling", Unit: celsius, Min: 5, Max: 30, Default: "18"},
		{Key: "warmest_c", Label: "warmest the bottles will get", Unit: celsius, Min: 5, Max: 40, Default: "30", Exact: true},
		{Key: "ullage_mm", Label: "space under the cork at filling", Unit: millimetre, Min: 2, Max: 80, Default: "13"},
		{Key: "bore_mm", Label: "bore of the neck", Unit: millimetre, Min: 10, Max: 40, Default: "18.5", Exact: true},
		inStrength("12.5"),
	},
	Outputs: []Output{
		{Key: "bottles", Label: "bottles", Decimals: 0},
		{Key: "most", Label: "at most, without a loss", Decimals: 0},
		{Key: "left_ml", Label: "left over", Unit: millilitre, Decimals: 0},
		{Key: "closures", Label: "closures to count out", Decimals: 0},
		{Key: "rise_ml", Label: "wine grows in the bottle by", Unit: millilitre, Decimals: 1},
		{Key: "rise_mm", Label: "and rises in the neck by", Unit: millimetre, Decimals: 1},
		{Key: "left_mm", Label: "space left at the warmest", Unit: millimetre, Decimals: 1},
	},
	Cautions: []Warning{
		{Code: "brim-full", When: "the wine fills the neck at the warmest", Mark: cited.Computed, Text: "The bottles are brim-full before they are that warm, and the corks are pushed: fill lower, or warm the wine first."},
		{Code: "little-room", When: "under 3 mm is left", Mark: cited.Proposal, Text: "Little room is left at the warmest: the pressure of the squeezed air rises fast."},
		{Code: "cold-wine", When: "filled under 15 °C", Mark: cited.CommonPractice, Text: "Cold wine takes up more oxygen at filling; 15 to 20 °C is usual."},
		{Code: "ready", When: "always", Mark: cited.Proposal, Text: "Bottle only what is shown to be dry (under 1 g/L by a sugar test), under 0.1 g/L malic acid or filtered sterile, and at its SO2 aim within three days."},
		{Code: "last-bottle", When: "always", Mark: cited.CommonPractice, Text: "The half-full last bottle goes to the kitchen or into a small bottle, not among the others."},
		{Code: "screw-cap", When: "space under 30 mm", Mark: cited.Read, Ref: "AWRI, Total package oxygen", Text: "Under a screw cap 30 mm are wanted, under cork at least 12 to 13 mm at 20 °C."},
		{Code: "us-fill", When: "always", Mark: cited.Read, Ref: "27 CFR 24.255(b)", Text: "For sale in the United States the fill may be off by 2.0 % at 750 mL, 3.0 % at 375 mL."},
	},
	Sources: []Source{
		{Used: "count = floor(volume × (1 − loss) / bottle)", Mark: cited.Computed},
		{Ref: "OIML R 22 (1975)", Used: "how wine grows with warmth, through its alcohol", Mark: cited.Read},
		{Ref: "AWRI, Total package oxygen", Used: "space at filling", Mark: cited.Read},
		{Used: "bore 18.5 mm, loss 1 to 2 %", Mark: cited.Memory},
	},
	Check:   Check{Against: "counts by hand; growth worked separately from OIML R 22 (4.0 mL and 15 mm from 10 to 30 °C, 2.4 mL and 9 mm from 20)", Mark: cited.Computed},
	Example: []string{"volume_l=54", "fill_c=12"},
	Work:    workBottles,
})

func workBottles(s *Sheet) error {
	bottle := s.Num("bottle_ml") / 1000
	each := term("bottle", bottle, litre)
	most := math.Floor(s.Num("volume_l")/bottle + 1e-9)
	s.Out("most", most, "floor({volume} / {bottle} + 0.000000001)", s.term("volume_l"), each)
	good := s.Num("volume_l") * (1 - s.Num("loss_pct")/100)
	count := math.Floor(good/bottle + 1e-9)
	s.Out("bottles", count, "floor({volume} * (1 - {loss at bottling} / 100) / {bottle} + 0.000000001)", s.term("volume_l"), s.term("loss_pct"), each)
	s.Out("left_ml", max(0, good-count*bottle)*1000, "max(0, {volume} * (1 - {loss at bottling} / 100) - {bottles} * {bottle}) * 1000", s.term("volume_l"), s.term("loss_pct"), term("bottles", count, plain), each)
	s.Out("closures", math.Ceil(count*(1+s.Num("spare_pct")/100)-1e-9), "ceil({bottles} * (1 + {spare} / 100) - 0.000000001)", term("bottles", count, plain), term("spare", s.Num("spare_pct"), percent))
	if err := s.growth(); err != nil {
		return err
	}
	s.Caution("ready")
	s.Caution("last-bottle")
	s.Caution("us-fill")
	if s.Num("fill_c") < 15 {
		s.Caution("cold-wine")
	}
	if s.Num("ullage_mm") < 30 {
		s.Caution("screw-cap")
	}
	return nil
}

// growth is how far the wine rises in the neck on the way to its warmest.
func (s *Sheet) growth() error {
	warmest := s.Temperature("warmest_c")
	if warmest < s.Temperature("fill_c") {
		s.Refuse("warmest_c", "at least the wine's temperature at filling, %s °C", tidy(s.Num("fill_c")))
		return nil
	}
	factor, err := strength.Expansion(s.Strength("abv_pct"), 25*quantity.GramPerLitre, s.Temperature("fill_c"), warmest)
	if err != nil {
		return err
	}
	s.Solved("growth of the wine", (factor-1)*100, percent, 3, "density at filling over density at the warmest (OIML R 22, extract 25 g/L)", s.term("fill_c"), term("warmest", warmest.Celsius(), celsius), s.term("abv_pct"))
	rise := s.Num("bottle_ml") * (factor - 1)
	s.Out("rise_ml", rise, "{bottle} * {growth} / 100", s.term("bottle_ml"), term("growth", (factor-1)*100, percent))
	area := math.Pi / 4 * s.Num("bore_mm") * s.Num("bore_mm")
	s.Out("rise_mm", rise*1000/area, "{rise} * 1000 / (3.141592653589793 / 4 * {bore of the neck}^2)", term("rise", rise, millilitre), s.term("bore_mm"))
	left := s.Num("ullage_mm") - rise*1000/area
	s.Out("left_mm", left, "{space under the cork at filling} - {rise}", s.term("ullage_mm"), term("rise", rise*1000/area, millimetre))
	switch {
	case left <= 0:
		s.Caution("brim-full")
	case left < 3:
		s.Caution("little-room")
	}
	return nil
}
