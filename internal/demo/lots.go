package demo

import (
	"elevage/internal/cellar"
)

func things(s *story) {
	s.write(440, 9, runa,
		cellar.InstrumentNamed{Slug: "meter", Name: "pen meter", Type: "ph-meter", Step: m("0.01", "pH")},
		cellar.InstrumentNamed{Slug: "titration", Name: "titration set", Type: "titration-kit"},
		cellar.InstrumentNamed{Slug: "so2-kit", Name: "aspiration set", Type: "so2-kit"},
		cellar.InstrumentNamed{Slug: "probe", Name: "probe thermometer", Type: "thermometer", Step: m("0.5", "°C")},
		cellar.InstrumentNamed{Slug: "scale", Name: "kitchen scale", Type: "scale", Step: m("0.1", "g")})
	vessels := []cellar.VesselNamed{
		{Slug: "bin1", Type: "bin", Material: "plastic", Size: m("200", "L"), Place: "yard", Walk: 1},
		{Slug: "bin2", Type: "bin", Material: "plastic", Size: m("120", "L"), Place: "yard", Walk: 2},
		{Slug: "d1", Type: "demijohn", Material: "glass", Size: m("54", "L"), Place: "warm corner", Walk: 10},
		{Slug: "c3", Type: "carboy", Material: "glass", Size: m("23", "L"), Place: "warm corner", Walk: 11},
		{Slug: "c6", Type: "carboy", Material: "glass", Size: m("23", "L"), Place: "warm corner", Walk: 12},
		{Slug: "c1", Type: "carboy", Material: "glass", Size: m("23", "L"), Place: "back wall", Walk: 20},
		{Slug: "c2", Type: "carboy", Material: "glass", Size: m("23", "L"), Place: "back wall", Walk: 21},
		{Slug: "c4", Type: "carboy", Material: "glass", Size: m("23", "L"), Place: "back wall", Walk: 22},
		{Slug: "c5", Type: "carboy", Material: "glass", Size: m("20", "L"), Place: "back wall", Walk: 23},
		{Slug: "c7", Type: "carboy", Material: "glass", Size: m("23", "L"), Place: "back wall", Walk: 24},
		{Slug: "g1", Type: "carboy", Material: "glass", Size: m("6", "gal"), Place: "back wall", Walk: 25},
		{Slug: "d2", Type: "demijohn", Material: "glass", Size: m("54", "L"), Place: "under the stairs", Walk: 30},
		{Slug: "d3", Type: "demijohn", Material: "glass", Size: m("54", "L"), Place: "under the stairs", Walk: 31},
		{Slug: "c8", Type: "carboy", Material: "glass", Size: m("20", "L"), Place: "under the stairs", Walk: 32},
		{Slug: "b1", Type: "barrel", Material: "oak", Size: m("225", "L"), Place: "cold room", Walk: 40, Oak: "fourth fill"},
		{Slug: "k1", Type: "keg", Material: "steel", Size: m("50", "L"), Place: "cold room", Walk: 41},
		{Slug: "j1", Type: "jug", Material: "glass", Size: m("5", "L"), Place: "cold room", Walk: 42},
	}
	for _, v := range vessels {
		s.write(440, 10, corin, v)
	}
	s.write(90, 12, runa, cellar.Purchase{Product: "potassium-metabisulfite", Amount: m("250", "g"), Strength: m("100", "%"), Price: m("6", "€")},
		cellar.Purchase{Product: "malolactic-culture", Name: "freeze-dried bacteria, invented", Amount: m("4", "g"), Treats: m("250", "L"), KeptAt: m("-18", "°C")})
}

// meterLog is the pen meter in its buffer, most weeks.
func meterLog(s *story) {
	for _, c := range []struct {
		ago  int
		read string
	}{{62, "7.01"}, {48, "7.03"}, {41, "7.02"}, {34, "7.04"}, {27, "7.02"}, {20, "7.03"}, {13, "7.01"}, {6, "7.04"}, {2, "7.02"}} {
		s.write(c.ago, 17, corin, cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: c.read})
	}
}

func started(slug, name, colour, variety string, vintage int, malolactic string) cellar.Body {
	return cellar.LotStarted{Slug: slug, Name: name, Colour: colour, Variety: variety, Vintage: vintage, Malolactic: malolactic}
}

