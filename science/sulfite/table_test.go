package sulfite_test

import (
	"fmt"
	"math"
	"testing"

	"elevage/internal/published"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

const mg = quantity.MilligramPerLitre

func ExampleTarget_Free() {
	wine := sulfite.Wine{PH: 3.5, Alcohol: 13, Temperature: 20}
	aim, _ := sulfite.Handbook.Target(0.8 * mg)
	free, _ := aim.Free(wine)
	fmt.Printf("%.1f mg/L free\n", free.MgPerL())
	// Output: 40.0 mg/L free
}

func ExampleTarget_Dose() {
	powder, _ := sulfite.Powder(sulfite.PotassiumMetabisulfite, 0.95)
	aim, _ := sulfite.Handbook.Target(0.6 * mg)
	m, _ := aim.Dose(sulfite.Need{
		Wine: sulfite.Wine{PH: 3.5, Alcohol: 13, Temperature: 18}, Volume: 54, FreeNow: 4 * mg, TotalNow: 20 * mg,
		Product: powder, Binding: sulfite.FirstBinding,
	})
	fmt.Printf("%v, then %.0f mg/L free (%.0f to %.0f), total %.0f\n",
		m.Take, m.After.Likely.MgPerL(), m.After.Low.MgPerL(), m.After.High.MgPerL(), m.Total.MgPerL())
	fmt.Println(m.Molecular[1])
	// Output:
	// 5.13 g, then 30 mg/L free (25 to 35), total 72
	// 0.60 mg/L (handbook constant 1.81)
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*(1+1e-9)) {
		t.Errorf("%s: got %.7g, want %.7g ± %.2g", what, got, want, tolerance)
	}
}

// judge is a *testing.T or a *rapid.T.
type judge interface {
	Helper()
	Fatal(...any)
}

func must[T any](t judge) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func wine(ph, abv, celsius float64) sulfite.Wine {
	return sulfite.Wine{PH: quantity.PH(ph), Alcohol: quantity.Strength(abv), Temperature: quantity.Temperature(celsius)}
}

func percent(t testing.TB, r sulfite.Rule, w sulfite.Wine) float64 {
	t.Helper()
	return 100 * must[sulfite.Share](t)(r.Share(w)).Fraction
}

func molecular(t testing.TB, r sulfite.Rule, free float64, w sulfite.Wine) float64 {
	t.Helper()
	return must[sulfite.Molecular](t)(r.Molecular(quantity.Concentration(free)*mg, w)).Amount().MgPerL()
}

func freeFor(t testing.TB, r sulfite.Rule, target float64, w sulfite.Wine) float64 {
	t.Helper()
	aim := must[sulfite.Target](t)(r.Target(quantity.Concentration(target) * mg))
	return must[quantity.Concentration](t)(aim.Free(w)).MgPerL()
}

func pure(t judge, s sulfite.Salt) sulfite.Product {
	t.Helper()
	return must[sulfite.Product](t)(sulfite.Powder(s, 1))
}

