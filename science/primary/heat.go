package primary

import (
	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// HeatPerGram is the heat of fermentation, kJ per g hexose: about 24 kcal/mol
// (Colombié, Malherbe & Sablayrolles 2007, Food Control 18:953, quoted). A review
// says that several textbooks have this wrong; its own value was not read.
var HeatPerGram = bayes.Prior{Name: "heat of fermentation", Unit: "kJ per g sugar", Family: bayes.Normal, Location: 0.56, Spread: 0.02,
	Source: cited.Source{Text: "24 kcal/mol, Colombié, Malherbe & Sablayrolles 2007, Food Control 18:953–960, as quoted", Mark: cited.SecondHand}}

// HeatCapacity of must and wine, kJ/(L·K), as the reference takes it.
const HeatCapacity = 4.0

// EthanolYield is for display: g ethanol per g sugar (Cramer et al. 2002; 0.511 at
// most by stoichiometry).
var EthanolYield = bayes.Prior{Name: "ethanol from sugar", Unit: "g/g", Family: bayes.Normal, Location: 0.47, Spread: 0.01,
	Source: cited.Source{Text: "0.47, Cramer, Vlassides & Block 2002; stoichiometric 0.511", Mark: cited.SecondHand}}

// ethanolDensity is that of pure ethanol at 20 °C, kg/m³ (OIML R 22).
const ethanolDensity = 789.24

// Alcohol is the strength that fermented sugar makes: sugar × EthanolYield (0.47 g/g,
// Cramer et al. 2002) over the density of ethanol at 20 °C (OIML R 22). Meant for 0 to
// 300 g/L; the shrinking of the liquid as sugar goes is left out.
func Alcohol(fermented quantity.Concentration) quantity.Strength {
	return quantity.Strength(fermented.GPerL() * EthanolYield.Location / ethanolDensity * 100)
}

// SugarPerPercent is the sugar, g/L, that makes 1 % vol at a yield in g ethanol per g
// sugar (above 0; 0.511 at most by stoichiometry): 16.8 g/L at 0.47.
func SugarPerPercent(yield float64) float64 { return ethanolDensity / 100 / yield }

// Heat is what a ferment gives off at a rate of sugar use. All of it must leave the
// vessel to hold the temperature: what walls, open top and gas take is not known
// here, so it is the most that cooling has to carry.
func Heat(rate quantity.Rate, must quantity.Volume) quantity.Power {
	return quantity.Power(rate.GPerLDay() * must.Litres() * HeatPerGram.Location * 1000 / 86400)
}

// AdiabaticRise is by how many °C fermenting so much sugar would warm a must from
// which no heat escapes: 0.14 °C per g/L. Allowed is 0 to 400 g/L.
func AdiabaticRise(sugar quantity.Concentration) (float64, error) {
	return sugar.GPerL() * HeatPerGram.Location / HeatCapacity, quantity.Check("sugar", sugar.GPerL(), "g/L", 0, 400)
}

// Ice is the frozen water, in closed bottles, that takes up a power for a day: 334
// kJ/kg of melting and 4.18 kJ/(kg·K) up to the must's temperature.
func Ice(p quantity.Power, must quantity.Temperature) quantity.Mass {
	return quantity.Mass(p.Watts()*86400/(334000+4180*max(0, must.Celsius()))) * quantity.Kilogram
}
