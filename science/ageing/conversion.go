package ageing

import (
	"fmt"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// An Act is something about to be done to a wine whose malolactic conversion is
// running or wanted.
type Act string

// The acts that can stop a conversion.
const (
	AddSO2      Act = "SO2 added"
	TopUp       Act = "topped"
	IntoBarrel  Act = "into a barrel that was sulfured"
	AddSorbate  Act = "sorbate added"
	AddLysozyme Act = "lysozyme added"
	Chill       Act = "chilled"
	FilterTight Act = "filtered tightly"
	AddAmmonium Act = "ammonium salt added for bacteria"
	RinsedSO2   Act = "into a vessel rinsed with sulfite"
)

// Topped is a topping about to be done.
type Topped struct {
	Wine, With           quantity.Volume        // in the vessel, and poured in
	TotalWine, TotalWith quantity.Concentration // total SO2 of each
}

// TotalAfter is the total SO2 after mixing, by volume; nothing is taken to be lost.
// Domain: 0.01 to 1 000 000 L in the vessel, 0 or more poured in; a
// *quantity.RangeError outside.
func (t Topped) TotalAfter() (quantity.Concentration, error) {
	if err := quantity.Check("wine in the vessel", t.Wine.Litres(), "L", 0.01, 1e6); err != nil {
		return 0, err
	}
	if err := quantity.Check("topping wine", t.With.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	return (t.TotalWine.In(t.Wine) + t.TotalWith.In(t.With)).Per(t.Wine + t.With), nil
}

// StopsConversion says what an act does to a running or wanted conversion: nil if
// nothing speaks against it. For TopUp give the topping; others ignore it.
func StopsConversion(a Act, t Topped) (*Caution, error) {
	c := func(text, act, source string, mark cited.Mark) *Caution {
		return &Caution{Text: text, Act: act, Source: cited.Source{Text: source, Mark: mark}}
	}
	switch a {
	case AddSO2:
		return c("SO2 in the middle of a conversion can end it, bound SO2 too", "stop and confirm: is the conversion over, or unwanted?", "adducts slow bacteria from 5 mg/L (Wells, Osborne 2012, Lett Appl Microbiol, abstract); free under 5 to 10 and total under 30 to 40 mg/L are workable (Australian Wine Research Institute, “Ask the AWRI: malolactic fermentation issues explored”)", cited.Read), nil
	case TopUp:
		after, err := t.TotalAfter()
		if err != nil {
			return nil, err
		}
		if after-t.TotalWine < 1*quantity.MilligramPerLitre {
			return nil, nil
		}
		return c(fmt.Sprintf("the topping brings %.0f mg/L of SO2: total goes from %.0f to %.0f mg/L", (after-t.TotalWine).MgPerL(), t.TotalWine.MgPerL(), after.MgPerL()),
			"top with wine of low SO2, or confirm", "total under 30 to 40 mg/L is workable, 40 to 60 difficult (Australian Wine Research Institute, “Ask the AWRI: malolactic fermentation issues explored”)", cited.Read), nil
	case IntoBarrel, RinsedSO2:
		return c("the vessel gives its SO2 to the wine", "rinse it well, measure free SO2 the next day", "burned sulfur or sulfited rinse left in the vessel", cited.CommonPractice), nil
	case AddSorbate:
		return c("sorbate with live lactic bacteria makes the smell of geranium leaf; there is no remedy", "do not", "threshold about 0.1 µg/L; reaction to 2-ethoxyhexa-3,5-diene (Oxford Companion to Wine)", cited.SecondHand), nil
	case AddLysozyme:
		return c("lysozyme kills the bacteria of the conversion", "confirm that the conversion is not wanted; it is an egg allergen", "acts on lactic bacteria", cited.CommonPractice), nil
	case Chill:
		return c("below about 15 °C a conversion slows, below 10 °C it hardly runs", "wait for its end, then cool", "workable 15 to 25 °C (Australian Wine Research Institute, “Preparation of an MLF starter culture using freeze dried bacteria”)", cited.Read), nil
	case FilterTight:
		return c("tight filtration takes the bacteria out", "wait for the end", "common sense of the trade", cited.CommonPractice), nil
	case AddAmmonium:
		return c("bacteria cannot use ammonium; spoilage can", "leave it out", "lactic bacteria do not take up ammonium", cited.Memory), nil
	}
	return nil, fmt.Errorf("act is %q: allowed is one of the acts that can stop a conversion", a)
}
