package serve

import (
	"context"
	"encoding/json"
	"net/url"
	"strings"
	"testing"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
)

// last is the body of the newest entry of a kind.
func last[T cellar.Body](tb testing.TB, v *visitor) (T, cellar.Entry) {
	tb.Helper()
	var none T
	entries := v.entries(tb)
	for i := len(entries) - 1; i >= 0; i-- {
		if entries[i].Kind == none.Kind() {
			b, err := entries[i].Decode()
			if err != nil {
				tb.Fatal(err)
			}
			return b.(T), entries[i]
		}
	}
	tb.Fatalf("no entry of kind %s", none.Kind())
	return none, cellar.Entry{}
}

// seen is the token of what a page says was understood.
func seen(p leaf) string {
	_, rest, _ := strings.Cut(p.Body, `name="seen" value="`)
	token, _, _ := strings.Cut(rest, `"`)
	return token
}

// A typed line is shown as it was understood and kept only after that.
func TestLineIsShownBeforeItIsKept(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	before := len(v.entries(t))
	for _, p := range []leaf{v.get("/log/preview?line=" + url.QueryEscape("ph 3.58 d1")), v.post("/log/preview", q("line", "ph 3.58 d1"))} {
		p.shows(t, "d1 (Syrah, Long Field): pH 3.58, at 20:10")
		if strings.Contains(p.Body, "<html") {
			t.Error("a preview is a whole page")
		}
	}
	if p := v.get("/log/preview?line="); p.Code != 204 {
		t.Errorf("preview of nothing: %d", p.Code)
	}
	first := v.post("/log", q("line", "ph 3.58 d1"))
	if first.Code != 200 || first.value("line") != "ph 3.58 d1" || len(v.entries(t)) != before {
		t.Fatalf("%d, the line stands as %q", first.Code, first.value("line"))
	}
	first.shows(t, "Nothing is kept yet.", "d1 (Syrah, Long Field): pH 3.58")
	// Another line under the token of the first was never seen by anybody.
	if p := v.post("/log", q("line", "ph 3.85 d1", "seen", seen(first))); p.Code != 200 || len(v.entries(t)) != before {
		t.Fatalf("a line that nobody saw was kept: %d", p.Code)
	}
	v.keeps(t, "/log", q("line", "ph 3.58 d1", "seen", seen(first))).shows(t, "pH 3.58")
	if b, e := last[cellar.Reading](t, v); b.Value.Value != "3.58" || b.Vessel != "d1" || e.By != "Runa" {
		t.Errorf("kept %s", e.Body)
	}
}

func TestLineOfSeveralIsKeptWhole(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	const text = "yesterday stirred c4, c5; temp 16 c4; +2 g malolactic-nutrient d1"
	before := len(v.entries(t))
	v.keeps(t, "/log", q("line", text, "seen", seen(v.post("/log", q("line", text)))))
	if n := len(v.entries(t)) - before; n != 4 {
		t.Errorf("%d entries kept, want 4", n)
	}
}

func TestLineThatIsNotUnderstoodStays(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	before := len(v.entries(t))
	for _, c := range []struct {
		line, at string
		says     []string
	}{
		{"ph 3.47 b2", "b2", []string{"a vessel's name", "Did you mean"}},
		{"phh 3.58 d1", "phh", []string{"a word that says what happened", "Did you mean ph?"}},
		{"+12 g kmbz d1", "kmbz", []string{"Did you mean kmbs?"}},
		{"ph high d1", "high", []string{"a number"}},
		{"2026-12-24 ph 3.4 d1", "2026-12-24", []string{"lies ahead"}},
		{"", "", []string{"a sentence such as"}},
		{strings.Repeat("ph 3.5 d1 ", 60), "", []string{"up to 400 bytes"}},
		{`<b>"x"`, `<b>"x"`, []string{"a word that says what happened"}},
	} {
		p := v.post("/log", q("line", c.line))
		if p.Code != 422 || len(v.entries(t)) != before {
			t.Errorf("%q: %d", c.line, p.Code)
		}
		if got := p.value("line"); got != c.line {
			t.Errorf("%q was typed and stands as %q", c.line, got)
		}
		p.shows(t, c.says...)
		if c.at != "" {
			p.shows(t, "“"+c.at+"”")
		}
		if n := strings.Count(p.text(), "Wanted is"); n > 1 || strings.Count(p.Body, `name="line"`) != 1 {
			t.Errorf("%q: what was wanted is said %d times, the line stands %d times", c.line, n, strings.Count(p.Body, `name="line"`))
		}
	}
}

