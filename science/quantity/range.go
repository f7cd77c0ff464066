package quantity

import (
	"fmt"
	"math"
	"strconv"
)

// A RangeError says that an argument lies outside the domain in which a
// function is valid. It names the field, the value that was given and what is
// allowed, in words that can be shown to a winemaker as they are.
type RangeError struct {
	Field    string  // trade's name of the argument: "free SO2", "pH"
	Value    float64 // as given, in Unit
	Unit     string  // "" for pure numbers and pH
	Min, Max float64 // allowed, in Unit; an infinite bound is left out of the message
	Why      string  // optional: why the bound stands
}

// Error reads, for example: "alcohol is 31 % vol: allowed is 0 to 20 % vol (limit of the OIV table)".
func (e *RangeError) Error() string {
	unit := ""
	if e.Unit != "" {
		unit = " " + e.Unit
	}
	s := fmt.Sprintf("%s is %s%s: allowed is %s%s", e.Field, number(e.Value), unit, e.allowed(), unit)
	if e.Why != "" {
		s += " (" + e.Why + ")"
	}
	return s
}

func (e *RangeError) allowed() string {
	switch lo, hi := !math.IsInf(e.Min, 0), !math.IsInf(e.Max, 0); {
	case lo && hi:
		return number(e.Min) + " to " + number(e.Max)
	case lo:
		return "at least " + number(e.Min)
	case hi:
		return "at most " + number(e.Max)
	}
	return "any number"
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// Check returns a *RangeError unless lo ≤ value ≤ hi, all in unit; NaN is outside every
// range. field is the trade's name of what was checked, as a person would read it.
func Check(field string, value float64, unit string, lo, hi float64) error {
	if value >= lo && value <= hi {
		return nil
	}
	return &RangeError{Field: field, Value: value, Unit: unit, Min: lo, Max: hi}
}
