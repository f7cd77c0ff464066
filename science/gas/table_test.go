package gas_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"elevage/internal/published"
	"elevage/science/gas"
	"elevage/science/quantity"
)

func ExampleAirlock_MalicRate() {
	lock := gas.Airlock{Wine: 23, Bubble: 0.7 * quantity.Millilitre, Temperature: 20, Barometer: quantity.Atmosphere}
	rate, _ := lock.MalicRate(73 * time.Second)
	fmt.Printf("%.2f g/L a day\n", rate.GPerLDay())
	// Output: 0.20 g/L a day
}

func ExampleForecastBottle() {
	wine := gas.Contents{Alcohol: 12, Dissolved: 1, Sugar: 4}
	f, _ := gas.ForecastBottle(gas.Filled, wine, 25)
	w := f.Worst()
	fmt.Printf("CO2 %.1f bar, air %.1f bar, gauge %.1f bar: %v\n", w.CO2.Bars(), w.Air.Bars(), w.Gauge.Bars(), f.Hazard)
	// Output: CO2 2.4 bar, air 1.1 bar, gauge 2.5 bar: danger
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

func solubility(t testing.TB, r gas.Relation, abv, sugar, celsius float64) gas.Solubility {
	t.Helper()
	return must[gas.Solubility](t)(r.Solubility(gas.Liquid{Alcohol: quantity.Strength(abv), Sugar: quantity.Concentration(sugar)}, quantity.Temperature(celsius)))
}

func released(t testing.TB, from, to gas.Surroundings) float64 {
	t.Helper()
	return must[quantity.Concentration](t)(gas.Official.Release(gas.Liquid{Alcohol: 12}, from, to)).GPerL()
}

func warming(t testing.TB, a, b float64) float64 {
	return released(t, gas.Surroundings{Temperature: quantity.Temperature(a), Barometer: quantity.Atmosphere},
		gas.Surroundings{Temperature: quantity.Temperature(b), Barometer: quantity.Atmosphere})
}

func weather(t testing.TB, a, b float64) float64 {
	return released(t, gas.Surroundings{Temperature: 20, Barometer: quantity.Pressure(a) * quantity.Hectopascal},
		gas.Surroundings{Temperature: 20, Barometer: quantity.Pressure(b) * quantity.Hectopascal})
}

func litres(t testing.TB, grams, celsius float64) float64 {
	return must[quantity.Volume](t)(gas.Volume(quantity.Mass(grams), quantity.Temperature(celsius), quantity.Atmosphere)).Litres()
}

func champagne(t testing.TB, r gas.Relation, celsius float64) float64 {
	b := gas.Bottle{Wine: 0.75, Headspace: 0.015, Closed: quantity.Temperature(celsius)}
	return must[gas.Pressed](t)(r.Pressure(b, gas.Contents{Alcohol: 12.5, Dissolved: 11.5}, quantity.Temperature(celsius))).CO2.Bars()
}

// afterGas is the partial pressure at 20 °C, in atm, of a bottle of 12 % vol filled
// with 1 g/L CO2 (practice) or none, once what is left over has turned to gas. No
// headspace to speak of, as the handbook reckons.
func afterGas(t testing.TB, sugar, malic float64) float64 {
	b := gas.Bottle{Wine: 0.75, Headspace: 0.1 * quantity.Millilitre, Closed: 20}
	c := gas.Contents{Alcohol: 12, Dissolved: 1, Sugar: quantity.Concentration(sugar), Malic: quantity.Concentration(malic)}
	return float64(must[gas.Pressed](t)(gas.Official.Pressure(b, c, 20)).CO2 / quantity.Atmosphere)
}

// checks names every kind of row in checks.csv.
var checks = map[string]func(t testing.TB, x, y float64) float64{
	"lactic_per_malic":   func(_ testing.TB, x, _ float64) float64 { return x * (1 - gas.PerMalic) },
	"co2_per_malic":      func(_ testing.TB, x, _ float64) float64 { return gas.FromMalic(quantity.Concentration(x)).GPerL() },
	"ml_gas_per_g_malic": func(t testing.TB, x, _ float64) float64 { return 1e3 * litres(t, gas.PerMalic, x) },
	"official_per_atm":   func(t testing.TB, x, y float64) float64 { return solubility(t, gas.Official, x, y, 20).PerAtmosphere() },
	"water_per_atm": func(t testing.TB, x, _ float64) float64 {
		return must[gas.Solubility](t)(gas.WaterSolubility(quantity.Temperature(x))).PerAtmosphere()
	},
	"official_per_bar_12_5":  func(t testing.TB, x, _ float64) float64 { return solubility(t, gas.Official, 12.5, 0, x).PerBar() },
	"official_per_atm_at_12": func(t testing.TB, x, _ float64) float64 { return solubility(t, gas.Official, 12, 0, x).PerAtmosphere() },
	"sparkling_per_atm_12_5": func(t testing.TB, x, _ float64) float64 {
		return solubility(t, gas.Sparkling, 12.5, 0, x).PerAtmosphere()
	},
	"sparkling_per_bar_12_5": func(t testing.TB, x, _ float64) float64 { return solubility(t, gas.Sparkling, 12.5, 0, x).PerBar() },
	"released_by_warming":    warming,
	"malic_of_warming": func(t testing.TB, x, y float64) float64 {
		return gas.ApparentMalic(quantity.Concentration(warming(t, x, y))).GPerL()
	},
	"released_by_weather": weather,
	"malic_of_weather": func(t testing.TB, x, y float64) float64 {
		return gas.ApparentMalic(quantity.Concentration(weather(t, x, y))).GPerL()
	},
	"ml_of_weather_23L": func(t testing.TB, x, y float64) float64 { return 1e3 * litres(t, 23*weather(t, x, y), 20) },
	"seconds_between_bubbles": func(t testing.TB, x, y float64) float64 {
		lock := gas.Airlock{Wine: 23, Bubble: quantity.Volume(y) * quantity.Millilitre, Temperature: 20, Barometer: quantity.Atmosphere}
		return must[time.Duration](t)(lock.Interval(quantity.Rate(x))).Seconds()
	},
	"litres_of_gas_23L":       func(t testing.TB, x, _ float64) float64 { return litres(t, 23*x*gas.PerMalic, 20) },
	"kg_co2_per_kg_hexose":    func(_ testing.TB, x, _ float64) float64 { return gas.FromHexose(quantity.Concentration(x)).GPerL() },
	"litres_per_kg_hexose":    func(t testing.TB, x, _ float64) float64 { return litres(t, 1e3*x*gas.PerHexose, 20) },
	"litres_per_litre_must":   func(t testing.TB, x, _ float64) float64 { return litres(t, x*gas.PerHexose, 20) },
	"champagne_official_bar":  func(t testing.TB, x, _ float64) float64 { return champagne(t, gas.Official, x) },
	"champagne_sparkling_bar": func(t testing.TB, x, _ float64) float64 { return champagne(t, gas.Sparkling, x) },
	"teaching_rule_bar": func(t testing.TB, x, y float64) float64 {
		b := gas.Bottle{Wine: 0.75, Headspace: 0.015, Closed: quantity.Temperature(y)}
		return must[gas.Pressed](t)(gas.Official.Pressure(b, gas.Contents{Alcohol: 11.5, Sugar: quantity.Concentration(x)}, quantity.Temperature(y))).CO2.Bars()
	},
	"oxygen_percent": func(_ testing.TB, x, _ float64) float64 { return gas.Oxygen(gas.PPM(x * 1e4)).Percent() },
	"air_m3_h": func(t testing.TB, x, y float64) float64 {
		return must[quantity.Flow](t)(gas.OutsideAir(quantity.Flow(x), gas.PPM(y))).CubicMetresPerHour()
	},
	"litres_from_must": func(t testing.TB, x, y float64) float64 { return litres(t, x*y*gas.PerHexose, 20) },
	"closed_room_percent": func(t testing.TB, x, y float64) float64 {
		return must[gas.PPM](t)(gas.Room{Volume: quantity.Volume(y * 1e3)}.After(quantity.Flow(x/10), 10)).Percent()
	},
	"hours_to_5000ppm": func(t testing.TB, x, y float64) float64 {
		h, reached, err := gas.Room{Volume: quantity.Volume(y * 1e3)}.Until(quantity.Flow(x), gas.CO2Shift.PPM)
		if err != nil || !reached {
			t.Fatal(h, reached, err)
		}
		return h
	},
	"co2_atm_after_sugar": func(t testing.TB, x, _ float64) float64 { return afterGas(t, x, 0) },
	"co2_atm_after_malic": func(t testing.TB, x, _ float64) float64 { return afterGas(t, 0, x) },
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
			near(t, row["source"], check(t, num(t, row["x"]), num(t, row["y"])), num(t, row["expected"]), num(t, row["tolerance"]))
		})
	}
	for name := range checks {
		if !seen[name] {
			t.Errorf("no row uses the check %q", name)
		}
	}
}

