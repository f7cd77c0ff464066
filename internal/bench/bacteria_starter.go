package bench

import (
	"fmt"
	"math"
	"time"

	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "bacteria-starter",
	Title:    "Malolactic starter",
	Purpose:  "whether a wine wants a built-up starter, and the volumes of its steps",
	Question: HowMuch,
	Inputs: []Input{
		inVolume("the wine to inoculate"),
		{Key: "share_pct", Label: "finished starter, of the wine", Unit: percent, Min: 0.5, Max: 20, Default: "4", Exact: true, Seldom: true},
		{Key: "juice_sugar_g_l", Label: "sugar of the juice", Unit: gPerL, Min: 0, Max: 300, Default: "200", Exact: true, Seldom: true, Help: "free of sulfite and of sorbate: read the carton"},
		{Key: "juice_pct", Label: "juice in the activation", Unit: percent, Min: 0, Max: 100, Default: "50", Exact: true, Seldom: true, Help: "the rest is chlorine-free water; half and half in the scheme read"},
		{Key: "half_pct", Label: "wine after the second step", Unit: percent, Min: 5, Max: 95, Default: "50", Exact: true, Seldom: true},
		{Key: "most_pct", Label: "wine after the third step", Unit: percent, Min: 10, Max: 99, Default: "75", Exact: true, Seldom: true},
		{Key: "water_low_c", Label: "kept at, from", Unit: celsius, Min: 5, Max: 40, Default: "20", Exact: true, Seldom: true, Help: "as the packet says; 20 to 25 °C from memory"},
		{Key: "water_high_c", Label: "kept at, to", Unit: celsius, Min: 5, Max: 40, Default: "25", Exact: true, Seldom: true},
		{Key: "least_ph", Label: "pH of the activation, at least", Unit: ph, Min: 2.5, Max: 5, Default: "3.5", Exact: true, Seldom: true},
		{Key: "activate_h", Label: "hours of activation", Min: 1, Max: 240, Default: "18", Exact: true, Seldom: true, Help: "h, at least; 18 to 24 from memory"},
		{Key: "step_days", Label: "days of each later step", Min: 0.5, Max: 30, Default: "2", Exact: true, Seldom: true, Help: "days, at the earliest; 2 to 7 from memory"},
		{Key: "culture_g_hl", Label: "culture for the wine", Unit: gPerHL, Min: 0.01, Max: 100, Default: "1.6", Exact: true, Seldom: true, Help: "as the packet says; about 4 g for 250 L is common"},
		{Key: "nutrient_g_per_g", Label: "nutrient per gram of culture", Min: 0, Max: 200, Exact: true, Seldom: true, Help: "g per g, as its packet says; 20 is common. Left out: as the packet says"},
		{Key: "start", Label: "start on", Kind: Date},
		{Key: "ph", Label: "pH", Unit: ph, Min: 2.5, Max: 5, Fill: LotPH, Exact: true},
		{Key: "abv_pct", Label: "alcohol", Unit: percentVol, Min: 0, Max: 20, Fill: LotStrength, Exact: true},
		{Key: "temp_c", Label: "temperature of the wine", Unit: celsius, Min: 0, Max: 40, Fill: LotTemp, Exact: true},
		{Key: "free_so2_mg_l", Label: "free SO2", Unit: mgPerL, Min: 0, Max: 500, Fill: LotFreeSO2, Exact: true},
		{Key: "total_so2_mg_l", Label: "total SO2", Unit: mgPerL, Min: 0, Max: 1000, Fill: LotTotalSO2, Exact: true},
		{Key: "malic_g_l", Label: "malic acid", Unit: gPerL, Min: 0, Max: 15, Fill: LotMalic, Exact: true},
	},
	Outputs: []Output{
		{Key: "advice", Label: "this wine", Kind: Text},
		{Key: "starter_l", Label: "finished starter", Unit: litre, Decimals: 2},
		{Key: "culture_g", Label: "culture, at least", Unit: gram, Decimals: 2},
		{Key: "nutrient_g", Label: "its nutrient", Unit: gram, Decimals: 1, Optional: true},
		{Key: "juice_l", Label: "juice it takes", Unit: litre, Decimals: 3},
		{Key: "wine_l", Label: "wine it takes", Unit: litre, Decimals: 3},
		{Key: "sugar_into_lot_g_l", Label: "sugar it brings into the wine", Unit: gPerL, Decimals: 2},
		{Key: "steps", Label: "steps", Kind: Table, Columns: []Output{
			{Key: "step", Label: "step", Kind: Text}, {Key: "add", Label: "take", Kind: Text}, {Key: "total_l", Label: "then", Unit: litre, Decimals: 2},
			{Key: "go_on", Label: "go on when", Kind: Text}, {Key: "earliest", Label: "earliest", Kind: Text},
		}},
		{Key: "factors", Label: "factors", Kind: Table, Columns: []Output{
			{Key: "factor", Label: "factor", Kind: Text}, {Key: "value", Label: "value", Kind: Text}, {Key: "band", Label: "by what was read", Kind: Text}, {Key: "custom", Label: "by custom", Kind: Text},
		}},
	},
	Cautions: []Warning{
		{Code: "beyond-limit", When: "a factor is beyond its limit", Mark: cited.Proposal,
			Text: "A factor is beyond its limit: put that right first (warm, raise the pH by blending or bicarbonate, wait for sulfur dioxide to bind and be lost); a starter will not."},
		{Code: "test-sugar", When: "always", Mark: cited.Computed, Text: "The juice brings sugar: repeat the sugar test after malolactic."},
		{Code: "own-lot", When: "always", Mark: cited.CommonPractice, Text: "The starter is a lot of its own with readings of its own; full, without air, clean airlock. Its malic acid must be known, or the paper shows nothing."},
		{Code: "little-malic", When: "malic acid under 1 g/L", Mark: cited.Memory, Text: "Under 1 g/L malic acid the start is slow."},
		{Code: "from-memory", When: "always", Mark: cited.Memory, Text: "Steps after the activation are from memory: the culture's own sheet governs."},
	},
	Sources: []Source{
		{Ref: "AWRI, Preparation of an MLF starter culture", Used: "activation in juice and water 1 : 1, 1 % of the volume; limits 15 to 25 °C, total SO2, alcohol", Mark: cited.Read},
		{Ref: "Nault, Gerbaux, Larpent, Vayssier 1995, Am J Enol Vitic 46:357, abstract", Used: "half wine, then three quarters wine, moved on while malic acid is left", Mark: cited.Read},
		{Ref: "AWRI, Ask the AWRI: malolactic fermentation issues explored", Used: "bands for pH, free and total SO2; factors add up", Mark: cited.Read},
		{Used: "hard going below pH 3.5 or from 14 % vol, best at 21 to 23 °C; about 4 g of culture for 250 L, 20 g nutrient for each gram", Mark: cited.CommonPractice},
		{Used: "count of hard factors: none direct, one direct at full dose and 20 °C, two or more a starter", Mark: cited.Proposal},
	},
	Check:   Check{Against: "volumes by hand for 23, 60 and 225 L from AWRI's scheme and Nault et al. 1995; AWRI's bands, counted by a proposal of this project", Mark: cited.Computed},
	Example: []string{"volume_l=23", "ph=3.15", "abv_pct=13.8", "temp_c=17", "free_so2_mg_l=6", "total_so2_mg_l=45", "malic_g_l=3", "start=2026-11-10"},
	Work:    workBacteriaStarter,
})

