package bench

import (
	"errors"
	"math"

	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "cold-stability",
	Title:    "Cold stability",
	Purpose:  "how much cream of tartar a wine holds too much, what may fall in the cold and where pH and acidity go",
	Question: Becomes,
	Inputs: append(inputsOfWine(),
		inMalic().withDefault("0"),
		Input{Key: "calcium_mg_l", Label: "calcium", Unit: mgPerL, Min: 0, Max: 500, Fill: LotCalcium, Help: "if a laboratory measured it"},
		inCold().withDefault("-4"),
		Input{Key: "conductivity_before", Label: "conductivity before seeding", Min: 1, Max: 20000, Exact: true, Help: "µS/cm, of the cold wine, for the seeded test"},
		Input{Key: "conductivity_after", Label: "conductivity after seeding", Min: 1, Max: 20000, Exact: true, Help: "µS/cm, 30 minutes after the seed crystals went in"},
	),
	Groups: []Group{{AllOrNone, []string{"conductivity_before", "conductivity_after"}}},
	Outputs: []Output{
		{Key: "supersaturation", Label: "times what alcohol and water would hold", Decimals: 2},
		{Key: "saturation_c", Label: "just saturated at", Unit: celsius, Decimals: 1, Optional: true},
		{Key: "bitartrate_falls_g_l", Label: "potassium bitartrate that may fall", Unit: gPerL, Decimals: 2},
		{Key: "ph_after_cold", Label: "pH once it has fallen", Unit: ph, Decimals: 2},
		{Key: "ta_after_cold_g_l", Label: "titratable acidity once it has fallen", Unit: gPerL, Decimals: 2},
		{Key: "watershed_ph", Label: "below this pH the fall lowers it, above raises it", Unit: ph, Decimals: 2},
		{Key: "calcium_supersaturation", Label: "calcium tartrate, times what would be held", Decimals: 1, Optional: true},
		{Key: "conductivity_drop_pct", Label: "drop in conductivity", Unit: percent, Decimals: 1, Optional: true},
		{Key: "verdict", Label: "verdict", Kind: Text},
	},
	Cautions: []Warning{
		{Code: "not-a-test", When: "no conductivity is given", Mark: cited.Computed,
			Text: "A sum is no test: colloids hold tartrate back for months or for ever. Test the wine itself: filtered at -4 °C for three days (crystals?), or seeded and its conductivity followed."},
		{Code: "most-that-falls", When: "potassium was not measured", Mark: cited.Computed,
			Text: "Potassium was taken from the charges, good to about 20 %: so is this."},
		{Code: "extrapolated", When: "outside 10 to 16 % vol or -4 to 25 °C", Mark: cited.Computed,
			Text: "The solubility of potassium bitartrate was fitted on 10 to 16 % vol and -4 to 25 °C: this is extrapolated."},
		{Code: "calcium-guess", When: "calcium is given", Mark: cited.Proposal,
			Text: "Calcium tartrate's solubility in wine is known to a factor of two; it falls after months and does not mind the cold."},
		{Code: "colder-wine", When: "always", Mark: cited.CommonPractice,
			Text: "Cold wine dissolves more oxygen: full vessels. A salt brine at -4 °C burns skin, and glass that freezes breaks."},
		{Code: "blend-again", When: "always", Mark: cited.CommonPractice,
			Text: "Two stable wines can make an unstable blend: test the blend."},
	},
	Sources: []Source{
		sourceChargeBalance,
		{Ref: "Berg, Keefer 1958, quoted by Ribéreau-Gayon (Russian edition, table 12.3)", Used: "solubility of potassium bitartrate in alcohol and water", Mark: cited.SecondHand},
		{Ref: "AWRI, cold stability test, awri.com.au (laboratory_methods/chemical/cold_stab)", Used: "filtered sample at -4 °C for three days", Mark: cited.Read},
		{Ref: "Hornsey 2007, The Chemistry and Biology of Winemaking, as quoted", Used: "seeded conductivity: a drop below 5 %, stricter 3 %, passes", Mark: cited.SecondHand},
		{Used: "1 g potassium bitartrate takes 0.399 g acidity, 0.208 g potassium, 0.798 g tartaric acid", Mark: cited.Computed},
	},
	Check:   Check{Against: "the watershed of pH 3.65, a handbook figure as quoted; stoichiometry of the tartrate that falls; solubilities of Berg and Keefer 1958 as quoted; Hornsey's limits as quoted", Mark: cited.SecondHand},
	Example: []string{"ph=3.40", "ta_g_l=6.5", "ta_endpoint_ph=8.2", "abv_pct=12.5", "temp_c=20", "potassium_g_l=0.9", "cold_c=-2"},
	Work:    workColdStability,
})

