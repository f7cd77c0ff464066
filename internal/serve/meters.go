package serve

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/science/electrode"
	"elevage/science/quantity"
)

// winePH is the pH for which a meter's error is told: a middling wine's.
const winePH = quantity.PH(3.5)

// metersPage is each pH meter's history: how it was set, what its checks say of it at the
// pH of wine, how it drifts, and what a check before reading buys.
func (s *Server) metersPage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	var meters []*cellar.Instrument
	for _, i := range v.State.Instruments {
		if i.Type == "ph-meter" && !i.Gone {
			meters = append(meters, i)
		}
	}
	view := sheetsView{Do: []ui.Link{{Text: "Write a check", URL: "/write/check"}, {Text: "Write a calibration", URL: "/write/calibration"}, {Text: "A standard from the kitchen", URL: "/guides/cream-of-tartar"},
		{Text: "Weigh a check on the bench", URL: "/bench/ph-meter-check"}, {Text: "Readings in doubt", URL: "/doubts"}}}
	for _, i := range meters {
		view.Parts = append(view.Parts, meterPart(v, i, len(meters) == 1))
	}
	if len(meters) == 0 {
		view.Says = []string{"No pH meter was named yet. Name it, so that its checks and its readings know each other."}
		view.Do = append([]ui.Link{{Text: "Name an instrument", URL: "/write/instrument"}}, view.Do...)
	}
	worth, err := checkWorth()
	if err != nil {
		return err
	}
	view.Parts = append(view.Parts, sheetPart{Head: "What a check before reading buys", Tables: []ui.Table{worth},
		Says: []string{"For a hand meter set some weeks ago: offset ± 0.05, slope ± 2 %, one reading ± 0.02, buffers ± 0.01 (a proposal of this project). A cream of tartar costs pennies and lies where wine is; wine kept back on day 0 beats them all for a difference, since the meter's error is in both."}})
	return s.sheets(w, r, http.StatusOK, "pH meters", "How they were set, what their checks say, and how far a reading can be trusted.", view)
}

// checkBuffers are the solutions behind the buffers that a check is written down with.
var checkBuffers = map[string]electrode.Buffer{"7.00": electrode.Technical700, "6.86": electrode.Phosphate, "4.01": electrode.Phthalate, "3.56": electrode.Tartrate}

// A metered session is what was read in buffers on one occasion.
type metered struct {
	at     time.Time
	checks []electrode.Check
	says   []string
	near   bool    // a buffer near wine was among them
	off    float64 // shown less true, at winePH
	sd     float64
}

func meterPart(v *desk.View, i *cellar.Instrument, alone bool) sheetPart {
	part := sheetPart{ID: "i-" + i.Slug, Head: instrumentName(i)}
	zone := v.Now.Location()
	set := ui.Table{Caption: "How it was set", Head: []string{"day", "by", "slope", "offset", "passed", ""}}
	var sessions []metered
	var calibrated time.Time
	byKey := map[string]int{}
	for _, rec := range v.State.Records.All() {
		if !rec.Counts() {
			continue
		}
		switch b := rec.Body.(type) {
		case cellar.Calibration:
			if b.Instrument == i.Slug {
				calibrated = rec.At
				set.Rows = append(set.Rows, []string{ui.Day(rec.At.In(zone), v.Now), strings.Join(b.Points, ", "), dash(b.Slope.String()), dash(strings.Replace(b.Offset.String(), "-", "−", 1)), dash(b.Passed), b.Words})
			}
		case cellar.PHCheck:
			buffer, known := checkBuffers[b.Buffer]
			shown, err := cellar.ParseNumber(b.Read)
			if !known || err != nil || b.Instrument != i.Slug && (b.Instrument != "" || !alone) {
				continue
			}
			warm := quantity.Celsius(25)
			if t, err := b.Warm.Temperature(); err == nil && !b.Warm.IsZero() {
				warm = t
			}
			key := b.SessionKey(rec.At)
			at, ok := byKey[key]
			if !ok {
				at = len(sessions)
				byKey[key] = at
				sessions = append(sessions, metered{at: rec.At})
			}
			one := &sessions[at]
			one.checks = append(one.checks, electrode.Check{Buffer: buffer, Shown: quantity.PH(shown), Temperature: warm})
			one.near = one.near || buffer != electrode.Technical700 && buffer != electrode.Phosphate
			one.says = append(one.says, b.Buffer+" as "+b.Read)
		}
	}
	read := ui.Table{Caption: "What its checks say, at pH 3.5", Head: []string{"day", "read", "reads off by", "±", "slope, of the ideal"}, Numbers: []bool{false, false, true, true, true}}
	var good []metered
	for _, one := range slices.Backward(sessions) {
		fit, err := electrode.Usual().Judge(one.checks)
		if err != nil {
			read.Rows = append(read.Rows, []string{ui.Day(one.at.In(zone), v.Now), strings.Join(one.says, ", "), "–", "–", "cannot be meant: " + err.Error()})
			continue
		}
		truly, sd := fit.True(winePH)
		one.off, one.sd = float64(winePH-truly), float64(sd)
		slope := "not seen"
		if one.near {
			slope = fmt.Sprintf("%.0f ± %.0f %%", 100*fit.Slope, 100*fit.SlopeSD)
		}
		read.Rows = append(read.Rows, []string{ui.Day(one.at.In(zone), v.Now), strings.Join(one.says, ", "), signed(one.off), fmt.Sprintf("%.2f", one.sd), slope})
		good = append(good, one)
	}
	slices.Reverse(good)
	part.Tables = []ui.Table{read, set}
	part.Says = append(part.Says, lastChecked(v, good, calibrated), drifts(good, calibrated))
	return part
}

