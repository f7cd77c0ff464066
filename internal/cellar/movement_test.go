package cellar

import (
	"math"
	"strings"
	"testing"
	"time"

	"elevage/science/quantity"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s is %.6g, want %.6g", what, got, want)
	}
}

func codes(s *State) (out []string) {
	for _, f := range s.Findings.All() {
		out = append(out, string(f.Code))
	}
	return out
}

func wantCodes(t *testing.T, s *State, want ...FindingCode) {
	t.Helper()
	got := codes(s)
	var w []string
	for _, c := range want {
		w = append(w, string(c))
	}
	if strings.Join(got, " ") != strings.Join(w, " ") {
		t.Errorf("findings %v, want %v", got, w)
		for _, f := range s.Findings.All() {
			t.Logf("%s: %s", f.Code, f.Says)
		}
	}
}

// A red from crates to demijohn by the trade's round figures: 120 kg at 0.62 L/kg
// gives 74 L pressed (70 of them weighed in crates of 3.5 kg); after 8 % gross lees and two rackings at 2 % it is 65.7 L
// (arithmetic on rules of thumb, from memory).
func TestFromFruitToWine(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "bin1", Type: "bin", Size: M("200", "L")}, VesselNamed{Slug: "t1", Type: "tank"}, VesselNamed{Slug: "t2", Type: "tank"},
		LotStarted{Slug: "red", Colour: "red"},
		FruitReceived{Lot: "red", Vessel: "bin1", Weight: M("73.5", "kg"), Tare: M("3500", "g")}, FruitReceived{Lot: "red", Vessel: "bin1", Weight: M("110.2311", "lb")})
	s := q.fold()
	if p := s.In("bin1"); p.Form != FormFruit || math.Abs(p.Weight.Kilograms()-120) > 1e-3 || p.Volume != 0 {
		t.Fatalf("%+v", p)
	}
	near(t, "fruit of the lot", s.Lot("red").Fruit.Kilograms(), 120, 1e-3)
	q.do(Addition{Vessel: "bin1", Product: "potassium-metabisulfite", Amount: M("8", "g")},
		Crush{Lot: "red", To: []Portion{{Vessel: "bin1", Volume: M("105", "L")}}, Destemmed: "all"})
	if p := q.fold().In("bin1"); p.Form != FormMust || p.Volume.Litres() != 105 || math.Abs(p.Amount(SubstanceSO2).Grams()-8*0.5763) > 1e-9 {
		t.Fatalf("%+v", p)
	}
	q.days(9)
	q.do(Press{From: []Portion{{Vessel: "bin1"}}, To: []Portion{{Vessel: "t1", Volume: M("74", "L")}}})
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "t1"}}, To: []Portion{{Vessel: "t2"}}, Losses: []Loss{{LossLees, M("5.92", "L")}}})
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "t2"}}, To: []Portion{{Vessel: "t1"}}, Losses: []Loss{{LossLees, M("1.3616", "L")}}})
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "t1"}}, To: []Portion{{Vessel: "t2", Volume: M("65.4", "L")}}, Rest: LossLees})
	s = q.fold()
	wantCodes(t, s)
	balance(t, s)
	p := s.In("t2")
	near(t, "before the last racking", p.Inflows[0].Volume.Litres(), 65.4, 1e-9)
	if from := s.Parcel(p.Inflows[0].From); math.Abs(from.Levels[0].Volume.Litres()-66.7184) > 1e-9 {
		t.Errorf("after the first two rackings %v", from.Levels)
	}
	// Its sulfite went with the liquid: 74 of 105 L, then what each racking left behind.
	near(t, "SO2 still with the wine", p.Amount(SubstanceSO2).Grams(), 8*0.5763*74/105*65.4/74, 1e-9)
	if len(p.Roots) != 2 || p.Roots[0].Lot != "red" || math.Abs(p.Roots[0].Share+p.Roots[1].Share-1) > 1e-12 {
		t.Errorf("roots %+v", p.Roots)
	}
	near(t, "share of the first crates", max(p.Roots[0].Share, p.Roots[1].Share), 70./120, 1e-6)
	if v := s.Vessel("bin1"); v.Holds != nil || v.Emptied.IsZero() {
		t.Errorf("the bin was emptied: %+v", v)
	}
}

