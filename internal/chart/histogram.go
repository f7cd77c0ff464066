package chart

import (
	"fmt"
	"math"
	"strconv"
)

// Bin is one bar of a histogram.
type Bin struct {
	Label string
	Count float64
}

// Histogram shows counts by bin, with the band in which they should lie if all is
// well: the ranks of the truth among draws, which ought to be flat.
type Histogram struct {
	ID, Title, Desc string
	Across, Up      string // what the bins are, what is counted
	Bins            []Bin
	Low, High       float64 // band; none when Low = High = 0
	Expected        float64 // line within the band; none when 0
}

// Name is the title.
func (c Histogram) Name() string { return c.Title }

// SVG is the drawing.
func (c Histogram) SVG(size Size) string {
	w, h := size.width(), 220.0
	if size == Wide {
		h = 270
	}
	plot := box{38, 32, w - 8, h - 42}
	s := begin(c.ID, size, w, h, c.Title, c.describe(), "histogram")
	var e extent
	e.add(0, c.High, c.Expected)
	for _, b := range c.Bins {
		e.add(b.Count)
	}
	lo, hi := e.axisRange(true, 5)
	v := scale{lo: lo, hi: hi, a: plot.y1, b: plot.y0}
	up := shorten(c.Up, textSize, w-10)
	s.text(2, 12, "start", up, "class", "unit")
	words := &floorplan{within: box{0, 0, w, h}}
	words.block(labelBox(2, 12, "start", up, textSize))
	s.group("class", "axis")
	for _, k := range linearTicks(lo, hi, 5) {
		y := v.at(k.v)
		s.line(plot.x0, y, plot.x1, y, "stroke-opacity", "0.18")
		if at, ok := words.put(textSize, spot{plot.x0 - 6, y + 4.5, "end", k.label}); ok {
			s.text(at.x, at.y, at.anchor, at.words)
		}
	}
	s.close()
	c.band(s, plot, v)
	c.bars(s, plot, v, words)
	s.line(plot.x0, plot.y1, plot.x1, plot.y1, "stroke-opacity", "0.7")
	if at, ok := words.put(textSize, spot{plot.x1, h - 5, "end", shorten(c.Across, textSize, w-10)}); ok {
		s.text(at.x, at.y, at.anchor, at.words, "class", "unit")
	}
	return s.end()
}

func (c Histogram) band(s *svg, plot box, v scale) {
	if c.Low < c.High {
		s.rect(plot.x0, v.at(c.High), plot.x1-plot.x0, v.at(c.Low)-v.at(c.High), "fill", s.hatch("b", 6, 1, 0.5, 45))
		for _, y := range []float64{v.at(c.Low), v.at(c.High)} {
			s.line(plot.x0, y, plot.x1, y, "stroke-opacity", "0.6", "stroke-dasharray", "2 3")
		}
	}
	if c.Expected > 0 {
		s.line(plot.x0, v.at(c.Expected), plot.x1, v.at(c.Expected), "stroke-width", "1.5", "stroke-dasharray", "7 5")
	}
}

func (c Histogram) bars(s *svg, plot box, v scale, words *floorplan) {
	if len(c.Bins) == 0 {
		return
	}
	step := (plot.x1 - plot.x0) / float64(len(c.Bins))
	gap := math.Min(3, step*0.15)
	for i, b := range c.Bins {
		x := plot.x0 + float64(i)*step
		y := v.at(b.Count)
		out := c.Low < c.High && (b.Count < c.Low || b.Count > c.High)
		class := "bin"
		if out { // outside the band: the accent, and a stroke over the bar
			class = "bin accent"
		}
		s.group("class", class)
		s.titled(b.Label+": "+num(b.Count), "rect", "x", num(x+gap), "y", num(y), "width", num(step-2*gap), "height", num(plot.y1-y), "fill-opacity", "0.75")
		if out {
			s.line(x+gap, y-3, x+step-gap, y-3, "stroke-width", "3")
		}
		s.close()
		if at, ok := words.put(textSize, spot{x + step/2, plot.y1 + 18, "middle", b.Label}); ok {
			s.text(at.x, at.y, at.anchor, at.words)
		}
	}
}

func (c Histogram) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	out := 0
	for _, b := range c.Bins {
		if c.Low < c.High && (b.Count < c.Low || b.Count > c.High) {
			out++
		}
	}
	return fmt.Sprintf("%d bins; %d outside the band of %s to %s.", len(c.Bins), out, num(c.Low), num(c.High))
}

// Table lists the bins.
func (c Histogram) Table() Table {
	t := Table{Caption: c.Title, Head: []string{c.Across, c.Up, "within the band"}}
	for _, b := range c.Bins {
		in := ""
		if c.Low < c.High {
			in = "yes"
			if b.Count < c.Low || b.Count > c.High {
				in = "no"
			}
		}
		t.Rows = append(t.Rows, []string{b.Label, strconv.FormatFloat(b.Count, 'f', -1, 64), in})
	}
	return t
}
