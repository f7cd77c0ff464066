package bench

import (
	"math"

	"elevage/science/ageing"
	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/sulfite"
)

// closures are what a bottle is closed with, and the vessel that stands for them.
var closures = map[string]ageing.Vessel{"cork": ageing.CorkBottle, "screw-cap": ageing.ScrewCap, "synthetic": ageing.Synthetic}

// mostBottles is the share of bottles that the careful figure is to hold in.
const mostBottles = 0.8

var _ = declare(Calculator{
	Name:     "bottled-so2",
	Title:    "Sulfur dioxide for years in bottle",
	Purpose:  "what free SO2 a wine wants at the filler to be protected for some years under a closure, and how long what can be borne lasts",
	Question: HowMuch,
	Inputs: []Input{
		inPH(), inStrength("13"),
		{Key: "years", Label: "to be kept", Unit: year, Min: 0.1, Max: 30, Default: "5", Exact: true},
		{Key: "closure", Label: "closure", Kind: Option, Default: "cork", Options: []Choice{{"cork", "natural cork"}, {"screw-cap", "screw cap"}, {"synthetic", "synthetic"}}},
		{Key: "cellar_c", Label: "the bottles lie at", Unit: celsius, Min: 0, Max: 35, Default: "15"},
		{Key: "floor_mg_l", Label: "molecular SO2 to stay above", Unit: mgPerL, Min: 0.1, Max: 2, Default: "0.5", Exact: true, Help: "0.5 for reds, 0.8 for whites is usual (common practice, no source)"},
		{Key: "filling_loss_mg_l", Label: "free SO2 lost in filling", Unit: mgPerL, Min: 0, Max: 40, Default: "5", Help: "5 to 10 mg/L (AWRI)"},
	},
	Outputs: []Output{
		{Key: "floor_free_mg_l", Label: "free SO2 at the end", Unit: mgPerL, Decimals: 0},
		{Key: "lost_mg_l", Label: "lost by then, most likely", Unit: mgPerL, Decimals: 0},
		{Key: "bottled_mg_l", Label: "free SO2 in the closed bottle, most likely enough", Unit: mgPerL, Decimals: 0},
		{Key: "careful_mg_l", Label: "enough in four bottles of five", Unit: mgPerL, Decimals: 0},
		{Key: "at_filler_mg_l", Label: "free SO2 to have at the filler", Unit: mgPerL, Decimals: 0},
		{Key: "lasts_years", Label: "with 50 mg/L in the bottle it lasts about", Unit: year, Decimals: 1, Optional: true},
		{Key: "judgement", Label: "judged", Kind: Text},
	},
	Cautions: []Warning{
		{Code: "tasted", When: "over 50 mg/L free in the bottle", Mark: cited.CommonPractice,
			Text: "Free SO2 above about 50 mg/L is tasted and stings: drink it sooner, lower the pH, keep it cooler, or choose a tighter closure."},
		{Code: "closure-varies", When: "always", Mark: cited.Computed, Ref: "Vidal et al. 2017, OENO One 1618",
			Text: "Closures of one kind let in between a third and three times the middle: no figure holds for a single bottle."},
		{Code: "total-law", When: "always", Mark: cited.Read, Ref: "Reg. (EU) 2019/934, 27 CFR 4.22",
			Text: "Total SO2 is limited by law where wine is sold: measure it before the last dose."},
		cautionSO2Gas,
	},
	Sources: []Source{
		{Ref: "Pascal, Diéval and Vidal, about 100 bottled wines over two years", Used: "2.5 mg of SO2 lost for each mg of oxygen", Mark: cited.Read},
		{Ref: "Vidal et al. 2017, OENO One 1618; Lopes et al. 2006; Lopes 2015", Used: "oxygen through closures: cork 2.0, screw cap 1.0, synthetic 4.0 mg/L a year at 15 °C", Mark: cited.Computed},
		{Ref: "AWRI, Packaging FAQ", Used: "5 to 10 mg/L of free SO2 lost in filling", Mark: cited.Read},
		{Used: "warmth: a factor of 1.5 for 10 °C, between sources that conflict (1.26 to 3); the loss slows as free SO2 runs low, on a scale of 12 mg/L", Mark: cited.Proposal},
	},
	Check:   Check{Against: "arithmetic by hand from the figures of the sources", Mark: cited.Computed},
	Example: []string{"ph=3.5", "years=5", "closure=cork"},
	Notes: "Loss in bottle = oxygen let in × 2.5 × warmth, at 25 mg/L free; it slows below and quickens above. The careful figure takes the closure's, the oxygen's and the warmth's " +
		"uncertainty together. Young bottles lose more in their first weeks than this says; what filling takes up is in the loss at filling.",
	Work: workBottledSO2,
})

