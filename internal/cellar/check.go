package cellar

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"elevage/internal/fault"
)

// A checker gathers what is wrong with an entry, field by field.
type checker struct {
	fields []fault.Field
}

func (c *checker) bad(name, given, allowed string) {
	c.fields = append(c.fields, fault.Field{Name: name, Given: clip(given, 200), Allowed: allowed})
}

// maxSlug is short enough to be chalked on a barrel.
const maxSlug = 40

// SlugOK says whether a text may be the short name of a vessel, lot or
// instrument: letters, digits and hyphens, a letter first, at most 40 bytes.
func SlugOK(s string) bool {
	if s == "" || len(s) > maxSlug {
		return false
	}
	for i, r := range s {
		switch {
		case unicode.IsLetter(r) && unicode.ToLower(r) == r:
		case i > 0 && (unicode.IsDigit(r) || r == '-' || unicode.IsMark(r)):
		default:
			return false
		}
	}
	return utf8.ValidString(s) && !strings.HasSuffix(s, "-")
}

// Slug makes a short name out of a longer one: "Merlot, hill 2026" → "merlot-hill-2026".
// It is empty when nothing usable is left.
func Slug(name string) string {
	var b strings.Builder
	hyphen := false
	for _, r := range strings.ToLower(name) {
		switch {
		case unicode.IsLetter(r) || b.Len() > 0 && (unicode.IsDigit(r) || unicode.IsMark(r)):
			if hyphen && b.Len() > 0 {
				b.WriteByte('-')
			}
			b.WriteRune(r)
			hyphen = false
		case b.Len() > 0:
			hyphen = true
		}
		if b.Len() > maxSlug {
			break
		}
	}
	s := b.String()
	for len(s) > maxSlug || s != "" && !utf8.ValidString(s) {
		s = s[:len(s)-1]
	}
	s = strings.TrimRight(s, "-")
	if !SlugOK(s) {
		return ""
	}
	return s
}

const slugAllowed = "a short name such as b2 or merlot-26: lower-case letters, digits and hyphens, a letter first"

func (c *checker) slug(name, given string, required bool) {
	if given == "" && !required || SlugOK(given) {
		return
	}
	c.bad(name, given, slugAllowed)
}

func (c *checker) text(name, given string, limit int) {
	switch {
	case len(given) > limit:
		c.bad(name, given, fmt.Sprintf("at most %d bytes", limit))
	case !utf8.ValidString(given) || strings.ContainsRune(given, 0):
		c.bad(name, given, "text in UTF-8")
	}
}

func (c *checker) required(name, given string, limit int, allowed string) {
	if strings.TrimSpace(given) == "" {
		c.bad(name, given, allowed)
		return
	}
	c.text(name, given, limit)
}

// oneOf checks a word of a closed list; empty is taken unless required.
func (c *checker) oneOf(name, given string, required bool, allowed ...string) {
	if given == "" && !required || slices.Contains(allowed, given) {
		return
	}
	c.bad(name, given, strings.Join(allowed, ", "))
}

// measure checks a measure's numeral, bound, spread and that its unit is of one of the dimensions.
func (c *checker) measure(name string, m *Measure, required bool, allowed ...Dimension) {
	if m.IsZero() {
		if required {
			c.bad(name, "", "a "+dimensions(allowed)+" with its unit")
		}
		return
	}
	if len(m.Value) > 40 || len(m.Unit) > 20 || len(m.Spread) > 40 {
		c.bad(name, clip(m.String(), 60), "a short numeral and a unit")
		return
	}
	u, ok := LookupUnit(m.Unit)
	if !ok || !slices.Contains(allowed, u.Dimension) {
		if !(m.Unit == "" && slices.Contains(allowed, Acidity)) {
			var all []string
			for _, d := range allowed {
				all = append(all, UnitsOf(d)...)
			}
			c.bad(name, m.String(), "a unit out of "+strings.Join(all, ", "))
			return
		}
	}
	if _, err := m.Number(); err != nil {
		c.bad(name, m.String(), "a number such as 3.50")
	}
	if m.Spread != "" {
		if s, err := ParseNumber(m.Spread); err != nil || s < 0 {
			c.bad(name+" ±", m.Spread, "a number of 0 or more")
		}
	}
}

// amount is a measure that cannot be negative and has no bound.
func (c *checker) amount(name string, m *Measure, required bool, allowed ...Dimension) {
	before := len(c.fields)
	c.measure(name, m, required, allowed...)
	if len(c.fields) > before || m.IsZero() {
		return
	}
	if n, err := m.Number(); err != nil || n < 0 || m.Bound() != "" {
		c.bad(name, m.String(), "0 or more")
	}
}

// temperature is a measure of one, in °C from lo to hi.
func (c *checker) temperature(name string, m *Measure, required bool, lo, hi float64) {
	before := len(c.fields)
	c.measure(name, m, required, Temperature)
	if len(c.fields) > before || m.IsZero() {
		return
	}
	if t, err := m.Temperature(); err == nil && !(t.Celsius() >= lo && t.Celsius() <= hi) {
		c.bad(name, m.String(), fmt.Sprintf("%g to %g °C (%g to %g °F)", lo, hi, 32+1.8*lo, 32+1.8*hi))
	}
}

// Temperatures that are taken, °C. Must and wine are ice below the least that is read
// and steam above the most; nothing is held in a cellar, or chilled, outside of what is
// said for those. Wine of 12 % vol begins to freeze near −5 °C; hot must is held at 60
// to 75 °C (both from memory, unverified).
const (
	readFrom, readTo   = -20, 100
	heldFrom, heldTo   = -10, 80
	chillFrom, chillTo = -10, 40
)

// moment checks a moment that is kept as text inside a body.
func (c *checker) moment(name, given string) {
	if given == "" {
		return
	}
	if _, err := ParseMoment(given); err != nil {
		c.bad(name, given, "2026-11-03T19:30+01:00, or 2026-11-03+01:00 for a day")
	}
}

func dimensions(ds []Dimension) string {
	words := make([]string, len(ds))
	for i, d := range ds {
		words[i] = d.String()
	}
	return strings.Join(words, " or ")
}
