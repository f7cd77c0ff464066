package sulfite

import (
	"fmt"

	"elevage/science/quantity"
)

// Atomic weights, IUPAC standard (conventional values), g/mol.
const (
	weightH, weightN, weightO, weightNa, weightS, weightK = 1.008, 14.007, 15.999, 22.98976928, 32.06, 39.0983

	// MolarMassSO2 is the molar mass of sulfur dioxide, g/mol.
	MolarMassSO2 = weightS + 2*weightO
)

// A Salt is a compound that sets sulfur dioxide free in wine.
type Salt uint8

// The compounds of the trade. One mole of a metabisulfite gives two of SO2.
const (
	PotassiumMetabisulfite Salt = iota + 1
	SodiumMetabisulfite
	PotassiumBisulfite
	SodiumBisulfite
	AmmoniumBisulfite
	SulfurDioxide
)

type saltFacts struct {
	name, formula           string
	molar, so2, k, na, nh4n float64 // g/mol, then mol per mol
}

var salts = map[Salt]saltFacts{
	PotassiumMetabisulfite: {"potassium metabisulfite", "K2S2O5", 2*weightK + 2*weightS + 5*weightO, 2, 2, 0, 0},
	SodiumMetabisulfite:    {"sodium metabisulfite", "Na2S2O5", 2*weightNa + 2*weightS + 5*weightO, 2, 0, 2, 0},
	PotassiumBisulfite:     {"potassium bisulfite", "KHSO3", weightK + weightH + weightS + 3*weightO, 1, 1, 0, 0},
	SodiumBisulfite:        {"sodium bisulfite", "NaHSO3", weightNa + weightH + weightS + 3*weightO, 1, 0, 1, 0},
	AmmoniumBisulfite:      {"ammonium bisulfite", "NH4HSO3", weightN + 5*weightH + weightS + 3*weightO, 1, 0, 0, 1},
	SulfurDioxide:          {"sulfur dioxide", "SO2", MolarMassSO2, 1, 0, 0, 0},
}

// Salts lists the compounds.
func Salts() []Salt {
	return []Salt{PotassiumMetabisulfite, SodiumMetabisulfite, PotassiumBisulfite, SodiumBisulfite, AmmoniumBisulfite, SulfurDioxide}
}

// String is the compound's name.
func (s Salt) String() string {
	if f, ok := salts[s]; ok {
		return f.name
	}
	return "no compound"
}

// Formula is the compound's chemical formula.
func (s Salt) Formula() string { return salts[s].formula }

// MolarMass is in g/mol.
func (s Salt) MolarMass() float64 { return salts[s].molar }

// SO2Fraction is the mass of SO2 that a pure gram gives, by stoichiometry:
// 0.5763 for K2S2O5, 0.6740 for Na2S2O5.
func (s Salt) SO2Fraction() float64 {
	f, ok := salts[s]
	if !ok {
		return 0
	}
	return f.so2 * MolarMassSO2 / f.molar
}

// form is how a product is measured out.
type form uint8

const (
	noForm form = iota
	weighed
	poured
	counted
)

// A Product is what stands on the shelf: a powder, a solution or tablets. Make one
// with [Powder], [Solution], [StockSolution] or [Tablets]; the zero Product is none.
type Product struct {
	form     form
	salt     Salt
	fraction float64                // g SO2 per g (weighed)
	perLitre quantity.Concentration // g SO2 per L (poured)
	perPiece quantity.Mass          // g SO2 each (counted)
	strength float64                // what is left of the nominal strength, 1 = all
}

// Powder is a dry salt. strength is what is left of the pure salt's SO2: 1 for a
// fresh, pure one, 0.93 for a jar found to be 93 %. Allowed is 0.2 to 1.
func Powder(s Salt, strength float64) (Product, error) {
	if _, ok := salts[s]; !ok || s == SulfurDioxide {
		return Product{}, fmt.Errorf("product is %s: allowed is a dry sulfite salt", s)
	}
	if err := quantity.Check("strength of the powder", 100*strength, "%", 20, 100); err != nil {
		return Product{}, err
	}
	return Product{form: weighed, salt: s, fraction: s.SO2Fraction(), strength: strength}, nil
}

