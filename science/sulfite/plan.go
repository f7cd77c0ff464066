package sulfite

import (
	"elevage/science/cited"
	"elevage/science/quantity"
)

// Shares of an addition that bind. They are first guesses, to be replaced by what
// the lot has shown ([ShownBinding]).
var (
	// FirstBinding is for the first dose to a young wine: 40 to 60 % of it stays free
	// (from memory).
	FirstBinding = quantity.Bounds[float64]{Low: 0.4, Likely: 0.5, High: 0.6}
	// LaterBinding is for later doses, which bind less; how much less is this
	// project's proposal.
	LaterBinding = quantity.Bounds[float64]{Low: 0.2, Likely: 0.35, High: 0.5}
)

// BindingSource is the standing of FirstBinding; LaterBinding is a proposal.
var BindingSource = cited.Source{Text: "40 to 60 % of a first addition stays free; later ones bind less", Mark: cited.Memory}

// ShownBinding is the share of a dose that has bound: 1 − (after − before)/added.
// Measure two to three days after mixing. Slightly below zero is measurement error
// and is returned as it comes.
func ShownBinding(before, after, added quantity.Concentration) (float64, error) {
	for _, f := range []struct {
		name string
		v    quantity.Concentration
	}{{"free SO2 before", before}, {"free SO2 after", after}} {
		if err := checkSO2(f.name, f.v); err != nil {
			return 0, err
		}
	}
	if err := quantity.Check("SO2 added", added.MgPerL(), "mg/L", 1, 1000); err != nil {
		return 0, err
	}
	return 1 - float64((after-before)/added), nil
}

// A Need is what a dose is reckoned from when it is to meet a target.
type Need struct {
	Wine      Wine
	Volume    quantity.Volume
	FreeNow   quantity.Concentration
	TotalNow  quantity.Concentration // below FreeNow means unknown
	Product   Product
	Binding   quantity.Bounds[float64]
	Allowance quantity.Concentration // on top of the target, for oxygen still to come
}

// Met is a dose for a target with what may come of it, since binding is a guess.
type Met struct {
	Dose
	Wanted quantity.Concentration                  // free SO2 aimed at, allowance included
	After  quantity.Bounds[quantity.Concentration] // free SO2 after, for most and least binding
	// Molecular are the same in molecular SO2 by the target's rule.
	Molecular [3]Molecular // low, likely, high
}

// Dose reckons what brings a wine to the target:
//
//	free wanted = molecular·(1 + 10^(pH − pK)) + allowance
//	dose        = (free wanted − free now)/(1 − binding)
//
// Measure again after two to three days and after two weeks (common practice), then
// top up with the binding that showed. A first dose after malolactic fermentation
// serves best a week after the malic acid is gone, when the wine binds least
// (Jackowetz, Mira de Orduña 2012). Where the wine already stands at the target the
// dose is nil. The pH fall from the acid salt (under 0.01) is left out.
func (t Target) Dose(n Need) (Met, error) {
	free, err := t.Free(n.Wine)
	if err != nil {
		return Met{}, err
	}
	if err := quantity.Check("allowance", n.Allowance.MgPerL(), "mg/L", 0, 100); err != nil {
		return Met{}, err
	}
	if err := quantity.Check("share that binds, likely", 100*n.Binding.Likely, "%", 100*n.Binding.Low, 100*n.Binding.High); err != nil {
		return Met{}, err
	}
	a := Addition{Volume: n.Volume, FreeNow: n.FreeNow, TotalNow: n.TotalNow, FreeAfter: free + n.Allowance, Binding: n.Binding.Likely, Product: n.Product}
	d, err := a.Dose()
	if err != nil {
		return Met{}, err
	}
	m := Met{Dose: d, Wanted: a.FreeAfter}
	for i, end := range []struct {
		binding float64
		to      *quantity.Concentration
	}{{n.Binding.High, &m.After.Low}, {n.Binding.Likely, &m.After.Likely}, {n.Binding.Low, &m.After.High}} {
		a.Binding = end.binding
		with, err := a.With(d.Take)
		if err != nil {
			return Met{}, err
		}
		*end.to = with.Free
		if m.Molecular[i], err = t.rule.Molecular(with.Free, n.Wine); err != nil {
			return Met{}, err
		}
	}
	return m, nil
}
