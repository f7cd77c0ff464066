package acidbase_test

import (
	"math"
	"path/filepath"
	"testing"

	"elevage/internal/published"
)

// row is one line of a table in testdata, by column name.
type row map[string]string

// number reads a column.
func (r row) number(t testing.TB, column string) float64 {
	t.Helper()
	return published.Number(t, r[column])
}

// table reads a file of testdata; lines that begin with # say where it is from.
func table(t testing.TB, name string) []row {
	t.Helper()
	return tableAt(t, filepath.Join("testdata", name))
}

func tableAt(t testing.TB, path string) []row {
	t.Helper()
	var rows []row
	for _, r := range published.Table(t, path) {
		rows = append(rows, r)
	}
	return rows
}

// near fails unless got is within tolerance of want.
func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}

// must fails on an error and passes the value on.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
