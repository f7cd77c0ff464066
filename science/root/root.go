// Package root finds where a continuous function of one variable crosses zero.
package root

import (
	"errors"
	"math"
)

// ErrNoCrossing says that the function has the same sign at both ends, or is not
// a number at one of them.
var ErrNoCrossing = errors.New("no crossing of zero between the ends")

// Between solves f(x) = 0 for x between a and b, where f has opposite signs. The
// answer is good to the last few bits of x (or f is exactly zero there). It never
// leaves the bracket and takes at most some hundred calls of f, usually ten.
//
// Method: bisection sped up by inverse quadratic interpolation where that is
// safe, after T. R. Chandrupatla, Advances in Engineering Software 28 (1997)
// 145–149.
func Between(f func(float64) float64, a, b float64) (float64, error) {
	fa, fb := f(a), f(b)
	switch {
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case math.IsNaN(fa) || math.IsNaN(fb) || math.Signbit(fa) == math.Signbit(fb):
		return 0, ErrNoCrossing
	}
	t := 0.5
	for range 200 {
		x := min(max(a+t*(b-a), min(a, b)), max(a, b)) // rounding must not leave the bracket
		fx := f(x)
		c, fc := b, fb
		if math.Signbit(fx) == math.Signbit(fa) {
			c, fc = a, fa
		} else {
			b, fb = a, fa
		}
		a, fa = x, fx

		best, fbest := b, fb
		if math.Abs(fa) < math.Abs(fb) {
			best, fbest = a, fa
		}
		width := math.Abs(b - a)
		tolerance := 2 * epsilon * math.Abs(best)
		if fbest == 0 || width <= 2*tolerance || width < math.SmallestNonzeroFloat64*4 {
			return best, nil
		}
		t = fraction(a, b, c, fa, fb, fc)
		t = min(max(t, tolerance/width), 1-tolerance/width)
	}
	return a, nil
}

const epsilon = 0x1p-52

// fraction is how far from a towards b the next guess lies.
func fraction(a, b, c, fa, fb, fc float64) float64 {
	xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
	if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
		return fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
	}
	return 0.5
}