func TestOverpressureTable(t *testing.T) {
	t.Parallel()
	for _, row := range published.Table(t, "testdata/overpressure-20C.csv") {
		near(t, row["ethanol_pct_vol"]+" % vol, "+row["sugar_gL"]+" g/L",
			solubility(t, gas.Official, num(t, row["ethanol_pct_vol"]), num(t, row["sugar_gL"]), 20).PerAtmosphere(), num(t, row["CO2_gL_at_101325_Pa"]), 0.000051)
	}
}

func TestWaterCurve(t *testing.T) {
	t.Parallel()
	// Weiss's own table is per kg of water; ρ after Kell (NBS) turns it into litres.
	kell := func(t float64) float64 {
		return (999.83952 + t*(16.952577+t*(-7.9905127e-3+t*(-4.6241757e-5+t*(1.0584601e-7-t*2.8103006e-10))))) / (1 + 1.6887236e-2*t) / 1e3
	}
	for _, row := range published.Table(t, "testdata/weiss-1974.csv") {
		c := num(t, row["temp_c"])
		perLitre := num(t, row["k0_1e-2_mol_kg_atm"]) * kell(c)
		got := must[gas.Solubility](t)(gas.WaterSolubility(quantity.Temperature(c))).PerAtmosphere() / gas.MolarMassCO2 * 100
		near(t, "Weiss at "+row["temp_c"], got, perLitre, 0.003) // two fits of one paper, 0.05 % apart
	}
	for _, row := range published.Table(t, "testdata/solubility-water-curve.csv") {
		c := num(t, row["T_degC"])
		water := must[gas.Solubility](t)(gas.WaterSolubility(quantity.Temperature(c))).PerAtmosphere()
		near(t, "water at "+row["T_degC"], water, num(t, row["CO2_water_gL_at_1atm"]), 0.00051)
		near(t, "molar volume at "+row["T_degC"], litres(t, gas.MolarMassCO2, c), num(t, row["molar_volume_ideal_L"]), 0.00051)
		near(t, "mL per g malic at "+row["T_degC"], 1e3*litres(t, gas.PerMalic, c), num(t, row["mL_CO2_per_g_malic_ideal"]), 0.051)
		// The table scales water to wine so that 12 % vol with 2 g/L sugar comes out at 20 °C.
		near(t, "wine at "+row["T_degC"], solubility(t, gas.Official, 12, 2, c).PerAtmosphere(), num(t, row["CO2_wine12pct_gL_at_1atm"]), 0.0016)
		real, ideal := num(t, row["molar_volume_real_L"]), num(t, row["molar_volume_ideal_L"])
		if off := 1 - real/ideal; off < 0.004 || off > 0.008 {
			t.Errorf("at %s °C the real gas takes %.2f %% less: the comment of Volume says 0.5 to 0.7", row["T_degC"], 100*off)
		}
	}
}

