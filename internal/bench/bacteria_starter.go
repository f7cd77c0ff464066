package bench

import (
	"fmt"
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
		{Key: "share_pct", Label: "finished starter, of the wine", Unit: percent, Min: 0.5, Max: 20, Default: "4", Exact: true},
		{Key: "juice_sugar_g_l", Label: "sugar of the juice", Unit: gPerL, Min: 0, Max: 300, Default: "200", Exact: true, Help: "free of sulfite and of sorbate: read the carton"},
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
		{Key: "juice_l", Label: "juice it takes", Unit: litre, Decimals: 3},
		{Key: "wine_l", Label: "wine it takes", Unit: litre, Decimals: 3},
		{Key: "sugar_into_lot_g_l", Label: "sugar it brings into the wine", Unit: gPerL, Decimals: 2},
		{Key: "steps", Label: "steps", Kind: Table, Columns: []Output{
			{Key: "step", Label: "step", Kind: Text}, {Key: "add", Label: "take", Kind: Text}, {Key: "total_l", Label: "then", Unit: litre, Decimals: 2},
			{Key: "go_on", Label: "go on when", Kind: Text}, {Key: "earliest", Label: "earliest", Kind: Text},
		}},
		{Key: "factors", Label: "factors", Kind: Table, Columns: []Output{
			{Key: "factor", Label: "factor", Kind: Text}, {Key: "value", Label: "value", Kind: Text}, {Key: "band", Label: "band", Kind: Text},
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
	juice := whole / 8
	total := term("finished starter", whole, litre)
	s.Out("juice_l", juice, "{finished starter} / 8", total)
	s.Out("wine_l", whole*3/4, "{finished starter} * 3 / 4", total)
	s.Out("sugar_into_lot_g_l", juice*s.Num("juice_sugar_g_l")/volume, "{juice} * {sugar of the juice} / {volume}", term("juice", juice, litre), s.term("juice_sugar_g_l"), s.term("volume_l"))
	litres := func(x float64) string { return fixed(x, 2) + " L" }
	on := func(days int) string {
		if !s.Given("start") {
			return fmt.Sprintf("day %d", days)
		}
		return s.Date("start").AddDate(0, 0, days).Format(time.DateOnly)
	}
	s.OutRows("steps", []map[string]any{
		{"step": "1 activation", "add": litres(juice) + " juice, " + litres(juice) + " chlorine-free water, culture and its nutrient; pH over 3.5, 20 to 25 °C", "total_l": whole / 4,
			"go_on": "18 to 24 h", "earliest": on(0)},
		{"step": "2 half wine", "add": litres(whole/4) + " of the wine", "total_l": whole / 2, "go_on": "half to two thirds of the malic acid is gone, 2 to 7 days", "earliest": on(1)},
		{"step": "3 three quarters wine", "add": litres(whole/2) + " of the wine", "total_l": whole, "go_on": "again two thirds gone", "earliest": on(3)},
		{"step": "4 into the wine", "add": "all of it, at 18 to 22 °C", "total_l": volume + juice*2, "go_on": "weekly tests", "earliest": on(5)},
	})
	s.Caution("test-sugar")
	s.Caution("own-lot")
	s.Caution("from-memory")
	if s.Given("malic_g_l") && s.Num("malic_g_l") < 1 {
		s.Caution("little-malic")
	}
	return nil
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
		rows = append(rows, map[string]any{"factor": in.Label, "value": withUnit(tidy(x), in.Unit), "band": word})
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
