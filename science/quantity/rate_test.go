package quantity_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"elevage/science/quantity"
)

func TestRates(t *testing.T) {
	t.Parallel()
	for name, c := range map[string][2]float64{
		"11.4 mg/L a year is 0.95 a month": {float64((11.4 * quantity.MilligramPerLitreYear).MgPerLMonth()), 0.95},
		"0.2 g/L a day for ten days":       {float64((0.2 * quantity.GramPerLitreDay).Over(10)), 2},
		"1 mg/L a day":                     {(quantity.MilligramPerLitreDay).GPerLDay(), 1e-3},
		"825 mL a day":                     {(825 * quantity.MillilitrePerDay).LitresPerHour(), 0.034375},
		"8.3 m³/h":                         {(8.3 * quantity.CubicMetrePerHour).LitresPerHour(), 8300},
		"38 L/h":                           {(38 * quantity.LitrePerHour).CubicMetresPerHour(), 0.038},
	} {
		if math.Abs(c[0]-c[1]) > 1e-12*math.Abs(c[1]) {
			t.Errorf("%s: %v, want %v", name, c[0], c[1])
		}
	}
}

func TestBoundsHold(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-10, 10).Draw(t, "low")
		b := quantity.Bounds[quantity.Concentration]{Low: quantity.Concentration(low), Likely: quantity.Concentration(low + 1), High: quantity.Concentration(low + 2)}
		if !b.Holds(b.Low) || !b.Holds(b.Likely) || !b.Holds(b.High) || b.Holds(b.Low-1e-6) || b.Holds(b.High+1e-6) {
			t.Fatalf("%+v", b)
		}
	})
}
