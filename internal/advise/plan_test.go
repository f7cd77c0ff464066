package advise

import (
	"math/rand/v2"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/gather"
)

// day0 is a day of an invented vintage in an invented place.
var day0 = time.Date(2026, 9, 20, 18, 0, 0, 0, time.FixedZone("", 2*3600))

// A diary writes the entries of an invented cellar.
type diary struct {
	t       testing.TB
	now     time.Time
	rng     *rand.ChaCha8
	entries []cellar.Entry
}

func newDiary(t testing.TB) *diary {
	return &diary{t: t, now: day0, rng: rand.NewChaCha8([32]byte{7})}
}

// on sets the day, counted from day0.
func (d *diary) on(day float64) *diary {
	d.now = day0.Add(time.Duration(day * 24 * float64(time.Hour)))
	return d
}

func (d *diary) do(bodies ...cellar.Body) {
	d.t.Helper()
	for _, b := range bodies {
		d.now = d.now.Add(time.Minute)
		pen := cellar.Pen{Cellar: "test", By: "Ada", Device: "desk", Random: d.rng}
		es, err := pen.Write(d.now, cellar.Draft{Happened: cellar.At(d.now), Body: b})
		if err != nil {
			d.t.Fatalf("write %T: %v", b, err)
		}
		d.entries = append(d.entries, es...)
	}
}

func (d *diary) read(vessel, what, value, unit string) {
	d.t.Helper()
	d.do(cellar.Reading{Vessel: vessel, What: what, Value: cellar.M(value, unit)})
}

func (d *diary) state() *cellar.State {
	return cellar.Fold(d.entries, cellar.Options{Now: d.now.Add(time.Hour)})
}

func (d *diary) plan() Today {
	d.t.Helper()
	t, err := Plan(Input{State: d.state(), Now: d.now})
	if err != nil {
		d.t.Fatal(err)
	}
	sweep(d.t, t)
	return t
}

// aRed is an invented red lot, dry, in a demijohn and a small carboy.
func aRed(t testing.TB) *diary {
	d := newDiary(t)
	d.do(
		cellar.VesselNamed{Slug: "bin1", Type: "bin", Size: cellar.M("200", "L"), Walk: 1},
		cellar.VesselNamed{Slug: "d1", Type: "demijohn", Size: cellar.M("54", "L"), Walk: 2},
		cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("11", "L"), Walk: 3},
		cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"},
		cellar.LotStarted{Slug: "hill-26", Name: "Hill 2026", Colour: "red", Malolactic: cellar.MalolacticWanted},
		cellar.Crush{Lot: "hill-26", To: []cellar.Portion{{Vessel: "bin1", Volume: cellar.M("105", "L")}}},
	)
	return d
}

// The dose by hand, by the usual formulas: free SO2 for 0.5 mg/L
// molecular at pH 3.52 is 0.5·(1 + 10^(3.52 − 1.81)) = 26.1 mg/L (handbook constant),
// half of a first dose binds (from memory), potassium metabisulfite is 57.63 % SO2:
// 26.1 · 52 / 0.5 / 576.3 = 4.72 g.
func TestFirstDoseAWeekAfterTheEnd(t *testing.T) {
	t.Parallel()
	d := aRed(t)
	d.on(10).do(cellar.Press{From: []cellar.Portion{{Vessel: "bin1"}}, To: []cellar.Portion{{Vessel: "d1", Volume: cellar.M("52", "L")}, {Vessel: "c1", Volume: cellar.M("11", "L")}}})
	d.on(13)
	d.read("d1", cellar.ReadPH, "3.52", "pH")
	d.read("d1", cellar.ReadSugar, "0.6", "g/L")
	d.do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"})
	if a := find(d.on(40).plan(), "d1", "first-sulfite"); a != nil {
		t.Fatalf("sulfur dioxide is planned before the end: %+v", a)
	}
	d.on(60).do(cellar.Verdict{Vessel: "d1", Says: cellar.VerdictMalolacticFinished})
	if a := find(d.on(62).plan(), "d1", "first-sulfite"); a == nil || a.Standing != Soon || a.From.String() != "2026-11-26" {
		t.Fatalf("two days after the end: %+v", a)
	}
	a := find(d.on(67).plan(), "d1", "first-sulfite")
	if a == nil || a.Standing != Due || a.Amount != "4.7" || a.Unit != "g" {
		t.Fatalf("a week after the end: %+v", a)
	}
	write, ok := a.Entry.(cellar.Addition)
	if !ok || write.Amount.String() != "4.7 g" || write.Product != "potassium-metabisulfite" {
		t.Errorf("the entry half written is %+v", a.Entry)
	}
}

func find(t Today, vessel, step string) *Act {
	for i := range t.Acts {
		if t.Acts[i].Vessel == vessel && t.Acts[i].Step == step {
			return &t.Acts[i]
		}
	}
	return nil
}

// believed are the beliefs of all parcels, with few particles: enough to tell a
// stall from a course.
func believed(t testing.TB, s *cellar.State, now time.Time) (map[cellar.ParcelID]*track.Belief, map[cellar.ParcelID]*ageing.Belief) {
	t.Helper()
	malo, so2 := map[cellar.ParcelID]*track.Belief{}, map[cellar.ParcelID]*ageing.Belief{}
	for _, p := range s.Parcels.All() {
		if in, _, ok := gather.Malolactic(s, p, now, nil); ok {
			in.Options.Particles = 200
			b, err := track.Malo(in)
			if err != nil {
				t.Fatal(err)
			}
			malo[p.ID] = &b
		}
		if in, ok := gather.Sulfur(s, p, now); ok {
			b, err := ageing.Believe(in)
			if err != nil {
				t.Fatal(err)
			}
			so2[p.ID] = &b
		}
	}
	return malo, so2
}
