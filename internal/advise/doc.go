// Package advise says what is to be done in a cellar: what is due when, how much,
// why, and what to beware of.
//
// What is due is not code. A protocol is a readable file of steps; each has
// conditions on a wine's record and on what is believed about it, a window, an
// amount that a calculator of the bench gives, a reason and a source. The built-in
// ones stand in protocols/; docs/protocols.md describes the file.
//
//	today, err := advise.Plan(advise.Input{State: state, Beliefs: beliefs, Ageing: ageing, Now: now})
//	for _, act := range today.With(advise.Due) {
//		fmt.Println(act.Vessel, act.Do, act.Amount, act.Unit, act.Why)
//	}
//	today.ComeBack // when to come back
//
// Conditions have three answers. A pH that was never measured is neither above nor
// below 3.5: a step whose turn hangs on it is waiting on a pH reading.
//
// Plan is a pure function: no clock, no disk. One rule is not data and no file can
// overrule it: a wine whose malolactic fermentation is wanted gets no sulfur dioxide
// before that is over or given up.
package advise
