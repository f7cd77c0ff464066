// Package fill is about vessels and how full they are: which stand full, empty, dirty
// or sulfured, which wine may top up which, which set of vessels a volume fills to the
// last drop, and how much a wine shrinks in the cold.
//
//	for _, c := range fill.Conditions(state, now) { … }      // in the order of a walk
//	for _, t := range fill.Toppings(state, beliefs, "b2", now) { … }  // best first, each with its reasons
//	sets := fill.Sets(65.7, 1.5, vessels)                    // 54 + 11 L, with 0.7 L to top up
//	fill.Shrinks(wine, 54, 25, 10)                           // 0.195 L
//
// A small cellar loses more wine to half-full vessels than to microbes (common
// practice, no source).
package fill
