package bench

import (
	"fmt"
	"slices"
	"strings"

	"elevage/internal/fault"
)

// A Calculator is one bench calculation, declared once.
type Calculator struct {
	Name     string    `json:"name"`    // kebab-case, as on the command line
	Title    string    `json:"title"`   // as on a page
	Purpose  string    `json:"purpose"` // one line
	Question Question  `json:"question"`
	Inputs   []Input   `json:"inputs"`
	Groups   []Group   `json:"groups,omitempty"`
	Outputs  []Output  `json:"outputs"`
	Cautions []Warning `json:"cautions,omitempty"`
	Stops    []Warning `json:"stops,omitempty"`
	Sources  []Source  `json:"sources"`
	Check    Check     `json:"check"`
	Notes    string    `json:"notes,omitempty"` // domain, method and limits, for the reference page

	// Example is a run with sensible figures, as arguments of the command line.
	Example []string `json:"example"`

	// Work is the calculation: it reads the Sheet's inputs, and puts steps,
	// figures, cautions and stops on it. It must be pure. An error that it
	// returns is shown as what is wrong with the input.
	Work func(*Sheet) error `json:"-"`
}

// A Question is what a winemaker asks when reaching for a calculator; the bench
// is found by it.
type Question string

// The four questions.
const (
	Measured Question = "measured" // what did I measure
	HowMuch  Question = "how-much" // how much do I add
	Becomes  Question = "becomes"  // what will it become
	Safe     Question = "safe"     // is it safe
)

// Questions is their order on a page.
var Questions = []Question{Measured, HowMuch, Becomes, Safe}

// Words is the question as it is asked.
func (q Question) Words() string {
	switch q {
	case Measured:
		return "What did I measure?"
	case HowMuch:
		return "How much do I add?"
	case Becomes:
		return "What will it become?"
	case Safe:
		return "Is it safe?"
	}
	return string(q)
}

// A Kind is the form that an input or an output takes.
type Kind string

// Kinds.
const (
	Number Kind = "number" // the zero Kind means Number
	Option Kind = "option" // one of Input.Options
	YesNo  Kind = "yes-no"
	Text   Kind = "text"
	Date   Kind = "date"  // 2026-11-10
	List   Kind = "list"  // numbers
	Table  Kind = "table" // rows of Columns
)

// An Input is one thing a calculator must or may be told.
type Input struct {
	Key      string   `json:"key"` // ends in its unit: free_so2_mg_l
	Label    string   `json:"label"`
	Help     string   `json:"help,omitempty"`
	Kind     Kind     `json:"kind"`
	Unit     Unit     `json:"unit"`
	Min      float64  `json:"min"` // allowed, in Unit; Max 0 with Min 0 means no numbers are bounded
	Max      float64  `json:"max"`
	Why      string   `json:"why,omitempty"`     // why the bounds stand
	Usual    float64  `json:"usual,omitempty"`   // upper end of what is usual; ten times as much is stopped
	Default  string   `json:"default,omitempty"` // used when nothing is given
	Required bool     `json:"required,omitempty"`
	Options  []Choice `json:"options,omitempty"`
	Columns  []Input  `json:"columns,omitempty"`
	MinRows  int      `json:"min_rows,omitempty"` // of a Table, or numbers of a List
	MaxRows  int      `json:"max_rows,omitempty"`
	Fill     Fact     `json:"fill,omitempty"`   // the fact of a lot that fills it
	Exact    bool     `json:"exact,omitempty"`  // takes no ±: a count, a setting
	Seldom   bool     `json:"seldom,omitempty"` // a form asks for it under "More"
}

// A Choice is one value of an Option.
type Choice struct {
	Value string `json:"value"`
	Label string `json:"label"`
}

// An Output is one figure, text or table that comes out.
type Output struct {
	Key      string   `json:"key"`
	Label    string   `json:"label"`
	Kind     Kind     `json:"kind"`
	Unit     Unit     `json:"unit"`
	Decimals int      `json:"decimals"`
	Columns  []Output `json:"columns,omitempty"`
	Usual    float64  `json:"usual,omitempty"`    // upper end of what is usual; ten times as much is stopped
	Optional bool     `json:"optional,omitempty"` // comes only when it can be told from what was given
}

// A Group ties inputs together.
type Group struct {
	Rule Rule     `json:"rule"`
	Keys []string `json:"keys"`
}

// A Rule says how many of a Group's keys must be given.
type Rule string

// Rules.
const (
	ExactlyOne Rule = "exactly one of"
	AtLeastOne Rule = "at least one of"
	AllOrNone  Rule = "all or none of"
)

// registry holds every declared calculator by name.
var registry = map[string]*Calculator{}

