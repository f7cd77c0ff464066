package cellar

import "slices"

// A Change tells what entries that were applied did to a book.
type Change struct {
	// Fresh are the entries that were not known before.
	Fresh []ID
	// Reckoned is how many entries were reckoned, new ones and those that rest on
	// what changed.
	Reckoned int
	// Parcels are those that are not what they were, or whose history is not: what
	// is believed of all others still stands. By id.
	Parcels []ParcelID
	// Instruments says that an instrument was checked, set or described: whatever
	// was read with it may be believed otherwise.
	Instruments bool
	// Found are findings that were not there before, Settled those that are gone.
	Found, Settled []*Finding

	touched, gone []ParcelID
	lots, vessels []string
}

// Decisions are the findings, among those that came up, that tell of a decision
// which rested on what changed: a dose reckoned for another volume, a verdict on a
// reading that was struck.
func (c *Change) Decisions() []*Finding {
	var out []*Finding
	for _, f := range c.Found {
		if f.OfDecision() {
			out = append(out, f)
		}
	}
	return out
}

// OfDecision says that a finding tells of a decision which rested on something else
// than what stands in the ledger now.
func (f *Finding) OfDecision() bool {
	switch f.Code {
	case FoundDoseVolume, FoundRested, FoundSO2Early, FoundCultureSulfite, FoundSorbate:
		return true
	}
	return false
}

// findingKey is what makes a finding the same as before.
type findingKey struct {
	code  FindingCode
	entry ID
	says  string
}

func (f *Finding) key() findingKey { return findingKey{f.Code, f.Entries[0], f.Says} }

// tell adds a finding to the state.
func (b *Book) tell(f *Finding) {
	b.findings.insert(f)
	if k := f.key(); b.todo.settled != nil {
		if _, was := b.todo.settled[k]; was {
			delete(b.todo.settled, k)
		} else {
			b.todo.told[k] = f
		}
	}
}

// untell takes a finding out of the state.
func (b *Book) untell(f *Finding) {
	b.findings.remove(f)
	if k := f.key(); b.todo.settled != nil {
		if _, was := b.todo.told[k]; was {
			delete(b.todo.told, k)
		} else {
			b.todo.settled[k] = f
		}
	}
}

// retell replaces the findings of one place.
func (b *Book) retell(was *[]*Finding, now []*Finding) {
	if len(*was) == 0 && len(now) == 0 {
		return
	}
	for _, f := range *was {
		b.untell(f)
	}
	for _, f := range now {
		b.tell(f)
	}
	*was = now
}

// report sums up what a round did.
func (b *Book) report() Change {
	c := b.todo.change
	changed := map[ParcelID]bool{}
	for _, id := range c.gone {
		changed[id] = true
	}
	queue := c.touched
	for _, slug := range c.lots {
		for _, a := range b.lot(slug).parcels {
			queue = append(queue, a.id)
		}
	}
	for _, slug := range c.vessels {
		for _, a := range b.line(slug).parcels {
			queue = append(queue, a.id)
		}
	}
	for len(queue) > 0 { // and whoever got wine from them
		id := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if changed[id] {
			continue
		}
		changed[id] = true
		if a := b.accounts[id]; a != nil {
			queue = append(queue, a.kids...)
		}
	}
	for id := range changed {
		c.Parcels = append(c.Parcels, id)
	}
	slices.Sort(c.Parcels)
	c.Found, c.Settled = inOrder(b.todo.told), inOrder(b.todo.settled)
	c.touched, c.gone, c.lots, c.vessels = nil, nil, nil, nil
	return c
}

func inOrder(found map[findingKey]*Finding) []*Finding {
	var out []*Finding
	for _, f := range found {
		out = append(out, f)
	}
	slices.SortFunc(out, byMoment)
	return out
}
