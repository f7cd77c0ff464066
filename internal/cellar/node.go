package cellar

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"elevage/science/quantity"
)

// A node is an entry in its place among the others, with what was made of it.
type node struct {
	rec *Record // as states show it; once shared it is replaced, not changed
	// at is the moment by which the node is reckoned in turn. The record's At may
	// be later: an act of a day waits for the wine that came that day.
	at     time.Time
	epoch  uint64   // of the book in which rec was made
	shown  *Record  // in the lists of all records; nil if in none yet
	twins  []*node  // all entries of its id, if there are others
	raw    []string // vessels that the body names, in lower case
	lines  []*line  // of the vessels where it is reckoned
	state  standing // how it is reckoned now
	run    *run     // what came of it; nil if it is not reckoned
	queued bool
	soiled bool  // its record may have to be shown anew
	waker  *node // the one that it waited for, and after which it is reckoned

	touches []touched // parcels that it is about, and which node found so

	trouble       []*Finding // of its envelope
	strikeTrouble []*Finding
	// struckAt is when the first strike in effect was written; zero if it stands.
	struckAt time.Time
}

// standing is how a node is reckoned.
type standing uint8

const (
	idle    standing = iota // struck, beyond, or nothing to reckon
	ghostly                 // a struck reading: known once, which decisions may have rested on
	counted
)

// A touched is a parcel that an entry is about, as found when by was reckoned.
type touched struct {
	by     *node
	parcel ParcelID
}

// finding is one about the node.
func (n *node) finding(code FindingCode, says string, source findingSource, turn int) *Finding {
	return &Finding{Code: code, Entries: []ID{n.rec.Entry.ID}, Says: says, at: n.at, by: n, source: source, turn: turn}
}

// record is the entry as it is reckoned in its own turn.
func (n *node) record() *Record {
	if sameTime(n.rec.At, n.at) {
		return n.rec
	}
	r := *n.rec // it waited for another, and may no longer
	r.At = n.at
	return &r
}

// sequence is the order in which nodes are reckoned: by the moment, then by the
// place in the day, the moment of writing, and the id. It is total: two that
// compare equal say the same in all of these.
func sequence(a, b *node) int {
	if a == b {
		return 0
	}
	if c := a.at.Compare(b.at); c != 0 {
		return c
	}
	return sequel(a.rec, b.rec)
}

// sequel orders entries of one moment.
func sequel(a, b *Record) int {
	if c := cmp.Compare(a.Entry.Happened.Order, b.Entry.Happened.Order); c != 0 {
		return c
	}
	if c := a.Entry.Written.Compare(b.Entry.Written); c != 0 {
		return c
	}
	if c := strings.Compare(string(a.Entry.ID), string(b.Entry.ID)); c != 0 {
		return c
	}
	return compareTwins(&a.Entry, &b.Entry)
}

// before is the order in which records are shown.
func before(a, b *Record) int {
	if c := a.At.Compare(b.At); c != 0 {
		return c
	}
	return sequel(a, b)
}

// byID is the order of records for looking them up; of one id, the one that counts is first.
func byID(a, b *Record) int {
	if c := strings.Compare(string(a.Entry.ID), string(b.Entry.ID)); c != 0 {
		return c
	}
	if a.Other != b.Other {
		if b.Other {
			return -1
		}
		return 1
	}
	return compareTwins(&a.Entry, &b.Entry)
}

// insertNode puts n in its place in a sorted list; one that is there stays.
func insertNode(list []*node, n *node) []*node {
	if k := len(list); k == 0 || sequence(list[k-1], n) < 0 {
		return append(list, n)
	}
	i, found := slices.BinarySearchFunc(list, n, sequence)
	if found {
		return list
	}
	return slices.Insert(list, i, n)
}

func removeNode(list []*node, n *node) []*node {
	if i, found := slices.BinarySearchFunc(list, n, sequence); found {
		return slices.Delete(list, i, i+1)
	}
	return list
}

// A line is a vessel's life: the nodes that are reckoned there, in order.
type line struct {
	slug    string
	nodes   []*node
	hint    int        // where the next one to be reckoned most likely stands
	parcels []*account // by their beginning
	notes   []*node    // whose runs have notes for the vessel
	trouble []*Finding // of the vessel as a whole
	view    *Vessel    // nil if the vessel is not to be shown
}

// place is where n stands in the line, or would stand.
func (l *line) place(n *node) (int, bool) {
	if l.hint < len(l.nodes) && l.nodes[l.hint] == n {
		return l.hint, true
	}
	if k := len(l.nodes) - 1; k >= 0 && l.nodes[k] == n {
		return k, true
	}
	return slices.BinarySearchFunc(l.nodes, n, sequence)
}

// reach is what the vessel is like before the node at place i.
func (l *line) reach(i int) *vesselState {
	if i == 0 {
		return &untouched
	}
	return l.nodes[i-1].run.after(l)
}

// last is what the vessel is like after everything.
func (l *line) last() *vesselState { return l.reach(len(l.nodes)) }

// A run is what came of reckoning a node: what its vessels are like afterwards, and
// what is to be told of it.
type run struct {
	slots   []slot
	touches []touchMark
	levels  []levelMark
	lots    []string // lots that were asked for, by the name that was used
	rare    *rareMarks

	// Room for what nearly every run holds one of.
	slot1  [1]slot
	touch1 [1]touchMark
}

// after is what a vessel is like after the run.
func (r *run) after(l *line) *vesselState {
	for i := range r.slots {
		if r.slots[i].line == l {
			return r.slots[i].now
		}
	}
	return &untouched
}

// rareMarks are what few runs leave behind.
type rareMarks struct {
	heads     []*head // parcels that begin, or are something else from here on
	ends      []endMark
	inflows   []inflowMark
	findings  []*Finding
	transfers []*Transfer
	notes     []noteMark
	moved     []*node // that waited for this one
}

func (r *run) more() *rareMarks {
	if r.rare == nil {
		r.rare = &rareMarks{}
	}
	return r.rare
}

type touchMark struct {
	node   *node
	parcel ParcelID
}

type levelMark struct {
	parcel ParcelID
	level  Level
}

type endMark struct {
	parcel ParcelID
	at     time.Time
	by     ID
}

type inflowMark struct {
	parcel ParcelID
	inflow Inflow
}

// A noteMark says where, besides parcels, an entry is to be read.
type noteMark struct {
	node  *node
	where noteWhere
	name  string // of the lot or instrument, as resolved; vessels by line
	line  *line
	// Fruit received goes into its lot's weight; unlisted, it is read elsewhere.
	fruit    quantity.Mass
	unlisted bool
}

type noteWhere uint8

const (
	withVessel noteWhere = iota
	withLot
	withInstrument
	withStores
)
