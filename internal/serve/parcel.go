package serve

import (
	"fmt"
	"math"
	"net/url"
	"regexp"
	"slices"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
	"elevage/internal/track/gather"
	"elevage/science/quantity"
)

// parcelView is one lot in one vessel.
type parcelView struct {
	Anchor   string
	Vessel   string
	Holds    string
	Figures  []ui.Figure
	Believed *believed
	Must     *mustView
	Trade    *trade
	Before   *before
	SO2      *ui.Drawing
	SO2Says  []string
	Notices  []ui.Notice
	Acts     []ui.Act
	Bench    string
	Wine     *ui.Link // of must that does not ferment yet: what it will make
	Log      []ui.Link
}

// believed is what is thought of a parcel's conversion.
type believed struct {
	Call     string
	Reason   string
	States   ui.Drawing
	Fan      ui.Drawing
	Next     string
	NextWhy  string
	Options  ui.Table
	WhatIf   *ui.Table
	Held     *held
	Pulls    ui.Table
	Evidence []string
	Flags    []ui.Notice
	Table    string // both costs of the decision
	JudgedBy ui.Notice
}

func (s *Server) parcelOf(v *desk.View, st *desk.Standing) parcelView {
	slug := st.Vessel.Slug
	p := parcelView{
		Anchor: "v-" + slug, Vessel: st.Vessel.Title(), Holds: holds(st),
		Figures: figuresOf(v, st), Bench: "/bench?" + url.Values{"from": {slug}}.Encode(),
		Log: nextActs(st),
	}
	if st.Malo != nil {
		p.Believed = believedOf(v, st)
	}
	if st.Primary != nil {
		p.Must = mustOf(v, st)
	} else if sweet(v, st) {
		w := wineToCome(st)
		p.Wine = &w
	}
	for _, trouble := range []string{st.PrimaryTrouble, st.MaloTrouble} {
		if trouble != "" {
			p.Notices = append(p.Notices, ui.Notice{Kind: ui.Unsure, Text: trouble})
		}
	}
	if st.SO2 != nil {
		d := ui.Drawn(sulfurChart(v, st))
		p.SO2, p.SO2Says = &d, st.SO2.Summary
		for _, f := range st.SO2.Flags {
			p.Notices = append(p.Notices, ui.Notice{Kind: sulfurFlag(f.Code), Text: capital(f.Text) + ". " + capital(f.Act) + ". (" + string(f.Source.Mark) + ")"})
		}
	}
	if st.SO2Trouble != "" {
		p.Notices = append(p.Notices, ui.Notice{Kind: ui.Unsure, Text: st.SO2Trouble})
	}
	if f, ok := clockFigure(v, st); ok {
		p.Figures = append(p.Figures, f)
	}
	p.Trade = tradeOf(v, st)
	p.Before = beforeOf(v, st)
	p.Notices = append(p.Notices, risksOf(v, st)...)
	p.Acts = s.actsFor(v, st)
	if p.Believed != nil {
		p.Believed.after(firstTest(v, st))
	}
	return p
}

// sulfurFlag is how a flag of the belief about sulfur dioxide is shown: what it does
// not know, what does not fit, and what to beware of look different.
func sulfurFlag(code string) ui.NoticeKind {
	switch code {
	case "no-reading", "no-temperature", "thin-sample":
		return ui.Unsure
	case "absurd-reading", "later-reading", "read-too-soon":
		return ui.Finding
	}
	return ui.Caution
}

