package chart

import (
	"math"
	"time"
)

// timePlot is a plot of values over time, laid out for one size: what the fan
// and the line chart have in common.
type timePlot struct {
	s     *svg
	t     timescale
	v     scale
	ticks []tick
	plot  box
	room  *floorplan
	keys  []kindKey
	lane  float64 // height of the strip for the finish, under the plot
	foot  float64 // where the plot with its axis ends and the legend begins

	quantity, unit string
	now            time.Time
	readings       []Reading
	marks          []Mark
	limit          *Limit
	finish         *Span
}

const finishLane = 22.0

// timeFrame is what a time plot is made from.
type timeFrame struct {
	id, title, desc, class string
	quantity, unit         string
	now, from, to          time.Time
	log                    bool
	readings               []Reading
	marks                  []Mark
	limit                  *Limit
	finish                 *Span
	times                  []time.Time // beyond those of readings and marks
	values                 []float64   // beyond those of readings and limit
	extra                  float64     // room on the right, for names of lines
}

// layOut opens the drawing, settles both scales and draws the frame.
func layOut(f timeFrame, size Size) *timePlot {
	w, h := size.width(), 250.0
	if size == Wide {
		h = 320
	}
	p := &timePlot{quantity: f.quantity, unit: f.unit, now: f.now, readings: f.readings, marks: f.marks, limit: f.limit, finish: f.finish}
	if f.finish != nil && !f.finish.From.IsZero() {
		p.lane, h = finishLane, h+finishLane
	}
	p.keys = kinds(f.readings)
	legend := legendRows(p.keys, w-8)
	p.foot = h
	p.plot = box{38, 46, w - 12 - f.extra, h - axisRoom - p.lane}
	p.s = begin(f.id, size, w, h+float64(len(legend))*20, f.title, f.desc, f.class)
	p.room = &floorplan{within: box{0, 0, w, h}}
	p.timeScale(f)
	p.valueScale(f, size)
	p.frame()
	drawLegend(p.s, legend, h+14)
	return p
}

func (p *timePlot) timeScale(f timeFrame) {
	from, to := f.from, f.to
	grow := func(t time.Time) {
		if t.IsZero() {
			return
		}
		if f.from.IsZero() && (from.IsZero() || t.Before(from)) {
			from = t
		}
		if f.to.IsZero() && (to.IsZero() || t.After(to)) {
			to = t
		}
	}
	for _, t := range f.times {
		grow(t)
	}
	for _, r := range f.readings {
		grow(r.At)
	}
	for _, m := range f.marks {
		grow(m.At)
	}
	if from.IsZero() {
		from = f.now
	}
	if !to.After(from) {
		to = from.AddDate(0, 0, 1)
	}
	p.t = timescale{from: from, to: to, a: p.plot.x0, b: p.plot.x1}
}

func (p *timePlot) valueScale(f timeFrame, size Size) {
	var e extent
	e.add(f.values...)
	for _, r := range f.readings {
		e.add(r.Value, r.Lo, r.Hi)
	}
	if f.limit != nil {
		e.add(f.limit.Value)
	}
	n := 5
	if size == Wide {
		n = 6
	}
	if f.log {
		lo, hi := positive(e)
		p.v = scale{lo: lo, hi: hi, a: p.plot.y1, b: p.plot.y0, log: true}
		p.ticks = logTicks(lo, hi, n+1)
		return
	}
	lo, hi := e.axisRange(e.lo >= 0 && e.lo < 0.5*e.hi, n)
	p.v = scale{lo: lo, hi: hi, a: p.plot.y1, b: p.plot.y0}
	p.ticks = linearTicks(lo, hi, n)
}

// positive is a range for a logarithmic axis: at most four decades below the top.
func positive(e extent) (lo, hi float64) {
	hi = e.hi
	if !e.any || hi <= 0 {
		return 0.01, 1
	}
	lo = math.Max(e.lo, hi*1e-4)
	if lo <= 0 || lo >= hi {
		lo = hi / 100
	}
	return lo, hi
}

