package bench

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"elevage/internal/fault"
)

// ask runs a calculator with inputs that must be right.
func ask(t interface {
	Helper()
	Fatalf(string, ...any)
}, name string, given Given) Result {
	t.Helper()
	c, err := Find(name)
	if err != nil {
		t.Fatalf("%v", err)
	}
	r, err := c.Run(given)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

func figureOf(t interface {
	Helper()
	Fatalf(string, ...any)
}, r Result, key string) float64 {
	t.Helper()
	x, ok := r.Number(key)
	if !ok {
		t.Fatalf("%s gave no %s", r.Calculator, key)
	}
	return x
}

// TestSharesSumToWhatThereIs: whatever the lots, the measured shares use up the
// suspension, each within one step of its exact part.
func TestSharesSumToWhatThereIs(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		volumes := rapid.SliceOfN(rapid.Float64Range(1, 300), 1, 12).Draw(t, "volumes")
		step := rapid.SampledFrom([]float64{0.1, 0.5, 1, 5}).Draw(t, "step")
		rows := make([]any, len(volumes))
		var wine float64
		for i, v := range volumes {
			rows[i] = map[string]any{"lot": strconv.Itoa(i), "volume_l": v}
			wine += v
		}
		r := ask(t, "culture-split", Given{"lots": rows, "packet_g": 2.5, "packet_volume_l": 250.0, "step_ml": step})
		total := figureOf(t, r, "made_up_to_ml")
		shares, _ := r.Figure("shares")
		var sum, grams float64
		for i, row := range shares.Rows {
			dose := row["dose_ml"].(float64)
			sum += dose
			grams += row["culture_g"].(float64)
			if exact := volumes[i] / wine * total; math.Abs(dose-exact) >= step*(1+1e-9) {
				t.Fatalf("lot %d gets %v mL, exact %v, step %v", i, dose, exact, step)
			}
		}
		if math.Abs(sum-total) > 1e-6 || math.Abs(grams-2.5) > 1e-9 {
			t.Fatalf("shares sum to %v of %v mL and %v of 2.5 g", sum, total, grams)
		}
	})
}

// TestDoseReachesItsAim reads the SO2 dose forwards: what was aimed at is what
// comes out, and more binding never wants less.
func TestDoseReachesItsAim(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		now := rapid.Float64Range(0, 30).Draw(t, "now")
		aim := now + rapid.Float64Range(0, 60).Draw(t, "rise")
		binding := rapid.Float64Range(0, 70).Draw(t, "binding")
		product := rapid.SampledFrom([]string{"potassium-metabisulfite", "sodium-metabisulfite", "solution"}).Draw(t, "product")
		given := Given{"volume_l": 23.0, "free_so2_mg_l": now, "target_free_mg_l": aim, "binding_pct": binding, "product": product, "malolactic": "finished"}
		r := ask(t, "so2-addition", given)
		if got := figureOf(t, r, "free_so2_after_mg_l"); math.Abs(got-aim) > 1e-6 {
			t.Fatalf("free is %v, aimed at %v", got, aim)
		}
		given["binding_pct"] = binding + 5
		if more := ask(t, "so2-addition", given); figureOf(t, more, "product_g") < figureOf(t, r, "product_g") {
			t.Fatal("more binding wants less")
		}
	})
}

// TestMolecularFallsWithPH: under each rule.
func TestMolecularFallsWithPH(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ph := rapid.Float64Range(2.5, 4.9).Draw(t, "ph")
		method := rapid.SampledFrom([]string{"handbook", "oiv", "oiv-slope"}).Draw(t, "method")
		at := func(ph float64) float64 {
			return figureOf(t, ask(t, "molecular-so2", Given{"free_so2_mg_l": 30.0, "ph": ph, "method": method}), "molecular_so2_mg_l")
		}
		if a, b := at(ph), at(ph+0.1); !(b < a && b > 0) {
			t.Fatalf("%v at pH %v, %v at %v", a, ph, b, ph+0.1)
		}
	})
}

