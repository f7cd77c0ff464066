package bench

import "elevage/science/cited"

// Inputs that many calculators share. A calculator adjusts its copy where its
// own domain is narrower.

func inVolume(help string) Input {
	return Input{Key: "volume_l", Label: "volume", Unit: litre, Min: 0.01, Max: 1e6, Required: true, Fill: LotVolume, Help: help}
}

const wineNotVessel = "the wine that is in the vessel, not the vessel's nominal size"

func inPH() Input {
	return Input{Key: "ph", Label: "pH", Unit: ph, Min: 2.5, Max: 5, Required: true, Fill: LotPH,
		Help: "from a meter that was checked today"}
}

func inTA() Input {
	return Input{Key: "ta_g_l", Label: "titratable acidity", Unit: gPerL, Min: 1, Max: 30, Required: true, Fill: LotTA,
		Help: "as tartaric acid, titrated to the end point below; degas the sample first"}
}

func inEndpoint() Input {
	return Input{Key: "ta_endpoint_ph", Label: "end point of the titration", Unit: ph, Min: 6.5, Max: 9, Default: "8.2", Fill: LotTAEndpoint, Exact: true,
		Help: "8.2 (phenolphthalein, United States and Australia) or 7.0 (OIV, European Union)"}
}

func inStrength(fallback string) Input {
	return Input{Key: "abv_pct", Label: "alcohol", Unit: percentVol, Min: 0, Max: 20, Default: fallback, Fill: LotStrength}
}

func inTemperature() Input {
	return Input{Key: "temp_c", Label: "temperature", Unit: celsius, Min: 0, Max: 40, Default: "20", Fill: LotTemp}
}

func inMalic() Input {
	return Input{Key: "malic_g_l", Label: "malic acid", Unit: gPerL, Min: 0, Max: 15, Fill: LotMalic}
}

func inColour() Input {
	return Input{Key: "colour", Label: "colour", Kind: Option, Default: "red", Fill: LotColour,
		Options: []Choice{{"red", "red"}, {"white", "white"}, {"rose", "rosé"}}}
}

// stateOfMalolactic is what a dose must know about the bacteria.
func stateOfMalolactic() Input {
	return Input{Key: "malolactic", Label: "malolactic fermentation", Kind: Option, Default: "unknown", Fill: LotMalolactic,
		Options: []Choice{
			{"wanted", "wanted, not finished"}, {"finished", "finished"}, {"blocked", "not wanted"}, {"unknown", "not stated"},
		}}
}

// Cautions and stops that many calculators share.

var cautionSO2Gas = Warning{
	Code: "so2-gas", When: "any sulfur dioxide is added",
	Text: "Sulfite frees sulfur dioxide gas that irritates and can set off asthma: weigh and pour in moving air, powder into water and not the reverse, goggles and gloves; somebody with asthma leaves it to another. Short-term limit in air 5 ppm (NIOSH). Local rules decide.",
	Ref:  "NIOSH IDLH documentation 7446095, 1994", Mark: cited.Read,
}

var cautionCO2 = Warning{
	Code: "carbon-dioxide", When: "a ferment gives off gas indoors",
	Text: "Carbon dioxide gathers low in rooms, pits and tanks and kills without a smell. Air the room from the floor, use a carbon dioxide alarm (an oxygen meter or a candle is none), never lean into a vessel. Local rules decide.",
	Ref:  "29 CFR 1910.146 (2015) for confined spaces; NIOSH IDLH 124389, 1994", Mark: cited.Read,
}

var cautionCaustic = Warning{
	Code: "caustic", When: "a titration with lye",
	Text: "Sodium hydroxide burns eyes and skin: goggles and gloves, lye into water, no glass in the sink.",
	Mark: cited.CommonPractice,
}

var cautionRemeasure = Warning{
	Code: "measure-again", When: "always",
	Text: "Add in two parts, mix, and measure again before the second; the wine decides, not the sum.",
	Mark: cited.CommonPractice,
}

var cautionBenchTrial = Warning{
	Code: "trial-first", When: "always",
	Text: "Try it on 100 mL first, at more than one dose and beside a glass left alone; choose the least that works.",
	Mark: cited.CommonPractice,
}
