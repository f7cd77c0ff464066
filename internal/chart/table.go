package chart

import (
	"sort"
	"time"
)

// tableRow is a row of a chart's table that belongs to a moment.
type tableRow struct {
	at    time.Time
	cells []string
}

// inOrder sorts rows by time, keeping the order of those at one moment.
func inOrder(rows []tableRow) [][]string {
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].at.Before(rows[j].at) })
	out := make([][]string, len(rows))
	for i, r := range rows {
		out[i] = r.cells
	}
	return out
}

// factRows are the rows of readings and marks: date, what, value, error bar.
func factRows(readings []Reading, marks []Mark, unit string, ref time.Time) []tableRow {
	var rows []tableRow
	for _, r := range readings {
		rows = append(rows, tableRow{r.At, []string{day(r.At, ref), kindName(r), figuresIn(unit, r.Value), barWords(r, unit)}})
	}
	for _, m := range marks {
		rows = append(rows, tableRow{m.At, []string{day(m.At, ref), m.Label, "", ""}})
	}
	return rows
}
