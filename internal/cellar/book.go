package cellar

import "slices"

// A Book folds entries that keep coming. It reads each of them once and keeps
// them in the order in which they are reckoned, so that a state costs less than
// half of what Fold would take, and is the same.
//
//	var book cellar.Book
//	book.Add(entries...)          // what the ledger holds
//	state := book.State(cellar.Options{Now: now})
//	book.Add(more...)             // what came since, in any order
//
// The zero Book is empty and ready. It may be used by one at a time; the states it
// gives are its own no longer, and may be read by many at once.
type Book struct {
	records []Record // as read: settled and in order, not reckoned
	at      map[ID]bool
}

// Add takes entries in. What is known already changes nothing.
func (b *Book) Add(entries ...Entry) {
	if b.at == nil {
		b.at = make(map[ID]bool, len(entries))
	}
	fresh := make([]Record, 0, len(entries))
	twins := false
	for i := range entries {
		twins = twins || b.at[entries[i].ID]
		b.at[entries[i].ID] = true
		fresh = append(fresh, read(&entries[i]))
	}
	if twins { // rare: an id that was there, whether or not it says the same
		b.settle(fresh)
		return
	}
	slices.SortFunc(fresh, func(x, y Record) int { return before(&x, &y) })
	b.merge(fresh)
}

// settle takes in records of which some have the id of another.
func (b *Book) settle(fresh []Record) {
	all := append(b.records, fresh...)
	records := make([]*Record, len(all))
	for i := range all {
		all[i].Other = false
		records[i] = &all[i]
	}
	records = settleTwins(records)
	slices.SortFunc(records, before)
	settled := make([]Record, len(records))
	for i, r := range records {
		settled[i] = *r
	}
	b.records = settled
}

// merge puts sorted records in their places; those that come last cost nothing more.
func (b *Book) merge(fresh []Record) {
	n := len(b.records)
	b.records = append(b.records, fresh...)
	if n == 0 || len(fresh) == 0 || before(&b.records[n-1], &b.records[n]) <= 0 {
		return
	}
	// From the back, so that nothing that is still needed is written over.
	i, j := n-1, len(fresh)-1
	for k := len(b.records) - 1; j >= 0; k-- {
		if i >= 0 && before(&b.records[i], &fresh[j]) > 0 {
			b.records[k] = b.records[i]
			i--
		} else {
			b.records[k] = fresh[j]
			j--
		}
	}
}

// Len is the number of entries, each counted once.
func (b *Book) Len() int { return len(b.records) }

// State is what Fold would make of all entries that were added.
func (b *Book) State(o Options) *State {
	block := slices.Clone(b.records)
	records := make([]*Record, len(block))
	for i := range block {
		records[i] = &block[i]
	}
	return reckon(records, o)
}
