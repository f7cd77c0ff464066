package chart

import (
	"math"
	"time"
)

// kindKey pairs a kind of reading with the shape that stands for it.
type kindKey struct {
	kind  string
	shape Shape
	how   manner
}

// kinds lists the kinds in the order in which they appear; a kind without a
// shape of its own gets the first one that nobody else asked for, and after the
// last shape they come round again hollow.
func kinds(rs []Reading) []kindKey {
	var out []kindKey
	used := map[Shape]bool{}
	index := map[string]int{}
	for _, r := range rs {
		i, seen := index[r.Kind]
		if !seen {
			i = len(out)
			index[r.Kind] = i
			out = append(out, kindKey{kind: r.Kind})
		}
		if out[i].shape == Auto && r.Shape != Auto {
			out[i].shape = r.Shape
			used[r.Shape] = true
		}
	}
	next, round := Disc, 0
	for i := range out {
		if out[i].shape != Auto {
			continue
		}
		for used[next] && next <= shapes {
			next++
		}
		if next > shapes {
			out[i].shape, out[i].how = Shape(round%shapes)+1, hollow
			round++
			continue
		}
		out[i].shape = next
		used[next] = true
	}
	return out
}

func keyOf(keys []kindKey, r Reading) kindKey {
	for _, k := range keys {
		if k.kind == r.Kind {
			return k
		}
	}
	return kindKey{shape: Disc}
}

// drawReading puts one reading on the plot.
func drawReading(s *svg, r Reading, key kindKey, x float64, v scale, unit string, ref time.Time) {
	title := day(r.At, ref) + ", " + kindName(r) + ": " + figuresIn(unit, r.Value) + unitAfter(unit)
	if b := barWords(r, unit); b != "" {
		title += " (" + b + ")"
	}
	s.b.WriteString("<g><title>" + attr(title) + "</title>\n")
	s.open = append(s.open, "g")
	if r.Lo < r.Hi {
		y0, y1 := v.at(r.Hi), v.at(r.Lo)
		if math.IsNaN(r.Value) { // the bar is all there is: a stain between two values
			s.line(x, y0, x, y1, "stroke-width", "6", "stroke-opacity", "0.4")
		} else {
			s.line(x, y0, x, y1, "stroke-width", "1.25")
		}
		errorEnd(s, x, y0, math.IsInf(r.Hi, 1), -1)
		errorEnd(s, x, y1, math.IsInf(r.Lo, -1) || r.Lo < v.lo, 1)
	}
	how, shape := key.how, key.shape
	if r.Struck {
		how = struck
	}
	switch {
	case !math.IsNaN(r.Value):
		mark(s, shape, x, v.at(r.Value), 5, how)
	case r.Lo < r.Hi:
		mark(s, shape, x, (v.at(r.Lo)+v.at(r.Hi))/2, 5, hollow)
	}
	s.close()
}

// errorEnd closes an error bar, or opens it with an arrow when it has no end.
func errorEnd(s *svg, x, y float64, open bool, way float64) {
	if !open {
		s.line(x-4, y, x+4, y, "stroke-width", "1.25")
		return
	}
	var d path
	d.move(x-4, y-5*way)
	d.to(x, y)
	d.to(x+4, y-5*way)
	s.el("path", "d", d.String(), "fill", "none", "stroke", "currentColor", "stroke-width", "1.25")
}

// manner is how a mark is drawn.
type manner int

const (
	solid  manner = iota
	hollow        // says less: only between two values
	struck        // crossed out
)

// mark draws a shape about a point; the ground shows as a thin edge so that
// marks stay apart on a dense chart.
func mark(s *svg, shape Shape, x, y, r float64, how manner) {
	look := []string{"class", "mark"}
	if how != solid || shape == Ring {
		look = []string{"class", "mark hollow", "fill", "none", "stroke", "currentColor", "stroke-width", "1.75"}
	}
	var d path
	switch shape {
	case Square:
		s.rect(x-r*0.85, y-r*0.85, r*1.7, r*1.7, look...)
	case Triangle:
		d.move(x, y-r*1.15)
		d.to(x+r*1.05, y+r*0.8)
		d.to(x-r*1.05, y+r*0.8)
	case Wedge:
		d.move(x, y+r*1.15)
		d.to(x+r*1.05, y-r*0.8)
		d.to(x-r*1.05, y-r*0.8)
	case Diamond:
		d.move(x, y-r*1.2)
		d.to(x+r, y)
		d.to(x, y+r*1.2)
		d.to(x-r, y)
	case Cross:
		strokes(s, [4]float64{x - r*0.9, y - r*0.9, x + r*0.9, y + r*0.9}, [4]float64{x - r*0.9, y + r*0.9, x + r*0.9, y - r*0.9})
	case Plus:
		strokes(s, [4]float64{x - r*1.1, y, x + r*1.1, y}, [4]float64{x, y - r*1.1, x, y + r*1.1})
	default:
		s.el("circle", append([]string{"cx", num(x), "cy", num(y), "r", num(r)}, look...)...)
	}
	if d.b.Len() > 0 {
		d.shut()
		s.el("path", append([]string{"d", d.String()}, look...)...)
	}
	if how == struck {
		s.line(x-r*2, y+r*1.2, x+r*2, y-r*1.2, "class", "strike", "stroke-width", "2")
	}
}

// strokes draws crossing lines, with a rim of the ground where there is a stylesheet.
func strokes(s *svg, lines ...[4]float64) {
	for _, look := range [][]string{{"class", "rim", "stroke-width", "2.25"}, {"stroke-width", "2.25"}} {
		for _, l := range lines {
			s.line(l[0], l[1], l[2], l[3], look...)
		}
	}
}

func kindName(r Reading) string {
	name := r.Kind
	if name == "" {
		name = "reading"
	}
	if r.Struck {
		name += " (struck)"
	}
	return name
}

// barWords says an error bar in words.
func barWords(r Reading, unit string) string {
	if !(r.Lo < r.Hi) {
		return ""
	}
	switch lo, hi := math.IsInf(r.Lo, -1), math.IsInf(r.Hi, 1); {
	case lo && hi:
		return ""
	case lo:
		return "below " + figuresIn(unit, r.Hi)
	case hi:
		return "above " + figuresIn(unit, r.Lo)
	}
	return figuresIn(unit, r.Lo) + " – " + figuresIn(unit, r.Hi)
}

// legendRow holds keys that fit on one line.
type legendRow []kindKey

func legendRows(keys []kindKey, width float64) []legendRow {
	var rows []legendRow
	used := 0.0
	for _, k := range keys {
		k.kind = shorten(keyName(k), textSize, width-24)
		need := measure(k.kind, textSize) + 34
		if len(rows) == 0 || used+need > width {
			rows, used = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], k)
		used += need
	}
	return rows
}

func keyName(k kindKey) string {
	if k.kind == "" {
		return "reading"
	}
	return k.kind
}

func drawLegend(s *svg, rows []legendRow, y float64) {
	s.group("class", "legend")
	for i, row := range rows {
		x := 8.0
		for _, k := range row {
			at := y + float64(i)*20
			mark(s, k.shape, x+2, at-4.5, 5, k.how)
			s.text(x+14, at, "start", k.kind)
			x += measure(k.kind, textSize) + 34
		}
	}
	s.close()
}
