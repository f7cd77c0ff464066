// Command malostudy runs the simulation studies of the malolactic belief and
// prints their tables; see docs/studies.
//
//	go run ./cmd/malostudy -study worse -lots 200
package main

import (
	"flag"
	"fmt"
	"os"

	"elevage/internal/track/study"
)

func main() {
	what := flag.String("study", "worse", "worse")
	lots := flag.Int("lots", 100, "lots to simulate")
	particles := flag.Int("particles", 600, "particles per belief")
	cores := flag.Int("cores", 1, "lots at a time")
	flag.Parse()
	switch *what {
	case "worse":
		study.Print(os.Stdout, study.Worse(*lots, *particles, *cores))
	default:
		fmt.Fprintf(os.Stderr, "study is %q: allowed is worse\n", *what)
		os.Exit(2)
	}
}
