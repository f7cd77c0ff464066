package acidbase

import "elevage/science/quantity"

// An Acid names one of the acids that a wine's charge balance knows, or one
// that titratable acidity is expressed as.
type Acid uint8

// The acids. Sulfuric is not among those that a wine is solved for: it is only
// the acid that some countries express titratable acidity as.
const (
	Tartaric Acid = iota
	Malic
	Lactic
	Succinic
	Citric
	Acetic
	Phosphoric
	Sulfurous // free SO2: dissolved SO2, hydrogen sulfite, sulfite
	Carbonic  // dissolved CO2 and H2CO3 together
	Sulfuric
	acidCount = Sulfuric // acids in the charge balance
)

// acidFacts holds what is fixed about an acid. Sources are in constants.go.
type acidFacts struct {
	name      string
	molarMass float64 // g/mol
	protons   float64 // given up per molecule when titratable acidity is expressed as this acid
}

// Molar masses from IUPAC standard atomic weights (computed; table in
// testdata/acid-equivalents.csv).
var facts = [...]acidFacts{
	Tartaric:   {"tartaric acid", 150.087, 2},
	Malic:      {"malic acid", 134.087, 2},
	Lactic:     {"lactic acid", 90.078, 1},
	Succinic:   {"succinic acid", 118.088, 2},
	Citric:     {"citric acid", 192.123, 3},
	Acetic:     {"acetic acid", 60.052, 1},
	Phosphoric: {"phosphoric acid", 97.994, 3},
	Sulfurous:  {"sulfur dioxide", 64.058, 2},
	Carbonic:   {"carbon dioxide", 44.009, 2},
	Sulfuric:   {"sulfuric acid", 98.072, 2},
}

// String is the trade's name of the acid.
func (a Acid) String() string {
	if int(a) >= len(facts) {
		return "unknown acid"
	}
	return facts[a].name
}

// Known says whether a is one of the package's constants.
func (a Acid) Known() bool { return int(a) < len(facts) }

// Molarity is the amount of the acid in a mass concentration of it
// (anhydrous; sulfur dioxide as SO2, carbon dioxide as CO2).
func (a Acid) Molarity(c quantity.Concentration) quantity.Molarity {
	return quantity.Molarity(c.GPerL() / facts[a].molarMass)
}

// Concentration is the mass concentration that an amount of the acid makes.
func (a Acid) Concentration(m quantity.Molarity) quantity.Concentration {
	return quantity.Concentration(m.MolPerL() * facts[a].molarMass)
}

// FromEquivalents expresses titratable acidity, given in equivalents per litre
// (mol/L of charge), as this acid. Stoichiometry: molar mass over the number of
// acid hydrogens; 1 g/L as tartaric acid is 13.326 meq/L.
func (a Acid) FromEquivalents(eq quantity.Molarity) quantity.Concentration {
	return quantity.Concentration(eq.MolPerL() * facts[a].molarMass / facts[a].protons)
}

// Equivalents turns titratable acidity expressed as this acid into mol/L of charge.
func (a Acid) Equivalents(ta quantity.Concentration) quantity.Molarity {
	return quantity.Molarity(ta.GPerL() * facts[a].protons / facts[a].molarMass)
}

// Convert expresses titratable acidity that was stated as acid a as another acid.
// The end point of the titration is not touched: converting between end points
// needs the wine's composition (Composition.TA).
func (a Acid) Convert(ta quantity.Concentration, as Acid) quantity.Concentration {
	return as.FromEquivalents(a.Equivalents(ta))
}
