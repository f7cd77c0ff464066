package ui

import (
	"html/template"
	"strings"
	"time"

	"elevage/internal/chart"
)

// Figure is one number on a page, with everything a reader may ask of it.
type Figure struct {
	Name      string
	Value     float64
	Spread    float64 // one standard uncertainty; 0 for none known
	Low, High float64 // 9 in 10 between these; shown instead of Spread when Low < High
	Unit      string
	Text      string // as it was written ("3.50"), or words in place of a number ("can't tell")
	At, Now   time.Time
	Keeps     time.Duration // how long such a figure can be relied on; 0 never fades
	Source    string        // "pH meter, Mira"; "reckoned"; "belief"
	Note      string        // one short sentence
	Main      bool          // set larger
	Working   *Working
}

// Number is the figure without spread and unit.
func (f Figure) Number() string {
	if f.Text != "" {
		return f.Text
	}
	if f.Low < f.High {
		v, _ := Rounded(f.Value, (f.High-f.Low)/3.3, f.Unit) // 3.3 standard deviations hold 9 in 10 of a bell
		return v
	}
	v, _ := Rounded(f.Value, f.Spread, f.Unit)
	return v
}

// PlusMinus is the spread, or the interval, or nothing.
func (f Figure) PlusMinus() string {
	if f.Low < f.High {
		return strings.TrimSuffix(Between(f.Low, f.High, f.Unit), nbsp+strings.ReplaceAll(unitShown(f.Unit), " ", nbsp))
	}
	if f.Text != "" {
		return ""
	}
	if _, s := Rounded(f.Value, f.Spread, f.Unit); s != "" {
		return "±" + nbsp + s
	}
	return ""
}

// Wide says that PlusMinus is an interval.
func (f Figure) Wide() bool { return f.Low < f.High }

// UnitShown is what stands after the number.
func (f Figure) UnitShown() string { return unitShown(f.Unit) }

// Age is how old the figure is, empty when nobody said.
func (f Figure) Age() string {
	if f.At.IsZero() || f.Now.IsZero() {
		return ""
	}
	return Age(f.At, f.Now)
}

// Fade is 0 to 3.
func (f Figure) Fade() int {
	if f.At.IsZero() || f.Now.IsZero() {
		return 0
	}
	return Faded(f.At, f.Now, f.Keeps)
}

// Working is how a figure came about.
type Working struct {
	Formula string
	Steps   []Step
	Inputs  []Figure
	Sources []string
}

// Step is one line of a working: what is done, and what comes out.
type Step struct{ Say, Gives string }

// Urgency is how an act stands to its dates.
type Urgency string

// How an act stands to its dates.
const (
	Due     Urgency = "due"
	Late    Urgency = "late"
	Soon    Urgency = "soon"
	Waiting Urgency = "waiting" // on a test, a temperature, a delivery
)

// Act is one line of Today.
type Act struct {
	ID          string
	Vessel      string
	Lot         Link
	Verb        string // "Stir", "Add", "Top up"
	Amount      string // "3.1"; empty for an act without one
	Unit        string
	Of          string // "potassium metabisulfite"
	Why         string // one sentence
	By          string // "by 14 Nov", "6–24 Nov"
	LateWhy     string // what is lost when it waits
	Urgency     Urgency
	Cautions    []Notice
	Working     *Working
	WorkingName string // words for opening it; "How much, and why" when empty
	Tick        *Link  // where the half-written entry is; nil for nothing to tick
	Done        string // "done 18:40, Mira"; set when it is done
}

// Stop is one place on the walk through the cellar with the acts there.
type Stop struct {
	Place string
	Acts  []Act
}

// ComeBack ends Today.
type ComeBack struct{ When, Why string }

// NoticeKind is what a notice wants of the reader.
type NoticeKind string

// The kinds, told apart by their mark and first word, not by colour.
const (
	Told    NoticeKind = "told"    // it was done; a plain remark
	Caution NoticeKind = "caution" // someone or something can be hurt
	Finding NoticeKind = "finding" // the ledger does not add up
	Unsure  NoticeKind = "unsure"  // cannot be told from what there is
	Stopped NoticeKind = "stopped" // an act that is not done without a word
)

// Notice is a sentence that hangs its mark in the margin.
type Notice struct {
	Kind NoticeKind
	Head string // first word or two; the kind's own when empty
	Text string
	Link *Link
}

var noticeHead = map[NoticeKind]string{Caution: "Take care.", Finding: "Does not add up.", Unsure: "Can't tell.", Stopped: "Stop."}
var noticeMark = map[NoticeKind]string{Told: "–", Caution: "!", Finding: "≠", Unsure: "?", Stopped: "×"}

// Opening is the words the notice begins with.
func (n Notice) Opening() string {
	if n.Head != "" {
		return n.Head
	}
	return noticeHead[n.Kind]
}

// Mark is the sign in the margin.
func (n Notice) Mark() string { return noticeMark[n.Kind] }

// LogLine is the one line that logs anything.
type LogLine struct {
	Action     string // where it is sent; "/log" when empty
	Value      string // what was typed, kept after a problem
	Vessel     string // prefilled context for the example: "b2"
	Understood *Understood
}

