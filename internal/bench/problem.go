package bench

import (
	"fmt"
	"strings"

	"elevage/internal/fault"
)

// A StopError says why the figures are held back, and how to overrule that.
type StopError struct {
	Calculator string   `json:"calculator"`
	Stops      []Notice `json:"stops"`
	Overrule   string   `json:"overrule"` // how to go on all the same
}

// howToOverrule is the same at every door.
const howToOverrule = `give overrule="your reason in words" to go on all the same; the words are kept with the result`

// Error lists the reasons, one a line, and then how to go on.
func (e *StopError) Error() string {
	var b strings.Builder
	for _, n := range e.Stops {
		fmt.Fprintf(&b, "%s is stopped: %s\n", e.Calculator, n)
	}
	b.WriteString(e.Overrule)
	return b.String()
}

// Unwrap gives the stop its kind: what was given is not taken as it stands.
func (e *StopError) Unwrap() error {
	return fault.New(fault.Invalid, "bench "+e.Calculator, "%s", e.Error())
}

// invalid gathers what is wrong with what was given to a calculator.
func (c *Calculator) invalid(fields ...fault.Field) error {
	return fault.BadFields("bench "+c.Name, fields...)
}

// noFigure is the hint of the last guard: no NaN and no infinity ever reaches a
// screen.
const noFigure = "cannot be worked out from these inputs"

// nearest is the candidate with the smallest edit distance to word, if that is
// small enough to be a slip of the finger.
func nearest(word string, candidates []string) string {
	best, bestDistance := "", 1+len(word)/3
	for _, c := range candidates {
		if d := editDistance(word, c); d <= bestDistance {
			if best == "" || d < bestDistance {
				best, bestDistance = c, d
			}
		}
	}
	return best
}

// editDistance is Levenshtein's, over bytes (keys and names are ASCII). Words
// of very different length are far apart without being compared.
func editDistance(a, b string) int {
	if d := len(a) - len(b); d > 8 || d < -8 {
		return 1 << 10
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			substitute := diagonal
			if a[i-1] != b[j-1] {
				substitute++
			}
			diagonal = row[j]
			row[j] = min(substitute, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
