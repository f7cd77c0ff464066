// Package uncertain carries the ± of inputs through a reckoning to the ± of what
// comes out.
//
//	in := []uncertain.Input{{Name: "pH", Value: 3.45, SD: 0.05}, {Name: "TA", Value: 6.2, SD: 0.15, Max: math.Inf(1)}}
//	out, err := uncertain.Propagate(in, 1, func(x, y []float64) error {
//		y[0] = x[0] * x[1]
//		return nil
//	})
//	out[0].Value, out[0].SD, out[0].Share // result, its standard deviation, whose fault it is
//
// Values are bare numbers here, each in a unit of the caller's choice; a result's
// SD is in the result's unit.
//
// Method: second-order divided differences (Nørgaard, Poulsen, Ravn 2000,
// Automatica 36:1627, "DD2"), a deterministic set of 2n+1 evaluations. Each input
// is moved up and down by √3 of its standard deviation, alone. Unlike a derivative
// at one point this sees curvature where the input may really lie, and gets mean
// and variance right to second order for normal inputs; unlike Monte Carlo it needs
// no random numbers and gives the same answer every time. What it leaves out:
// two inputs acting jointly (the cross terms of the second derivative), and
// correlation between inputs, which are taken to be independent. Where two
// readings share an error, make that error an input of its own.
package uncertain

import (
	"fmt"
	"math"
)

// An Input is a number with a standard deviation.
type Input struct {
	Name  string
	Value float64
	SD    float64 // 0: exactly known
	// Min and Max are limits that the number cannot pass (a concentration is not
	// negative). Both zero means none. A step that would pass a limit stops there,
	// and only the slope is used.
	Min, Max float64
}

// An Estimate is a result with its uncertainty.
type Estimate struct {
	Value float64   // with every input at its value
	Mean  float64   // expectation to second order; differs from Value where the function is curved
	SD    float64   // standard deviation
	Share []float64 // how much of the variance each input causes; sums to 1 unless SD is 0
}

// An InputError names an input that cannot be used.
type InputError struct {
	Input Input
	Why   string
}

// Error says what is wrong with which input.
func (e *InputError) Error() string {
	return fmt.Sprintf("%s is %g ± %g: %s", e.Input.Name, e.Input.Value, e.Input.SD, e.Why)
}

// step is h in units of the standard deviation: h² = 3 is the kurtosis of the
// normal distribution, which makes the fourth-order terms of each input alone right.
var step = math.Sqrt(3)

// Propagate calls f with the inputs at their values and around them; f fills y,
// of the length asked for, and must not keep x or y. The first error that f
// returns ends it.
func Propagate(inputs []Input, outputs int, f func(x, y []float64) error) ([]Estimate, error) {
	for _, in := range inputs {
		if err := in.check(); err != nil {
			return nil, err
		}
	}
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Value
	}
	centre, up, down := make([]float64, outputs), make([]float64, outputs), make([]float64, outputs)
	if err := f(x, centre); err != nil {
		return nil, err
	}
	out := make([]Estimate, outputs)
	for k := range out {
		out[k] = Estimate{Value: centre[k], Mean: centre[k], Share: make([]float64, len(inputs))}
	}
	for i, in := range inputs {
		if in.SD == 0 {
			continue
		}
		high, low := in.limit(in.Value+step*in.SD), in.limit(in.Value-step*in.SD)
		x[i] = high
		if err := f(x, up); err != nil {
			return nil, fmt.Errorf("with %s at %g: %w", in.Name, high, err)
		}
		x[i] = low
		if err := f(x, down); err != nil {
			return nil, fmt.Errorf("with %s at %g: %w", in.Name, low, err)
		}
		x[i] = in.Value
		whole := high == in.Value+step*in.SD && low == in.Value-step*in.SD
		for k := range out {
			out[k].add(i, in.SD, high-low, up[k], centre[k], down[k], whole)
		}
	}
	for k := range out {
		out[k].finish()
	}
	return out, nil
}

// add takes one input's contribution to mean and variance. Share holds variances until finish.
func (e *Estimate) add(input int, sd, width, up, centre, down float64, whole bool) {
	slope := 0.0
	if width > 0 {
		slope = (up - down) / width * sd
	}
	variance := slope * slope
	if whole {
		h2 := step * step
		bend := up + down - 2*centre
		e.Mean += bend / (2 * h2)
		variance += (h2 - 1) / (4 * h2 * h2) * bend * bend
	}
	e.Share[input] = variance
	e.SD += variance
}

func (e *Estimate) finish() {
	if e.SD > 0 {
		for i := range e.Share {
			e.Share[i] /= e.SD
		}
	}
	e.SD = math.Sqrt(e.SD)
}

func (in Input) bounded() bool { return in.Min != 0 || in.Max != 0 }

func (in Input) limit(v float64) float64 {
	if !in.bounded() {
		return v
	}
	return math.Max(in.Min, math.Min(in.Max, v))
}

func (in Input) check() error {
	switch {
	case math.IsNaN(in.Value) || math.IsInf(in.Value, 0):
		return &InputError{in, "the value must be a number"}
	case !(in.SD >= 0) || math.IsInf(in.SD, 0):
		return &InputError{in, "the ± must be zero or more"}
	case in.bounded() && !(in.Min <= in.Max):
		return &InputError{in, fmt.Sprintf("the limits %g and %g are the wrong way round", in.Min, in.Max)}
	case in.bounded() && !(in.Value >= in.Min && in.Value <= in.Max):
		return &InputError{in, fmt.Sprintf("the value must lie between %g and %g", in.Min, in.Max)}
	}
	return nil
}