// TestAcidThenCarbonateReturns: what tartaric acid brings, bicarbonate of equal
// equivalents takes off again, in titratable acidity.
func TestAcidThenCarbonateReturns(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ph := rapid.Float64Range(3.1, 3.8).Draw(t, "ph")
		ta := rapid.Float64Range(4.5, 8).Draw(t, "ta")
		dose := rapid.Float64Range(0.1, 2).Draw(t, "dose")
		base := Given{"ph": ph, "ta_g_l": ta, "abv_pct": 12.5, "dose_g_l": dose}
		up := ask(t, "acid-addition", base)
		down := ask(t, "deacidification", Given{"ph": ph, "ta_g_l": ta, "abv_pct": 12.5, "dose_g_l": dose / 150.087 * 2 * 100.115})
		rise, fall := figureOf(t, up, "ta_after_g_l")-ta, ta-figureOf(t, down, "ta_after_g_l")
		if math.Abs(rise-dose) > 2e-3 || math.Abs(fall-dose) > 2e-3 {
			t.Fatalf("rise %v, fall %v, dose %v", rise, fall, dose)
		}
		if figureOf(t, up, "ph_after") >= ph || figureOf(t, down, "ph_after") <= ph {
			t.Fatal("the pH went the wrong way")
		}
	})
}

// TestColdMovesThePHAwayFromTheWatershed, by hand: losing bitartrate lowers the pH below the watershed, raises it above,
// and takes 0.399 g/L of acidity for each gram.
func TestColdMovesThePHAwayFromTheWatershed(t *testing.T) {
	t.Parallel()
	for _, ph := range []float64{3.40, 3.90} {
		r := ask(t, "cold-stability", Given{"ph": ph, "ta_g_l": 6.0, "abv_pct": 12.5, "cold_c": 5.0})
		watershed := figureOf(t, r, "watershed_ph")
		fallen := figureOf(t, r, "bitartrate_falls_g_l")
		if fallen <= 0 {
			t.Fatalf("nothing falls at pH %v", ph)
		}
		if moved := figureOf(t, r, "ph_after_cold") - ph; (ph < watershed) != (moved < 0) {
			t.Errorf("from pH %v (watershed %.2f) it moves by %.3f", ph, watershed, moved)
		}
		if per := (6.0 - figureOf(t, r, "ta_after_cold_g_l")) / fallen; math.Abs(per-0.399) > 0.003 {
			t.Errorf("acidity falls by %.4f g/L for each gram, expected 0.399", per)
		}
	}
}

// TestBlendDoesNotMindTheOrder: nor that two parts of it were blended before.
func TestBlendDoesNotMindTheOrder(t *testing.T) {
	t.Parallel()
	part := func(lot string, v, ph, ta, abv float64) map[string]any {
		return map[string]any{"lot": lot, "volume_l": v, "ph": ph, "ta_g_l": ta, "abv_pct": abv}
	}
	rapid.Check(t, func(t *rapid.T) {
		a := part("a", rapid.Float64Range(1, 100).Draw(t, "a"), rapid.Float64Range(3.2, 3.9).Draw(t, "ph a"), rapid.Float64Range(4.5, 8).Draw(t, "ta a"), 13)
		b := part("b", rapid.Float64Range(1, 100).Draw(t, "b"), rapid.Float64Range(3.2, 3.9).Draw(t, "ph b"), rapid.Float64Range(4.5, 8).Draw(t, "ta b"), 12)
		half := func(p map[string]any) map[string]any {
			return part("half", p["volume_l"].(float64)/2, p["ph"].(float64), p["ta_g_l"].(float64), p["abv_pct"].(float64))
		}
		one := ask(t, "blend", Given{"parts": []any{a, b}})
		for _, other := range [][]any{{b, a}, {half(a), b, half(a)}} {
			two := ask(t, "blend", Given{"parts": other})
			for _, key := range []string{"ph", "ta_g_l", "abv_pct", "volume_l"} {
				if x, y := figureOf(t, one, key), figureOf(t, two, key); math.Abs(x-y) > 1e-8 {
					t.Fatalf("%s is %v or %v", key, x, y)
				}
			}
		}
		low, high := math.Min(a["ph"].(float64), b["ph"].(float64)), math.Max(a["ph"].(float64), b["ph"].(float64))
		if ph := figureOf(t, one, "ph"); ph < low-0.02 || ph > high+0.02 {
			t.Fatalf("pH %v of parts at %v and %v", ph, low, high)
		}
	})
}

