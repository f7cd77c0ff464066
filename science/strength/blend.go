package strength

import (
	"errors"
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// A Part is a volume of liquid that goes into a blend, measured at 20 °C.
type Part struct {
	Volume  quantity.Volume
	Alcohol quantity.Strength      // 0 to 100 % vol
	Extract quantity.Concentration // total extract, g/L; 0 for spirit and water
}

// Blended is what comes of it.
type Blended struct {
	Volume      quantity.Volume
	Alcohol     quantity.Strength
	Extract     quantity.Concentration
	Contraction quantity.Volume // by how much the parts were more than the whole
}

func (p Part) check() error {
	if err := quantity.Check("volume", p.Volume.Litres(), "L", 0, 1e6); err != nil {
		return err
	}
	if err := quantity.Check("alcohol", p.Alcohol.Percent(), "% vol", 0, 100); err != nil {
		return err
	}
	return quantity.Check("extract", p.Extract.GPerL(), "g/L", 0, 400)
}

// content is what a part brings: kg in all, litres of pure ethanol at 20 °C, grams
// of extract.
func (p Part) content() (mass, ethanol, extract float64, err error) {
	rho, err := density20(p.Alcohol, p.Extract)
	v := p.Volume.Litres()
	return v * rho / 1e3, v * p.Alcohol.Percent() / 100, v * p.Extract.GPerL(), err
}

// density20 is the Tabarié sum at 20 °C for any strength.
func density20(alcohol quantity.Strength, extract quantity.Concentration) (float64, error) {
	w, err := fractionOfExtract(extract)
	if err != nil {
		return math.NaN(), err
	}
	p, err := MassFraction(alcohol)
	return r22(p, 20) + sucrose(w, 20) - kell(20), err
}

// Blend mixes parts. Mass, ethanol and extract are kept; volume is not, because
// alcohol and water contract: the final volume V solves
//
//	V · ρ(ethanol/V, extract/V) = Σ mass
//
// with ρ of OIML R 22 and the Tabarié sum. Two wines contract by less than 0.01 %,
// 20 L of 96 % vol into 80 L of wine at 12 % by 1.6 L. The order of mixing does not
// matter. Domain: each part 0 to 1 000 000 L, 0 to 100 % vol, 0 to 400 g/L extract (a
// *quantity.RangeError outside), and at least one above 0 L.
func Blend(parts ...Part) (Blended, error) {
	var sum, mass, ethanol, extract float64
	for _, p := range parts {
		if err := p.check(); err != nil {
			return Blended{}, err
		}
		m, e, x, err := p.content()
		if err != nil {
			return Blended{}, err
		}
		sum, mass, ethanol, extract = sum+p.Volume.Litres(), mass+m, ethanol+e, extract+x
	}
	if sum <= 0 {
		return Blended{}, errors.New("blend is empty: at least one part needs a volume above 0 L")
	}
	surplus := func(v float64) float64 {
		rho, err := density20(quantity.Strength(min(100*ethanol/v, 100)), quantity.Concentration(extract/v))
		if err != nil {
			return math.NaN()
		}
		return v*rho/1e3 - mass
	}
	v, err := root.Between(surplus, 0.9*sum, 1.02*sum)
	if err != nil {
		return Blended{}, err
	}
	return Blended{
		Volume:      quantity.Volume(v),
		Alcohol:     quantity.Strength(100 * ethanol / v),
		Extract:     quantity.Concentration(extract / v),
		Contraction: quantity.Volume(sum - v),
	}, nil
}

// Fortified is the answer to how much spirit brings a wine to a strength.
type Fortified struct {
	Spirit quantity.Volume
	Result Blended
	// ByCross is the spirit by the cross of alligation, which forgets contraction:
	// V·(target − wine)/(spirit − target).
	ByCross quantity.Volume
}

// Fortify finds the volume of spirit (or of a stronger wine) that brings a wine to
// a strength, as Blend mixes them; of the spirit's volume only its kind is looked at. The
// target must lie between the two, up to 99.9 % of the way to the spirit, and the wine
// be a millilitre or more; else a *quantity.RangeError.
func Fortify(wine, spirit Part, target quantity.Strength) (Fortified, error) {
	for _, p := range []Part{wine, spirit} {
		if err := p.check(); err != nil {
			return Fortified{}, err
		}
	}
	if err := quantity.Check("volume of wine", wine.Volume.Litres(), "L", 1e-3, 1e6); err != nil {
		return Fortified{}, err
	}
	if wine.Alcohol >= spirit.Alcohol {
		return Fortified{}, &quantity.RangeError{Field: "alcohol of the spirit", Value: spirit.Alcohol.Percent(), Unit: "% vol",
			Min: wine.Alcohol.Percent(), Max: 100, Why: "it must be stronger than the wine"}
	}
	margin := 0.999 * (spirit.Alcohol - wine.Alcohol).Percent()
	if err := quantity.Check("strength wanted", target.Percent(), "% vol", wine.Alcohol.Percent(), wine.Alcohol.Percent()+margin); err != nil {
		return Fortified{}, err
	}
	cross := wine.Volume.Litres() * (target - wine.Alcohol).Percent() / (spirit.Alcohol - target).Percent()
	if cross == 0 {
		result, err := Blend(wine)
		return Fortified{Result: result}, err
	}
	blend := func(v float64) (Blended, error) {
		s := spirit
		s.Volume = quantity.Volume(v)
		return Blend(wine, s)
	}
	v, err := root.Between(func(v float64) float64 {
		b, err := blend(v)
		if err != nil {
			return math.NaN()
		}
		return (b.Alcohol - target).Percent()
	}, 0.5*cross, 1.1*cross)
	if err != nil {
		return Fortified{}, err
	}
	result, err := blend(v)
	return Fortified{Spirit: quantity.Volume(v), Result: result, ByCross: quantity.Volume(cross)}, err
}
