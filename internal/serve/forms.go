package serve

import (
	"net/url"
	"slices"
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
	{Name: "lot-anew", Title: "Describe a lot anew", Lead: "What is known of it now; what was written stays in the ledger.", Of: "lot", Timeless: true, Fields: anewLotFields, Draft: anewLotDraft},
	{Name: "vessel-anew", Title: "Describe a vessel anew", Lead: "Another place, another use, or gone; what was written stays in the ledger.", Of: "vessel", Timeless: true, Fields: anewVesselFields, Draft: anewVesselDraft},
	{Name: "instrument", Title: "Name an instrument", Lead: "So that readings know what they were made with.", Timeless: true, Fields: instrumentFields, Draft: instrumentDraft},
	{Name: "sample", Title: "Ripeness sample", Lead: "Berries from the vine, and what was read of their juice.", Fields: sampleFields, Draft: sampleDraft, More: sampleMore,
		Calls: map[string]string{"sugar": "brix", "TA": "ta", "pH": "ph", "density": "brix", "berry weight": "berry"}},
	{Name: "fruit", Title: "Fruit received", Lead: "Crates on the scale, and the bin the fruit waits in.", Fields: fruitFields, Draft: fruitDraft,
		Calls: map[string]string{"temperature": "warmth"}},
	{Name: "crush", Title: "Crush", Lead: "Fruit becomes must, or juice when it is pressed at once.", Fields: crushFields, Draft: crushDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "must", Title: "Juice or must comes in", Lead: "Bought or brought as juice or must, not as fruit.", Fields: mustFields, Draft: mustDraft,
		Calls: map[string]string{"to vessel": "to"}},
	{Name: "fill", Title: "Wine comes in", Lead: "Wine of a lot that comes into the cellar.", Fields: fillFields, Draft: fillDraft,
		Calls: map[string]string{"to vessel": "vessel"}},
	{Name: "saignee", Title: "Saignée", Lead: "Juice bled off the skins.", Fields: saigneeFields, Draft: saigneeDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "settling", Title: "Settling", Lead: "Clear juice drawn off what has settled.", Fields: settlingFields, Draft: settlingDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "reading", Title: "Reading", Lead: "pH, TA, a chromatogram, free SO2, anything measured.", Fields: readingFields, Draft: readingDraft,
		Calls: readingCalls()},
	{Name: "check", Title: "pH meter check", Lead: "The meter read in its buffers, or in saturated cream of tartar.", Fields: checkFields, Draft: checkDraft, More: checkMore,
		Before: []ui.Link{{Text: "A standard from the kitchen", URL: "/guides/cream-of-tartar"}, {Text: "pH meters", URL: "/meters"}}},
	{Name: "calibration", Title: "Calibration", Lead: "An instrument set by its standards.", Fields: calibrationFields, Draft: calibrationDraft,
		Calls: map[string]string{"point": "points", "temperature": "warm"}},
	{Name: "inoculation", Title: "Inoculation", Lead: "A culture goes in, or the wine is left to start by itself.", Fields: inoculationFields, Draft: inoculationDraft,
		Calls: map[string]string{"ferment": "of"}},
	{Name: "stirring", Title: "Cap and lees", Lead: "Cap worked or lees stirred.", Fields: stirringFields, Draft: stirringDraft},
	{Name: "addition", Title: "Addition", Lead: "Something put into a wine, by weight or volume.", Fields: additionFields, Draft: additionDraft,
		Calls: map[string]string{"reckoned for": "for"}},
	{Name: "treatment", Title: "Treatment", Lead: "Filtered, chilled, aired; oak in or out.", Fields: treatmentFields, Draft: treatmentDraft,
		Calls: map[string]string{"treatment": "what"}},
	{Name: "press", Title: "Pressing", Lead: "Must becomes wine; what does not run off is pomace.", Fields: pressFields, Draft: pressDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "racking", Title: "Racking", Lead: "Wine from one vessel into another, off its lees.", Fields: rackingFields, Draft: rackingDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "topping", Title: "Topping", Lead: "A little wine from one vessel to fill another.", Fields: toppingFields, Draft: toppingDraft,
		Before: []ui.Link{{Text: "Which wine may top which", URL: "/vessels"}},
		Calls:  map[string]string{"from vessel": "from", "to vessel": "vessel"}},
	{Name: "splitting", Title: "Splitting", Lead: "Wine of one vessel into several.", Fields: splittingFields, Draft: splittingDraft,
		Calls: map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "blending", Title: "Blending", Lead: "Wines of several vessels into one.", Fields: blendingFields, Draft: blendingDraft,
		Before: []ui.Link{{Text: "Find the shares first", URL: "/blend"}},
		Calls:  map[string]string{"from vessel": "vessel", "to vessel": "to"}},
	{Name: "removal", Title: "Wine taken out", Lead: "A sample, a spill, the angels' share, a jug for the table.", Fields: removalFields, Draft: removalDraft,
		Calls: map[string]string{"from vessel": "vessel", "loss": "kind"}},
	{Name: "dip", Title: "Volume measured", Lead: "What a vessel was found to hold.", Fields: dipFields, Draft: dipDraft},
	{Name: "warmth", Title: "Temperature set", Lead: "What a vessel is held at from here on.", Fields: warmthFields, Draft: warmthDraft,
		Calls: map[string]string{"temperature": "set"}},
	{Name: "control", Title: "Control sample kept", Lead: "Wine kept back on day 0, full, cold and closed, to be read again in later sessions.", Fields: controlFields, Draft: controlDraft},
	{Name: "care", Title: "Vessel care", Lead: "A vessel cleaned, sulfured, swelled, looked over.", Fields: careFields, Draft: careDraft, Calls: map[string]string{"care": "what"}},
	{Name: "verdict", Title: "Verdict", Lead: "What you declare, and on what evidence.", Fields: verdictFields, Draft: verdictDraft},
	{Name: "tasting", Title: "Tasting", Lead: "What was seen, smelt and tasted.", Fields: tastingFields, Draft: tastingDraft},
	{Name: "trial", Title: "Bench trial", Lead: "Glasses made up, tasted under codes, and what was decided.", Fields: trialFields, Draft: trialDraft,
		Calls: map[string]string{"what is tried": "what", "rows": "code", "lot": "vessel"}},
	{Name: "bottling", Title: "Bottling", Lead: "Wine into bottles, which are kept by number.", Fields: bottlingFields, Draft: bottlingDraft,
		Calls: map[string]string{"bottling": "slug", "from vessel": "vessel", "loss to lees": "lees"}},
	{Name: "opened", Title: "Bottle opened", Lead: "Bottles drunk, given, sold, lost.", Fields: openedFields, Draft: openedDraft,
		Calls: map[string]string{"bottling": "vessel"}},
	{Name: "purchase", Title: "Bought", Lead: "Something for the shelf.", Fields: purchaseFields, Draft: purchaseDraft},
	{Name: "prices", Title: "Prices of tests and mistakes", Lead: "What a test costs you, and what a mistake or a day of waiting would. The next test, and when to call a conversion finished, are judged by it.", Timeless: true, Fields: pricesFields, Draft: pricesDraft,
		Calls: priceCalls()},
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
		f.Options = append(f.Options, ui.Option{Value: vessel.Slug, Text: vesselWords(v, vessel)})
	}
	if full {
		onlyOne(&f)
	}
	return f
}

