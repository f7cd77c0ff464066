package cellar

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestStrikes(t *testing.T) {
	t.Parallel()
	// Each case names strikes by what they strike: a is a reading, s1 … are strikes.
	for _, c := range []struct {
		name    string
		strikes []string // target of s1, s2, …
		stands  bool     // does a stand?
		inForce []int
		codes   []FindingCode
	}{
		{"none", nil, true, nil, nil},
		{"one", []string{"a"}, false, []int{1}, nil},
		{"two of one", []string{"a", "a"}, false, []int{1, 2}, nil},
		{"a strike struck", []string{"a", "s1"}, true, nil, nil},
		{"a strike of a strike struck", []string{"a", "s1", "s2"}, false, []int{1}, nil},
		{"one of two struck", []string{"a", "a", "s1"}, false, []int{2}, nil},
		{"before its target", []string{"s2", "a"}, true, nil, nil},
		{"itself", []string{"s1"}, true, nil, []FindingCode{FoundStrikeCircle}},
		{"each other", []string{"s2", "s1"}, true, nil, []FindingCode{FoundStrikeCircle, FoundStrikeCircle}},
		{"three in a circle, one of which is struck from outside", []string{"s2", "s3", "s1", "s1", "a"}, false, []int{5}, []FindingCode{FoundStrikeCircle, FoundStrikeCircle, FoundStrikeCircle}},
		{"what never came", []string{"x"}, true, nil, []FindingCode{FoundStrikeUnknown}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			q := cellarWith(t)
			a := q.do(Reading{Vessel: "c1", What: ReadPH, Value: M("3.47", "pH")})[0]
			ids := map[string]ID{"a": a.ID, "x": "0190a5e0-7c3a-7000-8000-00000000000f"}
			for i := range c.strikes {
				ids[fmt.Sprintf("s%d", i+1)] = ID(fmt.Sprintf("0190a5e0-7c3a-7000-8000-0000000001%02d", i+1))
			}
			for i, target := range c.strikes {
				q.do(Strike{Target: ids[target], Reason: "wrong"})
				q.entries[len(q.entries)-1].ID = ids[fmt.Sprintf("s%d", i+1)]
			}
			s := q.fold()
			wantCodes(t, s, c.codes...)
			r := s.Record(a.ID)
			var want []ID
			for _, n := range c.inForce {
				want = append(want, ids[fmt.Sprintf("s%d", n)])
			}
			if r.Counts() != c.stands || !slices.Equal(r.Struck, want) {
				t.Errorf("stands %v, struck by %v; want %v, %v", r.Counts(), r.Struck, c.stands, want)
			}
		})
	}
}

