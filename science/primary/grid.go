package primary

import (
	"math"

	"elevage/science/quantity"
)

// A Grid is a law along one temperature history, with its constants worked out at
// fixed steps, for solving the same must many times over with other factors. It is
// made for inference: within 0.05 g/L sugar of [Law.Course] (see the test), a
// hundred times faster.
type Grid struct {
	Step  float64 // hours
	Nodes int
	law   Law
	k     []Constants // at half steps: node i is k[2i]
	w     []worked    // the same, as the inner loop wants them
	at20  float64
}

// NewGrid lays a law over the hours from pitching along a temperature history, °C,
// which it asks for every hour or less and which must be defined from 0 to the last
// node. Steps are 2 h, halved down to 0.5 h until growth multiplies the cells by less
// than e^0.45 in one. It checks nothing: give it a span above 0 (a season is some
// 2000 h) and temperatures within the law's fit, Coldest to Hottest for Coleman;
// beyond, it extrapolates without a word, where Law.Course says so.
func (l Law) NewGrid(temp Temperatures, hours float64) *Grid {
	hottest := quantity.Temperature(-20)
	for h := 0.0; h <= hours; h += 3 {
		hottest = max(hottest, temp(h))
	}
	g := &Grid{law: l, Step: 2, at20: l.At(20).MuMax}
	for g.Step > 0.5 && l.At(hottest).MuMax*g.Step > 0.45 {
		g.Step /= 2
	}
	g.Nodes = int(math.Ceil(hours/g.Step)) + 1
	g.k = make([]Constants, 2*g.Nodes)
	g.w = make([]worked, len(g.k))
	for i := range g.k {
		k := l.At(temp(float64(i) * g.Step / 2))
		g.k[i], g.w[i] = k, worked{k.MuMax, k.KN, k.Beta / k.YieldE, k.KS, k.Death * k.YieldE, k.YieldE}
	}
	return g
}

// worked are constants with the divisions done.
type worked struct{ mu, kn, use, ks, death, yield float64 }

// A Path is one must's course on a grid; its slices are reused from run to run.
type Path struct {
	Sugar  []float64 // g/L at the nodes
	Active []float64 // g/L
	Growth []float64 // mu, 1/h
	Begins float64   // hours: end of the lag
	step   float64
}

// A Draw is a must with the things that only inference varies.
type Draw struct {
	Must
	// Wander multiplies sugar use at each node; nil means 1.
	Wander []float64
	// Brake is the ethanol, g/L inside the model, at which it halves the use of sugar
	// without killing: use / (1 + (E/Brake)²). 0 means none, as in the published law,
	// where only the loss of cells slows a ferment down.
	Brake float64
	// Tail multiplies the law's K_S: above 1 the last sugar goes more slowly, as
	// fructose does. 0 means 1.
	Tail float64
	// Stall is when activity collapses, in hours; +Inf for never. It falls to Rest of
	// what it was, with a time constant of Fade hours.
	Stall, Fade, Rest float64
	From              int // node to carry on from, with State; see [Grid.Lead]
	State             State
}

// State is where a path stands at a node, to be carried on from.
type State struct{ Cells, Active, Sugar float64 }

// Run solves a draw, all of it in g/L and hours, into a path up to and with node last
// (0 to Nodes − 1) and gives the state there. A draw with From begins at that node
// from its State. It checks nothing and allocates only where p is too short; Must's
// domain is that of Law.Course. The method is the grid's own, see Grid for its error.
func (g *Grid) Run(d *Draw, p *Path, last int) State {
	f := d.Factors.filled()
	p.reset(g, last+1)
	total := d.Nitrogen.GPerL()
	for _, a := range d.Added {
		total += a.Amount.GPerL()
	}
	yield := 1.0
	if total > 0 {
		yield = g.law.Cells(total) / total
	}
	s := runner{g: g, d: d, f: f, perCell: 1 / yield, s0: d.Sugar.GPerL(), x0: d.Yeast.GPerL()}
	if s.tail = d.Tail; s.tail == 0 {
		s.tail = 1
	}
	if d.Brake > 0 {
		s.brake = 1 / (d.Brake * d.Brake)
	}
	y := State{s.x0, s.x0, s.s0}
	if d.From > 0 {
		y = d.State
	}
	p.Begins = g.begins(f.Lag)
	for i := d.From; ; {
		s.node(i)
		k := &g.w[2*i]
		p.Sugar[i], p.Active[i], p.Growth[i] = y.Sugar, y.Active, s.mu(y.Cells, k)
		if i >= last {
			return y
		}
		from := float64(i) * g.Step
		switch n := s.stride(i, min(last, g.Nodes-1), y, k); {
		case from+g.Step <= p.Begins:
			i++
		case from < p.Begins: // the lag ends within the step
			y = s.advance(y, i, 1, (from+g.Step-p.Begins)/g.Step)
			i++
		case n > 1:
			before := y
			s.node(i + n/2)
			y = s.advance(y, i, n, 1)
			s.fill(p, i, n, before, y)
			i += n
		default:
			y = s.advance(y, i, 1, 1)
			i++
		}
	}
}

