package serve

import (
	"encoding/json"
	"fmt"
	"html"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"elevage/internal/blend"
	"elevage/internal/cellar"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
)

// ofHouse are two finished reds, a third that still converts, and vessels to pour into.
func ofHouse(t *testing.T) *visitor {
	t.Helper()
	v := visit(t, "home", nil)
	for _, l := range []struct{ name, variety, vessel, size, volume, alcohol, ph, ta, malic, va, total, malolactic string }{
		{"Merlot", "Merlot", "c1", "54", "54", "13.8", "3.68", "5.2", "0.05", "0.45", "40", cellar.MalolacticWanted},
		{"Cabernet", "Cabernet", "c2", "23", "23", "12.2", "3.40", "6.6", "0.05", "0.35", "30", cellar.MalolacticWanted},
		{"Syrah", "Syrah", "c3", "20", "20", "13.4", "3.60", "5.8", "1.80", "0.40", "20", cellar.MalolacticWanted},
	} {
		v.keeps(t, "/write/lot", q("name", l.name, "colour", "red", "variety", l.variety, "vintage", "2026", "malolactic", l.malolactic, "units", "metric"))
		v.keeps(t, "/write/vessel", q("vessel", l.vessel, "type", "carboy", "size", l.size))
		v.keeps(t, "/write/fill", q("lot", cellar.Slug(l.name), "vessel", l.vessel, "volume", l.volume, "day", "2026-11-20"))
		for what, value := range map[string]string{"alcohol": l.alcohol, "ph": l.ph, "malic": l.malic, "va": l.va, "total-so2": l.total, "sugar": "0.8"} {
			v.keeps(t, "/write/reading", q("vessel", l.vessel, "what", what, "value", value, "day", "2026-11-21"))
		}
		v.keeps(t, "/write/reading", q("vessel", l.vessel, "what", "ta", "value", l.ta, "as", "tartaric", "end-point", "8.2", "end_point", "8.2", "day", "2026-11-21"))
	}
	for slug, size := range map[string]string{"d1": "54", "d2": "15"} {
		v.keeps(t, "/write/vessel", q("vessel", slug, "type", "demijohn", "size", size))
	}
	return v
}

type foundJSON struct {
	Blends []struct {
		Recipe string
		Volume float64 `json:"volume_l"`
		Parts  []struct {
			Vessel string
			Volume float64 `json:"volume_l"`
			All    bool
		}
		Figures []struct {
			What, Known string
			Value, PM   float64
		}
		PartFull []string `json:"part_full"`
		Broken   []string
	}
	LeftOut  []struct{ Vessel, Why string } `json:"left_out"`
	Conflict *struct {
		Says   string
		Limits []struct{ Limit, Says string }
	}
}

func (v *visitor) blends(t *testing.T, wish string) foundJSON {
	t.Helper()
	return answer[foundJSON](t, v.ask("POST", "/api/v1/blend", wish))
}

// The page and the API answer one wish with the same blends and figures; what may
// still ferment is left out with its reason.
func TestBlendPageShowsWhatTheAPIAnswers(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	v.get("/blend").shows(t, "Wines that may go in", "c3 Syrah", "1.8 g/L of malic acid are still to be converted")
	page := v.get("/blend?ask=1&use=c1&use=c2&use=c3&abv_pct_aim=13.4&ta_g_l_aim=6.2&va_g_l_most=0.6&most_l=40")
	got := v.blends(t, `{"use":["c1","c2","c3"],"most_l":40,"wants":[{"what":"abv_pct","aim":13.4},{"what":"ta_g_l","aim":6.2},{"what":"va_g_l","most":0.6}]}`)
	if len(got.Blends) < 2 || len(got.LeftOut) != 1 || got.LeftOut[0].Vessel != "c3" {
		t.Fatalf("%+v", got)
	}
	page.shows(t, "Side by side", "Left out", got.LeftOut[0].Why, "left part full", "± is one standard deviation")
	seen := 0
	for _, b := range got.Blends {
		if !strings.Contains(page.Body, fmt.Sprintf("value=%q", b.Recipe)) {
			continue
		}
		seen++
		for _, f := range b.Figures {
			unit := blend.LookupWanted(f.What).Unit
			if f.What == "ph" {
				unit = "pH"
			}
			page.shows(t, strings.ReplaceAll(ui.Spread(f.Value, f.PM, unit), "\u00a0", " "))
		}
		for _, p := range b.Parts {
			page.shows(t, fmt.Sprintf("%.2f L", p.Volume))
		}
	}
	if seen < 2 {
		t.Errorf("%d blends of the API are on the page: a trade-off is wanted", seen)
	}
}

