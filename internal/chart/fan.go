package chart

import (
	"fmt"
	"math"
	"time"
)

// FanPoint is what is believed about one moment: the 5, 25, 50, 75 and 95 %
// points of the value, in the chart's unit.
type FanPoint struct {
	At                      time.Time
	Q05, Q25, Q50, Q75, Q95 float64
}

// Fan is a belief over time with the readings it rests on. Up to Now the fan is
// solid; ahead of it, hatched and dashed.
type Fan struct {
	ID, Title, Desc string // Desc: one sentence; made from the figures when empty
	Quantity, Unit  string
	Points          []FanPoint // in order of time
	Readings        []Reading
	Marks           []Mark // what was done
	Limit           *Limit
	Finish          *Span // when it is thought to be over
	Now             time.Time
	From, To        time.Time // optional: what to show; otherwise everything given
	Log             bool      // value axis by powers of ten; wants values above zero
}

// Name is the title.
func (c Fan) Name() string { return c.Title }

// fanPlot is a Fan laid out for one size.
type fanPlot struct {
	Fan
	s     *svg
	t     timescale
	v     scale
	ticks []tick
	plot  box
	room  *floorplan
	keys  []kindKey
}

// SVG is the drawing.
func (c Fan) SVG(size Size) string {
	w, h := size.width(), 250.0
	if size == Wide {
		h = 320
	}
	keys := kinds(c.Readings)
	left, right, top, foot := 38.0, 12.0, 46.0, 40.0
	legend := legendRows(keys, w-8)
	total := h + float64(len(legend))*20
	p := &fanPlot{Fan: c, keys: keys, plot: box{left, top, w - right, h - foot}}
	p.s = begin(c.ID, size, w, total, c.Title, c.describe(), "fan")
	p.scales(size)
	p.room = &floorplan{within: box{0, 0, w, h}}
	p.frame()
	p.bands()
	p.limitAndNow()
	p.finish()
	p.readings()
	p.marks()
	drawLegend(p.s, legend, h+14)
	p.hits()
	return p.s.end()
}

