package malolactic

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"elevage/science/bayes"
	"elevage/science/quantity"
)

//go:embed priors.csv
var defaultPriors string

// A Distribution is a prior of one constant.
type Distribution struct {
	Key      string
	Family   string  // "normal", "log-normal" or "log10-normal"
	Location float64 // mean; median; mean of log10
	Spread   float64 // SD of the value, of ln, of log10
	Unit     string
	Mark     string // what the figure rests on: read, recalled, judged, studied
	Basis    string
}

// At is the value, in Unit, that lies z standard deviations from the middle: location
// + spread·z, location·e^(spread·z) or 10^(location + spread·z) by Family.
func (d *Distribution) At(z float64) float64 {
	switch d.Family {
	case "normal":
		return d.Location + d.Spread*z
	case "log10-normal":
		return bayes.Exp((d.Location + d.Spread*z) * math.Ln10)
	}
	return d.Location * bayes.Exp(d.Spread*z)
}

// Priors are all priors of the model, by name. Copy and edit to taste: they are
// data, not law.
type Priors struct {
	Use, HalfSaturation, Growth, Ceiling                Distribution
	Start, Lag                                          [4]Distribution // by Inoculation
	PHMin, PHSaturated                                  Distribution
	TempMin, TempOpt, TempOptPerAlcohol, TempMax        Distribution
	AlcoholMax, AlcoholMaxAcclimatised                  Distribution
	MolecularHalf, MolecularHalfCoinoculated, BoundHalf Distribution
	Rest, Lot, StallShare, StallHazard, StallPerFactor  Distribution
	MalicRed, MalicRedWarm, MalicRedCool                Distribution
	MalicWhite, MalicWhiteWarm, MalicWhiteCool          Distribution
	HalfSaturationReference                             Distribution // a narrower tail, for comparison
}

// DefaultPriors reads the priors that ship with the package.
func DefaultPriors() Priors {
	p, err := ReadPriors(strings.NewReader(defaultPriors))
	if err != nil {
		panic("malolactic: built-in priors.csv: " + err.Error()) // a broken build, not bad data
	}
	return p
}

// ReadPriors reads a priors file in the form of the built-in one. A missing key,
// an unknown key, an unknown family or a spread that is not positive is an error
// naming the key.
func ReadPriors(r io.Reader) (Priors, error) {
	in := csv.NewReader(r)
	in.Comment = '#'
	rows, err := in.ReadAll()
	if err != nil {
		return Priors{}, err
	}
	var p Priors
	slots := p.slots()
	seen := map[string]bool{}
	for i, row := range rows {
		if i == 0 && row[0] == "key" {
			continue
		}
		if len(row) < 7 {
			return Priors{}, fmt.Errorf("prior %q: 7 columns wanted, got %d", row[0], len(row))
		}
		slot, ok := slots[row[0]]
		if !ok {
			return Priors{}, fmt.Errorf("prior %q is unknown", row[0])
		}
		d, err := parseDistribution(row)
		if err != nil {
			return Priors{}, err
		}
		*slot, seen[row[0]] = d, true
	}
	for key := range slots {
		if !seen[key] {
			return Priors{}, fmt.Errorf("prior %q is missing", key)
		}
	}
	return p, nil
}

func parseDistribution(row []string) (Distribution, error) {
	d := Distribution{Key: row[0], Family: row[1], Unit: row[4], Mark: row[5], Basis: row[6]}
	switch d.Family {
	case "normal", "log-normal", "log10-normal":
	default:
		return d, fmt.Errorf("prior %q: family is %q: allowed are normal, log-normal, log10-normal", d.Key, d.Family)
	}
	var err error
	if d.Location, err = strconv.ParseFloat(row[2], 64); err != nil {
		return d, fmt.Errorf("prior %q: location is %q: a number is wanted", d.Key, row[2])
	}
	if d.Spread, err = strconv.ParseFloat(row[3], 64); err != nil || !(d.Spread > 0) {
		return d, fmt.Errorf("prior %q: spread is %q: a positive number is wanted", d.Key, row[3])
	}
	if d.Family == "log-normal" && !(d.Location > 0) {
		return d, fmt.Errorf("prior %q: location is %q: a log-normal needs a positive median", d.Key, row[2])
	}
	return d, nil
}

func (p *Priors) slots() map[string]*Distribution {
	return map[string]*Distribution{
		"use": &p.Use, "half_saturation": &p.HalfSaturation, "half_saturation_reference": &p.HalfSaturationReference,
		"growth": &p.Growth, "ceiling": &p.Ceiling,
		"start_native": &p.Start[Native], "start_direct": &p.Start[Direct],
		"start_rehydrated": &p.Start[Rehydrated], "start_starter": &p.Start[Starter],
		"lag_native": &p.Lag[Native], "lag_direct": &p.Lag[Direct],
		"lag_rehydrated": &p.Lag[Rehydrated], "lag_starter": &p.Lag[Starter],
		"ph_min": &p.PHMin, "ph_saturated": &p.PHSaturated,
		"temp_min": &p.TempMin, "temp_opt": &p.TempOpt, "temp_opt_per_alcohol": &p.TempOptPerAlcohol, "temp_max": &p.TempMax,
		"alcohol_max": &p.AlcoholMax, "alcohol_max_acclimatised": &p.AlcoholMaxAcclimatised,
		"molecular_half": &p.MolecularHalf, "molecular_half_coinoculated": &p.MolecularHalfCoinoculated, "bound_half": &p.BoundHalf,
		"lot": &p.Lot, "rest": &p.Rest, "stall_share": &p.StallShare, "stall_hazard": &p.StallHazard, "stall_per_factor": &p.StallPerFactor,
		"malic_red": &p.MalicRed, "malic_red_warm": &p.MalicRedWarm, "malic_red_cool": &p.MalicRedCool,
		"malic_white": &p.MalicWhite, "malic_white_warm": &p.MalicWhiteWarm, "malic_white_cool": &p.MalicWhiteCool,
	}
}