// checks names every kind of row in checks.csv.
var checks = map[string]func(t testing.TB, x, y, z float64) float64{
	"handbook_percent":      func(t testing.TB, x, _, _ float64) float64 { return percent(t, sulfite.Handbook, wine(x, 0, 0)) },
	"handbook_free_mg":      func(t testing.TB, x, y, _ float64) float64 { return freeFor(t, sulfite.Handbook, x, wine(y, 0, 0)) },
	"handbook_molecular_mg": func(t testing.TB, x, y, _ float64) float64 { return molecular(t, sulfite.Handbook, x, wine(y, 0, 0)) },
	"oiv_pkt": func(t testing.TB, x, y, _ float64) float64 {
		return must[float64](t)(sulfite.TabulatedConstant(quantity.Strength(x), quantity.Temperature(y)))
	},
	"oiv_pkm": func(t testing.TB, x, y, _ float64) float64 {
		return must[float64](t)(sulfite.MixedConstant(quantity.Strength(x), quantity.Temperature(y), sulfite.MeanIonicStrength))
	},
	"oiv_percent":      func(t testing.TB, x, y, z float64) float64 { return percent(t, sulfite.OIV, wine(x, y, z)) },
	"oiv_molecular_mg": func(t testing.TB, x, y, z float64) float64 { return molecular(t, sulfite.OIV, x, wine(y, z, 20)) },
	"oiv_25_mg":        func(t testing.TB, x, y, z float64) float64 { return molecular(t, sulfite.OIV, x, wine(y, z, 25)) },
	"slope_oiv_25_mg":  func(t testing.TB, x, y, z float64) float64 { return molecular(t, sulfite.OIVSlope, x, wine(y, z, 25)) },
	"water_pk":         func(_ testing.TB, x, _, _ float64) float64 { return sulfite.WaterConstant(quantity.Temperature(x)) },
	"so2_in_k2s2o5":    func(_ testing.TB, x, _, _ float64) float64 { return x * sulfite.PotassiumMetabisulfite.SO2Fraction() },
	"so2_in_na2s2o5":   func(_ testing.TB, x, _, _ float64) float64 { return x * sulfite.SodiumMetabisulfite.SO2Fraction() },
	"k2s2o5_for": func(t testing.TB, x, y, _ float64) float64 {
		d := must[sulfite.Dose](t)(sulfite.Addition{Volume: quantity.Volume(x), FreeAfter: quantity.Concentration(y) * mg, Product: pure(t, sulfite.PotassiumMetabisulfite)}.Dose())
		return d.Take.Mass.Grams()
	},
	"acetaldehyde_ceiling_mg": func(_ testing.TB, x, _, _ float64) float64 { return x * sulfite.Binders[0].Ceiling() },
	"so2_lost_to_oxygen": func(t testing.TB, x, _, _ float64) float64 {
		return must[quantity.Bounds[quantity.Concentration]](t)(sulfite.LossTo(quantity.Concentration(x) * mg)).Likely.MgPerL()
	},
	"monthly_loss_from_yearly_oxygen": func(t testing.TB, x, _, _ float64) float64 {
		return must[quantity.Bounds[quantity.Concentration]](t)(sulfite.LossTo(quantity.Concentration(x/12) * mg)).Likely.MgPerL()
	},
	"rate_ratio": func(t testing.TB, x, y, z float64) float64 {
		return must[float64](t)(sulfite.RateRatio(quantity.Temperature(x), quantity.Temperature(y), z))
	},
	"jar_strength_percent": func(t testing.TB, x, y, _ float64) float64 {
		ti := sulfite.Titration{Titrant: quantity.Volume(x) * quantity.Millilitre, Normality: 0.1}
		return 100 * must[float64](t)(ti.FoundStrength(sulfite.PotassiumMetabisulfite, quantity.Mass(y)*quantity.Milligram))
	},
	"mg_so2_per_ml_iodine": func(t testing.TB, x, _, _ float64) float64 {
		ti := sulfite.Titration{Titrant: quantity.Volume(x) * quantity.Millilitre, Normality: 0.1}
		return 1e3 * must[quantity.Mass](t)(ti.SO2()).Grams()
	},
	"oxygen_mg_per_ml_air": func(t testing.TB, x, _, _ float64) float64 {
		return must[quantity.Concentration](t)(sulfite.HeadspaceAir(quantity.Volume(x)*quantity.Millilitre, 1, 20)).MgPerL()
	},
	"potassium_per_so2": func(t testing.TB, x, _, _ float64) float64 {
		p := pure(t, sulfite.PotassiumMetabisulfite)
		return p.Brings(p.Holding(quantity.Mass(x))).Potassium.Grams()
	},
	"first_dose_mg": func(t testing.TB, x, y, _ float64) float64 {
		d := must[sulfite.Dose](t)(sulfite.Addition{Volume: 1, FreeAfter: quantity.Concentration(x) * mg, Binding: 1 - y, Product: pure(t, sulfite.PotassiumMetabisulfite)}.Dose())
		return d.Added.MgPerL()
	},
}

func TestCheckTable(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, row := range published.Table(t, "testdata/checks.csv") {
		check, ok := checks[row["what"]]
		if !ok {
			t.Errorf("row %s: no check is called %q", row["id"], row["what"])
			continue
		}
		seen[row["what"]] = true
		t.Run(row["id"]+" "+row["what"], func(t *testing.T) {
			near(t, row["source"], check(t, num(t, row["x"]), num(t, row["y"]), num(t, row["z"])), num(t, row["expected"]), num(t, row["tolerance"]))
		})
	}
	for name := range checks {
		if !seen[name] {
			t.Errorf("no row uses the check %q", name)
		}
	}
}

