package ageing

import (
	"math"

	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// ReferenceTemperature is where vessel ingress and loss are stated.
const ReferenceTemperature quantity.Temperature = 15

// PerOxygen is the free SO2 lost per oxygen used, mg/mg: 2 is one molecule to one,
// 4 is two to one, the stoichiometric ceiling.
var PerOxygen = bayes.Prior{Name: "free SO2 lost per oxygen", Unit: "mg/mg", Family: bayes.Normal, Location: 2.5, Spread: 0.6, Low: 2, High: 4,
	Source: cited.Source{Text: "mean of about 100 bottled wines over two years, Pascal, Diéval & Vidal; limits Danilewicz & Standing 2018", Mark: cited.Read}}

// Q10 is the factor on the loss for 10 °C. The sources conflict: 1.26 for white
// wine (SO2 decline doubles in 30 °C, Purdue FS-58-W), about 3 from a two-cellar
// study; hence wide.
var Q10 = bayes.Prior{Name: "factor on SO2 loss for 10 °C", Family: bayes.LogNormal, Location: 1.5, Spread: 0.35,
	Source: cited.Source{Text: "between 1.26 (Purdue FS-58-W) and about 3 (two-cellar Sangiovese study, quoted); sources conflict", Mark: cited.Proposal}}

// FreeShare is the part of a first addition that stays free once binding has
// settled; later additions bind less, by LaterBinding.
var FreeShare = bayes.Prior{Name: "share of a first addition that stays free", Family: bayes.Normal, Location: 0.5, Spread: 0.15, Low: 0.1, High: 0.95,
	Source: cited.Source{Text: "40–60 % of a first dose", Mark: cited.Memory}}

// LaterBinding is the factor on the bound share for every addition after the first:
// acetaldehyde is full by then, and from 10 to 30 mg/L free the weak binders take
// about a third of what is added (mass action with the constants of Holding).
var LaterBinding = bayes.Prior{Name: "binding of later additions against the first", Family: bayes.Normal, Location: 0.6, Spread: 0.2, Low: 0.15, High: 1,
	Source: cited.Source{Text: "a first addition binds a third to a half, later ones less; mass action with recalled constants", Mark: cited.Memory}}

// BindingTime is the time constant of binding: most is bound within days, which
// is why a dose is checked after two or three.
var BindingTime = bayes.Prior{Name: "time constant of binding", Unit: "days", Family: bayes.LogNormal, Location: 1.5, Spread: 0.5,
	Source: cited.Source{Text: "re-measure after 2–3 days and again in two weeks is common practice; figure set to match", Mark: cited.Proposal}}

// Release is how much more total SO2 is lost than free, per mg of free, at
// TypicalFree.
var Release = bayes.Prior{Name: "total SO2 lost beyond free, per free", Family: bayes.Uniform, Location: 0, Spread: 0.6,
	Source: cited.Source{Text: "total lost lies between the free loss (2.5) and the ceiling (4 mg per mg O2)", Mark: cited.Proposal}}

// OxygenUse is the time constant with which wine uses up oxygen from an event.
const OxygenUse quantity.Days = 6 // proposal: days to weeks in red wine

// Holding is the scale k on which the loss of free SO2 slows as it runs low: weak
// adducts let go by mass action. With the recalled constants of pyruvate (0.14 mM)
// and 2-oxoglutarate (0.49 mM) in usual amounts, free SO2 lost per oxygen falls by a
// third from 35 to 15 mg/L and by more than half to 8, which k = 15 matches;
// k = 12 ± a factor 1.6 also allows wines with fewer such binders.
var Holding = bayes.Prior{Name: "scale on which the loss slows as free SO2 runs low", Unit: "mg/L", Family: bayes.LogNormal, Location: 12, Spread: 0.5,
	Source: cited.Source{Text: "law of mass action (Blouin) with constants after Burroughs & Sparks 1973 from memory; scale computed here", Mark: cited.Memory}}

// TypicalFree is the free SO2 at which [PerOxygen] and the vessels' losses are
// stated, mg/L: that of bottled wines, from 35 down to 15.
const TypicalFree = 25.0

// Slowing is the factor on the loss at a level of free SO2, where it slows on scale k
// ([Holding]; both mg/L, k above 0): (1 − e^(−free/k))/(1 − e^(−25/k)), 1 at
// TypicalFree and 0 where nothing is free.
func Slowing(free, k float64) float64 { return math.Expm1(-free/k) / math.Expm1(-TypicalFree/k) }

// MonthlyLoss is the free SO2 lost per mean month to oxygen let in by a vessel
// (mg/L a year), with perOxygen mg SO2 per mg O2 and a temperature factor.
func MonthlyLoss(ingress, perOxygen, temperatureFactor float64) quantity.Concentration {
	return quantity.Concentration(ingress*perOxygen*temperatureFactor/12) * quantity.MilligramPerLitre
}

// TemperatureFactor is how many times faster the loss runs than at 15 °C,
// q10^((t−15)/10), with q10 above 0. Meant for 5 to 30 °C, where cellars lie.
func TemperatureFactor(q10 float64, t quantity.Temperature) float64 {
	return math.Pow(q10, float64(t-ReferenceTemperature)/10)
}

// Deplete is free SO2 after a demand, both mg/L, where the loss slows on scale k
// ([Holding]). With c = 1/(1 − exp(−25/k)) and the demand stated at 25 mg/L,
//
//	dF = −c·(1 − exp(−F/k)) dD   ⇒   F' = k·ln(1 + (e^{F/k} − 1)·e^{−cD/k})
//
// A negative demand goes back: Deplete(Deplete(F, D, k), −D, k) = F. It never comes
// out below zero.
func Deplete(free, demand, k float64) float64 {
	if free <= 0 {
		return 0
	}
	d := demand / -math.Expm1(-TypicalFree/k)
	return k * math.Log1p(math.Expm1(free/k)*math.Exp(-d/k))
}
