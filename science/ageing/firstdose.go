package ageing

import (
	"math"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// A WaitChoice is what waiting some days between the end of malolactic
// fermentation and the first SO2 gains and costs.
type WaitChoice struct {
	Wait        quantity.Days          `json:"wait_days"`
	Binders     quantity.Concentration `json:"binders"`     // SO2 that the carbonyls bind at the end of the wait
	Spared      quantity.Concentration `json:"spared"`      // less SO2 to add for the same free, against dosing at once
	Butter      float64                `json:"butter"`      // diacetyl left, share of its peak; see Diacetyl
	Unprotected quantity.Days          `json:"unprotected"` // days without SO2
	Keeps       string                 `json:"keeps"`       // in words
}

// A FirstDoseTradeOff is the table behind the decision, with what it rests on. It
// is a trade-off to show and not a rule.
type FirstDoseTradeOff struct {
	Choices  []WaitChoice   `json:"choices"`
	Sources  []cited.Source `json:"sources"`
	Disagree string         `json:"disagree"`
	Shorten  []Caution      `json:"shorten"` // reasons of this wine not to wait
}

// Binding capacity of carbonyls around the end of malolactic fermentation, mg/L SO2
// (Jackowetz & Mira de Orduña 2012, mean over 12 strains): before, at depletion of
// malic acid, and a week later; waiting on added little.
const (
	bindersBefore    = 107.0
	bindersAtEnd     = 83.0
	bindersAfterWeek = 34.0
)

// Binders is the binding capacity after a wait, mg/L per mg/L at the end of malic
// acid: linear from 1 to 0.41 over the first week, then flat. Between the two
// measured days the straight line is ours.
func Binders(wait quantity.Days) float64 {
	f := math.Min(1, math.Max(0, float64(wait)/7))
	return 1 + f*(bindersAfterWeek/bindersAtEnd-1)
}

// Diacetyl is the share of its peak left after a wait on the lees: it peaks when
// malic acid is gone and falls under the threshold in about 20 days (Martineau &
// Henick-Kling 1995). The shape is taken as exponential to a fifth in 20 days; that
// fifth is ours, since the threshold (0.2 to 2.8 mg/L) depends on the wine.
func Diacetyl(wait quantity.Days) float64 {
	return math.Pow(0.2, math.Max(0, float64(wait))/20)
}

// FirstDose sets out the choices for a wine with this binding capacity at the end
// of malolactic fermentation; 0 takes the published mean of 83 mg/L. Waits are 0, 3, 7,
// 14 and 21 days. Domain: 0 to 400 mg/L; a *quantity.RangeError outside. The sources
// come with the answer.
func FirstDose(binders quantity.Concentration, w Standing) (FirstDoseTradeOff, error) {
	if err := quantity.Check("SO2 bound by carbonyls at the end of malolactic", binders.MgPerL(), "mg/L", 0, 400); err != nil {
		return FirstDoseTradeOff{}, err
	}
	if binders == 0 {
		binders = bindersAtEnd * quantity.MilligramPerLitre
	}
	t := FirstDoseTradeOff{
		Sources: []cited.Source{
			{Text: "Jackowetz & Mira de Orduña 2012, Int J Food Microbiol 155:153: bound SO2 107 before, 83 at depletion, 34 mg/L a week later; longer adds little", Mark: cited.Read},
			{Text: "Martineau & Henick-Kling 1995, Am J Enol Vitic 46:442: diacetyl under threshold about 20 days after the end; 60 mg/L SO2 or sterile filtration stops the fall", Mark: cited.Read},
			{Text: "Nielsen & Richelieu 1999, Appl Environ Microbiol 65:740: diacetyl peaks as malic acid runs out; SO2 binds it and gives it back", Mark: cited.Read},
			{Text: "spoilage yeast finds its window between the end of fermentation and the first SO2", Mark: cited.CommonPractice},
		},
		Disagree: "Sources differ: a university's routine is 60 mg/L at once after completion (Minnesota); the binding study speaks for about a week's wait.",
		Shorten:  w.hurry(),
	}
	for _, d := range []quantity.Days{0, 3, 7, 14, 21} {
		c := WaitChoice{Wait: d, Unprotected: d, Butter: Diacetyl(d)}
		c.Binders = binders * quantity.Concentration(Binders(d))
		c.Spared = binders - c.Binders
		switch {
		case d == 0:
			c.Keeps = "keeps the butter, protects at once, costs the most SO2"
		case d < 7:
			c.Keeps = "part of the gain"
		case d == 7:
			c.Keeps = "most of the SO2 spared, a week unprotected"
		default:
			c.Keeps = "little more SO2 spared; for less butter only"
		}
		t.Choices = append(t.Choices, c)
	}
	return t, nil
}

// Standing is how a wine stands while it waits.
type Standing struct {
	PH          quantity.PH
	Temperature quantity.Temperature
	Film        bool
	VolatileUp  bool // volatile acidity rising
	Ullage      bool // not full
}

// hurry lists what speaks against waiting.
func (w Standing) hurry() []Caution {
	var out []Caution
	add := func(on bool, text, act string, mark cited.Mark) {
		if on {
			out = append(out, Caution{Text: text, Act: act, Source: cited.Source{Text: "shorten the wait when pH is high, volatile acidity rises, the cellar is warm or there is film", Mark: mark}})
		}
	}
	add(w.PH > UnprotectedPH, "pH is above 3.65", "dose within days", cited.Memory)
	add(w.VolatileUp, "volatile acidity is rising", "dose now", cited.Memory)
	add(w.Film, "there is film", "fill up and dose now", cited.Memory)
	add(w.Temperature > 20, "the wine is warm", "cool it while it waits, or dose", cited.Memory)
	add(w.Ullage, "the vessel is not full", "fill it before you wait", cited.CommonPractice)
	return out
}