// 2 L of a wine with 80 mg/L total SO2 in 23 L brings 7 mg/L (arithmetic: 160 mg in
// 23 L where 2 L made up for 2 L of room).
func TestToppingCarriesSulfurDioxide(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "c1", Size: M("23", "L")}, VesselNamed{Slug: "c2", Size: M("23", "L")}, LotStarted{Slug: "old"}, LotStarted{Slug: "new", Malolactic: MalolacticWanted},
		Movement{How: "filling", Lot: "old", To: []Portion{{Vessel: "c1", Volume: M("20", "L")}}},
		Movement{How: "filling", Lot: "new", To: []Portion{{Vessel: "c2", Volume: M("21", "L")}}},
		Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("80", "mg/L")},
		Movement{How: "topping", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c2", Volume: M("2", "L")}}})
	s := q.fold()
	wantCodes(t, s)
	balance(t, s)
	p := s.In("c2")
	if p.Lot != "new" {
		t.Errorf("topping made it %s", p.Lot)
	}
	near(t, "SO2", p.Amount(SubstanceSO2).Per(p.Volume).MgPerL(), 7, 0.05)
	near(t, "share of the old lot", p.Roots[shareOf(p, "old")].Share, 2./23, 1e-12)
	near(t, "left in c1", s.In("c1").Volume.Litres(), 18, 1e-12)
	near(t, "SO2 left in c1", s.In("c1").Amount(SubstanceSO2).Per(s.In("c1").Volume).MgPerL(), 80, 1e-9)
	if in := p.Inflows[1]; in.From != s.In("c1").ID || math.Abs(in.Share-2./23) > 1e-12 {
		t.Errorf("inflow %+v", in)
	}
}

func shareOf(p *Parcel, lot string) int {
	for i, r := range p.Roots {
		if r.Lot == lot {
			return i
		}
	}
	return -1
}

// A dose of 1.60 g fresh potassium metabisulfite in 23 L is 40 mg/L (common practice's
// worked example; 57.6 % SO2 by stoichiometry), however it was measured out.
func TestDoseHoweverItWasMeasured(t *testing.T) {
	t.Parallel()
	in := 23 * quantity.Litre
	for name, b := range map[string]Addition{
		"powder":                     {Product: "potassium-metabisulfite", Amount: M("1.60", "g")},
		"aged powder":                {Product: "potassium-metabisulfite", Amount: M("1.778", "g"), Strength: M("90", "%")},
		"16.0 mL of a 10 % solution": {Product: "potassium-metabisulfite", Amount: M("16.0", "mL"), Solution: true, Strength: M("10", "%")},
		"as a rate":                  {Product: "potassium-metabisulfite", Amount: M("40", "mg/L")},
		"in ounces":                  {Product: "potassium-metabisulfite", Amount: M("0.0564", "oz")},
		"sodium salt":                {Product: "sodium-metabisulfite", Amount: M("1.365", "g")},
	} {
		so2, err := b.SO2(in)
		if err != nil || math.Abs(so2.Per(in).MgPerL()-40) > 0.15 {
			t.Errorf("%s brings %.2f mg/L (%v)", name, so2.Per(in).MgPerL(), err)
		}
	}
	for name, b := range map[string]Addition{
		"a volume of no known strength": {Product: "potassium-metabisulfite", Amount: M("16", "mL")},
		"tablets":                       {Product: "potassium-metabisulfite", Amount: M("2", "")},
	} {
		if so2, err := b.SO2(in); err == nil {
			t.Errorf("%s brings %v", name, so2)
		}
	}
	if so2, err := (Addition{Product: "tartaric-acid", Amount: M("16", "mL")}).SO2(in); so2 != 0 || err != nil {
		t.Errorf("tartaric acid brings %v, %v", so2, err)
	}
}

