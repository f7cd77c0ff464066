package blend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/science/acidbase"
	"elevage/science/quantity"
)

var day0 = time.Date(2026, 11, 1, 9, 0, 0, 0, time.UTC)

// wine is one to be put on hand, as it would be read.
type wine struct {
	vessel, variety            string
	litres, alc, ph, ta, malic float64
	va, so2                    float64 // g/L, mg/L
	sugar                      float64
	wanted                     bool // malolactic conversion is
}

type failer interface {
	Helper()
	Fatal(...any)
}

// onHand writes wines into a cellar as a person would, and takes them out as sources.
func onHand(t failer, wines ...wine) []Source {
	t.Helper()
	s, now := stateOf(t, wines...)
	sources, err := Sources(s, nil, now)
	if err != nil {
		t.Fatal(err)
	}
	return sources
}

func stateOf(t failer, wines ...wine) (*cellar.State, time.Time) {
	t.Helper()
	entries, now := written(t, wines...)
	return cellar.Fold(entries, cellar.Options{}), now
}

// written are the entries.
func written(t failer, wines ...wine) ([]cellar.Entry, time.Time) {
	t.Helper()
	now, rng := day0, rand.NewChaCha8([32]byte{1})
	var entries []cellar.Entry
	do := func(b cellar.Body) {
		now = now.Add(time.Minute)
		es, err := cellar.Pen{Cellar: "test", Random: rng}.Write(now, cellar.Draft{Happened: cellar.At(now), Body: b})
		if err != nil {
			t.Fatal(err)
		}
		entries = append(entries, es...)
	}
	m := func(v float64, unit string) *cellar.Measure { return cellar.M(fmt.Sprintf("%.4g", v), unit) }
	for i, w := range wines {
		slug := "lot-" + w.vessel
		lot := cellar.LotStarted{Slug: slug, Colour: "red", Variety: w.variety, Vintage: 2024 + i%2}
		if w.wanted {
			lot.Malolactic = cellar.MalolacticWanted
		}
		do(lot)
		do(cellar.VesselNamed{Slug: w.vessel, Type: "carboy", Size: m(w.litres, "L"), Walk: i + 1})
		do(cellar.Movement{How: "filling", Lot: slug, To: []cellar.Portion{{Vessel: w.vessel, Volume: m(w.litres, "L")}}})
		read := func(what string, v *cellar.Measure) {
			do(cellar.Reading{Vessel: w.vessel, What: what, Value: v})
		}
		read(cellar.ReadAlcohol, m(w.alc, "% vol"))
		if w.ph > 0 {
			read(cellar.ReadPH, m(w.ph, "pH"))
			do(cellar.Reading{Vessel: w.vessel, What: cellar.ReadTA, Value: m(w.ta, "g/L"), As: "tartaric", EndPoint: "8.2"})
		}
		read(cellar.ReadMalic, m(w.malic, "g/L"))
		read(cellar.ReadVA, m(w.va, "g/L"))
		read(cellar.ReadTotalSO2, m(w.so2, "mg/L"))
		read(cellar.ReadSugar, m(w.sugar, "g/L"))
	}
	return entries, now
}

// andThen writes more entries, an hour apart.
func andThen(t failer, entries []cellar.Entry, now time.Time, bodies ...cellar.Body) ([]cellar.Entry, time.Time) {
	t.Helper()
	rng := rand.NewChaCha8([32]byte{byte(len(entries))})
	for _, b := range bodies {
		now = now.Add(time.Hour)
		es, err := cellar.Pen{Cellar: "test", Random: rng}.Write(now, cellar.Draft{Happened: cellar.At(now), Body: b})
		if err != nil {
			t.Fatal(err)
		}
		entries = append(entries, es...)
	}
	return entries, now
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance || math.IsNaN(got) {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tolerance)
	}
}

