package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
)

// A column is one that holds values: what is read, in which unit.
type column struct {
	what, unit string
	words      []string
}

// columns are the header of a sheet, taken apart.
type columns struct {
	named map[string]int // of before and after
	value map[int]column
	head  []string
}

func columnsOf(head []string) (*columns, error) {
	c := &columns{named: map[string]int{}, value: map[int]column{}, head: head}
	for i, cell := range head {
		name := strings.TrimSpace(strings.TrimPrefix(cell, "\ufeff"))
		c.head[i] = name
		lower := strings.ToLower(name)
		if slices.Contains(before, lower) || slices.Contains(after, lower) {
			c.named[lower] = i
			continue
		}
		value, err := valueColumn(name)
		if err != nil {
			return nil, err
		}
		c.value[i] = value
	}
	for _, need := range []string{"happened", "vessel"} {
		if _, ok := c.named[need]; !ok {
			return nil, fault.BadFields("read sheet", fault.Field{Name: "columns", Line: 1, Given: strings.Join(head, ","), Allowed: "a column " + need})
		}
	}
	if len(c.value) == 0 {
		return nil, fault.BadFields("read sheet", fault.Field{Name: "columns", Line: 1, Given: strings.Join(head, ","), Allowed: "at least one column of readings, such as pH or TA [g/L]"})
	}
	return c, nil
}

func valueColumn(name string) (column, error) {
	title, unit, _ := strings.Cut(name, "[")
	title, unit = strings.TrimSpace(title), strings.TrimSuffix(strings.TrimSpace(unit), "]")
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		if !strings.EqualFold(r.Title, title) && !strings.EqualFold(r.What, title) && !slices.Contains(r.Also, strings.ToLower(title)) {
			continue
		}
		u, ok := cellar.LookupUnit(unit)
		if !ok {
			return column{}, fault.BadFields("read sheet", fault.Field{Name: "columns", Line: 1, Column: name, Given: unit, Allowed: "a unit such as " + r.Unit})
		}
		if unit == "" {
			return column{r.What, r.Unit, r.Words}, nil
		}
		return column{r.What, u.Sign, r.Words}, nil
	}
	var known []string
	for i := range cellar.Readables {
		known = append(known, cellar.Readables[i].Title)
	}
	return column{}, fault.BadFields("read sheet", fault.Field{Name: "columns", Line: 1, Given: name, Allowed: "one of " + strings.Join(slices.Concat(before, known, after), ", ")})
}

func (c *columns) cell(row []string, name string) string {
	i, ok := c.named[name]
	if !ok || i >= len(row) {
		return ""
	}
	return unsafe(strings.TrimSpace(row[i]))
}

// entries makes one entry of every value in a row.
func (c *columns) entries(row []string, line int, pen cellar.Pen, now time.Time) ([]cellar.Entry, []fault.Field) {
	wrong := func(column, given, allowed string) []fault.Field {
		return []fault.Field{{Name: column, Line: line, Column: column, Given: given, Allowed: allowed}}
	}
	when, err := momentOf(c.cell(row, "happened"), now.Location())
	if err != nil {
		return nil, wrong("happened", c.cell(row, "happened"), err.Error())
	}
	when.Zone = c.cell(row, "zone")
	if order := c.cell(row, "order"); order != "" {
		if when.Order, err = strconv.Atoi(order); err != nil {
			return nil, wrong("order", order, "a whole number")
		}
	}
	body, bad := c.reading(row, wrong)
	if bad != nil {
		return nil, bad
	}
	var out []cellar.Entry
	for i := range c.head {
		v, ok := c.value[i]
		if !ok || i >= len(row) || strings.TrimSpace(row[i]) == "" {
			continue
		}
		b := body
		b.What = v.what
		b.Value = &cellar.Measure{Value: unsafe(strings.TrimSpace(row[i])), Unit: v.unit, Spread: c.cell(row, "spread")}
		if len(v.words) > 0 {
			b.Value.Value = strings.ToLower(b.Value.Value)
		}
		e, fields := c.entry(row, when, b, pen, now)
		if fields != nil {
			for j := range fields {
				fields[j].Line, fields[j].Column = line, c.head[i]
			}
			bad = append(bad, fields...)
			continue
		}
		out = append(out, e)
	}
	if len(out) == 0 && bad == nil {
		return nil, wrong("row", "", "a value in one of the columns of readings")
	}
	return out, bad
}