func (p *fanPlot) scales(size Size) {
	var tv, vv extent
	base := p.Now
	if base.IsZero() && len(p.Points) > 0 {
		base = p.Points[0].At
	}
	see := func(t time.Time) { tv.add(t.Sub(base).Seconds()) }
	for _, q := range p.Points {
		see(q.At)
		vv.add(q.Q05, q.Q95)
	}
	for _, r := range p.Readings {
		see(r.At)
		vv.add(r.Value, r.Lo, r.Hi)
	}
	for _, m := range p.Marks {
		see(m.At)
	}
	if p.Limit != nil {
		vv.add(p.Limit.Value)
	}
	from, to := p.From, p.To
	if from.IsZero() {
		from = base.Add(time.Duration(tv.lo * float64(time.Second)))
	}
	if to.IsZero() {
		to = base.Add(time.Duration(tv.hi * float64(time.Second)))
	}
	if !to.After(from) {
		to = from.AddDate(0, 0, 1)
	}
	p.t = timescale{from: from, to: to, a: p.plot.x0, b: p.plot.x1}
	n := 5
	if size == Wide {
		n = 6
	}
	if p.Log {
		lo, hi := positive(vv)
		p.v = scale{lo: lo, hi: hi, a: p.plot.y1, b: p.plot.y0, log: true}
		p.ticks = logTicks(lo, hi, n+1)
		return
	}
	lo, hi := vv.axisRange(vv.lo >= 0 && vv.lo < 0.5*vv.hi, n)
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
func (p *fanPlot) frame() {
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
	unit := p.Quantity
	if p.Unit != "" {
		unit += ", " + p.Unit
	}
	unit = shorten(unit, textSize, p.s.w-10)
	p.room.block(labelBox(2, 12, "start", unit, textSize))
	s.text(2, 12, "start", unit, "class", "unit")
	drawTimeAxis(s, p.t, p.plot.y1, p.plot.y1-p.plot.y0)
	p.room.block(box{0, p.plot.y1 + 1, s.w, p.plot.y1 + 40})
}

// bands draws the fan: two shades and a line behind now, hatching and dashes ahead.
func (p *fanPlot) bands() {
	past, ahead := splitAt(p.clip(), p.Now)
	s := p.s
	if len(past) > 1 {
		s.group("class", "past")
		s.el("path", "d", p.ribbon(past, outer), "fill-opacity", "0.16", "stroke", "currentColor", "stroke-opacity", "0.35", "stroke-width", "0.75")
		s.el("path", "d", p.ribbon(past, inner), "fill-opacity", "0.26")
		s.el("path", "d", p.median(past), "fill", "none", "stroke", "currentColor", "stroke-width", "2", "stroke-linejoin", "round")
		s.close()
	}
	if len(ahead) > 1 {
		wide := s.hatch("h1", 6, 1, 0.5, 45)
		near := s.hatch("h2", 6, 2.2, 0.6, 45)
		s.group("class", "ahead")
		s.el("path", "d", p.ribbon(ahead, outer), "fill", wide, "stroke", "currentColor", "stroke-opacity", "0.45", "stroke-width", "0.75", "stroke-dasharray", "2 3")
		s.el("path", "d", p.ribbon(ahead, inner), "fill", near)
		s.el("path", "d", p.median(ahead), "fill", "none", "stroke", "currentColor", "stroke-width", "2", "stroke-dasharray", "7 5")
		s.close()
	}
}

// clip keeps the points inside the shown dates.
func (p *fanPlot) clip() []FanPoint {
	var out []FanPoint
	for _, q := range p.Points {
		if p.t.holds(q.At) {
			out = append(out, q)
		}
	}
	return out
}

func outer(q FanPoint) (float64, float64) { return q.Q05, q.Q95 }
func inner(q FanPoint) (float64, float64) { return q.Q25, q.Q75 }

func (p *fanPlot) ribbon(pts []FanPoint, ends func(FanPoint) (float64, float64)) string {
	var d path
	for i, q := range pts {
		_, hi := ends(q)
		if i == 0 {
			d.move(p.t.at(q.At), p.v.at(hi))
			continue
		}
		d.to(p.t.at(q.At), p.v.at(hi))
	}
	for i := len(pts) - 1; i >= 0; i-- {
		lo, _ := ends(pts[i])
		d.to(p.t.at(pts[i].At), p.v.at(lo))
	}
	d.shut()
	return d.String()
}

func (p *fanPlot) median(pts []FanPoint) string {
	var d path
	for i, q := range pts {
		if i == 0 {
			d.move(p.t.at(q.At), p.v.at(q.Q50))
			continue
		}
		d.to(p.t.at(q.At), p.v.at(q.Q50))
	}
	return d.String()
}

// splitAt cuts a fan at a moment; both halves carry the point of the cut.
func splitAt(pts []FanPoint, now time.Time) (past, ahead []FanPoint) {
	if now.IsZero() {
		return pts, nil
	}
	for i, q := range pts {
		if q.At.After(now) {
			if i == 0 {
				return nil, pts
			}
			if pts[i-1].At.Equal(now) {
				return pts[:i:i], pts[i-1:]
			}
			cut := between(pts[i-1], q, now)
			past = append(pts[:i:i], cut)
			return past, append([]FanPoint{cut}, pts[i:]...)
		}
	}
	return pts, nil
}

// between is the straight line between two points of the fan.
func between(a, b FanPoint, t time.Time) FanPoint {
	f := t.Sub(a.At).Seconds() / b.At.Sub(a.At).Seconds()
	mix := func(x, y float64) float64 { return x + f*(y-x) }
	return FanPoint{t, mix(a.Q05, b.Q05), mix(a.Q25, b.Q25), mix(a.Q50, b.Q50), mix(a.Q75, b.Q75), mix(a.Q95, b.Q95)}
}

// limitAndNow draws the line that decides and the line of today.
func (p *fanPlot) limitAndNow() {
	s := p.s
	if !p.Now.IsZero() && p.t.holds(p.Now) {
		x := p.t.at(p.Now)
		s.group("class", "accent now")
		s.line(x, p.plot.y0-16, x, p.plot.y1, "stroke-width", "2")
		words := "now " + day(p.Now, p.Now)
		if at, ok := p.room.put(textSize, spot{x + 5, p.plot.y0 - 6, "start", words}, spot{x - 5, p.plot.y0 - 6, "end", words}); ok {
			s.text(at.x, at.y, at.anchor, at.words)
		}
		s.close()
		p.room.block(box{x - 1, p.plot.y0 - 16, x + 1, p.plot.y1})
	}
	if p.Limit == nil || p.Limit.Value < p.v.lo || p.Limit.Value > p.v.hi {
		return
	}
	y := p.v.at(p.Limit.Value)
	s.group("class", "limit")
	s.line(p.plot.x0, y, p.plot.x1, y, "stroke-width", "1.5", "stroke-dasharray", "1.5 3.5", "stroke-linecap", "round")
	words := shorten(p.Limit.Label, smallSize, p.plot.x1-p.plot.x0-8)
	tries := []spot{
		{p.plot.x0 + 4, y - 5, "start", words}, {p.plot.x1 - 2, y - 5, "end", words},
		{p.plot.x0 + 4, y + 13, "start", words}, {p.plot.x1 - 2, y + 13, "end", words},
	}
	if at, ok := p.room.put(smallSize, tries...); ok {
		s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize), "class", "over")
	}
	s.close()
}

