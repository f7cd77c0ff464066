package bench

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"elevage/internal/fault"
)

// A value is one input after it was judged.
type value struct {
	num   float64 // of a Number, in the key's unit
	text  string  // of an Option, YesNo ("yes"/"no") or Text
	date  time.Time
	list  []float64
	rows  []Row
	plus  float64 // the ±, 0 if none
	given bool    // false: it is the default, or nothing
}

// fields are judged inputs by key, with what was declared about them. A Sheet
// has them, and so has each Row of a table.
type fields struct {
	owner    string
	declared []Input
	values   map[string]*value
}

// A Row is one row of a table.
type Row struct{ fields }

// reader collects every fault of one Given.
type reader struct {
	calculator string
	faults     []fault.Field
}

func (r *reader) fault(name, given, hint, allowed string) {
	r.faults = append(r.faults, fault.Field{Name: name, Given: given, Hint: hint, Allowed: allowed})
}

// read judges what was given. The second result is the text that overrules
// stops, "" if there is none.
func (c *Calculator) read(given Given) (fields, string, error) {
	r := &reader{calculator: c.Name}
	f := r.row(c.Name, "", c.Inputs, given, []string{overrule})
	r.groups(c, f)
	words := r.overruling(given)
	if len(r.faults) > 0 {
		return f, "", c.invalid(r.faults...)
	}
	return f, words, nil
}

// overruling wants a reason, not a tick: the words are what a later reader will
// have to judge by.
func (r *reader) overruling(given Given) string {
	raw, ok := given[overrule]
	if !ok || raw == nil {
		return ""
	}
	words, ok := raw.(string)
	words = strings.Join(strings.Fields(words), " ")
	if !ok || (words != "" && (len(words) < 10 || !strings.Contains(words, " "))) || len(words) > 1000 {
		r.fault(overrule, show(raw), "", "a sentence that says why, up to 1000 characters")
		return ""
	}
	return words
}

// row judges one object: the calculator's own inputs, or one row of a table.
func (r *reader) row(owner, prefix string, declared []Input, given map[string]any, also []string) fields {
	f := fields{owner: owner, declared: declared, values: make(map[string]*value, len(declared))}
	r.unknown(prefix, declared, given, also)
	for i := range declared {
		in := &declared[i]
		v := &value{}
		f.values[in.Key] = v
		raw, ok := given[in.Key]
		if text, isText := raw.(string); !ok || raw == nil || (isText && strings.TrimSpace(text) == "") {
			if in.Required {
				r.fault(prefix+in.Key, "", "", in.Allowed())
			} else if in.Default != "" {
				r.value(prefix+in.Key, in, in.Default, v)
			}
			if _, has := given[in.Key+plus]; has && in.takesPlus() && in.Default == "" {
				r.fault(prefix+in.Key+plus, show(given[in.Key+plus]), "it is the ± of "+in.Key+", which is not given", "")
			}
		} else {
			v.given = true
			r.value(prefix+in.Key, in, raw, v)
		}
		r.plus(prefix, in, given, v)
	}
	return f
}

// unknown reports keys that nobody declared: a misspelt key must not be a
// silently missing one.
func (r *reader) unknown(prefix string, declared []Input, given map[string]any, also []string) {
	known := slices.Clone(also)
	for _, in := range declared {
		known = append(known, in.Key)
		if in.takesPlus() {
			known = append(known, in.Key+plus)
		}
	}
	var strangers []string
	for key := range given {
		if !slices.Contains(known, key) {
			strangers = append(strangers, key)
		}
	}
	sort.Strings(strangers)
	for _, key := range strangers {
		allowed, hint := strings.Join(known[len(also):], ", "), "not an input of "+r.calculator
		if near := nearest(key, known); near != "" {
			allowed, hint = "", hint+"; "+near+"?"
		}
		r.fault(prefix+key, show(given[key]), hint, allowed)
	}
}

// takesPlus tells whether the input may have a ±.
func (in *Input) takesPlus() bool {
	return (in.Kind == Number || in.Kind == "") && !in.Exact
}