// Old sulfite has lost sulfur dioxide, not potassium.
func TestPotassiumOfAgedSulfite(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(Verdict{Vessel: "c1", Says: VerdictMalolacticFinished}, Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("10", "g"), Strength: M("80", "%")})
	p := q.fold().In("c1")
	near(t, "SO2", p.Amount(SubstanceSO2).Grams(), 8*0.5763, 1e-9)
	near(t, "potassium", p.Amount(SubstancePotassium).Grams(), 10*0.3517, 1e-9)
}

// Shares by mass from IUPAC's abridged standard atomic weights (2021): H 1.0080,
// C 12.011, N 14.007, O 15.999, Na 22.990, S 32.06, K 39.098.
func TestProductSharesByStoichiometry(t *testing.T) {
	t.Parallel()
	const h, c, n, o, na, s, k = 1.0080, 12.011, 14.007, 15.999, 22.990, 32.06, 39.098
	so2 := s + 2*o
	for name, want := range map[string]struct{ so2, k float64 }{
		"potassium-metabisulfite": {2 * so2 / (2*k + 2*s + 5*o), 2 * k / (2*k + 2*s + 5*o)},
		"sodium-metabisulfite":    {2 * so2 / (2*na + 2*s + 5*o), 0},
		"potassium-bisulfite":     {so2 / (k + h + s + 3*o), k / (k + h + s + 3*o)},
		"ammonium-bisulfite":      {so2 / (n + 5*h + s + 3*o), 0},
		"sulfur-dioxide":          {1, 0},
		"potassium-bicarbonate":   {0, k / (k + h + c + 3*o)},
		"potassium-carbonate":     {0, 2 * k / (2*k + c + 3*o)},
		"cream-of-tartar":         {0, k / (k + 4*c + 5*h + 6*o)},
		"potassium-sorbate":       {0, k / (k + 6*c + 7*h + 2*o)},
	} {
		p, ok := LookupProduct(name)
		if !ok {
			t.Errorf("%s is not known", name)
			continue
		}
		near(t, "SO2 in "+name, p.SO2, want.so2, 1e-4)
		near(t, "potassium in "+name, p.Potassium, want.k, 1e-4)
	}
}

