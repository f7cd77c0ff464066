// Package sulfite reckons with sulfur dioxide in wine: molecular, free and bound,
// what to add, what oxygen costs, and what the law allows.
//
//	wine := sulfite.Wine{PH: 3.5, Alcohol: 13, Temperature: 20}
//	aim, _ := sulfite.Handbook.Target(0.8 * quantity.MilligramPerLitre)
//	free, _ := aim.Free(wine) // 40.0 mg/L
//
// # Rules
//
// Molecular SO2 is not measured but reckoned, and the rules in use differ by 40 %.
// A [Rule] must be chosen ([Handbook], [OIV], [OIVSlope]; [Default] where nobody
// chose). A [Target] is made by a rule and keeps it; a [Molecular] remembers its
// own. Nothing in the package takes a target and a rule side by side, so one rule's
// target cannot meet another rule's constant.
//
// # Doses
//
// A [Product] is a powder, a solution or tablets with what is left of its strength.
// [Addition.Dose] finds the amount for a free level, [Addition.With] reads an amount
// forwards, [Target.Dose] aims at molecular SO2 and says what comes of it when more
// or less binds than expected:
//
//	first dose    Need{Binding: FirstBinding}
//	top-up        Need{Binding: LaterBinding}, or what the lot showed: [ShownBinding]
//	for bottling  Need{Allowance: ...} from [BottlingAllowance]
//
// The loss of free SO2 with time belongs to package ageing.
//
// # Errors of measurement
//
// [Rule.Spread] and [Target.Shortfall] carry the errors of pH and free SO2 through:
// 0.05 pH is 11 % of molecular SO2.
//
// # Law and care
//
// [Lawful] holds a wine against the limits of a place, each with its edition and
// standing. [ExposureLimits] are for those who weigh and stir. Local codes and
// licensed practice decide.
package sulfite
