package gas

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// PPM is a share of the air by volume, in parts per million.
type PPM float64

// Percent is the share in % by volume.
func (p PPM) Percent() float64 { return float64(p) / 1e4 }

// Fresh is the CO2 of outside air; it was about 420 ppm in the early 2020s and
// rises (from memory).
const Fresh PPM = 420

// An ExposureLimit is a figure from occupational safety. It guides; local codes and
// licensed practice decide.
type ExposureLimit struct {
	Agent  string
	Body   string
	Basis  string // over which time it counts
	PPM    PPM
	Source cited.Source
}

// Limits for breathing CO2, and the oxygen marks of confined-space rules.
var (
	CO2Shift     = ExposureLimit{"CO2", "OSHA PEL, ACGIH TLV", "8 h mean", 5000, cited.Source{Text: "29 CFR 1910.1000 Table Z-1; OSHA 1989 PEL project text", Mark: cited.SecondHand}}
	CO2ShortTerm = ExposureLimit{"CO2", "ACGIH TLV", "15 min mean", 30000, cited.Source{Text: "OSHA 1989 PEL project text", Mark: cited.Read}}
	CO2Danger    = ExposureLimit{"CO2", "NIOSH IDLH", "immediately dangerous to life or health", 40000, cited.Source{Text: "NIOSH IDLH documentation 124389 (1994)", Mark: cited.SecondHand}}
	OxygenLow    = ExposureLimit{"oxygen", "OSHA confined space", "deficient below", 195000, cited.Source{Text: "29 CFR 1910.146(b), 2015 edition", Mark: cited.Read}}
	OxygenHigh   = ExposureLimit{"oxygen", "OSHA confined space", "enriched above", 235000, cited.Source{Text: "29 CFR 1910.146(b), 2015 edition", Mark: cited.Read}}
)

// CO2Limits are those for CO2, from the lowest.
func CO2Limits() []ExposureLimit { return []ExposureLimit{CO2Shift, CO2ShortTerm, CO2Danger} }

// Oxygen is the oxygen left in air that holds this much CO2: CO2 displaces all of
// the air in proportion,
//
//	O2 = 20.95 %·(1 − CO2)
//
// so at 4 % CO2, which is immediately dangerous, oxygen is still 20.1 %: an oxygen
// meter does not protect against CO2.
func Oxygen(co2 PPM) PPM { return 209500 * (1 - co2/1e6) }

// Ferment is one must giving off CO2.
type Ferment struct {
	Must quantity.Volume
	Rate quantity.Rate // sugar fermented, g/(L·day)
}

// Flow is the CO2 that a ferment gives off at a room's temperature and pressure, by
// stoichiometry (0.4886 g/g; 0.46 to 0.47 in practice). Peaks are two to three
// times the mean of the days it takes (from memory). Domain: 0 to 150 g/(L·day).
func (f Ferment) Flow(t quantity.Temperature, p quantity.Pressure) (quantity.Flow, error) {
	if err := quantity.Check("volume of must", f.Must.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	if err := quantity.Check("sugar fermented per day", f.Rate.GPerLDay(), "g/L", 0, 150); err != nil {
		return 0, err
	}
	if err := checkState(t, p); err != nil {
		return 0, err
	}
	gramsPerHour := f.Must.Litres() * f.Rate.GPerLDay() * PerHexose / 24
	return quantity.Flow(gramsPerHour * litresPerGram(t, p)), nil
}

// OutsideAir is the flow of outside air that keeps well-mixed room air at a limit
// while CO2 flows in:
//
//	Q = G / (C − C0)
//
// CO2 is heavier than air and does not mix well in a still cellar: bring the air in
// high and take it out at the floor, and treat the figure as the least, not as
// enough. The limit must lie above 420 ppm, the flow of CO2 within 0 to 10 000 m³/h; a
// *quantity.RangeError outside.
func OutsideAir(co2 quantity.Flow, limit PPM) (quantity.Flow, error) {
	if err := quantity.Check("flow of CO2", co2.LitresPerHour(), "L/h", 0, 1e7); err != nil {
		return 0, err
	}
	if err := quantity.Check("limit for CO2", float64(limit), "ppm", float64(Fresh)+1, 1e6); err != nil {
		return 0, err
	}
	return quantity.Flow(co2.LitresPerHour() / (float64(limit-Fresh) / 1e6)), nil
}

// A Room is a space that CO2 flows into.
type Room struct {
	Volume quantity.Volume
	Air    quantity.Flow // outside air in; 0 for a closed room
}

func (r Room) check(co2 quantity.Flow) error {
	if err := quantity.Check("volume of the room", r.Volume.Litres()/1e3, "m³", 0.1, 1e6); err != nil {
		return err
	}
	if err := quantity.Check("outside air", r.Air.CubicMetresPerHour(), "m³/h", 0, 1e6); err != nil {
		return err
	}
	return quantity.Check("flow of CO2", co2.LitresPerHour(), "L/h", 0, 1e7)
}

// After is the CO2 in well-mixed air of a room that starts fresh, after a time:
//
//	C = C0 + G/Q·(1 − exp(−Q·t/V)),   C0 + G·t/V in a closed room
//
// What the gas itself pushes out is left out, which errs on the safe side; more than
// all of the air is not returned. At the floor it is more. Domain: a room of 0.1 to
// 1 000 000 m³, 0 to 1 000 000 m³/h of outside air, 0 to 100 000 h; a
// *quantity.RangeError outside.
func (r Room) After(co2 quantity.Flow, hours float64) (PPM, error) {
	if err := r.check(co2); err != nil {
		return 0, err
	}
	if err := quantity.Check("time", hours, "h", 0, 1e5); err != nil {
		return 0, err
	}
	share := co2.LitresPerHour() * hours / r.Volume.Litres()
	if x := r.Air.LitresPerHour() * hours / r.Volume.Litres(); x > 0 {
		share *= -math.Expm1(-x) / x
	}
	return PPM(min(float64(Fresh)+share*1e6, 1e6)), nil
}

// Until is the time in hours until the air of a room that starts fresh reaches a
// limit; reached is false, and the time +Inf, when the air let in keeps it below. The
// limit must lie above 420 ppm; the rest as for After.
func (r Room) Until(co2 quantity.Flow, limit PPM) (hours float64, reached bool, err error) {
	if err := r.check(co2); err != nil {
		return 0, false, err
	}
	if err := quantity.Check("limit for CO2", float64(limit), "ppm", float64(Fresh)+1, 1e6); err != nil {
		return 0, false, err
	}
	if co2 == 0 {
		return math.Inf(1), false, nil
	}
	need := float64(limit-Fresh) / 1e6 * r.Volume.Litres() / co2.LitresPerHour() // hours if closed
	if r.Air == 0 {
		return need, true, nil
	}
	turnover := r.Volume.Litres() / r.Air.LitresPerHour()
	if need >= turnover {
		return math.Inf(1), false, nil
	}
	return -turnover * math.Log1p(-need/turnover), true, nil
}
