package acidbase

import (
	"math"

	"elevage/science/quantity"
)

// curveOrder is the number of Chebyshev nodes of a MalolacticCurve.
const curveOrder = 6

// A MalolacticCurve gives the pH and the titratable acidity of one wine as a
// function of the malic acid converted, from a polynomial through exact
// solutions: tens of nanoseconds a look instead of microseconds. It is a plain
// value and holds no reference to the wine.
type MalolacticCurve struct {
	max    float64 // g/L
	ph, ta [curveOrder]float64
	khtPH  [curveOrder]float64 // d pH / d bitartrate lost, per g/L
	co2TA  float64             // titratable acidity per dissolved CO2, g/L as tartaric per g/L
	end    quantity.PH
}

// MalolacticCurve prepares the curve up to an amount of malic acid, which must
// not exceed what the wine holds. Against the full reckoning the pH of usual wines
// is within 1e-6, of any that end below pH 4.2 within 0.002; beyond that hardly any
// buffer is left, and Error says how rough the curve is. Titratable acidity is within
// 1e-6 g/L.
func (w *Wine) MalolacticCurve(most quantity.Concentration) (MalolacticCurve, error) {
	m, err := w.Medium()
	if err != nil {
		return MalolacticCurve{}, err
	}
	return m.MalolacticCurve(w, most)
}

// MalolacticCurve is the method of Wine of the same name, in a medium already made. most
// is 0 to the malic acid that the wine holds, its end point 5 to 9; a
// *quantity.RangeError outside.
func (m *Medium) MalolacticCurve(w *Wine, most quantity.Concentration) (MalolacticCurve, error) {
	c := MalolacticCurve{max: most.GPerL(), end: w.EndPoint}
	if err := quantity.Check("malic acid converted", most.GPerL(), "g/L", 0, w.Malic.GPerL()+1e-12); err != nil {
		return c, err
	}
	if err := checkEndPoint(w.EndPoint); err != nil {
		return c, err
	}
	if err := w.Check(); err != nil {
		return c, err
	}
	p := problem{medium: m, tot: w.totals(), strong: w.StrongIons.MolPerL(), calcium: w.calcium(), inert: w.InertSalt.MolPerL()}
	malic, lactic := p.tot[Malic], p.tot[Lactic]
	at := state{lnh: -3.5 * math.Ln10, ionic: 0.03}
	var ph, ta, kht [curveOrder]float64
	for i := range curveOrder {
		converted := c.max * (1 - chebyshevNode[i]) / 2 / facts[Malic].molarMass
		p.tot[Malic], p.tot[Lactic] = math.Max(0, malic-converted), lactic+converted
		var err error
		if at, err = p.solve(at); err != nil {
			return c, err
		}
		end := p.titrated(float64(w.EndPoint))
		ph[i] = -at.lnh / math.Ln10
		ta[i] = Tartaric.FromEquivalents(quantity.Molarity(end.need() - p.strong)).GPerL()
		if kht[i], err = p.bitartrateSlope(&at); err != nil {
			return c, err
		}
		if i == 0 {
			var carbonic totals
			carbonic[Carbonic] = 1 / facts[Carbonic].molarMass
			c.co2TA = Tartaric.FromEquivalents(quantity.Molarity(m.dissociate(&carbonic, end.h, end.g).charge)).GPerL()
		}
	}
	c.ph, c.ta, c.khtPH = chebyshevFit(&ph), chebyshevFit(&ta), chebyshevFit(&kht)
	return c, nil
}

// bitartrateSecant is the loss of potassium bitartrate, mol/L, over which the
// slope of pH is taken: 0.4 g/L, a usual loss over a winter.
const bitartrateSecant = 0.4 / bitartrateMass

