package compose

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/science/acidbase"
	"elevage/science/quantity"
)

var day0 = time.Date(2026, 10, 1, 9, 0, 0, 0, time.UTC)

// diary writes what happens in a test's cellar, a minute apart.
type diary struct {
	t       failer
	now     time.Time
	rng     *rand.ChaCha8
	entries []cellar.Entry
}

type failer interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

func newDiary(t failer) *diary {
	d := &diary{t: t, now: day0, rng: rand.NewChaCha8([32]byte{7})}
	d.do(cellar.LotStarted{Slug: "red", Colour: "red", Malolactic: cellar.MalolacticWanted}, cellar.LotStarted{Slug: "other", Colour: "red"})
	for _, v := range []string{"c1", "c2", "c3", "c4", "b1"} {
		d.do(cellar.VesselNamed{Slug: v, Type: "carboy", Size: L("300")})
	}
	return d
}

func (d *diary) do(bodies ...cellar.Body) (ids []cellar.ID) {
	d.t.Helper()
	for _, b := range bodies {
		d.now = d.now.Add(time.Minute)
		pen := cellar.Pen{Cellar: "test", Random: d.rng}
		es, err := pen.Write(d.now, cellar.Draft{Happened: cellar.At(d.now), Body: b})
		if err != nil {
			d.t.Fatal(err)
		}
		d.entries = append(d.entries, es...)
		ids = append(ids, es[0].ID)
	}
	return ids
}

func (d *diary) days(n int) { d.now = d.now.AddDate(0, 0, n) }

func (d *diary) state() *cellar.State { return cellar.Fold(d.entries, cellar.Options{}) }

// of is what a vessel's wine is made of now.
func (d *diary) of(vessel string) Wine {
	d.t.Helper()
	s := d.state()
	p := s.In(vessel)
	if p == nil {
		d.t.Fatalf("%s is empty", vessel)
	}
	w, err := Of(s, p.ID, d.now)
	if err != nil {
		d.t.Fatal(err)
	}
	return w
}

func L(v string) *cellar.Measure { return cellar.M(v, "L") }

func reading(vessel, what, value, unit string) cellar.Reading {
	return cellar.Reading{Vessel: vessel, What: what, Value: cellar.M(value, unit)}
}

func titration(vessel, value string) cellar.Reading {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadTA, Value: cellar.M(value, "g/L"), As: "tartaric", EndPoint: "8.2"}
}

// fill puts wine into a vessel and reads it.
func (d *diary) fill(lot, vessel, litres, alc, ph, ta, malic string) {
	d.do(cellar.Movement{How: "filling", Lot: lot, To: []cellar.Portion{{Vessel: vessel, Volume: L(litres)}}},
		reading(vessel, cellar.ReadAlcohol, alc, "% vol"), reading(vessel, cellar.ReadPH, ph, "pH"), titration(vessel, ta), reading(vessel, cellar.ReadMalic, malic, "g/L"))
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance || math.IsNaN(got) {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tolerance)
	}
}

// What was read comes back as it was read, the pH exactly, since the composition
// honours it.
func TestReadFiguresStand(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "54", "13.2", "3.45", "6.4", "2.1")
	w := d.of("c1")
	near(t, "alcohol", w.Alcohol.Value.Percent(), 13.2, 1e-12)
	near(t, "pH", float64(w.PH.Value), 3.45, 1e-6)
	near(t, "TA", w.TA.Value.GPerL(), 6.4, 1e-12)
	near(t, "malic acid", w.Malic.Value.GPerL(), 2.1, 1e-12)
	near(t, "its ±", float64(w.PH.SD), 0.06, 1e-3)
	if w.PH.How != Read || w.Malic.How != Read || w.Potassium.How != Assumed || w.Tartaric.How != Reckon || w.Malic.Read.IsZero() {
		t.Errorf("pH %v, malic %v, potassium %v, tartaric %v", w.PH.How, w.Malic.How, w.Potassium.How, w.Tartaric.How)
	}
	if math.Abs(w.Volume.Value.Litres()-54) > 1e-12 {
		t.Errorf("volume %v", w.Volume)
	}
}

