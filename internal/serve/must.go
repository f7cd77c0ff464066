package serve

import (
	"fmt"

	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/internal/track/primary"
)

// mustView is what is believed of a primary fermentation.
type mustView struct {
	States, Fan ui.Drawing
	Says        []string
	Flags       []ui.Notice
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
	out := &mustView{States: ui.Drawn(states), Fan: ui.Drawn(densityLine(v, st)), Says: b.Summary}
	for _, f := range b.Flags {
		text := f.Text
		if f.Act != "" {
			text += " " + f.Act
		}
		out.Flags = append(out.Flags, ui.Notice{Kind: ui.Caution, Text: text + fmt.Sprintf(" (%s)", f.Source.Mark)})
	}
	return out
}

// densityLine is the density ahead and behind, with what was read.
func densityLine(v *desk.View, st *desk.Standing) chart.Line {
	b := st.Primary
	c := chart.Line{ID: "density-" + st.Vessel.Slug, Title: "Density in " + parcelName(st), Quantity: "density", Unit: "SG", Now: v.Now}
	series := chart.Series{Name: "density"}
	for _, d := range b.Forecast {
		series.Points = append(series.Points, chart.LinePoint{At: d.Day, Value: float64(d.Gravity.Q50), Lo: float64(d.Gravity.Q05), Hi: float64(d.Gravity.Q95)})
	}
	c.Series = []chart.Series{series}
	for _, l := range b.Looks {
		if l.What == primary.Gravity || l.What == primary.Brix {
			value := l.Value
			if l.What == primary.Brix {
				continue // on another scale than the axis; its table holds it
			}
			c.Readings = append(c.Readings, chart.Reading{At: l.At, Value: value, Lo: value, Hi: value, Kind: "float"})
		}
	}
	return c
}
