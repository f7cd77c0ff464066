package bench

import (
	"strings"

	"elevage/internal/fault"
	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "units",
	Title:    "Units",
	Purpose:  "volumes, weights, doses, temperatures, pressures from one unit to another",
	Question: Measured,
	Inputs: []Input{
		{Key: "amount", Label: "amount with its unit", Kind: Text, Required: true, Help: "6 gal, 25 g/hL, 68 °F, 2 lb"},
		{Key: "to", Label: "wanted in", Kind: Text, Help: "L, mg/L, °C; left out: every unit of its kind"},
	},
	Outputs: []Output{
		{Key: "converted", Label: "number in the unit wanted", Decimals: 4, Optional: true},
		{Key: "in_words", Label: "that is", Kind: Text},
		{Key: "table", Label: "in every unit of its kind", Kind: Table, Columns: []Output{
			{Key: "unit", Label: "unit", Kind: Text}, {Key: "value", Label: "number", Decimals: 4},
		}},
	},
	Cautions: []Warning{
		{Code: "us-gallon", When: "gal is used without saying which", Mark: cited.Read, Ref: "27 CFR 4.10",
			Text: "gal is taken as the United States gallon, 3.785 L; write imp gal for the imperial one, 4.546 L."},
		{Code: "ppm", When: "ppm is used", Mark: cited.Computed, Text: "ppm is taken as mg per litre; by weight it differs by the wine's density, about 1 %."},
		{Code: "unlike-gram", When: "ounces or pounds", Mark: cited.CommonPractice, Text: "A dose mistaken for ounces is 28 times as much: read the scale's unit before weighing."},
	},
	Sources: []Source{
		{Ref: "27 CFR 4.10", Used: "US gallon 231 cubic inches, 3.785411784 L exactly", Mark: cited.Read},
		{Used: "pound 0.45359237 kg, inch 25.4 mm, °C × 1.8 + 32, exact; imperial gallon 4.54609 L", Mark: cited.Memory},
	},
	Check:   Check{Against: "27 CFR 24.246 prints 8 lb per 1000 gal as 0.96 g/L, 60 lb as 7.19 g/L; the rest are definitions", Mark: cited.Read},
	Example: []string{"amount=6 gal", "to=L"},
	Work:    workUnits,
})

// kinds of quantity that convert by a factor, by the unit a table starts with.
var convertible = []dimension{"volume", "mass", "concentration", "temperature", "pressure", "length", "time", "density", "gas flow", "strength", "share", "voltage", "molarity", "normality"}

func workUnits(s *Sheet) error {
	number, spelled := splitAmount(s.Choice("amount"))
	x, err := parseNumber(number)
	if err != nil || spelled == "" {
		s.refuseText("amount", "a number and its unit, like 6 gal", errText(err))
		return nil
	}
	from, ok := firstUnit(spelled, "")
	if !ok {
		s.refuseText("amount", "a known unit", "unknown unit "+spelled)
		return nil
	}
	rows := []map[string]any{}
	for _, u := range unitsOf(from.dim) {
		rows = append(rows, map[string]any{"unit": u.Symbol, "value": convert(x, from, u)})
	}
	s.OutRows("table", rows)
	s.OutText("in_words", tidy(x)+" "+from.Symbol)
	if s.Given("to") {
		to, ok := firstUnit(s.Choice("to"), from.dim)
		if !ok {
			s.refuseText("to", strings.Join(UnitsLike(from), ", "), "")
			return nil
		}
		y := convert(x, from, to)
		base := from.base(x)
		if from.shift == 0 && to.shift == 0 {
			s.Out("converted", y, "{amount} * {size of the one} / {size of the other}", term("amount", x, from), term("size of the one", from.scale, plain), term("size of the other", to.scale, plain))
		} else {
			s.OutSolved("converted", y, "by the two scales' zero and step, through °C", term("in °C", base, celsius))
		}
		s.OutText("in_words", tidy(x)+" "+from.Symbol+" = "+tidy(y)+" "+to.Symbol)
	}
	for _, word := range []string{s.Choice("amount"), s.Choice("to")} {
		low := strings.ToLower(word)
		switch {
		case strings.Contains(low, "gal") && !strings.Contains(low, "us") && !strings.Contains(low, "imp") && !strings.Contains(low, "uk"):
			s.once("us-gallon")
		case strings.Contains(low, "ppm"):
			s.once("ppm")
		case strings.Contains(low, "oz") && !strings.Contains(low, "fl"), strings.Contains(low, "lb"):
			s.once("unlike-gram")
		}
	}
	return nil
}

// once shows a caution unless it is shown already.
func (s *Sheet) once(code string) {
	for _, n := range s.cautions {
		if n.Code == code {
			return
		}
	}
	s.Caution(code)
}

func (s *Sheet) refuseText(key, allowed, hint string) {
	s.refusals = append(s.refusals, fault.Field{Name: key, Given: s.Choice(key), Allowed: allowed, Hint: hint})
}

func errText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// firstUnit finds a spelled unit, of a dimension if one is wanted.
func firstUnit(spelled string, want dimension) (Unit, bool) {
	for _, u := range written[strings.ToLower(strings.Join(strings.Fields(spelled), ""))] {
		for _, d := range convertible {
			if u.dim == d && (want == "" || want == d) {
				return u, true
			}
		}
	}
	return Unit{}, false
}

// unitsOf lists the units of a dimension, each once, by size.
func unitsOf(d dimension) []Unit {
	var list []Unit
	for _, symbol := range UnitsLike(Unit{dim: d}) {
		for _, candidates := range written {
			for _, u := range candidates {
				if u.dim == d && u.Symbol == symbol && (len(list) == 0 || list[len(list)-1].Symbol != symbol) {
					list = append(list, u)
				}
			}
		}
	}
	return list
}
