package bench

import (
	"math"

	"elevage/science/cited"
	"elevage/science/electrode"
	"elevage/science/quantity"
)

var _ = declare(Calculator{
	Name:     "ph-meter-check",
	Title:    "pH meter check",
	Purpose:  "slope and offset of the electrode, and what this session's readings are worth",
	Question: Measured,
	Inputs: []Input{
		{Key: "check_7_ph", Label: "shown in the pH 7 buffer", Unit: ph, Min: 5, Max: 9, Exact: true},
		{Key: "check_4_ph", Label: "shown in the pH 4 buffer", Unit: ph, Min: 2, Max: 6, Exact: true},
		{Key: "check_tartrate_ph", Label: "shown in saturated cream of tartar", Unit: ph, Min: 2, Max: 5, Exact: true,
			Help: "potassium hydrogen tartrate shaken in water until crystals stay: pH 3.557 at 25 °C"},
		{Key: "check_7_mv", Label: "millivolts in the pH 7 buffer", Unit: millivolt, Min: -200, Max: 200, Exact: true},
		{Key: "check_4_mv", Label: "millivolts in the pH 4 buffer", Unit: millivolt, Min: -100, Max: 500, Exact: true},
		{Key: "buffer_7", Label: "the pH 7 buffer is", Kind: Option, Default: "technical",
			Options: []Choice{{"technical", "7.00 at 25 °C (technical)"}, {"phosphate", "6.865 at 25 °C (equimolal phosphate)"}}},
		{Key: "temp_c", Label: "temperature of the buffers", Unit: celsius, Min: 0, Max: 40, Default: "25", Exact: true},
		{Key: "wine_ph", Label: "readings of the wine in this session", Kind: List, Unit: ph, Min: 2, Max: 5, MinRows: 1, MaxRows: 50},
		{Key: "meter", Label: "meter", Kind: Option, Default: "hand", Options: []Choice{{"hand", "hand meter"}, {"bench", "bench meter"}}},
	},
	Groups: []Group{
		{AllOrNone, []string{"check_7_mv", "check_4_mv"}},
		{AtLeastOne, []string{"check_7_ph", "check_4_ph", "check_tartrate_ph", "check_7_mv", "wine_ph"}},
	},
	Outputs: []Output{
		{Key: "slope_pct", Label: "slope, of the ideal", Unit: percent, Decimals: 1, Optional: true},
		{Key: "offset_mv", Label: "offset in the pH 7 buffer", Unit: millivolt, Decimals: 1, Optional: true},
		{Key: "reads_off_ph", Label: "reads off by (shown less true)", Unit: ph, Decimals: 3, Optional: true},
		{Key: "corrected_ph", Label: "wine, corrected by the check", Unit: ph, Decimals: 3, Optional: true},
		{Key: "spread_ph", Label: "spread of the readings (SD)", Unit: ph, Decimals: 3, Optional: true},
		{Key: "worth_ph", Label: "worth: ± of the pH of this session (SD)", Unit: ph, Decimals: 3},
		{Key: "so2_error_pct", Label: "that moves molecular SO2 by", Unit: percent, Decimals: 0},
		{Key: "verdict", Label: "verdict", Kind: Text},
	},
	Cautions: []Warning{
		{Code: "unchecked", When: "no buffer was read in this session", Mark: cited.Memory,
			Text: "Without a check the session's own offset is unknown: 0.05 for a hand meter, 0.03 for a bench meter, drifting 0.01 to 0.02 a day. Read a buffer, or saturated cream of tartar, which costs pennies."},
		{Code: "poor-electrode", When: "slope under 90 % or offset over 30 mV", Mark: cited.CommonPractice,
			Text: "Do not dose sulfur dioxide on this pH before the electrode is cleaned, refilled or replaced."},
		{Code: "far-from-wine", When: "the wine was read, but no check lies within 0.7 pH of it", Mark: cited.Proposal,
			Text: "The check is far from the wine's pH, so an error of the slope goes into it: read the pH 4 buffer or cream of tartar too."},
		{Code: "tartrate-cold", When: "cream of tartar was read under 25 °C", Mark: cited.Computed,
			Text: "The tabulated pH of saturated cream of tartar begins at 25 °C; below, 3.557 + 0.0034 a degree is computed, good to about 0.02."},
		{Code: "scatter", When: "the readings spread more than such a meter's own noise", Mark: cited.Proposal,
			Text: "The readings scatter more than they should: fresh sample, still, at the buffers' temperature, degassed, junction clean."},
		{Code: "difference", When: "the wine was read", Mark: cited.Computed,
			Text: "A change between two separately checked sessions is less certain than either: for a difference, read wine kept back on day 0 in the same session."},
	},
	Sources: []Source{
		{Ref: "Bates 1962, J. Res. Natl. Bur. Stand. 66A:179", Used: "pH of the buffers by temperature", Mark: cited.Read},
		{Ref: "CODATA 2018", Used: "ideal slope ln 10·R·T/F, 59.16 mV per pH at 25 °C", Mark: cited.Computed},
		{Ref: "OIV-OENO 438-2011, update of OIV-MA-AS313-15", Used: "buffers bracket the wine, each ± 0.01", Mark: cited.Read},
		{Used: "limits: slope 95 to 105 % fine, 90 to 95 clean and refill, 85 to 90 service, below 85 replace; offset within 30 mV", Mark: cited.CommonPractice},
		{Used: "beforehand: offset ± 0.05 (hand) or 0.03 (bench), slope ± 2 or 1 %, one reading ± 0.02 or 0.01", Mark: cited.Proposal},
	},
	Check: Check{Against: "Nernst slopes from CODATA and NIST buffer values as tabulated after Bates 1962", Mark: cited.Computed},
	Example: []string{"check_7_ph=7.03", "check_4_ph=4.05", "check_7_mv=-6", "check_4_mv=165", "temp_c=25",
		"wine_ph=3.50,3.52,3.51", "meter=hand"},
	Notes: "The checks are weighed with what is known of such a meter beforehand (offset ± 0.05 and slope ± 2 % for a hand meter), since a check is itself a reading; " +
		"so a little less than the difference seen in a buffer is taken off. Repeats in one session do not make the session's offset smaller; a check does.",
	Work: workPHMeterCheck,
})

