package bench

import (
	"errors"

	"elevage/internal/fault"
	"elevage/science/cited"
	"elevage/science/gas"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "sweetening",
	Title:    "Sweetening",
	Purpose:  "sugar for a sweetness, what it thins, and what the bottle comes to if it ferments again",
	Question: HowMuch,
	Inputs: []Input{
		inVolume(wineNotVessel),
		{Key: "sugar_now_g_l", Label: "sugar now", Unit: gPerL, Min: 0, Max: 300, Default: "0", Fill: LotSugar},
		{Key: "target_g_l", Label: "sugar wanted", Unit: gPerL, Min: 0, Max: 300, Required: true, Exact: true},
		{Key: "sweetener", Label: "sweetened with", Kind: Option, Default: "sucrose", Options: []Choice{
			{"sucrose", "sucrose"}, {"grape-sugar", "grape sugar, dry"}, {"concentrate", "grape concentrate"}, {"juice", "juice kept back"}}},
		{Key: "sweetener_g_l", Label: "sugar in the concentrate or juice", Unit: gPerL, Min: 50, Max: 1200, Exact: true},
		inStrength("12"),
		{Key: "protection", Label: "kept from fermenting by", Kind: Option, Default: "none", Options: []Choice{
			{"none", "nothing: unfiltered, may hold live yeast"}, {"sterile", "sterile filtration and SO2"}, {"sorbate", "sorbate and SO2, no lactic bacteria"}, {"fortified", "fortified to 17 % vol or more"}, {"drunk-soon", "kept cold and drunk within days"}}},
		stateOfMalolactic(), inPlace(),
		{Key: "warm_c", Label: "warmest the bottles will get", Unit: celsius, Min: 0, Max: 35, Default: "25", Exact: true},
	},
	Outputs: []Output{
		{Key: "sugar_g", Label: "sugar to add", Unit: gram, Decimals: 0},
		{Key: "sweetener_l", Label: "concentrate or juice", Unit: litre, Decimals: 2, Optional: true},
		{Key: "volume_after_l", Label: "volume after", Unit: litre, Decimals: 2},
		{Key: "abv_after_pct", Label: "alcohol after", Unit: percentVol, Decimals: 2},
		{Key: "oiv_term", Label: "by the OIV's terms", Kind: Text},
		{Key: "gauge_if_bar", Label: "gauge pressure if it ferments in the bottle", Unit: pascalBar, Decimals: 1, Optional: true},
		{Key: "alcohol_if_pct", Label: "and alcohol it would have", Unit: percentVol, Decimals: 1},
	},
	Cautions: []Warning{
		{Code: "bottles-burst", When: "it would pass 1.5 atm gauge", Mark: cited.Proposal,
			Text: "If this ferments in the bottle, bottles may burst: still-wine glass is rated for no pressure. One live cell is enough; sterile means tested."},
		{Code: "hold-back", When: "always", Mark: cited.CommonPractice, Text: "Try it on 100 mL, then hold the sweetened wine two weeks warm in a loosely closed vessel and look for gas before bottling."},
		{Code: "sucrose-inverts", When: "sucrose", Mark: cited.CommonPractice, Text: "Sucrose splits slowly into glucose and fructose in wine, tastes sweeter then, and 1 g counts 1.05 g of them."},
		{Code: "sorbate-bacteria", When: "sorbate", Mark: cited.Memory, Text: "Sorbate with lactic bacteria becomes geranium taint."},
		{Code: "beyond-balance", When: "more gas than can be reckoned", Mark: cited.Computed, Text: "So much sugar makes more gas than can be reckoned here (over 16 g/L): far beyond what any bottle bears."},
	},
	Stops: []Warning{
		{Code: "live-yeast", When: "no protection is stated and sugar is added", Mark: cited.CommonPractice,
			Text: "An unfiltered wine may hold live yeast: sweetened, it ferments again in the bottle. Filter sterile, stabilise, fortify, or drink it soon."},
		{Code: "sorbate-lactic", When: "protected by sorbate where malolactic is not blocked", Mark: cited.Memory,
			Text: "Sorbate where lactic bacteria may live: geranium taint, no remedy."},
		{Code: "over-us-solids", When: "place is us and over 21 % solids (17 % over 14 % vol)", Mark: cited.Read, Ref: "27 CFR 24.179, 2015 edition",
			Text: "United States law: sweetening to at most 21 % solids by weight up to 14 % vol, 17 % above (25 g/L other solids taken)."},
	},
	Sources: []Source{
		{Used: "balance of sugar and volume; sucrose adds 0.62 mL a gram", Mark: cited.Computed},
		{Ref: "OIV labelling standard 3.1.6", Used: "dry to 4 g/L, medium dry to 12, mellow to 45, sweet above (acidity may widen the first two)", Mark: cited.Read},
		{Ref: "27 CFR 24.179 (2015)", Used: "21 and 17 % solids", Mark: cited.Read},
		{Used: "pressure as the calculator bottle-pressure has it", Mark: cited.Computed},
	},
	Check:   Check{Against: "balances worked by hand; pressure by Reg. (EEC) 2676/90; volume of dissolved sugar by 27 CFR 24.304 within 0.5 %, OIV terms", Mark: cited.Computed},
	Example: []string{"volume_l=23", "sugar_now_g_l=1", "target_g_l=12", "abv_pct=12.5", "protection=sterile"},
	Work:    workSweetening,
})