// An Inoculation is how the bacteria came into the wine.
type Inoculation uint8

// The ways of inoculating.
const (
	Native     Inoculation = iota // none added
	Direct                        // freeze-dried, sprinkled on
	Rehydrated                    // rehydrated, then added
	Starter                       // built up in wine and acclimatised
)

var inoculations = [...]string{"native", "direct", "rehydrated", "starter"}

// String is the word that ParseInoculation reads.
func (i Inoculation) String() string {
	if int(i) < len(inoculations) {
		return inoculations[i]
	}
	return "Inoculation(" + strconv.Itoa(int(i)) + ")"
}

// ParseInoculation reads native, direct, rehydrated or starter; any other word is an
// error that names these.
func ParseInoculation(s string) (Inoculation, error) {
	for i, name := range inoculations {
		if s == name {
			return Inoculation(i), nil
		}
	}
	return Native, fmt.Errorf("inoculation is %q: allowed are %s", s, strings.Join(inoculations[:], ", "))
}

// Coordinates is how many standard normals Constants are made from.
const Coordinates = 17

// The coordinates of Draw, for callers that wish to know which is which.
const (
	ZUse = iota
	ZHalfSaturation
	ZGrowth
	ZCeiling
	ZStart
	ZLag
	ZLot
	ZPHMin
	ZPHSaturated
	ZTempMin
	ZTempOpt
	ZTempOptPerAlcohol
	ZTempMax
	ZAlcoholMax
	ZAcclimatised
	ZMolecularHalf
	ZBoundHalf
)

// Draw makes the constants that lie at z standard deviations from the middles of
// the priors. z must hold Coordinates numbers.
func (p *Priors) Draw(z []float64, how Inoculation) Constants {
	k := Constants{
		Use:               UsePerCell(p.Use.At(z[ZUse])),
		HalfSaturation:    quantity.Concentration(p.HalfSaturation.At(z[ZHalfSaturation])),
		Growth:            PerDay(p.Growth.At(z[ZGrowth])),
		Ceiling:           CellsPerML(p.Ceiling.At(z[ZCeiling])),
		Start:             CellsPerML(p.Start[how].At(z[ZStart])),
		Lag:               quantity.Days(p.Lag[how].At(z[ZLag])),
		Lot:               p.Lot.At(z[ZLot]),
		PHMin:             quantity.PH(p.PHMin.At(z[ZPHMin])),
		PHSaturated:       quantity.PH(p.PHSaturated.At(z[ZPHSaturated])),
		TempMin:           quantity.Celsius(p.TempMin.At(z[ZTempMin])),
		TempOpt:           quantity.Celsius(p.TempOpt.At(z[ZTempOpt])),
		TempOptPerAlcohol: p.TempOptPerAlcohol.At(z[ZTempOptPerAlcohol]),
		TempMax:           quantity.Celsius(p.TempMax.At(z[ZTempMax])),
		AlcoholMax:        quantity.Strength(p.AlcoholMax.At(z[ZAlcoholMax])),
		MolecularHalf:     quantity.Concentration(p.MolecularHalf.At(z[ZMolecularHalf])) * quantity.MilligramPerLitre,
		BoundHalf:         quantity.Concentration(p.BoundHalf.At(z[ZBoundHalf])) * quantity.MilligramPerLitre,
	}
	if how == Starter {
		k.AlcoholMax += quantity.Strength(math.Max(0, p.AlcoholMaxAcclimatised.At(z[ZAcclimatised])))
	}
	if k.Start > k.Ceiling/2 {
		k.Start = k.Ceiling / 2
	}
	return k
}

// DrawInocula fills k.Inocula for wine that bacteria are added to more than once,
// from the same z as Draw: bacteria that start slowly one way do so the other.
func (p *Priors) DrawInocula(k *Constants, z []float64) {
	for how := range k.Inocula {
		k.Inocula[how] = Inoculum{
			Start: min(CellsPerML(p.Start[how].At(z[ZStart])), k.Ceiling/2),
			Lag:   quantity.Days(p.Lag[how].At(z[ZLag])),
		}
	}
}

// Median is Draw at the middle of every prior: the usual bacteria in the usual wine,
// not the course to expect, since courses are skewed; for that see Predict.
func (p *Priors) Median(how Inoculation) Constants {
	var z [Coordinates]float64
	return p.Draw(z[:], how)
}

// Hazard is the chance per day that the conversion stops for good for a reason
// that comes with time: the base rate, multiplied once for each factor in the band
// that bulletins call difficult (Conditions.Difficult). All of it is judgement; with
// StopShare it decides how soon silence is called a stall, so a cellar should set
// both from its own lots.
func (p *Priors) Hazard(c Conditions) PerDay {
	return PerDay(math.Min(p.StallHazard.Location*p.perDifficulty(c), 0.1))
}

// StopShare is the chance that the conversion stops for good on its way, each share
// converted being as likely as another (starved, poisoned by its own doing, overrun).
func (p *Priors) StopShare(c Conditions) float64 {
	return math.Min(p.StallShare.Location*p.perDifficulty(c), 0.6)
}

func (p *Priors) perDifficulty(c Conditions) float64 {
	return math.Pow(p.StallPerFactor.Location, float64(c.Difficult()))
}
