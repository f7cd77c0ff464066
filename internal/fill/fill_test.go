package fill

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/track"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var day0 = time.Date(2026, 10, 1, 9, 0, 0, 0, time.UTC)

type diary struct {
	t       *testing.T
	now     time.Time
	rng     *rand.ChaCha8
	entries []cellar.Entry
}

func newDiary(t *testing.T) *diary { return &diary{t: t, now: day0, rng: rand.NewChaCha8([32]byte{3})} }

func (d *diary) do(bodies ...cellar.Body) {
	d.t.Helper()
	for _, b := range bodies {
		d.now = d.now.Add(time.Minute)
		es, err := cellar.Pen{Cellar: "test", Random: d.rng}.Write(d.now, cellar.Draft{Happened: cellar.At(d.now), Body: b})
		if err != nil {
			d.t.Fatal(err)
		}
		d.entries = append(d.entries, es...)
	}
}

func (d *diary) state() *cellar.State { return cellar.Fold(d.entries, cellar.Options{}) }

func m(v float64, unit string) *cellar.Measure { return cellar.M(fmt.Sprintf("%.5g", v), unit) }

func (d *diary) fill(lot, vessel, kind string, size, litres float64, readings ...cellar.Reading) {
	d.do(cellar.VesselNamed{Slug: vessel, Type: kind, Size: m(size, "L")}, cellar.Movement{How: "filling", Lot: lot, To: []cellar.Portion{{Vessel: vessel, Volume: m(litres, "L")}}})
	for _, r := range readings {
		r.Vessel = vessel
		d.do(r)
	}
}

func read(what string, v float64, unit string) cellar.Reading {
	return cellar.Reading{What: what, Value: m(v, unit)}
}

func TestConditions(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.LotStarted{Slug: "red", Colour: "red"}, cellar.VesselNamed{Slug: "new", Type: "carboy", Size: m(23, "L")}, cellar.VesselNamed{Slug: "sold", Type: "carboy", Gone: true})
	d.fill("red", "full", "carboy", 23, 22.7)
	d.fill("red", "part", "carboy", 23, 20)
	d.fill("red", "nearly", "carboy", 23, 22.5) // 0.04 L under the usual gap: not to be seen
	d.do(cellar.VesselNamed{Slug: "odd", Type: "other"}, cellar.Movement{How: "filling", Lot: "red", To: []cellar.Portion{{Vessel: "odd", Volume: m(9, "L")}}})
	for _, v := range []string{"dirty", "clean", "b1", "b2"} {
		kind := "carboy"
		if v[0] == 'b' {
			kind = "barrel"
		}
		d.fill("red", v, kind, 23, 22)
		d.do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: v, All: true}}})
	}
	d.do(cellar.Care{Vessel: "clean", What: "cleaned"}, cellar.Care{Vessel: "b1", What: "cleaned"}, cellar.Care{Vessel: "b1", What: "sulfured"}, cellar.Care{Vessel: "b2", What: "cleaned"})
	d.now = d.now.AddDate(0, 0, 60)
	got := map[string]Condition{}
	for _, c := range Conditions(d.state(), d.now) {
		got[c.Vessel.Slug] = c
	}
	for v, words := range map[string]string{"full": "full, 22.7 L", "nearly": "full, 22.5 L", "part": "holds 20.0 L and lacks 2.5 L", "odd": "its size is not written down", "dirty": "empty since 1 October 2026, not cleaned since", "clean": "cleaned 1 October 2026",
		"b1": "sulfured 1 October 2026, 8 weeks ago: due again", "b2": "not sulfured since it was emptied", "new": "empty"} {
		if !strings.Contains(got[v].Says, words) {
			t.Errorf("%s: %q does not say %q", v, got[v].Says, words)
		}
	}
	for v, air := range map[string]float64{"full": 0.3, "part": 3, "nearly": 0.5, "new": 23} {
		if off := got[v].Air.Litres() - air; off < -1e-6 || off > 1e-6 {
			t.Errorf("%s: %v L of air, want %v", v, got[v].Air.Litres(), air)
		}
	}
	if _, ok := got["sold"]; ok {
		t.Error("what is gone is shown")
	}
	if !got["full"].Full || got["part"].Full || !got["dirty"].Dirty || got["clean"].Dirty || got["new"].Dirty || got["odd"].Sized {
		t.Errorf("%+v", got)
	}
}

