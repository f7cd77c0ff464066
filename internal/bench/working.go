package bench

import (
	"fmt"
	"strings"
)

// A Step is one line of working: a formula, the numbers put in, and what comes
// out. A step that no closed formula gives says in How what was done instead.
type Step struct {
	Title    string  `json:"title"`
	Formula  string  `json:"formula,omitempty"` // terms in braces: "{dose} * {volume} / 1000"
	How      string  `json:"how,omitempty"`
	Terms    []Term  `json:"terms,omitempty"`
	Result   float64 `json:"result"`
	Unit     string  `json:"unit,omitempty"`
	Decimals int     `json:"decimals"`
	Output   string  `json:"output,omitempty"` // key of the output that this step ends at
}

// A Term is a number put into a formula.
type Term struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit,omitempty"`
	From  string  `json:"from,omitempty"` // where a constant comes from
}

// term makes a Term.
func term(name string, value float64, unit Unit) Term {
	return Term{Name: name, Value: value, Unit: unit.Symbol}
}

// constant makes a Term that carries its source.
func constant(name string, value float64, unit Unit, from string) Term {
	return Term{Name: name, Value: value, Unit: unit.Symbol, From: from}
}

// term makes a Term of an input, named by its label.
func (s *Sheet) term(key string) Term {
	in := s.calculator.input(key)
	if in == nil {
		panic("bench: " + s.owner + " shows undeclared input " + key)
	}
	return Term{Name: in.Label, Value: s.Num(key), Unit: in.Unit.Symbol}
}

// InWords is the formula as people write it.
func (s Step) InWords() string {
	return pretty(strings.NewReplacer("{", "", "}", "").Replace(s.Formula))
}

// WithNumbers is the formula with the numbers put in.
func (s Step) WithNumbers() string {
	pairs := make([]string, 0, 2*len(s.Terms))
	for _, t := range s.Terms {
		number := tidy(t.Value)
		if t.Value < 0 {
			number = "(−" + tidy(-t.Value) + ")"
		}
		pairs = append(pairs, "{"+t.Name+"}", number)
	}
	return pretty(strings.NewReplacer(pairs...).Replace(s.Formula))
}

// Outcome is the result with its unit, in as many decimals as it is worth.
func (s Step) Outcome() string {
	out := fixed(s.Result, s.Decimals)
	if s.Unit != "" {
		out += " " + s.Unit
	}
	return out
}

// pretty sets typographic signs for the ASCII ones that formulas are written in.
func pretty(formula string) string {
	return strings.NewReplacer(" - ", " − ", " * ", " × ", " / ", " / ", "sqrt(", "√(", "log10(", "lg(").Replace(formula)
}

// text writes the step as lines of plain text.
func (s Step) text(b *strings.Builder, n int) {
	fmt.Fprintf(b, "%2d. %s\n", n, s.Title)
	switch {
	case s.How != "":
		fmt.Fprintf(b, "    %s\n", s.How)
		if len(s.Terms) > 0 {
			fmt.Fprintf(b, "    with %s\n", joinTerms(s.Terms))
		}
		fmt.Fprintf(b, "    = %s\n", s.Outcome())
	case len(s.Terms) == 0:
		fmt.Fprintf(b, "    = %s\n", s.Outcome())
	default:
		fmt.Fprintf(b, "    = %s\n", s.InWords())
		fmt.Fprintf(b, "    = %s\n", s.WithNumbers())
		fmt.Fprintf(b, "    = %s\n", s.Outcome())
		for _, t := range s.Terms {
			if t.From != "" {
				fmt.Fprintf(b, "    %s: %s\n", t.Name, t.From)
			}
		}
	}
}

func joinTerms(terms []Term) string {
	parts := make([]string, len(terms))
	for i, t := range terms {
		parts[i] = t.Name + " " + tidy(t.Value)
		if t.Unit != "" {
			parts[i] += " " + t.Unit
		}
	}
	return strings.Join(parts, ", ")
}
