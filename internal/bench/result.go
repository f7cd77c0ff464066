package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A Result is what a run gave: the figures, the inputs they rest on, the
// working, and what to beware of.
type Result struct {
	Calculator string
	Title      string
	Inputs     []Used
	Figures    []Figure
	Steps      []Step
	Cautions   []Notice
	Overruled  *Overruling
}

// A Figure is one output. Number is set for a Number, Text for a Text, Rows for
// a Table.
type Figure struct {
	Key      string
	Label    string
	Kind     Kind
	Unit     Unit
	Decimals int
	Number   float64
	Plus     float64 // the ±, if HasPlus
	HasPlus  bool
	Text     string
	Columns  []Output
	Rows     []map[string]any
}

// Used is an input as the calculation took it, in the unit of its key.
type Used struct {
	Key     string
	Label   string
	Text    string // as it can be shown, with its unit
	Default bool   // nobody gave it
	value   any    // as JSON
}

// An Overruling keeps the words with which stops were overruled, and the stops.
type Overruling struct {
	Words string   `json:"words"`
	Stops []Notice `json:"stops"`
}

// Input is a number that the answer rests on, in the unit of its key; 0 if there is none.
func (r *Result) Input(key string) float64 {
	for _, in := range r.Inputs {
		if v, ok := in.value.(float64); ok && in.Key == key {
			return v
		}
	}
	return 0
}

// Number is the figure under a key, and whether there is one.
func (r Result) Number(key string) (float64, bool) {
	f, ok := r.Figure(key)
	return f.Number, ok && f.Kind == Number
}

// Figure is the output under a key, and whether it came out.
func (r Result) Figure(key string) (Figure, bool) {
	for _, f := range r.Figures {
		if f.Key == key {
			return f, true
		}
	}
	return Figure{}, false
}

func (c *Calculator) result(sheet *Sheet) Result {
	r := Result{Calculator: c.Name, Title: c.Title, Steps: sheet.steps, Cautions: sheet.cautions}
	for i := range c.Inputs {
		r.Inputs = append(r.Inputs, used(&c.Inputs[i], sheet.fields)...)
	}
	for _, out := range c.Outputs {
		if f := sheet.figures[out.Key]; f != nil {
			r.Figures = append(r.Figures, Figure{
				Key: out.Key, Label: out.Label, Kind: out.Kind, Unit: out.Unit, Decimals: out.Decimals, Columns: out.Columns,
				Number: f.num, Plus: f.plus, HasPlus: f.has, Text: f.text, Rows: f.rows,
			})
		}
	}
	return r
}

// used lists an input and its ± as they were used; nothing if there was neither
// a value nor a default.
func used(in *Input, f fields) []Used {
	if !f.Has(in.Key) {
		return nil
	}
	v := f.values[in.Key]
	u := Used{Key: in.Key, Label: in.Label, Default: !v.given}
	switch in.Kind {
	case Number:
		u.value, u.Text = v.num, withUnit(tidy(v.num), in.Unit)
	case Option, YesNo, Text:
		u.value, u.Text = v.text, v.text
	case Date:
		u.Text = v.date.Format("2006-01-02")
		u.value = u.Text
	case List:
		parts := make([]string, len(v.list))
		for i, x := range v.list {
			parts[i] = tidy(x)
		}
		u.value, u.Text = v.list, withUnit(strings.Join(parts, ", "), in.Unit)
	case Table:
		rows := make([]map[string]any, len(v.rows))
		lines := make([]string, len(v.rows))
		for i, row := range v.rows {
			rows[i] = map[string]any{}
			var cells []string
			for j := range in.Columns {
				for _, cell := range used(&in.Columns[j], row.fields) {
					rows[i][cell.Key] = cell.value
					cells = append(cells, cell.Text)
				}
			}
			lines[i] = strings.Join(cells, " ")
		}
		u.value, u.Text = rows, strings.Join(lines, "; ")
	}
	if v.plus == 0 {
		return []Used{u}
	}
	pm := Used{Key: in.Key + plus, Label: "± of " + in.Label, value: v.plus, Text: withUnit(tidy(v.plus), in.Unit)}
	return []Used{u, pm}
}

// MarshalJSON writes one object: the figures under their own keys (and KEY_pm
// where there is a ±), then calculator, inputs, cautions, overruled, working.
// The inputs, given back, give the same result. Numbers have ten significant
// figures: more would only show how a processor rounds.
func (r Result) MarshalJSON() ([]byte, error) {
	o := object{of: r.Calculator}
	o.field("calculator", r.Calculator)
	for _, f := range r.Figures {
		o.field(f.Key, f.json())
		if f.HasPlus {
			o.field(f.Key+plus, rounded(f.Plus))
		}
	}
	inputs := map[string]any{}
	for _, in := range r.Inputs {
		inputs[in.Key] = in.value
	}
	if r.Overruled != nil {
		inputs[overrule] = r.Overruled.Words
	}
	o.field("inputs", inputs)
	if len(r.Cautions) > 0 {
		o.field("cautions", r.Cautions)
	}
	if r.Overruled != nil {
		o.field("overruled", r.Overruled)
	}
	o.field("working", roundedSteps(r.Steps))
	return o.done()
}

