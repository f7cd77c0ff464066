package bench

import (
	"fmt"
	"math"
	"slices"

	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "culture-split",
	Title:    "One culture for several lots",
	Purpose:  "millilitres of one rehydrated packet for each lot, summing to what there is",
	Question: HowMuch,
	Inputs: []Input{
		{Key: "lots", Label: "lots", Kind: Table, MinRows: 1, MaxRows: 40, Required: true, Columns: []Input{
			{Key: "lot", Label: "lot", Kind: Text, Required: true},
			{Key: "volume_l", Label: "volume", Unit: litre, Min: 0.1, Max: 1e5, Required: true, Help: wineNotVessel},
			{Key: "weight", Label: "weight", Min: 0.5, Max: 5, Default: "1", Exact: true,
				Help: "1 for an easy wine; 1.5 to 2 for one with a hard factor (proposal)"},
		}},
		{Key: "packet_g", Label: "culture in the packet", Unit: gram, Min: 0.1, Max: 10000, Required: true},
		{Key: "packet_volume_l", Label: "wine the packet is rated for", Unit: litre, Min: 0.1, Max: 1e6, Required: true, Help: "as the packet says", Exact: true},
		{Key: "take", Label: "of the packet", Kind: Option, Default: "whole",
			Options: []Choice{{"whole", "all of it"}, {"needed", "what these lots ask for"}}},
		{Key: "nutrient_g_per_g", Label: "nutrient per gram of culture", Min: 0, Max: 200, Exact: true,
			Help: "g per g, the one made for soaking bacteria, as its packet says; 20 is common. Left out: none"},
		{Key: "water_ml_per_g", Label: "water per gram of culture", Min: 1, Max: 500, Exact: true,
			Help: "mL per g, as the packet says. Left out: 20, or 100 with a nutrient; both are common"},
		{Key: "water_low_c", Label: "water, from", Unit: celsius, Min: 5, Max: 40, Default: "20", Exact: true, Seldom: true,
			Help: "distilled or free of chlorine, as warm as the packet says; from 20 to 25 °C by one custom, 24.5 to 25.5 by another"},
		{Key: "water_high_c", Label: "water, to", Unit: celsius, Min: 5, Max: 40, Default: "25", Exact: true, Seldom: true},
		{Key: "soak_min", Label: "minutes in water", Min: 1, Max: 120, Default: "15", Exact: true, Seldom: true, Help: "at most, as the packet says"},
		{Key: "juice_ml_per_g", Label: "then juice per gram of culture", Min: 0, Max: 1000, Exact: true,
			Help: "mL per g, free of sulfite and of sorbate; apple serves. Left out: none. As much as there is water is a proposal"},
		{Key: "juice_min", Label: "minutes in juice", Min: 1, Max: 1440, Default: "15", Exact: true, Seldom: true, Help: "min, before the next step"},
		{Key: "juice_sugar_g_l", Label: "sugar of the juice", Unit: gPerL, Min: 0, Max: 300, Default: "110", Exact: true, Seldom: true, Help: "read the carton"},
		{Key: "wine_ml_per_g", Label: "then wine per gram of culture", Min: 0, Max: 1000, Exact: true,
			Help: "mL per g, of the lot itself or of the soundest. Left out: none"},
		{Key: "wine_min", Label: "minutes in wine", Min: 1, Max: 1440, Default: "15", Exact: true, Seldom: true, Help: "min, before it is divided"},
		{Key: "suspension_ml", Label: "made up to", Unit: millilitre, Min: 1, Max: 1e6, Exact: true, Seldom: true,
			Help: "total just before dividing; left out: 1 mL for each litre of wine, and at least the rehydration water"},
		{Key: "step_ml", Label: "step of the cylinder at hand", Unit: millilitre, Min: 0.01, Max: 100, Default: "1", Exact: true},
		{Key: "scale_step_g", Label: "step of the scale at hand", Unit: gram, Min: 0.001, Max: 10, Default: "0.1", Exact: true, Seldom: true},
	},
	Outputs: []Output{
		{Key: "rehydration_water_ml", Label: "rehydrate in", Unit: millilitre, Decimals: 0},
		{Key: "culture_g", Label: "culture", Unit: gram, Decimals: 2},
		{Key: "nutrient_g", Label: "nutrient in the water", Unit: gram, Decimals: 1, Optional: true},
		{Key: "juice_ml", Label: "juice after that", Unit: millilitre, Decimals: 0, Optional: true},
		{Key: "wine_ml", Label: "wine after that", Unit: millilitre, Decimals: 0, Optional: true},
		{Key: "sugar_g_l", Label: "sugar the juice brings into the wine", Unit: gPerL, Decimals: 2, Optional: true},
		{Key: "made_up_to_ml", Label: "just before dividing, make up to", Unit: millilitre, Decimals: 1},
		{Key: "adequacy", Label: "rated volume per litre to inoculate", Decimals: 2},
		{Key: "rest", Label: "of the packet", Kind: Text},
		{Key: "shares", Label: "for each lot", Kind: Table, Columns: []Output{
			{Key: "lot", Label: "lot", Kind: Text},
			{Key: "volume_l", Label: "volume", Unit: litre, Decimals: 1},
			{Key: "dose_ml", Label: "suspension", Unit: millilitre, Decimals: 2},
			{Key: "culture_g", Label: "holds culture", Unit: gram, Decimals: 3},
			{Key: "share_pct", Label: "share", Unit: percent, Decimals: 1},
			{Key: "rate_g_hl", Label: "rate", Unit: gPerHL, Decimals: 2},
		}},
	},
	Cautions: []Warning{
		{Code: "underdosed", When: "the lots together exceed what the packet is rated for", Mark: cited.SecondHand,
			Text: "The packet is rated for less wine than this: build a starter first, or inoculate fewer lots. Too few bacteria is a way to a stuck fermentation."},
		{Code: "stir", When: "always", Mark: cited.CommonPractice,
			Text: "Divide by volume of the stirred suspension, within the minutes on the packet, with a clean syringe for each lot or the soundest lot first; nothing that touched a lot goes back into it. Chlorine-free water, no nutrient with ammonium, no sulfited gear."},
		{Code: "test-sugar", When: "juice is given", Mark: cited.Computed, Text: "The juice brings sugar: repeat the sugar test after malolactic."},
		{Code: "thins", When: "water and juice exceed 2 % of the wine", Mark: cited.Proposal,
			Text: "So much water and juice thins the wine: take only what these lots ask for, less water and juice, or inoculate more wine."},
		{Code: "not-by-weight", When: "a lot's share is under twenty steps of the scale", Mark: cited.Computed,
			Text: "The powder cannot be divided on this scale."},
		{Code: "coarse", When: "a lot's share is under ten steps of the cylinder", Mark: cited.Computed,
			Text: "The cylinder is coarse for the smallest share: use a finer one, or make the suspension up to more."},
		{Code: "from-here-on", When: "always", Mark: cited.CommonPractice,
			Text: "From this hour no sulfur dioxide, sorbate, lysozyme, chill, or topping with sulfited wine until the end is shown."},
	},
	Sources: []Source{
		{Used: "share = volume × weight over the sum; dose by volume of a stirred suspension; largest remainders take up the rounding", Mark: cited.CommonPractice},
		{Used: "20 times its weight of chlorine-free water, 20 to 25 °C, at most 15 min; the packet governs", Mark: cited.Memory},
		{Used: "20 g nutrient and 100 mL distilled water of 24.5 to 25.5 °C for each gram; after 15 min juice without sulfite, after another 15 some of the wine; about 4 g for 250 L", Mark: cited.CommonPractice},
		{Used: "as much juice and as much wine as there is water", Mark: cited.Proposal},
		{Used: "weight 1.5 to 2 for a lot with one hard factor", Mark: cited.Proposal},
	},
	Check:   Check{Against: "shares by hand for an invented packet and lots of 54, 23, 23, 10 L", Mark: cited.Computed},
	Example: []string{"lots=c1,54;c2,23;c3,23;b1,10", "packet_g=2.5", "packet_volume_l=250", "water_ml_per_g=20"},
	Work:    workCultureSplit,
})