func lastChecked(v *desk.View, sessions []metered, calibrated time.Time) string {
	says := "Never calibrated on record. "
	if !calibrated.IsZero() {
		says = "Last calibrated " + ui.Day(calibrated.In(v.Now.Location()), v.Now) + ". "
	}
	if len(sessions) == 0 {
		return says + "Never checked on record: a wine's pH is believed as far as such meters usually go."
	}
	last := sessions[len(sessions)-1]
	return says + fmt.Sprintf("Last checked %s: at pH 3.5 it read off by %s, and a reading of that session is good to ± %.2f.", ui.Day(last.at.In(v.Now.Location()), v.Now), signed(last.off), last.sd)
}

// fewestForDrift are the sessions, and shortestDrift the days, that a drift is told from. A
// choice of the house.
const (
	fewestForDrift = 3
	shortestDrift  = 7 // days
)

// drifts is how a meter's error at the pH of wine moves since it was set: the slope of a
// straight line, by least squares, with its standard error from the scatter about it.
func drifts(all []metered, calibrated time.Time) string {
	var x, y []float64
	var first time.Time
	near := false
	for _, one := range all {
		if one.at.Before(calibrated) {
			continue
		}
		if first.IsZero() {
			first = one.at
		}
		near = near || one.near
		x, y = append(x, one.at.Sub(first).Hours()/24), append(y, one.off)
	}
	n := float64(len(x))
	if len(x) < fewestForDrift || x[len(x)-1] < shortestDrift {
		return "Its drift cannot be told yet: three checked sessions over a week or more would show it. A hand meter is said to drift by 0.01 to 0.02 a day (from memory, unverified)."
	}
	var mx, my, sxx, sxy, rest float64
	for i := range x {
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	for i := range x {
		sxx, sxy = sxx+(x[i]-mx)*(x[i]-mx), sxy+(x[i]-mx)*(y[i]-my)
	}
	a := sxy / sxx
	for i := range x {
		e := y[i] - my - a*(x[i]-mx)
		rest += e * e
	}
	se := math.Sqrt(rest / (n - 2) / sxx)
	const week = 7
	since := "Since then"
	if calibrated.IsZero() {
		since = "Since its first check"
	}
	says := fmt.Sprintf("%s it drifts by %+.3f a week (± %.3f), over %s in %.0f days.", since, week*a, week*se, plural(len(x), "checked session"), x[len(x)-1])
	if !near {
		says += " That is its offset: a buffer near 7 shows nothing of its slope, on which a wine's pH hangs as much. Check it in 4.01 or cream of tartar too."
	}
	return strings.Replace(says, "by -", "by −", 1)
}

// checkWorth is what a pH of wine is worth after one or another check: the spread of one
// reading, of the change between two sessions, and what that does to molecular SO2.
func checkWorth() (ui.Table, error) {
	t := ui.Table{Caption: "One reading of a wine near pH 3.5", Head: []string{"checked in", "± of one reading", "± of a change between two sessions", "moves molecular SO2 by"}, Numbers: []bool{false, true, true, true}}
	at := func(buffers ...electrode.Buffer) ([]electrode.Check, error) {
		var out []electrode.Check
		for _, b := range buffers {
			ph, err := b.PH(quantity.Celsius(25))
			if err != nil {
				return nil, err
			}
			out = append(out, electrode.Check{Buffer: b, Shown: ph, Temperature: quantity.Celsius(25)})
		}
		return out, nil
	}
	for _, row := range []struct {
		name    string
		buffers []electrode.Buffer
	}{
		{"nothing", nil},
		{"7.00", []electrode.Buffer{electrode.Technical700}},
		{"7.00 and 4.01", []electrode.Buffer{electrode.Technical700, electrode.Phthalate}},
		{"cream of tartar", []electrode.Buffer{electrode.Tartrate}},
		{"7.00 and cream of tartar", []electrode.Buffer{electrode.Technical700, electrode.Tartrate}},
	} {
		checks, err := at(row.buffers...)
		if err != nil {
			return t, err
		}
		fit, err := electrode.Usual().Judge(checks)
		if err != nil {
			return t, err
		}
		_, sd := fit.True(winePH)
		t.Rows = append(t.Rows, []string{row.name, fmt.Sprintf("%.3f", float64(sd)), fmt.Sprintf("%.3f", math.Sqrt2*float64(sd)), fmt.Sprintf("%.0f %%", 100*(math.Pow(10, float64(sd))-1))})
	}
	return t, nil
}
