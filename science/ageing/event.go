package ageing

import (
	"elevage/science/bayes"
	"elevage/science/cited"
)

// An Event is something that brings oxygen at once.
type Event string

// The events.
const (
	RackingCareful Event = "racking, careful" // closed or from the bottom, receiving vessel purged
	RackingOpen    Event = "racking, open"    // splashed
	Topping        Event = "topping"
	Stirring       Event = "lees stirred"
	Filtration     Event = "filtration"
	PadFiltration  Event = "pad filtration"
	Bottling       Event = "bottling"
	AirOver        Event = "air over the wine" // headspace air let in; its volume is given
	Opened         Event = "opened"            // bung out for a sample or a look, vessel full
)

// Events lists the events.
func Events() []Event {
	return []Event{RackingCareful, RackingOpen, Topping, Stirring, Filtration, PadFiltration, Bottling, AirOver, Opened}
}

// Oxygen is what an event brings, mg/L. AirOver is a share of the air's oxygen:
// between half and all of it ends in the wine.
func (e Event) Oxygen() bayes.Prior {
	p := bayes.Prior{Name: "oxygen from " + string(e), Unit: "mg/L", Family: bayes.LogNormal}
	set := func(median, spread float64, text string, mark cited.Mark) {
		p.Location, p.Spread, p.Source = median, spread, cited.Source{Text: text, Mark: mark}
	}
	switch e {
	case RackingCareful:
		set(1.2, 0.5, "0.5–2 mg/L protected; equipment steps 0.1–0.35 (Calderón et al. 2014)", cited.Memory)
	case RackingOpen:
		set(4, 0.5, "3–6 mg/L splashed", cited.Memory)
	case Topping:
		set(0.32, 0.4, "0.2–0.5 mg/L", cited.Memory)
	case Stirring:
		set(0.3, 0.6, "taken as a topping", cited.Proposal)
	case Filtration:
		set(0.15, 0.4, "earth or membrane 0.1–0.2 mg/L a pass, Calderón et al. 2014", cited.Read)
	case PadFiltration:
		set(0.35, 0.5, "mean 0.35 mg/L a pass, Calderón et al. 2014", cited.Read)
	case Bottling:
		set(3, 0.5, "2 mg/L in an industrial trial (Vidal et al. 2017), up to 5 without care (WineLand 2019); small-lot median set between", cited.Computed)
	case AirOver:
		p.Unit = "share of the oxygen in the air"
		set(0.75, 0.25, "between half and all of the air's oxygen", cited.Proposal)
	case Opened:
		set(0.05, 0.7, "a short opening of a full vessel", cited.Proposal)
	default:
		set(0.5, 1, "kind of event not known", cited.Proposal)
	}
	return p
}
