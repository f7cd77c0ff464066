package bench

import (
	"fmt"
	"math"

	"elevage/science/cited"
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
		{Code: "tartrate-cold", When: "cream of tartar was read under 25 °C", Mark: cited.Read, Ref: "Bates 1962",
			Text: "The tabulated pH of saturated cream of tartar begins at 25 °C; 3.557 is used below that (3.57 at 20 °C is remembered of an OIV text, unverified)."},
		{Code: "scatter", When: "the readings spread more than 0.03 (hand) or 0.01 (bench)", Mark: cited.Proposal,
			Text: "The readings scatter more than they should: fresh sample, still, at the buffers' temperature, degassed, junction clean."},
		{Code: "difference", When: "the wine was read", Mark: cited.Computed,
			Text: "A change between two separately checked sessions is less certain than either: for a difference, read wine kept back on day 0 in the same session."},
	},
	Sources: []Source{
		{Ref: "Bates 1962, J. Res. Natl. Bur. Stand. 66A:179", Used: "pH of the buffers by temperature", Mark: cited.Read},
		{Ref: "CODATA 2018", Used: "ideal slope ln 10·R·T/F, 59.16 mV per pH at 25 °C", Mark: cited.Computed},
		{Ref: "OIV-OENO 438-2011, update of OIV-MA-AS313-15", Used: "buffers bracket the wine, each ± 0.01", Mark: cited.Read},
		{Used: "limits: slope 95 to 105 % fine, 90 to 95 clean and refill, 85 to 90 service, below 85 replace; offset within 30 mV", Mark: cited.CommonPractice},
		{Used: "one reading spreads 0.03 (hand) or 0.01 (bench); session offset 0.05 or 0.03", Mark: cited.Memory},
	},
	Check: Check{Against: "Nernst slopes from CODATA and NIST buffer values, rows P1 to P6 of the reference", Mark: cited.Computed},
	Example: []string{"check_7_ph=7.03", "check_4_ph=4.05", "check_7_mv=-6", "check_4_mv=165", "temp_c=25",
		"wine_ph=3.50,3.52,3.51", "meter=hand"},
	Notes: "The correction is a straight line through the checks (an offset if there is only one). Its ± carries the scatter of one reading " +
		"at each check, ± 0.01 for the buffers, and the scatter of the wine's readings. Repeats in one session do not make the session's offset smaller; a check does.",
	Work: workPHMeterCheck,
})

// A checkPoint is one buffer read in the session.
type checkPoint struct{ shown, truly float64 }

// meterNoise is the scatter of one reading and the offset of an unchecked
// session, both SD, from memory (error budget of the practice reference).
func meterNoise(meter string) (reading, session float64) {
	if meter == "bench" {
		return 0.01, 0.03
	}
	return 0.03, 0.05
}

const bufferError = 0.01 // OIV-OENO 438-2011: buffers good to ± 0.01

