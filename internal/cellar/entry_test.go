package cellar

import (
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"elevage/internal/fault"

	"pgregory.net/rapid"
)

func sample(t testing.TB) Entry {
	return newQuill(t).do(Reading{Vessel: "b2", What: ReadPH, Value: M("3.50", "pH")})[0]
}

// The line as documented in docs/formats.md, letter by letter.
func TestLineIsAsDocumented(t *testing.T) {
	t.Parallel()
	e := sample(t)
	e.ID = "0190a5e0-7c3a-7000-8000-000000000001"
	const want = `{"id":"0190a5e0-7c3a-7000-8000-000000000001","cellar":"test","kind":"reading","version":1,"happened":"2026-10-01T09:01+02:00","written":"2026-10-01T07:01:00.000Z","by":"Ada","device":"desk","body":{"vessel":"b2","what":"ph","value":{"value":"3.50","unit":"pH"}}}`
	if got := string(e.AppendLine(nil)); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	e.Happened, e.Happened.Zone, e.Happened.Order = On(day0), "Europe/Vienna", -2
	e.Replaces, e.Overruled = "0190a5e0-7c3a-7000-8000-000000000002", `I meant "it" <really>`
	e.Body = json.RawMessage("{\n}")
	const more = `{"id":"0190a5e0-7c3a-7000-8000-000000000001","cellar":"test","kind":"reading","version":1,"happened":"2026-10-01+02:00","zone":"Europe/Vienna","order":-2,"written":"2026-10-01T07:01:00.000Z","by":"Ada","device":"desk","replaces":"0190a5e0-7c3a-7000-8000-000000000002","overruled":"I meant \"it\" <really>","body_text":"{\n}"}`
	if got := string(e.AppendLine(nil)); got != more {
		t.Errorf("got  %s\nwant %s", got, more)
	}
}

func TestCheckNamesFieldValueAndAllowed(t *testing.T) {
	t.Parallel()
	for field, spoil := range map[string]func(*Entry){
		"id":        func(e *Entry) { e.ID = "1" },
		"cellar":    func(e *Entry) { e.Cellar = "My Cellar" },
		"kind":      func(e *Entry) { e.Kind = "" },
		"version":   func(e *Entry) { e.Version = 0 },
		"happened":  func(e *Entry) { e.Happened = Moment{} },
		"order":     func(e *Entry) { e.Happened.Order = 2000 },
		"written":   func(e *Entry) { e.Written = e.Written.Add(time.Microsecond) },
		"by":        func(e *Entry) { e.By = "\xff" },
		"device":    func(e *Entry) { e.Device = strings.Repeat("d", 81) },
		"zone":      func(e *Entry) { e.Happened.Zone = "a\x00b" },
		"replaces":  func(e *Entry) { e.Replaces = "that one" },
		"overruled": func(e *Entry) { e.Overruled = strings.Repeat("o", maxText+1) },
		"body":      func(e *Entry) { e.Body = json.RawMessage(`["a list"]`) },
	} {
		e := sample(t)
		if err := e.Check(); err != nil {
			t.Fatal(err)
		}
		spoil(&e)
		err := e.Check()
		f := fault.FieldsOf(err)
		if fault.KindOf(err) != fault.Invalid || len(f) != 1 || f[0].Name != field || f[0].Allowed == "" {
			t.Errorf("%s: %+v, %v", field, f, err)
		}
	}
	for _, body := range []string{"", " ", "null", "{", `{"a":1}{}`, "\"x\"", "{\"a\":\"\xff\"}", "{\"" + strings.Repeat("a", MaxBody) + "\":1}"} {
		e := sample(t)
		e.Body = json.RawMessage(body)
		if fault.KindOf(e.Check()) != fault.Invalid {
			t.Errorf("the body %q was taken", clip(body, 40))
		}
	}
}

