package study

import (
	"math"
	"testing"

	"elevage/science/bayes"
)

// The world draws the wines it says it draws: a wine is drawn again only if no acids fit
// its pH and titratable acidity, which tells on its malic acid in a few sour whites only.
// (Until model malo-3 it told on every wine: see docs/inference.md.)
func TestTheWorldIsOrdinary(t *testing.T) {
	t.Parallel()
	logs := map[string][]float64{}
	for seed := uint64(1); seed <= 400; seed++ {
		l := NewLot(seed)
		logs[l.Facts.Colour] = append(logs[l.Facts.Colour], math.Log(l.Malic[0]))
	}
	for colour, median := range map[string]float64{"red": 1.9, "white": 2.9} {
		x := logs[colour]
		if got := math.Exp(bayes.Mean(x)); math.Abs(got/median-1) > 0.12 {
			t.Errorf("%s: malic acid at inoculation %.2f g/L, drawn about %.2f", colour, got, median)
		}
		if sd := bayes.SD(x); colour == "red" && math.Abs(sd-0.4) > 0.05 { // whites lose their sourest: 0.32
			t.Errorf("%s: its ln spreads by %.2f, drawn with 0.40", colour, sd)
		}
	}
}
