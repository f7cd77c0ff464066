package serve

import (
	"net/url"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// Sampled fruit is read at once: what of it, and under which name the form asks.
var vineReadings = []struct{ field, what, label, example string }{
	{"brix", cellar.ReadDensity, "Sugar", "22.4"}, {"ph", cellar.ReadPH, "pH", "3.41"}, {"ta", cellar.ReadTA, "TA", "7.2"}, {"berry", cellar.ReadBerry, "Weight of one berry", "1.2"},
}

func sampleFields(v *desk.View, _ url.Values) []ui.Field {
	f := []ui.Field{lotField(v)}
	for i, r := range vineReadings {
		unit := vineUnit(r.what)
		if unit == "pH" {
			unit = ""
		}
		f = append(f, ui.Field{Name: r.field, Label: r.label, Kind: ui.Number, Unit: unit, Example: r.example, Optional: true, Beside: i%2 == 1})
	}
	return append(f,
		ui.Field{Name: "taste", Label: "Taste of skins and seeds", Optional: true, Example: "seeds brown, skins still green"},
		ui.Field{Name: "berries", Label: "Berries taken", Kind: ui.Number, Optional: true, Extra: true, Example: "200"},
		ui.Field{Name: "clusters", Label: "Clusters taken", Kind: ui.Number, Optional: true, Extra: true, Beside: true},
		ui.Field{Name: "rotten", Label: "Of these rotten", Kind: ui.Number, Optional: true, Extra: true, Beside: true},
		ui.Field{Name: "block", Label: "Block", Optional: true, Extra: true, Example: "hill"})
}

func vineUnit(what string) string {
	if what == cellar.ReadDensity {
		return "°Brix" // of fruit, everywhere this house writes for
	}
	r, _ := cellar.LookupReadable(what)
	return r.Unit
}

func sampleDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Sample{Lot: slugOf(q, "lot"), Block: text(q, "block"), Berries: w.whole(q, "berries"), Clusters: w.whole(q, "clusters"), Rotten: w.whole(q, "rotten"), Taste: text(q, "taste")}
	if day := text(q, "day"); b.Lot != "" && day != "" {
		b.Session = "vine " + day
	}
	return b, w
}

// sampleMore are the readings of a sample, tied to it by their session.
func sampleMore(_ *desk.View, q url.Values, of cellar.Body) ([]cellar.Body, []fault.Field) {
	var w wrong
	var out []cellar.Body
	s := of.(cellar.Sample)
	for _, r := range vineReadings {
		if m := w.measure(q, r.field, vineUnit(r.what), false); m != nil {
			out = append(out, cellar.Reading{Lot: s.Lot, What: r.what, Value: m, Session: s.Session})
		}
	}
	return out, w
}

func fruitFields(v *desk.View, q url.Values) []ui.Field {
	lot := lotField(v)
	vessel := vesselField(v, "vessel", "It waits in", false)
	vessel.Optional, vessel.Options[0].Text = true, "its crates"
	weight := "kg"
	if usual(v, q, "L") == "gal" {
		weight = "lb"
	}
	return []ui.Field{lot,
		{Name: "weight", Label: "Weight", Unit: weight, Example: "120", Help: "As the scale shows it."},
		{Name: "tare", Label: "Crates weighed along", Unit: weight, Optional: true, Beside: true, Help: "Taken off the weight."}, vessel,
		{Name: "grower", Label: "Grower", Optional: true, Extra: true},
		{Name: "block", Label: "Block", Optional: true, Extra: true, Beside: true, Example: "hill"},
		{Name: "variety", Label: "Variety", Optional: true, Extra: true},
		{Name: "picked", Label: "Picked on", Kind: ui.Date, Optional: true, Extra: true, Beside: true},
		{Name: "warmth", Label: "Warmth inside the bin", Unit: usual(v, q, "°C"), Optional: true, Extra: true, Example: "18"},
		{Name: "rot", Label: "Rotten clusters", Unit: "%", Kind: ui.Number, Optional: true, Extra: true, Beside: true, Example: "2"},
		{Name: "price", Label: "Price of it all", Optional: true, Extra: true, Example: "180 EUR"},
		{Name: "condition", Label: "Condition", Optional: true, Extra: true, Example: "clean, a few split berries"}}
}

func fruitDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	weight := "kg"
	if usual(v, q, "L") == "gal" {
		weight = "lb"
	}
	b := cellar.FruitReceived{Lot: slugOf(q, "lot"), Vessel: slugOf(q, "vessel"), Weight: w.measure(q, "weight", weight, true), Tare: w.measure(q, "tare", weight, false),
		Grower: text(q, "grower"), Block: text(q, "block"), Variety: text(q, "variety"), Warmth: w.measure(q, "warmth", usual(v, q, "°C"), false),
		RotPct: w.measure(q, "rot", "%", false), Price: w.measure(q, "price", "EUR", false), Condition: text(q, "condition")}
	b.Picked = w.day(q, "picked", v.Now.Location())
	return b, w
}

// day reads a date of a form as the moment that an entry keeps inside; "" if none is given.
func (w *wrong) day(q url.Values, name string, zone *time.Location) string {
	given := text(q, name)
	if given == "" {
		return ""
	}
	day, err := time.ParseInLocation(time.DateOnly, given, zone)
	if err != nil {
		*w = append(*w, fault.Field{Name: name, Given: given, Allowed: "a date such as 2026-09-12"})
		return ""
	}
	return cellar.On(day).String()
}

// poured is into how many vessels a form pours.
const poured = 3

// pouredInto asks for vessels with how much went into each.
func pouredInto(v *desk.View, q url.Values, label, volume string, most int) []ui.Field {
	var out []ui.Field
	for n := 1; n <= most; n++ {
		to := vesselField(v, numbered("to", n), label, false)
		much := ui.Field{Name: numbered("volume", n), Label: volume, Unit: usual(v, q, "L"), Kind: ui.Words, Beside: true}
		if n > 1 {
			to.Label, to.Optional, much.Optional = "And into", true, true
		}
		out = append(out, to, much)
	}
	return out
}

// portions reads vessels with how much went into each; the first is wanted.
func (w *wrong) portions(v *desk.View, q url.Values, most int) []cellar.Portion {
	var out []cellar.Portion
	for n := 1; n <= most; n++ {
		to := slugOf(q, numbered("to", n))
		volume := w.measure(q, numbered("volume", n), usual(v, q, "L"), n == 1 || to != "")
		switch {
		case to != "" || n == 1:
			out = append(out, cellar.Portion{Vessel: to, Volume: volume, Part: text(q, numbered("part", n))})
		case volume != nil:
			*w = append(*w, fault.Field{Name: numbered("to", n), Allowed: "the vessel that this ran into"})
		}
	}
	return out
}

func crushFields(v *desk.View, q url.Values) []ui.Field {
	from := fruitVessels(v, "vessel", "The fruit was in")
	lot := lotField(v)
	lot.Optional, lot.Help = true, "When it comes straight from the crates."
	f := []ui.Field{from}
	if len(from.Options) > 2 {
		also := fruitVessels(v, "vessel2", "And in")
		also.Options[0].Text, also.Value, also.Beside = "–", "", true
		f = append(f, also)
	}
	into := pouredInto(v, q, "The must is in", "How much", poured)
	into[0].Options[0].Text, into[0].Optional = "same vessel", true
	f = append(append(f, lot), into...)
	return append(f,
		ui.Field{Name: "as", Label: "As", Kind: ui.Pick, Value: "must", Options: []ui.Option{{Value: "must", Text: "must on its skins"}, {Value: "juice", Text: "juice", Note: "pressed at once"}}},
		ui.Field{Name: "destemmed", Label: "Destemmed", Kind: ui.Pick, Value: "all", Options: choices("all", "part", "none")},
		ui.Field{Name: "crushed", Label: "Crushed", Kind: ui.Pick, Value: "all", Options: choices("all", "part", "none")},
		ui.Field{Name: "words", Label: "Words", Optional: true, Extra: true})
}

func crushDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Crush{Lot: slugOf(q, "lot"), Destemmed: text(q, "destemmed"), Crushed: text(q, "crushed"), Juice: text(q, "as") == "juice", Words: text(q, "words")}
	for _, name := range []string{"vessel", "vessel2"} {
		if from := slugOf(q, name); from != "" {
			b.From = append(b.From, cellar.Portion{Vessel: from})
			if p := v.State.In(from); p != nil && b.Lot == "" {
				b.Lot = p.Lot
			}
		}
	}
	b.To = w.portions(v, q, poured)
	if b.To[0].Vessel == "" && len(b.From) > 0 { // where it stood
		b.To[0].Vessel = b.From[0].Vessel
	}
	if b.Lot == "" {
		w = append(w, fault.Field{Name: "lot", Allowed: "the lot that was crushed, or the vessel its fruit was in"})
	}
	return b, w
}

