package serve

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// forms are the entries that can be filled in, in the order of a wine's life.
var forms = []form{
	{Name: "lot", Title: "Start a lot", Lead: "A wine with a name and a history.", Timeless: true, Fields: lotFields, Draft: lotDraft,
		Calls: map[string]string{"lot": "slug"}},
	{Name: "vessel", Title: "Name a vessel", Lead: "A place for wine: what is chalked on it, and how much it holds.", Timeless: true, Fields: vesselFields, Draft: vesselDraft},
	{Name: "instrument", Title: "Name an instrument", Lead: "So that readings know what they were made with.", Timeless: true, Fields: instrumentFields, Draft: instrumentDraft},
	{Name: "fill", Title: "Fill a vessel", Lead: "Wine of a lot that comes into the cellar.", Fields: fillFields, Draft: fillDraft,
		Calls: map[string]string{"to vessel": "vessel"}},
	{Name: "reading", Title: "Reading", Lead: "pH, TA, a chromatogram, free SO2, anything measured.", Fields: readingFields, Draft: readingDraft,
		Calls: readingCalls()},
	{Name: "check", Title: "pH meter check", Lead: "The meter read in a buffer, or in saturated cream of tartar.", Fields: checkFields, Draft: checkDraft},
	{Name: "inoculation", Title: "Inoculation", Lead: "A culture goes in, or the wine is left to start by itself.", Fields: inoculationFields, Draft: inoculationDraft,
		Calls: map[string]string{"ferment": "of"}},
	{Name: "stirring", Title: "Stirring", Lead: "Lees stirred or cap worked.", Fields: stirringFields, Draft: stirringDraft},
	{Name: "addition", Title: "Addition", Lead: "Something put into a wine, by weight or volume.", Fields: additionFields, Draft: additionDraft},
	{Name: "racking", Title: "Racking", Lead: "Wine from one vessel into another, off its lees.", Fields: rackingFields, Draft: rackingDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "press", Title: "Pressing", Lead: "Must becomes wine; what does not run off is pomace.", Fields: pressFields, Draft: pressDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "topping", Title: "Topping", Lead: "A little wine from one vessel to fill another.", Fields: toppingFields, Draft: toppingDraft,
		Calls: map[string]string{"from vessel": "from", "to vessel": "vessel"}},
	{Name: "dip", Title: "Volume measured", Lead: "What a vessel was found to hold.", Fields: dipFields, Draft: dipDraft},
	{Name: "warmth", Title: "Temperature set", Lead: "What a vessel is held at from here on.", Fields: warmthFields, Draft: warmthDraft,
		Calls: map[string]string{"temperature": "set"}},
	{Name: "control", Title: "Control sample kept", Lead: "Wine kept back on day 0, full, cold and closed, to be read again in later sessions.", Fields: controlFields, Draft: controlDraft},
	{Name: "verdict", Title: "Verdict", Lead: "What you declare, and on what evidence.", Fields: verdictFields, Draft: verdictDraft},
	{Name: "tasting", Title: "Tasting", Lead: "What was smelt and tasted.", Fields: tastingFields, Draft: tastingDraft},
	{Name: "bottling", Title: "Bottling", Lead: "Wine into bottles, which are kept by number.", Fields: bottlingFields, Draft: bottlingDraft,
		Calls: map[string]string{"bottling": "slug", "from vessel": "vessel"}},
	{Name: "note", Title: "Note", Lead: "Words.", Fields: noteFields, Draft: noteDraft},
}

// wrong collects what cannot be read, by the field's name.
type wrong []fault.Field

// measure reads "12 g" or "54", taking the unit given for a bare number.
func (w *wrong) measure(q url.Values, name, unit string, needed bool) *cellar.Measure {
	text := strings.TrimSpace(q.Get(name))
	if text == "" {
		if needed {
			*w = append(*w, fault.Field{Name: name, Allowed: "a number, with its unit if it is not " + unit})
		}
		return nil
	}
	m, err := cellar.ParseMeasure(text, unit)
	if err != nil {
		*w = append(*w, fault.Field{Name: name, Given: text, Allowed: "a number with a unit, such as 12 " + unit, Hint: err.Error()})
		return nil
	}
	return m
}

