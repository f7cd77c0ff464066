package cellar

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"elevage/science/quantity"
)

// vintage is two loads of one lot and a load of another, crushed, pressed, blended,
// racked and bottled. All shares below are worked by hand.
func vintage(t testing.TB) (q *quill, hill, plain, valley Entry) {
	q = cellarWith(t)
	q.do(LotStarted{Slug: "cabernet", Colour: "red"}, VesselNamed{Slug: "bin1", Type: "bin"}, VesselNamed{Slug: "bin2", Type: "bin"},
		Movement{How: "removal", From: []Portion{{Vessel: "c1", All: true}}})
	hill = q.do(FruitReceived{Lot: "merlot-26", Weight: M("60", "kg"), Block: "hill"})[0]
	plain = q.do(FruitReceived{Lot: "merlot-26", Weight: M("40", "kg"), Block: "plain"})[0]
	valley = q.do(FruitReceived{Lot: "cabernet", Vessel: "bin2", Weight: M("30", "kg"), Block: "valley"})[0]
	q.days(1)
	q.do(Crush{Lot: "merlot-26", To: []Portion{{Vessel: "bin1", Volume: M("85", "L")}}}, Crush{Lot: "cabernet", To: []Portion{{Vessel: "bin2", Volume: M("25", "L")}}})
	q.days(8)
	q.do(Press{From: []Portion{{Vessel: "bin1"}}, To: []Portion{{Vessel: "c1", Volume: M("50", "L")}}}, Press{From: []Portion{{Vessel: "bin2"}}, To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}})
	q.days(1)
	return q, hill, plain, valley
}

func TestOriginsByHand(t *testing.T) {
	t.Parallel()
	q, hill, plain, valley := vintage(t)
	blended := q.do(Movement{How: "blending", From: []Portion{{Vessel: "c1", Volume: M("30", "L")}, {Vessel: "c2", Volume: M("10", "L")}}, To: []Portion{{Vessel: "b2", Volume: M("40", "L")}}, Becomes: "merlot-26"})[0]
	q.days(10)
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "b2"}}, To: []Portion{{Vessel: "b3", Volume: M("38", "L")}}, Rest: LossLees},
		Bottling{Slug: "b-26", From: []Portion{{Vessel: "b3", All: true}}, Count: 48, Size: M("750", "mL"), Losses: []Loss{{LossLees, M("2", "L")}}})
	s := q.fold()
	p := s.In("b-26")
	// 30 of 40 L are merlot, 60:40 by weight from two blocks; 10 of 40 L cabernet.
	want := map[ID]float64{hill.ID: 0.45, plain.ID: 0.30, valley.ID: 0.25}
	origins := s.Origins(p.ID, q.now)
	if len(origins) != 3 || origins[0].Entry.Entry.ID != hill.ID {
		t.Fatalf("origins %+v", origins)
	}
	for _, o := range origins {
		near(t, "share of "+o.Fruit.Block, o.Share, want[o.Entry.Entry.ID], 1e-12)
	}
	// As it was before the blend, the merlot was all merlot.
	c1 := s.Vessel("c1").Parcels[len(s.Vessel("c1").Parcels)-1]
	if o := s.Origins(c1.ID, blended.Happened.Time); len(o) != 2 || math.Abs(o[0].Share+o[1].Share-1) > 1e-12 {
		t.Errorf("of c1: %+v", o)
	}
	if o := s.Origins("nothing", q.now); o != nil {
		t.Errorf("of nothing: %+v", o)
	}
}

func TestTraceFruitForward(t *testing.T) {
	t.Parallel()
	q, hill, _, valley := vintage(t)
	q.do(Movement{How: "blending", From: []Portion{{Vessel: "c1", Volume: M("30", "L")}, {Vessel: "c2", Volume: M("10", "L")}}, To: []Portion{{Vessel: "b2", Volume: M("40", "L")}}, Becomes: "merlot-26"})
	s := q.fold()
	// Of 85 L of must 50 went into c1, 35 are pomace; 30 of the 50 went on.
	tr, ok := s.Trace(hill.ID)
	if !ok {
		t.Fatal("the fruit leads nowhere")
	}
	checkTrace(t, s, tr, map[string]float64{"c1": 20. / 85, "b2": 30. / 85}, map[string]float64{LossPomace: 35. / 85})
	if len(tr.Touched) != 3 || s.Parcel(tr.Touched[0].Parcel).Vessel != "bin1" {
		t.Errorf("touched %+v", tr.Touched)
	}
	tr, ok = s.Trace(valley.ID)
	if !ok {
		t.Fatal("the fruit in a bin leads nowhere")
	}
	checkTrace(t, s, tr, map[string]float64{"c2": 10. / 25, "b2": 10. / 25}, map[string]float64{LossPomace: 5. / 25})
}

