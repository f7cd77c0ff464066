package bench

import (
	"fmt"
	"strings"
	"time"

	"elevage/science/cited"
	"elevage/science/primary"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "rescue-culture",
	Title:    "Rescue of a stuck ferment",
	Purpose:  "yeast, water and wine of each step that leads a new culture into a stuck ferment, with a timetable",
	Question: HowMuch,
	Inputs: []Input{
		{Key: "volume_l", Label: "stuck wine", Unit: litre, Min: 1, Max: 10000, Required: true, Fill: LotVolume, Exact: true},
		{Key: "start", Label: "start on", Kind: Date},
		{Key: "abv_pct", Label: "alcohol", Unit: percentVol, Min: 0, Max: 20, Fill: LotStrength, Exact: true},
		{Key: "sugar_g_l", Label: "sugar left", Unit: gPerL, Min: 0, Max: 200, Fill: LotSugar, Exact: true},
		{Key: "va_g_l", Label: "volatile acidity, as acetic acid", Unit: gPerL, Min: 0, Max: 5, Exact: true},
	},
	Outputs: []Output{
		{Key: "advice", Label: "this wine", Kind: Text},
		{Key: "yeast_g", Label: "active dry yeast", Unit: gram, Decimals: 1},
		{Key: "water_l", Label: "water it takes", Unit: litre, Decimals: 2},
		{Key: "steps", Label: "steps", Kind: Table, Columns: []Output{
			{Key: "step", Label: "step", Kind: Text}, {Key: "do", Label: "do", Kind: Text}, {Key: "take", Label: "take", Kind: Text}, {Key: "total_l", Label: "then", Unit: litre, Decimals: 2},
			{Key: "go_on", Label: "go on when", Kind: Text}, {Key: "earliest", Label: "earliest", Kind: Text},
		}},
		{Key: "before", Label: "first", Kind: Table, Columns: []Output{{Key: "do", Label: "do", Kind: Text}}},
	},
	Cautions: []Warning{
		{Code: "from-memory", When: "always", Mark: cited.Memory, Text: "Volumes and waits of the steps are from memory: the yeast's own sheet or the bulletin governs."},
		{Code: "volatile", When: "volatile acidity is over 1 g/L", Mark: cited.Memory, Text: "Volatile acidity over 1.0 g/L is itself poisonous to yeast: it must come down first, or the rescue fails too."},
		{Code: "confirm-stop", When: "always", Mark: cited.CommonPractice, Text: "Confirm the stop first: degas, strain, a second float, a sugar test. One change at a time, or the result teaches nothing."},
		{Code: "fructose", When: "always", Mark: cited.Read, Ref: "AWRI, Procedure for rescue of stuck or slow alcoholic fermentation, March 2020 (opening read)",
			Text: "What is left is mostly fructose: choose a yeast able to use it and this much alcohol."},
		cautionCO2,
	},
	Sources: []Source{
		{Ref: "AWRI, Procedure for rescue of stuck or slow alcoholic fermentation, March 2020 (opening read)", Used: "order of preparation", Mark: cited.Read},
		{Used: "steps, volumes and waits of the culture", Mark: cited.Memory},
	},
	Check:   Check{Against: "cultures for 23 and 54 L worked by hand from remembered steps; no publication", Mark: cited.Memory},
	Example: []string{"volume_l=46", "abv_pct=12.6", "sugar_g_l=18", "start=2026-10-20"},
	Work:    workRescueCulture,
})

// rescueDays are the earliest days of the steps: rehydrated on the first, the medium
// fermented overnight, each doubling a day.
var rescueDays = [...]int{0, 0, 1, 2, 3}

func workRescueCulture(s *Sheet) error {
	plan, err := primary.RescueCulture(s.Volume("volume_l"))
	if err != nil {
		return err
	}
	s.OutText("advice", s.rescueAdvice())
	s.Out("yeast_g", plan.Steps[0].Yeast.Grams(), "{yeast per litre} * {stuck wine}", constant("yeast per litre", 0.5, gPerL, "twice the usual 0.25 g/L, from memory"), s.term("volume_l"))
	water := 0.0
	var rows, before []map[string]any
	for i, step := range plan.Steps {
		water += step.Water.Litres()
		var take []string
		if step.Yeast > 0 {
			take = append(take, fixed(step.Yeast.Grams(), 1)+" g yeast")
		}
		if step.Water > 0 {
			take = append(take, poured(step.Water)+" water")
		}
		if step.Wine > 0 {
			take = append(take, poured(step.Wine)+" stuck wine")
		}
		when := fmt.Sprintf("day %d", rescueDays[i])
		if s.Given("start") {
			when = s.Date("start").AddDate(0, 0, rescueDays[i]).Format(time.DateOnly)
		}
		rows = append(rows, map[string]any{"step": step.Name, "do": step.Do, "take": strings.Join(take, ", "), "total_l": step.Volume.Litres(), "go_on": step.Goes, "earliest": when})
	}
	for _, text := range plan.Before {
		before = append(before, map[string]any{"do": text})
	}
	for _, text := range plan.Watch {
		before = append(before, map[string]any{"do": text})
	}
	s.OutSolved("water_l", water, "ten times the yeast to rehydrate it, and half of the first medium")
	s.OutRows("steps", rows)
	s.OutRows("before", before)
	if s.Given("va_g_l") && s.Num("va_g_l") > 1 {
		s.Caution("volatile")
	}
	for _, code := range []string{"confirm-stop", "fructose", "from-memory", "carbon-dioxide"} {
		s.Caution(code)
	}
	return nil
}

// rescueAdvice says whether the long way is needed: over 12 % vol with over 5 g/L of
// sugar it is (AWRI, Procedure for rescue of stuck or slow alcoholic fermentation,
// March 2020, opening read: 5 to 10 g/L).
func (s *Sheet) rescueAdvice() string {
	switch {
	case !s.Given("abv_pct") || !s.Given("sugar_g_l"):
		return "give alcohol and the sugar left to see whether the whole rescue is needed"
	case s.Num("sugar_g_l") <= 2:
		return "it is dry or nearly so: no rescue is needed"
	case s.Num("abv_pct") > 12 && s.Num("sugar_g_l") > 5:
		return "wants the whole rescue"
	}
	return "try first without the long way: warm to 20 to 22 °C, stir, and add fresh lees of a healthy ferment or a culture begun in juice"
}

// poured is a volume as one measures it: 115 mL, 2.30 L.
func poured(v quantity.Volume) string {
	if v < 1 {
		return fixed(v.Millilitres(), 0) + " mL"
	}
	return fixed(v.Litres(), 2) + " L"
}
