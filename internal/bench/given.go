package bench

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"

	"elevage/internal/fault"
)

// Given is what was handed to a calculator, by key, not yet judged. Values have
// the shapes of JSON: string, json.Number or float64, bool, []any for lists and
// tables, map[string]any (or Given) for a row.
type Given map[string]any

// plus ends the key of an input's ±.
const plus = "_pm"

// overrule is the key of the words that overrule a stop.
const overrule = "overrule"

// ParseArgs reads key=value arguments. A table is written row;row with
// cell,cell in the order of its columns (lots="c1,54;c2,23"), or as JSON; a list
// as 3.45,3.46,3.44. All faults are reported together.
func ParseArgs(args []string) (Given, error) {
	given := Given{}
	var faults []fault.Field
	for _, arg := range args {
		key, text, found := strings.Cut(arg, "=")
		key = strings.TrimSpace(key)
		switch {
		case !found:
			faults = append(faults, fault.Field{Name: arg, Given: arg, Allowed: "key=value"})
		case key == "":
			faults = append(faults, fault.Field{Name: arg, Given: arg, Allowed: "key=value"})
		case given[key] != nil:
			faults = append(faults, fault.Field{Name: key, Given: text, Hint: "given twice"})
		default:
			given[key] = text
		}
	}
	if len(faults) > 0 {
		return nil, fault.BadFields("bench", faults...)
	}
	return given, nil
}

// ParseForm reads the fields of a web form. An empty field is not given; a cell
// of a table is named table.row.column.
func ParseForm(fields map[string][]string) (Given, error) {
	given := Given{}
	rows := map[string]map[int]map[string]any{}
	var faults []fault.Field
	for name, values := range fields {
		if len(values) > 1 {
			faults = append(faults, fault.Field{Name: name, Given: strings.Join(values, ", "), Hint: "given twice"})
			continue
		}
		if len(values) == 0 || strings.TrimSpace(values[0]) == "" {
			continue
		}
		parts := strings.Split(name, ".")
		if len(parts) == 1 {
			given[name] = values[0]
			continue
		}
		row, err := strconv.Atoi(parts[1])
		if len(parts) != 3 || err != nil || row < 0 || row > 1e4 {
			faults = append(faults, fault.Field{Name: name, Given: values[0], Allowed: "cells named table.row.column"})
			continue
		}
		if rows[parts[0]] == nil {
			rows[parts[0]] = map[int]map[string]any{}
		}
		if rows[parts[0]][row] == nil {
			rows[parts[0]][row] = map[string]any{}
		}
		rows[parts[0]][row][parts[2]] = values[0]
	}
	if len(faults) > 0 {
		sort.Slice(faults, func(i, j int) bool { return faults[i].Name < faults[j].Name })
		return nil, fault.BadFields("bench", faults...)
	}
	for table, numbered := range rows {
		order := make([]int, 0, len(numbered))
		for n := range numbered {
			order = append(order, n)
		}
		sort.Ints(order)
		list := make([]any, len(order))
		for i, n := range order {
			list[i] = numbered[n]
		}
		given[table] = list
	}
	return given, nil
}

// ParseJSON reads one JSON object. A name that comes twice is refused, as is
// anything after the object.
func ParseJSON(data []byte) (Given, error) {
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.UseNumber()
	value, err := readJSON(decoder, 0)
	if err == nil {
		if _, more := decoder.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("there is text after the object")
		}
	}
	object, isObject := value.(map[string]any)
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return nil, unreadable("the text ends too early")
	case err != nil:
		return nil, unreadable(err.Error())
	case !isObject:
		return nil, unreadable(`an object is wanted, like {"ph": 3.4}`)
	}
	return Given(object), nil
}

func unreadable(why string) error { return fault.New(fault.Invalid, "bench", "JSON: %s", why) }

// readJSON decodes one value; encoding/json itself would let a second value of
// the same name silently replace the first.
func readJSON(decoder *json.Decoder, depth int) (any, error) {
	if depth > 8 {
		return nil, errors.New("nested too deep")
	}
	token, err := decoder.Token()
	if err != nil {
		return nil, err
	}
	switch delim := token.(type) {
	default:
		return token, nil
	case json.Delim:
		if delim == '[' {
			list := []any{}
			for decoder.More() {
				item, err := readJSON(decoder, depth+1)
				if err != nil {
					return nil, err
				}
				list = append(list, item)
			}
			_, err := decoder.Token()
			return list, err
		}
		object := map[string]any{}
		for decoder.More() {
			name, err := decoder.Token()
			if err != nil {
				return nil, err
			}
			key, _ := name.(string)
			if _, twice := object[key]; twice {
				return nil, fmt.Errorf("%q is given twice", key)
			}
			if object[key], err = readJSON(decoder, depth+1); err != nil {
				return nil, err
			}
		}
		_, err := decoder.Token()
		return object, err
	}
}
