package cellar

import (
	"bytes"
	"cmp"
	"errors"
	"maps"
	"slices"
	"strings"
	"time"
)

// Options say up to when entries count.
type Options struct {
	// Now is the present: what happens after it is counted, and is a finding.
	// Zero means that nothing is held to be in the future.
	Now time.Time
	// AsOf leaves out what happened after it: the cellar as it was then, by
	// what is known today. Zero counts everything.
	AsOf time.Time
	// KnownBy leaves out what was written after it: with AsOf, the cellar as
	// it was believed to be. Zero counts everything.
	KnownBy time.Time
}

// Fold computes the state of a cellar from its entries. It is a pure function
// and never fails: what does not add up becomes a finding. The order in which
// the entries stand makes no difference, nor do duplicates; the entries are not
// changed and may be used again. Where entries keep coming, a Book is quicker.
func Fold(entries []Entry, o Options) *State {
	block := make([]Record, len(entries))
	records := make([]*Record, len(entries))
	for i := range entries {
		block[i] = read(&entries[i])
		records[i] = &block[i]
	}
	records = settleTwins(records)
	slices.SortFunc(records, before)
	return reckon(records, o)
}

// read decodes an entry and finds the moment to reckon it with.
func read(e *Entry) Record {
	r := Record{Entry: *e, At: e.Happened.Reckoned(e.Written)}
	body, err := e.Decode()
	if err != nil {
		return r // a finding tells why
	}
	r.Body = body
	if b, ok := body.(Reading); ok && b.Drawn != "" {
		r.At = b.SpeaksOf(e.Happened).Reckoned(e.Written)
	}
	return r
}

// reckon folds records that stand in their order; it keeps and changes them.
func reckon(records []*Record, o Options) *State {
	if !o.KnownBy.IsZero() {
		records = slices.DeleteFunc(records, func(r *Record) bool { return r.Entry.Written.After(o.KnownBy) })
	}
	for _, r := range records {
		r.Beyond = !o.AsOf.IsZero() && r.At.After(o.AsOf)
	}
	f := newFold(o)
	f.resolveStrikes(records)
	f.describe(records)
	for _, r := range records {
		f.trouble(r)
		if r.Counts() && r.Body != nil {
			f.apply(r)
		}
	}
	f.giveUpWaiting()
	return f.finish(records)
}