// nextActs are what is most often written down of a parcel, by what it is now.
func nextActs(st *desk.Standing) []ui.Link {
	slug := st.Vessel.Slug
	link := func(text, form string) ui.Link { return ui.Link{Text: text, URL: writeURL(form, slug)} }
	anything := ui.Link{Text: "Anything else", URL: "/write?vessel=" + url.QueryEscape(slug)}
	switch st.Parcel.Form {
	case cellar.FormFruit:
		return []ui.Link{link("Crush", "crush"), link("Press whole", "press"), link("Addition", "addition"), anything}
	case cellar.FormMust:
		return []ui.Link{link("Reading", "reading"), {Text: "Punching down", URL: writeURL("stirring", slug) + "&what=punch-down"}, link("Addition", "addition"), link("Press", "press"),
			{Text: "Yeast", URL: writeURL("inoculation", slug) + "&of=primary"}, anything}
	case cellar.FormBottle:
		return []ui.Link{link("Bottle opened", "opened"), link("Tasting", "tasting"), anything}
	}
	return []ui.Link{link("Reading", "reading"), link("Addition", "addition"), link("Racking", "racking"), {Text: "Stirring", URL: writeURL("stirring", slug) + "&what=lees"}, anything,
		{Text: "Starter card", URL: "/cards/starter/" + url.PathEscape(slug)}, {Text: "Bottling sheet", URL: "/cards/bottling/" + url.PathEscape(slug)}}
}

func writeURL(form, vessel string) string {
	return "/write/" + form + "?" + url.Values{"vessel": {vessel}}.Encode()
}

// holds is "52.0 ± 0.4 L in a 54 L demijohn, under the stairs".
func holds(st *desk.Standing) string {
	text := heldText(st.Lot, st.Parcel)
	in := st.Vessel.Type
	if size := st.Vessel.Size.String(); size != "" {
		in = size + " " + in
	}
	if in != "" && st.Parcel.Form != cellar.FormBottle {
		text += " in a " + in
	}
	if st.Vessel.Place != "" {
		text += ", " + st.Vessel.Place
	}
	return text
}

// heldText is how much of a parcel there is, in the way its form is counted.
func heldText(lot *cellar.Lot, p *cellar.Parcel) string {
	switch p.Form {
	case cellar.FormBottle:
		return plural(p.Count, "bottle")
	case cellar.FormFruit:
		if lot != nil && lot.Units == "us" {
			return fmt.Sprintf("%.4g lb of fruit", p.Weight.Kilograms()/kilogramsPerPound)
		}
		return fmt.Sprintf("%.4g kg of fruit", p.Weight.Kilograms())
	}
	return volumeText(lot, float64(p.Volume), float64(p.Spread))
}

const kilogramsPerPound = 0.45359237 // exact: the international pound

const litresPerUSGallon = 3.785411784 // exact: 231 cubic inches

// volumeText writes a volume in the lot's own units.
func volumeText(lot *cellar.Lot, litres, spread float64) string {
	if lot != nil && lot.Units == "us" {
		return ui.Spread(litres/litresPerUSGallon, spread/litresPerUSGallon, "US gal")
	}
	return ui.Spread(litres, spread, "L")
}

// figuresOf are the figures of a parcel: what is believed first, then what was
// read, each with its age and where it comes from.
func figuresOf(v *desk.View, st *desk.Standing) []ui.Figure {
	var out []ui.Figure
	if b := st.Malo; b != nil {
		out = append(out, ui.Figure{Name: "malic acid left", Value: b.Malic.Q50.GPerL(), Low: b.Malic.Q05.GPerL(), High: b.Malic.Q95.GPerL(),
			Unit: "g/L", Source: fmt.Sprintf("belief from %s", plural(len(b.Readings), "reading")), Main: true, Note: finishNote(b, v.Now)})
	}
	if b := st.Primary; b != nil {
		out = append(out, mustFigures(b)...)
	}
	out = append(out, readFigures(v, st)...)
	if b := st.Malo; b != nil && b.Decision.Call != track.CallFinished { // then what is read is what it is
		out = append(out,
			ui.Figure{Name: "pH when it is over", Value: float64(b.PH.End.Q50), Low: float64(b.PH.End.Q05), High: float64(b.PH.End.Q95), Unit: "pH", Source: "belief, by the wine's own buffer curve"},
			ui.Figure{Name: "TA when it is over", Value: b.TA.End.Q50.GPerL(), Low: b.TA.End.Q05.GPerL(), High: b.TA.End.Q95.GPerL(), Unit: "g/L", Source: "belief, as tartaric acid"})
	}
	if b := st.SO2; b != nil {
		out = append(out,
			ui.Figure{Name: "free SO2 today", Value: b.Free.Q50.MgPerL(), Low: b.Free.Q05.MgPerL(), High: b.Free.Q95.MgPerL(), Unit: "mg/L", Source: "belief from doses, readings and losses"},
			ui.Figure{Name: "molecular SO2 today", Value: b.Molecular.Q50.MgPerL(), Low: b.Molecular.Q05.MgPerL(), High: b.Molecular.Q95.MgPerL(), Unit: "mg/L molecular",
				Source: "by the rule " + b.Rule, Note: fmt.Sprintf("under the floor of %.2f mg/L: %s", b.Floor.MgPerL(), ui.Chance(b.Below))})
	}
	return out
}