// Target is where the line is sent.
func (l *LogLine) Target() string {
	if l == nil || l.Action == "" {
		return "/log"
	}
	return l.Action
}

// Typed is what stands in the line.
func (l *LogLine) Typed() string {
	if l == nil {
		return ""
	}
	return l.Value
}

// Example shows the way of writing.
func (l *LogLine) Example() string {
	if l == nil || l.Vessel == "" {
		return "ph 3.47 b2"
	}
	return "ph 3.47 " + l.Vessel
}

// Understood is what a typed line was taken to mean, shown before it is kept.
type Understood struct {
	Entries []string // what will be written, one sentence each
	Problem string   // why it was not understood
	At      string   // the word of the line that was not
	Try     []string // lines that would do
	Notices []Notice
	Seen    string // token that goes back with the line: this is what was shown
	// Impossible says that it was understood, and cannot be.
	Impossible bool
}

// Unable is why a line was not taken, in two words.
func (u Understood) Unable() string {
	if u.Impossible {
		return "Cannot be"
	}
	return "Not understood"
}

// Table is a plain table with a caption.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
	Numbers []bool // columns that hold numbers, set right
}

// mostAbreast is how many columns a phone shows side by side.
const mostAbreast = 4

// Stacks says whether a narrow page sets each row as a paragraph of its own, its figures
// one below the other, so that no column lies beyond the edge.
func (t Table) Stacks() bool { return len(t.Head) > mostAbreast }

// Label is the head of a column as it stands beside a figure of a stacked row; the first
// column needs none, it is the row's own name.
func (t Table) Label(column int) string {
	if !t.Stacks() || column == 0 || column >= len(t.Head) {
		return ""
	}
	return t.Head[column]
}

// Drawing is a chart ready for a page: both sizes and its table.
type Drawing struct {
	Name         string
	Narrow, Wide template.HTML
	Table        Table
	Note         string
}

// Drawn makes a chart ready. The drawing is escaped by package chart.
func Drawn(c chart.Chart) Drawing {
	t := c.Table()
	return Drawing{
		Name:   c.Name(),
		Narrow: template.HTML(c.SVG(chart.Narrow)), //nolint:gosec // package chart escapes every word it is given
		Wide:   template.HTML(c.SVG(chart.Wide)),   //nolint:gosec // as above
		Table:  Table{Caption: t.Caption, Head: t.Head, Rows: t.Rows},
	}
}

// Strike says when, by whom and why an entry was struck.
type Strike struct{ When, By, Why string }

// LedgerLine is one entry of a ledger.
type LedgerLine struct {
	ID      string
	Date    string // "12 Nov"
	Time    string // "18:40"; empty when only the day is known
	Kind    string // "reading", "racking"
	Text    string
	Vessel  string
	By      string
	With    string // instrument
	Late    string // "written 3 d later"
	Strike  *Strike
	Notices []Notice
	Undo    *Link // where it can be struck
	Attach  *Link // where a picture can be put to it
	Files   []Attached
}

// Attached is a picture or a paper that belongs to an entry.
type Attached struct {
	Name, Words string
	URL         string // the whole file
	Small       string // the picture made small; empty for what is no picture
	Undo        *Link  // where it can be struck
}

// LotLine is one lot in the cellar's list.
type LotLine struct {
	Lot     Link
	What    string // "Blaufränkisch 2025, three vessels"
	Volume  string // "68 L"
	Sure    string // "finished, 9 in 10"
	Next    string // "test the malic, from 14 Nov"
	Spark   *Drawing
	Notices []Notice
}

// Empty says what to do where there is nothing yet.
type Empty struct {
	Head, Text string
	Do         []Link
}

// Pair is a name and a value that travel with a form unseen.
type Pair struct{ Name, Value string }

// Confirm is the page of an act that was stopped: the reasons, and the words that
// are kept when it is done all the same.
type Confirm struct {
	What    string // "Add 31 g potassium metabisulfite to b2"
	Reasons []Notice
	Action  string
	Carry   []Pair
	Words   Field // "Why all the same?"; none where a press of the button is enough
	Yes     string
	No      Link
}

// Progress is long work under way. Of zero: nobody knows how long.
type Progress struct {
	Name     string
	Done, Of int
	Unit     string // "lots"
	Note     string
}

// Known says that an end is known.
func (p Progress) Known() bool { return p.Of > 0 }

// Card is one printed card: a lot, a starter, tonight's list.
type Card struct {
	Vessel, Lot, What string
	QR                template.HTML // an SVG made by the house, never by a person
	Lines             []CardLine
	Blank             int // empty lines to write on
	Foot, Address     string
}

// CardLine is one box to tick.
type CardLine struct {
	Verb, Amount, Of, When string
	Late                   bool
	Notes                  []string // what must come first, what would stop it
	Head                   string   // begins a group of lines
}

// Write counts out the empty lines.
func (c Card) Write() []struct{} { return make([]struct{}, max(c.Blank, 0)) }