func text(q url.Values, name string) string { return strings.TrimSpace(q.Get(name)) }

func slugOf(q url.Values, name string) string { return strings.ToLower(text(q, name)) }

func vesselField(v *desk.View, name, label string, full bool) ui.Field {
	f := ui.Field{Name: name, Label: label, Kind: ui.Choice, Options: []ui.Option{{Text: "–"}}}
	for _, vessel := range v.State.Vessels {
		if vessel.Gone || vessel.Bottles || (full && vessel.Holds == nil) {
			continue
		}
		words := vessel.Title()
		if vessel.Holds != nil {
			if lot := v.State.Lot(vessel.Holds.Lot); lot != nil {
				words += " – " + lot.Title()
			}
		} else {
			words += " – empty"
		}
		f.Options = append(f.Options, ui.Option{Value: vessel.Slug, Text: words})
	}
	return f
}

func lotField(v *desk.View) ui.Field {
	f := ui.Field{Name: "lot", Label: "Lot", Kind: ui.Choice, Options: []ui.Option{{Text: "–"}}}
	for _, lot := range v.State.Lots.All() {
		f.Options = append(f.Options, ui.Option{Value: lot.Slug, Text: lot.Title()})
	}
	return f
}

func choices(words ...string) []ui.Option {
	out := make([]ui.Option, len(words))
	for i, w := range words {
		out[i] = ui.Option{Value: w, Text: strings.ReplaceAll(w, "-", " ")}
	}
	return out
}

func lotFields(*desk.View, url.Values) []ui.Field {
	return []ui.Field{
		{Name: "name", Label: "Name", Example: "Merlot, south slope"},
		{Name: "colour", Label: "Colour", Kind: ui.Pick, Value: "red", Options: choices(cellar.Colours...)},
		{Name: "vintage", Label: "Vintage", Kind: ui.Number, Optional: true, Example: "2026"},
		{Name: "variety", Label: "Variety", Optional: true},
		{Name: "malolactic", Label: "Malolactic fermentation", Kind: ui.Pick, Value: cellar.MalolacticWanted,
			Options: []ui.Option{{Value: cellar.MalolacticWanted, Text: "wanted"}, {Value: cellar.MalolacticKeptFrom, Text: "kept from it"}, {Value: "open", Text: "not decided"}}},
		{Name: "units", Label: "Units", Kind: ui.Pick, Value: "metric", Options: []ui.Option{{Value: "metric", Text: "L, °C"}, {Value: "us", Text: "US gal, °F"}}},
		{Name: "slug", Label: "Short name", Optional: true, Help: "For the typed line. Made from the name when left empty."},
	}
}

func lotDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.LotStarted{Slug: slugOf(q, "slug"), Name: text(q, "name"), Colour: text(q, "colour"), Variety: text(q, "variety"), Malolactic: text(q, "malolactic"), Units: text(q, "units")}
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
		{Name: "type", Label: "Kind", Kind: ui.Choice, Value: "carboy", Options: choices(cellar.VesselTypes...)},
		{Name: "size", Label: "Holds when full", Unit: "L", Kind: ui.Words, Example: "23 L"},
		{Name: "place", Label: "Where it stands", Optional: true, Example: "under the stairs"},
		{Name: "walk", Label: "Place in your walk", Kind: ui.Number, Optional: true, Help: "1 for the first you come to. Today follows it."},
	}
}

func vesselDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.VesselNamed{Slug: slugOf(q, "vessel"), Type: text(q, "type"), Place: text(q, "place"), Size: w.measure(q, "size", "L", true)}
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

func fillFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{lotField(v), vesselField(v, "vessel", "Into", false),
		{Name: "volume", Label: "How much", Unit: "L", Example: "23 L"}}
}

func fillDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Movement{How: "filling", Lot: slugOf(q, "lot"), To: []cellar.Portion{{Vessel: slugOf(q, "vessel"), Volume: w.measure(q, "volume", "L", true)}}}
	return b, w
}

func readingFields(v *desk.View, q url.Values) []ui.Field {
	f := []ui.Field{vesselField(v, "vessel", "Vessel", true),
		{Name: "what", Label: "What was read", Kind: ui.Choice, Value: cellar.ReadPH},
		{Name: "value", Label: "Value", Example: "3.47", Help: "With its unit if it is another than usual: 66 °F, 9 min. A chromatogram is strong, faint or none."},
		{Name: "end_point", Label: "End point of a titration", Optional: true, Example: "8.2"},
		{Name: "method", Label: "Method", Optional: true, Example: "aspiration, iodine, strip"},
		{Name: "instrument", Label: "Instrument", Kind: ui.Choice, Optional: true, Options: []ui.Option{{Text: "–"}}},
		{Name: "control", Label: "It is the control sample kept back on day 0", Kind: ui.Check, Optional: true}}
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		t := r.Title
		if r.Unit != "" && r.Unit != "pH" {
			t += ", " + r.Unit
		}
		f[1].Options = append(f[1].Options, ui.Option{Value: r.What, Text: t})
	}
	for _, i := range v.State.Instruments {
		f[5].Options = append(f[5].Options, ui.Option{Value: i.Slug, Text: i.Slug})
	}
	return f
}

// readingCalls are the names that an entry gives to a reading's value: "pH", "TA" …
func readingCalls() map[string]string {
	calls := map[string]string{"end point": "end_point", "what is read": "what"}
	for i := range cellar.Readables {
		calls[cellar.Readables[i].Title] = "value"
	}
	return calls
}

func readingDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Reading{Vessel: slugOf(q, "vessel"), What: text(q, "what"), EndPoint: text(q, "end_point"), Method: text(q, "method"), Instrument: slugOf(q, "instrument"), Control: q.Get("control") != ""}
	r, ok := cellar.LookupReadable(b.What)
	switch {
	case !ok:
		w = append(w, fault.Field{Name: "what", Given: b.What, Allowed: "one of the list"})
	case len(r.Words) > 0:
		b.Value = cellar.M(strings.ToLower(text(q, "value")), "")
		if !slices.Contains(r.Words, b.Value.Value) {
			w = append(w, fault.Field{Name: "value", Given: b.Value.Value, Allowed: strings.Join(r.Words, ", ")})
		}
	default:
		b.Value = w.measure(q, "value", r.Unit, true)
	}
	return b, w
}

func checkFields(v *desk.View, _ url.Values) []ui.Field {
	f := []ui.Field{
		{Name: "buffer", Label: "Buffer", Kind: ui.Pick, Value: "7.00", Options: []ui.Option{{Value: "7.00", Text: "7.00"}, {Value: "4.01", Text: "4.01"}, {Value: "3.56", Text: "3.56", Note: "saturated cream of tartar, 25 °C"}}},
		{Name: "read", Label: "The meter showed", Kind: ui.Number, Example: "7.03"},
		{Name: "instrument", Label: "Meter", Kind: ui.Choice, Optional: true, Options: []ui.Option{{Text: "–"}}}}
	for _, i := range v.State.Instruments {
		if i.Type == "ph-meter" {
			f[2].Options = append(f[2].Options, ui.Option{Value: i.Slug, Text: i.Slug})
		}
	}
	return f
}

func checkDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	b := cellar.PHCheck{Buffer: text(q, "buffer"), Read: text(q, "read"), Instrument: slugOf(q, "instrument")}
	if b.Buffer == "3.56" {
		b.Of = "cream-of-tartar"
	}
	return b, nil
}
