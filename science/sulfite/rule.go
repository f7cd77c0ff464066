package sulfite

import (
	"fmt"
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A Rule is one way to reckon which share of the free SO2 is molecular. The
// zero Rule is none: a rule must be chosen, or Default taken knowingly.
//
// The rules differ by 40 % at 12 % vol and 20 °C (a constant of 1.955 against
// 1.81), so a molecular figure means nothing without its rule. For that reason
// no function of this package takes a target and a rule side by side: a
// [Target] is made by its rule and keeps it.
type Rule uint8

const (
	// Handbook uses the constant 1.81 whatever the strength and temperature,
	// which is the thermodynamic value in water at 20 °C. The usual aims of 0.5
	// and 0.8 mg/L were set with it.
	Handbook Rule = iota + 1
	// OIV is OIV-MA-AS323-04C: its Table 1 by strength and temperature, with the
	// ionic-strength term at I = 0.038. Defined from 0 to 20 % vol and 20 to
	// 40 °C; refused outside.
	OIV
	// OIVSlope takes the 20 °C column of the OIV table as the reference state and
	// carries it to other temperatures by the thermodynamic enthalpy of the first
	// ionisation (−17.4 kJ/mol), since the table's own slope is about four times
	// steeper than calorimetry allows and has no entry for a cool cellar.
	OIVSlope
)

// Default is the rule of this package where nobody has chosen one: the handbook
// constant, because the targets people quote (0.5, 0.6, 0.8 mg/L) belong to it.
// With an OIV constant those targets would be met with 28 % less free SO2.
const Default = Handbook

// ParseRule reads "handbook", "oiv" or "oiv-slope".
func ParseRule(s string) (Rule, error) {
	for _, r := range Rules() {
		if s == r.String() {
			return r, nil
		}
	}
	return 0, fmt.Errorf("method is %q: allowed is handbook, oiv or oiv-slope", s)
}

// Rules lists the rules.
func Rules() []Rule { return []Rule{Handbook, OIV, OIVSlope} }

// String is the short name that ParseRule reads.
func (r Rule) String() string {
	switch r {
	case Handbook:
		return "handbook"
	case OIV:
		return "oiv"
	case OIVSlope:
		return "oiv-slope"
	}
	return "no rule"
}

// Label names the rule in words fit for a screen.
func (r Rule) Label() string {
	switch r {
	case Handbook:
		return "handbook constant 1.81"
	case OIV:
		return "OIV-MA-AS323-04C table"
	case OIVSlope:
		return "OIV-MA-AS323-04C at 20 °C, thermodynamic slope"
	}
	return "no rule chosen"
}

// Source is where the rule comes from.
func (r Rule) Source() cited.Source {
	switch r {
	case Handbook:
		return cited.Source{Text: "constant 1.81 in common use; Shock, Helgeson, Sverjensky 1989 and Shock, Helgeson 1988 give 1.810 in water at 20 °C", Mark: cited.Computed}
	case OIV:
		return cited.Source{Text: "OIV-MA-AS323-04C, Table 1 and formulas (20 % vol row from memory)", Mark: cited.Read}
	case OIVSlope:
		return cited.Source{Text: "OIV-MA-AS323-04C, Table 1 at 20 °C; ΔH −17.40 kJ/mol, ΔCp −230 J/(mol K) from Shock, Helgeson, Sverjensky 1989", Mark: cited.Computed}
	}
	return cited.Source{}
}

// Wine is what the molecular share depends on.
type Wine struct {
	PH          quantity.PH
	Alcohol     quantity.Strength
	Temperature quantity.Temperature
}

// Share is the molecular part of the free SO2 with the constant behind it.
type Share struct {
	Rule     Rule
	PK       float64 // mixed constant used
	Fraction float64 // molecular / free, 0..1
	// Extrapolated says that the temperature lies outside the OIV table and was
	// reached by the thermodynamic slope.
	Extrapolated bool
}

// Share reckons the molecular part of free SO2:
//
//	molecular / free = 1 / (1 + 10^(pH − pK))
//
// The sulfite ion is left out (under 1 % below pH 5). Handbook looks at the pH
// only. Bad input comes back as a *quantity.RangeError: pH outside 2.5 to 5, for
// the OIV rules alcohol outside 0 to 20 % vol, temperature outside 20 to 40 °C
// (OIV) or 0 to 45 °C (OIVSlope).
func (r Rule) Share(w Wine) (Share, error) {
	if err := quantity.Check("pH", float64(w.PH), "", 2.5, 5); err != nil {
		return Share{}, err
	}
	pk, err := r.constant(w)
	if err != nil {
		return Share{}, err
	}
	return Share{
		Rule:         r,
		PK:           pk,
		Fraction:     1 / (1 + math.Pow(10, float64(w.PH)-pk)),
		Extrapolated: r == OIVSlope && (w.Temperature < 20 || w.Temperature > 40),
	}, nil
}

func (r Rule) constant(w Wine) (float64, error) {
	switch r {
	case Handbook:
		return handbookPK, nil
	case OIV:
		return MixedConstant(w.Alcohol, w.Temperature, MeanIonicStrength)
	case OIVSlope:
		if err := quantity.Check("temperature", w.Temperature.Celsius(), "°C", 0, 45); err != nil {
			return 0, err
		}
		at20, err := MixedConstant(w.Alcohol, 20, MeanIonicStrength)
		return at20 + WaterConstant(w.Temperature) - WaterConstant(20), err
	}
	return 0, fmt.Errorf("method of molecular SO2 is not chosen: allowed is handbook, oiv or oiv-slope")
}

// Molecular is the molecular SO2 in a wine by this rule: free × Share. Free SO2 0 to
// 1000 mg/L; else the domain and errors are those of Share.
func (r Rule) Molecular(free quantity.Concentration, w Wine) (Molecular, error) {
	if err := checkSO2("free SO2", free); err != nil {
		return Molecular{}, err
	}
	s, err := r.Share(w)
	if err != nil {
		return Molecular{}, err
	}
	return Molecular{share: s, amount: quantity.Concentration(s.Fraction) * free}, nil
}

// Molecular is an amount of molecular SO2 that remembers by which rule it was reckoned.
type Molecular struct {
	share  Share
	amount quantity.Concentration
}

// Amount is the molecular SO2 itself; it may be shown, with the rule's label beside it.
func (m Molecular) Amount() quantity.Concentration { return m.amount }

// Share is the fraction and constant behind the amount.
func (m Molecular) Share() Share { return m.share }

// Rule is the rule by which the amount was reckoned.
func (m Molecular) Rule() Rule { return m.share.Rule }

// String reads "0.75 mg/L (handbook constant 1.81)".
func (m Molecular) String() string {
	return fmt.Sprintf("%.2f mg/L (%s)", m.amount.MgPerL(), m.share.Rule.Label())
}

// A Target is an aim for molecular SO2 together with the rule it was set by.
// It can only be made by a rule and only be met by that rule.
type Target struct {
	rule   Rule
	amount quantity.Concentration
}

// Target makes an aim under this rule. Allowed is above 0 and up to 5 mg/L;
// molecular SO2 is smelled from about 2 mg/L.
func (r Rule) Target(molecular quantity.Concentration) (Target, error) {
	if r.String() == "no rule" {
		return Target{}, fmt.Errorf("method of molecular SO2 is not chosen: allowed is handbook, oiv or oiv-slope")
	}
	if err := quantity.Check("target molecular SO2", molecular.MgPerL(), "mg/L", 0.01, 5); err != nil {
		return Target{}, err
	}
	return Target{rule: r, amount: molecular}, nil
}

// Rule is the rule the target was set by.
func (t Target) Rule() Rule { return t.rule }

// Amount is the molecular SO2 aimed at.
func (t Target) Amount() quantity.Concentration { return t.amount }

// Free is the free SO2 that a wine needs to reach the target:
//
//	free = molecular · (1 + 10^(pH − pK))
//
// by the rule that made the target, with the domain and errors of Rule.Share.
func (t Target) Free(w Wine) (quantity.Concentration, error) {
	s, err := t.rule.Share(w)
	if err != nil {
		return 0, err
	}
	return t.amount / quantity.Concentration(s.Fraction), nil
}

// Met reports whether a wine with this free SO2 reaches the target: free at Free(w) or
// above. Errors are those of Free; the spread of the readings is not looked at, for
// that see Shortfall.
func (t Target) Met(free quantity.Concentration, w Wine) (bool, error) {
	need, err := t.Free(w)
	return err == nil && free >= need, err
}

func checkSO2(field string, c quantity.Concentration) error {
	return quantity.Check(field, c.MgPerL(), "mg/L", 0, 1000)
}
