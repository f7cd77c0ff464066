package cellar

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

// Three thousand entries of many lots, one in twenty struck, some strikes struck,
// one in thirty written weeks late, some twice, arriving in any order in portions
// of any size: the book shows what a fold from nothing shows.
func TestBookEqualsFoldOverThousandsOfEntries(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(seed, 1))
			q := season(t, 3000)
			for i := range q.entries {
				if e := &q.entries[i]; rng.IntN(30) == 0 {
					e.Written = e.Written.AddDate(0, 0, rng.IntN(40))
				}
			}
			for range 150 {
				target := q.entries[rng.IntN(len(q.entries))]
				q.draft(Draft{Happened: At(q.now), Body: Strike{Target: target.ID, Reason: "wrong"}})
			}
			entries := slices.Clone(q.entries)
			rng.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
			entries = append(entries, entries[:100]...)
			book, look := NewBook(q.now), len(entries)/3
			for at := 0; at < len(entries); {
				to := min(len(entries), at+1+rng.IntN(200))
				book.Apply(entries[at:to]...)
				at = to
				if at < look && at < len(entries) {
					continue
				}
				look += len(entries) / 3
				if got, want := dump(book.State()), dump(Fold(entries[:at], Options{Now: q.now})); got != want {
					t.Fatalf("after %d of %d:\n%s", at, len(entries), clip(lineDiff(want, got), 3000))
				}
			}
			balance(t, book.State())
		})
	}
}

// Only what follows from a change is reckoned anew: a strike of the first dose in
// c2 leaves everything in c3 alone.
func TestOnlyDescendantsAreReckonedAnew(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(Movement{How: "splitting", From: []Portion{{Vessel: "c1", All: true}}, To: []Portion{{Vessel: "c2", Volume: M("23", "L")}, {Vessel: "c3", Volume: M("23", "L")}}, Rest: LossLees})
	dose := q.do(Addition{Vessel: "c2", Product: "oak", Amount: M("30", "g")})[0]
	for range 50 {
		q.days(1)
		q.do(Reading{Vessel: "c2", What: ReadPH, Value: M("3.47", "pH")}, Reading{Vessel: "c3", What: ReadPH, Value: M("3.48", "pH")})
	}
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "c2", All: true}}, To: []Portion{{Vessel: "b2", Volume: M("22", "L")}}, Rest: LossLees})
	book := NewBook(q.now)
	book.Apply(q.entries...)
	c3, b2 := book.State().In("c3"), book.State().In("b2")
	c := book.Apply(q.draft(Draft{Happened: At(q.now), Body: Strike{Target: dose.ID, Reason: "never given"}}))
	// The strike, the readings of c2 and the racking.
	if c.Reckoned != 52 {
		t.Errorf("%d entries were reckoned, want 52", c.Reckoned)
	}
	if slices.Contains(c.Parcels, c3.ID) || !slices.Contains(c.Parcels, b2.ID) || book.State().In("c3") != c3 {
		t.Errorf("changed: %v", c.Parcels)
	}
	if got := book.State().In("b2").Amount("oak"); got != 0 {
		t.Errorf("%v g of oak in b2", got)
	}
}

// A late result of a wine changes what is known of every wine that came from it.
func TestLateResultReachesDescendants(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	drawn := q.now
	q.days(2)
	q.do(Movement{How: "splitting", From: []Portion{{Vessel: "c1", All: true}}, To: []Portion{{Vessel: "c2", Volume: M("23", "L")}, {Vessel: "c3", Volume: M("23", "L")}}, Rest: LossLees})
	q.days(30)
	book := NewBook(q.now)
	book.Apply(q.entries...)
	c := book.Apply(q.draft(Draft{Happened: At(drawn.Add(time.Minute)), Body: Reading{Vessel: "c1", What: ReadMalic, Value: M("2.1", "g/L"), Lab: "by post"}}))
	s := book.State()
	for _, v := range []string{"c2", "c3"} {
		if !slices.Contains(c.Parcels, s.In(v).ID) {
			t.Errorf("%s is not told to have changed: %v", v, c.Parcels)
		}
		h := s.History(s.In(v).ID)
		if !slices.ContainsFunc(h, func(h Happening) bool { b, ok := h.Body.(Reading); return ok && b.Lab == "by post" }) {
			t.Errorf("the result is not in the history of %s", v)
		}
	}
}

