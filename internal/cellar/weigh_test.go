package cellar

import (
	"strings"
	"testing"
	"time"
)

func TestWeigh(t *testing.T) {
	t.Parallel()
	kmbs := func(amount *Measure) Body {
		return Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: amount}
	}
	finished := Verdict{Vessel: "c1", Says: VerdictMalolacticFinished}
	read := func(what, value, unit string) Body { return Reading{Vessel: "c1", What: what, Value: M(value, unit)} }
	for _, c := range []struct {
		name   string
		before []Body // on top of 54 L of red in c1, malolactic wanted
		weigh  Body
		says   []string // code, and "!" before it if it stops, "?" if it asks
		words  string
	}{
		{"a usual dose after the end", []Body{finished}, kmbs(M("3.1", "g")), nil, ""},
		{"before the end", nil, kmbs(M("3.1", "g")), []string{"!" + WarnSO2Early}, "c1"},
		{"before the end, as a solution", nil, Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("31", "mL"), Solution: true, Strength: M("10", "%")}, []string{"!" + WarnSO2Early}, ""},
		{"given up, then sulfited", []Body{Verdict{Vessel: "c1", Says: VerdictMalolacticGivenUp}}, kmbs(M("3.1", "g")), nil, ""},
		{"started again after the end", []Body{finished, Inoculation{Vessel: "c1", Of: "malolactic", How: "direct"}}, kmbs(M("3.1", "g")), []string{"!" + WarnSO2Early}, ""},
		// 62 g is 3.1 g with the point gone and doubled: 62 × 576.3 / 54 = 662 mg/L.
		{"a point gone", []Body{finished}, kmbs(M("62", "g")), []string{"!" + WarnTenTimes, "!" + WarnOverLimit}, "662 mg/L"},
		{"ounces for grams", []Body{finished}, kmbs(M("3.1", "oz")), []string{"!" + WarnTenTimes, "!" + WarnOverLimit}, ""},
		{"over the European limit by sums", []Body{finished, kmbs(M("9", "g"))}, kmbs(M("6", "g")), []string{WarnOverLimit}, "160 mg/L"}, // 15 × 576.3 / 54
		{"a rate of SO2", []Body{finished}, kmbs(M("30", "mg/L")), nil, ""},
		{"tablets", []Body{finished}, kmbs(M("4", "")), []string{WarnUnweighedDose}, ""},
		{"sorbate", []Body{finished}, Addition{Vessel: "c1", Product: "potassium-sorbate", Amount: M("10", "g")}, []string{"!" + WarnSorbate}, "geranium"},
		{"lysozyme", nil, Addition{Vessel: "c1", Product: "lysozyme", Amount: M("10", "g")}, []string{"!" + WarnLysozyme}, "egg"},
		{"citric acid", nil, Addition{Vessel: "c1", Product: "citric-acid", Amount: M("10", "g")}, []string{WarnCitric}, ""},
		{"into an empty vessel", nil, Addition{Vessel: "b2", Product: "tartaric-acid", Amount: M("10", "g")}, []string{WarnEmpty}, "b2"},
		{"something not known here", nil, Addition{Vessel: "c1", Product: "moon-dust", Amount: M("10", "kg")}, nil, ""},
		{"copper", nil, Addition{Vessel: "c1", Product: "copper-sulfate", Amount: M("2", "g")}, []string{"!" + WarnTenTimes}, ""}, // 37 mg/L

		{"a usual pH", nil, read(ReadPH, "3.47", "pH"), nil, ""},
		{"a pH without unit", nil, read(ReadPH, "3.47", ""), nil, ""},
		{"a high pH", nil, read(ReadPH, "4.35", "pH"), []string{WarnUnlikely}, ""},
		{"a pH that no wine has", nil, read(ReadPH, "9.41", "pH"), []string{"!" + WarnUnlikely}, "9.41"},
		{"a buffer read for wine", nil, read(ReadPH, "7.01", "pH"), []string{"!" + WarnUnlikely}, ""},
		{"digits swapped", []Body{read(ReadPH, "3.41", "pH")}, read(ReadPH, "4.13", "pH"), []string{WarnJump}, "3.41"},
		{"a control sample is another wine by now", []Body{read(ReadPH, "3.41", "pH")}, Reading{Vessel: "c1", What: ReadPH, Value: M("4.13", "pH"), Control: true}, nil, ""},
		{"°F for °C", nil, read(ReadTemperature, "66", "°C"), []string{"!" + WarnUnlikely}, ""},
		{"66 °F", nil, read(ReadTemperature, "66", "°F"), nil, ""},
		{"TA in mg/L", nil, read(ReadTA, "6.1", "mg/L"), []string{WarnUnlikely}, ""},
		{"malic below what is seen", nil, read(ReadMalic, "<0.1", "g/L"), nil, ""},
		{"less than nothing", nil, read(ReadMalic, "-8", "g/L"), []string{"!" + WarnUnlikely}, ""},
		{"an acidity that is none", nil, read(ReadTA, "-3", "g/L"), []string{"!" + WarnUnlikely}, "TA -3"},
		{"into itself", nil, Movement{How: "topping", From: []Portion{{Vessel: "c1", Volume: M("5", "L")}}, To: []Portion{{Vessel: "c1", Volume: M("5", "L")}}}, []string{"!" + WarnNowhere}, "c1 itself"},
		{"Brix", nil, read(ReadDensity, "22", "°Brix"), nil, ""},
		{"specific gravity with the point gone", nil, read(ReadDensity, "1092", "SG"), []string{"!" + WarnUnlikely}, ""},
		{"a spot on paper", nil, Reading{Vessel: "c1", What: ReadChromatogram, Value: M("faint", "")}, nil, ""},
		{"of an empty vessel", nil, Reading{Vessel: "b2", What: ReadPH, Value: M("3.4", "pH")}, []string{WarnEmpty}, ""},

		{"topping with sulfited wine", []Body{LotStarted{Slug: "old"}, Movement{Lot: "old", To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}}, Addition{Vessel: "c2", Product: "potassium-metabisulfite", Amount: M("80", "mg/L")}, Movement{From: []Portion{{Vessel: "c1", Volume: M("33", "L")}}}},
			Movement{How: "topping", From: []Portion{{Vessel: "c2", Volume: M("2", "L")}}, To: []Portion{{Vessel: "c1", Volume: M("2", "L")}}}, []string{"!" + WarnToppingSO2}, "6.96 mg/L"}, // 160 mg in 23 L
		{"topping with unsulfited wine", []Body{LotStarted{Slug: "old"}, Movement{Lot: "old", To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}}},
			Movement{How: "topping", From: []Portion{{Vessel: "c2"}}, To: []Portion{{Vessel: "c1", Volume: M("0.3", "L")}}}, nil, ""},
		{"more than is there", nil, Movement{From: []Portion{{Vessel: "c1", Volume: M("60", "L")}}, To: []Portion{{Vessel: "b2"}}}, []string{"?" + WarnOverdrawn}, "c1 holds 54 ± 1.1 L: 60 L is more than that"},
		{"more arrives than was there", nil, Movement{From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2", Volume: M("57", "L")}}}, []string{"?" + WarnOverdrawn}, "c1 holds 54 ± 1.1 L: 57 L is more than that"},
		{"more is split than was there", nil, Movement{From: []Portion{{Vessel: "c1", All: true}}, To: []Portion{{Vessel: "b2", Volume: M("40", "L")}, {Vessel: "b3", Volume: M("18", "L")}}}, []string{"?" + WarnOverdrawn}, "58 L is more"},
		{"more arrives than two held", []Body{Movement{From: []Portion{{Vessel: "c1", Volume: M("20", "L")}}, To: []Portion{{Vessel: "c2"}}}}, Movement{From: []Portion{{Vessel: "c1", All: true}, {Vessel: "c2", Volume: M("10", "L")}}, To: []Portion{{Vessel: "b2", Volume: M("50", "L")}}}, []string{"?" + WarnOverdrawn}, "c1 and c2 hold 44 ± 1.2 L: 50 L"},
		{"all of it, and what was lost", nil, Movement{From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2", Volume: M("52", "L")}}, Losses: []Loss{{Kind: LossLees, Volume: M("2", "L")}}}, nil, ""},
		{"a control sample larger than the wine", nil, ControlKept{Vessel: "c1", Volume: M("58", "L")}, []string{"?" + WarnOverdrawn}, "58 L is more"},
		{"more than there is room for", nil, Movement{From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c2", Volume: M("54", "L")}}}, []string{"?" + WarnOverfull}, "23.2 L"},
		{"racked and returned", nil, Movement{From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c1", Volume: M("52", "L")}}}, nil, ""},
		{"from an empty vessel", nil, Movement{From: []Portion{{Vessel: "b2"}}, To: []Portion{{Vessel: "b3"}}}, []string{"?" + WarnEmpty}, "b2 is empty: nothing can have come from it, unless what filled it is still to be written down"},

		{"a culture", nil, Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"}, nil, ""},
		{"a culture into sulfited wine", []Body{kmbs(M("70", "mg/L"))}, Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"}, []string{"!" + WarnCultureInSO2}, "70 mg/L"},
		{"a culture where none is wanted", []Body{LotStarted{Slug: "merlot-26", Malolactic: MalolacticKeptFrom, Anew: true}}, Inoculation{Vessel: "c1", Of: "malolactic", How: "direct"}, []string{"!" + WarnKeptFrom}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			q := cellarWith(t)
			q.do(c.before...)
			s := q.fold()
			d := Draft{Happened: At(q.now), Body: c.weigh}
			if err := d.Check(); err != nil {
				t.Fatal(err)
			}
			var got []string
			var all string
			stops, asks := 0, 0
			warnings := Weigh(s, q.now, d)
			for _, w := range warnings {
				code := w.Code
				switch {
				case w.Stop:
					code, stops = "!"+code, stops+1
				case w.Ask:
					code, asks = "?"+code, asks+1
				}
				got = append(got, code)
				all += w.Says + "\n"
			}
			if strings.Join(got, " ") != strings.Join(c.says, " ") || !strings.Contains(all, c.words) || strings.Contains(all, "%!") {
				t.Errorf("got %v, want %v with %q\n%s", got, c.says, c.words, all)
			}
			if len(warnings.Stops()) != stops {
				t.Errorf("%d stops", len(warnings.Stops()))
			}
			if len(warnings.Held()) != stops+asks {
				t.Errorf("%d are held", len(warnings.Held()))
			}
		})
	}
}

func TestWeighSulfurDioxideInMust(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "bin", Size: M("200", "L")}, LotStarted{Slug: "red", Colour: "red", Malolactic: MalolacticWanted}, FruitReceived{Lot: "red", Vessel: "bin", Weight: M("110", "kg")},
		Crush{Lot: "red", To: []Portion{{Vessel: "bin", Volume: M("100", "L")}}})
	s := q.fold()
	dose := func(g string) Warnings {
		return Weigh(s, q.now, Draft{Happened: At(q.now), Body: Addition{Vessel: "bin", Product: "potassium-metabisulfite", Amount: M(g, "g")}})
	}
	if w := dose("7"); len(w) != 0 { // 40 mg/L, as usual at crush
		t.Errorf("%+v", w)
	}
	if w := dose("14"); len(w) != 1 || w[0].Code != WarnSO2Must || w[0].Stop { // 81 mg/L
		t.Errorf("%+v", w)
	}
	if p := s.In("bin"); s.Converting(p) {
		t.Error("must converts before it has fermented")
	}
}

// More than there was, or than there is room for, is said before it is kept.
func TestWeighWhatDoesNotFit(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "bin", Size: M("200", "L")}, VesselNamed{Slug: "c1", Size: M("54", "L")}, VesselNamed{Slug: "c2", Size: M("54", "L")}, VesselNamed{Slug: "hold", Size: M("50", "L")}, LotStarted{Slug: "red", Colour: "red"},
		FruitReceived{Lot: "red", Vessel: "hold", Weight: M("30", "kg")}, Crush{Lot: "red", To: []Portion{{Vessel: "bin", Volume: M("100", "L")}}},
		Movement{Lot: "red", To: []Portion{{Vessel: "c2", Volume: M("50", "L")}}}, Movement{Lot: "red", To: []Portion{{Vessel: "bag", Volume: M("9", "L")}}},
		Bottling{Slug: "red-bottles", From: []Portion{{Vessel: "bag", All: true}}, Count: 12, Size: M("750", "mL")})
	s := q.fold()
	into := func(vessel, litres string) []Portion { return []Portion{{Vessel: vessel, Volume: M(litres, "L")}} }
	for name, c := range map[string]struct {
		body Body
		code string
		says string
	}{
		"a press that fits":        {Press{From: []Portion{{Vessel: "bin", All: true}}, To: into("c1", "54")}, "", ""},
		"more wine than must":      {Press{From: []Portion{{Vessel: "bin", All: true}}, To: []Portion{{Vessel: "c1", Volume: M("54", "L")}, {Vessel: "c3", Volume: M("60", "L")}}}, WarnOverdrawn, "114 L is more"},
		"fruit pressed whole":      {Press{From: []Portion{{Vessel: "hold", All: true}}, To: into("c1", "18")}, "", ""},
		"a press into too little":  {Press{From: []Portion{{Vessel: "bin", All: true}}, To: into("c1", "70")}, WarnOverfull, "c1 has room for 54.5 L"}, // 54 L and 1 %
		"a press of nothing":       {Press{From: []Portion{{Vessel: "c1", All: true}}, To: into("c3", "5")}, WarnEmpty, "c1 is empty"},
		"a crush where it stood":   {Crush{Lot: "red", From: []Portion{{Vessel: "hold"}}, To: into("hold", "25")}, "", ""},
		"a crush into too little":  {Crush{Lot: "red", From: []Portion{{Vessel: "hold"}}, To: into("hold", "60")}, WarnOverfull, "hold has room for 50.5 L"},
		"bottles that fit":         {Bottling{Slug: "b", From: []Portion{{Vessel: "c2", All: true}}, Count: 66, Size: M("750", "mL")}, "", ""},
		"more bottles than wine":   {Bottling{Slug: "b", From: []Portion{{Vessel: "c2", All: true}}, Count: 96, Size: M("750", "mL")}, WarnOverdrawn, "are 72 L"},
		"wine left without a word": {Bottling{Slug: "b", From: []Portion{{Vessel: "c2", All: true}}, Count: 14, Size: M("750", "mL")}, WarnLeftOver, "39.5 L would be unaccounted for"}, // 50 − 14 × 0.75
		"wine left in the vessel":  {Bottling{Slug: "b", From: into("c2", "10.5"), Count: 14, Size: M("750", "mL")}, "", ""},
		"wine left and its loss":   {Bottling{Slug: "b", From: []Portion{{Vessel: "c2", All: true}}, Count: 53, Size: M("750", "mL"), Losses: []Loss{{Kind: "lees", Volume: M("9", "L")}}}, "", ""},
		"as many as there are":     {Opened{Bottling: "red-bottles", Count: 12}, "", ""},
		"more than there are left": {Opened{Bottling: "red-bottles", Count: 13}, WarnOverdrawn, "12 bottles are left"},
	} {
		w := Weigh(s, q.now, Draft{Happened: At(q.now), Body: c.body})
		if c.code == "" {
			if len(w) != 0 {
				t.Errorf("%s: %+v", name, w)
			}
			continue
		}
		if len(w) != 1 || w[0].Code != c.code || w[0].Stop || w[0].Ask != (c.code != WarnLeftOver) || !strings.Contains(w[0].Says, c.says) {
			t.Errorf("%s: %+v, want %s and %q", name, w, c.code, c.says)
		}
	}
}

// Fruit that came on a day, without an hour, is reckoned to have come at noon: a
// crush in the morning is asked about, one of the same day or the afternoon is not.
func TestWeighBeforeItCame(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "bin", Size: M("200", "L")}, LotStarted{Slug: "red", Colour: "red"})
	day := On(q.now)
	q.now = q.now.AddDate(0, 0, 2)
	q.draft(Draft{Happened: day, Body: FruitReceived{Lot: "red", Vessel: "bin", Weight: M("100", "kg")}})
	s := q.fold()
	crush := Crush{Lot: "red", From: []Portion{{Vessel: "bin"}}, To: []Portion{{Vessel: "bin", Volume: M("80", "L")}}}
	for hour, want := range map[int]int{10: 1, 15: 0} {
		if w := Weigh(s, q.now, Draft{Happened: At(day.Time.Add(time.Duration(hour) * time.Hour)), Body: crush}); len(w) != want || want == 1 && (w[0].Code != WarnEmpty || w[0].Stop || !w[0].Ask) {
			t.Errorf("at %d: %+v", hour, w)
		}
	}
	if w := Weigh(s, q.now, Draft{Happened: day, Body: crush}); len(w) != 0 {
		t.Errorf("on the day: %+v", w)
	}
}

// Sentences of one line follow each other: what the first brings is there for the second.
func TestWeighTogether(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	s := q.fold()
	draft := func(b Body) Draft { return Draft{Happened: At(q.now), Body: b} }
	rack := draft(Movement{How: "racking", From: []Portion{{Vessel: "c3"}}, To: []Portion{{Vessel: "b2", Volume: M("20", "L")}}})
	fill := draft(Movement{How: "filling", Lot: "merlot-26", To: []Portion{{Vessel: "c3", Volume: M("22", "L")}}})
	if w := WeighAll(s, q.now, fill, rack); len(w) != 2 || len(w[0])+len(w[1]) != 0 {
		t.Errorf("filled, then racked: %+v", w)
	}
	if w := WeighAll(s, q.now, rack, fill); len(w) != 2 || len(w[0].Held()) != 1 || w[0][0].Code != WarnEmpty {
		t.Errorf("racked, then filled: %+v", w)
	}
	// What is stopped stays stopped, whatever came before it.
	kmbs := draft(Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("4", "g")})
	if w := WeighAll(s, q.now, draft(Dip{Vessel: "c1", Volume: M("53", "L")}), kmbs); len(w[1].Stops()) != 1 {
		t.Errorf("after a dip: %+v", w)
	}
}

func TestWeighTheFuture(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	s := q.fold()
	if w := Weigh(s, q.now, Draft{Happened: At(s.Now.Add(26 * time.Hour)), Body: Note{Words: "x"}}); len(w) != 1 || w[0].Code != WarnFuture {
		t.Errorf("%+v", w)
	}
	if w := Weigh(s, q.now, Draft{Happened: On(s.Now), Body: Note{Words: "x"}}); len(w) != 0 {
		t.Errorf("%+v", w)
	}
}
