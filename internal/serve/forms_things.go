package serve

import (
	"net/url"
	"strconv"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// comings are the ways in which a lot begins, and the form that comes next.
var comings = []ui.Option{{Value: "fruit", Text: "fruit"}, {Value: "must", Text: "juice or must"}, {Value: "fill", Text: "wine"}}

func lotFields(*desk.View, url.Values) []ui.Field {
	return []ui.Field{
		{Name: "name", Label: "Name", Example: "Merlot, south slope"},
		{Name: "colour", Label: "Colour", Kind: ui.Pick, Value: "red", Options: choices(cellar.Colours...)},
		{Name: "vintage", Label: "Vintage", Kind: ui.Number, Optional: true, Example: "2026"},
		{Name: "variety", Label: "Variety", Optional: true, Beside: true},
		{Name: "malolactic", Label: "Malolactic fermentation", Kind: ui.Pick, Value: cellar.MalolacticWanted,
			Options: []ui.Option{{Value: cellar.MalolacticWanted, Text: "wanted"}, {Value: cellar.MalolacticKeptFrom, Text: "kept from it"}, {Value: "open", Text: "not decided"}}},
		{Name: "comes", Label: "It comes in as", Kind: ui.Pick, Value: "fruit", Options: comings},
		{Name: "units", Label: "Units", Kind: ui.Pick, Value: "metric", Extra: true, Options: []ui.Option{{Value: "metric", Text: "L, °C"}, {Value: "us", Text: "US gal, °F"}}},
		{Name: "origin", Label: "Where the fruit grew", Optional: true, Extra: true},
		{Name: "style", Label: "What it is to be", Optional: true, Extra: true, Example: "to age four years"},
		{Name: "slug", Label: "Short name", Optional: true, Extra: true, Help: "For the typed line. Made from the name when left empty."},
	}
}

func lotDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.LotStarted{Slug: slugOf(q, "slug"), Name: text(q, "name"), Colour: text(q, "colour"), Variety: text(q, "variety"), Malolactic: text(q, "malolactic"), Units: text(q, "units"),
		Origin: text(q, "origin"), Style: text(q, "style")}
	if b.Malolactic == "open" {
		b.Malolactic = cellar.MalolacticOpen
	}
	if b.Name == "" {
		w = append(w, fault.Field{Name: "name", Allowed: "a word or two"})
	}
	if y := text(q, "vintage"); y != "" {
		n, err := strconv.Atoi(y)
		if err != nil {
			w = append(w, fault.Field{Name: "vintage", Given: y, Allowed: "a year such as 2026"})
		}
		b.Vintage = n
	}
	if b.Slug == "" {
		b.Slug = cellar.Slug(b.Name)
	}
	if v.State.Lot(b.Slug) != nil {
		w = append(w, fault.Field{Name: "slug", Given: b.Slug, Allowed: "a short name that no lot has yet"})
	}
	return b, w
}

func vesselFields(*desk.View, url.Values) []ui.Field {
	return []ui.Field{
		{Name: "vessel", Label: "Chalked on it", Example: "b2", Help: "Short, for the typed line."},
		{Name: "type", Label: "Kind", Kind: ui.Choice, Value: "carboy", Options: choices(cellar.VesselTypes...), Beside: true},
		{Name: "size", Label: "Holds when full", Unit: "L", Kind: ui.Words, Example: "23 L"},
		{Name: "place", Label: "Where it stands", Optional: true, Example: "under the stairs"},
		{Name: "walk", Label: "Place in your walk", Kind: ui.Number, Optional: true, Help: "1 for the first you come to. Today follows it."},
		{Name: "material", Label: "Made of", Optional: true, Extra: true, Example: "glass"},
		{Name: "oak", Label: "Oak of a barrel", Optional: true, Extra: true, Example: "third fill, medium toast"},
	}
}

func vesselDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.VesselNamed{Slug: slugOf(q, "vessel"), Type: text(q, "type"), Place: text(q, "place"), Size: w.measure(q, "size", "L", true), Material: text(q, "material"), Oak: text(q, "oak")}
	if n := text(q, "walk"); n != "" {
		walk, err := strconv.Atoi(n)
		if err != nil {
			w = append(w, fault.Field{Name: "walk", Given: n, Allowed: "a whole number"})
		}
		b.Walk = walk
	}
	if v.State.Vessel(b.Slug) != nil {
		w = append(w, fault.Field{Name: "vessel", Given: b.Slug, Allowed: "a name that no vessel has yet"})
	}
	return b, w
}

func instrumentFields(*desk.View, url.Values) []ui.Field {
	return []ui.Field{
		{Name: "instrument", Label: "Short name", Example: "meter"},
		{Name: "type", Label: "Kind", Kind: ui.Choice, Value: "ph-meter", Options: choices(cellar.InstrumentTypes...)},
		{Name: "step", Label: "Smallest division", Optional: true, Example: "0.01"},
	}
}

func instrumentDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	return cellar.InstrumentNamed{Slug: slugOf(q, "instrument"), Type: text(q, "type"), Step: w.measure(q, "step", "", false)}, w
}

// instrumentField lists the instruments of a kind, any if it is empty; one alone is chosen.
func instrumentField(v *desk.View, label, kind string) ui.Field {
	f := ui.Field{Name: "instrument", Label: label, Kind: ui.Choice, Options: []ui.Option{{Text: "–"}}}
	for _, i := range v.State.Instruments {
		if !i.Gone && (kind == "" || i.Type == kind) {
			f.Options = append(f.Options, ui.Option{Value: i.Slug, Text: i.Slug})
		}
	}
	if kind != "" && len(f.Options) == 2 {
		f.Value = f.Options[1].Value
	}
	return f
}

// checked are the buffers that a meter is read in, by the field that asks for each.
var checked = []struct{ field, buffer, label, help string }{
	{"read7", "7.00", "Buffer 7.00", ""}, {"read4", "4.01", "Buffer 4.01", ""}, {"read356", "3.56", "Cream of tartar", "Saturated, at 25 °C: 3.56."},
}

func checkFields(v *desk.View, _ url.Values) []ui.Field {
	meter := instrumentField(v, "Meter", "ph-meter")
	meter.Optional = true
	f := []ui.Field{meter}
	for i, c := range checked {
		f = append(f, ui.Field{Name: c.field, Label: c.label, Kind: ui.Number, Optional: true, Example: c.buffer, Help: c.help, Beside: i > 0})
	}
	return append(f, ui.Field{Name: "warm", Label: "Temperature of the buffers", Optional: true, Extra: true, Unit: "°C", Example: "20", Help: "Left out, 25 °C is taken."})
}

func checkDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	checks, w := checksOf(q)
	if len(checks) == 0 {
		if len(w) == 0 {
			w = append(w, fault.Field{Name: checked[0].field, Allowed: "what the meter showed, in one buffer or more"})
		}
		return cellar.PHCheck{Instrument: slugOf(q, "instrument")}, w
	}
	return checks[0], w
}

// checkMore are the other buffers that a meter was read in.
func checkMore(_ *desk.View, q url.Values, _ cellar.Body) ([]cellar.Body, []fault.Field) {
	checks, _ := checksOf(q)
	return checks[1:], nil
}

func checksOf(q url.Values) (checks []cellar.Body, w wrong) {
	warm := w.measure(q, "warm", "°C", false)
	for _, c := range checked {
		given := text(q, c.field)
		if given == "" {
			continue
		}
		if n, err := cellar.ParseNumber(given); err != nil || n < 0 || n > 14 {
			w = append(w, fault.Field{Name: c.field, Given: given, Allowed: "a pH from 0 to 14"})
		}
		b := cellar.PHCheck{Instrument: slugOf(q, "instrument"), Buffer: c.buffer, Read: given, Warm: warm}
		if c.buffer == "3.56" {
			b.Of = "cream-of-tartar"
		}
		checks = append(checks, b)
	}
	return checks, w
}

func calibrationFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{instrumentField(v, "Instrument", ""),
		{Name: "points", Label: "Set by", Example: "7.00, 4.01", Help: "The values of the standards, parted by commas."},
		{Name: "passed", Label: "It passed", Kind: ui.Pick, Value: "yes", Options: choices("yes", "no")},
		{Name: "slope", Label: "Slope", Optional: true, Extra: true, Unit: "%", Example: "98"},
		{Name: "offset", Label: "Offset", Optional: true, Extra: true, Beside: true, Example: "-4 mV"},
		{Name: "warm", Label: "Temperature of the standard", Optional: true, Extra: true, Unit: "°C", Example: "20"},
		{Name: "words", Label: "Words", Optional: true, Extra: true}}
}

func calibrationDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Calibration{Instrument: slugOf(q, "instrument"), Passed: text(q, "passed"), Slope: w.measure(q, "slope", "%", false), Offset: w.measure(q, "offset", "mV", false),
		Warm: w.measure(q, "warm", "°C", false), Words: text(q, "words")}
	b.Points = strings.FieldsFunc(text(q, "points"), func(r rune) bool { return r == ',' || r == ';' || r == ' ' })
	if len(b.Points) == 0 {
		w = append(w, fault.Field{Name: "points", Allowed: "the value of a standard, such as 7.00"})
	}
	return b, w
}

// productField lists what can be added.
func productField() ui.Field {
	f := ui.Field{Name: "product", Label: "What", Kind: ui.Choice, Value: "potassium-metabisulfite"}
	for i := range cellar.Products {
		f.Options = append(f.Options, ui.Option{Value: cellar.Products[i].Name, Text: cellar.Products[i].Title})
	}
	return f
}

func purchaseFields(*desk.View, url.Values) []ui.Field {
	return []ui.Field{productField(),
		{Name: "other", Label: "Or something else", Optional: true, Example: "demijohn bungs", Help: "Instead of what is chosen above."},
		{Name: "amount", Label: "How much", Optional: true, Example: "250 g"},
		{Name: "price", Label: "Price", Optional: true, Beside: true, Example: "4.50 EUR"},
		{Name: "name", Label: "As on the packet", Optional: true, Extra: true},
		{Name: "supply", Label: "Supplier's lot", Optional: true, Extra: true, Beside: true},
		{Name: "strength", Label: "Strength", Optional: true, Extra: true, Unit: "%", Example: "100"},
		{Name: "treats", Label: "Rated for", Optional: true, Extra: true, Beside: true, Unit: "L", Example: "250"},
		{Name: "best_by", Label: "Best by", Kind: ui.Date, Optional: true, Extra: true},
		{Name: "kept_at", Label: "Kept at", Optional: true, Extra: true, Beside: true, Unit: "°C", Example: "-18"},
		{Name: "from", Label: "Bought from", Optional: true, Extra: true},
		{Name: "words", Label: "Words", Optional: true, Extra: true}}
}

func purchaseDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	unit := "g"
	if text(q, "other") != "" {
		unit = "" // so many pieces
	}
	b := cellar.Purchase{Product: text(q, "product"), Name: text(q, "name"), Amount: w.measure(q, "amount", unit, false), Price: w.measure(q, "price", "EUR", false), Supply: text(q, "supply"),
		Strength: w.measure(q, "strength", "%", false), Treats: w.measure(q, "treats", "L", false), KeptAt: w.measure(q, "kept_at", "°C", false), From: text(q, "from"), Words: text(q, "words")}
	b.BestBy = w.day(q, "best_by", v.Now.Location())
	if other := text(q, "other"); other != "" {
		if b.Product = cellar.Slug(other); b.Product == "" {
			w = append(w, fault.Field{Name: "other", Given: other, Allowed: "a name with a letter in it"})
		}
		if b.Name == "" && b.Product != strings.ToLower(other) {
			b.Name = other
		}
	}
	return b, w
}

