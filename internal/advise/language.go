package advise

import (
	"fmt"
	"slices"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/fault"
)

// The language of conditions is CEL with the figures of this package as types of
// their own, units as functions, and nothing that reaches a clock, a disk or a
// network. Unknown is its third answer: unknown && false is false, unknown &&
// true is unknown.

// units are the functions that make a figure out of a number.
var units = []struct {
	name, means string
	kind        kind
	factor      float64
	show        string
}{
	{"mg_l", "milligrams in a litre", concentration, 1e-3, "mg/L"},
	{"g_l", "grams in a litre", concentration, 1, "g/L"},
	{"litres", "litres", volume, 1, ""},
	{"grams", "grams", mass, 1, ""},
	{"celsius", "degrees Celsius", temperature, 1, ""},
	{"percent_vol", "alcohol by volume", alcohol, 1, ""},
	{"days", "days", span, 1, ""},
	{"weeks", "weeks", span, 7, ""},
}

// costLimit bounds one evaluation: built-in conditions cost under 60.
const costLimit = 5000

func newLanguage(names []word) (*cel.Env, error) {
	opts := []cel.EnvOption{cel.StdLib(), cel.CrossTypeNumericComparisons(true),
		cel.ParserExpressionSizeLimit(4000), cel.ParserRecursionLimit(40), cel.ClearMacros()}
	for _, n := range names {
		opts = append(opts, cel.Variable(n.name, n.celType()))
	}
	for _, u := range units {
		make := func(v ref.Val) ref.Val {
			n, _ := number(v)
			return measure{kind: u.kind, v: n * u.factor, unit: u.show}
		}
		opts = append(opts, cel.Function(u.name,
			cel.Overload(u.name+"_int", []*cel.Type{cel.IntType}, celTypes[u.kind], cel.UnaryBinding(make)),
			cel.Overload(u.name+"_double", []*cel.Type{cel.DoubleType}, celTypes[u.kind], cel.UnaryBinding(make))))
	}
	opts = append(opts, arithmetic()...)
	opts = append(opts, cel.Function("known",
		cel.Overload("known_dyn", []*cel.Type{cel.DynType}, cel.BoolType, cel.OverloadIsNonStrict(),
			cel.UnaryBinding(func(v ref.Val) ref.Val { return types.Bool(!types.IsUnknown(v)) }))))
	param := cel.TypeParamType("T")
	opts = append(opts, cel.Function("either",
		cel.Overload("either_t_t", []*cel.Type{param, param}, param, cel.OverloadIsNonStrict(),
			cel.BinaryBinding(func(a, b ref.Val) ref.Val {
				if types.IsUnknown(a) {
					return b
				}
				return a
			}))))
	opts = append(opts, cel.Function("last",
		cel.Overload("last_string_date", []*cel.Type{cel.StringType, celTypes[date]}, celTypes[date], cel.BinaryBinding(lastDone))))
	return cel.NewCustomEnv(opts...)
}

// lastDone makes last("read", at.read_ph) of a day: in a sentence it stands as
// "last read 3 November", or "never read on record".
func lastDone(verb, day ref.Val) ref.Val {
	m, ok := day.(measure)
	if !ok {
		return types.MaybeNoSuchOverloadErr(day)
	}
	m.unit = string(verb.(types.String))
	return m
}

