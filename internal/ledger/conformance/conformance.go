// Package conformance is the one suite that every kind of ledger passes.
//
//	func TestMemory(t *testing.T) {
//		conformance.Run(t, func(t *testing.T) ledger.Ledger { return ledger.NewMemory() })
//	}
package conformance

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/ledger"
)

// Run holds ledgers made by open against what Ledger promises. Each test gets an
// empty one and closes it.
func Run(t *testing.T, open func(t *testing.T) ledger.Ledger) {
	for name, test := range map[string]func(*testing.T, ledger.Ledger){
		"entries come back byte for byte":        exact,
		"the same entry twice is one":            idempotent,
		"one id with other content keeps both":   conflicting,
		"all or none":                            allOrNone,
		"in the order of arrival, after the nth": inOrder,
		"cellars do not see each other":          apart,
		"a cancelled call does nothing":          cancelled,
		"what is handed out is a copy":           copied,
	} {
		t.Run(name, func(t *testing.T) { test(t, opened(t, open)) })
	}
}

// Concurrent holds a ledger against many writers and readers at once. It stands
// apart from Run so that the race detector, which slows a database much, can be
// given this one alone.
func Concurrent(t *testing.T, open func(t *testing.T) ledger.Ledger) { together(t, opened(t, open)) }

func opened(t *testing.T, open func(t *testing.T) ledger.Ledger) ledger.Ledger {
	t.Helper()
	l := open(t)
	t.Cleanup(func() {
		if err := l.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return l
}

var day = time.Date(2026, 11, 3, 19, 30, 0, 0, time.FixedZone("", 3600))

// Entries writes n readings for tests, different for each seed.
func Entries(t testing.TB, seed byte, n int) []cellar.Entry {
	t.Helper()
	pen := cellar.Pen{Cellar: "home", By: "Mira", Device: "phone", Random: rand.NewChaCha8([32]byte{seed})}
	drafts := make([]cellar.Draft, n)
	for i := range drafts {
		drafts[i] = cellar.Draft{Happened: cellar.At(day.Add(time.Duration(i) * time.Hour)),
			Body: cellar.Reading{Vessel: "b2", What: cellar.ReadPH, Value: cellar.M(fmt.Sprintf("3.%02d", i%100), "pH")}}
	}
	entries, err := pen.Write(day, drafts...)
	if err != nil {
		t.Fatal(err)
	}
	return entries
}

func keep(t *testing.T, l ledger.Ledger, entries ...cellar.Entry) []ledger.Outcome {
	t.Helper()
	out, err := l.Append(context.Background(), entries)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != len(entries) {
		t.Fatalf("%d outcomes of %d entries", len(out), len(entries))
	}
	return out
}

func after(t *testing.T, l ledger.Ledger, key string, n int) []cellar.Entry {
	t.Helper()
	entries, err := l.After(context.Background(), key, n)
	if err != nil {
		t.Fatal(err)
	}
	return entries
}

func same(t *testing.T, got, want []cellar.Entry) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d entries, want %d", len(got), len(want))
	}
	for i := range want {
		g, w := string(got[i].AppendLine(nil)), string(want[i].AppendLine(nil))
		if g != w {
			t.Fatalf("entry %d is\n%s\nwant\n%s", i, g, w)
		}
	}
}

// Bodies as people, other programs and mischief write them.
var bodies = []string{
	`{"vessel":"b2","what":"ph","value":{"value":"3.50","unit":"pH"}}`,
	`{ "spaces" : "kept",  "n" : 3.50 , "big":123456789012345678901234567890 }`,
	"{\r\n\t\"line\": \"ends\"\n}",
	`{"later":"field","nested":{"z":1,"a":[true,null,{}]}}`,
	`{"quotes":"it's \"so\"; DROP TABLE entry;--","html":"<b>&amp;</b>","esc":"\u00e9\u0000\ud83c\udf47"}`,
	`{"wine":"Ribolla – ľubotínsky","grapes":"🍇","rtl":"` + "\u200f" + `יין` + "\u200f" + `","sep":"` + "\u2028" + `"}`,
	`{"same":1,"same":2}`,
	`{}`,
}

func exact(t *testing.T, l ledger.Ledger) {
	entries := Entries(t, 1, len(bodies))
	for i := range entries {
		entries[i].Body = json.RawMessage(bodies[i])
		if i > 0 {
			entries[i].Kind, entries[i].Version = "moon-phase", 7 // from a newer program
		}
	}
	entries[1].Happened = cellar.On(day)
	entries[1].Happened.Zone, entries[1].Happened.Order = "Europe/Vienna", -3
	entries[2].Replaces, entries[2].Overruled = entries[1].ID, "I weighed it twice; “<really>” 'so'"
	entries[3].Happened.Time, entries[3].Happened.Precision = day.Add(7*time.Second), cellar.Second
	entries[4].By, entries[4].Device = "Zoë", ""
	entries[5].Happened.Time = time.Date(1000, 1, 1, 0, 0, 0, 0, time.UTC)
	keep(t, l, entries...)
	got := after(t, l, "home", 0)
	same(t, got, entries)
	for i := range entries {
		if string(got[i].Body) != bodies[i] {
			t.Errorf("body %d is %q, was written %q", i, got[i].Body, bodies[i])
		}
	}
}

