package track

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// What says what was read or done.
type What string

// The kinds of reading, as they stand in the file.
const (
	PH           What = "ph"
	PHCheck7     What = "ph_check_7.00"
	PHCheck4     What = "ph_check_4.01"
	PHCheck356   What = "ph_check_3.56" // saturated cream of tartar
	PHControl    What = "ph_control"    // wine kept back on day 0, same session
	TA           What = "ta"            // g/L as tartaric acid
	Malic        What = "malic"         // g/L by strip, kit or laboratory
	Chromatogram What = "chromatogram"  // malic spot
	Bubble       What = "bubble_s"      // seconds between bubbles
	Temperature  What = "temp_c"
	Stir         What = "stir"
	FreeSO2      What = "free_so2"  // mg/L
	AddedSO2     What = "so2_added" // mg/L given since inoculation, as SO2
	Inoculate    What = "inoculate" // bacteria added again: direct, rehydrated, starter
)

// NoBubbleSeconds stands for "none seen in two hours".
const NoBubbleSeconds = 7200

// The spots of a chromatogram.
const (
	SpotNone   = "none"
	SpotFaint  = "faint"
	SpotStrong = "strong"
)

type kind struct {
	unit   string
	lo, hi float64
	words  []string // allowed words instead of a number
}

var kinds = map[What]kind{
	PH: {"", 2.5, 4.8, nil}, PHCheck7: {"", 6, 8, nil}, PHCheck4: {"", 3, 5, nil}, PHCheck356: {"", 2.6, 4.6, nil},
	PHControl: {"", 2.5, 4.8, nil}, TA: {"g/L", 0.5, 20, nil}, Malic: {"g/L", 0, 15, nil},
	Chromatogram: {words: []string{SpotStrong, SpotFaint, SpotNone}},
	Bubble:       {"s", 0.1, 1e6, nil}, Temperature: {"°C", -5, 45, nil}, Stir: {"", math.Inf(-1), math.Inf(1), nil},
	FreeSO2: {"mg/L", 0, 300, nil}, AddedSO2: {"mg/L", 0, 300, nil}, Inoculate: {words: []string{"direct", "rehydrated", "starter"}},
}

var kindOrder = []What{PH, PHCheck7, PHCheck4, PHCheck356, PHControl, TA, Malic, Chromatogram, Bubble, Temperature, Stir, FreeSO2, AddedSO2, Inoculate}

// A Reading is one row: something read or done on a day. For words (a spot, a way
// of inoculating) Text holds the word and Value is 0.
type Reading struct {
	On    time.Time
	What  What
	Value float64 // in the unit of What; dimension depends on it
	Text  string  // as written
	Line  int     // in the file it came from; 0 if from elsewhere
}

// A RowError says what is wrong with a row that was left out.
type RowError struct {
	Line    int    `json:"line"`
	Column  string `json:"column"`
	Value   string `json:"value"`
	Allowed string `json:"allowed"`
}

// Error reads, for example: `line 4, column value: "3,9x" is not allowed: pH 2.5 to 4.8`.
func (e RowError) Error() string {
	return fmt.Sprintf("line %d, column %s: %q is not allowed: %s", e.Line, e.Column, e.Value, e.Allowed)
}

// ReadReadings reads the CSV form with the header at,what,value. A bad row is
// reported and left out; nothing else is lost by it. With strict, any bad row is
// an error. A decimal comma in a quoted value is understood; blank lines and lines
// starting with # are skipped.
func ReadReadings(r io.Reader, strict bool) ([]Reading, []RowError, error) {
	scan := bufio.NewScanner(r)
	scan.Buffer(make([]byte, 0, 64<<10), 1<<20)
	var (
		out    []Reading
		bad    []RowError
		column map[string]int
	)
	for line := 1; scan.Scan(); line++ {
		s := strings.TrimSpace(strings.TrimPrefix(scan.Text(), "\ufeff"))
		if s == "" || strings.HasPrefix(s, "#") {
			continue
		}
		cells, err := csv.NewReader(strings.NewReader(s)).Read()
		if err != nil {
			bad = append(bad, RowError{line, "(row)", s, "three cells separated by commas"})
			continue
		}
		if column == nil {
			if column, err = header(cells); err != nil {
				return nil, nil, fmt.Errorf("line %d: %w", line, err)
			}
			continue
		}
		reading, fault := row(cells, column, line)
		if fault != nil {
			bad = append(bad, *fault)
			continue
		}
		out = append(out, reading)
	}
	if err := scan.Err(); err != nil {
		return nil, nil, fmt.Errorf("readings: %w", err)
	}
	if column == nil {
		return nil, nil, errors.New("readings: the header at,what,value is missing")
	}
	if strict && len(bad) > 0 {
		errs := make([]error, len(bad))
		for i, b := range bad {
			errs[i] = b
		}
		return out, bad, errors.Join(errs...)
	}
	return out, bad, nil
}

func header(cells []string) (map[string]int, error) {
	at := map[string]int{}
	for i, c := range cells {
		at[strings.ToLower(strings.TrimSpace(c))] = i
	}
	for _, want := range []string{"at", "what", "value"} {
		if _, ok := at[want]; !ok {
			return nil, fmt.Errorf("the header lacks %q: wanted is at,what,value, got %q", want, strings.Join(cells, ","))
		}
	}
	return at, nil
}

func row(cells []string, column map[string]int, line int) (Reading, *RowError) {
	cell := func(name string) string {
		if i := column[name]; i < len(cells) {
			return strings.TrimSpace(cells[i])
		}
		return ""
	}
	day, err := parseDate(cell("at"))
	if err != nil {
		return Reading{}, &RowError{line, "at", cell("at"), "a date like 2026-11-10"}
	}
	return parseReading(day, cell("what"), cell("value"), line)
}

// ParseReading reads what and value as they stand in a file or a typed line.
func ParseReading(on time.Time, what, value string) (Reading, error) {
	r, fault := parseReading(midnight(on), what, value, 0)
	if fault != nil {
		return r, fmt.Errorf("%s: %q is not allowed: %s", fault.Column, fault.Value, fault.Allowed)
	}
	return r, nil
}

func parseReading(day time.Time, what, value string, line int) (Reading, *RowError) {
	r := Reading{On: day, What: What(strings.ToLower(what)), Text: value, Line: line}
	k, ok := kinds[r.What]
	if !ok {
		names := make([]string, len(kindOrder))
		for i, w := range kindOrder {
			names[i] = string(w)
		}
		return r, &RowError{line, "what", what, strings.Join(names, ", ")}
	}
	if r.What == Stir {
		return r, nil
	}
	if k.words != nil {
		r.Text = strings.ToLower(value)
		for _, w := range k.words {
			if r.Text == w {
				return r, nil
			}
		}
		return r, &RowError{line, "value", value, strings.Join(k.words, ", ")}
	}
	v, err := strconv.ParseFloat(strings.Replace(value, ",", ".", 1), 64)
	if err != nil || quantity.Check("", v, k.unit, k.lo, k.hi) != nil {
		return r, &RowError{line, "value", value, strings.TrimSpace(fmt.Sprintf("a number from %g to %g %s", k.lo, k.hi, k.unit))}
	}
	r.Value = v
	return r, nil
}

// Inoculation is how bacteria were added, of a reading of that kind.
func (r Reading) inoculation() malolactic.Inoculation {
	how, err := malolactic.ParseInoculation(r.Text)
	if err != nil {
		return malolactic.Direct
	}
	return how
}
