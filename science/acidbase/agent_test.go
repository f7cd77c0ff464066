package acidbase_test

import (
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// What agents bring, by atomic weights (IUPAC: K 39.098, Na 22.990, Ca 40.078, C 12.011, O 15.999).
func TestWhatAgentsBring(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		agent                           acidbase.Agent
		potassium, sodium, calcium, co2 float64 // g per g
	}{
		{acidbase.PotassiumBicarbonate, 0.39053, 0, 0, 0.43959},
		{acidbase.PotassiumCarbonate, 0.56580, 0, 0, 0.31843},
		{acidbase.CalciumCarbonate, 0, 0, 0.40043, 0.43971},
		{acidbase.SodiumBicarbonate, 0, 0.27367, 0, 0.52387},
		{acidbase.PotassiumTartrate, 0.34559, 0, 0, 0},
		{acidbase.PotassiumBitartrate, 0.20777, 0, 0, 0},
		{acidbase.PotassiumMetabisulfite, 0.35174, 0, 0, 0},
		{acidbase.SodiumMetabisulfite, 0, 0.24188, 0, 0},
		{acidbase.TartaricAcid, 0, 0, 0, 0},
	} {
		near(t, tc.agent.String()+": K", tc.agent.Brings(acidbase.Potassium, 1).GPerL(), tc.potassium, 2e-5)
		near(t, tc.agent.String()+": Na", tc.agent.Brings(acidbase.Sodium, 1).GPerL(), tc.sodium, 2e-5)
		near(t, tc.agent.String()+": Ca", tc.agent.Brings(acidbase.Calcium, 1).GPerL(), tc.calcium, 2e-5)
		near(t, tc.agent.String()+": CO2", tc.agent.CO2(1).GPerL(), tc.co2, 2e-5)
		if tc.agent.Formula() == "" || !tc.agent.Known() {
			t.Error(tc.agent)
		}
	}
	if acidbase.Agent(200).Known() || acidbase.Agent(200).Brings(acidbase.Potassium, 1) != 0 {
		t.Error("an unknown agent brings something")
	}
}

// A gram of potassium metabisulfite brings 0.5763 g of sulfur dioxide, stays nearly
// without effect on pH (its hydrogen sulfite is as charged as its potassium).
func TestMetabisulfiteHardlyMovesPH(t *testing.T) {
	t.Parallel()
	c := modelWine(t, 3.5, 1, 1)
	out := must(c.Add(acidbase.PotassiumMetabisulfite, 0.1))(t)
	near(t, "SO2", out.FreeSO2.MgPerL(), 57.63, 0.02)
	ph, _ := after(t, out, nil)
	near(t, "pH", ph, 3.5, 0.003)
}

// Dissolved CO2 hardly moves the pH of wine but is titrated: 1 g/L adds over a gram
// of titratable acidity, which is why the sample is degassed (OIV-MA-AS313-01
// excludes carbon dioxide).
func TestCarbonDioxideInTheSample(t *testing.T) {
	t.Parallel()
	c := modelWine(t, 3.5, 1, 1)
	_, flat := after(t, c, nil)
	c.CO2 = 1
	ph, fizzy := after(t, c, nil)
	near(t, "pH", ph, 3.5, 0.003)
	// 22.7 mmol/L; at pH 7 the share of hydrogen carbonate is between 0.7 and 0.85.
	if extra := acidbase.Tartaric.Equivalents(quantity.Concentration(fizzy-flat)).MmolPerL() / 22.72; extra < 0.7 || extra > 0.85 {
		t.Errorf("share of CO2 titrated: %.3f", extra)
	}
}

// A sample made up with five times its volume of water gives nearly the same
// titratable acidity; what differs is alcohol and salt at the end point.
func TestDilutedSample(t *testing.T) {
	t.Parallel()
	c := modelWine(t, 3.5, 2, 1)
	for _, end := range []quantity.PH{7, 8.2} {
		plain := must(c.TAEquivalents(end))(t).MmolPerL()
		thin := must(c.TAOfSample(end, 10*quantity.Millilitre, 50*quantity.Millilitre))(t).MmolPerL()
		if thin == plain {
			t.Error("water made no difference at all")
		}
		near(t, "diluted", thin, plain, 0.5)
	}
	same := must(c.TAOfSample(7, 10*quantity.Millilitre, 0))(t)
	near(t, "undiluted", same.MmolPerL(), must(c.TAEquivalents(7))(t).MmolPerL(), 1e-9)
}

// Pure acids: every acid hydrogen up to the end point, within the end point's physics.
func TestEveryHydrogenIsTitrated(t *testing.T) {
	t.Parallel()
	for agent, want := range map[acidbase.Agent]float64{
		acidbase.TartaricAcid: 1.000, acidbase.MalicAcid: 1.119, acidbase.LacticAcid: 0.833, acidbase.CitricAcid: 1.172, acidbase.CitricAcidMonohydrate: 1.071,
	} {
		c := must((&acidbase.Composition{Temperature: 20}).Add(agent, 1))(t)
		near(t, agent.String(), must(c.TA(acidbase.EndPointAOAC, acidbase.Tartaric))(t).GPerL(), want, 0.015)
		near(t, agent.String()+" counted", -agent.NeutralisesPerGram(), want, 0.001)
	}
}
