package advise

import (
	"strconv"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
)

// A template is a sentence with formulas in braces: "pH {wine.ph} is high".
type template struct {
	parts []part
}

// A part is a piece of text or a formula.
type part struct {
	text    string
	formula *formula
	braces  string // the formula as it is written
}

func (b *builder) template(name string, at located) *template {
	if at.text == "" {
		return nil
	}
	t := &template{}
	rest := at.text
	for rest != "" {
		open := strings.IndexByte(rest, '{')
		if open < 0 {
			t.parts = append(t.parts, part{text: rest})
			break
		}
		if open > 0 {
			t.parts = append(t.parts, part{text: rest[:open]})
		}
		end := strings.IndexByte(rest[open:], '}')
		if end < 0 {
			b.bad(at.line, name, at.text, "a closing brace for every opening one")
			return t
		}
		inner := rest[open+1 : open+end]
		t.parts = append(t.parts, part{braces: inner, formula: b.formula(name, located{inner, at.line}, nil)})
		rest = rest[open+end+1:]
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

// notKnown stands in a sentence for a figure that is missing.
const notKnown = "unknown"

// fill sets the figures in.
func (t *template) fill(s *subject) (string, []Figure) {
	if t == nil {
		return "", nil
	}
	var out strings.Builder
	var figures []Figure
	for _, p := range t.parts {
		if p.formula == nil {
			out.WriteString(p.text)
			continue
		}
		shown := notKnown
		w, isWord := vocabulary[p.braces]
		if v, _, err := p.formula.eval(s); err == nil && v != nil {
			shown = s.show(v)
			if n, ok := v.(types.Double); ok && isWord && w.decimals > 0 {
				shown = strconv.FormatFloat(float64(n), 'f', w.decimals, 64)
			}
		}
		out.WriteString(shown)
		if isWord && shown != notKnown {
			figures = append(figures, Figure{Name: w.name, Label: w.label(), Shown: shown, From: s.from[w.name].words, Entry: s.from[w.name].entry})
		}
	}
	return out.String(), figures
}

// show writes a value as it stands in a sentence.
func (s *subject) show(v ref.Val) string {
	switch v := v.(type) {
	case measure:
		if v.kind == date {
			if t, ok := dayOf(v.v, s.plan.zone); ok {
				return s.plan.when(t)
			}
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
		return string(v)
	}
	if l, ok := v.Value().([]string); ok {
		return strings.Join(l, ", ")
	}
	return notKnown
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