// Same content is same whatever the spaces and the order of fields; numerals are text.
func TestSameAndDigest(t *testing.T) {
	t.Parallel()
	e := sample(t)
	for body, same := range map[string]bool{
		`{"vessel":"b2","what":"ph","value":{"value":"3.50","unit":"pH"}}`:                 true,
		`{ "what":"ph", "vessel":"b2","value":{ "unit":"pH","value":"3.50"}}`:              true,
		`{"vessel":"b2","what":"\u0070h","value":{"value":"3.50","unit":"pH"}}`:            true,
		`{"vessel":"b2","what":"ph","value":{"value":"3.5","unit":"pH"}}`:                  false,
		`{"vessel":"b2","what":"ph","value":{"value":"3.50","unit":"pH"},"words":""}`:      false,
		`{"vessel":"b2","what":"ph","value":{"value":"3.50","unit":"pH"},"control":false}`: false,
	} {
		o := e
		o.Body = json.RawMessage(body)
		if e.Same(&o) != same || (e.Digest() == o.Digest()) != same {
			t.Errorf("%s: same %v, digest %v, want %v", body, e.Same(&o), e.Digest() == o.Digest(), same)
		}
	}
	for name, change := range map[string]func(*Entry){
		"by": func(o *Entry) { o.By = "Bo" }, "written": func(o *Entry) { o.Written = o.Written.Add(time.Millisecond) },
		"happened": func(o *Entry) { o.Happened = On(o.Happened.Time) }, "order": func(o *Entry) { o.Happened.Order = 1 },
		"zone": func(o *Entry) { o.Happened.Zone = "Europe/Vienna" }, "overruled": func(o *Entry) { o.Overruled = "yes" },
		"kind": func(o *Entry) { o.Kind = "moon" }, "replaces": func(o *Entry) { o.Replaces = o.ID },
	} {
		o := e
		change(&o)
		if e.Same(&o) || e.Digest() == o.Digest() {
			t.Errorf("%s makes no difference", name)
		}
	}
	o := e
	o.Cellar = "next-door"
	if !e.Same(&o) || e.Digest() != o.Digest() {
		t.Error("a ledger's key is not what an entry says")
	}
}

// Numbers in a body of another program are not made shorter or rounded.
func TestDigestKeepsNumeralsAsText(t *testing.T) {
	t.Parallel()
	a, b := sample(t), sample(t)
	a.Body, b.Body = json.RawMessage(`{"n":3.50}`), json.RawMessage(`{"n":3.5}`)
	if a.Same(&b) {
		t.Error("3.50 and 3.5 are one numeral")
	}
	a.Body, b.Body = json.RawMessage(`{"n":123456789012345678901}`), json.RawMessage(`{"n":123456789012345678902}`)
	if a.Same(&b) {
		t.Error("long numerals were rounded")
	}
}

func TestEveryKindIsWrittenAndRead(t *testing.T) {
	t.Parallel()
	seen := map[Kind]bool{}
	for _, k := range Kinds {
		if seen[k.Kind] || k.Title == "" || k.Means == "" || k.Schema < 1 || SchemaOf(k.Kind) != k.Schema {
			t.Errorf("%+v", k)
		}
		seen[k.Kind] = true
		b := k.Example()
		if b.Kind() != k.Kind {
			t.Errorf("the example of %s is a %s", k.Kind, b.Kind())
		}
		pen := Pen{Cellar: "test", Random: rand.NewChaCha8([32]byte{1})}
		es, err := pen.Write(day0, Draft{Happened: At(day0), Body: b})
		if err != nil {
			t.Errorf("%s: %v", k.Kind, err)
			continue
		}
		back, err := ParseLine(es[0].AppendLine(nil))
		if err != nil {
			t.Errorf("%s: %v", k.Kind, err)
			continue
		}
		got, err := back.Decode()
		if err != nil || !reflect.DeepEqual(got, b) {
			t.Errorf("%s became %#v (%v)", k.Kind, got, err)
		}
		if says := Sentence(&Record{Entry: es[0], Body: b}); says == "" || strings.Contains(says, "%!") {
			t.Errorf("%s says %q", k.Kind, says)
		}
		// An empty body of a known kind says which fields it wants.
		if k.Kind != KindDone {
			empty, err := (&Entry{Kind: k.Kind, Body: json.RawMessage(`{}`)}).Decode()
			if err != nil {
				t.Errorf("%s: an empty body cannot be read: %v", k.Kind, err)
			} else if err := (Draft{Happened: At(day0), Body: empty}).Check(); fault.KindOf(err) != fault.Invalid || len(fault.FieldsOf(err)) == 0 {
				t.Errorf("%s: an empty body was taken: %v", k.Kind, err)
			}
		}
	}
	if _, err := (&Entry{Kind: "moon-phase", Body: json.RawMessage(`{}`)}).Decode(); err != ErrUnknownKind {
		t.Errorf("%v", err)
	}
	if info, ok := InfoOf("moon-phase"); ok || info.Example() != nil || info.Title == "" {
		t.Errorf("%+v", info)
	}
}

