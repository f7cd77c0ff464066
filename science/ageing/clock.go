package ageing

import (
	"time"

	"elevage/science/cited"
	"elevage/science/quantity"
)

// Milestones are the days a parcel has behind it; a zero time means not known or
// not yet.
type Milestones struct {
	Dry        time.Time // end of sugar
	Malolactic time.Time // conversion declared finished, or declined
	LastSO2    time.Time // last addition of any kind, a sulfited topping included
}

// A Clock says how long a wine has stood without an addition of SO2.
type Clock struct {
	Since       quantity.Days `json:"since_days"` // days since the last SO2, or since dryness if there was none
	FromDryness bool          `json:"from_dryness"`
	Known       bool          `json:"known"` // false: nothing to count from
	Words       string        `json:"words"`
	Caution     *Caution      `json:"caution,omitempty"`
}

// UnprotectedWeeks is after how long the clock warns at a pH above
// UnprotectedPH: a proposal of this project, not a published limit.
const (
	UnprotectedWeeks             = 6
	UnprotectedPH    quantity.PH = 3.65
)

// SinceSO2 reads the clock at a moment. SO2 before dryness (at crush, say) does not
// count: yeast makes acetaldehyde that has bound it.
func SinceSO2(m Milestones, ph quantity.PH, at time.Time) Clock {
	start, c := m.LastSO2, Clock{}
	if start.IsZero() || start.Before(m.Dry) {
		start, c.FromDryness = m.Dry, true
	}
	if start.IsZero() || at.Before(start) {
		return Clock{Words: "no date of dryness or of SO2 is known"}
	}
	c.Known, c.Since = true, quantity.Span(start, at)
	c.Words = days(c.Since) + " since the last SO2"
	if c.FromDryness {
		c.Words = days(c.Since) + " since it went dry, no SO2 since"
	}
	if c.FromDryness && c.Since > UnprotectedWeeks*7 && ph > UnprotectedPH {
		c.Caution = &Caution{
			Text:   "pH above 3.65 and no SO2 for more than six weeks after dryness: spoilage yeast and bacteria have a free field",
			Act:    "taste and smell it, test volatile acidity, settle whether malolactic is over, then dose",
			Source: cited.Source{Text: "window of spoilage yeast: end of alcoholic fermentation until SO2 is on (common practice); the six weeks and 3.65 are ours", Mark: cited.Proposal},
		}
	}
	return c
}

// A Caution is something to watch or do, with what it rests on. There is none
// without an act.
type Caution struct {
	Text   string       `json:"text"`
	Act    string       `json:"act"`
	Source cited.Source `json:"source"`
}
