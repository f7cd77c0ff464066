package cellar

import (
	"fmt"
	"strings"
)

// ParseMeasure reads a figure with its unit as people type it: "12 g", "66F",
// "3,47", "6 gal", "<0.1 g/L". A bare number takes the unit given. The numeral
// stays as it was typed.
func ParseMeasure(text, unit string) (*Measure, error) {
	s := strings.TrimSpace(text)
	bound := ""
	if strings.HasPrefix(s, "<") || strings.HasPrefix(s, ">") {
		bound, s = s[:1], strings.TrimSpace(s[1:])
	}
	// The longest beginning that is a numeral is the value: "1 1/2 gal" is one and a half.
	for end := len(s); end > 0; end-- {
		value := strings.TrimSpace(s[:end])
		if value == "" || len(value) != len(strings.TrimRight(s[:end], " \t\u00a0")) {
			continue
		}
		if _, err := ParseNumber(value); err != nil {
			continue
		}
		sign := strings.TrimSpace(s[end:])
		if sign == "" {
			return &Measure{Value: bound + value, Unit: unit}, nil
		}
		u, ok := LookupUnit(sign)
		if !ok {
			return nil, fmt.Errorf("%q is not a unit that is known here", sign)
		}
		return &Measure{Value: bound + value, Unit: u.Sign}, nil
	}
	_, err := ParseNumber(s)
	if err == nil {
		err = fmt.Errorf("%q is not a number", text)
	}
	return nil, err
}
