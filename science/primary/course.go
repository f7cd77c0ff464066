package primary

import (
	"math"

	"elevage/science/ode"
	"elevage/science/quantity"
)

// A Course is a ferment solved from pitching on.
type Course struct {
	must         Must
	parts        []*ode.Solution // between additions
	Extrapolated bool            // the temperature left the law's 11 to 35 °C
}

// Status is a ferment at one moment.
type Status struct {
	Sugar    quantity.Concentration
	Ethanol  quantity.Concentration // inside the model; for display see [Alcohol]
	Cells    quantity.Concentration // all that were formed
	Active   quantity.Concentration
	Nitrogen quantity.Concentration
}

// Indices of the unknowns.
const (
	cells = iota
	active
	nitrogen
	ethanol
	sugar
	unknowns
)

// Course solves
//
//	dX/dt   =  mu·XA                       mu   = mu_max·N/(K_N + N)
//	dXA/dt  =  mu·XA − k_d'·E·XA
//	dN/dt   = −mu·XA / Y_XN                beta = beta_max·S/(K_S + S)
//	dE/dt   =  beta·XA
//	dS/dt   = −beta·XA / Y_ES
//
// over a span of days (0 to 200), to a relative tolerance of 1e-11. Y_XN is what the
// law gives for all nitrogen, additions included. A lag delays everything; the
// constants follow the temperature. Bad input comes back as a
// *quantity.RangeError. The result says whether the temperature left the range of
// the law; −5 to 50 °C is taken.
func (l Law) Course(m Must, temp Temperatures, span quantity.Days) (*Course, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	if err := quantity.Check("span", float64(span), "days", 0, 200); err != nil {
		return nil, err
	}
	c := &Course{must: m}
	total := m.Nitrogen.GPerL()
	for _, a := range m.Added {
		total += a.Amount.GPerL()
	}
	yield := 1.0
	if total > 0 {
		yield = l.Cells(total) / total
	}
	y := make([]float64, unknowns)
	y[cells], y[active], y[nitrogen], y[sugar] = m.Yeast.GPerL(), m.Yeast.GPerL(), m.Nitrogen.GPerL(), m.Sugar.GPerL()
	from, end := 0.0, 24*float64(span)
	start, err := l.delay(m.Factors.filled(), temp, end)
	if err != nil {
		return nil, err
	}
	f := l.system(m.Factors.filled(), temp, yield, start)
	for _, stop := range append(additions(m.Added, end), Nitrogen{Hours: end}) {
		// the lag ends with a corner: a segment of its own keeps the order of the method
		for _, to := range []float64{math.Min(math.Max(start, from), stop.Hours), stop.Hours} {
			if to <= from {
				continue
			}
			s, err := ode.Solver{Relative: 1e-11, Absolute: 1e-13}.Solve(f, from, to, y)
			if err != nil {
				return nil, err
			}
			c.parts = append(c.parts, s)
			y, from = s.At(to), to
		}
		y[nitrogen] += stop.Amount.GPerL()
	}
	for h := 0.0; h <= end; h += 6 {
		t := temp(h)
		if err := quantity.Check("temperature of the must", t.Celsius(), "°C", -5, 50); err != nil {
			return nil, err
		}
		c.Extrapolated = c.Extrapolated || t < Coldest || t > Hottest
	}
	return c, nil
}

// additions in order, those after the end left out.
func additions(a []Nitrogen, end float64) []Nitrogen {
	var out []Nitrogen
	for _, x := range a {
		if x.Hours >= end {
			continue
		}
		i := len(out)
		for i > 0 && out[i-1].Hours > x.Hours {
			i--
		}
		out = append(out[:i], append([]Nitrogen{x}, out[i:]...)...)
	}
	return out
}

// delay is when the lag ends: when as much of it has passed as growth at 20 °C would
// have needed, warm hours counting for more.
func (l Law) delay(f LotFactors, temp Temperatures, end float64) (float64, error) {
	if f.Lag <= 0 {
		return 0, nil
	}
	at20 := l.At(20).MuMax
	s, err := ode.Solver{Relative: 1e-11, Absolute: 1e-12, MaxStep: 6}.Solve(
		func(t float64, _, dy []float64) { dy[0] = l.At(temp(t)).MuMax / at20 }, 0, end, []float64{0},
		ode.Event{At: func(_ float64, y []float64) float64 { return y[0] - f.Lag }, Terminal: true})
	if err != nil || len(s.Hits) == 0 {
		return end, err
	}
	return s.Hits[0].T, nil
}

func (l Law) system(f LotFactors, temp Temperatures, yield, start float64) ode.System {
	return func(t float64, y, dy []float64) {
		if t < start {
			clear(dy)
			return
		}
		k := l.At(temp(t))
		n, s := math.Max(0, y[nitrogen]), math.Max(0, y[sugar])
		mu := f.Mu * k.MuMax * n / (k.KN + n)
		beta := f.Beta * k.Beta * s / (k.KS + s)
		dy[cells] = mu * y[active]
		dy[active] = (mu - f.Death*k.Death*y[ethanol]) * y[active]
		dy[nitrogen] = -mu * y[active] / yield
		dy[ethanol] = beta * y[active]
		dy[sugar] = -beta * y[active] / k.YieldE
	}
}

// At is the ferment some hours after pitching, held at the ends of the span (0 to
// End); a course of no span stays as it was pitched.
func (c *Course) At(hours float64) Status {
	if len(c.parts) == 0 {
		return Status{Sugar: c.must.Sugar, Cells: c.must.Yeast, Active: c.must.Yeast, Nitrogen: c.must.Nitrogen}
	}
	y := c.partAt(hours).At(hours)
	g := func(i int) quantity.Concentration { return quantity.Concentration(y[i]) }
	return Status{Sugar: g(sugar), Ethanol: g(ethanol), Cells: g(cells), Active: g(active), Nitrogen: g(nitrogen)}
}

func (c *Course) partAt(hours float64) *ode.Solution {
	for _, p := range c.parts {
		if hours <= p.T[len(p.T)-1] {
			return p
		}
	}
	return c.parts[len(c.parts)-1]
}

// End is the length of the span in hours.
func (c *Course) End() float64 {
	if len(c.parts) == 0 {
		return 0
	}
	last := c.parts[len(c.parts)-1]
	return last.T[len(last.T)-1]
}

// When is the time from pitching until this much sugar is left; false if it never
// comes so far within the span.
func (c *Course) When(left quantity.Concentration) (quantity.Days, bool) {
	end := c.End()
	if c.must.Sugar <= left {
		return 0, true
	}
	if c.At(end).Sugar > left {
		return 0, false
	}
	lo, hi := 0.0, end
	for range 60 {
		if mid := (lo + hi) / 2; c.At(mid).Sugar > left {
			lo = mid
		} else {
			hi = mid
		}
	}
	return quantity.Days(hi / 24), true
}

// Peak is the fastest use of sugar, as a mean over an hour, and how long after the
// beginning it comes; both are 0 in a course that uses none.
func (c *Course) Peak() (quantity.Rate, quantity.Days) { return c.peakOver(1) }

// peakOver takes the mean over a window of hours, which is moved on by 0.05 h.
func (c *Course) peakOver(window float64) (quantity.Rate, quantity.Days) {
	best, at := 0.0, 0.0
	for t := 0.0; t <= c.End(); t += 0.05 {
		r := (c.At(math.Max(0, t-window/2)).Sugar.GPerL() - c.At(t+window/2).Sugar.GPerL()) / window
		if r > best {
			best, at = r, t
		}
	}
	return quantity.Rate(best * 24), quantity.Days(at / 24)
}
