// Command vulndb lays the Go vulnerability reports that travel inside the
// golang.org/x/vulndb module out as a database that govulncheck can read from
// disk, where the database's server is out of reach but Go modules are not.
//
//	go run ./vulndb -reports "$(go mod download -json golang.org/x/vulndb@latest | jq -r .Dir)/data/osv" -out DIR
//
// The layout is the published one: https://go.dev/doc/security/vuln/database#api
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"time"
)

type report struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Aliases  []string  `json:"aliases"`
	Affected []struct {
		Package struct {
			Name string `json:"name"`
		} `json:"package"`
		Ranges []struct {
			Events []struct {
				Fixed string `json:"fixed"`
			} `json:"events"`
		} `json:"ranges"`
	} `json:"affected"`
}

type moduleVuln struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Fixed    string    `json:"fixed,omitempty"`
}

type module struct {
	Path  string       `json:"path"`
	Vulns []moduleVuln `json:"vulns"`
}

type vuln struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Aliases  []string  `json:"aliases,omitempty"`
}

func main() {
	reports := flag.String("reports", "", "folder of OSV reports (data/osv of golang.org/x/vulndb)")
	out := flag.String("out", "", "folder to write the database to")
	flag.Parse()
	if err := run(*reports, *out); err != nil {
		fmt.Fprintln(os.Stderr, "vulndb:", err)
		os.Exit(1)
	}
}

func run(reports, out string) error {
	files, err := filepath.Glob(filepath.Join(reports, "GO-*.json"))
	if err != nil || len(files) == 0 {
		return fmt.Errorf("no reports in %q (%v)", reports, err)
	}
	var newest time.Time
	modules := map[string]*module{}
	vulns := make([]vuln, 0, len(files))
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		var r report
		if err := json.Unmarshal(raw, &r); err != nil {
			return fmt.Errorf("%s: %w", file, err)
		}
		if r.Modified.After(newest) {
			newest = r.Modified
		}
		vulns = append(vulns, vuln{r.ID, r.Modified, r.Aliases})
		for path, fixed := range r.fixes() {
			if modules[path] == nil {
				modules[path] = &module{Path: path}
			}
			modules[path].Vulns = append(modules[path].Vulns, moduleVuln{r.ID, r.Modified, fixed})
		}
		if err := write(filepath.Join(out, "ID", r.ID+".json"), json.RawMessage(raw)); err != nil {
			return err
		}
	}
	list := make([]*module, 0, len(modules))
	for _, m := range modules {
		list = append(list, m)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Path < list[j].Path })
	index := map[string]any{
		"db.json":      map[string]time.Time{"modified": newest},
		"modules.json": list,
		"vulns.json":   vulns,
	}
	for name, v := range index {
		if err := write(filepath.Join(out, "index", name), v); err != nil {
			return err
		}
	}
	return nil
}

// fixes is the last fixed version by module that the report touches, "" where none is fixed.
func (r report) fixes() map[string]string {
	fixes := map[string]string{}
	for _, a := range r.Affected {
		fixed := fixes[a.Package.Name]
		for _, g := range a.Ranges {
			for _, e := range g.Events {
				if e.Fixed != "" {
					fixed = e.Fixed
				}
			}
		}
		fixes[a.Package.Name] = fixed
	}
	return fixes
}

func write(path string, v any) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	raw, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return os.WriteFile(path, raw, 0o644)
}
