package ageing

import (
	"fmt"
	"math"

	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// A Vessel is a kind of container by how it lets oxygen in.
type Vessel string

// The kinds.
const (
	Barrel     Vessel = "barrel"
	Glass      Vessel = "glass"     // carboy, demijohn, jug
	Steel      Vessel = "steel"     // sealed keg or tank, full
	Plastic    Vessel = "plastic"   // polyethylene, PET
	CorkBottle Vessel = "cork"      // bottle under natural cork
	ScrewCap   Vessel = "screw-cap" // bottle under screw cap or technical cork
	Synthetic  Vessel = "synthetic" // bottle under a synthetic closure
)

// Vessels lists the kinds.
func Vessels() []Vessel {
	return []Vessel{Barrel, Glass, Steel, Plastic, CorkBottle, ScrewCap, Synthetic}
}

// Label names the kind for a screen.
func (v Vessel) Label() string {
	switch v {
	case CorkBottle:
		return "bottle, natural cork"
	case ScrewCap:
		return "bottle, screw cap or technical cork"
	case Synthetic:
		return "bottle, synthetic closure"
	case Steel:
		return "sealed steel"
	}
	return string(v)
}

// ParseVessel reads a kind as its constant is written (Vessels lists them); any other
// word is an error that names those allowed.
func ParseVessel(s string) (Vessel, error) {
	for _, v := range Vessels() {
		if s == string(v) {
			return v, nil
		}
	}
	return "", fmt.Errorf("vessel is %q: allowed is one of %v", s, Vessels())
}

// Ingress is the oxygen that a closed, full and undisturbed vessel lets in at
// 15 °C, mg/L a year. Openings are not in it; see [Event].
//
// A barrel's is scaled from 225 L by surface per volume, (225/V)^(1/3). No source
// gives plastic; it is kept very wide. Bottles: eight closures 5 to 67 µg O2 a day
// (Vidal et al. 2017, test gas not stated: read here as pure oxygen, hence × 0.21,
// 0.5 to 6.9 mg/L a year), order of closures after Lopes et al. 2006.
func Ingress(v Vessel, size quantity.Volume) bayes.Prior {
	p := bayes.Prior{Name: "oxygen let in by the vessel, " + v.Label(), Unit: "mg/L a year at 15 °C", Family: bayes.LogNormal, Low: 0.02, High: 200}
	set := func(median, spread float64, text string, mark cited.Mark) {
		p.Location, p.Spread, p.Source = median, spread, cited.Source{Text: text, Mark: mark}
	}
	switch v {
	case Barrel:
		f := 1.0
		if size > 0 {
			f = math.Cbrt(225 / size.Litres())
		}
		set(18*f, 0.4, "11.4 mg/L a year (Junqua, Zeng & Pons 2021, OENO One 55(3)) to 20–27 (IVES Technical Review 5449); small barrels by surface per volume", cited.Computed)
	case Glass:
		set(1.5, 0.8, "0.5–3 mg/L a year under a good bung or lock", cited.Memory)
	case Steel:
		set(0.4, 0.8, "0.1–1 mg/L a year, sealed and full", cited.Memory)
	case Plastic:
		set(8, 1.0, "no figure found; set wide between glass and barrel", cited.Proposal)
	case CorkBottle:
		set(2.0, 0.8, "range of eight closures, Vidal et al. 2017, OENO One 1618; natural cork between the others, Lopes et al. 2006", cited.Computed)
	case ScrewCap:
		set(1.0, 0.6, "lower end of eight closures, Vidal et al. 2017; screw cap and technical cork lowest, Lopes et al. 2006", cited.Computed)
	case Synthetic:
		set(4.0, 0.5, "3.4–10 µL O2 a day, Lopes, Practical Winery & Vineyard January 2015; synthetic highest, Lopes et al. 2006", cited.Computed)
	default:
		set(2, 1.2, "kind of vessel not known", cited.Proposal)
	}
	return p
}

// HeadspaceOxygen is the oxygen that air over the wine brings once, per litre of
// wine, if all of it is taken up: 0.28 mg for each millilitre of air per litre
// (20.95 % O2 of 1.33 mg/mL at 20 °C and 1 atm, ideal gas). Domain: 0.1 to 1 000 000 L
// of wine, 0 or more of air; a *quantity.RangeError outside.
func HeadspaceOxygen(air, wine quantity.Volume) (quantity.Concentration, error) {
	if err := quantity.Check("wine in the vessel", wine.Litres(), "L", 0.1, 1e6); err != nil {
		return 0, err
	}
	if err := quantity.Check("air over the wine", air.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	const perMillilitre = 0.2095 * 1.33 // mg O2 per mL of air
	return quantity.Concentration(perMillilitre*air.Millilitres()/wine.Litres()) * quantity.MilligramPerLitre, nil
}
