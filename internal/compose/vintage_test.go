package compose_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"elevage/internal/blend"
	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/fill"
	"elevage/internal/ledger"
	"elevage/science/quantity"
)

// vintage keeps an invented cellar the way the program does: entries are written by
// a pen, kept in a ledger, and read from it into a book.
type vintage struct {
	t    *testing.T
	now  time.Time
	rng  *rand.ChaCha8
	kept ledger.Ledger
	book *cellar.Book
	read int
}

const key = "home"

func (v *vintage) on(day string) *vintage {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		v.t.Fatal(err)
	}
	v.now = at.Add(18 * time.Hour)
	return v
}

func (v *vintage) do(bodies ...cellar.Body) (ids []cellar.ID) {
	v.t.Helper()
	for _, b := range bodies {
		v.now = v.now.Add(time.Minute)
		ids = append(ids, v.draft(cellar.Draft{Happened: cellar.At(v.now), Body: b})...)
	}
	return ids
}

func (v *vintage) draft(drafts ...cellar.Draft) (ids []cellar.ID) {
	v.t.Helper()
	es, err := cellar.Pen{Cellar: key, By: "Runa, invented", Device: "desk", Random: v.rng}.Write(v.now, drafts...)
	if err != nil {
		v.t.Fatal(err)
	}
	if _, err := v.kept.Append(context.Background(), es); err != nil {
		v.t.Fatal(err)
	}
	for _, e := range es {
		ids = append(ids, e.ID)
	}
	return ids
}

func (v *vintage) state() *cellar.State {
	v.t.Helper()
	fresh, err := v.kept.After(context.Background(), key, v.read)
	if err != nil {
		v.t.Fatal(err)
	}
	v.book.Apply(fresh...)
	v.read += len(fresh)
	v.book.SetNow(v.now)
	return v.book.State()
}

func m(value, unit string) *cellar.Measure { return cellar.M(value, unit) }

func into(vessel, litres string) cellar.Portion {
	return cellar.Portion{Vessel: vessel, Volume: m(litres, "L")}
}

func all(vessel string) []cellar.Portion { return []cellar.Portion{{Vessel: vessel, All: true}} }

func reads(vessel string, what, value, unit string) cellar.Reading {
	r := cellar.Reading{Vessel: vessel, What: what, Value: m(value, unit)}
	if what == cellar.ReadTA {
		r.As, r.EndPoint = "tartaric", "8.2"
	}
	return r
}

func kmbs(vessel, grams, volume string) cellar.Addition {
	return cellar.Addition{Vessel: vessel, Product: "potassium-metabisulfite", Amount: m(grams, "g"), Supply: "sack A", For: m(volume, "L"), Purpose: "protect"}
}