func lotField(v *desk.View) ui.Field {
	f := ui.Field{Name: "lot", Label: "Lot", Kind: ui.Choice, Options: []ui.Option{{Text: "–"}}}
	for _, lot := range v.State.Lots.All() {
		f.Options = append(f.Options, ui.Option{Value: lot.Slug, Text: lot.Title()})
	}
	onlyOne(&f)
	return f
}

// onlyOne chooses what alone is there to choose.
func onlyOne(f *ui.Field) {
	if len(f.Options) == 2 {
		f.Value = f.Options[1].Value
	}
}

func choices(words ...string) []ui.Option {
	out := make([]ui.Option, len(words))
	for i, w := range words {
		out[i] = ui.Option{Value: w, Text: strings.ReplaceAll(w, "-", " ")}
	}
	return out
}

// scales are the units that a reading's figure can be in, the usual one first. A
// form opened for one reading lists them, so that no unit need be typed.
func scales(r *cellar.Readable, usual string) []ui.Option {
	var out []ui.Option
	for _, d := range r.Dims {
		for _, sign := range cellar.UnitsOf(d) {
			out = append(out, ui.Option{Value: sign, Text: sign})
		}
	}
	at := slices.IndexFunc(out, func(o ui.Option) bool { return o.Value == usual })
	if at > 0 {
		out = slices.Insert(slices.Delete(out, at, at+1), 0, ui.Option{Value: usual, Text: usual})
	}
	return out
}

