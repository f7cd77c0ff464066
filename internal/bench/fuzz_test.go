package bench

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// FuzzParseAmount: whatever is typed, a number comes out finite or not at all.
func FuzzParseAmount(f *testing.F) {
	for _, seed := range []string{"3.47", "3,47", "1,500", "6 gal", "68 °F", "1e309", "NaN", "-0", "5e", "µ", "0x1p-2", "1 000", "٣", "12 % vol", strings.Repeat("9", 400)} {
		f.Add(seed)
	}
	units := []Unit{litre, gram, mgPerL, celsius, percentVol, pascalBar, ph, plain}
	f.Fuzz(func(t *testing.T, text string) {
		for _, u := range units {
			if x, err := parseAmount(text, u); err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
				t.Errorf("%q in %s is %v", text, u.Symbol, x)
			}
			_, _ = parseDifference(text, u)
		}
	})
}

// FuzzArgs asks calculators with whatever is typed: never a panic, never a figure
// that is no number.
func FuzzArgs(f *testing.F) {
	all := All()
	for i, c := range all {
		f.Add(i, strings.Join(c.Example, "\n"))
	}
	f.Add(0, "lots=a,1;;b")
	f.Add(3, "ph=3.4\nph_pm=1e300")
	f.Fuzz(func(t *testing.T, n int, text string) {
		given, err := ParseArgs(strings.Split(text, "\n"))
		if err != nil {
			return
		}
		c := all[((n%len(all))+len(all))%len(all)]
		if result, err := c.Run(given); err == nil {
			sound(t, result)
		}
	})
}

// FuzzJSON does the same through the other door.
func FuzzJSON(f *testing.F) {
	all := All()
	for i, c := range all {
		given, err := ParseArgs(c.Example)
		if err != nil {
			f.Fatal(err)
		}
		text, err := json.Marshal(given)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(i, string(text))
	}
	f.Add(0, `{"lots":[{"lot":1,"volume_l":"6 gal"}],"lots":[]}`)
	f.Add(0, `{"a":[[[[[[[[[[`)
	f.Fuzz(func(t *testing.T, n int, text string) {
		given, err := ParseJSON([]byte(text))
		if err != nil {
			return
		}
		c := all[((n%len(all))+len(all))%len(all)]
		if result, err := c.Run(given); err == nil {
			sound(t, result)
		}
	})
}

// sound wants every figure finite and the result printable at every door.
func sound(t *testing.T, r Result) {
	t.Helper()
	for _, fig := range r.Figures {
		if !finite(fig.Number) || !finite(fig.Plus) {
			t.Errorf("%s of %s is %v ± %v", fig.Key, r.Calculator, fig.Number, fig.Plus)
		}
		for _, row := range fig.Rows {
			for key, v := range row {
				if x, ok := v.(float64); ok && !finite(x) {
					t.Errorf("%s.%s of %s is %v", fig.Key, key, r.Calculator, x)
				}
			}
		}
	}
	if _, err := json.Marshal(r); err != nil {
		t.Errorf("%s: %v", r.Calculator, err)
	}
	_ = r.Text() + r.Explain()
}
