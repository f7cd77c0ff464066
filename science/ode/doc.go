// Package ode solves initial-value problems of ordinary differential equations by
// the explicit pair of Dormand and Prince, fifth order with a fourth-order error
// estimate, with step control, values between the steps and events.
//
//	fall := func(t float64, y, dy []float64) { dy[0], dy[1] = y[1], -9.81 }
//	ground := ode.Event{At: func(t float64, y []float64) float64 { return y[0] }, Terminal: true}
//	s, err := ode.Solver{}.Solve(fall, 0, 10, []float64{20, 0}, ground)
//	s.Hits[0].T // 2.0193 s
//	s.At(1.5)   // height and speed in between
//
// It is for smooth, non-stiff systems. A stiff one makes it take very many small
// steps, and it says so by ErrSteps rather than by a wrong answer.
package ode
