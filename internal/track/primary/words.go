package primary

import (
	"fmt"
	"time"
)

// words is the belief in a winemaker's sentences.
func (b Belief) words(in Input) []string {
	out := []string{
		fmt.Sprintf("Sugar about %.0f g/L (%.0f to %.0f), alcohol so far %.1f %% vol (%.1f to %.1f).", b.Sugar.Q50.GPerL(), b.Sugar.Q05.GPerL(), b.Sugar.Q95.GPerL(), b.Alcohol.Q50.Percent(), b.Alcohol.Q05.Percent(), b.Alcohol.Q95.Percent()),
		b.stateWords(in),
	}
	if b.States[Dry] < 0.5 && !in.NoForecast {
		out = append(out, b.dryWords(in))
	}
	if b.Heat.Now.Q50.Watts() > 5 {
		out = append(out, fmt.Sprintf("It gives off %.0f W of heat and %.0f L of CO2 an hour.", b.Heat.Now.Q50.Watts(), b.Gas.Now.Q50.LitresPerHour()))
	}
	if b.States[Dry] < 0.5 {
		out = append(out, b.Nutrient.Words)
	}
	if b.Press.Words != "" {
		out = append(out, b.Press.Words)
	}
	return append(out, b.Bacteria.Words)
}

func (b Belief) stateWords(in Input) string {
	p := percent(b.States[b.State])
	switch b.State {
	case Lag:
		return fmt.Sprintf("It has not set off yet (%s). No fall within 48 h at 20 °C, or 72 to 96 h at 12 to 15 °C, is a reason to look closer.", p)
	case Growth:
		return fmt.Sprintf("The yeast is still growing (%s); it uses %.0f g/L sugar a day.", p, b.Rate.Q50.GPerLDay())
	case Steady:
		return fmt.Sprintf("It runs steadily (%s), %.0f g/L sugar a day.", p, b.Rate.Q50.GPerLDay())
	case Slowing:
		return fmt.Sprintf("It is slowing (%s), %.0f g/L sugar a day.", p, b.Rate.Q50.GPerLDay())
	case Stuck:
		return fmt.Sprintf("It is probably stuck (%s).", p)
	}
	return fmt.Sprintf("It is probably dry (%s under %.1f g/L).", p, b.DryAt.GPerL())
}

func (b Belief) dryWords(in Input) string {
	d := b.Dry
	switch {
	case d.Q50 == nil && d.Q05 == nil:
		return fmt.Sprintf("As it is run now it does not come dry within %.0f days.", float64(in.Horizon))
	case d.Q50 == nil:
		return fmt.Sprintf("It more likely than not fails to come dry within %.0f days; at the earliest about %s.", float64(in.Horizon), date(in, *d.Q05))
	case d.Q95 == nil:
		return fmt.Sprintf("Dry about %s, at the earliest %s; in %s of cases not within %.0f days.", date(in, *d.Q50), date(in, *d.Q05), percent(b.Sticks), float64(in.Horizon))
	}
	return fmt.Sprintf("Dry about %s (%s to %s).", date(in, *d.Q50), date(in, *d.Q05), date(in, *d.Q95))
}

func percent(p float64) string {
	switch {
	case p < 0.01: // none of the samples is no proof of never
		return "under 1 %"
	case p > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// at is " about 3 October" or nothing.
func at(in Input, t *time.Time) string {
	if t == nil {
		return ""
	}
	return ", about " + date(in, *t)
}

// date is to the half day within the next four days.
func date(in Input, t time.Time) string {
	s := t.Format("2 January")
	if t.Year() != in.At.Year() {
		s = day(t)
	}
	if d := t.Sub(in.At); d < 4*24*time.Hour && d > -24*time.Hour {
		switch h := t.Hour(); {
		case h < 6:
			s += ", in the night"
		case h < 12:
			s += ", morning"
		case h < 18:
			s += ", afternoon"
		default:
			s += ", evening"
		}
	}
	return s
}
