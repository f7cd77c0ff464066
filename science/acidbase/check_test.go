package acidbase_test

import (
	"math"
	"strings"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// Mass of water in a litre of the dilute buffers at 25 °C: turns mol/kg into mol/L.
const kilogramsPerLitre = 0.9970

// solved is the pH of amounts in mol/L in water at 25 °C.
func solved(t testing.TB, acid acidbase.Acid, molar, strong float64) float64 {
	c := acidbase.Composition{StrongIons: quantity.Molarity(strong), Temperature: quantity.Celsius(25)}
	grams := acid.Concentration(quantity.Molarity(molar))
	switch acid {
	case acidbase.Tartaric:
		c.Tartaric = grams
	case acidbase.Malic:
		c.Malic = grams
	case acidbase.Lactic:
		c.Lactic = grams
	case acidbase.Succinic:
		c.Succinic = grams
	case acidbase.Citric:
		c.Citric = grams
	case acidbase.Acetic:
		c.Acetic = grams
	case acidbase.Phosphoric:
		c.Phosphate = grams
	}
	return float64(must(c.PH())(t))
}

// modelWine is the wine of the computed tables, its strong ions fitted to a pH.
func modelWine(t testing.TB, ph, malic, lactic float64) acidbase.Composition {
	return modelWineAt(t, 20, ph, malic, lactic)
}

func modelWineAt(t testing.TB, temperature quantity.Temperature, ph, malic, lactic float64) acidbase.Composition {
	c := acidbase.Composition{
		Tartaric: 2.5, Malic: quantity.Concentration(malic), Lactic: quantity.Concentration(lactic),
		Succinic: 0.7, Acetic: 0.3, Citric: 0.2, Alcohol: 12.5, Temperature: temperature,
	}
	return fitted(t, c, ph)
}

// fitted sets the strong ions, as potassium, so that the pH comes out as asked.
func fitted(t testing.TB, c acidbase.Composition, ph float64) acidbase.Composition {
	curve := must(c.TitrationCurve(quantity.PH(ph), quantity.PH(ph), 2))(t)
	c.StrongIons += curve[0].Base
	c.Potassium = quantity.Concentration(math.Max(0, c.StrongIons.MolPerL()) * 39.098)
	return c
}

// after is what an effect leads to: pH, and titratable acidity to 7 as tartaric acid.
func after(t testing.TB, c acidbase.Composition, err error) (ph, ta float64) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return float64(must(c.PH())(t)), must(c.TA(acidbase.EndPointOIV, acidbase.Tartaric))(t).GPerL()
}