// before is the order in which entries are reckoned: by the moment, then by the
// place in the day, the moment of writing, and the id. It is total: two records
// that compare equal say the same in all of these.
func before(a, b *Record) int {
	if c := a.At.Compare(b.At); c != 0 {
		return c
	}
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

// compareTwins orders entries of one id by content, so that which of them
// counts does not depend on which came first.
func compareTwins(a, b *Entry) int {
	if c := a.Written.Compare(b.Written); c != 0 {
		return c
	}
	return bytes.Compare(canonicalLine(a), canonicalLine(b))
}

func canonicalLine(e *Entry) []byte {
	c := *e
	c.Cellar, c.Body = "", canonical(e.Body)
	return c.AppendLine(nil)
}

// settleTwins takes out entries that say the same as another of their id, and
// marks those that say something else: the one written first counts.
func settleTwins(records []*Record) []*Record {
	first := make(map[ID]int, len(records))
	twins := make(map[ID][]*Record)
	kept := records[:0:len(records)]
	for _, r := range records {
		i, seen := first[r.Entry.ID]
		if !seen {
			first[r.Entry.ID] = len(kept)
			kept = append(kept, r)
			continue
		}
		group := twins[r.Entry.ID]
		if group == nil {
			group = []*Record{kept[i]}
		}
		if k := slices.IndexFunc(group, func(o *Record) bool { return o.Entry.Same(&r.Entry) }); k < 0 {
			group = append(group, r)
			kept = append(kept, r)
		} else {
			group[k].keepEarlierSpelling(&r.Entry)
		}
		twins[r.Entry.ID] = group
	}
	for _, group := range twins {
		slices.SortFunc(group, func(a, b *Record) int { return compareTwins(&a.Entry, &b.Entry) })
		for _, r := range group[1:] {
			r.Other = true
		}
	}
	return kept
}

// keepEarlierSpelling chooses between two entries that say the same with other
// spaces, so that which one is shown does not depend on which came first.
func (r *Record) keepEarlierSpelling(o *Entry) {
	if bytes.Compare(o.Body, r.Entry.Body) < 0 {
		r.Entry.Body = o.Body
	}
}

// fold is the work in progress.
type fold struct {
	o        Options
	state    *State
	holds    map[string]*contents // what each vessel holds, by the vessel's own short name
	waiting  map[string][]*Record // acts of a day on a vessel that was empty so far that day
	moved    bool                 // an act that waited is reckoned later than it was sorted
	controls map[string]*Parcel   // the parcel from which a control sample was last kept, by vessel
}

func newFold(o Options) *fold {
	return &fold{o: o, holds: make(map[string]*contents), waiting: make(map[string][]*Record), controls: make(map[string]*Parcel), state: &State{
		Now: o.Now, AsOf: o.AsOf,
		lots: make(map[string]*Lot), vessels: make(map[string]*Vessel), instruments: make(map[string]*Instrument),
		parcels: make(map[ParcelID]*Parcel), records: make(map[ID]*Record),
	}}
}

func (f *fold) find(r *Record, code FindingCode, says string) *Finding {
	f.state.Findings = append(f.state.Findings, Finding{Code: code, Entries: []ID{r.Entry.ID}, Says: says, at: r.At})
	return &f.state.Findings[len(f.state.Findings)-1]
}

// resolveStrikes tells which entries stand. A strike is in effect unless it is
// itself struck by one in effect; strikes that strike each other in a circle
// have none. A strike holds for the past of its target too: it says that the
// entry should never have been.
func (f *fold) resolveStrikes(records []*Record) {
	over := make(map[ID][]*Record)  // strikes by what they strike
	strikes := make(map[ID]*Record) // strikes by their own id
	twins := make(map[ID][]*Record) // entries that share their id with one that counts
	for _, r := range records {
		if r.Other {
			twins[r.Entry.ID] = append(twins[r.Entry.ID], r)
			continue
		}
		f.state.records[r.Entry.ID] = r
		if s, ok := r.Body.(Strike); ok {
			over[s.Target] = append(over[s.Target], r)
			strikes[r.Entry.ID] = r
		}
	}
	circular := f.strikeCircles(strikes)
	inEffect := make(map[ID]bool, len(strikes))
	settled := make(map[ID]bool, len(strikes))
	var effective func(id ID) bool
	effective = func(id ID) bool {
		if settled[id] || circular[id] {
			return inEffect[id]
		}
		on := true
		for _, s := range over[id] {
			on = on && !effective(s.Entry.ID)
		}
		settled[id], inEffect[id] = true, on
		return on
	}
	for _, r := range records {
		s, ok := r.Body.(Strike)
		if !ok || r.Other {
			continue
		}
		target := f.state.records[s.Target]
		switch {
		case target == nil:
			f.find(r, FoundStrikeUnknown, "what this strikes has not arrived")
		case effective(r.Entry.ID):
			target.Struck = append(target.Struck, r.Entry.ID)
			for _, t := range twins[s.Target] {
				t.Struck = append(t.Struck, r.Entry.ID)
			}
		}
	}
}

// strikeCircles are the strikes that, followed from target to target, come back
// to themselves. Every strike has one target, so each belongs to one circle at most.
func (f *fold) strikeCircles(strikes map[ID]*Record) map[ID]bool {
	circular := make(map[ID]bool)
	seen := make(map[ID]ID, len(strikes)) // by the strike from which the walk began
	for start := range strikes {
		for id := start; strikes[id] != nil; id = strikes[id].Body.(Strike).Target {
			if by, ok := seen[id]; ok {
				if by == start { // met on this very walk: id lies on a circle
					for c := id; !circular[c]; c = strikes[c].Body.(Strike).Target {
						circular[c] = true
					}
				}
				break
			}
			seen[id] = start
		}
	}
	for id := range circular {
		f.find(strikes[id], FoundStrikeCircle, "this strike strikes itself by way of others: none of them has effect")
	}
	return circular
}

// trouble reports what the envelope and the body have wrong.
func (f *fold) trouble(r *Record) {
	e := &r.Entry
	if r.Other {
		f.find(r, FoundSameID, "another entry has the same id and says something else: the one written first counts; strike them and enter anew what happened")
		return
	}
	if from, _ := e.Happened.Bounds(); !f.o.Now.IsZero() && from.After(f.o.Now) && len(r.Struck) == 0 {
		f.find(r, FoundFuture, "this is entered for "+e.Happened.String()+", which has not come yet")
	}
	if r.Body == nil {
		if _, err := e.Decode(); errors.Is(err, ErrUnknownKind) {
			f.find(r, FoundUnknownKind, "an entry of the kind "+string(e.Kind)+" comes from a newer program: it is kept, and not reckoned with").Note = true
		} else if err != nil {
			f.find(r, FoundUnreadable, err.Error())
		}
	} else if e.Version > SchemaOf(e.Kind) {
		f.find(r, FoundNewerSchema, "this comes from a newer program and is read as far as this one understands it").Note = true
	}
	if e.Replaces != "" && len(r.Struck) == 0 {
		if old := f.state.records[e.Replaces]; old != nil && len(old.Struck) == 0 {
			g := f.find(r, FoundBothCount, "this puts right an entry that has not been struck: both count")
			g.Entries = append(g.Entries, e.Replaces)
		}
	}
}

// finish sorts what was gathered and hands the state over.
func (f *fold) finish(records []*Record) *State {
	s := f.state
	if f.moved {
		slices.SortFunc(records, before)
	}
	s.Records = records
	f.dropBeyond()
	slices.SortFunc(s.Lots, func(a, b *Lot) int { return strings.Compare(a.Slug, b.Slug) })
	slices.SortFunc(s.Vessels, func(a, b *Vessel) int {
		if c := cmp.Compare(walk(a), walk(b)); c != 0 {
			return c
		}
		return strings.Compare(a.Slug, b.Slug)
	})
	slices.SortFunc(s.Instruments, func(a, b *Instrument) int { return strings.Compare(a.Slug, b.Slug) })
	slices.SortStableFunc(s.Findings, func(a, b Finding) int {
		if c := a.at.Compare(b.at); c != 0 {
			return c
		}
		if c := strings.Compare(string(a.Entries[0]), string(b.Entries[0])); c != 0 {
			return c
		}
		if c := strings.Compare(string(a.Code), string(b.Code)); c != 0 {
			return c
		}
		return strings.Compare(a.Says, b.Says)
	})
	for _, v := range s.Vessels {
		if c := f.holds[v.Slug]; c != nil {
			p := c.parcel
			v.Holds = p
			p.Volume, p.Spread, p.Weight, p.Count = litres(c.volume), litres(sqrt(c.variance)), c.weight, c.count
			p.Amounts, p.Roots, p.stage = c.amounts, c.roots, c.stage
		}
	}
	return s
}

// dropBeyond leaves out what is only described after the moment asked for, and
// was not named by anything before it.
func (f *fold) dropBeyond() {
	if f.o.AsOf.IsZero() {
		return
	}
	unborn := func(about []*Record, parcels int) bool {
		return parcels == 0 && len(about) > 0 && !slices.ContainsFunc(about, (*Record).Counts)
	}
	s := f.state
	s.Lots = slices.DeleteFunc(s.Lots, func(l *Lot) bool { return unborn(l.Records, len(l.Parcels)) })
	s.Vessels = slices.DeleteFunc(s.Vessels, func(v *Vessel) bool { return unborn(v.Records, len(v.Parcels)) })
	s.Instruments = slices.DeleteFunc(s.Instruments, func(i *Instrument) bool { return unborn(i.Records, 0) })
	maps.DeleteFunc(s.lots, func(_ string, l *Lot) bool { return unborn(l.Records, len(l.Parcels)) })
	maps.DeleteFunc(s.vessels, func(_ string, v *Vessel) bool { return unborn(v.Records, len(v.Parcels)) })
	maps.DeleteFunc(s.instruments, func(_ string, i *Instrument) bool { return unborn(i.Records, 0) })
}

// walk puts vessels without a stated place in the walk last, bottles after them.
func walk(v *Vessel) int {
	switch {
	case v.Walk > 0:
		return v.Walk
	case v.Bottles:
		return 1<<30 + 1
	}
	return 1 << 30
}