// tempranillo is last year's: in the barrel, its SO2 falling.
func tempranillo(s *story) {
	s.write(425, 9, runa, started("tempranillo", "Tempranillo, Long Field", "red", "Tempranillo", s.year(425), cellar.MalolacticWanted))
	s.write(398, 11, runa, fill("tempranillo", "b1", "224", "L"), dry("b1"), alcohol("b1", "13.4"), ph("b1", "3.56"), ta("b1", "6.2"), malic("b1", "2.1"))
	s.write(397, 18, corin, culture("b1", "rehydrated", "2.5"))
	s.write(352, 18, runa, paper("b1", "none"), malic("b1", "0.04"))
	s.write(351, 18, runa, cellar.Verdict{Vessel: "b1", Says: cellar.VerdictMalolacticFinished, Evidence: "clear paper, strip 0.04 g/L"})
	s.write(344, 10, corin, kmbs("b1", "23.4"), ph("b1", "3.63"))
	s.write(341, 18, corin, freeSO2("b1", "33"), totalSO2("b1", "66"))
	s.write(270, 18, runa, freeSO2("b1", "24"), temp("b1", "12", "°C"))
	s.write(268, 18, runa, kmbs("b1", "6.0"))
	s.write(180, 18, runa, freeSO2("b1", "23"), temp("b1", "15", "°C"))
	s.write(179, 18, runa, kmbs("b1", "5.5"))
	s.write(75, 18, corin, freeSO2("b1", "19"), temp("b1", "18", "°C"), ph("b1", "3.64"))
	s.write(33, 11, corin, cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "b1", Volume: m("1.5", "L")}}, Losses: []cellar.Loss{{Kind: cellar.LossSample, Volume: m("1.5", "L")}}})
}

// pinot is in bottles, and some are gone.
func pinot(s *story) {
	s.write(430, 9, runa, started("pinot", "Pinot noir, Steep Acre", "red", "Pinot noir", s.year(430), cellar.MalolacticWanted))
	s.write(400, 9, runa, fill("pinot", "c7", "22.5", "L"), dry("c7"), alcohol("c7", "12.8"))
	s.write(399, 18, runa, culture("c7", "rehydrated", "0.3"))
	s.write(345, 18, runa, paper("c7", "none"), malic("c7", "0.03"),
		cellar.Verdict{Vessel: "c7", Says: cellar.VerdictMalolacticFinished, Evidence: "strip 0.03 g/L"})
	s.write(338, 18, corin, kmbs("c7", "2.3"))
	s.write(335, 18, corin, freeSO2("c7", "30"), ph("c7", "3.52"))
	s.write(212, 14, runa, freeSO2("c7", "22"), kmbs("c7", "0.6"))
	s.write(210, 14, runa, cellar.Bottling{Slug: "pinot-bottles", From: []cellar.Portion{{Vessel: "c7", All: true}}, Count: 29, Size: m("750", "mL"), Closure: "natural cork, invented lot", Place: "cold room"})
	s.write(120, 20, corin, cellar.Opened{Bottling: "pinot-bottles", Count: 1, Words: "closed, some cherry"})
	s.write(30, 20, runa, cellar.Opened{Bottling: "pinot-bottles", Count: 1, Words: "opening up, clean"})
}

// riesling is white and kept from converting.
func riesling(s *story) {
	s.write(74, 9, runa, started("riesling", "Riesling, Mill Terrace", "white", "Riesling", s.year(74), cellar.MalolacticKeptFrom))
	s.write(52, 10, runa, fill("riesling", "k1", "49", "L"), dry("k1"), alcohol("k1", "11.9"), ph("k1", "3.08"), ta("k1", "7.9"), temp("k1", "11", "°C"))
	s.write(49, 18, corin, kmbs("k1", "5.1"))
	s.write(46, 18, corin, freeSO2("k1", "31"), totalSO2("k1", "78"))
	s.write(20, 18, runa, freeSO2("k1", "24"), temp("k1", "9", "°C"))
}

