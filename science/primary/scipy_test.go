package primary

import (
	"math"
	"testing"

	"elevage/internal/published"
	"elevage/science/quantity"
)

// Against SciPy's eighth-order solver at 1e-13 (testdata/reference.py, which also
// states the cases). Agreement: 1e-9 of the largest value of each unknown.
func TestCoursesAgainstSciPy(t *testing.T) {
	t.Parallel()
	wave := func(h float64) quantity.Temperature { return quantity.Temperature(18 + 8*math.Sin(h/60)) }
	slow := func(h float64) quantity.Temperature { return quantity.Temperature(13 + 0.01*h) }
	cases := map[string]struct {
		must Must
		temp Temperatures
		tol  float64
	}{
		"steady 20":  {Must{Sugar: 240, Nitrogen: 0.2, Yeast: 0.25}, Steady(20), 1e-9},
		"stuck 35":   {Must{Sugar: 265, Nitrogen: 0.08, Yeast: 0.25}, Steady(35), 1e-9},
		"cellar":     {Must{Sugar: 245, Nitrogen: 0.14, Yeast: 0.2, Factors: LotFactors{Beta: 0.8, Death: 1.4, Mu: 0.9, Lag: 14}, Added: []Nitrogen{{60, 0.05}}}, wave, 1e-9},
		"cold; rich": {Must{Sugar: 230, Nitrogen: 0.33, Yeast: 0.25, Factors: LotFactors{Beta: 0.7, Death: 0.5, Mu: 1.1, Lag: 30}}, slow, 1e-9},
	}
	scale := [5]float64{4, 4, 0.3, 150, 265}
	worst := map[string]float64{}
	courses := map[string]*Course{}
	rows := published.Table(t, "testdata/scipy.csv")
	for _, row := range rows {
		c, ok := cases[row["case"]]
		if !ok {
			t.Fatalf("no case %q", row["case"])
		}
		if courses[row["case"]] == nil {
			var err error
			if courses[row["case"]], err = Coleman.Course(c.must, c.temp, 30); err != nil {
				t.Fatal(err)
			}
		}
		s := courses[row["case"]].At(published.Number(t, row["hours"]))
		got := [5]float64{s.Cells.GPerL(), s.Active.GPerL(), s.Nitrogen.GPerL(), s.Ethanol.GPerL(), s.Sugar.GPerL()}
		for j, col := range []string{"cells", "active", "nitrogen", "ethanol", "sugar"} {
			off := math.Abs(got[j]-published.Number(t, row[col])) / scale[j]
			worst[row["case"]] = math.Max(worst[row["case"]], off)
			if off > c.tol {
				t.Errorf("%s, %s h: %s %.12g, SciPy %s", row["case"], row["hours"], col, got[j], row[col])
			}
		}
	}
	t.Log("largest difference over scale:", worst)
	if len(courses) != len(cases) || len(rows) < 110 {
		t.Errorf("%d cases, %d rows", len(courses), len(rows))
	}
}