func TestFindings(t *testing.T) {
	t.Parallel()
	kmbs := func(v string) Addition {
		return Addition{Vessel: v, Product: "potassium-metabisulfite", Amount: M("4", "g")}
	}
	culture := Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"}
	edit := func(q *quill, change func(*Entry)) { change(&q.entries[len(q.entries)-1]) }
	for _, c := range []struct {
		name  string
		write func(q *quill)
		codes []FindingCode
		words string
	}{
		{"one id, two contents", func(q *quill) {
			q.do(Note{Vessel: "c1", Words: "one"})
			e := q.entries[len(q.entries)-1]
			e.Body = json.RawMessage(`{"vessel":"c1","words":"two"}`)
			q.entries = append(q.entries, e)
		}, []FindingCode{FoundSameID}, "same id"},
		{"in the future", func(q *quill) {
			q.draft(Draft{Happened: At(q.now.AddDate(0, 0, 2)), Body: Note{Vessel: "c1", Words: "tomorrow"}})
		}, []FindingCode{FoundFuture}, "has not come"},
		{"today is not the future", func(q *quill) {
			q.draft(Draft{Happened: On(q.now), Body: Note{Vessel: "c1", Words: "today"}})
		}, nil, ""},
		{"of a newer program", func(q *quill) {
			q.do(Note{Vessel: "c1", Words: "x"})
			edit(q, func(e *Entry) { e.Kind, e.Body = "moon-phase", json.RawMessage(`{"phase":"full"}`) })
		}, []FindingCode{FoundUnknownKind}, "moon-phase"},
		{"of a newer schema", func(q *quill) {
			q.do(Note{Vessel: "c1", Words: "x"})
			edit(q, func(e *Entry) { e.Version = 2 })
		}, []FindingCode{FoundNewerSchema}, "newer"},
		{"a body that its kind does not have", func(q *quill) {
			q.do(Note{Vessel: "c1", Words: "x"})
			edit(q, func(e *Entry) { e.Body = json.RawMessage(`{"words":7}`) })
		}, []FindingCode{FoundUnreadable}, "note"},
		{"a figure that is none", func(q *quill) {
			q.do(Dip{Vessel: "c1", Volume: M("50", "L")})
			edit(q, func(e *Entry) { e.Body = json.RawMessage(`{"vessel":"c1","volume":{"value":"50","unit":"stone"}}`) })
		}, []FindingCode{FoundBadFigure}, "stone"},
		{"a vessel nobody named", func(q *quill) {
			q.do(Movement{From: []Portion{{Vessel: "c1", Volume: M("5", "L")}}, To: []Portion{{Vessel: "jug"}}})
		}, []FindingCode{FoundUnknownVessel}, "jug"},
		{"a lot nobody started", func(q *quill) {
			q.do(Movement{Lot: "mystery", To: []Portion{{Vessel: "c2", Volume: M("5", "L")}}})
		}, []FindingCode{FoundUnknownLot}, "mystery"},
		{"two vessels of one name", func(q *quill) { q.do(VesselNamed{Slug: "c1", Type: "keg"}) }, []FindingCode{FoundTwoNames}, "c1"},
		{"one vessel described anew", func(q *quill) { q.do(VesselNamed{Slug: "c1", Type: "keg", Size: M("60", "L"), Anew: true}) }, nil, ""},
		{"a reading of nothing", func(q *quill) { q.do(Reading{Vessel: "b2", What: ReadPH, Value: M("3.4", "pH")}) }, []FindingCode{FoundEmptyVessel}, "b2"},
		{"more than it holds", func(q *quill) {
			q.do(Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c2", Volume: M("30", "L")}}})
		}, []FindingCode{FoundOverfull}, "23 L"},
		{"another lot joins", func(q *quill) {
			q.do(LotStarted{Slug: "syrah"}, Movement{Lot: "syrah", To: []Portion{{Vessel: "b2", Volume: M("20", "L")}}},
				Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2"}}})
		}, []FindingCode{FoundMixed}, "syrah"},
		{"a dose for another volume", func(q *quill) {
			q.do(Addition{Vessel: "c1", Product: "tartaric-acid", Amount: M("46", "g"), For: M("46", "L")})
		}, []FindingCode{FoundDoseVolume}, "46 L; c1 held 54 L"},
		{"a dose for this volume", func(q *quill) {
			q.do(Addition{Vessel: "c1", Product: "tartaric-acid", Amount: M("53", "g"), For: M("14", "gal")})
		}, nil, ""},
		{"sulfur dioxide before the end", func(q *quill) { q.do(culture, kmbs("c1")) }, []FindingCode{FoundSO2Early}, "42.7 mg/L"}, // 4 g × 0.5763 / 54 L
		{"sulfur dioxide after the end", func(q *quill) {
			q.do(culture, Verdict{Vessel: "c1", Says: VerdictMalolacticFinished}, kmbs("c1"))
		}, nil, ""},
		{"sulfur dioxide into must", func(q *quill) {
			q.do(VesselNamed{Slug: "bin"}, FruitReceived{Lot: "merlot-26", Vessel: "bin", Weight: M("100", "kg")}, Crush{Lot: "merlot-26", To: []Portion{{Vessel: "bin", Volume: M("88", "L")}}}, kmbs("bin"))
		}, nil, ""},
		{"the verdict goes with the wine", func(q *quill) {
			q.do(culture, Verdict{Vessel: "c1", Says: VerdictMalolacticFinished}, Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2"}}}, kmbs("b2"))
		}, nil, ""},
		{"half of a blend is not finished", func(q *quill) {
			q.do(Movement{Lot: "merlot-26", To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}}, Verdict{Vessel: "c1", Says: VerdictMalolacticFinished},
				Movement{How: "blending", From: []Portion{{Vessel: "c1"}, {Vessel: "c2"}}, To: []Portion{{Vessel: "b2", Volume: M("74", "L")}}}, kmbs("b2"))
		}, []FindingCode{FoundSO2Early}, "before"},
		{"a culture into sulfited wine", func(q *quill) {
			q.do(Verdict{Vessel: "c1", Says: VerdictMalolacticGivenUp}, Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("70", "mg/L")}, culture)
		}, []FindingCode{FoundCultureSulfite}, "70 mg/L"},
		{"sorbate with bacteria", func(q *quill) {
			q.do(Addition{Vessel: "c1", Product: "potassium-sorbate", Amount: M("10", "g")})
		}, []FindingCode{FoundSorbate}, "geranium"},
		{"put right, and the wrong one still counts", func(q *quill) {
			old := q.do(Dip{Vessel: "c1", Volume: M("54", "L")})[0]
			q.draft(Draft{Happened: At(q.now), Replaces: old.ID, Body: Dip{Vessel: "c1", Volume: M("53.5", "L")}})
		}, []FindingCode{FoundBothCount}, "both"},
		{"put right", func(q *quill) {
			old := q.do(Dip{Vessel: "c1", Volume: M("5.4", "L")})[0]
			q.do(Strike{Target: old.ID, Reason: "the point was wrong"})
			q.draft(Draft{Happened: At(q.now), Replaces: old.ID, Body: Dip{Vessel: "c1", Volume: M("54", "L")}})
		}, nil, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			q := cellarWith(t)
			c.write(q)
			s := q.fold()
			wantCodes(t, s, c.codes...)
			balance(t, s)
			if s.Findings.Len() > 0 {
				if f := s.Findings.At(0); !strings.Contains(f.Says, c.words) || len(s.FindingsAbout(f.Entries[0])) == 0 {
					t.Errorf("it says %q, want %q in it", f.Says, c.words)
				}
			}
		})
	}
}

