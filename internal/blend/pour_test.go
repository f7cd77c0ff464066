package blend

import (
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/fault"
	"elevage/science/quantity"
)

// 60/40 beside 70/30, by hand: of 13.8 and 12.2 % vol come 13.16 and 13.32; TA of 5.2
// and 6.6 g/L 5.76 and 5.62; VA of 0.45 and 0.35 g/L 0.41 and 0.42.
func TestPourSixtyFortyBesideSeventyThirty(t *testing.T) {
	t.Parallel()
	w := Wish{Sources: onHand(t, merlot, cabernet), Limits: []Limit{Alcohol(0, 13.2), VA(0, 0.43)}, Targets: []Target{Aim(TAIs(5.7), quantity.Concentration(0.3))}}
	for _, c := range []struct{ merlot, cabernet, alc, ta, va float64 }{{12, 8, 13.16, 5.76, 0.41}, {14, 6, 13.32, 5.62, 0.42}} {
		b, err := w.Pour(map[string]quantity.Volume{"c1": quantity.Volume(c.merlot), "c2": quantity.Volume(c.cabernet)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "alcohol", b.Wine.Alcohol.Value.Percent(), c.alc, 1e-9)
		near(t, "TA", b.Wine.TA.Value.GPerL(), c.ta, 1e-9)
		near(t, "VA", b.Wine.VA.Value.GPerL(), c.va, 1e-9)
		near(t, "volume", b.Volume.Litres(), 20, 1e-9)
		near(t, "off its target", b.Misses[0].Off(), c.ta-5.7, 1e-9)
		if broken := len(b.Broken) == 1 && b.Broken[0].p == alcohol; broken != (c.alc > 13.2) || len(b.Broken) > 1 {
			t.Errorf("%v/%v breaks %v", c.merlot, c.cabernet, b.Broken)
		}
		if len(b.Close) == 0 || !slices.ContainsFunc(b.Close, func(l Limit) bool { return l.p == va }) {
			t.Errorf("0.42 ± under a limit of 0.43 is told as safe: %v", b.Close)
		}
		merlot := b.Shares(ByVariety)[0]
		if merlot.Name != "Merlot" || math.Abs(merlot.Share-c.merlot/20) > 1e-9 {
			t.Errorf("%+v", b.Shares(ByVariety))
		}
		near(t, "left in c1", b.Parts[0].Left().Litres(), 54-c.merlot, 1e-9)
	}
}

func TestPourEmptiesToAHundredthOfALitre(t *testing.T) {
	t.Parallel()
	w := Wish{Sources: onHand(t, merlot, cabernet), Into: []quantity.Volume{54, 20}}
	b, err := w.Pour(map[string]quantity.Volume{"c1": 53.995, "c2": 20.5})
	if err != nil {
		t.Fatal(err)
	}
	if !b.Parts[0].All || b.Parts[1].All || b.Parts[0].Left() != 0 {
		t.Errorf("%+v", b.Parts)
	}
	near(t, "over", b.Over.Litres(), 0.5, 1e-9)
	again, err := ReadRecipe(b.Recipe())
	if err != nil || math.Abs(again["c1"].Litres()-54) > 1e-9 || again["c2"] != 20.5 {
		t.Errorf("%q reads %v, %v", b.Recipe(), again, err)
	}
	for name, v := range map[string]map[string]quantity.Volume{
		"more than there is": {"c1": 54.1}, "less than nothing": {"c1": -1}, "not a number": {"c1": quantity.Volume(math.NaN())}, "nothing": {"c1": 0}, "a vessel of no wine": {"c9": 1}} {
		if _, err := w.Pour(v); fault.KindOf(err) != fault.Invalid || len(fault.FieldsOf(err)) != 1 {
			t.Errorf("%s: %v", name, err)
		}
	}
	w.Limits = []Limit{PH(4, 3)}
	if _, err := w.Pour(map[string]quantity.Volume{"c1": 1}); err == nil {
		t.Error("a limit the wrong way round was taken")
	}
	for _, whole := range []quantity.Volume{23, 10} {
		of := Of(whole, map[string]quantity.Volume{"c1": 60, "c2": 40})
		near(t, "60 parts", of["c1"].Litres(), 0.6*whole.Litres(), 1e-12)
		near(t, "40 parts", of["c2"].Litres(), 0.4*whole.Litres(), 1e-12)
	}
}

// One wine alone is known as it was read; a blend is reckoned; what was never read is
// told as assumed.
func TestHowFiguresAreKnown(t *testing.T) {
	t.Parallel()
	unread := cabernet
	unread.ph = 0
	w := Wish{Sources: onHand(t, merlot, unread)}
	hows := func(v map[string]quantity.Volume) map[string]Figure {
		b, err := w.Pour(v)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]Figure{}
		for _, f := range b.Figures() {
			out[f.Key] = f
		}
		return out
	}
	if f := hows(map[string]quantity.Volume{"c1": 10}); f["abv_pct"].How != compose.Read || f["ph"].How != compose.Read || f["total_so2_mg_l"].Value < 39.99 || f["total_so2_mg_l"].Value > 40.01 {
		t.Errorf("alone: %+v", f)
	}
	if f := hows(map[string]quantity.Volume{"c1": 10, "c2": 20}); f["abv_pct"].How != compose.Reckon || f["ta_g_l"].How != compose.Assumed || f["ph"].Trouble == "" {
		t.Errorf("mixed: %+v", f)
	}
}