// mustFields ask for must or juice that comes into the cellar as such.
func mustFields(v *desk.View, q url.Values) []ui.Field {
	as := ui.Field{Name: "as", Label: "As", Kind: ui.Pick, Value: "juice", Options: []ui.Option{{Value: "juice", Text: "juice"}, {Value: "must", Text: "must on its skins"}}}
	return append([]ui.Field{lotField(v), as}, pouredInto(v, q, "Into", "How much", poured)...)
}

func mustDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.Crush{Lot: slugOf(q, "lot"), Juice: text(q, "as") == "juice", To: w.portions(v, q, poured)}, w
}

// presses are the fractions of a press, in the order in which they run.
var presses = []string{"free run", "light press", "hard press"}

func pressFields(v *desk.View, q url.Values) []ui.Field {
	out := []ui.Field{vesselField(v, "vessel", "What was pressed", true)}
	into := pouredInto(v, q, "Into", "How much ran in", poured)
	for n := 1; n <= poured; n++ {
		part := ui.Field{Name: numbered("part", n), Label: "Of which", Kind: ui.Choice, Optional: true, Beside: true, Options: []ui.Option{{Text: "–"}}}
		for _, p := range presses {
			part.Options = append(part.Options, ui.Option{Value: p, Text: p})
		}
		out = append(append(out, into[2*n-2:2*n]...), part)
	}
	return append(out,
		ui.Field{Name: "drained", Label: "Only drained: the skins stay in their vessel", Kind: ui.Check, Optional: true},
		ui.Field{Name: "density", Label: "Density when pressed", Optional: true, Extra: true, Example: "0.996"},
		ui.Field{Name: "words", Label: "Words", Optional: true, Extra: true})
}

func pressDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	drained := q.Get("drained") != ""
	return cellar.Press{From: []cellar.Portion{{Vessel: slugOf(q, "vessel"), All: !drained}}, To: w.portions(v, q, poured), Drained: drained,
		Density: w.measure(q, "density", "SG", false), Words: text(q, "words")}, w
}

// fruitVessels lists the vessels in which fruit waits.
func fruitVessels(v *desk.View, name, label string) ui.Field {
	f := ui.Field{Name: name, Label: label, Kind: ui.Choice, Optional: true, Options: []ui.Option{{Text: "its crates"}}}
	for _, vessel := range v.State.Vessels {
		if vessel.Holds != nil && vessel.Holds.Form == cellar.FormFruit {
			f.Options = append(f.Options, ui.Option{Value: vessel.Slug, Text: vesselWords(v, vessel)})
		}
	}
	onlyOne(&f)
	return f
}

// usual is the unit of a bare figure: gallons and °F where the vessel or lot of a
// form is kept in US units.
func usual(v *desk.View, q url.Values, unit string) string {
	us := map[string]string{"L": "gal", "°C": "°F"}[unit]
	if us == "" {
		return unit
	}
	lots := []string{slugOf(q, "lot")}
	for _, name := range []string{"vessel", "from", "to"} {
		if p := v.State.In(slugOf(q, name)); p != nil {
			lots = append(lots, p.Lot)
		}
	}
	for _, slug := range lots {
		if lot := v.State.Lot(slug); slug != "" && lot != nil && lot.Units == "us" {
			return us
		}
	}
	return unit
}

// vesselWords is a vessel with what it holds: "c1 – Merlot, fruit".
func vesselWords(v *desk.View, vessel *cellar.Vessel) string {
	words := []string{vessel.Title(), "–"}
	if vessel.Holds == nil {
		return strings.Join(append(words, "empty"), " ")
	}
	holds := vessel.Holds.Lot
	if lot := v.State.Lot(holds); lot != nil {
		holds = lot.Title()
	}
	switch vessel.Holds.Form {
	case cellar.FormFruit, cellar.FormMust:
		holds += ", " + vessel.Holds.Form
	}
	if part := vessel.Holds.Part; part != "" {
		holds += ", " + part
	}
	return strings.Join(append(words, holds), " ")
}
