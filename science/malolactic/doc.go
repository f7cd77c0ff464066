// Package malolactic is the kinetics of malolactic conversion: how fast bacteria
// turn L-malic acid into lactic acid in a wine of given pH, alcohol, temperature
// and sulfur dioxide, with honest spreads on every constant.
//
// The model (after the forms collected in docs/inference.md; each constant has a
// prior, a unit and a mark in priors.csv):
//
//	dM/dt = −q · f · A · M/(Km + M)        malic acid M, g/L
//	dA/dt =  μ · f · A · (1 − A/A_max)     active bacteria A, f as in Constants.Factor, times lot
//	lag = L/√f                              (lot left out)
//
// with a factor f = γ(T) γ(pH) γ(E) γ(SO2) for what the wine is like and a factor
// lot for what its figures do not say.
//
// Growth is not held back by lack of malic: by the time malic is short there is
// little left for more cells to do. With that the course has a closed form on each
// stretch of steady conditions (logistic growth, and Lambert's W for the malic
// acid), so a season costs about a microsecond.
//
//	p := malolactic.DefaultPriors()
//	k := p.Median(malolactic.Rehydrated)
//	s := malolactic.Steady(malolactic.Conditions{Temperature: 20, PH: 3.5,
//		Alcohol: 12.5, Bound: 15 * quantity.MilligramPerLitre}, 120)
//	course := k.Course(2*quantity.GramPerLitre, s)
//	course.DaysTo(0.1 * quantity.GramPerLitre) // about four weeks
//
// A stall is not slowness: it is an event after which nothing converts until
// bacteria are added again. It comes with time (Priors.Hazard) or on the way, at any
// share converted (Priors.StopShare).
package malolactic
