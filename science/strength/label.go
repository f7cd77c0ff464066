package strength

import (
	"fmt"
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A LabelRule is how far the strength stated on a label may lie from the true one.
type LabelRule struct {
	Place     string
	For       string
	Tolerance quantity.Strength
	Step      float64 // stated in multiples of this, % vol; 0 for any
	// Class is a strength that divides tax classes or legal names: a statement on
	// the other side of it than the wine is wrong even within the tolerance.
	Class  quantity.Strength
	Source cited.Source
}

// LabelRules are outlines to check against the authority, not advice. Home-made,
// unsold wine has no label duty in most places.
var LabelRules = []LabelRule{
	{Place: "United States", For: "14 % vol or less", Tolerance: 1.5, Class: 14, Source: cited.Source{Text: "27 CFR 4.36(b)(1),(c), 2015 edition", Mark: cited.Read}},
	{Place: "United States", For: "over 14 % vol", Tolerance: 1.0, Class: 14, Source: cited.Source{Text: "27 CFR 4.36(b)(1),(c), 2015 edition", Mark: cited.Read}},
	{Place: "European Union", For: "wine", Tolerance: 0.5, Step: 0.5, Source: cited.Source{Text: "Reg. (EU) 2019/33 art. 44; figures read in national rules and OIV labelling standard 2.2", Mark: cited.SecondHand}},
	{Place: "European Union", For: "wine aged 3 years in bottle, sparkling, liqueur", Tolerance: 0.8, Step: 0.5, Source: cited.Source{Text: "Reg. (EU) 2019/33 art. 44, older wording read", Mark: cited.SecondHand}},
}

// Check holds a stated strength against a measured one and says in words what is
// wrong; an empty slice when nothing is.
func (r LabelRule) Check(stated, measured quantity.Strength) []string {
	var wrong []string
	if off := math.Abs(float64(stated - measured)); off > float64(r.Tolerance)+1e-9 {
		wrong = append(wrong, fmt.Sprintf("stated %.4g %% vol is %.2g from the measured %.4g: allowed is ±%.2g (%s)", stated, off, measured, r.Tolerance, r.Source.Text))
	}
	if r.Step > 0 && math.Abs(math.Remainder(float64(stated), r.Step)) > 1e-9 {
		wrong = append(wrong, fmt.Sprintf("stated %.4g %% vol: allowed are multiples of %.2g (%s)", stated, r.Step, r.Source.Text))
	}
	if r.Class > 0 && (stated <= r.Class) != (measured <= r.Class) {
		wrong = append(wrong, fmt.Sprintf("stated %.4g and measured %.4g %% vol lie on different sides of %.4g %% vol, where the class changes (%s)", stated, measured, r.Class, r.Source.Text))
	}
	return wrong
}
