package acidbase_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

var usualSpread = acidbase.Spread{PH: 0.04, TA: 0.15, Malic: 0.2, Alcohol: 0.3, Temperature: 2,
	Tartaric: acidbase.UnmeasuredTartaric, CarboxylShift: acidbase.ShiftSpread}

func fullMalolactic(w acidbase.Wine) (acidbase.Composition, error) { return w.Malolactic(w.Malic) }

// The ± of a forecast against twenty thousand draws of the readings. Tolerances:
// five times the draws' own error, and 5 % of the SD for the cross terms that the
// method leaves out.
func TestForecastAgainstMonteCarlo(t *testing.T) {
	t.Parallel()
	r := sound()
	f := must(acidbase.Foresee(r, usualSpread, fullMalolactic))(t)

	const n = 20_000
	rng := rand.New(rand.NewPCG(7, 11))
	var sums, squares [4]float64
	drawn := 0
	for range n {
		q := r
		q.PH += quantity.PH(rng.NormFloat64()) * usualSpread.PH
		q.TA += quantity.Concentration(rng.NormFloat64()) * usualSpread.TA
		q.Malic += quantity.Concentration(rng.NormFloat64()) * usualSpread.Malic
		q.Alcohol += quantity.Strength(rng.NormFloat64()) * usualSpread.Alcohol
		q.Temperature += quantity.Temperature(rng.NormFloat64()) * usualSpread.Temperature
		m := must(acidbase.NewMedium(q.Alcohol, q.Temperature, acidbase.WithCarboxylShift(acidbase.CarboxylShift+acidbase.ShiftSpread*rng.NormFloat64())))(t)
		centre := must(m.Anchor(&q))(t)
		q.Tartaric = acidbase.Given(max(0, centre.Tartaric+quantity.Concentration(rng.NormFloat64())*usualSpread.Tartaric))
		w, err := m.Anchor(&q)
		if err != nil {
			continue
		}
		out := must(fullMalolactic(w))(t)
		s := must(m.Solve(&out))(t)
		ta := acidbase.Tartaric.FromEquivalents(must(m.TA(&out, q.EndPoint))(t))
		for i, v := range []float64{float64(s.PH), ta.GPerL(), float64(s.PH - r.PH), (ta - r.TA).GPerL()} {
			if i == 2 { // change from the drawn reading, as the forecast has it
				v = float64(s.PH - q.PH)
			} else if i == 3 {
				v = (ta - q.TA).GPerL()
			}
			sums[i] += v
			squares[i] += v * v
		}
		drawn++
	}
	if drawn < n*99/100 {
		t.Fatalf("%d of %d draws contradict themselves", n-drawn, n)
	}
	for i, e := range []struct {
		name      string
		value, sd float64
	}{
		{"pH", float64(f.PH.Value), float64(f.PH.SD)}, {"TA", f.TA.Value.GPerL(), f.TA.SD.GPerL()},
		{"change of pH", float64(f.PHChange.Value), float64(f.PHChange.SD)}, {"change of TA", f.TAChange.Value.GPerL(), f.TAChange.SD.GPerL()},
	} {
		mean := sums[i] / float64(drawn)
		sd := math.Sqrt(squares[i]/float64(drawn) - mean*mean)
		near(t, e.name+": SD", e.sd, sd, 0.05*sd+5*sd/math.Sqrt(2*n))
		near(t, e.name+": value", e.value, mean, 0.1*sd+5*sd/math.Sqrt(n))
		t.Logf("%s: %.4f ± %.4f; Monte Carlo %.4f ± %.4f", e.name, e.value, e.sd, mean, sd)
	}
}

// Exact inputs give exact outputs, and the shares say which reading to better.
func TestForecastShares(t *testing.T) {
	t.Parallel()
	exact := must(acidbase.Foresee(sound(), acidbase.Spread{}, fullMalolactic))(t)
	if exact.PH.SD != 0 || exact.TA.SD != 0 {
		t.Errorf("%+v", exact)
	}
	f := must(acidbase.Foresee(sound(), usualSpread, fullMalolactic))(t)
	sum := 0.0
	for _, s := range f.TA.Share {
		sum += s
	}
	near(t, "shares of TA", sum, 1, 1e-12)
	if f.TA.Share[1] < 0.5 {
		t.Errorf("the TA after is mostly the TA before: share %.2f", f.TA.Share[1])
	}
	// The change hangs on the malic acid, hardly on the meter.
	if f.PHChange.Share[2] < f.PHChange.Share[0] || float64(f.PHChange.SD) > float64(f.PH.SD) {
		t.Errorf("%+v", f.PHChange)
	}
	if _, err := acidbase.Foresee(sound(), acidbase.Spread{PH: -1}, fullMalolactic); err == nil {
		t.Error("negative spread accepted")
	}
}