func idempotent(t *testing.T, l ledger.Ledger) {
	entries := Entries(t, 2, 3)
	if got := keep(t, l, entries[0], entries[1], entries[0]); got[0] != ledger.New || got[1] != ledger.New || got[2] != ledger.Known {
		t.Errorf("outcomes %v", got)
	}
	// Sent again with other spaces, it says the same: the first stays as it was.
	again := entries[1]
	again.Body = json.RawMessage(" " + string(again.Body) + " ")
	if got := keep(t, l, again, entries[2]); got[0] != ledger.Known || got[1] != ledger.New {
		t.Errorf("outcomes %v", got)
	}
	same(t, after(t, l, "home", 0), entries)
}

func conflicting(t *testing.T, l ledger.Ledger) {
	e := Entries(t, 3, 1)[0]
	other := e
	other.Body = json.RawMessage(`{"vessel":"b2","what":"ph","value":{"value":"3.5","unit":"pH"}}`)
	keep(t, l, e)
	if got := keep(t, l, other, e, other); got[0] != ledger.Conflicting || got[1] != ledger.Known || got[2] != ledger.Known {
		t.Errorf("outcomes %v", got)
	}
	same(t, after(t, l, "home", 0), []cellar.Entry{e, other})
}

func allOrNone(t *testing.T, l ledger.Ledger) {
	entries := Entries(t, 4, 3)
	broken := entries[1]
	broken.Body = json.RawMessage(`{"half":`)
	if _, err := l.Append(context.Background(), []cellar.Entry{entries[0], broken}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("a broken body was taken: %v", err)
	}
	if n := len(after(t, l, "home", 0)); n != 0 {
		t.Errorf("%d entries of a refused batch were kept", n)
	}
	keep(t, l, entries...)
	if got := keep(t, l); len(got) != 0 {
		t.Errorf("nothing appended, and %v came of it", got)
	}
}

func inOrder(t *testing.T, l ledger.Ledger) {
	entries := Entries(t, 5, 20)
	for i := len(entries) - 1; i >= 0; i-- { // later ones first: arrival counts, not time
		keep(t, l, entries[i], entries[i])
	}
	for i, j := 0, len(entries)-1; i < j; i, j = i+1, j-1 {
		entries[i], entries[j] = entries[j], entries[i]
	}
	for _, n := range []int{-1, 0, 1, 7, 19, 20, 21, 1 << 40} {
		same(t, after(t, l, "home", n), entries[min(max(n, 0), 20):])
	}
}

func apart(t *testing.T, l ledger.Ledger) {
	entries := Entries(t, 6, 2)
	next := entries[0]
	next.Cellar = "next-door"
	if got := keep(t, l, entries[0], next, entries[1]); got[1] != ledger.New {
		t.Errorf("outcomes %v", got)
	}
	same(t, after(t, l, "home", 0), entries)
	same(t, after(t, l, "next-door", 0), []cellar.Entry{next})
	same(t, after(t, l, "nowhere", 0), nil)
	same(t, after(t, l, "home' OR 1=1 --", 0), nil)
}

func together(t *testing.T, l ledger.Ledger) {
	const writers, each = 6, 8
	shared := Entries(t, 7, each)
	var wg sync.WaitGroup
	fresh := make([]int, writers)
	for w := range writers {
		own := Entries(t, byte(100+w), each)
		wg.Go(func() {
			for i := range each {
				got, err := l.Append(context.Background(), []cellar.Entry{own[i], shared[i]})
				if err != nil || got[0] != ledger.New {
					t.Errorf("writer %d: %v %v", w, got, err)
					return
				}
				if got[1] == ledger.New {
					fresh[w]++
				}
				if _, err := l.After(context.Background(), "home", i); err != nil {
					t.Errorf("reader %d: %v", w, err)
				}
			}
		})
	}
	wg.Wait()
	n := 0
	for _, f := range fresh {
		n += f
	}
	if n != each {
		t.Errorf("%d shared entries were new, want each once: %d", n, each)
	}
	all := after(t, l, "home", 0)
	if len(all) != writers*each+each {
		t.Errorf("%d entries, want %d", len(all), writers*each+each)
	}
}

func cancelled(t *testing.T, l ledger.Ledger) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := l.Append(ctx, Entries(t, 8, 1)); fault.KindOf(err) != fault.Unavailable {
		t.Errorf("append: %v", err)
	}
	if _, err := l.After(ctx, "home", 0); fault.KindOf(err) != fault.Unavailable {
		t.Errorf("after: %v", err)
	}
	if n := len(after(t, l, "home", 0)); n != 0 {
		t.Errorf("a cancelled append kept %d entries", n)
	}
}

func copied(t *testing.T, l ledger.Ledger) {
	entries := Entries(t, 9, 2)
	want := string(entries[0].Body)
	keep(t, l, entries...)
	entries[0].Body[2] = 'X'
	got := after(t, l, "home", 0)
	if string(got[0].Body) != want {
		t.Errorf("changing what was handed in changed the ledger: %s", got[0].Body)
	}
	got[0].By, got[0].Body[2] = "somebody else", 'Y'
	if again := after(t, l, "home", 0); again[0].By != "Mira" || string(again[0].Body) != want {
		t.Errorf("changing what was handed out changed the ledger: %s", again[0].Body)
	}
}