// anewLotFields ask a lot's description again, with what is known of it filled in.
func anewLotFields(v *desk.View, q url.Values) []ui.Field {
	lot := v.State.Lot(slugOf(q, "lot"))
	if lot == nil {
		return []ui.Field{lotField(v)}
	}
	known := map[string]string{"name": lot.Name, "colour": lot.Colour, "variety": lot.Variety, "malolactic": lot.Malolactic, "units": lot.Units, "origin": lot.Origin, "style": lot.Style}
	if lot.Vintage != 0 {
		known["vintage"] = strconv.Itoa(lot.Vintage)
	}
	if lot.Malolactic == cellar.MalolacticOpen {
		known["malolactic"] = "open"
	}
	if lot.Units == "" {
		known["units"] = "metric"
	}
	f := []ui.Field{{Name: "lot", Label: "Lot", Kind: ui.Choice, Options: []ui.Option{{Value: lot.Slug, Text: lot.Title()}}}}
	for _, field := range lotFields(v, q) {
		if value, ok := known[field.Name]; ok || field.Name == "vintage" {
			field.Value = value
			f = append(f, field)
		}
	}
	return f
}

func anewLotDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	lot := v.State.Lot(slugOf(q, "lot"))
	if lot == nil {
		return cellar.LotStarted{}, []fault.Field{{Name: "lot", Given: text(q, "lot"), Allowed: "a lot that is there"}}
	}
	var w wrong
	b := lot.LotStarted
	b.Anew = true
	b.Name, b.Colour, b.Variety, b.Malolactic, b.Units = text(q, "name"), text(q, "colour"), text(q, "variety"), text(q, "malolactic"), text(q, "units")
	b.Origin, b.Style = text(q, "origin"), text(q, "style")
	if b.Malolactic == "open" {
		b.Malolactic = cellar.MalolacticOpen
	}
	if b.Name == "" {
		w = append(w, fault.Field{Name: "name", Allowed: "a word or two"})
	}
	b.Vintage = w.whole(q, "vintage")
	return b, w
}

// anewVesselFields ask a vessel's description again, and whether it is gone.
func anewVesselFields(v *desk.View, q url.Values) []ui.Field {
	vessel := v.State.Vessel(slugOf(q, "vessel"))
	if vessel == nil || vessel.Bottles {
		return []ui.Field{vesselField(v, "vessel", "Vessel", false)}
	}
	known := map[string]string{"type": vessel.Type, "size": vessel.Size.String(), "place": vessel.Place, "material": vessel.Material, "oak": vessel.Oak}
	if vessel.Walk != 0 {
		known["walk"] = strconv.Itoa(vessel.Walk)
	}
	f := []ui.Field{{Name: "vessel", Label: "Vessel", Kind: ui.Choice, Options: []ui.Option{{Value: vessel.Slug, Text: vessel.Title()}}}}
	for _, field := range vesselFields(v, q) {
		if field.Name != "vessel" {
			field.Value, field.Beside = known[field.Name], false
			f = append(f, field)
		}
	}
	return append(f, ui.Field{Name: "gone", Label: "It is gone: sold, given away, broken", Kind: ui.Check, Optional: true})
}

func anewVesselDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	vessel := v.State.Vessel(slugOf(q, "vessel"))
	if vessel == nil || vessel.Bottles {
		return cellar.VesselNamed{}, []fault.Field{{Name: "vessel", Given: text(q, "vessel"), Allowed: "a vessel that is there"}}
	}
	var w wrong
	b := vessel.VesselNamed
	b.Anew, b.Gone = true, q.Get("gone") != ""
	b.Type, b.Size, b.Place, b.Material, b.Oak, b.Walk = text(q, "type"), w.measure(q, "size", "L", true), text(q, "place"), text(q, "material"), text(q, "oak"), w.whole(q, "walk")
	if b.Gone && vessel.Holds != nil {
		w = append(w, fault.Field{Name: "gone", Given: "yes", Allowed: "an empty vessel: this one holds " + heldText(v.State.Lot(vessel.Holds.Lot), vessel.Holds)})
	}
	return b, w
}
