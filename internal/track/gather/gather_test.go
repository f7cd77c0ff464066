package gather_test

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/gather"
)

var day0 = time.Date(2026, 10, 1, 18, 0, 0, 0, time.UTC)

// book writes bodies as having happened on days after day0.
type book struct {
	t       *testing.T
	entries []cellar.Entry
	pen     cellar.Pen
}

func newBook(t *testing.T) *book {
	seed := [32]byte(bytes.Repeat([]byte{1}, 32))
	return &book{t: t, pen: cellar.Pen{Cellar: "test", Random: rand.NewChaCha8(seed)}}
}

func (b *book) on(day int, bodies ...cellar.Body) []cellar.ID {
	b.t.Helper()
	at := day0.AddDate(0, 0, day)
	var ids []cellar.ID
	for i, body := range bodies {
		e, err := b.pen.Write(at, cellar.Draft{Happened: cellar.At(at.Add(time.Duration(i) * time.Minute)), Body: body})
		if err != nil {
			b.t.Fatal(err)
		}
		b.entries = append(b.entries, e...)
		ids = append(ids, e[0].ID)
	}
	return ids
}

func (b *book) fold(day int) (*cellar.State, time.Time) {
	now := day0.AddDate(0, 0, day).Add(6 * time.Hour)
	return cellar.Fold(b.entries, cellar.Options{Now: now}), now
}

func reading(vessel, what, value, unit string) cellar.Reading {
	return cellar.Reading{Vessel: vessel, What: what, Value: cellar.M(value, unit)}
}

func (b *book) wine(malolactic string) {
	b.on(0, cellar.LotStarted{Slug: "red", Name: "Red", Colour: "red", Malolactic: malolactic},
		cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("23", "L")}, cellar.VesselNamed{Slug: "c2", Type: "carboy", Size: cellar.M("23", "L")},
		cellar.Movement{How: "filling", Lot: "red", To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("22", "L")}}})
}

