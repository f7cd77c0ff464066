package recall

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track/ageing"
)

var day0 = time.Date(2026, 4, 1, 18, 0, 0, 0, time.FixedZone("", 2*3600))

// A diary writes the entries of an invented cellar.
type diary struct {
	t       testing.TB
	now     time.Time
	pen     cellar.Pen
	entries []cellar.Entry
}

func newDiary(t testing.TB) *diary {
	return &diary{t: t, now: day0, pen: cellar.Pen{Cellar: "test", By: "Ada", Device: "desk", Random: rand.NewChaCha8([32]byte{3})}}
}

func (d *diary) on(day float64) *diary {
	d.now = day0.Add(time.Duration(day * 24 * float64(time.Hour)))
	return d
}

func (d *diary) do(bodies ...cellar.Body) {
	d.t.Helper()
	for _, b := range bodies {
		d.now = d.now.Add(time.Minute)
		es, err := d.pen.Write(d.now, cellar.Draft{Happened: cellar.At(d.now), Body: b})
		if err != nil {
			d.t.Fatal(err)
		}
		d.entries = append(d.entries, es...)
	}
}

func (d *diary) state() *cellar.State {
	return cellar.Fold(d.entries, cellar.Options{Now: d.now.Add(time.Hour)})
}

// bottled is an invented red of 30 bottles.
func bottled(t testing.TB) *diary {
	d := newDiary(t)
	d.do(cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("23", "L")}, cellar.LotStarted{Slug: "hill-25", Name: "Hill 2025", Colour: "red"},
		cellar.Movement{How: "filling", Lot: "hill-25", To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("22.8", "L")}}},
		cellar.Bottling{Slug: "hill-bottles", From: []cellar.Portion{{Vessel: "c1", All: true}}, Count: 30, Size: cellar.M("750", "mL"), Closure: "natural cork, lot 7"})
	return d
}

func open(d *diary, on float64, score, words string) {
	d.on(on).do(cellar.Opened{Bottling: "hill-bottles", Why: "drunk", Score: score, Words: words})
}

func says(t *testing.T, lines []string, words ...string) {
	t.Helper()
	text := strings.Join(lines, " ")
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("does not say %q: %s", w, text)
		}
	}
}

// The share of bad bottles after 1 of 3: Beta(2, 3), whose distribution function is
// 6x² − 8x³ + 3x⁴ (by integration of 12·x·(1−x)²; own arithmetic).
func TestShare(t *testing.T) {
	t.Parallel()
	low, high := shareOf(1, 3)
	f := func(x float64) float64 { return 6*x*x - 8*x*x*x + 3*x*x*x*x }
	if math.Abs(f(low)-0.05) > 1e-9 || math.Abs(f(high)-0.95) > 1e-9 {
		t.Errorf("%v to %v: %v, %v", low, high, f(low), f(high))
	}
	// None of one: Beta(1, 2), 1 − (1−x)²; all of one is its mirror.
	if l, h := shareOf(0, 1); math.Abs(1-(1-l)*(1-l)-0.05) > 1e-9 || math.Abs(1-(1-h)*(1-h)-0.95) > 1e-9 {
		t.Errorf("none of one: %v to %v", l, h)
	}
}

// One bottle of three is oxidised: the closure is likelier while sound bottles stand
// beside it; the lot, if all are; and it cannot be told where sound ones are old.
func TestLotOrClosure(t *testing.T) {
	t.Parallel()
	d := bottled(t)
	open(d, 90, "7", "clean, cherry")
	open(d, 100, "3", "brown, sherry")
	open(d, 101, "7", "clean, not oxidised")
	b := Bottled(d.state(), d.now)[0]
	o := b.Oxidised()
	says(t, o.Says, "1 of 3 opened bottles was oxidised", "2 bottles opened within two months", "closures", "between 10 and 75 %", "3 to 20 of the 27", "free SO2 of a sound and a bad bottle", "natural cork, lot 7")

	d = bottled(t)
	for i := range 3 {
		open(d, 90+float64(i), "3", "oxidised")
	}
	b = Bottled(d.state(), d.now)[0]
	says(t, b.Oxidised().Says, "3 of 3 opened bottles were oxidised", "speaks for the lot")

	d = bottled(t)
	open(d, 30, "7", "clean")
	open(d, 400, "3", "oxidised")
	b = Bottled(d.state(), d.now)[0]
	says(t, b.Oxidised().Says, "the sound ones were opened long before", "cannot be told")

	d = bottled(t)
	open(d, 30, "7", "clean")
	d.do(cellar.Opened{Bottling: "hill-bottles", Count: 6, Why: "given"})
	b = Bottled(d.state(), d.now)[0]
	if b.Oxidised() != nil || b.Unseen != 6 || b.Left != 23 || len(b.Opened) != 1 {
		t.Errorf("%+v", b)
	}
}

