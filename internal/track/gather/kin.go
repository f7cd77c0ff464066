package gather

import (
	"math"
	"slices"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/track"
	"elevage/science/quantity"
)

// A stretch is a parcel that the greater part of a wine lay in, until it left it.
type stretch struct {
	parcel *cellar.Parcel
	until  time.Time
}

// stream goes back from a parcel through those that most of its wine lay in.
func stream(s *cellar.State, p *cellar.Parcel, until time.Time) []stretch {
	var out []stretch
	for p != nil && len(out) < 200 {
		out = append(out, stretch{p, until})
		i := slices.IndexFunc(p.Inflows, func(f cellar.Inflow) bool { return f.Entry == p.Start && f.Share >= mainStream && f.From != "" })
		if i < 0 {
			break
		}
		until, p = p.Inflows[i].At, s.Parcel(p.Inflows[i].From)
	}
	return out
}

// partedOn is when two wines were last one, for the greater part; zero for never.
func partedOn(a, b []stretch) time.Time {
	var last time.Time
	for _, x := range a {
		for _, y := range b {
			if x.parcel != y.parcel {
				continue
			}
			t := x.until
			if y.until.Before(t) {
				t = y.until
			}
			if t.After(last) {
				last = t
			}
		}
	}
	return last
}

// siblings are the other parcels of a lot that convert with the same bacteria, as
// the belief wants them: rows that are in the parcel's own history as well are told
// apart by their entries. Parcels that other wine came into are left out.
func siblings(s *cellar.State, p *cellar.Parcel, own []sourced, events []Event, at time.Time, how string) []track.Sibling {
	lot := s.Lot(p.Lot)
	mine := map[cellar.ID]bool{}
	for _, e := range events {
		mine[e.Entry.ID] = true
	}
	for _, r := range own {
		mine[r.entry] = true
	}
	back := stream(s, p, at)
	var out []track.Sibling
	for _, q := range lot.Parcels {
		if q == p || q.Form != cellar.FormWine || q.Ended() || q.Began.After(at) {
			continue
		}
		theirs := History(s, q, at)
		start, kind, ok := begun(theirs)
		if !ok || kind.String() != how || mixed(s, q, start, at) {
			continue
		}
		k := track.Sibling{Name: q.AddressedAs(), Facts: facts(lot, q, theirs, start, kind), Parted: partedOn(back, stream(s, q, at))}
		rows := append(checks(s, theirs, start, at), readings(theirs, start)...)
		for _, e := range theirs { // what was read at its inoculation stands in its facts, which are not counted
			if b, ok := e.Body.(cellar.Reading); ok && !day(e.At).After(day(start)) && start.Sub(e.At) <= factsLast && !sameDayExtra(e) {
				rows = append(rows, reading(e, b)...)
			}
		}
		for _, r := range rows {
			if mine[r.entry] {
				k.Shared = append(k.Shared, r.Reading)
			} else {
				k.Own = append(k.Own, r.Reading)
			}
		}
		out = append(out, k)
	}
	return out
}