// What is stopped is kept only with words, and the words stay with the entry.
func TestStopsAskForWords(t *testing.T) {
	t.Parallel()
	const why = "the lab says no malic acid is left"
	for name, c := range map[string]struct {
		answers url.Values
		line    string
		says    []string
	}{
		"SO2 while malolactic fermentation is wanted": {
			q("vessel", "d1", "product", "potassium-metabisulfite", "amount", "3 g", "day", "2026-11-25", "hour", "19:30"), "+3 g kmbs d1", []string{"has not been declared over", "may stop it"}},
		"ten times the usual": {
			q("vessel", "b1", "product", "potassium-metabisulfite", "amount", "1 kg", "day", "2026-11-25", "hour", "19:30"), "+1 kg kmbs b1", []string{"more than ten times", "the limit is"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			v := visitDemo(t)
			before := len(v.entries(t))
			p := v.post("/write/addition", c.answers)
			if p.Code != 422 || len(v.entries(t)) != before {
				t.Fatalf("by form: %d, %d entries kept", p.Code, len(v.entries(t))-before)
			}
			p.shows(t, append(c.says, "Why all the same?")...)
			for name, values := range c.answers {
				if !strings.Contains(p.Body, `<input type="hidden" name="`+name+`" value="`+values[0]+`">`) {
					t.Errorf("%s is not carried on", name)
				}
			}
			if p := v.post("/write/addition", with(c.answers, "overruled", "   ")); p.Code != 422 || len(v.entries(t)) != before {
				t.Fatalf("blanks were taken for words: %d", p.Code)
			}
			v.keeps(t, "/write/addition", with(c.answers, "overruled", why)).shows(t, "Overruled:", "“"+why+"”")
			if _, e := last[cellar.Addition](t, v); e.Overruled != why {
				t.Errorf("the words kept are %q", e.Overruled)
			}

			asked := v.post("/log", q("line", c.line))
			asked.shows(t, c.says...)
			stopped := v.post("/log", q("line", c.line, "seen", seen(asked)))
			if stopped.Code != 422 {
				t.Fatalf("by line: %d", stopped.Code)
			}
			v.keeps(t, "/log", q("line", c.line, "seen", seen(asked), "overruled", why))
			if _, e := last[cellar.Addition](t, v); e.Overruled != why {
				t.Errorf("by line the words kept are %q", e.Overruled)
			}
		})
	}
}

