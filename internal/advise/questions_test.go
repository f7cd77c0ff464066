package advise

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"elevage/internal/bench"
	"elevage/internal/blend"
	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/gather"
	science "elevage/science/ageing"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// A question is one that a winemaker asks standing in the cellar, by its number in
// docs/questions.md, with the test that shows it answered.
type question struct {
	number int
	test   func(t *testing.T)
}

// says demands that a step is in the plan, at a vessel, and that its words hold some.
func says(t *testing.T, p Today, vessel, step string, words ...string) *Act {
	t.Helper()
	a := find(p, vessel, step)
	if a == nil {
		t.Fatalf("%s is not in the plan for %s", step, vessel)
	}
	for _, w := range words {
		if !strings.Contains(a.Do+". "+a.Why+" "+a.Late, w) {
			t.Errorf("%s does not say %q: %s. %s", step, w, a.Do, a.Why)
		}
	}
	return a
}

func fermenting(t *testing.T, from float64, gravities ...string) *diary {
	d := newDiary(t)
	mustOf(d)
	d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
	ferment(d, from, gravities...)
	return d
}

// malo is the belief about an invented wine of 23 L, inoculated on 1 October.
func malo(t *testing.T, at string, rows ...string) track.Belief {
	t.Helper()
	facts, err := track.ReadFacts(strings.NewReader(`{"colour":"red","volume_l":23,"abv_pct":13.2,"temp_c":20,"ph":3.42,"ta_g_l":7.4,"ta_endpoint_ph":8.2,"free_so2_mg_l":2,"total_so2_mg_l":18,"malic_g_l":2.4,"inoculated":"2026-10-01","inoculation":"rehydrated"}`))
	if err != nil {
		t.Fatal(err)
	}
	readings, bad, err := track.ReadReadings(strings.NewReader("at,what,value\n"+strings.Join(rows, "\n")+"\n"), false)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	day, err := time.Parse(time.DateOnly, at)
	if err != nil {
		t.Fatal(err)
	}
	b, err := track.Malo(track.Input{Facts: facts, Readings: readings, At: day, Options: track.Options{Particles: 400}})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func run(t *testing.T, calculator string, args ...string) bench.Result {
	t.Helper()
	c, err := bench.Find(calculator)
	if err != nil {
		t.Fatal(err)
	}
	given, err := bench.ParseArgs(args)
	if err != nil {
		t.Fatal(err)
	}
	r, err := c.Run(given)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func figure(t *testing.T, r bench.Result, key string, low, high float64) {
	t.Helper()
	if got, ok := r.Number(key); !ok || got < low || got > high {
		t.Errorf("%s of %s is %v, allowed is %v to %v", key, r.Calculator, got, low, high)
	}
}

// sulfur is the belief about an invented red of 54 L in glass, dosed on day 0.
func sulfur(t *testing.T, days int, warmth quantity.Temperature, free quantity.Concentration) ageing.Belief {
	t.Helper()
	aim := gather.Floor("red")
	start := time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)
	in := ageing.Input{Vessel: science.Glass, Volume: 54, PH: 3.62, Alcohol: 13, Red: true, At: start.AddDate(0, 0, days), Floor: aim,
		Doses:        []ageing.Dose{{ID: "d", At: start, SO2: 60 * quantity.MilligramPerLitre}},
		Temperatures: []ageing.Temperature{{At: start, Value: warmth}}}
	if free > 0 {
		in.Readings = []ageing.Reading{{ID: "r", At: start.AddDate(0, 0, days), Of: ageing.Free, Method: ageing.Aspiration, Value: free}}
	}
	b, err := ageing.Believe(in)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func questions() []question {
	return []question{
		{9, func(t *testing.T) { // 36 hours and nothing: re-pitch?
			d := fermenting(t, 2, "1.101", "1.101")
			says(t, d.plan(), "bin1", "lag", "Yeast went in on 21 September", "give fresh yeast")
		}},
		{10, func(t *testing.T) { // it dropped 0.5 Brix since this morning: is that slow?
			d := fermenting(t, 2, "1.090", "1.075", "1.070", "1.067", "1.065")
			says(t, d.plan(), "bin1", "sluggish", "points a day", "20 to 24 °C")
		}},
		{11, func(t *testing.T) { // 34 °C at the cap: emergency?
			d := fermenting(t, 2, "1.090", "1.060")
			d.read("bin1", cellar.ReadTemperature, "34", "°C")
			if a := says(t, d.plan(), "bin1", "cool", "34 °C", "above 35 it dies"); a.Standing != Due || a.Matters != 3 {
				t.Errorf("%+v", a)
			}
		}},
		{12, func(t *testing.T) { // rotten egg tonight: nutrient, air, or wait?
			d := fermenting(t, 2, "1.090", "1.070")
			d.do(cellar.Tasting{Vessel: "bin1", Faults: []string{"rotten egg"}})
			says(t, d.plan(), "bin1", "rotten-egg-early", "of the sugar gone", "nutrient")
			late := fermenting(t, 2, "1.090", "1.060", "1.030", "1.010")
			late.do(cellar.Tasting{Vessel: "bin1", Faults: []string{"rotten egg"}})
			if find(late.plan(), "bin1", "rotten-egg-early") != nil {
				t.Error("nutrient is advised after two thirds of the sugar")
			}
			says(t, late.plan(), "bin1", "rotten-egg-late", "too late to feed")
		}},
		{13, func(t *testing.T) { // is it stuck or did the cold stop it?
			d := fermenting(t, 2, "1.090", "1.060", "1.040", "1.030", "1.030", "1.030")
			d.read("bin1", cellar.ReadTemperature, "13", "°C")
			says(t, d.plan(), "bin1", "stuck-warm", "13 °C", "wait two days, compare")
		}},
		{14, func(t *testing.T) { // the airlock still ticks, density flat at 0.994: sugar?
			d := newDiary(t)
			pressed(d)
			d.entries = d.entries[:len(d.entries)-3]
			for _, day := range []float64{10, 12, 13} {
				d.on(day)
				d.read("d1", cellar.ReadDensity, "0.994", "SG")
			}
			says(t, d.plan(), "d1", "test-sugar", "0.99", "cannot see the last 2 g/L")
		}},
		{15, func(t *testing.T) { // dry at 0.996? The hydrometer cannot decide: it waits on a sugar test.
			d := newDiary(t)
			pressed(d)
			d.entries = d.entries[:len(d.entries)-3]
			d.on(12)
			d.read("d1", cellar.ReadDensity, "0.996", "SG")
			if a := says(t, d.plan(), "d1", "inoculate-malolactic"); a.Standing != Waiting || !slices.Contains(a.WaitingOn, "a sugar test") {
				t.Errorf("%s on %v", a.Standing, a.WaitingOn)
			}
		}},
		{16, func(t *testing.T) { // press tonight or Saturday?
			d := fermenting(t, 2, "1.090", "1.070", "1.050", "1.030", "1.014")
			a := says(t, d.plan(), "bin1", "press", "1.01")
			// 16 points a day: 0.014 above 1.000 is gone in one day more.
			if a.About == nil || a.About.String() != "2026-09-27" {
				t.Errorf("likely %v", a.About)
			}
		}},
		{17, func(t *testing.T) { // how much CO2 are eight bins giving off? One bin of 100 L at 240 g/L
			// over 7 days gives 38 L/h and wants 8.3 m³/h of air, by hand from the gas that sugar gives off.
			r := run(t, "co2-room", "ferments=a,100,240,7", "room_m3=40")
			figure(t, r, "co2_l_h", 37, 40)
			figure(t, r, "air_needed_m3_h", 8, 8.7)
			says(t, fermenting(t, 2, "1.090").plan(), "", "air-the-room", "carbon dioxide")
		}},
		{18, func(t *testing.T) { // pH went 3.42 to 3.47 in two weeks: converting, or the meter?
			b := malo(t, "2026-10-15", "2026-10-01,ph,3.42", "2026-10-15,ph,3.47")
			if b.Decision.Carried || b.Decision.Call == track.CallFinished || b.NextTest.What == "" || b.NextTest.Reason == "" {
				t.Errorf("%+v, next %+v", b.Decision, b.NextTest)
			}
		}},
		{19, func(t *testing.T) { // paper shows a shadow where malic was: done?
			b := malo(t, "2026-11-05", "2026-10-01,ph,3.42", "2026-10-20,ta,6.6", "2026-11-05,chromatogram,faint")
			if b.Decision.Call == track.CallFinished {
				t.Errorf("%+v", b.Decision)
			}
		}},
		{20, func(t *testing.T) { // clear paper: can I sulfite? The plan doses only once it is over, with what speaks for it.
			b := malo(t, "2026-12-20", "2026-10-01,ph,3.42", "2026-10-20,ta,6.7", "2026-11-10,ta,6.1", "2026-12-05,ta,6.05", "2026-12-05,chromatogram,none", "2026-12-20,chromatogram,none", "2026-12-20,malic,0.04")
			if b.Decision.Call != track.CallFinished || !b.Decision.Carried {
				t.Errorf("%+v", b.Decision)
			}
			one := malo(t, "2026-10-12", "2026-10-01,ph,3.42", "2026-10-12,chromatogram,none")
			if one.Decision.Call == track.CallFinished {
				t.Errorf("one clear sheet eleven days after the culture is taken for the end: %+v", one.Decision)
			}
		}},
		{21, TestOnePacketForSeveralLots},
		{22, func(t *testing.T) { // the wine is 14 °C: wait for spring or heat?
			priors := malolactic.DefaultPriors()
			at := func(c quantity.Temperature) malolactic.Outlook {
				k := malolactic.Reference
				k.Temperature = c
				o, err := priors.Predict(malolactic.Case{Conditions: k, How: malolactic.Rehydrated, Malic: malolactic.Distribution{Family: "normal", Location: 2, Spread: 0.2}, Limit: 0.1}, 800, 1)
				if err != nil {
					t.Fatal(err)
				}
				return o
			}
			if cold, warm := at(14), at(20); !(cold.Q50 > warm.Q50) || !(cold.Q95 > cold.Q05) {
				t.Errorf("14 °C: %v days, 20 °C: %v", cold.Q50, warm.Q50)
			}
			b := malo(t, "2026-10-20", "2026-10-01,temp_c,14", "2026-10-19,temp_c,14", "2026-10-20,ph,3.43")
			if !slices.ContainsFunc(b.WhatIf, func(w track.WhatIf) bool { return strings.Contains(w.What, "warm") }) {
				t.Errorf("no what-if with warmth: %+v", b.WhatIf)
			}
			d := inoculated(t)
			d.read("d1", cellar.ReadTemperature, "14", "°C")
			says(t, d.plan(), "d1", "warm", "14 °C", "18 to 22 °C")
		}},
		{23, func(t *testing.T) { // did I kill it? I topped with sulfited wine.
			d := newDiary(t)
			failures()[19].happens(d)
			says(t, d.on(21).plan(), "d1", "topped-with-sulfite", "malic acid in ten days")
		}},
		{24, func(t *testing.T) { // is total SO2 too high to start?
			d := newDiary(t)
			pressed(d)
			d.read("d1", cellar.ReadTotalSO2, "75", "mg/L")
			says(t, d.plan(), "d1", "too-much-sulfite", "75 mg/L", "above 60 mg/L")
			if find(d.plan(), "d1", "inoculate-malolactic") != nil {
				t.Error("culture is advised into 75 mg/L")
			}
		}},
		{27, func(t *testing.T) { // malic 0.3 g/L for three weeks: stuck?
			b := malo(t, "2026-12-15", "2026-10-01,ph,3.42", "2026-11-24,malic,0.30", "2026-12-04,malic,0.31", "2026-12-15,malic,0.30")
			if b.Decision.Call == track.CallFinished || b.State.Stalled < 0.2 {
				t.Errorf("%+v, stalled %.2f", b.Decision, b.State.Stalled)
			}
		}},
		{28, func(t *testing.T) { // is the cheap test or the lab better?
			b := malo(t, "2026-11-10", "2026-10-01,ph,3.42", "2026-10-25,ta,6.6")
			kinds := map[string]bool{}
			for _, o := range b.NextTest.Options {
				kinds[o.What] = true
				if o.WrongAfter > o.WrongBefore+0.02 || o.Cost < 0 {
					t.Errorf("%+v", o)
				}
			}
			if !kinds["none"] || !kinds["malic"] || !kinds["chromatogram"] {
				t.Errorf("weighed are %v", kinds)
			}
		}},
		{29, func(t *testing.T) { // can I pool three lots in one test?
			p := &plan{acts: []Act{{ID: "a", Vessel: "c1", Together: "malic", Standing: Due}, {ID: "b", Vessel: "c2", Together: "malic", Standing: Due}, {ID: "c", Vessel: "c3", Together: "malic", Standing: Due}}}
			if b := p.batches(); len(b) != 1 || !strings.Contains(b[0].Says, "behind a third") || !strings.Contains(b[0].Says, "none to decide") {
				t.Errorf("%+v", b)
			}
		}},
		{30, func(t *testing.T) { // what does free SO2 17 mean at pH 3.62? 17/(1+10^(3.62−1.81)) = 0.26 mg/L
			figure(t, run(t, "molecular-so2", "free_so2_mg_l=17", "ph=3.62", "method=handbook"), "molecular_so2_mg_l", 0.255, 0.265)
			b := sulfur(t, 60, 15, 17*quantity.MilligramPerLitre)
			if b.Dose.SO2 <= 0 || b.Molecular.Q50 >= b.Floor {
				t.Errorf("%+v", b.Dose)
			}
		}},
		{31, TestFirstDoseAWeekAfterTheEnd}, // how much metabisulfite for 54 L to get 30?
		{32, func(t *testing.T) { // when do I test next?
			if b := sulfur(t, 10, 14, 42*quantity.MilligramPerLitre); b.MeasureBy == nil || !b.MeasureBy.After(b.At) {
				t.Errorf("by %v", b.MeasureBy)
			}
		}},
		{33, func(t *testing.T) { // SO2 vanished in four weeks: leak, barrel, or bug?
			d := newDiary(t)
			aged(d)
			d.on(95)
			d.read("b1", cellar.ReadFreeSO2, "12", "mg/L")
			says(t, d.plan(), "b1", "sulfite-vanished", "first the test again", "bung", "volatile acidity")
		}},
		{34, func(t *testing.T) { // there is a white film
			d := newDiary(t)
			aged(d)
			d.on(100).do(cellar.Tasting{Vessel: "b1", Faults: []string{"white film"}})
			says(t, d.plan(), "b1", "film", "fill to the stopper", "neighbours")
		}},
		{35, func(t *testing.T) { // it smells of horse, a bit
			d := newDiary(t)
			aged(d)
			d.on(100).do(cellar.Tasting{Vessel: "b1", Faults: []string{"horse, a bit"}})
			says(t, d.plan(), "b1", "brett", "a second nose", "gear apart")
		}},
		{36, func(t *testing.T) { // rubber and cabbage in a lot on lees
			d := newDiary(t)
			aged(d)
			d.on(100).do(cellar.Tasting{Vessel: "b1", Faults: []string{"rubber", "cabbage"}})
			says(t, d.plan(), "b1", "rotten-egg-late", "Smell the lees", "copper on 100 mL")
		}},
		{37, func(t *testing.T) { // I have 3 L missing from the demijohn: where did it go?
			d := newDiary(t)
			aged(d)
			d.on(100).do(cellar.Dip{Vessel: "b1", Volume: L("50")})
			says(t, d.plan(), "b1", "settle-volume", "195 mL of 54 L")
			if !slices.ContainsFunc(d.state().Findings.Slice(), func(f *cellar.Finding) bool { return f.Code == cellar.FoundVolumeOff && strings.Contains(f.Says, "3") }) {
				t.Error("no finding names the litres")
			}
		}},
		{38, TestToppingWhileItConverts}, // which 23 L can top this barrel?
		{39, func(t *testing.T) { // oak enough?
			d := newDiary(t)
			aged(d)
			d.on(80).do(cellar.Treatment{Vessel: "b1", What: "oak-in"})
			says(t, d.on(95).plan(), "b1", "taste-oak", "stop at four fifths")
			figure(t, run(t, "oak-dose", "volume_l=54", "piece=cubes", "dose_g_l=2"), "oak_g", 107.9, 108.1)
		}},
		{40, TestAway}, // is it safe to leave it three weeks for holiday?
		{41, func(t *testing.T) { // warm summer in the garage, 26 °C: how much does it cost me?
			warm, cool := sulfur(t, 90, 26, 0), sulfur(t, 90, 13, 0)
			if !(warm.Loss.Q50 > cool.Loss.Q50) || warm.Free.Q50 >= cool.Free.Q50 {
				t.Errorf("free after 90 days: %v at 26 °C, %v at 13 °C", warm.Free.Q50, cool.Free.Q50)
			}
			d := newDiary(t)
			aged(d)
			d.on(100)
			d.read("b1", cellar.ReadTemperature, "26", "°C")
			says(t, d.plan(), "b1", "cool-to-keep", "26 °C", "browning doubles")
		}},
		{42, func(t *testing.T) { // blend 60/40 or 70/30?
			d := newDiary(t)
			for _, w := range [...]struct{ vessel, lot, alcohol, ta, ph string }{{"c1", "merlot", "13.8", "5.2", "3.68"}, {"c2", "cabernet", "12.2", "6.6", "3.40"}} {
				d.do(cellar.LotStarted{Slug: w.lot, Colour: "red"}, cellar.VesselNamed{Slug: w.vessel, Size: cellar.M("23", "L")},
					cellar.Movement{How: "filling", Lot: w.lot, To: []cellar.Portion{{Vessel: w.vessel, Volume: cellar.M("23", "L")}}},
					cellar.Reading{Vessel: w.vessel, What: cellar.ReadTA, Value: cellar.M(w.ta, "g/L"), As: "tartaric", EndPoint: "8.2"})
				d.read(w.vessel, cellar.ReadAlcohol, w.alcohol, "% vol")
				d.read(w.vessel, cellar.ReadPH, w.ph, "pH")
			}
			wish, err := (&blend.Order{}).Wish(d.state(), nil, d.now)
			if err != nil {
				t.Fatal(err)
			}
			// By hand: 0.6·13.8+0.4·12.2 = 13.16 % vol and 0.6·5.2+0.4·6.6 = 5.76 g/L; 0.7 and
			// 0.3: 13.32 and 5.62. Both pH lie between those of the wines, the second higher.
			var blends []blend.Blend
			for _, c := range [...]struct{ merlot, alcohol, ta float64 }{{12, 13.16, 5.76}, {14, 13.32, 5.62}} {
				b, err := wish.Pour(map[string]quantity.Volume{"c1": quantity.Volume(c.merlot), "c2": quantity.Volume(20 - c.merlot)})
				if err != nil {
					t.Fatal(err)
				}
				if a, ta := b.Wine.Alcohol.Value.Percent(), b.Wine.TA.Value.GPerL(); math.Abs(a-c.alcohol) > 1e-9 || math.Abs(ta-c.ta) > 1e-9 || b.Wine.Alcohol.SD <= 0 || b.Wine.PHTrouble != "" {
					t.Errorf("%v of merlot: %v %% vol, %v g/L, ± %v %s", c.merlot, a, ta, b.Wine.Alcohol.SD, b.Wine.PHTrouble)
				}
				blends = append(blends, b)
			}
			if x, y := blends[0].Wine.PH.Value, blends[1].Wine.PH.Value; !(3.40 < x && x < y && y < 3.68) {
				t.Errorf("pH %v and %v", x, y)
			}
			// The blind vote is kept: who put which code first.
			sheet, err := blend.NewSheet(2, -1, []string{"Runa", "Odo", "Wim"}, 1)
			if err != nil {
				t.Fatal(err)
			}
			trial, code := sheet.Trial(blends, 30*quantity.Millilitre), sheet.Glasses[0].Code
			for _, name := range trial.Tasters {
				trial.Preferred = append(trial.Preferred, cellar.Preference{Taster: name, Codes: []string{code}})
			}
			d.do(trial)
			if says := cellar.Says(trial); !strings.Contains(says, "put first: "+code+" 3×") {
				t.Errorf("it says %q", says)
			}
		}},
		{44, func(t *testing.T) { // did the acid trial hold up?
			d := newDiary(t)
			aged(d)
			d.on(100).do(cellar.Addition{Vessel: "b1", Product: "tartaric-acid", Amount: cellar.M("40", "g")})
			says(t, d.on(103).plan(), "b1", "acid-trial-after", "crystals", "pH now")
		}},
	}
}

// Questions 9 to 24, 27 to 42 and 44 are answered, and docs/questions.md has a row for
// each of the 55.
func TestQuestions(t *testing.T) {
	answered := map[int]bool{}
	for _, q := range append(questions(), moreQuestions()...) {
		answered[q.number] = true
		t.Run(fmt.Sprint(q.number), q.test)
	}
	for n := 1; n <= 55; n++ {
		if must := n >= 9 && n <= 24 || n >= 27 && n <= 42 || n == 44; must && !answered[n] {
			t.Errorf("question %d is not answered", n)
		}
	}
	doc, err := os.ReadFile("../../docs/questions.md")
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n <= 55; n++ {
		row := ""
		for _, line := range strings.Split(string(doc), "\n") {
			if strings.HasPrefix(line, fmt.Sprintf("| %d |", n)) {
				row = line
			}
		}
		if row == "" {
			t.Errorf("docs/questions.md has no row %d", n)
		}
		if strings.HasSuffix(row, "| yes, on its page |") {
			continue // internal/serve asks it
		}
		if tested := strings.HasSuffix(row, "| yes |"); tested != answered[n] {
			t.Errorf("docs/questions.md row %d says tested %v, the tests say %v", n, tested, answered[n])
		}
	}
}
