package advise

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

const (
	wordsFrom = "<!-- vocabulary: written by go test ./internal/advise -run Docs -update -->\n"
	wordsTo   = "<!-- end of vocabulary -->\n"
)

// The vocabulary in docs/protocols.md is the one that the checker knows, and every
// built-in protocol, class and caution is named there.
func TestDocs(t *testing.T) {
	const path = "../../docs/protocols.md"
	doc, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(doc), wordsFrom)
	_, after, ok2 := strings.Cut(rest, wordsTo)
	if !ok || !ok2 {
		t.Fatal("docs/protocols.md has lost the marks around its vocabulary")
	}
	var b strings.Builder
	b.WriteString("| word | kind | means |\n|---|---|---|\n")
	for _, w := range Words() {
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", w[0], w[1], w[2])
	}
	want := before + wordsFrom + b.String() + wordsTo + after
	if *update && want != string(doc) {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if want != string(doc) {
		t.Error("the vocabulary in docs/protocols.md is not the program's: run with -update")
	}
	for _, name := range BuiltIn().Names() {
		if !strings.Contains(before+after, "`"+name+"`") {
			t.Errorf("docs/protocols.md does not name %s", name)
		}
	}
	for _, c := range Classes {
		if !strings.Contains(before+after, "`"+string(c)+"`") {
			t.Errorf("docs/protocols.md does not name the class %s", c)
		}
	}
	for code := range cautions {
		if !strings.Contains(before+after, "`"+code+"`") {
			t.Errorf("docs/protocols.md does not name the caution %s", code)
		}
	}
	for _, u := range units {
		if !strings.Contains(before+after, "`"+u.name+"(") {
			t.Errorf("docs/protocols.md does not name the unit %s", u.name)
		}
	}
}
