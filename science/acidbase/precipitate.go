package acidbase

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/root"
)

// A Salt is one of the two that fall out of wine.
type Salt uint8

// The salts.
const (
	Bitartrate      Salt = iota // potassium hydrogen tartrate, KC4H5O6
	CalciumTartrate             // CaC4H4O6·4H2O
)

// String is the trade's name.
func (s Salt) String() string {
	if s == CalciumTartrate {
		return "calcium tartrate"
	}
	return "potassium bitartrate"
}

// Molar masses, g/mol.
const (
	sodiumMass          = 22.990
	bitartrateMass      = 188.177
	calciumTartrateMass = 260.208 // tetrahydrate
)

// molarMass of the salt.
func (s Salt) molarMass() float64 {
	if s == CalciumTartrate {
		return calciumTartrateMass
	}
	return bitartrateMass
}

// Solubility product of potassium bitartrate, activities on the molar scale:
//
//	log10 K = k0 + k1 τ + k2 v + k3 (ln(T/T0) + T0/T − 1) + k4 τ v
//
// with τ = 1/T − 1/T0, T0 = 293.15 K, v in % vol. Fitted here to the solubilities
// that Berg and Keefer measured (1958, Am. J. Enol. Vitic. 9:180; water and 10 to
// 16 % vol, −4 to 25 °C), read in a text that quotes them (table 12.3 of the
// Russian edition of J. Ribéreau-Gayon and Peynaud's Theory and practice of
// winemaking), reckoned with this package's own constants and Davies' equation.
// The fit is within 4.5 % of the solubility at wine strength (47 values, rms 0.017
// in log10 K) and within 7 % in water. Other figures for the same solubility
// differ by up to 13 %; see docs/chemistry.md.
const (
	kht0 = -3.4941403
	kht1 = -2214.4441
	kht2 = -0.040922970
	kht3 = -23.820205
	kht4 = -38.074663
)

// Solubility product of calcium tartrate tetrahydrate. In water: from solubilities
// of 0.37 g/L at 0 °C (encyclopaedia, read) and 0.41 g/L at 20 °C and pH 7 (dossier
// of the European Chemicals Agency, read), taking the ion pair into account;
// enthalpy from solubilities in an old table (from memory, unverified). The
// effect of ethanol was not found anywhere: cat2 is a proposal, near the value
// for potassium bitartrate. Good to about ±0.3, a factor of two.
const (
	cat0 = -6.10  // log10 K at 20 °C in water
	cat1 = 18.0   // kJ/mol
	cat2 = -0.045 // per % vol
	// Ion pairs, log10 K at 25 °C and I = 0, and enthalpy of formation in kJ/mol:
	// NIST 46 as carried by MINTEQA2 v4 (read).
	pairCaT, pairCaTEnthalpy   = 2.80, -8.368
	pairCaHT, pairCaHTEnthalpy = 5.86, -9.121 // from Ca²⁺, H⁺, T²⁻
)

// solubilityProduct is log10 K in the medium.
func (m *Medium) solubilityProduct(s Salt) float64 {
	const t0 = 293.15
	t, v := m.temperature.Kelvin(), m.alcohol.Percent()
	tau := 1/t - 1/t0
	if s == CalciumTartrate {
		return cat0 - cat1*1e3/(gasConstant*math.Ln10)*tau + cat2*v
	}
	return kht0 + kht1*tau + kht2*v + kht3*(math.Log(t/t0)+t0/t-1) + kht4*tau*v
}

// A Saturation says how far a wine is from holding all it can of a salt: the
// decimal logarithm of the ion activity product over the solubility product.
// Positive is more than a pure solution could hold. Wine holds more for months or
// for ever, since its colloids hinder crystals.
type Saturation struct {
	Bitartrate, CalciumTartrate float64 // −Inf where an ion is missing
	// Extrapolated is set outside what the solubility of potassium bitartrate was
	// fitted on: up to 16 % vol, −4 to 25 °C.
	Extrapolated bool
}

// Saturation looks at the wine brought to a temperature (−5 to 40 °C) by the solubility
// products of SourceBitartrate and SourceCalciumTartrate; the former good to 5 % at wine
// strength, the latter to a factor of two. Bad input is a *quantity.RangeError.
func (c *Composition) Saturation(t quantity.Temperature) (Saturation, error) {
	m, err := NewMedium(c.Alcohol, t)
	if err != nil {
		return Saturation{}, err
	}
	return m.saturation(c)
}

