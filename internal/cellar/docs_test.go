package cellar

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write docs/entries.md anew")

// docs/entries.md is made from this package: the kinds with their examples, the
// fields with their comments, units, what can be read, products, doors, findings
// and warnings. It is written anew with -update.
func TestEntriesDocumentIsCurrent(t *testing.T) {
	path := filepath.Join("..", "..", "docs", "entries.md")
	want := entriesDocument(t)
	if *update {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("docs/entries.md is out of date (go test ./internal/cellar -run Document -update):\n%s", clip(lineDiff(string(got), want), 2000))
	}
}

func entriesDocument(t *testing.T) string {
	head, err := os.ReadFile(filepath.Join("testdata", "entries-head.md"))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	b.Write(head)
	src := readSource(t)
	p("\n## Kinds\n")
	for _, k := range Kinds {
		body := k.Example()
		typ := reflect.TypeOf(body)
		p("### `%s`\n", k.Kind)
		p("%s. %s\n", capital(k.Means), src.typeDoc(typ.Name()))
		out, err := encodeBody(body)
		if err != nil {
			t.Fatal(err)
		}
		p("```json\n%s\n```\n", out)
		p("| field | | |\n| --- | --- | --- |")
		for i := range typ.NumField() {
			f := typ.Field(i)
			tag, opts, _ := strings.Cut(f.Tag.Get("json"), ",")
			need := "required"
			if strings.Contains(opts, "omitempty") {
				need = ""
			}
			doc := src.fields[typ.Name()][f.Name]
			p("| `%s` | %s | %s |", tag, strings.Join(compact(shape(f.Type), need), ", "), doc)
		}
		p("")
	}
	p("A *portion* is `{\"vessel\":…, \"volume\":…, \"all\":…, \"part\":…}`, a *loss* `{\"kind\":…, \"volume\":…}`.")
	p("\nLoss kinds: %s. Ways of moving: %s.", words(Losses), words(MovementKinds))
	p("Verdicts: %s. Treatments: %s. Care of vessels: %s.", words(Verdicts), words(Treatments), words(Cares))
	p("Colours: %s. Acids: %s. Ferments: %s. Ways of inoculating: %s.", words(Colours), words(Acids), words(Ferments), words(Inoculations))
	p("Vessels: %s. Instruments: %s.", words(VesselTypes), words(InstrumentTypes))
	p("\n## What can be read\n\n| `what` | | unit if none is typed | usual range | needs |\n| --- | --- | --- | --- | --- |")
	for _, r := range Readables {
		rng := fmt.Sprintf("%g to %g", r.Low, r.High)
		if len(r.Words) > 0 {
			rng = words(r.Words)
		}
		p("| `%s` | %s | %s | %s | %s |", r.What, r.Title, r.Unit, rng, r.Needs)
	}
	p("\nThe ranges are common practice without a source; what lies outside is asked about, what lies far outside is stopped.")
	p("\n## Units\n\n| sign | | of | also typed |\n| --- | --- | --- | --- |")
	for _, u := range Units[1:] {
		p("| `%s` | %s | %s | %s |", u.Sign, u.Means, u.Dimension, words(u.Also))
	}
	p("\n## Products\n\nAny other short name may be written as well; it is kept and carried with the wine.\n")
	p("| name | | typed as | SO2 | potassium | most that is usual in one dose | source of that |\n| --- | --- | --- | --- | --- | --- | --- |")
	share := func(x float64) string {
		if x == 0 {
			return ""
		}
		return fmt.Sprintf("%.2f %%", 100*x)
	}
	for _, q := range Products {
		usual := ""
		if q.Usual > 0 {
			usual = figure(q.Usual.MgPerL()) + " mg/L"
			if q.SO2 > 0 {
				usual += " SO2"
			}
		}
		p("| `%s` | %s | %s | %s | %s | %s | %s |", q.Name, q.Title, words(q.Also), share(q.SO2), share(q.Potassium), usual, q.Source)
	}
	p("\n## Doors\n\nWine, and what was added to it, comes into and goes out of the cellar by these alone: %s and %s.", words(Losses),
		words([]string{DoorOutside, DoorFruit, DoorAddition, DoorRemoval, DoorOpened, DoorReanchored}))
	p("\n## Findings\n\nWhat does not add up changes nothing by itself and is shown next to the entry.\n\n| code | |\n| --- | --- |")
	for _, c := range src.consts("Found") {
		p("| `%s` | %s |", c.value, c.doc)
	}
	p("\n## Warnings\n\nSaid before an entry is kept; a stop can be overruled in words, which are kept as `overruled`. An empty vessel, `overdrawn` and `overfull` are asked about\nbefore wine moves: they cannot be by the record so far, and may be once more is written down. What no vessel could hold is refused.\n\n| code |\n| --- |")
	for _, c := range src.consts("Warn") {
		p("| `%s` |", c.value)
	}
	return b.String()
}

