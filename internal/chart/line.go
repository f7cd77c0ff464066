package chart

import (
	"fmt"
	"time"
)

// LinePoint is a value at a moment with its band; Lo and Hi equal to Value (or
// both zero) for none.
type LinePoint struct {
	At            time.Time
	Value, Lo, Hi float64
}

func (q LinePoint) banded() bool { return q.Lo < q.Hi }

// Series is one line of a Line chart.
type Series struct {
	Name   string
	Points []LinePoint // in order of time
}

// Line shows up to four values over time, each with its band, over a floor or
// under a ceiling: free SO2 falling towards what the pH asks for.
type Line struct {
	ID, Title, Desc string
	Quantity, Unit  string
	Series          []Series
	Readings        []Reading
	Marks           []Mark
	Limit           *Limit
	Now             time.Time
	From, To        time.Time
	Log             bool
}

// dashes tell the lines apart; the fifth line and later ones are drawn like the fourth.
var dashes = []string{"", "9 4", "3 3", "12 3 2 3"}

// Name is the title.
func (c Line) Name() string { return c.Title }

// SVG is the drawing.
func (c Line) SVG(size Size) string {
	f := timeFrame{id: c.ID, title: c.Title, desc: c.describe(), class: "lines", quantity: c.Quantity, unit: c.Unit,
		now: c.Now, from: c.From, to: c.To, log: c.Log, readings: c.Readings, marks: c.Marks, limit: c.Limit}
	for _, s := range c.Series {
		for _, q := range s.Points {
			f.times = append(f.times, q.At)
			f.values = append(f.values, q.Value)
			if q.banded() {
				f.values = append(f.values, q.Lo, q.Hi)
			}
		}
	}
	p := layOut(f, size)
	for i, s := range c.Series {
		c.drawSeries(p, i, s)
	}
	p.drawNow()
	p.drawLimit()
	p.drawReadings()
	p.drawMarks()
	c.nameSeries(p)
	if len(c.Series) > 0 {
		var hits []hit
		for _, q := range thin(c.Series[0].Points, 60) {
			if p.t.holds(q.At) {
				hits = append(hits, hit{q.At, p.v.at(q.Value), c.say(c.Series[0], q)})
			}
		}
		p.drawHits(hits)
	}
	return p.s.end()
}

// drawSeries draws a line and its band: solid up to now, hatched and thinner ahead.
func (c Line) drawSeries(p *timePlot, i int, s Series) {
	past, ahead := cutLine(s.Points, c.Now)
	dash := dashes[min(i, len(dashes)-1)]
	draw := func(pts []LinePoint, later bool) {
		if len(pts) < 2 {
			return
		}
		if pts[0].banded() || pts[len(pts)-1].banded() {
			fill, strength := "currentColor", "0.16"
			if later {
				fill, strength = p.s.hatch("l"+num(float64(i)), 6, 1, 0.55, 45+float64(i)*45), "1"
			}
			p.s.el("path", "d", p.ribbon(len(pts), func(i int) (time.Time, float64, float64) {
				if !pts[i].banded() {
					return pts[i].At, pts[i].Value, pts[i].Value
				}
				return pts[i].At, pts[i].Lo, pts[i].Hi
			}), "fill", fill, "fill-opacity", strength)
		}
		look := []string{"d", p.curve(len(pts), func(i int) (time.Time, float64) { return pts[i].At, pts[i].Value }),
			"fill", "none", "stroke", "currentColor", "stroke-width", "2", "stroke-linejoin", "round"}
		if later {
			look[7] = "1.25"
		}
		if dash != "" {
			look = append(look, "stroke-dasharray", dash)
		} else if later {
			look = append(look, "stroke-dasharray", "7 5")
		}
		p.s.el("path", look...)
	}
	p.s.group("class", "series")
	draw(past, false)
	draw(ahead, true)
	p.s.close()
}

// nameSeries writes each name where its line is, if there is more than one.
func (c Line) nameSeries(p *timePlot) {
	if len(c.Series) < 2 {
		return
	}
	p.s.group("class", "names")
	for _, s := range c.Series {
		var tries []spot
		for _, q := range s.Points {
			if !p.t.holds(q.At) {
				continue
			}
			x, y := p.t.at(q.At), p.v.at(q.Value)
			tries = append(tries, spot{x, y - 6, "start", s.Name}, spot{x, y - 6, "end", s.Name}, spot{x, y + 14, "start", s.Name})
		}
		for i, j := 0, len(tries)-1; i < j; i, j = i+1, j-1 { // the newest end first
			tries[i], tries[j] = tries[j], tries[i]
		}
		if at, ok := p.room.put(textSize, tries...); ok {
			p.s.text(at.x, at.y, at.anchor, at.words, "class", "over name")
		}
	}
	p.s.close()
}

func cutLine(pts []LinePoint, now time.Time) (past, ahead []LinePoint) {
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
		a := pts[i-1]
		f := now.Sub(a.At).Seconds() / q.At.Sub(a.At).Seconds()
		mix := func(x, y float64) float64 { return x + f*(y-x) }
		cut := LinePoint{now, mix(a.Value, q.Value), mix(a.Lo, q.Lo), mix(a.Hi, q.Hi)}
		return append(pts[:i:i], cut), append([]LinePoint{cut}, pts[i:]...)
	}
	return pts, nil
}

func (c Line) say(s Series, q LinePoint) string {
	out := day(q.At, c.Now)
	if !c.Now.IsZero() && q.At.After(c.Now) {
		out += ", ahead"
	}
	out += ": "
	if len(c.Series) > 1 {
		out += s.Name + " "
	}
	out += figuresIn(c.Unit, q.Value) + unitAfter(c.Unit)
	if q.banded() {
		out += ", between " + figuresIn(c.Unit, q.Lo) + " and " + figuresIn(c.Unit, q.Hi)
	}
	return out
}

func (c Line) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	out := c.Quantity + " over time."
	for _, s := range c.Series {
		past, _ := cutLine(s.Points, c.Now)
		if len(past) == 0 {
			past = s.Points
		}
		if len(past) > 0 {
			q := past[len(past)-1]
			name := s.Name
			if name == "" {
				name = c.Quantity
			}
			out += fmt.Sprintf(" %s on %s: %s%s.", name, day(q.At, c.Now), figuresIn(c.Unit, q.Value), unitAfter(c.Unit))
		}
	}
	return out + counted(len(c.Readings), " reading")
}

// Table lists each line, thinned to forty dates, and every reading and mark.
func (c Line) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"date", "what", axisName("value", c.Unit), "between"}}
	var rows []tableRow
	for _, s := range c.Series {
		for _, q := range thin(s.Points, 40) {
			band := ""
			if q.banded() {
				band = figuresIn(c.Unit, q.Lo) + " – " + figuresIn(c.Unit, q.Hi)
			}
			name := s.Name
			if name == "" {
				name = "reckoned"
			}
			rows = append(rows, tableRow{q.At, []string{day(q.At, c.Now), name, figuresIn(c.Unit, q.Value), band}})
		}
	}
	t.Rows = inOrder(append(rows, factRows(c.Readings, c.Marks, c.Unit, c.Now)...))
	return t
}