// What the blend page says of a conversion is what the lot's own page calls it, and so
// do the vessels page and a program's answer.
func TestBlendPageAgreesWithLotPages(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	on, err := v.view(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	page, vessels := v.get("/blend").text(), v.get("/vessels").text()
	left := map[string]string{}
	for _, x := range v.blends(t, `{"most_l":20}`).LeftOut {
		left[x.Vessel] = x.Why
	}
	calls := map[track.Call]int{}
	for _, st := range on.Standings {
		b, slug := st.Malo, st.Vessel.Slug
		if b == nil {
			continue
		}
		calls[b.Decision.Call]++
		words := map[track.Call]string{
			track.CallFinished: "its malolactic conversion is over, by the belief of ", track.CallStalled: "its malolactic conversion is stalled with ",
			track.CallNotYet:     fmt.Sprintf("%.2f g/L of malic acid (%.2f to %.2f) are still to be converted", b.Malic.Q50.GPerL(), b.Malic.Q05.GPerL(), b.Malic.Q95.GPerL()),
			track.CallCannotTell: "whether its malolactic conversion is over can't be told: "}[b.Decision.Call]
		_, row, found := strings.Cut(page, " "+slug+" "+st.Lot.Title())
		if !found || !strings.Contains(row[:min(len(row), 300)], words) {
			t.Errorf("%s is %s on its lot's page, and the blend page says %q", slug, b.Decision.Call, row[:min(len(row), 300)])
		}
		finished := b.Decision.Call == track.CallFinished
		if why, out := left[slug]; out == finished {
			t.Errorf("%s is %s, and is left out: %v, %s", slug, b.Decision.Call, out, why)
		}
		if atWork := strings.Contains(vessels, slug+" is still to convert"); finished && atWork {
			t.Errorf("%s is finished, and the vessels page says that it is still to convert", slug)
		}
	}
	if calls[track.CallFinished] == 0 || len(calls) < 2 {
		t.Errorf("the demo shows %v: nothing to hold against each other", calls)
	}
}

func TestBlendPageSaysWhatStandsInTheWay(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	// By hand: 30 % of c2 (12.2 % vol) in c1 (13.8) make at most 13.32.
	v.get("/blend?ask=1&use=c1&use=c2&abv_pct_least=13.5&share_pct_of=variety:Cabernet&share_pct_least=30").
		shows(t, "No blend does it.", "alcohol at least 13.5 % vol", "13.32 % vol", "0.18 % vol", "share of Cabernet at least 30 %")
	for query, want := range map[string][2]string{
		"use=c1&ph_most=34":                   {"ph_most", "a number of 2.5 to 4.5"},
		"use=c1&least_l=lots":                 {"least_l", "a volume of"},
		"use=c1&ta_g_l_least=7&ta_g_l_most=5": {"ta_g_l_most", "no less than the least, 7"},
		"use=c1&share_pct_least=30":           {"share_pct_of", "a kind and a name"},
		"use=c9":                              {"", "a vessel that holds wine"},
		"":                                    {"", "at least one wine"},
		"use=c1&into=c9":                      {"", "a vessel whose size is known"},
		"use=c1&least_l=20&most_l=10":         {"", "the lesser first"},
		"use=c1&ph_aim=" + url.QueryEscape("<b>3</b>"): {"ph_aim", "a number of 2.5 to 4.5"},
	} {
		p := v.get("/blend?ask=1&" + query)
		text := html.UnescapeString(p.Body)
		if p.Code != 422 || !strings.Contains(text, want[1]) {
			t.Errorf("%s: %d, %q is not said", query, p.Code, want[1])
		}
		if want[0] != "" && !strings.Contains(p.Body, `id="`+want[0]+`-error"`) && !strings.Contains(p.Body, `id="f-`+want[0]+`" name="`+want[0]+`" aria-invalid`) {
			t.Errorf("%s: not said at %s", query, want[0])
		}
		if strings.Contains(p.Body, "<b>3</b>") {
			t.Error("markup was let through")
		}
	}
	visit(t, "home", nil).get("/blend").shows(t, "No vessel holds wine yet")
}

// 60 to 40 beside 70 to 30, by hand from 13.8 and 12.2 % vol, 5.2 and 6.6 g/L: 13.16 and
// 13.32 % vol, 5.76 and 5.62 g/L.
func TestOwnVolumesSideBySide(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	page := v.get("/blend/own?ask=1&whole_l=20&a-c1=60&a-c2=40&b-c1=70&b-c2=30&abv_pct_most=13.2")
	page.shows(t, "12.00 L", "8.00 L", "14.00 L", "6.00 L", "60 %, leaves 42.00 L", "5.76", "5.62", "barely kept", "broken")
	got := v.blends(t, `{"pour":["c1=12 c2=8","c1=14 c2=6"],"wants":[{"what":"abv_pct","most":13.2}]}`)
	for i, want := range []struct{ alc, ta float64 }{{13.16, 5.76}, {13.32, 5.62}} {
		for _, f := range got.Blends[i].Figures {
			switch f.What {
			case "abv_pct":
				if math.Abs(f.Value-want.alc) > 1e-9 || f.Known != "reckoned" {
					t.Errorf("%+v", f)
				}
			case "ta_g_l":
				if math.Abs(f.Value-want.ta) > 1e-9 {
					t.Errorf("%+v", f)
				}
			}
		}
	}
	if len(got.Blends[0].Broken)+len(got.Blends[1].Broken) != 1 {
		t.Errorf("%+v", got)
	}
	for query, want := range map[string]string{"a-c1=99": "0 to 54.00 L, all there is", "a-c1=much": "a volume of 0 to", "": "some of at least one wine", "a-c1=5&whole_l=x": "or nothing", "a-c1=5&ph_least=9": "a number of 2.5"} {
		if p := v.get("/blend/own?ask=1&" + query); p.Code != 422 || !strings.Contains(html.UnescapeString(p.Body), want) {
			t.Errorf("%s: %d: %s", query, p.Code, p.text())
		}
	}
}

func TestBlendAPIRefuses(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	for wish, want := range map[string]string{
		`{"use":["c9"]}`:                             "a vessel that holds wine",
		`{"pour":["c1=99"]}`:                         "all there is",
		`{"pour":["c1"]}`:                            "such as c1=12.5",
		`{"wants":[{"what":"ph","most":34}]}`:        "a number of 2.5 to 4.5",
		`{"wants":[{"what":"mood","most":3}]}`:       "expected value to be one of",
		`{"least_l":20,"most_l":10}`:                 "the lesser first",
		`{"wants":[{"what":"share_pct","least":3}]}`: "variety:Merlot",
	} {
		if p := v.ask("POST", "/api/v1/blend", wish); p.Code != 422 || !strings.Contains(p.Body, want) {
			t.Errorf("%s: %d %s", wish, p.Code, p.Body)
		}
	}
}

// A new lot is kept from conversion only if all that goes in is; it stays to be converted
// if one part is.
func TestBlendTakesOverTheWishOfItsParts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ one, other, want string }{
		{cellar.MalolacticKeptFrom, cellar.MalolacticKeptFrom, cellar.MalolacticKeptFrom}, {cellar.MalolacticKeptFrom, "open", cellar.MalolacticOpen}, {"open", cellar.MalolacticKeptFrom, cellar.MalolacticOpen},
		{cellar.MalolacticKeptFrom, cellar.MalolacticWanted, cellar.MalolacticWanted}, {"open", "open", cellar.MalolacticOpen},
	} {
		v := visit(t, "home", nil)
		for i, wish := range []string{c.one, c.other} {
			name := []string{"North", "South"}[i]
			v.keeps(t, "/write/lot", q("name", name, "colour", "white", "malolactic", wish, "units", "metric"))
			v.keeps(t, "/write/vessel", q("vessel", "c"+fmt.Sprint(i), "type", "carboy", "size", "23"))
			v.keeps(t, "/write/fill", q("lot", cellar.Slug(name), "vessel", "c"+fmt.Sprint(i), "volume", "20", "day", "2026-11-20"))
		}
		on, err := v.view(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		b, err := pouredFrom(on, "c0=12 c1=8")
		if err != nil {
			t.Fatal(err)
		}
		if got := lotOf(on, &b, "Both").Malolactic; got != c.want {
			t.Errorf("%s and %s: %q, want %q", c.one, c.other, got, c.want)
		}
	}
}