// fruitToWine is the first autumn: three loads of fruit become two wines.
func (v *vintage) fruitToWine() {
	v.on("2024-08-20").do(
		cellar.LotStarted{Slug: "merlot", Name: "Merlot, Hedge Side", Colour: "red", Variety: "Merlot", Vintage: 2024, Malolactic: cellar.MalolacticWanted},
		cellar.LotStarted{Slug: "cabernet", Name: "Cabernet, Long Field", Colour: "red", Variety: "Cabernet Sauvignon", Vintage: 2024, Malolactic: cellar.MalolacticWanted},
		cellar.LotStarted{Slug: "rose", Name: "Pink of the Merlot", Colour: "rosé", Variety: "Merlot", Vintage: 2024, Malolactic: cellar.MalolacticKeptFrom},
		cellar.Purchase{Product: "potassium-metabisulfite", Amount: m("250", "g"), Supply: "sack A"})
	for _, w := range [][3]string{{"bin1", "bin", "200"}, {"bin2", "bin", "120"}, {"b1", "barrel", "112"}, {"d1", "demijohn", "54"}, {"c1", "carboy", "23"}, {"c2", "carboy", "23"}, {"c3", "carboy", "23"}, {"j1", "jug", "5"}} {
		v.do(cellar.VesselNamed{Slug: w[0], Type: w[1], Size: m(w[2], "L")})
	}
	v.on("2024-09-10").do(cellar.Sample{Lot: "merlot", Berries: 200, Session: "vine"}, cellar.Reading{Lot: "merlot", What: cellar.ReadDensity, Value: m("23.4", "°Brix"), Session: "vine"})
	v.on("2024-09-20").do(
		cellar.FruitReceived{Lot: "merlot", Vessel: "bin1", Weight: m("120", "kg"), Grower: "Hedge Side", Block: "hill", Warmth: m("17", "°C")},
		cellar.FruitReceived{Lot: "merlot", Vessel: "bin1", Weight: m("60", "kg"), Grower: "Hedge Side", Block: "plain", Warmth: m("19", "°C")},
		cellar.FruitReceived{Lot: "cabernet", Weight: m("70", "kg"), Grower: "Long Field", Block: "top"},
		cellar.Crush{Lot: "merlot", To: []cellar.Portion{into("bin1", "156")}, Destemmed: "all"},
		cellar.Crush{Lot: "cabernet", To: []cellar.Portion{into("bin2", "61")}, Destemmed: "all"},
		kmbs("bin1", "8", "156"), kmbs("bin2", "3", "61"),
		reads("bin1", cellar.ReadDensity, "23.6", "°Brix"), reads("bin2", cellar.ReadDensity, "22.8", "°Brix"), reads("bin1", cellar.ReadTA, "6.9", "g/L"), reads("bin1", cellar.ReadPH, "3.42", "pH"),
		cellar.Movement{How: "saignée", From: []cellar.Portion{into("bin1", "12")}, To: []cellar.Portion{into("c3", "12")}, Becomes: "rose"})
	v.on("2024-09-21").do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"}, cellar.Inoculation{Vessel: "bin2", Of: "primary", How: "native"},
		cellar.Addition{Vessel: "bin2", Product: "tartaric-acid", Amount: m("61", "g"), For: m("61", "L"), Purpose: "acid"})
	for day := range 6 {
		v.on(fmt.Sprintf("2024-09-%d", 23+day)).do(cellar.Stirring{Vessel: "bin1", What: "punch-down"}, cellar.Stirring{Vessel: "bin2", What: "punch-down"})
	}
	v.on("2024-10-01").do(
		cellar.Press{From: all("bin1"), To: []cellar.Portion{{Vessel: "b1", Volume: m("90", "L"), Part: "free run"}, {Vessel: "c1", Volume: m("17", "L"), Part: "hard press"}}},
		cellar.Press{From: all("bin2"), To: []cellar.Portion{into("d1", "45")}})
	v.on("2024-10-12").do(cellar.Verdict{Vessel: "b1", Says: cellar.VerdictDry}, cellar.Verdict{Vessel: "c1", Says: cellar.VerdictDry}, cellar.Verdict{Vessel: "d1", Says: cellar.VerdictDry}, cellar.Verdict{Vessel: "c3", Says: cellar.VerdictDry},
		cellar.Movement{How: "racking", From: all("b1"), To: []cellar.Portion{into("b1", "84")}, Rest: cellar.LossLees},
		cellar.Movement{How: "racking", From: all("d1"), To: []cellar.Portion{into("c2", "22.6"), into("j1", "4.8"), into("c3", "11")}, Rest: cellar.LossLees})
}

