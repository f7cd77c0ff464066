package cellar

import (
	"testing"
)

// Two vintages made alike but for five things: how warm, which culture, how much malic acid
// it had, how long the conversion took, and how much SO2. Only these are shown.
func TestCompareShowsOnlyWhatDiffers(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	vinify := func(slug, bin, v, culture, warm, so2 string, days float64) {
		q.do(LotStarted{Slug: slug, Colour: "red", Variety: "Merlot", Malolactic: MalolacticWanted}, VesselNamed{Slug: bin, Type: "bin"}, VesselNamed{Slug: v, Type: "carboy"},
			Sample{Lot: slug, Berries: 200, Block: "hill"}, FruitReceived{Lot: slug, Vessel: bin, Weight: M("60", "kg"), Block: "hill"})
		q.days(1)
		q.do(Crush{Lot: slug, Destemmed: "all", To: []Portion{{Vessel: bin, Volume: M("52", "L")}}})
		q.days(1)
		q.do(Inoculation{Vessel: bin, Of: "primary", How: "rehydrated", Culture: "yeast, invented"}, Stirring{Vessel: bin, What: "punch-down"}, Reading{Vessel: bin, What: ReadTemperature, Value: M(warm, "°C")})
		q.days(8)
		q.do(Press{From: []Portion{{Vessel: bin}}, To: []Portion{{Vessel: v, Volume: M("38", "L")}}}, Verdict{Vessel: v, Says: VerdictDry})
		q.days(2)
		q.do(Inoculation{Vessel: v, Of: "malolactic", How: "direct", Culture: culture}, Reading{Vessel: v, What: ReadMalic, Value: M(so2, "g/L")}, Stirring{Vessel: v, What: "lees"})
		q.days(days)
		q.do(Reading{Vessel: v, What: ReadMalic, Value: M("0.05", "g/L")})
		q.do(Verdict{Vessel: v, Says: VerdictMalolacticFinished}, Addition{Vessel: v, Product: "potassium-metabisulfite", Amount: M(so2, "g")}, Reading{Vessel: v, What: ReadPH, Value: M("3.55", "pH")},
			Movement{How: "removal", From: []Portion{{Vessel: v, All: true}}})
	}
	vinify("merlot-25", "bin1", "c1", "bacteria A, invented", "27", "3.3", 30)
	q.days(300)
	vinify("merlot-26", "bin2", "c2", "bacteria B, invented", "31", "4.0", 55)
	got, ok := q.fold().Compare("merlot-25", "merlot-26")
	if !ok {
		t.Fatal("the lots are not known")
	}
	want := []StageDifference{
		{stagePrimary, []Difference{{"warmest reading", "27 °C", "31 °C"}}},
		{stageMalo, []Difference{{"culture", "bacteria A, invented", "bacteria B, invented"}, {"malic acid", "3.3 to 0.05 g/L", "4.0 to 0.05 g/L"}, {"finished", "day 41", "day 66"}, {"took", "30 days", "55 days"}}},
		// 3.3·0.5763/38 and 4.0·0.5763/38 g/L.
		{stageKeeping, []Difference{{"SO2 added", "50 mg/L in 1", "60.7 mg/L in 1"}}},
	}
	if len(got) != len(want) {
		t.Fatalf("stages %+v", got)
	}
	for i := range want {
		if got[i].Stage != want[i].Stage || len(got[i].Rows) != len(want[i].Rows) {
			t.Errorf("got %+v, want %+v", got[i], want[i])
			continue
		}
		for k := range want[i].Rows {
			if got[i].Rows[k] != want[i].Rows[k] {
				t.Errorf("%s: got %+v, want %+v", want[i].Stage, got[i].Rows[k], want[i].Rows[k])
			}
		}
	}
	if same, ok := q.fold().Compare("merlot-25", "merlot-25"); !ok || len(same) != 0 {
		t.Errorf("a lot differs from itself: %+v", same)
	}
	if _, ok := q.fold().Compare("merlot-25", "nothing"); ok {
		t.Error("a lot called nothing is known")
	}
}

func TestTrialsAndSamples(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(Movement{How: "splitting", From: []Portion{{Vessel: "c1", Volume: M("20", "L")}}, To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}})
	trial := Trial{What: "blend", Rows: []TrialRow{{Code: "417", Parts: []Portion{{Vessel: "c1", Volume: M("60", "mL")}, {Vessel: "c2", Volume: M("40", "mL")}}, Score: "7"}, {Code: "803", Parts: []Portion{{Vessel: "c2", Volume: M("100", "mL")}}}}, Chosen: "417", Decision: "rounder"}
	e := q.do(trial, Sample{Lot: "merlot-26", Berries: 200, Clusters: 20, Block: "hill"})
	s := q.fold()
	if r := s.Record(e[0].ID); len(r.Parcels) != 2 {
		t.Errorf("the trial is with %v", r.Parcels)
	}
	if says := Says(trial); says != "trial of blend, 2 rows: chosen 60 mL of c1, 40 mL of c2 – rounder" {
		t.Errorf("it says %q", says)
	}
	trial.Preferred = []Preference{{Taster: "Runa", Codes: []string{"417", "803"}, Words: "longer"}, {Taster: "Odo", Codes: []string{"803"}}, {Taster: "Wim", Codes: []string{"417"}}, {Taster: "Ada"}}
	if says := Says(trial); says != "trial of blend, 2 rows: chosen 60 mL of c1, 40 mL of c2; put first: 417 2×, 803 1× – rounder" {
		t.Errorf("it says %q", says)
	}
	if says := Says(Trial{What: "fining", Rows: []TrialRow{{Code: "1"}, {Code: "2", Product: "isinglass", Dose: M("2", "g/hL")}}, Chosen: "1"}); says != "trial of fining, 2 rows: chosen the wine as it is" {
		t.Errorf("it says %q", says)
	}
	if r := s.Record(e[1].ID); Sentence(r) != "fruit of merlot-26 sampled, hill, 200 berries, 20 clusters" {
		t.Errorf("it says %q", Sentence(r))
	}
	for name, b := range map[string]Body{
		"no rows": Trial{Vessel: "c1", What: "acid"}, "nowhere": Trial{What: "acid", Rows: []TrialRow{{}}}, "preferred what is not there": Trial{What: "blend", Rows: []TrialRow{{Code: "1"}}, Preferred: []Preference{{Taster: "Ada", Codes: []string{"2"}}}},
		"preferred twice": Trial{What: "blend", Rows: []TrialRow{{Code: "1"}}, Preferred: []Preference{{Taster: "Ada", Codes: []string{"1", "1"}}}}, "preferred by nobody": Trial{What: "blend", Rows: []TrialRow{{Code: "1"}}, Preferred: []Preference{{Codes: []string{"1"}}}},
		"chosen what is not there": Trial{Vessel: "c1", What: "acid", Rows: []TrialRow{{Code: "1"}}, Chosen: "2"},
		"of nothing known":         Trial{Vessel: "c1", What: "luck", Rows: []TrialRow{{}}}, "a dose below nothing": Trial{Vessel: "c1", What: "acid", Rows: []TrialRow{{Dose: M("-1", "g/L")}}},
		"less than no berries": Sample{Lot: "merlot-26", Berries: -1}, "of no lot": Sample{},
	} {
		if err := (Draft{Happened: On(day0), Body: b}).Check(); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}
