package sulfite

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/root"
)

// A Binder is a carbonyl compound of wine that holds SO2.
type Binder struct {
	Name      string
	MolarMass float64           // g/mol
	Kd        quantity.Molarity // apparent dissociation constant of its adduct
	Other     quantity.Molarity // a second remembered value, 0 if none
	Source    cited.Source
}

var burroughs = cited.Source{Text: "attributed to Burroughs, Sparks 1973, J. Sci. Food Agric. 24; pH about 3.3, room temperature", Mark: cited.Memory}

// Binders are the usual ones in order of strength. Every Kd is from memory,
// unverified: read the results as an order of magnitude. In most wines
// acetaldehyde and pyruvate matter most; sweet botrytised wines hold others too.
var Binders = []Binder{
	{"acetaldehyde", 44.053, 0.0015e-3, 0.0024e-3, burroughs},
	{"pyruvic acid", 88.062, 0.14e-3, 0.3e-3, burroughs},
	{"2-oxoglutaric acid", 146.098, 0.49e-3, 0, burroughs},
	{"galacturonic acid", 194.139, 16e-3, 0, burroughs},
	{"glucose", 180.156, 640e-3, 0, burroughs},
}

// Ceiling is the SO2 that a gram of the binder holds at most, one to one: 1.454 g
// for acetaldehyde.
func (b Binder) Ceiling() float64 { return MolarMassSO2 / b.MolarMass }

// Held is the share of the binder that holds SO2 at a free level, by mass action:
//
//	held = L/(L + Kd), L = free SO2 in mol/L
//
// L should be the bisulfite ion alone; free SO2 stands for it, as in Blouin
// (Pratique raisonnée du SO2 en œnologie, part 4), so the molecular share, 1 to 8 %
// of it, is counted in. A Kd under 0.01 mmol/L holds whatever the free level is, one
// above 1 mmol/L follows it up and down.
func (b Binder) Held(free quantity.Concentration) float64 {
	l := free.GPerL() / MolarMassSO2
	if l <= 0 {
		return 0
	}
	return l / (l + b.Kd.MolPerL())
}

// Content is a binder and how much of it a wine holds.
type Content struct {
	Binder Binder
	Amount quantity.Concentration
}

// Bound is the SO2 that a wine's binders hold at a free level: the sum over them of
// amount × ceiling × Held. Free SO2 0 to 1000 mg/L; a *quantity.RangeError outside, also
// for a binder's amount. What is not listed binds too: it is a least.
func Bound(free quantity.Concentration, wine []Content) (quantity.Concentration, error) {
	if err := checkContents(wine); err != nil {
		return 0, err
	}
	return bound(free, wine), checkSO2("free SO2", free)
}

func bound(free quantity.Concentration, wine []Content) quantity.Concentration {
	var sum quantity.Concentration
	for _, c := range wine {
		sum += quantity.Concentration(c.Binder.Ceiling()*c.Binder.Held(free)) * c.Amount
	}
	return sum
}

// FreeOf is the free SO2 that a total leaves in a wine with these binders, the
// inverse of free + Bound(free). Total SO2 0 to 1000 mg/L; a *quantity.RangeError outside.
func FreeOf(total quantity.Concentration, wine []Content) (quantity.Concentration, error) {
	if err := checkContents(wine); err != nil {
		return 0, err
	}
	if err := checkSO2("total SO2", total); err != nil {
		return 0, err
	}
	free, err := root.Between(func(f float64) float64 {
		return f + bound(quantity.Concentration(f), wine).GPerL() - total.GPerL()
	}, 0, total.GPerL())
	return quantity.Concentration(free), err
}

// BindingOf is the share of an addition that these binders would take when free SO2
// goes from one level to another.
func BindingOf(from, to quantity.Concentration, wine []Content) (float64, error) {
	if err := checkContents(wine); err != nil {
		return 0, err
	}
	if err := checkSO2("free SO2", from); err != nil {
		return 0, err
	}
	if err := quantity.Check("free SO2 wanted", to.MgPerL(), "mg/L", from.MgPerL(), 1000); err != nil {
		return 0, err
	}
	taken := bound(to, wine) - bound(from, wine)
	if added := to - from + taken; added > 0 {
		return float64(taken / added), nil
	}
	return 0, nil
}

func checkContents(wine []Content) error {
	for _, c := range wine {
		if err := quantity.Check(c.Binder.Name, c.Amount.GPerL(), "g/L", 0, 500); err != nil {
			return err
		}
		if err := quantity.Check("molar mass of "+c.Binder.Name, c.Binder.MolarMass, "g/mol", 20, 2000); err != nil {
			return err
		}
		if err := quantity.Check("dissociation constant of "+c.Binder.Name, c.Binder.Kd.MolPerL(), "mol/L", 0, 10); err != nil {
			return err
		}
	}
	return nil
}