// TestMalolacticTakesOneEquivalentPerMole: TA falls by 0.560 g/L for each gram of
// malic acid, less the little that lactic acid keeps at the end point.
func TestMalolacticTakesOneEquivalentPerMole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		malic := rapid.Float64Range(0.2, 4).Draw(t, "malic")
		ph := rapid.Float64Range(3.0, 3.9).Draw(t, "ph")
		r := ask(t, "malolactic-shift", Given{"ph": ph, "ta_g_l": 7.5, "malic_g_l": malic})
		fall := 7.5 - figureOf(t, r, "ta_after_g_l")
		if math.Abs(fall/malic-0.560) > 0.005 || figureOf(t, r, "ph_rise") <= 0 {
			t.Fatalf("acidity falls by %v for %v g/L, pH rises by %v", fall, malic, figureOf(t, r, "ph_rise"))
		}
	})
}

// TestSpreadIsLinearForLinearFormulas: for y = a·b/c the relative spreads add as
// squares, which numeric derivatives must reproduce.
func TestSpreadIsLinearForLinearFormulas(t *testing.T) {
	t.Parallel()
	r := ask(t, "ta-titration", Given{"sample_ml": 5.0, "sample_ml_pm": 0.02, "naoh_normality": 0.1, "naoh_normality_pm": 0.001, "naoh_ml": 4.0, "naoh_ml_pm": 0.05})
	f, _ := r.Figure("ta_g_l")
	want := f.Number * math.Sqrt(math.Pow(0.02/5, 2)+math.Pow(0.001/0.1, 2)+math.Pow(0.05/4, 2))
	if math.Abs(f.Plus-want) > 1e-4*want {
		t.Errorf("± is %v, by hand %v", f.Plus, want)
	}
}

// TestSpreadAtTheEdge: where one side leaves the allowed range the other is used.
func TestSpreadAtTheEdge(t *testing.T) {
	t.Parallel()
	r := ask(t, "molecular-so2", Given{"free_so2_mg_l": 0.0, "free_so2_mg_l_pm": 2.0, "ph": 3.4})
	f, _ := r.Figure("molecular_so2_mg_l")
	if want := 2 / (1 + math.Pow(10, 3.4-1.81)); math.Abs(f.Plus-want) > 1e-9 {
		t.Errorf("± is %v, one-sided it is %v", f.Plus, want)
	}
}

// TestSpreadHoldsTheDose: an error of the pH moves the dose that is needed; for what
// comes of it the dose stays as weighed, and the molecular SO2 is as unsure as the
// pH makes it, not exact because it was aimed at.
func TestSpreadHoldsTheDose(t *testing.T) {
	t.Parallel()
	r := ask(t, "so2-addition", Given{"volume_l": 23.0, "ph": 3.5, "ph_pm": 0.05, "free_so2_mg_l": 10.0, "target_molecular_mg_l": 0.6, "malolactic": "finished"})
	after, _ := r.Figure("molecular_after_mg_l")
	share := 1 / (1 + math.Pow(10, 3.5-1.81))
	if want := 0.6 * math.Ln10 * (1 - share) * 0.05; math.Abs(after.Plus-want) > 0.01*want {
		t.Errorf("molecular SO2 after is ± %v, by the pH alone it is %v", after.Plus, want)
	}
	if free, _ := r.Figure("free_so2_after_mg_l"); free.HasPlus {
		t.Errorf("free SO2 after is ± %v, though the dose is weighed and the pH does not change it", free.Plus)
	}
	acid := ask(t, "acid-addition", Given{"ph": 3.6, "ph_pm": 0.03, "ta_g_l": 5.5, "target_ph": 3.4, "abv_pct": 12.5})
	if ph, _ := acid.Figure("ph_after"); math.Abs(ph.Plus-0.03) > 0.01 {
		t.Errorf("pH after is ± %v for a pH of ± 0.03", ph.Plus)
	}
}

