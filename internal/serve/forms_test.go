package serve

import (
	"net/url"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

// q is a form as a browser sends it: name, value, name, value …
func q(pairs ...string) url.Values {
	out := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		out.Set(pairs[i], pairs[i+1])
	}
	return out
}

func with(base url.Values, pairs ...string) url.Values {
	out := q(pairs...)
	for name, values := range base {
		if !out.Has(name) {
			out[name] = values
		}
	}
	return out
}

// A badAnswer is one field answered wrongly in a form that is right otherwise.
type badAnswer struct {
	field, given string
	says         string // what is allowed, in the words next to the field
}

// Every form: a good answer, the entry that it makes, and each field answered
// wrongly. The wine is the demo's.
var formTests = []struct {
	form  string
	good  url.Values
	body  string // of the entry, exactly
	says  string // on the page that it leads to
	wrong []badAnswer
}{
	{"lot", q("name", "Gamay, Low Wall", "colour", "red", "vintage", "2026", "variety", "Gamay", "malolactic", "wanted", "units", "metric"),
		`{"slug":"gamay-low-wall","name":"Gamay, Low Wall","colour":"red","vintage":2026,"variety":"Gamay","malolactic":"wanted","units":"metric"}`, "Fill a vessel",
		[]badAnswer{{"name", "", "a word or two"}, {"colour", "blue", "red, white"}, {"vintage", "last year", "a year"}, {"vintage", "26", "1800 to 2200"},
			{"slug", "Two Words!", "short name"}, {"slug", "syrah", "no lot has yet"}, {"name", "123", "short name"}, {"malolactic", "maybe", "wanted"}, {"units", "stone", "metric"}}},
	{"vessel", q("vessel", "c9", "type", "carboy", "size", "23 L", "place", "under the stairs", "walk", "3"),
		`{"slug":"c9","type":"carboy","size":{"value":"23","unit":"L"},"place":"under the stairs","walk":3}`, "c9",
		[]badAnswer{{"vessel", "", "short name"}, {"vessel", "d1", "no vessel has yet"}, {"vessel", "ph", "not itself a word"}, {"vessel", "9c", "a letter first"},
			{"type", "amphitheatre", "carboy"}, {"size", "", "a number"}, {"size", "23 furlongs", "12 L"}, {"size", "-3", "0 or more"}, {"size", "12 kg", "a unit out of"}, {"walk", "first", "whole number"}}},
	{"instrument", q("instrument", "ph2", "type", "ph-meter", "step", "0.01"),
		`{"slug":"ph2","type":"ph-meter","step":{"value":"0.01"}}`, "",
		[]badAnswer{{"instrument", "", "short name"}, {"type", "nose", "ph-meter"}, {"step", "fine", "a number"}}},
	{"fill", q("lot", "syrah", "vessel", "j1", "volume", "4.5 L", "day", "2026-11-25"),
		`{"how":"filling","lot":"syrah","to":[{"vessel":"j1","volume":{"value":"4.5","unit":"L"}}]}`, "4.5 L",
		[]badAnswer{{"lot", "", "short name"}, {"vessel", "", "short name"}, {"volume", "", "a number"}, {"volume", "lots", "a number"}, {"volume", "-1 L", "0 or more"},
			{"volume", "3 g", "a unit out of"}, {"day", "25 Nov", "a date such as"}, {"hour", "half past", "19:30"}}},
	{"reading", q("vessel", "d1", "what", "ph", "value", "3.58", "instrument", "meter", "day", "2026-11-25", "hour", "19:30"),
		`{"vessel":"d1","what":"ph","value":{"value":"3.58","unit":"pH"},"instrument":"meter"}`, "pH 3.58",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"what", "mood", "one of the list"}, {"value", "", "a number"}, {"value", "high", "a number"},
			{"value", "3.4 kg", "a unit out of"}, {"end_point", "15", "a pH from 6 to 9.5"}, {"day", "", "a date such as"}, {"hour", "25:00", "19:30"}}},
	{"reading", q("vessel", "d1", "what", "chromatogram", "value", "Faint", "day", "2026-11-25"),
		`{"vessel":"d1","what":"chromatogram","value":{"value":"faint"}}`, "faint",
		[]badAnswer{{"value", "fairly faint", "strong, faint, none"}, {"value", "", "strong, faint, none"}}},
	{"reading", q("vessel", "g1", "what", "temperature", "value", "66 °F", "day", "2026-11-25"),
		`{"vessel":"g1","what":"temperature","value":{"value":"66","unit":"°F"}}`, "66 °F", nil},
	{"check", q("buffer", "3.56", "read", "3.55", "instrument", "meter", "day", "2026-11-25"),
		`{"instrument":"meter","buffer":"3.56","read":"3.55","of":"cream-of-tartar"}`, "",
		[]badAnswer{{"buffer", "", "a pH from 0 to 14"}, {"read", "", "a pH from 0 to 14"}, {"read", "neutral", "a pH from 0 to 14"}, {"read", "15", "a pH from 0 to 14"}}},
	{"inoculation", q("vessel", "c7", "of", "malolactic", "how", "rehydrated", "amount", "0.25 g", "culture", "freeze-dried", "day", "2026-11-25"),
		`{"vessel":"c7","of":"malolactic","how":"rehydrated","culture":"freeze-dried","amount":{"value":"0.25","unit":"g"}}`, "rehydrated culture",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"of", "secondary", "primary, malolactic"}, {"how", "thrown", "native, direct"}, {"amount", "a pinch", "a number"}, {"amount", "3 °C", "a unit out of"}}},
	{"stirring", q("vessel", "d1", "what", "lees", "day", "2026-11-25"), `{"vessel":"d1","what":"lees"}`, "stirred",
		[]badAnswer{{"vessel", "", "short name"}, {"what", "shaken", "lees, punch-down"}}},
	{"addition", q("vessel", "d1", "product", "malolactic-nutrient", "amount", "10.6 g", "day", "2026-11-25"),
		`{"vessel":"d1","product":"malolactic-nutrient","amount":{"value":"10.6","unit":"g"}}`, "10.6 g",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"product", "", "short name"}, {"amount", "", "a number"}, {"amount", "some", "a number"},
			{"amount", "-2 g", "0 or more"}, {"amount", "12 °C", "a unit out of"}, {"strength", "strong", "a number"}, {"strength", "5 L", "a unit out of"}}},
	{"racking", q("vessel", "c6", "to", "j1", "volume", "4.6 L", "rest", "stays", "day", "2026-11-25"),
		`{"how":"racking","from":[{"vessel":"c6"}],"to":[{"vessel":"j1","volume":{"value":"4.6","unit":"L"}}]}`, "4.6 L",
		[]badAnswer{{"vessel", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"volume", "nearly all", "a number"}, {"volume", "-1 L", "0 or more"}, {"rest", "drunk", "lees"}}},
	{"topping", q("vessel", "c6", "from", "c2", "volume", "0.2 L", "day", "2026-11-25"),
		`{"how":"topping","from":[{"vessel":"c2","volume":{"value":"0.2","unit":"L"}}],"to":[{"vessel":"c6","volume":{"value":"0.2","unit":"L"}}]}`, "0.2 L",
		[]badAnswer{{"vessel", "", "short name"}, {"from", "", "short name"}, {"volume", "", "a number"}, {"volume", "a dash", "a number"}, {"volume", "2 mg", "a unit out of"}}},
	{"press", q("vessel", "bin2", "to", "j1", "volume", "4.5 L", "to2", "bin1", "volume2", "55 L", "day", "2026-11-25"),
		`{"from":[{"vessel":"bin2","all":true}],"to":[{"vessel":"j1","volume":{"value":"4.5","unit":"L"}},{"vessel":"bin1","volume":{"value":"55","unit":"L"}}]}`, "55 L",
		[]badAnswer{{"vessel", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"volume", "4 kg", "a unit out of"}, {"volume2", "", "a number"}, {"to2", "", "the vessel that this ran into"}}},
	{"tasting", q("vessel", "b1", "score", "7", "words", "closed, clean", "day", "2026-11-25"),
		`{"vessel":"b1","score":"7","words":"closed, clean"}`, "closed, clean",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"score", strings.Repeat("x", 100), "at most"}}},
	{"bottling", q("vessel", "k1", "count", "64", "size", "750 mL", "closure", "natural cork", "slug", "riesling-26", "day", "2026-11-25"),
		`{"slug":"riesling-26","from":[{"vessel":"k1","all":true}],"count":64,"size":{"value":"750","unit":"mL"},"closure":"natural cork"}`, "64",
		[]badAnswer{{"vessel", "", "short name"}, {"count", "", "whole number"}, {"count", "some", "whole number"}, {"count", "0", "1 bottle or more"}, {"size", "", "a number"},
			{"size", "1 kg", "a unit out of"}, {"slug", "k1", "no vessel"}, {"slug", "Two Words", "short name"}}},
	{"dip", q("vessel", "d1", "volume", "52.5 L", "how", "mark", "day", "2026-11-25"),
		`{"vessel":"d1","volume":{"value":"52.5","unit":"L"},"how":"mark"}`, "52.5 L",
		[]badAnswer{{"vessel", "", "short name"}, {"volume", "", "a number"}, {"volume", "full", "a number"}, {"volume", "-2", "0 or more"}, {"how", "guess", "stick, weight"}}},
	{"warmth", q("vessel", "c4", "set", "20 °C", "day", "2026-11-25"),
		`{"vessel":"c4","set":{"value":"20","unit":"°C"}}`, "20 °C",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"set", "", "a number"}, {"set", "warm", "a number"}, {"set", "20 L", "a unit out of"}}},
	{"control", q("vessel", "c1", "volume", "200 mL", "kept", "cold", "day", "2026-11-25"),
		`{"vessel":"c1","volume":{"value":"200","unit":"mL"},"kept":"cold"}`, "200 mL",
		[]badAnswer{{"vessel", "", "short name"}, {"volume", "a glass", "a number"}, {"volume", "2 g", "a unit out of"}, {"kept", "warm", "frozen, cold"}}},
	{"verdict", q("vessel", "d2", "says", "malolactic-finished", "evidence", "clear paper, twice", "day", "2026-11-25"),
		`{"vessel":"d2","says":"malolactic-finished","evidence":"clear paper, twice"}`, "clear paper, twice",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"says", "lovely", "dry"}}},
	{"note", q("vessel", "d1", "words", "bung replaced", "day", "2026-11-25"), `{"vessel":"d1","words":"bung replaced"}`, "bung replaced",
		[]badAnswer{{"words", "", "some words"}, {"words", strings.Repeat("x", 9000), "at most"}}},
}