// What the volume of a source or a destination is when the entry leaves it open.
func TestOpenVolumes(t *testing.T) {
	t.Parallel()
	from := func(ps ...Portion) []Portion { return ps }
	for _, c := range []struct {
		name       string
		m          Movement
		c1, c2, c3 float64
		findings   []FindingCode
	}{
		{"all of it", Movement{From: from(Portion{Vessel: "c1"}), To: from(Portion{Vessel: "c2"})}, 0, 54, 0, nil},
		{"what arrived is what left", Movement{From: from(Portion{Vessel: "c1"}), To: from(Portion{Vessel: "c2", Volume: M("20", "L")})}, 34, 20, 0, nil},
		{"what left arrives", Movement{From: from(Portion{Vessel: "c1", Volume: M("20", "L")}), To: from(Portion{Vessel: "c2"})}, 34, 20, 0, nil},
		{"less a loss", Movement{From: from(Portion{Vessel: "c1", Volume: M("20", "L")}), To: from(Portion{Vessel: "c2"}), Losses: []Loss{{LossSpill, M("500", "mL")}}}, 34, 19.5, 0, nil},
		{"more left, by the loss", Movement{From: from(Portion{Vessel: "c1"}), To: from(Portion{Vessel: "c2", Volume: M("20", "L")}), Losses: []Loss{{LossSpill, M("0.5", "L")}}}, 33.5, 20, 0, nil},
		{"the rest is lees", Movement{From: from(Portion{Vessel: "c1"}), To: from(Portion{Vessel: "c2", Volume: M("50", "L")}), Rest: LossLees}, 0, 50, 0, nil},
		{"one known, one gets the rest", Movement{From: from(Portion{Vessel: "c1"}), To: from(Portion{Vessel: "c2", Volume: M("30", "L")}, Portion{Vessel: "c3"})}, 0, 30, 24, nil},
		{"measured as it came out", Movement{From: from(Portion{Vessel: "c1", Volume: M("52", "L"), All: true}), To: from(Portion{Vessel: "c2"})}, 0, 52, 0, nil},
		{"shared evenly, and asked", Movement{From: from(Portion{Vessel: "c1"}), To: from(Portion{Vessel: "c2"}, Portion{Vessel: "c3"})}, 0, 27, 27, []FindingCode{FoundMissingVolume}},
		{"out and in differ", Movement{From: from(Portion{Vessel: "c1", Volume: M("20", "L")}), To: from(Portion{Vessel: "c2", Volume: M("15", "L")})}, 34, 15, 0, []FindingCode{FoundUnbalanced}},
		{"out and in differ within their ±", Movement{From: from(Portion{Vessel: "c1", Volume: M("20", "L")}), To: from(Portion{Vessel: "c2", Volume: M("19.5", "L")})}, 34, 19.5, 0, nil},
		{"drunk", Movement{From: from(Portion{Vessel: "c1", Volume: M("4", "L")})}, 50, 0, 0, nil},
		{"poured away", Movement{From: from(Portion{Vessel: "c1"})}, 0, 0, 0, nil},
		{"more than was there", Movement{From: from(Portion{Vessel: "c1", Volume: M("60", "L")}), To: from(Portion{Vessel: "c2"})}, 0, 60, 0, []FindingCode{FoundOverdrawn}},
		{"a little more than was there, within its ±", Movement{From: from(Portion{Vessel: "c1", Volume: M("55", "L")}), To: from(Portion{Vessel: "c2"})}, 0, 55, 0, nil},
		{"out of an empty one", Movement{From: from(Portion{Vessel: "c3", Volume: M("5", "L")}), To: from(Portion{Vessel: "c2"})}, 54, 5, 0, []FindingCode{FoundEmptyVessel, FoundUnknownLot}},
		{"evaporated", Movement{From: from(Portion{Vessel: "c1"}), Losses: []Loss{{LossEvaporation, M("1", "L")}}}, 53, 0, 0, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			q := newQuill(t)
			q.do(VesselNamed{Slug: "c1"}, VesselNamed{Slug: "c2"}, VesselNamed{Slug: "c3"}, LotStarted{Slug: "red"},
				Movement{How: "filling", Lot: "red", To: []Portion{{Vessel: "c1", Volume: M("54", "L")}}},
				Addition{Vessel: "c1", Product: "tartaric-acid", Amount: M("1", "g/L")}, c.m)
			s := q.fold()
			wantCodes(t, s, c.findings...)
			balance(t, s)
			for v, want := range map[string]float64{"c1": c.c1, "c2": c.c2, "c3": c.c3} {
				got := 0.0
				if p := s.In(v); p != nil {
					got = p.Volume.Litres()
				}
				near(t, v, got, want, 1e-9)
			}
			if c.name == "evaporated" {
				near(t, "acid concentrated", s.In("c1").Amount("tartaric-acid").Per(s.In("c1").Volume).GPerL(), 54./53, 1e-9)
			} else if p := s.In("c2"); p != nil && len(c.findings) == 0 && c.c2 <= 54 && c.name != "measured as it came out" {
				near(t, "acid in c2", p.Amount("tartaric-acid").Per(p.Volume).GPerL(), 1, 0.03)
			}
		})
	}
}

