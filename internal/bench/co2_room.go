package bench

import (
	"fmt"

	"elevage/science/cited"
	"elevage/science/gas"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "co2-room",
	Title:    "Carbon dioxide in the room",
	Purpose:  "the gas that all ferments in a room give off, the air it needs, and how soon it is dangerous",
	Question: Safe,
	Inputs: []Input{
		{Key: "ferments", Label: "ferments", Kind: Table, MinRows: 1, MaxRows: 60, Required: true, Columns: []Input{
			{Key: "lot", Label: "lot", Kind: Text, Required: true},
			{Key: "volume_l", Label: "must", Unit: litre, Min: 0.1, Max: 1e6, Required: true},
			{Key: "sugar_g_l", Label: "sugar that ferments", Unit: gPerL, Min: 0, Max: 400, Required: true, Help: "in the days beside it"},
			{Key: "days", Label: "in days", Unit: day, Min: 0.5, Max: 365, Required: true, Exact: true},
		}},
		{Key: "room_m3", Label: "room", Unit: cubicMetre, Min: 0.5, Max: 1e6, Required: true, Fill: RoomVolume, Exact: true},
		{Key: "air_m3_h", Label: "outside air let in", Unit: m3PerHour, Min: 0, Max: 1e6, Default: "0", Exact: true, Help: "0 for a closed room"},
		{Key: "temp_c", Label: "temperature of the room", Unit: celsius, Min: 0, Max: 40, Default: "20", Fill: RoomTemp},
		{Key: "peak", Label: "peak over the mean", Min: 1, Max: 5, Default: "3", Exact: true, Help: "a ferment peaks at two to three times its mean"},
	},
	Outputs: []Output{
		{Key: "co2_l_h", Label: "gas, mean of all ferments", Unit: litrePerHour, Decimals: 1},
		{Key: "co2_peak_l_h", Label: "gas, if all peak together", Unit: litrePerHour, Decimals: 1},
		{Key: "air_needed_m3_h", Label: "outside air to stay at 5000 ppm, mean", Unit: m3PerHour, Decimals: 1},
		{Key: "air_needed_peak_m3_h", Label: "outside air to stay at 5000 ppm, peak", Unit: m3PerHour, Decimals: 1},
		{Key: "hours_to_5000", Label: "5000 ppm (8 h limit) at the peak after, hours", Decimals: 1, Optional: true},
		{Key: "hours_to_40000", Label: "40 000 ppm (immediate danger) at the peak after, hours", Decimals: 1, Optional: true},
		{Key: "after_8_h_ppm", Label: "after 8 hours at the mean", Unit: ppm, Decimals: 0},
		{Key: "oxygen_pct", Label: "oxygen then", Unit: percent, Decimals: 1},
		{Key: "all_gas_m3", Label: "gas in all", Unit: cubicMetre, Decimals: 2},
		{Key: "shares", Label: "from each", Kind: Table, Columns: []Output{
			{Key: "lot", Label: "lot", Kind: Text}, {Key: "co2_l_h", Label: "gas, mean", Unit: litrePerHour, Decimals: 1},
		}},
	},
	Cautions: []Warning{
		cautionCO2,
		{Code: "deadly", When: "40 000 ppm is reached at the peak", Mark: cited.SecondHand, Ref: "NIOSH IDLH 124389, 1994",
			Text: "At the peak this room becomes immediately dangerous to life. Nobody enters without air and an alarm; nobody goes in after somebody who has fallen without breathing air of their own."},
		{Code: "too-little-air", When: "less air than the mean needs", Mark: cited.Computed, Text: "The air let in does not keep the room under 5000 ppm even on average."},
		{Code: "layers", When: "always", Mark: cited.CommonPractice,
			Text: "These figures take well-mixed air; the gas lies at the floor, in pits and on stairs, where there is far more. Treat them as the least."},
		{Code: "no-oxygen-meter", When: "always", Mark: cited.Computed, Text: "At 40 000 ppm oxygen is still 20.1 %: an oxygen meter does not warn of carbon dioxide."},
	},
	Sources: []Source{
		{Used: "0.4886 g carbon dioxide per g sugar; ideal gas", Mark: cited.Computed},
		{Used: "Q = G/(C − C0), C0 420 ppm; well-mixed room from fresh air", Mark: cited.Computed},
		{Ref: "29 CFR 1910.1000 Table Z-1; OSHA 1989 PEL project", Used: "5000 ppm over 8 h; 30 000 ppm over 15 min", Mark: cited.SecondHand},
		{Ref: "NIOSH IDLH 124389 (1994)", Used: "40 000 ppm immediately dangerous", Mark: cited.SecondHand},
		{Used: "peak two to three times the mean", Mark: cited.Memory},
	},
	Check:   Check{Against: "worked by hand from stoichiometry, mass balance and dilution", Mark: cited.Computed},
	Example: []string{"ferments=c1,100,240,7;c2,60,220,9", "room_m3=40"},
	Notes:   "Guides only: local codes and licensed practice decide.",
	Work:    workCO2Room,
})

