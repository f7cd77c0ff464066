package strength

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// Refractive indices at 20 °C, sodium D line.
//
// Sucrose: the table in OIV-MA-AS2-02 (as reprinted in the French Arrêté of
// 14 September 2011, annex IV) from 10 to 30 %, and the ICUMSA values remembered
// for 0 and 40 %; 5 and 35 % from the CRC Handbook (four decimals).
// Ethanol: CRC Handbook of Chemistry and Physics, Concentrative properties of
// aqueous solutions (four decimals).
var (
	sucroseMass  = []float64{0, 5, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 36, 40}
	sucroseIndex = []float64{1.33299, 1.3403, 1.34782, 1.35093, 1.35408, 1.35729, 1.36054, 1.36384, 1.36720, 1.37060, 1.37407, 1.37758, 1.38115, 1.3922, 1.39986}
	ethanolMass  = []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 22}
	ethanolIndex = []float64{1.3330, 1.3336, 1.3342, 1.3348, 1.3354, 1.3360, 1.3367, 1.3374, 1.3381, 1.3388, 1.3395, 1.3403, 1.3410, 1.3417, 1.3425, 1.3432, 1.3440, 1.3447, 1.3455, 1.3462, 1.3469, 1.3484}
)

// linear interpolates in a table with rising x; beyond the ends it carries on the
// last segment, so callers check their domain first.
func linear(xs, ys []float64, x float64) float64 {
	i := 0
	for i < len(xs)-2 && x >= xs[i+1] {
		i++
	}
	return ys[i] + (x-xs[i])/(xs[i+1]-xs[i])*(ys[i+1]-ys[i])
}

// RefractometerReading is what a refractometer at 20 °C shows in a liquid that
// holds alcohol as well as extract:
//
//	n = n(sucrose, X g/L) + n(ethanol and water, A) − n(water)
//
// read on the sucrose scale. The sum is the counterpart of the Tabarié relation for
// light, this package's own; against the relation Rogerson and Symington fitted to
// 35 young Ports (AJEV 57:486, 2006) it agrees within 0.5 % vol over their class.
// Domain: 0 to 25 % vol, 0 to 400 g/L extract.
func RefractometerReading(alcohol quantity.Strength, extract quantity.Concentration) (Brix, error) {
	if err := quantity.Check("alcohol", alcohol.Percent(), "% vol", 0, 25); err != nil {
		return 0, err
	}
	if err := quantity.Check("extract", extract.GPerL(), "g/L", 0, 400); err != nil {
		return 0, err
	}
	return Brix(reading(alcohol.Percent(), extract.GPerL())), nil
}

// reading is RefractometerReading for checked arguments; the tables carry it a
// little beyond them.
func reading(alcohol, extract float64) float64 {
	w, err := fractionOfExtract(quantity.Concentration(extract))
	if err != nil {
		return math.NaN()
	}
	p, err := MassFraction(quantity.Strength(alcohol))
	if err != nil {
		return math.NaN()
	}
	n := linear(sucroseMass, sucroseIndex, 100*w) + linear(ethanolMass, ethanolIndex, 100*p) - ethanolIndex[0]
	return linear(sucroseIndex, sucroseMass, n)
}

// Spreads of a refractometer reading in a liquid with alcohol, Brix (from memory):
// repeats, and offset between instruments and wines.
const (
	prismRepeat = 0.3
	prismOffset = 1.0
	tail95      = 1.6448536269514722 // standard normal
)

// Fermenting is what a refractometer says, with the must's own reading, about a
// must in fermentation. Sugar left is not among it: it would be uncertain by
// some 25 g/L. Use a float for that.
type Fermenting struct {
	Alcohol quantity.Interval[quantity.Strength]
	Gravity quantity.Interval[SpecificGravity] // what a float would show at 20 °C
}