func find(t testing.TB, w Wish) Answer {
	t.Helper()
	a, err := Find(w)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (b *Blend) litres(vessel string) float64 {
	for _, p := range b.Parts {
		if p.Source.Vessel == vessel {
			return p.Volume.Litres()
		}
	}
	return 0
}

var (
	merlot   = wine{"c1", "Merlot", 54, 13.8, 3.68, 5.2, 0.1, 0.45, 40, 1, false}
	cabernet = wine{"c2", "Cabernet", 23, 12.2, 3.40, 6.6, 0.1, 0.35, 30, 1, false}
	press    = wine{"c3", "Merlot", 20, 13.4, 3.85, 4.8, 0.1, 0.90, 60, 1, false}
)

// The cross of alligation: wines of 13.8 and 12.2 % vol make 13.0 half and half, and
// 23 L of the weaker allow 46 L in all.
func TestTheCross(t *testing.T) {
	t.Parallel()
	a := find(t, Wish{Sources: onHand(t, merlot, cabernet), Limits: []Limit{AlcoholIs(13)}})
	if len(a.Blends) == 0 {
		t.Fatalf("%+v", a.Conflict)
	}
	most := a.Blends[0]
	near(t, "volume", most.Volume.Litres(), 46, 1e-4)
	near(t, "merlot", most.litres("c1"), 23, 1e-4)
	near(t, "cabernet", most.litres("c2"), 23, 1e-4)
	if !most.Parts[0].All && !most.Parts[1].All {
		t.Error("the cabernet is used up, and it is not said")
	}
}

// A worked blend. By hand: 40 L with 13.4 % vol out of 13.8 and 12.2: 30 and 10 L;
// TA (30·5.2+10·6.6)/40 = 5.55, VA (30·0.45+10·0.35)/40 = 0.425 g/L, total SO2
// (30·40+10·30)/40 = 37.5 mg/L. The pH is what acidbase solves when both wines are
// anchored and mixed from full composition.
func TestWorkedBlend(t *testing.T) {
	t.Parallel()
	a := find(t, Wish{Sources: onHand(t, merlot, cabernet), Targets: []Target{Aim(AlcoholIs(13.4), quantity.Strength(0.1))}, Least: 40, Most: 40})
	b := a.Blends[0]
	near(t, "merlot", b.litres("c1"), 30, 1e-6)
	near(t, "cabernet", b.litres("c2"), 10, 1e-6)
	near(t, "TA", b.Wine.TA.Value.GPerL(), 5.55, 1e-9)
	near(t, "VA", b.Wine.VA.Value.GPerL(), 0.425, 1e-9)
	near(t, "total SO2", b.Wine.TotalSO2.Value.MgPerL(), 37.5, 1e-9)
	near(t, "miss", b.Misses[0].By, 0, 1e-6)
	one, two := anchored(t, merlot), anchored(t, cabernet)
	mixed, _, err := acidbase.Mix(acidbase.Part{Composition: one, Volume: 30}, acidbase.Part{Composition: two, Volume: 10})
	if err != nil {
		t.Fatal(err)
	}
	want, err := mixed.PH()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pH", float64(b.Wine.PH.Value), float64(want), 1e-6)
}

func anchored(t failer, w wine) acidbase.Composition {
	t.Helper()
	c, err := acidbase.Anchor(acidbase.Measured{PH: quantity.PH(w.ph), TA: quantity.Concentration(w.ta), EndPoint: acidbase.EndPointAOAC, Malic: quantity.Concentration(w.malic),
		Acetic: acidbase.Given(quantity.Concentration(w.va)), Alcohol: quantity.Strength(w.alc), Temperature: 20})
	if err != nil {
		t.Fatal(err)
	}
	return c.Composition
}

// The pH that was asked for is the pH that is solved.
func TestPHIsMet(t *testing.T) {
	t.Parallel()
	sources := onHand(t, merlot, cabernet, press)
	for _, want := range []quantity.PH{3.45, 3.52, 3.60, 3.70} {
		a := find(t, Wish{Sources: sources, Limits: []Limit{PHIs(want)}, Least: 10})
		if len(a.Blends) == 0 {
			t.Fatalf("pH %v: %+v", want, a.Conflict)
		}
		for _, b := range a.Blends {
			near(t, fmt.Sprintf("pH %v", want), float64(b.Wine.PH.Value), float64(want), 1e-4)
		}
	}
}

// Wine of pH 3.25 and a stronger one of less acid make one of more than 3.25 together:
// a wish for 3.25 leaves room between them, though each alone is at it or below.
func TestRoomThatOnlyTheMixtureHas(t *testing.T) {
	t.Parallel()
	sources := onHand(t, wine{"c1", "", 10, 11.5, 3.25, 6.155, 0.1, 0.35, 72, 1, false}, wine{"c2", "", 13, 13.46, 3.239, 4.8, 0.1, 0.5, 39, 1, false})
	w := Wish{Sources: sources, Limits: []Limit{PH(3.25, 3.4)}, Least: 10, Most: 10, Targets: []Target{Aim(AlcoholIs(13), quantity.Strength(0.2))}}
	tried, err := w.Pour(map[string]quantity.Volume{"c1": 8.5, "c2": 1.5})
	if err != nil || len(tried.Broken) > 0 {
		t.Fatalf("pH %v: %v %v", tried.Wine.PH.Value, tried.Broken, err)
	}
	if a := find(t, w); len(a.Blends) == 0 || a.Blends[0].Worst() > tried.Worst() {
		t.Errorf("%d are found; 8.5 and 1.5 L are %v off", len(a.Blends), tried.Worst())
	}
}

// Wishes against each other: a lower pH costs alcohol. No blend that comes back is
// better than another in everything, and both ends of the bargain are there.
func TestTradeOff(t *testing.T) {
	t.Parallel()
	a := find(t, Wish{Sources: onHand(t, merlot, cabernet, press), Least: 20, Most: 20,
		Targets: []Target{Aim(AlcoholIs(13.8), quantity.Strength(0.2)), Aim(PHIs(3.42), quantity.PH(0.05))}, Limits: []Limit{VA(0, 0.6)}})
	if len(a.Blends) < 3 {
		t.Fatalf("%d blends", len(a.Blends))
	}
	var bestAlcohol, bestPH = math.Inf(1), math.Inf(1)
	for i := range a.Blends {
		b := &a.Blends[i]
		bestAlcohol, bestPH = min(bestAlcohol, math.Abs(b.Misses[0].By)), min(bestPH, math.Abs(b.Misses[1].By))
		for j := range a.Blends {
			if i != j && beats(&a.Blends[j], b) {
				t.Errorf("%s is beaten by %s", b.Why, a.Blends[j].Why)
			}
		}
		if i > 0 && b.Worst() < a.Blends[0].Worst()-0.02 {
			t.Errorf("the first is not the one that misses least: %v, %v", a.Blends[0].Worst(), b.Worst())
		}
	}
	if bestAlcohol > 0.01 || bestPH > 0.01 {
		t.Errorf("the ends are missing: alcohol %v, pH %v", bestAlcohol, bestPH)
	}
	// The middle misses both alike: that is what meeting them together means here.
	near(t, "misses of the first", math.Abs(a.Blends[0].Misses[0].By), math.Abs(a.Blends[0].Misses[1].By), 0.05)
}

// Limits that cannot be kept together, worked by hand: of merlot (13.8 % vol, VA
// 0.45) and press wine (13.4, 0.90), at least 30 % press wine means a VA of at least
// 0.585; and VA of at most 0.5 means at most 1/9 of it.
func TestConflictByHand(t *testing.T) {
	t.Parallel()
	a := find(t, Wish{Sources: onHand(t, merlot, press), Least: 10,
		Limits: []Limit{ShareOf(ByLot, "lot-c3", 0.3, 1), VA(0, 0.5), Alcohol(12, 15)}})
	c := a.Conflict
	if c == nil || len(c.Limits) != 2 {
		t.Fatalf("%+v", a)
	}
	for _, s := range c.Limits {
		switch s.Limit.p {
		case share:
			near(t, "share at most", s.Nearest, 1./9, 1e-6)
			near(t, "share off by", s.By, 0.3-1./9, 1e-6)
		case va:
			near(t, "VA at least", s.Nearest, 0.585, 1e-6)
			near(t, "VA off by", s.By, 0.085, 1e-6)
		default:
			t.Errorf("%s is no part of it", s.Limit)
		}
	}
	if !strings.Contains(c.Says, "share of lot-c3 at least 30 %") || !strings.Contains(c.Says, "volatile acidity at most 0.5 g/L") {
		t.Errorf("it says %q", c.Says)
	}
}

func TestOtherConflicts(t *testing.T) {
	t.Parallel()
	sources := onHand(t, merlot, cabernet)
	for _, c := range []struct {
		name  string
		wish  Wish
		words string
		most  float64
	}{
		{"no wine is so strong", Wish{Limits: []Limit{Alcohol(14.5, 15)}}, "alcohol", 0},
		{"no wine has so low a pH", Wish{Limits: []Limit{PH(3.0, 3.3)}}, "pH", 0},
		{"more than there is", Wish{Least: 100}, "77 L are on hand", 77},
		{"more than the limits allow", Wish{Least: 60, Limits: []Limit{AlcoholIs(13)}}, "46 L can be made at most", 46},
		{"no vessel is filled", Wish{Limits: []Limit{AlcoholIs(13)}, Into: []quantity.Volume{225}}, "fill none of the vessels", 46},
		{"only with part vessels", Wish{Limits: []Limit{AlcoholIs(13)}, Whole: true}, "no choice of whole vessels", 46},
		{"nothing of the kind", Wish{Limits: []Limit{ShareOf(ByVariety, "Malbec", 0.1, 1)}}, "share of Malbec", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.wish.Sources = sources
			a := find(t, c.wish)
			if a.Conflict == nil || !strings.Contains(a.Conflict.Says, c.words) {
				t.Fatalf("%+v %+v", a.Conflict, a.Blends)
			}
			near(t, "the most", a.Conflict.Most.Litres(), c.most, 1e-3)
		})
	}
	// How far a pH is out of reach is told as it is solved: the cabernet alone has 3.40.
	a := find(t, Wish{Sources: sources, Limits: []Limit{PH(3.0, 3.3)}})
	near(t, "nearest pH", a.Conflict.Limits[0].Nearest, 3.40, 1e-4)
}