func TestPenWritesAllOrNone(t *testing.T) {
	t.Parallel()
	pen := Pen{Cellar: "test", Random: rand.NewChaCha8([32]byte{1})}
	good := Draft{Happened: At(day0), Body: Note{Words: "bung"}}
	if es, err := pen.Write(day0, good, Draft{Happened: At(day0), Body: Note{}}); err == nil || es != nil {
		t.Errorf("%v %v", es, err)
	}
	if _, err := pen.Write(day0, Draft{Body: Note{Words: "x"}}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("without a moment: %v", err)
	}
	if _, err := pen.Write(day0, Draft{Happened: At(day0)}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("without a body: %v", err)
	}
	es, err := pen.Write(day0.Add(1234567), good, good, good)
	if err != nil || es[0].ID >= es[1].ID || es[1].ID >= es[2].ID || es[0].Written.Nanosecond() != 1000000 {
		t.Errorf("%v %v", es, err)
	}
}

func TestSlug(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{"Merlot, hill 2026": "merlot-hill-2026", "  Grüner  Veltliner!": "grüner-veltliner", "2026 Syrah": "syrah", "№ 7": "",
		"Ča\u00adva": "ča-va", strings.Repeat("long name ", 20): "long-name-long-name-long-name-long-name"} {
		if got := Slug(name); got != want {
			t.Errorf("%q is %q, want %q", name, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		if s := Slug(rapid.String().Draw(t, "name")); s != "" && (!SlugOK(s) || Slug(s) != s) {
			t.Errorf("%q is no short name", s)
		}
	})
	for _, s := range []string{"", "B2", "2b", "b 2", "b2-", "-b", "b/2", strings.Repeat("b", 41), "b\u0000"} {
		if SlugOK(s) {
			t.Errorf("%q was taken", s)
		}
	}
}

// The quick way of reading a line and the general one agree.
func FuzzParseLine(f *testing.F) {
	e := sample(f)
	f.Add(e.AppendLine(nil))
	e.Happened, e.Happened.Zone, e.Happened.Order = On(day0), "Europe/Vienna", 3
	e.Replaces, e.Overruled, e.Body = e.ID, `"quoted" \ <b>`, json.RawMessage(`{"a" : [1.50,{"b":null}]}`)
	f.Add(e.AppendLine(nil))
	e.Body = json.RawMessage("{\n}")
	f.Add(e.AppendLine(nil))
	f.Add([]byte(`{"id":"x"}`))
	f.Add([]byte(strings.Replace(string(e.AppendLine(nil)), `"version":1`, `"version":01`, 1)))
	f.Fuzz(func(t *testing.T, line []byte) {
		general, errGeneral := parseAny(line, "")
		quick, ok := parseOwn(line)
		if ok && quick.Check() == nil {
			if errGeneral != nil {
				t.Errorf("only the quick way takes %q: %v", line, errGeneral)
			} else if string(general.AppendLine(nil)) != string(quick.AppendLine(nil)) || string(general.Body) != string(quick.Body) {
				t.Errorf("%q is read as\n%s\nand\n%s", line, quick.AppendLine(nil), general.AppendLine(nil))
			}
		}
		if errGeneral != nil {
			if fault.KindOf(errGeneral) != fault.Invalid {
				t.Errorf("%v", errGeneral)
			}
			return
		}
		out := general.AppendLine(nil)
		again, err := ParseLine(out)
		if err != nil || string(again.AppendLine(nil)) != string(out) || string(again.Body) != string(general.Body) || !again.Same(&general) {
			t.Errorf("%q became %q became %q: %v", line, out, again.AppendLine(nil), err)
		}
		if b, err := general.Decode(); err == nil {
			_ = Draft{Happened: general.Happened, Body: b}.Check()
			Sentence(&Record{Entry: general, Body: b})
		}
		Fold([]Entry{general}, Options{Now: day0}) // never fails
	})
}

func TestCratesWeighLessThanWhatIsInThem(t *testing.T) {
	t.Parallel()
	b := FruitReceived{Lot: "red", Weight: M("10", "kg"), Tare: M("25", "lb")}
	err := Draft{Happened: On(time.Date(2026, 9, 12, 0, 0, 0, 0, time.UTC)), Body: b}.Check()
	if err == nil || !strings.Contains(err.Error(), `tare: "25 lb" is given: allowed is less than the weight with them, 10 kg`) {
		t.Errorf("crates heavier than the whole: %v", err)
	}
}

// A vessel that was called so before the typed line learned the word can still be
// described anew; a new one cannot be called so.
func TestWordsOfTheLineNameNoNewVessel(t *testing.T) {
	t.Parallel()
	at := On(time.Date(2026, 9, 12, 0, 0, 0, 0, time.UTC))
	if err := (Draft{Happened: at, Body: VesselNamed{Slug: "press"}}).Check(); err == nil {
		t.Error("a new vessel is called by a word of the line")
	}
	if err := (Draft{Happened: at, Body: VesselNamed{Slug: "press", Anew: true}}).Check(); err != nil {
		t.Errorf("one that is there cannot be described: %v", err)
	}
}
