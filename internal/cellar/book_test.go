package cellar

import (
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A book that is given a history in any order, in any portions, with entries twice,
// shows after every portion what a fold from nothing of the same entries shows;
// and what it showed before stays as it was.
func TestBookEqualsFold(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := rapid.Permutation(history(t)).Draw(t, "order")
		for range rapid.IntRange(0, 4).Draw(t, "duplicates") {
			entries = append(entries, entries[rapid.IntRange(0, len(entries)-1).Draw(t, "again")])
		}
		now := day0.AddDate(0, 0, rapid.IntRange(-1, 12).Draw(t, "now"))
		book := NewBook(now)
		var shown []*State
		var dumped []string
		for at := 0; at < len(entries); {
			n := rapid.IntRange(1, max(1, len(entries)/4)).Draw(t, "portion")
			book.Apply(entries[at:min(at+n, len(entries))]...)
			at = min(at+n, len(entries))
			if rapid.IntRange(0, 3).Draw(t, "later") == 0 {
				now = now.AddDate(0, 0, rapid.IntRange(-2, 4).Draw(t, "by days"))
				book.SetNow(now)
			}
			got := dump(book.State())
			if want := dump(Fold(entries[:at], Options{Now: now})); got != want {
				t.Fatalf("after %d entries of %d:\n%s", at, len(entries), clip(lineDiff(want, got), 4000))
			}
			shown, dumped = append(shown, book.State()), append(dumped, got)
		}
		for i := range shown {
			if got := dump(shown[i]); got != dumped[i] {
				t.Fatalf("a state that was handed out has changed:\n%s", clip(lineDiff(dumped[i], got), 4000))
			}
		}
	})
}

// What a change leaves out of its parcels is as it was, and so is its history.
func TestChangeNamesWhatChanged(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := history(t)
		cut := rapid.IntRange(0, len(entries)-1).Draw(t, "cut")
		book := NewBook(time.Time{})
		book.Apply(entries[:cut]...)
		before := book.State()
		c := book.Apply(entries[cut:]...)
		after := book.State()
		for _, p := range before.Parcels.All() {
			if slices.Contains(c.Parcels, p.ID) {
				continue
			}
			q := after.Parcel(p.ID)
			if q == nil {
				t.Fatalf("%s is gone, and the change does not say so", p.ID)
			}
			if a, b := told(before, p), told(after, q); a != b {
				t.Fatalf("%s changed, and the change does not say so:\n%s", p.ID, lineDiff(a, b))
			}
		}
		for _, p := range after.Parcels.All() {
			if before.Parcel(p.ID) == nil && !slices.Contains(c.Parcels, p.ID) {
				t.Fatalf("%s is new, and the change does not say so", p.ID)
			}
		}
		findings := func(s *State) (out []findingKey) {
			for _, f := range s.Findings.All() {
				out = append(out, f.key())
			}
			return out
		}
		for _, f := range c.Found {
			if f.Code == FoundSameID {
				continue // there is one for each of several twins
			}
			if !slices.Contains(findings(after), f.key()) || slices.Contains(findings(before), f.key()) {
				t.Errorf("found, but not new: %+v", f)
			}
		}
		for _, f := range c.Settled {
			if f.Code == FoundSameID {
				continue
			}
			if slices.Contains(findings(after), f.key()) || !slices.Contains(findings(before), f.key()) {
				t.Errorf("settled, but not gone: %+v", f)
			}
		}
	})
}

// told is what a parcel's page would tell of it.
func told(s *State, p *Parcel) string {
	var b strings.Builder
	for _, line := range strings.Split(dump(s), "\n") {
		if strings.Contains(line, string(p.ID)+" lot") {
			b.WriteString(line + "\n")
		}
	}
	for _, h := range s.History(p.ID) {
		b.WriteString(h.At.String() + " " + string(h.Entry.AppendLine(nil)) + "\n")
	}
	return b.String()
}

// The cellar as it was believed to be: what was written later is as if it were not.
func TestKnownBy(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := history(t)
		o := Options{Now: day0.AddDate(0, 0, 12), KnownBy: day0.Add(time.Duration(rapid.IntRange(0, 13*24).Draw(t, "known by")) * time.Hour)}
		if rapid.Bool().Draw(t, "past") {
			o.AsOf = day0.Add(time.Duration(rapid.IntRange(0, 10*24).Draw(t, "as of")) * time.Hour)
		}
		var known []Entry
		for _, e := range entries {
			if !e.Written.After(o.KnownBy) {
				known = append(known, e)
			}
		}
		if got, want := dump(Fold(entries, o)), dump(Fold(known, Options{Now: o.Now, AsOf: o.AsOf})); got != want {
			t.Fatalf("%s", clip(lineDiff(want, got), 3000))
		}
	})
}

// States are read by many while the book goes on; under the race detector this
// shows that nothing they show is written to again.
func TestStatesAreReadWhileTheBookGoesOn(t *testing.T) {
	t.Parallel()
	q := season(t, 1500)
	book := NewBook(q.now)
	var wg sync.WaitGroup
	for i, e := range slices.Clone(q.entries) {
		book.Apply(e)
		if i%150 == 0 {
			s := book.State()
			want := dump(s)
			for range 2 {
				wg.Go(func() {
					if got := dump(s); got != want {
						t.Error("a state has changed")
					}
					for _, p := range s.Parcels.All() {
						s.History(p.ID)
					}
					s.Balance(Scope{}, day0, q.now)
				})
			}
		}
		if i%40 == 39 {
			book.Apply(q.draft(Draft{Happened: At(q.now), Body: Strike{Target: q.entries[i-20].ID, Reason: "wrong"}}))
		}
	}
	wg.Wait()
}