// A blend is shown before it is kept, kept only as it was shown, and its vessels then
// hold what was foreseen.
func TestMakeBlend(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	found := v.blends(t, `{"use":["c1","c2"],"wants":[{"what":"abv_pct","aim":13.3}],"whole":true,"least_l":60}`)
	if len(found.Blends) != 1 || len(found.Blends[0].PartFull) != 0 {
		t.Fatalf("%+v", found)
	}
	recipe := found.Blends[0].Recipe
	form := v.get("/blend/make?" + q("recipe", recipe).Encode())
	form.shows(t, "into d1, which holds 54.0 L", "into c2, which holds 23.0 L, once it is emptied")
	before := len(v.entries(t))
	say := q("recipe", recipe, "into-d1", "yes", "into-c2", "yes", "lot", "+", "name", "House red", "day", "2026-11-25", "hour", "18:00")
	shown := v.post("/blend/make", say)
	if shown.Code != 200 || len(v.entries(t)) != before {
		t.Fatalf("%d, %d entries", shown.Code, len(v.entries(t))-before)
	}
	shown.shows(t, "Nothing is kept yet.", "House red", "How the vessels stand afterwards", "empty: clean it", "full")
	// What nobody saw is not kept: another vessel is shown anew.
	other := with(say, "warned", warnedIn(shown), "into-c2", "", "into-c1", "yes")
	if p := v.post("/blend/make", other); p.Code != 200 || len(v.entries(t)) != before {
		t.Fatalf("kept unseen: %d", p.Code)
	}
	kept := v.post("/blend/make", with(say, "warned", warnedIn(shown)))
	if kept.Code != 303 || len(v.entries(t)) != before+2 || !strings.HasPrefix(kept.Header.Get("Location"), "/lots/house-red#e-") {
		t.Fatalf("%d to %s: %s", kept.Code, kept.Header.Get("Location"), kept.text())
	}
	m, _ := last[cellar.Movement](t, v)
	if m.How != "blending" || m.Becomes != "house-red" || len(m.From) != 2 || !m.From[0].All || !m.From[1].All {
		t.Errorf("%+v", m)
	}
	lot, _ := last[cellar.LotStarted](t, v)
	if lot.Colour != "red" || lot.Variety != "" || lot.Vintage != 2026 || lot.Malolactic != cellar.MalolacticWanted {
		t.Errorf("%+v", lot)
	}
	holds := map[string]float64{}
	for _, p := range answer[[]ParcelJSON](t, v.ask("GET", "/api/v1/parcels", "")) {
		if p.Lot == "house-red" {
			holds[p.Vessel] = p.VolumeL
		}
	}
	if len(holds) != 2 || math.Abs(holds["d1"]-54) > 1e-6 || math.Abs(holds["c2"]-23) > 1e-6 {
		t.Errorf("%v", holds)
	}
	if findings := answer[[]FindingJSON](t, v.ask("GET", "/api/v1/findings", "")); len(findings) != 0 {
		t.Errorf("%+v", findings)
	}
	v.get("/lots/house-red").shows(t, "54.0")
	// The wines are gone: the same blend cannot be made twice.
	if p := v.post("/blend/make", say); p.Code != 422 {
		t.Errorf("made twice: %d", p.Code)
	}
}

