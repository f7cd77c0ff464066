package advise

import (
	"encoding/json"
	"time"

	"elevage/internal/cellar"
	"elevage/science/ageing"
	"elevage/science/cited"
)

// A Standing says where an act stands against today.
type Standing string

// Standings, in the order in which they are shown.
const (
	Due     Standing = "due"     // today, or late
	Soon    Standing = "soon"    // within the days that Prefs.Soon names
	Waiting Standing = "waiting" // something must be known, or happen, first
	Later   Standing = "later"   // planned beyond that; the calendar shows it
)

// A Day is a date of the cellar's calendar, written 2026-11-12.
type Day struct{ time.Time }

// MarshalJSON writes the date.
func (d Day) MarshalJSON() ([]byte, error) { return []byte(`"` + d.Format(time.DateOnly) + `"`), nil }

// UnmarshalJSON reads it back, in UTC.
func (d *Day) UnmarshalJSON(b []byte) error {
	t, err := time.Parse(`"`+time.DateOnly+`"`, string(b))
	d.Time = t
	return err
}

func (d Day) String() string { return d.Format(time.DateOnly) }

// An Act is one thing to do, at one vessel, with its amount, its reason and its
// window.
type Act struct {
	// ID is the same for the same step and parcel on every day, so that a tick, a
	// calendar and a printed card keep pointing at the same thing.
	ID       string   `json:"id"`
	Protocol string   `json:"protocol"`
	Step     string   `json:"step"`
	Standing Standing `json:"standing"`

	Lot        string          `json:"lot,omitempty"`
	LotName    string          `json:"lot_name,omitempty"`
	Vessel     string          `json:"vessel,omitempty"`
	Place      string          `json:"place,omitempty"`
	Parcel     cellar.ParcelID `json:"parcel,omitempty"`
	Instrument string          `json:"instrument,omitempty"`

	Do    string `json:"act"`
	Class Class  `json:"class"`
	// Amount is a numeral in Unit, in as many digits as can be measured out; Working has
	// the bench's own. Empty where the act has none.
	Amount string `json:"amount,omitempty"`
	Unit   string `json:"unit,omitempty"`
	Plus   string `json:"plus,omitempty"` // ± of Amount, one standard deviation
	Tool   string `json:"tool,omitempty"` // what Amount is measured with or from, where that is not plain: "of a 10 % solution, …"

	Why     string   `json:"why"`
	Figures []Figure `json:"figures,omitempty"` // what Why rests on
	Working *Working `json:"working,omitempty"` // how Amount came about

	// Choice is what doing it sooner or later gains and costs, where that is a
	// choice to be shown and not a rule.
	Choice *ageing.FirstDoseTradeOff `json:"choice,omitempty"`

	From  *Day   `json:"due_from"`
	About *Day   `json:"due_about,omitempty"` // likeliest day, where the window is a forecast's
	To    *Day   `json:"due_to"`
	Late  string `json:"late,omitempty"` // how late matters
	// Matters is 1 for little, 2 for much, 3 where the wine hangs on it.
	Matters int `json:"matters"`
	Overdue int `json:"overdue_days,omitempty"`

	WaitingOn []string     `json:"waiting_on,omitempty"`
	Cautions  []Caution    `json:"cautions,omitempty"`
	Order     []string     `json:"order,omitempty"` // what must come before it tonight, and why
	Together  string       `json:"together,omitempty"`
	Minutes   int          `json:"minutes,omitempty"`
	Needs     []string     `json:"needs,omitempty"`
	Source    cited.Source `json:"source"`
	Proposal  bool         `json:"proposal,omitempty"` // the rule is this tool's own, not the trade's
	Moved     *Moved       `json:"moved,omitempty"`
	Basis     string       `json:"basis"` // changes when something was learned that the act rests on

	// Entry is the half-written entry of the act, nil where ticking it writes no
	// more than Done.
	Entry cellar.Body `json:"-"`
	// Done is the tick itself; the writer adds the ids of what was written.
	Done cellar.Done `json:"done"`

	walk  int
	since *Day   // of the last tick
	open  bool   // due from today on, for no other reason than that its turn has come
	read  string // what a test reads
}

// MarshalJSON adds the half-written entry with its kind.
func (a Act) MarshalJSON() ([]byte, error) {
	type plain Act
	var write any
	if a.Entry != nil {
		write = struct {
			Kind cellar.Kind `json:"kind"`
			Body cellar.Body `json:"body"`
		}{a.Entry.Kind(), a.Entry}
	}
	return json.Marshal(struct {
		plain
		Write any `json:"write,omitempty"`
	}{plain(a), write})
}

// Moved says that a window moved, and what was learned.
type Moved struct {
	From    Day    `json:"from"` // the earlier due date
	To      Day    `json:"to"`
	Because string `json:"because"`
}

// A Quiet is a wine that needs nothing, and until when.
type Quiet struct {
	Lot    string `json:"lot"`
	Vessel string `json:"vessel"`
	Until  *Day   `json:"until"` // nil: nothing is planned
	For    string `json:"for,omitempty"`
}

// A Held is an act that was not advised although its turn had come.
type Held struct {
	Step   string `json:"step"`
	Lot    string `json:"lot,omitempty"`
	Vessel string `json:"vessel,omitempty"`
	Act    string `json:"act"`
	Reason string `json:"reason"`
}

// A Batch is several acts that are done in one go.
type Batch struct {
	Key     string   `json:"key"`
	Title   string   `json:"title"`
	Says    string   `json:"says"`
	Acts    []string `json:"acts"` // ids
	Minutes int      `json:"minutes,omitempty"`
	Working *Working `json:"working,omitempty"`
}

// Today is the plan of one day: what is due, due soon and waiting, in the order of
// a walk through the cellar, and when to come back.
type Today struct {
	AsOf time.Time `json:"as_of"`
	// Revision counts the entries that the plan was made of; it never falls.
	Revision int      `json:"revision"`
	Acts     []Act    `json:"acts"`
	Batches  []Batch  `json:"batches,omitempty"`
	Quiet    []Quiet  `json:"quiet,omitempty"`
	Held     []Held   `json:"held,omitempty"`
	Minutes  int      `json:"minutes"` // for what is due
	Needs    []string `json:"needs,omitempty"`
	ComeBack *Day     `json:"come_back"`
	For      string   `json:"come_back_for,omitempty"`
}

// Windows is what of a plan must be remembered so that the next one can tell which
// windows moved, and why: see Input.Previous.
func (t Today) Windows() Today {
	out := Today{AsOf: t.AsOf, Revision: t.Revision}
	for _, a := range t.Acts {
		out.Acts = append(out.Acts, Act{ID: a.ID, From: a.From, About: a.About, To: a.To, Moved: a.Moved, WaitingOn: a.WaitingOn, Basis: a.Basis})
	}
	return out
}

// With are the acts of one standing, in order.
func (t Today) With(s Standing) []Act {
	var out []Act
	for _, a := range t.Acts {
		if a.Standing == s {
			out = append(out, a)
		}
	}
	return out
}

// At are the acts at one vessel, in order.
func (t Today) At(vessel string) []Act {
	var out []Act
	for _, a := range t.Acts {
		if a.Vessel == vessel {
			out = append(out, a)
		}
	}
	return out
}

// Find is the act with an id; nil if the plan has none.
func (t Today) Find(id string) *Act {
	for i := range t.Acts {
		if t.Acts[i].ID == id {
			return &t.Acts[i]
		}
	}
	return nil
}
