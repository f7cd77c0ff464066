package track

import (
	"fmt"
	"math"

	"elevage/science/malolactic"
	"elevage/science/sulfite"
)

// A Suitability is what is to be expected of a wine before bacteria go in: the time
// to the end and the chance of a stall, and what would change them.
type Suitability struct {
	How      malolactic.Inoculation
	Outlook  malolactic.Outlook
	Remedies []malolactic.Remedy // most helpful first
	Assumed  []string            // what was not known, with what was taken for it
}

// outlookDraws keep the Monte Carlo error of a quantile near 5 %.
const outlookDraws = 1000

// Suit foresees a conversion from what is known of a wine, if bacteria went in
// today. Malic acid that was measured counts with its assay's spread; what is not
// known is taken as the belief takes it, and named.
func Suit(f Facts, how malolactic.Inoculation) (Suitability, error) {
	p := malolactic.DefaultPriors()
	s := Suitability{How: how}
	named := func(missing bool, what string) {
		if missing {
			s.Assumed = append(s.Assumed, what)
		}
	}
	named(f.PH == nil, fmt.Sprintf("pH (%.2f)", float64(assumed.ph)))
	named(f.Alcohol == nil, fmt.Sprintf("alcohol (%g %% vol)", float64(assumed.alcohol)))
	named(f.Temperature == nil, fmt.Sprintf("temperature (%g °C)", float64(assumed.temperature)))
	named(f.TotalSO2 == nil, fmt.Sprintf("total SO2 (%g mg/L)", assumed.total.MgPerL()))
	named(f.Malic == nil, "malic acid (by colour)")
	free := or(f.FreeSO2, 0)
	c := malolactic.Case{How: how, Limit: 0.1, Malic: malicPrior(f, &p), Conditions: malolactic.Conditions{
		Temperature: or(f.Temperature, assumed.temperature), PH: or(f.PH, assumed.ph), Alcohol: or(f.Alcohol, assumed.alcohol),
		Bound: max(0, or(f.TotalSO2, assumed.total)-free)}}
	m, err := sulfite.Handbook.Molecular(free, sulfite.Wine{PH: c.Conditions.PH, Alcohol: c.Conditions.Alcohol, Temperature: 20})
	if err != nil {
		return s, err
	}
	c.Conditions.Molecular = m.Amount()
	if f.Malic != nil {
		faults := DefaultFaults()
		value := f.Malic.GPerL()
		c.Malic = malolactic.Distribution{Key: "malic", Family: "normal", Location: value,
			Spread: math.Hypot(faults.AssayFixed, math.Hypot(faults.AssayShare, faults.AssayKit)*value), Unit: "g/L", Mark: "read"}
	}
	if s.Outlook, err = p.Predict(c, outlookDraws, 1); err != nil {
		return s, err
	}
	s.Remedies, err = p.Remedies(c, outlookDraws, 1)
	return s, err
}