// Whole vessels, by hand: 54+23 = 77 L have (54·13.8+23·12.2)/77 = 13.32 % vol.
func TestWholeVessels(t *testing.T) {
	t.Parallel()
	sources := onHand(t, merlot, cabernet, press)
	a := find(t, Wish{Sources: sources, Whole: true, Least: 60, Limits: []Limit{VA(0, 0.5)}, Targets: []Target{Aim(AlcoholIs(13.3), quantity.Strength(0.1))}})
	if len(a.Blends) != 1 || len(a.Blends[0].Parts) != 2 {
		t.Fatalf("%+v", a.Blends)
	}
	b := a.Blends[0]
	near(t, "volume", b.Volume.Litres(), 77, 1e-9)
	near(t, "alcohol", b.Wine.Alcohol.Value.Percent(), (54*13.8+23*12.2)/77, 1e-9)
	for _, p := range b.Parts {
		if !p.All {
			t.Errorf("%s is left part full", p.Source.Vessel)
		}
	}
	// Into 54 + 23 L: all of it; into 54 + 20 L: 3 L are left, 3.9 %, within the reserve.
	for _, c := range []struct {
		into []quantity.Volume
		over float64
		ok   bool
	}{{[]quantity.Volume{54, 23, 10}, 0, true}, {[]quantity.Volume{54, 20}, 3, true}, {[]quantity.Volume{54, 15}, 0, false}} {
		a := find(t, Wish{Sources: sources[:2], Whole: true, Least: 60, Into: c.into})
		if (len(a.Blends) > 0) != c.ok {
			t.Errorf("into %v: %+v", c.into, a)
			continue
		}
		if c.ok {
			near(t, fmt.Sprintf("left over of %v", c.into), a.Blends[0].Over.Litres(), c.over, 1e-9)
		}
	}
}

