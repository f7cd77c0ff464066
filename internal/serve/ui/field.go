package ui

import (
	"slices"
	"strings"
)

// FieldKind is how a field is filled in.
type FieldKind string

// The kinds of field. Numbers are plain text with a number pad: a browser's own
// number field drops what it cannot read, and nothing typed may be lost.
const (
	Words   FieldKind = "words"
	Number  FieldKind = "number"
	Date    FieldKind = "date"
	Moment  FieldKind = "moment"
	Long    FieldKind = "long"
	Choice  FieldKind = "choice" // a list that drops down
	Pick    FieldKind = "pick"   // a few, all in sight
	Check   FieldKind = "check"
	Several FieldKind = "several" // a few, of which any may be true
	File    FieldKind = "file"
	Secret  FieldKind = "secret"
)

// Field is one question of a form.
type Field struct {
	Name     string
	Label    string
	Kind     FieldKind // Words when empty
	Value    string    // as typed, kept after an error
	Unit     string
	Help     string
	Error    string // what is wrong, what is allowed
	Optional bool
	Left     string // words beside the label of an optional field; "if known" when empty
	Options  []Option
	Example  string
	Complete string // autocomplete token; "off" when empty
	Focus    bool   // it is what is typed first
	Beside   bool   // it stands beside the field before it
	Extra    bool   // it is asked under "More", which opens when it has an answer
}

// MayLack says whether the answer may be left out; a list whose first words are an
// answer always has one.
func (f Field) MayLack() bool {
	return f.Optional && !(f.Kind == Choice && len(f.Options) > 0 && f.Options[0].Text != "–")
}

// Chosen says whether an option of a field of several is among its answers, which
// Value holds one a line.
func (f Field) Chosen(value string) bool {
	return slices.Contains(strings.Split(f.Value, "\n"), value)
}

// Rows are the fields that are always asked, those beside each other together.
func Rows(fields []Field) [][]Field { return rows(fields, false) }

// Extras are the fields under "More".
func Extras(fields []Field) [][]Field { return rows(fields, true) }

func rows(fields []Field, extra bool) [][]Field {
	var out [][]Field
	for _, f := range fields {
		if f.Extra != extra {
			continue
		}
		if n := len(out); f.Beside && n > 0 {
			out[n-1] = append(out[n-1], f)
			continue
		}
		out = append(out, []Field{f})
	}
	return out
}

// Answered says whether any of the fields has an answer or an error.
func Answered(rows [][]Field) bool {
	for _, r := range rows {
		for _, f := range r {
			if f.Error != "" || f.Value != "" && !f.Is(string(Pick)) {
				return true
			}
		}
	}
	return false
}

// Option is one answer.
type Option struct {
	Value, Text string
	Note        string
}

// Is says whether the field is of a kind; the zero kind is Words.
func (f Field) Is(kind string) bool {
	if f.Kind == "" {
		return kind == string(Words)
	}
	return kind == string(f.Kind)
}

// Described lists the ids of help and error for the field.
func (f Field) Described() string {
	s := ""
	if f.Help != "" {
		s = f.Name + "-help"
	}
	if f.Error != "" {
		if s != "" {
			s += " "
		}
		s += f.Name + "-error"
	}
	return s
}

// Autocomplete is the browser's token.
func (f Field) Autocomplete() string {
	if f.Complete == "" {
		return "off"
	}
	return f.Complete
}

// FormErrors heads a form that came back: how many answers are wanted again.
type FormErrors struct{ Fields []Field }

// Wrong lists the fields with an error.
func (e FormErrors) Wrong() []Field {
	var out []Field
	for _, f := range e.Fields {
		if f.Error != "" {
			out = append(out, f)
		}
	}
	return out
}