// A tasting on the evening of an opening is of that bottle.
func TestTastingOfAnOpenedBottle(t *testing.T) {
	t.Parallel()
	d := bottled(t)
	open(d, 90, "", "")
	d.do(cellar.Tasting{Bottling: "hill-bottles", Score: "6", Faults: []string{"oxidised"}})
	open(d, 91.5, "7", "clean")
	b := Bottled(d.state(), d.now)[0]
	if len(b.Opened) != 2 || b.Opened[0].Score != "6" || !b.Opened[0].Oxidised() || b.Opened[1].Oxidised() {
		t.Errorf("%+v", b.Opened)
	}
}

func belief(now time.Time, falls float64, below float64) *ageing.Belief {
	b := &ageing.Belief{At: now, Below: below}
	if falls > 0 {
		early, likely := now.AddDate(0, 0, int(falls/2)), now.AddDate(0, 0, int(falls))
		b.FallsUnder = ageing.DayInterval{Q05: &early, Q50: &likely}
	}
	return b
}

// When to drink: the style's window of science/ageing (peaks by style from memory), moved
// by scores, cut short by sulfur dioxide. It cannot be told where protection is not on
// record, and says so.
func TestWhenToDrink(t *testing.T) {
	t.Parallel()
	d := bottled(t)
	drink := func(so2 *ageing.Belief) Drinking {
		s := d.state()
		return Bottled(s, d.now)[0].Drink(s, so2, d.now)
	}
	d.on(10)
	young := drink(nil)
	says(t, young.Says, "light red (red, no barrel on record)", "No bottle with a score", "cannot be told")
	// The peak of a light red is 18 months after filling; the window lies about it.
	peak := d.now.AddDate(0, 18, 0)
	if young.From == nil || !young.From.Before(peak) || !young.To.After(peak) || young.Now {
		t.Errorf("%v to %v", young.From, young.To)
	}
	soon := drink(belief(d.now, 20, 0.01))
	says(t, soon.Says, "before that window ends")
	if soon.To.Sub(d.now).Hours() != 20*24 {
		t.Errorf("%v", soon.To)
	}
	for i, score := range []string{"8/10", "14/20", "5/10", "4"} {
		open(d, 100+90*float64(i), score, "")
	}
	falling := drink(nil)
	says(t, falling.Says, "4 scores have moved it; the last was 4 on")
	if !falling.To.Before(*young.To) {
		t.Errorf("scores that fall leave the end at %v, before %v", falling.To, young.To)
	}
	if gone := drink(belief(d.now, 0, 0.9)); !gone.Now || !strings.Contains(strings.Join(gone.Says, " "), "Drink it now.") {
		t.Errorf("%+v", gone)
	}
	// A corked bottle tells of the bottle.
	open(d, 500, "1", "corked")
	says(t, drink(nil).Says, "One spoiled bottle is left out")
}

