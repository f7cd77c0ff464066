package cellar

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"elevage/science/quantity"
	"elevage/science/strength"
)

// A Measure is a quantity as it was written: "3.50" stays "3.50" and "6 gal"
// stays gallons. It becomes a number of a type of package quantity when it is
// read, by the method named after what is wanted.
type Measure struct {
	// Value is the numeral: "3.50", "1 1/2", "<0.1" for a result below what
	// the test can see, or for a chromatogram's spot the word itself.
	Value string `json:"value"`
	// Unit is a sign of the table in Units; empty for pure numbers and pH.
	Unit string `json:"unit,omitempty"`
	// Spread is the ± in the same unit, one standard deviation, if stated.
	Spread string `json:"spread,omitempty"`
}

// M makes a measure from a numeral and a unit.
func M(value, unit string) *Measure { return &Measure{Value: value, Unit: unit} }

// IsZero says that nothing was written.
func (m *Measure) IsZero() bool { return m == nil || m.Value == "" }

// String is the measure with its unit, for a sentence: "20 L", "3.50", "30 mg/L ± 2".
func (m *Measure) String() string {
	if m.IsZero() {
		return ""
	}
	s := m.Value
	if m.Unit != "" && m.Unit != "pH" {
		s += " " + m.Unit
	}
	if m.Spread != "" {
		s += " ± " + m.Spread
	}
	return s
}

// Bound is "<" or ">" if the value is only known to lie below or above its number.
func (m *Measure) Bound() string {
	if m != nil && (strings.HasPrefix(m.Value, "<") || strings.HasPrefix(m.Value, ">")) {
		return m.Value[:1]
	}
	return ""
}

// Number is the bare numeral, without its bound and in its own unit.
func (m *Measure) Number() (float64, error) {
	if m.IsZero() {
		return 0, errNothing
	}
	return ParseNumber(m.Value[len(m.Bound()):])
}

var errNothing = errors.New("nothing is written")

// spread is the stated ± in the measure's own unit, 0 if none is stated or legible.
func (m *Measure) spread() float64 {
	if m == nil || m.Spread == "" {
		return 0
	}
	s, err := ParseNumber(m.Spread)
	if err != nil || s < 0 {
		return 0
	}
	return s
}

// in is the number in the base unit of a dimension and its spread in it.
func (m *Measure) in(d Dimension) (value, spread float64, err error) {
	n, err := m.Number()
	if err != nil {
		return 0, 0, err
	}
	u, ok := LookupUnit(m.Unit)
	if !ok {
		return 0, 0, fmt.Errorf("%q is not a unit that is known here: for a %s allowed is %s", m.Unit, d, signs(d))
	}
	if d == Acidity && u.Dimension == Number {
		return n, m.spread(), nil // a pH needs no unit
	}
	if u.Dimension != d {
		return 0, 0, fmt.Errorf("%q is a unit of %s: for a %s allowed is %s", m.Unit, u.Dimension, d, signs(d))
	}
	return u.base(n), m.spread() * u.factor, nil
}

// Volume reads the measure as a volume and its ± (0 when not stated).
func (m *Measure) Volume() (v, spread quantity.Volume, err error) {
	n, s, err := m.in(Volume)
	return quantity.Volume(n), quantity.Volume(s), err
}

// Mass reads the measure as a mass.
func (m *Measure) Mass() (quantity.Mass, error) {
	n, _, err := m.in(Mass)
	return quantity.Mass(n), err
}

// Concentration reads the measure as a mass per volume and its ±. A value in
// meq/L has no mass until it is said of which acid; Number reads it.
func (m *Measure) Concentration() (c, spread quantity.Concentration, err error) {
	n, s, err := m.in(Concentration)
	return quantity.Concentration(n), quantity.Concentration(s), err
}

// Temperature reads the measure as a temperature.
func (m *Measure) Temperature() (quantity.Temperature, error) {
	n, _, err := m.in(Temperature)
	return quantity.Temperature(n), err
}

// Strength reads the measure as alcoholic strength by volume.
func (m *Measure) Strength() (quantity.Strength, error) {
	n, _, err := m.in(Strength)
	return quantity.Strength(n), err
}

// PH reads the measure as a pH.
func (m *Measure) PH() (quantity.PH, error) {
	n, _, err := m.in(Acidity)
	return quantity.PH(n), err
}

// Gravity reads a density in any of its scales as specific gravity 20/20. Brix and
// Plato are taken for sucrose in water; of must degrees after Klosterneuburg
// °Oe = KMW·(4.54 + 0.022·KMW), from memory, widely used.
func (m *Measure) Gravity() (strength.SpecificGravity, error) {
	n, _, err := m.in(Gravity)
	if err != nil {
		return 0, err
	}
	u, _ := LookupUnit(m.Unit)
	switch u.Sign {
	case "°Brix", "°P":
		return strength.Brix(n).SG()
	case "°Oe":
		return strength.Oechsle(n).SG(), nil
	case "°Bé":
		return strength.Baume(n).SG(), nil
	case "kg/m³":
		return strength.SpecificGravityOf(quantity.Density(n)), nil
	case "g/cm³":
		return strength.SpecificGravityOf(quantity.Density(n * 1000)), nil
	case "°KMW":
		return strength.Oechsle(n * (4.54 + 0.022*n)).SG(), nil
	}
	return strength.SpecificGravity(n), nil
}

