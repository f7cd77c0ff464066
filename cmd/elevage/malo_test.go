package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// elevage runs a command in this process.
func elevage(t *testing.T, in string, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(args, strings.NewReader(in), &o, &e)
	return o.String(), e.String(), code
}

type beliefJSON struct {
	At       string
	Malic    *struct{ Mean, Q05, Q50, Q95 *float64 } `json:"malic_g_l"`
	P        *float64                                `json:"p_finished"`
	State    map[string]float64
	Finish   map[string]any // null is a date later than a year, so the keys are looked for apart
	Decision struct{ Call, Reason string }
	Next     struct {
		What, Reason string
		Options      []map[string]any
	} `json:"next_test"`
}

func believed(t *testing.T, out string) (beliefJSON, map[string]any) {
	t.Helper()
	var b beliefJSON
	var raw map[string]any
	if err := json.Unmarshal([]byte(out), &b); err != nil {
		t.Fatalf("%v: %.300s", err, out)
	}
	if err := json.Unmarshal([]byte(out), &raw); err != nil {
		t.Fatal(err)
	}
	return b, raw
}

const facts, readings = "testdata/malo/facts.json", "testdata/malo/readings.csv"

// TestMaloSaysWhatWasAgreed holds the answer against the list of keys that
// scripts rely on (README and internal/track/BELIEF.md).
func TestMaloSaysWhatWasAgreed(t *testing.T) {
	t.Parallel()
	for name, args := range map[string][]string{
		"all known":            {"--lot", facts, "--readings", readings, "--at", "2026-11-10"},
		"on the first day":     {"--lot", facts, "--readings", readings, "--at", "2026-10-01"},
		"no readings":          {"--lot", facts, "--at", "2026-11-10"},
		"judged much later":    {"--lot", facts, "--readings", readings, "--at", "2027-03-01"},
		"another limit, brief": {"--lot", facts, "--readings", readings, "--limit", "0.3", "--brief"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			out, errs, code := elevage(t, "", append([]string{"malo", "--json", "--draws", "200"}, args...)...)
			if code != 0 || errs != "" {
				t.Fatalf("exit code %d: %s", code, errs)
			}
			b, raw := believed(t, out)
			agreed(t, b, raw, !slices.Contains(args, "--brief"))
		})
	}
}

func agreed(t *testing.T, b beliefJSON, raw map[string]any, whole bool) {
	t.Helper()
	m := b.Malic
	if m == nil || m.Mean == nil || m.Q05 == nil || m.Q50 == nil || m.Q95 == nil || !(*m.Q05 <= *m.Q50 && *m.Q50 <= *m.Q95) || *m.Q05 < 0 {
		t.Errorf("malic_g_l is %v", raw["malic_g_l"])
	}
	sum := 0.0
	for _, s := range []string{"lagging", "active", "stalled", "finished"} {
		p, ok := b.State[s]
		if !ok || p < 0 || p > 1 {
			t.Errorf("state.%s is %v", s, p)
		}
		sum += p
	}
	if len(b.State) != 4 || math.Abs(sum-1) > 1e-9 {
		t.Errorf("the states sum to %v: %v", sum, b.State)
	}
	if b.P == nil || *b.P != b.State["finished"] {
		t.Errorf("p_finished is %v, state.finished %v", raw["p_finished"], b.State["finished"])
	}
	before := ""
	for _, q := range []string{"q05", "q50", "q95"} {
		v, ok := b.Finish[q]
		date, isDate := v.(string)
		if _, err := time.Parse(time.DateOnly, date); !ok || v != nil && (!isDate || err != nil) {
			t.Errorf("finish.%s is %v", q, v)
		}
		if isDate && date < before {
			t.Errorf("finish.%s lies before the one before it: %v", q, b.Finish)
		}
		before = max(before, date)
	}
	if !slices.Contains([]string{"finished", "not_yet", "cannot_tell", "stalled"}, b.Decision.Call) || b.Decision.Reason == "" {
		t.Errorf("decision is %+v", b.Decision)
	}
	if flags, ok := raw["flags"].([]any); !ok {
		t.Errorf("flags is %v, want a list", flags)
	}
	if !whole {
		return
	}
	if _, ok := raw["next_test"].(map[string]any)["on"]; !ok || b.Next.What == "" || b.Next.Reason == "" {
		t.Errorf("next_test is %v", raw["next_test"])
	}
	none := false
	for _, option := range b.Next.Options {
		none = none || option["what"] == "none"
		for _, key := range []string{"what", "on", "cost", "minutes", "wrong_call_before", "wrong_call_after"} {
			if _, ok := option[key]; !ok {
				t.Errorf("option %v lacks %s", option["what"], key)
			}
		}
		for _, key := range []string{"wrong_call_before", "wrong_call_after"} {
			if p, ok := option[key].(float64); !ok || p < 0 || p > 0.5+1e-9 {
				t.Errorf("%s of %v is %v", key, option["what"], option[key])
			}
		}
		if option["what"] != "none" {
			if on, _ := option["on"].(string); on < b.At {
				t.Errorf("%v is to be made on %q, before %s", option["what"], on, b.At)
			}
		}
	}
	if !none {
		t.Error("none is not among the options")
	}
}

