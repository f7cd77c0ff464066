package bench

import (
	"errors"

	"elevage/internal/fault"
	"elevage/science/cited"
	"elevage/science/gas"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "bottle-pressure",
	Title:    "Pressure in a bottle",
	Purpose:  "what a bottle comes to if the sugar and the malic acid left in it ferment",
	Question: Safe,
	Inputs: []Input{
		{Key: "sugar_g_l", Label: "fermentable sugar left", Unit: gPerL, Min: 0, Max: 35, Default: "0", Fill: LotSugar, Help: "by a chemical test, not by a float"},
		{Key: "malic_g_l", Label: "malic acid left", Unit: gPerL, Min: 0, Max: 15, Default: "0", Fill: LotMalic},
		{Key: "dissolved_co2_g_l", Label: "carbon dioxide dissolved at filling", Unit: gPerL, Min: 0, Max: 4, Default: "1.0", Help: "still wine holds 0.2 to 1.5"},
		inStrength("12"),
		{Key: "temp_c", Label: "the bottle stands at", Unit: celsius, Min: 0, Max: 35, Default: "20"},
		{Key: "headspace", Label: "headspace, as a share of the wine", Min: 0.001, Max: 1, Help: "0.02 is 15 mL over 750 mL"},
		{Key: "headspace_ml", Label: "or headspace", Unit: millilitre, Min: 0.1, Max: 5000, Help: "left out: 15 mL for 750 mL"},
		{Key: "bottle_ml", Label: "wine in the bottle", Unit: millilitre, Min: 50, Max: 20000, Default: "750", Exact: true},
		{Key: "closed_c", Label: "closed at", Unit: celsius, Min: 0, Max: 35, Default: "20"},
		{Key: "sealed_air_bar", Label: "air sealed in, absolute", Unit: pascalBar, Min: 0, Max: 2, Default: "1.01325", Exact: true,
			Help: "1.013 where nothing was done; less under vacuum or inert gas"},
	},
	Outputs: []Output{
		{Key: "co2_partial_bar", Label: "partial pressure of carbon dioxide", Unit: pascalBar, Decimals: 2},
		{Key: "gauge_bar", Label: "gauge pressure: what glass and closure feel", Unit: pascalBar, Decimals: 2},
		{Key: "gauge_worse_bar", Label: "the same by the more careful relation", Unit: pascalBar, Decimals: 2},
		{Key: "co2_g_l", Label: "carbon dioxide in all", Unit: gPerL, Decimals: 2},
		{Key: "dissolved_g_l", Label: "of which stays dissolved", Unit: gPerL, Decimals: 2},
		{Key: "sugar_for_one_atm_g_l", Label: "sugar that keeps it at 1 atm gauge", Unit: gPerL, Decimals: 1},
		{Key: "judgement", Label: "judged", Kind: Text},
	},
	Cautions: []Warning{
		{Code: "danger", When: "gauge over 1.5 atm", Mark: cited.Proposal,
			Text: "DANGER: still-wine glass and corks are rated for no pressure and may burst. Goggles and gloves, cold, outdoors, upright; open the first slowly, or keep away and let somebody trained see to it."},
		{Code: "corks-move", When: "gauge over 1.0 atm", Mark: cited.Proposal,
			Text: "Corks may move and bottles may weep: keep it cold and upright, and find out what is fermenting."},
		{Code: "cork-saturation", When: "over 1.4 g/L dissolved", Mark: cited.Read, Ref: "Butzke, Purdue Extension FS-56",
			Text: "Above about 1.4 g/L carbon dioxide corks can move."},
		{Code: "if-it-ferments", When: "sugar or malic acid is left", Mark: cited.CommonPractice,
			Text: "This is what comes if all of it ferments: it needs living yeast or bacteria. Without a sterile filtration they are there."},
		{Code: "law-still", When: "over 3.92 g/L in all", Mark: cited.Read, Ref: "27 CFR 24.245, 2015 edition", Text: "Over what the United States calls a still wine (3.92 g/L)."},
	},
	Sources: []Source{
		{Used: "0.4886 g carbon dioxide per g sugar, 0.3282 per g malic acid", Mark: cited.Computed},
		{Ref: "Reg. (EEC) 2676/90, overpressure relation at 20 °C", Used: "solubility by strength and sugar", Mark: cited.Read},
		{Ref: "Weiss 1974, coefficients recalled", Used: "its curve with temperature", Mark: cited.Memory},
		{Ref: "Liger-Belair et al. 2017, Scientific Reports s41598-017-10702-6", Used: "test: champagne at 6, 12, 20 °C within 8 %", Mark: cited.Read},
		{Used: "caution over 1.0, danger over 1.5 atm gauge", Mark: cited.Proposal},
	},
	Check:   Check{Against: "champagne bottles of Liger-Belair et al. 2017; the teaching rule of technoresto.org, 4 g/L for about 1 bar; by hand from stoichiometry and the solubility of Reg. (EEC) 2676/90", Mark: cited.Read},
	Example: []string{"sugar_g_l=3", "sugar_g_l_pm=0.5", "malic_g_l=0.3", "dissolved_co2_g_l=1.0", "abv_pct=12.5", "temp_c=25"},
	Notes: "Air sealed into the headspace stays and counts: gauge = carbon dioxide + air − 1 atm. The main figures take the official solubility relation; " +
		"danger is judged by the gauge of the more careful of two relations, which part by up to 8 % in warmth. 0 to 35 °C, up to 16 g/L carbon dioxide in all.",
	Work: workBottlePressure,
})