func TestMakeBlendAsksAgain(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	say := q("recipe", "c1=30 c3=5", "into-d1", "yes", "lot", "+", "name", "House red", "day", "2026-11-25")
	before := len(v.entries(t))
	for _, c := range []struct {
		change []string
		want   string
	}{
		{[]string{"name", ""}, "a word or two"}, {[]string{"name", "Merlot"}, "a name that no lot has yet"}, {[]string{"lot", "nowhere"}, "one of the lots that go in"},
		{[]string{"into-d1", ""}, "vessels that hold 35.0 L"}, {[]string{"into-d1", "", "into-d2", "yes"}, "room for 15.0 L"}, {[]string{"day", "yesterdy"}, "a date such as"}, {[]string{"recipe", "c1=99"}, "all there is"}, {[]string{"recipe", "x"}, "such as c1=12.5"},
	} {
		if p := v.post("/blend/make", with(say, c.change...)); p.Code != 422 || !strings.Contains(html.UnescapeString(p.Body), c.want) {
			t.Errorf("%v: %d: %s", c.change, p.Code, p.text())
		}
	}
	shown := v.post("/blend/make", say)
	shown.shows(t, "Not finished", "c3: 1.8 g/L of malic acid", "part full", "Air stands over the wine")
	if len(v.entries(t)) != before {
		t.Error("kept without being shown")
	}
}

