// Package sulfite reckons with sulfur dioxide in wine: molecular, free and bound,
// what to add, what is left as time passes, and what the law allows.
//
//	wine := sulfite.Wine{PH: 3.5, Alcohol: 13, Temperature: 20}
//	aim, _ := sulfite.Handbook.Target(0.8 * quantity.MilligramPerLitre)
//	free, _ := aim.Free(wine) // 40.0 mg/L
package sulfite
