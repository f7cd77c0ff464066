package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/ledger"
	"elevage/internal/track"
)

var evening = time.Date(2026, 11, 25, 20, 10, 0, 0, time.UTC)

// few draws: these tests are about when a belief is made, not how good it is.
const few = 60

func demoBook(t testing.TB) *ledger.Memory {
	t.Helper()
	entries, err := demo.Entries(evening)
	if err != nil {
		t.Fatal(err)
	}
	book := ledger.NewMemory()
	keep(t, book, entries...)
	return book
}

func keep(t testing.TB, book ledger.Ledger, entries ...cellar.Entry) {
	t.Helper()
	if _, err := book.Append(context.Background(), entries); err != nil {
		t.Fatal(err)
	}
}

var pen = cellar.Pen{Cellar: demo.Key, By: "Runa", Device: "phone", Random: rand.NewChaCha8([32]byte{3})}

func write(t testing.TB, book ledger.Ledger, at time.Time, bodies ...cellar.Body) []cellar.Entry {
	t.Helper()
	drafts := make([]cellar.Draft, len(bodies))
	for i, b := range bodies {
		drafts[i] = cellar.Draft{Happened: cellar.At(at), Body: b}
	}
	entries, err := pen.Write(at, drafts...)
	if err != nil {
		t.Fatal(err)
	}
	keep(t, book, entries...)
	return entries
}

func view(t testing.TB, d *Desk, now time.Time) *View {
	t.Helper()
	v, err := d.View(context.Background(), now)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func ph(vessel, value string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadPH, Value: cellar.M(value, "pH"), Instrument: "meter"}
}

// While nothing is written a view stays as it is: within the minute it is the
// same one, within the day it has the same state, within the hour the same beliefs.
func TestNothingNewIsNotReckonedAgain(t *testing.T) {
	t.Parallel()
	d := New(demoBook(t), demo.Key, Options{Particles: few})
	first := view(t, d, evening)
	if again := view(t, d, evening.Add(40*time.Second)); again != first {
		t.Error("another view within the same minute")
	}
	later := view(t, d, evening.Add(12*time.Minute))
	if later == first || later.State != first.State {
		t.Error("a later minute wants a new view of the same state")
	}
	for i, s := range later.Standings {
		was := first.Standings[i]
		if s.Malo != was.Malo || s.Primary != was.Primary || s.SO2 != was.SO2 {
			t.Errorf("%s was reckoned again although nothing was written", s.Vessel.Slug)
		}
	}
	evenLater := view(t, d, evening.Add(2*time.Hour))
	if evenLater.In("d1").Malo != first.In("d1").Malo {
		t.Error("malolactic beliefs count by the day and were reckoned again within it")
	}
	tomorrow := view(t, d, evening.AddDate(0, 0, 1))
	if tomorrow.State == first.State || tomorrow.In("d1").Malo == first.In("d1").Malo || tomorrow.In("d1").Malo.At.Day() != 26 {
		t.Error("the next day was not reckoned for itself")
	}
}

// Only the vessel that something was read in is reckoned again.
func TestOnlyWhatChangedIsReckoned(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few})
	before := view(t, d, evening)
	write(t, book, evening, ph("d1", "3.58"))
	after := view(t, d, evening)
	if after == before || after.State == before.State {
		t.Fatal("what was written is not in the view")
	}
	changed := 0
	for _, s := range after.Standings {
		was := before.In(s.Vessel.Slug)
		if s.Malo != was.Malo || s.Primary != was.Primary || s.SO2 != was.SO2 {
			changed++
			if s.Vessel.Slug != "d1" {
				t.Errorf("%s was reckoned again by a reading in d1", s.Vessel.Slug)
			}
		}
	}
	if changed != 1 {
		t.Errorf("%d parcels reckoned again, want 1", changed)
	}
	if n, was := len(after.In("d1").Malo.Readings), len(before.In("d1").Malo.Readings); n != was+1 {
		t.Errorf("the belief rests on %d readings, before on %d", n, was)
	}
	// Sources line up with the readings' lines.
	s := after.In("d1")
	named := 0
	for _, r := range s.Malo.Readings {
		if r.Line == 0 {
			continue // from the facts at inoculation
		}
		named++
		if rec := after.State.Record(s.Sources[r.Line-1]); rec == nil || rec.Entry.Happened.Time.Format(time.DateOnly) != r.On.String() {
			t.Errorf("line %d of %s on %s is not the entry it names", r.Line, r.What, r.On)
		}
	}
	if named == 0 {
		t.Error("no reading names its entry")
	}
}