func workColdStability(s *Sheet) error {
	wine, err := s.anchor(s.Concentration("malic_g_l"))
	if err != nil {
		return err
	}
	cold := s.Temperature("cold_c")
	saturation, err := wine.Saturation(cold)
	if err != nil {
		return err
	}
	times := math.Pow(10, saturation.Bitartrate)
	s.OutSolved("supersaturation", times, "activity of potassium × activity of the bitartrate ion, over their product in a saturated solution of this strength and temperature",
		s.term("cold_c"), term("potassium", wine.Potassium.GPerL(), gPerL), term("tartaric acid", wine.Tartaric.GPerL(), gPerL))
	at, err := wine.SaturationTemperature(acidbase.Bitartrate)
	var never *quantity.RangeError
	switch {
	case err == nil:
		s.OutSolved("saturation_c", at.Celsius(), "the temperature at which that ratio is 1")
	case !errors.As(err, &never):
		return err
	}
	p, err := wine.Precipitate(cold, acidbase.Bitartrate)
	if err != nil {
		return err
	}
	phCold, taCold, err := phAndTA(&p.Left, wine.EndPoint)
	if err != nil {
		return err
	}
	watershed, err := wine.Watershed()
	if err != nil {
		return err
	}
	fallen := term("potassium bitartrate fallen", p.Bitartrate.GPerL(), gPerL)
	s.OutSolved("bitartrate_falls_g_l", p.Bitartrate.GPerL(), "what must go until the ratio is 1")
	s.OutSolved("ph_after_cold", float64(phCold), "charge balance without what fell", fallen)
	s.OutSolved("ta_after_cold_g_l", taCold.GPerL(), "lye to the end point without what fell; 0.399 less for each gram", fallen)
	s.OutSolved("watershed_ph", float64(watershed), "the pH at which losing the salt leaves the pH of this wine as it is")
	if s.Given("calcium_mg_l") {
		s.OutSolved("calcium_supersaturation", math.Pow(10, saturation.CalciumTartrate), "the same ratio for calcium tartrate", s.term("calcium_mg_l"))
		s.Caution("calcium-guess")
	}
	if saturation.Extrapolated {
		s.Caution("extrapolated")
	}
	if wine.PotassiumAssumed {
		s.Caution("most-that-falls")
	}
	s.OutText("verdict", s.coldVerdict(times))
	s.Caution("colder-wine")
	s.Caution("blend-again")
	return nil
}

// coldVerdict puts the test, if there was one, before the sum.
func (s *Sheet) coldVerdict(times float64) string {
	if !s.Given("conductivity_before") {
		s.Caution("not-a-test")
		if times <= 1 {
			return "not saturated at this temperature: nothing can fall"
		}
		return "supersaturated at this temperature: crystals may fall; only a test tells whether they do"
	}
	drop := (s.Num("conductivity_before") - s.Num("conductivity_after")) / s.Num("conductivity_before") * 100
	s.Out("conductivity_drop_pct", drop, "({conductivity before seeding} - {conductivity after seeding}) / {conductivity before seeding} * 100",
		s.term("conductivity_before"), s.term("conductivity_after"))
	switch {
	case drop < 3:
		return "passes the seeded test, the stricter limit of 3 % too"
	case drop < 5:
		return "passes the seeded test (under 5 %), not the stricter 3 %"
	}
	return "fails the seeded test (5 % or more)"
}