// stride is how many steps may be taken as one: four where growth is over and
// nothing happens fast.
func (r *runner) stride(i, last int, y State, k *worked) int {
	const n = 4
	h := n * r.g.Step
	t := float64(i) * r.g.Step
	if i+n > last || r.mu(y.Cells, k) > 0 || t+h > r.d.Stall && t < r.d.Stall+4*r.d.Fade {
		return 1
	}
	for _, a := range r.d.Added {
		if a.Hours > t-r.g.Step && a.Hours < t+h {
			return 1
		}
	}
	if h*r.use*k.use*y.Active/(r.tail*k.ks+y.Sugar) > 0.5 || h*r.f.Death*k.death*r.s0 > 0.7 {
		return 1
	}
	return n
}

// fill interpolates the nodes inside a long step, by the slopes at its ends.
func (r *runner) fill(p *Path, i, n int, a, b State) {
	h := float64(n) * r.g.Step
	da, db := r.slope(a, &r.g.w[2*i]), r.slope(b, &r.g.w[2*(i+n)])
	for j := 1; j < n; j++ {
		u := float64(j) / float64(n)
		u2, u3 := u*u, u*u*u
		p0, q0, p1, q1 := 2*u3-3*u2+1, u3-2*u2+u, 3*u2-2*u3, u3-u2
		p.Sugar[i+j] = p0*a.Sugar + q0*h*da.Sugar + p1*b.Sugar + q1*h*db.Sugar
		p.Active[i+j] = p0*a.Active + q0*h*da.Active + p1*b.Active + q1*h*db.Active
		p.Growth[i+j] = 0
	}
}

// Lead lays another path's course before node n of p, for a run of a Draw that
// carries on from there. Without it those nodes hold whatever p held.
func (g *Grid) Lead(p, of *Path, n int) {
	p.reset(g, g.Nodes)
	for i := range n {
		p.Sugar[i] = of.At(float64(i) * g.Step)
	}
}

