package chart

import (
	"fmt"
	"time"
)

// Spark is a small fan without axes, to stand in a line of a list. It is drawn
// the same at both sizes.
type Spark struct {
	ID, Title string
	Unit      string
	Points    []FanPoint
	Limit     *Limit
	Now       time.Time
}

// Name is the title.
func (c Spark) Name() string { return c.Title }

// SVG is the drawing.
func (c Spark) SVG(size Size) string {
	const w, h = 128.0, 40.0
	s := begin(c.ID, size, w, h, c.Title, c.describe(), "sparkline")
	p := &timePlot{s: s, plot: box{2, 4, w - 2, h - 4}, room: &floorplan{within: box{0, 0, w, h}}, limit: c.Limit, now: c.Now}
	f := timeFrame{now: c.Now, limit: c.Limit}
	for _, q := range c.Points {
		f.times = append(f.times, q.At)
		f.values = append(f.values, q.Q05, q.Q95)
	}
	p.timeScale(f)
	p.valueScale(f, size)
	drawFan(p, c.Points, c.Now)
	if l := c.Limit; l != nil && l.Value >= p.v.lo && l.Value <= p.v.hi {
		y := p.v.at(l.Value)
		s.line(p.plot.x0, y, p.plot.x1, y, "stroke-width", "1.5", "stroke-dasharray", "1.5 3", "stroke-linecap", "round")
	}
	if !c.Now.IsZero() && p.t.holds(c.Now) && len(c.Points) > 0 {
		x := p.t.at(c.Now)
		s.group("class", "accent now")
		s.line(x, 0, x, h, "stroke-width", "2")
		s.close()
	}
	return s.end()
}

func (c Spark) describe() string {
	if len(c.Points) == 0 {
		return "Nothing read yet."
	}
	return Fan{Quantity: c.Title, Unit: c.Unit, Points: c.Points, Now: c.Now}.describe()
}

// Table lists the points, thinned to a dozen.
func (c Spark) Table() Table {
	return Fan{Title: c.Title, Unit: c.Unit, Points: thin(c.Points, 12), Now: c.Now}.Table()
}

// Panel is one small fan of a Multiple.
type Panel struct {
	Name     string
	Points   []FanPoint
	Readings []Reading
}

// Multiple sets small fans next to each other on the same two scales: one lot in
// three vessels, forty lots of one vintage.
type Multiple struct {
	ID, Title, Desc string
	Quantity, Unit  string
	Panels          []Panel
	Limit           *Limit
	Now             time.Time
	Log             bool
}

// Name is the title.
func (c Multiple) Name() string { return c.Title }

// SVG is the drawing.
func (c Multiple) SVG(size Size) string {
	w, cols := size.width(), 2
	if size == Wide {
		cols = 4
	}
	cols = max(1, min(cols, len(c.Panels)))
	const top, panelH, gapX, gapY = 24.0, 84.0, 14.0, 26.0
	rows := max(1, (len(c.Panels)+cols-1)/cols)
	h := top + float64(rows)*(panelH+gapY) + axisRoom - 8
	s := begin(c.ID, size, w, h, c.Title, c.describe(), "multiple")
	s.text(2, 12, "start", shorten(axisName(c.Quantity, c.Unit), textSize, w-10), "class", "unit")
	f := timeFrame{now: c.Now, limit: c.Limit, log: c.Log}
	for _, p := range c.Panels {
		for _, q := range p.Points {
			f.times = append(f.times, q.At)
			f.values = append(f.values, q.Q05, q.Q95)
		}
		f.readings = append(f.readings, p.Readings...)
	}
	keys := kinds(f.readings)
	const left = 38.0
	width := (w - left - 8 - float64(cols-1)*gapX) / float64(cols)
	for i, panel := range c.Panels {
		x := left + float64(i%cols)*(width+gapX)
		y := top + float64(i/cols)*(panelH+gapY)
		p := &timePlot{s: s, plot: box{x, y + 16, x + width, y + 16 + panelH}, now: c.Now, keys: keys, unit: c.Unit}
		p.timeScale(f)
		p.valueScale(f, Narrow)
		c.drawPanel(p, panel, i%cols == 0, i+cols >= len(c.Panels))
	}
	return s.end()
}

func (c Multiple) drawPanel(p *timePlot, panel Panel, first, last bool) {
	s := p.s
	s.group("class", "panel")
	s.text(p.plot.x0, p.plot.y0-5, "start", shorten(panel.Name, textSize, p.plot.x1-p.plot.x0), "class", "name")
	words := &floorplan{within: box{0, p.plot.y0 - 8, p.plot.x0, p.plot.y1 + 8}}
	s.group("class", "axis")
	for _, k := range p.ticks {
		y := p.v.at(k.v)
		s.line(p.plot.x0, y, p.plot.x1, y, "stroke-opacity", "0.18")
		if first {
			if at, ok := words.put(smallSize, spot{p.plot.x0 - 6, y + 4, "end", k.label}); ok {
				s.text(at.x, at.y, at.anchor, at.words, "font-size", num(smallSize))
			}
		}
	}
	s.close()
	s.line(p.plot.x0, p.plot.y1, p.plot.x1, p.plot.y1, "stroke-opacity", "0.7")
	if last {
		drawTimeAxis(s, p.t, p.plot.y1, 0)
	}
	drawFan(p, shown(p.t, panel.Points), c.Now)
	if c.Limit != nil && c.Limit.Value >= p.v.lo && c.Limit.Value <= p.v.hi {
		y := p.v.at(c.Limit.Value)
		s.line(p.plot.x0, y, p.plot.x1, y, "stroke-width", "1.5", "stroke-dasharray", "1.5 3.5", "stroke-linecap", "round")
	}
	if !c.Now.IsZero() && p.t.holds(c.Now) {
		s.group("class", "accent now")
		s.line(p.t.at(c.Now), p.plot.y0, p.t.at(c.Now), p.plot.y1, "stroke-width", "1.75")
		s.close()
	}
	p.readings = panel.Readings
	p.drawReadings()
	s.close()
}

func (c Multiple) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	out := fmt.Sprintf("%s in %d places.", c.Quantity, len(c.Panels))
	for _, p := range c.Panels {
		if past, _ := splitAt(p.Points, c.Now); len(past) > 0 {
			q := past[len(past)-1]
			out += fmt.Sprintf(" %s: %s%s.", p.Name, figures(q.Q50), unitAfter(c.Unit))
		}
	}
	return out
}

// Table lists, for each panel, a dozen dates and its readings.
func (c Multiple) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"where", "date", "what", axisName("value", c.Unit), "9 in 10 between"}}
	for _, p := range c.Panels {
		one := Fan{Unit: c.Unit, Points: thin(p.Points, 12), Readings: p.Readings, Now: c.Now}.Table()
		for _, r := range one.Rows {
			t.Rows = append(t.Rows, append([]string{p.Name}, r...))
		}
	}
	return t
}