// The ± of a difference is the root of the sum of squares, and an emptied vessel has none.
func TestSpreadGrows(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "c1"}, VesselNamed{Slug: "c2"}, LotStarted{Slug: "red"},
		Movement{Lot: "red", To: []Portion{{Vessel: "c1", Volume: &Measure{Value: "54", Unit: "L", Spread: "0.4"}}}},
		Movement{From: []Portion{{Vessel: "c1", Volume: &Measure{Value: "20", Unit: "L", Spread: "0.3"}}}, To: []Portion{{Vessel: "c2"}}})
	s := q.fold()
	near(t, "± left", s.In("c1").Spread.Litres(), 0.5, 1e-12) // 3-4-5
	near(t, "± moved", s.In("c2").Spread.Litres(), 0.3, 1e-12)
	v, spread := s.Lot("red").Volume()
	near(t, "the lot", v.Litres(), 54, 1e-12)
	near(t, "± of the lot", spread.Litres(), math.Hypot(0.5, 0.3), 1e-12)
	q.do(Dip{Vessel: "c1", Volume: &Measure{Value: "33.5", Unit: "L", Spread: "0.1"}})
	s = q.fold()
	wantCodes(t, s)
	near(t, "± after the dip", s.In("c1").Spread.Litres(), 0.1, 1e-12)
	q.do(Dip{Vessel: "c1", Volume: &Measure{Value: "30", Unit: "L", Spread: "0.1"}})
	wantCodes(t, q.fold(), FoundVolumeOff)
	q.do(Dip{Vessel: "c1", Volume: M("0", "L")})
	if s = q.fold(); s.In("c1") != nil {
		t.Error("found empty, and it holds wine")
	}
	balance(t, s)
}

func TestBlendInPlaceAndOfThree(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	q.do(VesselNamed{Slug: "c1"}, VesselNamed{Slug: "c2"}, VesselNamed{Slug: "t1"}, LotStarted{Slug: "merlot"}, LotStarted{Slug: "syrah"}, LotStarted{Slug: "cuvée"},
		Movement{Lot: "merlot", To: []Portion{{Vessel: "c1", Volume: M("30", "L")}}},
		Movement{Lot: "syrah", To: []Portion{{Vessel: "c2", Volume: M("20", "L")}}},
		Movement{How: "blending", Becomes: "cuvée", From: []Portion{{Vessel: "c1", Volume: M("15", "L")}, {Vessel: "c2", Volume: M("5", "L")}}, To: []Portion{{Vessel: "t1"}}})
	s := q.fold()
	wantCodes(t, s)
	p := s.In("t1")
	if p.Lot != "cuvée" || p.Volume != 20 || len(p.Roots) != 2 || math.Abs(p.Roots[shareOf(p, "merlot")].Share-0.75) > 1e-12 {
		t.Errorf("%+v", p)
	}
	// The rest of the merlot joins in the tank, where it stays a cuvée; the rest of
	// the syrah makes it another wine in the same vessel: a new parcel.
	q.do(Movement{How: "blending", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "t1", Volume: M("15", "L")}}},
		LotStarted{Slug: "second"},
		Movement{How: "blending", Becomes: "second", From: []Portion{{Vessel: "c2"}}, To: []Portion{{Vessel: "t1", Volume: M("15", "L")}}})
	s = q.fold()
	wantCodes(t, s)
	balance(t, s)
	last := s.In("t1")
	if last.Lot != "second" || last.ID == p.ID || math.Abs(last.Roots[shareOf(last, "merlot")].Share-0.6) > 1e-12 || last.Volume != 50 {
		t.Errorf("%+v", last)
	}
	var shares float64
	for _, in := range last.Inflows {
		shares += in.Share
	}
	near(t, "the shares that came in", shares, 1, 1e-12)
	if old := s.Parcel(p.ID); !old.Ended() || old.Ender != last.Start {
		t.Errorf("%+v", old)
	}
	// Forward: where did the merlot of c1 go?
	d := s.Descendants(s.Vessel("c1").Parcels[0].ID)
	if len(d) != 3 || d[2].Parcel != last.ID || math.Abs(d[2].Part-0.6) > 1e-12 {
		t.Errorf("descendants %+v", d)
	}
}

