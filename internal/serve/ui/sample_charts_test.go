package ui

import (
	"fmt"
	"math"
	"time"

	"elevage/internal/chart"
)

// Invented, as everything in the gallery.

func inDays(d int) time.Time { return sampleNow.AddDate(0, 0, d) }

func fallingFan(id string, from, to int, start, speed, mid float64) []chart.FanPoint {
	var pts []chart.FanPoint
	for d := from; d <= to; d++ {
		m := start / (1 + math.Exp((float64(d)-mid)/speed))
		w := 0.12 + 0.008*math.Max(float64(d), 0)
		at := func(z float64) float64 { return math.Max(m*math.Exp(w*z), 0.001) }
		pts = append(pts, chart.FanPoint{At: inDays(d), Q05: at(-1.64), Q25: at(-.67), Q50: at(0), Q75: at(.67), Q95: at(1.64)})
	}
	return pts
}

func sampleSpark(id string, mid float64) *Drawing {
	d := Drawn(chart.Spark{ID: id, Title: "malic acid", Unit: "g/L", Points: fallingFan(id, -40, 30, 2.2, 6, mid), Limit: &chart.Limit{Value: 0.1}, Now: sampleNow})
	return &d
}

func sampleSulfite() chart.Line {
	var pts []chart.LinePoint
	for d := -60; d <= 60; d += 4 {
		v := 34 * math.Exp(-float64(d+60)/95)
		w := 2 + math.Max(0, float64(d))/10
		pts = append(pts, chart.LinePoint{At: inDays(d), Value: v, Lo: v - w, Hi: v + w})
	}
	return chart.Line{ID: "so2", Title: "Free SO2 in b2", Quantity: "free SO2", Unit: "mg/L", Now: sampleNow,
		Series: []chart.Series{{Name: "reckoned", Points: pts}},
		Limit:  &chart.Limit{Value: 15, Label: "floor at pH 3.48: 15 mg/L"},
		Marks:  []chart.Mark{{At: inDays(-60), Label: "+4.2 g kmbs"}},
		Readings: []chart.Reading{{At: inDays(-58), Value: 33, Lo: 29, Hi: 37, Kind: "titration"}, {At: inDays(-30), Value: 22, Lo: 18, Hi: 26, Kind: "titration"},
			{At: inDays(-6), Value: math.NaN(), Lo: 10, Hi: 20, Kind: "strip"}}}
}

func sampleRanks() chart.Histogram {
	h := chart.Histogram{ID: "ranks", Title: "Ranks of the truth", Across: "rank of the truth among draws", Up: "runs", Low: 32, High: 68, Expected: 50}
	for i, n := range []float64{44, 57, 61, 49, 38, 72, 55, 47, 52, 25} {
		h.Bins = append(h.Bins, chart.Bin{Label: fmt.Sprint(i + 1), Count: n})
	}
	return h
}

func sampleRiver() chart.River {
	p := func(d int, l float64) chart.RiverPoint { return chart.RiverPoint{At: inDays(d), Litres: l} }
	return chart.River{ID: "river", Title: "The cellar since September", Now: sampleNow, To: inDays(45),
		Bands: []chart.Band{
			{ID: "a", Name: "Long Row red", Tone: chart.Dark, Points: []chart.RiverPoint{p(-62, 160), p(-48, 118), p(-20, 92)}, Marks: []chart.RiverMark{{At: inDays(-40), Label: "inoculated", Shape: chart.Triangle}, {At: inDays(14), Label: "malic over", Shape: chart.Diamond}}},
			{ID: "p", Name: "Press wine", Tone: chart.Dark, Points: []chart.RiverPoint{p(-48, 30)}, Marks: []chart.RiverMark{{At: inDays(-22), Label: "racked"}}},
			{ID: "c", Name: "Cask", Tone: chart.Dark, Points: []chart.RiverPoint{p(-20, 24), p(-8, 28)}},
			{ID: "r", Name: "Damson rosé", Tone: chart.Middle, Points: []chart.RiverPoint{p(-55, 40), p(-8, 36), p(-2, 19)}, Marks: []chart.RiverMark{{At: inDays(-30), Label: "pH 3.41", Shape: chart.Square}, {At: inDays(5), Label: "read pH", Shape: chart.Square}}},
			{ID: "w", Name: "Orchard white", Tone: chart.Light, Points: []chart.RiverPoint{p(-58, 58), p(-16, 54), p(20, 0)}, Marks: []chart.RiverMark{{At: inDays(-16), Label: "racked"}, {At: inDays(20), Label: "bottling", Shape: chart.Ring}}},
		},
		Flows: []chart.Flow{{From: "a", To: "p", At: inDays(-48), Litres: 30}, {From: "a", To: "c", At: inDays(-20), Litres: 24}, {From: "r", To: "c", At: inDays(-8), Litres: 4}}}
}

func sampleCharts() []Drawing {
	fan := sampleFan()
	log := sampleFan()
	log.ID, log.Title, log.Log = "malic-log", "Malic acid in b2, by powers of ten", true
	return []Drawing{
		Drawn(sampleRiver()), Drawn(fan), Drawn(log), Drawn(sampleSulfite()),
		Drawn(chart.States{ID: "states", Title: "What b2 is doing", Parts: []chart.State{{Name: "lagging", P: 0.04}, {Name: "active", P: 0.71}, {Name: "stalled", P: 0.19}, {Name: "finished", P: 0.06}}}),
		Drawn(chart.Multiple{ID: "three", Title: "Three vessels of one lot", Quantity: "malic acid", Unit: "g/L", Now: sampleNow, Limit: &chart.Limit{Value: 0.1},
			Panels: []chart.Panel{{Name: "b2", Points: fallingFan("b2", -34, 30, 2.2, 6, -6)}, {Name: "c1", Points: fallingFan("c1", -34, 30, 2.2, 8, 10)}, {Name: "oak cask", Points: fallingFan("k", -34, 30, 2.1, 12, 40)}}}),
		Drawn(sampleRanks()),
	}
}

// sampleCrowd is far more than there is room for.
func sampleCrowd() []Drawing {
	c := sampleFan()
	c.ID, c.Title, c.Points, c.Marks, c.Readings = "crowd", "A crowded year", fallingFan("", -200, 160, 2.2, 20, -20), nil, nil
	for i := range 100 {
		c.Marks = append(c.Marks, chart.Mark{At: inDays(i*3 - 190), Label: fmt.Sprintf("stirred, turn %d", i)})
		c.Readings = append(c.Readings, chart.Reading{At: inDays(i*2 - 195), Value: 2, Lo: 1.5, Hi: 2.5, Kind: fmt.Sprintf("kit no. %d", i%11)})
	}
	var r chart.River
	r.ID, r.Title, r.Now = "flood", "Forty lots", sampleNow
	for i := range 40 {
		b := chart.Band{ID: fmt.Sprint(i), Name: fmt.Sprintf("Lot %d of the long slope", i+1), Tone: chart.Tone(i % 3), Points: []chart.RiverPoint{{At: inDays(-90 + 3*i), Litres: float64(20 + i*7%90)}}}
		for m := range 9 {
			b.Marks = append(b.Marks, chart.RiverMark{At: inDays(-85 + 3*i + 4*m), Label: "racked again"})
		}
		r.Bands = append(r.Bands, b)
		if i > 0 {
			r.Flows = append(r.Flows, chart.Flow{From: fmt.Sprint(i - 1), To: fmt.Sprint(i), At: inDays(-90 + 3*i), Litres: 10})
		}
	}
	return []Drawing{Drawn(c), Drawn(r)}
}
