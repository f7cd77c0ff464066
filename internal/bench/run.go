package bench

import (
	"errors"
	"fmt"
	"math"

	"elevage/internal/fault"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// Run judges what was given and does the calculation. The error is of kind
// fault.Invalid and holds every field that is wrong, or it is a *StopError.
func (c *Calculator) Run(given Given) (Result, error) {
	inputs, words, err := c.read(given)
	if err != nil {
		return Result{}, err
	}
	sheet, err := c.work(inputs, nil)
	if err != nil {
		return Result{}, err
	}
	if err := c.spread(inputs, sheet); err != nil {
		return Result{}, err
	}
	c.unusual(inputs, sheet)
	result := c.result(sheet)
	if len(sheet.stops) > 0 {
		if words == "" {
			return Result{}, &StopError{Calculator: c.Name, Stops: sheet.stops, Overrule: howToOverrule}
		}
		result.Overruled = &Overruling{Words: words, Stops: sheet.stops}
	}
	return result, nil
}

// work runs the calculation once; beside tells for which sheet's ± it is run, nil
// for the run that counts.
func (c *Calculator) work(inputs fields, beside *Sheet) (*Sheet, error) {
	sheet := &Sheet{fields: inputs, calculator: c, quiet: beside != nil, figures: make(map[string]*figure, len(c.Outputs))}
	if beside != nil {
		sheet.fixed = beside.fixed
	}
	err := c.Work(sheet)
	var outOfRange *quantity.RangeError
	switch {
	case len(sheet.refusals) > 0:
		return nil, c.invalid(sheet.refusals...)
	case errors.As(err, &outOfRange):
		return nil, c.invalid(rangeFault(outOfRange))
	case err != nil:
		return nil, fault.New(fault.Invalid, "bench "+c.Name, "%s", err.Error())
	}
	for _, out := range c.Outputs {
		f, ok := sheet.figures[out.Key]
		if !ok && !out.Optional {
			panic("bench: " + c.Name + " left out " + out.Key)
		}
		if ok && out.Kind == Number && !finite(f.num) {
			return nil, fault.New(fault.Invalid, "bench "+c.Name, "%s %s", out.Label, noFigure)
		}
	}
	return sheet, nil
}

// rangeFault turns the science's own words about a domain into a field's.
func rangeFault(e *quantity.RangeError) fault.Field {
	allowed := fmt.Sprintf("%s to %s", tidy(e.Min), tidy(e.Max))
	switch {
	case math.IsInf(e.Min, -1) && math.IsInf(e.Max, 1):
		allowed = "any number"
	case math.IsInf(e.Max, 1):
		allowed = "at least " + tidy(e.Min)
	case math.IsInf(e.Min, -1):
		allowed = "at most " + tidy(e.Max)
	}
	given := tidy(e.Value)
	if e.Unit != "" {
		allowed += " " + e.Unit
		given += " " + e.Unit
	}
	if e.Why != "" {
		allowed += " (" + e.Why + ")"
	}
	return fault.Field{Name: e.Field, Given: given, Allowed: allowed}
}

// tenTimes is how far above the usual a figure is taken for a slip of the pen.
const tenTimes = 10

// unusual stops what is ten times the usual, whichever calculator it is.
func (c *Calculator) unusual(inputs fields, sheet *Sheet) {
	say := func(label string, x, usual float64, u Unit) {
		sheet.stops = append(sheet.stops, Notice{
			Code: "ten-times-usual",
			Text: fmt.Sprintf("%s of %s is %s times the upper end of what is usual (%s): a slip of the pen, or a unit mistaken?",
				label, withUnit(tidy(x), u), tidy(math.Round(x/usual)), withUnit(tidy(usual), u)),
			Mark: cited.Proposal,
		})
	}
	for _, in := range c.Inputs {
		if x := inputs.values[in.Key].num; in.Usual > 0 && x >= tenTimes*in.Usual {
			say(in.Label, x, in.Usual, in.Unit)
		}
	}
	for _, out := range c.Outputs {
		if f := sheet.figures[out.Key]; f != nil && out.Usual > 0 && f.num >= tenTimes*out.Usual {
			say(out.Label, f.num, out.Usual, out.Unit)
		}
	}
}

// spread carries each input's ± through the calculation to the figures.
//
// Each uncertain input is moved up and down by its ± while the others rest; half
// the difference is its share, and the shares add as squares:
//
//	s(y)² = Σ ( (y(x+s) − y(x−s)) / 2 )²
//
// which is the law of propagation of uncertainty with numeric derivatives (JCGM
// 100:2008, 5.1.2 and 5.1.3 note 2; from memory, unverified), first order, for
// inputs that err independently. Where one side leaves the allowed range the
// other side alone is used.
func (c *Calculator) spread(inputs fields, sheet *Sheet) error {
	squares := map[string]float64{}
	any := false
	err := inputs.eachPlus("", func(name string, in *Input, v *value) error {
		any = true
		up, down, sides, err := c.beside(inputs, sheet, in, v)
		if err != nil {
			return c.invalid(fault.Field{Name: name + plus, Given: tidy(v.plus), Allowed: "a smaller ±", Hint: noFigure})
		}
		for key := range sheet.figures {
			if a, b := up.figures[key], down.figures[key]; a != nil && b != nil {
				d := (a.num - b.num) / sides
				squares[key] += d * d
			}
		}
		return nil
	})
	if err != nil || !any {
		return err
	}
	for key, f := range sheet.figures {
		if out := c.output(key); out.Kind == Number && finite(squares[key]) && squares[key] > 0 {
			f.plus, f.has = math.Sqrt(squares[key]), true
		}
	}
	return nil
}

// beside runs the calculation with one input moved to either side, and says how
// many times its ± lies between the two. A side that cannot be had is replaced
// by the middle; both missing is an error.
func (c *Calculator) beside(inputs fields, sheet *Sheet, in *Input, v *value) (up, down *Sheet, sides float64, err error) {
	middle := v.num
	defer func() { v.num = middle }()
	side := func(x float64) *Sheet {
		if !in.within(x) {
			return nil
		}
		v.num = x
		moved, err := c.work(inputs, sheet)
		if err != nil {
			return nil
		}
		return moved
	}
	up, down = side(middle+v.plus), side(middle-v.plus)
	if up != nil && down != nil {
		return up, down, 2, nil
	}
	centre := side(middle)
	switch {
	case centre == nil || (up == nil && down == nil):
		return nil, nil, 0, errors.New(noFigure)
	case up == nil:
		up = centre
	default:
		down = centre
	}
	return up, down, 1, nil
}

// eachPlus visits every number with a ±, those in tables too, in declared order.
func (f fields) eachPlus(prefix string, visit func(name string, in *Input, v *value) error) error {
	for i := range f.declared {
		in := &f.declared[i]
		v := f.values[in.Key]
		if v.plus > 0 {
			if err := visit(prefix+in.Key, in, v); err != nil {
				return err
			}
		}
		for n, row := range v.rows {
			if err := row.eachPlus(fmt.Sprintf("%s%s[%d].", prefix, in.Key, n+1), visit); err != nil {
				return err
			}
		}
	}
	return nil
}
