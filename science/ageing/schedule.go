package ageing

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A Step of ageing: what is due when, and what it is for. The spans are those of
// the trade, not laws; a wine is racked, stirred or taken off wood for a reason.
type Step struct {
	What   string        `json:"what"`
	From   quantity.Days `json:"from"` // days from the end of malolactic, or of the step named in After
	To     quantity.Days `json:"to"`
	After  string        `json:"after"`
	For    string        `json:"for"`
	Source cited.Source  `json:"source"`
}

func practice(text string) cited.Source {
	return cited.Source{Text: text, Mark: cited.CommonPractice}
}

// Rackings is the usual row of a red from press to bottling, each with its span in
// days after the step that After names and what it is for. Common practice, no
// source; at the third the first sulfur dioxide goes in.
func Rackings() []Step {
	cp := practice("rackings of a red")
	return []Step{
		{"rack off gross lees", 1, 2, "press", "gross lees smell within weeks", cp},
		{"rack when dry", 0, 7, "dryness", "leave heavy lees, take fine lees along for the bacteria", cp},
		{"rack with the first SO2", 5, 10, "malolactic", "off the dead bacteria; SO2 mixes in", cp},
		{"rack after the cold", 90, 120, "first SO2", "tartrate and colour have fallen", cp},
		{"rack by taste", 120, 180, "last racking", "none without a reason: each costs 1–3 % of the wine and some oxygen", cp},
	}
}

// Lees is the care of fine lees: when to smell and when to stir them, in days after
// the last time. Common practice, no source, but for what lees do to free SO2
// (Waterhouse, Sacks, Jeffery 2016).
func Lees() []Step {
	return []Step{
		{"smell the lees, not the wine", 0, 30, "last look", "they go before the wine does", practice("lees")},
		{"stir fine lees", 25, 35, "last stirring", "body; lees take up oxygen, and free SO2 falls faster with them (Waterhouse et al. 2016)", practice("monthly, for texture")},
	}
}

// A Wood is a form of oak and its usual stay.
type Wood struct {
	Form   string                                    `json:"form"`
	Dose   quantity.Interval[quantity.Concentration] `json:"dose"` // Q05 and Q95 are the usual range
	From   quantity.Days                             `json:"from"`
	To     quantity.Days                             `json:"to"`
	For    string                                    `json:"for"`
	Source cited.Source                              `json:"source"`
}

// Oak lists pieces (g/L) and barrels with their usual stay in days. A dose of 0 means
// that it is not dosed by weight. Wood can be added and not taken out: taste weekly,
// stop at four fifths, blend a part. All from memory, unverified.
func Oak() []Wood {
	m := cited.Source{Text: "usual doses and stays", Mark: cited.Memory}
	g := func(lo, hi quantity.Concentration) quantity.Interval[quantity.Concentration] {
		return quantity.Interval[quantity.Concentration]{Q05: lo, Q50: (lo + hi) / 2, Q95: hi}
	}
	return []Wood{
		{"chips", g(1, 4), 14, 56, "fast and plain; bench trial at 0, half, full and double", m},
		{"cubes", g(1.5, 4), 60, 120, "slower, rounder", m},
		{"staves, by area", g(0, 0), 120, 365, "slowest", m},
		{"barrel 225 L, red", g(0, 0), 240, 600, "wood and a little oxygen", m},
		{"barrel 225 L, white", g(0, 0), 120, 300, "wood and lees", m},
	}
}

// BarrelStay scales the usual stay of 225 L to another size by surface per volume,
// (V/225)^(1/3): a 30 L barrel gives as much in half the time. A judgement of this
// project. Allowed is 1 to 1000 L.
func BarrelStay(usual quantity.Days, size quantity.Volume) (quantity.Days, error) {
	if err := quantity.Check("size of the barrel", size.Litres(), "L", 1, 1000); err != nil {
		return 0, err
	}
	return usual * quantity.Days(math.Cbrt(size.Litres()/225)), nil
}
