package ui

// FieldKind is how a field is filled in.
type FieldKind string

// The kinds of field. Numbers are plain text with a number pad: a browser's own
// number field drops what it cannot read, and nothing typed may be lost.
const (
	Words  FieldKind = "words"
	Number FieldKind = "number"
	Date   FieldKind = "date"
	Moment FieldKind = "moment"
	Long   FieldKind = "long"
	Choice FieldKind = "choice" // a list that drops down
	Pick   FieldKind = "pick"   // a few, all in sight
	Check  FieldKind = "check"
	Secret FieldKind = "secret"
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
