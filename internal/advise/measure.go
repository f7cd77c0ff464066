package advise

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"time"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"cel.dev/cel-go/common/types/traits"
)

// A kind is what a figure of the conditions measures. Figures of different kinds
// neither compare nor add, so that 30 mg/L is never held against 30 g/L by mistake.
type kind uint8

const (
	concentration kind = iota // g/L
	volume                    // L
	mass                      // g
	temperature               // °C
	alcohol                   // % vol
	span                      // days
	date                      // days since 1 January 1970, in the cellar's calendar
)

var kindNames = [...]string{"concentration", "volume", "mass", "temperature", "strength", "span", "date"}

func (k kind) String() string { return kindNames[k] }

// celTypes are the kinds as the expression language's checker knows them.
var celTypes, valueTypes = func() (checked [date + 1]*cel.Type, held [date + 1]*types.Type) {
	for k := range kindNames {
		checked[k] = cel.OpaqueType(kindNames[k])
		held[k] = types.NewObjectType(kindNames[k], traits.ComparerType|traits.AdderType|traits.SubtractorType|traits.MultiplierType|traits.DividerType)
	}
	return checked, held
}()

// A measure is a figure with its kind. Unit and decimals only say how it is shown.
type measure struct {
	kind     kind
	v        float64 // in the base unit of the kind
	unit     string  // shown in; "" lets the kind decide
	decimals int
}

var _ interface {
	ref.Val
	traits.Comparer
	traits.Adder
	traits.Subtractor
	traits.Multiplier
	traits.Divider
} = measure{}

func (m measure) ConvertToNative(t reflect.Type) (any, error) {
	return nil, fmt.Errorf("a %s is no %s", m.kind, t)
}

func (m measure) ConvertToType(t ref.Type) ref.Val {
	return types.NewErr("a %s is no %s", m.kind, t.TypeName())
}

func (m measure) Type() ref.Type { return valueTypes[m.kind] }
func (m measure) Value() any     { return m.v }

func (m measure) Equal(o ref.Val) ref.Val {
	b, ok := o.(measure)
	return types.Bool(ok && b.kind == m.kind && b.v == m.v)
}

// Compare is for two of a kind.
func (m measure) Compare(o ref.Val) ref.Val {
	b, ok := o.(measure)
	switch {
	case !ok || b.kind != m.kind || math.IsNaN(m.v) || math.IsNaN(b.v):
		return types.MaybeNoSuchOverloadErr(o)
	case m.v < b.v:
		return types.IntNegOne
	case m.v > b.v:
		return types.IntOne
	}
	return types.IntZero
}

// Add is for two of a kind, and for a date and a span.
func (m measure) Add(o ref.Val) ref.Val {
	b, ok := o.(measure)
	switch {
	case ok && m.kind == b.kind && m.kind != date, ok && m.kind == date && b.kind == span:
		m.v += b.v
		return m
	case ok && m.kind == span && b.kind == date:
		b.v += m.v
		return b
	}
	return types.MaybeNoSuchOverloadErr(o)
}

// Subtract is for two of a kind, two dates giving a span, and for a span from a date.
func (m measure) Subtract(o ref.Val) ref.Val {
	b, ok := o.(measure)
	switch {
	case ok && m.kind == date && b.kind == date:
		return measure{kind: span, v: m.v - b.v}
	case ok && (m.kind == b.kind || m.kind == date && b.kind == span):
		m.v -= b.v
		return m
	}
	return types.MaybeNoSuchOverloadErr(o)
}

// Multiply is by a pure number.
func (m measure) Multiply(o ref.Val) ref.Val {
	n, ok := number(o)
	if !ok {
		return types.MaybeNoSuchOverloadErr(o)
	}
	m.v *= n
	return m
}

// Divide is by a pure number, or by one of the same kind, giving a number.
func (m measure) Divide(o ref.Val) ref.Val {
	if b, ok := o.(measure); ok && b.kind == m.kind {
		return types.Double(m.v / b.v)
	}
	n, ok := number(o)
	if !ok {
		return types.MaybeNoSuchOverloadErr(o)
	}
	m.v /= n
	return m
}

func number(v ref.Val) (float64, bool) {
	switch n := v.(type) {
	case types.Double:
		return float64(n), true
	case types.Int:
		return float64(n), true
	}
	return 0, false
}

// never is the date of what has not happened: before every other.
var never = measure{kind: date, v: math.Inf(-1)}

// dayNumber counts days of the calendar, so that a date stays a date when
// clocks are put forward.
func dayNumber(t time.Time) float64 {
	y, m, d := t.Date()
	return float64(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// dayOf is the calendar day of a count, in a place's zone; ok is false for never
// and for dates that no calendar holds.
func dayOf(n float64, in *time.Location) (t time.Time, ok bool) {
	if math.IsNaN(n) || math.Abs(n) > 365*9000 {
		return time.Time{}, false
	}
	u := time.Unix(int64(math.Floor(n))*86400, 0).UTC()
	return time.Date(u.Year(), u.Month(), u.Day(), 0, 0, 0, 0, in), true
}

// on makes a date of a moment in the cellar's zone.
func on(t time.Time, in *time.Location) measure {
	return measure{kind: date, v: dayNumber(t.In(in))}
}

// inWords is the figure as it stands in a sentence, in metric or in US units.
func (m measure) inWords(us bool) string {
	fixed := func(v float64, decimals int, unit string) string {
		if decimals == 0 || math.Abs(v) < 1e9 {
			return strconv.FormatFloat(v+0, 'f', decimals, 64) + " " + unit
		}
		return strconv.FormatFloat(v, 'g', 4, 64) + " " + unit
	}
	switch m.kind {
	case concentration:
		if m.unit == "g/L" {
			return fixed(m.v, max(1, m.decimals), "g/L")
		}
		return fixed(m.v*1000, m.decimals, "mg/L")
	case volume:
		switch {
		case us && m.v < 0.5:
			return fixed(m.v/0.0295735295625, 1, "fl oz")
		case us:
			return fixed(m.v/3.785411784, 2, "gal")
		case m.v < 1:
			return fixed(m.v*1000, 0, "mL")
		}
		return fixed(m.v, 1, "L")
	case mass:
		if m.v >= 1000 {
			return fixed(m.v/1000, 2, "kg")
		}
		return fixed(m.v, 1, "g")
	case temperature:
		if us {
			return fixed(m.v*1.8+32, 0, "°F")
		}
		return fixed(m.v, 0, "°C")
	case alcohol:
		return fixed(m.v, 1, "% vol")
	case span:
		return daysInWords(m.v)
	}
	t, ok := dayOf(m.v, time.UTC)
	if !ok {
		return "never"
	}
	return t.Format("2 January")
}

func daysInWords(d float64) string {
	switch n := math.Round(d); {
	case math.IsInf(d, 0) || math.IsNaN(d):
		return "no time on record"
	case d < 1.5/24:
		return "an hour"
	case d < 1:
		return strconv.Itoa(int(math.Round(d*24))) + " hours"
	case n == 1:
		return "1 day"
	case n < 21:
		return strconv.Itoa(int(n)) + " days"
	case n < 70:
		return strconv.Itoa(int(math.Round(d/7))) + " weeks"
	default:
		return strconv.Itoa(int(math.Round(d/30.44))) + " months"
	}
}