// Wine that the record does not know of is asked about in so many words, and kept when
// it is said again: what filled the vessel may be written down later. What no vessel
// holds is refused, by the field, the value and what is allowed.
func TestWineThatTheRecordDoesNotKnow(t *testing.T) {
	t.Parallel()
	v := visitDemo(t) // d3 is empty, 54 L; c1 holds 22.3 L
	before := len(v.entries(t))
	const line = "racked 18 L d3 to c8"
	asked := v.post("/log", q("line", line))
	asked.shows(t, "By the record d3 is empty", "Take care.")
	again := v.post("/log", q("line", line, "seen", seen(asked)))
	if again.Code != 200 || len(v.entries(t)) != before {
		t.Fatalf("by line: %d, %d entries kept", again.Code, len(v.entries(t))-before)
	}
	again.shows(t, "By the record d3 is empty: nothing can have come from it, unless what filled it is still to be written down.", "Keep it all the same", "may be written down later")
	if strings.Contains(again.Body, "Why all the same?") {
		t.Error("words are asked for")
	}
	if p := v.post("/log", q("line", "racked 19 L d3 to c8", "seen", seen(v.post("/log", q("line", "racked 19 L d3 to c8"))), "warned", "x"+warnedIn(again))); p.Code != 200 || len(v.entries(t)) != before {
		t.Errorf("another answer was taken for it: %d", p.Code)
	}
	v.keeps(t, "/log", q("line", line, "seen", seen(asked), "warned", warnedIn(again)))
	if b, _ := last[cellar.Movement](t, v); b.From[0].Vessel != "d3" {
		t.Errorf("kept %+v", b)
	}
	// What filled it comes later, and all is well: the racking is of that wine.
	v.keeps(t, "/log", q("line", "yesterday filled d3 20 L merlot", "seen", seen(v.post("/log", q("line", "yesterday filled d3 20 L merlot")))))
	if on, err := v.view(t.Context()); err != nil || on.In("c8") == nil || on.In("c8").Lot.Slug != "merlot" {
		t.Errorf("c8 does not hold what came into d3: %v", err)
	}
	// More than there is says how much there is.
	v.post("/log", q("line", "lost 24 L c1 spilt")).shows(t, "By the record c1 holds 22.3 ± 0.4 L: 24 L is more than that.")
	// A program is held back until it says why.
	for text, want := range map[string]struct {
		code int
		says string
	}{
		"bottled c1 33":             {403, "by the record there were 22.3"},
		"racked 30 L c1 to c8":      {422, `"30 L" is given: allowed is up to 20 L, all that c8 holds`},
		"set 90 C c1":               {422, "-10 to 80 °C"},
		"pressed d3 to c3 54 L":     {422, "up to 23 L, all that c3 holds"},
		"racked 300 L d3 to b1":     {422, "up to 225 L, all that b1 holds"},
		"lost 24 L c1 spilt":        {403, "24 L is more than that"},
		"topped c2 0.4 L from bin1": {403, "bin1 is empty"},
	} {
		if p := v.ask("POST", "/api/v1/log", `{"line":"`+text+`"}`); p.Code != want.code || !strings.Contains(p.Body, strings.ReplaceAll(want.says, `"`, `\"`)) {
			t.Errorf("%s: %d %s", text, p.Code, p.Body)
		}
	}
	if p := v.ask("POST", "/api/v1/log", `{"line":"lost 24 L c1 spilt","overruled":"it was fuller than we wrote"}`); p.Code != 200 {
		t.Errorf("with words: %d %s", p.Code, p.Body)
	}
	// By form it stands beside the field.
	p := v.post("/write/racking", q("vessel", "c1", "to", "c8", "volume", "30 L", "rest", "stays", "day", "2026-11-25"))
	if p.Code != 422 || !strings.Contains(p.wrong("volume"), "up to 20 L, all that c8 holds") {
		t.Errorf("by form: %d, %q", p.Code, p.wrong("volume"))
	}
}

// What was typed a while after the page was opened is of now, and no later.
func TestAnHourLaterIsNotTheFuture(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	at := evening
	v.Clock = func() time.Time { return at }
	v.get("/")
	at = at.Add(time.Hour)
	if p := v.post("/log", q("line", "ph 3.58 d1")); strings.Contains(p.text(), "has not come yet") {
		t.Error(p.text())
	}
	v.keeps(t, "/write/reading", q("vessel", "d1", "what", "ph", "value", "3.58", "day", at.Format(time.DateOnly), "hour", at.Format("15:04")))
}

// What is unlikely is asked about once, with all that was typed still there, and
// kept when it is sent again.
func TestFormsWarnOnce(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	answers := q("vessel", "d1", "what", "ph", "value", "4.05", "day", "2026-11-25", "hour", "19:30")
	before := len(v.entries(t))
	p := v.post("/write/reading", answers)
	if p.Code != 200 || len(v.entries(t)) != before {
		t.Fatalf("%d, %d entries kept", p.Code, len(v.entries(t))-before)
	}
	p.shows(t, "Not kept yet.", "another vessel, or two digits swapped?", "Keep it all the same")
	for name, values := range answers {
		if p.value(name) != values[0] {
			t.Errorf("%s was typed as %q and stands as %q", name, values[0], p.value(name))
		}
	}
	// A warning that was shown does not cover another one.
	if p := v.post("/write/racking", q("vessel", "d1", "to", "j1", "volume", "1 L", "rest", "stays", "day", "2026-11-25", "warned", warnedIn(p))); p.Code != 200 || len(v.entries(t)) != before {
		t.Errorf("kept without being asked: %d", p.Code)
	}
	v.keeps(t, "/write/reading", answers)
	if b, _ := last[cellar.Reading](t, v); b.Value.Value != "4.05" {
		t.Errorf("kept %+v", b)
	}
}

