package acidbase

import (
	"errors"
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// A Solution is a composition at equilibrium.
type Solution struct {
	PH            quantity.PH       // activity scale: −log10 of the hydrogen ion's activity
	IonicStrength quantity.Molarity // self-consistent
	// Extrapolated is set when the ionic strength lies beyond the range for which
	// the activity equation is recommended (0.5 mol/L for Davies, 0.1 for extended
	// Debye-Hückel), where the pH is a guess; or when the temperature is below
	// 0 °C, where the constants are carried on from warmer solutions.
	Extrapolated bool

	medium Medium
	tot    totals
	h, g   float64
	slope  float64
}

// ErrNoEquilibrium is returned when no pH between −1 and 15 balances the charges.
var ErrNoEquilibrium = errors.New("acidbase: no pH between -1 and 15 balances the charges")

// PH is the pH at which the charges balance, as Solve finds it, with its errors.
func (c *Composition) PH() (quantity.PH, error) {
	s, err := c.Solve()
	return s.PH, err
}

// Solve finds the pH and the ionic strength at which
//
//	strong-ion excess + [H⁺] = [OH⁻] + Σ acids Σ forms z [form]
//
// holds, with activity coefficients taken at the ionic strength that results.
// Bad input comes back as a *quantity.RangeError.
func (c *Composition) Solve() (Solution, error) {
	m, err := c.Medium()
	if err != nil {
		return Solution{}, err
	}
	return m.Solve(c)
}

// Solve solves a composition in this medium; the composition's own alcohol and
// temperature are not looked at. Input outside Composition.Check is a
// *quantity.RangeError; charges that nothing balances are ErrNoEquilibrium.
func (m *Medium) Solve(c *Composition) (Solution, error) {
	if err := c.Check(); err != nil {
		return Solution{}, err
	}
	p := problem{medium: m, tot: c.totals(), strong: c.StrongIons.MolPerL(), calcium: c.calcium(), inert: c.InertSalt.MolPerL()}
	e, err := p.solve(state{lnh: -3.5 * math.Ln10, ionic: 0.03})
	if err != nil {
		return Solution{}, err
	}
	return Solution{
		PH: quantity.PH(-e.lnh / math.Ln10), IonicStrength: quantity.Molarity(e.ionic),
		Extrapolated: e.ionic > m.activity.reach() || m.temperature < 0,
		medium:       *m, tot: p.tot, h: e.h, g: e.g, slope: e.slope,
	}, nil
}

// reach is the ionic strength up to which an activity equation is recommended.
func (a Activity) reach() float64 {
	if a.ionSize > 0 {
		return 0.1
	}
	return 0.5
}

// Forms is how much of an acid is in each form, undissociated first, mol/L.
// Forms that do not exist are zero.
func (s *Solution) Forms(a Acid) [4]quantity.Molarity {
	var out [4]quantity.Molarity
	if a >= acidCount {
		return out
	}
	for i, f := range s.medium.fractions(a, s.h, s.g) {
		out[i] = quantity.Molarity(f * s.tot[a])
	}
	return out
}

// ActivityCoefficient is γ of an ion with charge z (either sign) in the solution.
func (s *Solution) ActivityCoefficient(z int) float64 {
	return math.Pow(s.g, -float64(z*z))
}

// problem is a charge balance to be solved; all in mol/L.
type problem struct {
	medium                 *Medium
	tot                    totals
	strong, calcium, inert float64
}

// state is where a solution stands.
type state struct {
	lnh, ionic float64
	h, g       float64
	steepness  float64 // d ln g / d ionic
	hc, oh     float64 // concentrations of H⁺ and OH⁻
	anions
}

// speciate fills in everything that follows from lnh and ionic strength.
func (p *problem) speciate(s *state) {
	s.h = math.Exp(s.lnh)
	s.g, s.steepness = p.medium.inverseGamma(s.ionic)
	s.hc = s.h * s.g
	s.oh = p.medium.kw * s.g / s.h
	s.anions = p.medium.dissociate(&p.tot, s.h, s.g)
}

// ionicStrength is ½ Σ c z²; the strong ions count as singly charged but for calcium.
func (p *problem) ionicStrength(s *state, strong float64) float64 {
	return 0.5*(math.Abs(strong-2*p.calcium)+4*p.calcium+s.hc+s.oh+s.square) + p.inert
}

// need is the strong-ion excess that balances the charges as they stand.
func (s *state) need() float64 { return s.charge + s.oh - s.hc }

const (
	lnhTolerance   = 1e-14 // relative
	ionicTolerance = 1e-16 // mol/L
	leastIonic     = 1e-9  // mol/L; water alone has 1e-7
	maxIterations  = 60
)

// solve finds pH and ionic strength together by Newton's method on
//
//	F1 = need − strong = 0    and    F2 = I − ½ Σ c z² = 0
//
// in the variables ln(1/h) and I, from a starting point. Should it not settle,
// the nested search takes over.
func (p *problem) solve(s state) (state, error) {
	for range maxIterations {
		p.speciate(&s)
		f1 := s.need() - p.strong
		f2 := s.ionic - p.ionicStrength(&s, p.strong)
		a11 := s.slope + s.oh + s.hc
		a12 := (s.mixed + s.oh - s.hc) * s.steepness
		a21 := -0.5 * (s.mixed + s.oh - s.hc)
		a22 := 1 - 0.5*(s.fourth+s.oh+s.hc)*s.steepness
		det := a11*a22 - a12*a21
		up, next := -f1/a11, s.ionic-f2 // where Newton's step would lead astray: one at a time
		if a22 > 0.1 && det > 0 {
			up, next = -(a22*f1-a12*f2)/det, s.ionic-(a11*f2-a21*f1)/det
		}
		if math.IsNaN(up) || math.IsNaN(next) {
			break
		}
		up = math.Max(-2, math.Min(2, up)) // step in ln(1/h)
		next = math.Max(leastIonic, next)
		settled := math.Abs(up) <= lnhTolerance*math.Abs(s.lnh) && math.Abs(next-s.ionic) <= ionicTolerance+1e-14*next
		s.lnh -= up
		s.ionic = next
		if settled {
			p.speciate(&s)
			return s, nil
		}
	}
	return p.search()
}

// search brackets the pH and, at each trial, lets the ionic strength settle
// first. Slow and sure: the strong-ion excess needed rises with pH.
func (p *problem) search() (state, error) {
	medium := *p.medium // a copy, so that only this rare path has the medium on the heap
	q := problem{medium: &medium, tot: p.tot, strong: p.strong, calcium: p.calcium, inert: p.inert}
	lack := func(ph float64) float64 {
		s := q.titrated(ph)
		return s.need() - q.strong
	}
	ph, err := root.Between(lack, -1, 15)
	if err != nil {
		return state{}, ErrNoEquilibrium
	}
	return q.titrated(ph), nil
}

// titrated lets the ionic strength settle at a given pH, the strong ions being
// whatever balances the charges there: the wine titrated to that pH. Newton's
// method on I − ½ Σ c z².
func (p *problem) titrated(ph float64) state {
	s := state{lnh: -ph * math.Ln10, ionic: 0.05}
	for range maxIterations {
		p.speciate(&s)
		need := s.need()
		f := s.ionic - p.ionicStrength(&s, need)
		slope := 1 - 0.5*(math.Copysign(1, need-2*p.calcium)*(s.mixed+s.oh-s.hc)+s.fourth+s.oh+s.hc)*s.steepness
		if slope < 0.1 {
			slope = 1
		}
		next := math.Max(leastIonic, math.Max(s.ionic/8, s.ionic-f/slope))
		moved := math.Abs(next - s.ionic)
		s.ionic = next
		if moved <= ionicTolerance+1e-14*next {
			p.speciate(&s)
			return s
		}
	}
	return s
}
