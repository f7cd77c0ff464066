package bench

import (
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

var _ = declare(Calculator{
	Name:     "so2-addition",
	Title:    "SO2 addition",
	Purpose:  "how much metabisulfite brings a wine to a molecular or a free SO2",
	Question: HowMuch,
	Inputs: []Input{
		inVolume(wineNotVessel),
		{Key: "free_so2_mg_l", Label: "free SO2 now", Unit: mgPerL, Min: 0, Max: 500, Required: true, Fill: LotFreeSO2},
		{Key: "target_molecular_mg_l", Label: "molecular SO2 wanted", Unit: mgPerL, Min: 0.01, Max: 5, Exact: true, Help: "0.5 to 0.6 for reds, 0.6 to 0.8 for whites (handbook rule)"},
		{Key: "target_free_mg_l", Label: "free SO2 wanted", Unit: mgPerL, Min: 0, Max: 1000, Usual: 60, Exact: true},
		{Key: "dose_mg_l", Label: "or SO2 to add, whatever there is", Unit: mgPerL, Min: 0, Max: 1000, Usual: 60, Exact: true, Help: "40 on sound red fruit, 60 on sound white; 60 once after malolactic"},
		{Key: "ph", Label: "pH", Unit: ph, Min: 2.5, Max: 5, Fill: LotPH, Help: "needed for a molecular aim"},
		inStrength("12"), inTemperature(), inMethod(),
		{Key: "product", Label: "product", Kind: Option, Default: "potassium-metabisulfite", Options: []Choice{
			{"potassium-metabisulfite", "potassium metabisulfite, powder"}, {"sodium-metabisulfite", "sodium metabisulfite, powder"},
			{"potassium-bisulfite", "potassium bisulfite, powder"},
			{"solution", "solution of potassium metabisulfite"}, {"tablets", "tablets of potassium metabisulfite"},
		}},
		{Key: "strength_pct", Label: "strength of the product", Unit: percent, Min: 20, Max: 100, Default: "100", Help: "100 is fresh and pure: 57.63 % SO2 for the potassium salt, 67.40 % for the sodium salt"},
		{Key: "opened_months", Label: "jar open for", Unit: month, Min: 0, Max: 240, Default: "0", Help: "takes 10 % a year off the strength, a rule of thumb; a titration of the jar is better", Exact: true},
		{Key: "solution_g_l", Label: "salt in a litre of solution", Unit: gPerL, Min: 1, Max: 450, Default: "100", Help: "100 for the usual 10 %, weighed and made up to a litre"},
		{Key: "tablet_so2_mg", Label: "SO2 from one tablet", Unit: milligram, Min: 10, Max: 10000, Help: "as the label says", Exact: true},
		{Key: "binding_pct", Label: "share of the added SO2 that binds", Unit: percent, Min: 0, Max: 95, Default: "0", Fill: LotBinding, Help: "after a first dose 40 to 60 is said, later less; learn it from the lot"},
		{Key: "allowance_mg_l", Label: "allowance on top", Unit: mgPerL, Min: 0, Max: 100, Default: "0", Help: "5 before bottling, for what filling costs", Exact: true},
		{Key: "total_so2_mg_l", Label: "total SO2 now", Unit: mgPerL, Min: 0, Max: 1000, Fill: LotTotalSO2, Help: "to hold the total against the law"},
		inColour(),
		{Key: "sugar_g_l", Label: "sugar left", Unit: gPerL, Min: 0, Max: 300, Default: "0", Fill: LotSugar, Help: "glucose and fructose; the law allows sweet wine more"},
		stateOfMalolactic(),
		{Key: "stage", Label: "this is", Kind: Option, Default: "wine", Fill: LotStage, Options: []Choice{
			{"wine", "wine"}, {"must", "must or juice, before alcoholic fermentation"}}},
		inSO2Place(),
	},
	Groups: []Group{{ExactlyOne, []string{"target_molecular_mg_l", "target_free_mg_l", "dose_mg_l"}}},
	Outputs: []Output{
		{Key: "product_g", Label: "weigh (dry salt)", Unit: gram, Decimals: 2, Optional: true},
		{Key: "product_ml", Label: "measure of the solution", Unit: millilitre, Decimals: 1, Optional: true},
		{Key: "tablets", Label: "tablets", Decimals: 1, Optional: true},
		{Key: "free_so2_wanted_mg_l", Label: "free SO2 wanted", Unit: mgPerL, Decimals: 1},
		{Key: "total_so2_added_mg_l", Label: "SO2 added", Unit: mgPerL, Decimals: 1, Usual: 60},
		{Key: "free_so2_after_mg_l", Label: "free SO2 after binding", Unit: mgPerL, Decimals: 1},
		{Key: "molecular_after_mg_l", Label: "molecular SO2 after binding", Unit: mgPerL, Decimals: 2, Optional: true},
		{Key: "total_so2_after_mg_l", Label: "total SO2 after", Unit: mgPerL, Decimals: 0, Optional: true},
		{Key: "potassium_added_mg_l", Label: "potassium added", Unit: mgPerL, Decimals: 0},
	},
	Cautions: []Warning{
		{Code: "binding-unknown", When: "no binding was given", Mark: cited.Memory,
			Text: "Nothing is taken to bind here. After a first dose 40 to 60 % binds: measure after two to three days and top up."},
		{Code: "measure-so2", When: "a binding was given", Mark: cited.CommonPractice,
			Text: "The share that binds is a guess until this lot has shown it: measure after two to three days and after two weeks."},
		{Code: "malolactic-unknown", When: "nothing is said of the malolactic fermentation", Mark: cited.CommonPractice,
			Text: "Sulfur dioxide ends a malolactic fermentation: be sure that it is over, or not wanted."},
		{Code: "must-then-malolactic", When: "over 50 mg/L into must where malolactic is not blocked", Mark: cited.Read, Ref: "AWRI, Ask the AWRI: malolactic fermentation issues explored",
			Text: "Over about 50 mg/L before alcoholic fermentation makes malolactic hard months later; over 70 it may not come at all."},
		{Code: "crush", When: "must", Mark: cited.CommonPractice,
			Text: "Sulfite while filling, so that it mixes; enzyme and yeast not in the same hour. Say in the ledger whether all the must or the liquid alone was reckoned."},
		{Code: "smelled", When: "molecular SO2 after is 2 mg/L or more", Mark: cited.Read, Ref: "Waterhouse, Sacks, Jeffery 2016, Understanding Wine Chemistry, table 17.1",
			Text: "Molecular SO2 is smelled from about 2 mg/L."},
		{Code: "wait-a-week", When: "malolactic has finished", Mark: cited.Read, Ref: "Jackowetz, Mira de Orduña 2012, abstract",
			Text: "About a week after the malic acid is gone the wine binds least, and less sulfite protects more; it stands unprotected meanwhile."},
		{Code: "high-ph", When: "a molecular aim at a pH over 3.7", Mark: cited.Proposal,
			Text: "Above pH 3.7 the aim may be out of reach: a lower pH, cold, filtration or early drinking are the other ways."},
		{Code: "over-nuisance", When: "free SO2 after is over 50 mg/L", Mark: cited.CommonPractice,
			Text: "Above about 50 mg/L free SO2 is noticed in the nose."},
		{Code: "small-weight", When: "under 2 g of powder", Mark: cited.CommonPractice,
			Text: "Under 2 g a 0.1 g scale is no use: make a 10 % solution and measure that."},
		{Code: "opened-jar", When: "the age of the jar was counted", Mark: cited.Memory,
			Text: "A tenth a year is only said of opened jars: titrate it, or buy fresh."},
		{Code: "no-total", When: "no total SO2 was given", Mark: cited.CommonPractice,
			Text: "Without the total the law can only be held against what is free now and what is added."},
		{Code: "over-eu", When: "own use, and the total passes the limit of the European Union", Mark: cited.Read, Ref: "Reg. (EU) 2019/934 annex I part B",
			Text: "This total would be over the limit of the European Union for such a wine."},
		cautionOneRule, cautionSO2Gas,
	},
	Stops: []Warning{
		{Code: "malolactic-wanted", When: "malolactic is wanted and not finished, in wine", Mark: cited.CommonPractice,
			Text: "Malolactic fermentation is wanted and not shown to be finished: sulfur dioxide given now ends it, and the malic acid left can ferment in the bottle."},
		{Code: "over-limit", When: "the total passes the limit of the place chosen (for own use: 350 mg/L)", Mark: cited.Read, Ref: "Reg. (EU) 2019/934; Reg. (EU) 203/2012; 27 CFR 4.22(b)(1), 2004 edition; others as declared",
			Text: "Sulfur dioxide would pass the legal limit."},
	},
	Sources: []Source{
		{Used: "SO2 per gram by molar mass: K2S2O5 0.5763, Na2S2O5 0.6740, KHSO3 0.5331", Mark: cited.Computed},
		{Used: "mass balance: free after × volume = free now × volume + (1 − binding) × SO2", Mark: cited.Computed},
		sourceOIVSO2, sourceHandbookSO2, sourceSO2Slope,
		{Ref: "Reg. (EU) 2019/934 annex I part B; Reg. (EU) 203/2012; 27 CFR 4.22(b)(1) (2004)", Used: "limits of total SO2; laws change, the authority decides", Mark: cited.Read},
		{Ref: "AWRI, Packaging FAQ", Used: "5 mg/L on top before bottling", Mark: cited.Read},
		{Ref: "AWRI, Avoidance of microbiological spoilage; University of Minnesota, Horton 2017", Used: "40 and 60 mg/L at crush; 60 mg/L once after malolactic", Mark: cited.Read},
		{Used: "40 to 60 % of a first dose stays free", Mark: cited.Memory},
	},
	Check:   Check{Against: "stoichiometry and mass balance worked by hand; OIV-MA-AS323-04C; limits of Reg. (EU) 2019/934 and 27 CFR 4.22", Mark: cited.Computed},
	Example: []string{"volume_l=23", "volume_l_pm=0.3", "ph=3.55", "ph_pm=0.04", "free_so2_mg_l=12", "free_so2_mg_l_pm=3", "total_so2_mg_l=40", "target_molecular_mg_l=0.6", "binding_pct=40", "colour=red", "malolactic=finished"},
	Work:    workSO2Addition,
})

func inSO2Place() Input {
	return Input{Key: "place", Label: "law to hold it against", Kind: Option, Default: "none", Fill: CellarPlace, Options: []Choice{
		{"none", "none: own use"}, {"us", "United States"}, {"eu", "European Union"}, {"eu-organic", "European Union, organic"},
		{"canada", "Canada"}, {"australia", "Australia and New Zealand"},
	}}
}

var so2Places = map[string]sulfite.Place{
	"us": sulfite.US, "eu": sulfite.EU, "eu-organic": sulfite.EUOrganic, "canada": sulfite.Canada, "australia": sulfite.Australia,
	"none": sulfite.US, // own use is bound by no limit; the highest general one is where it becomes absurd
}

// product makes the product that was chosen. Its salt's name is the label.
func (s *Sheet) product() (sulfite.Product, error) {
	strength := s.Num("strength_pct") / 100
	if s.Num("opened_months") > 0 {
		aged, err := sulfite.AgedStrength(strength, quantity.Days(s.Num("opened_months")*365.25/12), sulfite.OpenedLossPerYear)
		if err != nil {
			return sulfite.Product{}, err
		}
		s.Step("strength left", aged*100, percent, 1, "{strength} * (1 - {loss a year})^({months} / 12)",
			term("strength", strength*100, percent), constant("loss a year", sulfite.OpenedLossPerYear, plain, string(sulfite.OpenedLossSource.Mark)), term("months", s.Num("opened_months"), plain))
		strength = aged
		s.Caution("opened-jar")
	}
	switch s.Choice("product") {
	case "sodium-metabisulfite":
		return sulfite.Powder(sulfite.SodiumMetabisulfite, strength)
	case "potassium-bisulfite":
		return sulfite.Powder(sulfite.PotassiumBisulfite, strength)
	case "solution":
		return sulfite.StockSolution(sulfite.PotassiumMetabisulfite, s.Concentration("solution_g_l"), strength)
	case "tablets":
		if !s.Given("tablet_so2_mg") {
			s.Refuse("tablet_so2_mg", "the SO2 that one tablet gives, from its label")
			return sulfite.Product{}, nil
		}
		return sulfite.Tablets(sulfite.PotassiumMetabisulfite, s.Mass("tablet_so2_mg"), strength)
	}
	return sulfite.Powder(sulfite.PotassiumMetabisulfite, strength)
}

// wantedFree is the free SO2 aimed at, and the wine as the molecular share sees it.
func (s *Sheet) wantedFree() (quantity.Concentration, sulfite.Wine, error) {
	wine := sulfite.Wine{PH: s.PH("ph"), Alcohol: s.Strength("abv_pct"), Temperature: s.Temperature("temp_c")}
	allowance := s.Concentration("allowance_mg_l")
	if s.Given("dose_mg_l") {
		stays := (1 - s.Num("binding_pct")/100) * s.Num("dose_mg_l")
		wanted := s.Concentration("free_so2_mg_l") + quantity.Concentration(stays)*quantity.MilligramPerLitre
		s.Out("free_so2_wanted_mg_l", wanted.MgPerL(), "{free SO2 now} + (1 - {share of the added SO2 that binds} / 100) * {SO2 to add}",
			s.term("free_so2_mg_l"), s.term("binding_pct"), term("SO2 to add", s.Num("dose_mg_l"), mgPerL))
		return wanted, wine, nil
	}
	if s.Given("target_free_mg_l") {
		wanted := s.Concentration("target_free_mg_l") + allowance
		s.Out("free_so2_wanted_mg_l", wanted.MgPerL(), "{free SO2 wanted} + {allowance}", s.term("target_free_mg_l"), term("allowance", allowance.MgPerL(), mgPerL))
		return wanted, wine, nil
	}
	if !s.Given("ph") {
		s.Refuse("ph", "the wine's pH, which a molecular aim needs")
		return 0, wine, nil
	}
	rule := s.ruleOf("method")
	share, err := rule.Share(wine)
	if err != nil {
		return 0, wine, err
	}
	target, err := rule.Target(s.Concentration("target_molecular_mg_l"))
	if err != nil {
		return 0, wine, err
	}
	free, err := target.Free(wine)
	if err != nil {
		return 0, wine, err
	}
	s.Solved("constant of the molecular share", share.PK, plain, 3, rule.Label(), s.term("abv_pct"), s.term("temp_c"))
	s.Out("free_so2_wanted_mg_l", (free + allowance).MgPerL(), "{molecular SO2 wanted} * (1 + 10^({pH} - {pK})) + {allowance}",
		s.term("target_molecular_mg_l"), s.term("ph"), term("pK", share.PK, plain), term("allowance", allowance.MgPerL(), mgPerL))
	s.Caution("one-rule")
	if wine.PH > 3.7 {
		s.Caution("high-ph")
	}
	return free + allowance, wine, nil
}

func workSO2Addition(s *Sheet) error {
	product, err := s.product()
	if err != nil {
		return err
	}
	wanted, wine, err := s.wantedFree()
	if err != nil || s.Refused() {
		return err
	}
	addition := sulfite.Addition{
		Volume: s.Volume("volume_l"), FreeNow: s.Concentration("free_so2_mg_l"), TotalNow: s.Concentration("total_so2_mg_l"),
		FreeAfter: wanted, Binding: s.Num("binding_pct") / 100, Product: product,
	}
	if s.Given("total_so2_mg_l") && addition.TotalNow < addition.FreeNow {
		s.Refuse("total_so2_mg_l", "at least the free SO2, %s mg/L", tidy(addition.FreeNow.MgPerL()))
		return nil
	}
	dose, err := addition.Dose()
	if err != nil {
		return err
	}
	s.showDose(product, addition, dose)
	// What comes of it is reckoned for the amount taken: an error of the pH or of the
	// free SO2 does not change what was weighed.
	taken := product.Holding(quantity.Mass(s.Fix("SO2", dose.SO2.Grams())))
	if dose, err = addition.With(taken); err != nil {
		return err
	}
	s.Out("total_so2_added_mg_l", dose.Added.MgPerL(), "{SO2 set free} * 1000 / {volume}", term("SO2 set free", dose.SO2.Grams(), gram), s.term("volume_l"))
	s.Out("free_so2_after_mg_l", dose.Free.MgPerL(), "({free SO2 now} * {volume} + (1 - {share of the added SO2 that binds} / 100) * {SO2 set free} * 1000) / {volume after}",
		s.term("free_so2_mg_l"), s.term("volume_l"), s.term("binding_pct"), term("SO2 set free", dose.SO2.Grams(), gram), term("volume after", dose.Volume.Litres(), litre))
	if s.Given("ph") {
		share, err := s.ruleOf("method").Share(wine)
		if err != nil {
			return err
		}
		s.Out("molecular_after_mg_l", share.Fraction*dose.Free.MgPerL(), "{free SO2 after} / (1 + 10^({pH} - {pK}))",
			term("free SO2 after", dose.Free.MgPerL(), mgPerL), s.term("ph"), term("pK", share.PK, plain))
	}
	if dose.TotalKnown {
		s.Out("total_so2_after_mg_l", dose.Total.MgPerL(), "({total SO2 now} * {volume} + {SO2 set free} * 1000) / {volume after}",
			s.term("total_so2_mg_l"), s.term("volume_l"), term("SO2 set free", dose.SO2.Grams(), gram), term("volume after", dose.Volume.Litres(), litre))
	}
	s.OutSolved("potassium_added_mg_l", dose.Ions.Potassium.MgPerL(), "0.610 mg for each mg of SO2 from K2S2O5, 0.610 from KHSO3, none from the sodium salt")
	s.so2Notices(dose)
	return s.so2Law(addition, dose)
}

// showDose puts out what to weigh, measure or count.
func (s *Sheet) showDose(product sulfite.Product, a sulfite.Addition, dose sulfite.Dose) {
	free, wanted := term("free SO2 now", a.FreeNow.MgPerL(), mgPerL), term("free SO2 wanted", a.FreeAfter.MgPerL(), mgPerL)
	binds := term("share that binds", a.Binding, plain)
	volume := s.term("volume_l")
	perGram := constant("SO2 in a gram", product.Salt().SO2Fraction(), plain, "molar mass of "+product.Salt().Formula())
	strength := term("strength", product.Strength(), plain)
	switch s.Choice("product") {
	case "solution":
		grams := s.Num("solution_g_l")
		content := grams * product.Salt().SO2Fraction() * product.Strength()
		s.Step("SO2 in a millilitre of solution", content, Unit{Symbol: "mg"}, 2, "{salt in a litre} * {SO2 in a gram} * {strength}",
			term("salt in a litre", grams, gPerL), perGram, strength)
		s.Out("product_ml", dose.Take.Volume.Millilitres(),
			"max(0, {free SO2 wanted} - {free SO2 now}) * {volume} / ({mg SO2 in a mL} * (1 - {share that binds}) - {free SO2 wanted} / 1000)",
			wanted, free, volume, term("mg SO2 in a mL", content, plain), binds)
		s.Out("product_g", dose.Take.Volume.Litres()*grams, "{solution} / 1000 * {salt in a litre}", term("solution", dose.Take.Volume.Millilitres(), millilitre), term("salt in a litre", grams, gPerL))
	case "tablets":
		s.Out("tablets", dose.Take.Pieces, "max(0, {free SO2 wanted} - {free SO2 now}) * {volume} / (1 - {share that binds}) / {SO2 from one tablet} / {strength}",
			wanted, free, volume, binds, s.term("tablet_so2_mg"), strength)
	default:
		s.Out("product_g", dose.Take.Mass.Grams(), "max(0, {free SO2 wanted} - {free SO2 now}) * {volume} / (1 - {share that binds}) / 1000 / {SO2 in a gram} / {strength}",
			wanted, free, volume, binds, perGram, strength)
		if g := dose.Take.Mass.Grams(); g > 0 && g < 2 {
			s.Caution("small-weight")
		}
	}
}

func (s *Sheet) so2Notices(dose sulfite.Dose) {
	if s.Num("binding_pct") == 0 {
		after := func(binds float64) string {
			rise := (1 - binds) * dose.SO2.Per(dose.Volume).MgPerL()
			return fixed(s.Concentration("free_so2_mg_l").In(s.Volume("volume_l")).Per(dose.Volume).MgPerL()+rise, 0)
		}
		s.Caution("binding-unknown", "Then %s to %s mg/L free would be found.", after(sulfite.FirstBinding.High), after(sulfite.FirstBinding.Low))
	} else {
		s.Caution("measure-so2")
	}
	s.so2AndBacteria(dose)
	if dose.Free.MgPerL() > 50 && s.Choice("stage") == "wine" {
		s.Caution("over-nuisance")
	}
	if f := s.figures["molecular_after_mg_l"]; f != nil && f.num >= 2 && s.Choice("stage") == "wine" {
		s.Caution("smelled")
	}
	s.Caution("so2-gas")
}

// so2AndBacteria says what the dose does to a malolactic fermentation: in wine it
// ends one, in must it makes a later one hard.
func (s *Sheet) so2AndBacteria(dose sulfite.Dose) {
	state := s.Choice("malolactic")
	if s.Choice("stage") == "must" {
		if dose.Added.MgPerL() > 50 && state != "blocked" {
			s.Caution("must-then-malolactic")
		}
		s.Caution("crush")
		return
	}
	switch state {
	case "wanted":
		if dose.SO2 > 0 {
			s.Stop("malolactic-wanted")
		}
	case "unknown":
		s.Caution("malolactic-unknown")
	case "finished":
		s.Caution("wait-a-week")
	}
}

// so2Law holds the wine after the dose against the law of the place.
func (s *Sheet) so2Law(a sulfite.Addition, dose sulfite.Dose) error {
	finished := sulfite.Finished{Colour: sulfite.Red, Sugar: s.Concentration("sugar_g_l"), Free: dose.Free, Total: dose.Total}
	if s.Choice("colour") != "red" {
		finished.Colour = sulfite.WhiteOrRose
	}
	if !dose.TotalKnown {
		finished.Total = (a.FreeNow.In(a.Volume) + dose.SO2).Per(dose.Volume) // at least this much
		s.Caution("no-total")
	}
	if finished.Total.MgPerL() > 1000 { // past every law, and past what the law's table can be asked
		s.Stop("over-limit", "It would come to %s mg/L.", fixed(finished.Total.MgPerL(), 0))
		return nil
	}
	verdicts, err := sulfite.Lawful(so2Places[s.Choice("place")], finished)
	if err != nil {
		return err
	}
	for _, v := range verdicts {
		if v.Over {
			s.Stop("over-limit", "%s mg/L %s, allowed %s (%s, %s; %s, edition %s).", fixed(v.Found.MgPerL(), 0), v.Limit.Measure, tidy(v.Limit.Max.MgPerL()),
				v.Limit.Place, v.Limit.For, v.Limit.Source.Text, v.Limit.Edition)
		}
	}
	if s.Choice("place") != "none" {
		return nil
	}
	european, err := sulfite.Lawful(sulfite.EU, finished)
	if err != nil {
		return err
	}
	for _, v := range european {
		if v.Over {
			s.Caution("over-eu", "%s mg/L, allowed %s (%s).", fixed(v.Found.MgPerL(), 0), tidy(v.Limit.Max.MgPerL()), v.Limit.For)
		}
	}
	return nil
}