func workBacteriaStarter(s *Sheet) error {
	advice := s.suitability()
	s.OutText("advice", advice)
	volume, share := s.Num("volume_l"), s.Num("share_pct")/100
	whole := volume * share
	s.Out("starter_l", whole, "{volume} * {finished starter, of the wine} / 100", s.term("volume_l"), s.term("share_pct"))
	half, most := s.Num("half_pct")/100, s.Num("most_pct")/100
	if most <= half {
		s.Refuse("most_pct", "more than after the second step, %s %%", tidy(s.Num("half_pct")))
	}
	if s.Num("water_high_c") < s.Num("water_low_c") {
		s.Refuse("water_high_c", "at least the lower one, %s °C", tidy(s.Num("water_low_c")))
	}
	if s.Refused() {
		return nil
	}
	activation := whole * (1 - most)
	second := activation / (1 - half)
	juice := activation * s.Num("juice_pct") / 100
	total := term("finished starter", whole, litre)
	s.Out("juice_l", juice, "{finished starter} * (1 - {wine after the third step} / 100) * {juice in the activation} / 100", total, s.term("most_pct"), s.term("juice_pct"))
	s.Out("wine_l", whole-activation, "{finished starter} * {wine after the third step} / 100", total, s.term("most_pct"))
	s.Out("sugar_into_lot_g_l", juice*s.Num("juice_sugar_g_l")/volume, "{juice} * {sugar of the juice} / {volume}", term("juice", juice, litre), s.term("juice_sugar_g_l"), s.term("volume_l"))
	culture := volume * s.Num("culture_g_hl") / 100
	s.Out("culture_g", culture, "{volume} * {culture for the wine} / 100", s.term("volume_l"), s.term("culture_g_hl"))
	with := "culture and its nutrient"
	if n := s.Num("nutrient_g_per_g"); n > 0 {
		s.Out("nutrient_g", culture*n, "{culture} * {nutrient per gram of culture}", term("culture", culture, gram), s.term("nutrient_g_per_g"))
		with = "culture and " + fixed(culture*n, 1) + " g of its nutrient"
	}
	litres := func(x float64) string {
		if x < 1 {
			return fixed(1000*x, 0) + " mL"
		}
		return fixed(x, 2) + " L"
	}
	on := func(day float64) string {
		days := int(math.Ceil(day))
		if !s.Given("start") {
			return fmt.Sprintf("day %d", days)
		}
		return s.Date("start").AddDate(0, 0, days).Format(time.DateOnly)
	}
	woken, later := math.Ceil(s.Num("activate_h")/24), s.Num("step_days")
	warm := tidy(s.Num("water_low_c")) + " to " + tidy(s.Num("water_high_c")) + " °C"
	s.OutRows("steps", []map[string]any{
		{"step": "1 activation", "add": litres(juice) + " juice, " + litres(activation-juice) + " chlorine-free water, " + with + "; pH over " + tidy(s.Num("least_ph")) + ", " + warm, "total_l": activation,
			"go_on": tidy(s.Num("activate_h")) + " h or more", "earliest": on(0)},
		{"step": "2 " + wineShare(half), "add": litres(second-activation) + " of the wine", "total_l": second, "go_on": "half to two thirds of the malic acid is gone, " + tidy(later) + " days or more", "earliest": on(woken)},
		{"step": "3 " + wineShare(most), "add": litres(whole-second) + " of the wine", "total_l": whole, "go_on": "again two thirds gone", "earliest": on(woken + later)},
		{"step": "4 into the wine", "add": "all of it, at 18 to 22 °C", "total_l": volume + activation, "go_on": "weekly tests", "earliest": on(woken + 2*later)},
	})
	s.Caution("test-sugar")
	s.Caution("own-lot")
	s.Caution("from-memory")
	if s.Given("malic_g_l") && s.Num("malic_g_l") < 1 {
		s.Caution("little-malic")
	}
	return nil
}