// plus reads the ± of a number: in the same unit, not negative, and no larger
// than the range it moves in.
func (r *reader) plus(prefix string, in *Input, given map[string]any, v *value) {
	raw, ok := given[in.Key+plus]
	if !ok || raw == nil || raw == "" || !in.takesPlus() {
		return
	}
	width := in.Max - in.Min
	allowed := withUnit("0 to "+tidy(width), in.Unit)
	x, err := r.number(raw, in.Unit)
	if text, isText := raw.(string); isText {
		x, err = parseDifference(text, in.Unit)
	}
	switch {
	case err != nil:
		r.fault(prefix+in.Key+plus, show(raw), err.Error(), allowed)
	case x < 0 || x > width:
		r.fault(prefix+in.Key+plus, show(raw), "", allowed)
	default:
		v.plus = x
	}
}

func (r *reader) number(raw any, unit Unit) (float64, error) {
	switch x := raw.(type) {
	case string:
		return parseAmount(x, unit)
	case json.Number:
		return parseNumber(x.String())
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return 0, errNumber("not a number")
		}
		return x, nil
	case int:
		return float64(x), nil
	}
	return 0, errNumber("not a number")
}

// value judges one raw value by its declared kind.
func (r *reader) value(field string, in *Input, raw any, v *value) {
	switch in.Kind {
	case Number, "":
		x, err := r.number(raw, in.Unit)
		if err != nil {
			r.fault(field, show(raw), err.Error(), in.Allowed())
			return
		}
		if !in.within(x) {
			r.fault(field, show(raw), "", in.Allowed())
			return
		}
		v.num = x
	case Option:
		v.text = strings.ToLower(strings.TrimSpace(textOf(raw)))
		if !slices.ContainsFunc(in.Options, func(o Choice) bool { return o.Value == v.text }) {
			r.fault(field, show(raw), "", in.Allowed())
		}
	case YesNo:
		switch strings.ToLower(strings.TrimSpace(textOf(raw))) {
		case "yes", "true", "1", "on":
			v.text = "yes"
		case "no", "false", "0":
			v.text = "no"
		default:
			r.fault(field, show(raw), "", in.Allowed())
		}
	case Text:
		_, isText := raw.(string)
		_, isNumber := raw.(json.Number) // a lot may well be called 12
		v.text = strings.TrimSpace(textOf(raw))
		if !(isText || isNumber) || len(v.text) > 200 || strings.ContainsFunc(v.text, func(c rune) bool { return c < ' ' }) {
			r.fault(field, show(raw), "", "up to 200 characters")
		}
	case Date:
		date, err := time.Parse(time.DateOnly, strings.TrimSpace(textOf(raw)))
		if err != nil || date.Year() < 1900 || date.Year() > 2200 {
			r.fault(field, show(raw), "", in.Allowed())
			return
		}
		v.date = date
	case List:
		r.list(field, in, raw, v)
	case Table:
		r.table(field, in, raw, v)
	}
}

func (in *Input) within(x float64) bool { return x >= in.Min && x <= in.Max }

func (r *reader) list(field string, in *Input, raw any, v *value) {
	var items []any
	switch x := raw.(type) {
	case []any:
		items = x
	case []float64:
		for _, n := range x {
			items = append(items, n)
		}
	case string:
		if strings.HasPrefix(strings.TrimSpace(x), "[") {
			items = r.embedded(field, in, x)
			if items == nil {
				return
			}
			break
		}
		for _, part := range strings.FieldsFunc(x, func(c rune) bool { return c == ',' || c == ';' || c == ' ' }) {
			items = append(items, part)
		}
	default: // one bare number is a list of one
		items = []any{raw}
	}
	if len(items) < in.MinRows || len(items) > in.MaxRows {
		r.fault(field, show(raw), fmt.Sprintf("has %d numbers", len(items)), in.Allowed())
		return
	}
	for i, item := range items {
		at := fmt.Sprintf("%s[%d]", field, i+1)
		x, err := r.number(item, in.Unit)
		switch {
		case err != nil:
			r.fault(at, show(item), err.Error(), in.Allowed())
		case !in.within(x):
			r.fault(at, show(item), "", in.Allowed())
		}
		v.list = append(v.list, x)
	}
}

