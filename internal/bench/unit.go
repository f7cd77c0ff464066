package bench

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"elevage/science/quantity"
)

// A Unit is what a number is counted in. Its Suffix is how the keys of its
// inputs and outputs end, so that a script can see the unit.
type Unit struct {
	Symbol string `json:"symbol"`
	Suffix string `json:"suffix"`

	dim   dimension
	scale float64 // base = number·scale + shift
	shift float64
}

// A dimension is what is measured; only units of one dimension convert. The
// base of each is the base of the quantity package's type.
type dimension string

// Units that inputs and outputs are declared in.
var (
	litre           = Unit{"L", "l", "volume", 1, 0}
	millilitre      = Unit{"mL", "ml", "volume", 1e-3, 0}
	cubicMetre      = Unit{"m³", "m3", "volume", 1e3, 0}
	gram            = Unit{"g", "g", "mass", 1, 0}
	milligram       = Unit{"mg", "mg", "mass", 1e-3, 0}
	kilogram        = Unit{"kg", "kg", "mass", 1e3, 0}
	gPerL           = Unit{"g/L", "g_l", "concentration", 1, 0}
	mgPerL          = Unit{"mg/L", "mg_l", "concentration", 1e-3, 0}
	gPerHL          = Unit{"g/hL", "g_hl", "concentration", 1e-2, 0}
	celsius         = Unit{"°C", "c", "temperature", 1, 0}
	percentVol      = Unit{"% vol", "pct", "strength", 1, 0}
	pascalBar       = Unit{"bar", "bar", "pressure", 1e5, 0}
	hectopascal     = Unit{"hPa", "hpa", "pressure", 100, 0}
	kgPerM3         = Unit{"kg/m³", "kg_m3", "density", 1, 0}
	normal          = Unit{"mol/L", "normality", "normality", 1, 0}
	milliequivalent = Unit{"meq/L", "meq_l", "equivalents", 1, 0}
	millimolar      = Unit{"mmol/L", "mmol_l", "molarity", 1e-3, 0}
	second          = Unit{"s", "s", "time", 1, 0}
	minute          = Unit{"min", "min", "time", 60, 0}
	hour            = Unit{"h", "h", "time", 3600, 0}
	day             = Unit{"d", "days", "time", 86400, 0}
	month           = Unit{"months", "months", "months", 1, 0}
	year            = Unit{"years", "years", "years", 1, 0}
	millimetre      = Unit{"mm", "mm", "length", 1, 0}
	centimetre      = Unit{"cm", "cm", "length", 10, 0}
	millivolt       = Unit{"mV", "mv", "voltage", 1, 0}
	percent         = Unit{"%", "pct", "share", 1, 0}
	brix            = Unit{"Brix", "brix", "brix", 1, 0}
	oechsle         = Unit{"°Oe", "oechsle", "oechsle", 1, 0}
	baume           = Unit{"°Bé", "baume", "baume", 1, 0}
	ph              = Unit{"", "ph", "acidity", 1, 0}
	gravity         = Unit{"", "sg", "gravity", 1, 0}
	ppm             = Unit{"ppm", "ppm", "gas share", 1, 0}
	plain           = Unit{"", "", "", 1, 0} // counts, ratios, absorbances, money
	gPerLPerDay     = Unit{"g/L per day", "g_l_per_day", "conversion rate", 1, 0}
	litrePerHour    = Unit{"L/h", "l_h", "gas flow", 1, 0}
	m3PerHour       = Unit{"m³/h", "m3_h", "gas flow", 1e3, 0}
	litrePerKg      = Unit{"L/kg", "l_kg", "yield", 1, 0}
	gPerKg          = Unit{"g/kg", "g_kg", "dose by weight", 1, 0}
	mlPerL          = Unit{"mL/L", "ml_l", "dose by volume", 1, 0}
	mgPerG          = Unit{"mg/g", "mg_g", "content", 1, 0}
)