func workCO2Room(s *Sheet) error {
	temp := s.Temperature("temp_c")
	var mean quantity.Flow
	var mass quantity.Mass
	rows := s.Rows("ferments")
	table := make([]map[string]any, len(rows))
	sum, terms := "", []Term{}
	for i, row := range rows {
		rate := row.Num("sugar_g_l") / row.Num("days")
		flow, err := gas.Ferment{Must: row.Volume("volume_l"), Rate: quantity.Rate(rate) * quantity.GramPerLitreDay}.Flow(temp, quantity.Atmosphere)
		if err != nil {
			return err
		}
		mean += flow
		mass += gas.FromHexose(row.Concentration("sugar_g_l")).In(row.Volume("volume_l"))
		table[i] = map[string]any{"lot": row.Choice("lot"), "co2_l_h": flow.LitresPerHour()}
		name := fmt.Sprintf("gas of %d", i+1)
		sum += " + {" + name + "}"
		terms = append(terms, term(name, flow.LitresPerHour(), litrePerHour))
		s.Solved("gas of "+row.Choice("lot"), flow.LitresPerHour(), litrePerHour, 1, "must × sugar a day × 0.4886 g/g, as gas at the room's temperature",
			term("must", row.Num("volume_l"), litre), term("sugar a day", rate, gPerL), s.term("temp_c"))
	}
	s.OutRows("shares", table)
	s.Out("co2_l_h", mean.LitresPerHour(), sum[3:], terms...)
	peak := mean * quantity.Flow(s.Num("peak"))
	s.Out("co2_peak_l_h", peak.LitresPerHour(), "{mean} * {peak over the mean}", term("mean", mean.LitresPerHour(), litrePerHour), s.term("peak"))
	all, err := gas.Volume(mass, temp, quantity.Atmosphere)
	if err != nil {
		return err
	}
	s.OutSolved("all_gas_m3", all.Litres()/1000, "all the sugar × 0.4886 g/g, as gas")
	limit := gas.CO2Shift.PPM
	for _, need := range []struct {
		key  string
		flow quantity.Flow
	}{{"air_needed_m3_h", mean}, {"air_needed_peak_m3_h", peak}} {
		air, err := gas.OutsideAir(need.flow, limit)
		if err != nil {
			return err
		}
		s.Out(need.key, air.CubicMetresPerHour(), "{gas} / 1000 / (({limit} - {outside}) / 1000000)",
			term("gas", need.flow.LitresPerHour(), litrePerHour), term("limit", float64(limit), ppm), term("outside", float64(gas.Fresh), ppm))
	}
	return s.roomFills(mean, peak)
}

// roomFills follows the room from fresh air.
func (s *Sheet) roomFills(mean, peak quantity.Flow) error {
	room := gas.Room{Volume: s.Volume("room_m3"), Air: quantity.Flow(s.Num("air_m3_h")) * quantity.CubicMetrePerHour}
	for _, mark := range []struct {
		key   string
		limit gas.ExposureLimit
	}{{"hours_to_5000", gas.CO2Shift}, {"hours_to_40000", gas.CO2Danger}} {
		hours, reached, err := room.Until(peak, mark.limit.PPM)
		if err != nil {
			return err
		}
		if !reached {
			continue
		}
		s.OutSolved(mark.key, hours, "well-mixed room from fresh air, at the peak", s.term("room_m3"), s.term("air_m3_h"))
		if mark.limit == gas.CO2Danger {
			s.Caution("deadly")
		}
	}
	after, err := room.After(mean, 8)
	if err != nil {
		return err
	}
	s.OutSolved("after_8_h_ppm", float64(after), "well-mixed room from fresh air, at the mean", s.term("room_m3"), s.term("air_m3_h"))
	s.Out("oxygen_pct", gas.Oxygen(after).Percent(), "20.95 * (1 - {carbon dioxide} / 1000000)", term("carbon dioxide", float64(after), ppm))
	if need := s.figures["air_needed_m3_h"].num; s.Num("air_m3_h") < need {
		s.Caution("too-little-air")
	}
	s.Caution("carbon-dioxide")
	s.Caution("layers")
	s.Caution("no-oxygen-meter")
	return nil
}
