package bench

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"elevage/science/cited"
)

var update = flag.Bool("update", false, "write the generated pages anew")

// TestReference compares the generated pages with what the declarations say now.
func TestReference(t *testing.T) {
	for _, page := range []struct{ path, text string }{
		{filepath.Join("..", "..", "docs", "bench.md"), Reference()},
		{filepath.Join("..", "..", "docs", "bench-sources.md"), sourcesPage(t)},
	} {
		if *update {
			if err := os.WriteFile(page.path, []byte(page.text), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		kept, err := os.ReadFile(page.path)
		if err != nil {
			t.Fatal(err)
		}
		if string(kept) != page.text {
			t.Errorf("%s is not what the declarations say; write it anew with: go test ./internal/bench -run Reference -update\nfirst difference: %s",
				page.path, firstDifference(string(kept), page.text))
		}
	}
}

func firstDifference(a, b string) string {
	as, bs := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(as), len(bs)) {
		if as[i] != bs[i] {
			return fmt.Sprintf("line %d: kept %q, now %q", i+1, as[i], bs[i])
		}
	}
	return fmt.Sprintf("%d lines kept, %d now", len(as), len(bs))
}

// sourcesPage lists, for each calculator, its sources with their marks and the
// outside checks with theirs, under a head that is written by hand.
func sourcesPage(t *testing.T) string {
	t.Helper()
	head, err := os.ReadFile(filepath.Join("testdata", "sources-head.md"))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.Write(head)
	b.WriteString("\n## How firm the checks are\n\n| calculator | rows |")
	for _, m := range marks {
		fmt.Fprintf(&b, " %s |", m)
	}
	b.WriteString("\n| --- | --- |" + strings.Repeat(" --- |", len(marks)) + "\n")
	for _, c := range All() {
		count := map[cited.Mark]int{}
		rows := checks(t, c)
		for _, row := range rows {
			count[row.mark]++
		}
		fmt.Fprintf(&b, "| [%s](bench.md#%s) | %d |", c.Name, c.Name, len(rows))
		for _, m := range marks {
			fmt.Fprintf(&b, " %s |", strings.TrimPrefix(fmt.Sprint(count[m]), "0"))
		}
		b.WriteString("\n")
	}
	b.WriteString("\n## By calculator\n\n")
	for _, c := range All() {
		fmt.Fprintf(&b, "### %s\n\nChecked against %s (%s).\n\n| taken | from | mark |\n| --- | --- | --- |\n", c.Title, c.Check.Against, c.Check.Mark)
		for _, s := range c.Sources {
			fmt.Fprintf(&b, "| %s | %s | %s |\n", cell(s.Used), cell(s.Ref), s.Mark)
		}
		b.WriteString("\n")
	}
	return b.String()
}
