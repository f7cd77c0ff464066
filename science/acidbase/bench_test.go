package acidbase_test

import (
	"testing"

	"elevage/science/acidbase"
)

func benchWine(b *testing.B) (acidbase.Medium, acidbase.Measured, acidbase.Wine) {
	r := sound()
	m := must(acidbase.NewMedium(r.Alcohol, r.Temperature))(b)
	w := must(m.Anchor(&r))(b)
	b.ReportAllocs()
	return m, r, w
}

func BenchmarkMedium(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := acidbase.NewMedium(13, 20); err != nil {
			b.Fatal(err)
		}
	}
}

// One pH of an anchored wine, constants at hand.
func BenchmarkAnchoredPH(b *testing.B) {
	m, _, w := benchWine(b)
	for b.Loop() {
		if _, err := m.Solve(&w.Composition); err != nil {
			b.Fatal(err)
		}
	}
}

// One pH from nothing: constants moved to strength and temperature first.
func BenchmarkPH(b *testing.B) {
	_, _, w := benchWine(b)
	for b.Loop() {
		if _, err := w.PH(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTA(b *testing.B) {
	m, _, w := benchWine(b)
	for b.Loop() {
		if _, err := m.TA(&w.Composition, 8.2); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAnchor(b *testing.B) {
	m, r, _ := benchWine(b)
	for b.Loop() {
		if _, err := m.Anchor(&r); err != nil {
			b.Fatal(err)
		}
	}
}

// A full titration curve, 100 points.
func BenchmarkTitrationCurve(b *testing.B) {
	m, _, w := benchWine(b)
	for b.Loop() {
		if _, err := m.TitrationCurve(&w.Composition, 2.5, 9, 100); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMalolacticCurveMade(b *testing.B) {
	m, _, w := benchWine(b)
	for b.Loop() {
		if _, err := m.MalolacticCurve(&w, w.Malic); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMalolacticCurveLookup(b *testing.B) {
	m, _, w := benchWine(b)
	curve := must(m.MalolacticCurve(&w, w.Malic))(b)
	for b.Loop() {
		curve.At(1.3, 0.1, 0.2)
	}
}

func BenchmarkPrecipitate(b *testing.B) {
	_, _, w := benchWine(b)
	for b.Loop() {
		if _, err := w.Precipitate(4, acidbase.Bitartrate); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkForesee(b *testing.B) {
	_, r, _ := benchWine(b)
	for b.Loop() {
		if _, err := acidbase.Foresee(r, usualSpread, fullMalolactic); err != nil {
			b.Fatal(err)
		}
	}
}
