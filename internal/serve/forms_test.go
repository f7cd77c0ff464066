package serve

import (
	"context"
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
		`{"slug":"gamay-low-wall","name":"Gamay, Low Wall","colour":"red","vintage":2026,"variety":"Gamay","malolactic":"wanted","units":"metric"}`, "Wine comes in",
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
	{"check", q("read7", "7.03", "read356", "3.55", "instrument", "meter", "day", "2026-11-25"),
		`{"instrument":"meter","buffer":"3.56","read":"3.55","of":"cream-of-tartar"}`, "",
		[]badAnswer{{"read7", "neutral", "a pH from 0 to 14"}, {"read356", "15", "a pH from 0 to 14"}}},
	{"check", q("read7", "", "read4", "4.02", "day", "2026-11-25"), `{"buffer":"4.01","read":"4.02"}`, "", []badAnswer{{"read4", "-1", "a pH from 0 to 14"}}},
	{"calibration", q("instrument", "meter", "points", "7.00, 4.01", "passed", "yes", "slope", "98", "offset", "-4 mV", "warm", "20", "day", "2026-11-25"),
		`{"instrument":"meter","points":["7.00","4.01"],"slope":{"value":"98","unit":"%"},"offset":{"value":"-4","unit":"mV"},"warm":{"value":"20","unit":"°C"},"passed":"yes"}`, "",
		[]badAnswer{{"instrument", "", "short name"}, {"points", "", "the value of a standard"}, {"points", "blue", "the standard's value"}, {"slope", "steep", "a number"}, {"slope", "3 L", "a unit out of"}, {"warm", "3 L", "a unit out of"}, {"passed", "nearly", "yes, no"}}},
	{"sample", q("lot", "syrah", "brix", "22.4", "ph", "3.41", "taste", "seeds brown", "berries", "200", "rotten", "3", "day", "2026-09-12"),
		`{"lot":"syrah","what":"ph","value":{"value":"3.41","unit":"pH"},"session":"vine 2026-09-12"}`, "fruit of syrah sampled",
		[]badAnswer{{"lot", "", "short name"}, {"brix", "sweet", "a number"}, {"ph", "low", "a number"}, {"ta", "7 °C", "a unit out of"}, {"berry", "1 L", "a unit out of"}, {"berries", "many", "a whole number"}, {"clusters", "-1", "a whole number"}}},
	{"fruit", q("lot", "syrah", "vessel", "bin1", "weight", "84", "tare", "4 kg", "grower", "Hazel Row", "picked", "2026-11-24", "warmth", "14", "rot", "2", "price", "180 EUR", "condition", "clean", "day", "2026-11-25"),
		`{"lot":"syrah","vessel":"bin1","weight":{"value":"84","unit":"kg"},"tare":{"value":"4","unit":"kg"},"grower":"Hazel Row","picked":"2026-11-24+01:00","warmth":{"value":"14","unit":"°C"},"rot":{"value":"2","unit":"%"},"price":{"value":"180","unit":"EUR"},"condition":"clean"}`, "80 kg of fruit in a 200 L bin",
		[]badAnswer{{"lot", "", "short name"}, {"weight", "", "a number"}, {"weight", "heaps", "a number"}, {"weight", "84 L", "a unit out of"}, {"tare", "90", "less than the weight with them"}, {"picked", "Tuesday", "a date such as"},
			{"warmth", "14 L", "a unit out of"}, {"rot", "some", "a number"}, {"price", "cheap", "a number"}, {"price", "180 L", "a unit out of"}}},
	{"crush", q("vessel", "bin1", "to", "", "volume", "60", "as", "must", "destemmed", "part", "crushed", "all", "day", "2026-11-25"),
		`{"lot":"syrah","from":[{"vessel":"bin1"}],"to":[{"vessel":"bin1","volume":{"value":"60","unit":"L"}}],"destemmed":"part","crushed":"all"}`, "crushed bin1 where it stood: 60 L",
		nil},
	{"crush", q("vessel", "", "lot", "syrah", "to", "j1", "volume", "4", "as", "juice", "day", "2026-11-25"),
		`{"lot":"syrah","to":[{"vessel":"j1","volume":{"value":"4","unit":"L"}}],"juice":true}`, "juice of lot syrah: 4 L into j1",
		[]badAnswer{{"lot", "", "the lot that was crushed"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"volume", "60 kg", "a unit out of"}, {"volume2", "a drop", "a number"},
			{"destemmed", "half", "all, part, none"}, {"crushed", "half", "all, part, none"}}},
	{"must", q("lot", "syrah", "as", "juice", "to", "j1", "volume", "4.5", "day", "2026-11-25"), `{"lot":"syrah","to":[{"vessel":"j1","volume":{"value":"4.5","unit":"L"}}],"juice":true}`, "juice of lot syrah",
		[]badAnswer{{"lot", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"volume", "-2", "0 or more"}}},
	{"saignee", q("vessel", "bin2", "to", "j1", "volume", "4", "becomes", "riesling", "day", "2026-11-25"),
		`{"how":"saignée","becomes":"riesling","from":[{"vessel":"bin2"}],"to":[{"vessel":"j1","volume":{"value":"4","unit":"L"}}]}`, "saignée of 4 L from bin2 to j1",
		[]badAnswer{{"vessel", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}}},
	{"settling", q("vessel", "k1", "to", "j1", "volume", "4.5", "rest", "stays", "day", "2026-11-25"),
		`{"how":"settling","from":[{"vessel":"k1"}],"to":[{"vessel":"j1","volume":{"value":"4.5","unit":"L"}}]}`, "settling 4.5 L from k1 to j1",
		[]badAnswer{{"vessel", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"rest", "drunk", "lees"}}},
	{"splitting", q("vessel", "k1", "to", "j1", "volume", "1", "to2", "bin2", "volume2", "2", "day", "2026-11-25"),
		`{"how":"splitting","from":[{"vessel":"k1"}],"to":[{"vessel":"j1","volume":{"value":"1","unit":"L"}},{"vessel":"bin2","volume":{"value":"2","unit":"L"}}]}`, "splitting k1: 1 L to j1, 2 L to bin2",
		[]badAnswer{{"vessel", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"volume2", "", "a number"}, {"volume2", "3 kg", "a unit out of"}, {"to2", "", "the vessel that this ran into"}, {"to2", "j1", "each vessel once"}}},
	{"blending", q("vessel", "c4", "volume", "1 L", "vessel2", "c5", "volume2", "1", "to", "j1", "becomes", "zweigelt", "day", "2026-11-25"),
		`{"how":"blending","becomes":"zweigelt","from":[{"vessel":"c4","volume":{"value":"1","unit":"L"}},{"vessel":"c5","volume":{"value":"1","unit":"L"}}],"to":[{"vessel":"j1"}]}`, "blending 1 L from c4 and 1 L from c5 into j1",
		[]badAnswer{{"vessel", "", "two or more"}, {"vessel2", "", "two or more"}, {"volume", "a dash", "a number"}, {"volume2", "3 kg", "a unit out of"}, {"to", "", "short name"}}},
	{"removal", q("vessel", "k1", "volume", "0.2", "kind", "spill", "words", "down the floor", "day", "2026-11-25"),
		`{"how":"removal","from":[{"vessel":"k1","volume":{"value":"0.2","unit":"L"}}],"losses":[{"kind":"spill","volume":{"value":"0.2","unit":"L"}}],"words":"down the floor"}`, "lost as spill",
		[]badAnswer{{"vessel", "", "short name"}, {"volume", "", "a number"}, {"volume", "2 kg", "a unit out of"}, {"kind", "magic", "lees, sample"}}},
	{"treatment", q("vessel", "b1", "what", "oak-in", "amount", "60", "words", "staves", "day", "2026-11-25"),
		`{"vessel":"b1","what":"oak-in","amount":{"value":"60","unit":"g"},"words":"staves"}`, "oak in 60 g",
		[]badAnswer{{"vessel", "", "short name"}, {"what", "prayer", "filtration"}, {"amount", "some", "a number"}, {"amount", "3 EUR", "a unit out of"}}},
	{"care", q("vessel", "b1", "what", "sulfured", "with", "wick", "amount", "5", "day", "2026-11-25"), `{"vessel":"b1","what":"sulfured","with":"wick","amount":{"value":"5","unit":"g"}}`, "sulfured 5 g",
		[]badAnswer{{"vessel", "", "short name"}, {"what", "polished", "cleaned"}, {"amount", "some", "a number"}}},
	{"trial", q("what", "fining", "vessel", "b1", "question", "less harsh?", "code", "417", "score", "2", "code2", "803", "product2", "egg-white", "dose2", "60", "score2", "5", "words2", "rounder", "chosen", "803", "decision", "do it", "sample", "100", "tasters", "Runa, Corin", "day", "2026-11-25"),
		`{"vessel":"b1","what":"fining","question":"less harsh?","sample":{"value":"100","unit":"mL"},"rows":[{"code":"417","score":"2"},{"code":"803","product":"egg-white","dose":{"value":"60","unit":"mg/L"},"score":"5","words":"rounder"}],"tasters":["Runa","Corin"],"chosen":"803","decision":"do it"}`, "chosen 60 mg/L egg white",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"what", "luck", "fining"}, {"code", "", "the code or name of this glass"}, {"code2", "", "the code or name of this glass"}, {"dose2", "a lot", "a number"}, {"dose2", "3 °C", "a unit out of"},
			{"chosen", "999", "the code of one of the rows"}, {"sample", "big", "a number"}}},
	{"trial", q("what", "blend", "vessel", "", "code", "417", "parts", "d1 60, b1 40 mL", "day", "2026-11-25"),
		`{"what":"blend","rows":[{"code":"417","parts":[{"vessel":"d1","volume":{"value":"60","unit":"mL"}},{"vessel":"b1","volume":{"value":"40","unit":"mL"}}]}]}`, "trial of blend", nil},
	{"opened", q("vessel", "pinot-bottles", "count", "2", "why", "given", "words", "to the neighbours", "day", "2026-11-25"),
		`{"bottling":"pinot-bottles","count":2,"why":"given","words":"to the neighbours"}`, "2 opened, given",
		[]badAnswer{{"vessel", "", "short name"}, {"count", "", "1 bottle or more"}, {"count", "a few", "a whole number"}, {"why", "dropped", "drunk, given"}}},
	{"purchase", q("product", "potassium-metabisulfite", "amount", "250 g", "price", "4.50 EUR", "best_by", "2027-11-01", "kept_at", "15", "from", "the market", "day", "2026-11-25"),
		`{"product":"potassium-metabisulfite","amount":{"value":"250","unit":"g"},"best_by":"2027-11-01+01:00","kept_at":{"value":"15","unit":"°C"},"price":{"value":"4.50","unit":"EUR"},"from":"the market"}`, "",
		[]badAnswer{{"amount", "a bag", "a number"}, {"amount", "3 °C", "a unit out of"}, {"price", "4 L", "a unit out of"}, {"best_by", "soon", "a date such as"}, {"kept_at", "cold", "a number"}, {"strength", "5 L", "a unit out of"}, {"other", "!!", "a letter"}}},
	{"purchase", q("product", "sugar", "other", "Demijohn bungs", "amount", "6", "day", "2026-11-25"), `{"product":"demijohn-bungs","name":"Demijohn bungs","amount":{"value":"6"}}`, "", nil},
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
	{"press", q("vessel", "bin2", "to", "c3", "volume", "10", "part", "free run", "drained", "yes", "density", "1.020", "day", "2026-11-25"),
		`{"from":[{"vessel":"bin2"}],"to":[{"vessel":"c3","volume":{"value":"10","unit":"L"},"part":"free run"}],"drained":true,"density":{"value":"1.020","unit":"SG"}}`, "10 L to c3 (free run)",
		[]badAnswer{{"density", "thick", "a number"}, {"density", "3 L", "a unit out of"}}},
	{"press", q("vessel", "bin2", "to", "j1", "volume", "4.5 L", "to2", "bin1", "volume2", "55 L", "day", "2026-11-25"),
		`{"from":[{"vessel":"bin2","all":true}],"to":[{"vessel":"j1","volume":{"value":"4.5","unit":"L"}},{"vessel":"bin1","volume":{"value":"55","unit":"L"}}]}`, "55 L",
		[]badAnswer{{"vessel", "", "short name"}, {"to", "", "short name"}, {"volume", "", "a number"}, {"volume", "4 kg", "a unit out of"}, {"volume2", "", "a number"}, {"to2", "", "the vessel that this ran into"}}},
	{"tasting", url.Values{"vessel": {"pinot-bottles"}, "fault": {"white film", "vinegar"}, "other": {"dust"}, "day": {"2026-11-25"}},
		`{"bottling":"pinot-bottles","faults":["white film","vinegar","dust"]}`, "white film, vinegar, dust", nil},
	{"reading", q("vessel", "g1", "what", "density", "unit", "°Brix", "value", "4.2", "day", "2026-11-25"),
		`{"vessel":"g1","what":"density","value":{"value":"4.2","unit":"°Brix"}}`, "4.2 °Brix", nil},
	{"warmth", q("vessel", "g1", "set", "66", "day", "2026-11-25"), `{"vessel":"g1","set":{"value":"66","unit":"°F"}}`, "66 °F", nil},
	{"stirring", q("vessel", "bin2", "what", "rack-and-return", "day", "2026-11-25"), `{"vessel":"bin2","what":"rack-and-return"}`, "racked and returned", nil},
	{"tasting", q("vessel", "b1", "score", "7", "words", "closed, clean", "day", "2026-11-25"),
		`{"vessel":"b1","score":"7","words":"closed, clean"}`, "closed, clean",
		[]badAnswer{{"vessel", "", "the vessel it was done to"}, {"score", strings.Repeat("x", 100), "at most"}}},
	{"bottling", q("vessel", "k1", "count", "64", "size", "750 mL", "closure", "natural cork", "slug", "riesling-26", "day", "2026-11-25"),
		`{"slug":"riesling-26","from":[{"vessel":"k1","all":true}],"count":64,"size":{"value":"750","unit":"mL"},"closure":"natural cork"}`, "64",
		[]badAnswer{{"vessel", "", "short name"}, {"count", "", "whole number"}, {"count", "some", "whole number"}, {"count", "0", "1 bottle or more"}, {"size", "", "a number"},
			{"size", "1 kg", "a unit out of"}, {"slug", "k1", "no vessel"}, {"slug", "Two Words", "short name"}, {"volume", "some", "a number"}, {"volume", "90 L", "up to 50 L"}, {"lees", "2 kg", "a unit out of"}}},
	{"bottling", q("vessel", "k1", "count", "20", "size", "750 mL", "volume", "15.5", "lees", "0.4", "slug", "riesling-first", "day", "2026-11-25"),
		`{"slug":"riesling-first","from":[{"vessel":"k1","volume":{"value":"15.5","unit":"L"}}],"count":20,"size":{"value":"750","unit":"mL"},"losses":[{"kind":"lees","volume":{"value":"0.4","unit":"L"}}]}`, "20", nil},
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
	{"lot-anew", q("lot", "grenache", "name", "Grenache, Mill Terrace", "colour", "red", "vintage", "2026", "variety", "Grenache", "malolactic", "open", "units", "us", "style", "to drink young"),
		`{"slug":"grenache","name":"Grenache, Mill Terrace","colour":"red","style":"to drink young","vintage":2026,"variety":"Grenache","units":"us","anew":true}`, "US gal",
		[]badAnswer{{"name", "", "a word or two"}, {"vintage", "last", "a whole number"}, {"vintage", "26", "1800 to 2200"}, {"colour", "blue", "red, white"}}},
	{"vessel-anew", q("vessel", "k1", "type", "keg", "size", "48 L", "place", "shed", "walk", "3", "material", "steel", "gone", "yes"),
		`{"slug":"k1","type":"keg","material":"steel","size":{"value":"48","unit":"L"},"place":"shed","walk":3,"gone":true,"anew":true}`, "k1",
		[]badAnswer{{"size", "", "a number"}, {"walk", "first", "a whole number"}, {"gone", "yes", "an empty vessel: this one holds"}}},
	{"prices", url.Values{"money": {"EUR"}, "tests": {"chromatogram", "ph"}, "cost_chromatogram": {"1.20"}, "minutes_chromatogram": {"25"}, "cost_ph": {"0"}, "minutes_ph": {"10"}, "false_finished": {"240"}, "unprotected_day": {"1.13"}, "lost_day": {"0.9"}, "minute": {"0"}},
		`{"money":"EUR","tests":[{"what":"chromatogram","cost":"1.20","minutes":"25"},{"what":"malic","cannot":true},{"what":"ta","cannot":true},{"what":"ph","cost":"0","minutes":"10"},{"what":"ph-control","cannot":true}],"false_finished":"240","unprotected_day":"1.13","lost_day":"0.9","minute":"0"}`, "prices: chromatogram 1.20 EUR and 25 min, no malic acid",
		[]badAnswer{{"cost_chromatogram", "dear", "0 to 1000000"}, {"minutes_ph", "-1", "0 to 10080 minutes"}, {"false_finished", "0", "more than 0"}, {"lost_day", "much", "0 to 1000000"}, {"minute", "-0.1", "0 to 1000000"}}},
	{"note", q("vessel", "d1", "words", "bung replaced", "day", "2026-11-25"), `{"vessel":"d1","words":"bung replaced"}`, "bung replaced",
		[]badAnswer{{"words", "", "some words"}, {"words", strings.Repeat("x", 9000), "at most"}}},
}

