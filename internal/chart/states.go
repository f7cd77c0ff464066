package chart

import (
	"math"
	"strconv"
	"strings"
)

// State is one thing that may be the case and how likely it is.
type State struct {
	Name string
	P    float64 // 0 to 1
}

// States shows what may be the case as one bar, cut by likelihood: lagging,
// active, stalled, finished. Each state keeps its pattern by its place in the
// list, and every one is named with its chance.
type States struct {
	ID, Title string
	Parts     []State
}

// Name is the title.
func (c States) Name() string { return c.Title }

// SVG is the drawing.
func (c States) SVG(size Size) string {
	w, cols := size.width(), 2
	if size == Wide {
		cols = 4
	}
	rows := (len(c.Parts) + cols - 1) / cols
	s := begin(c.ID, size, w, 34+float64(rows)*22, c.Title, c.describe(), "states")
	paints := make([]paint, len(c.Parts))
	for i := range c.Parts {
		paints[i] = statePaint(s, i)
	}
	total := 0.0
	for _, p := range c.Parts {
		total += clean(p.P)
	}
	x := 1.0
	s.group("class", "bar")
	for i, p := range c.Parts {
		width := 0.0
		if total > 0 {
			width = clean(p.P) / total * (w - 2)
		}
		if width > 0.05 {
			s.rect(x, 1, width, 20, paints[i].attrs()...)
		}
		x += width
	}
	s.rect(1, 1, w-2, 20, "fill", "none", "stroke", "currentColor", "stroke-width", "1.5")
	s.close()
	s.group("class", "legend")
	col := (w - 2) / float64(cols)
	for i, p := range c.Parts {
		x, y := 1+float64(i%cols)*col, 44+float64(i/cols)*22
		s.rect(x, y-10.5, 13, 12, append(paints[i].attrs(), "stroke", "currentColor", "stroke-width", "1.25")...)
		chance := percent(p.P)
		words := shorten(p.Name, textSize, col-28-measure(chance, textSize))
		s.text(x+19, y, "start", words+" "+chance)
	}
	return s.end()
}

// paint is a fill that can be told without colour.
type paint struct{ fill, strength string }

func (p paint) attrs() []string { return []string{"fill", p.fill, "fill-opacity", p.strength} }

// statePaint is the pattern of the i-th state: dots, strokes, a net, full; then
// strokes the other way and half.
func statePaint(s *svg, i int) paint {
	switch i % 6 {
	case 0:
		return paint{s.dots("p0", 5, 1.1), "1"}
	case 1:
		return paint{s.hatch("p1", 6, 1.6, 0.9, 45), "1"}
	case 2:
		return paint{s.net("p2", 5, 1), "1"}
	case 3:
		return paint{"currentColor", "0.9"}
	case 4:
		return paint{s.hatch("p4", 6, 1.6, 0.9, -45), "1"}
	}
	return paint{"currentColor", "0.4"}
}

// dots defines a dotted pattern and returns its paint.
func (s *svg) dots(name string, gap, r float64) string {
	return s.pattern(name, gap, "", `<circle cx="`+num(gap/2)+`" cy="`+num(gap/2)+`" r="`+num(r)+`" fill="currentColor"/>`)
}

// net defines a pattern of squares and returns its paint.
func (s *svg) net(name string, gap, weight float64) string {
	return s.pattern(name, gap, "rotate(45)", `<path d="M0 0H`+num(gap)+`M0 0V`+num(gap)+`" stroke="currentColor" stroke-width="`+num(weight)+`"/>`)
}

func clean(p float64) float64 {
	if math.IsNaN(p) || p < 0 || math.IsInf(p, 0) {
		return 0
	}
	return p
}

// percent writes a chance; nothing is called certain or impossible.
func percent(p float64) string {
	switch {
	case math.IsNaN(p) || p < 0 || p > 1:
		return "–"
	case p < 0.01:
		return "< 1 %"
	case p > 0.99:
		return "> 99 %"
	}
	return strconv.Itoa(int(math.Round(p*100))) + " %"
}

func (c States) describe() string {
	var say []string
	for _, p := range c.Parts {
		say = append(say, p.Name+" "+percent(p.P))
	}
	return strings.Join(say, ", ") + "."
}

// Table lists the states.
func (c States) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"state", "chance"}}
	for _, p := range c.Parts {
		t.Rows = append(t.Rows, []string{p.Name, percent(p.P)})
	}
	return t
}