// arithmetic declares what the figures can do with each other; the values do it.
func arithmetic() []cel.EnvOption {
	var less, more, least, most, add, sub, mul, div, larger, smaller []cel.FunctionOpt
	pair := func(op string, a, b, result *cel.Type, names ...string) cel.FunctionOpt {
		return cel.Overload(op+"_"+strings.Join(names, "_"), []*cel.Type{a, b}, result)
	}
	for k := range kindNames {
		t, n := celTypes[k], kindNames[k]
		less = append(less, pair("less", t, t, cel.BoolType, n))
		least = append(least, pair("less_equals", t, t, cel.BoolType, n))
		more = append(more, pair("greater", t, t, cel.BoolType, n))
		most = append(most, pair("greater_equals", t, t, cel.BoolType, n))
		larger = append(larger, cel.Overload("larger_"+n, []*cel.Type{t, t}, t, cel.BinaryBinding(choose(1))))
		smaller = append(smaller, cel.Overload("smaller_"+n, []*cel.Type{t, t}, t, cel.BinaryBinding(choose(-1))))
		if kind(k) == date {
			continue
		}
		add = append(add, pair("add", t, t, t, n))
		sub = append(sub, pair("subtract", t, t, t, n))
		div = append(div, pair("divide", t, t, cel.DoubleType, n))
		for _, by := range []*cel.Type{cel.DoubleType, cel.IntType} {
			mul = append(mul, pair("multiply", t, by, t, n, by.String()))
			div = append(div, pair("divide", t, by, t, n, by.String()))
		}
	}
	day, days := celTypes[date], celTypes[span]
	add = append(add, pair("add", day, days, day, "date", "span"))
	sub = append(sub, pair("subtract", day, days, day, "date", "span"), pair("subtract", day, day, days, "date", "date"))
	return []cel.EnvOption{
		cel.Function(operators.Less, less...), cel.Function(operators.LessEquals, least...),
		cel.Function(operators.Greater, more...), cel.Function(operators.GreaterEquals, most...),
		cel.Function(operators.Add, add...), cel.Function(operators.Subtract, sub...),
		cel.Function(operators.Multiply, mul...), cel.Function(operators.Divide, div...),
		cel.Function("larger", larger...), cel.Function("smaller", smaller...),
	}
}

// choose takes the larger (1) or the smaller (-1) of two.
func choose(sign types.Int) func(a, b ref.Val) ref.Val {
	return func(a, b ref.Val) ref.Val {
		c := a.(measure).Compare(b)
		if c == sign || c == types.IntZero {
			return a
		}
		if c == -sign {
			return b
		}
		return c
	}
}

// A formula is one expression of a protocol file, checked and ready to run.
type formula struct {
	text    string
	line    int
	result  *cel.Type
	program cel.Program
	uses    []string // words of the vocabulary, in order
}

// compile checks an expression; wanted nil takes any type. What is wrong is
// given back as a field with the line of the file.
func compile(env *cel.Env, name, text string, line int, wanted *cel.Type) (*formula, *fault.Field) {
	bad := func(offset int, allowed, hint string) (*formula, *fault.Field) {
		return nil, &fault.Field{Name: name, Given: text, Allowed: allowed, Hint: hint, Line: line + offset}
	}
	checked, issues := env.Compile(text)
	if err := issues.Err(); err != nil {
		first := issues.Errors()[0]
		return bad(max(0, first.Location.Line()-1), "an expression of the vocabulary", plain(first.Message))
	}
	if wanted != nil && !checked.OutputType().IsExactType(wanted) {
		return bad(0, "an expression that gives a "+cel.FormatCELType(wanted), "this gives a "+cel.FormatCELType(checked.OutputType()))
	}
	program, err := env.Program(checked, cel.CostLimit(costLimit), cel.EvalOptions(cel.OptOptimize))
	if err != nil {
		return bad(0, "an expression that can be run", err.Error())
	}
	f := &formula{text: text, line: line, result: checked.OutputType(), program: program}
	for _, r := range checked.NativeRep().ReferenceMap() {
		if r.Name != "" && !slices.Contains(f.uses, r.Name) {
			f.uses = append(f.uses, r.Name)
		}
	}
	slices.Sort(f.uses)
	return f, nil
}

// plain turns the checker's words into a reader's.
func plain(message string) string {
	message = strings.TrimSuffix(message, " (in container '')")
	message = strings.ReplaceAll(message, "undeclared reference to", "there is no")
	if rest, ok := strings.CutPrefix(message, "found no matching overload for '"); ok {
		op, args, _ := strings.Cut(rest, "' applied to ")
		return fmt.Sprintf("%s cannot be used on %s", strings.Trim(op, "_"), strings.Trim(args, "'"))
	}
	return message
}

// eval runs the formula. It gives the value; or the names that are not known; or
// an error, such as a division by zero.
func (f *formula) eval(vars cel.Activation) (v ref.Val, unknown []string, err error) {
	v, _, err = f.program.Eval(vars)
	if err != nil {
		return nil, nil, fmt.Errorf("%q cannot be worked out: %s", f.text, plain(err.Error()))
	}
	if u, ok := v.(*types.Unknown); ok {
		return nil, unknowns(u), nil
	}
	return v, nil, nil
}

func unknowns(u *types.Unknown) []string {
	var names []string
	for _, id := range u.IDs() {
		trails, _ := u.GetAttributeTrails(id)
		for _, t := range trails {
			names = append(names, t.Variable())
		}
	}
	return names
}
