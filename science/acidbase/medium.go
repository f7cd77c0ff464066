package acidbase

import (
	"math"

	"elevage/science/quantity"
)

// An Activity says how activity coefficients follow from ionic strength. The
// zero value is the Davies equation.
type Activity struct{ ionSize Angstrom }

// Angstrom is a length of 10⁻¹⁰ m, the unit that ion sizes are stated in.
type Angstrom float64

// Davies is log γ = −A z² (√I/(1+√I) − 0.3 I); good to about 0.02 in log γ of
// singly charged ions up to I = 0.1 mol/L, usable up to 0.5.
var Davies = Activity{}

// DebyeHuckel is the extended Debye-Hückel equation log γ = −A z² √I/(1 + B a √I)
// with one ion size a for all ions; good up to about I = 0.1 mol/L. The OIV's
// mixed constants of sulfur dioxide (OIV-MA-AS323-04C) correspond to a = 5.
func DebyeHuckel(a Angstrom) Activity { return Activity{ionSize: a} }

// An Option changes how a Medium is built.
type Option func(Medium) Medium

// WithActivity chooses the activity equation; Davies is the default.
func WithActivity(a Activity) Option {
	return func(m Medium) Medium { m.activity = a; return m }
}

// WithCarboxylShift replaces CarboxylShift: the rise of each pK per % vol of
// ethanol, 0 to 0.03.
func WithCarboxylShift(perPercentVol float64) Option {
	return func(m Medium) Medium { m.shift = perPercentVol; return m }
}

// A Medium is what the acids are dissolved in: water with ethanol, at a
// temperature. It holds every equilibrium constant moved there, so that many
// wines of one strength can be solved without working them out again.
//
// The zero Medium is not usable; NewMedium makes one.
type Medium struct {
	alcohol     quantity.Strength
	temperature quantity.Temperature
	activity    Activity
	shift       float64
	a, ba       float64 // Debye-Hückel A; B times ion size
	kw          float64
	k           [acidCount][3]float64 // thermodynamic constants, mol/L; 0 where a step does not exist
}

// Limits of the medium. Beyond them there are no data for the constants.
const (
	maxAlcohol     = 20.0 // % vol: end of the OIV table and of the tabulated dielectric constants
	minTemperature = -5.0 // °C: coldest that wine is chilled to
	maxTemperature = 40.0 // °C: end of Åkerlöf's dielectric constants used here
)

// NewMedium moves the constants to a strength (0 to 20 % vol) and a temperature
// (−5 to 40 °C); anything else is a *quantity.RangeError. Below 0 °C solutions
// are marked as extrapolated.
//
// Ethanol raises each pK by CarboxylShift per % vol (sulfur dioxide by 0.020,
// OIV-MA-AS323-04C table 1 at 20 °C) and raises the Debye-Hückel coefficient by
// lowering the dielectric constant. Temperature acts by van 't Hoff's equation.
func NewMedium(alcohol quantity.Strength, t quantity.Temperature, options ...Option) (Medium, error) {
	m := Medium{alcohol: alcohol, temperature: t, shift: CarboxylShift}
	if err := quantity.Check("alcohol", alcohol.Percent(), "% vol", 0, maxAlcohol); err != nil {
		return m, err
	}
	if err := quantity.Check("temperature", t.Celsius(), "°C", minTemperature, maxTemperature); err != nil {
		return m, err
	}
	for _, o := range options {
		m = o(m)
	}
	if err := quantity.Check("pK shift with ethanol", m.shift, "per % vol", 0, 0.03); err != nil {
		return m, err
	}
	if err := quantity.Check("ion size", float64(m.activity.ionSize), "Å", 0, 12); err != nil {
		return m, err
	}
	var b float64
	m.a, b = debyeHuckel(alcohol, t)
	m.ba = b * float64(m.activity.ionSize)
	m.kw = exp10(-water.at(t.Kelvin()))
	for acid := range m.k {
		for step, d := range steps[acid] {
			if d.ligand != 0 {
				m.k[acid][step] = exp10(-d.at(t.Kelvin()) - m.shiftOf(d)*alcohol.Percent())
			}
		}
	}
	return m, nil
}

func (m *Medium) shiftOf(d dissociation) float64 {
	if d.shift == general {
		return m.shift
	}
	return d.shift
}

