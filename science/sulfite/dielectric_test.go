package sulfite

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"elevage/science/quantity"
)

// The coefficients OIV-MA-AS323-04C leaves out, by strength and temperature.
func TestDebyeHueckelTable(t *testing.T) {
	t.Parallel()
	f, err := os.Open("testdata/debye-hueckel.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil || len(lines) < 10 {
		t.Fatal(len(lines), err)
	}
	columns := map[string]int{}
	for i, name := range lines[0] {
		columns[name] = i
	}
	for _, line := range lines[1:] {
		cell := func(name string) float64 {
			v, err := strconv.ParseFloat(line[columns[name]], 64)
			if err != nil {
				t.Fatal(name, err)
			}
			return v
		}
		for _, c := range []string{"10", "15", "20", "25", "30"} {
			celsius, _ := strconv.ParseFloat(c, 64)
			a, b := debyeHueckel(quantity.Strength(cell("abv_percent")), quantity.Temperature(celsius))
			if math.Abs(a-cell("A_"+c+"C")) > 0.000051 || math.Abs(b-cell("B_per_angstrom_"+c+"C")) > 0.000051 {
				t.Errorf("%s %% vol, %s °C: A %.5f, B %.5f; table %s, %s", line[0], c, a, b, line[columns["A_"+c+"C"]], line[columns["B_per_angstrom_"+c+"C"]])
			}
		}
	}
}
