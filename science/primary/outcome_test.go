package primary

import (
	"math"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var red = MustEntry{Volume: 105, Brix: 25, PH: 3.62, TA: 5.6, Malic: 2.2, Nitrogen: 120 * quantity.MilligramPerLitre}

func foresee(t *testing.T, e MustEntry, c Correction) Outcome {
	t.Helper()
	o, err := Foresee(e, c)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func TestDoingNothingKeepsTheReadings(t *testing.T) {
	t.Parallel()
	o := foresee(t, red, Correction{})
	if math.Abs(float64(o.Must.PH-red.PH)) > 1e-9 || math.Abs((o.Must.TA-red.TA).GPerL()) > 1e-9 || o.Must.Brix != red.Brix || o.Must.Volume != red.Volume {
		t.Errorf("%+v", o.Must)
	}
	// Table II of OIV-MA-AS2-02: 25 Brix holds 249.5 g/L; 249.5/16.83 = 14.825 % vol
	if a := o.Wine.Alcohol.Likely.Percent(); math.Abs(a-14.825) > 0.005 {
		t.Errorf("alcohol %.3f %% vol", a)
	}
	// one equivalent per mole of malic: 0.560 g/L as tartaric per g/L at most, with
	// bitartrate kept (reference K03)
	if fall := o.Wine.TA.High - o.Wine.TAAfterMalic.High; math.Abs(fall.GPerL()-0.560*2.2) > 0.03*2.2 {
		t.Errorf("TA falls by %.3f g/L over malolactic", fall.GPerL())
	}
	if rise := o.Wine.AfterMalic.Likely - o.Wine.PH.Likely; rise < 0.05 || rise > 0.3 {
		t.Errorf("pH rises by %.3f over malolactic; Bousbouras & Kunkee 1971: up to 0.2, more at high pH", float64(rise))
	}
	if o.Must.Gap == nil || math.Abs(o.Must.Gap.Gap.MgPerL()-180) > 1e-9 {
		t.Errorf("gap %+v", o.Must.Gap)
	}
}

func TestCorrectionsConserve(t *testing.T) {
	t.Parallel()
	o := foresee(t, red, Correction{WaterToBrix: 23.5, Acid: acidbase.TartaricAcid, AcidDose: 1.5, Nitrogen: 60 * quantity.MilligramPerLitre})
	// water by hand: M·(25/23.5 − 1), M = 105 L at the density of 25 Brix sucrose
	sg, err := strength.Brix(25).SG()
	if err != nil {
		t.Fatal(err)
	}
	mass := 105 * float64(sg) * 0.9982041 // kg
	if w := mass * (25/23.5 - 1); math.Abs(o.Water.Kilograms()-w) > 0.01 {
		t.Errorf("water %.3f kg, by hand %.3f", o.Water.Kilograms(), w)
	}
	// nitrogen: 120 mg/L thinned by the volume, and 60 given
	if want := 120*105/o.Must.Volume.Litres() + 60; math.Abs(o.Must.Nitrogen.MgPerL()-want) > 1e-9 {
		t.Errorf("nitrogen %.3f mg/L, by balance %.3f", o.Must.Nitrogen.MgPerL(), want)
	}
	if want := 1.5 * o.Must.Volume.Litres(); math.Abs(o.Acid.Grams()-want) > 1e-9 {
		t.Errorf("acid %.2f g, want %.2f", o.Acid.Grams(), want)
	}
	// titratable acidity: thinned, and 1.5 g/L of tartaric acid on top
	want := 5.6*105/o.Must.Volume.Litres() + 1.5
	if math.Abs(o.Must.TA.GPerL()-want) > 0.05 {
		t.Errorf("TA %.3f g/L, by balance %.3f", o.Must.TA.GPerL(), want)
	}
	plain := foresee(t, red, Correction{})
	if o.Must.PH >= plain.Must.PH || o.Wine.Alcohol.Likely >= plain.Wine.Alcohol.Likely {
		t.Errorf("acid must lower pH and water the strength: %+v %+v", o.Must, o.Wine)
	}
	s := foresee(t, red, Correction{SugarToBrix: 26})
	if s.Sugar <= 0 || s.Must.Volume <= red.Volume || s.Wine.Alcohol.Likely <= plain.Wine.Alcohol.Likely {
		t.Errorf("sugar: %+v", s)
	}
}

func TestBadMustNamesItself(t *testing.T) {
	t.Parallel()
	for name, e := range map[string]MustEntry{"volume": {Brix: 24, PH: 3.5, TA: 6}, "Brix": {Volume: 10, Brix: 2.4, PH: 3.5, TA: 6}, "pH": {Volume: 10, Brix: 24, PH: 35, TA: 6}} {
		if _, err := Foresee(e, Correction{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := Foresee(red, Correction{WaterToBrix: 28}); err == nil {
		t.Error("water cannot raise Brix")
	}
}
