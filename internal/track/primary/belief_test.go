package primary_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"elevage/internal/track/primary"
	science "elevage/science/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

var pitched = time.Date(2025, 10, 2, 8, 0, 0, 0, time.UTC)

func hours(h float64) time.Time { return pitched.Add(time.Duration(h * float64(time.Hour))) }

// bin is an invented red of 105 L read twice a day for so many days, made by the law
// itself.
func bin(days int) primary.Input {
	temp := func(h float64) quantity.Temperature { return quantity.Temperature(26 - 4*math.Exp(-h/40) - 0.004*h) }
	c, err := science.Coleman.Course(science.Must{Sugar: 238, Nitrogen: 0.17, Yeast: 0.22, Factors: science.LotFactors{Beta: 0.7, Lag: 15}}, temp, 40)
	if err != nil {
		panic(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	in := primary.Input{Volume: 105, Red: true, Pitched: pitched, PH: 3.55, At: hours(24*float64(days) + 1)}
	read := func(h float64, gas bool) {
		s := c.At(math.Max(0, h)).Sugar.GPerL()
		d, err := strength.WineDensity(quantity.Strength((238-s)/16.8), quantity.Concentration(s+24), 20)
		if err != nil {
			panic(err)
		}
		sd := 0.0006
		if gas {
			sd = 0.0016
		}
		in.Readings = append(in.Readings, primary.Reading{ID: fmt.Sprint("r", len(in.Readings)), At: hours(h), What: primary.Gravity, Value: math.Round(1e4*(float64(strength.SpecificGravityOf(d))+sd*rng.NormFloat64())) / 1e4, Temperature: 20, Degassed: !gas})
		in.Warmth = append(in.Warmth, primary.Temperature{At: hours(h), Value: temp(h)})
	}
	read(-3, false)
	for h := 12.0; h <= 24*float64(days); h += 12 {
		read(h, true)
	}
	return in
}

func TestLook(t *testing.T) {
	for _, d := range []int{1, 2, 3, 5, 8, 12, 20} {
		in := bin(d)
		b, err := primary.Believe(in)
		if err != nil {
			t.Fatal(err)
		}
		t.Log("day", d, "ESS", b.ESS, "stalled", b.Stalled, "sticks", b.Sticks, b.States, b.Factors)
		for _, s := range b.Summary {
			t.Log("   ", s)
		}
		for _, f := range b.Flags {
			t.Log("   !", f.Code, f.Text)
		}
	}
}

func BenchmarkBelief40(b *testing.B) {
	in := bin(20)
	b.Logf("%d readings", len(in.Readings))
	for b.Loop() {
		if _, err := primary.Believe(in); err != nil {
			b.Fatal(err)
		}
	}
}
