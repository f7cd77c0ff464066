package acidbase

import (
	"elevage/science/quantity"
	"testing"
)

func BenchmarkAnchor(b *testing.B) {
	m, _ := NewMedium(13, 20)
	r := Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20}
	b.ReportAllocs()
	for b.Loop() {
		w, err := m.Anchor(&r)
		if err != nil || w.Tartaric < 0 {
			b.Fatal(err)
		}
	}
}
func BenchmarkSolve(b *testing.B) {
	m, _ := NewMedium(13, 20)
	w, _ := m.Anchor(&Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20})
	b.ReportAllocs()
	for b.Loop() {
		_, err := m.Solve(&w.Composition)
		if err != nil {
			b.Fatal(err)
		}
	}
}
func BenchmarkPH(b *testing.B) {
	w, _ := Anchor(Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20})
	b.ReportAllocs()
	for b.Loop() {
		_, err := w.PH()
		if err != nil {
			b.Fatal(err)
		}
	}
}
func BenchmarkCurveMake(b *testing.B) {
	m, _ := NewMedium(13, 20)
	w, _ := m.Anchor(&Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20})
	b.ReportAllocs()
	for b.Loop() {
		_, err := m.MalolacticCurve(&w, w.Malic)
		if err != nil {
			b.Fatal(err)
		}
	}
}
func BenchmarkCurveAt(b *testing.B) {
	w, _ := Anchor(Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20})
	c, _ := w.MalolacticCurve(w.Malic)
	b.ReportAllocs()
	for b.Loop() {
		c.At(1.3, 0.1, 0.2)
	}
}
func TestCore(t *testing.T) {
	w, err := Anchor(Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20})
	if err != nil {
		t.Fatal(err)
	}
	ph, _ := w.PH()
	ta, _ := w.TA(8.2, Tartaric)
	t.Logf("%+v %v %v", w, ph, ta)
	a, _ := w.Malolactic(2.5)
	ph, _ = a.PH()
	ta, _ = a.TA(8.2, Tartaric)
	t.Log(ph, ta)
	c, err := w.MalolacticCurve(2.5)
	t.Log(c.At(2.5, 0, 0))
	t.Log(err)
	p, ta2 := c.At(1.1, 0.5, 0.5)
	b, _ := w.Malolactic(1.1)
	b.Tartaric -= 0.5 * 150.087 / 188.177
	b.StrongIons -= 0.5 / 188.177
	b.CO2 = 0.5
	ph, _ = b.PH()
	ta, _ = b.TA(8.2, Tartaric)
	t.Log(p, ta2, ph, ta)
	for _, x := range []struct {
		c    Composition
		want float64
	}{
		{Composition{Tartaric: quantity.Concentration(.01 * 150.087), Temperature: 25}, 2.579},
		{Composition{Malic: quantity.Concentration(.01 * 134.087), Temperature: 25}, 2.770},
		{Composition{Lactic: quantity.Concentration(.01 * 90.078), Temperature: 25}, 2.958},
		{Composition{Acetic: quantity.Concentration(.1 * 60.052), Temperature: 25}, 2.882},
		{Composition{Tartaric: quantity.Concentration(.0341 * 150.087 * .997), StrongIons: .0341 * .997, Temperature: 25}, 3.557},
		{Composition{Citric: quantity.Concentration(.05 * 192.123 * .997), StrongIons: .05 * .997, Temperature: 25}, 3.776},
		{Composition{Phosphate: quantity.Concentration(.05 * 97.994 * .997), StrongIons: .075 * .997, Temperature: 25}, 6.865},
	} {
		ph, err := x.c.PH()
		t.Log(ph, x.want, err)
	}
	a1, b1 := debyeHuckel(12, 20)
	t.Log(massFraction(12), permittivity(12, 20), a1, b1)
}
