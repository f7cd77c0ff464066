package acidbase

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// A DoubleSalt is a plan, in outline, for taking tartaric and malic acid out in
// equal amounts: part of the must is stirred into calcium carbonate until it is
// nearly neutral, calcium tartrate-malate falls out of it, and the clear liquid
// goes back to the rest.
type DoubleSalt struct {
	Portion          float64                // share of the volume to treat, 0 to 1
	CalciumCarbonate quantity.Concentration // per litre of the whole
	Tartaric, Malic  quantity.Concentration // taken out, per litre of the whole
	TreatedPH        quantity.PH            // of the portion after the salt has fallen
	Blend            Composition            // the whole, mixed again
}

// doubleSaltPH is the pH above which the double salt forms; below it calcium
// tartrate falls instead. (Handbook figure, from memory, unverified.)
const doubleSaltPH quantity.PH = 4.5

// PlanDoubleSalt finds the portion that brings the whole to a titratable acidity.
//
// Outline of the chemistry: a mole of CaCO3 takes half a mole each of tartaric and
// malic acid with it, so that the strong ions stay as they were and nothing of the
// calcium is left. The smaller of the two acids sets the limit and is taken out of
// the portion but for a twentieth. What is left out: calcium that stays dissolved,
// departure from equal amounts (Steele and Kunkee 1978, Am. J. Enol. Vitic. 29:153,
// report that the acids do not fall in exactly equal amounts, and that the
// reduction of acidity came out well all the same; abstract read).
//
// A *quantity.RangeError says so if treating all of it is not enough, if the portion
// would not reach pH 4.5, or if the input is bad.
func (c *Composition) PlanDoubleSalt(target quantity.Concentration, end quantity.PH, as Acid) (DoubleSalt, error) {
	const taken = 0.95
	now, err := c.TA(end, as)
	if err != nil {
		return DoubleSalt{}, err
	}
	if err := quantity.Check("target titratable acidity", target.GPerL(), "g/L", 0, now.GPerL()); err != nil {
		return DoubleSalt{}, err
	}
	moles := taken * math.Min(Tartaric.Molarity(c.Tartaric).MolPerL(), Malic.Molarity(c.Malic).MolPerL())
	treated := *c
	treated.Tartaric -= Tartaric.Concentration(quantity.Molarity(moles))
	treated.Malic -= Malic.Concentration(quantity.Molarity(moles))
	plan := DoubleSalt{}
	if plan.TreatedPH, err = treated.PH(); err != nil {
		return plan, err
	}
	if plan.TreatedPH < doubleSaltPH {
		return plan, &quantity.RangeError{Field: "pH of the treated portion", Value: float64(plan.TreatedPH), Min: float64(doubleSaltPH), Max: math.Inf(1),
			Why: "tartaric and malic acid are too unequal: below it calcium tartrate falls instead of the double salt"}
	}
	var failed error
	miss := func(portion float64) float64 {
		blend, _, err := Mix(Part{treated, quantity.Volume(portion)}, Part{*c, quantity.Volume(1 - portion)})
		if err == nil {
			plan.Blend = blend
			var ta quantity.Concentration
			if ta, err = blend.TA(end, as); err == nil {
				return (ta - target).GPerL()
			}
		}
		failed = err
		return 0
	}
	if all := miss(1); all > 0 {
		return plan, &quantity.RangeError{Field: "target titratable acidity", Value: target.GPerL(), Unit: "g/L",
			Min: all + target.GPerL(), Max: now.GPerL(), Why: "treating all of it gets no lower"}
	}
	plan.Portion, err = root.Between(miss, 0, 1)
	if err == nil {
		miss(plan.Portion)
		err = failed
	}
	plan.CalciumCarbonate = quantity.Concentration(2 * moles * plan.Portion * agents[CalciumCarbonate].molarMass)
	plan.Tartaric = Tartaric.Concentration(quantity.Molarity(moles * plan.Portion))
	plan.Malic = Malic.Concentration(quantity.Molarity(moles * plan.Portion))
	return plan, err
}
