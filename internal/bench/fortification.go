package bench

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "fortification",
	Title:    "Fortifying",
	Purpose:  "spirit that brings a wine to a strength, with the shrinking on mixing",
	Question: HowMuch,
	Inputs: []Input{
		inVolume(wineNotVessel),
		inStrength("12").required(),
		{Key: "spirit_pct", Label: "spirit", Unit: percentVol, Min: 15, Max: 97, Required: true},
		{Key: "target_pct", Label: "alcohol wanted", Unit: percentVol, Min: 5, Max: 25, Required: true, Exact: true},
		{Key: "extract_g_l", Label: "extract of the wine", Unit: gPerL, Min: 0, Max: 300, Default: "25", Help: "sugar and all else that is dissolved"},
	},
	Outputs: []Output{
		{Key: "spirit_l", Label: "spirit", Unit: litre, Decimals: 2},
		{Key: "by_cross_l", Label: "by the cross of alligation, which forgets the shrinking", Unit: litre, Decimals: 2},
		{Key: "volume_after_l", Label: "volume after", Unit: litre, Decimals: 2},
		{Key: "shrinks_ml", Label: "it shrinks by", Unit: millilitre, Decimals: 0},
	},
	Cautions: []Warning{
		{Code: "fire", When: "always", Mark: cited.CommonPractice, Text: "Strong spirit burns and its vapour explodes: no flame, no sparking pump, air the room. Making or distilling spirit at home is forbidden in most places; duty and law decide."},
		{Code: "cross", When: "always", Mark: cited.Computed, Text: "Measure volumes at 20 °C; add the spirit in parts and have the strength measured before the last."},
		{Code: "tax-class", When: "over 14 % vol wanted", Mark: cited.Read, Ref: "27 CFR 4.36 (2015)", Text: "Above 14 % vol another tax class begins in the United States (16 % in later law, from memory); fortified wine is under rules of its own everywhere."},
	},
	Sources: []Source{
		{Ref: "OIML R 22 (1975)", Used: "density of alcohol and water; mass, alcohol and extract are kept, volume is not", Mark: cited.Read},
		{Used: "cross of alligation V·(target − wine)/(spirit − target)", Mark: cited.Computed},
	},
	Check:   Check{Against: "balance of alcohol and mass over OIML R 22 reckoned apart; alligation by hand", Mark: cited.Computed},
	Example: []string{"volume_l=20", "abv_pct=12", "spirit_pct=96", "target_pct=18"},
	Work:    workFortification,
})

func workFortification(s *Sheet) error {
	if s.Num("target_pct") <= s.Num("abv_pct") || s.Num("target_pct") >= s.Num("spirit_pct") {
		s.Refuse("target_pct", "between the wine's %s and the spirit's %s %% vol", tidy(s.Num("abv_pct")), tidy(s.Num("spirit_pct")))
		return nil
	}
	wine := strength.Part{Volume: s.Volume("volume_l"), Alcohol: s.Strength("abv_pct"), Extract: s.Concentration("extract_g_l")}
	spirit := strength.Part{Alcohol: s.Strength("spirit_pct"), Volume: quantity.Litre}
	f, err := strength.Fortify(wine, spirit, s.Strength("target_pct"))
	if err != nil {
		return err
	}
	s.Out("by_cross_l", f.ByCross.Litres(), "{volume} * ({alcohol wanted} - {alcohol}) / ({spirit} - {alcohol wanted})", s.term("volume_l"), s.term("target_pct"), s.term("abv_pct"), s.term("spirit_pct"))
	s.OutSolved("spirit_l", f.Spirit.Litres(), "the volume at which alcohol over the volume that mass and density then make is the strength wanted", s.term("target_pct"))
	s.OutSolved("volume_after_l", f.Result.Volume.Litres(), "mass of both over the density of the mixture")
	s.Out("shrinks_ml", f.Result.Contraction.Millilitres(), "({volume} + {spirit added} - {volume after}) * 1000", s.term("volume_l"), term("spirit added", f.Spirit.Litres(), litre), term("volume after", f.Result.Volume.Litres(), litre))
	s.Caution("fire")
	s.Caution("cross")
	if s.Num("target_pct") > 14 {
		s.Caution("tax-class")
	}
	return nil
}