// What a topping does to a conversion under way stands beside what stops it.
func TestToppingIntoAConversionIsForeseen(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	before := len(v.entries(t))
	p := v.post("/write/topping", q("vessel", "d1", "from", "b1", "volume", "12 L", "day", "2026-11-25"))
	if p.Code != 422 || len(v.entries(t)) != before {
		t.Fatalf("%d, %d entries kept", p.Code, len(v.entries(t))-before)
	}
	p.shows(t, "bacteria may stop", "With wine from b1 in d1,", "is over within 60 days falls from")
}

// warnedIn is the token of what a page warned of.
func warnedIn(p leaf) string {
	_, rest, _ := strings.Cut(p.Body, `name="warned" value="`)
	token, _, _ := strings.Cut(rest, `"`)
	return token
}

// An entry is struck with a reason and stays legible; striking the strike brings it back.
func TestStrikeAndStrikeOfStrike(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	v.keeps(t, "/write/reading", q("vessel", "d1", "what", "ph", "value", "3.91", "day", "2026-11-25", "hour", "19:30"))
	slip, e := last[cellar.Reading](t, v)
	path := "/strike/" + string(e.ID)
	figure := func() string { return figureOf(t, v.get("/lots/syrah"), "pH, read") }
	if figure() != "3.91" {
		t.Fatalf("the last pH read is %s", figure())
	}
	v.get(path).shows(t, "pH 3.91", "Strike it out")
	before := len(v.entries(t))
	if p := v.post(path, q("reason", " ")); p.Code != 422 || len(v.entries(t)) != before || p.wrong("reason") == "" {
		t.Errorf("struck without a reason: %d, %q", p.Code, p.wrong("reason"))
	}
	v.keeps(t, path, q("reason", "read in c1 by mistake")).shows(t, "Struck: d1: pH 3.91", "read in c1 by mistake")
	if figure() == slip.Value.Value {
		t.Error("a struck reading still counts")
	}
	strike, s := last[cellar.Strike](t, v)
	if strike.Target != e.ID || strike.Reason != "read in c1 by mistake" {
		t.Errorf("the strike is %s", s.Body)
	}
	v.keeps(t, "/strike/"+string(s.ID), q("reason", "it was d1 after all"))
	if figure() != "3.91" {
		t.Errorf("the reading did not come back: the last pH read is %s", figure())
	}
	if n := len(v.entries(t)) - before; n != 2 {
		t.Errorf("%d entries came of two strikes", n)
	}
	if p := v.get("/strike/" + strings.ToUpper(string(e.ID))); p.Code != 200 {
		t.Errorf("an id in upper case: %d", p.Code)
	}
}

// figureOf is the number of a figure on a page.
func figureOf(tb testing.TB, p leaf, name string) string {
	tb.Helper()
	_, rest, ok := strings.Cut(p.Body, `<span class="fig-name">`+name+`</span>`)
	if !ok {
		tb.Fatalf("no figure %q on the page", name)
	}
	_, rest, _ = strings.Cut(rest, `<b class="fig-number`)
	_, rest, _ = strings.Cut(rest, ">")
	number, _, _ := strings.Cut(rest, "</b>")
	return number
}

func (v *visitor) planned1(tb testing.TB, id string) *advise.Act {
	tb.Helper()
	view, err := v.view(context.Background())
	if err != nil {
		tb.Fatal(err)
	}
	for i := range view.Plan.Acts {
		if a := &view.Plan.Acts[i]; strings.HasPrefix(a.ID, id) {
			return a
		}
	}
	tb.Fatalf("no act %q is planned", id)
	return nil
}