func checkTrace(t *testing.T, s *State, tr Trace, now, gone map[string]float64) {
	t.Helper()
	if len(tr.Now) != len(now) || len(tr.Gone) != len(gone) {
		t.Errorf("now %+v gone %+v", tr.Now, tr.Gone)
	}
	for _, p := range tr.Now {
		near(t, "part in "+s.Parcel(p.Parcel).Vessel, p.Part, now[s.Parcel(p.Parcel).Vessel], 1e-12)
	}
	for _, d := range tr.Gone {
		near(t, "part gone by "+d.Door, d.Out, gone[d.Door], 1e-12)
	}
}

// Where did that sack of sulfite go? One dose before a split, one after, and one
// from another sack.
func TestTraceASack(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	dose := func(v, g, sack string) Addition {
		return Addition{Vessel: v, Product: "potassium-metabisulfite", Amount: M(g, "g"), Supply: sack}
	}
	q.do(Verdict{Vessel: "c1", Says: VerdictMalolacticFinished}, dose("c1", "3", "A17"),
		Movement{How: "splitting", From: []Portion{{Vessel: "c1", All: true}}, To: []Portion{{Vessel: "c2", Volume: M("20", "L")}, {Vessel: "c3", Volume: M("22", "L")}}, Losses: []Loss{{LossLees, M("12", "L")}}},
		dose("c2", "1", "A17"), dose("c3", "1", "B2"),
		Movement{How: "removal", From: []Portion{{Vessel: "c2", Volume: M("5", "L")}}})
	s := q.fold()
	traces := s.TraceAdded("potassium-metabisulfite", "A17")
	if len(traces) != 2 {
		t.Fatalf("%d doses", len(traces))
	}
	checkTrace(t, s, traces[0], map[string]float64{"c2": 20. / 54 * 15 / 20, "c3": 22. / 54}, map[string]float64{LossLees: 12. / 54, DoorRemoval: 20. / 54 * 5 / 20})
	checkTrace(t, s, traces[1], map[string]float64{"c2": 0.75}, map[string]float64{DoorRemoval: 0.25})
	// What is in c2 of the sack, by weight, is what the state accounts for.
	near(t, "SO2 in c2", s.In("c2").Amount(SubstanceSO2).Grams(), 0.5763*(3*traces[0].Now[0].Part+1*0.75), 1e-9)
	if all := s.TraceAdded("potassium-metabisulfite", ""); len(all) != 3 {
		t.Errorf("%d doses in all", len(all))
	}
	if _, ok := s.Trace(q.entries[0].ID); ok {
		t.Error("naming a vessel brought something into a wine")
	}
}

// A dip that had waited for the vessel to be filled is reckoned between the two streams
// of the racking that fills it; half of the dose is in each all the same.
func TestTraceThroughWhatWaited(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	dose := q.do(Addition{Vessel: "c1", Product: "moon-dust", Amount: M("3", "g")})[0].ID
	q.do(Dip{Vessel: "c2", Volume: M("12", "L")})
	q.do(Movement{How: "splitting", From: []Portion{{Vessel: "c1", All: true}}, To: []Portion{{Vessel: "c2", Volume: M("20", "L")}, {Vessel: "c3", Volume: M("20", "L")}}})
	for i := range q.entries { // all on one day, in no order
		q.entries[i].Happened = On(q.entries[i].Happened.Time)
	}
	s := q.fold()
	tr, ok := s.Trace(dose)
	if !ok {
		t.Fatal("the dose leads nowhere")
	}
	sum := 0.0
	for _, p := range tr.Now {
		sum += p.Part
		near(t, "dust in "+s.Parcel(p.Parcel).Vessel, s.Parcel(p.Parcel).Amount("moon-dust").Grams(), 3*p.Part, 1e-9)
	}
	for _, d := range tr.Gone {
		sum += d.Out - d.In
	}
	near(t, "all of it", sum, 1, 1e-12)
}

// In any history, what an addition brought is, by its trace, exactly what the state
// accounts for, and all of it is somewhere or left by a door.
func TestTracesAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := Fold(history(t), Options{})
		byParcel := map[ParcelID]float64{}
		var given float64
		for _, r := range s.Records.All() {
			b, ok := r.Body.(Addition)
			if !ok || b.Product != "moon-dust" || len(r.Parcels) == 0 {
				continue
			}
			tr, ok := s.Trace(r.Entry.ID)
			if !ok {
				t.Fatal("an addition leads nowhere")
			}
			sum := 0.0
			for _, p := range tr.Now {
				sum += p.Part
				byParcel[p.Parcel] += 3.1 * p.Part
			}
			for _, d := range tr.Gone {
				sum += d.Out - d.In
			}
			if math.Abs(sum-1) > 1e-6 {
				t.Fatalf("parts add up to %v: %+v", sum, tr)
			}
			given += 3.1
		}
		for _, p := range s.Parcels.All() {
			if off := p.Amount("moon-dust").Grams() - byParcel[p.ID]; !p.Ended() && math.Abs(off) > 1e-6*(1+given) {
				t.Errorf("%s holds %v of moon dust, by traces %v", p.ID, p.Amount("moon-dust"), byParcel[p.ID])
			}
		}
	})
}

