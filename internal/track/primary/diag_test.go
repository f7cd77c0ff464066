package primary_test

import (
	"elevage/internal/track/primary"
	"testing"
)

func TestDiag(t *testing.T) {
	for s := range 8 {
		v := newVat(uint64(s) + 100)
		v.read()
		st, da := v.fate()
		t.Logf("vat %d S0 %.0f N %.0f T %.0f ceil %.0f stuck %v dry %.1f", s, v.sugar0, v.nitrogen*1000, v.base, v.ceiling, st, da/24)
		for d := 1; d <= 20 && v.sugar() > 2; d++ {
			v.day()
			in := v.in
			in.At = v.at()
			b, err := primary.Believe(in)
			if err != nil {
				t.Fatal(err)
			}
			q := func(k string) float64 { return b.Factors[k].Q50 }
			dry := 99.
			if b.Dry.Q50 != nil {
				dry = b.Dry.Q50.Sub(v.start).Hours() / 24
			}
			t.Logf("  d%2d T %.0f S %.0f bel %.0f(%.0f-%.0f) rate %.0f bel %.0f  stalled %.3f sticks %.2f dry %.1f  beta %.2f death %.2f N %.3f ess %.0f", d, v.warmth(), v.sugar(), b.Sugar.Q50.GPerL(), b.Sugar.Q05.GPerL(), b.Sugar.Q95.GPerL(), v.rate*24, b.Rate.Q50.GPerLDay(), b.Stalled, b.Sticks, dry, q("speed against the flask"), q("loss of cells against the flask"), q("nitrogen g/L"), b.ESS)
		}
	}
}
