package recall

import (
	"fmt"
	"time"

	"elevage/internal/cellar"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// The United States' federal allowance for wine made at home, untaxed and not for sale:
// in a calendar year 200 gallons for a household of two or more adults, 100 for one of
// a single adult (27 CFR 24.75). A gallon is 231 cubic inches, 3.785411784 L exactly.
const (
	gallon    = 3.785411784 * quantity.Litre
	ofOne     = 100 * gallon
	ofTwo     = 200 * gallon
	allowance = "27 CFR 24.75: 200 US gallons in a calendar year for a household of two or more adults, 100 for a single one"
)

// Making is the wine of one calendar year.
type Making struct {
	Year   int
	Lots   []MadeOf
	Litres quantity.Volume
	Says   []string
	Source cited.Source
}

// A MadeOf is what one lot came to.
type MadeOf struct {
	Lot    *cellar.Lot
	Litres quantity.Volume
	How    string // "pressed", "juice taken in", "must on its skins", "filled in"
}

// Made is the wine that the record shows was made in a calendar year of a zone: what
// was pressed, juice and must that were not pressed, and what was filled in of lots
// that came as wine; each lot in the year in which it began. Litres are those of that
// day, before losses.
func Made(s *cellar.State, year int, zone *time.Location) Making {
	m := Making{Year: year, Source: cited.Source{Text: allowance, Mark: cited.Read}}
	for _, l := range s.Lots.All() {
		if litres, how := begun(s, l, year, zone); litres > 0 {
			m.Lots = append(m.Lots, MadeOf{l, litres, how})
			m.Litres += litres
		}
	}
	say := func(format string, args ...any) { m.Says = append(m.Says, fmt.Sprintf(format, args...)) }
	us := float64(m.Litres / gallon)
	say("%d: %.0f L by this record, %.0f US gallons.", year, m.Litres.Litres(), us)
	switch {
	case m.Litres <= ofOne:
		say("Within the United States' federal allowance for one adult (100 gallons, %.0f L): %.0f gallons are left of it, %.0f of that for two or more.", ofOne.Litres(), 100-us, 200-us)
	case m.Litres <= ofTwo:
		say("More than the federal allowance for a household of one adult by %.0f gallons; within that for two or more (200 gallons, %.0f L), of which %.0f are left.", us-100, ofTwo.Litres(), 200-us)
	default:
		say("More than the United States' federal allowance for any household (200 gallons, %.0f L) by %.0f gallons.", ofTwo.Litres(), us-200)
	}
	say("The allowance is the household's: wine made in it that is not in this record counts too. States and other countries have their own rules, and the authority's text decides.")
	return m
}

// begun is how much of a lot was made in a year, zero if it began in another. What is
// pressed replaces what it was pressed from.
func begun(s *cellar.State, l *cellar.Lot, year int, zone *time.Location) (quantity.Volume, string) {
	var pressed, juice, must, filled quantity.Volume
	var first time.Time
	for _, p := range l.Parcels {
		r := s.Record(p.Start)
		if r == nil || !r.Counts() {
			continue
		}
		if first.IsZero() || r.At.Before(first) {
			first = r.At
		}
		v := quantity.Volume(0)
		if len(p.Levels) > 0 {
			v = p.Levels[0].Volume
		}
		switch b := r.Body.(type) {
		case cellar.Press:
			pressed += v
		case cellar.Crush:
			if b.Juice {
				juice += v
			} else {
				must += v
			}
		case cellar.Movement:
			if len(b.From) == 0 { // from outside
				filled += v
			}
		}
	}
	if first.IsZero() || first.In(zone).Year() != year {
		return 0, ""
	}
	switch {
	case pressed > 0:
		return pressed + juice + filled, "pressed"
	case juice > 0:
		return juice + filled, "juice taken in"
	case must > 0:
		return must + filled, "must on its skins, before pressing"
	}
	return filled, "filled in"
}
