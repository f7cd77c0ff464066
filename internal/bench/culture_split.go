package bench

import (
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
		{Key: "water_ml_per_g", Label: "water per gram of culture", Min: 1, Max: 200, Default: "20", Exact: true,
			Help: "mL per g, as the packet says; 20 is a common figure"},
		{Key: "suspension_ml", Label: "made up to", Unit: millilitre, Min: 1, Max: 1e6, Exact: true,
			Help: "total just before dividing; left out: 1 mL for each litre of wine, and at least the rehydration water"},
		{Key: "step_ml", Label: "step of the cylinder at hand", Unit: millilitre, Min: 0.01, Max: 100, Default: "1", Exact: true},
		{Key: "scale_step_g", Label: "step of the scale at hand", Unit: gram, Min: 0.001, Max: 10, Default: "0.1", Exact: true},
	},
	Outputs: []Output{
		{Key: "rehydration_water_ml", Label: "rehydrate in", Unit: millilitre, Decimals: 0},
		{Key: "made_up_to_ml", Label: "then make up to", Unit: millilitre, Decimals: 1},
		{Key: "adequacy", Label: "rated volume per litre to inoculate", Decimals: 2},
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
			Text: "Divide by volume of the stirred suspension, within the minutes on the packet, with a clean syringe for each lot or the soundest lot first; nothing that touched wine goes back into it. Chlorine-free water, no nutrient with ammonium, no sulfited gear."},
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
	water := s.Num("packet_g") * s.Num("water_ml_per_g")
	total := max(water, wine) // 1 mL for each litre: easy to draw, easy to check
	how := "the larger of the rehydration water and 1 mL for each litre of wine"
	if s.Given("suspension_ml") {
		total, how = s.Num("suspension_ml"), "as given"
		if total < water {
			s.Refuse("suspension_ml", "at least the rehydration water, %s mL", tidy(water))
			return nil
		}
	}
	steps := int(math.Ceil(total/step - 1e-9)) // whole steps, so that the shares can sum to it
	total = float64(steps) * step
	if steps < len(rows) {
		s.Refuse("step_ml", "a finer cylinder: there are fewer steps in the suspension than lots")
		return nil
	}

	s.Out("rehydration_water_ml", water, "{culture} * {water per gram}", term("culture", s.Num("packet_g"), gram), term("water per gram", s.Num("water_ml_per_g"), plain))
	s.OutSolved("made_up_to_ml", total, how+", rounded up to whole steps of the cylinder",
		term("rehydration water", water, millilitre), term("wine", wine, litre), term("step", step, millilitre))
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
		grams := dose / total * s.Num("packet_g")
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

	s.cultureCautions(wine, smallest, smallest/total*s.Num("packet_g"), step)
	return nil
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
