package bench

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var _ = declare(Calculator{
	Name:     "harvest-yield",
	Title:    "From kilograms to litres to bottles",
	Purpose:  "must, pressed wine and bottles that fruit gives, or the fruit that bottles need",
	Question: Becomes,
	Inputs: []Input{
		{Key: "fruit_kg", Label: "fruit", Unit: kilogram, Min: 0.5, Max: 1e6, Fill: LotWeight},
		{Key: "bottles_wanted", Label: "or bottles wanted", Min: 1, Max: 1e6, Exact: true, Help: "a count"},
		{Key: "stem_pct", Label: "stems", Unit: percent, Min: 0, Max: 15, Default: "4"},
		{Key: "brix", Label: "Brix of the must", Unit: brix, Min: 10, Max: 35, Default: "24", Fill: LotBrix},
		{Key: "yield_l_kg", Label: "wine pressed from a kilogram", Unit: litrePerKg, Min: 0.3, Max: 0.85, Default: "0.62", Help: "your own press knows better; planning figure of wineries 0.63, white at home 0.42 to 0.50, red 0.55 to 0.70"},
		{Key: "losses_pct", Label: "losses one after another", Kind: List, Unit: percent, Min: 0, Max: 60, MinRows: 1, MaxRows: 20, Default: "8,2,2", Help: "gross lees, then each racking"},
		{Key: "bottling_pct", Label: "loss at bottling", Unit: percent, Min: 0, Max: 20, Default: "1.5"},
		{Key: "bottle_ml", Label: "bottle", Unit: millilitre, Min: 50, Max: 20000, Default: "750", Exact: true},
	},
	Groups: []Group{{ExactlyOne, []string{"fruit_kg", "bottles_wanted"}}},
	Outputs: []Output{
		{Key: "needed_kg", Label: "fruit", Unit: kilogram, Decimals: 1},
		{Key: "must_l", Label: "must with skins", Unit: litre, Decimals: 1},
		{Key: "fermenter_l", Label: "fermenter that holds it with room for the cap", Unit: litre, Decimals: 0},
		{Key: "pressed_l", Label: "pressed wine", Unit: litre, Decimals: 1},
		{Key: "aged_l", Label: "after the losses", Unit: litre, Decimals: 1},
		{Key: "bottles", Label: "bottles", Decimals: 0},
		{Key: "kg_per_bottle", Label: "fruit per bottle, kg", Decimals: 2},
	},
	Cautions: []Warning{
		{Code: "own-yield", When: "always", Mark: cited.Memory, Text: "Yield and losses here are rules of thumb; two vintages of your own records are worth more than any of them."},
		{Code: "full-vessels", When: "always", Mark: cited.CommonPractice, Text: "Choose vessels that end full, and keep about 5 % apart for topping: more wine is lost in half-full vessels than to microbes."},
		{Code: "household-limit", When: "over 100 US gal", Mark: cited.Read, Ref: "27 CFR 24.75", Text: "United States households: 100 US gal (379 L) a calendar year with one adult, 200 with two or more, for own use, not for sale. Other places have other rules."},
	},
	Sources: []Source{
		{Used: "V = W·(1 − stems)/density; bottles from pressed wine less the losses", Mark: cited.Computed},
		{Ref: "Cornell, Grapes 101: conversion factors (2011)", Used: "0.63 L/kg (150 US gal a short ton), 1.2 kg a bottle", Mark: cited.Read},
		{Ref: "UC Publication 21434", Used: "white at home 0.42 to 0.50 L/kg", Mark: cited.SecondHand},
		{Used: "stems 2 to 6 %, red 0.55 to 0.70 L/kg, gross lees 5 to 10 %, rackings 1 to 3 %, bottling 1 to 2 %", Mark: cited.Memory},
		{Used: "fermenter at most two thirds to three quarters full", Mark: cited.CommonPractice},
	},
	Check:   Check{Against: "Cornell's 1.2 kg a bottle (Grapes 101, 2011); a pressing of 120 kg worked by hand from remembered losses", Mark: cited.Read},
	Example: []string{"fruit_kg=120", "yield_l_kg=0.62", "yield_l_kg_pm=0.03"},
	Work:    workHarvestYield,
})

func workHarvestYield(s *Sheet) error {
	rho, err := strength.SucroseDensity(strength.Brix(s.Num("brix")), quantity.Celsius(20))
	if err != nil {
		return err
	}
	left := 1.0
	for _, loss := range s.List("losses_pct") {
		left *= 1 - loss/100
	}
	keep := term("kept after the losses", left, plain)
	s.Solved("kept after the losses", left, plain, 3, "product of (1 − loss) over the steps")
	bottle := s.Num("bottle_ml") / 1000
	atBottling := 1 - s.Num("bottling_pct")/100
	kg := s.Num("fruit_kg")
	yield, bottling := s.term("yield_l_kg"), s.term("bottling_pct")
	if s.Given("bottles_wanted") {
		kg = s.Num("bottles_wanted") * bottle / (s.Num("yield_l_kg") * left * atBottling)
		s.Out("needed_kg", kg, "{bottles wanted} * {bottle} / ({wine pressed from a kilogram} * {kept after the losses} * (1 - {loss at bottling} / 100))",
			term("bottles wanted", s.Num("bottles_wanted"), plain), term("bottle", bottle, litre), yield, keep, bottling)
	} else {
		s.OutSolved("needed_kg", kg, "as given")
	}
	fruit := term("fruit", kg, kilogram)
	must := kg * (1 - s.Num("stem_pct")/100) / (rho.KgPerM3() / 1000)
	s.Out("must_l", must, "{fruit} * (1 - {stems} / 100) / {density}", fruit, s.term("stem_pct"), constant("density", rho.KgPerM3()/1000, plain, "kg/L at that Brix, ICUMSA SPS-4"))
	s.Out("fermenter_l", must/0.7, "{must} / 0.7", term("must", must, litre))
	pressed := kg * s.Num("yield_l_kg")
	s.Out("pressed_l", pressed, "{fruit} * {wine pressed from a kilogram}", fruit, yield)
	aged := pressed * left
	s.Out("aged_l", aged, "{pressed} * {kept after the losses}", term("pressed", pressed, litre), keep)
	bottles := math.Floor(aged*atBottling/bottle + 1e-9)
	s.Out("bottles", bottles, "floor({after the losses} * (1 - {loss at bottling} / 100) / {bottle} + 0.000000001)", term("after the losses", aged, litre), bottling, term("bottle", bottle, litre))
	if bottles == 0 {
		s.Refuse("fruit_kg", "enough fruit for one bottle")
		return nil
	}
	s.Out("kg_per_bottle", kg/bottles, "{fruit} / {bottles}", fruit, term("bottles", bottles, plain))
	s.Caution("own-yield")
	s.Caution("full-vessels")
	if aged > 378.5 {
		s.Caution("household-limit")
	}
	return nil
}
