package ageing

import (
	"math"
	"testing"
	"time"

	"elevage/internal/published"
	"elevage/science/quantity"

	"pgregory.net/rapid"
)

func checks(t *testing.T) map[string][2]float64 {
	t.Helper()
	out := map[string][2]float64{}
	for _, row := range published.Lines(t, "testdata/checks.csv") {
		out[row[0]] = [2]float64{published.Number(t, row[2]), published.Number(t, row[3])}
	}
	return out
}

func TestCheckValues(t *testing.T) {
	t.Parallel()
	swing := func(wine quantity.Volume) float64 {
		v, err := Swing(wine, 10, 25)
		if err != nil {
			t.Fatal(err)
		}
		return v.Millilitres()
	}
	air, err := HeadspaceOxygen(quantity.Millilitre, 1)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]float64{
		"K15": PerOxygen.Location, "K16": MonthlyLoss(11.4, 2.5, 1).MgPerL(), "K17": MonthlyLoss(27, 2.5, 1).MgPerL(),
		"K18": 30 - Deplete(30, 2*2.5, 12), "K19": TemperatureFactor(1.26, 20) / TemperatureFactor(1.26, 10),
		"swing23": swing(23), "swing54": swing(54), "air": air.MgPerL(),
	}
	want := checks(t)
	if len(want) != len(got) {
		t.Fatalf("%d rows, %d figures", len(want), len(got))
	}
	for id, w := range want {
		if math.Abs(got[id]-w[0]) > w[1] {
			t.Errorf("%s: %.4f, want %.4f ± %.4f", id, got[id], w[0], w[1])
		}
	}
	if lo, hi := PerOxygen.Quantile(0), PerOxygen.Quantile(1); lo < 2-1e-3 || hi > 4+1e-3 {
		t.Errorf("SO2 per O2 runs from %.3f to %.3f, the sources' limits are 2 and 4", lo, hi)
	}
	if q := Q10; q.Quantile(0.05) > 1.26 || q.Quantile(0.95) < 1.26 {
		t.Error("the published 1.26 lies outside the 90 % of Q10")
	}
}

// The closed form against its own differential equation, stepped finely.
func TestDepletionSolvesItsEquation(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ free, demand, k float64 }{{30, 12, 12}, {8, 30, 5}, {55, 3, 20}, {2, 1, 12}} {
		f, n := c.free, 200000
		for range n {
			f -= c.demand / float64(n) * Slowing(f, c.k)
		}
		if got := Deplete(c.free, c.demand, c.k); math.Abs(got-f) > 1e-3 {
			t.Errorf("%+v: %.5f, stepped %.5f", c, got, f)
		}
	}
}

func TestDepletionLaws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0.5, 80).Draw(t, "free")
		a := rapid.Float64Range(0, 40).Draw(t, "demand")
		b := rapid.Float64Range(0, 40).Draw(t, "more")
		k := rapid.Float64Range(3, 30).Draw(t, "k")
		once, twice := Deplete(f, a+b, k), Deplete(Deplete(f, a, k), b, k)
		if once < 0 || once > f*(1+1e-12) { // but for rounding
			t.Fatalf("%.4f from %.4f", once, f)
		}
		if math.Abs(once-twice) > 1e-9*(1+f) {
			t.Fatalf("in one step %.12f, in two %.12f", once, twice)
		}
		if back := Deplete(once, -(a + b), k); math.Abs(back-f) > 1e-6*(1+f) {
			t.Fatalf("back to %.9f from %.9f", back, f)
		}
	})
}

func TestSmallBarrelsBreatheMore(t *testing.T) {
	t.Parallel()
	// (225/28.1)^(1/3) = 2.000: surface per volume of similar bodies
	big, small := Ingress(Barrel, 225).Location, Ingress(Barrel, 28.125).Location
	if math.Abs(small/big-2) > 1e-9 {
		t.Errorf("an eighth of the volume lets in %.4f times as much, want 2", small/big)
	}
	if d, err := BarrelStay(240, 28.125); err != nil || math.Abs(float64(d)-120) > 1e-9 {
		t.Errorf("stay %v %v", d, err)
	}
}