// cabernetFranc began well, went cold, and stands still.
func cabernetFranc(s *story) {
	s.write(92, 9, runa, started("cabernet-franc", "Cabernet Franc, Ropewalk", "red", "Cabernet Franc", s.year(92), cellar.MalolacticWanted))
	s.crushed("cabernet-franc", "bin2", 91, 80, "38", "33", cellar.Portion{Vessel: "c2", Volume: m("22.4", "L")})
	s.write(76, 18, runa, alcohol("c2", "14.2"), ph("c2", "3.34"), ta("c2", "7.1"), malic("c2", "2.6"), temp("c2", "20", "°C"), totalSO2("c2", "38"))
	s.write(75, 18, runa, culture("c2", "direct", "0.3"))
	s.write(62, 18, corin, ph("c2", "3.36"), temp("c2", "19", "°C"))
	s.write(55, 18, corin, paper("c2", "strong"), stir("c2"), temp("c2", "18", "°C"))
	s.write(48, 18, corin, ph("c2", "3.42"), malic("c2", "1.5"), ta("c2", "6.5"), temp("c2", "16", "°C"))
	s.write(34, 18, runa, ph("c2", "3.41"), temp("c2", "14", "°C"))
	s.write(27, 18, runa, ta("c2", "6.5"), paper("c2", "strong"), temp("c2", "14", "°C"))
	s.write(20, 18, corin, ph("c2", "3.43"), temp("c2", "13.5", "°C"))
	s.write(6, 18, corin, ph("c2", "3.42"), malic("c2", "1.45"), temp("c2", "13", "°C"))
}

// merlot is over, tested twice, and stands without sulfur dioxide.
func merlot(s *story) {
	s.write(95, 9, runa, started("merlot", "Merlot, Ropewalk", "red", "Merlot", s.year(95), cellar.MalolacticWanted))
	s.crushed("merlot", "bin1", 94, 83, "92", "81", cellar.Portion{Vessel: "d2", Volume: m("53", "L")}, cellar.Portion{Vessel: "j1", Volume: m("4.6", "L")})
	s.write(72, 18, runa, alcohol("d2", "13.6"), ph("d2", "3.49"), ta("d2", "6.2"), malic("d2", "1.9"), temp("d2", "21", "°C"))
	s.write(71, 18, corin, culture("d2", "rehydrated", "0.6"), cellar.ControlKept{Vessel: "d2", Volume: m("0.2", "L"), Kept: "cold"})
	s.write(62, 18, corin, ph("d2", "3.52"), stir("d2"), temp("d2", "21", "°C"))
	s.write(48, 18, corin, ph("d2", "3.58"), ta("d2", "5.6"), temp("d2", "20.5", "°C"))
	s.write(34, 18, runa, ph("d2", "3.61"), ta("d2", "5.2"), paper("d2", "faint"), temp("d2", "20", "°C"))
	s.write(20, 18, runa, ta("d2", "5.15"), paper("d2", "none"), ph("d2", "3.62"), temp("d2", "19.5", "°C"))
	s.write(10, 18, corin, malic("d2", "0.04"), paper("d2", "none"))
	s.write(6, 18, corin, ph("d2", "3.62"), ta("d2", "5.1"), temp("d2", "19", "°C"))
}

// zweigelt is one lot in three carboys that do not do the same.
func zweigelt(s *story) {
	s.write(88, 9, runa, started("zweigelt", "Zweigelt, Hedge Side", "red", "Zweigelt", s.year(88), cellar.MalolacticWanted))
	s.crushed("zweigelt", "bin1", 80, 70, "110", "97",
		cellar.Portion{Vessel: "c3", Volume: m("22.5", "L")}, cellar.Portion{Vessel: "c4", Volume: m("22.6", "L")}, cellar.Portion{Vessel: "c5", Volume: m("19.7", "L")})
	for _, v := range []string{"c3", "c4", "c5"} {
		s.write(63, 18, corin, alcohol(v, "12.6"), ph(v, "3.44"), ta(v, "6.6"), malic(v, "2.3"))
		s.write(62, 18, corin, culture(v, "rehydrated", "0.25"))
	}
	s.write(61, 18, runa, temp("c3", "21.5", "°C"), temp("c4", "16.5", "°C"), temp("c5", "18.5", "°C"))
	s.write(48, 18, runa, ph("c3", "3.50"), ph("c4", "3.44"), ph("c5", "3.46"))
	s.write(34, 18, runa, ta("c3", "5.5"), ta("c4", "6.5"), ta("c5", "6.1"), temp("c3", "21", "°C"), temp("c4", "16", "°C"), temp("c5", "18", "°C"))
	s.write(27, 18, corin, ph("c3", "3.57"), ph("c4", "3.45"), ph("c5", "3.51"), stir("c3"), stir("c4"), stir("c5"))
	s.write(20, 18, corin, paper("c3", "none"), paper("c4", "strong"), paper("c5", "strong"))
	s.write(13, 18, runa, ta("c3", "5.3"), ta("c4", "6.4"), ta("c5", "5.7"))
	s.write(6, 18, runa, ph("c3", "3.58"), ph("c4", "3.46"), ph("c5", "3.54"), temp("c3", "20.5", "°C"), temp("c4", "16", "°C"), temp("c5", "18", "°C"))
}

