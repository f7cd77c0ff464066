package acidbase

import (
	"math"

	"elevage/science/quantity"
)

// Usual end points of a titration.
const (
	EndPointOIV  quantity.PH = 7.0 // OIV-MA-AS313-01: potentiometric, to pH 7
	EndPointAOAC quantity.PH = 8.2 // phenolphthalein, practice in the United States
)

// checkEndPoint refuses end points outside 5 to 9: below, wine acids are far
// from spent; above, phenols that the model does not hold take most of the base.
func checkEndPoint(end quantity.PH) error {
	return quantity.Check("end point", float64(end), "", 5, 9)
}

// TA is the titratable acidity: the strong base that brings the wine to the end
// point, expressed as an acid. Carbon dioxide and free SO2 in the composition
// are titrated with it; take them out first if the sample was degassed.
//
// The sample is taken undiluted; see Titration for a sample made up with water.
func (c *Composition) TA(end quantity.PH, as Acid) (quantity.Concentration, error) {
	eq, err := c.TAEquivalents(end)
	if err != nil {
		return 0, err
	}
	return as.FromEquivalents(eq), nil
}

// TAEquivalents is the titratable acidity in mol/L of charge, as TA has it. The end point
// is 5 to 9: below, wine acids are far from spent; above, phenols that the model does not
// hold take most of the base. A *quantity.RangeError outside.
func (c *Composition) TAEquivalents(end quantity.PH) (quantity.Molarity, error) {
	m, err := c.Medium()
	if err != nil {
		return 0, err
	}
	return m.TA(c, end)
}

// TA is Composition.TAEquivalents in this medium: mol/L of charge, not mass of an acid.
func (m *Medium) TA(c *Composition, end quantity.PH) (quantity.Molarity, error) {
	if err := checkEndPoint(end); err != nil {
		return 0, err
	}
	if err := c.Check(); err != nil {
		return 0, err
	}
	p := problem{medium: m, tot: c.totals(), calcium: c.calcium(), inert: c.InertSalt.MolPerL()}
	s := p.titrated(float64(end))
	return quantity.Molarity(s.need()) - c.StrongIons, nil
}

// BufferCapacity is the strong base per litre and pH unit that the wine takes up
// at its own pH: dB/dpH in mol/L of charge, the ionic strength following along. Errors
// are those of Solve.
func (c *Composition) BufferCapacity() (quantity.Molarity, error) {
	m, err := c.Medium()
	if err != nil {
		return 0, err
	}
	return m.BufferCapacity(c)
}

// BufferCapacity is the method of Composition of the same name in this medium.
func (m *Medium) BufferCapacity(c *Composition) (quantity.Molarity, error) {
	s, err := m.Solve(c)
	if err != nil {
		return 0, err
	}
	p := problem{medium: m, tot: c.totals(), calcium: c.calcium(), inert: c.InertSalt.MolPerL()}
	return p.capacity(float64(s.PH)), nil
}

// capacity is the slope of the titration curve at a pH, the ionic strength
// following along. With y = ln(1/h):
//
//	dN/dy = F + D k dI/dy,  dI/dy = ½ (± dN/dy + D + E k dI/dy)
//
// where N is the strong-ion excess, F its slope at fixed ionic strength, D and E
// the slopes of charge and of Σ c z² with ln g, and k = d ln g / dI.
func (p *problem) capacity(ph float64) quantity.Molarity {
	s := p.titrated(ph)
	f, d, e, k := s.slope+s.oh+s.hc, s.mixed+s.oh-s.hc, s.fourth+s.oh+s.hc, s.steepness
	sign := math.Copysign(1, s.need()-2*p.calcium)
	ionic := 0.5 * (sign*f + d) / (1 - 0.5*e*k - 0.5*sign*d*k)
	return quantity.Molarity((f + d*k*ionic) * math.Ln10)
}

// A TitrationPoint is one point of a titration curve.
type TitrationPoint struct {
	PH   quantity.PH
	Base quantity.Molarity // strong base added so far, mol per litre of wine; negative for strong acid
}

// TitrationCurve gives n points, at even steps of pH from one pH to another
// (0 to 14), before anything precipitates and with nothing lost or diluted.
func (c *Composition) TitrationCurve(from, to quantity.PH, n int) ([]TitrationPoint, error) {
	m, err := c.Medium()
	if err != nil {
		return nil, err
	}
	return m.TitrationCurve(c, from, to, n)
}

// TitrationCurve is the method of Composition of the same name in this medium. n is 2 to
// 100 000; a *quantity.RangeError outside.
func (m *Medium) TitrationCurve(c *Composition, from, to quantity.PH, n int) ([]TitrationPoint, error) {
	if err := quantity.Check("points", float64(n), "", 2, 1e5); err != nil {
		return nil, err
	}
	for _, ph := range [...]quantity.PH{from, to} {
		if err := quantity.Check("pH", float64(ph), "", 0, 14); err != nil {
			return nil, err
		}
	}
	if err := c.Check(); err != nil {
		return nil, err
	}
	p := problem{medium: m, tot: c.totals(), calcium: c.calcium(), inert: c.InertSalt.MolPerL()}
	out := make([]TitrationPoint, n)
	for i := range out {
		ph := float64(from) + (float64(to)-float64(from))*float64(i)/float64(n-1)
		s := p.titrated(ph)
		out[i] = TitrationPoint{PH: quantity.PH(ph), Base: quantity.Molarity(s.need()) - c.StrongIons}
	}
	return out, nil
}