func compact(ws ...string) (out []string) {
	for _, w := range ws {
		if w != "" {
			out = append(out, w)
		}
	}
	return out
}

func words(ws []string) string {
	if len(ws) == 0 {
		return ""
	}
	return "`" + strings.Join(ws, "`, `") + "`"
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func shape(t reflect.Type) string {
	switch {
	case t == reflect.TypeOf((*Measure)(nil)):
		return "figure"
	case t == reflect.TypeOf(ID("")):
		return "id"
	case t == reflect.TypeOf([]Portion(nil)):
		return "portions"
	case t == reflect.TypeOf([]Loss(nil)):
		return "losses"
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct:
		return "list, as in the example"
	case t.Kind() == reflect.Slice:
		return "list of " + shape(t.Elem())
	case t.Kind() == reflect.String:
		return "text"
	case t.Kind() == reflect.Bool:
		return "true"
	}
	return "number"
}

// source is what the package's own comments say.
type source struct {
	types  map[string]string
	fields map[string]map[string]string
	values []constant
}

type constant struct{ name, value, doc string }

func (s *source) typeDoc(name string) string {
	doc := strings.TrimSpace(s.types[name])
	_, doc, _ = strings.Cut(doc, " ") // the name itself
	doc = strings.TrimPrefix(doc, name+" ")
	return capital(strings.ReplaceAll(doc, "\n", " "))
}

func (s *source) consts(prefix string) (out []constant) {
	for _, c := range s.values {
		if strings.HasPrefix(c.name, prefix) {
			out = append(out, c)
		}
	}
	return out
}

func readSource(t *testing.T) *source {
	s := &source{types: map[string]string{}, fields: map[string]map[string]string{}}
	fset := token.NewFileSet()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok {
				continue
			}
			for _, spec := range g.Specs {
				switch spec := spec.(type) {
				case *ast.TypeSpec:
					s.types[spec.Name.Name] = g.Doc.Text()
					if st, ok := spec.Type.(*ast.StructType); ok {
						s.fields[spec.Name.Name] = fieldDocs(st)
					}
				case *ast.ValueSpec:
					if lit, ok := first(spec.Values).(*ast.BasicLit); ok && lit.Kind == token.STRING {
						s.values = append(s.values, constant{spec.Names[0].Name, strings.Trim(lit.Value, `"`), oneLine(spec.Comment.Text())})
					}
				}
			}
		}
	}
	return s
}

func first(es []ast.Expr) ast.Expr {
	if len(es) == 0 {
		return nil
	}
	return es[0]
}

func fieldDocs(st *ast.StructType) map[string]string {
	docs := map[string]string{}
	for _, f := range st.Fields.List {
		doc := oneLine(f.Doc.Text() + " " + f.Comment.Text())
		for _, n := range f.Names {
			docs[n.Name] = doc
		}
	}
	return docs
}

func oneLine(s string) string {
	return strings.ReplaceAll(strings.Join(strings.Fields(s), " "), "|", "\\|")
}

// Every example in docs/formats.md that begins like an entry is one.
func TestExamplesInFormatsAreEntries(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join("..", "..", "docs", "formats.md"))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, line := range strings.Split(string(text), "\n") {
		if !strings.HasPrefix(line, `{"id"`) {
			continue
		}
		n++
		e, err := ParseLine([]byte(line))
		if err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		if string(e.AppendLine(nil)) != line {
			t.Errorf("%s is written as %s", line, e.AppendLine(nil))
		}
		if b, err := e.Decode(); err == nil {
			if err := (Draft{Happened: e.Happened, Body: b}).Check(); err != nil {
				t.Errorf("%s: %v", line, err)
			}
		}
		if !json.Valid(e.Body) {
			t.Errorf("%s", line)
		}
	}
	if n < 4 {
		t.Errorf("only %d examples found", n)
	}
}
