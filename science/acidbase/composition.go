package acidbase

import (
	"elevage/science/quantity"
)

// A Composition is what a wine, a must or a buffer holds that decides its pH.
// Acids are totals, all forms of an acid together, written as the free acid.
// It is a plain value: every method that changes it returns a changed copy.
type Composition struct {
	Tartaric quantity.Concentration
	Malic    quantity.Concentration
	Lactic   quantity.Concentration
	Succinic quantity.Concentration
	Citric   quantity.Concentration // anhydrous
	Acetic   quantity.Concentration

	FreeSO2   quantity.Concentration // free sulfur dioxide, as SO2
	CO2       quantity.Concentration // carbon dioxide dissolved in the sample
	Phosphate quantity.Concentration // as H3PO4

	// Other lumps the acids that nobody measured, in equivalents (mol/L of acid
	// hydrogens): 60 % of them as in lactic, 40 % as in succinic acid, a guess that
	// serves 178 measured wines well (docs/chemistry.md).
	Other quantity.Molarity

	// StrongIons is the strong-ion excess: charge of the cations that no acid
	// takes back (potassium above all, sodium, twice calcium and magnesium) less
	// that of the anions of strong acids (chloride, sulfate, SO2 that is bound).
	// In mol/L of charge. Titrating with a strong base raises it; a strong acid
	// lowers it.
	StrongIons quantity.Molarity

	// Potassium and Calcium say how much of the strong ions these two are. Their
	// charge is already counted in StrongIons. They decide what precipitates;
	// calcium also counts double towards the ionic strength.
	Potassium quantity.Concentration
	Calcium   quantity.Concentration

	// InertSalt is a salt of two strong singly charged ions, such as potassium
	// chloride: it raises the ionic strength and nothing else.
	InertSalt quantity.Molarity

	Alcohol     quantity.Strength
	Temperature quantity.Temperature
}

// Most that a field may hold before it is refused as a slip of the pen: well
// above any must or wine, and above the buffers that the constants are checked on.
const (
	mostAcid   = 100.0 // g/L
	mostSO2    = 5.0   // g/L
	mostCO2    = 20.0  // g/L
	mostStrong = 2.0   // mol/L of charge
)

// Check returns a *quantity.RangeError for the first field that lies outside
// what can be reckoned with, or nil.
func (c *Composition) Check() error {
	acids := [...]struct {
		name string
		c    quantity.Concentration
		most float64
	}{
		{"tartaric acid", c.Tartaric, mostAcid}, {"malic acid", c.Malic, mostAcid},
		{"lactic acid", c.Lactic, mostAcid}, {"succinic acid", c.Succinic, mostAcid},
		{"citric acid", c.Citric, mostAcid}, {"acetic acid", c.Acetic, mostAcid},
		{"free SO2", c.FreeSO2, mostSO2}, {"dissolved CO2", c.CO2, mostCO2},
		{"phosphate", c.Phosphate, mostAcid},
		{"potassium", c.Potassium, mostAcid}, {"calcium", c.Calcium, mostAcid},
	}
	for i := range acids {
		if g := acids[i].c.GPerL(); !(g >= 0 && g <= acids[i].most) {
			return quantity.Check(acids[i].name, g, "g/L", 0, acids[i].most)
		}
	}
	if s := c.StrongIons.MolPerL(); !(s >= -mostStrong && s <= mostStrong) {
		return quantity.Check("strong-ion excess", s, "mol/L", -mostStrong, mostStrong)
	}
	if s := c.InertSalt.MolPerL(); !(s >= 0 && s <= mostStrong) {
		return quantity.Check("inert salt", s, "mol/L", 0, mostStrong)
	}
	if s := c.Other.MolPerL(); !(s >= 0 && s <= mostStrong) {
		return quantity.Check("other acids", s, "mol/L", 0, mostStrong)
	}
	return nil
}

// Moles of stand-in acid per equivalent of the lumped acid.
const (
	otherAsLactic   = 0.6
	otherAsSuccinic = 0.4 / 2 // two hydrogens each
)

// totals turns the acids into mol/L.
func (c *Composition) totals() (t totals) {
	t[Tartaric] = c.Tartaric.GPerL() / facts[Tartaric].molarMass
	t[Malic] = c.Malic.GPerL() / facts[Malic].molarMass
	t[Lactic] = c.Lactic.GPerL()/facts[Lactic].molarMass + otherAsLactic*c.Other.MolPerL()
	t[Succinic] = c.Succinic.GPerL()/facts[Succinic].molarMass + otherAsSuccinic*c.Other.MolPerL()
	t[Citric] = c.Citric.GPerL() / facts[Citric].molarMass
	t[Acetic] = c.Acetic.GPerL() / facts[Acetic].molarMass
	t[Phosphoric] = c.Phosphate.GPerL() / facts[Phosphoric].molarMass
	t[Sulfurous] = c.FreeSO2.GPerL() / facts[Sulfurous].molarMass
	t[Carbonic] = c.CO2.GPerL() / facts[Carbonic].molarMass
	return t
}

// amount points at the field that holds an acid; nil for sulfuric.
func (c *Composition) amount(a Acid) *quantity.Concentration {
	switch a {
	case Tartaric:
		return &c.Tartaric
	case Malic:
		return &c.Malic
	case Lactic:
		return &c.Lactic
	case Succinic:
		return &c.Succinic
	case Citric:
		return &c.Citric
	case Acetic:
		return &c.Acetic
	case Phosphoric:
		return &c.Phosphate
	case Sulfurous:
		return &c.FreeSO2
	case Carbonic:
		return &c.CO2
	}
	return nil
}

// Molar masses of the ions and salts, g/mol, from IUPAC standard atomic weights.
const (
	potassiumMass = 39.098
	calciumMass   = 40.078
)

// calcium is the amount of calcium, mol/L.
func (c *Composition) calcium() float64 { return c.Calcium.GPerL() / calciumMass }

// Medium is the medium of the composition at its own alcohol and temperature, with the
// default constants; the domain and errors are those of NewMedium.
func (c *Composition) Medium(options ...Option) (Medium, error) {
	return NewMedium(c.Alcohol, c.Temperature, options...)
}
