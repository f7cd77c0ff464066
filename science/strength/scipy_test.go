package strength_test

import (
	"math"
	"testing"

	"elevage/internal/published"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// TestAgainstSciPy holds every formula and root against testdata/scipy_strength.py,
// which goes another way to them: term by term, with brentq. Agreement is asked to
// 1e-9 of the value.
func TestAgainstSciPy(t *testing.T) {
	t.Parallel()
	sg := func(v float64) strength.SpecificGravity { return strength.SpecificGravity(v) }
	deg := func(v float64) quantity.Temperature { return quantity.Temperature(v) }
	vol := func(v float64) quantity.Strength { return quantity.Strength(v) }
	float := func(h strength.Hydrometer) func(a, b, c float64) float64 {
		return func(a, b, c float64) float64 {
			return float64(must[strength.Corrected](t)(h.CorrectSG(sg(a), deg(b), vol(c))).SG)
		}
	}
	alcohol := func(f strength.SugarPerAlcohol) func(a, b, c float64) float64 {
		return func(a, b, _ float64) float64 {
			return must[strength.Attenuation](t)(strength.AlcoholFromGravities(sg(a), sg(b), f)).Alcohol.Likely.Percent()
		}
	}
	routes := map[string]func(a, b, c float64) float64{
		"r22": func(a, b, _ float64) float64 { return checks["r22_density"](t, a, b) },
		"sucrose": func(a, b, _ float64) float64 {
			return must[quantity.Density](t)(strength.SucroseDensity(strength.Brix(a), deg(b))).KgPerM3()
		},
		"mass_fraction": func(a, _, _ float64) float64 {
			return must[float64](t)(strength.MassFraction(vol(a)))
		},
		"brix": func(a, _, _ float64) float64 { return float64(must[strength.Brix](t)(sg(a).Brix())) },
		"extract": func(a, _, _ float64) float64 {
			return must[quantity.Concentration](t)(strength.ExtractOf(sg(a))).GPerL()
		},
		"wine_density": func(a, b, c float64) float64 {
			return must[quantity.Density](t)(strength.WineDensity(vol(a), quantity.Concentration(b), deg(c))).KgPerM3()
		},
		"hydrometer20":  float(strength.At20C),
		"hydrometer60F": float(strength.At60F),
		"alcohol1683":   alcohol(strength.MustLaw),
		"alcohol17":     alcohol(strength.Practical),
		"blend100L12pct25gL": func(a, b, _ float64) float64 {
			return must[strength.Blended](t)(strength.Blend(
				strength.Part{Volume: 100, Alcohol: 12, Extract: 25}, strength.Part{Volume: quantity.Volume(a), Alcohol: vol(b)})).Volume.Litres()
		},
	}
	worst := 0.0
	for _, row := range published.Table(t, "testdata/scipy_strength.csv") {
		route, ok := routes[row["what"]]
		if !ok {
			t.Fatalf("no route to %q", row["what"])
		}
		want := num(t, row["result"])
		got := route(num(t, row["a"]), num(t, row["b"]), num(t, row["c"]))
		off := math.Abs(got-want) / math.Max(math.Abs(want), 1)
		worst = math.Max(worst, off)
		if !(off <= 1e-9) {
			t.Errorf("%s(%s, %s, %s): got %.15g, SciPy %.15g", row["what"], row["a"], row["b"], row["c"], got, want)
		}
	}
	t.Logf("largest difference %.1e of the value", worst)
}
