package gather

import (
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	oxygen "elevage/science/ageing"
	"elevage/science/quantity"
)

// Milestones are the days that a parcel's wine has behind it, for the clock that
// tells how long it has stood without sulfur dioxide.
func Milestones(s *cellar.State, p *cellar.Parcel, at time.Time) oxygen.Milestones {
	var m oxygen.Milestones
	for _, e := range History(s, p, at) {
		switch b := e.Body.(type) {
		case cellar.Verdict:
			switch b.Says {
			case cellar.VerdictDry:
				m.Dry = e.At
			case cellar.VerdictMalolacticFinished, cellar.VerdictMalolacticGivenUp:
				m.Malolactic = e.At
			}
		case cellar.Addition:
			if _, ok := sulfurOf(b, e); ok {
				m.LastSO2 = e.At
			}
		}
	}
	return m
}

// Look is what a walk through the cellar can know of a parcel of finished wine.
func Look(s *cellar.State, p *cellar.Parcel, so2 *ageing.Belief, at time.Time) oxygen.Look {
	vessel, lot := s.Vessel(p.Vessel), s.Lot(p.Lot)
	events := History(s, p, at)
	l := oxygen.Look{At: at, Vessel: vesselKind(vessel), Wood: vessel.Type == "barrel", Red: lot.Colour == "red" || lot.Colour == "", Wine: p.Volume}
	if room, ok := vessel.Ullage(); ok && room < vessel.Capacity() {
		l.Air, l.AirSince = room, lastLevel(p)
	}
	if so2 != nil {
		l.Molecular = so2.Molecular.Q50
	}
	for _, e := range events {
		switch b := e.Body.(type) {
		case cellar.Reading:
			lookAt(&l, b, e)
		case cellar.Tasting:
			for _, f := range b.Faults {
				l.Film = l.Film || strings.Contains(f, "film")
			}
		}
	}
	for _, f := range p.Inflows {
		if f.Share < mainStream {
			l.LastTopped = f.At
		}
	}
	return l
}

// lastLevel is when the volume last changed.
func lastLevel(p *cellar.Parcel) time.Time {
	if n := len(p.Levels); n > 0 {
		return p.Levels[n-1].At
	}
	return p.Began
}

func lookAt(l *oxygen.Look, b cellar.Reading, e Event) {
	if b.Control {
		return
	}
	switch b.What {
	case cellar.ReadPH:
		if v, err := b.Value.PH(); err == nil {
			l.PH = v
		}
	case cellar.ReadTemperature:
		t, err := b.Value.Temperature()
		if err != nil {
			return
		}
		if l.Coldest == 0 || t < l.Coldest {
			l.Coldest = t
		}
		l.Warmest, l.Temperature = max(l.Warmest, t), t
	case cellar.ReadSugar:
		if c := concentration(b.Value); c != nil {
			l.Sugar, l.SugarKnown = *c, true
		}
	case cellar.ReadVA:
		if c := concentration(b.Value); c != nil {
			l.Volatile = append(l.Volatile, oxygen.Acid{At: e.At, Value: *c})
		}
	}
}

// AtTheEnd is how a wine stands between the end of malolactic fermentation and its
// first sulfur dioxide; false for wine that is not there: not over, by the
// person's verdict or the belief's call, or dosed since.
func AtTheEnd(s *cellar.State, p *cellar.Parcel, malo *track.Belief, at time.Time) (oxygen.Standing, bool) {
	m := Milestones(s, p, at)
	over := !m.Malolactic.IsZero() || malo != nil && malo.Decision.Call == track.CallFinished
	lot := s.Lot(p.Lot)
	if !over || s.Wish(lot) != cellar.MalolacticWanted || !m.LastSO2.IsZero() && m.LastSO2.After(m.Dry) {
		return oxygen.Standing{}, false
	}
	l := Look(s, p, nil, at)
	w := oxygen.Standing{PH: l.PH, Temperature: l.Temperature, Film: l.Film, Ullage: float64(l.Air) > ullageShare*float64(p.Volume)}
	if len(l.Volatile) > 1 {
		if t, err := oxygen.VolatileTrend(l.Volatile); err == nil {
			w.VolatileUp = t.Rising > 0.9
		}
	}
	if w.PH == 0 {
		w.PH = usualPH
	}
	if w.Temperature == 0 {
		w.Temperature = quantity.Celsius(usualCellar)
	}
	return w, true
}

const (
	ullageShare = 0.02 // of the volume; above it a vessel is not full (proposal)
	usualCellar = 15   // °C, where nobody read it
)
