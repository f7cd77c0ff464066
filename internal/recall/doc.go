// Package recall answers what is asked of the record long after: what opened bottles
// teach, which readings a meter has spoiled, and how much wine a household made in a
// year. It reads a state and says what it finds in figures and in sentences; it
// changes nothing.
//
//	for _, b := range recall.Bottled(state, now) {
//		b.Oxidised().Says          // "1 of 3 …"
//		b.Drink(belief, now).Says
//	}
//	recall.Doubts(state, now)      // readings of a meter that was off, with the doses that rest on them
//	recall.Made(state, 2026, zone) // litres, against the allowance of 27 CFR 24.75
package recall
