// Package house holds the tests that keep the building standing: imports run
// downwards only, science stays pure, and the clock stays upstairs.
package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// floors orders the packages from the ground up. A package may import its own
// floor's siblings only where the table below says so, and anything beneath.
var floors = []struct {
	prefix string
	floor  int
}{
	{"elevage/science/", 0},
	{"elevage/internal/fault", 1},
	{"elevage/internal/chart", 1},
	{"elevage/internal/feed", 1},
	{"elevage/internal/cellar", 2},
	{"elevage/internal/attach", 2},
	{"elevage/internal/bench", 2},
	{"elevage/internal/track", 3},
	{"elevage/internal/ledger", 3},
	{"elevage/internal/line", 3},
	{"elevage/internal/sheet", 3},
	{"elevage/internal/compose", 3},
	{"elevage/internal/demo", 3},
	{"elevage/internal/blend", 4},
	{"elevage/internal/fill", 4},
	{"elevage/internal/recall", 4},
	{"elevage/internal/advise", 4},
	{"elevage/internal/desk", 5},
	{"elevage/internal/serve/ui", 5},
	{"elevage/internal/serve", 6},
	{"elevage/internal/browser", 7},
	{"elevage/internal/house", 7},
	{"elevage/internal/published", 7}, // tests alone read it
	{"elevage/cmd/", 7},
}

// siblings are the sideways arrows that are meant.
var siblings = map[string][]string{
	"elevage/science/":           {"elevage/science/"},
	"elevage/internal/ledger/":   {"elevage/internal/ledger"},
	"elevage/internal/track/":    {"elevage/internal/track", "elevage/internal/track/", "elevage/internal/compose"}, // gather feeds the beliefs beside it with what wines are made of
	"elevage/internal/serve/ui/": {"elevage/internal/serve/ui"},
	"elevage/internal/advise":    {"elevage/internal/fill"}, // which wine may top which is judged in one place
}

// pure are the standard packages a science may lean on: no clock, no I/O, no log.
var pure = map[string]bool{
	"cmp": true, "errors": true, "fmt": true, "iter": true, "maps": true, "math": true, "math/bits": true, "math/cmplx": true,
	"math/rand/v2": true, "slices": true, "sort": true, "strconv": true, "strings": true, "sync": true, "sync/atomic": true,
	"io":    true, // readers and writers handed in; what opens files or sockets is not in the list
	"embed": true, "encoding/csv": true, "encoding/json": true, "bytes": true, "unsafe": true,
	"time": true, // types only: TestNoClockBelowServe forbids the clock itself
}

type source struct {
	path, pkg string
	file      *ast.File
	fset      *token.FileSet
}

// sources parses every non-test Go file of the module that ships.
func sources(t *testing.T) []source {
	t.Helper()
	root := filepath.Join("..", "..")
	var all []source
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == "testdata" || n == "tools" || n == "dist" || (strings.HasPrefix(n, ".") && n != ".." && n != ".") {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		all = append(all, source{path, "elevage/" + filepath.ToSlash(rel), f, fset})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 5 {
		t.Fatalf("found only %d source files: the walk is broken", len(all))
	}
	return all
}

func floorOf(pkg string) (int, string) {
	best, floor := "", -1
	for _, f := range floors {
		if (pkg == f.prefix || strings.HasPrefix(pkg, strings.TrimSuffix(f.prefix, "/")+"/")) && len(f.prefix) > len(best) {
			best, floor = f.prefix, f.floor
		}
	}
	return floor, best
}

func TestImportsRunDownwards(t *testing.T) {
	for _, s := range sources(t) {
		from, _ := floorOf(s.pkg)
		if from < 0 {
			t.Errorf("%s: package %s stands on no floor; add it to the table", s.path, s.pkg)
			continue
		}
		for _, imp := range s.file.Imports {
			to, _ := strconv.Unquote(imp.Path.Value)
			if !strings.HasPrefix(to, "elevage/") {
				continue
			}
			floor, _ := floorOf(to)
			switch {
			case floor < 0:
				t.Errorf("%s imports %s, which stands on no floor", s.path, to)
			case floor > from:
				t.Errorf("%s (floor %d) imports %s (floor %d): arrows run downwards only", s.path, from, to, floor)
			case floor == from && !meant(s.pkg, to):
				t.Errorf("%s imports its neighbour %s on the same floor; if that is meant, say so in siblings", s.path, to)
			}
		}
	}
}

func meant(from, to string) bool {
	for f, targets := range siblings {
		if from != f && !(strings.HasSuffix(f, "/") && strings.HasPrefix(from, f)) {
			continue
		}
		for _, target := range targets {
			if to == target || (strings.HasSuffix(target, "/") && strings.HasPrefix(to, target)) {
				return true
			}
		}
	}
	return false
}

func TestScienceIsPure(t *testing.T) {
	for _, s := range sources(t) {
		if !strings.HasPrefix(s.pkg, "elevage/science/") {
			continue
		}
		for _, imp := range s.file.Imports {
			to, _ := strconv.Unquote(imp.Path.Value)
			if !pure[to] && !strings.HasPrefix(to, "elevage/science/") && !strings.HasPrefix(to, "gonum.org/v1/gonum/") {
				t.Errorf("%s imports %s: science knows no clock, no I/O and no cellar", s.path, to)
			}
		}
	}
}

func TestNoClockBelowServe(t *testing.T) {
	for _, s := range sources(t) {
		if floor, _ := floorOf(s.pkg); floor >= 6 {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" {
				switch sel.Sel.Name {
				case "Now", "Since", "Until", "After", "Tick", "NewTimer", "NewTicker", "Sleep":
					t.Errorf("%s: time.%s below serve; time is an argument", s.fset.Position(n.Pos()), sel.Sel.Name)
				}
			}
			return true
		})
	}
}

func TestEveryPackageSaysWhatItIsFor(t *testing.T) {
	said := map[string]bool{}
	for _, s := range sources(t) {
		said[s.pkg] = said[s.pkg] || s.file.Doc != nil
	}
	for pkg, ok := range said {
		if !ok {
			t.Errorf("%s has no package comment", pkg)
		}
	}
}
