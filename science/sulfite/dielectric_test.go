package sulfite

import (
	"math"
	"testing"

	"elevage/internal/published"
	"elevage/science/quantity"
)

// The coefficients OIV-MA-AS323-04C leaves out, by strength and temperature.
func TestDebyeHueckelTable(t *testing.T) {
	t.Parallel()
	for _, row := range published.Table(t, "testdata/debye-hueckel.csv") {
		cell := func(name string) float64 { return published.Number(t, row[name]) }
		for _, c := range []string{"10", "15", "20", "25", "30"} {
			celsius := published.Number(t, c)
			a, b := debyeHueckel(quantity.Strength(cell("abv_percent")), quantity.Temperature(celsius))
			if math.Abs(a-cell("A_"+c+"C")) > 0.000051 || math.Abs(b-cell("B_per_angstrom_"+c+"C")) > 0.000051 {
				t.Errorf("%s %% vol, %s °C: A %.5f, B %.5f; table %s, %s", row["abv_percent"], c, a, b, row["A_"+c+"C"], row["B_per_angstrom_"+c+"C"])
			}
		}
	}
}