func TestFormsKeepWhatTheySay(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	tested := map[string]bool{}
	for _, c := range formTests {
		tested[c.form] = true
		t.Run(c.form+" "+c.good.Get("what"), func(t *testing.T) {
			empty := v.get("/write/" + c.form)
			for name := range c.good {
				if empty.field(name) == "" {
					t.Errorf("the form does not ask for %q", name)
				}
			}
			led := v.keeps(t, "/write/"+c.form, c.good)
			e := v.entries(t)
			last := e[len(e)-1]
			if got := string(last.Body); got != c.body {
				t.Errorf("kept %s, want %s", got, c.body)
			}
			if last.By != "Runa" || last.Device != "phone" || last.Cellar != "demo" || !last.Written.Equal(evening) {
				t.Errorf("kept as %s", last.AppendLine(nil))
			}
			led.shows(t, c.says)
			if hour := c.good.Get("hour"); c.good.Has("day") && (last.Happened.Precision == cellar.Day) != (hour == "") {
				t.Errorf("happened %s by a form with the hour %q", last.Happened, hour)
			}
		})
	}
	for _, f := range forms {
		if !tested[f.Name] {
			t.Errorf("form %s is not tested", f.Name)
		}
	}
}

// A wrong answer is told next to its field with what is allowed; all that was
// typed stays, and nothing is kept.
func TestFormsKeepWhatWasTyped(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	for _, c := range formTests {
		for _, bad := range c.wrong {
			given := bad.given
			if len(given) > 20 {
				given = given[:20] + "…"
			}
			t.Run(c.form+" "+bad.field+" "+given, func(t *testing.T) {
				answers := with(c.good, bad.field, bad.given)
				before := len(v.entries(t))
				p := v.post("/write/"+c.form, answers)
				if p.Code != 422 || len(v.entries(t)) != before {
					t.Fatalf("%d, %d entries kept", p.Code, len(v.entries(t))-before)
				}
				at := bad.field
				if bad.field == "name" && bad.says == "short name" {
					at = "slug" // made from a name that gives none
				}
				if said := p.wrong(at); !strings.Contains(said, bad.says) {
					t.Errorf("next to %s stands %q, want %q. On the page: %s", at, said, bad.says, p.text())
				}
				for name, values := range answers {
					stays := p.value(name)
					if name == bad.field && isChoice(p.field(name)) {
						continue // what is not among the choices cannot stand in them
					}
					if stays != values[0] {
						t.Errorf("%s was typed as %q and stands as %q", name, values[0], stays)
					}
				}
				p.shows(t, "Nothing you typed is lost.")
			})
		}
	}
}

