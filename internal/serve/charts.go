package serve

import (
	"math"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
	"elevage/internal/track/gather"
)

// fanPoints is the belief about malic acid day by day.
func fanPoints(b *track.Belief, zone *time.Location) []chart.FanPoint {
	out := make([]chart.FanPoint, len(b.Fan))
	for i, d := range b.Fan {
		out[i] = chart.FanPoint{At: noonIn(d.On.Time, zone), Q05: d.Q05.GPerL(), Q25: d.Q25.GPerL(), Q50: d.Q50.GPerL(), Q75: d.Q75.GPerL(), Q95: d.Q95.GPerL()}
	}
	return out
}

// noonIn is the middle of a day in the cellar's zone.
func noonIn(d time.Time, zone *time.Location) time.Time {
	y, m, day := d.Date()
	return time.Date(y, m, day, 12, 0, 0, 0, zone)
}

func malicFan(v *desk.View, st *desk.Standing) chart.Fan {
	b, zone := st.Malo, v.Now.Location()
	c := chart.Fan{
		ID: "malic-" + st.Vessel.Slug, Title: "Malic acid in " + parcelName(st), Quantity: "malic acid", Unit: "g/L",
		Points: fanPoints(b, zone), Now: v.Now,
		Limit: &chart.Limit{Value: b.Limit.GPerL(), Label: "over below " + ui.Plain(b.Limit.GPerL(), "g/L")},
	}
	for _, r := range b.Readings {
		if m, ok := malicMark(b, r, zone); ok {
			c.Readings = append(c.Readings, m)
		}
	}
	for _, h := range gather.History(v.State, st.Parcel, v.Now) {
		if label := markOf(h.Body); label != "" && len(c.Points) > 0 && !h.At.Before(c.Points[0].At.Add(-24*time.Hour)) {
			c.Marks = append(c.Marks, chart.Mark{At: h.At, Label: label})
		}
	}
	if f := b.Finish; f.Q05 != nil && f.Q50 != nil {
		span := &chart.Span{From: noonIn(f.Q05.Time, zone), Mid: noonIn(f.Q50.Time, zone), Label: "over"}
		if f.Q95 != nil {
			span.To = noonIn(f.Q95.Time, zone)
		}
		c.Finish = span
	}
	return c
}

// malicMark places a reading on the fan as the malic acid it speaks of: an assay
// by its value, pH and TA by the malic acid at which the wine's own curve would
// give what was read, paper as the range its spot means.
func malicMark(b *track.Belief, r track.Pull, zone *time.Location) (chart.Reading, bool) {
	lo, mid, hi, ok := b.Implied(r)
	if !ok {
		return chart.Reading{}, false
	}
	m := chart.Reading{At: noonIn(r.On.Time, zone), Value: mid.GPerL(), Lo: lo.GPerL(), Hi: math.Min(hi.GPerL(), b.Initial.Q95.GPerL()), Kind: track.ReadingWords(r.What)}
	if r.What == track.Chromatogram {
		m.Value = math.NaN()
	}
	return m, true
}

func markOf(b cellar.Body) string {
	switch b := b.(type) {
	case cellar.Inoculation:
		if b.Of == "malolactic" {
			return "inoculated"
		}
	case cellar.Stirring:
		return "stirred"
	case cellar.Movement:
		return b.How
	case cellar.Addition:
		if p, ok := cellar.LookupProduct(b.Product); ok && p.SO2 > 0 {
			return "SO2"
		}
	}
	return ""
}

func compare(v *desk.View, lot *cellar.Lot, standings []*desk.Standing) *ui.Drawing {
	m := chart.Multiple{ID: "compare-" + lot.Slug, Title: "Malic acid, vessel by vessel", Quantity: "malic acid", Unit: "g/L", Now: v.Now}
	for _, st := range standings {
		if st.Malo == nil {
			continue
		}
		m.Limit = &chart.Limit{Value: st.Malo.Limit.GPerL(), Label: "over"}
		m.Panels = append(m.Panels, chart.Panel{Name: parcelName(st), Points: fanPoints(st.Malo, v.Now.Location())})
	}
	if len(m.Panels) < 2 {
		return nil
	}
	d := ui.Drawn(m)
	return &d
}

// sulfurChart is free SO2 falling towards the floor that the pH asks for.
func sulfurChart(v *desk.View, st *desk.Standing) chart.Line {
	b := st.SO2
	series := chart.Series{Name: "free SO2"}
	const thin = 3
	for i, d := range b.Forecast {
		if i%thin == 0 {
			series.Points = append(series.Points, chart.LinePoint{At: d.Day, Value: d.Free.Q50.MgPerL(), Lo: d.Free.Q05.MgPerL(), Hi: d.Free.Q95.MgPerL()})
		}
	}
	c := chart.Line{
		ID: "so2-" + st.Vessel.Slug, Title: "Free SO2 in " + parcelName(st), Quantity: "free SO2", Unit: "mg/L",
		Series: []chart.Series{series}, Now: v.Now,
		Limit: &chart.Limit{Value: b.FloorFree.Q50.MgPerL(), Label: "floor at this pH"},
	}
	for _, l := range b.Looks {
		if l.Of == "free" {
			c.Readings = append(c.Readings, chart.Reading{At: l.At, Value: l.Value.MgPerL(), Lo: (l.Value - l.SD).MgPerL(), Hi: (l.Value + l.SD).MgPerL(), Kind: "free SO2, read"})
		}
	}
	return c
}
