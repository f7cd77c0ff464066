// Package primary believes about one primary fermentation: sugar and alcohol now,
// when it will be dry, whether it sticks, and what heat and gas come of it.
//
//	b, err := primary.Believe(primary.Input{
//		Volume: 105, Red: true, Pitched: october2,
//		Readings: []primary.Reading{
//			{At: october1, What: primary.Gravity, Value: 1.100, Temperature: 19, Degassed: true},
//			{At: october4, What: primary.Gravity, Value: 1.078, Temperature: 26},
//		},
//		At: october5,
//	})
//	b.Dry      // the day, 90 % interval
//	b.States   // lag, growth, steady, slowing, stuck, dry with their probabilities
//	b.Summary  // the same in sentences
//
// The law is that of science/primary with unknown factors of this lot: sugar,
// nitrogen, living yeast, lag, speed, loss of cells, an activity that wanders, the
// extract that is not sugar, the offset of each instrument. A ferment that runs on
// and one that has stalled for a reason outside the law are two models; each is
// fitted by Gauss–Newton and then drawn from by importance sampling
// (science/bayes), and their evidence with the hazard of stalling gives the
// probability of the stall. Same data and seed, same belief.
package primary
