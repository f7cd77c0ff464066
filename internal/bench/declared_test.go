package bench

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"elevage/internal/fault"
	"elevage/science/cited"
)

var marks = []cited.Mark{cited.Read, cited.Computed, cited.SecondHand, cited.CommonPractice, cited.Memory, cited.Proposal}

// example runs a calculator's own example.
func example(t testing.TB, c *Calculator) Result {
	t.Helper()
	given, err := ParseArgs(c.Example)
	if err != nil {
		t.Fatal(err)
	}
	result, err := c.Run(given)
	if err != nil {
		t.Fatalf("the example does not run: %v", err)
	}
	return result
}

func TestEveryDeclarationIsWhole(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		t.Run(c.Name, func(t *testing.T) {
			if c.Title == "" || c.Purpose == "" || len(c.Example) == 0 || len(c.Outputs) == 0 {
				t.Error("title, purpose, example or outputs are missing")
			}
			if len(c.Sources) == 0 {
				t.Error("declares no source")
			}
			for _, s := range c.Sources {
				if s.Used == "" || !slices.Contains(marks, s.Mark) {
					t.Errorf("source %q says nothing or has no known mark %q", s.Ref, s.Mark)
				}
				if s.Ref == "" && s.Mark.Firm() && s.Mark != cited.Computed {
					t.Errorf("%q is marked as read but names no source", s.Used)
				}
			}
			for _, w := range append(slices.Clone(c.Cautions), c.Stops...) {
				if w.Code == "" || w.When == "" || w.Text == "" || !slices.Contains(marks, w.Mark) {
					t.Errorf("warning %q is not whole", w.Code)
				}
			}
			for _, in := range c.Inputs {
				checkInput(t, c, in)
			}
			for _, out := range c.Outputs {
				checkOutput(t, out)
			}
			if c.Check.Against == "" || !slices.Contains(marks, c.Check.Mark) {
				t.Error("declares no outside check")
			}
		})
	}
}

func checkInput(t *testing.T, c *Calculator, in Input) {
	t.Helper()
	if in.Label == "" || in.Help == "" && in.Kind == Number && in.Unit.Symbol == "" && in.Unit.dim == "" {
		t.Errorf("%s has no label, or is a plain number without help", in.Key)
	}
	suffix(t, in.Key, in.Unit, in.Kind)
	switch in.Kind {
	case Number:
		if in.Min >= in.Max {
			t.Errorf("%s has no range", in.Key)
		}
	case Option:
		if len(in.Options) < 2 {
			t.Errorf("%s has no options", in.Key)
		}
	case Table:
		for _, col := range in.Columns {
			checkInput(t, c, col)
		}
	}
	if (in.Kind == Table || in.Kind == List) && in.MaxRows < 1 {
		t.Errorf("%s has no bound on its rows", in.Key)
	}
	if in.Default != "" {
		r := reader{calculator: c.Name}
		r.value(in.Key, &in, in.Default, &value{})
		if len(r.faults) > 0 {
			t.Errorf("the default of %s is refused: %v", in.Key, r.faults)
		}
	}
	if in.Required && in.Default != "" {
		t.Errorf("%s is required and has a default", in.Key)
	}
}

func checkOutput(t *testing.T, out Output) {
	t.Helper()
	if out.Label == "" {
		t.Errorf("%s has no label", out.Key)
	}
	suffix(t, out.Key, out.Unit, out.Kind)
	if out.Kind == Table && len(out.Columns) == 0 {
		t.Errorf("%s has no columns", out.Key)
	}
	for _, col := range out.Columns {
		checkOutput(t, col)
	}
}

// suffix wants the key to end in its unit, and no unit that the key hides.
func suffix(t *testing.T, key string, u Unit, kind Kind) {
	t.Helper()
	if kind != Number && kind != List {
		return
	}
	if u == ph && slices.Contains(strings.Split(key, "_"), "ph") || key == "percent" || key == "low" || key == "high" {
		return
	}
	if u.Suffix != "" && key != u.Suffix && !strings.HasSuffix(key, "_"+u.Suffix) {
		t.Errorf("%s does not end in _%s", key, u.Suffix)
	}
}

// TestWorkingEndsAtTheFigures works every shown formula out from its shown
// numbers, and wants each figure to be the end of a step.
func TestWorkingEndsAtTheFigures(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		t.Run(c.Name, func(t *testing.T) {
			result := example(t, c)
			checkWorking(t, c, result)
			for _, row := range checks(t, c) {
				given, err := ParseArgs(row.args)
				if err != nil {
					continue
				}
				if result, err := c.Run(given); err == nil {
					checkWorking(t, c, result)
				}
			}
		})
	}
}

func checkWorking(t *testing.T, c *Calculator, result Result) {
	t.Helper()
	ends := map[string]float64{}
	for _, s := range result.Steps {
		if s.Output != "" {
			ends[s.Output] = s.Result
		}
		if s.How != "" || s.Formula == "" {
			if s.How == "" {
				t.Errorf("step %q has neither a formula nor words", s.Title)
			}
			continue
		}
		got, err := evaluate(s)
		if err != nil {
			t.Errorf("step %q: %v", s.Title, err)
			continue
		}
		if math.Abs(got-s.Result) > 1e-9*max(1, math.Abs(s.Result)) {
			t.Errorf("step %q: %s = %s gives %v, not %v", s.Title, s.InWords(), s.WithNumbers(), got, s.Result)
		}
		for _, term := range s.Terms {
			if !strings.Contains(s.Formula, "{"+term.Name+"}") {
				t.Errorf("step %q shows %q, which its formula does not use", s.Title, term.Name)
			}
		}
	}
	for _, f := range result.Figures {
		if end, ok := ends[f.Key]; f.Kind == Number && (!ok || end != f.Number) {
			t.Errorf("no step ends at %s = %v", f.Key, f.Number)
		}
	}
}

