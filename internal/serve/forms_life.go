package serve

import (
	"net/url"
	"strconv"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// pressed is into how many vessels a form presses.
const pressed = 3

// numbered is the name of the nth field of a kind: "to", "to2", "to3".
func numbered(name string, n int) string {
	if n == 1 {
		return name
	}
	return name + strconv.Itoa(n)
}

func pressFields(v *desk.View, _ url.Values) []ui.Field {
	out := []ui.Field{vesselField(v, "vessel", "What was pressed", true)}
	for n := 1; n <= pressed; n++ {
		to := vesselField(v, numbered("to", n), "Into", false)
		volume := ui.Field{Name: numbered("volume", n), Label: "Wine that ran into it", Unit: "L", Example: "22.5 L"}
		if n > 1 {
			to.Label, to.Optional, volume.Optional = "And into", true, true
		}
		out = append(out, to, volume)
	}
	return out
}

func pressDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Press{From: []cellar.Portion{{Vessel: slugOf(q, "vessel"), All: true}}}
	for n := 1; n <= pressed; n++ {
		to := slugOf(q, numbered("to", n))
		volume := w.measure(q, numbered("volume", n), "L", n == 1 || to != "")
		switch {
		case to != "" || n == 1:
			b.To = append(b.To, cellar.Portion{Vessel: to, Volume: volume})
		case volume != nil:
			w = append(w, fault.Field{Name: numbered("to", n), Allowed: "the vessel that this ran into"})
		}
	}
	return b, w
}

func bottlingFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "What was bottled", true),
		{Name: "count", Label: "Bottles filled", Kind: ui.Number, Example: "29"},
		{Name: "size", Label: "Each holds", Value: "750 mL"},
		{Name: "closure", Label: "Closure", Optional: true, Example: "natural cork"},
		{Name: "place", Label: "Where they lie", Optional: true, Example: "under the stairs"},
		{Name: "slug", Label: "Short name", Optional: true, Help: "For the typed line. Made from the lot's when left empty."}}
}

func bottlingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	from := slugOf(q, "vessel")
	b := cellar.Bottling{Slug: slugOf(q, "slug"), From: []cellar.Portion{{Vessel: from, All: true}}, Size: w.measure(q, "size", "mL", true),
		Closure: text(q, "closure"), Place: text(q, "place")}
	count, err := strconv.Atoi(text(q, "count"))
	if err != nil {
		w = append(w, fault.Field{Name: "count", Given: text(q, "count"), Allowed: "how many bottles, a whole number"})
	}
	b.Count = count
	if s := v.In(from); b.Slug == "" && s != nil {
		b.Slug = v.State.FreeName(s.Lot.Slug + "-bottles")
	}
	if v.State.Vessel(b.Slug) != nil {
		w = append(w, fault.Field{Name: "slug", Given: b.Slug, Allowed: "a name that no vessel and no bottling has yet"})
	}
	return b, w
}

func tastingFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "Vessel", true),
		{Name: "score", Label: "Score", Optional: true, Help: "In your own scale."},
		{Name: "words", Label: "Words", Kind: ui.Long}}
}

func tastingDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	return cellar.Tasting{Vessel: slugOf(q, "vessel"), Score: text(q, "score"), Words: text(q, "words")}, nil
}