func workCultureSplit(s *Sheet) error {
	rows := s.Rows("lots")
	var wine, weighted float64
	for _, row := range rows {
		wine += row.Num("volume_l")
		weighted += row.Num("volume_l") * row.Num("weight")
	}
	step := s.Num("step_ml")
	culture := s.culture(wine)
	soaked := s.soak(culture, wine)
	if s.Refused() {
		return nil
	}
	total := max(soaked, wine) // 1 mL for each litre: easy to draw, easy to check
	how := "the larger of what it was soaked in and 1 mL for each litre of wine"
	if s.Given("suspension_ml") {
		total, how = s.Num("suspension_ml"), "as given"
		if total < soaked {
			s.Refuse("suspension_ml", "at least what it was soaked in, %s mL", tidy(soaked))
			return nil
		}
	}
	steps := int(math.Ceil(total/step - 1e-9)) // whole steps, so that the shares can sum to it
	total = float64(steps) * step
	if steps < len(rows) {
		s.Refuse("step_ml", "a finer cylinder: there are fewer steps in the suspension than lots")
		return nil
	}

	s.OutSolved("made_up_to_ml", total, how+", rounded up to whole steps of the cylinder",
		term("soaked in", soaked, millilitre), term("wine", wine, litre), term("step", step, millilitre))
	s.Out("adequacy", s.Num("packet_volume_l")/wine, "{rated for} / {wine to inoculate}",
		term("rated for", s.Num("packet_volume_l"), litre), term("wine to inoculate", wine, litre))

	exact := make([]float64, len(rows))
	for i, row := range rows {
		exact[i] = row.Num("volume_l") * row.Num("weight") / weighted * float64(steps)
	}
	whole := apportion(exact, steps)
	table := make([]map[string]any, len(rows))
	smallest := math.Inf(1)
	for i, row := range rows {
		dose := float64(whole[i]) * step
		grams := dose / total * culture
		smallest = min(smallest, dose)
		s.Step("share of "+row.Choice("lot")+", before rounding to the cylinder", exact[i]*step, millilitre, 2,
			"{volume} * {weight} / {sum of volume times weight} * {suspension}",
			term("volume", row.Num("volume_l"), litre), term("weight", row.Num("weight"), plain),
			term("sum of volume times weight", weighted, litre), term("suspension", total, millilitre))
		table[i] = map[string]any{
			"lot": row.Choice("lot"), "volume_l": row.Num("volume_l"), "dose_ml": dose, "culture_g": grams,
			"share_pct": dose / total * 100, "rate_g_hl": grams / row.Num("volume_l") * 100,
		}
	}
	s.OutRows("shares", table)

	s.cultureCautions(wine, smallest, smallest/total*culture, step)
	return nil
}

