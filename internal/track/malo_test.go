package track

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func day(s string) time.Time {
	t, err := time.Parse(DateLayout, s)
	if err != nil {
		panic(err)
	}
	return t
}

func carboy(t testing.TB) Input {
	t.Helper()
	f, err := os.Open("testdata/carboy.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	facts, err := ReadFacts(f)
	if err != nil {
		t.Fatal(err)
	}
	c, err := os.Open("testdata/carboy.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	readings, bad, err := ReadReadings(c, false)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	return Input{Facts: facts, Readings: readings}
}

// The contract of the command and the API: keys, sums, identities.
func TestBeliefContract(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	for _, at := range []string{"2026-10-01", "2026-10-08", "2026-11-05", "2026-11-10", "2027-02-01"} {
		in.At = day(at)
		b, err := Malo(in)
		if err != nil {
			t.Fatal(err)
		}
		if s := b.State.Lagging + b.State.Active + b.State.Stalled + b.State.Finished; math.Abs(s-1) > 1e-3 {
			t.Errorf("%s: states sum to %v", at, s)
		}
		if b.PFinished != b.State.Finished {
			t.Errorf("%s: p_finished %v, state.finished %v", at, b.PFinished, b.State.Finished)
		}
		if !(b.Malic.Q05 <= b.Malic.Q50 && b.Malic.Q50 <= b.Malic.Q95) {
			t.Errorf("%s: quantiles out of order: %+v", at, b.Malic)
		}
		seen := map[string]bool{}
		for _, o := range b.NextTest.Options {
			seen[o.What] = true
			if o.WrongAfter > o.WrongBefore+1e-9 {
				t.Errorf("%s: %s makes a wrong call likelier: %+v", at, o.What, o)
			}
		}
		if !seen["none"] || len(seen) != 1+len(DefaultTests()) {
			t.Errorf("%s: options %v", at, seen)
		}
		raw, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		var m map[string]any
		if err := json.Unmarshal(raw, &m); err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{"malic_g_l", "p_finished", "state", "finish", "decision", "next_test", "flags"} {
			if m[key] == nil {
				t.Errorf("%s: JSON lacks %q", at, key)
			}
		}
		if strings.Contains(string(raw), "NaN") {
			t.Error("NaN in JSON")
		}
	}
}

func TestLaterRowsAreIgnoredAndTheDayItselfCounts(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.Options.Brief = true
	belief := func(at string, rows []Reading) Belief {
		in.At, in.Readings = day(at), rows
		b, err := Malo(in)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	all := in.Readings
	var early []Reading
	for _, r := range all {
		if r.On.Before(day("2026-11-10")) {
			early = append(early, r)
		}
	}
	if a, b := belief("2026-11-09", all), belief("2026-11-09", early); a.PFinished != b.PFinished || a.Malic != b.Malic {
		t.Error("a later row changed the belief")
	}
	if a, b := belief("2026-11-10", all), belief("2026-11-10", early); a.PFinished < b.PFinished+0.1 {
		t.Errorf("the clear sheet of the day itself did not count: %.2f against %.2f", a.PFinished, b.PFinished)
	}
}

func TestSameSeedSameBelief(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At = day("2026-11-05")
	a, _ := Malo(in)
	b, _ := Malo(in)
	if d := cmp.Diff(a, b); d != "" {
		t.Error(d)
	}
	in.Options.Seed = 2
	c, _ := Malo(in)
	if math.Abs(a.PFinished-c.PFinished) > 6*math.Hypot(a.Sampler.Error, c.Sampler.Error) {
		t.Errorf("seeds differ by more than their Monte Carlo error: %.3f ± %.3f against %.3f ± %.3f", a.PFinished, a.Sampler.Error, c.PFinished, c.Sampler.Error)
	}
}

// pH, however rich, and pH with the airlock never certify the end (inference.md of
// the design and K44-K45 of the reference: one pH reading fixes malic acid to 0.4 to
// 0.75 g/L).
func TestPHAndBubblesNeverCertify(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.Readings = nil
	for d := 4; d <= 150; d += 3 {
		on := day("2026-10-01").AddDate(0, 0, d)
		ph := 3.45 + 0.11/(1+math.Exp(-(float64(d)-25)/4))
		in.Readings = append(in.Readings, Reading{On: on, What: PH, Value: ph, Text: fmt.Sprintf("%.2f", ph)},
			Reading{On: on, What: PHCheck356, Value: 3.557, Text: "3.56"}, Reading{On: on, What: PHControl, Value: 3.45, Text: "3.45"})
		if d > 50 {
			in.Readings = append(in.Readings, Reading{On: on, What: Bubble, Value: NoBubbleSeconds, Text: "7200"})
		}
	}
	in.At = day("2027-02-28")
	b, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	if b.Decision.Call == CallFinished || b.Decision.Carried {
		t.Errorf("called %s at %.3f", b.Decision.Call, b.PFinished)
	}
	if b.NextTest.What != string(Chromatogram) && b.NextTest.What != string(Malic) {
		t.Errorf("the advice is %q, not a test that sees malic acid: %s", b.NextTest.What, b.NextTest.Reason)
	}
}

// One clear chromatogram after the end settles it, one before the middle does not,
// and a strong spot says what it says.
func TestAChromatogramSettles(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At = day("2026-11-12")
	b, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	if b.Decision.Call != CallFinished {
		t.Errorf("after a clear sheet on the 10th: %s at %.3f: %s", b.Decision.Call, b.PFinished, b.Decision.Reason)
	}
	in.Readings[len(in.Readings)-1].Text = SpotStrong
	if b, err = Malo(in); err != nil {
		t.Fatal(err)
	}
	// One sheet in a hundred is taken to read strong for no reason (a third of the
	// misreads), so the chance falls about a hundredfold in odds, not to nothing.
	if b.PFinished > 0.1 || b.Decision.Call == CallFinished {
		t.Errorf("after a strong spot: %s at %.3f", b.Decision.Call, b.PFinished)
	}
}

func TestTheOddReadingIsNamed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, value, hint string }{
		{"digits swapped", "3.15", "two digits swapped (3.51)"},
		{"another vessel", "3.90", "another vessel"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			in := carboy(t)
			for i := range in.Readings {
				r := &in.Readings[i]
				if r.What == PH && r.On.Equal(day("2026-10-22")) {
					r.Text = c.value
					fmt.Sscan(c.value, &r.Value)
				}
			}
			in.At = day("2026-11-05")
			b, err := Malo(in)
			if err != nil {
				t.Fatal(err)
			}
			found := false
			for _, f := range b.Flags {
				found = found || f.Kind == "contradiction" && f.Line == 10 && strings.Contains(f.Message, c.hint)
			}
			if !found {
				t.Errorf("not named: %+v", b.Flags)
			}
		})
	}
}

