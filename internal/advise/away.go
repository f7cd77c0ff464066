package advise

import (
	"fmt"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
)

// An Absence is what a time away means for the cellar: what to do before, what can
// wait, and what is at risk.
type Absence struct {
	From    Day        `json:"from"`
	To      Day        `json:"to"`
	Before  []AwayAct  `json:"before"`
	CanWait []AwayAct  `json:"can_wait"`
	Meets   []AwayAct  `json:"falls_within"` // its days lie within: early, by somebody else, or late
	AtRisk  []AwayRisk `json:"at_risk"`
}

// An AwayAct is an act of the plan with what the absence means for it.
type AwayAct struct {
	Act     Act    `json:"act"`
	Because string `json:"because"`
}

// An AwayRisk is what may happen to a wine meanwhile.
type AwayRisk struct {
	Lot    string  `json:"lot"`
	Vessel string  `json:"vessel"`
	Says   string  `json:"says"`
	Chance float64 `json:"chance,omitempty"` // where it can be told, 0 to 1
}

// Away works out a time away, both days included. It looks at the plan of Now, and
// at the beliefs' forecasts. The error is the caller's: no state, or an absence that
// ends before it begins or before today.
func Away(in Input, from, to time.Time) (Absence, error) {
	p, err := newPlan(in)
	if err != nil {
		return Absence{}, err
	}
	first, last := p.local(from), p.local(to)
	if last.Before(first) || last.Before(p.local(p.Now)) {
		return Absence{}, fmt.Errorf("away from %s to %s: allowed is an end after the beginning and after today", Day{first}, Day{last})
	}
	plan, err := Plan(in)
	if err != nil {
		return Absence{}, err
	}
	out := Absence{From: Day{first}, To: Day{last}}
	for _, a := range plan.Acts {
		out.sort(a, first, last)
	}
	for _, s := range p.all {
		if s.scope == OfParcel {
			out.AtRisk = append(out.AtRisk, p.risks(s, last)...)
		}
	}
	return out, nil
}

// sort puts an act where it belongs.
func (o *Absence) sort(a Act, first, last time.Time) {
	switch {
	case a.Standing == Waiting || a.From == nil:
	case a.From.After(last):
		o.CanWait = append(o.CanWait, AwayAct{a, "its days begin after you are back"})
	case a.From.Before(first):
		if a.To != nil && a.To.Before(last) || a.Matters == 3 {
			o.Before = append(o.Before, AwayAct{a, "its time has come, and it would be late when you are back"})
		} else {
			o.CanWait = append(o.CanWait, AwayAct{a, "its days last until you are back"})
		}
	case a.To == nil || !a.To.Before(last):
		o.CanWait = append(o.CanWait, AwayAct{a, "its days last until you are back"})
	default:
		o.Meets = append(o.Meets, AwayAct{a, "all its days lie within: ask somebody, or take it up when you are back"})
	}
}

// risks are what the forecasts say of a wine until a day.
func (p *plan) risks(s *subject, last time.Time) []AwayRisk {
	var out []AwayRisk
	add := func(chance float64, format string, args ...any) {
		out = append(out, AwayRisk{Lot: s.lot.Slug, Vessel: s.vessel.Slug, Says: fmt.Sprintf(format, args...), Chance: chance})
	}
	if s.fermenting() && s.parcel.Form == cellar.FormMust {
		add(0, "it ferments on its skins: the cap dries within a day, and nobody would see it overheat or stop")
	} else if s.fermenting() {
		add(0, "it ferments: nobody would see it slow or stop")
	}
	if b := s.ageing; b != nil && s.settled() {
		if then, ok := below(b, last); ok && then >= 0.05 {
			add(then, "free SO2 lies under the floor with a chance of %s on your return, %s today", inPercent(then), inPercent(b.Below))
		}
	}
	if b := s.belief; b != nil && s.converting() {
		if day := b.Finish.Q50; day != nil && p.local(day.Time).Before(last) && b.Decision.Call != track.CallStalled {
			add(0, "malolactic fermentation is most likely over by %s, and the wine then stands without sulfur dioxide until you test it", day.Format("2 January"))
		}
	}
	if room := s.air(); room > 0 && s.vessel.Capacity() > 0 && float64(room) > airy*float64(s.vessel.Capacity()) && !s.fermenting() && s.parcel.Form == cellar.FormWine {
		add(0, "%s of air stand above it: film needs a week or two", measure{kind: volume, v: float64(room)}.inWords(s.usUnits()))
	}
	return out
}

// below is the chance of lying under the floor on a day; false beyond the forecast.
func below(b *ageing.Belief, day time.Time) (float64, bool) {
	for _, d := range b.Forecast {
		if !d.Day.Before(day) {
			return d.Below, true
		}
	}
	return 0, false
}
