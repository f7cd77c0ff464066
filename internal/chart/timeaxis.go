package chart

import (
	"math"
	"strconv"
	"time"
)

// timescale carries times onto the drawing, left to right.
type timescale struct {
	from, to time.Time
	a, b     float64
}

func (s timescale) at(t time.Time) float64 {
	total := s.to.Sub(s.from).Seconds()
	if total <= 0 {
		return s.a
	}
	return s.a + clamp(t.Sub(s.from).Seconds()/total, 0, 1)*(s.b-s.a)
}

func (s timescale) holds(t time.Time) bool { return !t.Before(s.from) && !t.After(s.to) }

// timeTick has a word for the first row (a day, a month) and, where it begins
// something larger, one for the second (a month, a year).
type timeTick struct {
	at           time.Time
	label, under string
}

// stride is one way to divide time.
type stride struct {
	days, months int
	width        float64 // room one label needs, in text sizes
}

var strides = []stride{
	{days: 1, width: 2.1}, {days: 2, width: 2.1}, {days: 7, width: 2.1}, {days: 14, width: 2.1},
	{months: 1, width: 3}, {months: 2, width: 3}, {months: 3, width: 3}, {months: 6, width: 3},
	{months: 12, width: 3.4}, {months: 24, width: 3.4}, {months: 60, width: 3.4}, {months: 120, width: 3.4},
	{months: 1200, width: 3.4}, {months: 12000, width: 3.4}, {months: 120000, width: 3.4},
}

// ticks chooses the finest division whose labels have room.
func (s timescale) ticks(size float64) []timeTick {
	days := s.to.Sub(s.from).Hours() / 24
	if !(days > 0) {
		return nil
	}
	perDay := (s.b - s.a) / days
	for _, st := range strides {
		length := float64(st.days) + float64(st.months)*30.4
		if perDay*length >= st.width*size {
			return s.divide(st)
		}
	}
	return nil
}

func (s timescale) divide(st stride) []timeTick {
	var out []timeTick
	lastUnder := ""
	for t := s.first(st); !t.After(s.to); t = st.next(t) {
		if t.Before(s.from) {
			continue
		}
		k := timeTick{at: t}
		switch {
		case st.months >= 12:
			k.label = strconv.Itoa(t.Year())
		case st.months > 0:
			k.label = t.Format("Jan")
			if u := strconv.Itoa(t.Year()); u != lastUnder {
				k.under, lastUnder = u, u
			}
		default:
			k.label = strconv.Itoa(t.Day())
			if u := t.Format("Jan"); u != lastUnder {
				k.under, lastUnder = u, u
			}
		}
		out = append(out, k)
		if len(out) > 400 {
			break
		}
	}
	return out
}

// first is the start of the division that holds the beginning: a midnight, a
// Monday, the first of a month or of a year.
func (s timescale) first(st stride) time.Time {
	y, m, d := s.from.Date()
	loc := s.from.Location()
	switch {
	case st.months >= 12:
		n := st.months / 12
		return time.Date(y-((y%n)+n)%n, 1, 1, 0, 0, 0, 0, loc)
	case st.months > 0:
		return time.Date(y, m-time.Month((int(m)-1)%st.months), 1, 0, 0, 0, 0, loc)
	case st.days >= 7:
		t := time.Date(y, m, d, 0, 0, 0, 0, loc)
		return t.AddDate(0, 0, -(int(t.Weekday())+6)%7)
	}
	return time.Date(y, m, d, 0, 0, 0, 0, loc)
}

func (st stride) next(t time.Time) time.Time { return t.AddDate(0, st.months, st.days) }

// axisRoom is the height of the words under a time axis.
const axisRoom = 44.0

// drawTimeAxis writes the two rows of words at y, with lines up through a plot
// of that height.
func drawTimeAxis(s *svg, ts timescale, y, grid float64) {
	words := &floorplan{within: box{0, y, s.w, y + axisRoom}}
	s.group("class", "axis")
	for _, k := range ts.ticks(textSize) {
		x := ts.at(k.at)
		if grid > 0 {
			s.line(x, y, x, y-grid, "stroke-opacity", "0.12")
		}
		s.line(x, y-4, x, y+4, "stroke-opacity", "0.7")
		if p, ok := words.put(textSize, spot{x, y + 21, "middle", k.label}); ok {
			s.text(p.x, p.y, p.anchor, p.words)
		}
		if k.under == "" {
			continue
		}
		if p, ok := words.put(textSize, spot{x, y + 38, "middle", k.under}, spot{x - 4, y + 38, "start", k.under}); ok {
			s.text(p.x, p.y, p.anchor, p.words, "class", "under")
		}
	}
	s.close()
}

// day writes a date, with the year only where it differs from the reference.
func day(t, ref time.Time) string {
	if t.Year() == ref.Year() {
		return t.Format("2 Jan")
	}
	return t.Format("2 Jan 2006")
}

// figuresIn writes a value as its unit wants it: a density ratio to its last point, an
// amount of acid or sugar to the hundredth that a test can see.
func figuresIn(unit string, v float64) string {
	if unit == "g/L" && math.Abs(v) < 0.1 {
		return fixed(v, 2)
	}
	if unit == "SG" && v > 0.5 && v < 2 {
		return fixed(v, 3)
	}
	return figures(v)
}

// figures writes a value with enough decimals for its size: three significant
// figures, never more than four decimals.
func figures(v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	if math.IsInf(v, 1) {
		return "∞"
	}
	if math.IsInf(v, -1) {
		return "−∞"
	}
	a := math.Abs(v)
	switch {
	case a >= 100:
		return fixed(v, 0)
	case a >= 10:
		return fixed(v, 1)
	case a >= 0.1 || a == 0:
		return fixed(v, 2)
	case a >= 0.01:
		return fixed(v, 3)
	}
	return fixed(v, 4)
}