// FermentingByRefractometer solves
//
//	reading = RefractometerReading(A, X(must) − f·A)
//
// for the alcohol A formed since the must read must Brix, both readings at 20 °C on
// the same instrument. The ends of the interval are the solutions with the reading
// 1.7 Brix off either way (SD 0.3 between repeats and 1.0 between instruments and
// wines, from memory): about ±1.4 % vol. Show it with that warning or not at all.
// Domain: must 10 to 35 Brix, reading −1 Brix to the must's own.
func FermentingByRefractometer(must, now Brix, f SugarPerAlcohol) (Fermenting, error) {
	if err := f.check(); err != nil {
		return Fermenting{}, err
	}
	if err := quantity.Check("Brix of the must", float64(must), "Brix", 10, 35); err != nil {
		return Fermenting{}, err
	}
	if err := quantity.Check("Brix now", float64(now), "Brix", 0, float64(must)); err != nil {
		return Fermenting{}, err
	}
	start := float64(must) / 100 * sucrose(float64(must)/100, 20)
	top := start / float64(f)
	solve := func(shown float64) float64 {
		excess := func(a float64) float64 { return reading(a, start-float64(f)*a) - shown }
		switch {
		case excess(0) <= 0:
			return 0
		case excess(top) >= 0:
			return top
		}
		a, err := root.Between(excess, 0, top)
		if err != nil {
			return math.NaN()
		}
		return a
	}
	off := tail95 * math.Hypot(prismRepeat, prismOffset)
	a := quantity.Interval[quantity.Strength]{
		Q05: quantity.Strength(solve(float64(now) + off)),
		Q50: quantity.Strength(solve(float64(now))),
		Q95: quantity.Strength(solve(float64(now) - off)),
	}
	gravity := func(s quantity.Strength) SpecificGravity {
		d, err := WineDensity(s, quantity.Concentration(start-float64(f)*s.Percent()), 20)
		if err != nil {
			return SpecificGravity(math.NaN())
		}
		return SpecificGravityOf(d)
	}
	g := quantity.Interval[SpecificGravity]{Q05: gravity(a.Q95), Q50: gravity(a.Q50), Q95: gravity(a.Q05)}
	if math.IsNaN(float64(a.Q05+a.Q50+a.Q95)) || math.IsNaN(float64(g.Q05+g.Q50+g.Q95)) {
		return Fermenting{}, root.ErrNoCrossing
	}
	return Fermenting{Alcohol: a, Gravity: g}, nil
}

// Pair is what a refractometer and a float say together about a finished wine.
type Pair struct {
	Alcohol quantity.Interval[quantity.Strength]
	Extract quantity.Concentration
	// Extrapolated: the method was fitted on another class of wine.
	Extrapolated bool
}

// pairSpread is the SD of alcohol from density and refraction: 7 to 14 g/L over 58
// still wines (Bavčar and Košmerl 2002), 0.9 to 1.8 % vol.
const pairSpread = 1.3

// AlcoholFromPair finds the alcohol and extract that explain a refractometer
// reading and a specific gravity, both at 20 °C and free of CO2. No single equation
// suits all wines: SD about 1.3 % vol (Bavčar, Košmerl 2002: 0.9 to 1.8). Domain: 0
// to 40 Brix, SG 0.985 to 1.15.
func AlcoholFromPair(shown Brix, sg SpecificGravity) (Pair, error) {
	if err := quantity.Check("Brix by refractometer", float64(shown), "Brix", 0, 40); err != nil {
		return Pair{}, err
	}
	if err := quantity.Check("specific gravity", float64(sg), "", 0.985, 1.15); err != nil {
		return Pair{}, err
	}
	extract := func(a float64) float64 {
		da, _ := MixtureGravity(quantity.Strength(a)) // 0 to 25 % vol is inside its domain
		w, err := sucroseFraction(float64(sg - da + 1))
		if err != nil {
			return math.NaN()
		}
		return w * sucrose(w, 20)
	}
	a, err := root.Between(func(a float64) float64 { return reading(a, extract(a)) - float64(shown) }, 0, 25)
	if err != nil {
		return Pair{}, &quantity.RangeError{Field: "Brix by refractometer", Value: float64(shown), Unit: "Brix",
			Min: reading(0, extract(0)), Max: reading(25, extract(25)), Why: "what a liquid of this gravity with 0 to 25 % vol can show"}
	}
	return Pair{Alcohol: about(a, pairSpread), Extract: quantity.Concentration(extract(a))}, nil
}

// FortifiedFromPair is the relation of Rogerson and Symington 2006 (AJEV
// 57:486–490), fitted on 35 young Ports:
//
//	% vol = 1.646·Brix(refractometer) − 2.703·Baumé(float) − 1.794
//
// Results outside 17 to 22 % vol are marked as extrapolated. Domain: 10 to 35 Brix,
// −1 to 12 Baumé.
func FortifiedFromPair(shown Brix, float Baume) (Pair, error) {
	if err := quantity.Check("Brix by refractometer", float64(shown), "Brix", 10, 35); err != nil {
		return Pair{}, err
	}
	if err := quantity.Check("Baumé", float64(float), "°Bé", -1, 12); err != nil {
		return Pair{}, err
	}
	a := 1.646*float64(shown) - 2.703*float64(float) - 1.794
	if err := quantity.Check("alcohol from the pair", a, "% vol", 0, 30); err != nil {
		return Pair{}, err
	}
	x, err := TotalExtract(float.SG(), quantity.Strength(min(a, 25)))
	return Pair{Alcohol: about(a, pairSpread), Extract: x, Extrapolated: a < 17 || a > 22}, err
}

func about(a, sd float64) quantity.Interval[quantity.Strength] {
	return quantity.Interval[quantity.Strength]{
		Q05: quantity.Strength(max(a-tail95*sd, 0)), Q50: quantity.Strength(a), Q95: quantity.Strength(a + tail95*sd),
	}
}
