package ui

import (
	"math"
	"strconv"
	"strings"
)

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// Unset marks a spread that is not known; a figure then stands alone.
var Unset = math.NaN()

// decimalsShown is the most that a quantity is worth showing, by unit, so that
// a sharp posterior does not print digits nobody could weigh or read. These are
// choices of the house, one digit beyond the usual instrument. "pH" stands for
// the unit pH does not have.
var decimalsShown = map[string]int{
	"pH": 2, "g/L": 2, "mg/L": 0, "mg/L molecular": 2, "g/hL": 1, "% vol": 1, "°C": 1, "°F": 0, "°Brix": 1, "SG": 4,
	"L": 1, "mL": 0, "US gal": 2, "g": 2, "kg": 2, "oz": 2, "mg": 0, "%": 0, "bar": 2, "s": 0, "min": 0,
}

// Rounded writes a value and its spread (one standard uncertainty) to the digits
// the spread allows:
//
//	Rounded(3.4837, 0.0214, "pH")  // "3.48", "0.02"
//	Rounded(0.827, 0.119, "g/L")   // "0.83", "0.12"
//	Rounded(1234, 367, "")         // "1200", "400"
//
// The rule is the Particle Data Group's (Review of Particle Physics, Introduction,
// §5.3 "Rounding"): by the three leading digits of the spread, 100–354 keep two
// digits, 355–949 one, 950–999 are rounded up to 1000 and keep two. The value is
// given to the same place. Beyond that no more decimals are shown than the unit
// is worth, unless the spread would then read 0.
//
// A spread that is zero, negative, infinite or not a number comes back empty and
// the value is given to the decimals of its unit; so does a value that is not a
// number, as "–".
func Rounded(value, spread float64, unit string) (v, s string) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return "–", ""
	}
	most, known := decimalsShown[unit]
	if !(spread > 0) || math.IsInf(spread, 0) {
		if !known {
			most = plainDecimals(value)
		}
		return fixed(value, most), ""
	}
	places, r := pdg(spread)
	if known && places > most {
		if capped := roundTo(spread, most); capped > 0 {
			places, r = most, capped
		} else {
			// Sharper than the unit is usually shown: one digit of spread, so that it is not called zero.
			places = int(-math.Floor(math.Log10(spread)))
			r = roundTo(spread, places)
		}
	}
	return fixed(roundTo(value, places), max(places, 0)), fixed(r, max(places, 0))
}

// pdg is the number of decimals the rule keeps (negative for tens, hundreds)
// and the spread rounded to them.
func pdg(spread float64) (places int, rounded float64) {
	exp := int(math.Floor(math.Log10(spread)))
	lead := math.Round(spread / math.Pow(10, float64(exp-2)))
	switch {
	case lead < 355:
		places = 1 - exp
	case lead < 950:
		places = -exp
	default: // counts as 1000: two digits, the first of them one place up
		places = -exp
	}
	return places, roundTo(spread, places)
}

func roundTo(v float64, places int) float64 {
	p := math.Pow(10, math.Abs(float64(places)))
	if places < 0 {
		return math.Round(v/p) * p
	}
	return math.Round(v*p) / p
}

// plainDecimals gives a bare number three significant figures.
func plainDecimals(v float64) int {
	if v == 0 {
		return 0
	}
	return int(math.Max(0, 2-math.Floor(math.Log10(math.Abs(v)))))
}

// fixed writes a number with a true minus sign, and never minus nothing.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	if v < 0 && strings.Trim(s, "0.") != "" {
		return "−" + s
	}
	return s
}

// Spread writes value, spread and unit on one line: "3.48 ± 0.02", "18 ± 4 mg/L".
func Spread(value, spread float64, unit string) string {
	v, s := Rounded(value, spread, unit)
	if s != "" {
		v += nbsp + "±" + nbsp + s
	}
	return withUnit(v, unit)
}

// Plain writes a value with its unit to the decimals the unit is worth.
func Plain(value float64, unit string) string { return Spread(value, Unset, unit) }

// Between writes an interval: "0.10–0.61 g/L". Both ends get the digits that
// their distance allows, as if half of it were a spread. An end that is not a
// finite number gives "–".
func Between(lo, hi float64, unit string) string {
	if math.IsNaN(lo+hi) || math.IsInf(lo, 0) || math.IsInf(hi, 0) {
		return "–"
	}
	if lo > hi {
		lo, hi = hi, lo
	}
	places := decimalsOf(unit, (hi-lo)/2)
	a, b := fixed(roundTo(lo, places), max(places, 0)), fixed(roundTo(hi, places), max(places, 0))
	if a == b {
		return withUnit(a, unit)
	}
	return withUnit(a+"–"+b, unit)
}

func decimalsOf(unit string, spread float64) int {
	most, known := decimalsShown[unit]
	if !(spread > 0) || math.IsInf(spread, 0) {
		if known {
			return most
		}
		return 2
	}
	places, _ := pdg(spread)
	if known && places > most {
		return most
	}
	return places
}

// Chance writes a probability as the page says it: "under 1 %", "62 %", "over 99 %".
// Nothing is ever called certain.
func Chance(p float64) string {
	switch {
	case math.IsNaN(p) || p < -1e-9 || p > 1+1e-9: // a sum of chances may miss 1 by a rounding
		return "–"
	case p < 0.01:
		return "under 1" + nbsp + "%"
	case p > 0.99:
		return "over 99" + nbsp + "%"
	}
	return strconv.Itoa(int(math.Round(p*100))) + nbsp + "%"
}

// withUnit hangs the unit on; pH is named before the number, not after it.
func withUnit(v, unit string) string {
	if u := unitShown(unit); u != "" {
		return v + nbsp + strings.ReplaceAll(u, " ", nbsp)
	}
	return v
}

// unitShown is what stands after a number: nothing for pH and density ratios.
func unitShown(unit string) string {
	if unit == "mg/L molecular" { // a small figure that needs its decimals
		return "mg/L"
	}
	if unit == "pH" || unit == "SG" {
		return ""
	}
	return unit
}
