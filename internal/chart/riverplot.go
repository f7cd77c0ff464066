package chart

import (
	"math"
	"sort"
)

// riverPlot is a River laid out for one size.
type riverPlot struct {
	River
	s      *svg
	t      timescale
	perL   float64 // user units a litre
	bend   float64 // how far along a flow needs to cross
	lanes  map[string]*lane
	flows  []crossing
	room   *floorplan
	y0, y1 float64
}

// lane is where a band lies: the middle of its beginning, its words, its edges.
type lane struct {
	band       Band
	mid, label float64
	edges      []edge
}

// edge is the band's upper and lower side at one place.
type edge struct{ x, top, foot float64 }

// crossing is a flow on its way from one band to another.
type crossing struct {
	Flow
	from, to       *lane
	width          float64
	x0, y0, x1, y1 float64 // its middle where it leaves and arrives
}

const riverLabel = 19.0

// SVG is the drawing.
func (c River) SVG(size Size) string {
	w, most, bend := size.width(), 26.0, 26.0
	if size == Wide {
		most, bend = 42, 52
	}
	p := &riverPlot{River: c, bend: bend, lanes: map[string]*lane{}, perL: 1, y0: 22}
	p.span(4, w-4)
	p.layLanes(most)
	p.s = begin(c.ID, size, w, p.y1+axisRoom, c.Title, c.describe(), "river")
	p.room = &floorplan{within: box{0, 0, w, p.y1}}
	drawTimeAxis(p.s, p.t, p.y1, p.y1-p.y0)
	p.s.line(p.t.a, p.y1, p.t.b, p.y1, "stroke-opacity", "0.7")
	for i := range p.flows {
		p.drawFlow(&p.flows[i])
	}
	for _, b := range c.Bands {
		p.drawBand(p.lanes[b.ID])
	}
	p.drawNow()
	for _, b := range c.Bands {
		p.drawName(p.lanes[b.ID])
	}
	for _, b := range c.Bands {
		p.drawMarks(p.lanes[b.ID])
	}
	return p.s.end()
}

// layLanes gives each band its place from the top and follows its edges.
func (p *riverPlot) layLanes(most float64) {
	big := 0.0
	for _, b := range p.Bands {
		big = math.Max(big, b.most())
	}
	if big > 0 {
		p.perL = most / big
	}
	y := p.y0
	for _, b := range p.Bands {
		thick := p.thick(b.most())
		p.lanes[b.ID] = &lane{band: b, label: y + 13, mid: y + riverLabel + thick/2}
		y += riverLabel + thick + 12
	}
	p.y1 = y
	for _, f := range p.Flows {
		from, to := p.lanes[f.From], p.lanes[f.To]
		if from == nil || to == nil || from == to || !(f.Litres > 0) || !p.t.holds(f.At) {
			continue
		}
		x := p.t.at(f.At)
		p.flows = append(p.flows, crossing{Flow: f, from: from, to: to, width: math.Max(f.Litres*p.perL, 1), x0: x, x1: math.Min(x+p.bend, p.t.b)})
	}
	for _, b := range p.Bands {
		p.follow(p.lanes[b.ID])
	}
}

func (p *riverPlot) thick(litres float64) float64 {
	if !(litres > 0) || math.IsInf(litres, 1) {
		return 0
	}
	return math.Max(litres*p.perL, 2.5)
}

// change is what happens to a band's edges at one place.
type change struct {
	x    float64
	do   func(e *edge)
	soft bool // a slope instead of a step
}

// follow works out a band's edges: wine that leaves takes its share off the side
// it leaves by, wine that comes adds to the side it comes from, and what else the
// volume did (lees, topping from outside) is taken evenly off both.
func (p *riverPlot) follow(l *lane) {
	pts := l.band.Points
	if len(pts) == 0 || pts[0].At.After(p.t.to) {
		return
	}
	var todo []change
	begin := p.t.at(pts[0].At)
	first := p.thick(pts[0].Litres)
	gone := map[int64]float64{} // what flows account for, by moment
	came := map[int64]bool{}    // moments at which wine came, a bend later
	for i := range p.flows {
		f := &p.flows[i]
		k := f.At.UnixMilli()
		switch l {
		case f.from:
			gone[k] -= f.width
			todo = append(todo, change{x: f.x0, do: func(e *edge) { f.y0 = take(e, f.width, f.to.mid > l.mid) }})
		case f.to:
			if f.At.Equal(pts[0].At) { // the band begins with it
				begin = f.x1
				f.y1 = l.mid
				continue
			}
			gone[k] += f.width
			came[k] = true
			todo = append(todo, change{x: f.x1, do: func(e *edge) { f.y1 = give(e, f.width, f.from.mid > l.mid) }})
		}
	}
	for i := 1; i < len(pts); i++ {
		rest := p.thick(pts[i].Litres) - p.thick(pts[i-1].Litres) - gone[pts[i].At.UnixMilli()]
		if pts[i].At.After(p.t.to) || pts[i].At.Before(p.t.from) || math.Abs(rest) < 0.01 {
			continue
		}
		x := p.t.at(pts[i].At)
		if came[pts[i].At.UnixMilli()] {
			x = math.Min(x+p.bend, p.t.b)
		}
		todo = append(todo, change{x: x, soft: true, do: func(e *edge) { e.top -= rest / 2; e.foot += rest / 2 }})
	}
	sort.SliceStable(todo, func(i, j int) bool { return todo[i].x < todo[j].x })
	l.edges = run(edge{begin, l.mid - first/2, l.mid + first/2}, todo, p.t.b)
}

// take lets wine out at a side and returns the middle of what leaves.
func take(e *edge, width float64, down bool) float64 {
	if down {
		e.foot -= width
		return e.foot + width/2
	}
	e.top += width
	return e.top - width/2
}

// give lets wine in at a side and returns the middle of what comes.
func give(e *edge, width float64, fromBelow bool) float64 {
	if fromBelow {
		e.foot += width
		return e.foot - width/2
	}
	e.top -= width
	return e.top + width/2
}

// run follows the changes along; a band whose sides meet has ended.
func run(at edge, todo []change, end float64) []edge {
	const slope = 5.0
	out := []edge{at}
	for _, c := range todo {
		at.x = math.Max(at.x, c.x)
		out = append(out, at)
		c.do(&at)
		if at.foot < at.top {
			at.top = (at.top + at.foot) / 2
			at.foot = at.top
		}
		if c.soft {
			at.x = math.Min(at.x+slope, end)
		}
		out = append(out, at)
	}
	if at.foot-at.top > 0.2 {
		at.x = math.Max(at.x, end)
		out = append(out, at)
	}
	return out
}

// span settles the dates shown.
func (p *riverPlot) span(a, b float64) {
	from, to := p.From, p.To
	for _, band := range p.Bands {
		for _, q := range band.Points {
			if p.From.IsZero() && (from.IsZero() || q.At.Before(from)) {
				from = q.At
			}
			if p.To.IsZero() && q.At.After(to) {
				to = q.At
			}
		}
		for _, m := range band.Marks {
			if p.To.IsZero() && m.At.After(to) {
				to = m.At
			}
		}
	}
	if from.IsZero() {
		from = p.Now
	}
	if p.To.IsZero() && !p.Now.IsZero() && !to.After(p.Now) { // always some way ahead
		to = p.Now.Add(p.Now.Sub(from) / 5)
	}
	if !to.After(from) {
		to = from.AddDate(0, 0, 1)
	}
	p.t = timescale{from: from, to: to, a: a, b: b}
}
