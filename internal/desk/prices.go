package desk

import (
	"slices"
	"strconv"

	"elevage/internal/cellar"
	"elevage/internal/track"
)

// pricedTests are the tests that a person can price, as the belief calls them.
var pricedTests = map[string]track.What{cellar.ReadChromatogram: track.Chromatogram, cellar.ReadMalic: track.Malic, cellar.ReadTA: track.TA,
	cellar.ReadPH: track.PH, cellar.PHBesideControl: track.PHControl}

// Prices are the figures by which the next test and "finished" are judged: the person's
// own where they were written down, else those that the program proposes.
type Prices struct {
	Money string       `json:"money,omitempty" doc:"what the figures are in, in the person's words"`
	Tests []track.Test `json:"tests" doc:"those that can be made; making none is always possible"`
	track.Costs
	Proposed bool `json:"proposed" doc:"nothing was written down: all figures are the program's own proposal"`
}

// PricesOf are the prices as they stand in a cellar.
func PricesOf(s *cellar.State) Prices {
	own, written := s.Prices()
	if !written {
		return Proposed()
	}
	return Priced(own)
}

// Proposed are the prices that the program proposes.
func Proposed() Prices {
	return Prices{Tests: track.DefaultTests(), Costs: track.DefaultCosts(), Proposed: true}
}

// Priced are a person's own prices; what they leave out is as proposed.
func Priced(own cellar.Prices) Prices {
	p := Proposed()
	p.Money, p.Proposed = own.Money, false
	for _, t := range own.Tests {
		i := slices.IndexFunc(p.Tests, func(one track.Test) bool { return one.What == pricedTests[t.What] })
		switch {
		case i < 0:
		case t.Cannot:
			p.Tests = slices.Delete(p.Tests, i, i+1)
		default:
			set(&p.Tests[i].Cost, t.Cost)
			set(&p.Tests[i].Minutes, t.Minutes)
		}
	}
	set(&p.FalseFinished, own.FalseFinished)
	set(&p.UnprotectedDay, own.UnprotectedDay)
	set(&p.LostDay, own.LostDay)
	set(&p.Minute, own.Minute)
	return p
}

// set takes a figure that was given.
func set(to *float64, given string) {
	if v, err := cellar.ParseNumber(given); err == nil {
		*to = v
	}
}

// Options are the tests and costs as a belief about a conversion takes them.
func (p Prices) Options() ([]track.Test, *track.Costs) {
	if p.Proposed { // the belief takes the same by itself
		return nil, nil
	}
	return p.Tests, &p.Costs
}

// Price is a test as the prices have it, false for one that cannot be made.
func (p Prices) Price(what string) (track.Test, bool) {
	i := slices.IndexFunc(p.Tests, func(t track.Test) bool { return t.What == pricedTests[what] })
	if i < 0 {
		return track.Test{}, false
	}
	return p.Tests[i], true
}

// Figure writes a price as a person would type it.
func Figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
