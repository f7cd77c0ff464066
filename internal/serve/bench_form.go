package serve

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"elevage/internal/bench"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// benchTable is an input of several rows.
type benchTable struct {
	Key, Label, Help, Error string
	Head                    []string
	Rows                    [][]ui.Field
}

// emptyRows are offered beyond those that are filled in.
const emptyRows = 2

// fields lays out a calculator's inputs with what was typed or filled in, and
// what is wrong next to the field it is wrong with.
func (v *calculatorView) fields(c *bench.Calculator, typed url.Values, given bench.Given, wrong []fault.Field) {
	trouble := map[string]string{}
	for _, f := range wrong {
		trouble[f.Name] = joined(trouble[f.Name], f)
	}
	for i := range c.Inputs {
		in := &c.Inputs[i]
		if in.Kind == bench.Table {
			v.Tables = append(v.Tables, tableOf(in, typed, given, trouble))
			continue
		}
		field := fieldOf(in, valueOf(in, typed, given), trouble[in.Key])
		if field.Extra = in.Seldom; field.Extra && in.Default != "" {
			field.Left = "else " + in.Default
			if typed.Get(in.Key) == "" && field.Value == in.Default { // it is taken when nothing is said
				field.Value = ""
			}
		}
		v.Fields = append(v.Fields, field)
	}
	for _, g := range c.Groups {
		labels := make([]string, len(g.Keys))
		for i, k := range g.Keys {
			labels[i] = labelOf(c, k)
		}
		v.Groups = append(v.Groups, fmt.Sprintf("%s %s.", capital(string(g.Rule)), strings.Join(labels, ", ")))
	}
	v.Errors = ui.FormErrors{Fields: v.Fields}
	// A fault that belongs to no field of the form is still shown.
	for name, text := range trouble {
		if !hasField(v.Fields, name) && !hasTable(v.Tables, name) {
			v.Stops = append(v.Stops, ui.Notice{Kind: ui.Stopped, Head: "Not understood.", Text: text})
		}
	}
}

func joined(before string, f fault.Field) string {
	f.Name = ""
	if before == "" {
		return f.String()
	}
	return before + "; " + f.String()
}

