package bench

import (
	"fmt"

	"elevage/science/cited"
)

// A finingAgent is what is known of one agent: the range of doses in use, the
// limits of law, and what a label or a guest must be told.
type finingAgent struct {
	value, label string
	low, high    float64 // g/hL
	use          string
	ref          string
	mark         cited.Mark
	usMax, euMax float64 // g/hL, 0 for no numeric limit
	allergen     string
	stock        float64 // usual stock, g in 100 mL
}

// finingAgents after the companion table of fining doses: Marchal and Jeandet 2009
// p. 146; Natural Food Additives (2012) Table 16.18; Marchal et al. 2002; limits
// 27 CFR 24.246 (2015) and Reg. (EC) 643/2006.
var finingAgents = []finingAgent{
	{"bentonite", "bentonite", 25, 150, "white: protein haze", "", cited.Memory, 0, 0, "", 5},
	{"gelatin-red", "gelatin, red wine", 3, 10, "red: tannin", "Natural Food Additives, Ingredients and Flavourings (2012), Table 16.18", cited.Read, 0, 0, "", 1},
	{"gelatin-white", "gelatin, white wine", 1.5, 15, "white: tannin; with silica sol or tannin, else it stays in solution", "Natural Food Additives (2012), Table 16.18; Marchal, Jeandet 2009, p. 136", cited.Read, 0, 0, "", 1},
	{"isinglass", "isinglass", 1, 3, "white: polish", "Marchal, Jeandet 2009, p. 146", cited.Read, 0, 0, "fish", 1},
	{"casein", "casein or potassium caseinate", 10, 30, "white: browning", "Marchal, Jeandet 2009, p. 146", cited.Read, 0, 0, "milk", 5},
	{"pvpp", "PVPP", 10, 80, "bitterness, pinking", "", cited.Memory, 719, 80, "", 10},
	{"carbon", "activated carbon", 10, 50, "colour, taint", "Marchal, Jeandet 2009, p. 146", cited.Read, 300, 100, "", 5},
	{"plant-protein", "plant protein", 20, 40, "must and wine", "Marchal et al. 2002, Am J Enol Vitic 53:308; OIV code II.2.1.17", cited.Read, 0, 50, "wheat, if made of gluten", 5},
	{"tannin", "tannin, red must", 10, 50, "colour and structure", "", cited.Memory, 0, 0, "", 10},
	{"other", "another agent, as its label says", 0.1, 200, "", "", cited.CommonPractice, 0, 0, "", 5},
}

var _ = declare(Calculator{
	Name:     "fining-dose",
	Title:    "Fining dose",
	Purpose:  "grams and slurry of a fining agent for a lot, held against what is in use and the law",
	Question: HowMuch,
	Inputs: []Input{
		{Key: "agent", Label: "agent", Kind: Option, Default: "bentonite", Options: finingOptions()},
		{Key: "dose_g_hl", Label: "dose", Unit: gPerHL, Min: 0.05, Max: 5000, Required: true, Help: "the least that worked in your trial"},
		inVolume(wineNotVessel),
		{Key: "slurry_pct", Label: "slurry, grams in 100 mL", Min: 0.1, Max: 30, Exact: true, Help: "weight in volume; left out: the usual for the agent"},
		inPlace(),
	},
	Outputs: []Output{
		{Key: "agent_g", Label: "agent", Unit: gram, Decimals: 2},
		{Key: "slurry_ml", Label: "as slurry", Unit: millilitre, Decimals: 1},
		{Key: "water_pct", Label: "water it brings", Unit: percent, Decimals: 2},
		{Key: "in_use", Label: "in use", Kind: Text},
		{Key: "lees_l", Label: "wine lost in the lees, up to", Unit: litre, Decimals: 1, Optional: true},
	},
	Cautions: []Warning{
		cautionBenchTrial,
		{Code: "outside-use", When: "outside the doses in use", Mark: cited.CommonPractice, Text: "Outside the doses in use for this agent."},
		{Code: "allergen", When: "milk, fish, egg or wheat protein", Mark: cited.Read, Ref: "FSAI, Wine and allergens; OIV labelling standard",
			Text: "An allergen: tell guests; on a label egg and milk must stand where detectable (European Union), in the United States the declaration is voluntary but then for all of them."},
		{Code: "water-over-one", When: "over 1 % of the volume", Mark: cited.Read, Ref: "27 CFR 24.246(a)(2), 2015 edition", Text: "Brings more than 1 % water, the limit of United States law: make a thicker slurry."},
		{Code: "mix-alike", When: "always", Mark: cited.Read, Ref: "Weiss, Lange, Bisson 2001, Am J Enol Vitic 52:275, abstract", Text: "Mix in the cellar as the trial was mixed, no harder."},
		{Code: "carbon-strips", When: "activated carbon", Mark: cited.CommonPractice, Text: "Carbon takes flavour with the fault, and dust in the lungs: mask when weighing."},
	},
	Stops: []Warning{
		{Code: "over-limit", When: "over the legal limit of the place chosen (for own use: the higher one)", Mark: cited.Read, Ref: "27 CFR 24.246 (2015); Reg. (EC) 643/2006 annex; OIV code II.2.1.17; PVPP in the EU from memory", Text: "Over the legal limit for this agent."},
		{Code: "absurd", When: "ten times the upper end of what is in use", Mark: cited.Proposal, Text: "Ten times what is in use: a slip of the pen, or a unit mistaken?"},
	},
	Sources: []Source{
		{Ref: "Marchal, Jeandet 2009 (Wine Chemistry and Biochemistry, p. 136, 146); Natural Food Additives, Ingredients and Flavourings (2012), Table 16.18; Marchal et al. 2002", Used: "ranges of doses", Mark: cited.Read},
		{Used: "ranges for bentonite, PVPP and tannin", Mark: cited.Memory},
		{Ref: "27 CFR 24.246 (2015); Reg. (EC) 643/2006; OIV code II.2.1.17", Used: "limits", Mark: cited.Read},
		{Ref: "Wine Chemistry and Biochemistry 2009, section 6C.7", Used: "bentonite lees take 5 to 10 % of the wine", Mark: cited.Read},
	},
	Check:   Check{Against: "limits of 27 CFR 24.246 as printed; doses worked by hand", Mark: cited.Read},
	Example: []string{"agent=bentonite", "dose_g_hl=60", "volume_l=54", "slurry_pct=5"},
	Work:    workFiningDose,
})

