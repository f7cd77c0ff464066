package serve

import (
	"fmt"
	"net/url"
	"strings"
	"unicode"
	"unicode/utf8"

	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/internal/track/gather"
	"elevage/internal/track/primary"
	"elevage/science/strength"
)

// mustView is what is believed of a primary fermentation.
type mustView struct {
	States, Fan ui.Drawing
	Says        []string
	Flags       []ui.Notice
	Slow        *slowView
	Wine        ui.Link  // what it will make, corrected or not
	Bacteria    *ui.Link // of must that is to convert: when and how to give them
}

// slowView is what holds a ferment back, and what can be done.
type slowView struct {
	Says         string
	Causes, Ways *ui.Table
	Caveat       string
	Rescue       ui.Link
}

func slowOf(v *desk.View, st *desk.Standing) *slowView {
	d := st.Slow
	if d == nil {
		return nil
	}
	out := &slowView{Says: fmt.Sprintf("As it is run now, it does not come dry with a chance of %s.", ui.Chance(d.Sticks)), Caveat: d.Caveat,
		Rescue: ui.Link{Text: "Yeast, volumes and timetable of a rescue culture", URL: "/bench/rescue-culture?" + url.Values{"from": {st.Vessel.Slug}}.Encode()}}
	if len(d.Causes) > 0 {
		out.Causes = &ui.Table{Caption: "The same ferment without each, from the start", Head: []string{"without", "not dry", "dry sooner by, days", "", "from"}, Numbers: []bool{false, true, true, false, false}}
		for _, c := range d.Causes {
			text := sentence(c.Words)
			if c.Act != "" {
				text += " " + sentence(c.Act)
			}
			out.Causes.Rows = append(out.Causes.Rows, []string{c.Name, ui.Chance(c.Sticks), fmt.Sprintf("%.1f", float64(c.Days)), text, string(c.Source.Mark)})
		}
	} else {
		out.Says += " Nothing that was logged explains it."
	}
	if len(d.Ways) > 0 {
		out.Ways = &ui.Table{Caption: "What could be done today", Head: []string{"", "not dry", "dry, 1 in 2", ""}, Numbers: []bool{false, true, false, false}}
		for _, w := range d.Ways {
			dry := "not within reach"
			if w.Dry.Q50 != nil {
				dry = ui.Day(*w.Dry.Q50, v.Now)
			}
			out.Ways.Rows = append(out.Ways.Rows, []string{w.Name, ui.Chance(w.Sticks), dry, w.Words})
		}
	}
	return out
}

func mustFigures(b *primary.Belief) []ui.Figure {
	return []ui.Figure{
		{Name: "sugar left", Value: b.Sugar.Q50.GPerL(), Low: b.Sugar.Q05.GPerL(), High: b.Sugar.Q95.GPerL(), Unit: "g/L", Source: "belief from densities and temperatures", Main: true},
		{Name: "alcohol so far", Value: b.Alcohol.Q50.Percent(), Low: b.Alcohol.Q05.Percent(), High: b.Alcohol.Q95.Percent(), Unit: "% vol", Source: "belief"},
		{Name: "alcohol when dry", Value: b.Final.Q50.Percent(), Low: b.Final.Q05.Percent(), High: b.Final.Q95.Percent(), Unit: "% vol", Source: "belief"},
	}
}

// primaryStates are shown in the order in which a ferment passes through them.
var primaryStates = []primary.State{primary.Lag, primary.Growth, primary.Steady, primary.Slowing, primary.Stuck, primary.Dry}

func mustOf(v *desk.View, st *desk.Standing) *mustView {
	b := st.Primary
	states := chart.States{ID: "primary-" + st.Vessel.Slug, Title: "How the ferment stands in " + parcelName(st)}
	for _, s := range primaryStates {
		states.Parts = append(states.Parts, chart.State{Name: string(s), P: b.States[s]})
	}
	out := &mustView{States: ui.Drawn(states), Fan: ui.Drawn(densityLine(v, st)), Says: b.Summary, Slow: slowOf(v, st), Wine: wineToCome(st)}
	if v.State.Wish(st.Lot) == cellar.MalolacticWanted {
		out.Bacteria = &ui.Link{Text: "Bacteria: with the yeast, near dryness, or after pressing", URL: "/guides/giving-bacteria"}
	}
	for _, f := range b.Flags {
		text := sentence(f.Text)
		if f.Act != "" {
			text += " " + sentence(f.Act)
		}
		out.Flags = append(out.Flags, ui.Notice{Kind: ui.Caution, Text: text + fmt.Sprintf(" (%s)", f.Source.Mark)})
	}
	return out
}

// sweet says whether a parcel is must, or juice by its last density.
func sweet(v *desk.View, st *desk.Standing) bool {
	if st.Parcel.Form == cellar.FormMust {
		return true
	}
	r, _, ok := gather.Latest(v.State, st.Parcel, cellar.ReadDensity, v.Now)
	if !ok || st.Parcel.Form != cellar.FormWine {
		return false
	}
	sg, err := r.Value.Gravity()
	return err == nil && sg > 1.03
}

// wineToCome leads to the wine that a must will make.
func wineToCome(st *desk.Standing) ui.Link {
	return ui.Link{Text: "The wine that it will make, as it is and corrected", URL: "/bench/must-to-wine?" + url.Values{"from": {st.Vessel.Slug}}.Encode()}
}

// densityLine is the density ahead and behind, with what was read.
func densityLine(v *desk.View, st *desk.Standing) chart.Line {
	b := st.Primary
	c := chart.Line{ID: "density-" + st.Vessel.Slug, Title: "Density in " + parcelName(st), Quantity: "density", Unit: "SG", Now: v.Now}
	series := chart.Series{Name: "density"}
	end := v.Now.AddDate(1, 0, 0)
	if b.Dry.Q95 != nil { // nothing moves after that
		end = b.Dry.Q95.AddDate(0, 0, 5)
	}
	for _, d := range b.Forecast {
		if d.Day.After(end) {
			break
		}
		series.Points = append(series.Points, chart.LinePoint{At: d.Day, Value: float64(d.Gravity.Q50), Lo: float64(d.Gravity.Q05), Hi: float64(d.Gravity.Q95)})
	}
	c.Series = []chart.Series{series}
	for _, l := range b.Looks {
		switch l.What {
		case primary.Gravity:
			c.Readings = append(c.Readings, chart.Reading{At: l.At, Value: l.Value, Lo: l.Value, Hi: l.Value, Kind: "float"})
		case primary.Brix:
			if sg, err := strength.Brix(l.Value).SG(); err == nil {
				c.Readings = append(c.Readings, chart.Reading{At: l.At, Value: float64(sg), Lo: float64(sg), Hi: float64(sg), Kind: "float in Brix"})
			}
		}
	}
	return c
}

// sentence makes a clause one: a capital first, a full stop last.
func sentence(clause string) string {
	first, size := utf8.DecodeRuneInString(clause)
	clause = string(unicode.ToUpper(first)) + clause[size:]
	if !strings.HasSuffix(clause, ".") {
		clause += "."
	}
	return clause
}