// Table 1 must come back digit for digit; the remembered Table 2 within 0.001, the
// bound that a formula for it was found with.
func TestOIVTables(t *testing.T) {
	t.Parallel()
	for _, row := range published.Table(t, "testdata/oiv-constants.csv") {
		name := row["abv_pct"] + " % vol, " + row["temp_c"] + " °C"
		near(t, name+" pKT", checks["oiv_pkt"](t, num(t, row["abv_pct"]), num(t, row["temp_c"]), 0), num(t, row["pKT"]), 1e-12)
		near(t, name+" pKM", checks["oiv_pkm"](t, num(t, row["abv_pct"]), num(t, row["temp_c"]), 0), num(t, row["pKM"]), 0.001)
	}
	// Percentages from Table 2's three decimals: 0.001 in pKM is 0.23 % of the value.
	for _, row := range published.Table(t, "testdata/oiv-percent.csv") {
		for ph := 28; ph <= 40; ph++ {
			key := fmt.Sprintf("pH_%d.%d", ph/10, ph%10)
			got := percent(t, sulfite.OIV, wine(float64(ph)/10, num(t, row["abv_percent"]), num(t, row["temp_c"])))
			want := num(t, row[key])
			near(t, row["abv_percent"]+" % vol, "+row["temp_c"]+" °C, "+key, got, want, 0.0051+0.0023*want)
		}
	}
}

func TestFreeNeeded(t *testing.T) {
	t.Parallel()
	for _, row := range published.Table(t, "testdata/free-needed.csv") {
		ph := num(t, row["pH"])
		w := wine(ph, 12, 20)
		near(t, row["pH"]+" handbook %", percent(t, sulfite.Handbook, w), num(t, row["pct_mol_pk1.81"]), 0.00051)
		near(t, row["pH"]+" handbook 0.5", freeFor(t, sulfite.Handbook, 0.5, w), num(t, row["free_for_0.5_pk1.81"]), 0.051)
		near(t, row["pH"]+" handbook 0.8", freeFor(t, sulfite.Handbook, 0.8, w), num(t, row["free_for_0.8_pk1.81"]), 0.051)
		// 1.9552 there, 1.9554 here (the Debye–Hückel term instead of Table 2's decimals)
		near(t, row["pH"]+" OIV %", percent(t, sulfite.OIV, w), num(t, row["pct_mol_OIV_12abv_20C_pKM1.955"]), 0.0006+0.001*num(t, row["pct_mol_OIV_12abv_20C_pKM1.955"]))
		near(t, row["pH"]+" OIV 0.5", freeFor(t, sulfite.OIV, 0.5, w), num(t, row["free_for_0.5_OIV"]), 0.051+0.001*num(t, row["free_for_0.5_OIV"]))
		near(t, row["pH"]+" OIV 0.8", freeFor(t, sulfite.OIV, 0.8, w), num(t, row["free_for_0.8_OIV"]), 0.051+0.001*num(t, row["free_for_0.8_OIV"]))
		// 1.77 of the Handbook of Enology is not a rule of this package; it lies 9 % off.
		if r := num(t, row["free_for_0.8_pk1.77"]) / freeFor(t, sulfite.Handbook, 0.8, w); r < 1.08 || r > 1.1 {
			t.Errorf("1.77 against 1.81 at pH %v: ratio %v", ph, r)
		}
	}
}

func TestSources(t *testing.T) {
	t.Parallel()
	byFormula := map[string]sulfite.Salt{}
	for _, s := range sulfite.Salts() {
		byFormula[s.Formula()] = s
	}
	for _, row := range published.Table(t, "testdata/sources.csv") {
		s, ok := byFormula[row["formula"]]
		if !ok {
			t.Errorf("no salt %s", row["formula"])
			continue
		}
		if s.String() != row["compound"] {
			t.Errorf("%s is called %q, not %q", row["formula"], s, row["compound"])
		}
		near(t, row["formula"]+" molar mass", s.MolarMass(), num(t, row["molar_mass_g_mol"]), 0.00051)
		near(t, row["formula"]+" SO2", s.SO2Fraction(), num(t, row["SO2_mass_fraction"]), 0.000051)
		near(t, row["formula"]+" g/hL", 1/s.SO2Fraction(), num(t, row["g_per_hL_for_10_mg_L_SO2"]), 0.00051)
		near(t, row["formula"]+" mg/gal", 3.785411784/s.SO2Fraction(), num(t, row["mg_per_US_gal_per_mg_L_SO2"]), 0.00051)
	}
}

