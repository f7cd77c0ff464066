package advise

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"cel.dev/cel-go/cel"
	"go.yaml.in/yaml/v3"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/science/cited"
)

// A Protocol is what is due when, for the lots it is for: a file, checked and
// ready to run. docs/protocols.md describes the file.
type Protocol struct {
	Name     string   `json:"name"`
	Title    string   `json:"title"`
	Means    string   `json:"means"` // for whom, in a sentence
	Beside   bool     `json:"beside,omitempty"`
	Includes []string `json:"includes,omitempty"`
	Origin   string   `json:"origin"` // name of the file
	Steps    []*Step  `json:"steps"`

	follows []*formula
}

// A Step is one act of a protocol.
type Step struct {
	ID       string       `json:"id"`
	Act      string       `json:"act"`
	Of       Scope        `json:"of"`
	Class    Class        `json:"class"`
	Matters  int          `json:"matters"` // 1 little, 2 much, 3 the wine hangs on it
	Late     string       `json:"late,omitempty"`
	Together string       `json:"together,omitempty"`
	Minutes  int          `json:"minutes,omitempty"`
	Needs    []string     `json:"needs,omitempty"`
	Source   cited.Source `json:"source"`
	Protocol string       `json:"protocol"`
	Line     int          `json:"line"`

	act      *template
	when     []*formula
	from, by *formula
	about    *formula // the likeliest day of a window that belief spans
	again    *formula
	amount   *amount
	tool     *template
	why      *template
	cautions []string
	write    *draft
	shows    string
}

// A Scope is what a step is about.
type Scope string

// Scopes. A vessel's steps reach empty vessels too; a parcel's only wine.
const (
	OfParcel     Scope = "parcel"
	OfVessel     Scope = "vessel"
	OfInstrument Scope = "instrument"
	OfCellar     Scope = "cellar"
)

// A Class orders acts at one vessel on one evening.
type Class string

// Classes in the order in which they are done: what is measured comes before
// what changes it, racking before the dose that protects what was racked.
const (
	ClassCheck     Class = "check"     // an instrument
	ClassTest      Class = "test"      // a reading
	ClassLook      Class = "look"      // smell, taste, film, fill height
	ClassDecide    Class = "decide"    // a verdict, a choice
	ClassWarmth    Class = "warmth"    // warm, cool
	ClassCap       Class = "cap"       // punch down
	ClassPress     Class = "press"     //
	ClassRack      Class = "rack"      //
	ClassTop       Class = "top"       //
	ClassAdd       Class = "add"       // nutrient, acid, fining, oak
	ClassInoculate Class = "inoculate" //
	ClassSulfite   Class = "sulfite"   //
	ClassStir      Class = "stir"      //
	ClassBottle    Class = "bottle"    //
	ClassClean     Class = "clean"     //
)

// Classes in their order.
var Classes = []Class{ClassCheck, ClassTest, ClassLook, ClassDecide, ClassWarmth, ClassCap, ClassPress, ClassRack, ClassTop,
	ClassAdd, ClassInoculate, ClassSulfite, ClassStir, ClassBottle, ClassClean}

// An amount is a figure that a calculator of the bench gives.
type amount struct {
	calculator string
	take       string // key of the output that is the amount
	row        string // how the row of a table begins, where it is not the vessel's
	line       int
	facts      bool // fill the other inputs from what is known of the wine
	with       []input
	coarse     *coarse
}

// coarse is what to take instead where the scale is too coarse for the amount.
type coarse struct {
	take string
	with []input
}

type input struct {
	key   string
	value *formula
}

// A draft is the entry that is half written when the act is ticked.
type draft struct {
	kind   cellar.Kind
	fields map[string]string
	words  *template
	set    *formula
	line   int
}

// located is a text with the line on which it stands.
type located struct {
	text string
	line int
}

// UnmarshalYAML takes any scalar as it is written.
func (l *located) UnmarshalYAML(n *yaml.Node) error {
	if n.Kind != yaml.ScalarNode {
		return fmt.Errorf("line %d: a single text is wanted", n.Line)
	}
	l.text, l.line = strings.TrimSpace(n.Value), n.Line
	if n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
		l.line++ // the text begins on the line after its sign
	}
	return nil
}

// conditions are one text or a list of them, all of which must hold.
type conditions []located

// UnmarshalYAML takes a text or a list.
func (c *conditions) UnmarshalYAML(n *yaml.Node) error {
	if n.Kind != yaml.SequenceNode {
		var one located
		if err := one.UnmarshalYAML(n); err != nil {
			return err
		}
		*c = conditions{one}
		return nil
	}
	for _, item := range n.Content {
		var one located
		if err := one.UnmarshalYAML(item); err != nil {
			return err
		}
		*c = append(*c, one)
	}
	return nil
}