// Decisions that rested on what came, or was struck, only later.
func TestDecisionsThatRestedOnWhatChanged(t *testing.T) {
	t.Parallel()
	ph := func(v string) Reading { return Reading{Vessel: "c1", What: ReadPH, Value: M(v, "pH")} }
	so2 := Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("3", "g"), For: M("54", "L")}
	for _, c := range []struct {
		name   string
		before func(q *quill) Entry // what is written in time; the entry that is changed or preceded
		after  func(q *quill, e Entry) Draft
		code   FindingCode
		words  []string
	}{
		{"a dip of the day before comes late", func(q *quill) Entry {
			e := q.do(Note{Vessel: "c1", Words: "dip to be written down"})[0]
			q.days(1)
			q.do(so2)
			return e
		},
			func(q *quill, e Entry) Draft {
				return Draft{Happened: e.Happened, Body: Dip{Vessel: "c1", Volume: M("46", "L")}}
			},
			FoundDoseVolume, []string{"54 L", "46 L"}},
		{"a forgotten racking", func(q *quill) Entry {
			e := q.do(Note{Vessel: "c1", Words: "racked"})[0]
			q.days(1)
			q.do(so2)
			return e
		},
			func(q *quill, e Entry) Draft {
				return Draft{Happened: e.Happened, Body: Movement{From: []Portion{{Vessel: "c1", Volume: M("8", "L")}}, To: []Portion{{Vessel: "c2", Volume: M("8", "L")}}}}
			},
			FoundDoseVolume, []string{"54 L", "46 L"}},
		{"a pH is struck", func(q *quill) Entry {
			q.do(ph("3.40"))
			q.days(3)
			e := q.do(ph("3.70"))[0]
			q.days(1)
			q.do(so2)
			return e
		},
			func(q *quill, e Entry) Draft {
				return Draft{Happened: At(q.now), Body: Strike{Target: e.ID, Reason: "of c2"}}
			},
			FoundRested, []string{"this dose", "pH 3.70", "struck since", "pH 3.40"}},
		{"the only pH is struck", func(q *quill) Entry { e := q.do(ph("3.70"))[0]; q.days(1); q.do(so2); return e },
			func(q *quill, e Entry) Draft {
				return Draft{Happened: At(q.now), Body: Strike{Target: e.ID, Reason: "of c2"}}
			},
			FoundRested, []string{"pH 3.70", "no other stands"}},
		{"a result comes late", func(q *quill) Entry {
			e := q.do(Note{Vessel: "c1", Words: "sample sent"}, ph("3.55"))[0]
			q.days(1)
			q.do(so2)
			return e
		},
			func(q *quill, e Entry) Draft {
				return Draft{Happened: e.Happened, Body: Reading{Vessel: "c1", What: ReadFreeSO2, Value: M("22", "mg/L"), Lab: "by post"}}
			},
			FoundRested, []string{"before free SO2 22 mg/L", "was known"}},
		{"a better result comes late", func(q *quill) Entry {
			q.do(Reading{Vessel: "c1", What: ReadMalic, Value: M("0.05", "g/L")})
			q.days(1)
			e := q.do(Note{Vessel: "c1", Words: "sample sent"})[0]
			q.days(1)
			q.do(Verdict{Vessel: "c1", Says: VerdictMalolacticFinished})
			return e
		}, func(q *quill, e Entry) Draft {
			return Draft{Happened: e.Happened, Body: Reading{Vessel: "c1", What: ReadMalic, Value: M("0.4", "g/L"), Lab: "by post"}}
		},
			FoundRested, []string{"this verdict", "rested on malic acid 0.05 g/L", "malic acid 0.4 g/L", "came in only later"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			q := cellarWith(t)
			q.do(Verdict{Vessel: "c1", Says: VerdictMalolacticFinished})
			e := c.before(q)
			book := NewBook(q.now)
			if d := book.Apply(q.entries...); len(d.Decisions()) != 0 {
				t.Fatalf("before anything changed: %+v", d.Decisions()[0])
			}
			q.days(10)
			change := book.Apply(q.draft(c.after(q, e)))
			found := change.Decisions()
			if len(found) != 1 || found[0].Code != c.code || found[0].Parcel == "" {
				t.Fatalf("decisions: %+v", found)
			}
			for _, w := range c.words {
				if !strings.Contains(found[0].Says, w) {
					t.Errorf("%q does not say %q", found[0].Says, w)
				}
			}
			// Struck again, the change leaves nothing behind.
			last := q.entries[len(q.entries)-1]
			back := book.Apply(q.draft(Draft{Happened: At(q.now), Body: Strike{Target: last.ID, Reason: "after all"}}))
			if !slices.ContainsFunc(back.Settled, func(f *Finding) bool { return f.Code == c.code }) {
				t.Errorf("taken back: %+v", back.Settled)
			}
		})
	}
}