func finishNote(b *track.Belief, now time.Time) string {
	if b.Finish.Q50 == nil {
		return fmt.Sprintf("Not over within a year: %s.", ui.Chance(b.Finish.Never))
	}
	if b.Finish.Q05 == nil || b.Finish.Q95 == nil {
		return "Likely over around " + ui.Day(b.Finish.Q50.Time, now) + ", perhaps never."
	}
	if !b.Finish.Q95.After(now) {
		return "Under the limit since about " + ui.Day(b.Finish.Q50.Time, now) + "."
	}
	return fmt.Sprintf("Likely over between %s.", ui.Days(b.Finish.Q05.Time, b.Finish.Q95.Time, now))
}

// shownReadings are read figures in the order of a page.
var shownReadings = []string{cellar.ReadPH, cellar.ReadTA, cellar.ReadFreeSO2, cellar.ReadTotalSO2, cellar.ReadTemperature, cellar.ReadAlcohol, cellar.ReadVA, cellar.ReadDensity}

func readFigures(v *desk.View, st *desk.Standing) []ui.Figure {
	var out []ui.Figure
	for _, what := range shownReadings {
		r, at, ok := gather.Latest(v.State, st.Parcel, what, v.Now)
		if !ok {
			continue
		}
		if what == cellar.ReadDensity && st.Parcel.Form != cellar.FormMust && at.Before(gather.Milestones(v.State, st.Parcel, v.Now).Dry) {
			continue // of the must that it was
		}
		readable, _ := cellar.LookupReadable(what)
		f := ui.Figure{Name: readable.Title + ", read", Text: r.Value.Value, Unit: r.Value.Unit, At: at, Now: v.Now, Keeps: keeps[what], Source: sourceOf(r)}
		if f.Unit == "SG" {
			f.Text += "\u00a0SG" // a figure names its unit, though a float has none
		}
		if since := whenRead(v, st, what, at); since != "" {
			f.Source += ", " + since
		}
		if r.Value.Spread != "" {
			f.Note = "± " + r.Value.Spread
		}
		if blendedSince(st.Parcel, at) {
			f.Source += ", before the blend"
		}
		out = append(out, f)
	}
	return out
}

// whenRead says on which day something was read that has become a thing of the past: an
// acidity of before the malic acid was gone, or of the wine before it was in bottles. ""
// where its age is enough.
func whenRead(v *desk.View, st *desk.Standing, what string, at time.Time) string {
	over := gather.Milestones(v.State, st.Parcel, v.Now).Malolactic
	if b := st.Malo; over.IsZero() && b != nil && b.Decision.Call == track.CallFinished && b.Finish.Q95 != nil {
		over = b.Finish.Q95.Time
	}
	day := ui.Day(at, v.Now)
	switch {
	case (what == cellar.ReadPH || what == cellar.ReadTA) && at.Before(over):
		return day + ", before its malic acid was gone"
	case st.Parcel.Form == cellar.FormBottle && at.Before(st.Parcel.Began):
		return day + ", before it was bottled"
	case v.Now.Sub(at) > dayBesides:
		return day
	}
	return ""
}

// dayBesides is the age from which a figure names its day too: "13 mo old" alone leaves
// open which winter. A choice of the house.
const dayBesides = 60 * 24 * time.Hour

