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
		{Name: "culture", Label: "Culture", Optional: true, Help: "As on the packet."}}
}

func inoculationDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Inoculation{Vessel: slugOf(q, "vessel"), Of: text(q, "of"), How: text(q, "how"), Culture: text(q, "culture"), Amount: w.measure(q, "amount", "g", false)}, w
}

func stirringFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true),
		{Name: "what", Label: "What", Kind: ui.Pick, Value: "lees", Options: []ui.Option{{Value: "lees", Text: "lees"}, {Value: "punch-down", Text: "cap punched down"}, {Value: "pump-over", Text: "pumped over"}}}}
}

func stirringDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return cellar.Stirring{Vessel: slugOf(q, "vessel"), What: text(q, "what")}, nil
}

func additionFields(v *desk.View, _ url.Values) []ui.Field {
	product := ui.Field{Name: "product", Label: "What", Kind: ui.Choice, Value: "potassium-metabisulfite"}
	for i := range cellar.Products {
		product.Options = append(product.Options, ui.Option{Value: cellar.Products[i].Name, Text: cellar.Products[i].Title})
	}
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), product,
		{Name: "amount", Label: "How much", Example: "3.1 g", Help: "Weight, volume of a solution, or a rate such as 30 mg/L."},
		{Name: "strength", Label: "Strength", Optional: true, Unit: "%", Example: "100", Help: "Of an aged powder, or grams in 100 mL of a solution."},
		{Name: "solution", Label: "The amount is of a solution in water", Kind: ui.Check, Optional: true}}
}

func additionDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Addition{Vessel: slugOf(q, "vessel"), Product: text(q, "product"), Amount: w.measure(q, "amount", "g", true),
		Strength: w.measure(q, "strength", "%", false), Solution: q.Get("solution") != ""}, w
}

func rackingFields(v *desk.View, _ url.Values) []ui.Field {
	from := vesselField(v, "vessel", "From", true)
	return []ui.Field{from, vesselField(v, "to", "Into", false),
		{Name: "volume", Label: "Wine that arrived", Unit: "L", Example: "22 L"},
		{Name: "rest", Label: "The rest", Kind: ui.Pick, Value: cellar.LossLees, Options: []ui.Option{{Value: cellar.LossLees, Text: "went with the lees"}, {Value: "stays", Text: "stays where it was"}}}}
}

func rackingDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	rest := text(q, "rest")
	if rest == "stays" {
		rest = ""
	}
	from := cellar.Portion{Vessel: slugOf(q, "vessel"), All: rest != ""}
	return cellar.Movement{How: "racking", From: []cellar.Portion{from}, Rest: rest,
		To: []cellar.Portion{{Vessel: slugOf(q, "to"), Volume: w.measure(q, "volume", "L", true)}}}, w
}

func toppingFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Top up", true), vesselField(v, "from", "From", true),
		{Name: "volume", Label: "How much", Unit: "L", Example: "0.4 L"}}
}

func toppingDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	volume := w.measure(q, "volume", "L", true)
	return cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: slugOf(q, "from"), Volume: volume}},
		To: []cellar.Portion{{Vessel: slugOf(q, "vessel"), Volume: volume}}}, w
}

func dipFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), {Name: "volume", Label: "It holds", Unit: "L", Example: "52.5 L"},
		{Name: "how", Label: "Found by", Kind: ui.Pick, Value: "mark", Options: choices("mark", "weight", "stick", "ullage")}}
}

func dipDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Dip{Vessel: slugOf(q, "vessel"), Volume: w.measure(q, "volume", "L", true), How: text(q, "how")}, w
}

func warmthFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), {Name: "set", Label: "Held at", Unit: "°C", Example: "20 °C"}}
}

func warmthDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Warmth{Vessel: slugOf(q, "vessel"), Set: w.measure(q, "set", "°C", true)}, w
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
