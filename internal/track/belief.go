package track

import (
	"math"
	"time"

	"elevage/science/quantity"
)

// ModelVersion changes whenever the same data would give another belief.
const ModelVersion = "malo-4"

// A Belief is all that can be said of one parcel on one day. Its JSON is described
// in BELIEF.md; figures are rounded, since the last digits of a sampled figure
// mean nothing.
type Belief struct {
	Name  string `json:"name,omitempty"`
	At    Date   `json:"at"`
	Model string `json:"model"`

	Malic     Spread[quantity.Concentration] `json:"malic_g_l"`
	Initial   Spread[quantity.Concentration] `json:"initial_malic_g_l"`
	Limit     quantity.Concentration         `json:"limit_g_l"`
	PFinished float64                        `json:"p_finished"`
	State     State                          `json:"state"`
	Finish    Finish                         `json:"finish"`
	Decision  Decision                       `json:"decision"`
	NextTest  NextTest                       `json:"next_test"`
	Flags     []Flag                         `json:"flags"`

	Rate     Spread[quantity.Concentration]  `json:"rate_g_l_day"` // malic acid going per day, now
	PH       Outcome[quantity.PH]            `json:"ph"`
	TA       Outcome[quantity.Concentration] `json:"ta_g_l"`
	Fan      []FanDay                        `json:"fan"`
	WhatIf   []WhatIf                        `json:"what_if,omitempty"`
	Siblings []string                        `json:"siblings,omitempty"` // parcels of the same wine whose readings count as well
	Stuck    *Stuck                          `json:"stuck,omitempty"`    // where a stall has a chance of one in five, or after six weeks
	Readings []Pull                          `json:"readings"`
	Evidence []string                        `json:"evidence"` // the case in a winemaker's words

	Sampler Sampling `json:"sampler"`

	// Draws is the sample behind Malic, for scoring; not part of the JSON.
	Draws []float64 `json:"-"`
}

// A Spread is a distribution by its mean and quantiles.
type Spread[T ~float64] struct {
	Mean T `json:"mean"`
	Q05  T `json:"q05"`
	Q25  T `json:"q25"`
	Q50  T `json:"q50"`
	Q75  T `json:"q75"`
	Q95  T `json:"q95"`
}

// A State is the chance of each, summing to one. Finished: malic acid below the
// limit. Stalled: above it, and nothing will convert any more by itself. Lagging:
// hardly anything converted yet (less than 0.1 g/L or a twentieth). Active: the rest.
type State struct {
	Lagging  float64 `json:"lagging"`
	Active   float64 `json:"active"`
	Stalled  float64 `json:"stalled"`
	Finished float64 `json:"finished"`
}

// Finish is when malic acid falls below the limit: dates by which that has
// happened with the chance named; nil for later than a year from At, or never.
type Finish struct {
	Q05   *Date   `json:"q05"`
	Q50   *Date   `json:"q50"`
	Q95   *Date   `json:"q95"`
	Never float64 `json:"not_within_a_year"`

	// Unstalled is the same if it does not stall before its end: what to plan by.
	Unstalled Quantiles `json:"if_it_does_not_stall"`
}

// Quantiles are dates; nil for later than a year, or never.
type Quantiles struct {
	Q05 *Date `json:"q05"`
	Q50 *Date `json:"q50"`
	Q95 *Date `json:"q95"`
}

// An Outcome is the wine itself, free of the meter's faults, now and once all
// malic acid is gone.
type Outcome[T ~float64] struct {
	Now Spread[T] `json:"now"`
	End Spread[T] `json:"end"`
}

// A FanDay is the belief about malic acid on one day, past or to come.
type FanDay struct {
	On  Date                   `json:"on"`
	Q05 quantity.Concentration `json:"q05"`
	Q25 quantity.Concentration `json:"q25"`
	Q50 quantity.Concentration `json:"q50"`
	Q75 quantity.Concentration `json:"q75"`
	Q95 quantity.Concentration `json:"q95"`
}