// conversion is the malolactic fermentation and the first doses.
func (v *vintage) conversion() {
	v.on("2024-10-15")
	for _, w := range []struct{ vessel, alc, ph, ta, malic string }{{"b1", "13.6", "3.46", "6.6", "2.1"}, {"c1", "13.4", "3.62", "5.9", "2.3"}, {"c2", "13.1", "3.52", "6.8", "1.9"}} {
		v.do(reads(w.vessel, cellar.ReadAlcohol, w.alc, "% vol"), reads(w.vessel, cellar.ReadPH, w.ph, "pH"), reads(w.vessel, cellar.ReadTA, w.ta, "g/L"), reads(w.vessel, cellar.ReadMalic, w.malic, "g/L"),
			reads(w.vessel, cellar.ReadTotalSO2, "25", "mg/L"), reads(w.vessel, cellar.ReadTartaric, "2.6", "g/L"), reads(w.vessel, cellar.ReadPotassium, "1150", "mg/L"), reads(w.vessel, cellar.ReadVA, "0.35", "g/L"),
			cellar.Inoculation{Vessel: w.vessel, Of: "malolactic", How: "rehydrated", Amount: m("0.3", "g")}, cellar.ControlKept{Vessel: w.vessel, Volume: m("250", "mL"), Kept: "cold"})
	}
	v.on("2024-11-20").do(reads("b1", cellar.ReadMalic, "0.7", "g/L"), reads("c1", cellar.ReadMalic, "0.3", "g/L"), reads("c2", cellar.ReadMalic, "0.9", "g/L"), cellar.Stirring{Vessel: "b1", What: "lees"})
	v.on("2024-12-28").do(reads("c1", cellar.ReadMalic, "<0.1", "g/L"), reads("c2", cellar.ReadMalic, "0.05", "g/L"))
	for _, vessel := range []string{"b1", "c1", "c2", "j1", "c3"} {
		v.do(cellar.Verdict{Vessel: vessel, Says: cellar.VerdictMalolacticFinished})
	}
	v.on("2025-01-05").do(kmbs("b1", "6.5", "84"), kmbs("c1", "1.4", "17"), kmbs("c2", "1.8", "22.4"), kmbs("j1", "0.4", "4.8"))
}

// keeping is two years of topping, racking, cold, and a blend.
func (v *vintage) keeping() {
	for month := range 8 {
		at := v.on("2025-01-20").now.AddDate(0, month, 0)
		v.on(at.Format(time.DateOnly)).do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "b1"}}, Losses: []cellar.Loss{{Kind: cellar.LossEvaporation, Volume: m("0.3", "L")}}},
			cellar.Movement{How: "topping", From: []cellar.Portion{into("j1", "0.3")}, To: []cellar.Portion{into("b1", "0.3")}})
	}
	v.on("2025-02-20").do(reads("b1", cellar.ReadTartaric, "2.1", "g/L"), reads("b1", cellar.ReadPotassium, "1020", "mg/L"), cellar.Treatment{Vessel: "b1", What: "chilling", Amount: m("2", "°C")})
	v.on("2025-03-01").do(cellar.Movement{How: "racking", From: all("c1"), To: []cellar.Portion{into("c1", "16.4")}, Rest: cellar.LossLees}, cellar.Dip{Vessel: "b1", Volume: m("83.2", "L"), How: "weight"})
	wrong := v.on("2025-05-01").do(reads("b1", cellar.ReadTotalSO2, "12", "mg/L"))
	v.on("2025-05-02").do(cellar.Strike{Target: wrong[0], Reason: "read in c1"}, reads("b1", cellar.ReadTotalSO2, "52", "mg/L"))
	v.on("2025-05-03").do(kmbs("b1", "1.5", "83"))
	v.on("2025-10-01").do(reads("b1", cellar.ReadPH, "3.58", "pH"), reads("b1", cellar.ReadTotalSO2, "50", "mg/L"), reads("c2", cellar.ReadPH, "3.62", "pH"), reads("c2", cellar.ReadTotalSO2, "66", "mg/L"), reads("c1", cellar.ReadPH, "3.74", "pH"), reads("c1", cellar.ReadTotalSO2, "48", "mg/L"))
	// A sample drawn on 5 May came back late.
	v.draft(cellar.Draft{Happened: cellar.On(v.now), Body: cellar.Reading{Vessel: "c1", What: cellar.ReadVA, Value: m("0.62", "g/L"), Lab: "Hill, invented", Drawn: "2025-05-05Z"}})
	v.do(cellar.Tasting{Vessel: "b1", Score: "7", Words: "clean, some plum"})
}