// Ticking writes what was really done and the tick itself, which names it.
func TestTickWritesWhatWasDone(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	for _, c := range []struct {
		name, act string
		answers   url.Values
		kind      cellar.Kind
		body      string // a part of the body
	}{
		{"as planned", "warm/c1/", q("amount", "20 °C"), cellar.KindWarmth, `"set":{"value":"20","unit":"°C"}`},
		{"another amount", "warm/c2/", q("amount", "19"), cellar.KindWarmth, `"set":{"value":"19","unit":"°C"}`},
		{"nothing to write", "monthly-walk/", nil, "", ""},
		{"a reading", "measure-free-sulfite/b1/", q("vessel", "b1", "what", "free-so2", "value", "17", "method", "aspiration"), cellar.KindReading, `"value":{"value":"17","unit":"mg/L"}`},
		{"paper", "test-chromatogram/g1/", q("vessel", "g1", "what", "chromatogram", "value", "faint"), cellar.KindReading, `"value":{"value":"faint"}`},
		{"a meter in a buffer", "check-meter/", q("read4", "4.02", "read7", "", "instrument", "meter"), cellar.KindPHCheck, `"read":"4.02"`},
		{"a topping", "top-barrel/b1/", q("vessel", "b1", "from", "j1", "volume", "1.2 L"), cellar.KindMovement, `"how":"topping","from":[{"vessel":"j1"`},
		{"a tasting", "taste/b1/", q("vessel", "b1", "words", "closed, clean"), cellar.KindTasting, `"words":"closed, clean"`},
		{"a verdict", "declare-malolactic-finished/d2/", nil, cellar.KindVerdict, `"says":"malolactic-finished"`},
		{"a control sample", "keep-control/c7/", q("vessel", "c7", "volume", "200 mL", "kept", "cold"), cellar.KindControl, `"volume":{"value":"200","unit":"mL"}`},
		{"a racking", "rack-after-malolactic/d2/", q("vessel", "d2", "to", "bin1", "volume", "51 L", "rest", "lees"), cellar.KindMovement, `"to":[{"vessel":"bin1","volume":{"value":"51","unit":"L"}}]`},
		{"a pressing", "press/bin2/", q("vessel", "bin2", "to", "bin1", "volume", "60 L"), cellar.KindPress, `"to":[{"vessel":"bin1","volume":{"value":"60","unit":"L"}}]`},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := v.planned1(t, c.act)
			path, before := "/tick/"+a.ID, len(v.entries(t))
			form := v.get(path)
			for field := range c.answers {
				if form.field(field) == "" {
					t.Errorf("the tick does not ask for %q", field)
				}
			}
			p := v.post(path, with(c.answers, "day", "2026-11-25", "hour", "19:45"))
			if to, _, _ := strings.Cut(p.Header.Get("Location"), "?"); p.Code != 303 || to != "/" {
				t.Fatalf("%d: %s", p.Code, p.text())
			}
			done, _ := last[cellar.Done](t, v)
			if done.Task != a.ID || done.Skipped {
				t.Errorf("the tick is %+v", done)
			}
			news := v.entries(t)[before:]
			if c.kind == "" {
				if len(news) != 1 || len(done.Entries) != 0 {
					t.Errorf("%d entries for a tick that writes nothing else", len(news))
				}
				return
			}
			if len(news) != 2 || len(done.Entries) != 1 || done.Entries[0] != news[0].ID || news[0].Kind != c.kind || !strings.Contains(string(news[0].Body), c.body) {
				t.Errorf("wrote %s, want a %s with %s", news[0].AppendLine(nil), c.kind, c.body)
			}
			if got := news[0].Happened.Time.Format("15:04"); got != "19:45" {
				t.Errorf("happened at %s", got)
			}
			if strings.Contains(v.get("/").Body, `href="`+path+`"`) {
				t.Error("it is still on the list after it was ticked")
			}
		})
	}
}

// A meter is checked in two buffers: its tick asks both, and both are kept.
func TestTickOfAMeterCheckAsksEveryBuffer(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	a, before := v.planned1(t, "check-meter/"), len(v.entries(t))
	if p := v.post("/tick/"+a.ID, q("read7", "7.03", "read4", "4.05", "instrument", "meter", "day", "2026-11-25")); p.Code != 303 {
		t.Fatalf("%d: %s", p.Code, p.text())
	}
	var buffers []string
	for _, e := range v.entries(t)[before:] {
		if b, err := e.Decode(); err == nil && e.Kind == cellar.KindPHCheck {
			buffers = append(buffers, b.(cellar.PHCheck).Buffer+" "+b.(cellar.PHCheck).Read)
		}
	}
	done, _ := last[cellar.Done](t, v)
	if strings.Join(buffers, ", ") != "7.00 7.03, 4.01 4.05" || len(done.Entries) != 2 {
		t.Errorf("kept %q, the tick names %d entries", buffers, len(done.Entries))
	}
}