// figures are what a view says, comparable between two desks.
func figures(t *testing.T, v *View) string {
	t.Helper()
	type standing struct {
		Vessel, Lot    string
		Litres, Spread float64
		Malo, Must     any
		SO2            any
		Trouble        []string
		Sources        []cellar.ID
	}
	var all []standing
	for _, s := range v.Standings {
		all = append(all, standing{s.Vessel.Slug, s.Lot.Slug, s.Parcel.Volume.Litres(), s.Parcel.Spread.Litres(), s.Malo, s.Primary, s.SO2,
			[]string{s.MaloTrouble, s.PrimaryTrouble, s.SO2Trouble}, s.Sources})
	}
	raw, err := json.Marshal(struct {
		Standings []standing
		Findings  []*cellar.Finding
	}{all, v.State.Findings.Slice()})
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// What arrives late, is struck, or is brought back leaves a desk that has looked
// all along with the same figures as one that looks for the first time.
func TestLateTruth(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a dozen rounds of beliefs, one after the other: left out with -short")
	}
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few})
	view(t, d, evening)
	steps := []struct {
		name string
		step func()
	}{
		{"a reading of two weeks ago arrives", func() { write(t, book, evening.AddDate(0, 0, -14), ph("d1", "3.54")) }},
		{"a topping of ten days ago arrives", func() {
			write(t, book, evening.AddDate(0, 0, -10), cellar.Movement{How: "topping",
				From: []cellar.Portion{{Vessel: "j1", Volume: cellar.M("0.6", "L")}}, To: []cellar.Portion{{Vessel: "d1", Volume: cellar.M("0.6", "L")}}})
		}},
		{"an entry is struck, and the strike is struck", func() {
			slip := write(t, book, evening, ph("c4", "3.99"))
			view(t, d, evening)
			strike := write(t, book, evening, cellar.Strike{Target: slip[0].ID, Reason: "wrong vessel"})
			view(t, d, evening)
			write(t, book, evening, cellar.Strike{Target: strike[0].ID, Reason: "it was right"})
		}},
		{"a meter check of the session two weeks ago arrives", func() {
			write(t, book, evening.AddDate(0, 0, -13), cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.06"})
		}},
	}
	for _, s := range steps {
		before := figures(t, view(t, d, evening))
		s.step()
		got := figures(t, view(t, d, evening))
		if got == before {
			t.Errorf("%s: nothing changed", s.name)
		}
		if want := figures(t, view(t, New(book, demo.Key, Options{Particles: few}), evening)); got != want {
			t.Errorf("%s: a desk that looked all along differs from one that looks for the first time", s.name)
		}
	}
}

// A round that is given up half-way (the person closed the page) must not hide
// what was written before it.
func TestARoundGivenUpLosesNothing(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few, Workers: 1})
	view(t, d, evening)
	entry := write(t, book, evening, ph("d1", "3.58"))[0]
	ctx := &givesUp{Context: context.Background(), reads: 1}
	if _, err := d.View(ctx, evening); !errors.Is(err, context.Canceled) {
		t.Fatalf("the round was not given up: %v", err)
	}
	for _, at := range []time.Time{evening, evening.Add(time.Minute)} {
		if view(t, d, at).State.Record(entry.ID) == nil {
			t.Fatalf("at %s the entry is not shown", at.Format("15:04"))
		}
	}
}

// givesUp is a context that lets the ledger be read and is cancelled by the time
// beliefs are wanted.
type givesUp struct {
	context.Context
	mu    sync.Mutex
	reads int
}

func (c *givesUp) Done() <-chan struct{} {
	done := make(chan struct{})
	close(done)
	return done
}

func (c *givesUp) Err() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.reads > 0 {
		c.reads--
		return nil
	}
	return context.Canceled
}

