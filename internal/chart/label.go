package chart

import (
	"math"
	"unicode/utf8"
)

// box is a rectangle that a label or mark takes up.
type box struct{ x0, y0, x1, y1 float64 }

func (a box) meets(b box) bool {
	return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1
}

// floorplan keeps count of the room that is taken.
type floorplan struct {
	within box
	taken  []box
}

// claim takes the room if it is free and inside, and says whether it did.
func (f *floorplan) claim(b box) bool {
	if b.x0 < f.within.x0-0.01 || b.x1 > f.within.x1+0.01 || b.y0 < f.within.y0-0.01 || b.y1 > f.within.y1+0.01 {
		return false
	}
	for _, t := range f.taken {
		if b.meets(t) {
			return false
		}
	}
	f.taken = append(f.taken, b)
	return true
}

// block takes room without asking.
func (f *floorplan) block(b box) { f.taken = append(f.taken, b) }

// measure is the width of words at a size, from above: the true width depends
// on the face, and a label must never come out wider than was reckoned.
func measure(words string, size float64) float64 {
	w := 0.0
	for _, r := range words {
		switch {
		case r < ' ': // written as the replacement sign
			w += 1.1
		case r == 'i' || r == 'l' || r == 'j' || r == '.' || r == ',' || r == ' ' || r == '\'' || r == ':' || r == ';' || r == '|':
			w += 0.32
		case r == 'm' || r == 'w' || r == 'M' || r == 'W' || r == '%' || r == '—':
			w += 0.95
		case r >= 'A' && r <= 'Z':
			w += 0.72
		case r < utf8.RuneSelf:
			w += 0.62
		case r < 0x2E80:
			w += 0.68
		default:
			w += 1.1
		}
	}
	return w * size
}

// spot is a label that has found its place.
type spot struct {
	x, y   float64 // baseline
	anchor string
	words  string
}

// labelBox is the room of words at a baseline.
func labelBox(x, y float64, anchor, words string, size float64) box {
	w := measure(words, size)
	switch anchor {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	return box{x - 1.5, y - size*0.95, x + w + 1.5, y + size*0.3}
}

// put claims room for words at one of the given spots and returns the first free one.
func (f *floorplan) put(size float64, tries ...spot) (spot, bool) {
	for _, t := range tries {
		if f.claim(labelBox(t.x, t.y, t.anchor, t.words, size)) {
			return t, true
		}
	}
	return spot{}, false
}

// shorten cuts words to a width, with an ellipsis when something was cut.
func shorten(words string, size, width float64) string {
	if measure(words, size) <= width {
		return words
	}
	runes := []rune(words)
	for n := len(runes) - 1; n > 0; n-- {
		if s := string(runes[:n]) + "…"; measure(s, size) <= width {
			return s
		}
	}
	return ""
}

func clamp(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }
