package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

var update = flag.Bool("update", false, "rewrite the reference page")

// TestReference compares docs/cli.md with the declarations it is made from.
func TestReference(t *testing.T) {
	const file = "../../docs/cli.md"
	want := reference(t)
	if *update {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil || string(got) != want {
		t.Errorf("%s is not what the commands declare (%v); rewrite it with: go test ./cmd/elevage -run Reference -update", file, err)
	}
}

func reference(t *testing.T) string {
	t.Helper()
	var c commands
	parser, err := kong.New(&c, kong.Name("elevage"), kong.Description(about), kong.Vars{"version": version})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString("# Commands\n\nMade from the declarations in `cmd/elevage`; do not edit. Exit codes: 0 done, 1 a fault of ours or of the machine, 2 something\ngiven is not allowed.\n")
	for _, leaf := range parser.Model.Leaves(true) {
		fmt.Fprintf(&b, "\n## %s\n\n%s\n", leaf.FullPath(), leaf.Help)
		if len(leaf.Positional)+len(leaf.Flags) > 0 {
			b.WriteString("\n| | |\n| --- | --- |\n")
		}
		for _, p := range leaf.Positional {
			fmt.Fprintf(&b, "| `%s` | %s |\n", p.Summary(), p.Help)
		}
		for _, f := range leaf.Flags {
			help := f.Help
			if f.Default != "" {
				help += " Default: `" + f.Default + "`."
			}
			for _, env := range f.Envs {
				help += " Or set `" + env + "`."
			}
			fmt.Fprintf(&b, "| `%s` | %s |\n", strings.TrimSpace(f.String()), help)
		}
	}
	return b.String()
}

// What a person gives wrongly is told with exit code 2, in words, on the error
// stream; nothing is printed on the other.
func TestBadInputIsTold(t *testing.T) {
	for _, c := range []struct {
		args []string
		in   string
		says []string
	}{
		{[]string{"malo"}, "", []string{"--lot"}},
		{[]string{"malo", "--lot", "no-such-file.json"}, "", []string{"no-such-file.json"}},
		{[]string{"malo", "--lot", "-", "--at", "soon"}, "{}", []string{"at", `"soon"`, "2026-11-10"}},
		{[]string{"malo", "--lot", "-", "--at", "2026-11-10"}, `{"ph": 34}`, []string{`"ph"`, "34", "2.5 to 4.5"}},
		{[]string{"malo", "--lot", "-", "--at", "2026-11-10"}, `pH 3.4`, []string{"JSON"}},
		{[]string{"malo", "--lot", "-"}, `{}`, []string{"at"}},
		{[]string{"bench", "molecular-so3"}, "", []string{"molecular-so2"}},
		{[]string{"bench", "molecular-so2", "free_so2_mg_l=x", "ph=3.4"}, "", []string{"free", `"x"`}},
		{[]string{"demo", "--addr", "nowhere"}, "", []string{"HOST:PORT"}},
		{[]string{"demo", "--addr", "0.0.0.0:0", "--no-browser"}, "", []string{"pass-phrase"}},
		{[]string{"fly"}, "", []string{"fly"}},
	} {
		t.Run(strings.Join(c.args, " "), func(t *testing.T) {
			t.Setenv("ELEVAGE_PASSPHRASE", "")
			var out, errs bytes.Buffer
			code := run(c.args, strings.NewReader(c.in), &out, &errs)
			if code != 2 {
				t.Errorf("exit code %d, want 2: %s", code, errs.String())
			}
			for _, says := range c.says {
				if !strings.Contains(errs.String(), says) {
					t.Errorf("does not name %q: %s", says, errs.String())
				}
			}
		})
	}
}

// A cellar goes out as JSON Lines and comes back the same to the byte; a second
// import adds nothing.
func TestExportAndImportRoundTrip(t *testing.T) {
	here, there := t.TempDir(), t.TempDir()
	elevage := func(args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		if code := run(args, strings.NewReader(""), &out, &errs); code != 0 {
			t.Fatalf("%v: exit code %d: %s", args, code, errs.String())
		}
		return out.String()
	}
	elevage("log", "--data", here, "note the cellar begins")
	elevage("log", "--data", here, "check 7.00 read 7.03; note ünïcode – and \"quotes\"")
	first := elevage("export", "--data", here)
	if n := strings.Count(first, "\n"); n != 3 {
		t.Fatalf("%d lines, want 3:\n%s", n, first)
	}
	file := t.TempDir() + "/cellar.jsonl"
	elevage("export", "--data", here, "--out", file)
	if says := elevage("import", "--data", there, file); !strings.Contains(says, "3 new") {
		t.Errorf("import said %q", says)
	}
	if says := elevage("import", "--data", there, file); !strings.Contains(says, "0 new, 3 known") {
		t.Errorf("the second import said %q", says)
	}
	if second := elevage("export", "--data", there); second != first {
		t.Errorf("came back otherwise:\n%s\n%s", first, second)
	}
}
