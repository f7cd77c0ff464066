package ui

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// plainly turns the no-break spaces into spaces, for reading.
func plainly(s string) string { return strings.ReplaceAll(s, nbsp, " ") }

func TestSpread(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		source        string
		value, spread float64
		unit, want    string
	}{
		// Particle Data Group, Review of Particle Physics, Phys. Rev. D 98, 030001 (2018), Introduction, section 5.3: the rule as
		// quoted (read); its own two worked examples are from memory.
		{"PDG", 0.827, 0.119, "", "0.83 ± 0.12"},
		{"PDG", 0.827, 0.367, "", "0.8 ± 0.4"},
		// The third branch of the same rule: 950 to 999 count as 1000 and keep two digits.
		{"PDG rule", 14.674, 0.964, "", "14.7 ± 1.0"},
		// Worked examples of the same rule in the documentation of another program for it, pdground 0.1.4 (read).
		{"pdground", 12.2135, 0.03215, "", "12.214 ± 0.032"},
		{"pdground", 12.2135, 0.06515, "", "12.21 ± 0.07"},
		// JCGM 100:2008 (GUM), 7.2.6: y = 10.057 62 Ω with u = 27 mΩ is given as 10.058 Ω (read, as quoted).
		{"GUM 7.2.6", 10.05762, 0.027, "Ω", "10.058 ± 0.027 Ω"},
		// The house's own: no more decimals than the unit is worth.
		{"house", 3.4837, 0.0214, "pH", "3.48 ± 0.02"},
		{"house", 3.4837, 0.0031, "pH", "3.484 ± 0.003"},
		{"house", 18.31, 4.2, "mg/L", "18 ± 4 mg/L"},
		{"house", 1234, 367, "", "1200 ± 400"},
		{"house", 1234, 120, "", "1230 ± 120"},
		{"house", 0.6132, 0.104, "g/L", "0.61 ± 0.10 g/L"},
		{"house", -0.004, 0.02, "g/L", "0.00 ± 0.02 g/L"},
		{"house", -1.25, 0.2, "°C", "−1.3 ± 0.2 °C"},
		{"house", 1.09231, 0.0004, "SG", "1.0923 ± 0.0004"},
		{"house", 13.06, 0.3, "% vol", "13.1 ± 0.3 % vol"},
		{"house", 5, 0, "US gal", "5.00 US gal"},
		{"house", 54, math.NaN(), "L", "54.0 L"},
		{"house", 54, math.Inf(1), "L", "54.0 L"},
		{"house", 54, -2, "L", "54.0 L"},
		{"house", 0.0123456, 0, "", "0.0123"},
		{"house", math.NaN(), 0.1, "g/L", "– g/L"},
		{"house", math.Inf(-1), 0.1, "", "–"},
	} {
		if got := plainly(Spread(c.value, c.spread, c.unit)); got != c.want {
			t.Errorf("%s: %g ± %g %s: %q, want %q", c.source, c.value, c.spread, c.unit, got, c.want)
		}
	}
}

// TestRoundedIsNear: what is shown differs from what is known by less than the
// spread, and the spread shown is within a fifth and a bit of the true one.
func TestRoundedIsNear(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Float64Range(-1e4, 1e4).Draw(t, "value")
		spread := math.Pow(10, rapid.Float64Range(-4, 3).Draw(t, "log spread"))
		places, r := pdg(spread)
		if math.Abs(r-spread) > 0.16*spread {
			t.Fatalf("spread %g is shown as %g", spread, r)
		}
		if d := math.Abs(roundTo(value, places) - value); d > 0.51*spread {
			t.Fatalf("%g is shown as %g, %g away with a spread of %g", value, roundTo(value, places), d, spread)
		}
		v, s := Rounded(value, spread, "")
		if dec := func(x string) int { _, d, _ := strings.Cut(x, "."); return len(d) }; dec(v) != dec(s) {
			t.Fatalf("%q ± %q: not to the same place", v, s)
		}
	})
}

func TestBetween(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		lo, hi float64
		unit   string
		want   string
	}{
		{0.42, 0.83, "g/L", "0.42–0.83 g/L"},
		{0.83, 0.42, "g/L", "0.42–0.83 g/L"},
		{0.001, 2.35, "g/L", "0.0–2.4 g/L"},
		{12, 31, "mg/L", "12–31 mg/L"},
		{3.44, 3.44, "pH", "3.44"},
		{math.NaN(), 1, "pH", "–"},
		{0, math.Inf(1), "pH", "–"},
	} {
		if got := plainly(Between(c.lo, c.hi, c.unit)); got != c.want {
			t.Errorf("%g to %g %s: %q, want %q", c.lo, c.hi, c.unit, got, c.want)
		}
	}
}

func TestChanceNeverSaysCertain(t *testing.T) {
	t.Parallel()
	for p, want := range map[float64]string{0: "under 1 %", 0.0049: "under 1 %", 0.62: "62 %", 0.99: "99 %", 0.995: "over 99 %", 1: "over 99 %", 1.01: "–", -0.1: "–"} {
		if got := plainly(Chance(p)); got != want {
			t.Errorf("%g: %q, want %q", p, got, want)
		}
	}
}

func TestFigure(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		f                     Figure
		number, spread, units string
	}{
		"spread":   {Figure{Value: 3.4837, Spread: 0.0214, Unit: "pH"}, "3.48", "± 0.02", ""},
		"interval": {Figure{Value: 0.613, Low: 0.42, High: 0.83, Unit: "g/L"}, "0.61", "0.42–0.83", "g/L"},
		"written":  {Figure{Value: 3.5, Text: "3.50", Spread: 0.02, Unit: "pH"}, "3.50", "", ""},
		"words":    {Figure{Text: "can't tell"}, "can't tell", "", ""},
		"bare":     {Figure{Value: 54, Unit: "L"}, "54.0", "", "L"},
	} {
		if n, s, u := c.f.Number(), plainly(c.f.PlusMinus()), c.f.UnitShown(); n != c.number || s != c.spread || u != c.units {
			t.Errorf("%s: %q %q %q, want %q %q %q", name, n, s, u, c.number, c.spread, c.units)
		}
	}
}
