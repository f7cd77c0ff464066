package primary

import (
	"fmt"
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// Constants are the model's numbers at one temperature, per hour and in g/L.
type Constants struct {
	MuMax  float64 // growth, 1/h
	KN     float64 // g N/L
	Death  float64 // k_d', L/(g ethanol·h)
	Beta   float64 // ethanol made, g/(g cells·h)
	KS     float64 // g sugar/L
	YieldE float64 // g ethanol per g sugar, inside the model only
}

// A Law gives the constants by temperature, and the cells that nitrogen can make.
type Law struct {
	Name   string
	At     func(t quantity.Temperature) Constants
	Cells  func(n float64) float64 // g cells/L formed from n g/L of assimilable nitrogen
	Source cited.Source
}

// ColemanSource is where the law comes from and how far it may be trusted.
var ColemanSource = cited.Source{
	Text: "Coleman, Fish & Block 2007, Appl Environ Microbiol 73(18):5875–5884, doi 10.1128/AEM.00670-07: white must in flasks, 11 to 35 °C, 265 to 300 g/L sugar, 70 to 350 mg N/L. Equations read at second hand; coefficients recalled, checked only by their ratios between 11 and 35 °C",
	Mark: cited.Memory,
}

// Domain of the law's fit, °C. Outside it the curves are an extrapolation.
const (
	Coldest quantity.Temperature = 11
	Hottest quantity.Temperature = 35
)

// Coleman is the law with the cells formed held at their peak, for all uses but
// checks.
var Coleman = Law{Name: "Coleman, Fish & Block 2007, yield clamped", At: colemanAt, Cells: func(n float64) float64 { return n * colemanYield(math.Min(n, peakNitrogen)) * shareAtPeak(n) }, Source: ColemanSource}

// ColemanAsPublished follows the regression of the yield beyond its peak.
var ColemanAsPublished = Law{Name: "Coleman, Fish & Block 2007, as recalled", At: colemanAt, Cells: func(n float64) float64 { return n * colemanYield(n) }, Source: ColemanSource}

// peakNitrogen is where n·exp(3.50 − 3.61·n) is largest, g/L.
const peakNitrogen = 1 / 3.61

func shareAtPeak(n float64) float64 {
	if n <= peakNitrogen {
		return 1
	}
	return peakNitrogen / n
}

// colemanYield is g cells per g nitrogen: ln Y = 3.50 − 3.61·N0.
func colemanYield(n float64) float64 { return math.Exp(3.50 - 3.61*n) }

// colemanAt is the regression in natural logarithms (base 10 would give a doubling in
// a month at 11 °C):
//
//	ln mu_max   = −3.92 + 0.0782·T                ln K_N = −4.73
//	ln k_d'     = −9.81 − 0.108·T + 0.00478·T²    ln K_S = 2.33
//	ln beta_max = −2.30 + 0.0771·T                ln Y_ES = −0.598
func colemanAt(t quantity.Temperature) Constants {
	x := t.Celsius()
	return Constants{
		MuMax:  math.Exp(-3.92 + 0.0782*x),
		KN:     math.Exp(-4.73),
		Death:  math.Exp(-9.81 - 0.108*x + 0.00478*x*x),
		Beta:   math.Exp(-2.30 + 0.0771*x),
		KS:     math.Exp(2.33),
		YieldE: math.Exp(-0.598),
	}
}

// Cramer is the law of Cramer, Vlassides & Block 2002 at one temperature (its
// constants at second hand). Its authors doubt that death ends a ferment.
var Cramer = Law{
	Name:   "Cramer, Vlassides & Block 2002",
	At:     func(quantity.Temperature) Constants { return Constants{0.16, 0.010, 0.0001, 0.3, 10, 0.47} },
	Cells:  func(n float64) float64 { return 31 * n },
	Source: cited.Source{Text: "Cramer, Vlassides & Block 2002, Biotechnol Bioeng 77:49–60, one temperature; constants from an open teaching script that copies them", Mark: cited.SecondHand},
}

// Must is what is fermented.
type Must struct {
	Sugar    quantity.Concentration // fermentable
	Nitrogen quantity.Concentration // assimilable, as N
	Yeast    quantity.Concentration // dry yeast pitched, taken as all active
	Factors  LotFactors
	Added    []Nitrogen
}

// Nitrogen is an addition of assimilable nitrogen some hours after pitching.
type Nitrogen struct {
	Hours  float64
	Amount quantity.Concentration // as N
}

// LotFactors set a cellar's lot off from the flask. The zero value means none.
type LotFactors struct {
	Beta  float64 // on sugar use; 0 means 1
	Death float64 // on the loss of active cells; 0 means 1
	Mu    float64 // on growth; 0 means 1
	Lag   float64 // hours at 20 °C before anything happens, longer in the cold as growth is
}

func (f LotFactors) filled() LotFactors {
	for _, p := range []*float64{&f.Beta, &f.Death, &f.Mu} {
		if *p == 0 {
			*p = 1
		}
	}
	return f
}

func (m Must) check() error {
	f := m.Factors.filled()
	for _, err := range []error{
		quantity.Check("sugar", m.Sugar.GPerL(), "g/L", 0, 400),
		quantity.Check("assimilable nitrogen", m.Nitrogen.MgPerL(), "mg/L", 0, 1000),
		quantity.Check("dry yeast", m.Yeast.GPerL(), "g/L", 1e-6, 5),
		quantity.Check("factor on sugar use", f.Beta, "", 0.01, 20),
		quantity.Check("factor on loss of cells", f.Death, "", 0.001, 1000),
		quantity.Check("factor on growth", f.Mu, "", 0.01, 20),
		quantity.Check("lag", f.Lag, "h", 0, 1000),
	} {
		if err != nil {
			return err
		}
	}
	for _, a := range m.Added {
		if err := quantity.Check(fmt.Sprintf("nitrogen added after %g h", a.Hours), a.Amount.MgPerL(), "mg/L", 0, 500); err != nil {
			return err
		}
	}
	return nil
}

// Temperatures is the liquid's temperature by hours from pitching.
type Temperatures func(hours float64) quantity.Temperature

// Steady is one temperature throughout, at every hour.
func Steady(t quantity.Temperature) Temperatures {
	return func(float64) quantity.Temperature { return t }
}