func workPHMeterCheck(s *Sheet) error {
	celsius := s.Num("temp_c")
	seven := between(bufferCelsius, technicalSeven, celsius)
	if s.Choice("buffer_7") == "phosphate" {
		seven = between(bufferCelsius, phosphate, celsius)
	}
	four := between(bufferCelsius, phthalate, celsius)

	verdict := electrode(s, seven, four, celsius)
	points := checkPoints(s, seven, four)
	noise, session := meterNoise(s.Choice("meter"))
	mean, spread, n := meanSD(s.List("wine_ph"))
	if n == 0 {
		mean = 3.5 // only the worth is told, for a wine of middling pH
	}
	if n >= 2 {
		s.OutSolved("spread_ph", spread, "standard deviation of the readings", term("readings", float64(n), plain), term("mean", mean, ph))
		if spread > noise {
			s.Caution("scatter")
		}
	}
	own := noise / math.Sqrt(float64(max(n, 1)))

	if len(points) == 0 {
		s.Out("worth_ph", math.Hypot(own, session), "sqrt({scatter of the mean}^2 + {offset of an unchecked session}^2)",
			term("scatter of the mean", own, ph), term("offset of an unchecked session", session, ph))
		s.Caution("unchecked")
	} else {
		off, offError := lineThrough(points, mean, math.Hypot(noise, bufferError))
		how := "the difference in the one check"
		if len(points) > 1 {
			how = "straight line through the checks, at the wine's pH"
		}
		s.OutSolved("reads_off_ph", off, how, pointTerms(points, mean)...)
		if n > 0 {
			s.Out("corrected_ph", mean-off, "{mean of the readings} - {reads off by}", term("mean of the readings", mean, ph), term("reads off by", off, ph))
		}
		s.Out("worth_ph", math.Hypot(own, offError), "sqrt({scatter of the mean}^2 + {error of the check}^2)",
			term("scatter of the mean", own, ph), term("error of the check", offError, ph))
		if n > 0 && nearestCheck(points, mean) > 0.7 {
			s.Caution("far-from-wine")
		}
	}
	worth := s.figures["worth_ph"].num
	s.Out("so2_error_pct", (math.Pow(10, worth)-1)*100, "(10^{worth} - 1) * 100", term("worth", worth, ph))
	if n > 0 {
		s.Caution("difference")
	}
	if s.Given("check_tartrate_ph") && celsius < 25 {
		s.Caution("tartrate-cold")
	}
	if verdict == "" {
		verdict = "no millivolts given: the slope cannot be judged; " + fmt.Sprintf("a pH of this session is good to ± %s", fixed(worth, 2))
	} else {
		verdict += fmt.Sprintf("; a pH of this session is good to ± %s", fixed(worth, 2))
	}
	s.OutText("verdict", verdict)
	return nil
}

// electrode judges slope and offset from millivolts; "" if none were given.
func electrode(s *Sheet, seven, four, celsius float64) string {
	if !s.Given("check_7_mv") {
		return ""
	}
	ideal := nernst(celsius)
	s.Solved("ideal slope at this temperature", ideal, Unit{Symbol: "mV per pH"}, 2, "ln 10 × R × T / F", term("temperature", celsius, Unit{Symbol: "°C"}))
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
	return word
}

func checkPoints(s *Sheet, seven, four float64) []checkPoint {
	var points []checkPoint
	if s.Given("check_7_ph") {
		points = append(points, checkPoint{s.Num("check_7_ph"), seven})
	}
	if s.Given("check_4_ph") {
		points = append(points, checkPoint{s.Num("check_4_ph"), four})
	}
	if s.Given("check_tartrate_ph") {
		points = append(points, checkPoint{s.Num("check_tartrate_ph"), between(tartrateC, tartrate, s.Num("temp_c"))})
	}
	return points
}

func pointTerms(points []checkPoint, at float64) []Term {
	terms := []Term{term("wine", at, ph)}
	for i, p := range points {
		terms = append(terms, term(fmt.Sprintf("check %d shows", i+1), p.shown, ph), term(fmt.Sprintf("check %d truly", i+1), p.truly, ph))
	}
	return terms
}

func nearestCheck(points []checkPoint, x float64) float64 {
	near := math.Inf(1)
	for _, p := range points {
		near = min(near, math.Abs(p.truly-x))
	}
	return near
}

// lineThrough is the least-squares line of shown less true over shown, at x, and
// the standard error of that line there when each point errs by sd. One point
// gives its own difference.
func lineThrough(points []checkPoint, x, sd float64) (off, standardError float64) {
	n := float64(len(points))
	var mx, my float64
	for _, p := range points {
		mx += p.shown / n
		my += (p.shown - p.truly) / n
	}
	var sxx, sxy float64
	for _, p := range points {
		sxx += (p.shown - mx) * (p.shown - mx)
		sxy += (p.shown - mx) * (p.shown - p.truly - my)
	}
	if sxx < 1e-6 {
		return my, sd / math.Sqrt(n)
	}
	return my + sxy/sxx*(x-mx), sd * math.Sqrt(1/n+(x-mx)*(x-mx)/sxx)
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
