package cellar

import (
	"math/rand/v2"
	"testing"
	"time"
)

// day0 is the day on which most test cellars begin.
var day0 = time.Date(2026, 10, 1, 9, 0, 0, 0, time.FixedZone("", 2*3600))

// quill writes entries for tests, a minute apart.
type quill struct {
	t       testing.TB
	now     time.Time
	rng     *rand.ChaCha8
	entries []Entry
}

func newQuill(t testing.TB) *quill {
	return &quill{t: t, now: day0, rng: rand.NewChaCha8([32]byte{1})}
}

// do writes bodies as having happened now, one minute after the other.
func (q *quill) do(bodies ...Body) []Entry {
	q.t.Helper()
	var out []Entry
	for _, b := range bodies {
		q.now = q.now.Add(time.Minute)
		out = append(out, q.draft(Draft{Happened: At(q.now), Body: b}))
	}
	return out
}

func (q *quill) draft(d Draft) Entry {
	q.t.Helper()
	pen := Pen{Cellar: "test", By: "Ada", Device: "desk", Random: q.rng}
	es, err := pen.Write(q.now, d)
	if err != nil {
		q.t.Fatalf("write %T: %v", d.Body, err)
	}
	q.entries = append(q.entries, es...)
	return es[0]
}

func (q *quill) days(n float64) { q.now = q.now.Add(time.Duration(n * 24 * float64(time.Hour))) }

func (q *quill) fold() *State { return Fold(q.entries, Options{Now: q.now.Add(time.Hour)}) }

// cellarWith has carboys c1 to c3, barrels b2 and b3 and a red lot, 54 L of it in c1.
func cellarWith(t testing.TB) *quill {
	q := newQuill(t)
	q.do(
		VesselNamed{Slug: "c1", Type: "demijohn", Size: M("54", "L")},
		VesselNamed{Slug: "c2", Type: "carboy", Size: M("23", "L")},
		VesselNamed{Slug: "c3", Type: "carboy", Size: M("23", "L")},
		VesselNamed{Slug: "b2", Type: "barrel", Size: M("225", "L")},
		VesselNamed{Slug: "b3", Type: "barrel", Size: M("225", "L")},
		LotStarted{Slug: "merlot-26", Name: "Merlot 2026", Colour: "red", Malolactic: MalolacticWanted},
		Movement{How: "filling", Lot: "merlot-26", To: []Portion{{Vessel: "c1", Volume: M("54", "L")}}},
	)
	return q
}

func TestFoldRacking(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.days(1)
	q.do(Reading{Vessel: "c1", What: ReadPH, Value: M("3.47", "pH")})
	q.days(1)
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c2", Volume: M("23", "L")}, {Vessel: "c3", Volume: M("23", "L")}}, Rest: LossLees})
	s := q.fold()
	for _, f := range s.Findings.All() {
		t.Errorf("unexpected finding: %s %s", f.Code, f.Says)
	}
	if s.In("c1") != nil {
		t.Error("c1 should be empty")
	}
	p := s.In("c2")
	if p == nil || p.Volume.Litres() != 23 || p.Lot != "merlot-26" {
		t.Fatalf("c2 holds %+v", p)
	}
	if h := s.History(p.ID); len(h) != 3 || h[1].Entry.Kind != KindReading || h[1].Share != 1 {
		t.Errorf("history %+v", h)
	}
}
