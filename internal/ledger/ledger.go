// Package ledger keeps entries. It knows their envelope and nothing of what they
// mean: no fold, no wine.
//
//	book := ledger.NewMemory()                       // or sqlite.Open(path)
//	outcomes, err := book.Append(ctx, entries)       // all or none; the same entry twice is one
//	entries, err := book.After(ctx, "home", 0)       // in the order in which they arrived
//
// A ledger only grows. Nothing in this package changes or deletes an entry.
package ledger

import (
	"context"
	"io"

	"elevage/internal/cellar"
)

// An Outcome says what became of an entry that was appended.
type Outcome uint8

// Outcomes. An entry with a known id but other content is kept beside the first
// one: it is for the fold to find and for a person to settle.
const (
	New         Outcome = iota // kept
	Known                      // the same entry was there already
	Conflicting                // kept, though its id says something else already
)

func (o Outcome) String() string {
	return [...]string{"new", "known", "conflicting"}[min(o, Conflicting)]
}

// A Ledger keeps the entries of one or more cellars. Its methods may be called
// by many at once. Errors have a kind of package fault.
type Ledger interface {
	// Append keeps entries, all or none, and says what became of each. When it
	// returns without error they are on the disk, if the ledger has one. Entries
	// are checked first; an entry that does not pass is fault.Invalid.
	Append(ctx context.Context, entries []cellar.Entry) ([]Outcome, error)

	// After returns the entries of a cellar in the order in which they arrived,
	// leaving out the first n.
	After(ctx context.Context, key string, n int) ([]cellar.Entry, error)

	io.Closer
}