func workBottledSO2(s *Sheet) error {
	rule := sulfite.Handbook
	share, err := rule.Share(sulfite.Wine{PH: s.PH("ph"), Alcohol: s.Strength("abv_pct"), Temperature: 20})
	if err != nil {
		return err
	}
	floor := s.Num("floor_mg_l")
	end := floor / share.Fraction
	s.Out("floor_free_mg_l", end, "{molecular SO2 to stay above} / {molecular share}", s.term("floor_mg_l"), constant("molecular share", share.Fraction, plain, "handbook constant 1.81"))
	let := ageing.Ingress(closures[s.Choice("closure")], 0.75)
	warm := ageing.TemperatureFactor(ageing.Q10.Location, s.Temperature("cellar_c"))
	yearly := let.Location * ageing.PerOxygen.Location * warm
	demand := yearly * s.Num("years")
	s.Step("free SO2 lost in a year, at 25 mg/L", yearly, mgPerL, 1, "{oxygen let in} * {SO2 for oxygen} * {warmth}", constant("oxygen let in", let.Location, plain, "by closure"),
		constant("SO2 for oxygen", ageing.PerOxygen.Location, plain, "Pascal, Diéval and Vidal"), term("warmth", warm, plain))
	k := ageing.Holding.Location
	want := func(demand float64) float64 { return ageing.Deplete(end, -demand, k) }
	bottled := want(demand)
	s.OutSolved("lost_mg_l", bottled-end, "what those years take, quicker above 25 mg/L and slower below", term("years", s.Num("years"), year))
	s.OutSolved("bottled_mg_l", bottled, "the free SO2 that is at the floor after those years")
	// Closure, stoichiometry and warmth are each uncertain by a factor: log-normal together.
	warmer := ageing.Q10.Spread * math.Abs(float64(s.Temperature("cellar_c")-ageing.ReferenceTemperature)) / 10
	spread := math.Sqrt(let.Spread*let.Spread + math.Pow(ageing.PerOxygen.Spread/ageing.PerOxygen.Location, 2) + warmer*warmer)
	careful := want(demand * math.Exp(bayes.NormalQuantile(mostBottles)*spread))
	s.OutSolved("careful_mg_l", careful, "the same for the loss that four closures of five stay under", term("its spread, as a factor", math.Exp(spread), plain))
	s.Out("at_filler_mg_l", bottled+s.Num("filling_loss_mg_l"), "{in the closed bottle} + {free SO2 lost in filling}", term("in the closed bottle", bottled, mgPerL), s.term("filling_loss_mg_l"))
	s.judgeBottled(bottled, end, yearly, k)
	return nil
}

// tastedFree is the free SO2 from which it is tasted, mg/L (common practice, no source).
const tastedFree = 50

func (s *Sheet) judgeBottled(bottled, end, yearly, k float64) {
	lasts := 0.0
	if end < tastedFree {
		// Deplete(50, d) = end solved for d: the demand is additive.
		c := -math.Expm1(-ageing.TypicalFree / k)
		lasts = c * k * math.Log(math.Expm1(tastedFree/k)/math.Expm1(end/k)) / yearly
		s.OutSolved("lasts_years", lasts, "the years after which 50 mg/L have fallen to the floor")
	}
	switch {
	case end >= tastedFree:
		s.OutText("judgement", "at this pH the floor alone asks for more free SO2 than can be tasted away: lower the pH or drink it young")
	case bottled > tastedFree:
		s.OutText("judgement", "not to be had without tasting it: keep it for "+fixed(lasts, 1)+" years at most, or cooler, or under a tighter closure")
	default:
		s.OutText("judgement", "can be done")
	}
	if bottled > tastedFree || end >= tastedFree {
		s.Caution("tasted")
	}
	s.Caution("closure-varies")
	s.Caution("total-law")
	s.Caution("so2-gas")
}
