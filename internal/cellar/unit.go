package cellar

import (
	"strings"

	"elevage/science/quantity"
)

// Dimension is what a unit measures.
type Dimension uint8

// Dimensions, each with its base unit.
const (
	Number        Dimension = iota // pure number
	Volume                         // L
	Mass                           // g
	Concentration                  // g/L
	Equivalents                    // meq/L
	Temperature                    // °C
	Strength                       // % vol
	Acidity                        // pH
	Gravity                        // a density scale: SG, °Brix, kg/m³ …; each its own, see science/strength
	Duration                       // s
	Turbidity                      // NTU
	Ratio                          // a fraction; "%" is a hundredth
	Pressure                       // Pa
	Voltage                        // mV
	Currency                       // any money; amounts of different money never mix
)

func (d Dimension) String() string {
	return [...]string{"number", "volume", "mass", "concentration", "amount of acid", "temperature", "alcoholic strength",
		"pH", "density", "time", "turbidity", "share", "pressure", "voltage", "price"}[min(d, Currency)]
}

// A Unit is a sign in the trade's writing and what it stands for.
type Unit struct {
	Sign      string // as written in entries: "mg/L"
	Dimension Dimension
	Means     string   // in words, for help
	Also      []string // other ways in which people type it; compared without case
	factor    float64  // base = number·factor + offset
	offset    float64
}

func (u *Unit) base(n float64) float64 { return n*u.factor + u.offset }