func (p *Path) reset(g *Grid, n int) {
	if cap(p.Sugar) < n {
		p.Sugar, p.Active, p.Growth = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	p.Sugar, p.Active, p.Growth, p.step = p.Sugar[:n], p.Active[:n], p.Growth[:n], g.Step
}

// begins is when a lag of so many hours at 20 °C ends on this grid.
func (g *Grid) begins(lag float64) float64 {
	if lag <= 0 {
		return 0
	}
	done := 0.0
	for i := range g.Nodes {
		part := g.Step * g.k[2*i+1].MuMax / g.at20
		if done+part >= lag {
			return (float64(i) + (lag-done)/part) * g.Step
		}
		done += part
	}
	return float64(g.Nodes) * g.Step
}

// At is the sugar, g/L, some hours after pitching: a cubic between the nodes that
// never rises (Fritsch & Carlson 1980), held at the ends of the path.
func (p *Path) At(hours float64) float64 {
	x := hours / p.step
	n := len(p.Sugar)
	i := min(max(int(x), 0), n-2)
	if n == 1 || x <= 0 {
		return p.Sugar[0]
	}
	if x >= float64(n-1) {
		return p.Sugar[n-1]
	}
	u := x - float64(i)
	a, b := p.Sugar[i], p.Sugar[i+1]
	da, db := b-a, b-a
	if i > 0 {
		da = 0.5 * (b - p.Sugar[i-1])
	}
	if i+2 < n {
		db = 0.5 * (p.Sugar[i+2] - a)
	}
	// keep the curve from rising between two nodes (Fritsch & Carlson 1980)
	lo := 3 * (b - a)
	da, db = max(da, lo), max(db, lo)
	u2, u3 := u*u, u*u*u
	return (2*u3-3*u2+1)*a + (u3-2*u2+u)*da + (3*u2-2*u3)*b + (u3-u2)*db
}

// When is the time in hours from pitching until this much sugar, g/L, is left, linear
// between nodes; 0 if there never was more, +Inf if the path ends before.
func (p *Path) When(left float64) float64 {
	for i, s := range p.Sugar {
		if s <= left {
			if i == 0 {
				return 0
			}
			return (float64(i) - (left-s)/(p.Sugar[i-1]-s)) * p.step
		}
	}
	return math.Inf(1)
}

// Rate is the use of sugar about node i, g/(L·h): the difference between its two
// neighbours, one-sided at the ends; 0 on a path of one node.
func (p *Path) Rate(i int) float64 {
	a, b := max(i-1, 0), min(i+1, len(p.Sugar)-1)
	if a == b {
		return 0
	}
	return (p.Sugar[a] - p.Sugar[b]) / (float64(b-a) * p.step)
}

type runner struct {
	g       *Grid
	d       *Draw
	f       LotFactors
	perCell float64 // g nitrogen per g cells
	s0, x0  float64
	n       float64 // nitrogen given so far, g/L
	use     float64 // factor on sugar use in this step
	brake   float64 // 1/Brake²
	tail    float64
}

// node sets what holds from node i on.
func (r *runner) node(i int) {
	t := float64(i) * r.g.Step
	r.n = r.d.Nitrogen.GPerL()
	for _, a := range r.d.Added {
		if a.Hours <= t+r.g.Step/2 {
			r.n += a.Amount.GPerL()
		}
	}
	r.use = r.f.Beta
	if r.d.Wander != nil {
		r.use *= r.d.Wander[min(i, len(r.d.Wander)-1)]
	}
	if r.d.Fade > 0 && t > r.d.Stall {
		r.use *= r.d.Rest + (1-r.d.Rest)*math.Exp(-(t-r.d.Stall)/r.d.Fade)
	}
}

// traces of nitrogen, g/L, from which no growth worth following comes: the last of
// it would ask for very small steps.
const traces = 1e-5

func (r *runner) mu(x float64, k *worked) float64 {
	n := r.n - (x-r.x0)*r.perCell
	if n <= traces {
		return 0
	}
	return r.f.Mu * k.mu * n / (k.kn + n)
}

func (r *runner) slope(y State, k *worked) State {
	s := y.Sugar
	if s < 0 {
		s = 0
	}
	e := r.s0 - s
	ye := k.yield * e
	use := r.use * k.use * s / ((r.tail*k.ks + s) * (1 + ye*ye*r.brake)) * y.Active
	grow := r.mu(y.Cells, k) * y.Active
	return State{grow, grow - r.f.Death*k.death*e*y.Active, -use}
}

// advance takes n steps from node i as one, or a share of one: Runge–Kutta of fourth
// order, in parts where the last sugar is used up faster than the step can follow.
func (r *runner) advance(y State, i, n int, share float64) State {
	k0, k1, k2 := &r.g.w[2*i], &r.g.w[2*i+n], &r.g.w[min(2*(i+n), len(r.g.w)-1)]
	h := r.g.Step * float64(n) * share
	parts := 1
	if y.Sugar < 60 {
		if y.Sugar < 0.02 {
			return State{y.Cells, y.Active, 0}
		}
		parts = 1 + int(h*r.use*k1.use*y.Active/(r.tail*k1.ks+y.Sugar))
	}
	// nitrogen runs out within a few steps: follow the bend
	if n := r.n - (y.Cells-r.x0)*r.perCell; n > traces && n < 5*h*r.mu(y.Cells, k0)*y.Active*r.perCell {
		parts = max(parts, 4)
	}
	h /= float64(parts)
	for range parts {
		a := r.slope(y, k0)
		b := r.slope(y.plus(a, h/2), k1)
		c := r.slope(y.plus(b, h/2), k1)
		d := r.slope(y.plus(c, h), k2)
		y.Cells += h / 6 * (a.Cells + 2*b.Cells + 2*c.Cells + d.Cells)
		y.Active = max(0, y.Active+h/6*(a.Active+2*b.Active+2*c.Active+d.Active))
		y.Sugar = max(0, y.Sugar+h/6*(a.Sugar+2*b.Sugar+2*c.Sugar+d.Sugar))
	}
	return y
}

func (y State) plus(d State, h float64) State {
	return State{y.Cells + h*d.Cells, y.Active + h*d.Active, y.Sugar + h*d.Sugar}
}