func readingFields(v *desk.View, q url.Values) []ui.Field {
	what := ui.Field{Name: "what", Label: "What was read", Kind: ui.Choice, Value: cellar.ReadPH}
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		t := r.Title
		if r.Unit != "" && r.Unit != "pH" {
			t += ", " + r.Unit
		}
		what.Options = append(what.Options, ui.Option{Value: r.What, Text: t})
	}
	f := []ui.Field{vesselField(v, "vessel", "Vessel", true), what}
	f = append(f, valueFields(v, q)...)
	instrument := instrumentField(v, "Instrument", "")
	instrument.Optional, instrument.Extra = true, true
	return append(f,
		ui.Field{Name: "end_point", Label: "End point of a titration", Optional: true, Extra: true, Example: "8.2"},
		ui.Field{Name: "as", Label: "Acid that it is reckoned as", Kind: ui.Choice, Optional: true, Extra: true, Beside: true, Options: append([]ui.Option{{Text: "–"}}, choices("tartaric", "sulfuric", "acetic")...)},
		ui.Field{Name: "method", Label: "Method", Optional: true, Extra: true, Example: "aspiration, iodine, strip"}, instrument,
		ui.Field{Name: "control", Label: "It is the control sample kept back on day 0", Kind: ui.Check, Optional: true, Extra: true})
}

// valueFields ask for the figure: with its unit to be chosen, or the word, where
// it is known what is read.
func valueFields(v *desk.View, q url.Values) []ui.Field {
	value := ui.Field{Name: "value", Label: "Value", Example: "3.47", Help: "With its unit if it is another than usual: 66 °F, 9 min. A chromatogram is strong, faint or none."}
	r, known := cellar.LookupReadable(text(q, "what"))
	switch {
	case !known:
		return []ui.Field{value}
	case len(r.Words) > 0:
		return []ui.Field{{Name: "value", Label: capital(r.Title), Kind: ui.Pick, Options: choices(r.Words...)}}
	}
	unit := usual(v, q, r.Unit)
	value.Label, value.Kind, value.Help, value.Example = capital(r.Title), ui.Number, "", ""
	value.Focus = text(q, "vessel") != "" && !q.Has("value")
	units := scales(r, unit)
	if len(units) < 2 {
		return []ui.Field{value}
	}
	return []ui.Field{value, {Name: "unit", Label: "Unit", Kind: ui.Choice, Value: unit, Options: units, Beside: true}}
}

// readingCalls are the names that an entry gives to a reading's value: "pH", "TA" …
func readingCalls() map[string]string {
	calls := map[string]string{"end point": "end_point", "what is read": "what"}
	for i := range cellar.Readables {
		calls[cellar.Readables[i].Title] = "value"
	}
	return calls
}

// unitOf is the unit of a bare figure: the one chosen, if the reading can be in it.
func unitOf(v *desk.View, q url.Values, r *cellar.Readable) string {
	if u, ok := cellar.LookupUnit(text(q, "unit")); ok && text(q, "unit") != "" && slices.Contains(r.Dims, u.Dimension) {
		return u.Sign
	}
	return usual(v, q, r.Unit)
}

func readingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Reading{Vessel: slugOf(q, "vessel"), What: text(q, "what"), As: text(q, "as"), EndPoint: text(q, "end_point"), Method: text(q, "method"), Instrument: slugOf(q, "instrument"), Control: q.Get("control") != ""}
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
		b.Value = w.measure(q, "value", unitOf(v, q, r), true)
	}
	return b, w
}
