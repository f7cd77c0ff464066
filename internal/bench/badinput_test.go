package bench

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"elevage/internal/fault"
)

// TestEveryFieldRefusesNonsense takes each calculator's example and spoils one
// field after another: text, not-a-number, infinities, out of range, missing.
func TestEveryFieldRefusesNonsense(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		t.Run(c.Name, func(t *testing.T) {
			for i := range c.Inputs {
				spoil(t, c, &c.Inputs[i])
			}
		})
	}
}

func spoil(t *testing.T, c *Calculator, in *Input) {
	t.Helper()
	bad := []any{map[string]any{"a": "b"}}
	switch in.Kind {
	case Number:
		bad = append(bad, "plenty", "NaN", "Inf", "-Inf", "1e999", "0x10", "1_000", math.NaN(), math.Inf(1), true, []any{1.0}, "3 4", "--5", "1.2.3", "5 parsecs", json.Number("1e400"))
		bad = append(bad, in.Max+math.Abs(in.Max)*0.01+1e-3, in.Min-math.Abs(in.Min)*0.01-1e-3)
	case Option:
		bad = append(bad, "anything else", 12.0)
	case YesNo:
		bad = append(bad, "perhaps", 2.0)
	case Date:
		bad = append(bad, "tomorrow", "2026-13-01", "10.11.2026", "0000-01-01")
	case Text:
		bad = append(bad, strings.Repeat("x", 300), "two\nlines", 1.5, true)
	case List:
		bad = append(bad, "a,b", []any{"x"}, []any{}, true)
	case Table:
		bad = append(bad, "a", []any{}, []any{"row"}, 7.0, true, []any{map[string]any{"nonsense": 1.0}})
	}
	for _, raw := range bad {
		given, err := ParseArgs(c.Example)
		if err != nil {
			t.Fatal(err)
		}
		given[in.Key] = raw
		if _, err := c.Run(given); !names(err, in.Key) {
			t.Errorf("%s = %v is not refused by name: %v", in.Key, show(raw), err)
		}
	}
	given, _ := ParseArgs(c.Example)
	delete(given, in.Key)
	delete(given, in.Key+plus)
	if _, err := c.Run(given); in.Required && !names(err, in.Key) {
		t.Errorf("%s may be missing", in.Key)
	}
	if in.takesPlus() {
		for _, raw := range []any{"wide", -0.1, math.NaN(), 1e12} {
			given, _ := ParseArgs(c.Example)
			if _, ok := given[in.Key]; !ok {
				continue
			}
			given[in.Key+plus] = raw
			if _, err := c.Run(given); !names(err, in.Key+plus) {
				t.Errorf("%s%s = %v is not refused by name: %v", in.Key, plus, show(raw), err)
			}
		}
	}
}

// names tells whether an error of kind Invalid names the field, or a cell or
// group it is in, and says what is allowed.
func names(err error, key string) bool {
	for _, f := range fault.FieldsOf(err) {
		if (f.Name == key || strings.HasPrefix(f.Name, key+"[") || strings.Contains(" "+f.Name+" ", " "+key+" ")) && (f.Allowed != "" || f.Hint != "") {
			return fault.KindOf(err) == fault.Invalid
		}
	}
	return false
}

// TestAllFaultsAtOnce: everything that is wrong is said in one go.
func TestAllFaultsAtOnce(t *testing.T) {
	t.Parallel()
	c, _ := Find("so2-addition")
	_, err := c.Run(Given{"ph": "12", "colour": "green", "free_so2_mgl": "3", "volume_l": "lots"})
	for _, key := range []string{"ph", "colour", "free_so2_mgl", "free_so2_mg_l", "volume_l", "target_molecular_mg_l"} {
		if !names(err, key) {
			t.Errorf("%s is not among the faults: %v", key, err)
		}
	}
	if !strings.Contains(err.Error(), "free_so2_mg_l?") {
		t.Errorf("the likely key is not suggested: %v", err)
	}
}

func TestFind(t *testing.T) {
	t.Parallel()
	_, err := Find("molecular-so")
	if fault.KindOf(err) != fault.NotFound || !strings.Contains(err.Error(), "molecular-so2") {
		t.Errorf("no suggestion: %v", err)
	}
	if _, err := Find("teleport"); err == nil || strings.Contains(err.Error(), "mean") {
		t.Errorf("a suggestion out of the blue: %v", err)
	}
}