// blending asks for the blend, tastes it blind, and makes it.
func (v *vintage) blending() blend.Blend {
	v.t.Helper()
	s := v.on("2026-03-01").state()
	sources, err := blend.Sources(s, nil, v.now)
	if err != nil {
		v.t.Fatal(err)
	}
	answer, err := blend.Find(blend.Wish{Sources: sources, Limits: []blend.Limit{blend.PH(3.3, 3.62), blend.VA(0, 0.5), blend.ShareOf(blend.ByVariety, "Merlot", 0.75, 1)},
		Targets: []blend.Target{blend.Aim(blend.AlcoholIs(13.5), quantity.Strength(0.2))}, Least: 95})
	if err != nil || len(answer.Blends) == 0 {
		v.t.Fatalf("%v %+v", err, answer.Conflict)
	}
	b := answer.Blends[0]
	sheet, err := blend.NewSheet(2, 0, []string{"Runa", "Corin"}, 2026)
	if err != nil {
		v.t.Fatal(err)
	}
	trial := sheet.Trial(append([]blend.Blend{b}, answer.Blends...), 100*quantity.Millilitre)
	trial.Chosen = trial.Rows[0].Code
	v.do(trial, cellar.LotStarted{Slug: "cuvee", Name: "Hedge and Field", Colour: "red", Vintage: 2024, Malolactic: cellar.MalolacticWanted},
		cellar.VesselNamed{Slug: "t1", Type: "tank", Size: m("100", "L")}, cellar.VesselNamed{Slug: "t2", Type: "tank", Size: m("60", "L")})
	drafts, err := b.Drafts(cellar.At(v.now.Add(time.Minute)), "cuvee", []blend.Vessel{{Slug: "t1", Size: 100}, {Slug: "t2", Size: 60}})
	if err != nil {
		v.t.Fatal(err)
	}
	v.now = v.now.Add(2 * time.Minute)
	v.draft(drafts...)
	return b
}

func (v *vintage) bottles() {
	v.on("2026-03-20").do(cellar.Addition{Vessel: "t1", Product: "egg-white", Amount: m("60", "mL"), Purpose: "fining"}, cellar.Treatment{Vessel: "t1", What: "fining-settled"})
	s := v.on("2026-04-20").state()
	v.do(kmbs("t1", "2.5", fmt.Sprintf("%.4g", s.In("t1").Volume.Litres())), cellar.Treatment{Vessel: "t1", What: "filtration"})
	v.on("2026-09-15").do(cellar.Bottling{Slug: "cuvee-24", From: all("t1"), Count: 132, Size: m("750", "mL"), Closure: "cork", Losses: []cellar.Loss{{Kind: cellar.LossLees, Volume: m("0.6", "L")}}})
	v.on("2026-10-01").do(cellar.Opened{Bottling: "cuvee-24", Count: 2, Why: "drunk", Score: "8"})
	v.on("2026-10-20").do(cellar.Opened{Bottling: "cuvee-24", Count: 1, Why: "given"})
}

// A full vintage, from crates of fruit to bottles two years later: the account of
// volume, alcohol, acids, SO2 and everything added closes to rounding, for the
// cellar, for each lot and for each year; bottles lead back to their fruit, and the
// fruit leads forward to all it touched.
func TestFullVintage(t *testing.T) {
	t.Parallel()
	v := &vintage{t: t, rng: rand.NewChaCha8([32]byte{24}), kept: ledger.NewMemory(), book: cellar.NewBook(time.Time{})}
	v.fruitToWine()
	v.conversion()
	v.keeping()
	foreseen := v.blending()
	v.bottles()
	s := v.state()
	for _, f := range s.Findings.All() {
		switch f.Code {
		case cellar.FoundRested, cellar.FoundMixed, cellar.FoundBadFigure: // informs
		default:
			t.Errorf("unexpected: %s %s", f.Code, f.Says)
		}
	}
	begin := v.on("2024-08-01").now
	end := v.on("2026-11-01").now
	whole := compose.AccountOf(s, cellar.Scope{}, begin, end)
	checkSheets(t, "cellar", whole)
	for _, l := range s.Lots.All() {
		checkSheets(t, l.Slug, compose.AccountOf(s, cellar.Scope{Lot: l.Slug}, begin, end))
	}
	for year := 2024; year < 2027; year++ {
		from := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
		checkSheets(t, fmt.Sprint(year), compose.AccountOf(s, cellar.Scope{}, from, from.AddDate(1, 0, 0)))
	}
	checkByHand(t, s, &whole)
	checkAncestry(t, s, end, foreseen)
	checkLateArrival(t, v, s)
}

