package chart

import (
	"fmt"
	"math"
	"time"
)

// Tone is how dense a band is drawn; it follows the wine, and the table names it.
type Tone int

// The tones, from the densest.
const (
	Dark   Tone = iota // red
	Middle             // rosé, or red must on skins
	Light              // white
)

func (t Tone) String() string {
	switch t {
	case Light:
		return "white"
	case Middle:
		return "rosé"
	}
	return "red"
}

func (t Tone) strength() float64 {
	switch t {
	case Light:
		return 0.2
	case Middle:
		return 0.42
	}
	return 0.72
}

// RiverPoint says that from a moment on the band holds so many litres; none ends it.
type RiverPoint struct {
	At     time.Time
	Litres float64
}

// RiverMark is an entry on a band, or ahead of now something expected.
type RiverMark struct {
	At    time.Time
	Label string
	Shape Shape
}

// Band is one lot (or one parcel) as it flows on.
type Band struct {
	ID, Name string
	Tone     Tone
	Points   []RiverPoint // in order of time
	Marks    []RiverMark
}

// litres is what the band holds at a moment.
func (b Band) litres(t time.Time) float64 {
	v := 0.0
	for _, p := range b.Points {
		if p.At.After(t) {
			break
		}
		v = p.Litres
	}
	return v
}

func (b Band) most() float64 {
	m := 0.0
	for _, p := range b.Points {
		m = math.Max(m, p.Litres)
	}
	return m
}

// Flow is wine that leaves one band for another: a split, a topping, a blend.
// The bands' own points say what they hold before and after.
type Flow struct {
	From, To string // ids of bands
	At       time.Time
	Litres   float64
}

// River shows a cellar over time: bands as thick as their volume, which branch
// and join; ahead of now they are hatched.
type River struct {
	ID, Title, Desc string
	Bands           []Band // from the top
	Flows           []Flow
	Now             time.Time
	From, To        time.Time
}

// Name is the title.
func (c River) Name() string { return c.Title }

// riverPlot is a River laid out for one size.
type riverPlot struct {
	River
	s      *svg
	t      timescale
	perL   float64 // user units a litre
	bend   float64 // how far along a flow needs to cross
	lanes  map[string]*lane
	room   *floorplan
	y0, y1 float64
}

// lane is a band's place: the line its middle follows, and how far it is used up
// above and below at each moment that wine leaves or comes.
type lane struct {
	band  Band
	mid   float64
	label float64
	start float64        // where it begins
	bends map[int64]bool // moments at which it takes wine: its change comes one bend later
	used  map[int64][2]float64
}

const riverLabel = 19.0

// SVG is the drawing.
func (c River) SVG(size Size) string {
	w, most, bend := size.width(), 26.0, 20.0
	if size == Wide {
		most, bend = 42, 36
	}
	p := &riverPlot{River: c, bend: bend, lanes: map[string]*lane{}, perL: 1}
	big := 0.0
	for _, b := range c.Bands {
		big = math.Max(big, b.most())
	}
	if big > 0 {
		p.perL = most / big
	}
	p.y0 = 22
	y := p.y0
	for i := range c.Bands {
		b := c.Bands[i]
		thick := p.thick(b.most())
		p.lanes[b.ID] = &lane{band: b, label: y + 13, mid: y + riverLabel + thick/2, bends: map[int64]bool{}, used: map[int64][2]float64{}}
		y += riverLabel + thick + 12
	}
	p.y1 = y
	p.s = begin(c.ID, size, w, y+axisRoom, c.Title, c.describe(), "river")
	p.room = &floorplan{within: box{0, 0, w, y}}
	p.span(4, w-4)
	drawTimeAxis(p.s, p.t, p.y1, p.y1-p.y0)
	p.s.line(p.t.a, p.y1, p.t.b, p.y1, "stroke-opacity", "0.7")
	p.takeIn()
	for _, f := range c.Flows {
		p.flow(f)
	}
	for _, b := range c.Bands {
		p.band(p.lanes[b.ID])
	}
	p.today()
	for _, b := range c.Bands {
		p.label(p.lanes[b.ID])
	}
	for _, b := range c.Bands {
		p.drawMarks(p.lanes[b.ID])
	}
	return p.s.end()
}

