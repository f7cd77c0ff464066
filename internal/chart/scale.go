package chart

import (
	"math"
	"strconv"
)

// scale carries values onto a stretch of the drawing.
type scale struct {
	lo, hi float64 // values
	a, b   float64 // where they lie
	log    bool
}

// at is the place of a value; values beyond the ends are held at the ends.
func (s scale) at(v float64) float64 {
	lo, hi := s.lo, s.hi
	v = clamp(v, lo, hi)
	if math.IsNaN(v) {
		v = lo
	}
	if s.log {
		lo, hi, v = math.Log(lo), math.Log(hi), math.Log(v)
	}
	if hi == lo {
		return (s.a + s.b) / 2
	}
	return s.a + (v-lo)/(hi-lo)*(s.b-s.a)
}

// tick is a value with its words.
type tick struct {
	v     float64
	label string
}

// linearTicks are round values (1, 2 or 5 times a power of ten) inside lo..hi,
// at most n of them.
func linearTicks(lo, hi float64, n int) []tick {
	if !(hi > lo) || n < 1 || math.IsInf(hi-lo, 0) {
		return nil
	}
	step := roundStep((hi - lo) / float64(n))
	decimals := int(math.Max(0, -math.Floor(math.Log10(step)+1e-9)))
	var out []tick
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+step*1e-9; i++ {
		v := i*step + 0 // no minus zero
		out = append(out, tick{v, fixed(v, decimals)})
	}
	return out
}

// roundStep is the smallest of 1, 2, 5 × 10ⁿ that is not below raw.
func roundStep(raw float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*p >= raw*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// logTicks are 1, 2, 5 × 10ⁿ inside lo..hi, thinned to whole decades when
// they would be more than n.
func logTicks(lo, hi float64, n int) []tick {
	if !(lo > 0) || !(hi > lo) {
		return nil
	}
	for _, ms := range [][]float64{{1, 2, 5}, {1, 3}, {1}} {
		var out []tick
		for e := math.Floor(math.Log10(lo)); e <= math.Ceil(math.Log10(hi)); e++ {
			for _, m := range ms {
				v := m * math.Pow(10, e)
				if v >= lo*(1-1e-9) && v <= hi*(1+1e-9) {
					out = append(out, tick{v, fixed(v, int(math.Max(0, -e)))})
				}
			}
		}
		if len(out) <= n {
			return out
		}
	}
	var out []tick
	for e := math.Ceil(math.Log10(lo) - 1e-9); e <= math.Log10(hi)+1e-9; e++ {
		out = append(out, tick{math.Pow(10, e), fixed(math.Pow(10, e), int(math.Max(0, -e)))})
	}
	return out
}

// fixed writes v with that many decimals and a true minus sign.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if v < 0 && s[0] == '-' {
		s = "−" + s[1:]
		if trimmed := strconv.FormatFloat(0, 'f', decimals, 64); s == "−"+trimmed {
			return trimmed
		}
	}
	return s
}

// span grows a range over values, leaving out what is not a number.
type extent struct {
	lo, hi float64
	any    bool
}

func (e *extent) add(vs ...float64) {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		if !e.any {
			e.lo, e.hi, e.any = v, v, true
			continue
		}
		e.lo, e.hi = math.Min(e.lo, v), math.Max(e.hi, v)
	}
}

// axisRange rounds a range outward to whole ticks and keeps it from being empty.
func (e extent) axisRange(fromZero bool, n int) (lo, hi float64) {
	if !e.any {
		return 0, 1
	}
	lo, hi = e.lo, e.hi
	if fromZero && lo > 0 {
		lo = 0
	}
	if hi-lo < 1e-9*math.Max(math.Abs(hi), 1) {
		pad := math.Max(math.Abs(hi)*0.1, 0.1)
		if !(fromZero && lo == 0) {
			lo -= pad
		}
		hi += pad
	}
	step := roundStep((hi - lo) / float64(n))
	return math.Floor(lo/step+1e-9) * step, math.Ceil(hi/step-1e-9) * step
}
