package bench

import "elevage/science/cited"

var _ = declare(Calculator{
	Name:     "enzymatic-malic",
	Title:    "Malic acid from absorbances",
	Purpose:  "L-malic acid from the two absorbances of an enzymatic test, and what the spectrometer's noise makes of it",
	Question: Measured,
	Inputs: []Input{
		absorbance("a1_sample", "sample before the enzyme", true), absorbance("a2_sample", "sample after the enzyme", true),
		absorbance("a1_blank", "blank before the enzyme", false), absorbance("a2_blank", "blank after the enzyme", false),
		{Key: "final_ml", Label: "final volume in the cuvette", Unit: millilitre, Min: 0.1, Max: 20, Default: "2.22", Help: "as the method or kit says; 2.22 in the OIV method"},
		{Key: "sample_ml", Label: "sample in it", Unit: millilitre, Min: 0.001, Max: 5, Default: "0.1"},
		{Key: "path_cm", Label: "light path", Unit: centimetre, Min: 0.1, Max: 10, Default: "1", Exact: true},
		{Key: "dilution", Label: "dilution of the wine", Min: 1, Max: 1000, Default: "1", Exact: true, Help: "10 for 1 mL made up to 10 mL"},
		{Key: "wavelength", Label: "wavelength", Kind: Option, Default: "340", Options: []Choice{{"340", "340 nm"}, {"334", "334 nm"}, {"365", "365 nm"}}},
	},
	Outputs: []Output{
		{Key: "malic_g_l", Label: "L-malic acid", Unit: gPerL, Decimals: 3},
		{Key: "delta_a", Label: "rise of the absorbance, sample less blank", Decimals: 3},
		{Key: "repeatability_g_l", Label: "spread between repeats in one laboratory (SD)", Unit: gPerL, Decimals: 3},
		{Key: "between_g_l", Label: "spread between laboratories (SD)", Unit: gPerL, Decimals: 3},
	},
	Cautions: []Warning{
		{Code: "over-range", When: "over 0.35 g/L in the cuvette's sample", Mark: cited.Read, Ref: "OIV-MA-AS313-11, R2009, section 4",
			Text: "More L-malic acid than the test is meant for (30 to 350 mg/L in the sample put in): dilute and repeat."},
		{Code: "under-range", When: "under 0.03 g/L in the cuvette's sample", Mark: cited.Read, Ref: "OIV-MA-AS313-11, R2009, section 4",
			Text: "Under 30 mg/L: take more sample (up to 1 mL, less water) and repeat."},
		{Code: "negative", When: "the rise is negative", Mark: cited.CommonPractice, Text: "The absorbance fell: the readings are swapped, or the blank is off. Shown as it comes out."},
		{Code: "small-winery", When: "always", Mark: cited.Read, Ref: "Winemakers Research Exchange 2020, summary",
			Text: "In three small wineries kit and strip read low at 2.5 g/L and high below 0.05 g/L: run a standard beside it."},
		{Code: "finished", When: "under 0.1 g/L", Mark: cited.Memory,
			Text: "Under 0.1 g/L is the common limit for finished, 0.03 g/L the cautious one."},
	},
	Sources: []Source{
		{Ref: "OIV-MA-AS313-11, R2009 (French copy, procedure read)", Used: "volumes 2.22 and 0.10 mL, range 30 to 350 mg/L", Mark: cited.Read},
		{Ref: "OIV-MA-AS313-11", Used: "C = V·M/(ε·d·v·1000)·ΔA with ε 6.3, 6.18, 3.4 at 340, 334, 365 nm; r = 0.03 + 0.034 x, R = 0.05 + 0.071 x", Mark: cited.Memory},
		{Used: "M = 134.087 by atomic weights; one NADH for one malate", Mark: cited.Computed},
	},
	Check:   Check{Against: "the method's own factor 0.473 per unit of absorbance at 340 nm (recalled, borne out by its volumes)", Mark: cited.Memory},
	Example: []string{"a1_sample=0.305", "a2_sample=0.612", "a1_blank=0.290", "a2_blank=0.298", "dilution=10", "a2_sample_pm=0.005"},
	Work:    workEnzymaticMalic,
})

func absorbance(key, label string, needed bool) Input {
	in := Input{Key: key, Label: label, Min: -0.5, Max: 4, Required: needed, Help: "absorbance"}
	if !needed {
		in.Default = "0"
	}
	return in
}

// nadh is the molar absorption of NADH, L/(mmol·cm), by wavelength (from memory).
var nadh = map[string]float64{"340": 6.3, "334": 6.18, "365": 3.4}

func workEnzymaticMalic(s *Sheet) error {
	const molar = 134.087
	delta := (s.Num("a2_sample") - s.Num("a1_sample")) - (s.Num("a2_blank") - s.Num("a1_blank"))
	s.Out("delta_a", delta, "({sample after the enzyme} - {sample before the enzyme}) - ({blank after the enzyme} - {blank before the enzyme})",
		s.term("a2_sample"), s.term("a1_sample"), s.term("a2_blank"), s.term("a1_blank"))
	epsilon := nadh[s.Choice("wavelength")]
	inCuvette := s.Num("final_ml") * molar / (epsilon * s.Num("path_cm") * s.Num("sample_ml") * 1000) * delta
	malic := inCuvette * s.Num("dilution")
	s.Out("malic_g_l", malic, "{final volume in the cuvette} * {molar mass} / ({absorption of NADH} * {light path} * {sample in it} * 1000) * {rise} * {dilution of the wine}",
		s.term("final_ml"), term("molar mass", molar, plain), constant("absorption of NADH", epsilon, plain, "L/(mmol·cm), from memory"),
		s.term("path_cm"), s.term("sample_ml"), term("rise", delta, plain), s.term("dilution"))
	size := max(0, malic)
	s.Out("repeatability_g_l", (0.03+0.034*size)/2.83, "(0.03 + 0.034 * {malic}) / 2.83", term("malic", size, gPerL))
	s.Out("between_g_l", (0.05+0.071*size)/2.83, "(0.05 + 0.071 * {malic}) / 2.83", term("malic", size, gPerL))
	switch {
	case delta < 0:
		s.Caution("negative")
	case inCuvette > 0.35:
		s.Caution("over-range", "%s g/L in the sample put in.", fixed(inCuvette, 2))
	case inCuvette < 0.03:
		s.Caution("under-range")
	}
	if malic < 0.1 {
		s.Caution("finished")
	}
	s.Caution("small-winery")
	return nil
}
