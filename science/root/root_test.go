package root_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"elevage/science/root"
)

func TestKnownRoots(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		f    func(float64) float64
		a, b float64
		want float64
	}{
		{"square root of two", func(x float64) float64 { return x*x - 2 }, 0, 2, math.Sqrt2},
		{"bracket the other way round", func(x float64) float64 { return x*x - 2 }, 2, 0, math.Sqrt2},
		{"cosine's fixed point (Dottie)", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607},
		{"triple root, flat", func(x float64) float64 { return x * x * x }, -1, 2, 0},
		{"steep", func(x float64) float64 { return math.Tanh(1e6 * (x - 0.3)) }, -5, 7, 0.3},
		{"jump", func(x float64) float64 {
			if x < 0.25 {
				return -1
			}
			return 1
		}, 0, 1, 0.25},
		{"at the left end", func(x float64) float64 { return x }, 0, 1, 0},
		{"at the right end", func(x float64) float64 { return x - 1 }, 0, 1, 1},
		{"huge", func(x float64) float64 { return x - 1e300 }, 0, 1e301, 1e300},
		{"tiny", func(x float64) float64 { return x - 1e-300 }, 0, 1, 1e-300},
	} {
		got, err := root.Between(c.f, c.a, c.b)
		if err != nil || math.Abs(got-c.want) > 1e-15*math.Max(math.Abs(c.want), 1e-9) {
			t.Errorf("%s: %v (%v), want %v", c.name, got, err, c.want)
		}
	}
}

func TestNoCrossing(t *testing.T) {
	t.Parallel()
	for name, f := range map[string]func(float64) float64{
		"same sign":    func(x float64) float64 { return 1 + x*x },
		"not a number": func(float64) float64 { return math.NaN() },
	} {
		if x, err := root.Between(f, -1, 1); !errors.Is(err, root.ErrNoCrossing) {
			t.Errorf("%s: %v %v", name, x, err)
		}
	}
}

// The answer stays in the bracket, the sign changes across it within a few bits,
// and the number of calls is bounded.
func TestAnyMonotoneFunction(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(-50, 50).Draw(t, "root")
		power := rapid.SampledFrom([]float64{0.2, 1, 3, 7}).Draw(t, "power")
		calls := 0
		f := func(x float64) float64 {
			calls++
			return math.Copysign(math.Pow(math.Abs(x-at), power), x-at)
		}
		a, b := at-rapid.Float64Range(0, 100).Draw(t, "left"), at+rapid.Float64Range(0, 100).Draw(t, "right")
		x, err := root.Between(f, a, b)
		if err != nil || x < a || x > b || math.Abs(x-at) > 1e-14*math.Max(1, math.Abs(at)) {
			t.Fatalf("%v (%v) in [%v, %v], want %v", x, err, a, b, at)
		}
		if calls > 203 {
			t.Fatalf("%d calls", calls)
		}
	})
}

func BenchmarkBetween(b *testing.B) {
	for b.Loop() {
		root.Between(func(x float64) float64 { return math.Cos(x) - x }, 0, 1)
	}
}
