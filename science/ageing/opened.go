package ageing

import (
	"fmt"
	"math"
	"sort"
	"time"

	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/quantity"
)

// Opened bottles teach when to drink the rest.
type OpenedBottle struct {
	At    time.Time
	Score float64 // 0 to 10, the same taster's scale throughout
	Spoil bool    // corked, oxidised, refermented: tells of the bottle, not of the wine
}

// A Window is when the wine is likely at its best, from bottling.
type Window struct {
	From, To quantity.Days `json:"-"`
	Opens    time.Time     `json:"opens"`
	Closes   time.Time     `json:"closes"`
	Peak     time.Time     `json:"peak"`
	Words    string        `json:"words"`
	Source   cited.Source  `json:"source"`
	Spoiled  int           `json:"spoiled"` // bottles left out
}

// Style sets the window before any bottle is opened: months from bottling.
type Style string

// Styles.
const (
	LightWhite Style = "light white"
	FullWhite  Style = "full white"
	LightRed   Style = "light red"
	FirmRed    Style = "firm red"
)

// scoreScatter is the SD of one bottle's score about the wine's curve: mood, bottle
// and company. A judgement; two bottles decide, not one.
const scoreScatter = 0.8

// Drink gives the window. The wine's quality over time is taken as a hump on a
// logarithmic clock (fast at first, slow later) whose peak and width are uncertain;
// each sound bottle's score reweights them. Before any bottle the window is
// the style's, as used in the trade, and wide. Shape and scatter are ours.
//
// Scores are 0 to 10. An unknown style, a score outside, or a bottle opened before
// bottling is an error that says what is allowed.
func Drink(s Style, bottled time.Time, opened []OpenedBottle) (Window, error) {
	months, ok := map[Style]float64{LightWhite: 12, FullWhite: 24, LightRed: 18, FirmRed: 42}[s]
	if !ok {
		return Window{}, fmt.Errorf("style is %q: allowed is light white, full white, light red, firm red", s)
	}
	w := Window{Source: cited.Source{Text: "peak by style, from memory; curve and scatter of scores ours", Mark: cited.Proposal}}
	const side = 41
	var peaks, widths, logw []float64
	for i := range side {
		for j := range 9 {
			zp, zw := (float64(i)-20)/20*2.5, (float64(j)-4)/4*1.5
			peaks, widths = append(peaks, math.Log(months)+0.5*zp), append(widths, 0.9*math.Exp(0.3*zw))
			logw = append(logw, -0.5*(zp*zp+zw*zw))
		}
	}
	var sound []OpenedBottle
	for _, b := range opened {
		if b.Spoil {
			w.Spoiled++
			continue
		}
		if err := quantity.Check("score of "+b.At.Format(time.DateOnly), b.Score, "", 0, 10); err != nil {
			return Window{}, err
		}
		if b.At.Before(bottled) {
			return Window{}, fmt.Errorf("bottle opened on %s: allowed is after bottling, %s", b.At.Format(time.DateOnly), bottled.Format(time.DateOnly))
		}
		sound = append(sound, b)
	}
	for k := range peaks {
		logw[k] += scoreLogL(sound, bottled, peaks[k], widths[k])
	}
	weights, _ := bayes.Normalise(nil, logw)
	at := func(shift, p float64) time.Time {
		x := make([]float64, len(peaks))
		for k := range x {
			x[k] = math.Exp(peaks[k] + shift*0.5*widths[k])
		}
		d := quantity.Days(bayes.WeightedQuantile(x, weights, p) * 365.25 / 12)
		return bottled.Add(d.Duration())
	}
	w.Opens, w.Peak, w.Closes = at(-1, 0.5), at(0, 0.5), at(1, 0.5)
	if shock := bottled.Add(quantity.Days(42).Duration()); w.Opens.Before(shock) {
		w.Opens = shock // the first six weeks tell nothing (common practice)
	}
	w.From, w.To = quantity.Span(bottled, w.Opens), quantity.Span(bottled, w.Closes)
	w.Words = fmt.Sprintf("best from about %s to %s, on %d bottles", w.Opens.Format("January 2006"), w.Closes.Format("January 2006"), len(sound))
	return w, nil
}

// scoreLogL is the likelihood of the scores with the level of the curve integrated
// out under a flat prior.
func scoreLogL(b []OpenedBottle, bottled time.Time, peak, width float64) float64 {
	if len(b) < 2 {
		return 0 // one score says nothing of a shape
	}
	res := make([]float64, len(b))
	for i, o := range b {
		m := math.Max(1, float64(quantity.Span(bottled, o.At))/(365.25/12))
		u := (math.Log(m) - peak) / width
		res[i] = o.Score - 4*math.Exp(-0.5*u*u)
	}
	sort.Float64s(res)
	mean, ss := bayes.Mean(res), 0.0
	for _, r := range res {
		ss += (r - mean) * (r - mean)
	}
	return -0.5 * ss / (scoreScatter * scoreScatter)
}
