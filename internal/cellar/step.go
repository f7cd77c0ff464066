package cellar

import (
	"slices"
	"time"
)

// head is what a parcel is called and where it stands. It is never changed.
type head struct {
	ID     ParcelID
	Lot    string
	Vessel string
	Form   string
	Began  time.Time
	Start  ID
	Part   string
}

// vesselState is what is known of a vessel from one node to the next. It is never
// changed once a run holds it.
type vesselState struct {
	holds   *contents // nil when empty
	memory  *memory   // what was read of what it holds; nil if nothing
	last    *head     // the parcel that is or was here last
	ended   time.Time // when last ended; zero while it lasts
	emptied time.Time
	control *head   // the parcel from which a control sample was last kept
	waiting []*node // acts of a day on the vessel while it was empty so far that day
}

// untouched is a vessel before anything happened to it.
var untouched vesselState

// same says whether two states tell the same, so that what follows need not be
// reckoned again.
func (s *vesselState) same(o *vesselState) bool {
	if s == o {
		return true
	}
	return s.holds.same(o.holds) && s.memory.same(o.memory) && sameHead(s.last, o.last) && sameTime(s.ended, o.ended) && sameTime(s.emptied, o.emptied) &&
		sameHead(s.control, o.control) && slices.Equal(s.waiting, o.waiting)
}

func sameHead(a, b *head) bool {
	return a == b || a != nil && b != nil && a.ID == b.ID && a.Lot == b.Lot && a.Vessel == b.Vessel && a.Form == b.Form && a.Part == b.Part && a.Start == b.Start && sameTime(a.Began, b.Began)
}

// sameTime says whether two moments read the same, their zones included.
func sameTime(a, b time.Time) bool {
	if a == b {
		return true
	}
	_, x := a.Zone()
	_, y := b.Zone()
	return x == y && a.Equal(b)
}

// A slot is one vessel in one run.
type slot struct {
	line  *line
	now   *vesselState
	place int // of the node in the line, while it is reckoned
}

// A step is the reckoning of one node: it reads what its vessels were like before
// and what things are called, and leaves a run. It is a pure function of these.
type step struct {
	names *names
	node  *node
	// actor and r are the node itself, or one that waited for it, while that is reckoned.
	actor  *node
	r      *Record
	run    *run
	fresh  []bool // by slot: now is this step's own and may be changed
	fresh1 [4]bool
}

// vessel is one of the step's vessels, by any name that is valid.
type vessel struct {
	s    *step
	i    int
	Slug string
}

func (s *step) vessel(name string) vessel {
	slug := s.names.vessel(name)
	for i := range s.run.slots {
		if s.run.slots[i].line.slug == slug {
			return vessel{s, i, slug}
		}
	}
	panic("cellar: a body names a vessel that it does not list: " + slug)
}

func (v vessel) state() *vesselState { return v.s.run.slots[v.i].now }
func (v vessel) holds() *contents    { return v.state().holds }

func (v vessel) line() *line { return v.s.run.slots[v.i].line }

// own is the state to be changed.
func (v vessel) own() *vesselState {
	if !v.s.fresh[v.i] {
		c := *v.state()
		v.s.run.slots[v.i].now, v.s.fresh[v.i] = &c, true
	}
	return v.s.run.slots[v.i].now
}

// capacity is what the vessel holds when full, in L; 0 if not known.
func (v vessel) capacity() float64 { return v.s.names.capacity(v.Slug) }

// lot is a lot by any name that is valid, as it was described last.
func (s *step) lot(name string) *LotStarted {
	slug, lot := s.names.lot(name)
	s.ask(slug)
	return lot
}

// ask notes that the step depends on what a lot is.
func (s *step) ask(slug string) {
	if !slices.Contains(s.run.lots, slug) {
		s.run.lots = append(s.run.lots, slug)
	}
}

func (s *step) find(r *Record, code FindingCode, says string) *Finding {
	m := s.run.more()
	f := &Finding{Code: code, Entries: []ID{r.Entry.ID}, Says: says, at: s.node.at, by: s.node, source: sourceRun, turn: len(m.findings)}
	m.findings = append(m.findings, f)
	return f
}

// about ties a finding to what a vessel holds.
func (g *Finding) about(c *contents) {
	g.Vessel, g.Lot, g.Parcel = c.parcel.Vessel, c.parcel.Lot, c.parcel.ID
}

// touch notes that an entry is about a parcel.
func (s *step) touch(n *node, p *head) {
	for _, t := range s.run.touches {
		if t.node == n && t.parcel == p.ID {
			return
		}
	}
	s.run.touches = append(s.run.touches, touchMark{n, p.ID})
}

// begin starts a parcel, or says that it is something else from here on.
func (s *step) begin(h head) *head {
	m := s.run.more()
	m.heads = append(m.heads, &h)
	return &h
}

// end closes the parcel that a vessel held.
func (s *step) end(v vessel, p *head) {
	m := s.run.more()
	m.ends = append(m.ends, endMark{p.ID, s.r.At, s.r.Entry.ID})
	s.level(p, Level{At: s.r.At, Entry: s.r.Entry.ID})
	o := v.own()
	if sameHead(o.last, p) {
		o.ended = s.r.At
	}
	if o.holds == nil {
		o.emptied = s.r.At
	}
}

// hold notes what a vessel holds from here on; nil when it is empty.
func (s *step) hold(v vessel, c *contents) {
	if c == nil {
		if old := v.holds(); old != nil {
			s.level(old.parcel, Level{At: s.r.At, Entry: s.r.Entry.ID})
		}
		o := v.own()
		o.holds, o.memory = nil, nil
		return
	}
	o := v.own()
	o.holds = c
	if !sameHead(o.last, c.parcel) {
		o.last, o.ended = c.parcel, time.Time{}
	}
	s.level(c.parcel, Level{At: s.r.At, Entry: s.r.Entry.ID, Volume: litres(c.volume), Spread: litres(sqrt(c.variance)), Weight: c.weight, Count: c.count, Amounts: c.amounts, Roots: c.roots})
	s.wake(v)
}

// level notes a volume, one for each entry.
func (s *step) level(p *head, l Level) {
	for i, old := range s.run.levels {
		if old.parcel == p.ID && old.level.Entry == l.Entry {
			s.run.levels = slices.Delete(s.run.levels, i, i+1)
			break
		}
	}
	s.run.levels = append(s.run.levels, levelMark{p.ID, l})
}

func (s *step) transfer(t Transfer) {
	if t.Volume == 0 && len(t.Amounts) == 0 && t.Share == 0 {
		return
	}
	m := s.run.more()
	t.At, t.Entry, t.by, t.turn = s.r.At, s.r.Entry.ID, s.node, len(m.transfers)
	m.transfers = append(m.transfers, &t)
}

func (s *step) note(m noteMark) {
	more := s.run.more()
	more.notes = append(more.notes, m)
}
