package bayes

import (
	"math"

	"elevage/science/cited"
)

// A Family is a shape of distribution.
type Family string

// The families. Location and Spread of a Prior mean: mean and SD of the value
// (normal), median and SD of ln (log-normal), lower end and length (uniform).
const (
	Normal    Family = "normal"
	LogNormal Family = "log-normal"
	Uniform   Family = "uniform"
)

// A Prior is what is believed of one unknown before any reading, with where the
// belief comes from.
//
//	ratio := bayes.Prior{Name: "SO2 per O2", Family: bayes.Normal, Location: 2.5, Spread: 0.6, Low: 2, High: 4}
//	ratio.At(0) // its median
type Prior struct {
	Name     string       `json:"name"`
	Unit     string       `json:"unit,omitempty"`
	Family   Family       `json:"family"`
	Location float64      `json:"location"`
	Spread   float64      `json:"spread"`
	Low      float64      `json:"low,omitempty"` // cut off below and above; both 0 means not cut
	High     float64      `json:"high,omitempty"`
	Source   cited.Source `json:"source"`
}

// At is the value of the unknown at a standard-normal coordinate z: its quantile
// Φ(z). A model can so be written over independent N(0,1) coordinates whatever
// its priors are.
func (p Prior) At(z float64) float64 {
	if p.Low != 0 || p.High != 0 {
		z = p.cut(z)
	}
	switch p.Family {
	case LogNormal:
		return p.Location * math.Exp(p.Spread*z)
	case Uniform:
		return p.Location + p.Spread*NormalCDF(z)
	}
	return p.Location + p.Spread*z
}

// cut maps z to the coordinate of the distribution without its cut-off parts.
func (p Prior) cut(z float64) float64 {
	lo, hi := NormalCDF(p.coordinate(p.Low)), NormalCDF(p.coordinate(p.High))
	u := lo + NormalCDF(z)*(hi-lo)
	return NormalQuantile(math.Min(math.Max(u, 1e-12), 1-1e-12))
}

func (p Prior) coordinate(v float64) float64 {
	switch p.Family {
	case LogNormal:
		if v <= 0 {
			return math.Inf(-1)
		}
		return math.Log(v/p.Location) / p.Spread
	case Uniform:
		return NormalQuantile((v - p.Location) / p.Spread)
	}
	return (v - p.Location) / p.Spread
}

// Quantile is the value below which the unknown lies with probability q.
func (p Prior) Quantile(q float64) float64 { return p.At(NormalQuantile(q)) }