// What was read of the greater part goes with the wine.
func TestDecisionsAfterRacking(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(Verdict{Vessel: "c1", Says: VerdictMalolacticFinished})
	wrong := q.do(Reading{Vessel: "c1", What: ReadPH, Value: M("3.90", "pH")})[0]
	q.days(1)
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "c1", All: true}}, To: []Portion{{Vessel: "b2", Volume: M("53", "L")}}, Rest: LossLees},
		Addition{Vessel: "b2", Product: "potassium-metabisulfite", Amount: M("3", "g")})
	q.days(1)
	q.do(Strike{Target: wrong.ID, Reason: "digits swapped"})
	s := q.fold()
	var rested []*Finding
	for _, f := range s.Findings.All() {
		if f.Code == FoundRested {
			rested = append(rested, f)
		}
	}
	if len(rested) != 1 || rested[0].Vessel != "b2" {
		t.Errorf("%+v", rested)
	}
}

// Lists keep their old versions, whatever is done to the new ones.
func TestListsStay(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 4))
	r := newRack(func(a, b int) int { return a - b })
	set := map[int]bool{}
	type version struct {
		list List[int]
		want []int
	}
	var kept []version
	for step := range 6000 {
		v := rng.IntN(3000)
		if step%3 == 0 {
			v = 3000 + step // in order, at the end
		}
		if rng.IntN(3) == 0 {
			if r.remove(v) != set[v] {
				t.Fatalf("remove %d", v)
			}
			delete(set, v)
		} else {
			r.insert(v)
			set[v] = true
		}
		if step%500 == 0 || step > 5990 {
			var want []int
			for v := range set {
				want = append(want, v)
			}
			slices.Sort(want)
			kept = append(kept, version{r.share(), want})
		}
	}
	for _, k := range kept {
		if got := k.list.Slice(); !slices.Equal(got, k.want) || k.list.Len() != len(k.want) {
			t.Fatalf("a list of %d changed to %d", len(k.want), len(got))
		}
		var back []int
		for i, v := range k.list.Backward() {
			if k.want[i] != v {
				t.Fatalf("backward, %d is %d, want %d", i, v, k.want[i])
			}
			back = append(back, v)
		}
		slices.Reverse(back)
		if !slices.Equal(back, k.want) {
			t.Fatal("backward is not all")
		}
		for _, i := range []int{0, len(k.want) / 2, len(k.want) - 1} {
			if len(k.want) > 0 && k.list.At(i) != k.want[i] {
				t.Fatalf("at %d: %d, want %d", i, k.list.At(i), k.want[i])
			}
		}
		for v := range k.list.from(func(v int) bool { return v >= 1500 }) {
			i, _ := slices.BinarySearch(k.want, 1500)
			if v != k.want[i] {
				t.Fatalf("from 1500: %d, want %d", v, k.want[i])
			}
			break
		}
	}
}
