package line

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
)

var zone = time.FixedZone("CET", 3600)
var now = time.Date(2026, 11, 25, 20, 30, 0, 0, zone)

func testState(t testing.TB) *cellar.State {
	t.Helper()
	seed := [32]byte(bytes.Repeat([]byte{3}, 32))
	pen := cellar.Pen{Cellar: "test", Random: rand.NewChaCha8(seed)}
	bodies := []cellar.Body{cellar.LotStarted{Slug: "merlot", Name: "Merlot"}, cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}}
	for _, v := range []string{"b2", "b3", "c1", "c3", "c4", "d1", "bin1"} {
		bodies = append(bodies, cellar.VesselNamed{Slug: v, Type: "carboy", Size: cellar.M("23", "L")})
	}
	bodies = append(bodies, cellar.Movement{Lot: "merlot", To: []cellar.Portion{{Vessel: "b2", Volume: cellar.M("22", "L")}}},
		cellar.Movement{Lot: "merlot", To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("22", "L")}}})
	bodies = append(bodies, cellar.LotStarted{Slug: "zinfandel", Name: "Zinfandel", Units: "us"},
		cellar.Movement{Lot: "zinfandel", To: []cellar.Portion{{Vessel: "d1", Volume: cellar.M("6", "gal")}}})
	var drafts []cellar.Draft
	for _, b := range bodies {
		drafts = append(drafts, cellar.Draft{Happened: cellar.At(now.AddDate(0, 0, -9)), Body: b})
	}
	entries, err := pen.Write(now, drafts...)
	if err != nil {
		t.Fatal(err)
	}
	return cellar.Fold(entries, cellar.Options{Now: now})
}

