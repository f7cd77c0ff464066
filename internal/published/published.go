// Package published reads the tables of testdata that hold figures from outside the
// project: standards, handbooks, papers, other programs. Lines that begin with '#'
// carry source and standing; the first other line names the columns.
package published

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Table is a table's rows by name of column. The test ends if it cannot be read or
// has no row.
func Table(tb testing.TB, path string) []map[string]string {
	tb.Helper()
	lines := read(tb, path)
	rows := make([]map[string]string, 0, len(lines)-1)
	for _, line := range lines[1:] {
		row := make(map[string]string, len(line))
		for i, column := range lines[0] {
			row[column] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// Lines is a table without names of columns, line by line.
func Lines(tb testing.TB, path string) [][]string {
	tb.Helper()
	return read(tb, path)
}

func read(tb testing.TB, path string) [][]string {
	tb.Helper()
	f, err := os.Open(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // read only
	r := csv.NewReader(f)
	r.Comment, r.LazyQuotes = '#', true
	lines, err := r.ReadAll()
	if err != nil {
		tb.Fatalf("%s: %v", path, err)
	}
	if len(lines) < 2 {
		tb.Fatalf("%s holds no rows", path)
	}
	for _, line := range lines {
		for i := range line {
			line[i] = strings.TrimSpace(line[i])
		}
	}
	return lines
}

// Number is a cell's figure. The test ends if it is none.
func Number(tb testing.TB, cell string) float64 {
	tb.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		tb.Fatal(err)
	}
	return v
}

// NumberOr is a cell's figure, or what stands for an empty one.
func NumberOr(tb testing.TB, cell string, empty float64) float64 {
	tb.Helper()
	if cell == "" {
		return empty
	}
	return Number(tb, cell)
}