// An object writes JSON fields in the order they come, which a map would not.
type object struct {
	of   string
	text bytes.Buffer
	err  error
}

func (o *object) field(key string, v any) {
	text, err := json.Marshal(v)
	if err != nil && o.err == nil {
		o.err = fmt.Errorf("%s of %s: %w", key, o.of, err)
	}
	if o.text.Len() == 0 {
		o.text.WriteByte('{')
	} else {
		o.text.WriteByte(',')
	}
	o.text.WriteString(strconv.Quote(key))
	o.text.WriteByte(':')
	o.text.Write(text)
}

func (o *object) done() ([]byte, error) {
	o.text.WriteByte('}')
	return o.text.Bytes(), o.err
}

// json is the figure as a value for JSON.
func (f Figure) json() any {
	switch f.Kind {
	case Text:
		return f.Text
	case Table:
		return roundedRows(f.Rows)
	}
	return rounded(f.Number)
}

// roundedSteps are the steps with their numbers rounded as figures are.
func roundedSteps(steps []Step) []Step {
	out := make([]Step, len(steps))
	for i, s := range steps {
		s.Result = rounded(s.Result)
		terms := make([]Term, len(s.Terms))
		for j, t := range s.Terms {
			t.Value = rounded(t.Value)
			terms[j] = t
		}
		s.Terms = terms
		out[i] = s
	}
	return out
}

// rounded keeps ten significant figures.
func rounded(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 9, 64), 64)
	if err != nil {
		return x
	}
	return y
}

func roundedRows(rows []map[string]any) []map[string]any {
	out := make([]map[string]any, len(rows))
	for i, row := range rows {
		out[i] = make(map[string]any, len(row))
		for key, v := range row {
			if x, ok := v.(float64); ok {
				v = rounded(x)
			}
			out[i][key] = v
		}
	}
	return out
}

// Shown is the figure as text: number, ± and unit, or words.
func (f Figure) Shown() string {
	switch f.Kind {
	case Text:
		return f.Text
	case Table:
		return fmt.Sprintf("%d rows", len(f.Rows))
	}
	decimals := f.Decimals
	if !f.HasPlus {
		return withUnit(fixed(f.Number, decimals), f.Unit)
	}
	for decimals < f.Decimals+3 && f.Plus < 0.5*math.Pow(10, -float64(decimals)) { // a ± of 0 would be a lie
		decimals++
	}
	return withUnit(fixed(f.Number, decimals)+" ± "+fixed(f.Plus, decimals), f.Unit)
}

// Cells are a table's rows as text, in the order of its columns.
func (f Figure) Cells() [][]string {
	table := make([][]string, len(f.Rows))
	for i, row := range f.Rows {
		table[i] = make([]string, len(f.Columns))
		for j, col := range f.Columns {
			switch x := row[col.Key].(type) {
			case nil:
			case float64:
				table[i][j] = withUnit(fixed(x, col.Decimals), col.Unit)
			default:
				table[i][j] = fmt.Sprint(x)
			}
		}
	}
	return table
}

// Text is the result for a terminal: figures, then cautions, then what was
// overruled.
func (r Result) Text() string {
	var b strings.Builder
	width := 0
	for _, f := range r.Figures {
		if f.Kind != Table {
			width = max(width, utf8.RuneCountInString(f.Label))
		}
	}
	for _, f := range r.Figures {
		if f.Kind == Table {
			f.table(&b)
			continue
		}
		fmt.Fprintf(&b, "%s  %s\n", pad(f.Label, width), f.Shown())
	}
	for _, n := range r.Cautions {
		fmt.Fprintf(&b, "Caution: %s\n", n)
	}
	if r.Overruled != nil {
		for _, n := range r.Overruled.Stops {
			fmt.Fprintf(&b, "Stop, overruled: %s\n", n)
		}
		fmt.Fprintf(&b, "Overruled in these words: %s\n", r.Overruled.Words)
	}
	return b.String()
}

// Explain is the working for a terminal: the inputs used, then the steps.
func (r Result) Explain() string {
	var b strings.Builder
	for _, in := range r.Inputs {
		fmt.Fprintf(&b, "%s: %s", in.Label, in.Text)
		if in.Default {
			b.WriteString(" (default)")
		}
		b.WriteByte('\n')
	}
	for i, s := range r.Steps {
		s.text(&b, i+1)
	}
	return b.String()
}

func (f Figure) table(b *strings.Builder) {
	fmt.Fprintf(b, "%s\n", f.Label)
	rows := f.Cells()
	head := make([]string, len(f.Columns))
	width := make([]int, len(f.Columns))
	for j, col := range f.Columns {
		head[j] = col.Label
		width[j] = utf8.RuneCountInString(col.Label)
		for _, row := range rows {
			width[j] = max(width[j], utf8.RuneCountInString(row[j]))
		}
	}
	for _, row := range append([][]string{head}, rows...) {
		for j, cell := range row {
			row[j] = pad(cell, width[j])
		}
		fmt.Fprintf(b, "  %s\n", strings.TrimRight(strings.Join(row, "  "), " "))
	}
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}