type protocolFile struct {
	Name     located    `yaml:"name"`
	Title    string     `yaml:"title"`
	Means    string     `yaml:"means"`
	Beside   bool       `yaml:"beside"`
	Includes []string   `yaml:"includes"`
	For      conditions `yaml:"for"`
	Steps    []stepFile `yaml:"steps"`
}

type stepFile struct {
	ID       located     `yaml:"id"`
	Act      located     `yaml:"act"`
	Of       located     `yaml:"of"`
	Class    located     `yaml:"class"`
	When     conditions  `yaml:"when"`
	From     located     `yaml:"from"`
	About    located     `yaml:"about"`
	By       located     `yaml:"by"`
	Again    located     `yaml:"again"`
	Amount   *amountFile `yaml:"amount"`
	Tool     located     `yaml:"tool"`
	Why      located     `yaml:"why"`
	Late     string      `yaml:"late"`
	Matters  located     `yaml:"matters"`
	Together string      `yaml:"together"`
	Minutes  int         `yaml:"minutes"`
	Needs    []string    `yaml:"needs"`
	Cautions []located   `yaml:"cautions"`
	Shows    located     `yaml:"shows"`
	Write    *writeFile  `yaml:"write"`
	Source   located     `yaml:"source"`
	Mark     located     `yaml:"mark"`
}

type amountFile struct {
	Calculator located            `yaml:"calculator"`
	Take       located            `yaml:"take"`
	Row        string             `yaml:"row"`
	Facts      bool               `yaml:"facts"`
	With       map[string]located `yaml:"with"`
	Coarse     *coarseFile        `yaml:"coarse"`
}

type coarseFile struct {
	Take located            `yaml:"take"`
	With map[string]located `yaml:"with"`
}

type writeFile struct {
	Entry   located `yaml:"entry"`
	Product string  `yaml:"product"`
	What    string  `yaml:"what"`
	How     string  `yaml:"how"`
	Says    string  `yaml:"says"`
	Purpose string  `yaml:"purpose"`
	Words   located `yaml:"words"`
	Set     located `yaml:"set"`
}

// marks are the standings of a source as a file writes them.
var marks = map[string]cited.Mark{
	"read": cited.Read, "computed": cited.Computed, "second-hand": cited.SecondHand,
	"common-practice": cited.CommonPractice, "memory": cited.Memory, "proposal": cited.Proposal,
}

// maxFile bounds a protocol file; the longest built-in one has a tenth of it.
const maxFile = 256 << 10

// ParseProtocol reads and checks a protocol file. Everything that is wrong with it
// comes back at once, as a fault.Invalid whose fields carry line and reason.
func ParseProtocol(origin string, text []byte) (*Protocol, error) {
	op := "read protocol " + origin
	if len(text) > maxFile {
		return nil, fault.New(fault.Invalid, op, "the file has %d bytes: allowed are %d", len(text), maxFile)
	}
	var f protocolFile
	dec := yaml.NewDecoder(bytes.NewReader(text))
	dec.KnownFields(true)
	if err := dec.Decode(&f); err != nil {
		return nil, fault.BadFields(op, yamlFaults(err)...)
	}
	if err := dec.Decode(new(yaml.Node)); !errors.Is(err, io.EOF) {
		return nil, fault.New(fault.Invalid, op, "there is more than one document in the file")
	}
	b := &builder{origin: origin}
	p := b.protocol(f)
	if len(b.faults) > 0 {
		return nil, fault.BadFields(op, b.faults...)
	}
	return p, nil
}

var yamlLine = regexp.MustCompile(`^(?:yaml: )?(?:unmarshal errors:\s*)?line (\d+): (.*)$`)

// yamlFaults turns the parser's messages into fields with lines.
func yamlFaults(err error) []fault.Field {
	messages := []string{strings.TrimPrefix(err.Error(), "yaml: ")}
	var several *yaml.TypeError
	if errors.As(err, &several) {
		messages = several.Errors
	}
	if errors.Is(err, io.EOF) {
		messages = []string{"the file is empty"}
	}
	var out []fault.Field
	for _, m := range messages {
		f := fault.Field{Name: "file", Allowed: "a protocol as docs/protocols.md describes it"}
		if part := yamlLine.FindStringSubmatch(strings.TrimSpace(m)); part != nil {
			f.Line, _ = strconv.Atoi(part[1])
			m = part[2]
		}
		if word, _, ok := strings.Cut(strings.TrimPrefix(m, "field "), " not found in type "); ok {
			m = fmt.Sprintf("%q is no field here", word)
		}
		f.Hint = m
		out = append(out, f)
	}
	return out
}

// A builder turns a file into a protocol and gathers what is wrong with it.
type builder struct {
	origin string
	faults []fault.Field
}