func TestSparklingTable(t *testing.T) {
	t.Parallel()
	for _, row := range published.Table(t, "testdata/solubility-sparkling.csv") {
		s := solubility(t, gas.Sparkling, 12.5, 0, num(t, row["temp_C"]))
		near(t, row["temp_C"], s.PerAtmosphere(), num(t, row["kH_g_per_L_atm"]), 0.00051)
		near(t, row["temp_C"], s.PerBar(), num(t, row["kH_g_per_L_bar"]), 0.00051)
	}
}

// The two relations part by at most 8.5 %, as their comment says. Neither meets every
// published anchor: the official one lies 6 % under the 2.1 g/(L·bar) that sparkling
// wine shows at 10 °C (row D41, asked to 5 %, is met by Sparkling only).
func TestRelationsPart(t *testing.T) {
	t.Parallel()
	for c := 0.0; c <= 30; c++ {
		ratio := solubility(t, gas.Sparkling, 12.5, 0, c).PerBar() / solubility(t, gas.Official, 12.5, 0, c).PerBar()
		if math.Abs(ratio-1) > 0.085 {
			t.Errorf("at %v °C they part by %.1f %%", c, 100*(ratio-1))
		}
		if c == 20 {
			near(t, "ratio at 20 °C", ratio, 1, 0.015)
		}
	}
}

