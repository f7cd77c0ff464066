package advise

import (
	"testing"

	"cel.dev/cel-go/common/types"

	"elevage/internal/cellar"
)

var cellarFinished = cellar.Verdict{Vessel: "d1", Says: cellar.VerdictMalolacticFinished}

// aSubject is a red in d1 of which pH and temperature are known and free SO2 is not.
func aSubject(t *testing.T) *subject {
	t.Helper()
	d := newDiary(t)
	pressed(d)
	d.read("d1", cellar.ReadTemperature, "68", "°F")
	p, err := newPlan(Input{State: d.state(), Now: d.now})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range p.all {
		if s.scope == OfParcel && s.vessel.Slug == "d1" {
			return s
		}
	}
	t.Fatal("no parcel in d1")
	return nil
}

// Unknown is neither true nor false (Kleene's strong logic of three values): it
// decides nothing that a known part decides, and is kept where it matters.
func TestThreeAnswers(t *testing.T) {
	t.Parallel()
	s := aSubject(t)
	for text, want := range map[string]string{
		"wine.ph < 3.6":                                                            "true",
		"wine.ph > 3.6":                                                            "false",
		"wine.free_so2 < mg_l(10)":                                                 "unknown",
		"wine.free_so2 >= mg_l(10)":                                                "unknown",
		"!(wine.free_so2 < mg_l(10))":                                              "unknown",
		"wine.free_so2 < mg_l(10) && wine.ph > 3.6":                                "false",
		"wine.ph > 3.6 && wine.free_so2 < mg_l(10)":                                "false",
		"wine.free_so2 < mg_l(10) || wine.ph < 3.6":                                "true",
		"wine.free_so2 < mg_l(10) && wine.ph < 3.6":                                "unknown",
		"wine.free_so2 < mg_l(10) || wine.ph > 3.6":                                "unknown",
		"known(wine.free_so2)":                                                     "false",
		"known(wine.ph)":                                                           "true",
		"either(wine.free_so2, mg_l(3)) == mg_l(3)":                                "true",
		"either(wine.ph, 9.9) < 4.0":                                               "true",
		"wine.free_so2 < mg_l(10) ? true : true":                                   "unknown",
		"wine.free_so2 + mg_l(1) > mg_l(0)":                                        "unknown",
		"known(wine.free_so2 + mg_l(1))":                                           "false",
		`done["never-ticked"] < today`:                                             "true",
		"wine.temperature == celsius(20)":                                          "true", // 68 °F
		"mg_l(1000) == g_l(1) && g_l(2) / g_l(4) == 0.5":                           "true",
		"today - days(3) < today && today - (today - weeks(1)) == days(7)":         "true",
		"larger(days(3), days(5)) == days(5) && smaller(g_l(1), g_l(2)) == g_l(1)": "true",
		"days(2) * 3 == days(6)":                                                   "true",
		"at.sulfited < today && at.sulfited == never_on_record":                    "true",
	} {
		f, wrong := compile(language, "test", text, 1, nil)
		if wrong != nil {
			t.Errorf("%s: %v", text, wrong)
			continue
		}
		v, unknown, err := f.eval(s)
		got := ""
		switch {
		case err != nil:
			got = err.Error()
		case unknown != nil:
			got = "unknown"
			if unknown[0] != "wine.free_so2" {
				t.Errorf("%s: unknown for want of %v", text, unknown)
			}
		case v == types.True:
			got = "true"
		case v == types.False:
			got = "false"
		}
		if got != want {
			t.Errorf("%s is %s, not %s", text, got, want)
		}
	}
}

// What cannot be worked out is an error, not an answer.
func TestBounds(t *testing.T) {
	t.Parallel()
	s := aSubject(t)
	for _, text := range []string{`1 / 0 > 0`, `int(lot.name) > 0`} {
		f, wrong := compile(language, "test", text, 1, nil)
		if wrong != nil {
			t.Fatalf("%s: %v", text, wrong)
		}
		if v, _, err := f.eval(s); err == nil {
			t.Errorf("%s gives %v", text, v)
		}
	}
}

// Every word answers for every subject without a panic, with its declared type or
// not at all.
func TestEveryWordAnswers(t *testing.T) {
	t.Parallel()
	in, _ := aCellarOf(t, 3)
	p, err := newPlan(in)
	if err != nil {
		t.Fatal(err)
	}
	answered := map[string]bool{}
	for _, s := range p.all {
		for name, w := range vocabulary {
			v, ok := s.ResolveName(name)
			if !ok || v == nil {
				t.Errorf("%s has no answer", name)
				continue
			}
			if _, unknown := v.(*types.Unknown); unknown {
				continue
			}
			answered[name] = true
			m, isMeasure := v.(measure)
			if isMeasure && !celTypes[m.kind].IsExactType(w.typ) {
				t.Errorf("%s gives a %s, declared is %v", name, m.kind, w.typ)
			}
		}
	}
	if len(answered) < len(vocabulary)/2 {
		t.Errorf("only %d of %d words were ever answered", len(answered), len(vocabulary))
	}
}
