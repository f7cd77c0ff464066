package bench

import (
	"math"

	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "yeast-rehydration",
	Title:    "Yeast and its rehydration",
	Purpose:  "how much dried yeast, in how much water, and how to cool the slurry to the must",
	Question: HowMuch,
	Inputs: []Input{
		inVolume("juice, or the liquid expected of a must on skins").withDefault(""),
		{Key: "must_kg", Label: "or must with skins", Unit: kilogram, Min: 0.1, Max: 1e6, Fill: LotWeight},
		{Key: "dose_g_l", Label: "yeast per litre of juice", Unit: gPerL, Min: 0.05, Max: 20, Usual: 0.5, Exact: true, Help: "left out: 0.25; the packet governs"},
		{Key: "dose_g_kg", Label: "yeast per kg of must", Unit: gPerKg, Min: 0.05, Max: 20, Usual: 0.5, Exact: true, Help: "left out: 0.20; the packet governs"},
		{Key: "hard", Label: "very clear, very sugary, or sulfited must", Kind: YesNo, Default: "no", Help: "free SO2 over 10 to 15 or total over 30 to 50 mg/L: up to twice the dose"},
		{Key: "water_ml_per_g", Label: "water per gram of yeast", Min: 3, Max: 20, Default: "10", Exact: true, Help: "mL per g, as the packet says"},
		{Key: "slurry_c", Label: "slurry when rehydrated", Unit: celsius, Min: 20, Max: 43, Default: "38", Exact: true, Help: "as the packet says"},
		{Key: "must_c", Label: "temperature of the must", Unit: celsius, Min: 5, Max: 35, Required: true, Fill: LotTemp},
		{Key: "step_c", Label: "cool by at most", Unit: celsius, Min: 2, Max: 10, Default: "10", Exact: true, Help: "in one step"},
		{Key: "within_c", Label: "until within", Unit: celsius, Min: 1, Max: 10, Default: "10", Exact: true, Help: "of the must"},
	},
	Groups: []Group{{ExactlyOne, []string{"volume_l", "must_kg"}}},
	Outputs: []Output{
		{Key: "yeast_g", Label: "dried yeast", Unit: gram, Decimals: 1},
		{Key: "water_ml", Label: "chlorine-free water", Unit: millilitre, Decimals: 0},
		{Key: "cells_per_ml", Label: "live cells per mL to begin with, million", Decimals: 1, Optional: true},
		{Key: "water_share_pct", Label: "adds to the volume", Unit: percent, Decimals: 2, Optional: true},
		{Key: "steps", Label: "cool the slurry with must", Kind: Table, Columns: []Output{
			{Key: "to_c", Label: "down to", Unit: celsius, Decimals: 1}, {Key: "must_ml", Label: "stir in must", Unit: millilitre, Decimals: 0}, {Key: "slurry_ml", Label: "slurry is then", Unit: millilitre, Decimals: 0},
		}},
	},
	Cautions: []Warning{
		{Code: "packet", When: "always", Mark: cited.Memory, Text: "The packet governs: 35 to 40 °C for 15 to 20 minutes, 30 at most, is typical; no distilled water, no sugar, no ammonium."},
		{Code: "wait", When: "always", Mark: cited.Read, Ref: "AWRI, top tips for a successful yeast culture", Text: "Each step 10 to 20 minutes; then pitch at once. A jump of more than 10 °C kills part of it."},
		{Code: "not-by-0.1", When: "under 2 g", Mark: cited.CommonPractice, Text: "Under 2 g a 0.1 g scale is no use: weigh more and divide the slurry."},
		{Code: "us-water", When: "water is over 16.7 mL per g or 0.5 % of the volume", Mark: cited.Read, Ref: "27 CFR 24.176, 2015 edition", Text: "Over what United States law allows for rehydration: 2 gal a pound of yeast, 0.5 % of the volume."},
	},
	Sources: []Source{
		{Ref: "AWRI, Active dry wine yeast rehydration", Used: "25 g/hL for juice, 20 g per 100 kg for musts with solids, up to double for hard ones; 2 × 10^10 live cells a gram", Mark: cited.Read},
		{Ref: "AWRI, top tips for a successful yeast culture", Used: "steps of 5 to 10 °C, within 5 to 10 °C of the must", Mark: cited.Read},
		{Ref: "27 CFR 24.176 (2015)", Used: "2 gal water a pound, 0.5 %", Mark: cited.Read},
		{Used: "10 parts of water at 35 to 40 °C for 15 to 20 min", Mark: cited.Memory},
		{Used: "heat balance of slurry and must, both taken as water", Mark: cited.Computed},
	},
	Check:   Check{Against: "AWRI, Active dry wine yeast rehydration; heat balances worked by hand", Mark: cited.Read},
	Example: []string{"volume_l=100", "must_c=18"},
	Work:    workYeast,
})