// frame draws the grid and both axes with the unit.
func (p *timePlot) frame() {
	s := p.s
	s.group("class", "axis")
	for _, k := range p.ticks {
		y := p.v.at(k.v)
		s.line(p.plot.x0, y, p.plot.x1, y, "stroke-opacity", "0.18")
		if at, ok := p.room.put(textSize, spot{p.plot.x0 - 6, y + 4.5, "end", k.label}); ok {
			s.text(at.x, at.y, at.anchor, at.words)
		}
	}
	s.close()
	unit := shorten(axisName(p.quantity, p.unit), textSize, s.w-10)
	p.room.block(labelBox(2, 12, "start", unit, textSize))
	s.text(2, 12, "start", unit, "class", "unit")
	s.line(p.plot.x0, p.plot.y1, p.plot.x1, p.plot.y1, "stroke-opacity", "0.7")
	drawTimeAxis(s, p.t, p.plot.y1+p.lane, p.plot.y1+p.lane-p.plot.y0)
	p.room.block(box{0, p.plot.y1 + p.lane + 1, s.w, p.plot.y1 + p.lane + axisRoom})
}

func axisName(quantity, unit string) string {
	switch {
	case unit == "":
		return quantity
	case quantity == "":
		return unit
	}
	return quantity + ", " + unit
}

// drawNow draws the line of today.
func (p *timePlot) drawNow() {
	if p.now.IsZero() || !p.t.holds(p.now) {
		return
	}
	s, x := p.s, p.t.at(p.now)
	s.group("class", "accent now")
	s.line(x, p.plot.y0-16, x, p.plot.y1, "stroke-width", "2")
	words := "now " + day(p.now, p.now)
	if at, ok := p.room.put(textSize, spot{x + 5, p.plot.y0 - 6, "start", words}, spot{x - 5, p.plot.y0 - 6, "end", words}); ok {
		s.text(at.x, at.y, at.anchor, at.words)
	}
	s.close()
	p.room.block(box{x - 1, p.plot.y0 - 16, x + 1, p.plot.y1})
}

// drawLimit draws the line that decides.
func (p *timePlot) drawLimit() {
	if p.limit == nil || p.limit.Value < p.v.lo || p.limit.Value > p.v.hi {
		return
	}
	s, y := p.s, p.v.at(p.limit.Value)
	s.group("class", "limit")
	s.line(p.plot.x0, y, p.plot.x1, y, "stroke-width", "1.75", "stroke-dasharray", "1.5 3.5", "stroke-linecap", "round")
	words := shorten(p.limit.Label, smallSize, p.plot.x1-p.plot.x0-8)
	tries := []spot{
		{p.plot.x0 + 4, y - 5, "start", words}, {p.plot.x1 - 2, y - 5, "end", words},
		{p.plot.x0 + 4, y + 13, "start", words}, {p.plot.x1 - 2, y + 13, "end", words},
	}
	if at, ok := p.room.put(smallSize, tries...); ok {
		s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize), "class", "over")
	}
	s.close()
}

// drawFinish marks, in a strip on the time axis, when it is thought to be over.
func (p *timePlot) drawFinish() {
	f := p.finish
	if f == nil || f.From.IsZero() {
		return
	}
	s, y := p.s, p.plot.y1+p.lane/2
	s.group("class", "accent finish")
	defer s.close()
	words := shorten(f.Label, textSize, p.plot.x1-p.plot.x0-30)
	if f.From.After(p.t.to) { // beyond the paper: words and an arrow
		p.arrow(p.plot.x1, y)
		if at, ok := p.room.put(textSize, spot{p.plot.x1 - 8, y + 4.5, "end", words}); ok {
			s.text(at.x, at.y, at.anchor, at.words)
		}
		return
	}
	x0, x1 := p.t.at(f.From), p.plot.x1
	open := f.To.IsZero() || f.To.After(p.t.to)
	if !open {
		x1 = math.Max(p.t.at(f.To), x0+3)
	}
	p.room.block(box{x0 - 4, y - 8, x1 + 8, y + 8})
	s.line(x0, y, x1, y, "stroke-width", "5")
	if open {
		p.arrow(x1, y)
	}
	if !f.Mid.IsZero() && p.t.holds(f.Mid) {
		mark(s, Diamond, p.t.at(f.Mid), y, 7, solid)
	}
	for _, w := range []string{words, shorten(words, textSize, x0-p.plot.x0-12)} {
		if w == "" {
			continue
		}
		if at, ok := p.room.put(textSize, spot{x0 - 8, y + 4.5, "end", w}, spot{x1 + 10, y + 4.5, "start", w}); ok {
			s.text(at.x, at.y, at.anchor, at.words)
			return
		}
	}
}

