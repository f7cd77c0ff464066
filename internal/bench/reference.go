package bench

import (
	"fmt"
	"strings"
)

// Reference is the page that describes every calculator, in Markdown, made from
// the declarations; docs/bench.md is this text.
func Reference() string {
	var b strings.Builder
	b.WriteString(`# The bench

Made from the declarations in ` + "`internal/bench`" + `; do not edit. To write it anew: ` + "`go test ./internal/bench -run Reference -update`" + `.

` + "`elevage bench`" + ` lists the calculators, ` + "`elevage bench NAME key=value …`" + ` asks one, ` + "`--explain`" + ` prints the working, ` + "`--json`" + ` answers in JSON
(and reads the inputs as JSON from standard input if no key is given). The pages under Bench and the HTTP interface ask the very same calculators.

- A bare number is in the unit of its key. Text may bring a unit of its own: ` + "`volume_l=\"6 gal\"`, `temp_c=\"68 °F\"`" + `. gal is the United States gallon.
- KEY` + plus + ` gives a number's ±. Every figure then has one of the same kind (one standard deviation in, one out), by moving each
  input to either side while the others rest; inputs are taken to err independently, and to first order. The ± of a dose is that of the dose needed; for what comes of it
  the dose is held as it was weighed.
- A table is written row;row with cell,cell (` + "`lots=\"c1,54;c2,23\"`" + `) or as a JSON array of objects.
- A dose that is dangerous, against a legal limit, or ten times the usual is stopped. ` + "`overrule=\"the reason in words\"`" + ` goes on all the same; the words stay in the result.
- Marks say how far a figure may be trusted. Legal limits carry the edition they were read in: laws change, local codes and licensed practice decide.
- Where each figure comes from, how firm the checks are and what sources disagree on stands in [bench-sources.md](bench-sources.md).

`)
	for _, q := range Questions {
		fmt.Fprintf(&b, "**%s** ", q.Words())
		var links []string
		for _, c := range For(q) {
			links = append(links, fmt.Sprintf("[%s](#%s)", c.Name, c.Name))
		}
		b.WriteString(strings.Join(links, " · ") + "\n\n")
	}
	for _, q := range Questions {
		fmt.Fprintf(&b, "# %s\n\n", q.Words())
		for _, c := range For(q) {
			c.reference(&b)
		}
	}
	return b.String()
}

func (c *Calculator) reference(b *strings.Builder) {
	fmt.Fprintf(b, "## %s\n\n**%s**: %s.\n\n", c.Name, c.Title, c.Purpose)
	if c.Notes != "" {
		fmt.Fprintf(b, "%s\n\n", c.Notes)
	}
	b.WriteString("| key | what | allowed | default |\n| --- | --- | --- | --- |\n")
	for i := range c.Inputs {
		c.Inputs[i].reference(b, "")
	}
	b.WriteString("\n")
	for _, g := range c.Groups {
		fmt.Fprintf(b, "Give %s %s.\n\n", g.Rule, "`"+strings.Join(g.Keys, "`, `")+"`")
	}
	b.WriteString("| comes out | what | unit |\n| --- | --- | --- |\n")
	for _, out := range c.Outputs {
		out.reference(b, "")
	}
	b.WriteString("\n")
	c.exampleRun(b)
	warnings(b, "Cautions", c.Cautions)
	warnings(b, "Stops", c.Stops)
	b.WriteString("Sources:\n\n")
	for _, s := range c.Sources {
		if s.Ref != "" {
			fmt.Fprintf(b, "- %s: %s (%s)\n", s.Ref, s.Used, s.Mark)
		} else {
			fmt.Fprintf(b, "- %s (%s)\n", s.Used, s.Mark)
		}
	}
	fmt.Fprintf(b, "\nChecked against: %s (%s).\n\n", c.Check.Against, c.Check.Mark)
}

func (in *Input) reference(b *strings.Builder, indent string) {
	fallback := in.Default
	switch {
	case in.Required:
		fallback = "required"
	case fallback == "":
		fallback = "none"
	}
	what := in.Label
	if in.Help != "" {
		what += ": " + in.Help
	}
	fmt.Fprintf(b, "| %s`%s` | %s | %s | %s |\n", indent, in.Key, cell(what), cell(in.Allowed()), cell(fallback))
	for i := range in.Columns {
		in.Columns[i].reference(b, in.Key+" → ")
	}
}

func (out Output) reference(b *strings.Builder, indent string) {
	unit := out.Unit.Symbol
	if out.Kind == Table || out.Kind == Text {
		unit = string(out.Kind)
	}
	label := out.Label
	if out.Optional {
		label += " (if it can be told)"
	}
	fmt.Fprintf(b, "| %s`%s` | %s | %s |\n", indent, out.Key, cell(label), unit)
	for _, col := range out.Columns {
		col.reference(b, out.Key+" → ")
	}
}

// cell keeps text from breaking a table.
func cell(text string) string {
	return strings.ReplaceAll(strings.ReplaceAll(text, "|", "\\|"), "\n", " ")
}

// exampleRun shows the example with its answer and its working.
func (c *Calculator) exampleRun(b *strings.Builder) {
	quoted := make([]string, len(c.Example))
	for i, arg := range c.Example {
		if key, value, _ := strings.Cut(arg, "="); strings.ContainsAny(value, " ;&|<>()") {
			arg = key + `="` + value + `"`
		}
		quoted[i] = arg
	}
	given, err := ParseArgs(c.Example)
	if err != nil {
		panic("bench: example of " + c.Name + ": " + err.Error())
	}
	result, err := c.Run(given)
	if err != nil {
		panic("bench: example of " + c.Name + ": " + err.Error())
	}
	result.Cautions = nil // they stand below, with when they are shown
	fmt.Fprintf(b, "```\n$ elevage bench %s %s --explain\n%s\n%s```\n\n", c.Name, strings.Join(quoted, " "), result.Text(), result.Explain())
}

func warnings(b *strings.Builder, head string, list []Warning) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(b, "%s:\n\n", head)
	for _, w := range list {
		source := string(w.Mark)
		if w.Ref != "" {
			source = w.Ref + "; " + source
		}
		fmt.Fprintf(b, "- *%s*: %s [%s]\n", w.When, w.Text, source)
	}
	b.WriteString("\n")
}