func TestRackAndReturnStaysOneParcel(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	before := q.fold().In("c1")
	q.do(Movement{How: "return", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c1", Volume: M("52", "L")}}, Rest: LossLees})
	s := q.fold()
	wantCodes(t, s)
	if p := s.In("c1"); p.ID != before.ID || p.Ended() || p.Volume != 52 || len(p.Levels) != 2 {
		t.Errorf("%+v", p)
	}
	balance(t, s)
}

// Reading, verdict and culture belong to the wine: a parcel's history holds what
// happened before the split, with its share after a blend, and no more.
func TestHistory(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(VesselNamed{Slug: "x"}, LotStarted{Slug: "other"}, Movement{Lot: "other", To: []Portion{{Vessel: "x", Volume: M("10", "L")}}})
	first := q.do(Reading{Vessel: "c1", What: ReadPH, Value: M("3.40", "pH")}, ControlKept{Vessel: "c1", Volume: M("250", "mL")})
	q.do(Movement{How: "splitting", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "c2", Volume: M("20", "L")}, {Vessel: "b3"}}})
	q.days(1)
	own := q.do(Reading{Vessel: "c2", What: ReadPH, Value: M("3.41", "pH")})
	others := q.do(Reading{Vessel: "b3", What: ReadPH, Value: M("3.42", "pH")}, Reading{Vessel: "x", What: ReadPH, Value: M("3.2", "pH")})
	q.days(1)
	q.do(Movement{How: "topping", From: []Portion{{Vessel: "x", Volume: M("2", "L")}}, To: []Portion{{Vessel: "c2"}}})
	late := q.do(Reading{Vessel: "c1", What: ReadPH, Value: M("3.39", "pH"), Control: true}, Reading{Vessel: "x", What: ReadPH, Value: M("3.21", "pH")})
	s := q.fold()
	wantCodes(t, s)
	shares := map[ID]float64{}
	for _, h := range s.History(s.In("c2").ID) {
		shares[h.Entry.ID] = h.Share
	}
	for name, c := range map[string]struct {
		id   ID
		want float64
	}{
		"read before the split":           {first[0].ID, 20. / 22},
		"control kept":                    {first[1].ID, 20. / 22},
		"its own":                         {own[0].ID, 1},
		"its sister's":                    {others[0].ID, 0},
		"of what topped it, before":       {others[1].ID, 2. / 22},
		"of what topped it, after":        {late[1].ID, 0},
		"control sample, read much later": {late[0].ID, 20. / 22},
	} {
		near(t, name, shares[c.id], c.want, 1e-12)
	}
}