// Free SO2 of a blend lies between that of its parts. The check is a model of one
// binder with the dissociation constant of acetaldehyde and one of a weak binder: free
// after mixing is where free and bound add up to the total, found here by halving.
func TestFreeSO2LiesBetweenItsParts(t *testing.T) {
	t.Parallel()
	type must struct{ free, strong, weak float64 } // mmol/L of free SO2 and binders
	bound := func(f, strong, weak float64) float64 { return strong*f/(0.0015+f) + weak*f/(0.2+f) }
	for _, a := range []must{{0.1, 0.9, 1}, {0.5, 0.2, 4}, {0.02, 1.5, 0.3}} {
		for _, b := range []must{{0.6, 0.1, 5}, {0.3, 1.2, 0.1}} {
			for _, x := range []float64{0.1, 0.5, 0.9} {
				total := x*(a.free+bound(a.free, a.strong, a.weak)) + (1-x)*(b.free+bound(b.free, b.strong, b.weak))
				strong, weak := x*a.strong+(1-x)*b.strong, x*a.weak+(1-x)*b.weak
				low, high := 0.0, total
				for range 60 {
					if m := (low + high) / 2; m+bound(m, strong, weak) > total {
						high = m
					} else {
						low = m
					}
				}
				if low < min(a.free, b.free)-1e-9 || high > max(a.free, b.free)+1e-9 {
					t.Errorf("%v and %v at %v: %v", a, b, x, low)
				}
			}
		}
	}
}

func TestFreeSO2IsKeptByThePartsThemselves(t *testing.T) {
	t.Parallel()
	sources := onHand(t, merlot, cabernet, press)
	if sources[0].Free != nil {
		t.Fatal("free SO2 without a reading")
	}
	sources[0].Free, sources[1].Free = &FreeRead{Value: 25 * quantity.MilligramPerLitre, At: day0}, &FreeRead{Value: 12 * quantity.MilligramPerLitre, At: day0}
	limit := FreeSO2(20*quantity.MilligramPerLitre, quantity.Concentration(math.Inf(1)))
	a := find(t, Wish{Sources: sources, Limits: []Limit{limit}, Least: 10})
	if len(a.Excluded) != 2 || len(a.Blends) == 0 || a.Blends[0].Parts[0].Source.Vessel != "c1" {
		t.Fatalf("%+v", a)
	}
	if b := a.Blends[0]; b.Free == nil || b.Free[0] != b.Free[1] {
		t.Errorf("%v", b.Free)
	}
	w := Wish{Sources: sources, Limits: []Limit{limit}}
	b, err := w.Pour(map[string]quantity.Volume{"c1": 10, "c2": 10})
	if err != nil || len(b.Broken) != 1 || b.Free[0].MgPerL() != 12 || b.Free[1].MgPerL() != 25 {
		t.Errorf("%v %v %v", b.Broken, b.Free, err)
	}
	w.Targets, w.Limits = []Target{Aim(FreeSO2(0.02, 0.02), quantity.Concentration(0.005))}, nil
	if _, err := Find(w); err == nil {
		t.Error("free SO2 can be aimed at")
	}
}