func TestFactsAreTheReadingsOfTheDayOfInoculation(t *testing.T) {
	b := newBook(t)
	b.wine(cellar.MalolacticWanted)
	b.on(3, reading("c1", cellar.ReadPH, "3,44", ""), reading("c1", cellar.ReadAlcohol, "13.2", "% vol"))
	ta := reading("c1", cellar.ReadTA, "4.2", "g/L")
	ta.As, ta.EndPoint = "sulfuric", "7.0"
	b.on(4, ta, cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"}, reading("c1", cellar.ReadTemperature, "68", "°F"), reading("c1", cellar.ReadChromatogram, "strong", ""))
	b.on(18, cellar.PHCheck{Buffer: "7.00", Read: "7.03"}, reading("c1", cellar.ReadPH, "3.49", "pH"), reading("c1", cellar.ReadBubble, "9", "min"), cellar.Stirring{Vessel: "c1", What: "lees"})
	s, now := b.fold(20)
	in, sources, ok := gather.Malolactic(s, s.In("c1"), now, nil)
	if !ok {
		t.Fatal("no belief is asked for, though conversion is wanted and has begun")
	}
	f := in.Facts
	if f.PH == nil || *f.PH != 3.44 || f.Alcohol == nil || *f.Alcohol != 13.2 || f.Temperature == nil || math.Abs(f.Temperature.Celsius()-20) > 1e-9 {
		t.Errorf("facts: pH %v, alcohol %v, temperature %v", f.PH, f.Alcohol, f.Temperature)
	}
	// 4.2 g/L as sulfuric acid is 4.2 × 75.0435/49.036 as tartaric: the factor 1.5304
	// of the table of equivalents (stoichiometry).
	if f.TA == nil || math.Abs(f.TA.GPerL()-4.2*1.5304) > 1e-3 || f.TAEndPoint == nil || *f.TAEndPoint != 7 {
		t.Errorf("TA %v to %v, want %.3f as tartaric to 7.0", f.TA, f.TAEndPoint, 4.2*1.5304)
	}
	if !f.Inoculated.Equal(time.Date(2026, 10, 5, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("inoculated %v", f.Inoculated)
	}
	var got []track.What
	for i, r := range in.Readings {
		got = append(got, r.What)
		if r.Line != i+1 || s.Record(sources[i]) == nil {
			t.Errorf("reading %d has no entry", i)
		}
		if r.What == track.Bubble && r.Value != 540 {
			t.Errorf("9 min between bubbles read as %v s", r.Value)
		}
	}
	want := []track.What{track.PHCheck7, track.Chromatogram, track.PH, track.Bubble, track.Stir}
	if len(got) != len(want) {
		t.Fatalf("readings %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("readings %v, want %v", got, want)
		}
	}
}

// A check in a solution that was not at 25 °C is held against what that solution has at
// its own temperature. Saturated cream of tartar at 18 °C: 3.557 + 7 × 0.00335 + 49 × 0.000014
// by the formula of package electrode; buffer 7.00 at 20 °C: 7.016, at 25 °C 7.000 (its table).
func TestChecksKnowHowWarmTheyWere(t *testing.T) {
	b := newBook(t)
	b.wine(cellar.MalolacticWanted)
	b.on(4, cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "direct"})
	cool, cold, usual := cellar.M("18", "°C"), cellar.M("68", "°F"), cellar.M("25", "°C")
	b.on(18, reading("c1", cellar.ReadPH, "3.49", "pH"),
		cellar.PHCheck{Buffer: "3.56", Of: "cream-of-tartar", Read: "3.58", Warm: cool},
		cellar.PHCheck{Buffer: "7.00", Read: "7.03", Warm: cold},
		cellar.PHCheck{Buffer: "4.01", Read: "4.02", Warm: usual},
		cellar.PHCheck{Buffer: "4.01", Read: "4.03"})
	s, now := b.fold(20)
	in, _, ok := gather.Malolactic(s, s.In("c1"), now, nil)
	if !ok {
		t.Fatal("no belief is asked for")
	}
	want := map[string]float64{"3.58": 3.58 - 0.02345 - 0.000686, "7.03": 7.014, "4.02": 4.02, "4.03": 4.03}
	for _, r := range in.Readings {
		if v, ok := want[r.Text]; ok {
			if math.Abs(r.Value-v) > 5e-4 {
				t.Errorf("%s %s counts as %.4f, want %.4f", r.What, r.Text, r.Value, v)
			}
			delete(want, r.Text)
		}
	}
	if len(want) > 0 {
		t.Errorf("not gathered: %v", want)
	}
}

func TestRackingCarriesTheHistoryAlong(t *testing.T) {
	b := newBook(t)
	b.wine(cellar.MalolacticWanted)
	b.on(4, cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "direct"})
	b.on(10, reading("c1", cellar.ReadTA, "6.1", "g/L"))
	b.on(12, cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "c2", Volume: cellar.M("21", "L")}}, Rest: cellar.LossLees})
	b.on(20, reading("c2", cellar.ReadTA, "5.5", "g/L"))
	s, now := b.fold(21)
	in, _, ok := gather.Malolactic(s, s.In("c2"), now, nil)
	if !ok || len(in.Readings) != 2 {
		t.Fatalf("after racking: %v, readings %v", ok, in.Readings)
	}
}

func TestStruckReadingsAreLeftOut(t *testing.T) {
	b := newBook(t)
	b.wine(cellar.MalolacticWanted)
	b.on(4, cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "direct"})
	id := b.on(10, reading("c1", cellar.ReadPH, "3.10", ""))[0]
	b.on(11, cellar.Strike{Target: id, Reason: "wrong carboy"})
	s, now := b.fold(12)
	if in, _, ok := gather.Malolactic(s, s.In("c1"), now, nil); !ok || len(in.Readings) != 0 {
		t.Errorf("a struck reading is still counted: %v", in.Readings)
	}
}

func TestWhoIsNotAskedAfter(t *testing.T) {
	begin := cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "direct"}
	over := cellar.Verdict{Vessel: "c1", Says: cellar.VerdictMalolacticFinished}
	for _, c := range []struct {
		name       string
		malolactic string
		bodies     []cellar.Body
		malo, so2  bool
	}{
		{"nothing done yet", cellar.MalolacticWanted, nil, false, false},
		{"kept from it", cellar.MalolacticKeptFrom, []cellar.Body{begin}, false, false},
		{"converting", cellar.MalolacticWanted, []cellar.Body{begin}, true, false},
		{"converting, SO2 read", cellar.MalolacticWanted, []cellar.Body{begin, reading("c1", cellar.ReadFreeSO2, "4", "mg/L")}, true, false},
		{"declared over", cellar.MalolacticWanted, []cellar.Body{begin, over}, false, false},
		{"declared over, SO2 read", cellar.MalolacticWanted, []cellar.Body{begin, over, reading("c1", cellar.ReadFreeSO2, "4", "mg/L")}, false, true},
		{"begun again", cellar.MalolacticWanted, []cellar.Body{begin, over, begin}, true, false},
		{"white with SO2", cellar.MalolacticKeptFrom, []cellar.Body{cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("2", "g")}}, false, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBook(t)
			b.wine(c.malolactic)
			b.on(5, c.bodies...)
			s, now := b.fold(9)
			if _, _, ok := gather.Malolactic(s, s.In("c1"), now, nil); ok != c.malo {
				t.Errorf("malolactic belief asked for: %v, want %v", ok, c.malo)
			}
			if _, ok := gather.Sulfur(s, s.In("c1"), now); ok != c.so2 {
				t.Errorf("SO2 belief asked for: %v, want %v", ok, c.so2)
			}
		})
	}
}