// Where the parts differ in colour it is asked for; what is no colour is told.
func TestMakeBlendOfTwoColours(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	say := q("recipe", "d2=40 k1=10", "into-d3", "yes", "lot", "+", "name", "Hill rosé", "day", "2026-11-25")
	v.get("/blend/make?recipe=d2%3D40+k1%3D10").shows(t, "Its colour")
	if p := v.post("/blend/make", with(say, "colour", "green")); p.Code != 422 || p.wrong("colour") == "" {
		t.Errorf("%d: %s", p.Code, p.text())
	}
	shown := v.post("/blend/make", with(say, "colour", "rosé"))
	if kept := v.post("/blend/make", with(say, "colour", "rosé", "warned", warnedIn(shown))); kept.Code != 303 {
		t.Fatalf("%d: %s", kept.Code, kept.text())
	}
	if lot, _ := last[cellar.LotStarted](t, v); lot.Colour != "rosé" {
		t.Errorf("%+v", lot)
	}
}

// A tasting is drawn once, tells tasters nothing, and keeps who liked which.
func TestBlendTasting(t *testing.T) {
	t.Parallel()
	v := ofHouse(t)
	candidates := url.Values{"recipe": {"c1=12 c2=8", "c1=14 c2=6"}}
	v.get("/blend/trial?"+candidates.Encode()).shows(t, "Who tastes", "12.00 L of c1 and 8.00 L of c2")
	for _, bad := range []url.Values{with(candidates, "tasters", ""), with(candidates, "tasters", "Runa", "again", "7"), with(candidates, "tasters", "Runa", "glass", "900")} {
		if p := v.get("/blend/trial?" + bad.Encode()); p.Code != 422 || p.wrong("tasters")+p.wrong("again")+p.wrong("glass") == "" {
			t.Errorf("%v: %d", bad, p.Code)
		}
	}
	if p := v.get("/blend/trial?" + q("recipe", "c1=12 c2=8").Encode()); p.Code != 422 {
		t.Errorf("a tasting of one: %d", p.Code)
	}
	led := v.get("/blend/trial?" + with(candidates, "tasters", "Runa, Odo, Wim", "again", "0", "glass", "30").Encode())
	if led.Code != 303 {
		t.Fatalf("%d: %s", led.Code, led.text())
	}
	at, err := url.Parse(led.Header.Get("Location"))
	if err != nil {
		t.Fatal(err)
	}
	drawn := at.Query()
	page := v.get(at.String())
	page.shows(t, "3 glasses for Runa, Odo and Wim", "Runa, best first")
	cards, key := v.get("/cards/blend?"+drawn.Encode()), v.get("/cards/blend-key?"+drawn.Encode())
	codes := regexp.MustCompile(`<b>(\d{3})</b>`).FindAllStringSubmatch(key.Body, -1)
	if len(codes) != 3 {
		t.Fatalf("%v", codes)
	}
	for _, c := range codes {
		if strings.Count(cards.Body, "<b>"+c[1]+"</b>") != 3 {
			t.Errorf("%s is not on all three sheets", c[1])
		}
	}
	// 30 mL for three tasters: 90 mL of 60 to 40 and of 70 to 30.
	key.shows(t, "54 mL of c1 + 36 mL of c2", "63 mL of c1 + 27 mL of c2", "is A again")
	for _, tells := range []string{"c1", "c2", "mL", "is A"} {
		if main := cards.Body[strings.Index(cards.Body, `<article class="card"`):]; strings.Contains(leaf{Body: main}.text(), tells) {
			t.Errorf("a taster's sheet tells %q", tells)
		}
	}
	sizes := regexp.MustCompile(`href="(/cards/blend-key[^"]*size=a5[^"]*)"`).FindStringSubmatch(key.Body)
	if sizes == nil || v.get(html.UnescapeString(sizes[1])).Code != 200 {
		t.Error("the key in another size is not the key")
	}
	one, two, three := codes[0][1], codes[1][1], codes[2][1]
	for field, given := range map[string]string{"order-1": "123 456", "order-2": one + " " + one, "chosen": "000"} {
		if p := v.post("/blend/trial", with(drawn, field, given, "day", "2026-11-25")); p.Code != 422 || p.wrong(field) == "" || strings.HasPrefix(field, "order") && p.value(field) != given {
			t.Errorf("%s: %d %q", field, p.Code, p.wrong(field))
		}
	}
	if p := v.post("/blend/trial", with(drawn, "day", "2026-11-25")); p.Code != 422 {
		t.Errorf("nothing was said, and it was kept: %d", p.Code)
	}
	led = v.post("/blend/trial", with(drawn, "order-1", one+" "+two+" "+three, "order-2", one+" > "+three, "words-2", "longer", "order-3", two, "chosen", one, "decision", "the rounder one", "day", "2026-11-25"))
	if led.Code != 303 {
		t.Fatalf("%d: %s", led.Code, led.text())
	}
	b, _ := last[cellar.Trial](t, v)
	if b.What != "blend" || len(b.Rows) != 3 || len(b.Preferred) != 3 || b.Chosen != one || b.First()[one] != 2 || !slices.Equal(b.Preferred[1].Codes, []string{one, three}) {
		t.Errorf("%+v", b)
	}
	where, fragment, _ := strings.Cut(led.Header.Get("Location"), "#")
	kept := v.get(where)
	if !strings.Contains(kept.Body, fmt.Sprintf("id=%q", fragment)) {
		t.Errorf("no %s on the page", fragment)
	}
	// Three tasters over three glasses: at least two agree in 1 − 6/27 of cases.
	kept.shows(t, "Runa and Odo", one+", chosen", "2 of 3 put one and the same glass first", "78 %", "Odo: “longer”", "Decided: the rounder one")
	v.get("/ledger").shows(t, "put first: "+one+" 2×")
	v.get("/lots/merlot").shows(t, "trial of blend")
	own := regexp.MustCompile(`href="(/blend/own[^"]*)"`).FindStringSubmatch(kept.Body)
	if own == nil {
		t.Fatal("the chosen one leads nowhere")
	}
	if p := v.get(html.UnescapeString(own[1])); p.Code != 200 || !strings.Contains(p.Body, `name="a-c1" value="18"`) && !strings.Contains(p.Body, `name="a-c1" value="21"`) {
		t.Errorf("%s: %d", own[1], p.Code)
	}
	visit(t, "home", nil).get("/blend/tastings").shows(t, "No tasting of blends was kept yet.")
}

// The description of the API names what a wish may hold.
func TestOpenAPIDescribesBlends(t *testing.T) {
	t.Parallel()
	var doc struct {
		Paths map[string]map[string]json.RawMessage
	}
	if err := json.Unmarshal([]byte(demoToRead(t).get("/api/v1/openapi.json").Body), &doc); err != nil || doc.Paths["/api/v1/blend"]["post"] == nil {
		t.Errorf("%v %v", err, doc.Paths["/api/v1/blend"])
	}
	for _, path := range []string{"/cellar", "/bench", "/vessels"} {
		if !strings.Contains(demoToRead(t).get(path).Body, `href="/blend"`) {
			t.Errorf("%s does not lead to the blends", path)
		}
	}
}
