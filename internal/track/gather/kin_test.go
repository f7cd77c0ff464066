package gather_test

import (
	"math"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/gather"
)

func ask(t *testing.T, s *cellar.State, vessel string, now time.Time) track.Belief {
	t.Helper()
	in, _, ok := gather.Malolactic(s, s.In(vessel), now, nil)
	if !ok {
		t.Fatalf("no belief about %s", vessel)
	}
	in.Options.Brief = true
	b, err := track.Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// split is a lot given bacteria on day 4, read until day 20 and split on day 25.
func split(t *testing.T) *book {
	b := newBook(t)
	b.wine(cellar.MalolacticWanted)
	b.on(3, reading("c1", cellar.ReadPH, "3.45", ""), reading("c1", cellar.ReadTA, "6.4", "g/L"), reading("c1", cellar.ReadMalic, "2.2", "g/L"))
	b.on(4, cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"}, reading("c1", cellar.ReadTemperature, "20", "°C"))
	b.on(14, reading("c1", cellar.ReadTA, "6.2", "g/L"), reading("c1", cellar.ReadPH, "3.46", ""))
	b.on(20, reading("c1", cellar.ReadMalic, "1.4", "g/L"))
	b.on(25, cellar.Movement{How: "splitting", From: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("10", "L")}}, To: []cellar.Portion{{Vessel: "c2", Volume: cellar.M("10", "L")}}})
	return b
}

// Splits inherit belief: just after, both parcels are believed what the one was.
func TestSplitsInheritBelief(t *testing.T) {
	b := split(t)
	whole := newBook(t)
	whole.entries = b.entries[:len(b.entries)-1]
	before, now := whole.fold(25)
	after, _ := b.fold(25)
	was := ask(t, before, "c1", now)
	for _, vessel := range []string{"c1", "c2"} {
		is := ask(t, after, vessel, now)
		if is.Malic != was.Malic || is.State != was.State {
			t.Errorf("%s: %+v %+v, as one wine %+v %+v", vessel, is.Malic, is.State, was.Malic, was.State)
		}
		if len(is.Siblings) > 0 {
			t.Errorf("%s counts %v, which was not read since", vessel, is.Siblings)
		}
	}
}

// What was read of one parcel since the split tells of the other, and is not in its
// own readings; what was read before is each one's own.
func TestSiblingsAreReadTogether(t *testing.T) {
	b := split(t)
	b.on(35, reading("c2", cellar.ReadMalic, "0.5", "g/L"), reading("c2", cellar.ReadTemperature, "19", "°C"))
	b.on(36, reading("c2", cellar.ReadMalic, "0.4", "g/L"))
	s, now := b.fold(37)
	in, sources, ok := gather.Malolactic(s, s.In("c1"), now, nil)
	if !ok || len(in.Siblings) != 1 {
		t.Fatalf("siblings %+v", in.Siblings)
	}
	k := in.Siblings[0]
	if k.Name != "c2" || k.Parted.Format(time.DateOnly) != day0.AddDate(0, 0, 25).Format(time.DateOnly) || len(k.Own) != 3 || len(k.Shared) == 0 || len(in.Readings) != len(sources) {
		t.Errorf("%s parted on %s, own %v, shared %v", k.Name, k.Parted, k.Own, k.Shared)
	}
	together := ask(t, s, "c1", now)
	in.Siblings, in.Options.Brief = nil, true
	alone, err := track.Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	if !(together.Malic.Q95-together.Malic.Q05 < alone.Malic.Q95-alone.Malic.Q05) {
		t.Errorf("with its sibling %+v, alone %+v", together.Malic, alone.Malic)
	}
	if len(together.Siblings) != 1 || together.Siblings[0] != "c2" {
		t.Errorf("siblings %v", together.Siblings)
	}
}

// A topping carries what the wine that came was: 2 L of 22 are a share of 1/11 of it.
func TestToppingsReachTheBelief(t *testing.T) {
	b := newBook(t)
	b.wine(cellar.MalolacticWanted)
	b.on(1, cellar.LotStarted{Slug: "old", Name: "Old", Colour: "red", Malolactic: cellar.MalolacticKeptFrom}, cellar.VesselNamed{Slug: "j1", Type: "demijohn", Size: cellar.M("5", "L")},
		cellar.Movement{How: "filling", Lot: "old", To: []cellar.Portion{{Vessel: "j1", Volume: cellar.M("5", "L")}}},
		reading("j1", cellar.ReadFreeSO2, "30", "mg/L"), reading("j1", cellar.ReadTotalSO2, "88", "mg/L"), reading("j1", cellar.ReadMalic, "1.1", "g/L"))
	b.on(4, cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"})
	b.on(10, cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("2", "L")}}})
	b.on(12, cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "j1", Volume: cellar.M("2", "L")}}, To: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("2", "L")}}})
	b.on(15, cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("1", "g")})
	s, now := b.fold(20)
	in, _, ok := gather.Malolactic(s, s.In("c1"), now, nil)
	if !ok || len(in.Inflows) != 1 {
		t.Fatalf("inflows %+v", in.Inflows)
	}
	f := in.Inflows[0]
	if math.Abs(f.Share-2.0/22) > 1e-9 || f.FreeSO2.MgPerL() != 30 || math.Abs(f.TotalSO2.MgPerL()-88) > 1 || math.Abs(f.Malic.GPerL()-1.1) > 0.05 || f.Live || f.Name != "wine from j1" {
		t.Errorf("%+v", f)
	}
	// 1 g of it in 22 L is 1000·0.5763/22 = 26.2 mg/L SO2 (stoichiometry, IUPAC atomic weights)
	last := in.Readings[len(in.Readings)-1]
	if last.What != track.AddedSO2 || math.Abs(last.Value-1000*0.5763/22) > 0.01 {
		t.Errorf("what was added reached the belief as %+v", last)
	}
}
