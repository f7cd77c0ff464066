package advise

import (
	"regexp"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

// slips are what a sentence put together from figures must not say. The patterns are
// of this project; no source.
var slips = []*regexp.Regexp{
	regexp.MustCompile(`(^|[^.\d])1 (vessels|lots|wines|bottles|acts|spots|days|weeks|months|hours|minutes|litres|readings|times)\b`),
	regexp.MustCompile(`(?i)(^|[^.\d])\b(one|1) \w+ (hold|ferment|stand|are|were)\b`),
	regexp.MustCompile(`(?i)\b(last \w+|read|on|since|by|about) never\b`),
	regexp.MustCompile(`(?i)\bno (day|time) on record\b`),
	regexp.MustCompile(`NaN|[+-]?Inf\b|%!|<nil>|map\[|0001`),
	regexp.MustCompile(`(?i)\b(chance of|with) (0|100) %`),
	regexp.MustCompile(`(?i)\bunknown\b`),
	regexp.MustCompile(` [,.;:]|\.\.|,,|;;|  |\(\)|: \.`),
	regexp.MustCompile(`\bPH\b`),
	regexp.MustCompile(`(?i)\b(by|to|raises .* by|for) -\d`),
}

// slipIn is what is wrong with a sentence, "" if nothing is.
func slipIn(text string) string {
	for _, s := range slips {
		if m := s.FindString(text); m != "" {
			return m
		}
	}
	words := strings.Fields(text)
	for i := 1; i < len(words); i++ {
		if strings.EqualFold(words[i], words[i-1]) && words[i] != "____" {
			return words[i-1] + " " + words[i]
		}
	}
	return ""
}

// Sweep is sweep for the tests outside the package.
var Sweep = sweep

// sweep looks for slips in every sentence of a plan.
func sweep(t testing.TB, p Today) {
	t.Helper()
	look := func(where string, texts ...string) {
		t.Helper()
		for _, text := range texts {
			if slip := slipIn(text); slip != "" {
				t.Errorf("%s says %q in: %s", where, slip, text)
			}
		}
	}
	for _, a := range p.Acts {
		look(a.ID, a.Do, a.Why, a.Late, a.Tool)
		look(a.ID, a.Order...)
		look(a.ID, a.WaitingOn...)
		for _, c := range a.Cautions {
			look(a.ID, c.Text)
		}
		if a.Moved != nil {
			look(a.ID, a.Moved.Because)
		}
	}
	for _, b := range p.Batches {
		look(b.Key, b.Title, b.Says)
	}
	for _, q := range p.Quiet {
		look(q.Vessel, q.For)
	}
	for _, h := range p.Held {
		look(h.Step, h.Act, h.Reason)
	}
	look("come back", p.For)
}

// What has to be at hand is said once, and whoever is sent to measure is told with what.
func TestNeedsAreSaidOnce(t *testing.T) {
	t.Parallel()
	got := strings.Join(atHand([]string{"free SO2 test", "hydrometer or refractometer", "hydrometer", "titrant", "indicator or pH meter", "free SO2 test", "total SO2 test"}), "; ")
	if want := "free SO2 test; hydrometer; titrant; indicator or pH meter; total SO2 test"; got != want {
		t.Errorf("at hand: %s, want %s", got, want)
	}
	for _, p := range BuiltIn().Protocols {
		for _, s := range p.Steps {
			if s.write != nil && s.write.kind == cellar.KindReading && s.write.fields["what"] != cellar.ReadAlcohol && len(s.Needs) == 0 {
				t.Errorf("%s of %s is a reading, and nothing says with what", s.ID, p.Name)
			}
			for _, n := range s.Needs {
				if strings.Contains(n, " and ") && !strings.HasPrefix(n, "buffers ") {
					t.Errorf("%s of %s needs %q: two things in one are said twice elsewhere", s.ID, p.Name, n)
				}
			}
		}
	}
}

// The sweep itself must be able to fail.
func TestSlipsAreSeen(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"1 vessels hold wine", "One vessel hold wine", "last checked never.", "pH was last read never", "settles it with a chance of 0 %",
		"Of pH and warmth, unknown is hard here", "NaN mg/L", "the the wine", "Waiting on .", "raises the total SO2 by -0.8 mg/L", "It fell for no time on record"} {
		if slipIn(text) == "" {
			t.Errorf("%q passes", text)
		}
	}
	for _, text := range []string{"1 vessel holds wine", "Last topped 3 November.", "Never topped on record.", "a chance of 33 %", "under 1 %"} {
		if slip := slipIn(text); slip != "" {
			t.Errorf("%q is said to hold %q", text, slip)
		}
	}
}
