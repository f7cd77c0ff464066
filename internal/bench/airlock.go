package bench

import (
	"time"

	"elevage/science/cited"
	"elevage/science/gas"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "airlock",
	Title:    "What the airlock says",
	Purpose:  "malic acid converted a day if all the gas came from it, and what warming and weather feign",
	Question: Measured,
	Inputs: []Input{
		inVolume(wineNotVessel),
		{Key: "bubble_s", Label: "seconds between bubbles", Unit: second, Min: 0.2, Max: 86400, Required: true, Help: "7200 and no bubble means none seen in two hours"},
		{Key: "bubble_ml", Label: "one bubble", Unit: millilitre, Min: 0.02, Max: 20, Default: "0.7", Help: "count bubbles into an upturned cylinder; else unknown within a factor of three"},
		inTemperature(),
		{Key: "barometer_hpa", Label: "barometer", Unit: hectopascal, Min: 500, Max: 1100, Default: "1013.25"},
		inStrength("12.5"),
		{Key: "temp_before_c", Label: "the wine stood before at", Unit: celsius, Min: 0, Max: 35, Help: "to see what warming alone gives off"},
		{Key: "barometer_before_hpa", Label: "the barometer stood before at", Unit: hectopascal, Min: 500, Max: 1100},
	},
	Outputs: []Output{
		{Key: "malic_g_l_per_day", Label: "malic acid converted, if it all came from that", Unit: gPerLPerDay, Decimals: 3},
		{Key: "least_g_l_per_day", Label: "if the bubble is a third as large", Unit: gPerLPerDay, Decimals: 3},
		{Key: "most_g_l_per_day", Label: "if the bubble is three times as large", Unit: gPerLPerDay, Decimals: 3},
		{Key: "gas_ml_per_day", Label: "gas, mL a day", Decimals: 0},
		{Key: "released_co2_g_l", Label: "carbon dioxide that warming and weather set free", Unit: gPerL, Decimals: 3, Optional: true},
		{Key: "feigned_malic_g_l", Label: "which looks like malic acid converted", Unit: gPerL, Decimals: 2, Optional: true},
	},
	Cautions: []Warning{
		{Code: "never-evidence", When: "always", Mark: cited.Computed,
			Text: "Bubbles are no proof: warming a saturated wine from 15 to 20 °C gives off as much as 0.73 g/L malic acid, 23 hPa of weather 0.10 g/L, and 1 g/L sugar as much as 1.5 g/L malic acid. Silence proves as little."},
		{Code: "bubble-guessed", When: "no bubble volume is given", Mark: cited.Computed,
			Text: "No published measurement of a bubble was found: 0.1 to 0.25 mL by surface tension alone, more in wide locks. Measure yours."},
	},
	Sources: []Source{
		{Used: "0.3282 g carbon dioxide per g malic acid; ideal gas", Mark: cited.Computed},
		{Ref: "Reg. (EEC) 2676/90", Used: "what a saturated wine lets go on a falling barometer", Mark: cited.Read},
		{Ref: "Weiss 1974, coefficients recalled", Used: "what a saturated wine lets go on warming", Mark: cited.Memory},
	},
	Check:   Check{Against: "stoichiometry and the ideal gas by hand (23 L, a bubble every 73 s); weather by Reg. (EEC) 2676/90 and Henry; warming by the curve of Weiss 1974, from memory", Mark: cited.Computed},
	Example: []string{"volume_l=23", "bubble_s=73", "bubble_s_pm=10", "bubble_ml=0.7", "temp_c=20"},
	Work:    workAirlock,
})

func workAirlock(s *Sheet) error {
	lock := gas.Airlock{Wine: s.Volume("volume_l"), Bubble: s.Volume("bubble_ml"), Temperature: s.Temperature("temp_c"), Barometer: s.Pressure("barometer_hpa")}
	every := time.Duration(s.Num("bubble_s") * float64(time.Second))
	rate, err := lock.MalicRate(every)
	if err != nil {
		return err
	}
	perDay := s.Num("bubble_ml") * 86400 / s.Num("bubble_s")
	s.Out("gas_ml_per_day", perDay, "{one bubble} * 86400 / {seconds between bubbles}", s.term("bubble_ml"), s.term("bubble_s"))
	s.OutSolved("malic_g_l_per_day", rate.GPerLDay(), "mass of that gas at this temperature and barometer, over 0.3282 and the volume of wine",
		term("gas, mL a day", perDay, plain), s.term("temp_c"), s.term("barometer_hpa"), s.term("volume_l"))
	r := term("rate", rate.GPerLDay(), gPerLPerDay)
	s.Out("least_g_l_per_day", rate.GPerLDay()/3, "{rate} / 3", r)
	s.Out("most_g_l_per_day", rate.GPerLDay()*3, "{rate} * 3", r)
	s.Caution("never-evidence")
	if !s.Given("bubble_ml") {
		s.Caution("bubble-guessed")
	}
	return s.feigned()
}

// feigned shows what a saturated wine lets go only because it warmed or the
// weather turned.
func (s *Sheet) feigned() error {
	if !s.Given("temp_before_c") && !s.Given("barometer_before_hpa") {
		return nil
	}
	now := gas.Surroundings{Temperature: s.Temperature("temp_c"), Barometer: s.Pressure("barometer_hpa")}
	before := now
	if s.Given("temp_before_c") {
		before.Temperature = s.Temperature("temp_before_c")
	}
	if s.Given("barometer_before_hpa") {
		before.Barometer = s.Pressure("barometer_before_hpa")
	}
	released, err := gas.Official.Release(gas.Liquid{Alcohol: s.Strength("abv_pct"), Sugar: 0 * quantity.GramPerLitre}, before, now)
	if err != nil {
		return err
	}
	s.OutSolved("released_co2_g_l", released.GPerL(), "what a saturated wine holds before, less what it holds now",
		term("temperature before", before.Temperature.Celsius(), celsius), term("barometer before", before.Barometer.Pascals()/100, hectopascal), s.term("temp_c"), s.term("barometer_hpa"))
	s.Out("feigned_malic_g_l", gas.ApparentMalic(released).GPerL(), "{carbon dioxide set free} / {per malic}", term("carbon dioxide set free", released.GPerL(), gPerL), constant("per malic", gas.PerMalic, plain, "molar masses"))
	return nil
}