// sugarVolume is the litres that a gram of dry sugar adds when dissolved (SPS-4,
// 18 to 24 Brix; 27 CFR 24.304 counts 0.000618).
const sugarVolume = 0.00062

func workSweetening(s *Sheet) error {
	volume, now, target := s.Num("volume_l"), s.Num("sugar_now_g_l"), s.Num("target_g_l")
	if target < now {
		s.Refuse("target_g_l", "at least the sugar there is, %s g/L", tidy(now))
		return nil
	}
	wet := s.Choice("sweetener") == "concentrate" || s.Choice("sweetener") == "juice"
	perGram, how := sugarVolume, constant("litres a gram takes", sugarVolume, plain, "ICUMSA SPS-4")
	if wet {
		if !s.Given("sweetener_g_l") || s.Num("sweetener_g_l") <= target {
			s.Refuse("sweetener_g_l", "its sugar, more than %s g/L", tidy(target))
			return nil
		}
		perGram = 1 / s.Num("sweetener_g_l")
		how = constant("litres a gram takes", perGram, plain, "1 / sugar in it")
	}
	sugar := volume * (target - now) / (1 - target*perGram)
	s.Out("sugar_g", sugar, "{volume} * ({sugar wanted} - {sugar now}) / (1 - {sugar wanted} * {litres a gram takes})", s.term("volume_l"), s.term("target_g_l"), s.term("sugar_now_g_l"), how)
	if wet {
		s.Out("sweetener_l", sugar*perGram, "{sugar} / {sugar in it}", term("sugar", sugar, gram), term("sugar in it", s.Num("sweetener_g_l"), gPerL))
	}
	after := volume + sugar*perGram
	s.Out("volume_after_l", after, "{volume} + {sugar} * {litres a gram takes}", s.term("volume_l"), term("sugar", sugar, gram), how)
	alcohol := s.Num("abv_pct") * volume / after
	s.Out("abv_after_pct", alcohol, "{alcohol} * {volume} / {volume after}", s.term("abv_pct"), s.term("volume_l"), term("volume after", after, litre))
	s.OutText("oiv_term", oivTerm(target))
	s.Out("alcohol_if_pct", alcohol+target/16.83, "{alcohol after} + {sugar wanted} / 16.83", term("alcohol after", alcohol, percentVol), s.term("target_g_l"))
	if err := s.ifItFerments(target, alcohol); err != nil {
		return err
	}
	s.sweeteningNotices(target-now, target, alcohol)
	return nil
}

// oivTerm is the sweetness in the OIV's words, by sugar alone.
func oivTerm(sugar float64) string {
	switch {
	case sugar <= 4:
		return "dry (up to 4 g/L; up to 9 where the acidity is within 2 g/L of it)"
	case sugar <= 12:
		return "medium dry (up to 12 g/L; up to 18 where the acidity allows)"
	case sugar < 45:
		return "mellow"
	}
	return "sweet (45 g/L or more)"
}

// ifItFerments is the pressure of a common bottle in which all the sugar goes.
func (s *Sheet) ifItFerments(sugar, alcohol float64) error {
	contents := gas.Contents{Alcohol: quantity.Strength(alcohol), Dissolved: quantity.GramPerLitre, Sugar: quantity.Concentration(sugar), Extract: 25 * quantity.GramPerLitre}
	f, err := gas.ForecastBottle(gas.Filled, contents, s.Temperature("warm_c"))
	var outside *quantity.RangeError
	var brimFull *gas.BrimFullError
	switch {
	case errors.As(err, &brimFull):
		s.refusals = append(s.refusals, fault.Field{Name: "warm_c", Given: tidy(s.Num("warm_c")), Allowed: "a temperature at which some headspace is left", Hint: err.Error()})
		return nil
	case errors.As(err, &outside):
		s.Caution("beyond-balance")
		s.Caution("bottles-burst")
		return nil
	case err != nil:
		return err
	}
	s.OutSolved("gauge_if_bar", f.Worst().Gauge.Bars(), "750 mL bottle with 15 mL headspace closed at 20 °C, 1 g/L carbon dioxide at filling, all the sugar fermented, the more careful of two relations",
		s.term("target_g_l"), s.term("warm_c"))
	if f.Hazard == gas.Danger {
		s.Caution("bottles-burst")
	}
	return nil
}

func (s *Sheet) sweeteningNotices(added, target, alcohol float64) {
	switch s.Choice("protection") {
	case "none":
		if added > 0 {
			s.Stop("live-yeast")
		}
	case "sorbate":
		s.Caution("sorbate-bacteria")
		if s.Choice("malolactic") != "blocked" {
			s.Stop("sorbate-lactic")
		}
	}
	if s.Choice("place") == "us" {
		limit := 21.0
		if alcohol > 14 {
			limit = 17
		}
		if solids := (target + 25) / 10 / 1.05; solids > limit { // 25 g/L of the wine's own; density near 1.05 at the limit
			s.Stop("over-us-solids", "About %s %%.", fixed(solids, 1))
		}
	}
	if s.Choice("sweetener") == "sucrose" {
		s.Caution("sucrose-inverts")
	}
	s.Caution("hold-back")
}