func TestFillsVessels(t *testing.T) {
	t.Parallel()
	a := find(t, Wish{Sources: onHand(t, merlot, cabernet), Limits: []Limit{AlcoholIs(13)}, Into: []quantity.Volume{20, 15, 10}})
	if len(a.Blends) == 0 {
		t.Fatalf("%+v", a.Conflict)
	}
	b := a.Blends[0]
	near(t, "volume", b.Volume.Litres(), 45, 1e-9)
	if len(b.Filled) != 3 || b.Over > 1e-9 {
		t.Errorf("filled %v, over %v", b.Filled, b.Over)
	}
}

func TestSourcesLeftOut(t *testing.T) {
	t.Parallel()
	sweet, converting, unread := merlot, cabernet, press
	sweet.sugar = 12
	converting.malic, converting.wanted = 1.5, true
	unread.ph = 0
	sources := onHand(t, sweet, converting, unread, wine{"c4", "Merlot", 10, 13, 3.5, 6, 0.1, 0.4, 30, 1, false})
	a := find(t, Wish{Sources: sources, Limits: []Limit{PH(3.3, 3.7)}})
	why := map[string]string{}
	for _, e := range a.Excluded {
		why[e.Vessel] = e.Why
	}
	if len(why) != 3 || !strings.Contains(why["c1"], "sugar") || !strings.Contains(why["c2"], "malic") || !strings.Contains(why["c3"], "never read together") {
		t.Errorf("left out: %v", why)
	}
	if len(a.Blends) == 0 || len(a.Blends[0].Parts) != 1 {
		t.Errorf("%+v", a.Blends)
	}
	a = find(t, Wish{Sources: sources, Unfinished: true})
	if len(a.Excluded) != 0 {
		t.Errorf("left out all the same: %v", a.Excluded)
	}
	if a := find(t, Wish{Sources: sources[2:3], Limits: []Limit{PH(3, 4)}}); a.Conflict == nil {
		t.Error("a blend of nothing")
	}
}