// A Decision is what to act on.
type Decision struct {
	Call   Call   `json:"call"`
	Reason string `json:"reason"`
	// Carried says whether anything read can carry a call of "finished" at all: a
	// clear chromatogram, a malic assay, or titratable acidity that fell by its
	// amount and then stood still. pH and bubbles cannot.
	Carried      bool    `json:"evidence_can_carry"`
	CarriedBy    string  `json:"carried_by,omitempty"`
	Threshold    float64 `json:"threshold"` // chance at which "finished" costs less than waiting
	CostFinished float64 `json:"cost_if_called_finished"`
	CostWaiting  float64 `json:"cost_if_waiting_a_week"`
}

// A Call is one of the four that can be made.
type Call string

// The calls.
const (
	CallFinished   Call = "finished"
	CallNotYet     Call = "not_yet"
	CallCannotTell Call = "cannot_tell"
	CallStalled    Call = "stalled"
)

// NextTest is the test most worth making, and the others beside it.
type NextTest struct {
	What    string   `json:"what"`
	On      *Date    `json:"on"`
	Reason  string   `json:"reason"`
	Options []Option `json:"options"`
}

// An Option is a test on its best day. WrongBefore and WrongAfter are the chances
// of being wrong about "finished or not" on that day without it and with it.
type Option struct {
	What        string  `json:"what"`
	On          *Date   `json:"on"`
	Cost        float64 `json:"cost"`
	Minutes     float64 `json:"minutes"`
	WrongBefore float64 `json:"wrong_call_before"`
	WrongAfter  float64 `json:"wrong_call_after"`
	Settles     float64 `json:"settles"`       // chance that its result allows a call
	Expected    float64 `json:"expected_cost"` // all told: test, minutes, wrong calls, unprotected and lost days
}

// A Flag is something that does not fit or was assumed.
type Flag struct {
	Kind    string `json:"kind"` // contradiction, assumption, arrival, sampler, chemistry, row
	Line    int    `json:"line,omitempty"`
	Message string `json:"message"`
}

// A Pull is a reading with what it did to the belief.
type Pull struct {
	On        Date                   `json:"on"`
	What      What                   `json:"what"`
	Value     string                 `json:"value"`
	Line      int                    `json:"line,omitempty"`
	Expected  string                 `json:"expected,omitempty"`    // by all other readings, where that can be said
	Surprise  float64                `json:"surprise"`              // standard deviations from that, or −log₂ of its chance for words
	Malic     quantity.Concentration `json:"malic_without_g_l"`     // median now, had it not been read
	PFinished float64                `json:"p_finished_without"`    // likewise
	Shift     quantity.Concentration `json:"malic_shift_g_l"`       // what it moved the median by
	Doubt     float64                `json:"doubt"`                 // chance that it is a slip or another vessel's
	Flagged   bool                   `json:"contradicts,omitempty"` //
}

// A WhatIf is the finish if something were done today.
type WhatIf struct {
	What    string  `json:"what"`
	Finish  Finish  `json:"finish"`
	Within  float64 `json:"finished_within_30_days"`
	Caution string  `json:"caution,omitempty"`
}

// Sampling is how the figures were come by.
type Sampling struct {
	Seed      uint64  `json:"seed"`
	Particles int     `json:"particles"`
	ESS       float64 `json:"ess"`
	Steps     int     `json:"steps"`
	Error     float64 `json:"p_finished_error"` // Monte Carlo standard error
}

// A Date is a day, written 2026-11-10.
type Date struct{ time.Time }

// MarshalJSON writes the day.
func (d Date) MarshalJSON() ([]byte, error) { return []byte(`"` + d.Format(DateLayout) + `"`), nil }

// UnmarshalJSON reads it back.
func (d *Date) UnmarshalJSON(b []byte) error {
	t, err := time.Parse(`"`+DateLayout+`"`, string(b))
	d.Time = t
	return err
}

func (d Date) String() string { return d.Format(DateLayout) }

func round[T ~float64](v T, decimals int) T {
	p := math.Pow(10, float64(decimals))
	return T(math.Round(float64(v)*p)/p) + 0 // no minus zero
}
