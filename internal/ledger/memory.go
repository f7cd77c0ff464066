package ledger

import (
	"context"
	"slices"
	"sync"

	"elevage/internal/cellar"
)

// Memory is a ledger that is gone when the program ends: for tests and for the
// invented cellar.
type Memory struct {
	mu      sync.RWMutex
	entries map[string][]cellar.Entry                // by cellar, in order of arrival
	digests map[string]map[cellar.ID]map[string]bool // by cellar and id
}

// NewMemory makes an empty ledger.
func NewMemory() *Memory {
	return &Memory{entries: map[string][]cellar.Entry{}, digests: map[string]map[cellar.ID]map[string]bool{}}
}

// Append is as Ledger says.
func (m *Memory) Append(ctx context.Context, entries []cellar.Entry) ([]Outcome, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for i := range entries {
		if err := entries[i].Check(); err != nil {
			return nil, err
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	out := make([]Outcome, len(entries))
	for i, e := range entries {
		e.Body = slices.Clone(e.Body)
		out[i] = m.keep(e)
	}
	return out, nil
}

func (m *Memory) keep(e cellar.Entry) Outcome {
	if m.digests[e.Cellar] == nil {
		m.digests[e.Cellar] = map[cellar.ID]map[string]bool{}
	}
	of := m.digests[e.Cellar][e.ID]
	digest := e.Digest()
	if of[digest] {
		return Known
	}
	outcome := Conflicting
	if of == nil {
		outcome = New
		of = map[string]bool{}
		m.digests[e.Cellar][e.ID] = of
	}
	of[digest] = true
	m.entries[e.Cellar] = append(m.entries[e.Cellar], e)
	return outcome
}

// After is as Ledger says.
func (m *Memory) After(ctx context.Context, key string, n int) ([]cellar.Entry, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m.mu.RLock()
	defer m.mu.RUnlock()
	all := m.entries[key]
	out := slices.Clone(all[min(max(n, 0), len(all)):])
	for i := range out {
		out[i].Body = slices.Clone(out[i].Body)
	}
	return out, nil
}

// Close does nothing.
func (m *Memory) Close() error { return nil }