// inflows are the wines that came in since the bacteria did, back through the stream:
// toppings, and the lesser parts of what a parcel was filled with.
func inflows(s *cellar.State, p *cellar.Parcel, events []Event, start, at time.Time, of Opinion) []track.Inflow {
	var out []track.Inflow
	take := func(in track.Inflow, from time.Time) {
		in.On = day(from)
		if slices.ContainsFunc(events, func(e Event) bool { // read on the same day before it came: it counts from the next
			_, read := e.Body.(cellar.Reading)
			return read && e.At.Before(from) && day(e.At).Equal(day(from))
		}) {
			in.On = in.On.AddDate(0, 0, 1)
		}
		out = append(out, in)
	}
	for _, x := range stream(s, p, at) {
		for _, f := range x.parcel.Inflows {
			if f.Entry == x.parcel.Start && arrives(f.Share, f.At, start, x.until) {
				take(believed(s, f, Inflow(s, f.From, f.Share, f.At), of), f.At)
			}
		}
		for _, a := range compose.Arrivals(s, x.parcel.ID, x.until) {
			if arrives(a.Share, a.At, start, x.until) {
				take(inflow(s, a.From, a.Share, a.At, a.Brings, a.Live), a.At)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b track.Inflow) int { return a.On.Compare(b.On) })
	return out
}

// believed is a wine that was put together with another, with the malic acid that was
// believed to be left in it: more than the last assay says, where it was converting.
func believed(s *cellar.State, f cellar.Inflow, in track.Inflow, of Opinion) track.Inflow {
	source := s.Parcel(f.From)
	if of == nil || source == nil || !in.Live {
		return in
	}
	if b := of(source, f.At.Add(-time.Nanosecond)); b != nil {
		in.Malic, in.MalicSD = b.Malic.Q50, (b.Malic.Q95-b.Malic.Q05)/ninety
	}
	return in
}

// leastArrival is the share below which nobody would taste a topping.
const leastArrival = 0.001

// arrives says whether wine came in as a lesser part, between two moments.
func arrives(share float64, at, after, until time.Time) bool {
	return share < mainStream && share >= leastArrival && at.After(after) && !at.After(until)
}

// mixed says whether other wine came into a parcel's wine since a moment.
func mixed(s *cellar.State, p *cellar.Parcel, start, at time.Time) bool {
	for _, x := range stream(s, p, at) {
		for _, f := range x.parcel.Inflows {
			if arrives(f.Share, f.At, start, x.until) {
				return true
			}
		}
	}
	return false
}

// What stands for wine from outside, and for free SO2 that nobody measured: wine that
// is bought or kept is mostly sulfited (judged).
const (
	outsideFree  = 20 * quantity.MilligramPerLitre
	outsideTotal = 70 * quantity.MilligramPerLitre
	outsideMalic = 0.5 * quantity.GramPerLitre
	freeShare    = 0.35 // of the total SO2
)

// Inflow is what a share of a parcel's wine brings along, as it was just before a
// moment; of wine from outside ("") as such wine usually is.
func Inflow(s *cellar.State, from cellar.ParcelID, share float64, at time.Time) track.Inflow {
	source, just := s.Parcel(from), at.Add(-time.Nanosecond)
	if source == nil {
		return inflow(s, from, share, at, compose.Wine{}, false)
	}
	events := History(s, source, just)
	_, _, live := begun(events)
	w, err := compose.Of(s, from, just)
	if err != nil {
		w = compose.Wine{}
	}
	return inflow(s, from, share, at, w, live && !settled(events))
}

// inflow puts a wine in the belief's terms; the zero Wine is not known.
func inflow(s *cellar.State, from cellar.ParcelID, share float64, at time.Time, w compose.Wine, live bool) track.Inflow {
	in := track.Inflow{On: day(at), Name: "wine from outside", Share: math.Min(share, 0.95), Live: live,
		Malic: outsideMalic, MalicSD: 2 * outsideMalic, FreeSO2: outsideFree, TotalSO2: outsideTotal}
	source := s.Parcel(from)
	if source == nil {
		return in
	}
	in.Name = "wine from " + source.AddressedAs()
	if w.At.IsZero() {
		return in
	}
	in.Malic, in.MalicSD, in.TotalSO2 = max(0, w.Malic.Value), w.Malic.SD, max(0, w.TotalSO2.Value)
	in.FreeSO2 = quantity.Concentration(freeShare) * in.TotalSO2
	if r, t, ok := latest(History(s, source, at), cellar.ReadFreeSO2, at); ok && at.Sub(t) <= factsLast {
		if c := concentration(r.Value); c != nil {
			in.FreeSO2 = *c
			in.TotalSO2 = max(in.TotalSO2, *c)
		}
	}
	if w.TA.How != compose.Assumed {
		in.TA = &w.TA.Value
	}
	if w.PHTrouble == "" {
		in.PH = &w.PH.Value
	}
	return in
}
