package sulfite

import (
	"fmt"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A Place is where a wine is to be lawful.
type Place string

// Places with limits in the table.
const (
	EU        Place = "European Union"
	EUOrganic Place = "European Union, organic"
	US        Place = "United States"
	Canada    Place = "Canada"
	Australia Place = "Australia"
	OIVLimits Place = "OIV recommendation"
	UKScheme  Place = "United Kingdom, quality scheme"
)

// Colour is as the limits divide wines.
type Colour uint8

// Red, or white and rosé.
const (
	Red Colour = iota + 1
	WhiteOrRose
)

// Measure is what a limit counts.
type Measure string

// The measures.
const (
	Total Measure = "total SO2"
	Free  Measure = "free SO2"
	Held  Measure = "combined SO2"
)

// A Limit is a most that a place allows in finished wine, with the edition of the
// text. Laws change: show the edition, and let the authority decide.
type Limit struct {
	Place     Place
	For       string // in words
	Measure   Measure
	Max       quantity.Concentration
	Colours   []Colour               // nil for all
	SugarFrom quantity.Concentration // glucose and fructose at or above this ...
	SugarTo   quantity.Concentration // ... and below this; 0 for no end
	Edition   string
	Source    cited.Source
}

var (
	reg934  = "Reg. (EU) 2019/934 annex I part B "
	organic = "Reg. (EU) 203/2012 annex"
	oeno998 = "resolution OENO 9/98"
	reds    = []Colour{Red}
	whites  = []Colour{WhiteOrRose}
)

const mg = quantity.MilligramPerLitre

// Limits of SO2. Special wines with higher limits (listed sweet wines of the
// European Union: 300, and 350 and 400 from memory) are not decided here.
var Limits = []Limit{
	{EU, "red, glucose + fructose under 5 g/L", Total, 150 * mg, reds, 0, 5, "2019", cited.Source{Text: reg934 + "A.1(a)", Mark: cited.Read}},
	{EU, "white and rosé, under 5 g/L", Total, 200 * mg, whites, 0, 5, "2019", cited.Source{Text: reg934 + "A.1(b)", Mark: cited.Read}},
	{EU, "red, 5 g/L or more", Total, 200 * mg, reds, 5, 0, "2019", cited.Source{Text: reg934 + "A.2(a)", Mark: cited.Read}},
	{EU, "white and rosé, 5 g/L or more", Total, 250 * mg, whites, 5, 0, "2019", cited.Source{Text: reg934 + "A.2(b)", Mark: cited.Read}},
	{EUOrganic, "red, sugar under 2 g/L", Total, 100 * mg, reds, 0, 2, "2012", cited.Source{Text: organic, Mark: cited.Read}},
	{EUOrganic, "white and rosé, sugar under 2 g/L", Total, 150 * mg, whites, 0, 2, "2012", cited.Source{Text: organic, Mark: cited.Read}},
	{EUOrganic, "red, 2 to 5 g/L: 30 below the general limit", Total, 120 * mg, reds, 2, 5, "2012", cited.Source{Text: organic + ", 150 − 30", Mark: cited.Computed}},
	{EUOrganic, "white and rosé, 2 to 5 g/L: 30 below the general limit", Total, 170 * mg, whites, 2, 5, "2012", cited.Source{Text: organic + ", 200 − 30", Mark: cited.Computed}},
	{EUOrganic, "red, 5 g/L or more: 30 below the general limit", Total, 170 * mg, reds, 5, 0, "2012", cited.Source{Text: organic + ", 200 − 30", Mark: cited.Computed}},
	{EUOrganic, "white and rosé, 5 g/L or more: 30 below the general limit", Total, 220 * mg, whites, 5, 0, "2012", cited.Source{Text: organic + ", 250 − 30", Mark: cited.Computed}},
	{US, "grape wine", Total, 350 * mg, nil, 0, 0, "2004", cited.Source{Text: "27 CFR 4.22(b)(1), 2004 edition; 24.246 refers to it", Mark: cited.Read}},
	{Canada, "wine", Free, 70 * mg, nil, 0, 0, "current to November 2019", cited.Source{Text: "C.R.C., c. 870, B.02.100(b)(vii)(A)", Mark: cited.Read}},
	{Canada, "wine", Held, 350 * mg, nil, 0, 0, "current to November 2019", cited.Source{Text: "C.R.C., c. 870, B.02.100(b)(vii)(B)", Mark: cited.Read}},
	{Australia, "under 35 g/L sugar", Total, 250 * mg, nil, 0, 35, "Standard 4.5.1, undated", cited.Source{Text: "Wine Australia, Know your sulphite limits", Mark: cited.SecondHand}},
	{Australia, "35 g/L sugar or more", Total, 300 * mg, nil, 35, 0, "Standard 4.5.1, undated", cited.Source{Text: "Wine Australia, Know your sulphite limits", Mark: cited.SecondHand}},
	{OIVLimits, "red, reducing substances at most 4 g/L", Total, 150 * mg, reds, 0, 4 + 1e-9, "1998", cited.Source{Text: oeno998, Mark: cited.Read}},
	{OIVLimits, "white and rosé, reducing substances at most 4 g/L", Total, 200 * mg, whites, 0, 4 + 1e-9, "1998", cited.Source{Text: oeno998, Mark: cited.Read}},
	{OIVLimits, "more than 4 g/L", Total, 300 * mg, nil, 4 + 1e-9, 0, "1998", cited.Source{Text: oeno998 + "; certain special sweet white wines 400", Mark: cited.Read}},
	{UKScheme, "dry", Free, 45 * mg, nil, 0, 4, "2011", cited.Source{Text: "UK SI 2011/2936 sched. 2 para 3; 4 g/L taken as the end of dry", Mark: cited.Read}},
	{UKScheme, "other", Free, 60 * mg, nil, 4, 0, "2011", cited.Source{Text: "UK SI 2011/2936 sched. 2 para 3", Mark: cited.Read}},
}

// Declarations are the total SO2 from which a label must say so.
var Declarations = []Limit{
	{US, "label states that the wine contains sulfites", Total, 10 * mg, nil, 0, 0, "2015", cited.Source{Text: "27 CFR 4.32(e)", Mark: cited.Read}},
	{EU, "label states sulfites, above this", Total, 10 * mg, nil, 0, 0, "2011", cited.Source{Text: "Reg. (EU) 1169/2011 annex II", Mark: cited.Memory}},
	{Australia, "label states added sulfites", Total, 10 * mg, nil, 0, 0, "undated", cited.Source{Text: "food standards code, 10 mg/kg added", Mark: cited.Memory}},
}

// A Finished wine as the law looks at it.
type Finished struct {
	Colour Colour
	Sugar  quantity.Concentration // glucose and fructose
	Total  quantity.Concentration
	Free   quantity.Concentration // 0 counts as not measured, unless FreeIsNil
	// FreeIsNil says that free SO2 was measured and found to be nil. Where it was not
	// measured, a limit on free or combined SO2 is decided by the total if that is
	// low enough, and else left open.
	FreeIsNil bool
}

// A Verdict holds one limit against one wine.
type Verdict struct {
	Limit Limit
	Found quantity.Concentration
	Over  bool
	Open  bool // cannot be told without free SO2; Found is then the total
}

// String reads "over: total SO2 151 mg/L, allowed 150 (European Union, red, ...)".
func (v Verdict) String() string {
	word := "within"
	switch {
	case v.Open:
		word = "open, free SO2 was not measured"
	case v.Over:
		word = "over"
	}
	return fmt.Sprintf("%s: %s %.4g mg/L, allowed %.4g (%s, %s; %s, edition %s)", word, v.Limit.Measure,
		v.Found.MgPerL(), v.Limit.Max.MgPerL(), v.Limit.Place, v.Limit.For, v.Limit.Source.Text, v.Limit.Edition)
}

// Lawful holds a wine against every limit of a place that applies to it. A wine
// exactly at the limit is within. The colour must be stated; a place without a
// table is an error, not a pass.
func Lawful(place Place, w Finished) ([]Verdict, error) {
	if w.Colour != Red && w.Colour != WhiteOrRose {
		return nil, fmt.Errorf("colour is missing: allowed is red, or white and rosé")
	}
	if err := quantity.Check("sugar", w.Sugar.GPerL(), "g/L", 0, 500); err != nil {
		return nil, err
	}
	if err := checkSO2("total SO2", w.Total); err != nil {
		return nil, err
	}
	if err := quantity.Check("free SO2", w.Free.MgPerL(), "mg/L", 0, w.Total.MgPerL()); err != nil {
		return nil, err
	}
	found := map[Measure]quantity.Concentration{Total: w.Total, Free: w.Free, Held: w.Total - w.Free}
	freeKnown := w.Free > 0 || w.FreeIsNil
	if !freeKnown {
		found[Free], found[Held] = w.Total, w.Total
	}
	var verdicts []Verdict
	for _, l := range Limits {
		if l.Place == place && l.applies(w) {
			v := Verdict{Limit: l, Found: found[l.Measure]}
			v.Over = v.Found.MgPerL() > l.Max.MgPerL()+1e-9
			if v.Over && l.Measure != Total && !freeKnown {
				v.Over, v.Open = false, true
			}
			verdicts = append(verdicts, v)
		}
	}
	if verdicts == nil {
		return nil, fmt.Errorf("place is %q: no limits of SO2 are known for it", place)
	}
	return verdicts, nil
}

func (l Limit) applies(w Finished) bool {
	if w.Sugar < l.SugarFrom || l.SugarTo > 0 && w.Sugar >= l.SugarTo {
		return false
	}
	for _, c := range l.Colours {
		if c == w.Colour {
			return true
		}
	}
	return l.Colours == nil
}

// An ExposureLimit is a figure from occupational safety for those who handle SO2
// and sulfites. It guides; local codes and licensed practice decide. Sulfites can
// set off asthma: whoever has it lets someone else weigh.
type ExposureLimit struct {
	Agent, Body, Basis string
	Value              float64
	Unit               string
	Source             cited.Source
}

var niosh = cited.Source{Text: "NIOSH IDLH documentation 7446095, May 1994", Mark: cited.Read}

// ExposureLimits for SO2 gas and metabisulfite dust.
var ExposureLimits = []ExposureLimit{
	{"SO2", "NIOSH REL", "10 h mean", 2, "ppm", niosh},
	{"SO2", "NIOSH REL", "15 min", 5, "ppm", niosh},
	{"SO2", "OSHA PEL", "8 h mean", 5, "ppm", niosh},
	{"SO2", "NIOSH IDLH", "immediately dangerous to life or health", 100, "ppm", niosh},
	{"SO2", "ACGIH TLV", "15 min", 0.25, "ppm", cited.Source{Text: "trade press, 2000s; to be checked", Mark: cited.SecondHand}},
	{"sodium metabisulfite dust", "NIOSH REL and ACGIH TLV", "mean of the shift", 5, "mg/m³", cited.Source{Text: "New Jersey DOH fact sheet 1708 (2005)", Mark: cited.Read}},
}
