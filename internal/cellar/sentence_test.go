package cellar

import "testing"

// Wine that moves is told as it is said in a cellar: how much, from where, to where.
func TestMovementsInWords(t *testing.T) {
	t.Parallel()
	v := func(vessel, litres string) Portion {
		if litres == "" {
			return Portion{Vessel: vessel}
		}
		return Portion{Vessel: vessel, Volume: M(litres, "L")}
	}
	all := func(vessel string) Portion { return Portion{Vessel: vessel, All: true} }
	of := func(ps ...Portion) []Portion { return ps }
	for want, b := range map[string]Body{
		"racking 21.5 L from c1 to c3":                                 Movement{How: "racking", From: of(v("c1", "")), To: of(v("c3", "21.5"))},
		"racking 21.5 L from c1 to c3, the rest to lees":               Movement{How: "racking", From: of(all("c1")), To: of(v("c3", "21.5")), Rest: LossLees},
		"racking c1 to c3, 1 L lost as lees":                           Movement{How: "racking", From: of(all("c1")), To: of(v("c3", "")), Losses: []Loss{{LossLees, M("1", "L")}}},
		"racking 20 L from c1 to c3":                                   Movement{How: "racking", From: of(v("c1", "20")), To: of(v("c3", "20"))},
		"racking 20 L from c1, 19 L of it to c3":                       Movement{How: "racking", From: of(v("c1", "20")), To: of(v("c3", "19"))},
		"racking 5 L from c1 to c3":                                    Movement{How: "racking", From: of(v("c1", "5")), To: of(v("c3", ""))},
		"moved 5 L from c1 to c3":                                      Movement{From: of(v("c1", "")), To: of(v("c3", "5"))},
		"topping c2 with 0.4 L from c3":                                Movement{How: "topping", From: of(v("c3", "0.4")), To: of(v("c2", "0.4"))},
		"topping c2 with 0.3 L from c1":                                Movement{How: "topping", From: of(v("c1", "")), To: of(v("c2", "0.3"))},
		"topping c2 from c3":                                           Movement{How: "topping", From: of(v("c3", "")), To: of(v("c2", ""))},
		"topping c2 with 0.4 L from c3 and 1 L from j1":                Movement{How: "topping", From: of(v("c3", "0.4"), v("j1", "1")), To: of(v("c2", "1.4"))},
		"splitting c1: 12 L to b3, 8 L to c3":                          Movement{How: "splitting", From: of(v("c1", "")), To: of(v("b3", "12"), v("c3", "8"))},
		"blending 20 L from b2 and all of c1 into c3":                  Movement{How: "blending", From: of(v("b2", "20"), all("c1")), To: of(v("c3", ""))},
		"blending all of b2 and all of c1 into c3, 40 L":               Movement{How: "blending", From: of(all("b2"), all("c1")), To: of(v("c3", "40"))},
		"blending b2 and c1: 30 L to c3, 9 L to j1":                    Movement{How: "blending", From: of(v("b2", ""), v("c1", "")), To: of(v("c3", "30"), v("j1", "9"))},
		"filling c3 with 22 L of lot merlot":                           Movement{How: "filling", Lot: "merlot", To: of(v("c3", "22"))},
		"filling lot merlot: 22 L into c3, 5 L into j1":                Movement{How: "filling", Lot: "merlot", To: of(v("c3", "22"), v("j1", "5"))},
		"removal of 0.3 L from c1, lost as spill":                      Movement{How: "removal", From: of(v("c1", "0.3")), Losses: []Loss{{LossSpill, M("0.3", "L")}}},
		"removal of 1 L from c1, 0.2 L lost as spill – given":          Movement{How: "removal", From: of(v("c1", "1")), Losses: []Loss{{LossSpill, M("0.2", "L")}}, Words: "given"},
		"removal of c1":                                                Movement{How: "removal", From: of(all("c1"))},
		"saignée of 10 L from b2 to c3, as lot rosé":                   Movement{How: "saignée", From: of(v("b2", "")), To: of(v("c3", "10")), Becomes: "rosé"},
		"return of 52 L from c1 to c1":                                 Movement{How: "return", From: of(v("c1", "")), To: of(v("c1", "52"))},
		"pressed bin1: 54 L to c3 (free run), 12 L to c4 (hard press)": Press{From: of(all("bin1")), To: of(Portion{Vessel: "c3", Volume: M("54", "L"), Part: "free run"}, Portion{Vessel: "c4", Volume: M("12", "L"), Part: "hard press"})},
		"drained bin1: 40 L to c3":                                     Press{From: of(v("bin1", "")), To: of(v("c3", "40")), Drained: true},
		"crushed bin1 where it stood: 90 L, destemmed":                 Crush{Lot: "m", From: of(v("bin1", "")), To: of(v("bin1", "90")), Destemmed: "all"},
		"crushed bin1 and bin2: 90 L into t1":                          Crush{Lot: "m", From: of(v("bin1", ""), v("bin2", "")), To: of(v("t1", "90"))},
		"crushed lot m: 90 L into t1":                                  Crush{Lot: "m", To: of(v("t1", "90"))},
		"pressed bin1 at once: 60 L into t1":                           Crush{Lot: "m", From: of(v("bin1", "")), To: of(v("t1", "60")), Juice: true},
		"bottled c1: 29 × 750 mL":                                      Bottling{From: of(all("c1")), Count: 29, Size: M("750", "mL")},
		"bottled 22 L from c1: 29 × 750 mL – cork":                     Bottling{From: of(v("c1", "22")), Count: 29, Size: M("750", "mL"), Closure: "cork"},
		"topping c2 with 0.4 L":                                        Movement{How: "topping", To: of(v("c2", "0.4"))}, // as it is planned
		"topping c2":                                                   Movement{How: "topping", To: of(v("c2", ""))},
	} {
		if got := Says(b); got != want {
			t.Errorf("told as %q, want %q", got, want)
		}
	}
}
