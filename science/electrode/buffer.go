// Package electrode knows the standards that a pH meter is checked with and what
// such a check says about the readings of a session.
//
//	ph, err := electrode.Phosphate.PH(quantity.Celsius(18))      // 6.888
//	fit, err := electrode.Usual().Judge([]electrode.Check{
//		{Buffer: electrode.Technical700, Shown: 7.05, Temperature: 20},
//		{Buffer: electrode.Phthalate, Shown: 4.08, Temperature: 20},
//	})
//	ph, sd := fit.True(3.52)                                      // what a reading of 3.52 means
package electrode

import (
	"math"
	"sort"

	"elevage/science/quantity"
)

// A Buffer is a solution of known pH.
type Buffer uint8

// The buffers. Phosphate (6.865 at 25 °C) and Technical700 (7.000 at 25 °C) are
// two different solutions; hand meters mostly come with the second.
const (
	Tartrate     Buffer = iota // potassium hydrogen tartrate (cream of tartar), saturated at 25 °C
	Citrate                    // potassium dihydrogen citrate, 0.05 mol/kg
	Phthalate                  // potassium hydrogen phthalate, 0.05 mol/kg ("4.01")
	Phosphate                  // KH2PO4 and Na2HPO4, 0.025 mol/kg each ("6.86")
	Technical700               // phosphate, technical, pH 7.00 at 25 °C
	Borax                      // 0.01 mol/kg ("9.18")
	Tetroxalate                // potassium tetroxalate, 0.05 mol/kg ("1.68")
	Carbonate                  // NaHCO3 and Na2CO3, 0.025 mol/kg each ("10.01")
	bufferCount
)

var bufferNames = [bufferCount]string{
	"saturated cream of tartar", "citrate 3.78", "phthalate 4.01", "phosphate 6.86",
	"technical phosphate 7.00", "borax 9.18", "tetroxalate 1.68", "carbonate 10.01",
}

// String names the solution and its pH at 25 °C.
func (b Buffer) String() string {
	if b >= bufferCount {
		return "unknown buffer"
	}
	return bufferNames[b]
}

// Known says whether b is one of the package's constants.
func (b Buffer) Known() bool { return b < bufferCount }

// temperatures of the table below, °C.
var temperatures = []float64{0, 5, 10, 15, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30, 35, 37, 40, 45, 50}

// values are conventional pH(S) of the US National Bureau of Standards as
// tabulated after Bates 1962 (J. Res. Natl. Bur. Stand. 66A:179), read in a data
// header of public instrument code and cross-checked against published formulas
// (phthalate: Hetzer, Durst, Robinson, Bates 1977; citrate: Staples, Bates 1969).
var values = [bufferCount][]float64{
	Borax:        {9.464, 9.395, 9.332, 9.276, 9.245, 9.235, 9.225, 9.216, 9.207, 9.197, 9.189, 9.180, 9.171, 9.163, 9.155, 9.147, 9.139, 9.102, 9.088, 9.068, 9.038, 9.010},
	Carbonate:    {10.317, 10.245, 10.179, 10.118, 10.084, 10.073, 10.062, 10.052, 10.042, 10.032, 10.022, 10.012, 10.002, 9.993, 9.984, 9.975, 9.966, 9.925, 9.910, 9.889, 9.857, 9.828},
	Citrate:      {3.863, 3.840, 3.820, 3.803, 3.793, 3.791, 3.788, 3.785, 3.783, 3.780, 3.778, 3.776, 3.774, 3.772, 3.770, 3.768, 3.766, 3.759, 3.756, 3.754, 3.750, 3.749},
	Tetroxalate:  {1.666, 1.668, 1.670, 1.672, 1.674, 1.675, 1.675, 1.676, 1.677, 1.678, 1.678, 1.679, 1.680, 1.681, 1.682, 1.683, 1.683, 1.688, 1.690, 1.694, 1.700, 1.707},
	Phosphate:    {6.984, 6.951, 6.923, 6.900, 6.888, 6.884, 6.881, 6.877, 6.874, 6.871, 6.868, 6.865, 6.862, 6.860, 6.857, 6.855, 6.853, 6.844, 6.841, 6.838, 6.834, 6.833},
	Technical700: {7.118, 7.087, 7.059, 7.036, 7.024, 7.020, 7.016, 7.013, 7.009, 7.006, 7.003, 7.000, 6.997, 6.994, 6.992, 6.989, 6.987, 6.977, 6.974, 6.970, 6.965, 6.963},
	Phthalate:    {4.000, 3.998, 3.997, 3.998, 3.999, 4.000, 4.001, 4.001, 4.002, 4.003, 4.004, 4.005, 4.006, 4.007, 4.008, 4.009, 4.011, 4.018, 4.022, 4.027, 4.038, 4.050},
	Tartrate: {math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(),
		3.557, 3.556, 3.555, 3.554, 3.553, 3.552, 3.549, 3.548, 3.547, 3.547, 3.549},
}