// TestOverruleKeepsTheWords: a stop holds the figures back; words bring them, and
// stay with them.
func TestOverruleKeepsTheWords(t *testing.T) {
	t.Parallel()
	given := Given{"volume_l": 23.0, "free_so2_mg_l": 0.0, "target_free_mg_l": 30.0, "malolactic": "wanted"}
	c, _ := Find("so2-addition")
	_, err := c.Run(given)
	var stop *StopError
	if !errors.As(err, &stop) || fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "overrule") {
		t.Fatalf("not stopped: %v", err)
	}
	for _, tick := range []any{"yes", "ok do", 1.0, true, strings.Repeat("word ", 300)} {
		given[overrule] = tick
		if _, err := c.Run(given); len(fault.FieldsOf(err)) == 0 {
			t.Errorf("%v passes for a reason: %v", show(tick), err)
		}
	}
	given[overrule] = "The barrel smells of vinegar, malolactic or not."
	r, err := c.Run(given)
	if err != nil {
		t.Fatal(err)
	}
	if r.Overruled == nil || r.Overruled.Words != given[overrule] || r.Overruled.Stops[0].Code != "malolactic-wanted" {
		t.Errorf("the words are not kept: %+v", r.Overruled)
	}
	if !strings.Contains(r.Text(), "smells of vinegar") {
		t.Error("the words are not shown")
	}
}

// TestTenTimes: what is ten times the usual is stopped wherever it is declared.
func TestTenTimes(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		for _, in := range c.Inputs {
			if in.Usual > 0 && in.Max < tenTimes*in.Usual && in.Kind == Number {
				t.Logf("%s of %s is refused before it is ten times the usual", in.Key, c.Name)
			}
			if in.Usual > 0 && (in.Usual < in.Min || in.Usual > in.Max) {
				t.Errorf("the usual %s of %s lies outside what is allowed", in.Key, c.Name)
			}
		}
	}
	for _, at := range []float64{9.99, 10} {
		c, _ := Find("deacidification")
		_, err := c.Run(Given{"ph": 3.2, "ta_g_l": 9.0, "dose_g_l": at * 2})
		var stop *StopError
		if got := errors.As(err, &stop); got != (at == 10) {
			t.Errorf("%v times the usual: stopped %v", at, got)
		}
	}
}

// TestPrefill fills what is known and leaves the rest.
func TestPrefill(t *testing.T) {
	t.Parallel()
	c, _ := Find("so2-addition")
	given := c.Prefill(map[Fact]Known{
		LotVolume: {Value: "22.7", Plus: "0.3"}, LotPH: {Value: "3.55", Plus: "0.03"}, LotMalolactic: {Value: "finished"},
		CellarPlace: {Value: "atlantis"}, LotCopper: {Value: "0.1"},
	})
	want := Given{"volume_l": "22.7", "volume_l_pm": "0.3", "ph": "3.55", "ph_pm": "0.03", "malolactic": "finished"}
	if fmt.Sprint(given) != fmt.Sprint(want) {
		t.Errorf("filled %v, want %v", given, want)
	}
	acid, _ := Find("acid-addition")
	if got := acid.Prefill(map[Fact]Known{CellarPlace: {Value: "eu-organic"}})["place"]; got != "eu" {
		t.Errorf("place is filled with %v", got)
	}
}
