package advise

import (
	"fmt"
	"testing"

	"elevage/internal/cellar"
)

// aCellarOf has n lots, a third of them converting, a third ageing in glass, a third
// in barrels, with some forty entries each.
func aCellarOf(t testing.TB, n int) (Input, int) {
	d := newDiary(t)
	d.do(cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}, cellar.InstrumentNamed{Slug: "scale", Type: "scale"},
		cellar.Purchase{Product: "malolactic-culture", Amount: cellar.M("2.5", "g"), Treats: L("250")})
	for i := range n {
		lot, v := fmt.Sprintf("lot-%d", i), fmt.Sprintf("v%d", i)
		kind, size := "carboy", "23"
		if i%3 == 2 {
			kind, size = "barrel", "225"
		}
		d.on(0).do(cellar.VesselNamed{Slug: v, Type: kind, Size: L(size), Walk: i}, cellar.LotStarted{Slug: lot, Colour: "red", Malolactic: cellar.MalolacticWanted},
			cellar.Crush{Lot: lot, To: []cellar.Portion{{Vessel: v, Volume: L(size)}}}, cellar.Inoculation{Vessel: v, Of: "primary", How: "rehydrated"})
		for k, g := range []string{"1.095", "1.080", "1.060", "1.040", "1.020", "1.005", "0.998", "0.995"} {
			d.on(2 + float64(k))
			d.read(v, cellar.ReadDensity, g, "SG")
		}
		d.on(14)
		d.read(v, cellar.ReadSugar, "0.5", "g/L")
		d.do(cellar.Inoculation{Vessel: v, Of: "malolactic", How: "rehydrated"})
		for k := range 8 {
			d.on(20 + 4*float64(k))
			d.read(v, cellar.ReadPH, fmt.Sprintf("3.%d", 45+k), "pH")
			d.read(v, cellar.ReadTemperature, "19", "°C")
			d.do(cellar.Stirring{Vessel: v, What: "lees"})
		}
		if i%3 > 0 {
			d.on(60).do(cellar.Verdict{Vessel: v, Says: cellar.VerdictMalolacticFinished})
			d.on(67).do(cellar.Addition{Vessel: v, Product: "potassium-metabisulfite", Amount: cellar.M("2", "g")})
			d.on(70)
			d.read(v, cellar.ReadFreeSO2, "25", "mg/L")
		}
	}
	d.on(75)
	in := Input{State: d.state(), Now: d.now}
	in.Beliefs, in.Ageing = believed(t, in.State, in.Now)
	return in, len(d.entries)
}

// BenchmarkPlan is the plan of 40 lots, beliefs given; the first round of a process
// also reads and checks the built-in protocols, see BenchmarkBuiltIn.
func BenchmarkPlan(b *testing.B) {
	in, entries := aCellarOf(b, 40)
	first, err := Plan(in)
	if err != nil {
		b.Fatal(err)
	}
	in.Previous = &first
	b.ReportMetric(float64(entries), "entries")
	b.ReportMetric(float64(len(first.Acts)), "acts")
	for b.Loop() {
		if _, err := Plan(in); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBuiltIn reads, checks and compiles the built-in protocols.
func BenchmarkBuiltIn(b *testing.B) {
	for b.Loop() {
		for _, name := range BuiltIn().Names() {
			text, err := Source(name)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := ParseProtocol(name, text); err != nil {
				b.Fatal(err)
			}
		}
	}
}
