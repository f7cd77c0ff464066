package bench

import (
	"errors"
	"fmt"

	"elevage/internal/fault"
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "blend",
	Title:    "Blend of two or more lots",
	Purpose:  "what a blend comes to: what mixes by volume is summed, the pH is solved",
	Question: Becomes,
	Inputs: []Input{
		{Key: "parts", Label: "parts", Kind: Table, MinRows: 2, MaxRows: 20, Required: true, Columns: []Input{
			{Key: "lot", Label: "lot", Kind: Text, Required: true},
			{Key: "volume_l", Label: "volume", Unit: litre, Min: 0.001, Max: 1e6, Required: true, Help: wineNotVessel},
			inPH(), inTA(),
			inStrength("12.5"),
			inMalic().withDefault("0"),
			{Key: "sugar_g_l", Label: "sugar left", Unit: gPerL, Min: 0, Max: 300, Fill: LotSugar},
			{Key: "va_g_l", Label: "volatile acidity", Unit: gPerL, Min: 0, Max: 10, Help: "as acetic acid"},
			{Key: "free_so2_mg_l", Label: "free SO2", Unit: mgPerL, Min: 0, Max: 500, Fill: LotFreeSO2},
			{Key: "total_so2_mg_l", Label: "total SO2", Unit: mgPerL, Min: 0, Max: 1000, Fill: LotTotalSO2},
		}},
		inEndpoint(), inTemperature(),
	},
	Outputs: []Output{
		{Key: "volume_l", Label: "volume", Unit: litre, Decimals: 2},
		{Key: "ph", Label: "pH", Unit: ph, Decimals: 2},
		{Key: "ph_averaged", Label: "the pH that averaging would claim", Unit: ph, Decimals: 2},
		{Key: "ta_g_l", Label: "titratable acidity", Unit: gPerL, Decimals: 2},
		{Key: "abv_pct", Label: "alcohol", Unit: percentVol, Decimals: 2},
		{Key: "malic_g_l", Label: "malic acid", Unit: gPerL, Decimals: 2},
		{Key: "sugar_g_l", Label: "sugar", Unit: gPerL, Decimals: 1, Optional: true},
		{Key: "va_g_l", Label: "volatile acidity", Unit: gPerL, Decimals: 2, Optional: true},
		{Key: "total_so2_mg_l", Label: "total SO2", Unit: mgPerL, Decimals: 0, Optional: true},
		{Key: "shares", Label: "shares", Kind: Table, Columns: []Output{
			{Key: "lot", Label: "lot", Kind: Text}, {Key: "volume_l", Label: "volume", Unit: litre, Decimals: 2}, {Key: "share_pct", Label: "share", Unit: percent, Decimals: 1},
		}},
	},
	Cautions: []Warning{
		{Code: "not-linear", When: "always", Mark: cited.CommonPractice,
			Text: "Free and molecular SO2, cold and heat stability, colour and taste do not average: mix, wait a day, measure; hold the made blend one to two weeks and test it before bottling."},
		{Code: "unfinished-malic", When: "a part holds 0.1 g/L malic acid or more and another holds none", Mark: cited.CommonPractice,
			Text: "A part with malic acid brings it, and its bacteria, into the others."},
		{Code: "sugar-in", When: "a part holds 1 g/L sugar or more", Mark: cited.Read, Ref: "Butzke, Purdue Extension FS-56",
			Text: "Sugar from a part can ferment again: over 1 g/L is not dry, and spoilage yeast grows on 0.2 g/L."},
		{Code: "va-high", When: "volatile acidity over 1.2 g/L in the blend", Mark: cited.Read, Ref: "27 CFR 4.21(a)(1)(iv), 2019 edition: red 1.4, other 1.2 g/L; UK SI 2011/2936 for the EU: 1.20 red, 1.08 white",
			Text: "The volatile acidity is over or near the legal limits."},
		{Code: "worst-part", When: "a part has 0.3 g/L more volatile acidity than the blend's other wine", Mark: cited.CommonPractice,
			Text: "Dirty and clean make dirty: the microbes come with the wine."},
		{Code: "wide-ph", When: "the parts differ by more than 0.4 pH", Mark: cited.Computed,
			Text: "Wines of very different pH: their unmeasured acids matter more, and the solved pH is good to about 0.03 beyond the meters' error."},
		{Code: "label", When: "always", Mark: cited.Memory,
			Text: "Variety, vintage and origin on a label follow the shares (United States 75 % for a variety, European Union 85 %, from memory): verify."},
	},
	Sources: []Source{
		sourceChargeBalance, sourceAnchorTest,
		{Used: "acids, strong ions, alcohol, sugar, volatile acidity and total SO2 add up by volume; contraction between wines is below 0.1 %", Mark: cited.CommonPractice},
	},
	Check:   Check{Against: "conservation: a wine blended with itself stays, hydrogen ions of two strong solutions balance; alligation by hand", Mark: cited.Computed},
	Example: []string{"parts=c1,40,3.75,5.2,13.5,0,0.5,0.45,20,80;c2,14,3.30,7.0,12.0,1.2,0.4,0.35,25,60", "ta_endpoint_ph=8.2"},
	Notes:   "Each part is anchored on its own pH and acidity; the compositions are mixed and the pH of the mixture is solved.",
	Work:    workBlend,
})