func TestBadWishes(t *testing.T) {
	t.Parallel()
	sources := onHand(t, merlot)
	for name, w := range map[string]Wish{
		"no wines": {}, "ends the wrong way round": {Sources: sources, Limits: []Limit{PH(3.7, 3.3)}}, "not a number": {Sources: sources, Limits: []Limit{PH(quantity.PH(math.NaN()), 3.3)}},
		"no tolerance": {Sources: sources, Targets: []Target{Aim(PHIs(3.5), quantity.PH(0))}}, "two values aimed at": {Sources: sources, Targets: []Target{Aim(PH(3.4, 3.6), quantity.PH(0.1))}},
		"more than all": {Sources: sources, Limits: []Limit{ShareOf(ByVariety, "x", 0, 2)}}, "least above most": {Sources: sources, Least: 20, Most: 10}, "reserve of all": {Sources: sources, Reserve: 1},
	} {
		if _, err := Find(w); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// For random wines and wishes: every blend that comes back keeps its limits when it
// is poured together anew from the wines' own compositions, takes no more than there
// is, and misses its targets no worse than the best of many blends tried at random;
// and where none comes back, none of those tried keeps the limits.
func TestFindAgainstTrying(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 4).Draw(t, "wines")
		wines := make([]wine, n)
		for i := range wines {
			f := func(label string, lo, hi float64) float64 {
				return math.Round(rapid.Float64Range(lo, hi).Draw(t, label)*100) / 100
			}
			wines[i] = wine{fmt.Sprintf("c%d", i+1), []string{"Merlot", "Cabernet"}[i%2], f("litres", 10, 60), f("alc", 11.5, 14.5), f("pH", 3.2, 3.9), f("TA", 4.8, 7.5), 0.1, f("VA", 0.2, 1), f("SO2", 20, 120), 1, false}
		}
		limits := []Limit{VA(0, quantity.Concentration(rapid.Float64Range(0.3, 0.8).Draw(t, "VA at most")))}
		if rapid.Bool().Draw(t, "pH limited") {
			low := rapid.Float64Range(3.2, 3.7).Draw(t, "pH low")
			limits = append(limits, PH(quantity.PH(low), quantity.PH(low+rapid.Float64Range(0.03, 0.2).Draw(t, "pH room"))))
		}
		if rapid.Bool().Draw(t, "variety") {
			limits = append(limits, ShareOf(ByVariety, "Merlot", rapid.Float64Range(0, 0.9).Draw(t, "merlot"), 1))
		}
		sources := onHand(t, wines...)
		w := Wish{Sources: sources, Limits: limits, Least: 10, Most: 10,
			Targets: []Target{Aim(AlcoholIs(13), quantity.Strength(0.2)), Aim(PHIs(3.5), quantity.PH(0.05))}}
		a, err := Find(w)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range a.Blends {
			var parts []compose.Part
			for _, p := range b.Parts {
				if p.Volume > p.Source.Volume*(1+1e-9) {
					t.Errorf("%v L of %v in %s", p.Volume, p.Source.Volume, p.Source.Vessel)
				}
				parts = append(parts, compose.Part{Wine: p.Source.Wine, Volume: p.Volume})
			}
			got, err := compose.Mix(parts...)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range limits {
				v := valueIn(l, &got, b.Parts)
				if slack := 2e-3 * properties[l.p].scale; v > l.high+slack || v < l.low-slack {
					t.Errorf("%s is %v", l, v)
				}
			}
		}
		rng := rand.New(rand.NewPCG(1, 2))
		for range 120 {
			shares, sum := make([]float64, n), 0.0
			for i := range shares {
				shares[i] = rng.ExpFloat64()
				sum += shares[i]
			}
			var parts []Part
			var mix []compose.Part
			for i := range shares {
				v := quantity.Volume(10 * shares[i] / sum)
				parts, mix = append(parts, Part{Source: sources[i], Volume: v}), append(mix, compose.Part{Wine: sources[i].Wine, Volume: v})
			}
			got, err := compose.Mix(mix...)
			if err != nil {
				t.Fatal(err)
			}
			ok := true
			for _, l := range limits {
				v := valueIn(l, &got, parts)
				ok = ok && v >= l.low && v <= l.high
			}
			if !ok {
				continue
			}
			if len(a.Blends) == 0 {
				t.Fatalf("none was found, and here is one: %v; %s", shares, a.Conflict.Says)
			}
			worst := max(math.Abs(got.Alcohol.Value.Percent()-13)/0.2, math.Abs(float64(got.PH.Value)-3.5)/0.05)
			// A pH is linear in base, not quite in itself: a twentieth of a tolerance.
			if worst < a.Blends[0].Worst()*0.95-0.05 {
				t.Errorf("one tried at random misses by %v, the best found by %v", worst, a.Blends[0].Worst())
			}
		}
	})
}