func TestConcurrentViews(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few})
	before := view(t, d, evening).State.Records.Len()
	const writers, each = 3, 3
	entries := make([][]cellar.Entry, writers)
	for w := range writers {
		one := pen
		one.Random = rand.NewChaCha8([32]byte{byte(10 + w)})
		for i := range each {
			e, err := one.Write(evening, cellar.Draft{Happened: cellar.At(evening.Add(-time.Duration(i) * time.Minute)), Body: cellar.Note{Words: "at once"}})
			if err != nil {
				t.Fatal(err)
			}
			entries[w] = append(entries[w], e...)
		}
	}
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for _, e := range entries[w] {
				if _, err := book.Append(context.Background(), []cellar.Entry{e}); err != nil {
					t.Error(err)
				}
				v, err := d.View(context.Background(), evening)
				if err != nil {
					t.Error(err)
				} else if v.State.Record(e.ID) == nil {
					t.Errorf("writer %d does not see what it wrote", w)
				}
				if done, of := d.Working(); done < 0 || of < 0 {
					t.Errorf("working at %d of %d", done, of)
				}
			}
		})
	}
	wg.Wait()
	if n := view(t, d, evening).State.Records.Len(); n != before+writers*each {
		t.Errorf("%d records, want %d", n, before+writers*each)
	}
}

// What is logged is understood at once, also while beliefs are being computed.
func TestLookDoesNotWaitForBeliefs(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few})
	d.rounds.Lock() // a round of beliefs is under way
	defer d.rounds.Unlock()
	entry := write(t, book, evening, ph("d1", "3.58"))[0]
	v, err := d.Look(context.Background(), evening)
	if err != nil || v.State.Record(entry.ID) == nil {
		t.Fatalf("what was logged is not there: %v", err)
	}
	if s := v.In("d1"); s == nil || s.Lot.Slug != "syrah" || s.Malo != nil || len(v.Plan.Acts) > 0 {
		t.Errorf("d1 holds %+v", s)
	}
	if got := v.Facts(v.In("d1"))[bench.LotPH].Value; got != "3.58" {
		t.Errorf("the last pH is %s", got)
	}
}

// A belief that cannot be had is told in words next to its parcel, and stops no other.
func TestBeliefThatCannotBeHadIsTold(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	longAgo := evening.AddDate(-4, 0, 0)
	write(t, book, longAgo,
		cellar.LotStarted{Slug: "old", Name: "Forgotten", Colour: "red", Malolactic: cellar.MalolacticWanted},
		cellar.VesselNamed{Slug: "x1", Type: "carboy", Size: cellar.M("23", "L")},
		cellar.Movement{How: "filling", Lot: "old", To: []cellar.Portion{{Vessel: "x1", Volume: cellar.M("22", "L")}}},
		cellar.Inoculation{Vessel: "x1", Of: "malolactic", How: "direct"})
	v := view(t, New(book, demo.Key, Options{Particles: few}), evening)
	s := v.In("x1")
	if s == nil || s.Malo != nil || !strings.Contains(s.MaloTrouble, "three years") {
		t.Fatalf("told %q", s.MaloTrouble)
	}
	if v.In("d1").Malo == nil {
		t.Error("another parcel lost its belief")
	}
}

// Two wines that are believed finished, put together as a lot of which nothing was said,
// are believed of together: what the lesser part brought is what was believed of it, not
// what its last assay said weeks before.
func TestWhatWasBelievedGoesIntoABlend(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few})
	before := view(t, d, evening.Add(-time.Hour))
	for _, v := range []string{"c3", "d2"} {
		if b := before.In(v).Malo; b == nil || b.Decision.Call != track.CallFinished {
			t.Fatalf("%s is not believed finished in the demo", v)
		}
	}
	write(t, book, evening,
		cellar.LotStarted{Slug: "cuvee", Colour: "red"}, cellar.Movement{How: "blending", Becomes: "cuvee", From: []cellar.Portion{{Vessel: "c3", Volume: cellar.M("20", "L")}, {Vessel: "d2", Volume: cellar.M("30", "L")}}, To: []cellar.Portion{{Vessel: "d3"}}})
	v := view(t, d, evening)
	b := v.In("d3").Malo
	if b == nil {
		t.Fatal("nothing is believed of the blend: the wish of its parents is lost")
	}
	// The last assay in c3 said 2.3 g/L, at the start: 0.4 of it would be 0.92 g/L here.
	if b.Malic.Q50 > 0.2 {
		t.Errorf("%.2f g/L malic acid are believed to be left (%.2f to %.2f)", b.Malic.Q50, b.Malic.Q05, b.Malic.Q95)
	}
}