// finish marks on the time axis when it is thought to be over.
func (p *fanPlot) finish() {
	f := p.Finish
	if f == nil || f.From.IsZero() || f.From.After(p.t.to) {
		return
	}
	y := p.plot.y1
	x0, x1 := p.t.at(f.From), p.plot.x1
	open := f.To.IsZero() || f.To.After(p.t.to)
	if !open {
		x1 = p.t.at(f.To)
	}
	s := p.s
	s.group("class", "accent finish")
	s.line(x0, y, x1, y, "stroke-width", "5")
	if open { // an arrow head: it may be later than the paper is wide
		var d path
		d.move(x1+1, y-7)
		d.to(x1+10, y)
		d.to(x1+1, y+7)
		s.el("path", "d", d.String(), "fill", "none", "stroke", "currentColor", "stroke-width", "2.5")
	}
	if !f.Mid.IsZero() && p.t.holds(f.Mid) {
		mark(s, Diamond, p.t.at(f.Mid), y, 6, false)
	}
	if f.Label != "" {
		mid := (x0 + x1) / 2
		words := shorten(f.Label, smallSize, p.plot.x1-p.plot.x0-8)
		if at, ok := p.room.put(smallSize, spot{mid, y - 9, "middle", words}, spot{p.plot.x1 - 2, y - 9, "end", words},
			spot{x0 - 8, y - 5, "end", words}, spot{mid, y - 24, "middle", words}, spot{p.plot.x1 - 2, y - 24, "end", words}); ok {
			s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize), "class", "over")
		}
	}
	s.close()
}

// readings draws each reading with its error bar.
func (p *fanPlot) readings() {
	p.s.group("class", "readings")
	for _, r := range p.Readings {
		if p.t.holds(r.At) {
			drawReading(p.s, r, shapeOf(p.keys, r), p.t.at(r.At), p.v, p.Unit, p.Now)
		}
	}
	p.s.close()
}