// declare adds a calculator to the bench. A fault in the declaration is the
// programmer's and panics when the program starts, in every test.
func declare(c Calculator) *Calculator {
	if fault := c.fault(); fault != "" {
		panic("bench: calculator " + c.Name + ": " + fault)
	}
	for i := range c.Inputs {
		normalise(&c.Inputs[i])
	}
	for i := range c.Outputs {
		if c.Outputs[i].Kind == "" {
			c.Outputs[i].Kind = Number
		}
		for j := range c.Outputs[i].Columns {
			if c.Outputs[i].Columns[j].Kind == "" {
				c.Outputs[i].Columns[j].Kind = Number
			}
		}
	}
	registry[c.Name] = &c
	return &c
}

func normalise(in *Input) {
	if in.Kind == "" {
		in.Kind = Number
	}
	for i := range in.Columns {
		normalise(&in.Columns[i])
	}
}

// reserved are the keys of a result's JSON and the keys every calculator takes;
// no input or output may have them.
var reserved = []string{"calculator", "title", "inputs", "working", "cautions", "overruled", "overrule", "sources", "stops"}

func (c *Calculator) fault() string {
	switch {
	case c.Name == "" || c.Name != strings.ToLower(c.Name) || strings.ContainsAny(c.Name, " _"):
		return "the name is not kebab-case"
	case registry[c.Name] != nil:
		return "declared twice"
	case c.Work == nil:
		return "has no Work"
	case !slices.Contains(Questions, c.Question):
		return "answers no known question"
	}
	seen := map[string]bool{}
	for _, key := range append(c.inputKeys(), c.outputKeys()...) {
		if slices.Contains(reserved, key) {
			return "key " + key + " is reserved"
		}
		if seen[key] {
			return "key " + key + " is declared twice"
		}
		seen[key] = true
	}
	for _, g := range c.Groups {
		for _, key := range g.Keys {
			if c.input(key) == nil {
				return "group names unknown input " + key
			}
		}
	}
	return ""
}

func (c *Calculator) input(key string) *Input {
	for i := range c.Inputs {
		if c.Inputs[i].Key == key {
			return &c.Inputs[i]
		}
	}
	return nil
}

func (c *Calculator) output(key string) *Output {
	for i := range c.Outputs {
		if c.Outputs[i].Key == key {
			return &c.Outputs[i]
		}
	}
	return nil
}

func (c *Calculator) inputKeys() []string {
	keys := make([]string, len(c.Inputs))
	for i, in := range c.Inputs {
		keys[i] = in.Key
	}
	return keys
}

func (c *Calculator) outputKeys() []string {
	keys := make([]string, len(c.Outputs))
	for i, out := range c.Outputs {
		keys[i] = out.Key
	}
	return keys
}

// All returns every calculator, in the order of the questions and then by name.
func All() []*Calculator {
	all := make([]*Calculator, 0, len(registry))
	for _, c := range registry {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b *Calculator) int {
		if d := slices.Index(Questions, a.Question) - slices.Index(Questions, b.Question); d != 0 {
			return d
		}
		return strings.Compare(a.Name, b.Name)
	})
	return all
}

// For returns the calculators that answer one question, by name.
func For(q Question) []*Calculator {
	var some []*Calculator
	for _, c := range All() {
		if c.Question == q {
			some = append(some, c)
		}
	}
	return some
}

// Find returns the calculator of that name, or an error of kind NotFound that
// names the nearest one.
func Find(name string) (*Calculator, error) {
	if c := registry[name]; c != nil {
		return c, nil
	}
	names := make([]string, 0, len(registry))
	for _, c := range All() {
		names = append(names, c.Name)
	}
	text := fmt.Sprintf("no calculator is called %q", name)
	if near := nearest(name, names); near != "" {
		text += fmt.Sprintf("; did you mean %q?", near)
	}
	return nil, fault.New(fault.NotFound, "bench", "%s", text)
}

// Allowed says in words what an input accepts.
func (in *Input) Allowed() string {
	unit := ""
	if in.Unit.Symbol != "" {
		unit = " " + in.Unit.Symbol
	}
	switch in.Kind {
	case Option:
		values := make([]string, len(in.Options))
		for i, o := range in.Options {
			values[i] = o.Value
		}
		return strings.Join(values, ", ")
	case YesNo:
		return "yes or no"
	case Date:
		return "a date like 2026-11-10"
	case Text:
		return "text"
	case Table:
		keys := make([]string, len(in.Columns))
		for i, col := range in.Columns {
			keys[i] = col.Key
		}
		return fmt.Sprintf("%s rows of %s", span(in.MinRows, in.MaxRows), strings.Join(keys, ", "))
	case List:
		return fmt.Sprintf("%s numbers, each %s to %s%s", span(in.MinRows, in.MaxRows), tidy(in.Min), tidy(in.Max), unit)
	}
	s := fmt.Sprintf("%s to %s%s", tidy(in.Min), tidy(in.Max), unit)
	if in.Why != "" {
		s += " (" + in.Why + ")"
	}
	return s
}

func span(lo, hi int) string {
	if lo == hi {
		return fmt.Sprint(lo)
	}
	return fmt.Sprintf("%d to %d", lo, hi)
}