func TestBinding(t *testing.T) {
	t.Parallel()
	table := published.Table(t, "testdata/binding.csv")
	if len(table) != len(sulfite.Binders) {
		t.Fatalf("%d rows for %d binders", len(table), len(sulfite.Binders))
	}
	for i, row := range table {
		b := sulfite.Binders[i]
		if b.Name != row["compound"] || b.Source.Mark.Firm() {
			t.Errorf("%s: %+v (a Kd from memory must not look firm)", row["compound"], b)
		}
		near(t, b.Name+" Kd", b.Kd.MmolPerL(), num(t, row["Kd_mM"]), 1e-12)
		near(t, b.Name+" ceiling", b.Ceiling(), num(t, row["mg_SO2_bound_per_mg_at_saturation"]), 0.000051)
		for column, free := range map[string]quantity.Concentration{"fraction_bound_at_free_10": 10, "at_free_20": 20, "at_free_30": 30, "at_free_50": 50} {
			near(t, b.Name+" "+column, b.Held(free*mg), num(t, row[column]), 0.000051)
		}
	}
}

// TestAgainstSciPy holds the package against testdata/scipy_sulfite.py. Roots and
// constants agree to 1e-9; quantiles too, since both integrate to better than 1e-12.
func TestAgainstSciPy(t *testing.T) {
	t.Parallel()
	usual := []sulfite.Content{
		{Binder: sulfite.Binders[0], Amount: 0.04}, {Binder: sulfite.Binders[1], Amount: 0.06}, {Binder: sulfite.Binders[2], Amount: 0.08},
		{Binder: sulfite.Binders[3], Amount: 0.5}, {Binder: sulfite.Binders[4], Amount: 2},
	}
	measured := func(a, b, c, d float64) sulfite.Measurement {
		return sulfite.Measurement{Free: quantity.Concentration(a), FreeSD: quantity.Concentration(b), Wine: wine(c, 12, 20), PHSD: d}
	}
	routes := map[string]func(a, b, c, d, e float64) float64{
		"mixed": func(a, b, c, _, _ float64) float64 {
			return must[float64](t)(sulfite.MixedConstant(quantity.Strength(a), quantity.Temperature(b), c))
		},
		"quantile": func(a, b, c, d, e float64) float64 {
			s := must[sulfite.Spread](t)(sulfite.Handbook.Spread(measured(a, b, c, d)))
			return map[float64]float64{0.05: s.Interval.Q05.GPerL(), 0.5: s.Interval.Q50.GPerL(), 0.95: s.Interval.Q95.GPerL()}[e]
		},
		"shortfall": func(a, b, c, d, e float64) float64 {
			aim := must[sulfite.Target](t)(sulfite.Handbook.Target(quantity.Concentration(e)))
			return must[float64](t)(aim.Shortfall(measured(a, b, c, d)))
		},
		"free_of": func(a, _, _, _, _ float64) float64 {
			return must[quantity.Concentration](t)(sulfite.FreeOf(quantity.Concentration(a), usual)).GPerL()
		},
		"solution": func(a, b, c, d, e float64) float64 {
			p := must[sulfite.Product](t)(sulfite.Solution(sulfite.PotassiumMetabisulfite, quantity.Concentration(e), 1))
			return must[sulfite.Dose](t)(sulfite.Addition{Volume: quantity.Volume(a), FreeNow: quantity.Concentration(b), FreeAfter: quantity.Concentration(c), Binding: d, Product: p}.Dose()).Take.Volume.Litres()
		},
	}
	worst := 0.0
	for _, row := range published.Table(t, "testdata/scipy_sulfite.csv") {
		route, ok := routes[row["what"]]
		if !ok {
			t.Fatalf("no route to %q", row["what"])
		}
		want := num(t, row["result"])
		got := route(num(t, row["a"]), num(t, row["b"]), num(t, row["c"]), num(t, row["d"]), num(t, row["e"]))
		off := math.Abs(got-want) / math.Abs(want)
		if row["what"] == "shortfall" {
			off = math.Abs(got - want) // a probability: its own scale is 1
		}
		worst = math.Max(worst, off)
		if !(off <= 1e-9) {
			t.Errorf("%s(%s, %s, %s, %s, %s): got %.15g, SciPy %.15g", row["what"], row["a"], row["b"], row["c"], row["d"], row["e"], got, want)
		}
	}
	t.Logf("largest difference %.1e of the value", worst)
}

// num is a cell's figure, 0 where it is empty.
func num(t testing.TB, s string) float64 {
	t.Helper()
	return published.NumberOr(t, s, 0)
}