// wineShare names a starter by the wine in it: "half wine".
func wineShare(share float64) string {
	switch share {
	case 0.5:
		return "half wine"
	case 0.75:
		return "three quarters wine"
	}
	return tidy(100*share) + " % wine"
}

// custom judges a factor as is commonly done, where that differs from what was read.
func custom(key string, x float64) string {
	switch {
	case key == "ph" && x < 3.5:
		return "hard going below 3.5"
	case key == "abv_pct" && x >= 14:
		return "hard going from 14 % vol"
	case key == "temp_c" && x < 21:
		return "slower; best at 21 to 23 °C"
	case key == "temp_c" && x > 23:
		return "best at 21 to 23 °C"
	}
	return ""
}

// A band says from which value on a factor is hard, and from which beyond its
// limit; below marks factors that grow harder downwards.
type band struct {
	key         string
	kind, limit float64 // favourable up to kind (or from kind up), limit
	hard        float64
	below       bool
}

var bands = []band{
	{"temp_c", 18, 10, 15, true}, // 15 to 25 workable; over 25 is taken below
	{"ph", 3.3, 3.0, 3.1, true},
	{"free_so2_mg_l", 5, 50, 10, false},
	{"total_so2_mg_l", 30, 60, 40, false},
	{"abv_pct", 13, 16, 15, false},
}

// suitability counts the factors that are hard in AWRI's bands.
func (s *Sheet) suitability() string {
	rows := []map[string]any{}
	hard, beyond := 0, 0
	for _, b := range bands {
		if !s.Given(b.key) {
			continue
		}
		in := s.calculator.input(b.key)
		x := s.Num(b.key)
		worse := func(mark float64) bool { return b.below && x < mark || !b.below && x > mark }
		word := "favourable"
		switch {
		case worse(b.limit), b.key == "temp_c" && x > 30:
			word = "beyond the limit"
			beyond++
		case worse(b.hard), b.key == "temp_c" && x > 25:
			word = "hard"
			hard++
		case worse(b.kind), b.key == "temp_c" && x > 22:
			word = "workable"
		}
		rows = append(rows, map[string]any{"factor": in.Label, "value": withUnit(tidy(x), in.Unit), "band": word, "custom": custom(b.key, x)})
	}
	s.OutRows("factors", rows)
	switch {
	case len(rows) == 0:
		return "nothing is known of it: give pH, alcohol, temperature and SO2"
	case beyond > 0:
		s.Caution("beyond-limit")
		return "put right first what is beyond its limit"
	case hard >= 2:
		return "wants a built-up starter"
	case hard == 1:
		return "inoculate directly at full dose with rehydration nutrient, at 20 °C"
	}
	return "inoculate directly; no starter is needed"
}