// culture is what is taken out of the packet, and says what becomes of the rest.
func (s *Sheet) culture(wine float64) float64 {
	packet, rated := s.Num("packet_g"), s.Num("packet_volume_l")
	asked := packet * wine / rated
	terms := []Term{term("culture in the packet", packet, gram), term("wine to inoculate", wine, litre), term("rated for", rated, litre)}
	over := fmt.Sprintf("it is rated for %s times this wine, which asks for %s of its %s g", fixed(rated/wine, 1), fixed(asked, 2), tidy(packet))
	switch {
	case asked >= packet:
		s.OutText("rest", "it is needed whole.")
	case s.Choice("take") == "needed":
		s.Out("culture_g", asked, "{culture in the packet} * {wine to inoculate} / {rated for}", terms...)
		s.OutText("rest", over+". What is opened takes up water and loses cells, and the loss cannot be seen: close it at once, dry and frozen, only if its sheet allows that, and count on less; better, more wine at the same time, or a neighbour's.")
		return asked
	default:
		s.OutText("rest", over+". Taken whole it does no harm: more cells begin sooner. An opened packet cannot be kept; inoculate more wine with it at the same time, if you have some.")
	}
	s.Out("culture_g", packet, "{culture in the packet}", terms[0])
	return packet
}

// mostThinned is the share of water and juice in a wine above which the plan says so.
const mostThinned = 0.02

