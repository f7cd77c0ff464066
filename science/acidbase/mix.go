package acidbase

import "elevage/science/quantity"

// A Part is a volume of one composition, to be mixed.
type Part struct {
	Composition Composition
	Volume      quantity.Volume
}

// Mix blends parts: everything a composition holds is an amount and adds up by
// volume, alcohol and heat included; the pH of the blend is then solved, never
// averaged. Contraction on mixing (below 0.1 % between wines) and what may
// precipitate are left out. The order of the parts and of repeated mixing does
// not matter. Volumes are 0 or more and not all 0; else, or where a part is outside
// Composition.Check, a *quantity.RangeError.
func Mix(parts ...Part) (Composition, quantity.Volume, error) {
	var out Composition
	var total quantity.Volume
	for i := range parts {
		if err := quantity.Check("volume", parts[i].Volume.Litres(), "L", 0, 1e9); err != nil {
			return out, 0, err
		}
		if err := parts[i].Composition.Check(); err != nil {
			return out, 0, err
		}
		total += parts[i].Volume
	}
	if total == 0 {
		return out, 0, &quantity.RangeError{Field: "volume mixed", Unit: "L", Min: 1e-9, Max: 1e9, Why: "nothing to mix"}
	}
	for i := range parts {
		out.blend(&parts[i].Composition, parts[i].Volume.Litres()/total.Litres())
	}
	return out, total, nil
}

// blend adds a share of another composition.
func (c *Composition) blend(p *Composition, share float64) {
	k := quantity.Concentration(share)
	c.Tartaric += k * p.Tartaric
	c.Malic += k * p.Malic
	c.Lactic += k * p.Lactic
	c.Succinic += k * p.Succinic
	c.Citric += k * p.Citric
	c.Acetic += k * p.Acetic
	c.FreeSO2 += k * p.FreeSO2
	c.CO2 += k * p.CO2
	c.Phosphate += k * p.Phosphate
	c.Potassium += k * p.Potassium
	c.Calcium += k * p.Calcium
	n := quantity.Molarity(share)
	c.Other += n * p.Other
	c.StrongIons += n * p.StrongIons
	c.InertSalt += n * p.InertSalt
	c.Alcohol += quantity.Strength(share) * p.Alcohol
	c.Temperature += quantity.Temperature(share) * p.Temperature
}

// WithWater is the wine after pure water was added to it, at the wine's temperature, as
// Mix would have it; volumes 0 or more, not both 0.
func (c *Composition) WithWater(wine, water quantity.Volume) (Composition, error) {
	out, _, err := Mix(Part{*c, wine}, Part{Composition{Temperature: c.Temperature}, water})
	return out, err
}

// TAOfSample is the titratable acidity of the wine, in mol/L of charge per litre
// of wine, when a sample of it is made up with water and then titrated: the
// water thins the alcohol and the salts, which moves the result a little. The
// titrant's own volume is left out. Sample 0.1 mL or more, end point 5 to 9; a
// *quantity.RangeError outside.
func (c *Composition) TAOfSample(end quantity.PH, sample, water quantity.Volume) (quantity.Molarity, error) {
	if err := quantity.Check("sample", sample.Millilitres(), "mL", 0.1, 1e6); err != nil {
		return 0, err
	}
	thin, err := c.WithWater(sample, water)
	if err != nil {
		return 0, err
	}
	ta, err := thin.TAEquivalents(end)
	return ta * quantity.Molarity((sample+water).Litres()/sample.Litres()), err
}