// bitartrateSlope is the change of pH per g/L of potassium bitartrate lost, as a
// secant: each mole takes one of strong ions and one of tartaric acid, and the
// ionic strength falls with them.
func (p *problem) bitartrateSlope(at *state) (float64, error) {
	q := *p
	lost := math.Min(bitartrateSecant, 0.5*q.tot[Tartaric])
	if lost == 0 {
		return 0, nil
	}
	q.tot[Tartaric] -= lost
	q.strong -= lost
	after, err := q.solve(*at)
	return (at.lnh - after.lnh) / math.Ln10 / (lost * bitartrateMass), err
}

// PH is the pH after converting an amount of malic acid. Outside 0 to the most
// that the curve was made for, the nearer end is taken.
func (c *MalolacticCurve) PH(converted quantity.Concentration) quantity.PH {
	return quantity.PH(chebyshev(&c.ph, c.place(converted)))
}

// TA is the titratable acidity, as tartaric acid to the wine's end point, after
// converting an amount of malic acid; the CO2 that the wine was anchored with is in it.
func (c *MalolacticCurve) TA(converted quantity.Concentration) quantity.Concentration {
	return quantity.Concentration(chebyshev(&c.ta, c.place(converted)))
}

// At is PH and TA in one, for a wine that has also lost potassium bitartrate
// and holds carbon dioxide beyond what it was anchored with. Both act linearly
// here: for usual wines that holds to 0.001 pH up to 0.6 g/L of bitartrate and 0.005
// up to 1 g/L, and to 0.002 g/L of titratable acidity.
func (c *MalolacticCurve) At(converted, bitartrateLost, co2 quantity.Concentration) (quantity.PH, quantity.Concentration) {
	x := c.place(converted)
	ph := chebyshev(&c.ph, x) + bitartrateLost.GPerL()*chebyshev(&c.khtPH, x)
	ta := chebyshev(&c.ta, x) - bitartrateLost.GPerL()*taPerBitartrate + co2.GPerL()*c.co2TA
	return quantity.PH(ph), quantity.Concentration(ta)
}

// Error is an estimate of the largest error of PH, from the size of the last terms
// of the polynomial, which shrink geometrically.
func (c *MalolacticCurve) Error() quantity.PH {
	return quantity.PH(math.Max(math.Abs(c.ph[curveOrder-1]), math.Abs(c.ph[curveOrder-2])/2))
}

// Max is the most malic acid that the curve reaches.
func (c *MalolacticCurve) Max() quantity.Concentration { return quantity.Concentration(c.max) }

func (c *MalolacticCurve) place(converted quantity.Concentration) float64 {
	if c.max == 0 {
		return 1
	}
	return math.Max(-1, math.Min(1, 1-2*converted.GPerL()/c.max))
}

// Potassium bitartrate, KC4H5O6.
const (
	taPerBitartrate = 75.0435 / bitartrateMass // g/L titratable acidity as tartaric per g/L lost: one equivalent a mole
)

var (
	chebyshevNode   [curveOrder]float64
	chebyshevCosine [curveOrder][curveOrder]float64
)

func init() {
	for i := range curveOrder {
		angle := math.Pi * (float64(i) + 0.5) / curveOrder
		chebyshevNode[i] = math.Cos(angle)
		for j := range curveOrder {
			chebyshevCosine[j][i] = math.Cos(float64(j) * angle)
		}
	}
}

// chebyshevFit turns values at the nodes into coefficients.
func chebyshevFit(values *[curveOrder]float64) (c [curveOrder]float64) {
	for j := range c {
		for i, v := range values {
			c[j] += v * chebyshevCosine[j][i]
		}
		c[j] *= 2.0 / curveOrder
	}
	c[0] /= 2
	return c
}

// chebyshev evaluates by Clenshaw's recurrence.
func chebyshev(c *[curveOrder]float64, x float64) float64 {
	var b1, b2 float64
	for j := curveOrder - 1; j > 0; j-- {
		b1, b2 = c[j]+2*x*b1-b2, b1
	}
	return c[0] + x*b1 - b2
}