func TestEmptyLedger(t *testing.T) {
	t.Parallel()
	s := Fold(nil, Options{Now: day0})
	if s.Lots.Len()+len(s.Vessels)+s.Parcels.Len()+s.Records.Len()+s.Findings.Len() != 0 || s.In("b2") != nil || s.Lot("x") != nil ||
		s.Parcel("x") != nil || s.Record("x") != nil || s.Instrument("x") != nil || s.History("x") != nil || s.Descendants("x") != nil {
		t.Error("something out of nothing")
	}
}

// An earlier name stays valid, in any case, unless something else is called so now.
func TestEarlierNames(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(VesselNamed{Slug: "demi", Anew: true, Was: []string{"c1"}}, LotStarted{Slug: "hill", Was: []string{"merlot-26"}})
	// c1 is still described by its own entry, so the name stays with it.
	if v := q.fold().Vessel("C1"); v == nil || v.Slug != "c1" {
		t.Fatalf("%+v", v)
	}
	for _, e := range q.entries {
		if b, err := e.Decode(); err == nil {
			if v, ok := b.(VesselNamed); ok && v.Slug == "c1" {
				q.do(Strike{Target: e.ID, Reason: "called demi now"})
			}
			if l, ok := b.(LotStarted); ok && l.Slug == "merlot-26" {
				q.do(Strike{Target: e.ID, Reason: "called hill now"})
			}
		}
	}
	s := q.fold()
	wantCodes(t, s)
	if p := s.In("c1"); p == nil || p.Vessel != "demi" || p.Lot != "hill" || s.Lot("merlot-26").Title() != "hill" {
		t.Errorf("%+v", p)
	}
}

// What waits for wine on its day does not wait for longer.
func TestActsDoNotWaitOvernight(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	day := On(q.now.AddDate(0, 0, 1))
	q.days(4)
	q.draft(Draft{Happened: day, Body: Stirring{Vessel: "b2"}})
	q.draft(Draft{Happened: At(day.Time.Add(25 * time.Hour)), Body: Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2"}}}})
	wantCodes(t, q.fold(), FoundEmptyVessel)
}