// figure works out the figure that a check value stands against.
var figure = map[string]func(testing.TB) float64{
	"A1": func(t testing.TB) float64 {
		return solved(t, acidbase.Tartaric, 0.0341*kilogramsPerLitre, 0.0341*kilogramsPerLitre)
	},
	"A2": func(t testing.TB) float64 {
		return solved(t, acidbase.Citric, 0.05*kilogramsPerLitre, 0.05*kilogramsPerLitre)
	},
	"A3": func(t testing.TB) float64 {
		return solved(t, acidbase.Phosphoric, 0.05*kilogramsPerLitre, 0.075*kilogramsPerLitre)
	},
	"A4": func(t testing.TB) float64 { return solved(t, acidbase.Tartaric, 0.01, 0) },
	"A5": func(t testing.TB) float64 { return solved(t, acidbase.Malic, 0.01, 0) },
	"A6": func(t testing.TB) float64 { return solved(t, acidbase.Lactic, 0.01, 0) },
	"A7": func(t testing.TB) float64 { return solved(t, acidbase.Acetic, 0.1, 0) },

	"A9-tartaric": func(t testing.TB) float64 { return meanCapacity(t, acidbase.Tartaric, 0) },
	"A9-malic":    func(t testing.TB) float64 { return meanCapacity(t, acidbase.Malic, 0) },
	"A9-succinic": func(t testing.TB) float64 { return meanCapacity(t, acidbase.Succinic, 0) },

	"A10-low":  func(t testing.TB) float64 { return math.Copysign(1, bitartrateLoss(t, 3.40)) },
	"A10-high": func(t testing.TB) float64 { return math.Copysign(1, bitartrateLoss(t, 3.90)) },
	"A10-shed": func(t testing.TB) float64 {
		c := modelWine(t, 3.5, 2, 0.2)
		return float64(must(c.Watershed())(t))
	},
	"A12": func(t testing.TB) float64 {
		c := modelWine(t, 3.95, 0.1, 1.5)
		out, err := c.Add(acidbase.TartaricAcid, 0.86)
		ph, _ := after(t, out, err)
		return ph
	},
	"A13": tartaricAtCrush,

	"T1": func(testing.TB) float64 { return acidbase.Tartaric.Convert(6, acidbase.Sulfuric).GPerL() },
	"T2": func(testing.TB) float64 { return acidbase.Tartaric.Equivalents(6).MmolPerL() },
	"T3": func(testing.TB) float64 { return acidbase.Citric.Convert(1, acidbase.Tartaric).GPerL() },
	"T4": func(testing.TB) float64 {
		return acidbase.Tartaric.FromEquivalents(73.1 * quantity.MillimolPerLitre).GPerL()
	},
	"M1-lactic": func(testing.TB) float64 { return acidbase.LacticPerMalic },
	"M1-co2":    func(testing.TB) float64 { return acidbase.CO2PerMalic },
	"M2": func(t testing.TB) float64 {
		c := modelWine(t, 3.5, 3, 0.2)
		_, before := after(t, c, nil)
		out, err := c.Malolactic(1)
		_, ta := after(t, out, err)
		return before - ta
	},
	"M3": func(t testing.TB) float64 {
		w := must(acidbase.Anchor(acidbase.Measured{PH: 3.4, TA: 6, EndPoint: acidbase.EndPointOIV, Malic: 3, Alcohol: 12.5, Temperature: 20}))(t)
		out, err := w.Malolactic(3)
		_, ta := after(t, out, err)
		return ta
	},
	"D1-ta": func(t testing.TB) float64 { return taChange(t, acidbase.PotassiumBicarbonate, 1) },
	"D1-k": func(testing.TB) float64 {
		return acidbase.PotassiumBicarbonate.Brings(acidbase.Potassium, 1).MgPerL()
	},
	"D2": func(t testing.TB) float64 {
		c := modelWine(t, 3.5, 3, 0.2)
		_, before := after(t, c, nil)
		out := must(c.Add(acidbase.PotassiumBicarbonate, 0.667))(t)
		added := acidbase.PotassiumBicarbonate.Brings(acidbase.Potassium, 0.667)
		out, err := out.Lose(acidbase.Bitartrate, added*(188.177/39.098))
		_, ta := after(t, out, err)
		return ta - before
	},
	"D3":    func(t testing.TB) float64 { return taChange(t, acidbase.PotassiumCarbonate, 0.921) },
	"D4-ta": func(t testing.TB) float64 { return taChange(t, acidbase.CalciumCarbonate, 0.667) },
	"D4-ca": func(testing.TB) float64 {
		return acidbase.CalciumCarbonate.Brings(acidbase.Calcium, 0.667).MgPerL()
	},
	"D5-ta": func(t testing.TB) float64 {
		c := modelWine(t, 3.5, 3, 0.2)
		_, before := after(t, c, nil)
		out, err := c.Lose(acidbase.Bitartrate, 1)
		_, ta := after(t, out, err)
		return ta - before
	},
	"D5-k": func(t testing.TB) float64 {
		c := modelWine(t, 3.5, 3, 0.2)
		return (must(c.Lose(acidbase.Bitartrate, 1))(t).Potassium - c.Potassium).MgPerL()
	},
	"D5-tartaric": func(t testing.TB) float64 {
		c := modelWine(t, 3.5, 3, 0.2)
		return (must(c.Lose(acidbase.Bitartrate, 1))(t).Tartaric - c.Tartaric).GPerL()
	},
	"H1": func(t testing.TB) float64 {
		return acidbase.Tartaric.Convert(quantity.Concentration(taChange(t, acidbase.PotassiumBicarbonate, 1)), acidbase.Sulfuric).GPerL()
	},
	"H2": func(t testing.TB) float64 {
		return acidbase.Tartaric.Convert(quantity.Concentration(taChange(t, acidbase.CalciumCarbonate, 1)), acidbase.Sulfuric).GPerL()
	},
}

// disagreements are rows that the model does not meet, with what it gives instead
// and why. The test holds the model to that figure and fails should it come to meet
// the row, so that this list stays true.
var disagreements = map[string]struct {
	figure float64
	why    string
}{
	"A13": {3.539, "a wine closed off from its skins falls by 0.38 (added potassium-free, all of it lost as bitartrate) to 0.43 (none lost); " +
		"the trial's must fell by 0.26. Fermenting on the skins, potassium lost as bitartrate is replaced from them, and the must buffers more than " +
		"the model wine (Dartiguenave: 1.1 to 1.3 times). The model is for wine off the skins; it must not be used to dose acid at crush."},
}

