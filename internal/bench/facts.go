package bench

import (
	"slices"
	"strings"
)

// A Fact is something a lot's page knows and an input can be filled with. The
// page maps its own state to these; the calculators know nothing of lots.
type Fact string

// Facts of a lot, in the unit that the key of the input states.
const (
	LotVolume     Fact = "lot.volume_l"
	LotPH         Fact = "lot.ph"
	LotTA         Fact = "lot.ta_g_l"
	LotTAEndpoint Fact = "lot.ta_endpoint_ph"
	LotStrength   Fact = "lot.abv_pct"
	LotTemp       Fact = "lot.temp_c"
	LotFreeSO2    Fact = "lot.free_so2_mg_l"
	LotTotalSO2   Fact = "lot.total_so2_mg_l"
	LotMalic      Fact = "lot.malic_g_l"
	LotSugar      Fact = "lot.sugar_g_l"   // fermentable sugar left
	LotBrix       Fact = "lot.brix"        // of the must
	LotGravity    Fact = "lot.sg"          // present density, 20/20
	LotYAN        Fact = "lot.yan_mg_l"    // of the must
	LotColour     Fact = "lot.colour"      // red, white, rose
	LotMalolactic Fact = "lot.malolactic"  // wanted, finished, blocked, unknown
	LotStage      Fact = "lot.stage"       // must until alcoholic fermentation, then wine
	LotCopper     Fact = "lot.copper_mg_l" // already in the wine, by test or by ledger
	LotBinding    Fact = "lot.binding_pct" // learned share of an SO2 addition that binds
	LotPotassium  Fact = "lot.potassium_g_l"
	LotTartaric   Fact = "lot.tartaric_g_l"
	CellarPlace   Fact = "cellar.place" // whose law: us, eu, eu-organic
	LotWeight     Fact = "lot.fruit_kg"
	VesselVolume  Fact = "vessel.volume_l"
	RoomVolume    Fact = "room.volume_m3"
	RoomTemp      Fact = "room.temp_c"
	LotCalcium    Fact = "lot.calcium_mg_l"
)

// A Known is one fact as the page has it: text in the unit of the key, and its
// ± if it has one.
type Known struct {
	Value string
	Plus  string // the ±, "" if there is none
}

// Prefill is what a form opened from a lot starts with: every input whose fact
// is known. Inputs without a fact keep their declared default.
func (c *Calculator) Prefill(known map[Fact]Known) Given {
	given := Given{}
	for _, in := range c.Inputs {
		k, ok := known[in.Fill]
		if in.Fill == "" || !ok || k.Value == "" {
			continue
		}
		value := k.Value
		if in.Kind == Option {
			if value, ok = in.option(value); !ok {
				continue
			}
		}
		given[in.Key] = value
		if k.Plus != "" && in.takesPlus() {
			given[in.Key+plus] = k.Plus
		}
	}
	return given
}

// option finds a fact among an input's options: as it stands, or its first part
// where an input knows no finer one (eu for eu-organic).
func (in *Input) option(value string) (string, bool) {
	general, _, _ := strings.Cut(value, "-")
	for _, want := range []string{value, general} {
		if slices.ContainsFunc(in.Options, func(o Choice) bool { return o.Value == want }) {
			return want, true
		}
	}
	return "", false
}
