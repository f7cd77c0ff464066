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

// numbered is the name of the nth field of a kind: "to", "to2", "to3".
func numbered(name string, n int) string {
	if n == 1 {
		return name
	}
	return name + strconv.Itoa(n)
}

func bottlingFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{vesselField(v, "vessel", "What was bottled", true),
		{Name: "count", Label: "Bottles filled", Kind: ui.Number, Example: "29"},
		{Name: "size", Label: "Each holds", Value: "750 mL", Beside: true},
		{Name: "closure", Label: "Closure", Optional: true, Example: "natural cork"},
		{Name: "volume", Label: "Wine drawn", Optional: true, Left: "all of it", Unit: "L", Help: "Left empty, the vessel is empty afterwards."},
		{Name: "lees", Label: "Lees left behind", Optional: true, Extra: true, Unit: "L"},
		{Name: "place", Label: "Where they lie", Optional: true, Example: "under the stairs"},
		{Name: "slug", Label: "Short name", Optional: true, Extra: true, Help: "For the typed line. Made from the lot's when left empty."},
		{Name: "words", Label: "Words", Optional: true, Extra: true}}
}

func bottlingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	from := slugOf(q, "vessel")
	drawn := w.measure(q, "volume", "L", false)
	b := cellar.Bottling{Slug: slugOf(q, "slug"), From: []cellar.Portion{{Vessel: from, Volume: drawn, All: drawn == nil}}, Size: w.measure(q, "size", "mL", true),
		Closure: text(q, "closure"), Place: text(q, "place"), Words: text(q, "words")}
	count, err := strconv.Atoi(text(q, "count"))
	if err != nil {
		w = append(w, fault.Field{Name: "count", Given: text(q, "count"), Allowed: "how many bottles, a whole number"})
	}
	b.Count = count
	if lees := w.measure(q, "lees", "L", false); lees != nil {
		b.Losses = []cellar.Loss{{Kind: cellar.LossLees, Volume: lees}}
	}
	if s := v.In(from); b.Slug == "" && s != nil {
		b.Slug = v.State.FreeName(s.Lot.Slug + "-bottles")
	}
	if v.State.Vessel(b.Slug) != nil {
		w = append(w, fault.Field{Name: "slug", Given: b.Slug, Allowed: "a name that no vessel and no bottling has yet"})
	}
	return b, w
}

// faults are what is found by eye and nose, in the words that the protocols know.
var faults = []ui.Option{{Value: "white film", Text: "film on top"}, {Value: "haze", Text: "haze"}, {Value: "browning", Text: "browning"}, {Value: "prickle", Text: "prickle of gas"},
	{Value: "rotten egg", Text: "rotten egg"}, {Value: "rubber, cabbage", Text: "rubber, cabbage"}, {Value: "vinegar", Text: "vinegar"}, {Value: "nail varnish", Text: "nail varnish"},
	{Value: "horse, leather", Text: "horse, leather"}, {Value: "mousy", Text: "mouse, after swallowing"}, {Value: "geranium", Text: "geranium leaf"}, {Value: "musty", Text: "musty, mouldy"}}

func tastingFields(v *desk.View, _ url.Values) []ui.Field {
	vessel := vesselField(v, "vessel", "Vessel", true)
	vessel.Options = append(vessel.Options, bottlings(v)...)
	return []ui.Field{vessel,
		{Name: "words", Label: "Words", Kind: ui.Long, Optional: true},
		{Name: "score", Label: "Score", Optional: true, Help: "In your own scale."},
		{Name: "fault", Label: "Faults by eye and nose", Kind: ui.Several, Optional: true, Options: faults},
		{Name: "other", Label: "Another fault", Optional: true, Extra: true},
		{Name: "check", Label: "What to look at next, to be sure", Optional: true, Extra: true, Example: "copper test on a glass"}}
}

func tastingDraft(v *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	b := cellar.Tasting{Vessel: slugOf(q, "vessel"), Score: text(q, "score"), Words: text(q, "words"), Faults: q["fault"], Check: text(q, "check")}
	if other := text(q, "other"); other != "" {
		b.Faults = append(b.Faults, other)
	}
	if vessel := v.State.Vessel(b.Vessel); vessel != nil && vessel.Bottles {
		b.Vessel, b.Bottling = "", b.Vessel
	}
	return b, nil
}

// bottlings are the bottlings of which some are left.
func bottlings(v *desk.View) []ui.Option {
	var out []ui.Option
	for _, vessel := range v.State.Vessels {
		if vessel.Bottles && vessel.Holds != nil {
			words := vessel.Title()
			if lot := v.State.Lot(vessel.Holds.Lot); lot != nil {
				words = lot.Title()
			}
			out = append(out, ui.Option{Value: vessel.Slug, Text: words + ", " + plural(vessel.Holds.Count, "bottle")})
		}
	}
	return out
}

func openedFields(v *desk.View, _ url.Values) []ui.Field {
	return []ui.Field{{Name: "vessel", Label: "Bottling", Kind: ui.Choice, Options: append([]ui.Option{{Text: "–"}}, bottlings(v)...)},
		{Name: "count", Label: "Bottles", Kind: ui.Number, Value: "1"},
		{Name: "why", Label: "They were", Kind: ui.Pick, Value: "drunk", Options: choices("drunk", "given", "lost", "sold", "tested")},
		{Name: "score", Label: "Score", Optional: true, Help: "In your own scale."},
		{Name: "words", Label: "Words", Kind: ui.Long, Optional: true}}
}

func openedDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Opened{Bottling: slugOf(q, "vessel"), Why: text(q, "why"), Score: text(q, "score"), Words: text(q, "words"), Count: w.whole(q, "count")}
	if b.Count == 0 && len(w) == 0 {
		w = append(w, fault.Field{Name: "count", Given: text(q, "count"), Allowed: "1 bottle or more"})
	}
	return b, w
}

// whole reads a whole number; 0 if none is given.
func (w *wrong) whole(q url.Values, name string) int {
	given := text(q, name)
	if given == "" {
		return 0
	}
	n, err := strconv.Atoi(given)
	if err != nil || n < 0 {
		*w = append(*w, fault.Field{Name: name, Given: given, Allowed: "a whole number, 0 or more"})
		return 0
	}
	return n
}

// glasses is how many rows of a trial a form asks for.
const glasses = 6

func trialFields(v *desk.View, q url.Values) []ui.Field {
	what := text(q, "what")
	if what == "" {
		what = cellar.Trials[0]
	}
	vessel := vesselField(v, "vessel", "Of the wine in", true)
	vessel.Optional = what == "blend"
	f := []ui.Field{{Name: "what", Label: "Trial of", Kind: ui.Pick, Value: what, Options: choices(cellar.Trials...)}, vessel,
		{Name: "question", Label: "Question", Optional: true, Example: "is it less harsh, and still itself?"}}
	for n := 1; n <= glasses; n++ {
		beside := func(name, label, example string) {
			f = append(f, ui.Field{Name: numbered(name, n), Label: label, Example: example, Optional: true, Beside: true})
		}
		f = append(f, ui.Field{Name: numbered("code", n), Label: "Glass", Example: []string{"417", "803", "266", "590", "138", "742"}[n-1], Optional: n > 1})
		if what == "blend" {
			beside("parts", "Of what", "b2 60 mL, c1 40 mL")
		} else {
			beside("dose", "Dose", "60 mg/L")
			product := productField()
			product.Name, product.Label, product.Value, product.Optional, product.Beside = numbered("product", n), "Of", "", true, true
			product.Options = append([]ui.Option{{Text: "nothing"}}, product.Options...)
			f = append(f, product)
		}
		beside("score", "Score", "")
		beside("words", "Words", "")
	}
	return append(f, ui.Field{Name: "chosen", Label: "Chosen glass", Optional: true, Help: "Its code."},
		ui.Field{Name: "decision", Label: "Decision", Kind: ui.Long, Optional: true},
		ui.Field{Name: "sample", Label: "Each made up in", Optional: true, Extra: true, Example: "100 mL"},
		ui.Field{Name: "waited", Label: "Waited before tasting", Optional: true, Extra: true, Beside: true, Example: "24 h"},
		ui.Field{Name: "tasters", Label: "Tasters", Optional: true, Extra: true, Example: "Ilva, Bero", Help: "Parted by commas."})
}

func trialDraft(_ *desk.View, q url.Values) (cellar.Body, []fault.Field) {
	var w wrong
	b := cellar.Trial{Vessel: slugOf(q, "vessel"), What: text(q, "what"), Question: text(q, "question"), Chosen: text(q, "chosen"), Decision: text(q, "decision"),
		Sample: w.measure(q, "sample", "mL", false), Waited: w.measure(q, "waited", "h", false)}
	for n := 1; n <= glasses; n++ {
		row := cellar.TrialRow{Code: text(q, numbered("code", n)), Product: text(q, numbered("product", n)), Dose: w.measure(q, numbered("dose", n), "mg/L", false),
			Parts: w.parts(q, numbered("parts", n)), Score: text(q, numbered("score", n)), Words: text(q, numbered("words", n))}
		filled := row.Product != "" || row.Dose != nil || len(row.Parts) > 0 || row.Score != "" || row.Words != ""
		if row.Code == "" && (filled || n == 1) {
			w = append(w, fault.Field{Name: numbered("code", n), Allowed: "the code or name of this glass"})
		}
		if row.Code != "" {
			b.Rows = append(b.Rows, row)
		}
	}
	for _, t := range strings.Split(text(q, "tasters"), ",") {
		if t = strings.TrimSpace(t); t != "" {
			b.Tasters = append(b.Tasters, t)
		}
	}
	return b, w
}

// parts reads what a glass of a blend is made of: "b2 60 mL, c1 40 mL".
func (w *wrong) parts(q url.Values, name string) []cellar.Portion {
	var out []cellar.Portion
	for _, part := range strings.Split(text(q, name), ",") {
		vessel, amount, _ := strings.Cut(strings.TrimSpace(part), " ")
		if vessel == "" {
			continue
		}
		m, err := cellar.ParseMeasure(amount, "mL")
		if err != nil {
			*w = append(*w, fault.Field{Name: name, Given: part, Allowed: "vessels, each with how much of it: b2 60 mL, c1 40 mL"})
			return nil
		}
		out = append(out, cellar.Portion{Vessel: strings.ToLower(vessel), Volume: m})
	}
	return out
}
