package chart

import (
	"flag"
	"fmt"
	"math"
	"time"
)

var update = flag.Bool("update", false, "write the golden files anew")

// All data here is invented.

var now = time.Date(2026, 11, 12, 19, 20, 0, 0, time.UTC)

func in(days float64) time.Time { return now.Add(time.Duration(days * 24 * float64(time.Hour))) }

func fall(from, to, step int) []FanPoint {
	var pts []FanPoint
	for d := from; d <= to; d += step {
		m := 2.1 / (1 + math.Exp((float64(d)+6)/6.5))
		w := 0.15 + 0.01*math.Abs(float64(d))
		at := func(z float64) float64 { return m * math.Exp(w*z) }
		pts = append(pts, FanPoint{in(float64(d)), at(-1.64), at(-0.67), at(0), at(0.67), at(1.64)})
	}
	return pts
}

func sampleFan() Fan {
	return Fan{ID: "fan", Title: "Malic acid in b2", Quantity: "malic acid", Unit: "g/L", Points: fall(-34, 30, 4), Now: now,
		Limit:  &Limit{0.1, "over below 0.1 g/L"},
		Finish: &Span{in(8), in(14), in(24), "over 20 Nov – 6 Dec"},
		Marks:  []Mark{{in(-33), "inoculated"}, {in(-20), "stirred"}},
		Readings: []Reading{
			{At: in(-33), Value: 2.05, Lo: 1.75, Hi: 2.35, Kind: "enzymatic"},
			{At: in(-19), Value: 1.95, Lo: 1.35, Hi: 2.6, Kind: "from pH"},
			{At: in(-12), Value: 2.4, Lo: 1.8, Hi: 3.0, Kind: "from pH", Struck: true},
			{At: in(-9), Value: math.NaN(), Lo: 0.6, Hi: 2.0, Kind: "paper"},
			{At: in(-3), Value: 0.9, Lo: math.Inf(-1), Hi: 1.35, Kind: "strip"}}}
}

// crowded is a fan with far more than there is room for.
func crowded() Fan {
	c := sampleFan()
	c.ID, c.Title, c.Marks, c.Readings = "crowded", "A crowded year", nil, nil
	c.Points = fall(-200, 200, 1)
	for i := range 120 {
		c.Marks = append(c.Marks, Mark{in(float64(i*3 - 190)), fmt.Sprintf("stirred, turn %d", i)})
		c.Readings = append(c.Readings, Reading{At: in(float64(i) - 120), Value: 2, Lo: 1.5, Hi: 2.5, Kind: fmt.Sprintf("kit no. %d", i%14)})
	}
	return c
}

func sampleRiver() River {
	p := func(d, l float64) RiverPoint { return RiverPoint{in(d), l} }
	return River{ID: "river", Title: "The cellar", Now: now, To: in(45),
		Bands: []Band{
			{ID: "a", Name: "Long Row red", Tone: Dark, Points: []RiverPoint{p(-62, 160), p(-48, 118), p(-20, 92)}, Marks: []RiverMark{{in(-40), "inoculated", Triangle}, {in(14), "malic over", Diamond}}},
			{ID: "p", Name: "Press wine", Tone: Dark, Points: []RiverPoint{p(-48, 30)}},
			{ID: "c", Name: "Cask", Tone: Dark, Points: []RiverPoint{p(-20, 24), p(-8, 28)}},
			{ID: "w", Name: "Orchard white", Tone: Light, Points: []RiverPoint{p(-58, 58), p(20, 0)}, Marks: []RiverMark{{in(20), "bottling", Ring}}}},
		Flows: []Flow{{"a", "p", in(-48), 30}, {"a", "c", in(-20), 24}, {"w", "c", in(-8), 4}}}
}

func samples() map[string]Chart {
	log := sampleFan()
	log.ID, log.Log = "fan-log", true
	var pts []LinePoint
	for d := -60; d <= 60; d += 10 {
		v := 34 * math.Exp(-float64(d+60)/95)
		pts = append(pts, LinePoint{in(float64(d)), v, v - 3, v + 3})
	}
	three := []Panel{{"b2", fall(-34, 30, 4), nil}, {"c1", fall(-34, 30, 4), []Reading{{At: in(-9), Value: 1, Kind: "pH"}}}, {"cask", fall(-34, 30, 4), nil}}
	bins := Histogram{ID: "ranks", Title: "Ranks", Across: "rank", Up: "runs", Low: 32, High: 68, Expected: 50}
	for i, n := range []float64{44, 57, 61, 49, 72, 25} {
		bins.Bins = append(bins.Bins, Bin{fmt.Sprint(i + 1), n})
	}
	river := sampleRiver()
	return map[string]Chart{
		"fan": sampleFan(), "fan-log": log, "crowded": crowded(), "river": river, "ranks": bins,
		"line": Line{ID: "so2", Title: "Free SO2 in b2", Quantity: "free SO2", Unit: "mg/L", Now: now, Series: []Series{{"open", pts}, {"topped", pts[3:]}},
			Limit: &Limit{15, "floor 15 mg/L"}, Marks: []Mark{{in(-60), "+4.2 g"}}},
		"states": States{ID: "states", Title: "What b2 is doing", Parts: []State{{"lagging", 0.04}, {"active", 0.71}, {"stalled", 0.19}, {"finished", 0.06}}},
		"spark":  Spark{ID: "spark", Title: "malic acid", Unit: "g/L", Points: fall(-34, 30, 4), Limit: &Limit{Value: 0.1}, Now: now},
		"three":  Multiple{ID: "three", Title: "Three vessels", Quantity: "malic acid", Unit: "g/L", Panels: three, Limit: &Limit{Value: 0.1}, Now: now},
		"bare":   Fan{ID: "bare", Title: "Nothing yet", Quantity: "malic acid", Unit: "g/L", Now: now},
	}
}
