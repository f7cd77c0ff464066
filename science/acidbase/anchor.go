package acidbase

import (
	"fmt"
	"math"

	"elevage/science/quantity"
)

// Known is a quantity that may or may not have been measured. The zero value is
// "not measured"; Given makes a measured one.
type Known[Q ~float64] struct {
	value Q
	given bool
}

// Given is a measured quantity, zero included.
func Given[Q ~float64](v Q) Known[Q] { return Known[Q]{value: v, given: true} }

// Value is the quantity and whether it was measured.
func (k Known[Q]) Value() (Q, bool) { return k.value, k.given }

func (k Known[Q]) or(v Q) Q {
	if k.given {
		return k.value
	}
	return v
}

// Amounts assumed of acids that were not measured: a finished wine of middling
// make. They lie within what was measured in six white wines (Prenesti and
// co-authors 2012, table 1: succinic 0.24 to 0.92, acetic 0.24 to 0.71, citric
// 0.26 to 0.72 g/L; lactic 0.37 to 1.12, some of it from malolactic conversion).
const (
	AssumedLactic   = 0.2 * quantity.GramPerLitre
	AssumedSuccinic = 0.7 * quantity.GramPerLitre
	AssumedCitric   = 0.2 * quantity.GramPerLitre
	AssumedAcetic   = 0.3 * quantity.GramPerLitre
)

// What tartaric acid and all other unmeasured acids together are taken to be
// before the readings are looked at, and how what the readings ask for beyond
// that is shared: for each mole of tartaric acid, sharedOther equivalents of
// other acids. The means and the share (in proportion to the spread times the
// effect on titratable acidity) come from 178 Piedmont wines with measured
// tartaric and malic acid, pH and fixed acidity (Forina and co-authors 1986):
// tartaric acid 1.7 ± 0.6 g/L, other acids 21 ± 13 meq/L. See docs/chemistry.md.
const (
	usualTartaric = 1.9 / 150.087 // mol/L
	usualOther    = 0.020         // equivalents per litre
	sharedOther   = 3.0
)

// Measured is what is known of a wine from readings. PH, TA, EndPoint, Alcohol
// and Temperature are required; Malic counts as it stands (zero is zero).
type Measured struct {
	PH       quantity.PH
	TA       quantity.Concentration // expressed as TAAs
	TAAs     Acid                   // the zero value is tartaric
	EndPoint quantity.PH
	Malic    quantity.Concentration

	Tartaric, Lactic, Succinic, Citric, Acetic Known[quantity.Concentration]
	Other                                      Known[quantity.Molarity] // lumped, see Composition.Other

	FreeSO2   quantity.Concentration
	CO2       quantity.Concentration // left in the sample when it was read; 0 if degassed
	Phosphate quantity.Concentration
	Potassium Known[quantity.Concentration]
	Calcium   Known[quantity.Concentration]

	Alcohol     quantity.Strength
	Temperature quantity.Temperature // of the readings; both are taken to be at it
}

// Solved names what Anchor solved for, besides the strong-ion excess, to honour
// both readings.
type Solved uint8

// What can be solved for.
const (
	// SolvedShared, the usual case: neither tartaric acid nor the other unmeasured
	// acids are known, and both move away from their usual amounts in proportion to
	// how much they usually vary.
	SolvedShared Solved = iota
	// SolvedTartaric: tartaric acid alone. The other acids were given, or there is
	// no room for any.
	SolvedTartaric
	// SolvedOther: tartaric acid was measured; the lumped acid takes up the rest.
	SolvedOther
	// SolvedMinor: even without tartaric acid (or with what was measured of it) and
	// without any lumped acid, the assumed minor acids are too much, so these were
	// made less, all in one proportion. The readings and the malic acid hardly agree.
	SolvedMinor
)

// String says it in words.
func (s Solved) String() string {
	switch s {
	case SolvedShared:
		return "tartaric acid and other acids solved for together"
	case SolvedTartaric:
		return "tartaric acid solved for"
	case SolvedOther:
		return "tartaric acid as measured, other acids solved for"
	case SolvedMinor:
		return "no room for the assumed acids: they were made less"
	}
	return "unknown"
}

