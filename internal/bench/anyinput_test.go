package bench

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"sync/atomic"
	"testing"

	"pgregory.net/rapid"

	"elevage/internal/fault"
)

// TestAnythingAllowedIsAnswered draws inputs from all that each declaration
// allows, the ends included: the answer is a sound result, a stop, or a fault
// that says what is allowed; never a panic, never a figure that is no number.
func TestAnythingAllowedIsAnswered(t *testing.T) {
	t.Parallel()
	var answered atomic.Int64
	t.Run("each", func(t *testing.T) {
		for _, c := range All() {
			t.Run(c.Name, func(t *testing.T) {
				t.Parallel()
				rapid.Check(t, func(t *rapid.T) {
					if askAnything(t, c) {
						answered.Add(1)
					}
				})
			})
		}
	})
	if least := int64(10 * len(All())); answered.Load() < least {
		t.Errorf("only %d drawn inputs were answered with figures, fewer than %d: the test is nearly blind", answered.Load(), least)
	}
}

// askAnything draws one input and judges what comes back; it tells whether
// figures did.
func askAnything(t *rapid.T, c *Calculator) bool {
	given := draw(t, c.Inputs, c.Groups)
	if rapid.Bool().Draw(t, "overruled") {
		given[overrule] = "drawn by a test, not by a person"
	}
	result, err := c.Run(given)
	var stop *StopError
	switch {
	case err == nil:
		wellMade(t, result)
		return true
	case errors.As(err, &stop):
	case fault.KindOf(err) != fault.Invalid:
		t.Fatalf("kind %v: %v", fault.KindOf(err), err)
	case strings.TrimSpace(fault.Message(err)) == "":
		t.Fatal("a refusal without words")
	}
	return false
}

// wellMade wants every figure finite and every shown formula to give its result.
func wellMade(t *rapid.T, r Result) {
	t.Helper()
	for _, fig := range r.Figures {
		if !finite(fig.Number) || !finite(fig.Plus) || fig.Plus < 0 {
			t.Fatalf("%s is %v ± %v", fig.Key, fig.Number, fig.Plus)
		}
	}
	for _, s := range r.Steps {
		if s.How != "" {
			continue
		}
		if got, err := evaluate(s); err != nil || math.Abs(got-s.Result) > 1e-8*max(1, math.Abs(s.Result)) {
			t.Fatalf("step %q: %s gives %v (%v), not %v", s.Title, s.WithNumbers(), got, err, s.Result)
		}
	}
	if _, err := json.Marshal(r); err != nil {
		t.Fatal(err)
	}
}

// draw makes an input that keeps each field's own rules, and most often those
// of the groups.
func draw(t *rapid.T, inputs []Input, groups []Group) Given {
	given := Given{}
	for i := range inputs {
		in := &inputs[i]
		if in.Required || rapid.IntRange(0, 2).Draw(t, "give "+in.Key) == 0 {
			given[in.Key] = drawValue(t, in)
			if in.takesPlus() && rapid.IntRange(0, 3).Draw(t, "± of "+in.Key) == 0 {
				given[in.Key+plus] = rapid.Float64Range(0, (in.Max-in.Min)/20).Draw(t, in.Key+plus)
			}
		}
	}
	for _, g := range groups {
		if g.Rule == AllOrNone {
			if given[g.Keys[0]] == nil {
				for _, key := range g.Keys {
					drop(given, key)
				}
				continue
			}
			for i := range inputs {
				if in := &inputs[i]; strings.Contains(" "+strings.Join(g.Keys, " ")+" ", " "+in.Key+" ") && given[in.Key] == nil {
					given[in.Key] = drawValue(t, in)
				}
			}
			continue
		}
		one := rapid.SampledFrom(g.Keys).Draw(t, "of the group")
		for i := range inputs {
			in := &inputs[i]
			switch {
			case in.Key == one && given[one] == nil:
				given[one] = drawValue(t, in)
			case in.Key != one && g.Rule == ExactlyOne && strings.Contains(" "+strings.Join(g.Keys, " ")+" ", " "+in.Key+" "):
				drop(given, in.Key)
			}
		}
	}
	return given
}

func drop(given Given, key string) {
	delete(given, key)
	delete(given, key+plus)
}

func drawValue(t *rapid.T, in *Input) any {
	number := func(label string) float64 {
		switch rapid.IntRange(0, 9).Draw(t, "where "+label) {
		case 0:
			return in.Min
		case 1:
			return in.Max
		case 2, 3, 4, 5: // near what is usual: small numbers, evenly by size
			if in.Max > 0 {
				low := math.Max(in.Min, in.Max*1e-4)
				return math.Exp(rapid.Float64Range(math.Log(low), math.Log(in.Max)).Draw(t, label))
			}
		}
		return rapid.Float64Range(in.Min, in.Max).Draw(t, label)
	}
	switch in.Kind {
	case Option:
		return in.Options[rapid.IntRange(0, len(in.Options)-1).Draw(t, in.Key)].Value
	case YesNo:
		return rapid.SampledFrom([]string{"yes", "no"}).Draw(t, in.Key)
	case Date:
		return "2026-11-10"
	case Text:
		return rapid.SampledFrom([]string{"c1", "6 gal", "25 g/hL", "20 °C", "L", "mg/L", "F"}).Draw(t, in.Key)
	case List:
		list := make([]any, rapid.IntRange(in.MinRows, min(in.MaxRows, in.MinRows+5)).Draw(t, "numbers"))
		for i := range list {
			list[i] = clamp(number(in.Key), in)
		}
		return list
	case Table:
		rows := make([]any, rapid.IntRange(in.MinRows, min(in.MaxRows, in.MinRows+3)).Draw(t, "rows"))
		for i := range rows {
			rows[i] = map[string]any(draw(t, in.Columns, nil))
		}
		return rows
	}
	return clamp(number(in.Key), in)
}

// clamp takes back the last bit that exp and log may have added.
func clamp(x float64, in *Input) float64 { return math.Max(in.Min, math.Min(in.Max, x)) }