func TestFormsKeepWhatTheySay(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	tested := map[string]bool{}
	for _, c := range formTests {
		tested[c.form] = true
		t.Run(c.form+" "+c.good.Get("what")+" "+c.good.Get("vessel"), func(t *testing.T) {
			query := url.Values{"what": c.good["what"]}
			if f, _ := formNamed(c.form); f.Of != "" {
				query[f.Of] = c.good[f.Of]
				v.get("/write/"+c.form).shows(t, "Which "+f.Of+"?")
			}
			empty := v.get("/write/" + c.form + "?" + query.Encode())
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

// formless are the kinds of entry that no form writes, with the reason.
var formless = map[cellar.Kind]string{
	cellar.KindDone:       "a planned act is ticked where it stands on Today",
	cellar.KindStrike:     "an entry is struck where it stands in the ledger",
	cellar.KindAttachment: "a file is put to an entry where it stands in the ledger",
}

// Every kind of entry, and every kind of movement, loss, treatment, care, trial and
// work on cap and lees, can be filled in. What is offered as a choice of a form is
// kept as the entry that it names.
func TestEveryActHasAForm(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	view, err := v.view(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	kinds, said := map[cellar.Kind]bool{}, map[string]bool{}
	for _, c := range formTests {
		f, err := formNamed(c.form)
		if err != nil {
			t.Fatal(err)
		}
		answers := []url.Values{c.good}
		for _, field := range f.Fields(view, c.good) {
			if field.Is("pick") {
				for _, o := range field.Options {
					answers = append(answers, with(url.Values{field.Name: {o.Value}}, flat(c.good, field.Name)...))
				}
			}
		}
		for _, q := range answers {
			body, _ := f.Draft(view, q)
			kinds[body.Kind()] = true
			switch b := body.(type) {
			case cellar.Movement:
				said["movement "+b.How] = true
				for _, l := range b.Losses {
					said["loss "+l.Kind] = true
				}
			case cellar.Treatment:
				said["treatment "+b.What] = true
			case cellar.Care:
				said["care "+b.What] = true
			case cellar.Trial:
				said["trial "+b.What] = true
			}
		}
	}
	for _, k := range cellar.Kinds {
		if kinds[k.Kind] == (formless[k.Kind] != "") {
			t.Errorf("kind %s can be filled in: %v; listed as one that cannot: %q", k.Kind, kinds[k.Kind], formless[k.Kind])
		}
	}
	// Where wine is racked and returned it goes into the vessel it came from, which
	// the form of a racking offers; pomace and what nobody knows are reckoned, not stated.
	without := map[string]bool{"movement return": true, "loss pomace": true, "loss unknown": true}
	for what, list := range map[string][]string{"movement": cellar.MovementKinds, "loss": cellar.Losses, "treatment": cellar.Treatments, "care": cellar.Cares, "trial": cellar.Trials} {
		for _, one := range list {
			if key := what + " " + one; said[key] == without[key] {
				t.Errorf("%s can be filled in: %v", key, said[key])
			}
		}
	}
	offered := map[string]bool{}
	for _, g := range menu {
		for _, a := range g.acts {
			offered[a.form] = true
		}
	}
	for _, f := range forms {
		if !offered[f.Name] {
			t.Errorf("form %s is not offered", f.Name)
		}
	}
}

// flat is a form's answers without one of them, as pairs.
func flat(q url.Values, without string) []string {
	var out []string
	for name, values := range q {
		if name != without {
			out = append(out, name, values[0])
		}
	}
	return out
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
