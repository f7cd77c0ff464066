// Package acidbase reckons the acid-base equilibrium of must and wine: pH,
// titratable acidity, buffer capacity, and what an addition, a malolactic
// conversion or a precipitation does to them.
//
// A wine is rarely analysed acid by acid. What is at hand is a pH and a
// titratable acidity; Anchor finds the composition that honours both exactly,
// and every effect is then reckoned along that wine's own buffer curve:
//
//	wine, err := acidbase.Anchor(acidbase.Measured{
//		PH: 3.45, TA: 6.4 * quantity.GramPerLitre, EndPoint: acidbase.EndPointAOAC,
//		Malic: 2.5 * quantity.GramPerLitre,
//		Alcohol: 13 * quantity.PercentVol, Temperature: quantity.Celsius(20),
//	})
//	after, err := wine.Malolactic(2.5 * quantity.GramPerLitre)
//	ph, err := after.PH()                                            // 3.58
//	ta, err := after.TA(acidbase.EndPointAOAC, acidbase.Tartaric)    // 5.00 g/L
//
// The equilibrium is a charge balance over all acids with constants moved by
// ethanol, temperature and ionic strength. See docs/chemistry.md for equations,
// assumptions and how far the results can be trusted.
package acidbase
