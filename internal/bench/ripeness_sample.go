package bench

import (
	"math"

	"elevage/science/cited"

	"gonum.org/v1/gonum/mathext"
)

var _ = declare(Calculator{
	Name:     "ripeness-sample",
	Title:    "Ripeness sampling",
	Purpose:  "the block's Brix with its uncertainty from replicate samples, sugar per berry, and how many samples are enough",
	Question: Measured,
	Inputs: []Input{
		{Key: "samples_brix", Label: "Brix of each replicate sample", Kind: List, Unit: brix, Min: 0, Max: 40, MinRows: 1, MaxRows: 60, Required: true},
		{Key: "known_sd", Label: "spread between samples of this block", Min: 0.05, Max: 5, Exact: true, Help: "Brix, SD learned from earlier duplicates; needed for one sample"},
		{Key: "wanted_brix", Label: "wanted within, either way", Unit: brix, Min: 0.1, Max: 3, Default: "0.5", Exact: true},
		{Key: "berries_g", Label: "weight of the counted berries", Unit: gram, Min: 1, Max: 100000},
		{Key: "berries", Label: "berries counted", Min: 10, Max: 100000, Exact: true, Help: "a count"},
	},
	Groups: []Group{{AllOrNone, []string{"berries_g", "berries"}}},
	Outputs: []Output{
		{Key: "brix", Label: "Brix of the block", Unit: brix, Decimals: 2},
		{Key: "standard_error_brix", Label: "standard error", Unit: brix, Decimals: 2, Optional: true},
		{Key: "low_brix", Label: "95 % not less than", Unit: brix, Decimals: 1, Optional: true},
		{Key: "high_brix", Label: "95 % not more than", Unit: brix, Decimals: 1, Optional: true},
		{Key: "samples_needed", Label: "samples for what is wanted", Decimals: 0, Optional: true},
		{Key: "berry_g", Label: "weight of a berry", Unit: gram, Decimals: 2, Optional: true},
		{Key: "sugar_per_berry_mg", Label: "sugar per berry", Unit: milligram, Decimals: 0, Optional: true},
	},
	Cautions: []Warning{
		{Code: "one-sample", When: "one sample without a known spread", Mark: cited.Memory, Text: "One sample says nothing of its own error: two of 100 berries are worth about ± 1 Brix, five ± 0.5."},
		{Code: "sample-well", When: "always", Mark: cited.Read, Ref: "eXtension, Collecting berry samples; Missouri State, How to sample grapes",
			Text: "At least 100 berries or 20 clusters, both sides of the row, no end vines or border rows, not after rain, same hour, blind: a hand that looks picks ripe ones. The bin can be 2 Brix lower than the sample."},
		{Code: "shrivel", When: "berries are weighed", Mark: cited.CommonPractice, Text: "Rising Brix with flat sugar per berry is drying out, not ripening."},
	},
	Sources: []Source{
		{Used: "standard error = SD/√n; 95 % by Student's t", Mark: cited.Computed},
		{Ref: "eXtension Grapes (Nail); Missouri State University; Virginia Tech Enology Notes 53", Used: "how to sample; sample and bin differ by up to 2 Brix", Mark: cited.Read},
		{Ref: "Winemakers Research Exchange, sugar per berry", Used: "Brix/100 × berry weight", Mark: cited.Read},
	},
	Check:   Check{Against: "Student's t of the printed tables (2.776 for four degrees of freedom); arithmetic by hand", Mark: cited.Computed},
	Example: []string{"samples_brix=22.4,23.1,22.8,23.6,22.9", "berries_g=168", "berries=120"},
	Work:    workRipenessSample,
})

func workRipenessSample(s *Sheet) error {
	mean, sd, n := meanSD(s.List("samples_brix"))
	s.OutSolved("brix", mean, "mean of the samples", term("samples", float64(n), plain))
	critical := 0.0
	switch {
	case s.Given("known_sd"):
		sd, critical = s.Num("known_sd"), 1.959963984540054
		s.Solved("spread between samples", sd, brix, 2, "as known of this block")
	case n >= 2:
		critical = student975(n - 1)
		s.Solved("spread between samples (SD)", sd, brix, 2, "standard deviation of the samples", term("samples", float64(n), plain))
		s.Solved("Student's t", critical, plain, 3, "95 %, both sides", term("degrees of freedom", float64(n-1), plain))
	default:
		s.Caution("one-sample")
	}
	if critical > 0 {
		count, spread, t := term("samples", float64(n), plain), term("spread", sd, brix), term("t", critical, plain)
		se := sd / math.Sqrt(float64(n))
		s.Out("standard_error_brix", se, "{spread} / sqrt({samples})", spread, count)
		s.Out("low_brix", mean-critical*se, "{mean} - {t} * {spread} / sqrt({samples})", term("mean", mean, brix), t, spread, count)
		s.Out("high_brix", mean+critical*se, "{mean} + {t} * {spread} / sqrt({samples})", term("mean", mean, brix), t, spread, count)
		s.OutSolved("samples_needed", samplesNeeded(sd, s.Num("wanted_brix")), "the fewest for which t·spread/√n is no more than wanted", spread, s.term("wanted_brix"))
	}
	if s.Given("berries") {
		berry := s.Num("berries_g") / s.Num("berries")
		s.Out("berry_g", berry, "{weight of the counted berries} / {berries counted}", s.term("berries_g"), s.term("berries"))
		s.Out("sugar_per_berry_mg", mean/100*berry*1000, "{Brix} / 100 * {weight of a berry} * 1000", term("Brix", mean, brix), term("weight of a berry", berry, gram))
		s.Caution("shrivel")
	}
	s.Caution("sample-well")
	return nil
}

// samplesNeeded is the fewest replicate samples whose 95 % bounds, with the
// spread as it showed, lie within the wanted distance.
func samplesNeeded(sd, within float64) float64 {
	for n := 2; n < 1000; n++ {
		t := student975(n - 1)
		if t*sd/math.Sqrt(float64(n)) <= within {
			return float64(n)
		}
	}
	return 1000
}

// student975 is the 97.5 % point of Student's t with so many degrees of freedom, by
// the incomplete beta function: P(|t| > x) = I(ν/(ν + x²); ν/2, 1/2).
func student975(freedom int) float64 {
	nu := float64(freedom)
	b := mathext.InvRegIncBeta(nu/2, 0.5, 0.05)
	return math.Sqrt(nu * (1 - b) / b)
}
