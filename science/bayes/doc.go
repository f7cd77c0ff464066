// Package bayes holds the machinery of inference that does not know what is
// being inferred: a tempered sequential Monte Carlo sampler over standard-normal
// coordinates, resampling, effective sample size, weighted quantiles, proper
// scores, and the checks by which a posterior is judged (ranks with simultaneous
// bands, coverage).
//
// A model is written as a log-likelihood over z ~ N(0, I); what z means is the
// caller's affair:
//
//	s := bayes.Sampler{Particles: 800, Seed: 1}
//	post := s.Run(1, func(z []float64) float64 {
//		return bayes.NormalLogDensity(1.2, z[0], 0.5) // a reading of 1.2 ± 0.5
//	})
//	post.ESS                       // how many independent draws these are worth
//	bayes.Mean(post.Column(0))     // 0.96: prior N(0,1) against the reading
//
// Everything is deterministic for a given seed: random numbers come from a PCG
// stream that the sampler owns, never from a clock. The last bits of results may
// differ between processors; round before comparing across machines.
package bayes