func checkSheets(t *testing.T, of string, a compose.Account) {
	t.Helper()
	check := func(what string, off, opening, closing float64) {
		if math.Abs(off) > 1e-9*(1000+math.Abs(opening)+math.Abs(closing)) || math.IsNaN(off) {
			t.Errorf("%s: %s is off by %v", of, what, off)
		}
	}
	check("volume", a.Volume.Off().Litres(), a.Volume.Opening.Litres(), a.Volume.Closing.Litres())
	check("alcohol", a.Alcohol.Off().Litres(), a.Alcohol.Opening.Litres(), a.Alcohol.Closing.Litres())
	for _, x := range a.Made {
		check(x.What, x.Off().Grams(), x.Opening.Grams(), x.Closing.Grams())
	}
	for _, x := range a.Added {
		check(x.What+" added", x.Off().Grams(), x.Opening.Grams(), x.Closing.Grams())
	}
}

func through[Q ~float64](s cellar.Sheet[Q], door string) (in, out float64) {
	for _, d := range s.Doors {
		if d.Door == door {
			return float64(d.In), float64(d.Out)
		}
	}
	return 0, 0
}

// checkByHand holds lines of the account against what was written, added up here.
func checkByHand(t *testing.T, s *cellar.State, a *compose.Account) {
	t.Helper()
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	in, _ := through(a.Volume, cellar.DoorFruit)
	near("litres of must", in, 156+61)
	_, opened := through(a.Volume, cellar.DoorOpened)
	near("litres opened", opened, 3*0.75)
	_, evaporated := through(a.Volume, cellar.LossEvaporation)
	near("litres evaporated", evaporated, 8*0.3)
	_, sampled := through(a.Volume, cellar.LossSample)
	near("litres kept as control", sampled, 3*0.25)
	// Grams of sulfite by hand, 57.63 % of them SO2 (stoichiometry).
	grams := 8 + 3 + 6.5 + 1.4 + 1.8 + 0.4 + 1.5 + 2.5
	so2 := a.Made[len(a.Made)-1]
	added, _ := through(so2.Sheet, cellar.DoorAddition)
	near("SO2 added", added, grams*0.5763)
	for _, x := range a.Added {
		if x.What == cellar.SubstanceSO2 {
			in, _ := through(x, cellar.DoorAddition)
			near("SO2 added, by the record", in, grams*0.5763)
		}
	}
	if a.Volume.Opening != 0 || a.Alcohol.Opening != 0 {
		t.Errorf("the cellar was not empty at first: %v", a.Volume.Opening)
	}
	var litres float64
	for _, p := range s.Parcels.All() {
		litres += p.Volume.Litres()
	}
	near("litres left", a.Volume.Closing.Litres(), litres)
	for _, door := range []string{compose.DoorConverted, compose.DoorOxidised, compose.DoorPrecipitated} {
		if !slices.ContainsFunc(a.Made, func(x compose.Made) bool { _, out := through(x.Sheet, door); return out > 0 }) {
			t.Errorf("nothing was %s", door)
		}
	}
}