// PH is the buffer's pH at a temperature, 0 to 50 °C, interpolated linearly
// between the table's points (error below 0.001; the values themselves ±0.005).
// Cream of tartar is tabulated from 25 °C up only: below that PH is a
// *quantity.RangeError and CreamOfTartar is at hand.
func (b Buffer) PH(t quantity.Temperature) (quantity.PH, error) {
	if !b.Known() {
		return 0, quantity.Check("buffer", float64(b), "", 0, float64(bufferCount-1))
	}
	low := 0.0
	if b == Tartrate {
		low = 25
	}
	if err := quantity.Check("temperature of "+b.String(), t.Celsius(), "°C", low, 50); err != nil {
		return 0, err
	}
	i := max(1, sort.SearchFloat64s(temperatures, t.Celsius()))
	t0, t1 := temperatures[i-1], temperatures[i]
	v0, v1 := values[b][i-1], values[b][i]
	if math.IsNaN(v0) { // the first tabulated point itself
		return quantity.PH(v1), nil
	}
	return quantity.PH(v0 + (v1-v0)*(t.Celsius()-t0)/(t1-t0)), nil
}

// CreamOfTartar is the pH of water shaken with more cream of tartar than it can
// dissolve, at 10 to 40 °C: cheap, and a primary standard at 25 °C. From 25 °C up it is
// the tabulated value. Below 25 °C no table was found: 3.557 + 0.00335 d + 0.000014 d²,
// d degrees under 25, is computed (package acidbase, solubility and dissociation
// together) and estimated to hold within 0.02. The second result says which it is.
func CreamOfTartar(t quantity.Temperature) (ph quantity.PH, computed bool, err error) {
	if t >= 25 {
		ph, err = Tartrate.PH(t)
		return ph, false, err
	}
	if err := quantity.Check("temperature of saturated cream of tartar", t.Celsius(), "°C", 10, 50); err != nil {
		return 0, true, err
	}
	d := 25 - t.Celsius()
	return quantity.PH(3.557 + 0.00335*d + 1.4e-5*d*d), true, nil
}

// Phthalate1977 is the pH of the phthalate buffer by formula, 0 to 60 °C:
//
//	pH = 2073.44/T − 13.3270 + 0.045199 T − 3.4846·10⁻⁵ T²
//
// Hetzer, Durst, Robinson, Bates 1977 (J. Res. Natl. Bur. Stand. 81A:21). It runs
// 0.000 to 0.003 above the older table.
func Phthalate1977(t quantity.Temperature) (quantity.PH, error) {
	if err := quantity.Check("temperature", t.Celsius(), "°C", 0, 60); err != nil {
		return 0, err
	}
	k := t.Kelvin()
	return quantity.PH(2073.44/k - 13.3270 + 0.045199*k - 3.4846e-5*k*k), nil
}

// Millivolt is an electrode's potential.
type Millivolt float64

// Slope is the potential of a perfect electrode per pH unit, ln 10 · R T/F
// (Nernst; CODATA 2018): 58.17 mV at 20 °C.
func Slope(t quantity.Temperature) Millivolt {
	const r, faraday = 8.314462618, 96485.33212 // J/(mol K), C/mol
	return Millivolt(math.Ln10 * r * t.Kelvin() / faraday * 1e3)
}
