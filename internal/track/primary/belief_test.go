package primary_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"elevage/internal/track/primary"
	science "elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"

	"pgregory.net/rapid"
)

var pitched = time.Date(2025, 10, 2, 8, 0, 0, 0, time.UTC)

func hours(h float64) time.Time { return pitched.Add(time.Duration(h * float64(time.Hour))) }

// bin is an invented red of 105 L read twice a day for so many days, made by the law
// itself: 238 g/L of sugar at pitching.
func bin(days int) primary.Input {
	return binAt(days, func(h float64) quantity.Temperature { return quantity.Temperature(26 - 4*math.Exp(-h/40) - 0.004*h) })
}

// truth is the bin's sugar at an hour.
func truth(temp science.Temperatures) func(h float64) float64 {
	c, err := science.Coleman.Course(science.Must{Sugar: 238, Nitrogen: 0.17, Yeast: 0.22, Factors: science.LotFactors{Beta: 0.7, Death: 0.3, Lag: 15}}, temp, 40)
	if err != nil {
		panic(err)
	}
	return func(h float64) float64 { return c.At(math.Max(0, h)).Sugar.GPerL() }
}

func binAt(days int, temp science.Temperatures) primary.Input {
	sugar := truth(temp)
	rng := rand.New(rand.NewPCG(4, 4))
	in := primary.Input{Volume: 105, Red: true, Pitched: pitched, PH: 3.55, At: hours(24*float64(days) + 1)}
	read := func(h float64, gas bool) {
		s := sugar(h)
		d, err := strength.WineDensity(quantity.Strength((238-s)/16.8), quantity.Concentration(s+24), 20)
		if err != nil {
			panic(err)
		}
		sd := 0.0006
		if gas {
			sd = 0.0016
		}
		in.Readings = append(in.Readings, primary.Reading{ID: fmt.Sprint("r", len(in.Readings)), At: hours(h), What: primary.Gravity,
			Value: math.Round(1e4*(float64(strength.SpecificGravityOf(d))+sd*rng.NormFloat64())) / 1e4, Temperature: 20, Degassed: !gas})
		in.Warmth = append(in.Warmth, primary.Temperature{At: hours(h), Value: temp(h)})
	}
	read(-3, false)
	for h := 12.0; h <= 24*float64(days); h += 12 {
		read(h, true)
	}
	return in
}