func (p *riverPlot) thick(litres float64) float64 {
	if litres <= 0 {
		return 0
	}
	return math.Max(litres*p.perL, 2.5)
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

// takeIn notes at which moments a band takes wine, since that arrives a bend later.
func (p *riverPlot) takeIn() {
	for _, f := range p.Flows {
		if l, ok := p.lanes[f.To]; ok && p.lanes[f.From] != nil {
			l.bends[f.At.UnixMilli()] = true
		}
	}
}

// share takes room for a flow at a band's edge: below if down, above otherwise.
func (l *lane) share(at time.Time, width float64, down bool) float64 {
	k := at.UnixMilli()
	u := l.used[k]
	side := 0
	if down {
		side = 1
	}
	was := u[side]
	u[side] += width
	l.used[k] = u
	return was
}

// flow draws wine crossing from one band to another.
func (p *riverPlot) flow(f Flow) {
	from, to := p.lanes[f.From], p.lanes[f.To]
	if from == nil || to == nil || from == to || !p.t.holds(f.At) {
		return
	}
	width := p.thick(f.Litres)
	down := to.mid > from.mid
	before := p.thick(from.band.litres(f.At.Add(-time.Millisecond)))
	after := p.thick(to.band.litres(f.At))
	x0 := p.t.at(f.At)
	x1 := math.Min(x0+p.bend, p.t.b)
	out, in := from.share(f.At, width, down), to.share(f.At, width, !down)
	y0, y1 := from.mid+before/2-out-width, to.mid-after/2+in
	if !down {
		y0, y1 = from.mid-before/2+out, to.mid+after/2-in-width
	}
	var d path
	mx := (x0 + x1) / 2
	d.move(x0, y0)
	d.curve(mx, y0, mx, y1, x1, y1)
	d.to(x1, y1+width)
	d.curve(mx, y1+width, mx, y0+width, x0, y0+width)
	d.shut()
	title := fmt.Sprintf("%s: %s L from %s to %s", day(f.At, p.Now), figures(f.Litres), from.band.Name, to.band.Name)
	p.s.titled(title, "path", "d", d.String(), "fill-opacity", num(from.band.Tone.strength()))
}

// edge is one corner of a band's outline.
type edge struct{ x, thick float64 }

// outline follows a band's thickness along the drawing, with a short slope at
// each change; wine that arrives does so one bend late.
func (p *riverPlot) outline(l *lane) []edge {
	const slope = 4.0
	var out []edge
	last := 0.0
	for i, q := range l.band.Points {
		if q.At.After(p.t.to) {
			break
		}
		x := p.t.at(q.At)
		if l.bends[q.At.UnixMilli()] {
			x = math.Min(x+p.bend, p.t.b)
		}
		now := p.thick(q.Litres)
		if i == 0 {
			l.start = x
			out = append(out, edge{x, now})
		} else {
			x = math.Max(x, out[len(out)-1].x)
			out = append(out, edge{x, last}, edge{math.Min(x+slope, p.t.b), now})
		}
		last = now
	}
	if last > 0 {
		out = append(out, edge{p.t.b, last})
	}
	return out
}

// band draws a band: solid up to now, hatched ahead.
func (p *riverPlot) band(l *lane) {
	es := p.outline(l)
	if len(es) < 2 {
		return
	}
	s := p.s
	strength := l.band.Tone.strength()
	s.b.WriteString(`<g class="band"><title>` + attr(p.say(l.band)) + "</title>\n")
	s.open = append(s.open, "g")
	past, ahead := cutEdges(es, p.nowX())
	if len(past) > 1 {
		s.el("path", "d", bandPath(past, l.mid), "fill-opacity", num(strength), "stroke", "currentColor", "stroke-opacity", "0.55", "stroke-width", "0.75")
	}
	if len(ahead) > 1 {
		weight := map[Tone]float64{Dark: 2.2, Middle: 1.4, Light: 0.7}[l.band.Tone]
		s.el("path", "d", bandPath(ahead, l.mid), "fill", s.hatch("f"+num(weight*10), 6, weight, 0.75, 45), "stroke", "currentColor", "stroke-opacity", "0.55", "stroke-width", "0.75", "stroke-dasharray", "3 3")
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
		cut := edge{x, a.thick + (e.thick-a.thick)*(x-a.x)/(e.x-a.x)}
		return append(past, cut), append([]edge{cut}, es[i:]...)
	}
	return past, nil
}

func bandPath(es []edge, mid float64) string {
	var d path
	for i, e := range es {
		if i == 0 {
			d.move(e.x, mid-e.thick/2)
			continue
		}
		d.to(e.x, mid-e.thick/2)
	}
	for i := len(es) - 1; i >= 0; i-- {
		d.to(es[i].x, mid+es[i].thick/2)
	}
	d.shut()
	return d.String()
}

// today draws the line of now over all bands.
func (p *riverPlot) today() {
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

// label writes a band's name over its beginning, with what it holds now.
func (p *riverPlot) label(l *lane) {
	words := l.band.Name
	if v := l.band.litres(p.Now); v > 0 {
		words += ", " + figures(v) + " L"
	}
	x := clamp(l.start, p.t.a, p.t.b)
	for _, w := range []string{words, l.band.Name, shorten(l.band.Name, textSize, p.t.b-x), shorten(l.band.Name, textSize, x-p.t.a)} {
		if w == "" {
			continue
		}
		if at, ok := p.room.put(textSize, spot{x, l.label, "start", w}, spot{x - 4, l.label, "end", w}, spot{p.t.b, l.label, "end", w}); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "class", "name")
			return
		}
	}
}

