package strength_test

import (
	"testing"

	"elevage/science/strength"
)

func BenchmarkMixtureDensity(b *testing.B) {
	for b.Loop() {
		strength.MixtureDensity(0.0964, 15)
	}
}

func BenchmarkMassFraction(b *testing.B) {
	for b.Loop() {
		strength.MassFraction(12.3)
	}
}

func BenchmarkBrixFromGravity(b *testing.B) {
	for b.Loop() {
		strength.SpecificGravity(1.0912).Brix()
	}
}

func BenchmarkCorrectHydrometer(b *testing.B) {
	for b.Loop() {
		strength.At20C.CorrectSG(1.012, 24, 9)
	}
}

func BenchmarkAlcoholFromGravities(b *testing.B) {
	for b.Loop() {
		strength.AlcoholFromGravities(1.0923, 0.9934, strength.MustLaw)
	}
}

func BenchmarkFermentingByRefractometer(b *testing.B) {
	for b.Loop() {
		strength.FermentingByRefractometer(23, 9, strength.MustLaw)
	}
}

func BenchmarkBlend(b *testing.B) {
	for b.Loop() {
		strength.Blend(strength.Part{Volume: 54, Alcohol: 12.4, Extract: 26}, strength.Part{Volume: 23, Alcohol: 14.1, Extract: 29})
	}
}

func BenchmarkFortify(b *testing.B) {
	for b.Loop() {
		strength.Fortify(strength.Part{Volume: 54, Alcohol: 12.4, Extract: 26}, strength.Part{Alcohol: 77}, 18)
	}
}
