package track

import (
	"math"

	"elevage/science/acidbase"
	"elevage/science/bayes"
	"elevage/science/quantity"
)

// A chemistry table holds how far pH and titratable acidity move along this wine's
// own buffer curve, as a function of the malic acid it began with and the share
// that is gone. It is made once per belief from exact solutions of the wine
// anchored on its readings, and read thousands of times.
type chemistry struct {
	dph, dta [chemMalic][chemShare]float64
	nodes    [chemMalic]float64
	lnFirst  float64 // ln of the smallest initial malic acid, g/L
	lnStep   float64
	spread   float64 // SD of ln of the pH rise: what the wine's true pH and TA might make it
	khtPH    float64 // pH per g/L bitartrate lost
	khtTA    float64 // TA, g/L, per g/L bitartrate lost
	co2TA    float64 // TA, g/L, per g/L CO2 left in the sample
	doubtful bool    // readings hardly agree: the table rests on stand-ins
}

const (
	chemMalic  = 20
	chemMiddle = 12 // about 2 g/L
	chemShare  = 13
	malicMin   = 0.1 // g/L
	malicMax   = 12.0
)

// bufferDoubt is the SD of ln of the buffer capacity that remains after anchoring:
// acids assumed, not measured, and constants of dissociation in wine (judged).
const bufferDoubt = 0.12

func newChemistry(f Facts, ph quantity.PH) *chemistry {
	c := &chemistry{lnFirst: math.Log(malicMin), lnStep: math.Log(malicMax/malicMin) / (chemMalic - 1)}
	for i := range c.nodes {
		c.nodes[i] = c.malic(i)
	}
	ta := or(f.TA, assumed.ta)
	// Readings that exclude each other are stood in for by a wine of more acid, and
	// that failing by a middling one; the belief flags it.
	for tries := 0; !c.fill(f, ph, ta); tries++ {
		c.doubtful = true
		if ta++; tries > 4 {
			f, ph, ta = Facts{}, assumed.ph, assumed.ta
		}
	}
	base := c.dph[chemMiddle][chemShare-1]
	taSpread := quantity.Concentration(0.2)
	if f.TA == nil {
		taSpread = 1.2
	}
	byPH := math.Log(c.middling(f, ph+0.06, ta) / base)
	byTA := math.Log(c.middling(f, ph, ta+taSpread) / base)
	c.spread = math.Sqrt(bufferDoubt*bufferDoubt + byPH*byPH + byTA*byTA)
	if !(c.spread < 0.5) {
		c.spread, c.doubtful = 0.3, true
	}
	return c
}

// fill reports whether wines up to 0.5 g/L malic acid could be anchored.
func (c *chemistry) fill(f Facts, ph quantity.PH, ta quantity.Concentration) bool {
	good := -1
	for i := range chemMalic {
		if c.row(i, f, ph, ta) {
			good = i
		} else {
			c.extend(i, good)
		}
	}
	return good >= 6
}

// row works out one initial malic acid; false if no wine has it with these readings.
func (c *chemistry) row(i int, f Facts, ph quantity.PH, ta quantity.Concentration) bool {
	m0 := c.malic(i)
	w, err := acidbase.Anchor(acidbase.Measured{PH: ph, TA: ta, EndPoint: or(f.TAEndPoint, assumed.endPoint), Malic: quantity.Concentration(m0),
		FreeSO2: or(f.FreeSO2, 0), Alcohol: or(f.Alcohol, assumed.alcohol), Temperature: 20})
	if err != nil {
		return false
	}
	curve, err := w.MalolacticCurve(quantity.Concentration(m0))
	if err != nil {
		return false
	}
	ph0, ta0 := curve.At(0, 0, 0)
	for j := range chemShare {
		p, t := curve.At(quantity.Concentration(m0*share(j)), 0, 0)
		c.dph[i][j], c.dta[i][j] = float64(p-ph0), float64(t-ta0)
	}
	p, t := curve.At(0, 0.1, 0)
	c.khtPH, c.khtTA = float64(p-ph0)/0.1, float64(t-ta0)/0.1
	_, t = curve.At(0, 0, 0.1)
	c.co2TA = float64(t-ta0) / 0.1
	return true
}

// middling is the rise of pH of a middling malic acid, all converted, by other readings.
func (c *chemistry) middling(f Facts, ph quantity.PH, ta quantity.Concentration) float64 {
	other := *c
	if !other.row(chemMiddle, f, ph, ta) {
		other.fill(f, ph, ta)
	}
	return other.dph[chemMiddle][chemShare-1]
}

// extend stands in for wines that cannot be (more malic acid than the titratable
// acidity has room for) by the last that can, in proportion to what is converted.
func (c *chemistry) extend(i, good int) {
	if good < 0 {
		return
	}
	for j := 0; j < chemShare; j++ {
		converted := c.malic(i) * share(j)
		m := c.malic(good)
		if converted <= m {
			c.dph[i][j], c.dta[i][j] = c.at(m, m-converted)
			continue
		}
		p, t := c.dph[good][chemShare-1], c.dta[good][chemShare-1]
		c.dph[i][j], c.dta[i][j] = p*converted/m, t*converted/m
	}
}

func (c *chemistry) malic(i int) float64 { return math.Exp(c.lnFirst + float64(i)*c.lnStep) }

func share(j int) float64 { return float64(j) / (chemShare - 1) }

// A place is where an initial malic acid lies in the table.
type place struct {
	row  int
	part float64 // of the way to the next row
	per  float64 // shares per g/L
	m0   float64
}

func (c *chemistry) place(m0 float64) place {
	x := math.Min(math.Max((bayes.Log(m0)-c.lnFirst)/c.lnStep, 0), chemMalic-1.000001)
	i := int(x)
	// Linear in malic acid, as the changes nearly are.
	return place{row: i, part: (m0 - c.nodes[i]) / (c.nodes[i+1] - c.nodes[i]), per: (chemShare - 1) / m0, m0: m0}
}

// at is the change of pH and of titratable acidity from m0 to m left, g/L.
func (c *chemistry) at(m0, m float64) (dph, dta float64) {
	p := c.place(m0)
	return c.between(&p, m)
}

// between is at with the place of m0 worked out beforehand.
func (c *chemistry) between(p *place, m float64) (dph, dta float64) {
	y := (p.m0 - m) * p.per
	if y < 0 {
		y = 0
	} else if y > chemShare-1.000001 {
		y = chemShare - 1.000001
	}
	j := int(y)
	fy := y - float64(j)
	i, fx := p.row, p.part
	a, b := (1-fx)*(1-fy), (1-fx)*fy
	d, e := fx*(1-fy), fx*fy
	dph = a*c.dph[i][j] + b*c.dph[i][j+1] + d*c.dph[i+1][j] + e*c.dph[i+1][j+1]
	dta = a*c.dta[i][j] + b*c.dta[i][j+1] + d*c.dta[i+1][j] + e*c.dta[i+1][j+1]
	return dph, dta
}