// A Wine is a composition that honours a pH and a titratable acidity exactly,
// with a record of how that was brought about.
type Wine struct {
	Composition
	Solved   Solved
	Assumed  []Acid // acids that were assumed, not measured; a shared slice, not to be changed
	EndPoint quantity.PH
	// MinorShare is what SolvedMinor multiplied the assumed acids by; 1 otherwise.
	MinorShare float64
	// PotassiumAssumed is set when potassium was not measured but taken from the
	// strong-ion excess, which is good to about 20 %.
	PotassiumAssumed bool
}

// A Contradiction says that a pH, a titratable acidity and the measured acids
// cannot all be true: even without any unmeasured acid, bringing the wine to the
// end point would take more base than was measured.
type Contradiction struct {
	PH       quantity.PH
	TA       quantity.Molarity // measured, mol/L of charge
	Needed   quantity.Molarity // taken by the measured acids alone
	EndPoint quantity.PH
}

// Error names the figures that disagree.
func (c *Contradiction) Error() string {
	return fmt.Sprintf("titratable acidity of %.2f g/L as tartaric acid (to pH %.1f) is too low: at pH %.2f the measured acids alone take %.2f g/L",
		Tartaric.FromEquivalents(c.TA).GPerL(), float64(c.EndPoint), float64(c.PH), Tartaric.FromEquivalents(c.Needed).GPerL())
}

// Anchor finds the composition that honours both the pH and the titratable
// acidity exactly: the strong-ion excess balances the charges at the measured
// pH, and the unmeasured acids (as Solved names them) take up the titratable
// acidity.
//
// On 178 wines with measured tartaric acid the anchored composition has it right
// within 0.6 g/L (standard deviation), the strong-ion excess within 5 meq/L of
// the alkalinity of ash, and the pH rise of a full malolactic conversion within
// 6 % of the rise reckoned with the measured tartaric acid (docs/chemistry.md).
//
// It returns a *quantity.RangeError for input that no wine has, and a
// *Contradiction if the readings exclude each other.
func Anchor(r Measured) (Wine, error) {
	m, err := NewMedium(r.Alcohol, r.Temperature)
	if err != nil {
		return Wine{}, err
	}
	return m.Anchor(&r)
}

// Anchor is the function of the same name in this medium; the readings' own
// alcohol and temperature are only copied. It does not allocate unless it fails, with
// the errors of the function.
func (m *Medium) Anchor(r *Measured) (Wine, error) {
	w := Wine{EndPoint: r.EndPoint, MinorShare: 1, Composition: r.composition(), Assumed: r.assumed()}
	if err := r.check(); err != nil {
		return w, err
	}
	if err := w.Check(); err != nil {
		return w, err
	}
	strong, err := w.fitAcids(m, r, r.TAAs.Equivalents(r.TA).MolPerL())
	if err != nil {
		return w, err
	}
	w.StrongIons = quantity.Molarity(strong)
	w.assumePotassium(r)
	return w, w.Check()
}

// fitAcids tries, in this order, to meet the titratable acidity by the acids
// that Solved lists, until none of them is negative.
func (w *Wine) fitAcids(m *Medium, r *Measured, ta float64) (strong float64, err error) {
	ph, end := float64(r.PH), float64(r.EndPoint)
	measured := w.Composition // acids measured or assumed one by one
	p := problem{medium: m, calcium: w.calcium(), inert: w.InertSalt.MolPerL()}

	if !r.Tartaric.given && !r.Other.given {
		w.Tartaric, w.Other = Tartaric.Concentration(usualTartaric), usualOther
		p.tot = w.totals()
		x, strong, ionic := p.fit(sharedUnit, ph, end, ta)
		tartaric, other := usualTartaric+x, usualOther+sharedOther*x
		if tartaric >= 0 && other >= 0 {
			w.Solved = SolvedShared
			w.Tartaric, w.Other = Tartaric.Concentration(quantity.Molarity(tartaric)), quantity.Molarity(other)
			return strong, checkIonic(ionic)
		}
		w.Composition = measured
	}
	if !r.Tartaric.given {
		p.tot = w.totals()
		if x, strong, ionic := p.fit(tartaricUnit, ph, end, ta); x >= 0 {
			w.Solved, w.Tartaric = SolvedTartaric, Tartaric.Concentration(quantity.Molarity(x))
			return strong, checkIonic(ionic)
		}
	} else if !r.Other.given {
		p.tot = w.totals()
		if x, strong, ionic := p.fit(otherUnit, ph, end, ta); x >= 0 {
			w.Solved, w.Other = SolvedOther, quantity.Molarity(x)
			return strong, checkIonic(ionic)
		}
	}
	return w.shrinkMinor(m, r, ta)
}