// Solution is a liquid of stated SO2 content (g SO2 per L), salt naming what it was
// made from so that the potassium it brings is known; SulfurDioxide for plain
// sulfurous acid. strength is what is left of the content, 0.2 to 1.
func Solution(s Salt, so2 quantity.Concentration, strength float64) (Product, error) {
	if _, ok := salts[s]; !ok {
		return Product{}, fmt.Errorf("product is %s: allowed is a solution of a sulfite salt or of sulfur dioxide", s)
	}
	if err := quantity.Check("SO2 in the solution", so2.GPerL(), "g/L", 1, 400); err != nil {
		return Product{}, err
	}
	if err := quantity.Check("strength of the solution", 100*strength, "%", 20, 100); err != nil {
		return Product{}, err
	}
	return Product{form: poured, salt: s, perLitre: so2, strength: strength}, nil
}

// StockSolution is a solution made up from a salt: grams of salt in each litre of
// finished solution, 1 to 400 g/L of SO2 in it by stoichiometry. Else as for Solution.
func StockSolution(s Salt, salt quantity.Concentration, strength float64) (Product, error) {
	return Solution(s, salt*quantity.Concentration(s.SO2Fraction()), strength)
}

// Tablets each set free a stated mass of SO2 (10 mg to 10 g); salt and strength as for
// Powder. Anything else is an error that says what is allowed.
func Tablets(s Salt, so2Each quantity.Mass, strength float64) (Product, error) {
	if _, ok := salts[s]; !ok || s == SulfurDioxide {
		return Product{}, fmt.Errorf("product is %s: allowed is a tablet of a sulfite salt", s)
	}
	if err := quantity.Check("SO2 in a tablet", so2Each.Grams()*1000, "mg", 10, 10000); err != nil {
		return Product{}, err
	}
	if err := quantity.Check("strength of the tablets", 100*strength, "%", 20, 100); err != nil {
		return Product{}, err
	}
	return Product{form: counted, salt: s, perPiece: so2Each, strength: strength}, nil
}

// Salt is the compound in the product.
func (p Product) Salt() Salt { return p.salt }

// Strength is what is left of the nominal strength, 0..1.
func (p Product) Strength() float64 { return p.strength }

// Amount is how much of a product to take. Exactly one of the three is not zero.
type Amount struct {
	Mass   quantity.Mass
	Volume quantity.Volume
	Pieces float64 // tablets; not rounded
}

// String reads "11.71 g", "45.2 mL" or "3.40 tablets".
func (a Amount) String() string {
	switch {
	case a.Volume != 0:
		return fmt.Sprintf("%.1f mL", a.Volume.Millilitres())
	case a.Pieces != 0:
		return fmt.Sprintf("%.2f tablets", a.Pieces)
	}
	return fmt.Sprintf("%.2f g", a.Mass.Grams())
}

// Holding is the amount of product that sets free this mass of SO2: mass, volume or
// pieces by its kind, at its strength. The zero Product gives the zero Amount.
func (p Product) Holding(so2 quantity.Mass) Amount {
	switch p.form {
	case weighed:
		return Amount{Mass: quantity.Mass(so2.Grams() / (p.fraction * p.strength))}
	case poured:
		return Amount{Volume: quantity.Volume(so2.Grams() / (p.perLitre.GPerL() * p.strength))}
	case counted:
		return Amount{Pieces: so2.Grams() / (p.perPiece.Grams() * p.strength)}
	}
	return Amount{}
}

// SO2In is the mass of SO2 that an amount of the product sets free at its strength: the
// inverse of Holding. Only the measure that belongs to its kind is looked at.
func (p Product) SO2In(a Amount) quantity.Mass {
	switch p.form {
	case weighed:
		return quantity.Mass(a.Mass.Grams() * p.fraction * p.strength)
	case poured:
		return quantity.Mass(a.Volume.Litres() * p.perLitre.GPerL() * p.strength)
	case counted:
		return quantity.Mass(a.Pieces * p.perPiece.Grams() * p.strength)
	}
	return 0
}

// Brings is what an amount carries into the wine beside SO2. The cation stays
// when the SO2 has aged away, so it is reckoned from the nominal content.
func (p Product) Brings(a Amount) Cations {
	f, ok := salts[p.salt]
	if !ok || p.strength == 0 {
		return Cations{}
	}
	moles := p.SO2In(a).Grams() / p.strength / MolarMassSO2 / f.so2
	return Cations{
		Potassium: quantity.Mass(moles * f.k * weightK),
		Sodium:    quantity.Mass(moles * f.na * weightNa),
		Nitrogen:  quantity.Mass(moles * f.nh4n * weightN),
	}
}

// Cations are what a sulfite salt leaves in the wine: 0.61 mg potassium for each
// mg of SO2 from fresh K2S2O5. Nitrogen is that of ammonium.
type Cations struct{ Potassium, Sodium, Nitrogen quantity.Mass }
