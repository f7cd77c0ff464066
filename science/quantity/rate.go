package quantity

// Rate is a change of mass concentration with time, held in g/(L·day).
type Rate float64

// Units of Rate.
const (
	GramPerLitreDay       Rate = 1
	MilligramPerLitreDay  Rate = 1e-3
	MilligramPerLitreYear Rate = 1e-3 / 365.25 // Julian year
)

// GPerLDay is the rate in g/(L·day).
func (r Rate) GPerLDay() float64 { return float64(r) }

// MgPerLMonth is the rate in mg/L per mean month of 365.25/12 days.
func (r Rate) MgPerLMonth() float64 { return float64(r) * 1e3 * 365.25 / 12 }

// Over is what the rate adds up to over a span, g/L, if it holds throughout.
func (r Rate) Over(d Days) Concentration { return Concentration(float64(r) * float64(d)) }

// Flow is volume of gas or liquid per time, held in litres per hour.
type Flow float64

// Units of Flow.
const (
	LitrePerHour      Flow = 1
	MillilitrePerDay  Flow = 1e-3 / 24
	CubicMetrePerHour Flow = 1e3
)

// LitresPerHour is the flow in L/h.
func (f Flow) LitresPerHour() float64 { return float64(f) }

// CubicMetresPerHour is the flow in m³/h.
func (f Flow) CubicMetresPerHour() float64 { return float64(f) * 1e-3 }