// A reading of free SO2 holds until sulfite or wine comes in.
func TestFreeReadHoldsUntilSomethingComesIn(t *testing.T) {
	t.Parallel()
	entries, now := written(t, merlot, cabernet)
	entries, now = andThen(t, entries, now, cellar.Reading{Vessel: "c1", What: cellar.ReadFreeSO2, Value: cellar.M("22", "mg/L")}, cellar.Reading{Vessel: "c2", What: cellar.ReadFreeSO2, Value: cellar.M("15", "mg/L")})
	free := func() [2]*FreeRead {
		t.Helper()
		sources, err := Sources(cellar.Fold(entries, cellar.Options{}), nil, now)
		if err != nil {
			t.Fatal(err)
		}
		return [2]*FreeRead{sources[0].Free, sources[1].Free}
	}
	if f := free(); f[0] == nil || f[0].Value.MgPerL() != 22 || f[1] == nil || f[1].Value.MgPerL() != 15 {
		t.Fatalf("%v", f)
	}
	entries, now = andThen(t, entries, now, cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("2", "g")},
		cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c1", Volume: cellar.M("0.5", "L")}}, To: []cellar.Portion{{Vessel: "c2", Volume: cellar.M("0.5", "L")}}})
	if f := free(); f[0] != nil || f[1] != nil {
		t.Errorf("%v: a reading was believed after a dose and a topping", f)
	}
}

func TestReadOrder(t *testing.T) {
	t.Parallel()
	given, err := url.ParseQuery("use=C1&use=c2,c3&least_l=10+gal&most_l=40,5&into=d1&whole=yes&ph_most=3,6&ph_least=3.3&abv_pct_aim=13&share_pct_of=variety:Merlot&share_pct_least=85&total_so2_mg_l_most=120&mood=fine")
	if err != nil {
		t.Fatal(err)
	}
	o, err := ReadOrder(given)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "10 US gallons", o.LeastL, 37.85411784, 1e-6) // NIST Handbook 44: 3.785411784 L
	if o.MostL != 40.5 || !o.Whole || o.Unfinished || !slices.Equal(o.Use, []string{"c1", "c2", "c3"}) || len(o.Wants) != 4 {
		t.Fatalf("%+v", o)
	}
	s, now := stateOf(t, merlot, cabernet, press)
	o.Into = []string{"c2"}
	w, err := o.Wish(s, nil, now)
	if err != nil {
		t.Fatal(err)
	}
	var says []string
	for _, l := range w.Limits {
		says = append(says, l.String())
	}
	if got := strings.Join(says, "; "); got != "pH 3.3 to 3.6; total SO2 at most 120 mg/L; share of Merlot at least 85 %" {
		t.Errorf("%s", got)
	}
	if len(w.Targets) != 1 || w.Targets[0].String() != "alcohol 13 % vol" || len(w.Into) != 1 || w.Into[0] != 23 {
		t.Errorf("%+v", w.Targets)
	}
	for query, want := range map[string]string{
		"least_l=much":                        `least_l: "much" is given: allowed is a volume of`,
		"ph_most=34":                          `ph_most: "34" is given: allowed is a number of 2.5 to 4.5`,
		"abv_pct_aim=strong":                  `abv_pct_aim: "strong" is given: allowed is a number of 0 to 25 % vol`,
		"ta_g_l_least=7&ta_g_l_most=5":        `ta_g_l_most: "5" is given: allowed is no less than the least, 7`,
		"share_pct_least=50":                  `share_pct_of: nothing is given: allowed is a kind and a name`,
		"share_pct2_least=50&share_pct2_of=x": `share_pct2_of: "x" is given`,
		"free_so2_mg_l_aim=20":                `free_so2_mg_l_aim: "20" is given: allowed is at least and at most only`,
	} {
		given, err := url.ParseQuery(query)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadOrder(given); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", query, err)
		}
	}
	for _, o := range []Order{{Use: []string{"c9"}}, {Into: []string{"c9"}}, {Wants: []Want{{What: "mood"}}}} {
		if _, err := o.Wish(s, nil, now); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%+v: %v", o, err)
		}
	}
}

