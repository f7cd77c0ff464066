package advise

import (
	"math"
	"slices"
	"strings"

	"elevage/internal/cellar"
)

// ticked is the last tick of a step on this wine, vessel or instrument.
func (p *plan) ticked(s *subject, step *Step) (tick, bool) {
	if s.scope == OfParcel {
		t, ok := s.life.done[step.ID]
		return t, ok
	}
	records := p.State.Records.Slice()
	if s.vessel != nil {
		records = s.vessel.Records
	}
	var last tick
	for _, r := range records {
		b, ok := r.Body.(cellar.Done)
		if !ok || !r.Counts() || stepOf(b.Task) != step.ID {
			continue
		}
		if s.instrument != nil && !strings.HasSuffix(b.Task, "/"+s.instrument.Slug) {
			continue
		}
		last = tick{at: r.At, skipped: b.Skipped, words: b.Words, count: last.count + 1}
	}
	if s.vessel != nil && s.parcel != nil {
		if t, ok := s.life.done[step.ID]; ok && t.at.After(last.at) {
			return t, true
		}
	}
	return last, last.count > 0
}

// window sets the days between which the act is due. It is false where it has
// none: a date that the window hangs on never comes.
func (p *plan) window(s *subject, step *Step, a *Act, t tick, ticked bool) bool {
	from, ok := p.day(s, step.from, a)
	if !ok {
		return false
	}
	if ticked {
		gap, ok := p.rests(s, step, t)
		if !ok {
			return false
		}
		next := math.Ceil(on(t.at, p.zone).v + gap)
		if from == nil || next > from.v {
			from = &measure{kind: date, v: next}
		}
	}
	about, ok := p.day(s, step.about, a)
	if !ok {
		return false
	}
	by, ok := p.day(s, step.by, a)
	if !ok {
		return false
	}
	if from == nil {
		from = &p.today
	}
	from, about, by = p.notBeforeBlend(s, from, about, by)
	a.open = from.v == p.today.v && (step.from == nil || slices.Contains(step.from.uses, "today"))
	if ticked {
		a.since = &Day{p.local(t.at.In(p.zone))}
	}
	a.From = p.date(from.v)
	if a.From == nil {
		return len(a.WaitingOn) > 0
	}
	if by != nil {
		a.To = p.date(max(by.v, from.v))
	}
	if about != nil {
		a.About = p.date(about.v)
	}
	return true
}

// settlesIn is the longest, in days, that a window stays open which would have closed
// before the wine was put together. A proposal.
const settlesIn = 7

// notBeforeBlend lets a window begin no earlier than the wine was put together out of
// several: what was due in one of them before that was that wine's. One that would have
// closed by then stays open for as long as it would have been, a week at most.
func (p *plan) notBeforeBlend(s *subject, from, about, by *measure) (*measure, *measure, *measure) {
	if s.life == nil || s.life.together.IsZero() {
		return from, about, by
	}
	made := math.Floor(on(s.life.together, p.zone).v)
	if from.v >= made {
		return from, about, by
	}
	later := func(m *measure, at float64) *measure {
		if m == nil || m.v >= at {
			return m
		}
		return &measure{kind: date, v: at}
	}
	open := 0.0
	if by != nil {
		open = min(by.v-from.v, settlesIn)
	}
	return later(from, made), later(about, made), later(by, made+open)
}

func (p *plan) date(n float64) *Day {
	t, ok := dayOf(math.Floor(n), p.zone)
	if !ok {
		return nil
	}
	return &Day{t}
}

// day evaluates one end of a window: nil where the step has none; not ok where it
// is never. An unknown end is waited for.
func (p *plan) day(s *subject, f *formula, a *Act) (*measure, bool) {
	if f == nil {
		return nil, true
	}
	v, unknown, err := f.eval(s)
	if err != nil {
		return nil, false
	}
	if unknown != nil {
		for _, ask := range asks(unknown) {
			if !slices.Contains(a.WaitingOn, ask) {
				a.WaitingOn = append(a.WaitingOn, ask)
			}
		}
		return nil, true
	}
	m, isDate := v.(measure)
	if !isDate || math.IsInf(m.v, 0) {
		return nil, false
	}
	return &m, true
}

// stand says where the act stands.
func (p *plan) stand(a *Act) {
	today := p.local(p.Now)
	switch {
	case len(a.WaitingOn) > 0:
		a.Standing = Waiting
	case a.From == nil || !a.From.After(today):
		a.Standing = Due
	case !a.From.After(today.AddDate(0, 0, p.Prefs.soon())):
		a.Standing = Soon
	default:
		a.Standing = Later
	}
	if a.Standing == Due && a.To != nil && a.To.Before(today) {
		a.Overdue = int(dayNumber(today) - dayNumber(a.To.Time))
	}
}
