package gas

import (
	"time"

	"elevage/science/quantity"
)

// Molar masses from IUPAC standard atomic weights, g/mol.
const (
	MolarMassCO2    = 12.011 + 2*15.999
	molarMassMalic  = 4*12.011 + 6*1.008 + 5*15.999
	molarMassHexose = 6*12.011 + 12*1.008 + 6*15.999

	gasConstant = 8.314462618 // J/(mol·K), CODATA 2018
)

// CO2 formed, g per g, by stoichiometry.
const (
	PerMalic  = MolarMassCO2 / molarMassMalic      // 0.3282: one CO2 per L-malic acid
	PerHexose = 2 * MolarMassCO2 / molarMassHexose // 0.4886: two per glucose or fructose; 0.46 to 0.47 in practice (from memory)
)

// Volume is the volume of an amount of CO2 as an ideal gas; the real gas takes
// 0.5 to 0.7 % less. Temperature −20 to 60 °C, pressure 0.1 to 10 bar.
func Volume(co2 quantity.Mass, t quantity.Temperature, p quantity.Pressure) (quantity.Volume, error) {
	if err := checkState(t, p); err != nil {
		return 0, err
	}
	return quantity.Volume(co2.Grams() * litresPerGram(t, p)), nil
}

// MassOf is the mass of CO2 in a volume of the gas, the inverse of Volume. Temperature
// −20 to 60 °C, pressure 0.1 to 10 bar; a *quantity.RangeError outside.
func MassOf(v quantity.Volume, t quantity.Temperature, p quantity.Pressure) (quantity.Mass, error) {
	if err := checkState(t, p); err != nil {
		return 0, err
	}
	return quantity.Mass(v.Litres() / litresPerGram(t, p)), nil
}

func litresPerGram(t quantity.Temperature, p quantity.Pressure) float64 {
	return gasConstant * t.Kelvin() / p.Pascals() * 1e3 / MolarMassCO2
}

func checkState(t quantity.Temperature, p quantity.Pressure) error {
	if err := quantity.Check("temperature", t.Celsius(), "°C", -20, 60); err != nil {
		return err
	}
	return quantity.Check("pressure", p.Bars(), "bar", 0.1, 10)
}

// An Airlock is a vessel closed by a water lock that lets gas out in bubbles.
//
// The bubble's volume is the weak point: no published measurement was found.
// Surface tension alone sets 0.1 to 0.25 mL for openings of 2 to 5 mm radius, slugs
// in wide locks are larger. Measure it per lock (count bubbles into an upturned
// cylinder), or treat it as unknown within a factor of three.
type Airlock struct {
	Wine        quantity.Volume
	Bubble      quantity.Volume // one bubble, at the lock
	Temperature quantity.Temperature
	Barometer   quantity.Pressure // quantity.Atmosphere if unknown
}

// MalicRate is the L-malic acid converted per day that gives a bubble each
// interval, if all the gas came from malic acid and none was held back or set free
// by warming or weather:
//
//	malic = bubble/interval · M(CO2)·P/(R·T) / 0.3282 / V
//
// Gas is taken as dry; the 2 to 4 % of water and alcohol vapour in it is far below
// what is known of the bubble. Residual sugar is not told from malic: 1 g/L of
// sugar makes as much gas as 1.5 g/L of malic acid.
func (a Airlock) MalicRate(interval time.Duration) (quantity.Rate, error) {
	if err := a.check(); err != nil {
		return 0, err
	}
	if err := quantity.Check("time between bubbles", interval.Seconds(), "s", 0.01, 30*86400); err != nil {
		return 0, err
	}
	return quantity.Rate(a.malicPerBubble() * 86400 / interval.Seconds()), nil
}

// Interval is the time between bubbles that a rate of malic conversion gives, the
// inverse of MalicRate, for intervals from 0.01 s to 30 days.
func (a Airlock) Interval(rate quantity.Rate) (time.Duration, error) {
	if err := a.check(); err != nil {
		return 0, err
	}
	if err := quantity.Check("malic acid converted per day", rate.GPerLDay(), "g/L", a.malicPerBubble()/30, a.malicPerBubble()*86400/0.01); err != nil {
		return 0, err
	}
	return time.Duration(a.malicPerBubble() / rate.GPerLDay() * 86400 * float64(time.Second)), nil
}

// malicPerBubble is the malic acid, g/L of wine, that one bubble stands for.
func (a Airlock) malicPerBubble() float64 {
	return a.Bubble.Litres() / litresPerGram(a.Temperature, a.Barometer) / PerMalic / a.Wine.Litres()
}

func (a Airlock) check() error {
	if err := quantity.Check("volume", a.Wine.Litres(), "L", 0.1, 1e6); err != nil {
		return err
	}
	if err := quantity.Check("volume of a bubble", a.Bubble.Millilitres(), "mL", 0.005, 1000); err != nil {
		return err
	}
	if err := quantity.Check("temperature", a.Temperature.Celsius(), "°C", -5, 45); err != nil {
		return err
	}
	return checkBarometer(a.Barometer)
}

func checkBarometer(p quantity.Pressure) error {
	return quantity.Check("barometer", float64(p/quantity.Hectopascal), "hPa", 500, 1100)
}