// Which wine may top which: each reason against is told, with its figures. 2 L at 80
// mg/L into 23 L raises the total by 80·2/25 = 6.4 mg/L (the handbook's example).
func TestToppings(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	for _, l := range []cellar.LotStarted{{Slug: "young", Colour: "red", Variety: "Merlot", Vintage: 2026, Malolactic: cellar.MalolacticWanted}, {Slug: "old", Colour: "red", Variety: "Merlot", Vintage: 2025, Malolactic: cellar.MalolacticWanted},
		{Slug: "white", Colour: "white", Vintage: 2025, Malolactic: cellar.MalolacticKeptFrom}, {Slug: "next", Colour: "red", Vintage: 2027, Malolactic: cellar.MalolacticWanted}} {
		d.do(l)
	}
	so2, malic := func(v float64) cellar.Reading { return read(cellar.ReadTotalSO2, v, "mg/L") }, func(v float64) cellar.Reading { return read(cellar.ReadMalic, v, "g/L") }
	d.fill("young", "c1", "carboy", 25.5, 23, so2(0), malic(1.4))
	d.fill("young", "j1", "jug", 5, 4, so2(4), malic(1.3))
	d.fill("old", "c2", "carboy", 23, 22, so2(80), malic(0.05))
	d.do(cellar.Verdict{Vessel: "c2", Says: cellar.VerdictMalolacticFinished})
	d.fill("white", "c3", "carboy", 23, 22, so2(2))
	d.fill("old", "c4", "carboy", 23, 22) // never read
	d.fill("next", "c5", "carboy", 23, 22, so2(3), malic(2), read(cellar.ReadSugar, 12, "g/L"), read(cellar.ReadVA, 1.4, "g/L"))
	d.do(cellar.Tasting{Vessel: "c5", Faults: []string{"vinegar"}})
	got := map[string]Topping{}
	list := Toppings(d.state(), nil, "c1", d.now)
	for _, x := range list {
		got[x.From.Slug] = x
	}
	says := func(v, about, words string) {
		t.Helper()
		i := slices.IndexFunc(got[v].Judgements, func(j Judgement) bool { return j.About == about && strings.Contains(j.Says, words) })
		if i < 0 {
			t.Errorf("%s: nothing about %s says %q: %+v", v, about, words, got[v].Judgements)
		}
	}
	if len(list) != 5 || list[0].From.Slug != "j1" || !list[0].OK {
		t.Fatalf("best is %+v of %d", list[0].From.Slug, len(list))
	}
	says("j1", "style", "the same lot")
	says("c2", "SO2", "would rise by 6 mg/L (80 mg/L here)")
	says("c3", "style", "white into red")
	says("c4", "SO2", "never read")
	says("c5", "sugar", "sugar that may ferment")
	says("c5", "health", "vinegar")
	says("c5", "health", "volatile acidity would rise")
	says("c5", "year", "younger by 1 year")
	for _, v := range []string{"c2", "c3", "c4", "c5"} {
		if got[v].OK || got[v].Judgements[0].OK {
			t.Errorf("%s may top it: %+v", v, got[v].Judgements)
		}
	}
	// The finished wine must not get malic acid back, and may have SO2.
	d.do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "c2", Volume: m(3, "L")}}})
	for _, x := range Toppings(d.state(), nil, "c2", d.now) {
		got[x.From.Slug] = x
	}
	says("c1", "malic acid", "it would get 0.21 g/L of malic acid back") // (1.4-0.05)·3.54/(19+3.54), 2 % of 23 L staying free
	if x := Toppings(d.state(), nil, "nothing", d.now); x != nil {
		t.Errorf("%+v", x)
	}
}

