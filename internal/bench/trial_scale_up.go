package bench

import "elevage/science/cited"

var _ = declare(Calculator{
	Name:     "trial-scale-up",
	Title:    "From the bench trial to the lot",
	Purpose:  "the dose that a trial glass held, and what that is for the lot",
	Question: HowMuch,
	Inputs: []Input{
		{Key: "trial_stock_pct", Label: "stock used in the trial, grams in 100 mL", Min: 0.0001, Max: 60, Required: true, Exact: true, Help: "weight in volume"},
		{Key: "trial_stock_ml", Label: "stock put into the glass", Unit: millilitre, Min: 0.01, Max: 1000, Required: true},
		{Key: "trial_ml", Label: "wine in the glass", Unit: millilitre, Min: 1, Max: 10000, Default: "100"},
		{Key: "made_up", Label: "the glass was made up to that volume", Kind: YesNo, Default: "no", Help: "yes: stock and wine together are it; no: the stock came on top"},
		inVolume(wineNotVessel),
		{Key: "lot_stock_pct", Label: "stock for the lot, grams in 100 mL", Min: 0.01, Max: 60, Exact: true, Help: "left out: the powder is weighed"},
	},
	Outputs: []Output{
		{Key: "dose_g_hl", Label: "dose of the glass", Unit: gPerHL, Decimals: 2},
		{Key: "dose_mg_l", Label: "the same", Unit: mgPerL, Decimals: 1},
		{Key: "lot_g", Label: "for the lot", Unit: gram, Decimals: 2},
		{Key: "lot_stock_ml", Label: "as solution", Unit: millilitre, Decimals: 1, Optional: true},
		{Key: "water_pct", Label: "water it brings", Unit: percent, Decimals: 2, Optional: true},
	},
	Cautions: []Warning{
		{Code: "mix-alike", When: "always", Mark: cited.Read, Ref: "Weiss, Lange, Bisson 2001, Am J Enol Vitic 52:275, abstract",
			Text: "The trial must copy the cellar: bentonite mixed hard in the laboratory left a third of the haze of slow stirring, and so understates the need."},
		{Code: "least-that-works", When: "always", Mark: cited.CommonPractice, Text: "Take the least dose that works, keep an untreated glass, and test the lot again afterwards."},
		{Code: "water-over-one", When: "over 1 % of the volume", Mark: cited.Read, Ref: "27 CFR 24.246(a)(2), 2015 edition", Text: "Brings more than 1 % water, the limit of United States law: make a stronger stock."},
		{Code: "coarse-glass", When: "under 0.1 mL into the glass", Mark: cited.CommonPractice, Text: "Under 0.1 mL into the glass was not measured well: an error there is the same error in the lot."},
	},
	Sources: []Source{
		{Used: "dose = stock × mL / wine; lot = dose × volume / 100", Mark: cited.Computed},
		{Ref: "Weiss, Lange, Bisson 2001, Am J Enol Vitic 52:275, abstract", Used: "trials depend on mixing", Mark: cited.Read},
	},
	Check:   Check{Against: "arithmetic worked by hand (0.1 mL of 10 % in 100 mL is 0.1 g/L; 5 % slurry at 50 g/hL is 1 % water); copper trial of Dharmadhikari, Iowa State University", Mark: cited.Computed},
	Example: []string{"trial_stock_pct=5", "trial_stock_ml=0.8", "trial_stock_ml_pm=0.05", "trial_ml=100", "volume_l=54", "lot_stock_pct=5"},
	Work:    workTrialScaleUp,
})

func workTrialScaleUp(s *Sheet) error {
	wine := s.Num("trial_ml")
	if s.Yes("made_up") {
		wine -= s.Num("trial_stock_ml")
		if wine <= 0 {
			s.Refuse("trial_stock_ml", "less than the glass holds, %s mL", tidy(s.Num("trial_ml")))
			return nil
		}
		s.Step("wine in the glass", wine, millilitre, 2, "{glass} - {stock put into the glass}", term("glass", s.Num("trial_ml"), millilitre), s.term("trial_stock_ml"))
	}
	dose := s.Num("trial_stock_pct") * s.Num("trial_stock_ml") * 1000 / wine
	s.Out("dose_g_hl", dose, "{grams in 100 mL} * {stock put into the glass} * 1000 / {wine in it}", term("grams in 100 mL", s.Num("trial_stock_pct"), plain), s.term("trial_stock_ml"), term("wine in it", wine, millilitre))
	d := term("dose", dose, gPerHL)
	s.Out("dose_mg_l", dose*10, "{dose} * 10", d)
	s.Out("lot_g", dose*s.Num("volume_l")/100, "{dose} * {volume} / 100", d, s.term("volume_l"))
	if s.Given("lot_stock_pct") {
		stock := term("grams in 100 mL of the lot's stock", s.Num("lot_stock_pct"), plain)
		s.Out("lot_stock_ml", dose*s.Num("volume_l")/s.Num("lot_stock_pct"), "{dose} * {volume} / {grams in 100 mL of the lot's stock}", d, s.term("volume_l"), stock)
		water := dose / s.Num("lot_stock_pct") / 10
		s.Out("water_pct", water, "{dose} / {grams in 100 mL of the lot's stock} / 10", d, stock)
		if water > 1+1e-9 {
			s.Caution("water-over-one")
		}
	}
	if s.Num("trial_stock_ml") < 0.1 {
		s.Caution("coarse-glass")
	}
	s.Caution("mix-alike")
	s.Caution("least-that-works")
	return nil
}
