package primary

import (
	"math"
	"sync"

	"elevage/science/quantity"
	"elevage/science/strength"
)

// What a float and a prism show for sugar, alcohol and the rest of the extract, as
// tables made once from science/strength: the draws ask millions of times.
type lookup struct {
	extract []float64 // specific gravity by extract, g/L
	alcohol []float64 // change of it by alcohol, % vol
	prism   [][]float64
}

const (
	extractStep, alcoholStep       = 4.0, 0.5
	prismExtractStep, prismAlcStep = 10.0, 1.0
	mostExtract, mostAlcohol       = 440.0, 25.0
)

var shown = sync.OnceValue(func() lookup {
	var l lookup
	for x := 0.0; x <= mostExtract; x += extractStep {
		d, _ := strength.WineDensity(0, quantity.Concentration(math.Min(x, 400)), 20)
		sg := float64(strength.SpecificGravityOf(d))
		if x > 400 { // straight on from the last two; readings up there are refused
			n := len(l.extract)
			sg = 2*l.extract[n-1] - l.extract[n-2]
		}
		l.extract = append(l.extract, sg)
	}
	for a := 0.0; a <= mostAlcohol; a += alcoholStep {
		sg, _ := strength.MixtureGravity(quantity.Strength(a))
		l.alcohol = append(l.alcohol, float64(sg)-1)
	}
	for x := 0.0; x <= 400; x += prismExtractStep {
		var row []float64
		for a := 0.0; a <= mostAlcohol; a += prismAlcStep {
			b, err := strength.RefractometerReading(quantity.Strength(a), quantity.Concentration(x))
			if err != nil {
				b = strength.Brix(math.NaN())
			}
			row = append(row, float64(b))
		}
		l.prism = append(l.prism, row)
	}
	return l
})

func between(table []float64, x float64) float64 {
	i := min(max(int(x), 0), len(table)-2)
	return table[i] + (x-float64(i))*(table[i+1]-table[i])
}

// gravity is what a float shows at 20 °C.
func (l *lookup) gravity(extract, alcohol float64) float64 {
	return between(l.extract, extract/extractStep) + between(l.alcohol, alcohol/alcoholStep)
}

// refractometer is what a prism shows, Brix.
func (l *lookup) refractometer(extract, alcohol float64) float64 {
	x := math.Max(0, extract) / prismExtractStep
	i := min(int(x), len(l.prism)-2)
	a, b := between(l.prism[i], alcohol/prismAlcStep), between(l.prism[i+1], alcohol/prismAlcStep)
	return a + (x-float64(i))*(b-a)
}