func (m *Medium) saturation(c *Composition) (Saturation, error) {
	s, err := m.Solve(c)
	if err != nil {
		return Saturation{}, err
	}
	t, v := m.temperature.Celsius(), m.alcohol.Percent()
	return Saturation{
		Bitartrate:      s.logProduct(c, Bitartrate) - m.solubilityProduct(Bitartrate),
		CalciumTartrate: s.logProduct(c, CalciumTartrate) - m.solubilityProduct(CalciumTartrate),
		Extrapolated:    t < -4 || t > 25 || v > 16,
	}, nil
}

// logProduct is log10 of the ion activity product.
func (s *Solution) logProduct(c *Composition, salt Salt) float64 {
	f := s.medium.fractions(Tartaric, s.h, s.g)
	ht, t := f[1]*s.tot[Tartaric]/s.g, f[2]*s.tot[Tartaric]/math.Pow(s.g, 4) // activities
	if salt == Bitartrate {
		return math.Log10(c.Potassium.GPerL() / potassiumMass / s.g * ht)
	}
	return math.Log10(s.calciumActivity(c.calcium(), t) * t)
}

// calciumActivity takes off what the ion pairs with tartrate hold:
// Ca = a g⁴ + K a t + K' a h t g, all in terms of the activities a and t.
func (s *Solution) calciumActivity(calcium, t float64) float64 {
	kelvin := s.medium.temperature.Kelvin()
	pair := func(logK, enthalpy float64) float64 {
		return exp10(logK - enthalpy*1e3/(gasConstant*math.Ln10)*(1/kelvin-1/reference))
	}
	g4 := math.Pow(s.g, 4)
	return calcium / (g4 + pair(pairCaT, pairCaTEnthalpy)*t + pair(pairCaHT, pairCaHTEnthalpy)*s.h*t*s.g)
}

// Lose takes an amount of a salt out of solution: its metal, its tartaric acid
// and its share of the strong ions. Losing more than there is, is a
// *quantity.RangeError.
//
// A gram of potassium bitartrate takes 0.399 g of titratable acidity (as
// tartaric acid), 0.208 g of potassium and 0.798 g of tartaric acid; calcium
// tartrate takes no titratable acidity.
func (c *Composition) Lose(salt Salt, lost quantity.Concentration) (Composition, error) {
	if err := quantity.Check(salt.String()+" lost", lost.GPerL(), "g/L", 0, c.most(salt)*salt.molarMass()*(1+1e-12)); err != nil {
		return *c, err
	}
	return c.without(salt, lost.GPerL()/salt.molarMass()), nil
}

// most is how much of a salt the composition could lose, mol/L.
func (c *Composition) most(salt Salt) float64 {
	tartaric := c.Tartaric.GPerL() / facts[Tartaric].molarMass
	if salt == CalciumTartrate {
		return math.Min(tartaric, c.calcium())
	}
	return math.Min(tartaric, c.Potassium.GPerL()/potassiumMass)
}

// without takes moles of a salt out.
func (c *Composition) without(salt Salt, moles float64) Composition {
	out := *c
	out.Tartaric = quantity.Concentration(math.Max(0, c.Tartaric.GPerL()-moles*facts[Tartaric].molarMass))
	if salt == CalciumTartrate {
		out.Calcium = quantity.Concentration(math.Max(0, c.Calcium.GPerL()-moles*calciumMass))
		out.StrongIons -= quantity.Molarity(2 * moles)
	} else {
		out.Potassium = quantity.Concentration(math.Max(0, c.Potassium.GPerL()-moles*potassiumMass))
		out.StrongIons -= quantity.Molarity(moles)
	}
	return out
}

// A Precipitation is what falls out of a wine kept at a temperature until it
// is just saturated.
type Precipitation struct {
	Bitartrate      quantity.Concentration // fallen
	CalciumTartrate quantity.Concentration // fallen, as tetrahydrate
	Before, After   Saturation             // at the temperature of settling
	Left            Composition            // at the wine's own temperature again
}