// blendedSince says whether several wines went together into a parcel after a moment:
// what was read before was read in one of them only.
func blendedSince(p *cellar.Parcel, at time.Time) bool {
	if !at.Before(p.Began) {
		return false
	}
	began := 0
	for _, in := range p.Inflows {
		if in.Entry == p.Start {
			began++
		}
	}
	return began > 1
}

// sourceOf says how a figure was read: "titrated to 8.2 as tartaric, kit".
func sourceOf(r cellar.Reading) string {
	s := ""
	add := func(t string) {
		if t == "" {
			return
		}
		if s != "" {
			s += ", "
		}
		s += t
	}
	if r.EndPoint != "" {
		add("titrated to " + r.EndPoint)
	}
	if r.As != "" {
		add("as " + r.As + " acid")
	}
	add(r.Method)
	add(r.Instrument)
	add(r.Lab)
	if s == "" {
		return "read"
	}
	return s
}

var callWords = map[track.Call]string{
	track.CallFinished: "Finished", track.CallNotYet: "Not yet", track.CallCannotTell: "Can't tell", track.CallStalled: "Stalled",
}

func believedOf(v *desk.View, st *desk.Standing) *believed {
	b := st.Malo
	out := &believed{
		Call: callWords[b.Decision.Call], Reason: spoken(b.Decision.Reason, v.Now), Evidence: allSpoken(b.Evidence, v.Now),
		States: ui.Drawn(chart.States{ID: "states-" + st.Vessel.Slug, Title: "How it stands in " + parcelName(st), Parts: []chart.State{
			{Name: "lagging", P: b.State.Lagging}, {Name: "active", P: b.State.Active}, {Name: "stalled", P: b.State.Stalled}, {Name: "finished", P: b.State.Finished}}}),
		Fan:     ui.Drawn(malicFan(v, st)),
		Next:    nextTest(b, v.Now),
		NextWhy: spoken(b.NextTest.Reason, v.Now),
		Options: optionsTable(b, v.Now),
		Pulls:   pullsTable(b, v.Now),
		Table:   onTheTable(b, v.Prices), JudgedBy: judgedBy(v.Prices),
	}
	if len(b.WhatIf) > 0 {
		t := whatIfTable(b, v.Now)
		out.WhatIf = &t
	}
	if b.Stuck != nil {
		out.Held = heldOf(b.Stuck)
	}
	for _, f := range b.Flags {
		kind := ui.Told
		if f.Kind == "contradiction" || f.Kind == "arrival" {
			kind = ui.Finding
		}
		n := ui.Notice{Kind: kind, Text: capital(spoken(f.Message, v.Now)) + "."}
		if f.Line > 0 && f.Line <= len(st.Sources) {
			n.Link = &ui.Link{Text: "the reading", URL: "#e-" + string(st.Sources[f.Line-1])}
		}
		out.Flags = append(out.Flags, n)
	}
	return out
}

// firstTest is the test of this wine's acids that the plan asks for now, if any.
func firstTest(v *desk.View, st *desk.Standing) *advise.Act {
	for i := range v.Plan.Acts {
		a := &v.Plan.Acts[i]
		if r, ok := a.Entry.(cellar.Reading); ok && a.Parcel == st.Parcel.ID && a.Standing == advise.Due && slices.Contains(acidTests, r.What) {
			return a
		}
	}
	return nil
}

var acidTests = []string{cellar.ReadChromatogram, cellar.ReadMalic, cellar.ReadTA}

// after lets the test that the plan asks for now come first: it stands among the acts with
// its reason, and a second, later one beside it would only confuse.
func (b *believed) after(a *advise.Act) {
	if a != nil {
		b.Next, b.NextWhy = capital(a.Do)+", as it stands above", ""
	}
}

func nextTest(b *track.Belief, now time.Time) string {
	if b.NextTest.What == "" || b.NextTest.What == "none" {
		return "" // its reason says so
	}
	words := track.TestWords(b.NextTest.What)
	if b.NextTest.On == nil {
		return words
	}
	if !b.NextTest.On.After(now) {
		return words + ", today"
	}
	return words + ", on " + ui.Weekday(b.NextTest.On.Time, now)
}