func (c *columns) reading(row []string, wrong func(column, given, allowed string) []fault.Field) (cellar.Reading, []fault.Field) {
	b := cellar.Reading{Vessel: strings.ToLower(c.cell(row, "vessel")), Lot: strings.ToLower(c.cell(row, "lot")), As: c.cell(row, "as"), EndPoint: c.cell(row, "end point"),
		Method: c.cell(row, "method"), Instrument: c.cell(row, "instrument"), Session: c.cell(row, "session"), Drawn: c.cell(row, "drawn"),
		Measured: c.cell(row, "measured"), Reported: c.cell(row, "reported"), Lab: c.cell(row, "laboratory"), Words: c.cell(row, "words")}
	for name, into := range map[string]*bool{"control": &b.Control, "degassed": &b.Degassed} {
		switch v := strings.ToLower(c.cell(row, name)); v {
		case "":
		case "yes":
			*into = true
		default:
			return b, wrong(name, v, "yes, or nothing")
		}
	}
	if r := c.cell(row, "repeats"); r != "" {
		n, err := strconv.Atoi(r)
		if err != nil {
			return b, wrong("repeats", r, "a whole number")
		}
		b.Repeats = n
	}
	if s := c.cell(row, "sample at"); s != "" {
		b.Warm = cellar.M(s, c.cell(row, "sample unit"))
	}
	return b, nil
}

// entry writes the reading down; a row that names its entry's id gives that entry back.
func (c *columns) entry(row []string, when cellar.Moment, b cellar.Reading, pen cellar.Pen, now time.Time) (cellar.Entry, []fault.Field) {
	d := cellar.Draft{Happened: when, Body: b, Replaces: cellar.ID(c.cell(row, "replaces")), Overruled: c.cell(row, "overruled")}
	written := now
	if w := c.cell(row, "written"); w != "" {
		t, err := time.Parse(layoutWritten, w)
		if err != nil {
			return cellar.Entry{}, []fault.Field{{Name: "written", Given: w, Allowed: "a moment such as 2026-11-03T18:30:00.000Z"}}
		}
		written = t
	}
	e, err := pen.Write(written, d)
	if err != nil {
		if f := fault.FieldsOf(err); f != nil {
			return cellar.Entry{}, f
		}
		return cellar.Entry{}, []fault.Field{{Name: "row", Allowed: fault.Message(err)}}
	}
	one := e[0]
	if id := c.cell(row, "id"); id != "" {
		one.ID, one.By, one.Device = cellar.ID(id), c.cell(row, "by"), c.cell(row, "device")
	} else {
		one.ID = digestID(one)
		if by := c.cell(row, "by"); by != "" {
			one.By = by
		}
		// What follows from the row alone must be the same whenever it is read.
		_, end := when.Bounds()
		one.Written = end.UTC().Truncate(time.Millisecond)
	}
	if err := one.Check(); err != nil {
		return one, fault.FieldsOf(err)
	}
	return one, nil
}

// momentOf reads a moment, or a bare date or date and hour in the reader's own zone.
func momentOf(text string, zone *time.Location) (cellar.Moment, error) {
	if m, err := cellar.ParseMoment(text); err == nil {
		return m, nil
	}
	if t, err := time.ParseInLocation(time.DateOnly, text, zone); err == nil {
		return cellar.On(t), nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04"} {
		if t, err := time.ParseInLocation(layout, text, zone); err == nil {
			return cellar.At(t), nil
		}
	}
	return cellar.Moment{}, fmt.Errorf("a day such as 2026-11-03, or 2026-11-03 19:30")
}