func TestEmptyCellar(t *testing.T) {
	t.Parallel()
	v := view(t, New(ledger.NewMemory(), "home", Options{}), evening)
	if len(v.Standings) != 0 || len(v.Plan.Acts) != 0 || v.In("b2") != nil || v.Of("none") != nil {
		t.Errorf("an empty cellar has %d standings and %d acts", len(v.Standings), len(v.Plan.Acts))
	}
}

func TestWalkOrder(t *testing.T) {
	t.Parallel()
	v := view(t, New(demoBook(t), demo.Key, Options{Particles: few}), evening)
	if !slices.IsSortedFunc(v.Standings, func(a, b *Standing) int { return a.Vessel.Walk - b.Vessel.Walk }) {
		t.Error("standings are not in the order of the walk")
	}
	zweigelt := v.OfLot(v.State.Lot("zweigelt"))
	if len(zweigelt) != 3 || zweigelt[0].Vessel.Slug != "c3" || v.Of(zweigelt[0].Parcel.ID) != zweigelt[0] {
		t.Errorf("zweigelt lies in %d vessels", len(zweigelt))
	}
}

// What a calculator is filled with is what was read or is believed, in the unit
// that the bench reckons in.
func TestFacts(t *testing.T) {
	t.Parallel()
	v := view(t, New(demoBook(t), demo.Key, Options{Particles: few}), evening)
	riesling, petite := v.Facts(v.In("k1")), v.Facts(v.In("g1"))
	for fact, want := range map[bench.Fact]string{bench.LotPH: "3.08", bench.LotTA: "7.9", bench.LotTAEndpoint: "8.2", bench.LotTotalSO2: "78",
		bench.LotStrength: "11.9", bench.LotTemp: "9", bench.LotColour: "white", bench.LotMalolactic: "blocked", bench.LotVolume: "49.00", bench.VesselVolume: "50.00"} {
		if got := riesling[fact].Value; got != want {
			t.Errorf("riesling: fact %v is %q, want %q", fact, got, want)
		}
	}
	// 66 °F is 18.9 °C; 5.9 US gal is 22.33 L (231 cubic inches to the gallon).
	for fact, want := range map[bench.Fact]string{bench.LotTemp: "18.889", bench.LotVolume: "22.33", bench.LotMalolactic: "wanted"} {
		if got := petite[fact].Value; got != want {
			t.Errorf("petite sirah: fact %v is %q, want %q", fact, got, want)
		}
	}
	// Nebbiolo's must was 1.102 first: 24.0 Brix by refractometer (OIV-MA-AS2-02 Table II), 1.024 tonight.
	nebbiolo := v.Facts(v.In("bin2"))
	if nebbiolo[bench.LotBrix].Value != "24.0" || nebbiolo[bench.LotGravity].Value != "1.0240" {
		t.Errorf("nebbiolo: %q Brix, gravity %q", nebbiolo[bench.LotBrix].Value, nebbiolo[bench.LotGravity].Value)
	}
	if malic := petite[bench.LotMalic]; malic.Plus == "" || malic.Value == "" {
		t.Errorf("a believed malic acid has no ±: %+v", malic)
	}
}

// Server time rests on these: everything anew, one reading later, and a minute later.
func BenchmarkView(b *testing.B) {
	entries, err := demo.Repeated(evening, 40)
	if err != nil {
		b.Fatal(err)
	}
	book := ledger.NewMemory()
	keep(b, book, entries...)
	b.Run("40 lots, cold", func(b *testing.B) {
		for b.Loop() {
			view(b, New(book, demo.Key, Options{}), evening)
		}
	})
	warm := New(book, demo.Key, Options{})
	view(b, warm, evening)
	b.Run("40 lots, started again the same day", func(b *testing.B) {
		var file bytes.Buffer
		if err := warm.Keep(&file, ""); err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			again := New(book, demo.Key, Options{})
			if err := again.Recall(bytes.NewReader(file.Bytes()), ""); err != nil {
				b.Fatal(err)
			}
			view(b, again, evening)
		}
		b.ReportMetric(float64(file.Len())/1e3, "kB")
	})
	b.Run("40 lots, a minute later", func(b *testing.B) {
		for n := 1; b.Loop(); n++ {
			view(b, warm, evening.Add(time.Duration(1+n%2)*time.Minute))
		}
	})
	b.Run("40 lots, one reading later", func(b *testing.B) {
		at := evening
		for b.Loop() {
			at = at.Add(time.Second)
			write(b, book, at, ph("d1-2", "3.58"))
			view(b, warm, evening)
		}
	})
}