// Acids that fit moves, per unit of what it solves for.
var (
	tartaricUnit = &totals{Tartaric: 1}
	otherUnit    = &totals{Lactic: otherAsLactic, Succinic: otherAsSuccinic}
	sharedUnit   = &totals{Tartaric: 1, Lactic: sharedOther * otherAsLactic, Succinic: sharedOther * otherAsSuccinic}
)

// shrinkMinor scales the assumed acids down until the titratable acidity is met.
func (w *Wine) shrinkMinor(m *Medium, r *Measured, ta float64) (strong float64, err error) {
	minor := Composition{}
	for _, a := range w.Assumed {
		*minor.amount(a) = *w.amount(a)
		*w.amount(a) = 0
	}
	unit := minor.totals()
	p := problem{medium: m, tot: w.totals(), calcium: w.calcium(), inert: w.InertSalt.MolPerL()}
	x, ionic := -1.0, 0.0
	if len(w.Assumed) > 0 {
		x, strong, ionic = p.fit(&unit, float64(r.PH), float64(r.EndPoint), ta)
	}
	if x < 0 {
		start, end := p.titrated(float64(r.PH)), p.titrated(float64(r.EndPoint))
		return 0, &Contradiction{PH: r.PH, TA: quantity.Molarity(ta), EndPoint: r.EndPoint,
			Needed: quantity.Molarity(end.need() - start.need())}
	}
	for _, a := range w.Assumed {
		*w.amount(a) = *minor.amount(a) * quantity.Concentration(x)
	}
	w.Solved, w.MinorShare = SolvedMinor, x
	return strong, checkIonic(ionic)
}

// checkIonic refuses readings that no dilute solution gives. Davies' equation turns
// round near 0.4 mol/L; well beyond, pH and ionic strength no longer determine each other.
func checkIonic(ionic float64) error {
	if ionic <= mostIonic {
		return nil
	}
	return &quantity.RangeError{Field: "ionic strength at the end point", Value: ionic, Unit: "mol/L", Min: 0, Max: mostIonic,
		Why: "so much acid at this pH is no wine; activity coefficients are not known there"}
}

const mostIonic = 0.8 // mol/L

// fit finds x such that the acids p.tot + x·unit, whose charges balance at ph,
// take ta of strong base to the end point; and the strong-ion excess. At fixed
// ionic strengths both conditions are linear in x, so only the ionic strengths
// have to settle. x may come out negative; p.tot is left at p.tot + x·unit then as
// well. ionic is the ionic strength at the end point; NaN if it did not settle.
func (p *problem) fit(unit *totals, ph, end, ta float64) (x, strong, ionic float64) {
	base := p.tot
	a := state{lnh: -ph * math.Ln10, ionic: 0.03}
	b := state{lnh: -end * math.Ln10, ionic: 0.1}
	a.h, b.h = math.Exp(a.lnh), math.Exp(b.lnh)
	for range maxIterations {
		needA, squareA, perA, perSquareA := p.split(&a, &base, unit)
		needB, squareB, perB, perSquareB := p.split(&b, &base, unit)
		x = (ta - (needB - needA)) / (perB - perA)
		strong = needA + x*perA
		a.square, b.square = squareA+x*perSquareA, squareB+x*perSquareB
		// A negative x is only looked at for its sign; keep the ionic strength real.
		ionicA := math.Max(0, p.ionicStrength(&a, strong))
		ionicB := math.Max(0, p.ionicStrength(&b, strong+ta))
		settled := math.Abs(ionicA-a.ionic) < 1e-15+1e-14*ionicA && math.Abs(ionicB-b.ionic) < 1e-15+1e-14*ionicB
		a.ionic, b.ionic = ionicA, ionicB
		if settled {
			ionic = ionicB
			break
		}
		ionic = math.NaN()
	}
	for i := range p.tot {
		p.tot[i] = base[i] + x*unit[i]
	}
	return x, strong, ionic
}