// arrow says that it goes on beyond the paper.
func (p *timePlot) arrow(x, y float64) {
	var d path
	d.move(x+1, y-6)
	d.to(x+9, y)
	d.to(x+1, y+6)
	p.s.el("path", "d", d.String(), "fill", "none", "stroke", "currentColor", "stroke-width", "2.5")
}

// drawReadings draws each reading with its error bar.
func (p *timePlot) drawReadings() {
	p.s.group("class", "readings")
	for _, r := range p.readings {
		if p.t.holds(r.At) {
			drawReading(p.s, r, keyOf(p.keys, r), p.t.at(r.At), p.v, p.unit, p.now)
		}
	}
	p.s.close()
}

// drawMarks writes what was done in two rows over the plot; a label without room
// leaves its tick, and stands in the table.
func (p *timePlot) drawMarks() {
	p.s.group("class", "marks")
	for _, m := range p.marks {
		if !p.t.holds(m.At) {
			continue
		}
		x := p.t.at(m.At)
		p.s.titled(day(m.At, p.now)+": "+m.Label, "path", "d", "M"+num(x)+" "+num(p.plot.y0+2)+"L"+num(x-4)+" "+num(p.plot.y0-6)+"L"+num(x+4)+" "+num(p.plot.y0-6)+"Z")
		y := p.plot.y0 - 9
		if at, ok := p.room.put(smallSize, spot{x, y, "middle", m.Label}, spot{x - 2, y, "start", m.Label}, spot{x + 2, y, "end", m.Label},
			spot{x, y - 13, "middle", m.Label}, spot{x - 2, y - 13, "start", m.Label}, spot{x + 2, y - 13, "end", m.Label}); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize))
		}
	}
	p.s.close()
}

// hit is one unseen column that names what stands at a date: a browser shows its
// title on hover, and the page's script walks the columns by key.
type hit struct {
	at    time.Time
	y     float64
	words string
}

func (p *timePlot) drawHits(hits []hit) {
	if len(hits) == 0 {
		return
	}
	p.s.group("class", "hits", "fill-opacity", "0")
	for i, q := range hits {
		x := p.t.at(q.at)
		x0, x1 := p.plot.x0, p.plot.x1
		if i > 0 {
			x0 = (p.t.at(hits[i-1].at) + x) / 2
		}
		if i < len(hits)-1 {
			x1 = (x + p.t.at(hits[i+1].at)) / 2
		}
		p.s.titled(q.words, "rect", "x", num(x0), "y", num(p.plot.y0), "width", num(x1-x0), "height", num(p.plot.y1-p.plot.y0),
			"data-x", num(x), "data-y", num(q.y))
	}
	p.s.close()
}

// curve is a line through points in order of time.
func (p *timePlot) curve(n int, at func(i int) (time.Time, float64)) string {
	var d path
	for i := range n {
		t, v := at(i)
		if i == 0 {
			d.move(p.t.at(t), p.v.at(v))
			continue
		}
		d.to(p.t.at(t), p.v.at(v))
	}
	return d.String()
}

// ribbon is the surface between two values over time.
func (p *timePlot) ribbon(n int, at func(i int) (t time.Time, lo, hi float64)) string {
	var d path
	for i := range n {
		t, _, hi := at(i)
		if i == 0 {
			d.move(p.t.at(t), p.v.at(hi))
			continue
		}
		d.to(p.t.at(t), p.v.at(hi))
	}
	for i := n - 1; i >= 0; i-- {
		t, lo, _ := at(i)
		d.to(p.t.at(t), p.v.at(lo))
	}
	d.shut()
	return d.String()
}

// thin keeps at most so many of a row, first and last among them.
func thin[T any](in []T, most int) []T {
	if len(in) <= most || most < 2 {
		return in
	}
	out := make([]T, most)
	for i := range out {
		out[i] = in[i*(len(in)-1)/(most-1)]
	}
	return out
}
