package acidbase

import (
	"elevage/science/quantity"
	"testing"
)

func TestX(t *testing.T) {
	for _, tt := range []float64{10, 15, 20, 25, 30, 35, 40} {
		c := Composition{Tartaric: quantity.Concentration(.0341 * 150.087 * .997), StrongIons: .0341 * .997, Potassium: quantity.Concentration(.0341 * .997 * 39.098), Temperature: quantity.Celsius(tt)}
		p, _ := c.PH()
		m, _ := c.Medium()
		n, _ := m.fall(&c, Bitartrate)
		l := c.without(Bitartrate, n)
		q, _ := l.PH()
		// pure KHT solubility by model
		big := Composition{Tartaric: 150.087 * .1, StrongIons: .1, Potassium: 3.9098, Temperature: quantity.Celsius(tt)}
		k, err := m.fall(&big, Bitartrate)
		t.Log(tt, p, q, n, (.1-k)*188.177, err)
	}
	w, _ := Anchor(Measured{PH: 3.40, TA: 7.5, EndPoint: 7, Malic: 2.5, Alcohol: 12.5, Temperature: 20, Calcium: Given(80 * quantity.MilligramPerLitre)})
	t.Log(w.Tartaric, w.Potassium)
	for _, tt := range []quantity.Temperature{-4, 0, 5, 10, 15, 20, 25, 30} {
		s, _ := w.Saturation(tt)
		p, err := w.Precipitate(tt, Bitartrate, CalciumTartrate)
		ph, _ := p.Left.PH()
		t.Logf("%v %.2f %.2f  KHT %.2f CaT %.3f pH %.3f %v", tt, s.Bitartrate, s.CalciumTartrate, p.Bitartrate, p.CalciumTartrate, ph, err)
	}
	a, err := w.SaturationTemperature(Bitartrate)
	b, err2 := w.SaturationTemperature(CalciumTartrate)
	t.Log(a, err, b, err2)
	for _, al := range []float64{0, 12, 12.5, 14} {
		c := Composition{Tartaric: 2.5, Malic: 2, Succinic: .7, Acetic: .3, Citric: .2, Lactic: .2, StrongIons: .028, Alcohol: quantity.Strength(al), Temperature: 20}
		x, _ := c.Watershed()
		ph, _ := c.PH()
		s, _ := c.Solve()
		t.Log(al, x, ph, s.IonicStrength)
	}
}
func TestY(t *testing.T) {
	for _, mal := range []float64{2, 3} {
		for _, ph0 := range []float64{3.4, 3.6, 3.8, 3.9} {
			c := Composition{Tartaric: 2.5, Malic: quantity.Concentration(mal), Succinic: .7, Acetic: .3, Citric: .2, Lactic: .2, Alcohol: 12.5, Temperature: 20}
			m, _ := c.Medium()
			p := problem{medium: &m, tot: c.totals()}
			s := p.titrated(ph0)
			c.StrongIons = quantity.Molarity(s.need())
			c.Potassium = 2
			d, err := c.Lose(Bitartrate, .5)
			q, _ := d.PH()
			w, _ := c.Watershed()
			t.Log(mal, ph0, float64(q)-ph0, w, err)
		}
	}
	w, _ := Anchor(Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20})
	cv, _ := w.MalolacticCurve(2.5)
	for _, x := range []quantity.Concentration{0, .4, 1.1, 2, 2.5} {
		for _, k := range []quantity.Concentration{0, .2, .5, 1} {
			a, b := cv.At(x, k, .3)
			d, _ := w.Malolactic(x)
			d, err := d.Lose(Bitartrate, k)
			d.CO2 = .3
			p, _ := d.PH()
			ta, _ := d.TA(8.2, Tartaric)
			t.Logf("%v %v %.2e %.2e %v", x, k, float64(a-p), float64(b-ta), err)
		}
	}
}