func workBlend(s *Sheet) error {
	rows := s.Rows("parts")
	parts := make([]acidbase.Part, len(rows))
	end := s.PH("ta_endpoint_ph")
	for i, row := range rows {
		wine, err := s.anchorRow(i, row, end)
		if err != nil {
			return err
		}
		parts[i] = acidbase.Part{Composition: wine.Composition, Volume: row.Volume("volume_l")}
		s.Solved("tartaric acid of "+row.Choice("lot"), wine.Tartaric.GPerL(), gPerL, 2, "from its own pH and acidity ("+wine.Solved.String()+")",
			term("pH", row.Num("ph"), ph), term("titratable acidity", row.Num("ta_g_l"), gPerL), term("malic acid", row.Num("malic_g_l"), gPerL))
	}
	if s.Refused() {
		return nil
	}
	whole, volume, err := acidbase.Mix(parts...)
	if err != nil {
		return err
	}
	phWhole, ta, err := phAndTA(&whole, end)
	if err != nil {
		return err
	}
	s.blendSums(rows, volume)
	s.OutSolved("ph", float64(phWhole), "charge balance of the mixed acids and strong ions", term("strong-ion excess", whole.StrongIons.MmolPerL(), milliequivalent))
	s.OutSolved("ta_g_l", ta.GPerL(), "lye that brings the blend to the end point, as tartaric acid", s.term("ta_endpoint_ph"))
	s.blendCautions(rows)
	return nil
}

// anchorRow solves for one part; readings that exclude each other are that row's.
func (s *Sheet) anchorRow(i int, row Row, end quantity.PH) (acidbase.Wine, error) {
	wine, err := acidbase.Anchor(acidbase.Measured{
		PH: row.PH("ph"), TA: row.Concentration("ta_g_l"), EndPoint: end, Malic: row.Concentration("malic_g_l"),
		Alcohol: row.Strength("abv_pct"), Temperature: s.Temperature("temp_c"),
	})
	var contradiction *acidbase.Contradiction
	if errors.As(err, &contradiction) {
		s.refusals = append(s.refusals, fault.Field{
			Name: fmt.Sprintf("parts[%d].ta_g_l", i+1), Given: withUnit(tidy(row.Num("ta_g_l")), gPerL),
			Allowed: "a titratable acidity that goes with the pH and the malic acid", Hint: err.Error(),
		})
		return wine, nil
	}
	return wine, err
}

// blendSums puts out what adds up by volume. A sum with an unknown part is left
// out rather than guessed.
func (s *Sheet) blendSums(rows []Row, volume quantity.Volume) {
	table := make([]map[string]any, len(rows))
	formula, terms := "", []Term{}
	for i, row := range rows {
		table[i] = map[string]any{"lot": row.Choice("lot"), "volume_l": row.Num("volume_l"), "share_pct": row.Num("volume_l") / volume.Litres() * 100}
		name := fmt.Sprintf("volume %d", i+1)
		formula += " + {" + name + "}"
		terms = append(terms, term(name, row.Num("volume_l"), litre))
	}
	s.Out("volume_l", volume.Litres(), formula[3:], terms...)
	s.OutRows("shares", table)
	for _, sum := range []struct{ from, to string }{
		{"ph", "ph_averaged"}, {"abv_pct", "abv_pct"}, {"malic_g_l", "malic_g_l"}, {"sugar_g_l", "sugar_g_l"}, {"va_g_l", "va_g_l"}, {"total_so2_mg_l", "total_so2_mg_l"},
	} {
		total, known := 0.0, true
		formula, terms := "", []Term{term("volume", volume.Litres(), litre)}
		for i, row := range rows {
			known = known && row.Has(sum.from)
			total += row.Num("volume_l") * row.Num(sum.from)
			v, x := fmt.Sprintf("volume %d", i+1), fmt.Sprintf("value %d", i+1)
			formula += " + {" + v + "} * {" + x + "}"
			terms = append(terms, term(v, row.Num("volume_l"), litre), term(x, row.Num(sum.from), plain))
		}
		if known {
			s.Out(sum.to, total/volume.Litres(), "("+formula[3:]+") / {volume}", terms...)
		}
	}
}

func (s *Sheet) blendCautions(rows []Row) {
	low, high := rows[0], rows[0]
	var withMalic, withoutMalic, sugar, va bool
	mostVA, leastVA := 0.0, 100.0
	for _, row := range rows {
		if row.Num("ph") < low.Num("ph") {
			low = row
		}
		if row.Num("ph") > high.Num("ph") {
			high = row
		}
		if row.Num("malic_g_l") >= 0.1 {
			withMalic = true
		} else {
			withoutMalic = true
		}
		sugar = sugar || row.Num("sugar_g_l") >= 1
		if row.Given("va_g_l") {
			va = true
			mostVA, leastVA = max(mostVA, row.Num("va_g_l")), min(leastVA, row.Num("va_g_l"))
		}
	}
	if withMalic && withoutMalic {
		s.Caution("unfinished-malic")
	}
	if sugar {
		s.Caution("sugar-in")
	}
	if f := s.figures["va_g_l"]; f != nil && f.num > 1.2 {
		s.Caution("va-high")
	}
	if va && mostVA-leastVA > 0.3 {
		s.Caution("worst-part")
	}
	if high.Num("ph")-low.Num("ph") > 0.4 {
		s.Caution("wide-ph", "%s against %s.", fixed(low.Num("ph"), 2), fixed(high.Num("ph"), 2))
	}
	s.Caution("not-linear")
	s.Caution("label")
}
