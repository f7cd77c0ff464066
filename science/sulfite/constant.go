package sulfite

import (
	"math"

	"elevage/science/quantity"
)

const (
	handbookPK = 1.81

	// MeanIonicStrength is the ionic strength OIV-MA-AS323-04C takes for wine, mol/L.
	MeanIonicStrength = 0.038
)

// Table 1 of OIV-MA-AS323-04C: thermodynamic constant pKT by alcohol (rows) and
// temperature (columns). The 20 % vol row is from memory, the others were read.
var (
	oivAlcohol     = [...]float64{0, 5, 10, 15, 20}
	oivTemperature = [...]float64{20, 25, 30, 35, 40}
	oivPKT         = [5][5]float64{
		{1.798, 2.000, 2.219, 2.334, 2.493},
		{1.897, 2.098, 2.299, 2.397, 2.527},
		{1.997, 2.198, 2.394, 2.488, 2.606},
		{2.099, 2.301, 2.503, 2.607, 2.728},
		{2.203, 2.406, 2.628, 2.754, 2.895},
	}
)

// TabulatedConstant is pKT of OIV-MA-AS323-04C Table 1, interpolated linearly in
// alcohol and in temperature (exact at the table's entries). Along alcohol the
// table is close to a line (0.0192 to 0.0200 per % vol at 20 °C); along
// temperature it is not smooth, and a reading between columns may be off by 0.03.
// Domain: 0 to 20 % vol, 20 to 40 °C; a *quantity.RangeError outside.
func TabulatedConstant(alcohol quantity.Strength, t quantity.Temperature) (float64, error) {
	if err := quantity.Check("alcohol", alcohol.Percent(), "% vol", 0, 20); err != nil {
		return 0, err
	}
	if err := quantity.Check("temperature", t.Celsius(), "°C", 20, 40); err != nil {
		err.(*quantity.RangeError).Why = "limits of the OIV table"
		return 0, err
	}
	i, u := cell(oivAlcohol[:], alcohol.Percent())
	j, v := cell(oivTemperature[:], t.Celsius())
	low := oivPKT[i][j] + u*(oivPKT[i+1][j]-oivPKT[i][j])
	high := oivPKT[i][j+1] + u*(oivPKT[i+1][j+1]-oivPKT[i][j+1])
	return low + v*(high-low), nil
}

// cell finds the interval of a grid that holds x and where in it x lies (0..1).
func cell(grid []float64, x float64) (int, float64) {
	i := 0
	for i < len(grid)-2 && x >= grid[i+1] {
		i++
	}
	return i, (x - grid[i]) / (grid[i+1] - grid[i])
}

// MixedConstant is pKM of OIV-MA-AS323-04C, the constant that goes with a pH
// reading at a given ionic strength I (mol/L, 0 to 0.2):
//
//	pKM = pKT − A·√I / (1 + B·a·√I)
//
// The method prints neither A nor B. They are taken as the Debye–Hückel limiting
// coefficients from the dielectric constant of ethanol and water, with a = 5 Å,
// which reproduces all 25 remembered entries of the method's Table 2 to 0.001.
func MixedConstant(alcohol quantity.Strength, t quantity.Temperature, ionicStrength float64) (float64, error) {
	if err := quantity.Check("ionic strength", ionicStrength, "mol/L", 0, 0.2); err != nil {
		return 0, err
	}
	pkt, err := TabulatedConstant(alcohol, t)
	if err != nil {
		return 0, err
	}
	a, b := debyeHueckel(alcohol, t)
	root := math.Sqrt(ionicStrength)
	return pkt - a*root/(1+b*ionSize*root), nil
}

const ionSize = 5.0 // Å; chosen at 20 °C among 4.5 and 5, then confirmed at 25 to 40 °C

// WaterConstant is the thermodynamic first constant of SO2 in pure water:
//
//	pK(T) = pK25 + [ΔH·(1/T − 1/298.15) + ΔCp·(…)] / (R ln 10)
//
// with pK25 1.860, ΔH −17.40 kJ/mol and ΔCp −230 J/(mol K), computed from Shock,
// Helgeson, Sverjensky 1989 and Shock, Helgeson 1988. Meant for 0 to 50 °C.
func WaterConstant(t quantity.Temperature) float64 {
	const (
		gas   = 8.314462618
		ref   = 298.15
		pk25  = 1.860
		dH    = -17400.0
		dCp   = -230.0
		scale = gas * math.Ln10
	)
	k := t.Kelvin()
	return pk25 + (dH*(1/k-1/ref)-dCp*(ref/k-1+math.Log(k/ref)))/scale
}
