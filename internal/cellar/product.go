package cellar

import (
	"fmt"
	"slices"
	"strings"

	"elevage/science/quantity"
)

// Substances whose amount is carried with the wine through every movement.
// Other products are carried under their own name.
const (
	SubstanceSO2       = "so2"       // sulfur dioxide added, in all its forms
	SubstancePotassium = "potassium" // potassium added
)

// A Product is something that is added, by the name the trade gives the substance.
type Product struct {
	Name    string   // as in entries: "potassium-metabisulfite"
	Title   string   // for people
	Also    []string // short names for the typed line
	Purpose string
	// SO2 and Potassium are the mass shares of the pure product that they are:
	// stoichiometry with IUPAC standard atomic weights.
	SO2, Potassium float64
	// Usual is the most that one dose usually brings to the wine, of the product
	// or, where SO2 is set, of SO2. 0: not known here.
	Usual  quantity.Concentration
	Source string // of Usual
	// Lactic says that lactic bacteria turn it into a fault.
	Lactic bool
}

// Products is what is known here. Any other short name may be written too; it
// is kept and carried, only not weighed against anything.
var Products = []Product{
	{Name: "potassium-metabisulfite", Title: "potassium metabisulfite", Also: []string{"kmbs", "k2s2o5", "metabisulfite", "meta", "sulfite"}, Purpose: "protect",
		SO2: 0.5763, Potassium: 0.3517, Usual: 60 * quantity.MilligramPerLitre, Source: "about 60 mg/L SO2 on healthy white fruit: Australian Wine Research Institute, “Avoidance of microbiological spoilage”; common practice for wine"},
	{Name: "sodium-metabisulfite", Title: "sodium metabisulfite", Also: []string{"nambs", "na2s2o5"}, Purpose: "protect",
		SO2: 0.6740, Usual: 60 * quantity.MilligramPerLitre, Source: "about 60 mg/L SO2 on healthy white fruit: Australian Wine Research Institute, “Avoidance of microbiological spoilage”; common practice for wine"},
	{Name: "potassium-bisulfite", Title: "potassium bisulfite", Also: []string{"khso3"}, Purpose: "protect",
		SO2: 0.5331, Potassium: 0.3254, Usual: 60 * quantity.MilligramPerLitre, Source: "about 60 mg/L SO2 on healthy white fruit: Australian Wine Research Institute, “Avoidance of microbiological spoilage”; common practice for wine"},
	{Name: "ammonium-bisulfite", Title: "ammonium bisulfite", Purpose: "protect",
		SO2: 0.6463, Usual: 60 * quantity.MilligramPerLitre, Source: "about 60 mg/L SO2 on healthy white fruit: Australian Wine Research Institute, “Avoidance of microbiological spoilage”; common practice for wine"},
	{Name: "sulfur-dioxide", Title: "sulfur dioxide", Also: []string{"so2"}, Purpose: "protect",
		SO2: 1, Usual: 60 * quantity.MilligramPerLitre, Source: "about 60 mg/L SO2 on healthy white fruit: Australian Wine Research Institute, “Avoidance of microbiological spoilage”; common practice for wine"},
	{Name: "tartaric-acid", Title: "tartaric acid", Also: []string{"tartaric"}, Purpose: "acid", Usual: 4 * quantity.GramPerLitre, Source: "OIV II.3.1.1.1: 54 meq/L, 4 g/L"},
	{Name: "malic-acid", Title: "malic acid", Purpose: "acid", Usual: 3.6 * quantity.GramPerLitre, Source: "OIV II.3.1.1.1: 54 meq/L"},
	{Name: "lactic-acid", Title: "lactic acid", Purpose: "acid", Usual: 4.9 * quantity.GramPerLitre, Source: "OIV II.3.1.1.1: 54 meq/L"},
	{Name: "citric-acid", Title: "citric acid", Also: []string{"citric"}, Purpose: "acid", Usual: 1 * quantity.GramPerLitre, Source: "OIV-MA-C1-01 (2019): 1 g/L"},
	{Name: "potassium-bicarbonate", Title: "potassium bicarbonate", Also: []string{"khco3"}, Purpose: "deacidify", Potassium: 0.3905, Usual: 2 * quantity.GramPerLitre, Source: "common practice, no source"},
	{Name: "potassium-carbonate", Title: "potassium carbonate", Also: []string{"k2co3"}, Purpose: "deacidify", Potassium: 0.5658, Usual: 1.5 * quantity.GramPerLitre, Source: "common practice, no source"},
	{Name: "calcium-carbonate", Title: "calcium carbonate", Also: []string{"caco3", "chalk"}, Purpose: "deacidify", Usual: 3.59 * quantity.GramPerLitre, Source: "27 CFR 24.246, 2015 edition"},
	{Name: "cream-of-tartar", Title: "potassium bitartrate", Also: []string{"kht"}, Purpose: "cold stability", Potassium: 0.2078, Usual: 4.19 * quantity.GramPerLitre, Source: "27 CFR 24.246, 2015 edition"},
	{Name: "potassium-sorbate", Title: "potassium sorbate", Also: []string{"sorbate"}, Purpose: "stop yeast", Potassium: 0.2603, Usual: 268 * quantity.MilligramPerLitre, Source: "200 mg/L as sorbic acid, EU, from memory", Lactic: true},
	{Name: "sugar", Title: "sugar", Also: []string{"sucrose"}, Purpose: "sugar", Usual: 51 * quantity.GramPerLitre, Source: "3 % vol at 16.83 g/L per % vol; EU zone A, from memory"},
	{Name: "water", Title: "water", Purpose: "dilute"},
	{Name: "diammonium-phosphate", Title: "diammonium phosphate", Also: []string{"dap"}, Purpose: "nutrient", Usual: 0.96 * quantity.GramPerLitre, Source: "27 CFR 24.246, 2015 edition"},
	{Name: "yeast-nutrient", Title: "yeast nutrient", Also: []string{"nutrient"}, Purpose: "nutrient"},
	{Name: "yeast-hulls", Title: "yeast hulls", Also: []string{"hulls"}, Purpose: "nutrient", Usual: 0.36 * quantity.GramPerLitre, Source: "27 CFR 24.246, 2015 edition"},
	{Name: "malolactic-nutrient", Title: "malolactic nutrient", Purpose: "nutrient"},
	{Name: "pectic-enzyme", Title: "pectic enzyme", Also: []string{"enzyme"}, Purpose: "enzyme"},
	{Name: "lysozyme", Title: "lysozyme", Purpose: "stop bacteria", Usual: 500 * quantity.MilligramPerLitre, Source: "27 CFR 24.246, 2015 edition"},
	{Name: "bentonite", Title: "bentonite", Purpose: "fining", Usual: 1.5 * quantity.GramPerLitre, Source: "25 to 150 g/hL, common practice, from memory"},
	{Name: "isinglass", Title: "isinglass", Purpose: "fining", Usual: 3 * quantity.GramPerHectolitre, Source: "Marchal and Jeandet 2009, p. 146"},
	{Name: "gelatin", Title: "gelatin", Purpose: "fining", Usual: 15 * quantity.GramPerHectolitre, Source: "Baines and Seal (eds.) 2012, table 16.18"},
	{Name: "casein", Title: "casein", Purpose: "fining", Usual: 30 * quantity.GramPerHectolitre, Source: "Marchal and Jeandet 2009, p. 146"},
	{Name: "egg-white", Title: "egg white", Purpose: "fining"},
	{Name: "pvpp", Title: "PVPP", Purpose: "fining", Usual: 80 * quantity.GramPerHectolitre, Source: "from memory, unverified"},
	{Name: "charcoal", Title: "charcoal", Also: []string{"carbon"}, Purpose: "fining", Usual: 50 * quantity.GramPerHectolitre, Source: "Marchal and Jeandet 2009, p. 146"},
	{Name: "copper-sulfate", Title: "copper sulfate pentahydrate", Also: []string{"cuso4"}, Purpose: "fining", Usual: 2 * quantity.MilligramPerLitre, Source: "0.5 mg/L as copper, from memory"},
	{Name: "tannin", Title: "tannin", Purpose: "tannin", Usual: 50 * quantity.GramPerHectolitre, Source: "10 to 50 g/hL, from memory"},
	{Name: "oak", Title: "oak", Also: []string{"chips", "staves"}, Purpose: "oak"},
	{Name: "gum-arabic", Title: "gum arabic", Purpose: "stability", Usual: 0.24 * quantity.GramPerLitre, Source: "27 CFR 24.246, 2015 edition"},
	{Name: "metatartaric-acid", Title: "metatartaric acid", Also: []string{"metatartaric"}, Purpose: "stability", Usual: 100 * quantity.MilligramPerLitre, Source: "Regulation (EC) 643/2006, annex"},
	{Name: "ascorbic-acid", Title: "ascorbic acid", Also: []string{"ascorbic"}, Purpose: "protect", Usual: 250 * quantity.MilligramPerLitre, Source: "Regulation (EC) 643/2006, annex"},
}