// Whatever is typed is an order or an error that names fields; what is an order keeps
// what it was given within what is allowed, and Find has an answer to it.
func FuzzReadOrder(f *testing.F) {
	for _, seed := range []string{"use=c1&ph_most=3.6&abv_pct_aim=13", "least_l=10+gal&share_pct_of=variety:Merlot&share_pct_least=85", "ph_least=NaN", "most_l=1e308", "into=c2&whole=yes&ta_g_l_least=%2B6"} {
		f.Add(seed)
	}
	s, now := stateOf(f, merlot, cabernet)
	f.Fuzz(func(t *testing.T, query string) {
		given, err := url.ParseQuery(query)
		if err != nil {
			t.Skip()
		}
		o, err := ReadOrder(given)
		if err != nil {
			if len(fault.FieldsOf(err)) == 0 {
				t.Fatalf("%v names no field", err)
			}
			return
		}
		for i := range o.Wants {
			if bad := o.Wants[i].check(); len(bad) > 0 {
				t.Fatalf("read, and not allowed: %v", bad)
			}
		}
		w, err := o.Wish(s, nil, now)
		if err != nil {
			return
		}
		a, err := Find(w)
		if err == nil && len(a.Blends) == 0 && a.Conflict == nil {
			t.Fatalf("no answer to %+v", o)
		}
		if err != nil && fault.KindOf(err) != fault.Invalid {
			t.Fatal(err)
		}
	})
}

func FuzzReadRecipe(f *testing.F) {
	for _, seed := range []string{"c1=12.25 c2=20", "c1=6, c2=4,5", "c1=1 c1=2", "c1=", "=3", "c1=-1", "c1=1 gal"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		parts, err := ReadRecipe(text)
		if err == nil && len(parts) == 0 {
			t.Fatal("a recipe of nothing")
		}
		if err != nil && fault.KindOf(err) != fault.Invalid {
			t.Fatal(err)
		}
		for vessel, v := range parts {
			if err == nil && (vessel == "" || !(v.Litres() >= pourable && v.Litres() <= mostLitres)) {
				t.Fatalf("%q gives %v of %q", text, v, vessel)
			}
		}
	})
}

// Chances by hand: three tasters of two glasses always have a majority of at least
// two, and agree by chance in 2 of 8 cases; two tasters of three glasses agree in 3
// of 9; of four tasters of two, at least three agree in (4+4+1+1)/16.
func TestByChance(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		n, k, most int
		want       float64
	}{{3, 2, 2, 1}, {3, 2, 3, 0.25}, {2, 3, 2, 1. / 3}, {4, 2, 3, 10. / 16}, {1, 2, 1, 1}, {0, 2, 1, 1}, {5, 2, 5, 2. / 32}} {
		near(t, "by chance", ByChance(c.n, c.k, c.most), c.want, 1e-12)
	}
}
