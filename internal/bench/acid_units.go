package bench

import (
	"elevage/science/cited"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "acid-units",
	Title:    "Acidity in other units",
	Purpose:  "titratable or volatile acidity from one acid, or from equivalents, to another",
	Question: Measured,
	Inputs: []Input{
		{Key: "amount", Label: "acidity", Min: 0, Max: 1000, Required: true, Help: "g/L as the acid below, or meq/L"},
		inAcidUnit("from", "given as", "sulfuric"), inAcidUnit("to", "wanted as", "tartaric"),
	},
	Outputs: []Output{
		{Key: "converted", Label: "in the unit wanted", Decimals: 3},
		{Key: "in_words", Label: "that is", Kind: Text},
		{Key: "table", Label: "in every unit", Kind: Table, Columns: []Output{
			{Key: "unit", Label: "as", Kind: Text}, {Key: "value", Label: "acidity", Decimals: 2},
		}},
	},
	Cautions: []Warning{
		{Code: "end-point", When: "always", Mark: cited.Read, Ref: "OIV-MA-AS313-01; AWRI, Acid analysis",
			Text: "This changes the unit only. An acidity titrated to 7.0 (European Union) and one to 8.2 (United States, Australia) are different measurements and are not converted."},
	},
	Sources: []Source{{Used: "grams per equivalent by molar mass: tartaric 75.04, malic 67.04, lactic 90.08, succinic 59.04, citric 64.04, acetic 60.05, sulfuric 49.04", Mark: cited.Computed}},
	Check:   Check{Against: "stoichiometry by hand from IUPAC atomic weights; limits printed in both units: OIV code II.3.1.1.1, UK SI 2011/2936", Mark: cited.Computed},
	Example: []string{"amount=3.92", "from=sulfuric", "to=tartaric"},
	Work:    workAcidUnits,
})

func inAcidUnit(key, label, fallback string) Input {
	in := inAcid(key, label)
	in.Default = fallback
	in.Options = append(in.Options, Choice{"meq", "milliequivalents a litre"})
	return in
}

func workAcidUnits(s *Sheet) error {
	var meq quantity.Molarity
	if from := s.Choice("from"); from == "meq" {
		meq = quantity.Molarity(s.Num("amount")) * quantity.MillimolPerLitre
		s.Solved("equivalents", meq.MmolPerL(), milliequivalent, 2, "as given")
	} else {
		acid := acids[from]
		meq = acid.Equivalents(quantity.Concentration(s.Num("amount")))
		s.Step("equivalents", meq.MmolPerL(), milliequivalent, 2, "{acidity} / {g per equivalent of "+acid.String()+"} * 1000",
			s.term("amount"), term("g per equivalent of "+acid.String(), perEquivalent(acid), plain))
	}
	in := func(unit string) float64 {
		if unit == "meq" {
			return meq.MmolPerL()
		}
		return acids[unit].FromEquivalents(meq).GPerL()
	}
	to := s.Choice("to")
	result := in(to)
	if to == "meq" {
		s.OutSolved("converted", result, "the equivalents themselves")
		s.OutText("in_words", fixed(result, 1)+" meq/L")
	} else {
		name := acids[to].String()
		s.Out("converted", result, "{equivalents} / 1000 * {g per equivalent of "+name+"}", term("equivalents", meq.MmolPerL(), milliequivalent), term("g per equivalent of "+name, perEquivalent(acids[to]), plain))
		s.OutText("in_words", fixed(result, 2)+" g/L as "+name)
	}
	rows := make([]map[string]any, 0, len(s.calculator.input("to").Options))
	for _, o := range s.calculator.input("to").Options {
		rows = append(rows, map[string]any{"unit": o.Label, "value": in(o.Value)})
	}
	s.OutRows("table", rows)
	s.Caution("end-point")
	return nil
}