// marks writes what was done in two rows over the plot; a label without room
// leaves its tick, and stands in the table.
func (p *fanPlot) marks() {
	p.s.group("class", "marks")
	for _, m := range p.Marks {
		if !p.t.holds(m.At) {
			continue
		}
		x := p.t.at(m.At)
		p.s.titled(day(m.At, p.Now)+": "+m.Label, "path", "d", "M"+num(x)+" "+num(p.plot.y0+2)+"L"+num(x-4)+" "+num(p.plot.y0-6)+"L"+num(x+4)+" "+num(p.plot.y0-6)+"Z")
		y := p.plot.y0 - 9
		if at, ok := p.room.put(smallSize, spot{x, y, "middle", m.Label}, spot{x - 2, y, "start", m.Label}, spot{x + 2, y, "end", m.Label},
			spot{x, y - 13, "middle", m.Label}, spot{x - 2, y - 13, "start", m.Label}, spot{x + 2, y - 13, "end", m.Label}); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize))
		}
	}
	p.s.close()
}

// hits are unseen columns that name the belief at a date: a browser shows
// their title on hover, and the page's script walks them by key.
func (p *fanPlot) hits() {
	pts := thin(p.clip(), 60)
	if len(pts) == 0 {
		return
	}
	p.s.group("class", "hits", "fill-opacity", "0")
	for i, q := range pts {
		x := p.t.at(q.At)
		x0, x1 := p.plot.x0, p.plot.x1
		if i > 0 {
			x0 = (p.t.at(pts[i-1].At) + x) / 2
		}
		if i < len(pts)-1 {
			x1 = (x + p.t.at(pts[i+1].At)) / 2
		}
		p.s.titled(p.say(q), "rect", "x", num(x0), "y", num(p.plot.y0), "width", num(x1-x0), "height", num(p.plot.y1-p.plot.y0),
			"data-x", num(x), "data-y", num(p.v.at(q.Q50)))
	}
	p.s.close()
}

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

func (c Fan) say(q FanPoint) string {
	when := day(q.At, c.Now)
	if !c.Now.IsZero() && q.At.After(c.Now) {
		when += ", ahead"
	}
	return fmt.Sprintf("%s: %s%s, 9 in 10 between %s and %s", when, figures(q.Q50), unitAfter(c.Unit), figures(q.Q05), figures(q.Q95))
}

func unitAfter(u string) string {
	if u == "" {
		return ""
	}
	return " " + u
}

// describe is one sentence for those who do not see the drawing.
func (c Fan) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	if len(c.Points) == 0 {
		return "No belief yet: nothing has been read."
	}
	at := c.Points[len(c.Points)-1]
	if past, _ := splitAt(c.Points, c.Now); len(past) > 0 {
		at = past[len(past)-1]
	}
	out := fmt.Sprintf("%s on %s.", c.Quantity, c.say(at))
	if f := c.Finish; f != nil && !f.From.IsZero() {
		if f.To.IsZero() {
			out += " Over not before " + day(f.From, c.Now) + "."
		} else {
			out += " Over between " + day(f.From, c.Now) + " and " + day(f.To, c.Now) + "."
		}
	}
	return out + fmt.Sprintf(" %d readings.", len(c.Readings))
}

// Table lists the belief, thinned to at most forty dates, and every reading and mark.
func (c Fan) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"date", "what", "value" + paren(c.Unit), "9 in 10 between"}}
	type row struct {
		at    time.Time
		cells []string
	}
	var rows []row
	for _, q := range thin(c.Points, 40) {
		what := "belief"
		if !c.Now.IsZero() && q.At.After(c.Now) {
			what = "forecast"
		}
		rows = append(rows, row{q.At, []string{day(q.At, c.Now), what, figures(q.Q50), figures(q.Q05) + " – " + figures(q.Q95)}})
	}
	for _, r := range c.Readings {
		rows = append(rows, row{r.At, []string{day(r.At, c.Now), kindName(r), figures(r.Value), barWords(r)}})
	}
	for _, m := range c.Marks {
		rows = append(rows, row{m.At, []string{day(m.At, c.Now), m.Label, "", ""}})
	}
	sortStable(rows, func(a, b row) bool { return a.at.Before(b.at) })
	for _, r := range rows {
		t.Rows = append(t.Rows, r.cells)
	}
	return t
}

func paren(unit string) string {
	if unit == "" {
		return ""
	}
	return ", " + unit
}