func TestSinceSO2(t *testing.T) {
	t.Parallel()
	d := func(m time.Month, day int) time.Time { return time.Date(2025, m, day, 0, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		name    string
		m       Milestones
		ph      quantity.PH
		at      time.Time
		since   quantity.Days
		known   bool
		caution bool
	}{
		{"nothing known", Milestones{}, 3.8, d(12, 1), 0, false, false},
		{"from dryness, young", Milestones{Dry: d(10, 1)}, 3.8, d(10, 20), 19, true, false},
		{"from dryness, six weeks and a day, high pH", Milestones{Dry: d(10, 1)}, 3.7, d(11, 13), 43, true, true},
		{"the same at a low pH", Milestones{Dry: d(10, 1)}, 3.6, d(11, 13), 43, true, false},
		{"SO2 at crush does not count", Milestones{Dry: d(10, 1), LastSO2: d(9, 15)}, 3.7, d(11, 13), 43, true, true},
		{"dosed since", Milestones{Dry: d(10, 1), LastSO2: d(11, 1)}, 3.7, d(11, 13), 12, true, false},
		{"asked of a day before", Milestones{LastSO2: d(11, 1)}, 3.7, d(10, 13), 0, false, false},
	} {
		got := SinceSO2(c.m, c.ph, c.at)
		if got.Known != c.known || got.Since != c.since || (got.Caution != nil) != c.caution {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// The three figures of Jackowetz & Mira de Orduña 2012 (abstract), and the 20 days
// of Martineau & Henick-Kling 1995.
func TestFirstDoseShowsThePublishedFigures(t *testing.T) {
	t.Parallel()
	f, err := FirstDose(0, Standing{PH: 3.5, Temperature: 15})
	if err != nil {
		t.Fatal(err)
	}
	at := map[quantity.Days]WaitChoice{}
	for _, c := range f.Choices {
		at[c.Wait] = c
	}
	if b := at[0].Binders.MgPerL(); math.Abs(b-83) > 1e-9 {
		t.Errorf("at once %.2f, published 83", b)
	}
	if b := at[7].Binders.MgPerL(); math.Abs(b-34) > 1e-9 {
		t.Errorf("after a week %.2f, published 34", b)
	}
	if at[21].Binders != at[7].Binders {
		t.Error("waiting on past a week adds little")
	}
	if at[7].Unprotected != 7 || at[21].Butter > 0.2 || at[0].Butter != 1 {
		t.Errorf("%+v", at)
	}
	if len(f.Shorten) != 0 {
		t.Errorf("nothing speaks against waiting: %v", f.Shorten)
	}
	h, _ := FirstDose(0, Standing{PH: 3.7, Temperature: 22, Film: true, VolatileUp: true, Ullage: true})
	if len(h.Shorten) != 5 {
		t.Errorf("five reasons to hurry: %v", h.Shorten)
	}
}

func TestToppingThatCarriesSO2IsSaid(t *testing.T) {
	t.Parallel()
	// 2 L of 84 mg/L into 22 L of 0: 168/24 = 7 mg/L, by mixing.
	c, err := StopsConversion(TopUp, Topped{Wine: 22, With: 2, TotalWine: 0, TotalWith: 84 * quantity.MilligramPerLitre})
	if err != nil || c == nil {
		t.Fatal(c, err)
	}
	if want := "the topping brings 7 mg/L of SO2: total goes from 0 to 7 mg/L"; c.Text != want {
		t.Errorf("%q, want %q", c.Text, want)
	}
	if c, err := StopsConversion(TopUp, Topped{Wine: 22, With: 1, TotalWine: 10e-3, TotalWith: 12e-3}); c != nil || err != nil {
		t.Errorf("a topping of 0.1 mg/L needs no word: %v %v", c, err)
	}
	for _, a := range []Act{AddSO2, IntoBarrel, AddSorbate, AddLysozyme, Chill, FilterTight, AddAmmonium, RinsedSO2} {
		if c, err := StopsConversion(a, Topped{}); err != nil || c == nil || c.Act == "" || c.Source.Text == "" {
			t.Errorf("%s: %v %v", a, c, err)
		}
	}
	if _, err := StopsConversion("sung to", Topped{}); err == nil {
		t.Error("an unknown act is not refused")
	}
}

const wantSlope, wantSlopeSD = 0.01647739, 0.005815230 // numpy.polyfit, see below

// Slope and its standard deviation against numpy.polyfit of the same four points
// with weights 1/sd, and 1/√Σw(x−x̄)².
func TestVolatileTrendAgainstNumpy(t *testing.T) {
	t.Parallel()
	start := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	var r []Acid
	for i, d := range []quantity.Days{0, 92, 184, 275} {
		a := Acid{At: start.Add(d.Duration()), Value: quantity.Concentration([]float64{0.42, 0.45, 0.51, 0.58}[i]), SD: 0.03}
		if i == 3 {
			a.SD = 0.06
		}
		r = append(r, a)
	}
	got, err := VolatileTrend(r)
	if err != nil {
		t.Fatal(err)
	}
	if s := got.PerMonth.Q50.GPerL(); math.Abs(s-wantSlope) > 1e-6 {
		t.Errorf("slope %.6f, numpy %.6f", s, wantSlope)
	}
	if sd := (got.PerMonth.Q95 - got.PerMonth.Q50).GPerL() / 1.6448536; math.Abs(sd-wantSlopeSD) > 1e-6 {
		t.Errorf("SD %.6f, numpy %.6f", sd, wantSlopeSD)
	}
	if got.Rises != 3 || got.Rising < 0.99 {
		t.Errorf("%+v", got)
	}
}

func TestWatchRaisesNothingWithoutAnAct(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	calm := Look{At: now, Vessel: Glass, Red: true, PH: 3.45, Molecular: 0.7e-3, Temperature: 13, Coldest: 12, Warmest: 14, Wine: 23, Air: 0.1}
	if r, err := Watch(calm); err != nil || len(r) != 0 {
		t.Errorf("a calm look raises %v %v", r, err)
	}
	wild := Look{At: now, Vessel: Barrel, Wood: true, Red: true, PH: 3.75, Molecular: 0.2e-3, Temperature: 19, Coldest: 8, Warmest: 24,
		Sugar: 0.8, SugarKnown: true, Wine: 220, Air: 6, AirSince: now.AddDate(0, 0, -20), LastTopped: now.AddDate(0, 0, -60), Film: true, Idle: 60 * 24 * time.Hour,
		Volatile: []Acid{{now.AddDate(0, -9, 0), 0.4, 0.03}, {now.AddDate(0, -6, 0), 0.5, 0.03}, {now.AddDate(0, -3, 0), 0.6, 0.03}, {now, 0.7, 0.03}}}
	r, err := Watch(wild)
	if err != nil || len(r) != 7 {
		t.Fatalf("%d risks of 7: %v %v", len(r), r, err)
	}
	for _, x := range r {
		if x.Act == "" || len(x.Evidence) == 0 || x.Source.Mark == "" {
			t.Errorf("without act, evidence or source: %+v", x)
		}
	}
}

func TestBottlesTeachTheWindow(t *testing.T) {
	t.Parallel()
	bottled := time.Date(2023, 1, 15, 0, 0, 0, 0, time.UTC)
	plain, err := Drink(FirmRed, bottled, nil)
	if err != nil {
		t.Fatal(err)
	}
	tired, err := Drink(FirmRed, bottled, []OpenedBottle{
		{At: bottled.AddDate(0, 6, 0), Score: 7.5}, {At: bottled.AddDate(1, 0, 0), Score: 8}, {At: bottled.AddDate(2, 0, 0), Score: 6}, {At: bottled.AddDate(3, 0, 0), Score: 4.5},
		{At: bottled.AddDate(3, 0, 0), Score: 1, Spoil: true}})
	if err != nil {
		t.Fatal(err)
	}
	if !tired.Peak.Before(plain.Peak) || tired.Spoiled != 1 {
		t.Errorf("scores fall from the first year, yet the peak moves from %s to %s", plain.Peak, tired.Peak)
	}
	if !plain.Opens.Before(plain.Peak) || !plain.Peak.Before(plain.Closes) {
		t.Errorf("%+v", plain)
	}
	if _, err := Drink("sparkling", bottled, nil); err == nil {
		t.Error("an unknown style is not refused")
	}
}
