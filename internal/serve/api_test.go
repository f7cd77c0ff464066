package serve

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"elevage/internal/cellar"
	"elevage/internal/serve/ui"
)

var update = flag.Bool("update", false, "write the golden files anew")

func (v *visitor) ask(method, path, body string) leaf {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	return v.send(r)
}

// answer reads what the API answers as a program does: by the names in the JSON.
func answer[T any](tb testing.TB, p leaf) T {
	tb.Helper()
	var out T
	if p.Code != 200 || p.Header.Get("Content-Type") != "application/json" {
		tb.Fatalf("%d, %s: %s", p.Code, p.Header.Get("Content-Type"), p.Body)
	}
	if err := json.Unmarshal([]byte(p.Body), &out); err != nil {
		tb.Fatalf("%v: %.200s", err, p.Body)
	}
	return out
}

type span struct{ Q05, Q50, Q95 float64 }

// mg is a span of g/L in mg/L.
func (s span) mg() span { return span{1e3 * s.Q05, 1e3 * s.Q50, 1e3 * s.Q95} }

type beliefJSON struct {
	Lot, Vessel string
	Malolactic  *struct {
		Malic    span           `json:"malic_g_l"`
		State    map[string]any `json:"state"`
		PH       struct{ End span }
		TA       struct{ End span } `json:"ta_g_l"`
		Decision struct{ Call string }
		Finish   map[string]any
		NextOne  map[string]any `json:"next_test"`
	}
	SO2 *struct {
		Free      span `json:"free_g_l"`
		Molecular span `json:"molecular_g_l"`
	}
	Primary *struct {
		Sugar span `json:"sugar_g_l"`
	}
}

// A page and the API must give one figure: what the API says, written as a page
// writes it, stands on the lot's page.
func TestPagesShowTheFiguresOfTheAPI(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	seen := map[string]int{}
	for _, b := range answer[[]beliefJSON](t, v.ask("GET", "/api/v1/beliefs", "")) {
		_, page, found := strings.Cut(v.get("/lots/"+b.Lot).Body, `id="v-`+b.Vessel+`"`)
		if !found {
			t.Errorf("%s has no place on the page of %s", b.Vessel, b.Lot)
			continue
		}
		page, _, _ = strings.Cut(page, `<section class="parcel"`)
		same := func(name, unit string, s span) {
			t.Helper()
			seen[name]++
			want := ui.Figure{Value: s.Q50, Low: s.Q05, High: s.Q95, Unit: unit}
			if got := figureOf(t, leaf{Body: page}, name); got != want.Number() {
				t.Errorf("%s: %s is %s on the page and %v (%s) by the API", b.Vessel, name, got, s.Q50, want.Number())
			}
			if !strings.Contains(leaf{Body: page}.text(), strings.ReplaceAll(want.PlusMinus(), "\u00a0", " ")) {
				t.Errorf("%s: the range of %s, %s, is not on the page", b.Vessel, name, want.PlusMinus())
			}
		}
		if m := b.Malolactic; m != nil {
			same("malic acid left", "g/L", m.Malic)
			// What is over has no figures of when it is over: what is read is what it is.
			if m.Decision.Call == "finished" {
				seen["over"]++
				if strings.Contains(page, "when it is over") {
					t.Errorf("%s is finished, and its page says what it will be when it is over", b.Vessel)
				}
			} else {
				same("pH when it is over", "pH", m.PH.End)
				same("TA when it is over", "g/L", m.TA.End)
			}
		}
		if b.SO2 != nil {
			same("free SO<sub>2</sub> today", "mg/L", b.SO2.Free.mg())
			same("molecular SO<sub>2</sub> today", "mg/L molecular", b.SO2.Molecular.mg())
		}
		if b.Primary != nil {
			same("sugar left", "g/L", b.Primary.Sugar)
		}
	}
	for name, least := range map[string]int{"malic acid left": 8, "pH when it is over": 5, "over": 2, "free SO<sub>2</sub> today": 2, "sugar left": 1} {
		if seen[name] < least {
			t.Errorf("%s was compared for %d parcels only", name, seen[name])
		}
	}
	for _, p := range answer[[]ParcelJSON](t, v.ask("GET", "/api/v1/parcels", "")) {
		if p.Form == cellar.FormBottle || p.Lot == "petite-sirah" { // counted, and kept in gallons
			continue
		}
		v.get("/lots/"+p.Lot).shows(t, strings.ReplaceAll(ui.Spread(p.VolumeL, p.VolumePM, "L"), "\u00a0", " ")+" in a")
	}
	v.get("/lots/petite-sirah").shows(t, "US gal in a 6 gal carboy")
}

