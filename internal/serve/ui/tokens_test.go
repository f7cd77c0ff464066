package ui

import (
	"math"
	"strconv"
	"testing"
)

// luminance and contrast are those of WCAG 2.2 (W3C Recommendation, definitions
// "relative luminance" and "contrast ratio").
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	channel := func(s string) float64 {
		n, err := strconv.ParseUint(s, 16, 8)
		if err != nil {
			t.Fatalf("colour %q: %v", hex, err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	if len(hex) != 7 || hex[0] != '#' {
		t.Fatalf("colour %q is not #rrggbb", hex)
	}
	return 0.2126*channel(hex[1:3]) + 0.7152*channel(hex[3:5]) + 0.0722*channel(hex[5:7])
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// TestContrastFormula: black on white is 21:1 by definition; #767676 on white is
// the grey commonly quoted as the lightest to pass 4.5:1, and #777777 fails it.
func TestContrastFormula(t *testing.T) {
	t.Parallel()
	if c := contrast(t, "#000000", "#ffffff"); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white: %g", c)
	}
	if c := contrast(t, "#767676", "#ffffff"); c < 4.5 {
		t.Errorf("#767676 on white: %g", c)
	}
	if c := contrast(t, "#777777", "#ffffff"); c >= 4.5 {
		t.Errorf("#777777 on white: %g", c)
	}
}

// TestContrast holds both themes to WCAG 2.2 AA: text 4.5:1 (1.4.3), the edges of
// fields and ticks, focus and marks 3:1 (1.4.11). The main inks are held to AAA, 7:1:
// the light in a cellar is poor.
func TestContrast(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		over, under string
		least       float64
	}{
		{"ink", "ground", 7}, {"ink", "sunk", 7}, {"ink-1", "ground", 7}, {"ink-1", "sunk", 7},
		{"ink-2", "ground", 4.5}, {"ink-2", "sunk", 4.5}, {"ink-3", "ground", 4.5}, {"ink-3", "sunk", 4.5},
		{"accent", "ground", 4.5}, {"accent", "sunk", 4.5}, {"on-accent", "accent-ground", 4.5},
		{"edge", "ground", 3}, {"edge", "sunk", 3},
	} {
		for _, th := range []Theme{Slate, Paper} {
			got := contrast(t, colour(c.over, th), colour(c.under, th))
			t.Logf("%s: %s on %s %.1f", th, c.over, c.under, got)
			if got < c.least {
				t.Errorf("%s: %s on %s has %.2f:1, wants %.1f", th, c.over, c.under, got, c.least)
			}
		}
	}
}

// TestFadingIsVisible: each step of age is weaker than the one before, in both themes.
func TestFadingIsVisible(t *testing.T) {
	t.Parallel()
	for _, th := range []Theme{Slate, Paper} {
		last := math.Inf(1)
		for _, name := range []string{"ink", "ink-1", "ink-2", "ink-3"} {
			c := contrast(t, colour(name, th), colour("ground", th))
			if c > last/1.1 {
				t.Errorf("%s: %s has %.2f:1, hardly less than the %.2f:1 before", th, name, c, last)
			}
			last = c
		}
	}
}
