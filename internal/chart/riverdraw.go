package chart

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
	for _, w := range []string{words, l.band.Name, shorten(l.band.Name, textSize, 130), shorten(l.band.Name, textSize, 90)} {
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
