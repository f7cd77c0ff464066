package track

import (
	"math"
	"strconv"
	"strings"

	"elevage/science/quantity"
)

// whatWords are the kinds of reading and test as a winemaker says them.
var whatWords = map[What]string{
	PH: "pH", PHCheck7: "meter in 7.00", PHCheck4: "meter in 4.01", PHCheck356: "meter in cream of tartar",
	PHControl: "pH with the control sample", TA: "TA", Malic: "malic test", Chromatogram: "chromatogram",
	Bubble: "bubbles", Temperature: "temperature", Stir: "stirring", FreeSO2: "free SO2", AddedSO2: "SO2 added", Inoculate: "inoculation",
}

// ReadingWords says what was read.
func ReadingWords(w What) string {
	if s, ok := whatWords[w]; ok {
		return s
	}
	return string(w)
}

// TestWords says what an Option or a NextTest proposes.
func TestWords(what string) string {
	if what == "none" || what == "" {
		return "no test"
	}
	return ReadingWords(What(what))
}

// Shares of a spot's meaning, for drawing only: what a spot read by itself says
// of malic acid, at a detection limit near 0.1 g/L (kit texts, see docs/inference.md).
var spotMeans = map[string][2]quantity.Concentration{
	SpotNone: {0, 0.12}, SpotFaint: {0.06, 0.35}, SpotStrong: {0.2, quantity.Concentration(math.Inf(1))},
}

// Implied is the malic acid that a reading speaks of by itself, with about one
// standard deviation either way, for showing it on the fan: an assay by its
// value; pH and TA by how far they lie from what all other readings expect, along
// the wine's mean slope; a spot by what it can mean (mid is then NaN-free but
// without weight). It is false for what says nothing of malic acid alone.
func (b *Belief) Implied(r Pull) (lo, mid, hi quantity.Concentration, ok bool) {
	if r.What == Chromatogram {
		m, ok := spotMeans[r.Value]
		return m[0], (m[0] + m[1]) / 2, m[1], ok
	}
	read, err := strconv.ParseFloat(r.Value, 64)
	if err != nil {
		return 0, 0, 0, false
	}
	faults := DefaultFaults()
	if r.What == Malic {
		sd := quantity.Concentration(math.Hypot(faults.AssayFixed, (faults.AssayShare+faults.AssayKit)*read))
		mid = quantity.Concentration(read)
		return max(0, mid-sd), mid, mid + sd, true
	}
	told, _, _ := strings.Cut(r.Expected, " ") // "3.47 ± 0.03"
	expected, err := strconv.ParseFloat(told, 64)
	there, found := b.medianOn(r.On)
	if err != nil || !found {
		return 0, 0, 0, false
	}
	var slope, sd float64 // change of the reading per g/L malic acid converted
	switch r.What {
	case TA:
		slope, sd = -b.perGram(b.TA.Now.Q50.GPerL(), b.TA.End.Q50.GPerL(), -0.56), math.Hypot(faults.TARepeat, faults.TASlow)
	case PH, PHControl:
		slope, sd = -b.perGram(float64(b.PH.Now.Q50), float64(b.PH.End.Q50), 0.06), math.Hypot(faults.PHRepeat, faults.PHSession)
	default:
		return 0, 0, 0, false
	}
	if spread := spreadOf(r.Expected); math.Abs(spread/slope) > b.Initial.Q50.GPerL() {
		return 0, 0, 0, false // the first of its kind: the others do not say what it should be
	}
	mid = there + quantity.Concentration((read-expected)/slope)
	half := quantity.Concentration(math.Abs(sd / slope))
	return max(0, mid-half), max(0, mid), max(0, mid+half), true
}

// spreadOf is the ± of what the other readings expect: 0.03 of "3.47 ± 0.03".
func spreadOf(expected string) float64 {
	_, after, _ := strings.Cut(expected, "± ")
	number, _, _ := strings.Cut(after, " ")
	spread, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return math.Inf(1)
	}
	return spread
}

// perGram is the change of a property per g/L of malic acid still to convert;
// usual where too little is left to tell.
func (b *Belief) perGram(now, end, usual float64) float64 {
	left := b.Malic.Q50.GPerL()
	if left < 0.3 || (end-now)*usual <= 0 {
		return usual
	}
	return (end - now) / left
}

// medianOn is the median on a day, between the days of the fan by a straight line.
func (b *Belief) medianOn(on Date) (quantity.Concentration, bool) {
	for i, d := range b.Fan {
		switch {
		case d.On.Equal(on.Time):
			return d.Q50, true
		case d.On.After(on.Time) && i > 0:
			last := b.Fan[i-1]
			part := on.Sub(last.On.Time).Hours() / d.On.Sub(last.On.Time).Hours()
			return last.Q50 + quantity.Concentration(part)*(d.Q50-last.Q50), true
		}
	}
	return 0, false
}