// A barrel that is done takes no wine whose bacteria may be at work, however little malic
// acid it would bring back, and nothing is said to be gone that is not.
func TestToppingADoneBarrelFromOneAtWork(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	for _, slug := range []string{"old", "stalled", "over"} {
		d.do(cellar.LotStarted{Slug: slug, Colour: "red", Vintage: 2025, Malolactic: cellar.MalolacticWanted})
	}
	d.fill("old", "b1", "barrel", 225, 222, read(cellar.ReadMalic, 0.04, "g/L"), read(cellar.ReadTotalSO2, 60, "mg/L"))
	d.do(cellar.Verdict{Vessel: "b1", Says: cellar.VerdictMalolacticFinished})
	d.fill("stalled", "c1", "carboy", 23, 22, read(cellar.ReadMalic, 1.45, "g/L"), read(cellar.ReadTotalSO2, 30, "mg/L"))
	d.fill("over", "c2", "carboy", 23, 22, read(cellar.ReadMalic, 0.05, "g/L"), read(cellar.ReadTotalSO2, 30, "mg/L"))
	d.do(cellar.Verdict{Vessel: "c2", Says: cellar.VerdictMalolacticFinished})
	for _, x := range NewTopper(d.state(), nil, d.now).For("b1", 2*quantity.Litre) {
		var says string
		for _, g := range x.Judgements {
			if g.About == "malic acid" {
				says = g.Says
			}
		}
		gone := strings.Contains(says, "gone")
		if at := x.From.Slug; x.OK != (at == "c2") || gone != (at == "c2") {
			t.Errorf("%s: fits %v, malic acid: %s", at, x.OK, says)
		}
	}
}

// What a belief decides to call finished passes for finished, on either side of a
// topping; what it only thinks finished does not.
func TestToppingByBeliefs(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.LotStarted{Slug: "old", Colour: "red", Vintage: 2025, Malolactic: cellar.MalolacticWanted})
	for _, v := range []string{"c1", "c2", "c3"} { // read before they converted only
		d.fill("old", v, "carboy", 23, 22, read(cellar.ReadMalic, 1.5, "g/L"), read(cellar.ReadTotalSO2, 30, "mg/L"))
	}
	s := d.state()
	belief := func(call track.Call) *track.Belief {
		return &track.Belief{At: track.Date{Time: day0}, Decision: track.Decision{Call: call}, Malic: track.Spread[quantity.Concentration]{Q05: 0.01, Q50: 0.03, Q95: 0.09}}
	}
	beliefs := map[cellar.ParcelID]*track.Belief{s.In("c1").ID: belief(track.CallFinished), s.In("c2").ID: belief(track.CallFinished), s.In("c3").ID: belief(track.CallCannotTell)}
	topper := NewTopper(s, beliefs, d.now)
	for _, x := range topper.For("c1", 1*quantity.Litre) {
		if at := x.From.Slug; x.OK != (at == "c2") {
			t.Errorf("%s into c1, which is finished: fits %v, %+v", at, x.OK, x.Judgements)
		}
	}
	for _, c := range []struct {
		vessel  string
		limited bool // SO2 may do harm
	}{{"c1", false}, {"c3", true}} {
		if _, limited := topper.MostSO2(c.vessel, 1*quantity.Litre); limited != c.limited {
			t.Errorf("%s: a limit on SO2 %v, want %v", c.vessel, limited, c.limited)
		}
	}
	// Without the beliefs all three are still to convert.
	if _, limited := NewTopper(s, nil, d.now).MostSO2("c1", 1*quantity.Litre); !limited {
		t.Error("c1 passes for finished, and nothing says so")
	}
}

