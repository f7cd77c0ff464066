package acidbase_test

import (
	"fmt"
	"math"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// agree fails unless got and want agree to 1e-9, relative or absolute.
func agree(t testing.TB, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*math.Max(1, math.Abs(want))) {
		t.Errorf("%s: got %.15g, SciPy %.15g", what, got, want)
	}
}

// The same equations solved a second time by SciPy (testdata/scipy_check.py; the
// versions stand in the table's first line).
func TestAgainstSciPy(t *testing.T) {
	t.Parallel()
	for i, r := range table(t, "scipy_check.csv") {
		at := func(what string) string { return fmt.Sprintf("row %d, %s", i+1, what) }
		g := func(column string) quantity.Concentration { return quantity.Concentration(r.number(t, column)) }
		n := func(column string) quantity.Molarity { return quantity.Molarity(r.number(t, column)) }
		c := acidbase.Composition{
			Tartaric: g("tartaric"), Malic: g("malic"), Lactic: g("lactic"), Succinic: g("succinic"), Citric: g("citric"), Acetic: g("acetic"),
			FreeSO2: g("free_so2"), CO2: g("co2"), Phosphate: g("phosphate"), Calcium: g("calcium"),
			Other: n("other"), StrongIons: n("strong"), InertSalt: n("inert"),
			Alcohol: quantity.Strength(r.number(t, "abv")), Temperature: quantity.Celsius(r.number(t, "celsius")),
		}
		activity := acidbase.Davies
		if size := r.number(t, "ion_size"); size > 0 {
			activity = acidbase.DebyeHuckel(acidbase.Angstrom(size))
		}
		m := must(c.Medium(acidbase.WithActivity(activity)))(t)
		agree(t, at("permittivity"), m.Permittivity(), r.number(t, "permittivity"))
		a, b := m.DebyeHuckel()
		agree(t, at("A"), a, r.number(t, "dh_a"))
		agree(t, at("B"), b, r.number(t, "dh_b"))

		s := must(m.Solve(&c))(t)
		agree(t, at("pH"), float64(s.PH), r.number(t, "ph"))
		agree(t, at("ionic strength"), s.IonicStrength.MolPerL(), r.number(t, "ionic"))
		for end, column := range map[quantity.PH]string{7: "ta7", 8.2: "ta82"} {
			agree(t, at(column), must(m.TA(&c, end))(t).MolPerL(), r.number(t, column))
		}
		agree(t, at("buffer capacity"), must(m.BufferCapacity(&c))(t).MolPerL(), r.number(t, "capacity"))
		for _, ph := range []float64{2.5, 4, 6, 8, 10} {
			curve := must(m.TitrationCurve(&c, quantity.PH(ph), quantity.PH(ph)+1, 2))(t)
			agree(t, at(fmt.Sprintf("curve at pH %g", ph)), curve[0].Base.MolPerL(), r.number(t, fmt.Sprintf("curve%g", ph)))
		}

		w := must(m.Anchor(&acidbase.Measured{
			PH: quantity.PH(r.number(t, "ph")), TA: acidbase.Tartaric.FromEquivalents(n("anchor_ta82")), EndPoint: 8.2,
			Malic: c.Malic, Lactic: acidbase.Given(c.Lactic), Succinic: acidbase.Given(c.Succinic), Citric: acidbase.Given(c.Citric),
			Acetic: acidbase.Given(c.Acetic), Other: acidbase.Given(c.Other), FreeSO2: c.FreeSO2, CO2: c.CO2, Phosphate: c.Phosphate,
			Calcium: acidbase.Given(c.Calcium), Alcohol: c.Alcohol, Temperature: c.Temperature,
		}))(t)
		agree(t, at("anchored tartaric acid"), w.Tartaric.GPerL(), r.number(t, "anchored_tartaric"))
		agree(t, at("anchored strong ions"), w.StrongIons.MolPerL(), r.number(t, "anchored_strong"))
	}
}
