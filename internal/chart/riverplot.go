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

// drawFlow draws wine crossing, as thick all the way as its volume.
func (p *riverPlot) drawFlow(f *crossing) {
	var d path
	mx := (f.x0 + f.x1) / 2
	d.move(f.x0, f.y0)
	d.curve(mx, f.y0, mx, f.y1, f.x1, f.y1)
	title := day(f.At, p.Now) + ": " + litres(f.Litres) + " from " + f.from.band.Name + " to " + f.to.band.Name
	p.s.titled(title, "path", "d", d.String(), "fill", "none", "stroke", "currentColor",
		"stroke-width", num(f.width), "stroke-opacity", num(f.from.band.Tone.strength()))
	const steps = 12 // keep words off it
	for i := range steps + 1 {
		u := float64(i) / steps
		v := 1 - u
		x := v*v*v*f.x0 + 3*v*v*u*mx + 3*v*u*u*mx + u*u*u*f.x1
		y := v*v*(v+3*u)*f.y0 + u*u*(u+3*v)*f.y1
		r := f.width/2 + 2
		p.room.block(box{x - r, y - r, x + r, y + r})
	}
}

// drawBand draws a band: solid up to now, hatched ahead.
func (p *riverPlot) drawBand(l *lane) {
	if len(l.edges) < 2 {
		return
	}
	s := p.s
	s.b.WriteString(`<g class="band"><title>` + attr(p.say(l.band)) + "</title>\n")
	s.open = append(s.open, "g")
	past, ahead := cutEdges(l.edges, p.nowX())
	if len(past) > 1 {
		s.el("path", "d", surface(past), "fill-opacity", num(l.band.Tone.strength()))
		s.el("path", "d", sides(past), "fill", "none", "stroke", "currentColor", "stroke-opacity", "0.6", "stroke-width", "0.75")
	}
	if len(ahead) > 1 {
		weight := map[Tone]float64{Dark: 2.2, Middle: 1.4, Light: 0.7}[l.band.Tone]
		s.el("path", "d", surface(ahead), "fill", s.hatch("f"+num(weight*10), 6, weight, 0.75, 45))
		s.el("path", "d", sides(ahead), "fill", "none", "stroke", "currentColor", "stroke-opacity", "0.6", "stroke-width", "0.75", "stroke-dasharray", "3 3")
	}
	s.close()
}

func (p *riverPlot) nowX() float64 {
	if p.Now.IsZero() {
		return p.t.b
	}
	return p.t.at(p.Now)
}

func cutEdges(es []edge, x float64) (past, ahead []edge) {
	for i, e := range es {
		if e.x <= x {
			past = append(past, e)
			continue
		}
		if i == 0 {
			return nil, es
		}
		a := es[i-1]
		f := (x - a.x) / (e.x - a.x)
		cut := edge{x, a.top + (e.top-a.top)*f, a.foot + (e.foot-a.foot)*f}
		return append(past, cut), append([]edge{cut}, es[i:]...)
	}
	return past, nil
}

func surface(es []edge) string {
	var d path
	d.move(es[0].x, es[0].top)
	for _, e := range es[1:] {
		d.to(e.x, e.top)
	}
	for i := len(es) - 1; i >= 0; i-- {
		d.to(es[i].x, es[i].foot)
	}
	d.shut()
	return d.String()
}

// sides are the two edges as lines, left open where wine steps in or out.
func sides(es []edge) string {
	var d path
	d.move(es[0].x, es[0].top)
	for i, e := range es[1:] {
		if e.x == es[i].x {
			d.move(e.x, e.top)
			continue
		}
		d.to(e.x, e.top)
	}
	d.move(es[0].x, es[0].foot)
	for i, e := range es[1:] {
		if e.x == es[i].x {
			d.move(e.x, e.foot)
			continue
		}
		d.to(e.x, e.foot)
	}
	return d.String()
}

// drawNow draws the line of today over all bands.
func (p *riverPlot) drawNow() {
	if p.Now.IsZero() || !p.t.holds(p.Now) {
		return
	}
	x := p.t.at(p.Now)
	p.s.group("class", "accent now")
	p.s.line(x, 6, x, p.y1, "stroke-width", "2")
	words := "now " + day(p.Now, p.Now)
	if at, ok := p.room.put(textSize, spot{x + 5, 14, "start", words}, spot{x - 5, 14, "end", words}); ok {
		p.s.text(at.x, at.y, at.anchor, at.words)
	}
	p.s.close()
	p.room.block(box{x - 1, 6, x + 1, p.y1})
}

// drawName writes a band's name over it, with what it holds now: over its
// beginning if there is room, else at its end.
func (p *riverPlot) drawName(l *lane) {
	if len(l.edges) == 0 {
		return
	}
	words := l.band.Name
	if v := l.band.litres(p.Now); v > 0 {
		words += ", " + litres(v)
	}
	x, end := l.edges[0].x, l.edges[len(l.edges)-1].x
	for _, w := range []string{words, l.band.Name, shorten(l.band.Name, textSize, 90)} {
		if w == "" {
			continue
		}
		tries := []spot{{x, l.label, "start", w}, {x + 14, l.label, "start", w}}
		if now := p.nowX(); now > x {
			tries = append(tries, spot{now + 6, l.label, "start", w}, spot{now - 6, l.label, "end", w})
		}
		tries = append(tries, spot{end, l.label, "end", w}, spot{x - 6, l.label, "end", w})
		if at, ok := p.room.put(textSize, tries...); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "class", "name")
			return
		}
	}
}

// drawMarks sets the entries on the band and their words above it, where there is room.
func (p *riverPlot) drawMarks(l *lane) {
	if len(l.edges) == 0 {
		return
	}
	p.s.group("class", "marks")
	for _, m := range l.band.Marks {
		if !p.t.holds(m.At) {
			continue
		}
		x := p.t.at(m.At)
		how, shape := solid, m.Shape
		if !p.Now.IsZero() && m.At.After(p.Now) {
			how = hollow
		}
		if shape == Auto {
			shape = Disc
		}
		p.s.b.WriteString("<g><title>" + attr(day(m.At, p.Now)+": "+m.Label) + "</title>\n")
		p.s.open = append(p.s.open, "g")
		mark(p.s, shape, x, l.middle(x), 4.5, how)
		p.s.close()
		if at, ok := p.room.put(smallSize, spot{x, l.label, "middle", m.Label}, spot{x - 3, l.label, "start", m.Label}, spot{x + 3, l.label, "end", m.Label}); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize))
		}
	}
	p.s.close()
}

// middle is the height of the band's middle at a place.
func (l *lane) middle(x float64) float64 {
	for i := len(l.edges) - 1; i >= 0; i-- {
		if l.edges[i].x <= x {
			return (l.edges[i].top + l.edges[i].foot) / 2
		}
	}
	return l.mid
}

func (p *riverPlot) say(b Band) string {
	out := b.Name + ", " + b.Tone.String()
	if v := b.litres(p.Now); v > 0 {
		out += ", " + litres(v) + " now"
	}
	return out
}
