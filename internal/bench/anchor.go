package bench

import (
	"errors"

	"elevage/internal/fault"
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// inputsOfWine are what a wine is anchored on: the composition that honours pH
// and titratable acidity exactly is solved for, and everything then follows that
// wine's own buffer curve.
func inputsOfWine() []Input {
	potassium := Input{Key: "potassium_g_l", Label: "potassium", Unit: gPerL, Min: 0, Max: 5, Fill: LotPotassium,
		Help: "if a laboratory measured it; else it is taken from the charges, good to about 20 %"}
	tartaric := Input{Key: "tartaric_g_l", Label: "tartaric acid", Unit: gPerL, Min: 0, Max: 15, Fill: LotTartaric,
		Help: "if a laboratory measured it; else it is solved for"}
	return []Input{inPH(), inTA(), inEndpoint(), inStrength("12.5"), inTemperature(), tartaric, potassium}
}

// withDefault is an input with a default, for calculators that need no answer.
func (in Input) withDefault(text string) Input {
	in.Default = text
	in.Required = false
	return in
}

// required is the input with an answer demanded.
func (in Input) required() Input {
	in.Default = ""
	in.Required = true
	return in
}

// anchor solves for the wine behind the readings and shows what was found. A
// contradiction between them is the readings' fault and comes back as such.
func (s *Sheet) anchor(malic quantity.Concentration) (acidbase.Wine, error) {
	m := acidbase.Measured{
		PH: s.PH("ph"), TA: s.Concentration("ta_g_l"), EndPoint: s.PH("ta_endpoint_ph"), Malic: malic,
		Alcohol: s.Strength("abv_pct"), Temperature: s.Temperature("temp_c"),
	}
	if s.Given("tartaric_g_l") {
		m.Tartaric = acidbase.Given(s.Concentration("tartaric_g_l"))
	}
	if s.Given("potassium_g_l") {
		m.Potassium = acidbase.Given(s.Concentration("potassium_g_l"))
	}
	if s.calculator.input("calcium_mg_l") != nil && s.Given("calcium_mg_l") {
		m.Calcium = acidbase.Given(s.Concentration("calcium_mg_l"))
	}
	wine, err := acidbase.Anchor(m)
	var contradiction *acidbase.Contradiction
	if errors.As(err, &contradiction) {
		s.refusals = append(s.refusals, fault.Field{
			Name: "ta_g_l", Given: withUnit(tidy(s.Num("ta_g_l")), gPerL), Allowed: "a titratable acidity that goes with the pH and the acids given", Hint: err.Error(),
		})
		return wine, err
	}
	if err != nil {
		return wine, err
	}
	s.Solved("tartaric acid of this wine", wine.Tartaric.GPerL(), gPerL, 2,
		"from the charge balance that honours the pH and the titratable acidity exactly ("+wine.Solved.String()+")",
		s.term("ph"), s.term("ta_g_l"), s.term("ta_endpoint_ph"), term("malic acid", malic.GPerL(), gPerL), s.term("abv_pct"), s.term("temp_c"))
	s.Solved("strong-ion excess of this wine", wine.StrongIons.MmolPerL(), milliequivalent, 1,
		"charge of the cations that no acid takes back (potassium above all), less that of strong acids' anions")
	return wine, nil
}

// phAndTA are a composition's pH and its titratable acidity as tartaric acid to
// the end point of the wine it came from.
func phAndTA(c *acidbase.Composition, end quantity.PH) (quantity.PH, quantity.Concentration, error) {
	ph, err := c.PH()
	if err != nil {
		return 0, 0, err
	}
	ta, err := c.TA(end, acidbase.Tartaric)
	return ph, ta, err
}

// Sources and cautions of everything that rests on the charge balance.
var (
	sourceChargeBalance = Source{
		Ref:  "constants: NIST 46 via MINTEQA2 v4; Canovas, Shock 2016; Shock 1995; effect of ethanol: Prenesti et al. 2012, table 4; activity: Davies",
		Used: "charge balance of tartaric, malic, lactic, succinic, citric and acetic acid with a strong-ion excess, anchored on pH and titratable acidity",
		Mark: cited.Computed}
	sourceAnchorTest = Source{Ref: "Forina, Armanino, Castino, Ubigli 1986, Vitis 25:189 (178 wines)",
		Used: "how well the anchored composition predicts: tartaric acid within 0.6 g/L, pH rise of malolactic within 6 %", Mark: cited.Computed}
)