func TestTodayIsTheSameByPageAndAPI(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	today := answer[struct {
		AsOf string `json:"as_of"`
		Acts []struct {
			ID, Lot, Vessel, Act, Amount, Unit, Why, Standing string
			From                                              *string `json:"due_from"`
			To                                                *string `json:"due_to"`
		}
	}](t, v.ask("GET", "/api/v1/today", ""))
	if !strings.HasPrefix(today.AsOf, "2026-11-25T20:10") {
		t.Errorf("as of %q", today.AsOf)
	}
	page := v.get("/")
	due, amounts := 0, 0
	for _, a := range today.Acts {
		if a.Standing != "due" {
			continue
		}
		due++
		_, act, found := strings.Cut(page.Body, fmt.Sprintf(`id="act-%s"`, a.ID))
		if !found {
			t.Errorf("%s is due by the API and not on the page", a.ID)
			continue
		}
		act, _, _ = strings.Cut(act, "</article>")
		text := leaf{Body: "<article " + act}.text()
		if a.Amount != "" {
			amounts++
		}
		for _, want := range []string{a.Vessel, a.Act[1:], strings.TrimSpace(a.Amount + " " + a.Unit)} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q is not on the page: %s", a.ID, want, text)
			}
		}
		if a.Why == "" || a.From == nil && a.To == nil {
			t.Errorf("%s has no reason or no day: %+v", a.ID, a)
		}
	}
	if due < 20 || amounts < 4 {
		t.Errorf("only %d acts are due, %d with an amount", due, amounts)
	}
}

// The ledger read through the API and appended through the API is the same ledger.
func TestEntriesTravelThroughTheAPI(t *testing.T) {
	t.Parallel()
	from := visitDemo(t)
	odd := from.entries(t)[0]
	odd.ID, odd.Kind, odd.Version = "0190a5e0-7c3a-7000-8000-00000000abcd", "moon-phase", 9
	odd.Body = json.RawMessage("{\r\n \"phase\": 0.50, \"html\":\"<&>\"\n}")
	if _, err := from.book.Append(t.Context(), []cellar.Entry{odd}); err != nil {
		t.Fatal(err)
	}
	to := visit(t, "home", nil)
	after, parts := 0, 0
	for more := true; more; parts++ {
		part := answer[EntriesJSON](t, from.ask("GET", fmt.Sprintf("/api/v1/entries?after=%d&limit=100", after), ""))
		raw, err := json.Marshal(map[string]any{"entries": part.Entries})
		if err != nil {
			t.Fatal(err)
		}
		if got := answer[AppendedJSON](t, to.ask("POST", "/api/v1/entries", string(raw))); got.New != len(part.Entries) || got.Conflicting > 0 {
			t.Errorf("appended %+v of %d", got, len(part.Entries))
		}
		if again := answer[AppendedJSON](t, to.ask("POST", "/api/v1/entries", string(raw))); again.Known != len(part.Entries) {
			t.Errorf("appended again: %+v", again)
		}
		after, more = part.Next, part.More
	}
	want, got := from.entries(t), to.entries(t)
	if parts < 4 || len(got) != len(want) {
		t.Fatalf("%d entries arrived of %d, in %d parts", len(got), len(want), parts)
	}
	for i := range want {
		if got[i].Digest() != want[i].Digest() || got[i].Cellar != "home" {
			t.Errorf("%s arrived as %s", want[i].AppendLine(nil), got[i].AppendLine(nil))
		}
	}
	if !bytes.Equal(got[len(got)-1].Body, odd.Body) {
		t.Errorf("the body of an unknown kind arrived as %q", got[len(got)-1].Body)
	}
}

type problem struct {
	Status int
	Detail string
	Errors []struct {
		Location, Message string
		Value             any
	}
}

