// Package chart draws the few pictures that Élevage needs as plain SVG, on the
// server, with nothing but the standard library.
//
// A chart is a value: fill it in, ask for its drawing at a size, and put its
// table next to it.
//
//	c := chart.Fan{
//		ID: "b2-malic", Title: "Malic acid in b2", Quantity: "malic acid", Unit: "g/L",
//		Points: points, Readings: readings, Now: now,
//		Limit: &chart.Limit{Value: 0.1, Label: "done below 0.1 g/L"},
//	}
//	svg := c.SVG(chart.Narrow) // for a phone or a card
//	svg = c.SVG(chart.Wide)    // for a desk
//	tab := c.Table()           // the same figures to read
//
// Rules that every chart here keeps:
//
//   - role="img" with a title and a one-sentence description; the unit stands on the axis.
//   - Ink only: shapes are drawn in currentColor at several strengths, and the one
//     accent by the class "accent", so both themes and paper work from one drawing,
//     and no style attribute is needed under a strict content policy.
//   - Colour alone says nothing: what is ahead is hatched and dashed, kinds of
//     reading differ in shape, states differ in pattern and are named in words.
//   - Labels never overlap: one that finds no room is left out and stands in the
//     table and in the mark's own title.
//   - Numbers are in the unit the chart names; a chart never converts.
//
// Time is an argument; days and months follow the location of the times given.
package chart

import "time"

// Size is one of the two widths a chart is drawn for.
type Size int

// The two sizes. Both are drawn and the page shows the one that fits.
const (
	Narrow Size = iota // about 320 px: phone, A6 card
	Wide               // about 720 px and more: desk, A5 and A4
)

func (s Size) width() float64 {
	if s == Wide {
		return 720
	}
	return 320
}

// suffix keeps the ids of the two drawings apart when both stand on one page.
func (s Size) suffix() string {
	if s == Wide {
		return "-w"
	}
	return "-n"
}

// A Chart can be drawn and can be read.
type Chart interface {
	// SVG is the drawing, ready to be put into a page.
	SVG(Size) string
	// Table holds the same figures for those who read rather than look.
	Table() Table
	// Name is the title, for the heading of the table.
	Name() string
}

// A Table is the reading side of a chart; every row has as many cells as Head.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
}

// Limit is a value that decides something, such as 0.1 g/L of malic acid.
type Limit struct {
	Value float64
	Label string
}

// Span is an interval of dates with its middle; From and To are usually the
// 5 % and 95 % dates. A zero To is open: later than anyone would say.
type Span struct {
	From, Mid, To time.Time
	Label         string
}

// Mark is something that was done, shown as a tick on the time axis.
type Mark struct {
	At    time.Time
	Label string
}

// Shape is the form of a reading's mark; the zero value lets the chart choose
// one for each kind, in the order in which the kinds appear.
type Shape int

// The shapes, told apart without colour.
const (
	Auto Shape = iota
	Disc
	Square
	Triangle
	Diamond
	Ring
	Cross
	Plus
	Wedge
)

const shapes = 8

// Reading is a measurement on a chart. Lo and Hi are the ends of its error bar
// (one standard error or an interval, as Kind says); equal to Value for none,
// infinite when the reading only says less than or more than. A NaN Value with
// finite Lo and Hi draws the bar alone: a spot on paper that means 0.1 to 0.5.
type Reading struct {
	At            time.Time
	Value, Lo, Hi float64
	Kind          string
	Shape         Shape
	Struck        bool // struck from the ledger: shown crossed out
}