func valueIn(l Limit, w *compose.Wine, parts []Part) float64 {
	if l.p != share {
		v, _ := l.p.of(w)
		return v
	}
	var sum, total float64
	for _, p := range parts {
		sum += p.Source.Shares[l.kind][l.name] * p.Volume.Litres()
		total += p.Volume.Litres()
	}
	return sum / total
}

func BenchmarkFind(b *testing.B) {
	var wines []wine
	rng := rand.New(rand.NewPCG(5, 6))
	for i := range 12 {
		wines = append(wines, wine{fmt.Sprintf("c%d", i+1), []string{"Merlot", "Cabernet", "Syrah"}[i%3], 20 + 30*rng.Float64(), 12 + 2.5*rng.Float64(), 3.3 + 0.5*rng.Float64(), 5 + 2*rng.Float64(), 0.1, 0.3 + 0.5*rng.Float64(), 30, 1, false})
	}
	w := Wish{Sources: onHand(b, wines...), Limits: []Limit{VA(0, 0.6), PH(3.3, 3.6), ShareOf(ByVariety, "Merlot", 0.5, 1)}, Least: 50,
		Targets: []Target{Aim(AlcoholIs(13.2), quantity.Strength(0.2)), Aim(PHIs(3.5), quantity.PH(0.05)), Aim(TAIs(5.8), quantity.Concentration(0.3))}}
	for b.Loop() {
		if _, err := Find(w); err != nil {
			b.Fatal(err)
		}
	}
}
