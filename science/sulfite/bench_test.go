package sulfite_test

import (
	"testing"

	"elevage/science/sulfite"
)

func BenchmarkMolecularHandbook(b *testing.B) {
	for b.Loop() {
		sulfite.Handbook.Molecular(30*mg, wine(3.5, 12, 20))
	}
}

func BenchmarkMolecularOIV(b *testing.B) {
	for b.Loop() {
		sulfite.OIV.Molecular(30*mg, wine(3.5, 12, 20))
	}
}

func BenchmarkSpread(b *testing.B) {
	m := sulfite.Measurement{Free: 30 * mg, FreeSD: 4 * mg, Wine: wine(3.5, 12, 20), PHSD: 0.058}
	for b.Loop() {
		sulfite.Handbook.Spread(m)
	}
}

func BenchmarkTargetDose(b *testing.B) {
	p, _ := sulfite.Powder(sulfite.PotassiumMetabisulfite, 0.95)
	aim, _ := sulfite.Handbook.Target(0.6 * mg)
	n := sulfite.Need{Wine: wine(3.5, 12, 20), Volume: 54, FreeNow: 4 * mg, TotalNow: 20 * mg, Product: p, Binding: sulfite.FirstBinding}
	for b.Loop() {
		aim.Dose(n)
	}
}

func BenchmarkFreeOf(b *testing.B) {
	in := []sulfite.Content{{Binder: sulfite.Binders[0], Amount: 0.04}, {Binder: sulfite.Binders[1], Amount: 0.06}, {Binder: sulfite.Binders[2], Amount: 0.08}}
	for b.Loop() {
		sulfite.FreeOf(0.09, in)
	}
}