// What would stop a planned act is said where it is planned, with the way on.
func TestPlannedActsSayWhatWouldStopThem(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	view, err := v.view(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	stopped := 0
	for i := range view.Plan.Acts {
		a := &view.Plan.Acts[i]
		if a.Entry == nil {
			continue
		}
		for _, stop := range cellar.Weigh(view.State, view.Now, cellar.Draft{Happened: cellar.At(view.Now), Body: a.Entry}).Stops() {
			stopped++
			p := v.get("/tick/" + a.ID)
			p.shows(t, "Before this:", stop.Says)
			if stop.Code == cellar.WarnSO2Early && !strings.Contains(p.Body, `href="/write/verdict?says=malolactic-finished&amp;vessel=`+a.Vessel+`"`) {
				t.Errorf("%s does not lead to the verdict that it waits for", a.ID)
			}
		}
	}
	if stopped == 0 {
		t.Error("the demo plans nothing that would be stopped: this test sees nothing")
	}
}

// A tick that says less than its entry needs keeps what was typed and names what is missing.
func TestTickSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	before := len(v.entries(t))
	for _, c := range []struct {
		act     string
		answers url.Values
		field   string
		says    string
	}{
		{"warm/c1/", q("amount", "tepid"), "amount", "a number"},
		{"warm/c1/", q("amount", "20 L"), "amount", "a unit out of"},
		{"measure-free-sulfite/b1/", q("vessel", "b1", "what", "free-so2", "value", ""), "value", "a number"},
		{"rack-after-malolactic/d2/", q("vessel", "d2", "to", "", "volume", "50 L"), "to", "short name"},
		{"rack-after-malolactic/d2/", nil, "volume", "a number"},
		{"top-headspace/c1/", q("vessel", "c1", "from", "", "volume", "1 L"), "from", "short name"},
		{"warm/c1/", q("amount", "20 °C", "day", "soon"), "day", "a date"},
		{"taste/b1/", q("vessel", "b1"), "words", "what was tasted"},
		{"warm/c1/", q("skip", "yes"), "words", "why it is skipped"},
	} {
		answers := with(c.answers)
		if !answers.Has("day") {
			answers.Set("day", "2026-11-25")
		}
		p := v.post("/tick/"+v.planned1(t, c.act).ID, answers)
		if p.Code != 422 || !strings.Contains(p.wrong(c.field), c.says) {
			t.Errorf("%s %v: %d, next to %s stands %q, want %q", c.act, c.answers, p.Code, c.field, p.wrong(c.field), c.says)
		}
		for name, values := range answers {
			if name != "skip" && p.value(name) != values[0] {
				t.Errorf("%s: %s was typed as %q and stands as %q", c.act, name, values[0], p.value(name))
			}
		}
	}
	if n := len(v.entries(t)); n != before {
		t.Errorf("%d entries were kept", n-before)
	}
}

func TestTickSkipsInWords(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	a := v.planned1(t, "warm/c1/")
	before := len(v.entries(t))
	if p := v.post("/tick/"+a.ID, q("skip", "yes", "words", "the heater is broken")); p.Code != 303 {
		t.Fatalf("%d: %s", p.Code, p.text())
	}
	done, _ := last[cellar.Done](t, v)
	if !done.Skipped || done.Words != "the heater is broken" || len(done.Entries) != 0 || len(v.entries(t)) != before+1 {
		t.Errorf("the skip is %+v", done)
	}
	if got := v.planned1(t, "warm/c1/").Standing; got == advise.Due {
		t.Error("a skipped act is still due")
	}
}

// The first SO2 of a wine whose malolactic fermentation nobody declared over is
// stopped when ticked, too.
func TestTickIsStopped(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	a := v.planned1(t, "first-sulfite/d2/")
	answers := q("amount", a.Amount+" "+a.Unit, "day", "2026-11-25", "hour", "19:50")
	before := len(v.entries(t))
	p := v.post("/tick/"+a.ID, answers)
	if p.Code != 422 || len(v.entries(t)) != before {
		t.Fatalf("%d", p.Code)
	}
	p.shows(t, "has not been declared over", "Why all the same?")
	if p := v.post("/tick/"+a.ID, with(answers, "overruled", "two clear papers")); p.Code != 303 {
		t.Fatalf("%d: %s", p.Code, p.text())
	}
	if b, e := last[cellar.Addition](t, v); e.Overruled != "two clear papers" || b.Amount.Value != a.Amount || b.Purpose == "" {
		t.Errorf("kept %s", e.AppendLine(nil))
	}
	raw, err := json.Marshal(v.planned1(t, "declare-malolactic-finished/d2/"))
	if err != nil || !strings.Contains(string(raw), "malolactic") {
		t.Errorf("the verdict is still to be declared: %s", raw)
	}
}
