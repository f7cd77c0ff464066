package serve

import (
	"net/url"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

func inoculationFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true),
		{Name: "of", Label: "For", Kind: ui.Pick, Value: "malolactic", Options: choices("malolactic", "primary")},
		{Name: "how", Label: "How", Kind: ui.Pick, Value: "rehydrated", Options: []ui.Option{
			{Value: "direct", Text: "direct", Note: "sprinkled in"}, {Value: "rehydrated", Text: "rehydrated"},
			{Value: "starter", Text: "starter", Note: "built up in wine"}, {Value: "native", Text: "none", Note: "left to start by itself"}}},
		{Name: "amount", Label: "Amount", Optional: true, Example: "0.5 g"},
		{Name: "culture", Label: "Culture", Optional: true, Help: "As on the packet."},
		{Name: "supply", Label: "Supplier's lot", Optional: true, Extra: true},
		{Name: "treats", Label: "The packet is rated for", Optional: true, Extra: true, Beside: true, Unit: "L"},
		{Name: "nutrient", Label: "Nutrient with it", Optional: true, Extra: true},
		{Name: "from", Label: "Starter from", Kind: ui.Choice, Optional: true, Extra: true, Options: vesselField(v, "from", "", true).Options}}
}

func inoculationDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Inoculation{Vessel: slugOf(q, "vessel"), Of: text(q, "of"), How: text(q, "how"), Culture: text(q, "culture"), Amount: w.measure(q, "amount", "g", false),
		Supply: text(q, "supply"), Treats: w.measure(q, "treats", "L", false), Nutrient: text(q, "nutrient"), From: slugOf(q, "from")}, w
}

func stirringFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true),
		{Name: "what", Label: "What", Kind: ui.Pick, Value: "lees", Options: []ui.Option{{Value: "lees", Text: "lees stirred"}, {Value: "punch-down", Text: "cap punched down"},
			{Value: "pump-over", Text: "pumped over"}, {Value: "rack-and-return", Text: "racked and returned"}}},
		{Name: "words", Label: "Words", Optional: true, Extra: true}}
}

func stirringDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return cellar.Stirring{Vessel: slugOf(q, "vessel"), What: text(q, "what"), Words: text(q, "words")}, nil
}

func additionFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), productField(),
		{Name: "amount", Label: "How much", Example: "3.1 g", Help: "Weight, volume of a solution, or a rate such as 30 mg/L."},
		{Name: "strength", Label: "Strength", Optional: true, Extra: true, Unit: "%", Example: "100", Help: "Of an aged powder, or grams in 100 mL of a solution."},
		{Name: "solution", Label: "The amount is of a solution in water", Kind: ui.Check, Optional: true, Extra: true},
		{Name: "for", Label: "Reckoned for", Optional: true, Extra: true, Unit: usual(v, q, "L"), Help: "The volume that the dose was reckoned for. If another comes to light, you are told."},
		{Name: "supply", Label: "Supplier's lot", Optional: true, Extra: true},
		{Name: "words", Label: "Words", Optional: true, Extra: true}}
}

func additionDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Addition{Vessel: slugOf(q, "vessel"), Product: text(q, "product"), Amount: w.measure(q, "amount", "g", true), For: w.measure(q, "for", usual(v, q, "L"), false),
		Strength: w.measure(q, "strength", "%", false), Solution: q.Get("solution") != "", Supply: text(q, "supply"), Words: text(q, "words")}, w
}

func warmthFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), {Name: "set", Label: "Held at", Unit: usual(v, q, "°C")}}
}

func warmthDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Warmth{Vessel: slugOf(q, "vessel"), Set: w.measure(q, "set", usual(v, q, "°C"), true)}, w
}

func controlFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), {Name: "volume", Label: "Kept back", Optional: true, Example: "250 mL"},
		{Name: "kept", Label: "Kept", Kind: ui.Pick, Value: "cold", Options: choices("cold", "frozen")}}
}

func controlDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.ControlKept{Vessel: slugOf(q, "vessel"), Volume: w.measure(q, "volume", "mL", false), Kept: text(q, "kept")}, w
}

func verdictFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), {Name: "says", Label: "Verdict", Kind: ui.Choice, Options: choices(cellar.Verdicts...)},
		{Name: "evidence", Label: "On what evidence", Kind: ui.Long, Optional: true}}
}

func verdictDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return cellar.Verdict{Vessel: slugOf(q, "vessel"), Says: text(q, "says"), Evidence: text(q, "evidence")}, nil
}

func noteFields(v *desk.View, _ url.Values) []ui.Field {
	vessel := vesselField(v, "vessel", "Vessel", false)
	vessel.Optional = true
	return []ui.Field{vessel, {Name: "words", Label: "Words", Kind: ui.Long}}
}

func noteDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return cellar.Note{Vessel: slugOf(q, "vessel"), Words: text(q, "words")}, nil
}

// treatmentWords are the treatments in the words of the trade.
var treatmentWords = map[string]string{"filtration": "filtered", "chilling": "chilled", "aeration": "aired", "degassing": "degassed", "oak-in": "oak in", "oak-out": "oak out",
	"fining-settled": "fining settled", "topping-gas": "gas on top", "pasteurising": "pasteurised", "other": "something else"}

func treatmentFields(v *desk.View, _ url.Values) []ui.Field {
	what := ui.Field{Name: "what", Label: "What was done", Kind: ui.Pick, Value: "filtration"}
	for _, t := range cellar.Treatments {
		what.Options = append(what.Options, ui.Option{Value: t, Text: treatmentWords[t]})
	}
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), what,
		{Name: "amount", Label: "How much", Optional: true, Example: "60 g", Help: "Weight of oak, temperature, hours: with its unit."},
		{Name: "words", Label: "Words", Optional: true, Example: "staves, medium toast"}}
}

func treatmentDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	unit := map[string]string{"chilling": "°C", "oak-in": "g", "oak-out": "g"}[text(q, "what")]
	return cellar.Treatment{Vessel: slugOf(q, "vessel"), What: text(q, "what"), Amount: w.measure(q, "amount", unit, false), Words: text(q, "words")}, w
}

func careFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", false), {Name: "what", Label: "It was", Kind: ui.Pick, Value: "cleaned", Options: choices(cellar.Cares...)},
		{Name: "with", Label: "With", Optional: true, Example: "hot water and soda"},
		{Name: "amount", Label: "How much", Optional: true, Beside: true, Example: "5 g"},
		{Name: "words", Label: "Words", Optional: true, Extra: true}}
}

func careDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Care{Vessel: slugOf(q, "vessel"), What: text(q, "what"), With: text(q, "with"), Amount: w.measure(q, "amount", "g", false), Words: text(q, "words")}, w
}
