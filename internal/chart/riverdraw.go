package chart

import (
	"math"
	"strconv"
	"strings"
)

// SVG is the drawing.
func (c River) SVG(size Size) string {
	p := c.plan(size)
	var pairs []string
	if c.PerYear > 0 { // not shrunk to the page, and read out by place
		pairs = []string{"width", num(p.w), "height", num(p.y1 + axisRoom),
			"data-from", strconv.FormatInt(p.t.from.Unix(), 10), "data-to", strconv.FormatInt(p.t.to.Unix(), 10), "data-a", num(p.t.a), "data-b", num(p.t.b), "data-now", num(p.nowX)}
	}
	s := begin(c.ID, size, p.w, p.y1+axisRoom, c.Title, c.describe(), "river", pairs...)
	d := riverDraw{riverPlan: p, s: s, room: &floorplan{within: box{0, 0, p.w, p.y1}}}
	drawTimeAxis(s, p.t, p.y1, p.y1-p.y0)
	s.line(p.t.a, p.y1, p.t.b, p.y1, "stroke-opacity", "0.7")
	s.group("class", "flows")
	for i := range p.flows {
		d.flow(&p.flows[i])
	}
	s.close()
	if d.hasNow() { // no word is written under the line of today
		d.room.block(box{d.nowX - 1, nowTop, d.nowX + 1, d.y1})
	}
	for _, st := range p.stages {
		d.reach(st)
	}
	d.now()
	return s.end()
}

type riverDraw struct {
	*riverPlan
	s    *svg
	room *floorplan
}

// flow draws wine crossing, as thick all the way as its volume.
func (d *riverDraw) flow(f *crossing) {
	var line path
	mx := (f.x0 + f.x1) / 2
	line.move(f.x0, f.y0)
	line.curve(mx, f.y0, mx, f.y1, f.x1, f.y1)
	title := day(f.At, d.Now) + ": " + litres(f.Litres) + " from " + d.full(f.from.band) + " to " + d.full(f.to.band)
	d.s.titled(title, "path", "d", line.String(), "class", toneClass("flow", f.from.band), "data-out", f.from.of.ID, "data-in", f.to.of.ID,
		"fill", "none", "stroke", "currentColor", "stroke-width", num(f.width), "stroke-opacity", num(f.from.band.Tone.strength()))
}

func toneClass(what string, b Band) string {
	if b.Bottled {
		return what + " bottled"
	}
	return what + " " + map[Tone]string{Dark: "dark", Middle: "middle", Light: "light"}[b.Tone]
}

// reach draws a wine: its bands, the marks on them, and its name over them.
func (d *riverDraw) reach(st *stretch) {
	s := d.s
	s.group("class", "reach", "data-reach", st.ID)
	if st.Link != "" {
		s.start("a", "href", st.Link)
	}
	now := 0.0
	for _, row := range st.rows {
		for _, l := range row {
			d.band(l)
			now += l.band.litres(d.Now)
		}
	}
	words := st.Name
	if now > 0 {
		words += ", " + litres(now)
	}
	d.name(st, words)
	if st.Link != "" {
		s.close()
	}
	for _, row := range st.rows {
		for _, l := range row {
			d.marks(l) // what is expected is worth more room than the vessel's name
			d.vessel(l)
		}
	}
	s.close()
}

// band draws a band: solid up to now, hatched ahead.
func (d *riverDraw) band(l *lane) {
	if len(l.edges) < 2 {
		return
	}
	s := d.s
	var held []string // what it holds from where on, for the reading hand
	for i, q := range l.band.Points {
		held = append(held, num(l.edges[i].x)+","+litres(q.Litres))
	}
	s.b.WriteString(`<g class="band"`)
	s.attrs([]string{"data-name", l.band.Name, "data-held", strings.Join(held, ";")})
	s.b.WriteString("><title>" + attr(d.say(l.band)) + "</title>\n")
	s.open = append(s.open, "g")
	past, ahead := cutEdges(l.edges, d.nowX)
	if len(past) > 1 {
		s.el("path", "class", toneClass("body", l.band), "d", surface(past, l.mid), "fill-opacity", num(strengthOf(l.band)))
		s.el("path", "d", sides(past, l.mid), "fill", "none", "stroke", "currentColor", "stroke-opacity", "0.6", "stroke-width", "0.75")
	}
	if len(ahead) > 1 {
		weight := map[Tone]float64{Dark: 2.2, Middle: 1.4, Light: 0.7}[l.band.Tone]
		if l.band.Bottled {
			weight = 0.4
		}
		s.el("path", "d", surface(ahead, l.mid), "fill", s.hatch("f"+num(weight*10), 6, weight, 0.75, 45))
		s.el("path", "d", sides(ahead, l.mid), "fill", "none", "stroke", "currentColor", "stroke-opacity", "0.6", "stroke-width", "0.75", "stroke-dasharray", "3 3")
	}
	s.close()
}

func strengthOf(b Band) float64 {
	if b.Bottled {
		return 0.08
	}
	return b.Tone.strength()
}

// cutEdges parts a band at a place; both parts end in an edge that closes them.
func cutEdges(es []edge, x float64) (past, ahead []edge) {
	last := 0.0
	for i, e := range es {
		if e.x > x {
			if i == 0 {
				return nil, es
			}
			return append(past, edge{x, 0}), append([]edge{{x, last}}, es[i:]...)
		}
		past, last = append(past, e), e.thick
	}
	return past, nil
}