// soak is the liquid that a culture is woken in: water, and juice and wine if they are given.
func (s *Sheet) soak(culture, wine float64) float64 {
	nutrient, per := s.Num("nutrient_g_per_g"), 20.0
	if nutrient > 0 {
		per = 100
	}
	if s.Given("water_ml_per_g") {
		per = s.Num("water_ml_per_g")
	}
	if s.Num("water_high_c") < s.Num("water_low_c") {
		s.Refuse("water_high_c", "at least the lower one, %s °C", tidy(s.Num("water_low_c")))
	}
	grams := term("culture", culture, gram)
	water := culture * per
	s.Out("rehydration_water_ml", water, "{culture} * {water per gram}", grams, term("water per gram", per, plain))
	if nutrient > 0 {
		s.Out("nutrient_g", culture*nutrient, "{culture} * {nutrient per gram}", grams, term("nutrient per gram", nutrient, plain))
	}
	soaked := water
	for _, more := range []struct{ per, out, what string }{{"juice_ml_per_g", "juice_ml", "juice per gram"}, {"wine_ml_per_g", "wine_ml", "wine per gram"}} {
		if ml := culture * s.Num(more.per); ml > 0 {
			s.Out(more.out, ml, "{culture} * {"+more.what+"}", grams, term(more.what, s.Num(more.per), plain))
			soaked += ml
		}
	}
	juice := culture * s.Num("juice_ml_per_g")
	if share := (water + juice) / 1000 / wine; share > mostThinned {
		s.Caution("thins", "They are %s %% of it.", fixed(100*share, 1))
	}
	if juice > 0 {
		s.Caution("test-sugar")
		s.Out("sugar_g_l", juice/1000*s.Num("juice_sugar_g_l")/wine, "{juice} / 1000 * {sugar of the juice} / {wine to inoculate}",
			term("juice", juice, millilitre), s.term("juice_sugar_g_l"), term("wine to inoculate", wine, litre))
	}
	return soaked
}

// cultureCautions looks at the smallest share, in mL and in grams of culture.
func (s *Sheet) cultureCautions(wine, smallest, least, step float64) {
	if s.Num("packet_volume_l") < wine {
		s.Caution("underdosed", "Rated for %s L, asked for %s L.", tidy(s.Num("packet_volume_l")), tidy(wine))
	}
	if least < 20*s.Num("scale_step_g") {
		s.Caution("not-by-weight", "The smallest share is %s g on a scale of %s g: an error of up to %s %%.",
			tidy(math.Round(least*1000)/1000), tidy(s.Num("scale_step_g")), tidy(math.Round(s.Num("scale_step_g")/least*100)))
	}
	if smallest < 10*step {
		s.Caution("coarse", "The smallest share is %s mL in steps of %s mL.", tidy(smallest), tidy(step))
	}
	s.Caution("stir")
	s.Caution("from-here-on")
}

// apportion rounds exact parts to whole ones that sum to the total: each gets its
// floor, and the largest remainders one more. Equal remainders go to the earlier
// part, so that the same lots always give the same table.
func apportion(exact []float64, total int) []int {
	whole := make([]int, len(exact))
	order := make([]int, len(exact))
	rest := total
	for i, x := range exact {
		whole[i] = int(math.Floor(x + 1e-9))
		rest -= whole[i]
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		ra, rb := exact[a]-float64(whole[a]), exact[b]-float64(whole[b])
		switch {
		case ra > rb+1e-9:
			return -1
		case rb > ra+1e-9:
			return 1
		}
		return 0
	})
	for k := 0; k < rest; k++ {
		whole[order[k%len(order)]]++
	}
	return whole
}