// embedded reads a list or table that was written as JSON inside a text.
func (r *reader) embedded(field string, in *Input, text string) []any {
	object, err := ParseJSON([]byte(`{"v":` + text + `}`))
	if err != nil {
		r.fault(field, show(text), err.Error(), in.Allowed())
		return nil
	}
	items, ok := object["v"].([]any)
	if !ok || len(object) != 1 {
		r.fault(field, show(text), "not a list", in.Allowed())
		return nil
	}
	return items
}

func (r *reader) table(field string, in *Input, raw any, v *value) {
	var items []any
	switch x := raw.(type) {
	case []any:
		items = x
	case string:
		if strings.HasPrefix(strings.TrimSpace(x), "[") {
			items = r.embedded(field, in, x)
			if items == nil {
				return
			}
			break
		}
		for _, line := range strings.Split(x, ";") {
			if strings.TrimSpace(line) != "" {
				items = append(items, r.cells(field, in, line))
			}
		}
	default:
		r.fault(field, show(raw), "", in.Allowed())
		return
	}
	if len(items) < in.MinRows || len(items) > in.MaxRows {
		r.fault(field, show(raw), fmt.Sprintf("has %d rows", len(items)), in.Allowed())
		return
	}
	for i, item := range items {
		at := fmt.Sprintf("%s[%d]", field, i+1)
		cells, ok := item.(map[string]any)
		if given, isGiven := item.(Given); isGiven {
			cells, ok = given, true
		}
		if !ok {
			r.fault(at, show(item), "", in.Allowed())
			continue
		}
		v.rows = append(v.rows, Row{r.row(r.calculator, at+".", in.Columns, cells, nil)})
	}
}

// cells parts one written row into its columns, in their declared order.
func (r *reader) cells(field string, in *Input, line string) map[string]any {
	row := map[string]any{}
	parts := strings.Split(line, ",")
	if len(parts) > len(in.Columns) {
		r.fault(field, strings.TrimSpace(line), fmt.Sprintf("has %d cells in a row of %d", len(parts), len(in.Columns)), in.Allowed())
		parts = parts[:len(in.Columns)]
	}
	for i, part := range parts {
		if part = strings.TrimSpace(part); part != "" {
			row[in.Columns[i].Key] = part
		}
	}
	return row
}

// groups checks the inputs that are tied together.
func (r *reader) groups(c *Calculator, f fields) {
	for _, g := range c.Groups {
		var have []string
		for _, key := range g.Keys {
			if f.values[key].given {
				have = append(have, key)
			}
		}
		ok := true
		switch g.Rule {
		case ExactlyOne:
			ok = len(have) == 1
		case AtLeastOne:
			ok = len(have) >= 1
		case AllOrNone:
			ok = len(have) == 0 || len(have) == len(g.Keys)
		}
		if !ok {
			r.fault(strings.Join(g.Keys, " | "), strings.Join(have, " and "), "", string(g.Rule)+" these")
		}
	}
}

// show is a raw value as it can be printed behind a field's name.
func show(raw any) string {
	switch x := raw.(type) {
	case nil:
		return ""
	case string:
		return x
	case json.Number:
		return x.String()
	case float64:
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	text, err := json.Marshal(raw)
	if err != nil {
		return fmt.Sprint(raw)
	}
	if len(text) > 120 {
		text = append(text[:120], "…"...)
	}
	return string(text)
}

// textOf is a raw value where text is wanted; a script may well write true or 1.
func textOf(raw any) string {
	switch x := raw.(type) {
	case string:
		return x
	case bool:
		return strconv.FormatBool(x)
	case json.Number:
		return x.String()
	}
	return show(raw)
}