// surface is the band as one closed shape; a change of volume is a step.
func surface(es []edge, mid float64) string {
	var d path
	d.move(es[0].x, mid-es[0].thick/2)
	for i := 1; i < len(es); i++ {
		d.to(es[i].x, mid-es[i-1].thick/2)
		d.to(es[i].x, mid-es[i].thick/2)
	}
	for i := len(es) - 1; i > 0; i-- {
		d.to(es[i].x, mid+es[i].thick/2)
		d.to(es[i].x, mid+es[i-1].thick/2)
	}
	d.to(es[0].x, mid+es[0].thick/2)
	d.shut()
	return d.String()
}

// sides are its two long edges as lines.
func sides(es []edge, mid float64) string {
	var d path
	for _, sign := range []float64{-1, 1} {
		d.move(es[0].x, mid+sign*es[0].thick/2)
		for i := 1; i < len(es); i++ {
			y := mid + sign*es[i-1].thick/2
			d.to(es[i].x, y)
			if i < len(es)-1 {
				d.to(es[i].x, mid+sign*es[i].thick/2)
			}
		}
	}
	return d.String()
}

// nowTop is below the words that stand at the head of the line of today.
const nowTop = 19.0

func (d *riverDraw) hasNow() bool { return !d.Now.IsZero() && d.t.holds(d.Now) }

// Words that would lie on the line of today stand before it or after it: what is, before;
// what is to come, after.
func (d *riverDraw) before(y float64, words string) spot { return spot{d.nowX - 4, y, "end", words} }
func (d *riverDraw) after(y float64, words string) spot  { return spot{d.nowX + 4, y, "start", words} }

// now draws the line of today over all bands.
func (d *riverDraw) now() {
	if !d.hasNow() {
		return
	}
	s, x := d.s, d.nowX
	s.group("class", "accent now")
	s.line(x, 6, x, d.y1, "stroke-width", "2")
	words := "now " + day(d.Now, d.Now)
	if at, ok := d.room.put(textSize, spot{x + 5, 14, "start", words}, spot{x - 5, 14, "end", words}); ok {
		s.text(at.x, at.y, at.anchor, at.words)
	}
	s.close()
}

// name writes a reach's name over it where it begins, or ends at the edge.
func (d *riverDraw) name(st *stretch, words string) {
	if st.x1 == 0 && st.x0 == 0 {
		return
	}
	for _, w := range []string{words, st.Name, shorten(st.Name, textSize, 160), shorten(st.Name, textSize, 90)} {
		wide := measure(w, textSize)
		x := math.Min(st.x0, d.w-wide-2)
		if x < d.nowX && d.nowX < x+wide+4 && d.nowX > wide+6 { // not across the line of today
			x = d.nowX - wide - 4
		}
		x = math.Max(x, 2)
		if at, ok := d.room.put(textSize, spot{x, st.label, "start", w}); ok && w != "" {
			d.s.text(at.x, at.y, at.anchor, at.words, "class", "name over", "data-from", num(at.x), "data-to", num(math.Max(st.x1-wide, at.x)))
			return
		}
	}
}

// vessel writes a band's own name over its beginning, where there is room.
func (d *riverDraw) vessel(l *lane) {
	if d.dense || !l.of.names() || len(l.edges) == 0 {
		return
	}
	x := l.edges[0].x
	spots := []spot{{x, l.label, "start", l.band.Name}, {x + 8, l.label, "start", l.band.Name}}
	if wide := measure(l.band.Name, smallSize); x < d.nowX && d.nowX < x+wide+8 {
		spots = append(spots, d.before(l.label, l.band.Name), d.after(l.label, l.band.Name))
	}
	if at, ok := d.room.put(smallSize, spots...); ok {
		d.s.text(at.x, at.y, at.anchor, at.words, "class", "vessel over", "font-size", num(smallSize))
	}
}

// marks sets the entries on the band, and over what is expected its words, where
// there is room.
func (d *riverDraw) marks(l *lane) {
	if len(l.edges) == 0 || len(l.band.Marks) == 0 {
		return
	}
	size := 4.5
	if d.dense {
		size = 3
	}
	s := d.s
	s.group("class", "marks")
	for _, m := range l.band.Marks {
		if !d.t.holds(m.At) {
			continue
		}
		x := d.t.at(m.At)
		how, shape := solid, m.Shape
		if !d.Now.IsZero() && m.At.After(d.Now) {
			how = hollow
		}
		if shape == Auto {
			shape = Disc
		}
		s.b.WriteString("<g><title>" + attr(day(m.At, d.Now)+": "+m.Label) + "</title>\n")
		s.open = append(s.open, "g")
		mark(s, shape, x, l.mid, size, how)
		s.close()
		if d.dense || how == solid { // the key says what the shapes are
			continue
		}
		spots := []spot{{x, l.label, "middle", m.Label}, {x - 3, l.label, "start", m.Label}, {x + 3, l.label, "end", m.Label}}
		if x-d.nowX < measure(m.Label, smallSize) {
			spots = append(spots, d.after(l.label, m.Label))
		}
		if at, ok := d.room.put(smallSize, spots...); ok {
			s.text(at.x, at.y, at.anchor, at.words, "class", "over", "font-size", num(smallSize))
		}
	}
	s.close()
}

func (d *riverDraw) say(b Band) string {
	out := d.full(b) + ", " + b.Tone.String()
	if b.Bottled {
		out += ", in bottles"
	}
	if v := b.litres(d.Now); v > 0 {
		out += ", " + litres(v) + " now"
	}
	return out
}
