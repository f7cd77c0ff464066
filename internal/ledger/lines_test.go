package ledger_test

import (
	"bytes"
	"strings"
	"testing"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/ledger/conformance"
)

func TestLinesRoundTrip(t *testing.T) {
	t.Parallel()
	entries := conformance.Entries(t, 1, 4)
	entries[1].Body = []byte("{\n  \"spaces\" : [ 1.50 ]\r\n}")
	entries[2].Kind, entries[2].Version = "moon-phase", 9
	entries[2].Body = []byte(`{"later":{"a":1e400}}`)
	var file bytes.Buffer
	if err := ledger.WriteLines(&file, entries); err != nil {
		t.Fatal(err)
	}
	text := file.String()
	back, bad, err := ledger.ReadLines(&file, "")
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	var again bytes.Buffer
	if err := ledger.WriteLines(&again, back); err != nil {
		t.Fatal(err)
	}
	if again.String() != text {
		t.Errorf("written again\n%s\nwas\n%s", again.String(), text)
	}
	for i := range entries {
		if string(back[i].Body) != string(entries[i].Body) {
			t.Errorf("body %q came back as %q", entries[i].Body, back[i].Body)
		}
	}
	if n := strings.Count(text, "\n"); n != len(entries) {
		t.Errorf("%d lines for %d entries", n, len(entries))
	}
}

func TestLinesIntoAnotherCellar(t *testing.T) {
	t.Parallel()
	entries := conformance.Entries(t, 2, 1)
	var file bytes.Buffer
	if err := ledger.WriteLines(&file, entries); err != nil {
		t.Fatal(err)
	}
	back, _, err := ledger.ReadLines(&file, "next-door")
	if err != nil || back[0].Cellar != "next-door" {
		t.Fatal(err, back)
	}
	if !back[0].Same(&entries[0]) || back[0].Digest() != entries[0].Digest() {
		t.Error("what an entry says does not depend on whose ledger it is in")
	}
}

// A bad line is told with its number, and stops nothing else from being read.
func TestBadLinesAreToldAndLeftOut(t *testing.T) {
	t.Parallel()
	good := string(conformance.Entries(t, 3, 1)[0].AppendLine(nil))
	file := "\ufeff" + good + "\n" +
		"not json\n" +
		"\n" +
		strings.Replace(good, `"version":1`, `"version":0`, 1) + "\r\n" +
		strings.Replace(good, `"kind"`, `"mood":"fine","kind"`, 1) + "\n" +
		`{"x":"` + strings.Repeat("y", 2<<20) + "\"}\n" +
		strings.Replace(good, `2026-11-03T19:30+01:00`, `3 Nov`, 1) + "\n" +
		good + " " + good + "\n" +
		good
	entries, bad, err := ledger.ReadLines(strings.NewReader(file), "")
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 2 {
		t.Errorf("%d good lines, want 2", len(entries))
	}
	want := []struct {
		line  int
		words string
	}{{2, "not json"}, {4, "version"}, {5, "mood"}, {6, "at most"}, {7, "3 Nov"}, {8, "more on the line"}}
	if len(bad) != len(want) {
		t.Fatalf("bad lines %v", bad)
	}
	for i, w := range want {
		if bad[i].Line != w.line || !strings.Contains(bad[i].String(), w.words) || bad[i].Allowed == "" {
			t.Errorf("got %q, want line %d and %q", bad[i].String(), w.line, w.words)
		}
	}
}

func TestSummary(t *testing.T) {
	t.Parallel()
	if s := ledger.Summary([]ledger.Outcome{ledger.New, ledger.Known, ledger.New, ledger.Conflicting}); s != "2 new, 1 known, 1 conflicting" {
		t.Error(s)
	}
}

// Whatever a file holds, reading does not fail in another way than by telling
// lines, and what was read can be kept, written and read again.
func FuzzReadLines(f *testing.F) {
	good := string(conformance.Entries(f, 4, 1)[0].AppendLine(nil))
	f.Add(good + "\n" + good)
	f.Add("{}\n[]\nnull\n\"x\"\n1")
	f.Add(strings.Replace(good, `"body":{`, `"body_text":"{}","body":{`, 1))
	f.Add(strings.ToUpper(good))
	f.Add("\ufeff{\"id\":\"\xff\"}")
	f.Fuzz(func(t *testing.T, text string) {
		entries, bad, err := ledger.ReadLines(strings.NewReader(text), "")
		if err != nil {
			t.Fatalf("%v", err)
		}
		for _, b := range bad {
			if b.Line < 1 || b.Allowed == "" {
				t.Errorf("a bad line without number or remedy: %+v", b)
			}
		}
		var out bytes.Buffer
		if err := ledger.WriteLines(&out, entries); err != nil {
			t.Fatal(err)
		}
		again, bad, err := ledger.ReadLines(&out, "")
		if err != nil || len(bad) > 0 || len(again) != len(entries) {
			t.Fatalf("%d entries became %d: %v %v", len(entries), len(again), bad, err)
		}
		for i := range entries {
			if string(again[i].AppendLine(nil)) != string(entries[i].AppendLine(nil)) || string(again[i].Body) != string(entries[i].Body) {
				t.Errorf("%s became %s", entries[i].AppendLine(nil), again[i].AppendLine(nil))
			}
			if _, err := again[i].Decode(); err != nil {
				_ = fault.Message(err) // unreadable bodies are findings of the fold, not faults
			}
		}
		cellar.Fold(entries, cellar.Options{}) // must not fail
	})
}
