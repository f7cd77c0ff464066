package acidbase

import (
	"math"

	"elevage/science/quantity"
	"elevage/science/uncertain"
)

// PredictedPHSpread is the standard deviation to put on a pH that was reckoned
// from a composition alone, without a measured pH to anchor on: 0.11, the spread
// of predicted less measured pH over 178 wines (docs/chemistry.md).
const PredictedPHSpread = 0.11

// A Spread holds standard deviations of what Measured holds. The zero value of a
// field means exactly known.
type Spread struct {
	PH          quantity.PH
	TA          quantity.Concentration // expressed as Measured.TAAs
	Malic       quantity.Concentration
	Alcohol     quantity.Strength
	Temperature quantity.Temperature
	// Tartaric is the ± of the tartaric acid: of the measurement where it was
	// measured, else of Anchor's guess (UnmeasuredTartaric).
	Tartaric quantity.Concentration
	// CarboxylShift is the ± of the ethanol shift, per % vol (ShiftSpread).
	CarboxylShift float64
}

// Usual standard deviations of what Anchor has to assume.
const (
	// UnmeasuredTartaric: solved less measured tartaric acid over 178 wines.
	UnmeasuredTartaric = 0.6 * quantity.GramPerLitre
	// ShiftSpread: the rows of Prenesti and co-authors spread by this much (CarboxylShift).
	ShiftSpread = 0.003
)

// PlusMinus is a figure with its standard deviation.
type PlusMinus[Q ~float64] struct {
	Value, SD Q
	// Share is how much of the variance each field of Spread causes, in the order
	// of its fields; it sums to 1 unless SD is 0.
	Share [7]float64
}

// Forecast is what an effect does to an anchored wine, with ±.
type Forecast struct {
	PH       PlusMinus[quantity.PH]
	TA       PlusMinus[quantity.Concentration] // as tartaric acid, to the wine's end point
	PHChange PlusMinus[quantity.PH]            // from the measured pH
	TAChange PlusMinus[quantity.Concentration]
}

// Foresee anchors a wine, lets an effect act on it, and carries the ± of the
// readings through both. The effect is any of the methods that return a changed
// Composition, for example
//
//	func(w Wine) (Composition, error) { return w.Malolactic(w.Malic) }
//
// It must give a like answer for slightly different wines. The readings' errors
// are taken to be independent; see package uncertain for the method (second-order
// divided differences, 15 evaluations, no random numbers), which agrees with Monte Carlo
// draws to a few per cent of the SD.
func Foresee(r Measured, sd Spread, effect func(Wine) (Composition, error)) (Forecast, error) {
	centre, err := Anchor(r)
	if err != nil {
		return Forecast{}, err
	}
	inputs := []uncertain.Input{
		{Name: "pH", Value: float64(r.PH), SD: float64(sd.PH)},
		{Name: "titratable acidity", Value: r.TA.GPerL(), SD: sd.TA.GPerL()},
		{Name: "malic acid", Value: r.Malic.GPerL(), SD: sd.Malic.GPerL(), Max: mostAcid},
		{Name: "alcohol", Value: r.Alcohol.Percent(), SD: float64(sd.Alcohol), Max: maxAlcohol},
		{Name: "temperature", Value: r.Temperature.Celsius(), SD: float64(sd.Temperature), Min: minTemperature, Max: maxTemperature},
		{Name: "tartaric acid", Value: centre.Tartaric.GPerL(), SD: sd.Tartaric.GPerL(), Max: mostAcid},
		{Name: "ethanol shift", Value: CarboxylShift, SD: sd.CarboxylShift, Max: 0.03},
	}
	out, err := uncertain.Propagate(inputs, 4, func(x, y []float64) error {
		q := r
		q.PH, q.TA, q.Malic = quantity.PH(x[0]), quantity.Concentration(x[1]), quantity.Concentration(x[2])
		q.Alcohol, q.Temperature = quantity.Strength(x[3]), quantity.Celsius(x[4])
		shifted := x[5] - centre.Tartaric.GPerL()
		return foresee(q, shifted, x[6], effect, y)
	})
	if err != nil {
		return Forecast{}, err
	}
	return Forecast{
		PH: plusMinus[quantity.PH](out[0]), TA: plusMinus[quantity.Concentration](out[1]),
		PHChange: plusMinus[quantity.PH](out[2]), TAChange: plusMinus[quantity.Concentration](out[3]),
	}, nil
}

// foresee does it once. Tartaric acid is moved off what Anchor finds for these
// very readings, so that the guess follows the readings and its ± stays apart.
func foresee(r Measured, tartaricShift, carboxylShift float64, effect func(Wine) (Composition, error), y []float64) error {
	m, err := NewMedium(r.Alcohol, r.Temperature, WithCarboxylShift(carboxylShift))
	if err != nil {
		return err
	}
	w, err := m.Anchor(&r)
	if err != nil {
		return err
	}
	if tartaricShift != 0 {
		r.Tartaric = Given(quantity.Concentration(math.Max(0, w.Tartaric.GPerL()+tartaricShift)))
		if w, err = m.Anchor(&r); err != nil {
			return err
		}
	}
	after, err := effect(w)
	if err != nil {
		return err
	}
	s, err := m.Solve(&after)
	if err != nil {
		return err
	}
	ta, err := m.TA(&after, r.EndPoint)
	if err != nil {
		return err
	}
	y[0], y[1] = float64(s.PH), Tartaric.FromEquivalents(ta).GPerL()
	y[2], y[3] = y[0]-float64(r.PH), y[1]-r.TAAs.Convert(r.TA, Tartaric).GPerL()
	return nil
}

func plusMinus[Q ~float64](e uncertain.Estimate) PlusMinus[Q] {
	p := PlusMinus[Q]{Value: Q(e.Value), SD: Q(e.SD)}
	copy(p.Share[:], e.Share)
	return p
}