// Precipitate lets the named salts fall at a temperature until neither is
// supersaturated. It is the most that can fall: how much does, and how fast, is
// a matter of crystals and colloids. Calcium tartrate takes months and hardly
// minds the cold; name it only where that time is given.
//
// Composition.Potassium and Calcium must be filled in; where they are zero
// nothing falls. Domain and errors are those of Saturation.
func (c *Composition) Precipitate(t quantity.Temperature, salts ...Salt) (Precipitation, error) {
	p := Precipitation{Left: *c}
	m, err := NewMedium(c.Alcohol, t)
	if err != nil {
		return p, err
	}
	if p.Before, err = m.saturation(c); err != nil {
		return p, err
	}
	// Each salt in turn changes the other's saturation; a few rounds settle both.
	for range 20 {
		moved := 0.0
		for _, salt := range salts {
			moles, err := m.fall(&p.Left, salt)
			if err != nil {
				return p, err
			}
			p.Left = p.Left.without(salt, moles)
			grams := quantity.Concentration(moles * salt.molarMass())
			if salt == CalciumTartrate {
				p.CalciumTartrate += grams
			} else {
				p.Bitartrate += grams
			}
			moved += moles
		}
		if moved < 1e-13 {
			break
		}
	}
	p.After, err = m.saturation(&p.Left)
	return p, err
}

// fall is how many moles per litre of one salt fall until it is just saturated.
func (m *Medium) fall(c *Composition, salt Salt) (float64, error) {
	limit := m.solubilityProduct(salt)
	var failed error
	excess := func(moles float64) float64 {
		left := c.without(salt, moles)
		s, err := m.Solve(&left)
		if err != nil {
			failed = err
			return -1
		}
		return math.Max(-300, s.logProduct(&left, salt)-limit) // no ion left: far below saturation
	}
	if most := c.most(salt); most == 0 || excess(0) <= 0 {
		return 0, failed
	} else if moles, err := root.Between(excess, 0, most); err == nil {
		return moles, failed
	} else if failed == nil {
		failed = err
	}
	return 0, failed
}

// SaturationTemperature is the temperature at which the wine is just saturated
// with a salt, found between −5 and 40 °C; a wine saturated nowhere in that range,
// or supersaturated everywhere, gives a *quantity.RangeError whose value is the
// saturation (decimal logarithm) at the nearer end.
func (c *Composition) SaturationTemperature(salt Salt) (quantity.Temperature, error) {
	var failed error
	at := func(t float64) float64 {
		s, err := c.Saturation(quantity.Celsius(t))
		if err != nil {
			failed = err
		}
		if salt == CalciumTartrate {
			return math.Max(-300, s.CalciumTartrate)
		}
		return math.Max(-300, s.Bitartrate)
	}
	cold, warm := at(minTemperature), at(maxTemperature)
	if failed != nil {
		return 0, failed
	}
	if cold < 0 {
		return 0, &quantity.RangeError{Field: "saturation at -5 °C", Value: cold, Min: 0, Max: math.Inf(1), Why: salt.String() + " stays dissolved down to there"}
	}
	if warm > 0 {
		return 0, &quantity.RangeError{Field: "saturation at 40 °C", Value: warm, Min: math.Inf(-1), Max: 0, Why: salt.String() + " is supersaturated up to there"}
	}
	t, err := root.Between(at, minTemperature, maxTemperature)
	if err != nil {
		return 0, err
	}
	return quantity.Celsius(t), failed
}

// Watershed is the pH at which losing potassium bitartrate leaves the pH as it
// is, for a wine with these acids: below it the pH falls as the salt goes, above
// it rises. Near it tartaric acid carries one charge on average; the fall in ionic
// strength that goes with the salt moves it down by a few hundredths, which is
// counted here. It lies near 3.65 for wine and rises by 0.013 per % vol. The wine must
// hold tartaric acid; bad input is a *quantity.RangeError.
func (c *Composition) Watershed() (quantity.PH, error) {
	m, err := c.Medium()
	if err != nil {
		return 0, err
	}
	if err := c.Check(); err != nil {
		return 0, err
	}
	if c.Tartaric == 0 {
		return 0, quantity.Check("tartaric acid", 0, "g/L", math.SmallestNonzeroFloat64, mostAcid)
	}
	var failed error
	change := func(ph float64) float64 {
		p := problem{medium: &m, tot: c.totals(), calcium: c.calcium(), inert: c.InertSalt.MolPerL()}
		s := p.titrated(ph)
		p.strong = s.need()
		lost := 1e-3 * p.tot[Tartaric]
		p.tot[Tartaric] -= lost
		p.strong -= lost
		after, err := p.solve(s)
		if err != nil {
			failed = err
		}
		return s.lnh - after.lnh
	}
	ph, err := root.Between(change, 2.5, 5)
	if err == nil {
		err = failed
	}
	return quantity.PH(ph), err
}
