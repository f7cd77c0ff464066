package cellar

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// RFC 9562, appendix A.6: the example of a version 7 UUID and the moment in it,
// 22 February 2022, 19:22:22.000 UTC. (From memory; the moment is checked below
// by the digits of the id, 0x017F22E279B0 ms = 1645557742000 ms.)
func TestIDTimeOfTheStandardsExample(t *testing.T) {
	t.Parallel()
	id, err := ParseID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
	if err != nil {
		t.Fatal(err)
	}
	if want := time.Date(2022, 2, 22, 19, 22, 22, 0, time.UTC); !id.Time().Equal(want) || want.UnixMilli() != 1645557742000 {
		t.Errorf("%s, want %s", id.Time(), want)
	}
	if id != "017f22e2-79b0-7cc3-98c4-dc0c0c07398f" {
		t.Errorf("not in lower case: %s", id)
	}
	// Appendix A.1, version 1: it has no such moment.
	if v1, err := ParseID("C232AB00-9414-11EC-B3C8-9F6BDECED846"); err != nil || !v1.Time().IsZero() {
		t.Errorf("%v %v", v1.Time(), err)
	}
}

func TestParseIDRefuses(t *testing.T) {
	t.Parallel()
	for _, s := range []string{"", "017f22e2", "017f22e2-79b0-7cc3-98c4-dc0c0c07398", "017f22e2-79b0-7cc3-98c4-dc0c0c07398ff", "017f22e2x79b0-7cc3-98c4-dc0c0c07398f",
		"017f22e2-79b0-7cc3-98c4-dc0c0c07398g", "{17f22e2-79b0-7cc3-98c4-dc0c0c0739}8", "017f22e279b07cc398c4dc0c0c07398f----"} {
		if _, err := ParseID(s); err == nil {
			t.Errorf("%q was taken", s)
		}
	}
}

// Ids made together ascend, keep their moment (to within what 4,096 at once borrow
// from the next millisecond), and have the version and variant of RFC 9562.
func TestNewIDs(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := time.UnixMilli(rapid.Int64Range(0, 1<<47).Draw(t, "ms"))
		n := rapid.SampledFrom([]int{0, 1, 2, 100, 5000}).Draw(t, "n")
		ids, err := NewIDs(at, rand.NewChaCha8([32]byte{rapid.Byte().Draw(t, "seed")}), n)
		if err != nil || len(ids) != n {
			t.Fatal(err)
		}
		if !slices.IsSorted(ids) || len(slices.Compact(slices.Clone(ids))) != n {
			t.Fatal("ids do not ascend")
		}
		for _, id := range ids {
			back, err := ParseID(string(id))
			if err != nil || back != id || id[14] != '7' || !strings.ContainsRune("89ab", rune(id[19])) {
				t.Fatalf("%s: %v", id, err)
			}
			if d := id.Time().Sub(at); d < 0 || d > 2*time.Millisecond {
				t.Fatalf("%s is of %s, want %s", id, id.Time(), at)
			}
		}
	})
}

func TestNewIDsRefuses(t *testing.T) {
	t.Parallel()
	if _, err := NewIDs(time.Unix(-1, 0), bytes.NewReader(make([]byte, 10)), 1); err == nil {
		t.Error("a moment before 1970 was taken")
	}
	if _, err := NewIDs(day0, bytes.NewReader(nil), 1); !errors.Is(err, errors.Unwrap(err)) || err == nil {
		t.Error("ids without randomness")
	}
}

func TestDerivedID(t *testing.T) {
	t.Parallel()
	a, b := DerivedID([32]byte{1, 2, 3}), DerivedID([32]byte{1, 2, 3})
	if a != b || a == DerivedID([32]byte{1, 2, 4}) || a[14] != '8' || !strings.ContainsRune("89ab", rune(a[19])) {
		t.Errorf("%s %s", a, b)
	}
}