// What cannot be taken is told as problem JSON (RFC 9457) that names the field,
// what was given and what is allowed; nothing is kept.
func TestAPIProblemsNameTheField(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	before := len(v.entries(t))
	line := string(v.entries(t)[20].AppendLine(nil))
	for _, c := range []struct {
		name, method, path, body string
		code                     int
		at, says                 string
	}{
		{"a vessel that is not there", "POST", "/log", `{"line":"ph 3.4 b9"}`, 422, "line", `"b9" is given: allowed is`},
		{"a line too long", "POST", "/log", `{"line":"` + strings.Repeat("x", 401) + `"}`, 422, "body.line", "400"},
		{"no line", "POST", "/log", `{}`, 422, "body", "line"},
		{"a stop", "POST", "/log", `{"line":"+3 g kmbs d1"}`, 403, "", "can be overruled in words"},
		{"an unknown field", "POST", "/log", `{"line":"ph 3.58 d1","mood":"fine"}`, 422, "body.mood", "unexpected"},
		{"no JSON", "POST", "/log", `ph 3.58 d1`, 400, "", ""},
		{"a negative place", "GET", "/entries?after=-1", "", 422, "query.after", "0"},
		{"too many at once", "GET", "/entries?limit=20000", "", 422, "query.limit", "10000"},
		{"not a number", "GET", "/entries?after=some", "", 422, "query.after", ""},
		{"an entry of no kind", "POST", "/entries", `{"entries":[` + strings.Replace(line, `"kind":"`, `"kind":"9 `, 1) + `]}`, 422, "kind", "short name"},
		{"an entry with a field too many", "POST", "/entries", `{"entries":[` + strings.Replace(line, `"kind"`, `"mood":"fine","kind"`, 1) + `]}`, 422, "", "mood"},
		{"one good and one bad entry", "POST", "/entries", `{"entries":[` + strings.Replace(line, `"id":"0`, `"id":"1`, 1) + `,{}]}`, 422, "", ""},
		{"a calculator that is not there", "POST", "/bench/nowhere", `{}`, 404, "", "nowhere"},
		{"a pH out of range", "POST", "/bench/molecular-so2", `{"free_so2_mg_l":30,"ph":34}`, 422, "ph", `"34" is given: allowed is`},
		{"an input that is not there", "POST", "/bench/molecular-so2", `{"free_so2_mg_l":30,"ph":3.4,"mood":1}`, 422, "mood", "allowed"},
		{"an address that is not there", "GET", "/nowhere", "", 404, "", "openapi.json"},
		{"a body too large", "POST", "/entries", `{"entries":["` + strings.Repeat("x", 2<<20) + `"]}`, 413, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := v.ask(c.method, "/api/v1"+c.path, c.body)
			var got problem
			if p.Code != c.code || p.Header.Get("Content-Type") != "application/problem+json" || json.Unmarshal([]byte(p.Body), &got) != nil || got.Status != c.code {
				t.Fatalf("%d, %s: %s", p.Code, p.Header.Get("Content-Type"), p.Body)
			}
			said := got.Detail
			for _, e := range got.Errors {
				said += "\n" + e.Location + ": " + e.Message
			}
			if !strings.Contains(said, c.says) || c.at != "" && (len(got.Errors) == 0 || got.Errors[0].Location != c.at) {
				t.Errorf("at %q wanted %q, said:\n%s", c.at, c.says, said)
			}
		})
	}
	if n := len(v.entries(t)); n != before {
		t.Errorf("%d entries were kept", n-before)
	}
}

func TestAPILogs(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	if got := answer[LoggedJSON](t, v.ask("POST", "/api/v1/log", `{"line":"ph 3.58 d1; stirred d1"}`)); len(got.Says) != 2 || !strings.Contains(got.Says[0], "pH 3.58") {
		t.Errorf("says %q", got.Says)
	}
	answer[LoggedJSON](t, v.ask("POST", "/api/v1/log", `{"line":"+3 g kmbs d1","overruled":"the lab says none is left"}`))
	if b, e := last[cellar.Addition](t, v); b.Amount.Value != "3" || e.Overruled != "the lab says none is left" {
		t.Errorf("kept %s", e.AppendLine(nil))
	}
	lots := answer[[]LotJSON](t, v.ask("GET", "/api/v1/lots", ""))
	if len(lots) < 8 || lots[0].Lot == "" || lots[0].Name == "" {
		t.Errorf("lots %+v", lots)
	}
	for _, b := range answer[[]beliefJSON](t, v.ask("GET", "/api/v1/beliefs?lot=zweigelt", "")) {
		if b.Lot != "zweigelt" {
			t.Errorf("asked for zweigelt, got %s", b.Lot)
		}
	}
	if f := answer[[]FindingJSON](t, v.ask("GET", "/api/v1/findings", "")); f == nil {
		t.Error("findings are null, not an empty list")
	}
}

