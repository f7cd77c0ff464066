package electrode

import (
	"math"

	"elevage/science/quantity"
)

// A Meter is what is known of a pH meter before it is checked, as standard
// deviations. The model is
//
//	shown = true + offset + slope error · (true − 7) + noise
//
// since electrodes cross pH 7 near 0 mV, whatever their slope.
type Meter struct {
	Offset quantity.PH // of the offset at pH 7
	Slope  float64     // of the slope error: 0.02 is 2 % of the ideal slope
	Noise  quantity.PH // of one reading against the next
	Buffer quantity.PH // of the buffer's own value: its age, its making
}

// Usual is a hand meter that was calibrated some weeks ago: offset ± 0.05, slope
// ± 2 %, readings repeat within 0.02, buffers within 0.01. A proposal of this
// project; meters between wineries differ by about 0.04 (survey of Butzke 2002).
func Usual() Meter { return Meter{Offset: 0.05, Slope: 0.02, Noise: 0.02, Buffer: 0.01} }

// A Check is a buffer read in a session.
type Check struct {
	Buffer      Buffer
	Shown       quantity.PH
	Temperature quantity.Temperature
}

// A Session is what the checks say about the meter.
type Session struct {
	Offset, OffsetSD quantity.PH // shown less true, at pH 7
	Slope, SlopeSD   float64     // of the ideal slope; 1 is perfect
	noise            quantity.PH
	covariance       float64 // of offset and slope error
}

// Judge combines what is known of the meter with checks, by least squares with
// the meter's spreads as prior (both linear and normal, so this is exact). With no
// check at all it gives the prior back. A *quantity.RangeError names a check that
// cannot be meant: a temperature off the table, or a reading more than 1.5 from
// its buffer.
func (m Meter) Judge(checks []Check) (Session, error) {
	if err := m.check(); err != nil {
		return Session{}, err
	}
	// Information matrix and vector of (offset, slope error).
	a, b, d := 1/sq(m.Offset), 0.0, 1/(m.Slope*m.Slope)
	var u, v float64
	for _, c := range checks {
		ph, err := c.Buffer.value(c.Temperature)
		if err != nil {
			return Session{}, err
		}
		if err := quantity.Check("reading of "+c.Buffer.String(), float64(c.Shown), "", float64(ph)-1.5, float64(ph)+1.5); err != nil {
			return Session{}, err
		}
		x, y := float64(ph)-7, float64(c.Shown-ph)
		w := 1 / (sq(m.Noise) + sq(m.Buffer))
		a, b, d = a+w, b+w*x, d+w*x*x
		u, v = u+w*y, v+w*x*y
	}
	det := a*d - b*b
	return Session{
		Offset: quantity.PH((d*u - b*v) / det), OffsetSD: quantity.PH(math.Sqrt(d / det)),
		Slope: 1 + (a*v-b*u)/det, SlopeSD: math.Sqrt(a / det),
		noise: m.Noise, covariance: -b / det,
	}, nil
}

// True is what a reading of this session means, with its standard deviation: meter,
// buffers and one reading's noise together. Nothing is refused; far from the buffers
// that were read the standard deviation grows.
func (s Session) True(shown quantity.PH) (ph, sd quantity.PH) {
	x := float64(shown-7-s.Offset) / s.Slope
	variance := sq(s.OffsetSD) + x*x*s.SlopeSD*s.SlopeSD + 2*x*s.covariance + sq(s.noise)
	return quantity.PH(7 + x), quantity.PH(math.Sqrt(variance) / s.Slope)
}

// value is the buffer's pH, for cream of tartar below 25 °C too.
func (b Buffer) value(t quantity.Temperature) (quantity.PH, error) {
	if b == Tartrate {
		ph, _, err := CreamOfTartar(t)
		return ph, err
	}
	return b.PH(t)
}

func (m Meter) check() error {
	for _, f := range []struct {
		name  string
		value float64
		most  float64
	}{{"offset spread", float64(m.Offset), 2}, {"slope spread", m.Slope, 0.5}, {"noise", float64(m.Noise), 1}, {"buffer spread", float64(m.Buffer), 1}} {
		if err := quantity.Check(f.name, f.value, "", 1e-6, f.most); err != nil {
			return err
		}
	}
	return nil
}

func sq(x quantity.PH) float64 { return float64(x) * float64(x) }
