package desk

import (
	"encoding/gob"
	"io"
	"maps"

	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/primary"
)

// kept is what is written down of the shelves. A belief is a function of its input,
// and the key digests that; so a kept one is as good as one computed anew, by the
// same program. Build names that program.
type kept struct {
	Build string
	Malo  map[key]*track.Belief
	SO2   map[key]*ageing.Belief
	Must  map[key]*primary.Belief
	Suit  map[key]*track.Suitability
	Slow  map[key]*primary.Diagnosis
}

// Fresh says whether a belief was computed since Keep or Recall.
func (d *Desk) Fresh() bool {
	return d.malo.fresh() || d.so2.fresh() || d.must.fresh() || d.suit.fresh() || d.slow.fresh()
}

// Keep writes down the beliefs that were used last, so that the next program need not
// compute them. Build names the program, its version and all.
func (d *Desk) Keep(w io.Writer, build string) error {
	return gob.NewEncoder(w).Encode(kept{build, d.malo.all(), d.so2.all(), d.must.all(), d.suit.all(), d.slow.all()})
}

// Recall takes up what Keep wrote. What another program wrote is left alone, since it
// may have believed by other rules.
func (d *Desk) Recall(r io.Reader, build string) error {
	var k kept
	if err := gob.NewDecoder(r).Decode(&k); err != nil {
		return err
	}
	if k.Build != build {
		return nil
	}
	d.malo.recall(k.Malo)
	d.so2.recall(k.SO2)
	d.must.recall(k.Must)
	d.suit.recall(k.Suit)
	d.slow.recall(k.Slow)
	return nil
}

func (s *shelf[T]) fresh() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.dirty
}

func (s *shelf[T]) all() map[key]T {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.dirty = false
	return maps.Clone(s.now)
}

func (s *shelf[T]) recall(from map[key]T) {
	s.mu.Lock()
	defer s.mu.Unlock()
	maps.Copy(s.now, from)
}