func workBottlePressure(s *Sheet) error {
	if s.Given("headspace") && s.Given("headspace_ml") {
		s.Refuse("headspace_ml", "either headspace or headspace_ml, not both")
		return nil
	}
	wine := s.Volume("bottle_ml")
	space := 0.02 * wine
	switch {
	case s.Given("headspace"):
		space = quantity.Volume(s.Num("headspace")) * wine
	case s.Given("headspace_ml"):
		space = s.Volume("headspace_ml")
	}
	bottle := gas.Bottle{Wine: wine, Headspace: space, Closed: s.Temperature("closed_c"), Air: s.Pressure("sealed_air_bar")}
	contents := gas.Contents{Alcohol: s.Strength("abv_pct"), Dissolved: s.Concentration("dissolved_co2_g_l"), Sugar: s.Concentration("sugar_g_l"),
		Malic: s.Concentration("malic_g_l"), Extract: 25 * quantity.GramPerLitre}
	at := s.Temperature("temp_c")
	forecast, err := gas.ForecastBottle(bottle, contents, at)
	var brimFull *gas.BrimFullError
	if errors.As(err, &brimFull) {
		s.refusals = append(s.refusals, fault.Field{Name: "temp_c", Given: withUnit(tidy(s.Num("temp_c")), celsius), Allowed: "a temperature at which some headspace is left", Hint: err.Error()})
		return nil
	}
	if err != nil {
		return err
	}
	now, worst := forecast.Official, forecast.Worst()
	s.Out("co2_g_l", contents.CO2().GPerL(), "{carbon dioxide dissolved at filling} + {per sugar} * {fermentable sugar left} + {per malic} * {malic acid left}",
		s.term("dissolved_co2_g_l"), constant("per sugar", gas.PerHexose, plain, "molar masses"), s.term("sugar_g_l"), constant("per malic", gas.PerMalic, plain, "molar masses"), s.term("malic_g_l"))
	s.OutSolved("co2_partial_bar", now.CO2.Bars(), "the pressure at which wine and headspace together hold that much ("+gas.Official.String()+")",
		term("headspace at this temperature", now.Headspace.Millilitres(), millilitre), s.term("temp_c"), s.term("abv_pct"))
	s.OutSolved("dissolved_g_l", now.Dissolved.GPerL(), "solubility at that pressure")
	s.Solved("air in the headspace", now.Air.Bars(), pascalBar, 2, "sealed in, squeezed by the wine's growth and warmed", s.term("closed_c"), s.term("sealed_air_bar"))
	s.Out("gauge_bar", now.Gauge.Bars(), "{carbon dioxide} + {air} - 1.01325", term("carbon dioxide", now.CO2.Bars(), pascalBar), term("air", now.Air.Bars(), pascalBar))
	s.Out("gauge_worse_bar", worst.Gauge.Bars(), "{carbon dioxide, more careful relation} + {air} - 1.01325", term("carbon dioxide, more careful relation", worst.CO2.Bars(), pascalBar), term("air", worst.Air.Bars(), pascalBar))
	if err := s.sugarWithin(bottle, contents, at); err != nil {
		return err
	}
	s.OutText("judgement", forecast.Hazard.String())
	s.pressureCautions(forecast, contents, now)
	return nil
}

// sugarWithin says how much sugar the bottle could bear.
func (s *Sheet) sugarWithin(b gas.Bottle, c gas.Contents, at quantity.Temperature) error {
	sugar, err := gas.SugarWithin(quantity.Atmosphere, b, c, at)
	if err != nil {
		return err
	}
	s.OutSolved("sugar_for_one_atm_g_l", sugar.GPerL(), "the most sugar at which the gauge, by the more careful relation, stays at 1 atm", s.term("malic_g_l"), s.term("dissolved_co2_g_l"))
	return nil
}

func (s *Sheet) pressureCautions(f gas.Forecast, c gas.Contents, now gas.Pressed) {
	switch f.Hazard {
	case gas.Danger:
		s.Caution("danger")
	case gas.Caution:
		s.Caution("corks-move")
	}
	if now.Dissolved.GPerL() > 1.4 {
		s.Caution("cork-saturation")
	}
	if c.Sugar > 0 || c.Malic > 0 {
		s.Caution("if-it-ferments")
	}
	if c.CO2().GPerL() > 3.92 {
		s.Caution("law-still")
	}
}
