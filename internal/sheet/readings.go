// Package sheet writes readings as a spreadsheet and reads them back: CSV with
// one row a reading and the unit in the header of its column.
//
//	happened,vessel,pH,TA [g/L],temperature [°C],words
//	2026-11-03T19:30+01:00,b2,3.47,,,
//	2026-11-03,c1,,6.1,,sample was cloudy
//
// Numerals stay as they were written. A sheet that Write made holds the ids of
// its entries, and gives the same entries back; rows without an id get one from
// what they say, so that a sheet read twice is one.
package sheet

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
)

// Columns that tell of the entry and the reading, before and after its value.
var (
	before = []string{"id", "happened", "zone", "order", "written", "by", "device", "replaces", "overruled", "vessel", "lot"}
	after  = []string{"spread", "as", "end point", "method", "instrument", "control", "session", "sample at", "sample unit", "degassed", "repeats", "drawn", "measured", "reported", "laboratory", "words"}
)

// columnOf is the header of a value: "pH", "TA [g/L]", "chromatogram".
func columnOf(what, unit string) string {
	title := what
	if r, ok := cellar.LookupReadable(what); ok {
		title = r.Title
	}
	if unit == "" || unit == "pH" {
		return title
	}
	return title + " [" + unit + "]"
}

// Write writes every reading among the entries, oldest first. Entries of other
// kinds are not in a sheet of readings; export them as JSON Lines.
func Write(w io.Writer, entries []cellar.Entry) error {
	type row struct {
		entry cellar.Entry
		body  cellar.Reading
	}
	var rows []row
	columns := map[string]bool{}
	for _, e := range entries {
		if e.Kind != cellar.KindReading {
			continue
		}
		b, err := e.Decode()
		if err != nil {
			continue // a finding of the fold tells of it; it is in the JSON Lines
		}
		r := b.(cellar.Reading)
		if r.Value == nil {
			continue
		}
		rows = append(rows, row{e, r})
		columns[columnOf(r.What, r.Value.Unit)] = true
	}
	sort.SliceStable(rows, func(i, j int) bool {
		return rows[i].entry.Happened.Time.Before(rows[j].entry.Happened.Time)
	})
	var values []string
	for c := range columns {
		values = append(values, c)
	}
	sort.Strings(values)
	out := csv.NewWriter(w)
	if err := out.Write(slices.Concat(before, values, after)); err != nil {
		return err
	}
	for _, r := range rows {
		if err := out.Write(cells(r.entry, r.body, values)); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func cells(e cellar.Entry, b cellar.Reading, values []string) []string {
	order := ""
	if e.Happened.Order != 0 {
		order = fmt.Sprint(e.Happened.Order)
	}
	row := []string{string(e.ID), e.Happened.String(), e.Happened.Zone, order, e.Written.UTC().Format(layoutWritten), e.By, e.Device,
		string(e.Replaces), e.Overruled, b.Vessel, b.Lot}
	mine := columnOf(b.What, b.Value.Unit)
	for _, c := range values {
		if c == mine {
			row = append(row, b.Value.Value)
		} else {
			row = append(row, "")
		}
	}
	sample, sampleUnit := "", ""
	if b.Warm != nil {
		sample, sampleUnit = b.Warm.Value, b.Warm.Unit
	}
	repeats := ""
	if b.Repeats != 0 {
		repeats = fmt.Sprint(b.Repeats)
	}
	row = append(row, b.Value.Spread, b.As, b.EndPoint, b.Method, b.Instrument, yes(b.Control), b.Session, sample, sampleUnit, yes(b.Degassed), repeats,
		b.Drawn, b.Measured, b.Reported, b.Lab, b.Words)
	for i := range row {
		row[i] = safe(row[i])
	}
	return row
}

const layoutWritten = "2006-01-02T15:04:05.000Z"

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

// safe keeps a cell from being run as a formula by the spreadsheet that opens it:
// text that begins like one gets an apostrophe, which reading takes off again.
func safe(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@'\t\r", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

func unsafe(cell string) string { return strings.TrimPrefix(cell, "'") }

// Read reads readings. A row that cannot be read is told with its line, column,
// value and what is allowed, and left out; the others are read all the same.
// The pen and the moment stand for what a row does not tell.
func Read(r io.Reader, pen cellar.Pen, now time.Time) (entries []cellar.Entry, bad []fault.Field, err error) {
	lines := bufio.NewReader(r)
	in := csv.NewReader(lines)
	in.Comma = separator(lines)
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	head, err := in.Read()
	if err != nil {
		return nil, nil, fault.New(fault.Invalid, "read sheet", "the first line with the names of the columns is missing or cannot be read: %v", err)
	}
	columns, err := columnsOf(head)
	if err != nil {
		return nil, nil, err
	}
	for {
		row, err := in.Read()
		if err == io.EOF {
			return entries, bad, nil
		}
		if err != nil {
			var p *csv.ParseError
			if !errors.As(err, &p) {
				return entries, bad, fault.New(fault.Invalid, "read sheet", "the file cannot be read to its end: %v", err)
			}
			bad = append(bad, fault.Field{Name: "row", Line: p.Line, Allowed: "cells parted by commas, quotes closed", Hint: p.Err.Error()})
			continue
		}
		line, _ := in.FieldPos(0)
		e, wrong := columns.entries(row, line, pen, now)
		entries = append(entries, e...)
		bad = append(bad, wrong...)
	}
}

// separator is the semicolon where a header uses it, as spreadsheets do in
// countries that write the decimal comma, and the comma otherwise.
func separator(r *bufio.Reader) rune {
	head, _ := r.Peek(4096) // a shorter file is no trouble: what there is tells
	if i := bytes.IndexByte(head, '\n'); i >= 0 {
		head = head[:i]
	}
	if bytes.Count(head, []byte{';'}) > bytes.Count(head, []byte{','}) {
		return ';'
	}
	return ','
}

// digestID gives a row without an id one that follows from what it says.
func digestID(e cellar.Entry) cellar.ID {
	e.ID, e.Written, e.By, e.Device = "", time.Time{}, "", ""
	return cellar.DerivedID(sha256.Sum256([]byte(e.Kind + "\n" + cellar.Kind(e.Happened.String()) + "\n" + cellar.Kind(e.Body))))
}