// The reference table was reckoned without the alcohol that the sugar makes, which
// lowers solubility by 0.08 % for each g/L: that is allowed for, besides half a unit
// of the last printed digit.
func TestBottleTable(t *testing.T) {
	t.Parallel()
	for _, row := range published.Table(t, "testdata/bottle-table.csv") {
		g := quantity.Concentration(num(t, row["g_L"]))
		for _, c := range []string{"10", "20", "30"} {
			at := quantity.Temperature(num(t, c))
			contents := gas.Contents{Alcohol: 12.5, Malic: g}
			if row["cause"] == "hexose" {
				contents = gas.Contents{Alcohol: 12.5, Sugar: g}
			}
			b := gas.Bottle{Wine: 0.75, Headspace: 0.015, Closed: at}
			p := must[gas.Pressed](t)(gas.Sparkling.Pressure(b, contents, at)).CO2.Bars()
			want := num(t, row["bar_"+c+"C"])
			allowed := 0.0051
			if row["cause"] == "hexose" {
				allowed += 0.0009 * g.GPerL() * want
			}
			near(t, row["cause"]+" "+row["g_L"]+" g/L at "+c, p, want, allowed)
		}
	}
}

// TestAgainstSciPy holds the package against testdata/scipy_gas.py to 1e-9.
func TestAgainstSciPy(t *testing.T) {
	t.Parallel()
	bottle := gas.Bottle{Wine: 0.75, Headspace: 0.018, Closed: 18, Air: quantity.Atmosphere}
	contents := func(sugar, malic float64) gas.Contents {
		return gas.Contents{Alcohol: 12.5, Dissolved: 0.8, Sugar: quantity.Concentration(sugar), Malic: quantity.Concentration(malic), Extract: 25}
	}
	pressed := func(r gas.Relation, a, b, c float64) gas.Pressed {
		return must[gas.Pressed](t)(r.Pressure(bottle, contents(a, b), quantity.Temperature(c)))
	}
	routes := map[string]func(a, b, c, d float64) float64{
		"official":         func(a, b, c, _ float64) float64 { return float64(solubility(t, gas.Official, a, b, c)) },
		"sparkling":        func(a, b, c, _ float64) float64 { return float64(solubility(t, gas.Sparkling, a, b, c)) },
		"partial_official": func(a, b, c, _ float64) float64 { return pressed(gas.Official, a, b, c).CO2.Pascals() },
		"gauge_official":   func(a, b, c, _ float64) float64 { return pressed(gas.Official, a, b, c).Gauge.Pascals() },
		"gauge_sparkling":  func(a, b, c, _ float64) float64 { return pressed(gas.Sparkling, a, b, c).Gauge.Pascals() },
		"sugar_within": func(a, b, _, _ float64) float64 {
			return must[quantity.Concentration](t)(gas.SugarWithin(quantity.Pressure(a)*quantity.Atmosphere, bottle, contents(0, 0), quantity.Temperature(b))).GPerL()
		},
		"room_ppm": func(a, b, c, d float64) float64 {
			return float64(must[gas.PPM](t)(gas.Room{Volume: quantity.Volume(c), Air: quantity.Flow(a)}.After(quantity.Flow(b), d)))
		},
	}
	worst := 0.0
	for _, row := range published.Table(t, "testdata/scipy_gas.csv") {
		route, ok := routes[row["what"]]
		if !ok {
			t.Fatalf("no route to %q", row["what"])
		}
		want := num(t, row["result"])
		got := route(num(t, row["a"]), num(t, row["b"]), num(t, row["c"]), num(t, row["d"]))
		// a gauge pressure is the difference of two near 1 bar: its error counts against that
		scale := math.Abs(want)
		if row["what"] == "gauge_official" || row["what"] == "gauge_sparkling" {
			scale = math.Max(scale, quantity.Atmosphere.Pascals())
		}
		off := math.Abs(got-want) / scale
		worst = math.Max(worst, off)
		if !(off <= 1e-9) {
			t.Errorf("%s(%s, %s, %s, %s): got %.15g, SciPy %.15g", row["what"], row["a"], row["b"], row["c"], row["d"], got, want)
		}
	}
	t.Logf("largest difference %.1e of the value", worst)
}

// num is a cell's figure, 0 where it is empty.
func num(t testing.TB, s string) float64 {
	t.Helper()
	return published.NumberOr(t, s, 0)
}