func checkAncestry(t *testing.T, s *cellar.State, end time.Time, foreseen blend.Blend) {
	t.Helper()
	bottles := s.In("cuvee-24")
	if bottles == nil || bottles.Count != 129 {
		t.Fatalf("bottles: %+v", bottles)
	}
	sum := 0.0
	origins := s.Origins(bottles.ID, end)
	for _, o := range origins {
		sum += o.Share
		if o.Fruit == nil {
			t.Errorf("not from fruit: %+v", o)
		}
	}
	if len(origins) != 3 || math.Abs(sum-1) > 1e-9 {
		t.Errorf("%d origins that make up %v", len(origins), sum)
	}
	// Two loads of merlot in one bin, 120 and 60 kg, stay two to one for ever.
	if math.Abs(origins[0].Share/share(origins, "plain")-2) > 1e-9 {
		t.Errorf("hill %v, plain %v", origins[0].Share, share(origins, "plain"))
	}
	w, err := compose.Of(s, bottles.ID, end)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(w.Alcohol.Value.Percent()-foreseen.Wine.Alcohol.Value.Percent()) > 0.02 || w.PH.How != compose.Reckon || w.PH.Value < 3.4 || w.PH.Value > 3.7 {
		t.Errorf("in the bottle: %v %% vol, pH %v ± %v; foreseen %v", w.Alcohol.Value, w.PH.Value, w.PH.SD, foreseen.Wine.Alcohol.Value)
	}
	tr, ok := s.Trace(origins[0].Entry.Entry.ID)
	total := 0.0
	for _, p := range tr.Now {
		total += p.Part
	}
	for _, d := range tr.Gone {
		total += d.Out
	}
	if !ok || math.Abs(total-1) > 1e-9 || len(tr.Touched) < 8 {
		t.Errorf("the fruit of the hill: %v of it is accounted for, %d parcels touched", total, len(tr.Touched))
	}
	if doses := s.TraceAdded("potassium-metabisulfite", "sack A"); len(doses) != 8 {
		t.Errorf("%d doses out of the sack", len(doses))
	}
	if a := compose.Arrivals(s, s.Vessel("b1").Parcels[0].ID, end); len(a) != 8 || a[0].Live || math.Abs(a[0].Share-0.3/84) > 0.001 {
		t.Errorf("%d toppings: %+v", len(a), a)
	}
	if len(fill.Conditions(s, end)) < 9 {
		t.Error("vessels are missing")
	}
}

func share(origins []cellar.Origin, block string) float64 {
	for _, o := range origins {
		if o.Fruit != nil && o.Fruit.Block == block {
			return o.Share
		}
	}
	return math.NaN()
}

// checkLateArrival: two devices that were offline, their entries arriving in any
// order, leave the same accounts.
func checkLateArrival(t *testing.T, v *vintage, want *cellar.State) {
	t.Helper()
	entries, err := v.kept.After(context.Background(), key, 0)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(8, 9))
	rng.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
	book := cellar.NewBook(time.Time{})
	for at := 0; at < len(entries); at += 7 {
		book.Apply(entries[at:min(at+7, len(entries))]...)
	}
	end := v.on("2026-11-01").now
	a, b := compose.AccountOf(book.State(), cellar.Scope{}, time.Time{}, end), compose.AccountOf(want, cellar.Scope{}, time.Time{}, end)
	if fmt.Sprint(a) != fmt.Sprint(b) {
		t.Errorf("another order, other accounts:\n%v\n%v", a, b)
	}
}

// What the bottles of the vintage are made of, two years and a blend later.
func BenchmarkOf(b *testing.B) {
	v := &vintage{t: &testing.T{}, rng: rand.NewChaCha8([32]byte{24}), kept: ledger.NewMemory(), book: cellar.NewBook(time.Time{})}
	v.fruitToWine()
	v.conversion()
	v.keeping()
	v.blending()
	v.bottles()
	s := v.state()
	id := s.In("cuvee-24").ID
	for b.Loop() {
		if _, err := compose.Of(s, id, v.now); err != nil {
			b.Fatal(err)
		}
	}
}