func optionsTable(b *track.Belief, now time.Time) ui.Table {
	t := ui.Table{Caption: "What each test would be worth", Head: []string{"test", "best on", "cost", "minutes", "wrong call without it", "wrong call with it", "settles it"}, Numbers: []bool{false, false, true, true, true, true, true}}
	for _, o := range b.NextTest.Options {
		on := "–"
		if o.On != nil {
			on = ui.Day(o.On.Time, now)
		}
		t.Rows = append(t.Rows, []string{track.TestWords(o.What), on, trim(o.Cost), trim(o.Minutes), ui.Chance(o.WrongBefore), ui.Chance(o.WrongAfter), ui.Chance(o.Settles)})
	}
	return t
}

func whatIfTable(b *track.Belief, now time.Time) ui.Table {
	t := ui.Table{Caption: "What if, today", Head: []string{"if", "over, 1 in 2", "over, 9 in 10 between", "over in 30 days", ""}}
	for _, w := range b.WhatIf {
		mid, span := "not within a year", "–"
		if w.Finish.Q50 != nil {
			mid = dayAhead(w.Finish.Q50.Time, now)
		}
		if w.Finish.Q05 != nil {
			last := "never"
			if w.Finish.Q95 != nil {
				last = dayAhead(w.Finish.Q95.Time, now)
			}
			if span = dayAhead(w.Finish.Q05.Time, now); span != last {
				span += " – " + last
			}
		}
		t.Rows = append(t.Rows, []string{w.What, mid, span, ui.Chance(w.Within), w.Caution})
	}
	return t
}

// dayAhead is a day that may have passed: what may be over already is not promised anew.
func dayAhead(t, now time.Time) string {
	if !t.After(now) {
		return "already"
	}
	return ui.Day(t, now)
}

func pullsTable(b *track.Belief, now time.Time) ui.Table {
	t := ui.Table{Caption: "What each reading says", Head: []string{"day", "reading", "read", "expected by the others", "moves malic acid by, g/L", "finished without it"}, Numbers: []bool{false, false, true, true, true, true}}
	for _, r := range b.Readings {
		what := track.ReadingWords(r.What)
		if r.Flagged {
			what += " (contradicts)"
		}
		value := r.Value
		if r.What == track.TA || r.What == track.Malic {
			value += " g/L"
		}
		t.Rows = append(t.Rows, []string{ui.Day(r.On.Time, now), what, value, dash(r.Expected), signed(r.Shift.GPerL()), ui.Chance(r.PFinished)})
	}
	return t
}

// signed is a change with its sign, a true minus, and none where it is nothing.
func signed(by float64) string {
	switch text := fmt.Sprintf("%.2f", math.Abs(by)); {
	case text == "0.00":
		return "0.00"
	case by < 0:
		return "−" + text
	default:
		return "+" + text
	}
}

// dates are days as the belief writes them, for programs too; not the day in a tag.
var dates = regexp.MustCompile(`(^|[^-\w])(\d{4}-\d{2}-\d{2})\b`)

// spoken writes the days in a sentence as a page does: "14 Nov".
func spoken(sentence string, now time.Time) string {
	return dates.ReplaceAllStringFunc(sentence, func(found string) string {
		at := len(found) - len(time.DateOnly)
		t, err := time.ParseInLocation(time.DateOnly, found[at:], now.Location())
		if err != nil {
			return found
		}
		return found[:at] + ui.Day(t, now)
	})
}

func allSpoken(sentences []string, now time.Time) []string {
	out := make([]string, len(sentences))
	for i, s := range sentences {
		out[i] = spoken(s, now)
	}
	return out
}

func dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func trim(v float64) string {
	if v == math.Trunc(v) {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.2f", v)
}

// phOr is a pH that was read, or none.
func phOr(v float64, ok bool) quantity.PH {
	if !ok {
		return 0
	}
	return quantity.PH(v)
}
