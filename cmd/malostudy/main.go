// Command malostudy runs the simulation studies of the malolactic belief and
// prints their tables; see docs/studies.
//
//	go run ./cmd/malostudy -study worse -lots 200
package main

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"

	"elevage/internal/track/study"
)

func main() {
	what := flag.String("study", "worse", "worse or useful")
	lots := flag.Int("lots", 100, "lots to simulate")
	particles := flag.Int("particles", 600, "particles per belief")
	cores := flag.Int("cores", 1, "lots at a time")
	first := flag.Int("first", 1, "number of the first lot")
	names := flag.String("sets", "", "comma-separated sets of readings; empty for all")
	looks := flag.String("looks", "", "file to write every look to, as comma-separated values")
	notes := flag.Bool("notes", false, "list false calls and decisive lots left uncalled")
	flag.Parse()
	sets := study.Sets
	if *names != "" {
		sets = nil
		for _, s := range study.Sets {
			if slices.Contains(strings.Split(*names, ","), s.Name) {
				sets = append(sets, s)
			}
		}
	}
	switch *what {
	case "worse":
		tallies := study.Worse(sets, *first, *lots, *particles, *cores)
		study.Print(os.Stdout, tallies)
		if *looks != "" {
			if err := write(*looks, tallies); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
		}
		if *notes {
			fmt.Print("\nLots that were called falsely, and lots with a decisive test that were not called within 14 days of their end.\n\n```text\n")
			for _, t := range tallies {
				for _, n := range t.Notes {
					fmt.Println(n)
				}
			}
			fmt.Println("```")
		}
	case "useful":
		study.PrintBills(os.Stdout, study.Useful(*first, *lots, *particles, *cores))
	default:
		fmt.Fprintf(os.Stderr, "study is %q: allowed are worse, useful\n", *what)
		os.Exit(2)
	}
}

func write(name string, tallies []*study.Tally) error {
	rows := []string{study.LooksHeader}
	for _, t := range tallies {
		rows = append(rows, t.Looks...)
	}
	return os.WriteFile(name, []byte(strings.Join(rows, "\n")+"\n"), 0o644)
}
