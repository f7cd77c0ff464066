package gather

import (
	"fmt"
	"strconv"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/science/electrode"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// before the culture goes in, a reading of the wine stays good for facts this long.
const factsLast = 45 * 24 * time.Hour

// Malolactic gathers what the malolactic belief of a parcel wants to know. It is
// false for wine in which conversion is not wanted or has not begun or was
// declared over by the person, and for fruit, must and bottles. Sources are the entries behind the readings: the
// reading on Line n came from Sources[n-1]. Of wines that were put together with it the
// malic acid is what an opinion says, where there is one; nil for none.
func Malolactic(s *cellar.State, p *cellar.Parcel, at time.Time, of Opinion) (in track.Input, sources []cellar.ID, ok bool) {
	lot := s.Lot(p.Lot)
	if s.Wish(lot) != cellar.MalolacticWanted || p.Form != cellar.FormWine || p.Ended() && !p.End.After(at) {
		return in, nil, false
	}
	events := History(s, p, at)
	start, how, ok := begun(events)
	if !ok || settled(events) {
		return in, nil, false
	}
	in = track.Input{At: day(at), Facts: facts(lot, p, events, start, how)}
	rows := append(checks(s, events, start, at), readings(events, start)...)
	in.Siblings = siblings(s, p, rows, events, at, how.String())
	in.Inflows = inflows(s, p, events, start, at, of)
	if p.Ended() { // it was not yet
		volume := p.At(at).Volume
		in.Facts.Volume = &volume
	}
	for _, r := range rows {
		sources = append(sources, r.entry)
		r.Line = len(sources)
		in.Readings = append(in.Readings, r.Reading)
	}
	return in, sources, true
}

// An Opinion is what was to be believed of a wine's conversion at an earlier moment; nil
// where there was nothing to be.
type Opinion func(p *cellar.Parcel, at time.Time) *track.Belief

// sourced is a reading with the entry it came from.
type sourced struct {
	track.Reading
	entry cellar.ID
}

// Converting says whether malolactic conversion has begun in a parcel, by a
// culture or left to start by itself, and when.
func Converting(s *cellar.State, p *cellar.Parcel, at time.Time) (time.Time, bool) {
	t, _, ok := begun(History(s, p, at))
	return t, ok
}

// settled says that the person declared the conversion finished or given up,
// and did not start it again after that.
func settled(events []Event) bool {
	over := false
	for _, e := range events {
		switch b := e.Body.(type) {
		case cellar.Verdict:
			switch b.Says {
			case cellar.VerdictMalolacticFinished, cellar.VerdictMalolacticGivenUp:
				over = true
			case cellar.VerdictMalolacticStarted, cellar.VerdictMalolacticStuck:
				over = false
			}
		case cellar.Inoculation:
			if b.Of == "malolactic" {
				over = false
			}
		}
	}
	return over
}

// Settled says whether a parcel's conversion was declared over by the person.
func Settled(s *cellar.State, p *cellar.Parcel, at time.Time) bool {
	return settled(History(s, p, at))
}

// begun finds the first inoculation for malolactic conversion.
func begun(events []Event) (time.Time, malolactic.Inoculation, bool) {
	for _, e := range events {
		if b, ok := e.Body.(cellar.Inoculation); ok && b.Of == "malolactic" {
			return e.At, inoculation(b.How), true
		}
	}
	return time.Time{}, malolactic.Direct, false
}

func inoculation(how string) malolactic.Inoculation {
	i, err := malolactic.ParseInoculation(how)
	if err != nil {
		return malolactic.Direct
	}
	return i
}

func facts(lot *cellar.Lot, p *cellar.Parcel, events []Event, start time.Time, how malolactic.Inoculation) track.Facts {
	on := day(start)
	volume := p.Volume
	f := track.Facts{Name: lot.Title(), Colour: lot.Colour, Volume: &volume, Inoculated: &on, Inoculation: &how}
	// The day of inoculation is one session: what was read later that day is still its facts.
	end := on.Add(24*time.Hour - time.Second)
	recent := func(what string) *cellar.Measure {
		r, t, ok := latest(events, what, end)
		if !ok || start.Sub(t) > factsLast || r.Value.Bound() != "" {
			return nil
		}
		return r.Value
	}
	if m := recent(cellar.ReadPH); m != nil {
		if v, err := m.PH(); err == nil {
			f.PH = &v
		}
	}
	if r, t, ok := latest(events, cellar.ReadTA, end); ok && start.Sub(t) <= factsLast {
		f.TA, f.TAEndPoint = titratable(r)
	}
	f.Malic = concentration(recent(cellar.ReadMalic))
	f.FreeSO2 = concentration(recent(cellar.ReadFreeSO2))
	f.TotalSO2 = concentration(recent(cellar.ReadTotalSO2))
	if r, _, ok := latest(events, cellar.ReadAlcohol, maxTime); ok {
		if v, err := r.Value.Strength(); err == nil {
			f.Alcohol = &v
		}
	}
	if t, ok := warmth(events, end); ok {
		f.Temperature = &t
	}
	return f
}

var maxTime = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// acidPerTartaric is the mass of each acid that holds as many equivalents as one
// gram of tartaric acid: ratio of grams per equivalent from IUPAC standard
// atomic weights (tartaric 75.0435).
var acidPerTartaric = map[string]float64{"": 1, "tartaric": 1, "malic": 67.0435 / 75.0435, "lactic": 90.078 / 75.0435,
	"citric": 64.041 / 75.0435, "sulfuric": 49.036 / 75.0435, "acetic": 60.052 / 75.0435, "succinic": 59.044 / 75.0435}

// titratable is a TA as tartaric acid and the end point it was titrated to, nil if not said.
func titratable(r cellar.Reading) (*quantity.Concentration, *quantity.PH) {
	var ta quantity.Concentration
	if c, _, err := r.Value.Concentration(); err == nil {
		per, ok := acidPerTartaric[r.As]
		if !ok {
			return nil, nil
		}
		ta = quantity.Concentration(float64(c) / per)
	} else if v, ok := number(r.Value); ok && r.Value.Unit == "meq/L" {
		ta = quantity.Concentration(v * 75.0435e-3)
	} else {
		return nil, nil
	}
	if v, err := strconv.ParseFloat(r.EndPoint, 64); err == nil {
		end := quantity.PH(v)
		return &ta, &end
	}
	return &ta, nil
}

// warmth is the temperature that the wine had, or was set to have, at a moment.
func warmth(events []Event, until time.Time) (quantity.Temperature, bool) {
	for i := len(events) - 1; i >= 0; i-- {
		if events[i].At.After(until) {
			continue
		}
		switch b := events[i].Body.(type) {
		case cellar.Reading:
			if b.What == cellar.ReadTemperature {
				if t, err := b.Value.Temperature(); err == nil {
					return t, true
				}
			}
		case cellar.Warmth:
			if t, err := b.Set.Temperature(); err == nil {
				return t, true
			}
		}
	}
	return 0, false
}

// readings are the rows after the day of inoculation, in the belief's own words.
func readings(events []Event, start time.Time) []sourced {
	var out []sourced
	first := true
	for _, e := range events {
		if !day(e.At).After(day(start)) {
			if b, ok := e.Body.(cellar.Inoculation); ok && b.Of == "malolactic" {
				first = false
			}
			if _, isReading := e.Body.(cellar.Reading); !isReading || !sameDayExtra(e) || day(e.At).Before(day(start)) {
				continue
			}
		}
		switch b := e.Body.(type) {
		case cellar.Reading:
			out = append(out, reading(e, b)...)
		case cellar.Warmth:
			if t, err := b.Set.Temperature(); err == nil {
				out = append(out, row(e, track.Temperature, t.Celsius(), ""))
			}
		case cellar.Addition:
			if so2, ok := sulfurOf(b, e); ok {
				out = append(out, row(e, track.AddedSO2, so2.MgPerL(), ""))
			}
		case cellar.Stirring:
			out = append(out, row(e, track.Stir, 0, ""))
		case cellar.Inoculation:
			if b.Of == "malolactic" && !first && b.How != "native" {
				out = append(out, row(e, track.Inoculate, 0, b.How))
			}
			first = false
		}
	}
	return out
}

// sameDayExtra are readings of the inoculation day that no fact holds.
func sameDayExtra(e Event) bool {
	b := e.Body.(cellar.Reading)
	return b.Control || b.What == cellar.ReadChromatogram || b.What == cellar.ReadBubble
}

func row(e Event, what track.What, v float64, text string) sourced {
	return sourced{track.Reading{On: day(e.At), What: what, Value: v, Text: text}, e.Entry.ID}
}

// reading is one measurement as the belief's rows; none if it says nothing about conversion.
func reading(e Event, b cellar.Reading) []sourced {
	one := func(what track.What, v float64, ok bool) []sourced {
		if !ok {
			return nil
		}
		return []sourced{row(e, what, v, b.Value.Value)}
	}
	switch b.What {
	case cellar.ReadPH:
		v, ok := number(b.Value)
		if b.Control {
			return one(track.PHControl, v, ok)
		}
		return one(track.PH, v, ok)
	case cellar.ReadTA:
		ta, _ := titratable(b)
		if ta == nil || b.Control {
			return nil
		}
		return one(track.TA, ta.GPerL(), true)
	case cellar.ReadMalic:
		c := concentration(b.Value)
		if c == nil || b.Control {
			return nil
		}
		return one(track.Malic, c.GPerL(), true)
	case cellar.ReadChromatogram:
		if b.Control {
			return nil
		}
		return []sourced{row(e, track.Chromatogram, 0, b.Value.Value)}
	case cellar.ReadBubble:
		s, err := b.Value.Seconds()
		if err != nil {
			return nil
		}
		if b.Value.Bound() == ">" {
			s = max(s, track.NoBubbleSeconds)
		}
		return []sourced{row(e, track.Bubble, s, b.Value.String())}
	case cellar.ReadTemperature:
		t, err := b.Value.Temperature()
		return one(track.Temperature, t.Celsius(), err == nil)
	case cellar.ReadFreeSO2:
		c := concentration(b.Value)
		if c == nil {
			return nil
		}
		return one(track.FreeSO2, c.MgPerL(), true)
	}
	return nil
}

// checks are the readings of buffers on days on which the wine's pH was read by
// the same instrument.
func checks(s *cellar.State, events []Event, start, until time.Time) []sourced {
	used := map[string]bool{}
	for _, e := range events {
		if b, ok := e.Body.(cellar.Reading); ok && b.What == cellar.ReadPH && !day(e.At).Before(day(start)) {
			used[b.SessionKey(e.At)] = true
		}
	}
	var out []sourced
	for _, r := range s.Records.All() {
		b, ok := r.Body.(cellar.PHCheck)
		if !ok || !r.Counts() || r.At.After(until) || !used[b.SessionKey(r.At)] {
			continue
		}
		what := track.What(fmt.Sprintf("ph_check_%s", b.Buffer))
		v, err := cellar.ParseNumber(b.Read)
		if err != nil || (what != track.PHCheck7 && what != track.PHCheck4 && what != track.PHCheck356) {
			continue
		}
		out = append(out, sourced{track.Reading{On: day(r.At), What: what, Value: v - warmer(b), Text: b.Read}, r.Entry.ID})
	}
	return out
}

// warmer is by how much a solution's pH at the temperature it had differs from that at
// 25 °C, for which the belief takes it; 0 where the temperature was not written down.
func warmer(b cellar.PHCheck) float64 {
	if b.Warm.IsZero() {
		return 0
	}
	warm, err := b.Warm.Temperature()
	if err != nil {
		return 0
	}
	at := func(t quantity.Temperature) (quantity.PH, error) {
		switch b.Buffer {
		case "7.00":
			return electrode.Technical700.PH(t)
		case "4.01":
			return electrode.Phthalate.PH(t)
		}
		ph, _, err := electrode.CreamOfTartar(t)
		return ph, err
	}
	had, err1 := at(warm)
	usual, err2 := at(quantity.Celsius(25))
	if err1 != nil || err2 != nil {
		return 0
	}
	return float64(had - usual)
}

// BeforeBacteria gathers what is known of a wine that is wanted to convert and has
// been given no bacteria yet; false for any other.
func BeforeBacteria(s *cellar.State, p *cellar.Parcel, at time.Time) (track.Facts, bool) {
	lot := s.Lot(p.Lot)
	if s.Wish(lot) != cellar.MalolacticWanted || p.Form != cellar.FormWine || p.Ended() {
		return track.Facts{}, false
	}
	events := History(s, p, at)
	if _, _, begun := begun(events); begun || settled(events) {
		return track.Facts{}, false
	}
	f := facts(lot, p, events, at, malolactic.Direct)
	return f, true
}
