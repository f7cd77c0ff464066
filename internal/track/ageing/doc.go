// Package ageing believes about the sulfur dioxide of one parcel of finished wine:
// free and molecular today, when it falls under the floor, what dose lasts to a
// date, and whether a measurement now is worth making.
//
//	aim, _ := sulfite.Handbook.Target(0.5 * quantity.MilligramPerLitre)
//	b, err := ageing.Believe(ageing.Input{
//		Vessel: science.Glass, Volume: 23, PH: 3.55, Alcohol: 13, Red: true,
//		Doses:    []ageing.Dose{{At: november3, SO2: 60 * quantity.MilligramPerLitre}},
//		Readings: []ageing.Reading{{ID: "r1", At: november6, Of: ageing.Free, Method: ageing.Aspiration, Value: 31 * quantity.MilligramPerLitre}},
//		At:       january10, Floor: aim,
//	})
//	b.Free        // 90 % interval of free SO2 now
//	b.FallsUnder  // the day it passes the floor
//	b.Summary     // the same in sentences
//
// Nothing is asked but the day and one of a dose or a reading; what is not given is
// taken from the priors of science/ageing and makes the intervals wider. The
// result is a function of the input alone: same data and seed, same belief.
//
// Method: given the unknown constants of vessel and wine (ingress, SO2 per oxygen,
// Q10, binding), free and bound SO2, the oxygen not yet used and the offset of each
// test method are very nearly linear and Gaussian, so they are filtered exactly
// (Kalman 1960) with an outlier component in each reading's likelihood; the
// constants are drawn by adaptive importance sampling (science/bayes).
package ageing
