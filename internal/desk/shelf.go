package desk

import (
	"crypto/sha256"
	"encoding/json"
	"sync"
)

// A key names the input that a belief was computed from.
type key [sha256.Size]byte

// keyOf digests an input. Inputs are plain values, so that equal ones give equal JSON.
func keyOf(input any) (key, error) {
	raw, err := json.Marshal(input)
	if err != nil {
		return key{}, err
	}
	return sha256.Sum256(raw), nil
}

// A shelf keeps beliefs by their inputs for as long as they were used in the
// last round or the one before.
type shelf[T any] struct {
	mu        sync.Mutex
	now, last map[key]T
	dirty     bool // something was put since all of it was taken
}

func newShelf[T any]() *shelf[T] { return &shelf[T]{now: map[key]T{}, last: map[key]T{}} }

func (s *shelf[T]) get(k key) (T, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	v, ok := s.now[k]
	if !ok {
		if v, ok = s.last[k]; ok {
			s.now[k] = v
		}
	}
	return v, ok
}

func (s *shelf[T]) put(k key, v T) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now[k], s.dirty = v, true
}

// turn starts a new round and forgets what the last one did not use.
func (s *shelf[T]) turn() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.last, s.now = s.now, make(map[key]T, len(s.now))
}