// Blends by hand: alligation, C = sum(V C)/sum(V) (the trade's cross), for all that
// mixes by volume.
func TestBlendByHand(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "30", "13.2", "3.15", "8.4", "2.1")
	d.fill("other", "c2", "10", "12.0", "3.90", "4.2", "0.1")
	d.do(reading("c1", cellar.ReadTotalSO2, "30", "mg/L"), reading("c2", cellar.ReadTotalSO2, "90", "mg/L"),
		cellar.Movement{How: "blending", From: []cellar.Portion{{Vessel: "c1", All: true}, {Vessel: "c2", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("40")}}})
	w := d.of("b1")
	near(t, "alcohol", w.Alcohol.Value.Percent(), (30*13.2+10*12.0)/40, 1e-9)
	near(t, "TA", w.TA.Value.GPerL(), (30*8.4+10*4.2)/40, 1e-9)
	near(t, "malic acid", w.Malic.Value.GPerL(), (30*2.1+10*0.1)/40, 1e-9)
	near(t, "total SO2", w.TotalSO2.Value.MgPerL(), (30*30+10*90)/40., 1e-9)
	if w.Alcohol.How != Reckon || w.PH.How != Reckon {
		t.Errorf("alcohol %v, pH %v", w.Alcohol.How, w.PH.How)
	}
	// The pH is not the mean but what package acidbase solves from both compositions.
	a, b := anchoredWine(t, 3.15, 8.4, 2.1, 13.2), anchoredWine(t, 3.90, 4.2, 0.1, 12.0)
	mixed, _, err := acidbase.Mix(acidbase.Part{Composition: a, Volume: 30}, acidbase.Part{Composition: b, Volume: 10})
	if err != nil {
		t.Fatal(err)
	}
	want, err := mixed.PH()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pH", float64(w.PH.Value), float64(want), 1e-6)
	if mean := (30*3.15 + 10*3.90) / 40; math.Abs(mean-float64(w.PH.Value)) < 0.01 {
		t.Errorf("the pH %v is the mean of the two", w.PH.Value)
	}
}

func anchoredWine(t *testing.T, ph quantity.PH, ta, malic quantity.Concentration, alcohol quantity.Strength) acidbase.Composition {
	t.Helper()
	w, err := acidbase.Anchor(acidbase.Measured{PH: ph, TA: ta, EndPoint: acidbase.EndPointAOAC, Malic: malic, Alcohol: alcohol, Temperature: 20})
	if err != nil {
		t.Fatal(err)
	}
	return w.Composition
}

// Split and poured together again, a wine is known as well as before and no
// better; two wines read apart are known better together.
func TestUncertaintyThroughBlends(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "40", "13.2", "3.45", "6.4", "2.1")
	before := d.of("c1")
	d.do(cellar.Movement{How: "splitting", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "c2", Volume: L("25")}, {Vessel: "c3", Volume: L("15")}}})
	half := d.of("c2")
	d.do(cellar.Movement{How: "blending", From: []cellar.Portion{{Vessel: "c2", All: true}, {Vessel: "c3", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("40")}}})
	again := d.of("b1")
	for _, w := range []Wine{half, again} {
		near(t, "malic acid ±", w.Malic.SD.GPerL(), before.Malic.SD.GPerL(), 1e-12)
		near(t, "alcohol ±", w.Alcohol.SD.Percent(), before.Alcohol.SD.Percent(), 1e-12)
		near(t, "pH ±", float64(w.PH.SD), float64(before.PH.SD), 1e-9)
	}

	d = newDiary(t)
	d.fill("red", "c1", "20", "13.2", "3.45", "6.4", "2.1")
	d.fill("other", "c2", "20", "13.2", "3.45", "6.4", "2.1")
	one := d.of("c1").Malic.SD.GPerL()
	d.do(cellar.Movement{How: "blending", From: []cellar.Portion{{Vessel: "c1", All: true}, {Vessel: "c2", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("40")}}})
	near(t, "malic acid ± of two", d.of("b1").Malic.SD.GPerL(), one/math.Sqrt2, 1e-9)

	// Wines that differ: how much of each there is counts too. One standard
	// deviation of a volume is 2 % of it; d(c)/d(v1) = (c1-c)/V.
	d = newDiary(t)
	d.fill("red", "c1", "20", "13.2", "3.45", "6.4", "4.0")
	d.fill("other", "c2", "20", "13.2", "3.45", "6.4", "0.0")
	d.do(cellar.Movement{How: "blending", From: []cellar.Portion{{Vessel: "c1", All: true}, {Vessel: "c2", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("40")}}})
	sd := func(v float64) float64 { return spreads[cellar.ReadMalic].of(v) / 2 }
	want := math.Sqrt(sd(4)*sd(4) + sd(0)*sd(0) + 2*math.Pow((4-2)/40.*0.02*20, 2))
	near(t, "malic acid ± of two that differ", d.of("b1").Malic.SD.GPerL(), want, 1e-9)
}