func TestParseAmount(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		text string
		unit Unit
		want float64
		bad  bool
	}{
		{"3.47", ph, 3.47, false},
		{"3,47", ph, 3.47, false},
		{" 3.47 ", ph, 3.47, false},
		{"0,125", litre, 0.125, false},
		{"1,500", litre, 0, true},
		{"1,500.5", litre, 0, true},
		{"1.5e2", litre, 150, false},
		{"6 gal", litre, 22.712470704, false},
		{"6gal", litre, 22.712470704, false},
		{"500 mL", litre, 0.5, false},
		{"2 hL", litre, 200, false},
		{"68 °F", celsius, 20, false},
		{"68F", celsius, 20, false},
		{"293.15 K", celsius, 20, false},
		{"25 g/hL", mgPerL, 250, false},
		{"30 ppm", mgPerL, 30, false},
		{"5000 ppm", ppm, 5000, false},
		{"1 atm", pascalBar, 1.01325, false},
		{"12 %", percentVol, 12, false},
		{"12 % vol", percentVol, 12, false},
		{"3 m", litre, 0, true},
		{"3.4 mg/L", ph, 0, true},
		{"5 eggs", gram, 0, true},
		{"5e", gram, 0, true},
		{"", gram, 0, true},
		{"g", gram, 0, true},
		{"+3", gram, 3, false},
		{"1,2,3", gram, 0, true},
	} {
		got, err := parseAmount(row.text, row.unit)
		if (err != nil) != row.bad || math.Abs(got-row.want) > 1e-9*math.Abs(row.want) {
			t.Errorf("%q in %s is %v, %v; want %v (bad %v)", row.text, row.unit.Symbol, got, err, row.want, row.bad)
		}
	}
}

// TestPlusOfATemperatureIsADifference: ± 2 °F is 1.1 °C, not -16.7.
func TestPlusOfATemperatureIsADifference(t *testing.T) {
	t.Parallel()
	r := ask(t, "hydrometer", Given{"reading_brix": "20", "temp_c": "77 F", "temp_c_pm": "1.8 F"})
	for _, in := range r.Inputs {
		if in.Key == "temp_c_pm" && math.Abs(in.value.(float64)-1) > 1e-9 {
			t.Errorf("± is %v °C", in.value)
		}
	}
}

func TestDoors(t *testing.T) {
	t.Parallel()
	if _, err := ParseArgs([]string{"ph", "=3", "a=1", "a=2"}); len(fault.FieldsOf(err)) != 3 {
		t.Errorf("three faults expected: %v", err)
	}
	for _, text := range []string{`{"ph":3.4,"ph":3.5}`, `{"ph":3.4} x`, `[1]`, `{"ph":`, ``, `{"a":[[[[[[[[[[1]]]]]]]]]]}`, `{"ph":NaN}`} {
		if _, err := ParseJSON([]byte(text)); fault.KindOf(errOr(err)) != fault.Invalid {
			t.Errorf("%s is taken: %v", text, err)
		}
	}
	given, err := ParseForm(map[string][]string{"lots.0.lot": {"c1"}, "lots.0.volume_l": {"54"}, "lots.2.lot": {"c2"}, "lots.2.volume_l": {"23"}, "packet_g": {"2.5"}, "packet_volume_l": {"250"}, "suspension_ml": {""}})
	if err != nil {
		t.Fatal(err)
	}
	r := ask(t, "culture-split", given)
	if f, _ := r.Figure("shares"); len(f.Rows) != 2 || f.Rows[1]["lot"] != "c2" {
		t.Errorf("rows are %v", f.Rows)
	}
	if _, err := ParseForm(map[string][]string{"a.b.c": {"1"}, "d": {"1", "2"}}); len(fault.FieldsOf(err)) != 2 {
		t.Errorf("two faults expected: %v", err)
	}
	null, err := ParseJSON([]byte(`{"free_so2_mg_l":30,"ph":3.4,"temp_c":null}`))
	if err != nil {
		t.Fatal(err)
	}
	ask(t, "molecular-so2", null)
}

func errOr(err error) error {
	if err == nil {
		return errors.New("none")
	}
	return err
}

// TestSchemaCoversEveryKey: the described interface and the declared one are one.
func TestSchemaCoversEveryKey(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		text, err := json.Marshal(c.InputSchema())
		if err != nil {
			t.Fatal(err)
		}
		var schema struct {
			Properties map[string]json.RawMessage `json:"properties"`
		}
		if err := json.Unmarshal(text, &schema); err != nil {
			t.Fatal(err)
		}
		given, _ := ParseArgs(c.Example)
		for key := range given {
			if _, ok := schema.Properties[key]; !ok {
				t.Errorf("%s: the schema knows no %s", c.Name, key)
			}
		}
		if len(schema.Properties) < len(c.Inputs)+1 {
			t.Errorf("%s: the schema lacks inputs", c.Name)
		}
	}
}