// An empty cellar answers with empty lists, not with null.
// An entry of every kind can be written by a program without an id of its own, as
// the reference of entries shows it.
func TestAPIWritesEveryKind(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	for _, k := range cellar.Kinds {
		raw, err := json.Marshal(map[string]any{"kind": k.Kind, "happened": "2026-11-03T19:30+01:00", "body": k.Example(), "overruled": "an example"})
		if err != nil {
			t.Fatal(err)
		}
		kept := answer[struct{ ID, Kind, By, Happened string }](t, v.ask("POST", "/api/v1/drafts", string(raw)))
		if kept.Kind != string(k.Kind) || kept.By != "Runa" || kept.ID == "" || kept.Happened != "2026-11-03T19:30+01:00" {
			t.Errorf("%s: kept as %+v", k.Kind, kept)
		}
	}
	if n := len(v.entries(t)); n != len(cellar.Kinds) {
		t.Errorf("%d entries, want %d", n, len(cellar.Kinds))
	}
}

func TestAPIRefusesDrafts(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	before := len(v.entries(t))
	for name, c := range map[string]struct {
		body, says string
		code       int
	}{
		"unknown kind":   {`{"kind":"dance","body":{}}`, "kind", 422},
		"a wrong body":   {`{"kind":"reading","body":{"vessel":7}}`, "body", 422},
		"an empty body":  {`{"kind":"fruit","body":{}}`, "weight", 422},
		"a bad moment":   {`{"kind":"note","happened":"Tuesday","body":{"words":"x"}}`, "happened", 422},
		"what stops":     {`{"kind":"addition","body":{"vessel":"d1","product":"potassium-metabisulfite","amount":{"value":"3","unit":"g"}}}`, "overruled", 403},
		"no body at all": {`{"kind":"note"}`, "body", 422},
	} {
		if p := v.ask("POST", "/api/v1/drafts", c.body); p.Code != c.code || !strings.Contains(p.Body, c.says) {
			t.Errorf("%s: %d, want %d and the word %q: %s", name, p.Code, c.code, c.says, p.Body)
		}
	}
	if n := len(v.entries(t)); n != before {
		t.Errorf("%d entries were kept", n-before)
	}
	answer[struct{ ID string }](t, v.ask("POST", "/api/v1/drafts", `{"kind":"addition","overruled":"the lab says none is left","body":{"vessel":"d1","product":"potassium-metabisulfite","amount":{"value":"3","unit":"g"}}}`))
}

func TestAPIOfAnEmptyCellar(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	for _, path := range []string{"lots", "parcels", "beliefs", "findings"} {
		if p := v.ask("GET", "/api/v1/"+path, ""); strings.TrimSpace(p.Body) != "[]" {
			t.Errorf("%s: %d %s", path, p.Code, p.Body)
		}
	}
	today := answer[map[string]any](t, v.ask("GET", "/api/v1/today", ""))
	if acts, ok := today["acts"].([]any); !ok || len(acts) != 0 {
		t.Errorf("acts are %v", today["acts"])
	}
	if e := answer[EntriesJSON](t, v.ask("GET", "/api/v1/entries", "")); e.Entries == nil || e.More {
		t.Errorf("entries %+v", e)
	}
}

// docs/openapi.json is what the program says of its own interface.
func TestReferenceOpenAPI(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	var out bytes.Buffer
	if err := json.Indent(&out, []byte(v.ask("GET", "/api/v1/openapi.json", "").Body), "", "  "); err != nil {
		t.Fatal(err)
	}
	out.WriteByte('\n')
	golden(t, filepath.Join("..", "..", "docs", "openapi.json"), out.Bytes())
}

func golden(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, got) {
		t.Errorf("%s is out of date: go test ./internal/serve -run Reference -update", filepath.ToSlash(path))
	}
}
