package bench

import (
	"fmt"
	"time"

	"elevage/internal/fault"
	"elevage/science/quantity"
)

// A Sheet is what a calculation is written on: it hands out the inputs and
// takes steps, figures, cautions and stops.
type Sheet struct {
	fields
	calculator *Calculator
	quiet      bool // a run for the ± only: figures are wanted, no working
	figures    map[string]*figure
	fixed      map[string]float64 // what was decided in the run that counts
	steps      []Step
	cautions   []Notice
	stops      []Notice
	refusals   []fault.Field
}

// A figure is what was put under one output's key.
type figure struct {
	num  float64
	text string
	rows []map[string]any
	plus float64
	has  bool // has a ±
}

// of returns the value under a declared key; asking for another is the
// programmer's mistake.
func (f fields) of(key string) *value {
	v, ok := f.values[key]
	if !ok {
		panic("bench: " + f.owner + " reads undeclared input " + key)
	}
	return v
}

// Given tells whether the input was given; a default does not count.
func (f fields) Given(key string) bool { return f.of(key).given }

// Has tells whether there is a value, given or by default.
func (f fields) Has(key string) bool {
	v := f.of(key)
	if v.given {
		return true
	}
	for i := range f.declared {
		if f.declared[i].Key == key {
			return f.declared[i].Default != ""
		}
	}
	return false
}

// Num is a number in the unit of its key.
func (f fields) Num(key string) float64 { return f.of(key).num }

// Choice is the value of an Option, or a Text.
func (f fields) Choice(key string) string { return f.of(key).text }

// Yes tells whether a YesNo is yes.
func (f fields) Yes(key string) bool { return f.of(key).text == "yes" }

// List is the numbers of a List, in the unit of its key.
func (f fields) List(key string) []float64 { return f.of(key).list }

// Rows are the rows of a Table.
func (f fields) Rows(key string) []Row { return f.of(key).rows }

// Date is a Date at midnight UTC, which stands for the day only.
func (f fields) Date(key string) time.Time { return f.of(key).date }

func (f fields) base(key string, want dimension) float64 {
	v := f.of(key)
	for i := range f.declared {
		if in := &f.declared[i]; in.Key == key {
			if in.Unit.dim != want {
				panic("bench: " + f.owner + " reads " + key + " as " + string(want))
			}
			return in.Unit.base(v.num)
		}
	}
	return v.num
}

// Typed readers, for the science packages.

// Volume reads a volume.
func (f fields) Volume(key string) quantity.Volume { return quantity.Volume(f.base(key, "volume")) }

// Mass reads a mass.
func (f fields) Mass(key string) quantity.Mass { return quantity.Mass(f.base(key, "mass")) }

// Concentration reads a concentration.
func (f fields) Concentration(key string) quantity.Concentration {
	return quantity.Concentration(f.base(key, "concentration"))
}

// Temperature reads a temperature.
func (f fields) Temperature(key string) quantity.Temperature {
	return quantity.Temperature(f.base(key, "temperature"))
}

// Strength reads an alcoholic strength.
func (f fields) Strength(key string) quantity.Strength {
	return quantity.Strength(f.base(key, "strength"))
}

// Pressure reads a pressure.
func (f fields) Pressure(key string) quantity.Pressure {
	return quantity.Pressure(f.base(key, "pressure"))
}

// PH reads a pH.
func (f fields) PH(key string) quantity.PH { return quantity.PH(f.base(key, "acidity")) }

// Refuse reports that an input, though within its range, makes no sense with the
// others, and says what would. The run ends with all refusals in one error.
func (s *Sheet) Refuse(key, format string, args ...any) {
	given := ""
	if in := s.calculator.input(key); in != nil && s.of(key).given && in.Kind == Number {
		given = withUnit(tidy(s.Num(key)), in.Unit)
	}
	s.refusals = append(s.refusals, fault.Field{Name: key, Given: given, Allowed: fmt.Sprintf(format, args...)})
}

// Refused tells whether anything was refused so far, so that a calculation can
// end before it divides by what was refused.
func (s *Sheet) Refused() bool { return len(s.refusals) > 0 }

// Caution shows a declared caution, with the figures of this case if the
// declaration's words do not say it all.
func (s *Sheet) Caution(code string, detail ...any) {
	s.cautions = notice(s, s.calculator.Cautions, s.cautions, code, detail)
}

// Stop holds the figures back for a declared reason, unless overruled.
func (s *Sheet) Stop(code string, detail ...any) {
	s.stops = notice(s, s.calculator.Stops, s.stops, code, detail)
}

// notice finds the declared warning; detail is a format and its arguments.
func notice(s *Sheet, declared []Warning, list []Notice, code string, detail []any) []Notice {
	if s.quiet {
		return list
	}
	for _, w := range declared {
		if w.Code != code {
			continue
		}
		n := Notice{Code: w.Code, Text: w.Text, Ref: w.Ref, Mark: w.Mark}
		if len(detail) > 0 {
			n.Detail = fmt.Sprintf(detail[0].(string), detail[1:]...)
		}
		return append(list, n)
	}
	panic("bench: " + s.owner + " raises undeclared " + code)
}

// Fix keeps what was decided, such as a dose: when the inputs are moved for the ±
// of what comes after, the dose that was taken stays as it was, though another
// would have been worked out.
func (s *Sheet) Fix(what string, decided float64) float64 {
	if s.quiet {
		if kept, ok := s.fixed[what]; ok {
			return kept
		}
		return decided
	}
	if s.fixed == nil {
		s.fixed = map[string]float64{}
	}
	s.fixed[what] = decided
	return decided
}

// put keeps a figure; the first declared home of the key checks the spelling.
func (s *Sheet) put(key string, f figure) {
	if s.calculator.output(key) == nil {
		panic("bench: " + s.owner + " puts undeclared output " + key)
	}
	s.figures[key] = &f
}

// Out shows the last step of a figure's working and puts the figure out. The
// formula's terms stand in braces: "{dose} * {volume} / 1000".
func (s *Sheet) Out(key string, result float64, formula string, terms ...Term) {
	s.put(key, figure{num: result})
	if s.quiet {
		return
	}
	out := s.calculator.output(key)
	s.steps = append(s.steps, Step{
		Title: out.Label, Formula: formula, Terms: terms, Result: result, Unit: out.Unit.Symbol, Decimals: out.Decimals, Output: key,
	})
}

// OutSolved puts out a figure that no closed formula gives; how says in words
// how it was found.
func (s *Sheet) OutSolved(key string, result float64, how string, terms ...Term) {
	s.Out(key, result, "", terms...)
	if !s.quiet {
		s.steps[len(s.steps)-1].How = how
	}
}

// OutText puts out words.
func (s *Sheet) OutText(key, text string) { s.put(key, figure{text: text}) }

// OutRows puts out a table; each row has the keys of the output's columns.
func (s *Sheet) OutRows(key string, rows []map[string]any) { s.put(key, figure{rows: rows}) }

// Step shows a line of working whose result is used later.
func (s *Sheet) Step(title string, result float64, unit Unit, decimals int, formula string, terms ...Term) {
	if s.quiet {
		return
	}
	s.steps = append(s.steps, Step{Title: title, Formula: formula, Terms: terms, Result: result, Unit: unit.Symbol, Decimals: decimals})
}

// Solved shows a line of working that no closed formula gives.
func (s *Sheet) Solved(title string, result float64, unit Unit, decimals int, how string, terms ...Term) {
	s.Step(title, result, unit, decimals, "", terms...)
	if !s.quiet {
		s.steps[len(s.steps)-1].How = how
	}
}
