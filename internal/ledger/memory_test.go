package ledger_test

import (
	"testing"

	"elevage/internal/ledger"
	"elevage/internal/ledger/conformance"
)

func TestMemory(t *testing.T) {
	t.Parallel()
	conformance.Run(t, func(*testing.T) ledger.Ledger { return ledger.NewMemory() })
}

func TestMemoryConcurrent(t *testing.T) {
	t.Parallel()
	conformance.Concurrent(t, func(*testing.T) ledger.Ledger { return ledger.NewMemory() })
}
