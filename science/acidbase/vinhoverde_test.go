package acidbase

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"elevage/science/quantity"
)

// vinhoVerde reads the open data of Cortez, Cerdeira, Almeida, Matos and Reis (2009,
// Decision Support Systems 47:547) if ELEVAGE_REFERENCE names a folder that holds
// them: fixed and volatile acidity, citric acid, residual sugar, free and total
// SO2, pH and alcohol of 1,599 red and 4,898 white wines. They hold neither
// potassium nor the single acids, so that no pH can be predicted from them; what
// they can show is that every real wine can be anchored.
func vinhoVerde(t *testing.T, colour string) [][]float64 {
	t.Helper()
	folder := os.Getenv("ELEVAGE_REFERENCE")
	if folder == "" {
		t.Skip("set ELEVAGE_REFERENCE to a folder that holds data/uci-wine-quality to compare with 6,497 measured wines")
	}
	f, err := os.Open(filepath.Join(folder, "data", "uci-wine-quality", "winequality-"+colour+".csv"))
	if err != nil {
		t.Skip(err)
	}
	defer f.Close() //nolint:errcheck // read only
	in := csv.NewReader(f)
	in.Comma = ';'
	rows, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, 0, len(rows)-1)
	for _, row := range rows[1:] {
		x := make([]float64, len(row))
		for i, cell := range row {
			if x[i], err = strconv.ParseFloat(cell, 64); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, x)
	}
	return out
}

const ( // columns
	vvFixed    = 0 // g/L as tartaric
	vvVolatile = 1 // g/L as acetic
	vvCitric   = 2
	vvFreeSO2  = 5 // mg/L
	vvTotalSO2 = 6
	vvPH       = 8
	vvAlcohol  = 10
)

// Every measured wine must be honoured to the digits, or refused with the reason:
// a pH and an acidity that no wine of this make can have together.
func TestVinhoVerdeWinesCanBeAnchored(t *testing.T) {
	for _, colour := range []string{"red", "white"} {
		wines := vinhoVerde(t, colour)
		var refused, low int
		var ions, worst float64
		for _, w := range wines {
			m := Measured{PH: quantity.PH(w[vvPH]), EndPoint: 7, Alcohol: quantity.Strength(w[vvAlcohol]), Temperature: 20,
				TA: quantity.Concentration(w[vvFixed] + w[vvVolatile]*75.0435/60.052), FreeSO2: quantity.Concentration(w[vvFreeSO2] * 1e-3),
				Citric: Given(quantity.Concentration(w[vvCitric])), Acetic: Given(quantity.Concentration(w[vvVolatile]))}
			a, err := Anchor(m)
			var contradiction *Contradiction
			if errors.As(err, &contradiction) {
				refused++
				continue
			}
			if err != nil {
				t.Fatalf("%v: %v", w, err)
			}
			ph, err := a.PH()
			if err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, math.Abs(float64(ph)-w[vvPH]))
			ions += a.StrongIons.MmolPerL() / float64(len(wines))
			if a.StrongIons < 0 {
				low++
			}
		}
		t.Logf("%s: %d wines, refused %d, mean strong-ion excess %.1f meq/L, below zero in %d, worst pH off by %.1e", colour, len(wines), refused, ions, low, worst)
		if worst > 1e-6 {
			t.Errorf("%s: an anchored wine is off its own pH by %g", colour, worst)
		}
		if share := float64(refused) / float64(len(wines)); share > 0.005 {
			t.Errorf("%s: %.1f %% of measured wines are refused", colour, 100*share)
		}
	}
}

// The reference's figures for the free share of total SO2 in finished wine, computed
// from this data set: red median 0.375, white 0.254.
func TestVinhoVerdeFreeShare(t *testing.T) {
	for colour, want := range map[string]float64{"red": 0.375, "white": 0.254} {
		var share []float64
		for _, w := range vinhoVerde(t, colour) {
			share = append(share, w[vvFreeSO2]/w[vvTotalSO2])
		}
		slices.Sort(share)
		median := share[len(share)/2]
		t.Logf("%s: median free share %.3f", colour, median)
		if math.Abs(median-want) > 0.001 {
			t.Errorf("%s: median free share %.4f, the reference says %.3f", colour, median, want)
		}
	}
}
