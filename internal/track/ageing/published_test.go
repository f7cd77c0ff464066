package ageing_test

import (
	"strings"
	"testing"
	"time"

	"elevage/internal/published"
	"elevage/internal/track/ageing"
	science "elevage/science/ageing"
	"elevage/science/quantity"
)

// losses are the figures that sources state.
func losses(t *testing.T) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, row := range published.Lines(t, "testdata/published-losses.csv") {
		out[row[0]] = published.Number(t, row[1])
	}
	return out
}

// drop is what the prior alone says of the fall of free SO2 from 30 mg/L over a
// span, less what it says without the events.
func drop(t *testing.T, v science.Vessel, size quantity.Volume, days int, events ...science.Event) (lo, hi float64) {
	t.Helper()
	in := carboy()
	in.Vessel, in.Volume, in.Size, in.Doses, in.Readings = v, size, size, nil, nil
	start := date(2025, 1, 1)
	in.Start = &ageing.Start{At: start, Free: 30 * mg, FreeSD: 0.5 * mg, Bound: 60 * mg, BoundSD: 5 * mg}
	in.DosedBefore = true
	for i, e := range events {
		in.Events = append(in.Events, ageing.Event{At: start.Add(time.Duration(i+1) * 24 * time.Hour), Kind: e})
	}
	in.At = start.Add(time.Duration(days) * 24 * time.Hour)
	in.Until = in.At.Add(24 * time.Hour)
	b := believe(t, in)
	return 30 - b.Free.Q95.MgPerL(), 30 - b.Free.Q05.MgPerL()
}

func TestPublishedLossesLieInThePriors90Percent(t *testing.T) {
	t.Parallel()
	figures := losses(t)
	seen := 0
	for name, v := range figures {
		var lo, hi float64
		switch {
		case strings.HasPrefix(name, "barrel 225 L, oxygen"):
			lo, hi = drop(t, science.Barrel, 225, 30)
		case strings.HasPrefix(name, "barrel 225 L, topped"):
			lo, hi = drop(t, science.Barrel, 225, 30, science.Topping, science.Opened) // at a monthly check
		case strings.HasPrefix(name, "glass"):
			lo, hi = drop(t, science.Glass, 23, 30)
		case name == "racking, least":
			lo, hi = drop(t, science.Steel, 50, 30, science.RackingCareful)
		case name == "racking, most":
			lo, hi = drop(t, science.Steel, 50, 30, science.RackingOpen)
		case strings.HasPrefix(name, "bottling"), strings.HasPrefix(name, "packaging"):
			lo, hi = drop(t, science.ScrewCap, 0.75, 60, science.Bottling)
		case strings.HasPrefix(name, "bottle three years"):
			lo, hi = threeYears(t, strings.Contains(name, "warm"))
		default:
			t.Fatalf("no case for %q", name)
		}
		seen++
		t.Logf("%-45s %5.1f  prior 90 %%: %.1f to %.1f", name, v, lo, hi)
		if v < lo || v > hi {
			t.Errorf("%s: %v lies outside %.1f to %.1f", name, v, lo, hi)
		}
	}
	if seen < 13 {
		t.Errorf("only %d figures", seen)
	}
}

// threeYears is the share of total SO2 left, %, under natural cork from 25 free and
// 55 bound; the study's wines at bottling are not known.
func threeYears(t *testing.T, warm bool) (lo, hi float64) {
	t.Helper()
	in := carboy()
	in.Vessel, in.Volume, in.Size, in.Doses, in.Readings, in.DosedBefore = science.CorkBottle, 0.75, 0.75, nil, nil, true
	start := date(2022, 1, 1)
	in.Start = &ageing.Start{At: start, Free: 25 * mg, FreeSD: 5 * mg, Bound: 55 * mg, BoundSD: 10 * mg}
	in.Events = []ageing.Event{{At: start, Kind: science.Bottling}}
	temp := quantity.Temperature(14)
	if warm {
		temp = 20.5
	}
	in.Temperatures = []ageing.Temperature{{At: start, Value: temp}}
	in.At = date(2025, 1, 1)
	in.Until = date(2025, 1, 2)
	b := believe(t, in)
	return 100 * b.Total.Q05.MgPerL() / 80, 100 * b.Total.Q95.MgPerL() / 80
}