// Facts that are missing and facts that are null say the same, and none is needed.
func TestMaloWithFactsMissing(t *testing.T) {
	t.Parallel()
	raw, err := os.ReadFile(facts)
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]any
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	ask := func(f map[string]any) (string, string, int) {
		given, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		return elevage(t, string(given), "malo", "--json", "--draws", "60", "--brief", "--lot", "-", "--readings", readings, "--at", "2026-11-10")
	}
	for key := range all {
		missing, null := map[string]any{}, map[string]any{}
		for k, v := range all {
			null[k] = v
			if k != key {
				missing[k] = v
			}
		}
		null[key] = nil
		first, errs, code := ask(missing)
		if code != 0 {
			t.Errorf("without %s: exit code %d: %s", key, code, errs)
			continue
		}
		b, r := believed(t, first)
		agreed(t, b, r, false)
		if second, _, _ := ask(null); second != first {
			t.Errorf("%s missing and %s null give two answers", key, key)
		}
	}
	if out, errs, code := ask(map[string]any{}); code != 0 || !strings.Contains(out, "assumption") {
		t.Errorf("with no facts at all: exit code %d, %s; what was assumed is not told: %.300s", code, errs, out)
	}
}

// The day judged belongs to it; what comes later is not looked at. The same
// question has the same answer.
func TestMaloJudgesOnItsDay(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	rows, err := os.ReadFile(readings)
	if err != nil {
		t.Fatal(err)
	}
	file := func(name string, keep func(string) bool) string {
		var b strings.Builder
		for line := range strings.Lines(string(rows)) {
			if keep(line) {
				b.WriteString(line)
			}
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	ask := func(path, at string) string {
		out, errs, code := elevage(t, "", "malo", "--json", "--draws", "60", "--brief", "--lot", facts, "--readings", path, "--at", at)
		if code != 0 {
			t.Fatalf("exit code %d: %s", code, errs)
		}
		return out
	}
	whole := ask(readings, "2026-11-05")
	if again := ask(readings, "2026-11-05"); again != whole {
		t.Error("the same question had two answers")
	}
	if cut := ask(file("to the day.csv", func(l string) bool { return !strings.HasPrefix(l, "2026-11-10") }), "2026-11-05"); cut != whole {
		t.Error("rows later than the day judged changed the answer")
	}
	if without := ask(file("to the day before.csv", func(l string) bool { return !strings.HasPrefix(l, "2026-11-") }), "2026-11-05"); without == whole {
		t.Error("rows of the day judged are not looked at")
	}
}
