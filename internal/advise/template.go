package advise

import (
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
)

// A template is a sentence with formulas in braces: "pH {wine.ph} is high". What
// stands in square brackets is left out where a figure in it is missing:
// "[At pH {wine.ph} ]it stands unprotected".
type template struct {
	parts    []part
	sentence bool // begins with a capital letter
}

// A part is a piece of text or a formula.
type part struct {
	text    string
	formula *formula
	braces  string // the formula as it is written
	option  int    // the brackets that it stands in, counted from 1; 0: none
}

func (b *builder) template(name string, at located) *template {
	if at.text == "" {
		return nil
	}
	t := &template{sentence: name == "why"}
	option, inside := 0, false
	add := func(p part) {
		if inside {
			p.option = option
		}
		t.parts = append(t.parts, p)
	}
	rest := at.text
	for rest != "" {
		next := strings.IndexAny(rest, "{[]")
		if next < 0 {
			next = len(rest)
		}
		if next > 0 {
			add(part{text: rest[:next]})
		}
		if rest = rest[next:]; rest == "" {
			break
		}
		switch rest[0] {
		case '{':
			end := strings.IndexByte(rest, '}')
			if end < 0 {
				b.bad(at.line, name, at.text, "a closing brace for every opening one")
				return t
			}
			inner := rest[1:end]
			add(part{braces: inner, formula: b.formula(name, located{inner, at.line}, nil)})
			rest = rest[end:]
		case '[', ']':
			if inside != (rest[0] == ']') {
				b.bad(at.line, name, at.text, "a closing bracket for every opening one, and none within another")
				return t
			}
			inside = !inside
			if inside {
				option++
			}
		}
		rest = rest[1:]
	}
	if inside {
		b.bad(at.line, name, at.text, "a closing bracket for every opening one, and none within another")
	}
	return t
}

// A Figure is a number that a sentence rests on, so that it can be opened.
type Figure struct {
	Name  string `json:"name"`            // "wine.ph"
	Label string `json:"label"`           // "pH"
	Shown string `json:"shown"`           // "3.47"
	From  string `json:"from,omitempty"`  // where it comes from: "read on 3 November by aspiration"
	Entry string `json:"entry,omitempty"` // id of the entry it was read in
}

// notKnown stands in a sentence for a figure that is missing, noDay for a day that is
// on no record.
const (
	notKnown = "unknown"
	noDay    = "no day on record"
)

// fill sets the figures in.
func (t *template) fill(s *subject) (string, []Figure) {
	if t == nil {
		return "", nil
	}
	shown := make([]string, len(t.parts))
	lacks := map[int]bool{}
	for i, p := range t.parts {
		if p.formula == nil {
			continue
		}
		shown[i] = t.value(s, p)
		if p.option > 0 && (shown[i] == notKnown || shown[i] == noDay) {
			lacks[p.option] = true
		}
	}
	var out strings.Builder
	var figures []Figure
	for i, p := range t.parts {
		if lacks[p.option] {
			continue
		}
		words := p.text + shown[i]
		if text := out.String(); t.sentence && (text == "" || strings.HasSuffix(text, ". ")) && !strings.HasPrefix(words, "pH") {
			words = upperFirst(words)
		}
		out.WriteString(words)
		if w, ok := vocabulary[p.braces]; ok && p.formula != nil && shown[i] != notKnown {
			figures = append(figures, Figure{Name: w.name, Label: w.label(), Shown: shown[i], From: s.from[w.name].words, Entry: s.from[w.name].entry})
		}
	}
	return out.String(), figures
}

// value is a formula's figure as it stands in the sentence.
func (t *template) value(s *subject, p part) string {
	v, _, err := p.formula.eval(s)
	if err != nil || v == nil {
		return notKnown
	}
	w, isWord := vocabulary[p.braces]
	if n, ok := v.(types.Double); ok && isWord && w.decimals > 0 {
		return strconv.FormatFloat(float64(n), 'f', w.decimals, 64)
	}
	return s.show(v)
}

// upperFirst makes a beginning of a sentence. pH is written so there too.
func upperFirst(s string) string {
	if strings.HasPrefix(s, "pH") {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// show writes a value as it stands in a sentence.
func (s *subject) show(v ref.Val) string {
	switch v := v.(type) {
	case measure:
		if v.kind == date {
			t, ok := dayOf(v.v, s.plan.zone)
			switch {
			case !ok && v.unit != "":
				return "never " + v.unit + " on record"
			case !ok:
				return noDay
			case v.unit != "":
				return "last " + v.unit + " " + s.plan.when(t)
			}
			return s.plan.when(t)
		}
		return v.inWords(s.usUnits())
	case types.Double:
		return strconv.FormatFloat(float64(v), 'f', 2, 64)
	case types.Int:
		return strconv.FormatInt(int64(v), 10)
	case types.Bool:
		if v {
			return "yes"
		}
		return "no"
	case types.String:
		return s.plan.spoken(string(v))
	}
	if l, ok := v.Value().([]string); ok {
		return strings.Join(l, ", ")
	}
	return notKnown
}

// digits are days as beliefs write them, for programs too; not the day in a tag.
var digits = regexp.MustCompile(`(^|[^-\w])(\d{4}-\d{2}-\d{2})\b`)

// spoken writes the days in a belief's sentence as all others of a plan are written.
func (p *plan) spoken(sentence string) string {
	return digits.ReplaceAllStringFunc(sentence, func(found string) string {
		at := len(found) - len(time.DateOnly)
		day, err := time.ParseInLocation(time.DateOnly, found[at:], p.zone)
		if err != nil {
			return found
		}
		return found[:at] + p.when(day)
	})
}

// plainText is the sentence with its formulas as they are written.
func (t *template) plainText() string {
	var out strings.Builder
	for _, p := range t.parts {
		if p.formula == nil {
			out.WriteString(p.text)
		} else {
			out.WriteString("…")
		}
	}
	return out.String()
}
