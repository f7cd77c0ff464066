// Package track turns the few cheap readings of one parcel of wine into a belief
// about what nobody can see: how much malic acid is left, whether the conversion
// is lagging, active, stalled or finished, when it will be finished, which test is
// worth making next and on which day, and which readings say so.
//
//	facts, err := track.ReadFacts(file)
//	readings, rowErrors, err := track.ReadReadings(csv, false)
//	belief, err := track.Malo(track.Input{Facts: facts, Readings: readings, At: day})
//	belief.Decision.Call // "cannot_tell": and belief.NextTest says what would
//
// The belief is a Bayesian posterior over the kinetics of package malolactic, the
// chemistry of package acidbase and the faults of the instruments; docs/inference.md
// describes and criticises it, BELIEF.md beside this file its JSON. It is
// deterministic for given data and seed. Nothing here knows the time: the day is
// Input.At.
package track