// Malic acid that is gone has become lactic acid, has raised the pH along the wine's
// own curve, and lowered the TA by 0.56 for each gram (stoichiometry).
func TestConversion(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "54", "13.2", "3.45", "6.4", "2.1")
	d.days(30)
	d.do(reading("c1", cellar.ReadMalic, "0.1", "g/L"))
	w := d.of("c1")
	near(t, "lactic acid", w.Lactic.Value.GPerL(), 0.2+2.0*90.078/134.087, 1e-6)
	near(t, "TA", w.TA.Value.GPerL(), 6.4-2.0*150.087/2/134.087, 1e-9)
	wine, err := acidbase.Anchor(acidbase.Measured{PH: 3.45, TA: 6.4, EndPoint: acidbase.EndPointAOAC, Malic: 2.1, Alcohol: 13.2, Temperature: 20})
	if err != nil {
		t.Fatal(err)
	}
	after, err := wine.Malolactic(2.0)
	if err != nil {
		t.Fatal(err)
	}
	want, err := after.PH()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pH", float64(w.PH.Value), float64(want), 1e-3)
	// A person's word does as much, less surely.
	d = newDiary(t)
	d.fill("red", "c1", "54", "13.2", "3.45", "6.4", "2.1")
	d.days(30)
	d.do(cellar.Verdict{Vessel: "c1", Says: cellar.VerdictMalolacticFinished})
	near(t, "malic acid by word", d.of("c1").Malic.Value.GPerL(), 0.05, 1e-12)
	// A pH that was read last is honoured, with what was converted until then.
	d.do(reading("c1", cellar.ReadPH, "3.58", "pH"))
	near(t, "pH read after it", float64(d.of("c1").PH.Value), 3.58, 1e-6)
}

// Doses by hand. 50 g tartaric acid into 50 L is 1 g/L: 1 g/L of TA; the pH is what
// acidbase reckons. 100 g potassium bicarbonate into 50 L takes 1.5 g/L of TA
// (75.04/100.115 each).
func TestAdditions(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "50", "13.2", "3.65", "5.4", "0.1")
	d.do(cellar.Addition{Vessel: "c1", Product: "tartaric-acid", Amount: cellar.M("50", "g")})
	w := d.of("c1")
	near(t, "TA", w.TA.Value.GPerL(), 6.4, 1e-9)
	wine := anchoredWine(t, 3.65, 5.4, 0.1, 13.2)
	more, err := wine.Add(acidbase.TartaricAcid, 1)
	if err != nil {
		t.Fatal(err)
	}
	want, err := more.PH()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pH", float64(w.PH.Value), float64(want), 1e-6)
	d.do(cellar.Addition{Vessel: "c1", Product: "potassium-bicarbonate", Amount: cellar.M("100", "g")})
	near(t, "TA after bicarbonate", d.of("c1").TA.Value.GPerL(), 6.4-2*75.0435/100.115, 1e-6)
	d.do(cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("5", "g")}, reading("c1", cellar.ReadTotalSO2, "70", "mg/L"))
	near(t, "total SO2 as read", d.of("c1").TotalSO2.Value.MgPerL(), 70, 1e-9)
	d.do(cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("5", "g")})
	near(t, "total SO2 with a dose", d.of("c1").TotalSO2.Value.MgPerL(), 70+5*0.5763/50*1000, 1e-6)
	d.do(cellar.Addition{Vessel: "c1", Product: "water", Amount: L("5")})
	near(t, "alcohol, watered", d.of("c1").Alcohol.Value.Percent(), 13.2*50/55, 1e-9)
}

// Topping a converting wine with sulfited wine: 2 L at 80 mg/L into 23 L raises the
// total by 80·2/25 (handbook: about +7 mg/L into 23 L).
func TestTopping(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "23", "13.2", "3.45", "6.4", "1.1")
	d.fill("other", "c2", "20", "13.0", "3.55", "5.6", "0.1")
	d.do(reading("c1", cellar.ReadTotalSO2, "10", "mg/L"), reading("c2", cellar.ReadTotalSO2, "80", "mg/L"),
		cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c2", Volume: L("2")}}, To: []cellar.Portion{{Vessel: "c1", Volume: L("2")}}})
	near(t, "total SO2", d.of("c1").TotalSO2.Value.MgPerL(), (23*10+2*80)/25., 1e-9)
	near(t, "what is left", d.of("c2").TotalSO2.Value.MgPerL(), 80, 1e-9)
}