func TestWithHardlyAnyFacts(t *testing.T) {
	t.Parallel()
	facts, err := ReadFacts(strings.NewReader(`{"name":"bare","malic_g_l":null}`))
	if err != nil {
		t.Fatal(err)
	}
	b, err := Malo(Input{Facts: facts, At: day("2026-11-10")})
	if err != nil {
		t.Fatal(err)
	}
	if b.Decision.Call == CallFinished || float64(b.Malic.Q95-b.Malic.Q05) < 1 {
		t.Errorf("sure of itself without facts: %+v", b.Malic)
	}
	if len(b.Flags) == 0 || b.Flags[0].Kind != "assumption" {
		t.Errorf("assumptions not named: %+v", b.Flags)
	}
}

func TestInputThatCannotBeJudged(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	for name, c := range map[string]struct {
		change func(*Input)
		want   string
	}{
		"no day":             {func(in *Input) {}, "the day on which to judge is missing"},
		"future inoculation": {func(in *Input) { in.At = day("2026-09-01") }, "inoculated is 2026-10-01"},
		"silly limit":        {func(in *Input) { in.At = day("2026-11-01"); in.Options.Limit = 5 }, "limit of malic acid is 5 g/L"},
		"too few particles":  {func(in *Input) { in.At = day("2026-11-01"); in.Options.Particles = 3 }, "particles is 3"},
	} {
		t.Run(name, func(t *testing.T) {
			in := in
			c.change(&in)
			if _, err := Malo(in); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %q", err, c.want)
			}
		})
	}
}
