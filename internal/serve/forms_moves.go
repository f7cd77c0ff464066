package serve

import (
	"net/url"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// moved asks for one vessel into another, with what became of the rest.
func moved(v *desk.View, q url.Values, arrived, left string) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "From", true), vesselField(v, "to", "Into", false),
		{Name: "volume", Label: arrived, Unit: usual(v, q, "L")},
		{Name: "rest", Label: "The rest", Kind: ui.Pick, Value: cellar.LossLees, Options: []ui.Option{{Value: cellar.LossLees, Text: left}, {Value: "stays", Text: "stays where it was"}}}}
}

func movedDraft(v *desk.View, q url.Values, how string) (cellar.Body, []fault.Field) {
	var w wrong
	rest := text(q, "rest")
	if rest == "stays" {
		rest = ""
	}
	from := cellar.Portion{Vessel: slugOf(q, "vessel"), All: rest != ""}
	return cellar.Movement{How: how, From: []cellar.Portion{from}, Rest: rest, Gas: text(q, "gas"), Words: text(q, "words"),
		To: []cellar.Portion{{Vessel: slugOf(q, "to"), Volume: w.measure(q, "volume", usual(v, q, "L"), true)}}}, w
}

func rackingFields(v *desk.View, q url.Values) []ui.Field {
	return append(moved(v, q, "Wine that arrived", "went with the lees"),
		ui.Field{Name: "gas", Label: "Under gas", Optional: true, Extra: true, Example: "argon"},
		ui.Field{Name: "words", Label: "Words", Optional: true, Extra: true})
}

func rackingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return movedDraft(v, q, "racking")
}

func settlingFields(v *desk.View, q url.Values) []ui.Field {
	return moved(v, q, "Clear juice that arrived", "settled out")
}

func settlingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return movedDraft(v, q, "settling")
}

// becomesField asks whether wine goes on as another lot.
func becomesField(v *desk.View, label string) ui.Field {
	f := lotField(v)
	f.Name, f.Label, f.Optional, f.Options[0].Text = "becomes", label, true, "the same lot"
	return f
}

func saigneeFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Bled from", true), vesselField(v, "to", "Into", false),
		{Name: "volume", Label: "How much", Unit: usual(v, q, "L")}, becomesField(v, "It goes on as")}
}

func saigneeDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Movement{How: "saignée", Becomes: slugOf(q, "becomes"), From: []cellar.Portion{{Vessel: slugOf(q, "vessel")}},
		To: []cellar.Portion{{Vessel: slugOf(q, "to"), Volume: w.measure(q, "volume", usual(v, q, "L"), true)}}}, w
}

// several is how many vessels a split or a blend may be of by form; more can be
// typed in the line.
const several = 5

func splittingFields(v *desk.View, q url.Values) []ui.Field {
	f := append([]ui.Field{vesselField(v, "vessel", "From", true)}, pouredInto(v, q, "Into", "How much", several)...)
	return append(f, ui.Field{Name: "words", Label: "Words", Optional: true, Extra: true})
}

func splittingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Movement{How: "splitting", From: []cellar.Portion{{Vessel: slugOf(q, "vessel")}}, To: w.portions(v, q, several), Words: text(q, "words")}, w
}

func blendingFields(v *desk.View, q url.Values) []ui.Field {
	var f []ui.Field
	for n := 1; n <= several; n++ {
		from := vesselField(v, numbered("vessel", n), "And", true)
		much := ui.Field{Name: numbered("volume", n), Label: "How much", Unit: usual(v, q, "L"), Optional: true, Beside: true, Example: "all of it"}
		from.Optional = n > 2
		if n == 1 {
			from.Label, much.Help = "Wine from", "Left empty, all of it."
		}
		f = append(f, from, much)
	}
	return append(f, vesselField(v, "to", "Into", false), becomesField(v, "It goes on as"),
		ui.Field{Name: "words", Label: "Words", Optional: true, Extra: true})
}

func blendingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Movement{How: "blending", Becomes: slugOf(q, "becomes"), To: []cellar.Portion{{Vessel: slugOf(q, "to")}}, Words: text(q, "words")}
	for n := 1; n <= several; n++ {
		from := slugOf(q, numbered("vessel", n))
		volume := w.measure(q, numbered("volume", n), usual(v, q, "L"), false)
		switch {
		case from != "":
			b.From = append(b.From, cellar.Portion{Vessel: from, Volume: volume, All: volume == nil})
		case n <= 2:
			w = append(w, fault.Field{Name: numbered("vessel", n), Allowed: "a vessel that was blended; a blend is of two or more"})
		case volume != nil:
			w = append(w, fault.Field{Name: numbered("vessel", n), Allowed: "the vessel that this came from"})
		}
	}
	return b, w
}

// leaves are the ways in which wine leaves without going into a vessel.
var leaves = []ui.Option{{Value: cellar.LossSample, Text: "taken as a sample"}, {Value: cellar.LossSpill, Text: "spilt"}, {Value: cellar.LossEvaporation, Text: "evaporated"},
	{Value: cellar.LossLees, Text: "lees thrown away"}, {Value: "away", Text: "drunk, given, sold, poured away"}}

func removalFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "From", true), {Name: "volume", Label: "How much", Unit: usual(v, q, "L")},
		{Name: "kind", Label: "It was", Kind: ui.Pick, Value: cellar.LossSample, Options: leaves},
		{Name: "words", Label: "Words", Optional: true}}
}

func removalDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	volume := w.measure(q, "volume", usual(v, q, "L"), true)
	b := cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: slugOf(q, "vessel"), Volume: volume}}, Words: text(q, "words")}
	if kind := text(q, "kind"); kind != "away" {
		b.Losses = []cellar.Loss{{Kind: kind, Volume: volume}}
	}
	return b, w
}

func toppingFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Top up", true), vesselField(v, "from", "From", true),
		{Name: "volume", Label: "How much", Unit: usual(v, q, "L")}}
}

func toppingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	volume := w.measure(q, "volume", usual(v, q, "L"), true)
	return cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: slugOf(q, "from"), Volume: volume}},
		To: []cellar.Portion{{Vessel: slugOf(q, "vessel"), Volume: volume}}}, w
}

func fillFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{lotField(v), vesselField(v, "vessel", "Into", false),
		{Name: "volume", Label: "How much", Unit: usual(v, q, "L"), Example: "23"}}
}

func fillDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Movement{How: "filling", Lot: slugOf(q, "lot"), To: []cellar.Portion{{Vessel: slugOf(q, "vessel"), Volume: w.measure(q, "volume", usual(v, q, "L"), true)}}}
	return b, w
}

func dipFields(v *desk.View, q url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true), {Name: "volume", Label: "It holds", Unit: usual(v, q, "L"), Example: "52.5"},
		{Name: "how", Label: "Found by", Kind: ui.Pick, Value: "mark", Options: choices("mark", "weight", "stick", "ullage")}}
}

func dipDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Dip{Vessel: slugOf(q, "vessel"), Volume: w.measure(q, "volume", usual(v, q, "L"), true), How: text(q, "how")}, w
}