// What a wine was at any past moment, and what there was not.
func TestPastMoments(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	before := d.now
	d.fill("red", "c1", "50", "13.2", "3.45", "6.4", "2.1")
	then := d.now
	d.days(10)
	d.do(reading("c1", cellar.ReadMalic, "1.0", "g/L"))
	d.days(10)
	d.do(cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("48")}}, Rest: cellar.LossLees})
	s := d.state()
	p := s.Vessel("c1").Parcels[0]
	w, err := Of(s, p.ID, then)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "malic acid then", w.Malic.Value.GPerL(), 2.1, 1e-12)
	near(t, "carried into the barrel", d.of("b1").Malic.Value.GPerL(), 1.0, 1e-12)
	for _, at := range []time.Time{before, d.now} {
		if _, err := Of(s, p.ID, at); err == nil {
			t.Errorf("c1 held something on %v", at)
		}
	}
	if _, err := Of(s, "nothing", d.now); err == nil {
		t.Error("there is a parcel called nothing")
	}
}

// Wine that nobody read is told as assumed, and has no pH.
func TestUnread(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.Movement{How: "filling", Lot: "red", To: []cellar.Portion{{Vessel: "c1", Volume: L("50")}}})
	w := d.of("c1")
	if w.Alcohol.How != Assumed || w.PHTrouble == "" || w.PH.Value != 0 {
		t.Errorf("%+v", w)
	}
	// A pH without a titratable acidity settles nothing but itself.
	d.do(reading("c1", cellar.ReadPH, "3.5", "pH"))
	if w := d.of("c1"); w.PHTrouble == "" {
		t.Errorf("a pH alone: %+v", w.PH)
	}
	// 5 L of it in 45 L of wine that was read hardly blurs the whole.
	d.fill("other", "c2", "45", "13.2", "3.45", "6.4", "2.1")
	sure := d.of("c2")
	d.do(cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c1", Volume: L("5")}}, To: []cellar.Portion{{Vessel: "c2", Volume: L("5")}}})
	w = d.of("c2")
	if w.PH.How != Reckon || w.Alcohol.How != Reckon || w.PH.SD <= sure.PH.SD*9/10 || float64(w.PH.SD) > 0.2 || w.Alcohol.SD < sure.Alcohol.SD*9/10 {
		t.Errorf("topped with the unknown: pH %v ± %v, before ± %v", w.PH.Value, w.PH.SD, sure.PH.SD)
	}
}

// Must: sugar by density (OIV-MA-AS2-02 Table II: 22 °Brix is 214.7 g/L), alcohol by
// 16.83 g/L of sugar for 1 % vol, once it is dry.
func TestFromFruitToDry(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.FruitReceived{Lot: "red", Vessel: "b1", Weight: cellar.M("60", "kg")},
		cellar.Crush{Lot: "red", To: []cellar.Portion{{Vessel: "b1", Volume: L("52")}}}, reading("b1", cellar.ReadDensity, "22", "°Brix"))
	w := d.of("b1")
	near(t, "sugar", w.Sugar.Value.GPerL(), 214.7, 1e-9)
	if w.Alcohol.Value != 0 {
		t.Errorf("must with %v of alcohol", w.Alcohol.Value)
	}
	// A float in what ferments tells nothing of the sugar that there was.
	d.do(cellar.Inoculation{Vessel: "b1", Of: "primary", How: "rehydrated"})
	d.days(4)
	d.do(reading("b1", cellar.ReadDensity, "1.058", "SG"))
	near(t, "sugar, while it ferments", d.of("b1").Sugar.Value.GPerL(), 214.7, 1e-9)
	d.days(5)
	d.do(cellar.Press{From: []cellar.Portion{{Vessel: "b1", All: true}}, To: []cellar.Portion{{Vessel: "c1", Volume: L("40")}}})
	d.days(5)
	d.do(cellar.Verdict{Vessel: "c1", Says: cellar.VerdictDry})
	w = d.of("c1")
	near(t, "alcohol", w.Alcohol.Value.Percent(), (214.7-1)/16.83, 1e-9)
	if w.Alcohol.How != Reckon || w.Alcohol.SD.Percent() < 0.3 {
		t.Errorf("alcohol %+v", w.Alcohol)
	}
	// What was read of the fruit is good for its must.
	d.do(cellar.Reading{Lot: "other", What: cellar.ReadDensity, Value: cellar.M("24", "°Brix")}, cellar.FruitReceived{Lot: "other", Weight: cellar.M("20", "kg")},
		cellar.Crush{Lot: "other", To: []cellar.Portion{{Vessel: "c3", Volume: L("17")}}})
	near(t, "sugar of the sample", d.of("c3").Sugar.Value.GPerL(), 237.8, 1e-9)
}
