package primary

import (
	"math"
	"testing"

	"elevage/science/quantity"
)

// The table of this project's handbook for 23 and 54 L (figures there from memory,
// volumes computed).
func TestRescueCultureMeetsTheTable(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		stuck, yeast, water float64
		volumes             [3]float64
	}{{23, 12, 120, [3]float64{1.15, 2.3, 4.6}}, {54, 27, 270, [3]float64{2.7, 5.4, 10.8}}} {
		r, err := RescueCulture(quantity.Volume(c.stuck))
		if err != nil {
			t.Fatal(err)
		}
		if g := r.Steps[0].Yeast.Grams(); math.Abs(g-c.yeast) > 0.51 {
			t.Errorf("%g L: %.2f g yeast, table %g", c.stuck, g, c.yeast)
		}
		if v := r.Steps[0].Water.Millilitres(); math.Abs(v-c.water) > 5.1 {
			t.Errorf("%g L: %.1f mL water, table %g", c.stuck, v, c.water)
		}
		for i, want := range c.volumes {
			if v := r.Steps[i+1].Volume.Litres(); math.Abs(v-want) > 1e-9 {
				t.Errorf("%g L, step %s: %.3f L, table %g", c.stuck, r.Steps[i+1].Name, v, want)
			}
		}
		// conservation: all stuck wine goes in, and the water of step B on top
		sum := quantity.Volume(0)
		for _, s := range r.Steps[1:] {
			sum += s.Wine
		}
		if math.Abs((sum - quantity.Volume(c.stuck)).Litres()) > 1e-9 {
			t.Errorf("%g L stuck, %.4f L used", c.stuck, sum.Litres())
		}
	}
	if _, err := RescueCulture(0); err == nil {
		t.Error("no wine is not refused")
	}
}

func TestGap(t *testing.T) {
	t.Parallel()
	// 25 Brix, 120 mg/L: 300 − 120 = 180 mg N/L; DAP at 21.2 % N (handbook): 849 mg/L
	g, err := Gap(25, 120*quantity.MilligramPerLitre)
	if err != nil || math.Abs(g.Gap.MgPerL()-180) > 1e-9 || math.Abs(g.DAP.MgPerL()-849) > 1 {
		t.Errorf("%+v %v", g, err)
	}
	if len(g.Over) != 0 {
		t.Errorf("849 mg/L is under the limits: %v", g.Over)
	}
	if g, _ := Gap(27, 100*quantity.MilligramPerLitre); len(g.Over) != 2 {
		t.Errorf("1.18 g/L is over both limits: %+v", g)
	}
	if g, _ := Gap(22, 400*quantity.MilligramPerLitre); g.Gap != 0 || g.DAP != 0 {
		t.Errorf("a rich must lacks nothing: %+v", g)
	}
}

func TestLagLimit(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		hours float64
		t     quantity.Temperature
		late  bool
	}{{47, 20, false}, {49, 20, true}, {49, 28, true}, {71, 13.5, false}, {97, 12, true}} {
		if v := LagLimit(c.hours, c.t); v.Late != c.late {
			t.Errorf("%g h at %g °C: %+v", c.hours, float64(c.t), v)
		}
	}
}

// 100 L at 240 g/L in an insulated bin would gain over 30 °C (handbook, computed),
// and 1 % vol costs 16.8 to 17 g/L of sugar (from memory).
func TestHeatAndAlcohol(t *testing.T) {
	t.Parallel()
	if r, _ := AdiabaticRise(240); r < 30 {
		t.Errorf("rise %.1f °C", r)
	}
	if s := SugarPerPercent(EthanolYield.Location); s < 16.75 || s > 17 {
		t.Errorf("%.3f g/L for 1 %% vol", s)
	}
	if a := Alcohol(238); math.Abs(a.Percent()-238/16.793) > 0.01 {
		t.Errorf("%.3f %% vol", a.Percent())
	}
	// 10 g/(L·h) in 100 L at 0.56 kJ/g: 560 kJ/h = 155.6 W, by hand
	if p := Heat(240, 100); math.Abs(p.Watts()-155.6) > 0.1 {
		t.Errorf("%.2f W", p.Watts())
	}
	// 155.6 W for a day is 13.44 MJ; ice to water of 25 °C takes 438.5 kJ/kg: 30.65 kg
	if m := Ice(155.556, 25); math.Abs(m.Kilograms()-30.65) > 0.02 {
		t.Errorf("%.2f kg of ice", m.Kilograms())
	}
}