// drawMarks sets the entries on the band and their words above it, where there is room.
func (p *riverPlot) drawMarks(l *lane) {
	p.s.group("class", "marks")
	for _, m := range l.band.Marks {
		if !p.t.holds(m.At) {
			continue
		}
		x := p.t.at(m.At)
		how := solid
		if !p.Now.IsZero() && m.At.After(p.Now) {
			how = hollow
		}
		shape := m.Shape
		if shape == Auto {
			shape = Disc
		}
		p.s.b.WriteString("<g><title>" + attr(day(m.At, p.Now)+": "+m.Label) + "</title>\n")
		p.s.open = append(p.s.open, "g")
		mark(p.s, shape, x, l.mid, 4.5, how)
		p.s.close()
		if at, ok := p.room.put(smallSize, spot{x, l.label, "middle", m.Label}, spot{x - 3, l.label, "start", m.Label}, spot{x + 3, l.label, "end", m.Label}); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize))
		}
	}
	p.s.close()
}

func (p *riverPlot) say(b Band) string {
	out := b.Name + ", " + b.Tone.String()
	if v := b.litres(p.Now); v > 0 {
		out += ", " + figures(v) + " L now"
	}
	return out
}

func (c River) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	total, alive := 0.0, 0
	for _, b := range c.Bands {
		if v := b.litres(c.Now); v > 0 {
			total += v
			alive++
		}
	}
	return fmt.Sprintf("%d lots over time, each as thick as its volume; %d of them hold %s L now.", len(c.Bands), alive, figures(total))
}

// Table lists what each band held from when, its entries, and every flow.
func (c River) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"date", "lot", "what", "litres"}}
	names := map[string]string{}
	var rows []tableRow
	for _, b := range c.Bands {
		names[b.ID] = b.Name
		for _, q := range b.Points {
			rows = append(rows, tableRow{q.At, []string{day(q.At, c.Now), b.Name, "holds (" + b.Tone.String() + ")", figures(q.Litres)}})
		}
		for _, m := range b.Marks {
			what := m.Label
			if !c.Now.IsZero() && m.At.After(c.Now) {
				what += " (expected)"
			}
			rows = append(rows, tableRow{m.At, []string{day(m.At, c.Now), b.Name, what, ""}})
		}
	}
	for _, f := range c.Flows {
		rows = append(rows, tableRow{f.At, []string{day(f.At, c.Now), names[f.From], "to " + names[f.To], figures(f.Litres)}})
	}
	t.Rows = inOrder(rows)
	return t
}
