package ageing

import (
	"fmt"
	"math"
	"strings"
	"time"

	"elevage/science/quantity"
)

// words is the belief in a winemaker's sentences.
func (b Belief) words(in Input) []string {
	out := []string{
		fmt.Sprintf("Free SO2 about %s mg/L today (%s to %s).", mg(b.Free.Q50), mg(b.Free.Q05), mg(b.Free.Q95)),
		fmt.Sprintf("Molecular %.2f mg/L (%.2f to %.2f) by the %s; the floor of %.2f needs about %s mg/L free.", b.Molecular.Q50.MgPerL(), b.Molecular.Q05.MgPerL(), b.Molecular.Q95.MgPerL(), b.Rule, b.Floor.MgPerL(), mg(b.FloorFree.Q50)),
		b.fallWords(in),
	}
	if in.Closed {
		return append(out, "Nothing can be added in the bottle: below the floor, drink it sooner and keep it cool. A bottle that is opened anyway, measured within the hour, tells of the others.")
	}
	if b.Dose.SO2 == 0 {
		out = append(out, fmt.Sprintf("No dose is needed to last to %s (%s chance of falling short).", short(in.At, b.Dose.Until), percent(b.Dose.Risk)))
	} else {
		s := fmt.Sprintf("%s mg/L SO2 added today lasts to %s", mg(b.Dose.SO2), short(in.At, b.Dose.Until))
		if b.Dose.Take != nil {
			s += ": " + b.Dose.Words + fmt.Sprintf(" for %.4g L", in.Volume.Litres())
		}
		out = append(out, s+fmt.Sprintf(" (%s chance of falling short).", percent(b.Dose.Risk)))
	}
	return append(out, b.Measure.Words)
}

func (b Belief) fallWords(in Input) string {
	f := b.FallsUnder
	switch {
	case b.Below >= 0.5:
		return fmt.Sprintf("It is probably under the floor now (%s).", percent(b.Below))
	case f.Q50 == nil && f.Q05 == nil:
		return fmt.Sprintf("It stays above the floor for the next %.0f days.", float64(in.Horizon))
	case f.Q50 == nil:
		return fmt.Sprintf("It most likely stays above the floor for the next %.0f days, but may fall under it as early as %s.", float64(in.Horizon), short(in.At, *f.Q05))
	case f.Q95 == nil:
		return fmt.Sprintf("It falls under the floor about %s (as early as %s, perhaps not within %.0f days).", short(in.At, *f.Q50), short(in.At, *f.Q05), float64(in.Horizon))
	}
	return fmt.Sprintf("It falls under the floor about %s (%s to %s).", short(in.At, *f.Q50), short(in.At, *f.Q05), short(in.At, *f.Q95))
}

func (b Belief) measureWords(in Input) string {
	m := b.Measure
	var s strings.Builder
	switch {
	case m.Worth && m.Changes >= 0.1:
		fmt.Fprintf(&s, "A free-SO2 test now is worth making: in %s of cases it changes whether to dose, and it saves about %s mg/L of guessing.", percent(m.Changes), mg(m.Saves))
	case m.Worth:
		fmt.Fprintf(&s, "A free-SO2 test now is worth making: it would hardly change whether to dose, but saves about %s mg/L of guessing in how much.", mg(m.Saves))
	default:
		s.WriteString("A free-SO2 test now would tell little that changes what to do.")
	}
	if b.MeasurePH.Worth && b.MeasurePH.Saves > m.Saves {
		s.WriteString(" A pH reading with fresh buffers would tell more.")
	}
	if b.MeasureBy != nil && b.MeasureBy.After(in.At) {
		fmt.Fprintf(&s, " Test by %s: by then the chance of being under the floor reaches %s.", short(in.At, *b.MeasureBy), percent(in.Risk))
	}
	return s.String()
}

func mg(c quantity.Concentration) string { return fmt.Sprintf("%.0f", math.Abs(c.MgPerL())) }

func percent(p float64) string {
	switch {
	case p < 0.01: // none of the samples is no proof of never
		return "under 1 %"
	case p > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// short is a date without its year if that is the year of now.
func short(now, t time.Time) string {
	if t.Year() == now.Year() {
		return t.Format("2 January")
	}
	return day(t)
}