// meters is what is known of a meter before it is checked.
var meters = map[string]electrode.Meter{
	"hand":  electrode.Usual(),
	"bench": {Offset: 0.03, Slope: 0.01, Noise: 0.01, Buffer: 0.01}, // from memory, no publication
}

func workPHMeterCheck(s *Sheet) error {
	verdict, err := s.electrode()
	if err != nil {
		return err
	}
	meter := meters[s.Choice("meter")]
	checks := s.checksRead()
	session, err := meter.Judge(checks)
	if err != nil {
		return err
	}
	mean, spread, n := meanSD(s.List("wine_ph"))
	if n == 0 {
		mean = 3.5 // only the worth is told, for a wine of middling pH
	} else {
		s.Caution("difference")
	}
	if n >= 2 {
		s.OutSolved("spread_ph", spread, "standard deviation of the readings", term("readings", float64(n), plain), term("mean", mean, ph))
		if spread > float64(meter.Noise) {
			s.Caution("scatter")
		}
	}
	truly, one := session.True(quantity.PH(mean))
	s.Solved("offset of this session at pH 7", float64(session.Offset), ph, 3, "least squares of the checks with what is known of such a meter",
		term("offset beforehand ±", float64(meter.Offset), ph), term("slope beforehand ±", meter.Slope, plain), term("checks", float64(len(checks)), plain))
	s.Solved("slope of this session, of the ideal", session.Slope*100, percent, 1, "the same fit")
	if len(checks) > 0 {
		s.Out("reads_off_ph", mean-float64(truly), "{shown} - {what it means by the fit}", term("shown", mean, ph), term("what it means by the fit", float64(truly), ph))
		if n > 0 {
			s.OutSolved("corrected_ph", float64(truly), "7 + (shown − 7 − offset) / slope", term("shown", mean, ph),
				term("offset", float64(session.Offset), ph), term("slope", session.Slope, plain))
		}
		if n > 0 && gapToCheck(checks, mean) > 0.7 {
			s.Caution("far-from-wine")
		}
	} else {
		s.Caution("unchecked")
	}
	noise := float64(meter.Noise)
	worth := math.Sqrt(float64(one)*float64(one) - noise*noise + noise*noise/float64(max(n, 1)))
	s.Out("worth_ph", worth, "sqrt({one reading ±}^2 - {scatter of one}^2 + {scatter of one}^2 / {readings})",
		term("one reading ±", float64(one), ph), term("scatter of one", noise, ph), term("readings", float64(max(n, 1)), plain))
	s.Out("so2_error_pct", (math.Pow(10, worth)-1)*100, "(10^{worth} - 1) * 100", term("worth", worth, ph))
	if s.Given("check_tartrate_ph") && s.Num("temp_c") < 25 {
		s.Caution("tartrate-cold")
	}
	s.OutText("verdict", verdict+"; a pH of this session is good to ± "+fixed(worth, 2))
	return nil
}