// Alcohol is the strength of the medium.
func (m *Medium) Alcohol() quantity.Strength { return m.alcohol }

// Temperature is the temperature of the medium.
func (m *Medium) Temperature() quantity.Temperature { return m.temperature }

// PK is the thermodynamic pK of a step (1, 2, 3) of an acid in this medium, at
// zero ionic strength; NaN if the acid has no such step.
func (m *Medium) PK(a Acid, step int) float64 {
	if a >= acidCount || step < 1 || step > 3 || m.k[a][step-1] == 0 {
		return math.NaN()
	}
	return -math.Log10(m.k[a][step-1])
}

// inverseGamma is 1/γ of a singly charged ion; an ion of charge z has its z²-th
// power. steepness is d ln(1/γ) / d ionic strength.
func (m *Medium) inverseGamma(ionic float64) (g, steepness float64) {
	r := math.Sqrt(ionic)
	if m.activity.ionSize > 0 {
		d := 1 / (1 + m.ba*r)
		return exp10(m.a * r * d), math.Ln10 * m.a * 0.5 / r * d * d
	}
	d := 1 / (1 + r)
	return exp10(m.a * (r*d - 0.3*ionic)), math.Ln10 * m.a * (0.5/r*d*d - 0.3)
}

func exp10(x float64) float64 { return math.Exp(x * math.Ln10) }

// totals is the amount of each acid, all its forms together, in mol/L.
type totals [acidCount]float64

// anions is what the acids contribute at one acidity and ionic strength: sums over
// acids of c times moments of the charge z of their forms. A form of charge z
// grows as h^(−z) g^(z²), so the covariances are the derivatives.
type anions struct {
	charge float64 // Σ c ⟨z⟩: equivalents of negative charge, mol/L
	square float64 // Σ c ⟨z²⟩
	slope  float64 // Σ c cov(z, z)   = d charge / d ln(1/h)
	mixed  float64 // Σ c cov(z, z²)  = d charge / d ln g = d square / d ln(1/h)
	fourth float64 // Σ c cov(z², z²) = d square / d ln g
}

// dissociate adds up the acids at hydrogen activity h and inverse activity
// coefficient g. With u_j the amount of form j relative to the undissociated
// acid, u_j = u_{j−1} K_j g^(2j−1) / h, since γ of charge j is g^(−j²).
func (m *Medium) dissociate(tot *totals, h, g float64) (sum anions) {
	x1 := g / h
	x2 := x1 * g * g
	x3 := x2 * g * g
	for i := range tot {
		c := tot[i]
		if c == 0 {
			continue
		}
		k := &m.k[i]
		u1 := k[0] * x1
		if k[1] == 0 {
			n := u1 / (1 + u1)
			v := c * n * (1 - n)
			sum.charge += c * n
			sum.square += c * n
			sum.slope += v
			sum.mixed += v
			sum.fourth += v
			continue
		}
		u2 := u1 * k[1] * x2
		u3 := u2 * k[2] * x3
		d := 1 / (1 + u1 + u2 + u3)
		n := (u1 + 2*u2 + 3*u3) * d
		q := (u1 + 4*u2 + 9*u3) * d
		sum.charge += c * n
		sum.square += c * q
		sum.slope += c * (q - n*n)
		sum.mixed += c * ((u1+8*u2+27*u3)*d - n*q)
		sum.fourth += c * ((u1+16*u2+81*u3)*d - q*q)
	}
	return sum
}

// fractions is the share of each form of one acid, undissociated first.
func (m *Medium) fractions(a Acid, h, g float64) (f [4]float64) {
	f[0] = 1
	x := g / h
	sum := 1.0
	for j := range 3 {
		f[j+1] = f[j] * m.k[a][j] * x
		x *= g * g
		sum += f[j+1]
	}
	for j := range f {
		f[j] /= sum
	}
	return f
}

// Permittivity is the relative dielectric constant of the medium (Åkerlöf 1932,
// values from memory, confirmed by the ionic-strength term of the OIV's table 2).
func (m *Medium) Permittivity() float64 { return permittivity(m.alcohol, m.temperature) }

// DebyeHuckel gives the coefficients A (molar scale, decimal logarithm) and B
// (per ångström) of the medium.
func (m *Medium) DebyeHuckel() (a, b float64) { return debyeHuckel(m.alcohol, m.temperature) }