// A meter that was off: the readings since its last good check are listed, with the
// doses that rest on them; those before it and after the next good check are not.
func TestDoubts(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	ph := func(v string) cellar.Reading {
		return cellar.Reading{Vessel: "c1", What: cellar.ReadPH, Value: cellar.M(v, "pH"), Instrument: "meter"}
	}
	checked := func(v string) cellar.PHCheck {
		return cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: v}
	}
	d.do(cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}, cellar.InstrumentNamed{Slug: "strips", Type: "malic-kit", BestBy: "2026-05-01+02:00"},
		cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: cellar.M("23", "L")}, cellar.LotStarted{Slug: "hill-25", Colour: "red"},
		cellar.Movement{How: "filling", Lot: "hill-25", To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("22.8", "L")}}})
	d.on(1).do(checked("7.01"), ph("3.40"))
	d.on(10).do(ph("3.42"))
	d.on(11).do(cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("1.2", "g")})
	d.on(20).do(ph("3.55"), checked("7.14"))
	d.on(21).do(checked("7.02"), ph("3.41"))
	d.on(40).do(cellar.Reading{Vessel: "c1", What: cellar.ReadMalic, Value: cellar.M("0.05", "g/L")})
	got := Doubts(d.state(), d.now)
	if len(got) != 2 {
		t.Fatalf("%+v", got)
	}
	m := got[0]
	var values []string
	for _, r := range m.Readings {
		values = append(values, r.Value)
	}
	if m.Instrument.Slug != "meter" || !strings.Contains(m.Why, "7.14 in the buffer of 7.00, +0.14 off") || strings.Join(values, "|") != "pH 3.40|pH 3.42|pH 3.55" {
		t.Errorf("%s: %v", m.Why, values)
	}
	if len(m.Readings[0].Doses) != 0 || len(m.Readings[1].Doses) != 1 || len(m.Readings[2].Doses) != 0 {
		t.Errorf("doses: %+v", m.Readings)
	}
	if got[1].Instrument.Slug != "strips" || len(got[1].Readings) != 1 || got[1].Readings[0].Named {
		t.Errorf("%+v", got[1])
	}
	// A sound meter raises none.
	sound := newDiary(t)
	sound.do(cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}, checked("7.02"), checked("7.06"))
	if x := Doubts(sound.state(), sound.now); len(x) != 0 {
		t.Errorf("%+v", x)
	}
}

// Within 200 gallons? 27 CFR 24.75: 200 for two adults, 100 for one, in a calendar
// year. 400 L pressed are 105.7 gallons: above the one, within the other; wine of the
// year before does not count, nor does the must that was pressed.
func TestMade(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	L := func(v string) *cellar.Measure { return cellar.M(v, "L") }
	d.do(cellar.VesselNamed{Slug: "old", Type: "tank", Size: L("500")}, cellar.LotStarted{Slug: "last-year", Colour: "red"})
	d.now = time.Date(2025, 10, 1, 12, 0, 0, 0, day0.Location())
	d.do(cellar.Movement{How: "filling", Lot: "last-year", To: []cellar.Portion{{Vessel: "old", Volume: L("300")}}})
	d.now = time.Date(2026, 9, 20, 12, 0, 0, 0, day0.Location())
	d.do(cellar.VesselNamed{Slug: "bin", Type: "bin", Size: L("700")}, cellar.VesselNamed{Slug: "t1", Type: "tank", Size: L("500")}, cellar.LotStarted{Slug: "red-26", Colour: "red"},
		cellar.Crush{Lot: "red-26", To: []cellar.Portion{{Vessel: "bin", Volume: L("560")}}})
	d.now = d.now.AddDate(0, 0, 10)
	d.do(cellar.Press{From: []cellar.Portion{{Vessel: "bin", All: true}}, To: []cellar.Portion{{Vessel: "t1", Volume: L("400")}}})
	m := Made(d.state(), 2026, day0.Location())
	if len(m.Lots) != 1 || math.Abs(m.Litres.Litres()-400) > 0.01 || m.Lots[0].How != "pressed" {
		t.Fatalf("%+v", m)
	}
	says(t, m.Says, "400 L by this record, 106 US gallons", "More than the federal allowance for a household of one adult by 6 gallons", "94 are left")
	if last := Made(d.state(), 2025, day0.Location()); len(last.Lots) != 1 || last.Litres.Litres() != 300 {
		t.Errorf("%+v", last)
	} else {
		says(t, last.Says, "Within the United States' federal allowance for one adult", "21 gallons are left of it")
	}
	if none := Made(d.state(), 2024, day0.Location()); none.Litres != 0 {
		t.Errorf("%+v", none)
	}
}
