package chart

import (
	"fmt"
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

// SVG is the drawing.
func (c Fan) SVG(size Size) string {
	f := timeFrame{id: c.ID, title: c.Title, desc: c.describe(), class: "fan", quantity: c.Quantity, unit: c.Unit,
		now: c.Now, from: c.From, to: c.To, log: c.Log, readings: c.Readings, marks: c.Marks, limit: c.Limit, finish: c.Finish}
	for _, q := range c.Points {
		f.times = append(f.times, q.At)
		f.values = append(f.values, q.Q05, q.Q95)
	}
	p := layOut(f, size)
	pts := shown(p.t, c.Points)
	drawFan(p, pts, c.Now)
	p.drawNow()
	p.drawLimit()
	p.drawFinish()
	p.drawReadings()
	p.drawMarks()
	var hits []hit
	for _, q := range thin(pts, 60) {
		hits = append(hits, hit{q.At, p.v.at(q.Q50), c.say(q)})
	}
	p.drawHits(hits)
	return p.s.end()
}

// drawFan draws two shades and a line behind now, hatching and dashes ahead.
func drawFan(p *timePlot, pts []FanPoint, now time.Time) {
	past, ahead := splitAt(pts, now)
	s := p.s
	outer := func(pts []FanPoint) string {
		return p.ribbon(len(pts), func(i int) (time.Time, float64, float64) { return pts[i].At, pts[i].Q05, pts[i].Q95 })
	}
	inner := func(pts []FanPoint) string {
		return p.ribbon(len(pts), func(i int) (time.Time, float64, float64) { return pts[i].At, pts[i].Q25, pts[i].Q75 })
	}
	median := func(pts []FanPoint) string {
		return p.curve(len(pts), func(i int) (time.Time, float64) { return pts[i].At, pts[i].Q50 })
	}
	if len(past) > 1 {
		s.group("class", "past")
		s.el("path", "d", outer(past), "fill-opacity", "0.16", "stroke", "currentColor", "stroke-opacity", "0.35", "stroke-width", "0.75")
		s.el("path", "d", inner(past), "fill-opacity", "0.26")
		s.el("path", "d", median(past), "fill", "none", "stroke", "currentColor", "stroke-width", "2", "stroke-linejoin", "round")
		s.close()
	}
	if len(ahead) > 1 {
		wide := s.hatch("h1", 6, 1, 0.55, 45)
		near := s.hatch("h2", 6, 2.4, 0.6, 45)
		s.group("class", "ahead")
		s.el("path", "d", outer(ahead), "fill", wide, "stroke", "currentColor", "stroke-opacity", "0.5", "stroke-width", "0.75", "stroke-dasharray", "2 3")
		s.el("path", "d", inner(ahead), "fill", near)
		s.el("path", "d", median(ahead), "fill", "none", "stroke", "currentColor", "stroke-width", "2", "stroke-dasharray", "7 5")
		s.close()
	}
}

// shown keeps the points inside the dates of the chart.
func shown(t timescale, pts []FanPoint) []FanPoint {
	var out []FanPoint
	for _, q := range pts {
		if t.holds(q.At) {
			out = append(out, q)
		}
	}
	return out
}

// splitAt cuts a fan at a moment; both halves carry the point of the cut.
func splitAt(pts []FanPoint, now time.Time) (past, ahead []FanPoint) {
	if now.IsZero() {
		return pts, nil
	}
	for i, q := range pts {
		if !q.At.After(now) {
			continue
		}
		if i == 0 {
			return nil, pts
		}
		if pts[i-1].At.Equal(now) {
			return pts[:i:i], pts[i-1:]
		}
		cut := between(pts[i-1], q, now)
		return append(pts[:i:i], cut), append([]FanPoint{cut}, pts[i:]...)
	}
	return pts, nil
}

// between is the straight line between two points of the fan.
func between(a, b FanPoint, t time.Time) FanPoint {
	f := t.Sub(a.At).Seconds() / b.At.Sub(a.At).Seconds()
	mix := func(x, y float64) float64 { return x + f*(y-x) }
	return FanPoint{t, mix(a.Q05, b.Q05), mix(a.Q25, b.Q25), mix(a.Q50, b.Q50), mix(a.Q75, b.Q75), mix(a.Q95, b.Q95)}
}

func (c Fan) say(q FanPoint) string {
	when := day(q.At, c.Now)
	if !c.Now.IsZero() && q.At.After(c.Now) {
		when += ", ahead"
	}
	return fmt.Sprintf("%s: %s%s, 9 in 10 between %s and %s", when, c.figures(q.Q50), unitAfter(c.Unit), c.figures(q.Q05), c.figures(q.Q95))
}

func unitAfter(u string) string {
	if u == "" {
		return ""
	}
	return " " + u
}

// figures writes a value of the fan; on an axis by powers of ten small ones matter.
func (c Fan) figures(v float64) string {
	if c.Log {
		return figures(v)
	}
	return figuresIn(c.Unit, v)
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
	return out + counted(len(c.Readings), " reading")
}

// counted writes " 3 readings." or nothing.
func counted(n int, what string) string {
	switch n {
	case 0:
		return ""
	case 1:
		return " 1" + what + "."
	}
	return fmt.Sprintf(" %d%ss.", n, what)
}

// Table lists the belief, thinned to at most forty dates, and every reading and mark.
func (c Fan) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"date", "what", axisName("value", c.Unit), "9 in 10 between"}}
	var rows []tableRow
	for _, q := range thin(c.Points, 40) {
		what := "belief"
		if !c.Now.IsZero() && q.At.After(c.Now) {
			what = "forecast"
		}
		rows = append(rows, tableRow{q.At, []string{day(q.At, c.Now), what, c.figures(q.Q50), c.figures(q.Q05) + " – " + c.figures(q.Q95)}})
	}
	t.Rows = inOrder(append(rows, factRows(c.Readings, c.Marks, c.Unit, c.Now)...))
	return t
}