// written are the spellings of units that a number may bring along, in lower
// case without spaces. The declared units' own symbols are among them.
var written = map[string][]Unit{
	"l":   {litre},
	"ml":  {millilitre},
	"cl":  {{"cL", "", "volume", 1e-2, 0}},
	"dl":  {{"dL", "", "volume", 1e-1, 0}},
	"hl":  {{"hL", "", "volume", 100, 0}},
	"m3":  {cubicMetre},
	"m³":  {cubicMetre},
	"gal": {usGallon}, "usgal": {usGallon}, "usgallon": {usGallon}, "usgallons": {usGallon}, "gallon": {usGallon}, "gallons": {usGallon},
	"impgal": {imperialGallon}, "ukgal": {imperialGallon},
	"floz": {{"fl oz", "", "volume", float64(quantity.USFluidOunce), 0}},
	"ft3":  {{"ft³", "", "volume", 28.316846592, 0}}, "ft³": {{"ft³", "", "volume", 28.316846592, 0}},

	"g": {gram}, "mg": {milligram}, "kg": {kilogram},
	"t":  {{"t", "", "mass", 1e6, 0}},
	"lb": {pound}, "lbs": {pound},
	"oz": {{"oz", "", "mass", float64(quantity.Ounce), 0}},

	"g/l": {gPerL}, "mg/l": {mgPerL}, "g/hl": {gPerHL},
	"µg/l": {{"µg/L", "", "concentration", 1e-6, 0}}, "ug/l": {{"µg/L", "", "concentration", 1e-6, 0}},
	"kg/hl":      {{"kg/hL", "", "concentration", 10, 0}},
	"g/gal":      {{"g/gal", "", "concentration", float64(quantity.GramPerUSGallon), 0}},
	"g/100ml":    {{"g/100 mL", "", "concentration", 10, 0}},
	"mg/100ml":   {{"mg/100 mL", "", "concentration", 1e-2, 0}},
	"lb/1000gal": {{"lb/1000 gal", "", "concentration", float64(quantity.Pound) / (1000 * float64(quantity.USGallon)), 0}},
	// ppm is read as mg per litre where a concentration is wanted, as the trade
	// writes it, and as a share of the air where a gas is meant.
	"ppm": {mgPerL, ppm},

	"°c": {celsius}, "c": {celsius}, "degc": {celsius},
	"°f": {fahrenheit}, "f": {fahrenheit}, "degf": {fahrenheit},
	"k": {{"K", "", "temperature", 1, -273.15}},

	"%vol": {percentVol}, "%abv": {percentVol}, "abv": {percentVol}, "vol%": {percentVol}, "%": {percentVol, percent},

	"bar": {pascalBar}, "mbar": {hectopascal}, "hpa": {hectopascal},
	"atm":  {{"atm", "", "pressure", 101325, 0}},
	"kpa":  {{"kPa", "", "pressure", 1000, 0}},
	"pa":   {{"Pa", "", "pressure", 1, 0}},
	"psi":  {{"psi", "", "pressure", 6894.757293168, 0}},
	"mmhg": {{"mmHg", "", "pressure", 133.322387415, 0}},
	"inhg": {{"inHg", "", "pressure", 3386.389, 0}},

	"kg/m3": {kgPerM3}, "kg/m³": {kgPerM3}, "g/ml": {{"g/mL", "", "density", 1000, 0}}, "g/cm3": {{"g/cm³", "", "density", 1000, 0}},
	"n": {normal}, "mol/l": {normal}, "m": {normal, {"m", "", "length", 1000, 0}},
	"meq/l": {milliequivalent}, "mmol/l": {millimolar},
	"s": {second}, "sec": {second}, "min": {minute}, "h": {hour}, "hours": {hour}, "d": {day}, "day": {day}, "days": {day},
	"month": {month}, "months": {month}, "year": {year}, "years": {year},
	"mm": {millimetre}, "cm": {centimetre}, "in": {{"in", "", "length", 25.4, 0}},
	"mv": {millivolt}, "brix": {brix}, "bx": {brix}, "°bx": {brix}, "°brix": {brix}, "oe": {oechsle}, "°oe": {oechsle}, "°bé": {baume}, "be": {baume},
	"g/l/day": {gPerLPerDay}, "g/lperday": {gPerLPerDay}, "l/h": {litrePerHour}, "m3/h": {m3PerHour}, "m³/h": {m3PerHour},
	"l/kg": {litrePerKg}, "g/kg": {gPerKg}, "ml/l": {mlPerL}, "mg/g": {mgPerG},
}

var (
	usGallon       = Unit{"US gal", "us_gal", "volume", float64(quantity.USGallon), 0}
	imperialGallon = Unit{"imp gal", "imp_gal", "volume", float64(quantity.ImperialGallon), 0}
	pound          = Unit{"lb", "lb", "mass", float64(quantity.Pound), 0}
	fahrenheit     = Unit{"°F", "f", "temperature", 1 / 1.8, -32 / 1.8}
)

// base converts a number in this unit to the base of its dimension.
func (u Unit) base(x float64) float64 { return x*u.scale + u.shift }

// of converts from the base of the dimension to a number in this unit.
func (u Unit) of(base float64) float64 { return (base - u.shift) / u.scale }