func TestRead(t *testing.T) {
	s := testState(t)
	for _, c := range []struct{ line, says, body string }{
		{"ph 3.47 b2", "b2 (Merlot): pH 3.47, at 20:30", `{"vessel":"b2","what":"ph","value":{"value":"3.47","unit":"pH"}}`},
		{"pH 3,47 B2", "b2 (Merlot): pH 3,47, at 20:30", `{"vessel":"b2","what":"ph","value":{"value":"3,47","unit":"pH"}}`},
		{"yesterday ph 3.50 b2 with meter", "b2 (Merlot): pH 3.50 – with meter, on 24 Nov 2026", `{"vessel":"b2","what":"ph","value":{"value":"3.50","unit":"pH"},"instrument":"meter"}`},
		{"3 nov 19:30 temp 66F c1", "c1 (empty then, by the record): temperature 66 °F, on 3 Nov 2026 at 19:30", `{"vessel":"c1","what":"temperature","value":{"value":"66","unit":"°F"}}`},
		{"20 nov temp 66F c1", "c1 (Merlot): temperature 66 °F, on 20 Nov 2026", `{"vessel":"c1","what":"temperature","value":{"value":"66","unit":"°F"}}`},
		{"temp 66F c3", "c3: temperature 66 °F, at 20:30", `{"vessel":"c3","what":"temperature","value":{"value":"66","unit":"°F"}}`},
		{"ta 6.1 b2 to 8.2 as tartaric", "b2 (Merlot): TA 6.1 g/L as tartaric acid to 8.2, at 20:30", `{"vessel":"b2","what":"ta","value":{"value":"6.1","unit":"g/L"},"as":"tartaric","end_point":"8.2"}`},
		{"racked 15 L c1 to b3", "racking from c1 into 15 L b3, at 20:30; c1 keeps 7 L (add “rest lees” if it is empty now)", `{"how":"racking","from":[{"vessel":"c1"}],"to":[{"vessel":"b3","volume":{"value":"15","unit":"L"}}]}`},
		{"racked 15 L c1 to b3, rest lees", "racking from c1 into 15 L b3, the rest to lees, at 20:30; 7 L stayed behind as lees", `{"how":"racking","from":[{"vessel":"c1","all":true}],"to":[{"vessel":"b3","volume":{"value":"15","unit":"L"}}],"rest":"lees"}`},
		{"racked c1 to b3 lees 1 1/2 L", "racking from c1 into b3, 1 1/2 L lost as lees, at 20:30", `{"how":"racking","from":[{"vessel":"c1"}],"to":[{"vessel":"b3"}],"losses":[{"kind":"lees","volume":{"value":"1 1/2","unit":"L"}}]}`},
		{"racked c1 to b3", "racking from c1 into b3, at 20:30", `{"how":"racking","from":[{"vessel":"c1","all":true}],"to":[{"vessel":"b3"}]}`},
		{"ph b2 3.47", "b2 (Merlot): pH 3.47, at 20:30", `{"vessel":"b2","what":"ph","value":{"value":"3.47","unit":"pH"}}`},
		{"paper b2 faint", "b2 (Merlot): malic spot on paper faint, at 20:30", `{"vessel":"b2","what":"chromatogram","value":{"value":"faint"}}`},
		{"sg 1,092 b2", "b2 (Merlot): density 1.092 SG, at 20:30", `{"vessel":"b2","what":"density","value":{"value":"1.092","unit":"SG"}}`},
		{"brix 22.4 b2", "b2 (Merlot): density 22.4 °Brix, at 20:30", `{"vessel":"b2","what":"density","value":{"value":"22.4","unit":"°Brix"}}`},
		{"temp 66 d1", "d1 (Zinfandel): temperature 66 °F, at 20:30", `{"vessel":"d1","what":"temperature","value":{"value":"66","unit":"°F"}}`},
		{"temp 19 C d1", "d1 (Zinfandel): temperature 19 °C, at 20:30", `{"vessel":"d1","what":"temperature","value":{"value":"19","unit":"°C"}}`},
		{"holds 5 3/4 d1", "d1 (Zinfandel): holds 5 3/4 gal, at 20:30", `{"vessel":"d1","volume":{"value":"5 3/4","unit":"gal"}}`},
		{"bubble 9 min c4", "c4: bubble interval 9 min, at 20:30", `{"vessel":"c4","what":"bubble","value":{"value":"9","unit":"min"}}`},
		{"paper faint b2", "b2 (Merlot): malic spot on paper faint, at 20:30", `{"vessel":"b2","what":"chromatogram","value":{"value":"faint"}}`},
		{"so2 free 22 c1 by aspiration", "c1 (Merlot): free SO2 22 mg/L – by aspiration, at 20:30", `{"vessel":"c1","what":"free-so2","value":{"value":"22","unit":"mg/L"},"method":"aspiration"}`},
		{"free 22 c1", "c1 (Merlot): free SO2 22 mg/L, at 20:30", `{"vessel":"c1","what":"free-so2","value":{"value":"22","unit":"mg/L"}}`},
		{"malic <0.1 b2", "b2 (Merlot): malic acid <0.1 g/L, at 20:30", `{"vessel":"b2","what":"malic","value":{"value":"<0.1","unit":"g/L"}}`},
		{"control ph 3.45 b2", "b2 (Merlot): pH 3.45, control sample, at 20:30", `{"vessel":"b2","what":"ph","value":{"value":"3.45","unit":"pH"},"control":true}`},
		{"racked 20 L c1 to b3", "racking from c1 into 20 L b3, the rest to lees, at 20:30; 2 L stayed behind as lees", `{"how":"racking","from":[{"vessel":"c1","all":true}],"to":[{"vessel":"b3","volume":{"value":"20","unit":"L"}}],"rest":"lees"}`},
		{"topped b2 0.4 L from c1", "topping from 0.4 L c1 into 0.4 L b2, at 20:30", `{"how":"topping","from":[{"vessel":"c1","volume":{"value":"0.4","unit":"L"}}],"to":[{"vessel":"b2","volume":{"value":"0.4","unit":"L"}}]}`},
		{"+12 g kmbs c1", "c1 (Merlot): 12 g potassium metabisulfite, at 20:30", `{"vessel":"c1","product":"potassium-metabisulfite","amount":{"value":"12","unit":"g"},"purpose":"protect"}`},
		{"added 1/2 oz tartaric to c1", "c1 (Merlot): 1/2 oz tartaric acid, at 20:30", `{"vessel":"c1","product":"tartaric-acid","amount":{"value":"1/2","unit":"oz"},"purpose":"acid"}`},
		{"inoculated b2 rehydrated 0.5 g", "b2 (Merlot): malolactic: rehydrated culture, 0.5 g, at 20:30", `{"vessel":"b2","of":"malolactic","how":"rehydrated","amount":{"value":"0.5","unit":"g"}}`},
		{"check 7.00 read 7.03", "pH meter in buffer 7.00 read 7.03, at 20:30", `{"instrument":"meter","buffer":"7.00","read":"7.03"}`},
		{"holds 21.5 L b2", "b2 (Merlot): holds 21.5 L, at 20:30", `{"vessel":"b2","volume":{"value":"21.5","unit":"L"}}`},
		{"set 20 c1", "c1 (Merlot): held at 20 °C, at 20:30", `{"vessel":"c1","set":{"value":"20","unit":"°C"}}`},
		{"declared b2 finished clear paper twice", "b2 (Merlot): declared malolactic finished – clear paper twice, at 20:30", `{"vessel":"b2","says":"malolactic-finished","evidence":"clear paper twice"}`},
		{"note b2 bung replaced", "b2 (Merlot): bung replaced, at 20:30", `{"vessel":"b2","words":"bung replaced"}`},
	} {
		t.Run(c.line, func(t *testing.T) {
			u, err := Read(c.line, s, now)
			if err != nil {
				t.Fatal(err)
			}
			if len(u.Drafts) != 1 || u.Says[0] != c.says {
				t.Errorf("said %q, want %q", u.Says, c.says)
			}
			got, err := json.Marshal(u.Drafts[0].Body)
			if err != nil {
				t.Fatal(err)
			}
			got = bytes.ReplaceAll(got, []byte(`\u003c`), []byte("<"))
			if string(got) != c.body {
				t.Errorf("body %s, want %s", got, c.body)
			}
		})
	}
}

