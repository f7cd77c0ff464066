package strength

import "elevage/science/quantity"

// Corrections to add to a refractometer reading at a temperature other than 20 °C,
// by temperature (rows) and reading in % mass (columns 10, 15, 20, 25, 30).
//
// 5 to 17 °C: OIV-MA-AS2-02, Table I, Compendium 2013, p. 49 (read; the entry at
// 6 °C and 10 % breaks its column by 0.02 and is kept as printed). 18, 19, 21,
// 22 °C: international table of 1936, read in a reprint. 23 to 30 °C: the same table
// from memory; its rows that were read match what is remembered.
var refractometerColumns = [...]float64{10, 15, 20, 25, 30}

var refractometerRows = [...]struct{ t, c10, c15, c20, c25, c30 float64 }{
	{5, -0.82, -0.87, -0.92, -0.95, -0.99},
	{6, -0.80, -0.82, -0.87, -0.90, -0.94},
	{7, -0.74, -0.78, -0.82, -0.84, -0.88},
	{8, -0.69, -0.73, -0.76, -0.79, -0.82},
	{9, -0.64, -0.67, -0.71, -0.73, -0.75},
	{10, -0.59, -0.62, -0.65, -0.67, -0.69},
	{11, -0.54, -0.57, -0.59, -0.61, -0.63},
	{12, -0.49, -0.51, -0.53, -0.55, -0.56},
	{13, -0.43, -0.45, -0.47, -0.48, -0.50},
	{14, -0.38, -0.39, -0.40, -0.42, -0.43},
	{15, -0.32, -0.33, -0.34, -0.35, -0.36},
	{16, -0.26, -0.27, -0.28, -0.28, -0.29},
	{17, -0.20, -0.20, -0.21, -0.21, -0.22},
	{18, -0.13, -0.14, -0.14, -0.14, -0.14},
	{19, -0.06, -0.07, -0.07, -0.07, -0.07},
	{20, 0, 0, 0, 0, 0},
	{21, 0.07, 0.07, 0.07, 0.08, 0.08},
	{22, 0.14, 0.14, 0.15, 0.15, 0.15},
	{23, 0.21, 0.22, 0.22, 0.23, 0.23},
	{24, 0.28, 0.29, 0.30, 0.30, 0.31},
	{25, 0.36, 0.37, 0.38, 0.38, 0.39},
	{26, 0.43, 0.44, 0.45, 0.46, 0.47},
	{27, 0.52, 0.53, 0.54, 0.55, 0.55},
	{28, 0.60, 0.61, 0.62, 0.63, 0.63},
	{29, 0.68, 0.69, 0.71, 0.72, 0.72},
	{30, 0.77, 0.78, 0.79, 0.80, 0.80},
}

// CorrectRefractometer brings a refractometer reading in % mass to 20 °C by table,
// linear in between. Only for an instrument without automatic compensation, and
// only for juice and must: alcohol bends the light too. Domain: 5 to 30 °C, 10 to
// 30 Brix. Tables of different origin differ by 0.02.
func CorrectRefractometer(reading Brix, t quantity.Temperature) (Brix, error) {
	if err := quantity.Check("Brix", float64(reading), "Brix", 10, 30); err != nil {
		return 0, err
	}
	if err := quantity.Check("temperature", t.Celsius(), "°C", 5, 30); err != nil {
		return 0, err
	}
	j := 0
	for j < len(refractometerColumns)-2 && float64(reading) >= refractometerColumns[j+1] {
		j++
	}
	u := (float64(reading) - refractometerColumns[j]) / 5
	at := func(i int) float64 {
		r := refractometerRows[i]
		row := [...]float64{r.c10, r.c15, r.c20, r.c25, r.c30}
		return row[j] + u*(row[j+1]-row[j])
	}
	i := min(int(t.Celsius())-5, len(refractometerRows)-2) // rows are one degree apart
	v := t.Celsius() - refractometerRows[i].t
	return reading + Brix(at(i)+v*(at(i+1)-at(i))), nil
}
