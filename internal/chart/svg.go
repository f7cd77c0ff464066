package chart

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// svg writes one drawing. Attributes come in pairs of name and value.
type svg struct {
	b    strings.Builder
	id   string
	w, h float64
	open []string

	defined map[string]bool // patterns already written
}

const (
	textSize  = 13.0 // user units; both sizes are shown near 1:1
	smallSize = 11.5
)

// begin opens a drawing with its title and description.
func begin(id string, size Size, w, h float64, title, desc, class string, pairs ...string) *svg {
	s := &svg{id: cleanID(id) + size.suffix(), w: w, h: h}
	s.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="chart-svg ` + attr(class) + `" role="` + role(class) + `" id="` + s.id + `"` +
		` aria-labelledby="` + s.id + `-t ` + s.id + `-d" viewBox="0 0 ` + num(w) + ` ` + num(h) + `"` +
		` font-size="` + num(textSize) + `" fill="currentColor"`)
	s.attrs(pairs)
	s.b.WriteString(">\n")
	s.b.WriteString(`<title id="` + s.id + `-t">` + attr(title) + `</title><desc id="` + s.id + `-d">` + attr(desc) + "</desc>\n")
	return s
}

// role is what a drawing is to those who hear it: one picture, but a river has links in it.
func role(class string) string {
	if class == "river" {
		return "group"
	}
	return "img"
}

// end closes everything still open and returns the drawing.
func (s *svg) end() string {
	for len(s.open) > 0 {
		s.close()
	}
	s.b.WriteString("</svg>\n")
	return s.b.String()
}

func (s *svg) attrs(pairs []string) {
	for i := 0; i+1 < len(pairs); i += 2 {
		s.b.WriteString(" " + pairs[i] + `="` + attr(pairs[i+1]) + `"`)
	}
}

// group opens a <g>; close closes it.
func (s *svg) group(pairs ...string) { s.start("g", pairs...) }

// start opens an element; close closes it.
func (s *svg) start(tag string, pairs ...string) {
	s.b.WriteString("<" + tag)
	s.attrs(pairs)
	s.b.WriteString(">\n")
	s.open = append(s.open, tag)
}

func (s *svg) close() {
	s.b.WriteString("</" + s.open[len(s.open)-1] + ">\n")
	s.open = s.open[:len(s.open)-1]
}

// el writes an empty element.
func (s *svg) el(tag string, pairs ...string) {
	s.b.WriteString("<" + tag)
	s.attrs(pairs)
	s.b.WriteString("/>\n")
}

// titled writes an element with a <title>, which a browser shows on hover.
func (s *svg) titled(title, tag string, pairs ...string) {
	s.b.WriteString("<" + tag)
	s.attrs(pairs)
	s.b.WriteString("><title>" + attr(title) + "</title></" + tag + ">\n")
}

func (s *svg) line(x1, y1, x2, y2 float64, pairs ...string) {
	s.el("line", append([]string{"x1", num(x1), "y1", num(y1), "x2", num(x2), "y2", num(y2), "stroke", "currentColor"}, pairs...)...)
}

func (s *svg) rect(x, y, w, h float64, pairs ...string) {
	s.el("rect", append([]string{"x", num(x), "y", num(y), "width", num(math.Max(w, 0)), "height", num(math.Max(h, 0))}, pairs...)...)
}

// text writes words at a baseline; anchor is start, middle or end.
func (s *svg) text(x, y float64, anchor, words string, pairs ...string) {
	s.b.WriteString(`<text x="` + num(x) + `" y="` + num(y) + `"`)
	if anchor != "start" {
		s.b.WriteString(` text-anchor="` + anchor + `"`)
	}
	s.attrs(pairs)
	s.b.WriteString(">" + chem(words) + "</text>\n")
}

// hatch defines a pattern of strokes and returns its paint.
func (s *svg) hatch(name string, gap, weight, strength, angle float64) string {
	return s.pattern(name, gap, "rotate("+num(angle)+")", `<line x1="0" y1="0" x2="0" y2="`+num(gap)+
		`" stroke="currentColor" stroke-width="`+num(weight*2)+`" stroke-opacity="`+num(strength)+`"/>`)
}

// pattern defines a pattern once for a drawing and returns its paint.
func (s *svg) pattern(name string, gap float64, turn, tile string) string {
	id := s.id + "-" + name
	paint := "url(#" + id + ")"
	if s.defined[name] {
		return paint
	}
	if s.defined == nil {
		s.defined = map[string]bool{}
	}
	s.defined[name] = true
	s.b.WriteString(`<defs><pattern id="` + id + `" width="` + num(gap) + `" height="` + num(gap) + `" patternUnits="userSpaceOnUse"`)
	if turn != "" {
		s.b.WriteString(` patternTransform="` + turn + `"`)
	}
	s.b.WriteString(">" + tile + "</pattern></defs>\n")
	return paint
}

// num writes a coordinate to a tenth: fine enough to draw, coarse enough that
// processors agree on it.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	r := math.Round(v*10) / 10
	if r == 0 {
		r = 0 // no minus zero
	}
	if math.Abs(v) < 1 && v != 0 {
		r = math.Round(v*100) / 100
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// attr makes any string safe inside XML text or a quoted attribute: markup is
// escaped, and what XML 1.0 does not allow at all is replaced.
func attr(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		i += n
		switch {
		case r == utf8.RuneError && n == 1, r < 0x20 && r != '\t' && r != '\n' && r != '\r', r == 0xFFFE, r == 0xFFFF:
			b.WriteRune('\uFFFD')
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&#34;")
		case r == '\'':
			b.WriteString("&#39;")
		case r == '\t' || r == '\n' || r == '\r':
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// chem escapes words and lowers the 2 of every SO2 and CO2.
func chem(words string) string {
	var b strings.Builder
	lowered := false
	raise := func(part string) {
		if part == "" {
			return
		}
		if lowered {
			b.WriteString(`<tspan dy="-3">` + part + `</tspan>`)
			lowered = false
			return
		}
		b.WriteString(part)
	}
	e := attr(words)
	for {
		i := strings.Index(e, "O2")
		if i < 1 || e[i-1] != 'S' && e[i-1] != 'C' {
			raise(e)
			return b.String()
		}
		raise(e[:i+1])
		b.WriteString(`<tspan dy="3" font-size="75%">2</tspan>`)
		lowered = true
		e = e[i+2:]
	}
}

// cleanID keeps letters, digits and dashes, and starts with a letter.
func cleanID(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			b.WriteRune(r)
		default:
			b.WriteByte('-')
		}
	}
	id := b.String()
	if id == "" || !(id[0] >= 'a' && id[0] <= 'z' || id[0] >= 'A' && id[0] <= 'Z') {
		id = "c" + id
	}
	return id
}

// path gathers drawing commands.
type path struct{ b strings.Builder }

func (p *path) move(x, y float64) { p.b.WriteString("M" + num(x) + " " + num(y)) }
func (p *path) to(x, y float64)   { p.b.WriteString("L" + num(x) + " " + num(y)) }
func (p *path) shut()             { p.b.WriteString("Z") }
func (p *path) curve(x1, y1, x2, y2, x, y float64) {
	p.b.WriteString("C" + num(x1) + " " + num(y1) + " " + num(x2) + " " + num(y2) + " " + num(x) + " " + num(y))
}
func (p *path) String() string { return p.b.String() }
