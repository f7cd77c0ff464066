package quantity

// Power is heat or work per time, held in watts.
type Power float64

// Watt is the base unit of Power.
const Watt Power = 1

// Watts is the power in W.
func (p Power) Watts() float64 { return float64(p) }
