// Package quantity gives the measures of the wine trade types of their own, so
// that a mass concentration cannot be handed over where a volume is wanted.
//
// Each type is a float64 held in one base unit; the constants multiply a number
// into the type and the methods read it out again:
//
//	ta := 6.2 * quantity.GramPerLitre
//	so2 := 30 * quantity.MilligramPerLitre
//	so2.MgPerL() // 30
//
// Multiplying by a power of ten and dividing again may cost one unit in the
// last place; nothing else is lost. What a person wrote ("3.50", "6 gal") is
// kept as text by the ledger; these types are for reckoning only.
//
// Numbers that are pure ratios (a fraction, a percentage, a count) stay float64.
package quantity

import (
	"math"
	"time"
)

// Concentration is mass per volume of wine, held in grams per litre.
type Concentration float64

// Units of Concentration.
const (
	GramPerLitre       Concentration = 1
	MilligramPerLitre  Concentration = 1e-3
	MicrogramPerLitre  Concentration = 1e-6
	GramPerHectolitre  Concentration = 1e-2
	KilogramPerLitre   Concentration = 1e3
	GramPerUSGallon    Concentration = 1 / usGallonInLitres
	usGallonInLitres                 = 3.785411784 // exact: 231 cubic inches
	poundInGrams                     = 453.59237   // exact, 1959 agreement
	imperialGallonInL                = 4.54609     // exact, UK Weights and Measures Act 1985
	fluidOunceInLitres               = usGallonInLitres / 128
)

// GPerL is the concentration in g/L.
func (c Concentration) GPerL() float64 { return float64(c) }

// MgPerL is the concentration in mg/L (1/1000 g/L; equal to ppm by volume in the trade's use).
func (c Concentration) MgPerL() float64 { return float64(c) * 1e3 }

// GPerHL is the concentration in g/hL.
func (c Concentration) GPerHL() float64 { return float64(c) * 1e2 }

// In is the mass, g, that a volume holds at this concentration: g/L × L.
func (c Concentration) In(v Volume) Mass { return Mass(float64(c) * float64(v)) }

// Mass is held in grams.
type Mass float64

// Units of Mass.
const (
	Gram      Mass = 1
	Milligram Mass = 1e-3
	Kilogram  Mass = 1e3
	Ounce     Mass = poundInGrams / 16 // avoirdupois
	Pound     Mass = poundInGrams
)

// Grams is the mass in g.
func (m Mass) Grams() float64 { return float64(m) }

// Kilograms is the mass in kg.
func (m Mass) Kilograms() float64 { return float64(m) * 1e-3 }

// Per is the concentration that the mass makes in a volume; +Inf or NaN for an empty volume.
func (m Mass) Per(v Volume) Concentration { return Concentration(float64(m) / float64(v)) }

// Volume is held in litres.
type Volume float64

// Units of Volume.
const (
	Litre          Volume = 1
	Millilitre     Volume = 1e-3
	Hectolitre     Volume = 100
	USGallon       Volume = usGallonInLitres
	ImperialGallon Volume = imperialGallonInL
	USFluidOunce   Volume = fluidOunceInLitres
)

// Litres is the volume in L.
func (v Volume) Litres() float64 { return float64(v) }

// Millilitres is the volume in mL.
func (v Volume) Millilitres() float64 { return float64(v) * 1e3 }

// USGallons is the volume in US gal.
func (v Volume) USGallons() float64 { return float64(v) / usGallonInLitres }

// Temperature is held in degrees Celsius.
type Temperature float64

// Celsius makes a temperature from °C, which is what it is held in.
func Celsius(t float64) Temperature { return Temperature(t) }

// Fahrenheit makes a temperature from °F: (°F − 32)/1.8, exact by definition. Any number
// is taken, also one below absolute zero; whoever reads it checks its domain.
func Fahrenheit(t float64) Temperature { return Temperature((t - 32) / 1.8) }

// Kelvin makes a temperature from K: K − 273.15, exact by definition.
func Kelvin(t float64) Temperature { return Temperature(t - 273.15) }

// Celsius is the temperature in °C.
func (t Temperature) Celsius() float64 { return float64(t) }

// Fahrenheit is the temperature in °F: 1.8·°C + 32.
func (t Temperature) Fahrenheit() float64 { return float64(t)*1.8 + 32 }

// Kelvin is the temperature in K.
func (t Temperature) Kelvin() float64 { return float64(t) + 273.15 }

// Strength is alcoholic strength by volume at 20 °C, held in % vol.
type Strength float64

// PercentVol is one % vol.
const PercentVol Strength = 1

// Percent is the strength in % vol.
func (s Strength) Percent() float64 { return float64(s) }

// PH is an acidity on the pH scale.
type PH float64

// Hydrogen is the activity of hydrogen ions, mol/L.
func (p PH) Hydrogen() float64 { return math.Pow(10, -float64(p)) }

// Pressure is held in pascals, absolute unless a name says gauge.
type Pressure float64

// Units of Pressure.
const (
	Pascal      Pressure = 1
	Hectopascal Pressure = 100
	Bar         Pressure = 1e5
	Atmosphere  Pressure = 101325
)

// Pascals is the pressure in Pa.
func (p Pressure) Pascals() float64 { return float64(p) }

// Bars is the pressure in bar.
func (p Pressure) Bars() float64 { return float64(p) * 1e-5 }

// Density is mass per volume of a liquid, held in kg/m³.
type Density float64

// KilogramPerCubicMetre is the base unit of Density.
const KilogramPerCubicMetre Density = 1

// KgPerM3 is the density in kg/m³.
func (d Density) KgPerM3() float64 { return float64(d) }

// Molarity is amount per volume, held in mol/L.
type Molarity float64

// Units of Molarity.
const (
	MolPerLitre      Molarity = 1
	MillimolPerLitre Molarity = 1e-3
)

// MolPerL is the molarity in mol/L.
func (m Molarity) MolPerL() float64 { return float64(m) }

// MmolPerL is the molarity in mmol/L, which for a singly charged ion is meq/L.
func (m Molarity) MmolPerL() float64 { return float64(m) * 1e3 }

// Days is a span of time in days of 24 hours, the natural unit of slow fermentations.
type Days float64

// Duration is the span as a time.Duration, rounded to the nanosecond.
func (d Days) Duration() time.Duration { return time.Duration(float64(d) * 24 * float64(time.Hour)) }

// Span is the time from a to b in days, negative if b is earlier.
func Span(a, b time.Time) Days { return Days(b.Sub(a).Hours() / 24) }
