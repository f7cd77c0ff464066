package line

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

var update = flag.Bool("update", false, "rewrite the reference page")

// TestReference compares docs/log.md with the grammar it is made from.
func TestReference(t *testing.T) {
	const file = "../../docs/log.md"
	want := reference()
	if *update {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil || string(got) != want {
		t.Errorf("%s is not what the grammar says (%v); rewrite it with: go test ./internal/line -run Reference -update", file, err)
	}
}

func reference() string {
	var b strings.Builder
	b.WriteString(`# The typed line

Made from the grammar in ` + "`internal/line`" + `; do not edit.

One line logs anything. What it was taken to mean is shown before it is kept. Before the sentence may stand a day and an hour
(` + "`yesterday`, `2026-11-03`, `3 nov`, `19:30`" + `); without them it is now. Several sentences are parted by semicolons. A comma is a decimal
comma. A bare number has the usual unit; another is written after it (` + "`66F`, `6 gal`, `9 min`" + `).

| says | for example |
| --- | --- |
`)
	for _, g := range Grammar {
		fmt.Fprintf(&b, "| %s | `%s` |\n", g.Means, g.Example)
	}
	b.WriteString("\nA reading may be followed by `to 8.2` (end point), `as tartaric` (acid), `by aspiration` (method), `with meter` (instrument), `at 27C` (temperature of the sample), `degassed`, `control`.\n\n## What can be read\n\n| write | reads | unit without one |\n| --- | --- | --- |\n")
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		unit := r.Unit
		if len(r.Words) > 0 {
			unit = strings.Join(r.Words, ", ")
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", strings.Join(append([]string{r.What}, r.Also...), "`, `"), r.Title, unit)
	}
	b.WriteString("\n## What can be added\n\n| write | adds |\n| --- | --- |\n")
	for i := range cellar.Products {
		p := &cellar.Products[i]
		fmt.Fprintf(&b, "| `%s` | %s |\n", strings.Join(append([]string{p.Name}, p.Also...), "`, `"), p.Title)
	}
	return b.String()
}
