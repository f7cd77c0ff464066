package uncertain_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"elevage/science/uncertain"

	"pgregory.net/rapid"
)

// A linear function of independent inputs has an exact answer: the root of the
// summed squares (JCGM 100:2008, GUM, equation 10).
func TestLinearIsExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		inputs := make([]uncertain.Input, n)
		weight := make([]float64, n)
		want, variance := 0.0, 0.0
		for i := range inputs {
			inputs[i] = uncertain.Input{Name: "x", Value: rapid.Float64Range(-10, 10).Draw(t, "v"), SD: rapid.Float64Range(0, 3).Draw(t, "sd")}
			weight[i] = rapid.Float64Range(-5, 5).Draw(t, "w")
			want += weight[i] * inputs[i].Value
			variance += math.Pow(weight[i]*inputs[i].SD, 2)
		}
		out, err := uncertain.Propagate(inputs, 1, func(x, y []float64) error {
			y[0] = 0
			for i := range x {
				y[0] += weight[i] * x[i]
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if e := out[0]; math.Abs(e.Value-want) > 1e-9 || math.Abs(e.Mean-want) > 1e-9 || math.Abs(e.SD-math.Sqrt(variance)) > 1e-9 {
			t.Fatalf("got %+v, want %g ± %g", e, want, math.Sqrt(variance))
		}
	})
}

// The square of a normal variable has mean µ² + σ² and variance 4µ²σ² + 2σ⁴
// (moments of the normal distribution), the second-order case in full.
func TestSquareIsExact(t *testing.T) {
	t.Parallel()
	const mu, sigma = 1.3, 0.7
	out, err := uncertain.Propagate([]uncertain.Input{{Name: "x", Value: mu, SD: sigma}}, 1, func(x, y []float64) error {
		y[0] = x[0] * x[0]
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := out[0].Mean, mu*mu+sigma*sigma; math.Abs(got-want) > 1e-12 {
		t.Errorf("mean %g, want %g", got, want)
	}
	if got, want := out[0].SD, math.Sqrt(4*mu*mu*sigma*sigma+2*math.Pow(sigma, 4)); math.Abs(got-want) > 1e-12 {
		t.Errorf("SD %g, want %g", got, want)
	}
}

// A hundred thousand draws of a curved function of three inputs.
func TestAgainstMonteCarlo(t *testing.T) {
	t.Parallel()
	inputs := []uncertain.Input{{Name: "a", Value: 3.4, SD: 0.08}, {Name: "b", Value: 25, SD: 4}, {Name: "c", Value: 1.8, SD: 0.05}}
	f := func(x, y []float64) error {
		y[0] = x[1] / (1 + math.Pow(10, x[0]-x[2])) // molecular share of an acid
		return nil
	}
	out, err := uncertain.Propagate(inputs, 1, f)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	const n = 100_000
	var sum, squares float64
	x, y := make([]float64, 3), make([]float64, 1)
	for range n {
		for i, in := range inputs {
			x[i] = in.Value + in.SD*rng.NormFloat64()
		}
		if err := f(x, y); err != nil {
			t.Fatal(err)
		}
		sum += y[0]
		squares += y[0] * y[0]
	}
	mean := sum / n
	sd := math.Sqrt(squares/n - mean*mean)
	// Monte Carlo's own error: SD/√n of the mean, about SD/√(2n)·1.5 of the SD;
	// the method leaves out cross terms, worth under 3 % of the SD here.
	if math.Abs(out[0].Mean-mean) > 5*sd/math.Sqrt(n)+0.002*mean {
		t.Errorf("mean %g, Monte Carlo %g", out[0].Mean, mean)
	}
	if math.Abs(out[0].SD/sd-1) > 0.03 {
		t.Errorf("SD %g, Monte Carlo %g", out[0].SD, sd)
	}
	if total := out[0].Share[0] + out[0].Share[1] + out[0].Share[2]; math.Abs(total-1) > 1e-12 {
		t.Errorf("shares sum to %g", total)
	}
}

func TestLimits(t *testing.T) {
	t.Parallel()
	_, err := uncertain.Propagate([]uncertain.Input{{Name: "malic acid", Value: 0.1, SD: 0.5, Max: 10}}, 1, func(x, y []float64) error {
		if x[0] < 0 {
			return errors.New("negative")
		}
		y[0] = math.Sqrt(x[0])
		return nil
	})
	if err != nil {
		t.Error("a step passed a limit:", err)
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name string
		in   uncertain.Input
	}{
		{"negative spread", uncertain.Input{Name: "pH", Value: 3, SD: -1}},
		{"no number", uncertain.Input{Name: "pH", Value: math.NaN()}},
		{"infinite spread", uncertain.Input{Name: "pH", Value: 3, SD: math.Inf(1)}},
		{"outside its limits", uncertain.Input{Name: "malic acid", Value: -1, SD: 1, Max: 5}},
		{"limits swapped", uncertain.Input{Name: "malic acid", Value: 1, SD: 1, Min: 3, Max: 2}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := uncertain.Propagate([]uncertain.Input{tc.in}, 1, func(_, _ []float64) error { return nil })
			var bad *uncertain.InputError
			if !errors.As(err, &bad) || bad.Input.Name != tc.in.Name {
				t.Errorf("got %v, want an *InputError that names %s", err, tc.in.Name)
			}
		})
	}
}

func TestErrorOfFunctionNamesTheStep(t *testing.T) {
	t.Parallel()
	boom := errors.New("boom")
	_, err := uncertain.Propagate([]uncertain.Input{{Name: "pH", Value: 3, SD: 1}}, 1, func(x, _ []float64) error {
		if x[0] > 4 {
			return boom
		}
		return nil
	})
	if !errors.Is(err, boom) {
		t.Errorf("got %v", err)
	}
}

func BenchmarkPropagate(b *testing.B) {
	inputs := []uncertain.Input{{Name: "a", Value: 3.4, SD: 0.08}, {Name: "b", Value: 25, SD: 4}, {Name: "c", Value: 1.8, SD: 0.05}}
	for b.Loop() {
		if _, err := uncertain.Propagate(inputs, 1, func(x, y []float64) error { y[0] = x[0] * x[1] * x[2]; return nil }); err != nil {
			b.Fatal(err)
		}
	}
}