func isChoice(field string) bool {
	return strings.Contains(field, "<select") || strings.Contains(field, `type="radio"`)
}

// Opened from a vessel or a lot, a form is filled in with it.
func TestFormsAreFilledInFromWhereTheyWereOpened(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	if got := v.get("/write/reading?vessel=d1").value("vessel"); got != "d1" {
		t.Errorf("vessel is %q", got)
	}
	if got := v.get("/write/fill?lot=syrah").value("lot"); got != "syrah" {
		t.Errorf("lot is %q", got)
	}
	if got := v.get("/write/reading").value("day"); got != "2026-11-25" {
		t.Errorf("day is %q", got)
	}
	if menu := v.get("/write?vessel=d1"); !strings.Contains(menu.Body, `href="/write/racking?vessel=d1"`) {
		t.Error("the menu does not hand the vessel on")
	}
}

func TestFormsOfOddRequests(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	before := len(v.entries(t))
	for name, c := range map[string]struct {
		answers url.Values
		code    int
	}{
		"nothing at all":     {nil, 422},
		"unknown fields":     {q("price", "5"), 422},
		"a body too large":   {q("words", strings.Repeat("x", 2<<20)), 413},
		"not text in UTF-8":  {with(formTests[len(formTests)-1].good, "words", "\xff\xfe"), 422},
		"a zero in the text": {with(formTests[len(formTests)-1].good, "words", "a\x00b"), 422},
	} {
		if p := v.post("/write/note", c.answers); p.Code != c.code {
			t.Errorf("%s: %d, want %d: %.200s", name, p.Code, c.code, p.text())
		}
	}
	if p := v.post("/log", q("line", strings.Repeat("x", 2<<20))); p.Code != 413 {
		t.Errorf("a line too large: %d", p.Code)
	}
	if p := v.post("/strike/"+v.anEntry(t), q("reason", strings.Repeat("x", 2<<20))); p.Code != 413 {
		t.Errorf("a reason too large: %d", p.Code)
	}
	if p := v.post("/tick/"+v.anAct(t), q("words", strings.Repeat("x", 2<<20))); p.Code != 413 {
		t.Errorf("a tick too large: %d", p.Code)
	}
	if n := len(v.entries(t)); n != before {
		t.Errorf("%d entries were kept", n-before)
	}
}
