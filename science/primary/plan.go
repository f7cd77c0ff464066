package primary

import (
	"fmt"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A RescueStep is one step of building a culture that finishes a stuck ferment.
type RescueStep struct {
	Name   string          `json:"name"`
	Do     string          `json:"do"`
	Yeast  quantity.Mass   `json:"yeast,omitempty"`
	Water  quantity.Volume `json:"water,omitempty"`
	Wine   quantity.Volume `json:"wine,omitempty"` // of the stuck wine
	Volume quantity.Volume `json:"volume"`         // of the culture after the step
	Goes   string          `json:"goes_on_when"`
}

// A Rescue is the outline of a rescue culture.
type Rescue struct {
	Before []string       `json:"before"`
	Steps  []RescueStep   `json:"steps"`
	Watch  []string       `json:"watch"`
	Source []cited.Source `json:"sources"`
}

// RescueCulture scales the outline to a volume of stuck wine (1 to 10 000 L): twice
// the normal yeast, rehydrated, led into the wine by doublings from a twentieth of
// the volume. Every figure of the steps is from memory; the bulletin or the
// supplier's sheet governs.
func RescueCulture(stuck quantity.Volume) (Rescue, error) {
	if err := quantity.Check("stuck wine", stuck.Litres(), "L", 1, 10000); err != nil {
		return Rescue{}, err
	}
	yeast := (0.5 * quantity.GramPerLitre).In(stuck)
	medium := stuck / 20
	rehydrate := quantity.Volume(yeast.Grams()*10) * quantity.Millilitre
	return Rescue{
		Before: []string{
			"Count what lives, if there is a microscope; smell, test volatile acidity: above 1.0 g/L it is itself toxic and must come down first.",
			"If malolactic has begun, let it finish; then SO2 to 30 mg/L free (at pH 3.5) for a day at least, bentonite if needed, rack, keep under inert gas.",
			"Low alcohol and little sugar: active lees from a healthy lot that has just finished do, or a fresh culture in juice, without the long way.",
		},
		Steps: []RescueStep{
			{Name: "A", Do: "rehydrate the yeast in ten parts of water with inactive-yeast nutrient, then cool to within 5 to 10 °C of the medium", Yeast: yeast, Water: rehydrate, Volume: rehydrate, Goes: "20 minutes have passed"},
			{Name: "B", Do: "into the first medium: half stuck wine, half water, sugar to 50 to 60 g/L, nutrient, 25 °C", Wine: medium / 2, Water: medium / 2, Volume: medium, Goes: "density has fallen by half and it foams"},
			{Name: "C", Do: "add as much stuck wine again, 22 to 25 °C", Wine: medium, Volume: 2 * medium, Goes: "density has halved again, 12 to 24 h"},
			{Name: "D", Do: "double once more", Wine: 2 * medium, Volume: 4 * medium, Goes: "density has halved again"},
			{Name: "E", Do: "into the rest of the wine in portions, 20 to 22 °C", Wine: stuck - 3.5*medium, Volume: stuck + medium/2, Goes: "falling daily, to below 1 g/L sugar"},
		},
		Watch: []string{
			"Never feed a starter whose density has stopped: wait, or start again.",
			fmt.Sprintf("Its water (about %.2g L) and sugar enter the balance of the parent lot.", (medium / 2).Litres()),
			"What is left is mostly fructose: a yeast able to use it is preferred.",
			"CO2 comes back with it: air the room.",
		},
		Source: []cited.Source{
			{Text: "preparation: Australian Wine Research Institute, “Procedure for rescue of stuck or slow alcoholic fermentation”, March 2020 (opening read)", Mark: cited.Read},
			{Text: "steps and volumes of the culture", Mark: cited.Memory},
		},
	}, nil
}

// A NutrientGap is what a must lacks of assimilable nitrogen and what fills it.
type NutrientGap struct {
	Target quantity.Concentration `json:"target"` // as N
	Gap    quantity.Concentration `json:"gap"`
	DAP    quantity.Concentration `json:"dap"` // diammonium phosphate for all of it
	Over   []string               `json:"over,omitempty"`
	Source cited.Source           `json:"source"`
}

// DAPNitrogen is the share of nitrogen in diammonium phosphate, by formula.
const DAPNitrogen = 2 * 14.007 / 132.056

// Gap reckons the usual targets of 200, 250, 300 and 350 mg N/L at 21, 23, 25 and 27
// Brix, in straight lines and held beyond. Sources disagree: 100 mg/L were enough in
// one variety (Schreiner, Osborne, Skinkis 2018, Am J Enol Vitic 69:45), and in 222
// ferments more nitrogen gave faster peaks but did not guarantee the finish
// (Fermentation 2025, 11:4). The targets are from memory. Domain: 10 to 35 Brix and 0
// to 1000 mg N/L; a *quantity.RangeError outside.
func Gap(brix float64, has quantity.Concentration) (NutrientGap, error) {
	if err := quantity.Check("Brix of the must", brix, "Brix", 10, 35); err != nil {
		return NutrientGap{}, err
	}
	if err := quantity.Check("assimilable nitrogen", has.MgPerL(), "mg/L", 0, 1000); err != nil {
		return NutrientGap{}, err
	}
	target := min(max(200+(brix-21)*25, 200), 350)
	g := NutrientGap{Target: quantity.Concentration(target) * quantity.MilligramPerLitre,
		Source: cited.Source{Text: "targets of 200/250/300/350 mg N/L at 21/23/25/27 Brix", Mark: cited.Memory}}
	g.Gap = max(0, g.Target-has)
	g.DAP = quantity.Concentration(g.Gap.GPerL() / DAPNitrogen)
	if g.DAP > 0.96 {
		g.Over = append(g.Over, "more than the US limit of 0.96 g/L DAP (27 CFR 24)")
	}
	if g.DAP > 1 {
		g.Over = append(g.Over, "more than the EU limit of 1 g/L (from memory)")
	}
	return g, nil
}

// A LagVerdict judges a ferment that has not set off.
type LagVerdict struct {
	Late   bool         `json:"late"`
	Limit  float64      `json:"limit_hours"`
	Source cited.Source `json:"source"`
}

// LagLimit is how long a pitched ferment may take to show a fall: 48 h at 20 °C or
// warmer, 84 h at 13.5 °C or colder (72 to 96 h at 12 to 15 °C), in a straight line
// between. All from memory; hours are counted from pitching.
func LagLimit(hours float64, t quantity.Temperature) LagVerdict {
	f := min(1, max(0, (20-t.Celsius())/6.5))
	limit := 48 + 36*f
	return LagVerdict{Late: hours > limit, Limit: limit, Source: cited.Source{Text: "no fall 48 h after pitching at 20 °C, 72 to 96 h at 12 to 15 °C", Mark: cited.Memory}}
}