func believe(t *testing.T, in primary.Input) primary.Belief {
	t.Helper()
	b, err := primary.Believe(in)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Each figure of the bin's own truth must lie in its 90 % interval; the seed is fixed
// and the bin was not chosen for it.
func TestTheBinIsFound(t *testing.T) {
	t.Parallel()
	// the truth by the law, solved exactly
	sugar := truth(func(h float64) quantity.Temperature { return quantity.Temperature(26 - 4*math.Exp(-h/40) - 0.004*h) })
	for _, c := range []struct {
		days  int
		state primary.State
	}{{1, ""}, {3, primary.Steady}, {5, ""}, {9, primary.Dry}} {
		b := believe(t, bin(c.days))
		if s := sugar(24*float64(c.days) + 1); !b.Sugar.Holds(quantity.Concentration(s)) && math.Abs(b.Sugar.Q50.GPerL()-s) > 1 {
			t.Errorf("day %d: sugar %.1f (%.1f to %.1f), truth %.1f", c.days, b.Sugar.Q50.GPerL(), b.Sugar.Q05.GPerL(), b.Sugar.Q95.GPerL(), s)
		}
		if c.state != "" && b.State != c.state {
			t.Errorf("day %d: %s (%v), want %s", c.days, b.State, b.States, c.state)
		}
		if !b.Start.Holds(238) {
			t.Errorf("day %d: first sugar %.0f to %.0f, truth 238", c.days, b.Start.Q05.GPerL(), b.Start.Q95.GPerL())
		}
		sum := 0.0
		for _, p := range b.States {
			sum += p
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("day %d: chances add up to %.6f", c.days, sum)
		}
	}
}

func TestSameDataSameBelief(t *testing.T) {
	t.Parallel()
	in := bin(3)
	want, _ := json.Marshal(believe(t, in))
	for k := range 3 {
		rng := rand.New(rand.NewPCG(uint64(k), 1))
		rng.Shuffle(len(in.Readings), func(a, b int) { in.Readings[a], in.Readings[b] = in.Readings[b], in.Readings[a] })
		rng.Shuffle(len(in.Warmth), func(a, b int) { in.Warmth[a], in.Warmth[b] = in.Warmth[b], in.Warmth[a] })
		if got, _ := json.Marshal(believe(t, in)); string(got) != string(want) {
			t.Fatal("the same entries in another order give another belief")
		}
	}
}

func TestWildReadingIsFlagged(t *testing.T) {
	t.Parallel()
	calm := believe(t, bin(4))
	in := bin(4)
	in.Readings[4].Value += 0.030
	b := believe(t, in)
	if d := math.Abs((b.Sugar.Q50 - calm.Sugar.Q50).GPerL()); d > 5 {
		t.Errorf("one reading 0.030 off moves the sugar by %.1f g/L", d)
	}
	if !slices.ContainsFunc(b.Flags, func(f primary.Flag) bool { return f.Code == "absurd-reading" && f.Entry == "r4" }) {
		t.Errorf("it is not flagged: %+v", b.Flags)
	}
}

// A sugar test settles what a float cannot.
func TestSugarTestSettlesDryness(t *testing.T) {
	t.Parallel()
	in := bin(9)
	if b := believe(t, in); !slices.ContainsFunc(b.Flags, func(f primary.Flag) bool { return f.Code == "not-shown-dry" }) {
		t.Errorf("dry by the float alone, and no word of a sugar test: %+v", b.Flags)
	}
	in.Readings = append(in.Readings, primary.Reading{ID: "s", At: in.At, What: primary.SugarEnzyme, Value: 0.4})
	if b := believe(t, in); slices.ContainsFunc(b.Flags, func(f primary.Flag) bool { return f.Code == "not-shown-dry" }) {
		t.Error("tested, and still asked for")
	}
	wet := bin(9)
	wet.Readings = append(wet.Readings, primary.Reading{ID: "s", At: wet.At, What: primary.SugarEnzyme, Value: 9})
	if b := believe(t, wet); b.States[primary.Dry] > 0.7 {
		t.Errorf("9 g/L by enzyme against a float that has fallen and lies flat: dry with %.2f", b.States[primary.Dry])
	}
	wet.Readings = append(wet.Readings, primary.Reading{ID: "s2", At: wet.At, What: primary.SugarTest, Value: 10})
	if b := believe(t, wet); b.States[primary.Dry] > 0.1 {
		t.Errorf("two tests of 9, yet dry with %.2f", b.States[primary.Dry])
	}
}

// A refractometer tells the same story as the float, less sharply.
func TestRefractometerAndBrixFloat(t *testing.T) {
	t.Parallel()
	float := believe(t, bin(4))
	prism, brix := bin(4), bin(4)
	for i, r := range prism.Readings {
		x, a := 262.0, 0.0 // 238 of sugar and 24 of other extract
		// what the float saw, as sugar and alcohol, by halving
		lo, hi := 0.0, 238.0
		for range 40 {
			s := (lo + hi) / 2
			d, _ := strength.WineDensity(quantity.Strength((238-s)/16.8), quantity.Concentration(s+24), 20)
			if float64(strength.SpecificGravityOf(d)) > r.Value {
				hi = s
			} else {
				lo = s
			}
		}
		if i > 0 {
			x, a = lo+24, (238-lo)/16.8
		}
		shown, err := strength.RefractometerReading(quantity.Strength(a), quantity.Concentration(x))
		if err != nil {
			t.Fatal(err)
		}
		prism.Readings[i].What, prism.Readings[i].Value = primary.Refractometer, float64(shown)
		b, err := strength.SpecificGravity(r.Value).Brix()
		if err != nil {
			t.Fatal(err)
		}
		brix.Readings[i].What, brix.Readings[i].Value = primary.Brix, float64(b)
	}
	p, b := believe(t, prism), believe(t, brix)
	if d := math.Abs((p.Sugar.Q50 - float.Sugar.Q50).GPerL()); d > 20 || p.Sugar.Width() < float.Sugar.Width() {
		t.Errorf("prism %.0f ± %.0f, float %.0f ± %.0f g/L", p.Sugar.Q50.GPerL(), p.Sugar.Width().GPerL(), float.Sugar.Q50.GPerL(), float.Sugar.Width().GPerL())
	}
	if d := math.Abs((b.Sugar.Q50 - float.Sugar.Q50).GPerL()); d > 3 {
		t.Errorf("the same float graduated in Brix: %.1f against %.1f g/L", b.Sugar.Q50.GPerL(), float.Sugar.Q50.GPerL())
	}
}

// 105 L at this rate: heat, gas and air by hand from the rate that is shown.
func TestConsequencesFollowTheRate(t *testing.T) {
	t.Parallel()
	b := believe(t, bin(3))
	rate := b.Rate.Q50.GPerLDay()
	if w := rate * 105 * 560 / 86400; math.Abs(b.Heat.Now.Q50.Watts()-w) > 1e-6*w {
		t.Errorf("heat %.2f W, by hand %.2f", b.Heat.Now.Q50.Watts(), w)
	}
	litres := rate * 105 / 24 * 0.4886 / 44.009 * 24.055 // ideal gas at 20 °C
	if g := b.Gas.Now.Q50.LitresPerHour(); math.Abs(g/litres-1) > 1e-3 {
		t.Errorf("gas %.2f L/h, by hand %.2f", g, litres)
	}
	air := b.Gas.Now.Q95.LitresPerHour() / (0.005 - 0.00042) / 1000
	if got := b.Gas.Air.CubicMetresPerHour(); math.Abs(got/air-1) > 1e-6 {
		t.Errorf("air %.2f m³/h, by hand %.2f", got, air)
	}
	if !slices.ContainsFunc(b.Flags, func(f primary.Flag) bool { return f.Code == "co2" && f.Act != "" }) {
		t.Error("no caution of CO2")
	}
}

func TestNutrientPressAndBacteria(t *testing.T) {
	t.Parallel()
	early, late := believe(t, bin(2)), believe(t, bin(6))
	if early.Nutrient.Gone > 1./3 || late.Nutrient.Gone < 2./3 {
		t.Fatalf("%.2f and %.2f of the sugar gone", early.Nutrient.Gone, late.Nutrient.Gone)
	}
	if !strings.Contains(late.Nutrient.Words, "too late") || strings.Contains(early.Nutrient.Words, "too late") {
		t.Errorf("%q, %q", early.Nutrient.Words, late.Nutrient.Words)
	}
	for _, b := range []primary.Belief{early, late} {
		if b.Press.From.Q50 == nil || b.Press.By.Q50 == nil || b.Press.By.Q50.Before(*b.Press.From.Q50) {
			t.Errorf("press %+v", b.Press)
		}
	}
	dosed := bin(6)
	dosed.Nutrients = []primary.Dose{{At: hours(140), Amount: 40 * quantity.MilligramPerLitre}}
	if b := believe(t, dosed); !slices.ContainsFunc(b.Flags, func(f primary.Flag) bool { return f.Code == "late-nutrient" }) {
		t.Error("nitrogen in the tail passes without a word")
	}
	// 0 Brix is a gravity of 1.0000: the truth passes it 6.0 days after pitching, by the law
	if d := early.Press.From; !within(d, hours(24*4), hours(24*9)) {
		t.Errorf("0 Brix %v to %v", d.Q05, d.Q95)
	}
	hot := bin(2)
	hot.Warmth = append(hot.Warmth, primary.Temperature{At: hours(40), Value: 31})
	hot.TotalSO2 = 60 * quantity.MilligramPerLitre
	if b := believe(t, hot); len(b.Bacteria.Against) < 2 {
		t.Errorf("31 °C and 60 mg/L SO2 speak against co-inoculation: %v", b.Bacteria.Against)
	}
}

func within(d primary.DayInterval, a, b time.Time) bool {
	return d.Q50 != nil && d.Q50.After(a) && d.Q50.Before(b)
}

// A stop out of nowhere is called, told from a slow one, and its cause is said to be
// outside what the law knows; warmth lost is found as cold.
func TestStopIsCalledAndItsCauseRanked(t *testing.T) {
	t.Parallel()
	in := bin(5)
	flat := in.Readings[len(in.Readings)-1]
	for h := 132.0; h <= 204; h += 12 { // three days at the same density
		r := flat
		r.ID, r.At, r.Degassed, r.Value = fmt.Sprint("f", h), hours(h), true, 1.0200
		in.Readings = append(in.Readings, r)
	}
	for i := range in.Readings { // it stopped at 1.020 on day 4
		if in.Readings[i].At.Sub(pitched).Hours() > 90 {
			in.Readings[i].Value = 1.0200 + 0.0004*float64(i%3-1)
		}
	}
	in.At = hours(206)
	for seed := uint64(1); seed <= 3; seed++ { // a lucky draw would not do
		in.Seed = seed
		b := believe(t, in)
		if b.State != primary.Stuck || b.Sticks < 0.9 || b.Stalled < 0.5 {
			t.Errorf("seed %d: %s, sticks %.2f, stalled %.2f", seed, b.State, b.Sticks, b.Stalled)
		}
		d, err := primary.Diagnose(in)
		if err != nil {
			t.Fatal(err)
		}
		if again, _ := primary.Diagnose(in); !reflect.DeepEqual(d, again) {
			t.Errorf("seed %d: another diagnosis of the same input", seed)
		}
		if len(d.Causes) == 0 || d.Causes[0].Name != "something else" {
			t.Errorf("seed %d: causes %+v", seed, d.Causes)
		}
		if len(d.Ways) == 0 || d.Ways[0].Name != "rescue culture" || d.Ways[0].Spared < 0.3 {
			t.Errorf("seed %d: ways %+v", seed, d.Ways)
		}
		for _, w := range d.Ways {
			if w.Dry.Q05 != nil && w.Dry.Q05.Before(in.At) {
				t.Errorf("seed %d: %s, begun today, would have brought it dry on %s", seed, w.Name, w.Dry.Q05)
			}
		}
	}
}

func TestColdIsFoundAsTheCause(t *testing.T) {
	t.Parallel()
	in := binAt(9, func(h float64) quantity.Temperature { // a cold spell in the third night
		return quantity.Temperature(22 - 14*min(1, max(0, (h-60)/24)))
	})
	d, err := primary.Diagnose(in)
	if err != nil {
		t.Fatal(err)
	}
	// a stop outside the law cannot be ruled out from a slow ferment; among what the
	// law can weigh, cold must come first
	known := slices.DeleteFunc(d.Causes, func(c primary.Cause) bool { return c.Name == "something else" })
	if len(known) == 0 || known[0].Name != "cold" {
		t.Errorf("cold spell: %+v", d.Causes)
	}
}

func TestBadInputNamesItself(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		bend func(*primary.Input)
		want string
	}{
		{"no day", func(i *primary.Input) { i.At = time.Time{} }, "day of the belief is missing"},
		{"no yeast day", func(i *primary.Input) { i.Pitched = time.Time{} }, "day the yeast went in is missing"},
		{"volume", func(i *primary.Input) { i.Volume = -4 }, "volume of must is -4 L: allowed is 0.1 to 1e+06 L"},
		{"gravity", func(i *primary.Input) { i.Readings[1].Value = 10.95 }, "specific gravity of 2 October 2025 is 10.95: allowed is 0.98 to 1.17"},
		{"what", func(i *primary.Input) { i.Readings[1].What = "taste" }, `reading of 2 October 2025 is of "taste"`},
		{"sample", func(i *primary.Input) { i.Readings[1].Temperature = 71 }, "temperature of the sample of 2 October 2025 is 71 °C"},
		{"must", func(i *primary.Input) { i.Warmth[1].Value = 78 }, "temperature of 2 October 2025 is 78 °C"},
		{"nitrogen", func(i *primary.Input) { i.Nitrogen = &primary.Measured{Value: 180} }, "assimilable nitrogen is 180000 mg/L"},
		{"years later", func(i *primary.Input) { i.At = i.At.AddDate(2, 0, 0) }, "allowed is up to 200 days after the yeast went in"},
		{"not a number", func(i *primary.Input) { i.Readings[1].Value = math.NaN() }, "is NaN"},
	} {
		in := bin(2)
		c.bend(&in)
		if _, err := primary.Believe(in); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// Nothing a person can type makes it panic or give NaN.
func TestAnyRecordGivesAnAnswer(t *testing.T) {
	if testing.Short() {
		t.Skip("many beliefs")
	}
	t.Parallel()
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		if n++; n > 25 { // each is some 30 ms
			return
		}
		in := primary.Input{Volume: 23, Pitched: pitched, At: hours(rapid.Float64Range(-30, 400).Draw(r, "at")), Red: rapid.Bool().Draw(r, "red"), Wild: rapid.Bool().Draw(r, "wild"), Horizon: 20}
		for range rapid.IntRange(0, 8).Draw(r, "readings") {
			w := rapid.SampledFrom(primary.Whats()).Draw(r, "what")
			v := rapid.Float64Range(0.99, 1.16).Draw(r, "gravity")
			if w != primary.Gravity && w != primary.Float {
				v = rapid.Float64Range(0, 37).Draw(r, "value")
			}
			in.Readings = append(in.Readings, primary.Reading{At: hours(rapid.Float64Range(-50, 450).Draw(r, "h")), What: w, Value: v, Temperature: quantity.Temperature(rapid.Float64Range(5, 38).Draw(r, "t")), Instrument: rapid.SampledFrom([]string{"", "a", "b", "c", "d", "e"}).Draw(r, "which")})
		}
		for range rapid.IntRange(0, 2).Draw(r, "doses") {
			in.Nutrients = append(in.Nutrients, primary.Dose{At: hours(rapid.Float64Range(-10, 300).Draw(r, "n")), Amount: quantity.Concentration(rapid.Float64Range(0, 0.2).Draw(r, "N"))})
			in.Sugared = append(in.Sugared, primary.Dose{At: hours(rapid.Float64Range(-10, 100).Draw(r, "s")), Amount: quantity.Concentration(rapid.Float64Range(0, 40).Draw(r, "S"))})
		}
		b, err := primary.Believe(in)
		if err != nil {
			r.Fatal(err)
		}
		if _, err := json.Marshal(b); err != nil { // json refuses NaN and Inf
			r.Fatal(err)
		}
		if b.Sugar.Q05 > b.Sugar.Q50 || b.Sugar.Q50 > b.Sugar.Q95 || b.Sugar.Q05 < 0 {
			r.Fatalf("%+v", b.Sugar)
		}
	})
}

func BenchmarkBeliefOf40Readings(b *testing.B) {
	in := bin(20) // 41 readings, 21 days, with the forecast
	for b.Loop() {
		if _, err := primary.Believe(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBeliefInMidFerment(b *testing.B) {
	in := bin(4)
	for b.Loop() {
		if _, err := primary.Believe(in); err != nil {
			b.Fatal(err)
		}
	}
}