func workYeast(s *Sheet) error {
	factor := 1.0
	if s.Yes("hard") {
		factor = 2
	}
	doubled := term("1, or 2 for a hard must", factor, plain)
	var grams float64
	if s.Given("volume_l") {
		dose := 0.25
		if s.Given("dose_g_l") {
			dose = s.Num("dose_g_l")
		}
		grams = dose * factor * s.Num("volume_l")
		s.Out("yeast_g", grams, "{dose} * {1, or 2 for a hard must} * {volume}", term("dose", dose, gPerL), doubled, s.term("volume_l"))
		s.Out("cells_per_ml", grams*2e10/(s.Num("volume_l")*1000)/1e6, "{yeast} * 20000 / ({volume} * 1000)", term("yeast", grams, gram), s.term("volume_l"))
	} else {
		dose := 0.20
		if s.Given("dose_g_kg") {
			dose = s.Num("dose_g_kg")
		}
		grams = dose * factor * s.Num("must_kg")
		s.Out("yeast_g", grams, "{dose} * {1, or 2 for a hard must} * {must}", term("dose", dose, gPerKg), doubled, term("must", s.Num("must_kg"), kilogram))
	}
	water := grams * s.Num("water_ml_per_g")
	s.Out("water_ml", water, "{yeast} * {water per gram}", term("yeast", grams, gram), term("water per gram", s.Num("water_ml_per_g"), plain))
	share := 0.0
	if s.Given("volume_l") {
		share = water / (s.Num("volume_l") * 1000) * 100
		s.Out("water_share_pct", share, "{water} / ({volume} * 1000) * 100", term("water", water, millilitre), s.term("volume_l"))
	}
	s.coolingSteps(water + grams*0.6) // dried yeast takes up about 0.6 mL a gram when wet
	if grams < 2 {
		s.Caution("not-by-0.1")
	}
	if s.Num("water_ml_per_g") > 16.7 || share > 0.5 {
		s.Caution("us-water")
	}
	s.Caution("packet")
	s.Caution("wait")
	return nil
}

// coolingSteps mixes must into the slurry step by step: each step takes what a
// heat balance asks for.
func (s *Sheet) coolingSteps(slurry float64) {
	must, now := s.Num("must_c"), s.Num("slurry_c")
	rows := []map[string]any{}
	for now-must > s.Num("within_c")+1e-9 {
		next := math.Max(now-s.Num("step_c"), must+s.Num("within_c"))
		add := slurry * (now - next) / (next - must)
		s.Step("must to stir in, down to "+fixed(next, 1)+" °C", add, millilitre, 0, "{slurry} * ({now} - {next}) / ({next} - {must})",
			term("slurry", slurry, millilitre), term("now", now, celsius), term("next", next, celsius), term("must", must, celsius))
		slurry += add
		now = next
		rows = append(rows, map[string]any{"to_c": next, "must_ml": add, "slurry_ml": slurry})
	}
	s.OutRows("steps", rows)
}
