package bench

import (
	"elevage/science/acidbase"
	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "double-salt",
	Title:    "Double-salt deacidification, in outline",
	Purpose:  "which part of a very sour must to treat so that tartaric and malic acid leave together",
	Question: HowMuch,
	Inputs: append(inputsOfWine(),
		inMalic().required(), inTargetTA().required(), inVolume("of the whole must"),
	),
	Outputs: []Output{
		{Key: "portion_l", Label: "treat this much of it", Unit: litre, Decimals: 2},
		{Key: "carbonate_g", Label: "calcium carbonate into that portion", Unit: gram, Decimals: 1},
		{Key: "treated_ph", Label: "pH of the portion when done", Unit: ph, Decimals: 2},
		{Key: "ph_after", Label: "pH of the whole, mixed again", Unit: ph, Decimals: 2},
		{Key: "tartaric_off_g_l", Label: "tartaric acid taken off the whole", Unit: gPerL, Decimals: 2},
		{Key: "malic_off_g_l", Label: "malic acid taken off the whole", Unit: gPerL, Decimals: 2},
	},
	Cautions: []Warning{
		{Code: "outline", When: "always", Mark: cited.Read, Ref: "Steele, Kunkee 1978, Am J Enol Vitic 29:153, abstract",
			Text: "An outline: the acids do not leave in exactly equal amounts, though the fall of the acidity came out well. Filter or settle the portion before it goes back, measure, then decide on more."},
		{Code: "into-carbonate", When: "always", Mark: cited.CommonPractice,
			Text: "Pour the must into the wetted carbonate, not the reverse, stirring: it foams, and the salt forms only while the liquid is above pH 4.5."},
		{Code: "calcium-later", When: "always", Mark: cited.Memory, Text: "Calcium that stays can fall as tartrate months later: for must, not for wine near bottling."},
	},
	Sources: []Source{
		sourceChargeBalance,
		{Ref: "Steele, Kunkee 1978, Am J Enol Vitic 29:153, abstract", Used: "acids leave in not exactly equal amounts", Mark: cited.Read},
		{Used: "the double salt forms above pH 4.5", Mark: cited.Memory},
	},
	Check:   Check{Against: "stoichiometry of one half mole each of tartaric and malic acid for a mole of carbonate", Mark: cited.Computed},
	Example: []string{"ph=2.95", "ta_g_l=13", "abv_pct=0", "malic_g_l=6", "tartaric_g_l=6.5", "target_ta_g_l=9", "volume_l=100"},
	Work:    workDoubleSalt,
})

func workDoubleSalt(s *Sheet) error {
	wine, err := s.anchor(s.Concentration("malic_g_l"))
	if err != nil {
		return err
	}
	plan, err := wine.PlanDoubleSalt(s.Concentration("target_ta_g_l"), wine.EndPoint, acidbase.Tartaric)
	if err != nil {
		return err
	}
	after, err := plan.Blend.PH()
	if err != nil {
		return err
	}
	volume := s.Volume("volume_l")
	s.Solved("share to treat", plan.Portion*100, percent, 1, "the share at which treated and untreated must together come to the acidity wanted", s.term("target_ta_g_l"))
	s.Out("portion_l", plan.Portion*volume.Litres(), "{share to treat} / 100 * {volume}", term("share to treat", plan.Portion*100, percent), s.term("volume_l"))
	s.Out("carbonate_g", plan.CalciumCarbonate.In(volume).Grams(), "{calcium carbonate per litre of the whole} * {volume}",
		term("calcium carbonate per litre of the whole", plan.CalciumCarbonate.GPerL(), gPerL), s.term("volume_l"))
	s.OutSolved("treated_ph", float64(plan.TreatedPH), "charge balance of the portion with 95 % of the scarcer acid gone, and as many moles of the other")
	s.OutSolved("ph_after", float64(after), "charge balance of both mixed again")
	s.OutSolved("tartaric_off_g_l", plan.Tartaric.GPerL(), "half a mole for each mole of carbonate")
	s.OutSolved("malic_off_g_l", plan.Malic.GPerL(), "half a mole for each mole of carbonate")
	s.Caution("outline")
	s.Caution("into-carbonate")
	s.Caution("calcium-later")
	return nil
}