func (s *Sheet) checksRead() []electrode.Check {
	var checks []electrode.Check
	for _, c := range []struct {
		key    string
		buffer electrode.Buffer
	}{{"check_7_ph", s.seven()}, {"check_4_ph", electrode.Phthalate}, {"check_tartrate_ph", electrode.Tartrate}} {
		if s.Given(c.key) {
			checks = append(checks, electrode.Check{Buffer: c.buffer, Shown: s.PH(c.key), Temperature: s.Temperature("temp_c")})
		}
	}
	return checks
}

func (s *Sheet) seven() electrode.Buffer {
	if s.Choice("buffer_7") == "phosphate" {
		return electrode.Phosphate
	}
	return electrode.Technical700
}

// electrode judges slope and offset from millivolts, in words.
func (s *Sheet) electrode() (string, error) {
	if !s.Given("check_7_mv") {
		return "no millivolts given, so the electrode cannot be judged", nil
	}
	celsius := s.Temperature("temp_c")
	bufferSeven, err := s.seven().PH(celsius)
	if err != nil {
		return "", err
	}
	bufferFour, err := electrode.Phthalate.PH(celsius)
	if err != nil {
		return "", err
	}
	seven, four, ideal := float64(bufferSeven), float64(bufferFour), float64(electrode.Slope(celsius))
	s.Solved("ideal slope at this temperature", ideal, Unit{Symbol: "mV per pH"}, 2, "ln 10 × R × T / F", s.term("temp_c"))
	slope := (s.Num("check_4_mv") - s.Num("check_7_mv")) / (seven - four) / ideal * 100
	s.Out("slope_pct", slope, "({millivolts in the pH 4 buffer} - {millivolts in the pH 7 buffer}) / ({pH 7 buffer} - {pH 4 buffer}) / {ideal slope} * 100",
		s.term("check_4_mv"), s.term("check_7_mv"), constant("pH 7 buffer", seven, ph, "Bates 1962, at this temperature"),
		constant("pH 4 buffer", four, ph, "Bates 1962, at this temperature"), term("ideal slope", ideal, plain))
	offset := s.Num("check_7_mv")
	s.OutSolved("offset_mv", offset, "the millivolts in the pH 7 buffer; a new electrode shows 0", s.term("check_7_mv"))
	if slope < 90 || math.Abs(offset) > 30 {
		s.Caution("poor-electrode")
	}
	word := "fine"
	switch {
	case slope < 85:
		word = "replace the electrode"
	case slope < 90:
		word = "service the electrode"
	case slope < 95:
		word = "clean and refill the electrode"
	case slope > 105:
		word = "a slope over 105 % is no electrode's: look at the buffers and at their order"
	case math.Abs(offset) > 30:
		word = "the offset is large: clean, refill, or replace"
	}
	return word, nil
}

// gapToCheck is how far the nearest check lies from the wine.
func gapToCheck(checks []electrode.Check, x float64) float64 {
	gap := math.Inf(1)
	for _, c := range checks {
		gap = min(gap, math.Abs(float64(c.Shown)-x))
	}
	return gap
}

// meanSD is the mean, the sample standard deviation and the count.
func meanSD(xs []float64) (mean, sd float64, n int) {
	n = len(xs)
	if n == 0 {
		return 0, 0, 0
	}
	for _, x := range xs {
		mean += x / float64(n)
	}
	for _, x := range xs {
		sd += (x - mean) * (x - mean)
	}
	if n > 1 {
		sd = math.Sqrt(sd / float64(n-1))
	}
	return mean, sd, n
}
