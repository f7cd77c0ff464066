// Package blend finds how much of which wine to pour together.
//
//	sources := blend.Sources(state, beliefs, now)
//	answer, err := blend.Find(blend.Wish{
//		Sources: sources,
//		Limits:  []blend.Limit{blend.PH(3.3, 3.6), blend.VA(0, 0.8), blend.ShareOf("variety", "Merlot", 0.85, 1)},
//		Targets: []blend.Target{blend.Aim(blend.AlcoholIs(13), 0.2), blend.Aim(blend.TAIs(6), 0.3)},
//		Least:   100,
//	})
//	answer.Blends[0].Parts   // litres of each; Blends is the trade-off, best first
//	answer.Conflict          // or, if no blend meets the limits: which of them, and by how much
//
// Alcohol, acids, sugar, sulfur dioxide and shares by variety mix by volume, so that
// limits on them are linear in the litres and the answer is exact (a linear
// programme). A pH is not: what is linear is the strong base that would bring each
// wine to the limit, at its own ionic strength; the little that this is off for the
// mixture is found by solving the mixture (package acidbase) and put right in the
// next round, until the pH that was asked for is the pH that is solved.
//
// One answer would hide the price of each wish. What comes back is the set of blends
// of which none is better than another in everything: one that meets the wishes
// together, those that meet one of them best, and the greatest volume.
package blend