// syrah is in the middle of converting; one reading was struck.
func syrah(s *story) {
	s.write(70, 9, runa, started("syrah", "Syrah, Long Field", "red", "Syrah", s.year(70), cellar.MalolacticWanted))
	s.crushed("syrah", "bin2", 68, 55, "88", "78", cellar.Portion{Vessel: "d1", Volume: m("53.2", "L")})
	s.write(41, 18, corin, alcohol("d1", "13.9"), ph("d1", "3.46"), ta("d1", "6.5"), temp("d1", "20.5", "°C"))
	s.write(40, 18, corin, culture("d1", "rehydrated", "0.6"), cellar.ControlKept{Vessel: "d1", Volume: m("0.2", "L"), Kept: "cold"})
	s.write(34, 18, runa, ph("d1", "3.47"), cellar.Reading{Vessel: "d1", What: cellar.ReadPH, Value: m("3.45", "pH"), Instrument: "meter", Control: true}, bubble("d1", "11", "min"))
	s.write(27, 18, runa, ph("d1", "3.49"), temp("d1", "20.5", "°C"), stir("d1"))
	s.write(20, 18, corin, ph("d1", "3.53"), ta("d1", "6.1"), cellar.Reading{Vessel: "d1", What: cellar.ReadPH, Value: m("3.46", "pH"), Instrument: "meter", Control: true}, bubble("d1", "2.5", "min"))
	slip := s.write(13, 18, corin, ph("d1", "3.25"))
	s.write(13, 19, corin, ph("d1", "3.55"), paper("d1", "strong"), temp("d1", "20", "°C"))
	if len(slip) == 1 {
		s.write(13, 20, corin, cellar.Strike{Target: slip[0], Reason: "read in c1 by mistake"})
	}
	s.write(6, 18, runa, ph("d1", "3.57"), ta("d1", "5.75"), stir("d1"), cellar.Reading{Vessel: "d1", What: cellar.ReadPH, Value: m("3.46", "pH"), Instrument: "meter", Control: true})
}

// petite is kept in the units of its grower.
func petite(s *story) {
	s.write(66, 9, corin, cellar.LotStarted{Slug: "petite-sirah", Name: "Petite Sirah, bought fruit", Colour: "red", Variety: "Petite Sirah", Vintage: s.year(66), Malolactic: cellar.MalolacticWanted, Units: "us"})
	s.write(50, 10, corin, fill("petite-sirah", "g1", "5.9", "gal"), dry("g1"), alcohol("g1", "14.6"), ph("g1", "3.63"), ta("g1", "5.9"), temp("g1", "68", "°F"))
	s.write(49, 18, corin, culture("g1", "starter", ""), cellar.Addition{Vessel: "g1", Product: "malolactic-nutrient", Amount: m("0.18", "oz")})
	s.write(34, 18, corin, ph("g1", "3.66"), temp("g1", "68", "°F"), bubble("g1", "4", "min"))
	s.write(20, 18, corin, ph("g1", "3.70"), ta("g1", "5.4"), temp("g1", "67", "°F"))
	s.write(6, 18, corin, ph("g1", "3.73"), ta("g1", "5.15"), temp("g1", "66", "°F"), bubble("g1", "25", "min"))
}

// grenache contradicts itself: a clear paper over an acidity that never fell.
func grenache(s *story) {
	s.write(64, 9, runa, started("grenache", "Grenache, Mill Terrace", "red", "Grenache", s.year(64), cellar.MalolacticWanted))
	s.write(48, 10, runa, fill("grenache", "c6", "22.8", "L"), dry("c6"), alcohol("c6", "14.4"), ph("c6", "3.38"), ta("c6", "6.4"), malic("c6", "2.0"), temp("c6", "19", "°C"))
	s.write(47, 18, runa, culture("c6", "rehydrated", "0.25"))
	s.write(34, 18, runa, ph("c6", "3.40"), temp("c6", "19", "°C"))
	s.write(20, 18, corin, ph("c6", "3.39"), ta("c6", "6.3"))
	s.write(13, 18, corin, paper("c6", "none"))
	s.write(6, 18, runa, ph("c6", "3.41"), ta("c6", "6.35"), temp("c6", "18.5", "°C"))
}