type checkRow struct {
	name, output, expected, source string
	args                           []string
	tolerance                      float64
	mark                           cited.Mark
}

// checks reads the outside check of a calculator.
func checks(t testing.TB, c *Calculator) []checkRow {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", "checks", c.Name+".csv"))
	if err != nil {
		t.Fatalf("the declared check does not exist: %v", err)
	}
	defer file.Close()
	in := csv.NewReader(file)
	in.Comment = '#'
	records, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(records) < 2 || !slices.Equal(records[0], []string{"case", "args", "output", "expected", "tolerance", "source", "mark"}) {
		t.Fatalf("testdata/checks/%s.csv has no rows or another head", c.Name)
	}
	var rows []checkRow
	for _, r := range records[1:] {
		row := checkRow{name: r[0], args: strings.Fields(r[1]), output: r[2], expected: r[3], source: r[5], mark: cited.Mark(r[6])}
		if r[4] != "" {
			if row.tolerance, err = strconv.ParseFloat(r[4], 64); err != nil {
				t.Fatalf("%s: %v", row.name, err)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// TestOutsideChecks compares every calculator with figures that were not made
// by it. Besides outputs, a row may name a caution, a stop or a bad field.
func TestOutsideChecks(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		t.Run(c.Name, func(t *testing.T) {
			for _, row := range checks(t, c) {
				t.Run(row.name, func(t *testing.T) {
					if row.source == "" || !slices.Contains(marks, row.mark) {
						t.Errorf("the row has no source or no known mark (%q)", row.mark)
					}
					given, err := ParseArgs(row.args)
					if err != nil {
						t.Fatal(err)
					}
					result, err := c.Run(given)
					compare(t, row, result, err)
				})
			}
		})
	}
}

func compare(t *testing.T, row checkRow, result Result, err error) {
	t.Helper()
	switch row.output {
	case "stop":
		var stop *StopError
		if !errors.As(err, &stop) || !slices.ContainsFunc(stop.Stops, func(n Notice) bool { return n.Code == row.expected }) {
			t.Errorf("is not stopped by %s: %v", row.expected, err)
		}
		return
	case "bad":
		if !slices.ContainsFunc(fault.FieldsOf(err), func(f fault.Field) bool { return f.Name == row.expected }) {
			t.Errorf("%s is not refused: %v", row.expected, err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	has := func(code string) bool {
		return slices.ContainsFunc(result.Cautions, func(n Notice) bool { return n.Code == code })
	}
	switch row.output {
	case "caution":
		if !has(row.expected) {
			t.Errorf("caution %s is not shown", row.expected)
		}
		return
	case "no-caution":
		if has(row.expected) {
			t.Errorf("caution %s is shown", row.expected)
		}
		return
	}
	got := lookUp(t, result, row.output)
	if text, isText := got.(string); isText {
		if text != row.expected {
			t.Errorf("%s is %q, expected %q", row.output, text, row.expected)
		}
		return
	}
	want, err := strconv.ParseFloat(row.expected, 64)
	if err != nil {
		t.Fatal(err)
	}
	if x := got.(float64); !(math.Abs(x-want) <= row.tolerance*(1+1e-9)+1e-12*math.Abs(want)) {
		t.Errorf("%s is %.6g, expected %g ± %g (%s)", row.output, x, want, row.tolerance, row.source)
	}
}

// lookUp finds "key", "key_pm" or "table[2].column" in a result.
func lookUp(t *testing.T, result Result, path string) any {
	t.Helper()
	table, rest, inTable := strings.Cut(path, "[")
	if !inTable {
		key, isPlus := strings.CutSuffix(path, plus)
		f, ok := result.Figure(key)
		switch {
		case !ok:
			t.Fatalf("there is no %s", path)
		case isPlus:
			return f.Plus
		case f.Kind == Text:
			return f.Text
		}
		return f.Number
	}
	f, ok := result.Figure(table)
	var n int
	var column string
	if _, err := fmt.Sscanf(rest, "%d].%s", &n, &column); err != nil || !ok || n < 1 || n > len(f.Rows) {
		t.Fatalf("there is no %s", path)
	}
	return f.Rows[n-1][column]
}

// TestInputsComeBack feeds a result's own inputs back, through JSON, and wants
// the same result.
func TestInputsComeBack(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		t.Run(c.Name, func(t *testing.T) {
			first, err := json.Marshal(example(t, c))
			if err != nil {
				t.Fatal(err)
			}
			var parts struct {
				Inputs json.RawMessage `json:"inputs"`
			}
			if err := json.Unmarshal(first, &parts); err != nil {
				t.Fatal(err)
			}
			given, err := ParseJSON(parts.Inputs)
			if err != nil {
				t.Fatal(err)
			}
			result, err := c.Run(given)
			if err != nil {
				t.Fatal(err)
			}
			second, err := json.Marshal(result)
			if err != nil {
				t.Fatal(err)
			}
			if string(first) != string(second) {
				t.Errorf("came back as\n%s\nnot\n%s", second, first)
			}
		})
	}
}

func BenchmarkCalculators(b *testing.B) {
	for _, c := range All() {
		given, err := ParseArgs(c.Example)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(c.Name, func(b *testing.B) {
			for b.Loop() {
				if _, err := c.Run(given); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