// MustBrix reads a must's density in any scale as the Brix that a refractometer shows:
// Brix and Plato as they stand, else by the table of OIV-MA-AS2-02.
func (m *Measure) MustBrix() (strength.Brix, error) {
	sg, err := m.Gravity()
	if err != nil {
		return 0, err
	}
	if u, _ := LookupUnit(m.Unit); u.Sign == "°Brix" || u.Sign == "°P" {
		n, _, err := m.in(Gravity)
		return strength.Brix(n), err
	}
	return strength.MustBrix(sg)
}

// Seconds reads the measure as a span of time; the number is dimensionless only
// in the sense that time.Duration could not hold "7200 s, none seen" with its bound.
func (m *Measure) Seconds() (float64, error) {
	n, _, err := m.in(Duration)
	return n, err
}

// Fraction reads a percentage or a pure ratio as a fraction: "97 %" is 0.97.
func (m *Measure) Fraction() (float64, error) {
	n, _, err := m.in(Ratio)
	return n, err
}

// ParseNumber reads a numeral as people write it: "3.50", "3,50" (a comma is a
// decimal comma), "-1.2", "1 1/2", "½", "1e-3". A comma that stands before
// exactly three digits, as in "1,092", can be read two ways and is refused
// unless the number starts with a zero ("0,750"). The result is finite.
func ParseNumber(text string) (float64, error) {
	s := strings.TrimSpace(text)
	s = strings.Replace(s, "\u2212", "-", 1) // minus sign
	bad := func(why string) (float64, error) {
		return 0, fmt.Errorf("%q is not a number%s: allowed is 3.50, 3,50 or 1 1/2", text, why)
	}
	if s == "" || len(s) > 32 {
		return bad("")
	}
	if n, ok, err := parseFraction(s); ok || err != nil {
		if err != nil {
			return bad(" (" + err.Error() + ")")
		}
		return n, nil
	}
	if i := strings.IndexByte(s, ','); i >= 0 {
		if strings.ContainsAny(s[i+1:], ",.") || strings.Contains(s[:i], ".") {
			return bad(" (one point or comma, no separators of thousands)")
		}
		whole := strings.TrimLeft(s[:i], "+-")
		if len(s)-i-1 == 3 && whole != "" && whole[0] != '0' && len(whole) <= 3 {
			return 0, fmt.Errorf("%q can be read as %s or as %s: write it with a point or without the comma",
				text, s[:i]+"."+s[i+1:], s[:i]+s[i+1:])
		}
		s = s[:i] + "." + s[i+1:]
	}
	for i, c := range []byte(s) {
		switch {
		case c >= '0' && c <= '9', c == '.':
		case (c == '-' || c == '+') && (i == 0 || s[i-1] == 'e' || s[i-1] == 'E'):
		case (c == 'e' || c == 'E') && i > 0:
		default:
			return bad("")
		}
	}
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(n, 0) || math.IsNaN(n) || math.Abs(n) > 1e15 {
		return bad("")
	}
	return n, nil
}

var vulgar = map[rune]float64{'½': 1. / 2, '¼': 1. / 4, '¾': 3. / 4, '⅓': 1. / 3, '⅔': 2. / 3, '⅛': 1. / 8, '⅜': 3. / 8, '⅝': 5. / 8, '⅞': 7. / 8}

// parseFraction reads "1/2", "1 1/2", "½" and "1½"; ok is false if s is none of these.
func parseFraction(s string) (n float64, ok bool, err error) {
	whole, part := "", s
	if r := []rune(s); vulgar[r[len(r)-1]] != 0 {
		whole, n = strings.TrimSpace(string(r[:len(r)-1])), vulgar[r[len(r)-1]]
	} else if i := strings.IndexByte(s, '/'); i >= 0 {
		if j := strings.IndexAny(s[:i], " \u00a0"); j >= 0 {
			whole, part = s[:j], strings.TrimLeft(s[j:], " \u00a0")
		}
		num, den, _ := strings.Cut(part, "/")
		a, errA := strconv.ParseUint(num, 10, 16)
		b, errB := strconv.ParseUint(den, 10, 16)
		if errA != nil || errB != nil || b == 0 {
			return 0, false, errors.New("a fraction is two whole numbers")
		}
		n = float64(a) / float64(b)
	} else {
		return 0, false, nil
	}
	if whole == "" {
		return n, true, nil
	}
	w, err := strconv.ParseUint(whole, 10, 32)
	if err != nil {
		return 0, false, errors.New("before a fraction stands a whole number")
	}
	return float64(w) + n, true, nil
}
