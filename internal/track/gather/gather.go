// Package gather reads one parcel's history out of a cellar's state and hands it
// to the beliefs in their own terms.
//
//	state := cellar.Fold(entries, cellar.Options{Now: now})
//	parcel := state.In("b2")
//	in, ok := gather.Malolactic(state, parcel, now, nil) // ok: conversion is wanted here
//	belief, err := track.Malo(in)
//
// A parcel inherits what was known of the wine it was filled from, back through
// every racking and split. What was read in wine that makes up less than half of
// the parcel says nothing certain about the whole and is left where it was read.
package gather

import (
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// An Event is an entry in the history of a parcel's wine.
type Event struct {
	*cellar.Record
	// Here is the parcel that the wine was when it happened.
	Here *cellar.Parcel
}

// mainStream is the share of the wine for which a reading must have been made.
const mainStream = 0.5

// History is what happened to the wine of a parcel up to and including the
// moment, in time. Struck entries are left out, and so is what happened to less
// than half of the wine.
func History(s *cellar.State, p *cellar.Parcel, until time.Time) []Event {
	var events []Event
	for _, h := range s.History(p.ID) {
		if h.Counts() && h.Share >= mainStream && !h.At.After(until) {
			events = append(events, Event{h.Record, s.Parcel(h.Parcel)})
		}
	}
	return events
}

// number reads a measure's figure, ignoring "<" and ">".
func number(m *cellar.Measure) (float64, bool) {
	v, err := m.Number()
	return v, err == nil
}

// latest is the last reading of a kind in the events at or before a moment.
func latest(events []Event, what string, until time.Time) (cellar.Reading, time.Time, bool) {
	for i := len(events) - 1; i >= 0; i-- {
		if r, ok := events[i].Body.(cellar.Reading); ok && r.What == what && !r.Control && !events[i].At.After(until) {
			return r, events[i].At, true
		}
	}
	return cellar.Reading{}, time.Time{}, false
}

// Latest is the last reading of a kind in a parcel's history, and when its sample was drawn.
func Latest(s *cellar.State, p *cellar.Parcel, what string, until time.Time) (cellar.Reading, time.Time, bool) {
	return latest(History(s, p, until), what, until)
}

// MustBrix is the Brix of a parcel's must before it fermented: the highest that was
// read, if that was a must's.
func MustBrix(s *cellar.State, p *cellar.Parcel, until time.Time) (strength.Brix, bool) {
	const least = 5 // what is under it has fermented
	var most strength.Brix
	for _, e := range History(s, p, until) {
		if r, ok := e.Body.(cellar.Reading); ok && r.What == cellar.ReadDensity && !r.Control {
			if b, err := r.Value.MustBrix(); err == nil {
				most = max(most, b)
			}
		}
	}
	return most, most > least
}

// concentration reads a measure in g/L or mg/L as a pointer for facts; nil if it cannot be read.
func concentration(m *cellar.Measure) *quantity.Concentration {
	c, _, err := m.Concentration()
	if err != nil {
		return nil
	}
	return &c
}

// day is the date of a moment in the zone it was written in, as midnight UTC:
// the beliefs count a day as one session.
func day(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