// 2.0 g of potassium metabisulfite in 22 L: 57.63 % is SO2 (stoichiometry, IUPAC
// atomic weights), so 52.4 mg/L.
func TestDosesAreReckonedForTheVolumeThatWasThere(t *testing.T) {
	b := newBook(t)
	b.wine(cellar.MalolacticKeptFrom)
	b.on(5, cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("2", "g")})
	b.on(9, reading("c1", cellar.ReadFreeSO2, "24", "mg/L"))
	s, now := b.fold(10)
	in, ok := gather.Sulfur(s, s.In("c1"), now)
	if !ok || len(in.Doses) != 1 || math.Abs(in.Doses[0].SO2.MgPerL()-2000*0.5763/22) > 0.01 {
		t.Errorf("doses %+v", in.Doses)
	}
	if len(in.Readings) != 1 || in.Readings[0].At.After(in.At) {
		t.Errorf("readings %+v at %v", in.Readings, in.At)
	}
}

// By hand: 8 L that were given 50 mg/L and read 24 mg/L free, and 4 L that were given 30 and
// never read, are 12 L with 100/3 and 10 mg/L added. The reading speaks for two thirds;
// of the rest 10 ± 10 mg/L is said, a proposal of the program's own.
func TestSulfurOfABlend(t *testing.T) {
	dose := func(vessel, grams string) cellar.Addition {
		return cellar.Addition{Vessel: vessel, Product: "potassium-metabisulfite", Amount: cellar.M(grams, "g")}
	}
	part := func(vessel, litres string) []cellar.Portion {
		return []cellar.Portion{{Vessel: vessel, Volume: cellar.M(litres, "L")}}
	}
	for name, blend := range map[string][]cellar.Body{
		"into a third": {cellar.Movement{How: "blending", From: append(part("c1", "8"), part("c2", "4")...), To: part("c3", "12"), Becomes: "mix"}},
		"into the one": {cellar.Movement{How: "topping", From: part("c2", "4"), To: part("c1", "4")}},
	} {
		b := newBook(t)
		b.on(0, cellar.LotStarted{Slug: "red", Colour: "red", Malolactic: cellar.MalolacticKeptFrom}, cellar.LotStarted{Slug: "other", Colour: "red", Malolactic: cellar.MalolacticKeptFrom},
			cellar.LotStarted{Slug: "mix", Colour: "red", Malolactic: cellar.MalolacticKeptFrom},
			cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("23", "L")}, cellar.VesselNamed{Slug: "c2", Type: "carboy", Size: cellar.M("5", "L")}, cellar.VesselNamed{Slug: "c3", Type: "carboy", Size: cellar.M("23", "L")},
			cellar.Movement{How: "filling", Lot: "red", To: part("c1", "8")}, cellar.Movement{How: "filling", Lot: "other", To: part("c2", "4")})
		b.on(1, dose("c1", "0.694082"), dose("c2", "0.208225")) // at 57.63 % SO2: 400 and 120 mg
		b.on(4, reading("c1", cellar.ReadFreeSO2, "24", "mg/L"))
		b.on(6, blend...)
		s, now := b.fold(8)
		vessel := "c1"
		if s.In("c3") != nil {
			vessel = "c3"
		}
		in, ok := gather.Sulfur(s, s.In(vessel), now)
		if !ok || len(in.Doses) != 2 || len(in.Readings) != 1 {
			t.Fatalf("%s: %+v", name, in)
		}
		for i, want := range []float64{100. / 3, 10} {
			if got := in.Doses[i].SO2.MgPerL(); math.Abs(got-want) > 0.01 {
				t.Errorf("%s: dose %d counts for %.3f mg/L, want %.3f", name, i, got, want)
			}
		}
		r := in.Readings[0]
		if math.Abs(r.Value.MgPerL()-(24.*2/3+10./3)) > 0.01 || math.Abs(r.Beside.MgPerL()-10./3) > 0.01 {
			t.Errorf("%s: the reading counts for %v ± %v", name, r.Value.MgPerL(), r.Beside.MgPerL())
		}
	}
}