// blaufrankisch lags: cold, sour, nine days in.
func blaufrankisch(s *story) {
	s.write(58, 9, runa, started("blaufrankisch", "Blaufränkisch, Steep Acre", "red", "Blaufränkisch", s.year(58), cellar.MalolacticWanted))
	s.crushed("blaufrankisch", "bin1", 44, 31, "40", "35", cellar.Portion{Vessel: "c1", Volume: m("22.3", "L")})
	s.write(13, 18, runa, alcohol("c1", "12.9"), ph("c1", "3.26"), ta("c1", "7.8"), malic("c1", "3.1"), temp("c1", "16.5", "°C"), totalSO2("c1", "34"), freeSO2("c1", "4"))
	s.write(9, 18, corin, culture("c1", "direct", "0.25"))
	s.write(6, 18, corin, ph("c1", "3.27"), temp("c1", "16", "°C"))
	s.write(2, 18, corin, temp("c1", "16", "°C"), ph("c1", "3.26"), bubble("c1", "2", "h"))
}

// dornfelder has just come to rest and waits for its culture.
func dornfelder(s *story) {
	s.write(40, 9, corin, started("dornfelder", "Dornfelder, Hedge Side", "red", "Dornfelder", s.year(40), cellar.MalolacticWanted))
	s.crushed("dornfelder", "bin2", 26, 14, "39", "34", cellar.Portion{Vessel: "c7", Volume: m("21.4", "L")})
	s.write(6, 18, corin, cellar.Reading{Vessel: "c7", What: cellar.ReadDensity, Value: m("0.994", "SG")}, alcohol("c7", "12.4"))
	s.write(2, 18, runa, ph("c7", "3.53"), ta("c7", "6.0"), totalSO2("c7", "22"), freeSO2("c7", "3"), temp("c7", "18", "°C"))
}

// nebbiolo came in late and ferments in its bin.
func nebbiolo(s *story) {
	s.write(7, 9, runa, started("nebbiolo", "Nebbiolo, Mill Terrace", "red", "Nebbiolo", s.year(7), cellar.MalolacticWanted))
	s.write(6, 9, runa, cellar.FruitReceived{Lot: "nebbiolo", Vessel: "bin2", Weight: m("84", "kg"), Warmth: m("14", "°C"), Condition: "sound, a few raisins"},
		cellar.Crush{Lot: "nebbiolo", From: []cellar.Portion{{Vessel: "bin2", All: true}}, To: []cellar.Portion{{Vessel: "bin2", Volume: m("74", "L")}}, Destemmed: "all"},
		gravity("bin2", "1.102", "17"), ph("bin2", "3.41"), ta("bin2", "6.9"),
		cellar.Reading{Vessel: "bin2", What: cellar.ReadYAN, Value: m("165", "mg/L"), Method: "formol"})
	s.write(5, 9, corin, cellar.Inoculation{Vessel: "bin2", Of: "primary", How: "rehydrated", Culture: "dried yeast, invented", Amount: m("15", "g")}, gravity("bin2", "1.101", "18"))
	s.write(4, 8, corin, gravity("bin2", "1.096", "21"), cellar.Stirring{Vessel: "bin2", What: "punch-down"})
	s.write(3, 8, corin, gravity("bin2", "1.079", "25"), cellar.Stirring{Vessel: "bin2", What: "punch-down"},
		cellar.Addition{Vessel: "bin2", Product: "diammonium-phosphate", Amount: m("15", "g"), Purpose: "nutrient"})
	s.write(2, 8, runa, gravity("bin2", "1.057", "27"), cellar.Stirring{Vessel: "bin2", What: "punch-down"})
	s.write(1, 8, runa, gravity("bin2", "1.038", "27"), cellar.Stirring{Vessel: "bin2", What: "punch-down"})
	s.write(0, 7, corin, gravity("bin2", "1.024", "26"))
}

func gravity(vessel, v, celsius string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadDensity, Value: m(v, "SG"), Warm: m(celsius, "°C"), Degassed: true}
}