// Every row of the check values has a figure here or a test of its own.
func TestCheckValues(t *testing.T) {
	t.Parallel()
	elsewhere := map[string]bool{"A8-bias": true, "A8-sd": true, "A11": true}
	seen := map[string]bool{}
	for _, r := range table(t, "check-values.csv") {
		id := r["id"]
		seen[id] = true
		work, ok := figure[id]
		if !ok {
			if !elsewhere[id] {
				t.Errorf("%s (%s): no test", id, r["quantity"])
			}
			continue
		}
		t.Run(id, func(t *testing.T) {
			want := r.number(t, "expected")
			tolerance := 0.5 // for signs
			if share, ok := strings.CutSuffix(r["tolerance"], " %"); ok {
				tolerance = want * row{"": share}.number(t, "") / 100
			} else if r["tolerance"] != "sign" {
				tolerance = r.number(t, "tolerance")
			}
			got := work(t)
			if d, ok := disagreements[id]; ok {
				near(t, "figure on record", got, d.figure, 0.001)
				if math.Abs(got-want) <= tolerance {
					t.Errorf("%g now meets %g ± %g: take it off the list of disagreements", got, want, tolerance)
				}
				t.Logf("%s: %.4f against %s: %s", r["quantity"], got, r["expected"], d.why)
				return
			}
			near(t, r["quantity"]+" ("+r["source"]+", "+r["mark"]+")", got, want, tolerance)
			t.Logf("%s: %.4f, check value %s", r["quantity"], got, r["expected"])
		})
	}
	for id := range figure {
		if !seen[id] {
			t.Errorf("figure %s has no check value", id)
		}
	}
}

// meanCapacity is the slope of the titration curve of 40 mmol/L of an acid
// between pH 3 and 5, meq/L per pH. The source took the slope of the nearly
// straight middle of its curves; its exact span was not read.
func meanCapacity(t testing.TB, acid acidbase.Acid, abv float64) float64 {
	c := acidbase.Composition{Alcohol: quantity.Strength(abv), Temperature: 20}
	grams := acid.Concentration(40 * quantity.MillimolPerLitre)
	switch acid {
	case acidbase.Tartaric:
		c.Tartaric = grams
	case acidbase.Malic:
		c.Malic = grams
	case acidbase.Succinic:
		c.Succinic = grams
	}
	curve := must(c.TitrationCurve(3, 5, 2))(t)
	return (curve[1].Base - curve[0].Base).MmolPerL() / 2
}

// bitartrateLoss is the change of pH when half a gram per litre falls.
func bitartrateLoss(t testing.TB, ph float64) float64 {
	c := modelWine(t, ph, 2, 0.2)
	c.Potassium = 2
	out, err := c.Lose(acidbase.Bitartrate, 0.5)
	after, _ := after(t, out, err)
	return after - ph
}

// taChange is what a dose does to titratable acidity at once.
func taChange(t testing.TB, agent acidbase.Agent, dose quantity.Concentration) float64 {
	c := modelWine(t, 3.5, 3, 0.2)
	_, before := after(t, c, nil)
	out, err := c.Add(agent, dose)
	_, ta := after(t, out, err)
	return ta - before
}

// tartaricAtCrush follows the trial: two grams more tartaric acid at crush, of
// which part leaves as bitartrate before the wine is read. The wine's make is not
// known, so the model wine stands in, and the treated wine is taken to come down to
// the same supersaturation that the untreated one was left with.
func tartaricAtCrush(t testing.TB) float64 {
	c := modelWine(t, 3.965, 2, 0.2)
	control := must(c.Saturation(20))(t).Bitartrate
	treated := must(c.Add(acidbase.TartaricAcid, 2))(t)
	var lost quantity.Concentration
	for step := quantity.Concentration(0.5); step > 1e-6; step /= 2 {
		for {
			out := must(treated.Lose(acidbase.Bitartrate, lost+step))(t)
			if must(out.Saturation(20))(t).Bitartrate < control {
				break
			}
			lost += step
		}
	}
	out, err := treated.Lose(acidbase.Bitartrate, lost)
	ph, _ := after(t, out, err)
	t.Logf("%.2f g/L bitartrate lost", lost)
	return ph
}

// A11: the rise is positive, at most 0.2, and larger at higher pH (one malic content).
func TestMalolacticRise(t *testing.T) {
	t.Parallel()
	for _, malic := range []float64{1.5, 2.5} {
		last := 0.0
		for ph := 3.1; ph < 3.81; ph += 0.1 {
			c := modelWine(t, ph, malic, 0.2)
			out, err := c.Malolactic(quantity.Concentration(malic))
			end, _ := after(t, out, err)
			rise := end - ph
			if rise <= last || rise > 0.2 {
				t.Errorf("malic %g, pH %.1f: rise %.4f after %.4f; want larger, and at most 0.2", malic, ph, rise, last)
			}
			last = rise
		}
	}
}