var productIndex = func() map[string]*Product {
	index := make(map[string]*Product)
	for i := range Products {
		p := &Products[i]
		for _, w := range append([]string{p.Name}, p.Also...) {
			if index[w] != nil {
				panic("cellar: two products are called " + w)
			}
			index[w] = p
		}
	}
	return index
}()

// LookupProduct finds a product by its name or a short name.
func LookupProduct(word string) (*Product, bool) {
	p, ok := productIndex[strings.ToLower(word)]
	return p, ok
}

// ProductTitle is a product's name for people, also of one that is not known here.
func ProductTitle(name string) string {
	if p, ok := productIndex[name]; ok {
		return p.Title
	}
	return strings.ReplaceAll(name, "-", " ")
}

// Mass is the weight of the pure product that the addition brings into wine of
// the given volume. It is an error when the amount does not tell: a number of
// tablets, a volume of something that is no solution, a rate for no volume.
func (b Addition) Mass(in quantity.Volume) (quantity.Mass, error) {
	u, ok := LookupUnit(b.Amount.unit())
	if !ok {
		return 0, fmt.Errorf("%q is not a unit that is known here", b.Amount.unit())
	}
	strength := 1.0
	if !b.Strength.IsZero() {
		s, err := b.Strength.Fraction()
		if err != nil {
			return 0, err
		}
		strength = s
	}
	switch u.Dimension {
	case Mass:
		// A solution that is weighed instead of measured out weighs about 1 g per mL.
		m, err := b.Amount.Mass()
		return quantity.Mass(float64(m) * strength), err
	case Volume:
		v, _, err := b.Amount.Volume()
		if err != nil {
			return 0, err
		}
		if !b.Solution {
			return 0, fmt.Errorf("%s of %s is a volume: how strong a solution it is was not written", b.Amount, ProductTitle(b.Product))
		}
		return quantity.Mass(v.Millilitres() * strength), nil // strength is grams in 100 mL
	case Concentration:
		if in <= 0 {
			return 0, fmt.Errorf("%s is a rate, and the volume is not known", b.Amount)
		}
		c, _, err := b.Amount.Concentration()
		return c.In(in), err
	}
	return 0, fmt.Errorf("%s does not tell a weight", b.Amount)
}

