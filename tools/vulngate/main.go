// Command vulngate reads govulncheck's JSON from standard input and fails if
// the program calls vulnerable code of a module. Findings in Go's own standard
// library are printed and not held against the commit: the cure is a newer Go
// on the machine that builds, which no commit here can bring.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"sort"
)

type message struct {
	Finding *struct {
		OSV   string `json:"osv"`
		Fixed string `json:"fixed_version"`
		Trace []struct {
			Module   string `json:"module"`
			Version  string `json:"version"`
			Function string `json:"function"`
		} `json:"trace"`
	} `json:"finding"`
}

func main() {
	called, err := read(os.Stdin)
	if err != nil {
		fmt.Fprintln(os.Stderr, "vulngate:", err)
		os.Exit(2)
	}
	ids := make([]string, 0, len(called))
	for id := range called {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	bad := 0
	for _, id := range ids {
		note := "held against this commit"
		if called[id].stdlib {
			note = "standard library: build with a newer Go"
		} else {
			bad++
		}
		fmt.Printf("%s in %s, fixed in %s (%s)\n", id, called[id].module, called[id].fixed, note)
	}
	fmt.Printf("vulnerabilities called: %d, of which in modules: %d\n", len(ids), bad)
	if bad > 0 {
		os.Exit(1)
	}
}

type hit struct {
	module, fixed string
	stdlib        bool
}

// read keeps the findings that reach a symbol the program calls; findings on
// package or module level only say that a vulnerable version is nearby.
func read(r io.Reader) (map[string]hit, error) {
	called := map[string]hit{}
	dec := json.NewDecoder(r)
	messages := 0
	for {
		var m message
		err := dec.Decode(&m)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		messages++
		if m.Finding == nil || len(m.Finding.Trace) == 0 || m.Finding.Trace[0].Function == "" {
			continue
		}
		t := m.Finding.Trace[0]
		called[m.Finding.OSV] = hit{t.Module + "@" + t.Version, m.Finding.Fixed, t.Module == "stdlib"}
	}
	if messages == 0 {
		return nil, errors.New("nothing on standard input: did govulncheck run?")
	}
	return called, nil
}