func TestReadSeveral(t *testing.T) {
	s := testState(t)
	u, err := Read("stirred b2, c1 and c3; yesterday ph 3.4 c1", s, now)
	if err != nil {
		t.Fatal(err)
	}
	if len(u.Drafts) != 4 {
		t.Errorf("%d drafts, want 4: %q", len(u.Drafts), u.Says)
	}
}

func TestNotUnderstood(t *testing.T) {
	s := testState(t)
	for _, c := range []struct{ line, given, hint string }{
		{"", "", ""},
		{"ph 3.47 b9", "b9", "b2"},
		{"ph b2", "", ""},
		{"phh 3.47 b2", "phh", "ph"},
		{"ph 3.47 b2 extra", "extra", ""},
		{"paper fait b2", "fait", "faint"},
		{"+12 g kmbz c1", "kmbz", "kmbs"},
		{"+12 stone kmbs c1", "stone", ""},
		{"racked 20 L c1 b3", "b3", ""},
		{"so2 22 c1", "22", ""},
		{"2026-12-24 ph 3.4 b2", "2026-12-24", ""},
		{"declared b2 lovely", "lovely", ""},
		{"check 7.00", "", ""},
		{strings.Repeat("x", MaxLine+1), "401 bytes", ""},
		{"\xff\xfe", "2 bytes", ""},
	} {
		_, err := Read(c.line, s, now)
		if err == nil || fault.KindOf(err) != fault.Invalid {
			t.Errorf("%q: error %v, want one of kind invalid", c.line, err)
			continue
		}
		f := fault.FieldsOf(err)
		if len(f) == 0 || !strings.Contains(f[0].Given, c.given) || !strings.Contains(f[0].Hint, c.hint) || f[0].Allowed == "" {
			t.Errorf("%q: fields %+v, want the word %q and the hint %q", c.line, f, c.given, c.hint)
		}
	}
}

func TestFirstWordsCannotNameVessels(t *testing.T) {
	for _, w := range allFirstWords() {
		if w != "+" && !cellar.Reserved(w) {
			t.Errorf("a vessel could be called %q, which begins a sentence", w)
		}
	}
}

func TestExamplesOfTheGrammarAreUnderstood(t *testing.T) {
	s := testState(t)
	for _, g := range Grammar {
		if _, err := Read(g.Example, s, now); err != nil {
			t.Errorf("%q: %v", g.Example, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, g := range Grammar {
		f.Add(g.Example)
	}
	for _, l := range []string{"", ";", "yesterday", "3 nov", "at 19:30", "+", "+ +", "ph 3.47 b2; ; ph", "29 feb ph 3.4 b2", "1 1/2 gal"} {
		f.Add(l)
	}
	s := testState(f)
	f.Fuzz(func(t *testing.T, text string) {
		u, err := Read(text, s, now)
		if err != nil {
			if len(fault.FieldsOf(err)) == 0 {
				t.Errorf("%q: an error that names nothing: %v", text, err)
			}
			return
		}
		for _, d := range u.Drafts {
			if err := d.Check(); err != nil || d.Happened.Time.After(now) {
				t.Errorf("%q gave a draft that cannot be written: %v", text, err)
			}
		}
	})
}
