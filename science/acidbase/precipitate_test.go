package acidbase_test

import (
	"errors"
	"math"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// dissolved is how much potassium bitartrate alcohol-water holds, g/L, by the package.
func dissolved(t testing.TB, celsius, abv float64) float64 {
	const grams = 20.0
	c := must((&acidbase.Composition{Alcohol: quantity.Strength(abv), Temperature: 20}).Add(acidbase.PotassiumBitartrate, grams))(t)
	p := must(c.Precipitate(quantity.Celsius(celsius), acidbase.Bitartrate))(t)
	near(t, "saturation after settling", p.After.Bitartrate, 0, 1e-9)
	return grams - p.Bitartrate.GPerL()
}

// Berg and Keefer's solubilities. The solubility product was fitted to them, so this
// tests the fit: within 4.5 % at wine strength, 7 % in water.
func TestBitartrateSolubility(t *testing.T) {
	t.Parallel()
	for _, r := range table(t, "bitartrate-solubility.csv") {
		celsius, abv := r.number(t, "celsius"), r.number(t, "abv")
		want := r.number(t, "meq_per_litre") * 0.188177
		tolerance := 0.045
		switch {
		case r["note"] == "doubtful":
			tolerance = 0.12
		case abv == 0:
			tolerance = 0.07
		}
		got := dissolved(t, celsius, abv)
		near(t, r["celsius"]+" °C, "+r["abv"]+" % vol", got, want, tolerance*want)
	}
	for _, r := range table(t, "bitartrate-solubility-other.csv") {
		want := r.number(t, "grams_per_litre")
		got := dissolved(t, r.number(t, "celsius"), r.number(t, "abv"))
		// These disagree with Berg and Keefer by up to 13 %; the package follows them.
		near(t, r["source"], got, want, 0.15*want)
		t.Logf("%s °C, %s %% vol: %.2f g/L, %s says %s (%s)", r["celsius"], r["abv"], got, r["source"], r["grams_per_litre"], r["mark"])
	}
}

// Below the watershed loss lowers the pH, above it raises it; the titratable
// acidity always falls, and the wine is just saturated afterwards.
func TestColdLowersSaturatedWine(t *testing.T) {
	t.Parallel()
	for _, ph := range []float64{3.3, 3.9} {
		c := modelWine(t, ph, 1, 1)
		before := must(c.TA(acidbase.EndPointOIV, acidbase.Tartaric))(t)
		p := must(c.Precipitate(0, acidbase.Bitartrate))(t)
		if p.Bitartrate <= 0 || p.Before.Bitartrate <= 0 || p.CalciumTartrate != 0 {
			t.Fatalf("pH %g: %+v", ph, p)
		}
		near(t, "left just saturated", p.After.Bitartrate, 0, 1e-9)
		end, ta := after(t, p.Left, nil)
		if (end < ph) != (ph < 3.65) {
			t.Errorf("pH went from %.2f to %.3f", ph, end)
		}
		near(t, "TA lost", (before.GPerL()-ta)/p.Bitartrate.GPerL(), 0.399, 0.002)
		near(t, "potassium lost", (c.Potassium-p.Left.Potassium).GPerL()/p.Bitartrate.GPerL(), 0.2078, 0.0002)
		again := must(p.Left.Precipitate(0, acidbase.Bitartrate))(t)
		near(t, "nothing more falls", again.Bitartrate.GPerL(), 0, 1e-9)
	}
}

// A carbonate's effect at once and after settling are two figures; handbook doses
// lie between them.
func TestBicarbonateBeforeAndAfterPrecipitation(t *testing.T) {
	t.Parallel()
	c := modelWine(t, 3.2, 2, 0.2)
	settled := must(c.Precipitate(4, acidbase.Bitartrate))(t).Left // a wine that has had its winter
	_, start := after(t, settled, nil)
	atOnce, err := settled.Add(acidbase.PotassiumBicarbonate, 1)
	_, ta := after(t, atOnce, err)
	near(t, "at once", ta-start, -0.750, 0.005)
	later := must(atOnce.Precipitate(4, acidbase.Bitartrate))(t)
	_, ta = after(t, later.Left, nil)
	if drop := start - ta; drop <= 0.75 || drop >= 1.50 {
		t.Errorf("after precipitation TA fell by %.3f: want between 0.75 (none falls) and 1.50 (all potassium falls)", drop)
	}
	if later.Bitartrate <= 0 {
		t.Error("nothing fell")
	}
}

func TestCalciumTartrate(t *testing.T) {
	t.Parallel()
	c := modelWine(t, 3.5, 0.1, 1.5)
	c.Calcium = 80 * quantity.MilligramPerLitre
	plain := must(c.Saturation(15))(t).CalciumTartrate
	chalked := must(c.Add(acidbase.CalciumCarbonate, 0.5))(t)
	s := must(chalked.Saturation(15))(t).CalciumTartrate
	if s <= plain+0.4 {
		t.Errorf("half a gram of chalk moved the saturation from %.2f to %.2f only", plain, s)
	}
	p := must(chalked.Precipitate(15, acidbase.CalciumTartrate))(t)
	near(t, "left just saturated", p.After.CalciumTartrate, 0, 1e-9)
	_, before := after(t, chalked, nil)
	_, ta := after(t, p.Left, nil)
	near(t, "TA does not change as calcium tartrate falls", ta, before, 0.02)
	near(t, "calcium and tartaric acid fall mole for mole",
		(chalked.Calcium-p.Left.Calcium).GPerL()/40.078, (chalked.Tartaric-p.Left.Tartaric).GPerL()/150.087, 1e-12)
	both := must(chalked.Precipitate(5, acidbase.Bitartrate, acidbase.CalciumTartrate))(t)
	if both.After.Bitartrate > 1e-9 {
		t.Errorf("bitartrate still supersaturated: %+v", both.After)
	}
	near(t, "both settled: calcium tartrate", both.After.CalciumTartrate, 0, 1e-7)
}

// Wines low in ions precipitate nothing and say so.
func TestNothingToPrecipitate(t *testing.T) {
	t.Parallel()
	c := acidbase.Composition{Malic: 3, Alcohol: 12, Temperature: 20}
	p := must(c.Precipitate(-4, acidbase.Bitartrate, acidbase.CalciumTartrate))(t)
	if p.Bitartrate != 0 || p.CalciumTartrate != 0 || !math.IsInf(p.Before.Bitartrate, -1) {
		t.Errorf("%+v", p)
	}
	var bad *quantity.RangeError
	if _, err := c.Lose(acidbase.Bitartrate, 0.1); !errors.As(err, &bad) {
		t.Errorf("losing what is not there: %v", err)
	}
	if _, err := c.Watershed(); !errors.As(err, &bad) {
		t.Errorf("watershed without tartaric acid: %v", err)
	}
}

// The temperature at which a wine is just saturated, and its two ends.
func TestSaturationTemperature(t *testing.T) {
	t.Parallel()
	c := modelWine(t, 3.5, 1, 1)
	c.Potassium = 0.7
	at := must(c.SaturationTemperature(acidbase.Bitartrate))(t)
	near(t, "saturation there", must(c.Saturation(at))(t).Bitartrate, 0, 1e-9)
	var bad *quantity.RangeError
	c.Potassium = 0.01
	if _, err := c.SaturationTemperature(acidbase.Bitartrate); !errors.As(err, &bad) {
		t.Errorf("hardly any potassium: %v", err)
	}
	c.Potassium, c.Tartaric = 5, 20
	if _, err := c.SaturationTemperature(acidbase.Bitartrate); !errors.As(err, &bad) {
		t.Errorf("far too much: %v", err)
	}
}
