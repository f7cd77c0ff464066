package track

import (
	"math"
	"strings"
	"testing"

	"elevage/science/quantity"
)

// topped is the invented carboy with a tenth of its wine come from elsewhere on 25
// October: 3 g/L malic acid, 40 mg/L free and 100 mg/L total SO2, pH 3.70, TA 5.4 g/L.
func topped(t testing.TB) Input {
	in := carboy(t)
	ph, ta := quantity.PH(3.70), 5.4*quantity.GramPerLitre
	in.Inflows = []Inflow{{On: day("2026-10-25"), Name: "wine from b9", Share: 0.1, Malic: 3, PH: &ph, TA: &ta,
		FreeSO2: 40 * quantity.MilligramPerLitre, TotalSO2: 100 * quantity.MilligramPerLitre}}
	in.At, in.Options.Brief = day("2026-10-30"), true
	return in
}

// The step of mixing against arithmetic done by hand: what there is counts nine
// tenths, what came one tenth.
func TestWineThatComesInMixes(t *testing.T) {
	t.Parallel()
	in := topped(t)
	ph, ta, free, total := quantity.PH(3.50), 6.4*quantity.GramPerLitre, quantity.Concentration(0), 20*quantity.MilligramPerLitre
	in.Facts.PH, in.Facts.TA, in.Facts.FreeSO2, in.Facts.TotalSO2 = &ph, &ta, &free, &total
	if err := in.settle(); err != nil {
		t.Fatal(err)
	}
	p := sample(&in)
	d := p.season.day(day("2026-10-25"))
	before, after := p.season.schedule.Conditions[p.season.schedule.On[d-1]], p.season.schedule.Conditions[p.season.schedule.On[d]]
	// free 0.9·0 + 0.1·40 = 4, total 0.9·20 + 0.1·100 = 28, bound 24 mg/L; pH 3.52;
	// molecular 4/(1 + 10^(3.52−1.81)) = 4/52.29 = 0.0765 mg/L
	if before.Bound.MgPerL() != 20 || math.Abs(after.Bound.MgPerL()-24) > 1e-9 || math.Abs(float64(after.PH)-3.52) > 1e-9 || math.Abs(after.Molecular.MgPerL()-0.0765) > 1e-4 {
		t.Errorf("conditions were %+v and became %+v", before, after)
	}
	for i := range p.fates {
		f := &p.fates[i]
		was, is := f.curve[0].malic(f.work[d]), f.malic(d)
		if math.Abs(is-(0.9*was+0.3)) > 1e-9 {
			t.Fatalf("malic acid %.4f became %.4f g/L, by hand %.4f", was, is, 0.9*was+0.3)
		}
		// As the acids know it: of what was converted nine tenths are left in the mixture,
		// and so the same distance from the start counts to the pH and the TA.
		if gone := f.m0 - is - f.curve[1].shift; math.Abs(gone-0.9*(f.m0-was)) > 1e-9 {
			t.Fatalf("converted %.4f g/L became %.4f", f.m0-was, gone)
		}
	}
	// pH 0.1·(3.70−3.50) = +0.02; TA 0.1·(5.4−6.4) = −0.1 g/L
	g := gauge{what: PH, day: float64(d)}
	h := gauge{what: TA, day: float64(d)}
	if math.Abs(p.panel.moved(&g)-0.02) > 1e-9 || math.Abs(p.panel.moved(&h)+0.1) > 1e-9 {
		t.Errorf("pH moved by %.4f, TA by %.4f", p.panel.moved(&g), p.panel.moved(&h))
	}
	g.day--
	if p.panel.moved(&g) != 0 {
		t.Error("it moved a reading of the day before")
	}
}

// A tenth of wine with 3 g/L malic acid, five days ago, is malic acid that there now is,
// and its sulfur dioxide holds the rest back; the finding says so.
func TestWineThatCameInIsAFinding(t *testing.T) {
	t.Parallel()
	in := topped(t)
	in.Options.Brief = false
	with, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	in.Inflows = nil
	without, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	if with.Malic.Q50 < without.Malic.Q50+0.1 {
		t.Errorf("malic acid %.2f without and %.2f g/L with a tenth of 3 g/L", without.Malic.Q50, with.Malic.Q50)
	}
	said := ""
	for _, f := range with.Flags {
		if f.Kind == "arrival" {
			said = f.Message
		}
	}
	if !strings.Contains(said, "wine from b9 on 2026-10-25 (10 % of the wine, 100 mg/L SO2)") {
		t.Errorf("the finding is %q", said)
	}
}

// Before it is kept: much sulfur dioxide delays a conversion under way, a little of a
// like wine does nothing worth a word.
func TestToppingIsForeseen(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At = day("2026-10-16")
	strong, err := Topped(in, Inflow{Name: "wine from b9", Share: 0.2, FreeSO2: 45 * quantity.MilligramPerLitre, TotalSO2: 110 * quantity.MilligramPerLitre})
	if err != nil {
		t.Fatal(err)
	}
	if strong.With.Within > strong.Without.Within-worthChance || len(strong.Says) == 0 {
		t.Errorf("a fifth of wine with 45 mg/L free SO2: %+v", strong)
	}
	mild, err := Topped(in, Inflow{Name: "wine from b9", Share: 0.01, TotalSO2: 20 * quantity.MilligramPerLitre})
	if err != nil {
		t.Fatal(err)
	}
	if len(mild.Says) > 0 {
		t.Errorf("a hundredth of wine alike: %q", mild.Says)
	}
	if _, err := Topped(in, Inflow{Share: 1.2}); err == nil || !strings.Contains(err.Error(), "share of it is 1.2") {
		t.Errorf("a share of 1.2: %v", err)
	}
}