// split gives the strong ions needed and Σ c z² of the base, and both per unit
// of the acid solved for.
func (p *problem) split(s *state, base, unit *totals) (need, square, perNeed, perSquare float64) {
	s.g, _ = p.medium.inverseGamma(s.ionic)
	s.hc = s.h * s.g
	s.oh = p.medium.kw * s.g / s.h
	fixed := p.medium.dissociate(base, s.h, s.g)
	per := p.medium.dissociate(unit, s.h, s.g)
	return fixed.charge + s.oh - s.hc, fixed.square, per.charge, per.square
}

// check refuses readings that no must or wine gives.
func (r *Measured) check() error {
	if ph := float64(r.PH); !(ph >= 2 && ph <= 5) {
		return quantity.Check("pH", ph, "", 2, 5)
	}
	if err := checkEndPoint(r.EndPoint); err != nil {
		return err
	}
	if !r.TAAs.Known() {
		return quantity.Check("acid that titratable acidity is expressed as", float64(r.TAAs), "", 0, float64(Sulfuric))
	}
	if ta := Tartaric.FromEquivalents(r.TAAs.Equivalents(r.TA)).GPerL(); !(ta > 0 && ta <= 30) {
		return quantity.Check("titratable acidity", ta, "g/L as tartaric acid", 0.1, 30)
	}
	return nil
}

func (r *Measured) composition() Composition {
	return Composition{
		Tartaric: r.Tartaric.or(0), Malic: r.Malic, Other: r.Other.or(0),
		Lactic: r.Lactic.or(AssumedLactic), Succinic: r.Succinic.or(AssumedSuccinic),
		Citric: r.Citric.or(AssumedCitric), Acetic: r.Acetic.or(AssumedAcetic),
		FreeSO2: r.FreeSO2, CO2: r.CO2, Phosphate: r.Phosphate,
		Potassium: r.Potassium.or(0), Calcium: r.Calcium.or(0),
		Alcohol: r.Alcohol, Temperature: r.Temperature,
	}
}

// minorSets holds every combination of the four minor acids, so that naming the
// assumed ones needs no allocation.
var minorSets = func() (sets [16][]Acid) {
	for mask := range sets {
		for bit, a := range [...]Acid{Lactic, Succinic, Citric, Acetic} {
			if mask&(1<<bit) != 0 {
				sets[mask] = append(sets[mask], a)
			}
		}
	}
	return sets
}()

func (r *Measured) assumed() []Acid {
	mask := 0
	for bit, given := range [...]bool{r.Lactic.given, r.Succinic.given, r.Citric.given, r.Acetic.given} {
		if !given {
			mask |= 1 << bit
		}
	}
	return minorSets[mask]
}

// potassiumShare is potassium over strong-ion excess, both as charge, where
// potassium was not measured. Median over 178 Piedmont wines of potassium over
// alkalinity of ash; nine in ten lie between 0.91 and 1.56 (computed from Forina
// and co-authors 1986). Above 1 since chloride and sulfate are taken off the excess.
const potassiumShare = 1.15

// assumePotassium fills in potassium where it was not measured.
func (w *Wine) assumePotassium(r *Measured) {
	if r.Potassium.given {
		return
	}
	w.PotassiumAssumed = true
	w.Potassium = quantity.Concentration(math.Max(0, w.StrongIons.MolPerL()) * potassiumShare * potassiumMass)
}