func capital(s string) string {
	if s == "" || strings.HasPrefix(s, "pH") {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func labelOf(c *bench.Calculator, key string) string {
	for i := range c.Inputs {
		if c.Inputs[i].Key == key {
			return c.Inputs[i].Label
		}
	}
	return key
}

func hasField(fields []ui.Field, name string) bool {
	for _, f := range fields {
		if f.Name == name {
			return true
		}
	}
	return false
}

func hasTable(tables []benchTable, name string) bool {
	for _, t := range tables {
		if name == t.Key || strings.HasPrefix(name, t.Key+".") || strings.HasPrefix(name, t.Key+"[") {
			return true
		}
	}
	return false
}

func valueOf(in *bench.Input, typed url.Values, given bench.Given) string {
	if typed.Has(in.Key) {
		return typed.Get(in.Key)
	}
	if g, ok := given[in.Key]; ok {
		return textOf(g)
	}
	return in.Default
}

func textOf(given any) string {
	switch g := given.(type) {
	case string:
		return g
	case json.Number:
		return g.String()
	case float64:
		return strconv.FormatFloat(g, 'g', -1, 64)
	case bool:
		if g {
			return "yes"
		}
		return "no"
	case []any:
		parts := make([]string, len(g))
		for i, e := range g {
			parts[i] = textOf(e)
		}
		return strings.Join(parts, ", ")
	}
	return fmt.Sprint(given)
}

func fieldOf(in *bench.Input, value, trouble string) ui.Field {
	f := ui.Field{Name: in.Key, Label: in.Label, Value: value, Unit: in.Unit.Symbol, Help: in.Help, Error: trouble, Optional: !in.Required}
	switch in.Kind {
	case bench.Option:
		f.Kind = ui.Choice
		if len(in.Options) <= 3 {
			f.Kind = ui.Pick
		} else if in.Default == "" {
			f.Options = append(f.Options, ui.Option{Text: "–"})
		}
		for _, o := range in.Options {
			f.Options = append(f.Options, ui.Option{Value: o.Value, Text: o.Label})
		}
	case bench.YesNo:
		f.Kind = ui.Pick
		f.Options = []ui.Option{{Value: "yes", Text: "yes"}, {Value: "no", Text: "no"}}
	case bench.Date:
		f.Kind = ui.Date
	case bench.Text, bench.List:
		f.Kind = ui.Words
	default:
		f.Kind = ui.Number
	}
	return f
}

func tableOf(in *bench.Input, typed url.Values, given bench.Given, trouble map[string]string) benchTable {
	t := benchTable{Key: in.Key, Label: in.Label, Help: in.Help, Error: trouble[in.Key]}
	for _, c := range in.Columns {
		head := c.Label
		if c.Unit.Symbol != "" {
			head += ", " + c.Unit.Symbol
		}
		t.Head = append(t.Head, head)
	}
	rows := rowsOf(in, typed, given)
	shown := max(len(rows)+emptyRows, in.MinRows)
	if in.MaxRows > 0 {
		shown = min(shown, in.MaxRows)
	}
	for i := range shown {
		row := make([]ui.Field, len(in.Columns))
		for j := range in.Columns {
			c := &in.Columns[j]
			value := ""
			if i < len(rows) {
				value = rows[i][c.Key]
			}
			name := fmt.Sprintf("%s.%d.%s", in.Key, i, c.Key)
			row[j] = fieldOf(c, value, trouble[name])
			row[j].Name, row[j].Optional, row[j].Help = name, true, ""
			row[j].Unit = ""
			row[j].Label = fmt.Sprintf("%s, row %d", c.Label, i+1)
			if row[j].Kind == ui.Pick {
				row[j].Kind = ui.Choice
				row[j].Options = append([]ui.Option{{Text: "–"}}, row[j].Options...)
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// rowsOf are the rows that were typed, or else filled in.
func rowsOf(in *bench.Input, typed url.Values, given bench.Given) []map[string]string {
	var rows []map[string]string
	prefix := in.Key + "."
	for name := range typed {
		rest, ok := strings.CutPrefix(name, prefix)
		if !ok {
			continue
		}
		at, column, ok := strings.Cut(rest, ".")
		i, err := strconv.Atoi(at)
		if !ok || err != nil || i < 0 || i > 500 || typed.Get(name) == "" {
			continue
		}
		for len(rows) <= i {
			rows = append(rows, map[string]string{})
		}
		rows[i][column] = typed.Get(name)
	}
	if rows != nil {
		return rows
	}
	list, ok := given[in.Key].([]any)
	if !ok {
		return nil
	}
	for _, r := range list {
		row := map[string]string{}
		switch r := r.(type) {
		case map[string]any:
			for k, v := range r {
				row[k] = textOf(v)
			}
		case bench.Given:
			for k, v := range r {
				row[k] = textOf(v)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// answer lays out what came out.
func (v *calculatorView) answer(r bench.Result) {
	for i, f := range r.Figures {
		switch f.Kind {
		case bench.Table:
			t := ui.Table{Caption: f.Label, Rows: f.Cells()}
			for _, c := range f.Columns {
				head := c.Label
				if c.Unit.Symbol != "" {
					head += ", " + c.Unit.Symbol
				}
				t.Head = append(t.Head, head)
				t.Numbers = append(t.Numbers, c.Kind == "" || c.Kind == bench.Number)
			}
			v.Answers = append(v.Answers, t)
		case bench.Text:
			v.Words = append(v.Words, f.Label+": "+f.Text)
		default:
			fig := ui.Figure{Name: f.Label, Value: f.Number, Unit: f.Unit.Symbol, Main: i == 0, Source: "reckoned"}
			if f.HasPlus {
				fig.Spread = f.Plus
			} else {
				fig.Text = strconv.FormatFloat(f.Number, 'f', f.Decimals, 64)
			}
			v.Figures = append(v.Figures, fig)
		}
	}
	v.Cautions = noticesOf(ui.Caution, r.Cautions)
	if r.Overruled != nil {
		v.Cautions = append(v.Cautions, ui.Notice{Kind: ui.Stopped, Head: "Overruled.", Text: "“" + r.Overruled.Words + "”"})
		v.Cautions = append(v.Cautions, noticesOf(ui.Stopped, r.Overruled.Stops)...)
	}
	v.Working = workingOf(r)
}

// workingOf is a result's working for a page.
func workingOf(r bench.Result) *ui.Working {
	w := &ui.Working{}
	for _, s := range r.Steps {
		say := s.Title + ": "
		if s.Formula != "" {
			say += s.InWords() + " = " + s.WithNumbers()
		} else {
			say += s.How
		}
		w.Steps = append(w.Steps, ui.Step{Say: say, Gives: s.Outcome()})
	}
	return w
}

func noticesOf(kind ui.NoticeKind, ns []bench.Notice) []ui.Notice {
	out := make([]ui.Notice, len(ns))
	for i, n := range ns {
		out[i] = ui.Notice{Kind: kind, Text: n.String()}
	}
	return out
}

func sourcesOf(c *bench.Calculator) []string {
	out := make([]string, 0, len(c.Sources)+1)
	for _, s := range c.Sources {
		line := s.Used
		if s.Ref != "" {
			line = s.Ref + ": " + s.Used
		}
		out = append(out, line+" ("+string(s.Mark)+")")
	}
	return append(out, "checked against "+c.Check.Against+" ("+string(c.Check.Mark)+")")
}