// A laboratory's result that comes a month late speaks of the day the sample was drawn.
func TestLateResultSpeaksOfItsSample(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	drawn := At(q.now.Add(time.Hour))
	q.days(1)
	q.do(Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2"}}})
	q.days(30)
	e := q.do(Reading{Vessel: "c1", What: ReadMalic, Value: M("1.80", "g/L"), Drawn: drawn.String(), Lab: "county"})[0]
	s := q.fold()
	wantCodes(t, s)
	r := s.Record(e.ID)
	if !r.At.Equal(drawn.Time) || len(r.Parcels) != 1 || s.Parcel(r.Parcels[0]).Vessel != "c1" {
		t.Errorf("%+v", r)
	}
	if h := s.History(s.In("b2").ID); len(h) != 3 || h[1].Entry.ID != e.ID {
		t.Errorf("it is not in the history of the wine in b2: %d", len(h))
	}
}

// Entries of one day need not be told in order; a day is not its midnight.
func TestEntriesOfOneDay(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.days(10)
	day := On(q.now)
	q.days(3) // written down later
	read := q.draft(Draft{Happened: day, Body: Reading{Vessel: "b2", What: ReadPH, Value: M("3.5", "pH")}})
	dose := q.draft(Draft{Happened: day, Body: Addition{Vessel: "b2", Product: "tartaric-acid", Amount: M("10", "g")}})
	old := q.draft(Draft{Happened: day, Body: Reading{Vessel: "c1", What: ReadPH, Value: M("3.5", "pH")}})
	evening := At(day.Time.Add(18 * time.Hour))
	q.draft(Draft{Happened: evening, Body: Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2"}}}})
	later := q.draft(Draft{Happened: day, Body: Stirring{Vessel: "c3"}})
	s := q.fold()
	wantCodes(t, s, FoundEmptyVessel)
	if s.Findings.At(0).Entries[0] != later.ID {
		t.Errorf("%+v", s.Findings.Slice())
	}
	for name, c := range map[string]struct {
		e Entry
		v string
	}{"read in the vessel it went to": {read, "b2"}, "added there": {dose, "b2"}, "read in the vessel it came from": {old, "c1"}} {
		r := s.Record(c.e.ID)
		if len(r.Parcels) != 1 || s.Parcel(r.Parcels[0]).Vessel != c.v {
			t.Errorf("%s: %v", name, r.Parcels)
		}
	}
	near(t, "acid in b2", s.In("b2").Amount("tartaric-acid").Grams(), 10, 1e-12)
	balance(t, s)
}

func TestAsOf(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	before := q.now
	q.days(5)
	q.do(VesselNamed{Slug: "later"}, LotStarted{Slug: "later-lot"}, Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b2"}}})
	knew := q.now
	q.days(5)
	wrong := q.entries[len(q.entries)-1]
	q.do(Strike{Target: wrong.ID, Reason: "it was b3"})
	q.draft(Draft{Happened: wrong.Happened, Replaces: wrong.ID, Body: Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b3"}}}})
	then := Fold(q.entries, Options{AsOf: before.Add(time.Hour)})
	if p := then.In("c1"); p == nil || p.Volume != 54 || then.Vessel("later") != nil || then.Lot("later-lot") != nil || then.Vessel("b2") == nil {
		t.Errorf("as of then: %+v", p)
	}
	known := Fold(q.entries, Options{AsOf: knew, KnownBy: knew})
	if known.In("b2") == nil || known.In("b3") != nil {
		t.Error("as it was believed then, the wine was in b2")
	}
	today := Fold(q.entries, Options{AsOf: knew})
	if today.In("b2") != nil || today.In("b3") == nil {
		t.Error("by what is known today, the wine was in b3 then")
	}
	wantCodes(t, today)
}

func TestBottles(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(Bottling{Slug: "merlot-bottles", From: []Portion{{Vessel: "c1", All: true}}, Count: 70, Size: M("750", "mL"), Losses: []Loss{{LossSpill, M("0.8", "L")}}})
	s := q.fold()
	wantCodes(t, s)
	p := s.In("merlot-bottles")
	if p.Form != FormBottle || p.Count != 70 || p.Volume != 52.5 || !s.Vessel("merlot-bottles").Bottles {
		t.Errorf("%+v", p)
	}
	q.do(Opened{Bottling: "merlot-bottles", Count: 20}, Tasting{Bottling: "merlot-bottles", Words: "still closed"}, Opened{Bottling: "merlot-bottles"})
	if p := q.fold().In("merlot-bottles"); p.Count != 49 || math.Abs(p.Volume.Litres()-36.75) > 1e-9 {
		t.Errorf("%+v", p)
	}
	q.do(Opened{Bottling: "merlot-bottles", Count: 50})
	s = q.fold()
	wantCodes(t, s, FoundOverOpened)
	balance(t, s)
	if s.In("merlot-bottles") != nil {
		t.Error("all opened, and there are bottles")
	}
}
