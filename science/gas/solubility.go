package gas

import (
	"fmt"
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A Relation is one published way to reckon how much CO2 a wine holds. The two
// agree within 1.5 % at 20 °C and part by up to 8.5 % at 0 and 30 °C.
type Relation uint8

const (
	// Official takes the overpressure relation of Regulation (EEC) 2676/90 at
	// 20 °C for strength and sugar, and the temperature curve of CO2 in water
	// (Weiss 1974). The package's choice where none is named.
	Official Relation = iota
	// Sparkling takes 1.21 g/(L·atm) at 25 °C and 12.5 % vol with an enthalpy of
	// −24.8 kJ/mol, as used for sparkling wine, and the strength and sugar factors
	// of the official relation. It gives more gas in the cold and less in warmth,
	// hence higher pressure in a warm bottle.
	Sparkling
)

// String names the relation in words fit for a screen.
func (r Relation) String() string {
	if r == Sparkling {
		return "sparkling-wine relation"
	}
	return "official relation at 20 °C with the temperature curve of water"
}

// Source is where the relation comes from.
func (r Relation) Source() cited.Source {
	if r == Sparkling {
		return cited.Source{Text: "Liger-Belair: 1.21 g/(L·atm) at 25 °C, 24.8 kJ/mol; within 5 % of three published anchors", Mark: cited.Memory}
	}
	return cited.Source{Text: "Reg. (EEC) 2676/90, overpressure at 20 °C (read); temperature: Weiss 1974, Mar. Chem. 2:203 (coefficients and Table III read in public transcriptions)", Mark: cited.Computed}
}

// Liquid is what CO2 dissolves in.
type Liquid struct {
	Alcohol quantity.Strength
	Sugar   quantity.Concentration
}

// Solubility is the CO2 that a liquid holds per unit of CO2 partial pressure.
type Solubility float64 // g/(L·Pa)

// PerBar is the solubility in g/(L·bar).
func (s Solubility) PerBar() float64 { return float64(s) * quantity.Bar.Pascals() }

// PerAtmosphere is the solubility in g/(L·atm).
func (s Solubility) PerAtmosphere() float64 { return float64(s) * quantity.Atmosphere.Pascals() }

// At is the CO2 held under a partial pressure of CO2, absolute (Henry's law).
func (s Solubility) At(p quantity.Pressure) quantity.Concentration {
	return quantity.Concentration(float64(s) * p.Pascals())
}

// Pressure is the partial pressure of CO2 over a liquid that holds this much.
func (s Solubility) Pressure(c quantity.Concentration) quantity.Pressure {
	return quantity.Pressure(c.GPerL() / float64(s))
}

// Solubility reckons CO2 solubility:
//
//	Official:  s = 1.951e-5 · (0.86 − 0.01·A) · (1 − 0.00144·S) · K0(t)/K0(20)
//	Sparkling: s = 1.21/101325 · exp[24800/R · (1/T − 1/298.15)] · (0.86 − 0.01·A)/0.735 · (1 − 0.00144·S)
//
// in g/(L·Pa), A in % vol, S in g/L, K0 after Weiss. Domain: 0 to 35 °C, 0 to
// 20 % vol, 0 to 300 g/L sugar; a *quantity.RangeError outside. The official
// relation is for finished wine: water (A = 0) comes out 1.2 % below Weiss. Against
// the published anchors (2.9 g/(L·atm) at 0 °C, 1.4 at 20 °C, 2.1 g/(L·bar) at
// 10 °C) Official is off by 0, +5 and −6 %, Sparkling by +4, +3 and −3 %.
func (r Relation) Solubility(l Liquid, t quantity.Temperature) (Solubility, error) {
	if err := quantity.Check("temperature", t.Celsius(), "°C", 0, 35); err != nil {
		return 0, err
	}
	if err := quantity.Check("alcohol", l.Alcohol.Percent(), "% vol", 0, 20); err != nil {
		return 0, err
	}
	if err := quantity.Check("sugar", l.Sugar.GPerL(), "g/L", 0, 300); err != nil {
		return 0, err
	}
	liquid := (0.86 - 0.01*l.Alcohol.Percent()) * (1 - 0.00144*l.Sugar.GPerL())
	switch r {
	case Official:
		return Solubility(1.951e-5 * liquid * waterK0(t) / waterK0(20)), nil
	case Sparkling:
		const at25, enthalpy, gasConstant = 1.21 / 101325, 24800, 8.314462618
		return Solubility(at25 * math.Exp(enthalpy/gasConstant*(1/t.Kelvin()-1/298.15)) * liquid / 0.735), nil
	}
	return 0, fmt.Errorf("relation %d is not one of the two known", r)
}

// WaterSolubility is that of pure water after Weiss 1974 (Marine Chemistry 2:203,
// coefficients from memory), 0 to 40 °C; a *quantity.RangeError outside.
func WaterSolubility(t quantity.Temperature) (Solubility, error) {
	if err := quantity.Check("temperature", t.Celsius(), "°C", 0, 40); err != nil {
		return 0, err
	}
	return Solubility(waterK0(t) * MolarMassCO2 / quantity.Atmosphere.Pascals()), nil
}

// waterK0 is in mol/(L·atm): ln K0 = −58.0931 + 90.5069·(100/T) + 22.2940·ln(T/100).
func waterK0(t quantity.Temperature) float64 {
	k := t.Kelvin()
	return math.Exp(-58.0931 + 90.5069*100/k + 22.2940*math.Log(k/100))
}
