package primary

import (
	"fmt"
	"math"

	"elevage/science/cited"
	"elevage/science/gas"
	"elevage/science/primary"
	"elevage/science/quantity"
)

// flags lists what a person should know before acting.
func (ft *fitted) flags(b Belief, in Input) []Flag {
	out := ft.dataFlags(b, in)
	out = append(out, ft.dangerFlags(b, in)...)
	if b.States[Dry] > 0.5 && !tested(in) {
		out = append(out, Flag{Code: "not-shown-dry", Text: "no chemical sugar test: a float cannot show dryness, 1 g/L of sugar moves it by 0.0004",
			Act: "one sugar test before SO2 or bottling", Source: cited.Source{Text: "dry is glucose and fructose under 1 g/L, by reducing sugar 2 (Purdue FS-56-W); flat float and one test is common practice", Mark: cited.CommonPractice}})
	}
	if ft.poor {
		out = append(out, Flag{Code: "thin-sample", Text: "the readings fit this way of fermenting badly; the intervals are rough", Act: "check instrument and dates, or read again",
			Source: cited.Source{Text: "effective sample size of the belief", Mark: cited.Computed}})
	}
	return out
}

func tested(in Input) bool {
	for _, r := range in.Readings {
		if (r.What == SugarTest || r.What == SugarEnzyme) && !r.At.After(in.At) {
			return true
		}
	}
	return false
}

func (ft *fitted) dataFlags(b Belief, in Input) []Flag {
	var out []Flag
	if len(ft.runs.data) == 0 {
		out = append(out, Flag{Code: "no-reading", Text: "no reading is on record: all of this is prior knowledge", Act: "read the density",
			Source: cited.Source{Text: "must analysis alone forecasts poorly (222 ferments, Fermentation 2025, 11:4)", Mark: cited.Read}})
	}
	for _, l := range b.Looks {
		if l.Absurd {
			out = append(out, Flag{Code: "absurd-reading", Entry: l.ID, Text: fmt.Sprintf("the %s of %s reads %s where about %s was expected; it was given little weight", l.What, day(l.At), number(l.What, l.Value), number(l.What, l.Expected)),
				Act: "degas, strain, check the vessel and the float, read again", Source: cited.Source{Text: "more than five of its own scatters off", Mark: cited.Proposal}})
		}
	}
	for _, i := range ft.runs.late {
		r := in.Readings[i]
		out = append(out, Flag{Code: "later-reading", Entry: r.ID, Text: "the reading of " + day(r.At) + " lies after the day asked about and was left out", Act: "check its date", Source: cited.Source{Text: "the record", Mark: cited.Computed}})
	}
	if len(in.Warmth) == 0 {
		out = append(out, Flag{Code: "no-temperature", Text: fmt.Sprintf("no temperature is on record; %.0f °C was assumed", in.assumed().Celsius()), Act: "note the temperature with each density", Source: cited.Source{Text: "assumption of this program", Mark: cited.Proposal}})
	}
	gassy := false
	for _, r := range in.Readings {
		gassy = gassy || (!r.Degassed && (r.What == Gravity || r.What == Brix) && r.At.After(in.Pitched))
	}
	if gassy {
		out = append(out, Flag{Code: "gassy-float", Text: "readings of gassy must: bubbles lift the float, they count for less", Act: "degas by pouring ten times or warming", Source: cited.Source{Text: "0.4 Brix against 0.1 degassed", Mark: cited.Memory}})
	}
	for _, t := range in.Warmth {
		if !t.At.After(in.At) && (t.Value > primary.Hottest || t.Value < primary.Coldest) {
			out = append(out, Flag{Code: "extrapolated", Text: fmt.Sprintf("%.0f °C lies outside the 11 to 35 °C of the law", t.Value.Celsius()), Source: primary.ColemanSource})
			break
		}
	}
	return out
}

func (ft *fitted) dangerFlags(b Belief, in Input) []Flag {
	var out []Flag
	if b.Gas.Now.Q50.LitresPerHour() > 0.5 {
		out = append(out, Flag{Code: "co2", Text: fmt.Sprintf("it gives off about %.0f L CO2 an hour (up to %.0f); %.0f m³ of outside air an hour keep a well-mixed room at %.0f ppm", b.Gas.Now.Q50.LitresPerHour(), b.Gas.Now.Q95.LitresPerHour(), math.Ceil(b.Gas.Air.CubicMetresPerHour()), float64(gas.CO2Shift.PPM)),
			Act:    "air at the floor, a working CO2 monitor (a candle is none), never lean into a bin, never alone in a pit, no rescue without air. Local codes decide",
			Source: gas.CO2Shift.Source})
	}
	temp := in.warmth()(ft.runs.now)
	if temp > 32 {
		out = append(out, Flag{Code: "hot", Text: fmt.Sprintf("the liquid is at %.0f °C", temp.Celsius()), Act: "cool now: closed bottles of ice counted in and out, smaller bins", Source: cited.Source{Text: "yeast dies above 35 °C", Mark: cited.Memory}})
	} else if rise := b.Heat.RiseADay.Q50; temp+quantity.Temperature(rise) > 35 && rise > 3 {
		out = append(out, Flag{Code: "heating", Text: fmt.Sprintf("if no heat escaped it would warm by %.0f °C a day from %.0f °C; in a vessel of %.0f L part of that leaves by itself", rise, temp.Celsius(), in.Volume.Litres()), Act: "look again within hours, have ice ready", Source: primary.HeatPerGram.Source})
	}
	if in.Tolerance > 0 && b.Final.Q50 > in.Tolerance-1 {
		out = append(out, Flag{Code: "tolerance", Text: fmt.Sprintf("it would come to %.1f %% vol; the yeast's sheet says %.1f", b.Final.Q50.Percent(), in.Tolerance.Percent()), Act: "keep it warm enough and unstressed; a tolerant yeast if it slows", Source: cited.Source{Text: "tolerance at least predicted alcohol + 1 % vol", Mark: cited.CommonPractice}})
	}
	for _, d := range in.Nutrients {
		h := d.At.Sub(in.Pitched).Hours()
		gone := ft.each(func(p *particle) float64 { return 1 - p.path.At(math.Max(0, h))/p.lot.sugar })
		if gone[len(gone)/2] > 2./3 {
			out = append(out, Flag{Code: "late-nutrient", Text: "nitrogen on " + day(d.At) + " comes after two thirds of the sugar: useless to the yeast, food for others", Act: "leave it out", Source: cited.Source{Text: "nothing after two thirds", Mark: cited.CommonPractice}})
		}
	}
	if b.Sticks > 0.2 && b.States[Dry] < 0.5 {
		out = append(out, Flag{Code: "may-stick", Text: fmt.Sprintf("it does not come dry in %s of cases as it is run now", percent(b.Sticks)), Act: "confirm (degas, strain, second float), then warm to 20 to 24 °C and stir the lees; see the causes", Source: cited.Source{Text: "order of action after the university guides (UC Davis); limit of 20 % ours", Mark: cited.Proposal}})
	}
	return out
}

func number(w What, v float64) string {
	switch w {
	case Gravity, Brix, Float:
		return fmt.Sprintf("%.4f", v)
	}
	return fmt.Sprintf("%.1f", v)
}
