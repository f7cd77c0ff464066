package cellar

import (
	"bytes"
	"sync"
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
// changed and may be used again. A Book does the same as entries come in.
func Fold(entries []Entry, o Options) *State {
	b := newBook(o)
	b.Apply(entries...)
	return b.State()
}

// decodeAll reads the bodies of entries; nil stands for one that cannot be read.
// Many are read by all processors at once.
func decodeAll(entries []Entry) []Body {
	bodies := make([]Body, len(entries))
	read := func(from, to int) {
		for i := from; i < to; i++ {
			if body, err := entries[i].Decode(); err == nil {
				bodies[i] = body
			}
		}
	}
	const many = 2000
	if len(entries) < many {
		read(0, len(entries))
		return bodies
	}
	var wg sync.WaitGroup
	for from := 0; from < len(entries); from += many / 2 {
		wg.Go(func() { read(from, min(from+many/2, len(entries))) })
	}
	wg.Wait()
	return bodies
}

// compareTwins orders entries of one id by content, so that which of them
// counts does not depend on which came first.
func compareTwins(a, b *Entry) int {
	if c := a.Written.Compare(b.Written); c != 0 {
		return c
	}
	if a.ID == b.ID && a.Kind == b.Kind && a.Version == b.Version && a.Happened == b.Happened && a.By == b.By && a.Device == b.Device &&
		a.Replaces == b.Replaces && a.Overruled == b.Overruled && bytes.Equal(a.Body, b.Body) {
		return 0 // the same, as nearly always when it comes to this
	}
	return bytes.Compare(canonicalLine(a), canonicalLine(b))
}

func canonicalLine(e *Entry) []byte {
	c := *e
	c.Cellar, c.Body = "", canonical(e.Body)
	return c.AppendLine(nil)
}