// convert takes a number from one unit to another of the same dimension; the
// same unit comes back untouched, to the last bit.
func convert(x float64, from, to Unit) float64 {
	if from.scale == to.scale && from.shift == to.shift {
		return x
	}
	return to.of(from.base(x))
}

// errNumber says why a text is not a usable number, as the hint of a fault.
type errNumber string

func (e errNumber) Error() string { return string(e) }

// parseAmount reads "3.47", "3,47", "6 gal" or "68 °F" into a number in the
// wanted unit.
func parseAmount(text string, want Unit) (float64, error) {
	return parseWith(text, want, convert)
}

// parseDifference reads a ±: one of 1.8 °F is 1 °C, wherever the scales begin.
func parseDifference(text string, want Unit) (float64, error) {
	return parseWith(text, want, func(x float64, from, to Unit) float64 { return x * from.scale / to.scale })
}

func parseWith(text string, want Unit, convert func(float64, Unit, Unit) float64) (float64, error) {
	number, unit := splitAmount(text)
	x, err := parseNumber(number)
	if err != nil {
		return 0, err
	}
	if unit == "" {
		return x, nil
	}
	from, err := unitFor(unit, want)
	if err != nil {
		return 0, err
	}
	return convert(x, from, want), nil
}

// unitFor finds the written unit among those of the wanted dimension.
func unitFor(text string, want Unit) (Unit, error) {
	spelled := strings.ToLower(strings.Join(strings.Fields(text), ""))
	candidates, known := written[spelled]
	for _, u := range candidates {
		if u.dim == want.dim {
			return u, nil
		}
	}
	switch {
	case want.Symbol == "":
		return Unit{}, errNumber("a plain number, without a unit")
	case known:
		return Unit{}, errNumber(text + " cannot be turned into " + want.Symbol)
	}
	return Unit{}, errNumber("unknown unit " + strconv.Quote(text))
}

// splitAmount parts a number from the unit behind it.
func splitAmount(text string) (number, unit string) {
	text = strings.TrimSpace(text)
	end := 0
	for i, r := range text {
		digit := r >= '0' && r <= '9'
		exponent := (r == 'e' || r == 'E') && i > 0 && i+1 < len(text) && strings.ContainsRune("+-0123456789", rune(text[i+1])) && isDigit(text[i-1])
		sign := (r == '+' || r == '-') && (i == 0 || text[i-1] == 'e' || text[i-1] == 'E')
		if !digit && r != '.' && r != ',' && !exponent && !sign {
			break
		}
		end = i + 1
	}
	return text[:end], strings.TrimSpace(text[end:])
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// parseNumber reads a decimal number. A decimal comma is taken where it can
// mean nothing else; "1,500" is asked about rather than guessed. Not-a-number,
// infinities and hexadecimal are no numbers here.
func parseNumber(text string) (float64, error) {
	if text == "" {
		return 0, errNumber("not a number")
	}
	if before, after, comma := strings.Cut(text, ","); comma {
		digits := after
		if i := strings.IndexAny(after, "eE"); i >= 0 {
			digits = after[:i]
		}
		switch {
		case strings.ContainsAny(text, ".") || strings.Contains(after, ","):
			return 0, errNumber("write it without thousands marks")
		case len(digits) == 3 && strings.Trim(before, "+-") != "0":
			return 0, errNumber("it could be " + before + "." + after + " or " + before + after + ": write it with a point or without a comma")
		}
		text = before + "." + after
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) || strings.ContainsAny(text, "xXpP_iInN") {
		return 0, errNumber("not a number")
	}
	return x, nil
}

// tidy prints a number with up to six significant figures, never as 1e+06.
func tidy(x float64) string {
	if x == 0 {
		return "0"
	}
	if a := math.Abs(x); a >= 1e12 || a < 1e-6 {
		return strconv.FormatFloat(x, 'g', 6, 64)
	}
	s := strconv.FormatFloat(x, 'f', max(0, 5-int(math.Floor(math.Log10(math.Abs(x))))), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// fixed prints a number with that many decimals, without a minus before zero.
func fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// withUnit joins a printed number and a unit.
func withUnit(number string, u Unit) string {
	if u.Symbol == "" {
		return number
	}
	return number + " " + u.Symbol
}

// UnitsLike lists the symbols in which an input of this unit may be written, for
// a form's hint.
func UnitsLike(u Unit) []string {
	var symbols []string
	for _, list := range written {
		for _, w := range list {
			if w.dim == u.dim && !slices.Contains(symbols, w.Symbol) {
				symbols = append(symbols, w.Symbol)
			}
		}
	}
	slices.Sort(symbols)
	return symbols
}

// finite is the last check of every figure on its way out.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