func (m *Measure) unit() string {
	if m == nil {
		return ""
	}
	return m.Unit
}

// BringsSO2 says whether the product holds sulfur dioxide.
func (b Addition) BringsSO2() bool {
	p, ok := productIndex[b.Product]
	return ok && p.SO2 > 0
}

// SO2 is the weight of sulfur dioxide that the addition brings into wine of the
// given volume, in all forms together. It is 0 for products without it, and an
// error when the amount does not tell. An amount written as a rate of a
// sulfite ("30 mg/L") is a rate of SO2, as the trade reckons.
func (b Addition) SO2(in quantity.Volume) (quantity.Mass, error) {
	p, ok := productIndex[b.Product]
	if !ok || p.SO2 == 0 {
		return 0, nil
	}
	m, err := b.Mass(in)
	if err != nil {
		return 0, err
	}
	if u, ok := LookupUnit(b.Amount.unit()); ok && u.Dimension == Concentration {
		return m, nil
	}
	return quantity.Mass(float64(m) * p.SO2), nil
}

// substances is what the addition adds to a wine's accounts: sulfur dioxide and
// potassium by their own names, everything else by the product's. Sulfite loses
// sulfur dioxide as it ages, and no potassium.
func (b Addition) substances(in quantity.Volume) ([]Amount, error) {
	p, known := productIndex[b.Product]
	if !known || p.SO2 == 0 {
		m, err := b.Mass(in)
		if err != nil {
			return nil, err
		}
		out := []Amount{{b.Product, m}}
		if known && p.Potassium > 0 {
			out = append(out, Amount{SubstancePotassium, quantity.Mass(float64(m) * p.Potassium)})
		}
		slices.SortFunc(out, func(a, b Amount) int { return strings.Compare(a.Substance, b.Substance) })
		return out, nil
	}
	so2, err := b.SO2(in)
	if err != nil {
		return nil, err
	}
	if p.Potassium == 0 {
		return []Amount{{SubstanceSO2, so2}}, nil
	}
	salt := quantity.Mass(float64(so2) / p.SO2)
	if !b.Solution {
		if strength, err := b.Strength.Fraction(); err == nil && strength > 0 {
			salt = quantity.Mass(float64(salt) / strength)
		}
	}
	return []Amount{{SubstancePotassium, quantity.Mass(float64(salt) * p.Potassium)}, {SubstanceSO2, so2}}, nil
}
