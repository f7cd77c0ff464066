package advise

import (
	"sort"
	"strings"

	"elevage/internal/bench"
	"elevage/science/cited"
)

// A Caution goes with an act. Local codes and licensed practice decide; none of
// this is medical advice.
type Caution struct {
	Code string     `json:"code"`
	Text string     `json:"text"`
	Ref  string     `json:"ref,omitempty"`
	Mark cited.Mark `json:"mark"`
}

// cautions are those that steps name; what a calculator of the bench warns of
// comes with its result.
var cautions = func() map[string]Caution {
	index := map[string]Caution{}
	for _, c := range []Caution{
		{Code: "co2", Text: "Carbon dioxide gathers low and has no smell: air the room from the floor, keep a carbon dioxide alarm there, never lean into a vessel, no rescue without air. Local rules decide.", Ref: "limits 5,000 ppm for 8 hours, 40,000 ppm immediately dangerous: NIOSH IDLH 124389, 1994", Mark: cited.Read},
		{Code: "so2-gas", Text: "Sulfite and acid give off sulfur dioxide gas, which irritates and can set off asthma: powder into water and not the reverse, moving air, goggles, gloves; somebody with asthma leaves it to another. Local rules decide.", Ref: "short-term limit 5 ppm: NIOSH IDLH 7446095, 1994", Mark: cited.Read},
		{Code: "solvent", Text: "The chromatography solvent burns and its fumes harm; its acid burns skin and eyes: moving air, no flame, gloves, goggles.", Ref: "Cornell, Malolactic fermentation part 3", Mark: cited.Read},
		{Code: "lye", Text: "Sodium hydroxide burns eyes and skin: goggles, gloves, lye into water, water for the eyes at hand.", Mark: cited.CommonPractice},
		{Code: "lift", Text: "A full 23 L carboy weighs about 29 kg: two people or a pump, dry floor; a demijohn never by hand. Pump the wine, not the glass.", Ref: "weight from memory; 23 kg is the ideal limit of the NIOSH lifting equation", Mark: cited.Memory},
		{Code: "glass", Text: "Glass under vacuum, pressure or hot water breaks: no hot water into carboys, vacuum only in vessels made for it.", Mark: cited.CommonPractice},
		{Code: "va-with-sugar", Text: "Bacteria that find sugar make volatile acidity: watch density and smell daily.", Mark: cited.CommonPractice},
		{Code: "sulfur-smoke", Text: "Burn sulfur outdoors only, away from wine, rubber and straw, and never in a barrel that smells of spirit: the vapour explodes.", Mark: cited.CommonPractice},
		{Code: "caustic", Text: "Caustic cleaners burn: goggles, gloves, into water, never on aluminium; rinse and neutralise before wine.", Mark: cited.CommonPractice},
		{Code: "peracid", Text: "Peracid vapour harms; mix it with no other product and follow its label.", Mark: cited.CommonPractice},
		{Code: "hot", Text: "Hot wine, water and steam burn; a closed vessel in a hot bath can burst.", Mark: cited.CommonPractice},
		{Code: "gas", Text: "Inert gas and dry ice take the air's place: open the room, never a closed vessel with dry ice in it.", Mark: cited.CommonPractice},
		{Code: "refermentation", Text: "Bottles with sugar or malic acid and live microbes can ferment again and burst: do not bottle, or filter sterile; suspect bottles are opened cold, with goggles and gloves.", Mark: cited.CommonPractice},
		{Code: "allergen", Text: "Egg, milk, fish and wheat products leave allergens: write them on the label and tell guests; sulfites from 10 mg/L too. The authority's text decides.", Ref: "EU: sulfites from 10 mg/L; US: 10 ppm", Mark: cited.Read},
		{Code: "no-sorbate", Text: "No sorbate in a wine that may hold lactic bacteria: the geranium smell has no remedy.", Mark: cited.CommonPractice},
		{Code: "no-sulfite-now", Text: "From here until the end is shown: no sulfur dioxide, sorbate, lysozyme or chill, and topping only with wine low in total SO2.", Mark: cited.CommonPractice},
		{Code: "copper", Text: "Copper is limited by law and stays in the wine: bench trial first, least dose, not in the week before bottling.", Ref: "limits 0.5 mg/L US, 1 mg/L EU", Mark: cited.Memory},
		{Code: "corking", Text: "Closing levers and filling heads injure hands and eyes: goggles where glass is under pressure or vacuum; a broken bottle in the filler stops the run.", Mark: cited.CommonPractice},
		{Code: "household-limit", Text: "Home production is limited in many places (US federal: 100 gallons a year for one adult in the household, 200 for two or more). The law of the place decides.", Ref: "27 CFR 24.75", Mark: cited.Read},
	} {
		index[c.Code] = c
	}
	return index
}()

func cautionCodes() string {
	codes := make([]string, 0, len(cautions))
	for c := range cautions {
		codes = append(codes, c)
	}
	sort.Strings(codes)
	return strings.Join(codes, ", ")
}

// fromNotice takes a caution of the bench over.
func fromNotice(n bench.Notice) Caution {
	t := n.Text
	if n.Detail != "" {
		t += " " + n.Detail
	}
	return Caution{Code: n.Code, Text: t, Ref: n.Ref, Mark: n.Mark}
}