func finingOptions() []Choice {
	options := make([]Choice, len(finingAgents))
	for i, a := range finingAgents {
		options[i] = Choice{a.value, a.label}
	}
	return options
}

func (s *Sheet) finingAgent() finingAgent {
	for _, a := range finingAgents {
		if a.value == s.Choice("agent") {
			return a
		}
	}
	return finingAgent{}
}

func workFiningDose(s *Sheet) error {
	agent, dose := s.finingAgent(), s.Num("dose_g_hl")
	slurry := agent.stock
	if s.Given("slurry_pct") {
		slurry = s.Num("slurry_pct")
	}
	s.Out("agent_g", dose*s.Num("volume_l")/100, "{dose} * {volume} / 100", s.term("dose_g_hl"), s.term("volume_l"))
	thick := term("grams in 100 mL", slurry, plain)
	s.Out("slurry_ml", dose*s.Num("volume_l")/slurry, "{dose} * {volume} / {grams in 100 mL}", s.term("dose_g_hl"), s.term("volume_l"), thick)
	water := dose / slurry / 10
	s.Out("water_pct", water, "{dose} / {grams in 100 mL} / 10", s.term("dose_g_hl"), thick)
	use := fmt.Sprintf("%s to %s g/hL (%s)", tidy(agent.low), tidy(agent.high), agent.mark)
	if agent.use != "" {
		use += ", " + agent.use
	}
	s.OutText("in_use", use)
	if agent.value == "bentonite" {
		s.Out("lees_l", s.Num("volume_l")*0.1, "{volume} * 0.1", s.term("volume_l"))
	}
	s.finingNotices(agent, dose, water)
	return nil
}

func (s *Sheet) finingNotices(agent finingAgent, dose, water float64) {
	limit := agent.usMax
	switch s.Choice("place") {
	case "eu":
		limit = agent.euMax
	case "none":
		limit = max(agent.usMax, agent.euMax)
	}
	switch {
	case limit > 0 && dose > limit+1e-9:
		s.Stop("over-limit", "%s g/hL, allowed %s.", tidy(dose), tidy(limit))
	case dose >= tenTimes*agent.high:
		s.Stop("absurd", "%s g/hL; in use are %s to %s.", tidy(dose), tidy(agent.low), tidy(agent.high))
	case dose < agent.low || dose > agent.high:
		s.Caution("outside-use", "In use are %s to %s g/hL.", tidy(agent.low), tidy(agent.high))
	}
	if agent.allergen != "" {
		s.Caution("allergen", "This one comes of %s.", agent.allergen)
	}
	if water > 1+1e-9 {
		s.Caution("water-over-one")
	}
	if agent.value == "carbon" {
		s.Caution("carbon-strips")
	}
	s.Caution("mix-alike")
	s.Caution("trial-first")
}
