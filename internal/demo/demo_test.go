package demo

import (
	"testing"
	"time"

	"elevage/internal/cellar"
)

// Any day of any year must open on a cellar that adds up, since the story is
// told backwards from it.
func TestStoryAddsUp(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		t.Fatal(err)
	}
	for _, now := range []time.Time{
		time.Date(2026, 11, 25, 20, 0, 0, 0, zone), time.Date(2027, 3, 28, 2, 30, 0, 0, zone),
		time.Date(2028, 2, 29, 0, 1, 0, 0, time.UTC), time.Date(2026, 7, 1, 9, 0, 0, 0, zone),
	} {
		entries, err := Entries(now)
		if err != nil {
			t.Fatalf("%v: %v", now, err)
		}
		s := cellar.Fold(entries, cellar.Options{Now: now})
		if n := s.Lots.Len(); n < 8 {
			t.Errorf("%v: %d lots, want at least 8", now, n)
		}
		for _, f := range s.Findings.All() {
			if !f.Note {
				t.Errorf("%v: finding %s: %s", now, f.Code, f.Says)
			}
		}
	}
}

func TestStoryIsToldTheSameTwice(t *testing.T) {
	now := time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC)
	a, err := Entries(now)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Entries(now)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a {
		if a[i].Digest() != b[i].Digest() {
			t.Fatalf("entry %d differs: %s and %s", i, a[i].AppendLine(nil), b[i].AppendLine(nil))
		}
	}
}

// The larger cellar is for measuring: as many lots as were asked for, and it
// adds up like the first.
func TestRepeatedAddsUp(t *testing.T) {
	now := time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC)
	for _, n := range []int{1, 12, 13, 40} {
		entries, err := Repeated(now, n)
		if err != nil {
			t.Fatal(err)
		}
		s := cellar.Fold(entries, cellar.Options{Now: now})
		if s.Lots.Len() != n {
			t.Errorf("%d lots, want %d", s.Lots.Len(), n)
		}
		for _, f := range s.Findings.All() {
			if !f.Note {
				t.Errorf("%d lots: finding %s: %s", n, f.Code, f.Says)
			}
		}
	}
}

// Three harvests, told up to any day: as many lots as were asked for, wine in bottles
// and in vessels, and nothing that does not add up.
func TestVintagesAddUp(t *testing.T) {
	for _, now := range []time.Time{time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC), time.Date(2027, 3, 1, 20, 0, 0, 0, time.UTC)} {
		entries, err := Vintages(now, 40)
		if err != nil {
			t.Fatal(err)
		}
		s := cellar.Fold(entries, cellar.Options{Now: now})
		if s.Lots.Len() != 40 {
			t.Errorf("%d lots", s.Lots.Len())
		}
		for _, f := range s.Findings.All() {
			if !f.Note {
				t.Errorf("%v: finding %s: %s", now, f.Code, f.Says)
			}
		}
	}
}