func (b *builder) bad(line int, name, given, allowed string) {
	b.faults = append(b.faults, fault.Field{Line: line, Name: name, Given: given, Allowed: allowed})
}

func (b *builder) formula(name string, at located, wanted *cel.Type) *formula {
	if at.text == "" {
		return nil
	}
	f, wrong := compile(language, name, at.text, at.line, wanted)
	if wrong != nil {
		b.faults = append(b.faults, *wrong)
	}
	return f
}

func (b *builder) conditions(name string, cs conditions) []*formula {
	var out []*formula
	for _, c := range cs {
		if c.text == "" {
			b.bad(c.line, name, "", "a condition")
			continue
		}
		out = append(out, b.formula(name, c, cel.BoolType))
	}
	return out
}

func (b *builder) protocol(f protocolFile) *Protocol {
	p := &Protocol{Name: f.Name.text, Title: f.Title, Means: f.Means, Beside: f.Beside, Includes: f.Includes, Origin: b.origin}
	if !cellar.SlugOK(p.Name) {
		b.bad(max(1, f.Name.line), "name", p.Name, "a short name such as red-with-malolactic")
	}
	if p.Title == "" {
		b.bad(1, "title", "", "what it is called")
	}
	p.follows = b.conditions("for", f.For)
	if len(f.Steps) == 0 && len(f.Includes) == 0 {
		b.bad(1, "steps", "", "one step or more")
	}
	seen := map[string]bool{}
	for _, sf := range f.Steps {
		s := b.step(sf)
		s.Protocol = p.Name
		if seen[s.ID] {
			b.bad(s.Line, "id", s.ID, "each step's own")
		}
		seen[s.ID] = true
		p.Steps = append(p.Steps, s)
	}
	return p
}

func (b *builder) step(f stepFile) *Step {
	s := &Step{ID: f.ID.text, Act: f.Act.text, Of: Scope(f.Of.text), Class: Class(f.Class.text), Late: f.Late, Together: f.Together,
		Minutes: f.Minutes, Needs: f.Needs, Line: f.ID.line}
	if !cellar.SlugOK(s.ID) {
		b.bad(max(1, f.ID.line), "id", s.ID, "a short name such as stir-lees")
	}
	if s.Of == "" {
		s.Of = OfParcel
	}
	if !slices.Contains([]Scope{OfParcel, OfVessel, OfInstrument, OfCellar}, s.Of) {
		b.bad(f.Of.line, "of", f.Of.text, "parcel, vessel, instrument, cellar")
	}
	if !slices.Contains(Classes, s.Class) {
		b.bad(max(s.Line, f.Class.line), "class", f.Class.text, list(Classes))
	}
	s.Matters = 2
	if f.Matters.text != "" {
		n, ok := map[string]int{"little": 1, "much": 2, "most": 3}[f.Matters.text]
		if !ok {
			b.bad(f.Matters.line, "matters", f.Matters.text, "little, much, most")
		}
		s.Matters = n
	}
	s.act, s.why, s.tool = b.template("act", f.Act), b.template("why", f.Why), b.template("tool", f.Tool)
	if f.Act.text == "" {
		b.bad(s.Line, "act", "", "what to do, in the trade's words")
	}
	if f.Why.text == "" {
		b.bad(s.Line, "why", "", "a sentence that says why")
	}
	s.when = b.conditions("when", f.When)
	if len(s.when) == 0 {
		b.bad(s.Line, "when", "", "a condition")
	}
	s.from, s.about, s.by = b.formula("from", f.From, celTypes[date]), b.formula("about", f.About, celTypes[date]), b.formula("by", f.By, celTypes[date])
	s.again = b.formula("again", f.Again, celTypes[span])
	s.Source = b.source(s, f)
	for _, c := range f.Cautions {
		if _, ok := cautions[c.text]; !ok {
			b.bad(c.line, "caution", c.text, cautionCodes())
		}
		s.cautions = append(s.cautions, c.text)
	}
	if s.shows = f.Shows.text; s.shows != "" && s.shows != waitForFirstDose {
		b.bad(f.Shows.line, "shows", s.shows, waitForFirstDose)
	}
	s.amount = b.amount(f.Amount)
	s.write = b.write(s, f.Write)
	return s
}

func (b *builder) source(s *Step, f stepFile) cited.Source {
	mark, ok := marks[f.Mark.text]
	if !ok {
		b.bad(max(s.Line, f.Mark.line), "mark", f.Mark.text, "read, computed, second-hand, common-practice, memory, proposal")
	}
	text := f.Source.text
	if text == "" {
		if mark != cited.CommonPractice && mark != cited.Proposal {
			b.bad(s.Line, "source", "", "where it stands; only common-practice and proposal have none")
		}
		text = string(mark)
	}
	return cited.Source{Text: text, Mark: mark}
}

func list[T ~string](words []T) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return strings.Join(out, ", ")
}
