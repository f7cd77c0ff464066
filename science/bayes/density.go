package bayes

import "math"

const halfLog2Pi = 0.918938533204672741780329736405617639861397473637783412817151540483

// NormalLogDensity is ln of the normal density at x for the given mean and
// standard deviation (sd > 0).
func NormalLogDensity(x, mean, sd float64) float64 {
	u := (x - mean) / sd
	return -halfLog2Pi - math.Log(sd) - 0.5*u*u
}

// StudentLogDensity is ln of the density of a scaled and shifted Student t with
// nu degrees of freedom:
//
//	ln Γ((ν+1)/2) − ln Γ(ν/2) − ½ ln(νπ) − ln s − (ν+1)/2 · ln(1 + ((x−m)/s)²/ν)
//
// It falls off as a power of the distance, so that one wild reading cannot
// outvote all others.
func StudentLogDensity(x, mean, scale, nu float64) float64 {
	return Student(nu).LogDensity(x, mean, scale)
}

// A StudentT is a Student t family of fixed degrees of freedom with its constant
// worked out once, for inner loops.
type StudentT struct{ nu, constant float64 }

// Student prepares the t density with nu > 0 degrees of freedom.
func Student(nu float64) StudentT {
	a, _ := math.Lgamma((nu + 1) / 2)
	b, _ := math.Lgamma(nu / 2)
	return StudentT{nu: nu, constant: a - b - 0.5*math.Log(nu*math.Pi)}
}

// Nu is the degrees of freedom.
func (t StudentT) Nu() float64 { return t.nu }

// Constant is ln of the density at the middle of the family with scale 1.
func (t StudentT) Constant() float64 { return t.constant }

// LogDensity is ln of the density at x; see StudentLogDensity.
func (t StudentT) LogDensity(x, mean, scale float64) float64 {
	u := (x - mean) / scale
	return t.constant - math.Log(scale) - 0.5*(t.nu+1)*math.Log1p(u*u/t.nu)
}

// NormalCDF is Φ(x).
func NormalCDF(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// NormalQuantile is Φ⁻¹(p); ±Inf at 1 and 0, NaN outside [0, 1].
func NormalQuantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// Logistic is 1/(1+e^−x).
func Logistic(x float64) float64 { return 1 / (1 + Exp(-x)) }

// LogAddExp is ln(e^a + e^b) without overflow.
func LogAddExp(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// CDF is the chance of a value below x, by the finite sums for whole degrees of
// freedom (Abramowitz & Stegun 1964, 26.7.3 and 26.7.4); other ν are rounded.
func (t StudentT) CDF(x, mean, scale float64) float64 {
	n := int(math.Round(t.nu))
	theta := math.Atan((x - mean) / scale / math.Sqrt(t.nu))
	sin, cos := math.Sincos(theta)
	odd := n % 2
	sum, term := 0.0, 1.0
	if odd == 1 {
		term = cos
	}
	for k := odd; k <= n-2; k += 2 {
		sum += term
		term *= cos * cos * float64(k+1) / float64(k+2)
	}
	if odd == 1 {
		return 0.5 + (theta+sin*sum)/math.Pi
	}
	return 0.5 + 0.5*sin*sum
}