// The handbook's puzzle: 120 kg at 0.62 L/kg are 74.4 L; after 8 % gross lees and two
// rackings at 2 % 65.7 L are left, which fill 54 + 11 L and not three of 23 L.
func TestTheFullVesselPuzzle(t *testing.T) {
	t.Parallel()
	v := After(74.4, 0.08, 0.02, 0.02)
	if math.Abs(v.Litres()-65.7) > 0.05 {
		t.Errorf("%v L are left", v)
	}
	vessels := []Vessel{{"c1", 23}, {"c2", 23}, {"c3", 23}, {"d1", 54}, {"j1", 11}, {"j2", 5}}
	sets := Sets(v, 0.6, vessels)
	i := slices.IndexFunc(sets, func(s Set) bool { return math.Abs(s.Filled.Litres()-65) < 1e-9 })
	if i < 0 || len(sets[i].Vessels) != 2 || math.Abs(sets[i].Over.Litres()-0.73) > 0.02 {
		t.Errorf("54 + 11 L is not among %+v", sets)
	}
	// 0.73 L over with ± 0.6 L is 1.2 standard deviations: 0.89 (normal table).
	if math.Abs(sets[i].Chance-0.889) > 0.01 {
		t.Errorf("chance %v", sets[i].Chance)
	}
	for _, s := range sets {
		if s.Filled > v {
			t.Errorf("more is filled than there is: %+v", s)
		}
	}
}

// Every set is what it says, none is left out that leaves less over, and no vessel
// is used twice: against all subsets.
func TestSetsAgainstAllSubsets(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var vessels []Vessel
		for i := range rapid.IntRange(1, 9).Draw(t, "vessels") {
			vessels = append(vessels, Vessel{fmt.Sprint("v", i), quantity.Volume(rapid.IntRange(1, 60).Draw(t, "size"))})
		}
		volume := quantity.Volume(rapid.IntRange(5, 200).Draw(t, "volume"))
		sets := Sets(volume, 0, vessels)
		best := math.Inf(1)
		for mask := 1; mask < 1<<len(vessels); mask++ {
			var sum quantity.Volume
			for i, v := range vessels {
				if mask>>i&1 == 1 {
					sum += v.Size
				}
			}
			if over := volume - sum; over >= 0 && over <= mostOver*volume {
				best = min(best, float64(over))
			}
		}
		if (len(sets) == 0) != math.IsInf(best, 1) {
			t.Fatalf("%d sets, best %v", len(sets), best)
		}
		for _, s := range sets {
			seen := map[string]bool{}
			var sum quantity.Volume
			for _, v := range s.Vessels {
				if seen[v.Slug] {
					t.Errorf("%s twice", v.Slug)
				}
				seen[v.Slug] = true
				sum += v.Size
			}
			if sum != s.Filled || s.Over != volume-sum || float64(s.Over) < best-1e-9 {
				t.Errorf("%+v", s)
			}
		}
	})
}

// A 23 L carboy at 12.5 % vol moves 83 mL between 10 and 25 °C, a 54 L demijohn 195 mL
// (handbook, computed from ethanol and water alone). The extract of a dry wine,
// reckoned as sucrose, makes it 4 % more; without it the figures agree.
func TestShrinks(t *testing.T) {
	t.Parallel()
	w := compose.Wine{}
	w.Alcohol.Value, w.Sugar.How = 12.5, compose.Assumed
	for litres, want := range map[quantity.Volume]float64{23: 0.083, 54: 0.195} {
		got, err := Shrinks(w, litres, 25, 10)
		if err != nil || got.Litres() < want || got.Litres() > 1.05*want {
			t.Errorf("%v L: %v, want %v to 5 %% more, %v", litres, got, want, err)
		}
		k, err := strength.Expansion(12.5, 0, 10, 25)
		if err != nil || math.Abs(litres.Litres()*(k-1)-want) > 0.001 {
			t.Errorf("ethanol and water: %v L, want %v, %v", litres.Litres()*(k-1), want, err)
		}
		warm, err := Shrinks(w, litres, 10, 25)
		if err != nil || warm >= 0 {
			t.Errorf("warming: %v, %v", warm, err)
		}
	}
	if _, err := Shrinks(w, 23, 25, -10); err == nil {
		t.Error("-10 °C was taken")
	}
}