// Units is every unit that an entry may be written in, grouped by dimension.
var Units = []Unit{
	{Sign: "", Dimension: Number, Means: "a pure number", factor: 1},
	{Sign: "L", Dimension: Volume, Means: "litre", Also: []string{"l", "litre", "litres", "liter", "liters", "lt"}, factor: 1},
	{Sign: "mL", Dimension: Volume, Means: "millilitre", Also: []string{"ml", "millilitre", "milliliter", "cc", "cm3"}, factor: float64(quantity.Millilitre)},
	{Sign: "hL", Dimension: Volume, Means: "hectolitre", Also: []string{"hl", "hectolitre", "hectoliter"}, factor: float64(quantity.Hectolitre)},
	{Sign: "gal", Dimension: Volume, Means: "US gallon", Also: []string{"gallon", "gallons", "us-gal", "usgal"}, factor: float64(quantity.USGallon)},
	{Sign: "imp-gal", Dimension: Volume, Means: "imperial gallon", Also: []string{"impgal", "uk-gal"}, factor: float64(quantity.ImperialGallon)},
	{Sign: "fl-oz", Dimension: Volume, Means: "US fluid ounce", Also: []string{"floz"}, factor: float64(quantity.USFluidOunce)},

	{Sign: "g", Dimension: Mass, Means: "gram", Also: []string{"gram", "grams", "gr"}, factor: 1},
	{Sign: "mg", Dimension: Mass, Means: "milligram", factor: float64(quantity.Milligram)},
	{Sign: "kg", Dimension: Mass, Means: "kilogram", Also: []string{"kilo", "kilos"}, factor: float64(quantity.Kilogram)},
	{Sign: "t", Dimension: Mass, Means: "tonne, 1,000 kg", Also: []string{"tonne", "tonnes"}, factor: 1e6},
	{Sign: "oz", Dimension: Mass, Means: "ounce, avoirdupois", Also: []string{"ounce", "ounces"}, factor: float64(quantity.Ounce)},
	{Sign: "lb", Dimension: Mass, Means: "pound, avoirdupois", Also: []string{"lbs", "pound", "pounds"}, factor: float64(quantity.Pound)},

	{Sign: "g/L", Dimension: Concentration, Means: "grams in a litre", Also: []string{"gpl"}, factor: 1},
	{Sign: "mg/L", Dimension: Concentration, Means: "milligrams in a litre", Also: []string{"ppm"}, factor: float64(quantity.MilligramPerLitre)},
	{Sign: "µg/L", Dimension: Concentration, Means: "micrograms in a litre", Also: []string{"ug/l", "μg/l", "ppb"}, factor: float64(quantity.MicrogramPerLitre)},
	{Sign: "g/hL", Dimension: Concentration, Means: "grams in a hectolitre", factor: float64(quantity.GramPerHectolitre)},
	{Sign: "g/gal", Dimension: Concentration, Means: "grams in a US gallon", factor: float64(quantity.GramPerUSGallon)},
	{Sign: "lb/1000gal", Dimension: Concentration, Means: "pounds in 1,000 US gallons", factor: float64(quantity.Pound) * float64(quantity.GramPerUSGallon) / 1000},
	{Sign: "meq/L", Dimension: Equivalents, Means: "milliequivalents in a litre", factor: 1},

	{Sign: "°C", Dimension: Temperature, Means: "degrees Celsius", Also: []string{"c", "degc", "celsius"}, factor: 1},
	{Sign: "°F", Dimension: Temperature, Means: "degrees Fahrenheit", Also: []string{"f", "degf", "fahrenheit"}, factor: 1 / 1.8, offset: -32 / 1.8},

	{Sign: "% vol", Dimension: Strength, Means: "alcohol by volume at 20 °C", Also: []string{"%vol", "vol%", "abv", "% abv", "%abv"}, factor: 1},
	{Sign: "pH", Dimension: Acidity, Means: "pH", factor: 1},

	{Sign: "SG", Dimension: Gravity, Means: "specific gravity, 20 °C over water at 20 °C", factor: 1},
	{Sign: "°Brix", Dimension: Gravity, Means: "degrees Brix, grams of sucrose in 100 g", Also: []string{"brix", "bx", "°bx"}, factor: 1},
	{Sign: "kg/m³", Dimension: Gravity, Means: "kilograms in a cubic metre", Also: []string{"kg/m3"}, factor: 1},
	{Sign: "g/cm³", Dimension: Gravity, Means: "grams in a cubic centimetre", Also: []string{"g/cm3", "g/ml", "kg/l"}, factor: 1},
	{Sign: "°Oe", Dimension: Gravity, Means: "degrees Oechsle", Also: []string{"oe", "oechsle"}, factor: 1},
	{Sign: "°Bé", Dimension: Gravity, Means: "degrees Baumé", Also: []string{"°be", "be", "baume", "baumé"}, factor: 1},
	{Sign: "°KMW", Dimension: Gravity, Means: "Klosterneuburg must degrees", Also: []string{"kmw"}, factor: 1},
	{Sign: "°P", Dimension: Gravity, Means: "degrees Plato", Also: []string{"plato"}, factor: 1},

	{Sign: "s", Dimension: Duration, Means: "second", Also: []string{"sec", "secs", "second", "seconds"}, factor: 1},
	{Sign: "min", Dimension: Duration, Means: "minute", Also: []string{"mins", "minute", "minutes"}, factor: 60},
	{Sign: "h", Dimension: Duration, Means: "hour", Also: []string{"hr", "hrs", "hour", "hours"}, factor: 3600},
	{Sign: "d", Dimension: Duration, Means: "day", Also: []string{"day", "days"}, factor: 86400},

	{Sign: "NTU", Dimension: Turbidity, Means: "nephelometric turbidity units", factor: 1},
	{Sign: "%", Dimension: Ratio, Means: "hundredths", Also: []string{"percent", "pct"}, factor: 0.01},
	{Sign: "bar", Dimension: Pressure, Means: "bar", factor: float64(quantity.Bar)},
	{Sign: "kPa", Dimension: Pressure, Means: "kilopascal", factor: 1e3},
	{Sign: "hPa", Dimension: Pressure, Means: "hectopascal, the barometer's millibar", Also: []string{"mbar"}, factor: float64(quantity.Hectopascal)},
	{Sign: "psi", Dimension: Pressure, Means: "pounds on a square inch", factor: 6894.757293168}, // 0.45359237 kg · 9.80665 m/s² / (0.0254 m)²
	{Sign: "mV", Dimension: Voltage, Means: "millivolt", factor: 1},

	{Sign: "EUR", Dimension: Currency, Means: "euro", Also: []string{"€"}, factor: 1},
	{Sign: "USD", Dimension: Currency, Means: "US dollar", Also: []string{"$"}, factor: 1},
	{Sign: "GBP", Dimension: Currency, Means: "pound sterling", Also: []string{"£"}, factor: 1},
	{Sign: "CHF", Dimension: Currency, Means: "Swiss franc", factor: 1},
	{Sign: "AUD", Dimension: Currency, Means: "Australian dollar", factor: 1},
	{Sign: "CAD", Dimension: Currency, Means: "Canadian dollar", factor: 1},
	{Sign: "NZD", Dimension: Currency, Means: "New Zealand dollar", factor: 1},
	{Sign: "ZAR", Dimension: Currency, Means: "South African rand", factor: 1},
}

var unitIndex = func() map[string]*Unit {
	index := make(map[string]*Unit)
	for i := range Units {
		u := &Units[i]
		for _, sign := range append([]string{strings.ToLower(u.Sign)}, u.Also...) {
			if index[sign] != nil && index[sign] != u {
				panic("cellar: two units are written " + sign)
			}
			index[sign] = u
		}
	}
	return index
}()

// LookupUnit finds a unit by its sign or another usual way of writing it,
// without regard to case.
func LookupUnit(sign string) (*Unit, bool) {
	if u, ok := unitIndex[sign]; ok {
		return u, true
	}
	u, ok := unitIndex[strings.ToLower(strings.TrimSpace(sign))]
	return u, ok
}

// UnitsOf lists the signs in which a dimension may be written.
func UnitsOf(d Dimension) []string {
	var out []string
	for _, u := range Units {
		if u.Dimension == d && u.Sign != "" {
			out = append(out, u.Sign)
		}
	}
	return out
}

func signs(d Dimension) string {
	if s := UnitsOf(d); len(s) > 0 {
		return strings.Join(s, ", ")
	}
	return "no unit"
}