// A balance of any scope, over any span, closes; so do two spans one after the
// other, and the lots of a cellar make up the cellar.
func TestBalancesClose(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := Fold(history(t), Options{})
		from := day0.Add(time.Duration(rapid.IntRange(-24, 11*24).Draw(t, "from")) * time.Hour)
		to := from.Add(time.Duration(rapid.IntRange(0, 12*24).Draw(t, "hours")) * time.Hour)
		scope := rapid.SampledFrom([]Scope{{}, {Lot: "red"}, {Lot: "white"}, {Vessel: "c1"}, {Lot: "red", Vessel: "stray"}}).Draw(t, "scope")
		b := s.Balance(scope, from, to)
		closes(t, b)
		middle := from.Add(to.Sub(from) / 2)
		first, second := s.Balance(scope, from, middle), s.Balance(scope, middle, to)
		if off := first.Volume.Closing - second.Volume.Opening; math.Abs(off.Litres()) > 1e-9 {
			t.Errorf("%v L lie between two spans", off)
		}
		var lots quantity.Volume
		for _, l := range s.Lots.All() {
			lots += s.Balance(Scope{Lot: l.Slug}, from, to).Volume.Closing
		}
		if off := lots - s.Balance(Scope{}, from, to).Volume.Closing; math.Abs(off.Litres()) > 1e-6 {
			t.Errorf("the lots hold %v L more than the cellar", off)
		}
	})
}

func closes(t failer, b Balance) {
	t.Helper()
	size := func(s *Sheet[quantity.Volume]) float64 {
		sum := math.Abs(s.Opening.Litres()) + math.Abs(s.Closing.Litres())
		for _, d := range s.Doors {
			sum += d.In.Litres() + d.Out.Litres()
		}
		return sum
	}
	if off := b.Volume.Off().Litres(); math.Abs(off) > 1e-9*(1+size(&b.Volume)) {
		t.Errorf("volume is off by %v: %+v", off, b.Volume)
	}
	for _, m := range b.Added {
		if off := m.Off().Grams(); math.Abs(off) > 1e-7 {
			t.Errorf("%s is off by %v: %+v", m.What, off, m)
		}
	}
}

// Worked by hand: a lot that is filled, dosed, topped from another lot and sampled.
func TestBalanceByHand(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(LotStarted{Slug: "old", Colour: "red"}, Movement{How: "filling", Lot: "old", To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}},
		Addition{Vessel: "c2", Product: "oak", Amount: M("40", "g")})
	from := q.now
	q.do(Dip{Vessel: "c1", Volume: M("52", "L")},
		Movement{How: "topping", From: []Portion{{Vessel: "c2", Volume: M("2", "L")}}, To: []Portion{{Vessel: "c1", Volume: M("2", "L")}}},
		Movement{How: "removal", From: []Portion{{Vessel: "c1", Volume: M("0.5", "L")}}, Losses: []Loss{{LossSample, M("0.5", "L")}}})
	s := q.fold()
	b := s.Balance(Scope{Lot: "merlot-26"}, from, q.now)
	closes(t, b)
	if b.Volume.Opening != 54 || math.Abs(b.Volume.Closing.Litres()-53.5) > 1e-12 {
		t.Errorf("volume %+v", b.Volume)
	}
	want := map[string][2]float64{DoorReanchored: {0, 2}, DoorElsewhere: {2, 0}, LossSample: {0, 0.5}}
	for _, d := range b.Volume.Doors {
		if w := want[d.Door]; math.Abs(d.In.Litres()-w[0]) > 1e-12 || math.Abs(d.Out.Litres()-w[1]) > 1e-12 {
			t.Errorf("%s: in %v out %v", d.Door, d.In, d.Out)
		}
	}
	if len(b.Volume.Doors) != 3 || len(b.Added) != 1 {
		t.Fatalf("%+v", b)
	}
	// A tenth of the oak came along with 2 of 20 L; 0.5 of 54 L took its share away.
	oak := b.Added[0]
	near(t, "oak", oak.Closing.Grams(), 4*53.5/54, 1e-12)
	if i := slices.IndexFunc(oak.Doors, func(d Through[quantity.Mass]) bool { return d.Door == DoorElsewhere }); i < 0 || math.Abs(oak.Doors[i].In.Grams()-4) > 1e-12 {
		t.Errorf("oak %+v", oak)
	}
}
