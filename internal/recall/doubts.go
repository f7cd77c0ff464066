package recall

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"elevage/internal/cellar"
)

// A Doubt is a stretch of time over which an instrument is not to be trusted, with
// what was read with it and what was done by those readings.
type Doubt struct {
	Instrument *cellar.Instrument
	Why        string
	From, To   time.Time // To is zero while it lasts
	Readings   []Doubted
}

// A Doubted is one reading of a distrusted instrument.
type Doubted struct {
	Record *cellar.Record
	Value  string
	// Named says that the reading names the instrument; otherwise it is taken to be
	// made with it because no other of its kind is written down.
	Named bool
	// Doses are additions of sulfur dioxide to that wine after the reading and before
	// the next of its kind: they were reckoned from it.
	Doses []*cellar.Record
}

// TrustedOff is by how much a pH meter may be off in a buffer: an offset of 0.05 in a
// session is usual for a hand meter (from memory); the line at 0.08 is a proposal, the
// one that the plan's check goes by.
const TrustedOff = 0.08

// A check is one look at an instrument against a standard.
type check struct {
	at   time.Time
	good bool
	says string
}

// Doubts lists what is not to be trusted: readings of a meter between the last good
// check before one that failed and the next good one, and those of a kit after its
// best-by day. Doubts without a reading are told of too.
func Doubts(s *cellar.State, now time.Time) []Doubt {
	var out []Doubt
	for _, i := range s.Instruments {
		checks := checksOf(i, now)
		for k := 0; k < len(checks); k++ {
			if checks[k].good {
				continue
			}
			d := Doubt{Instrument: i, Why: checks[k].says}
			if k > 0 {
				d.From = checks[k-1].at
			}
			for k+1 < len(checks) && !checks[k+1].good {
				k++
				d.Why = checks[k].says
			}
			if k+1 < len(checks) {
				d.To = checks[k+1].at
			}
			d.collect(s, now)
			out = append(out, d)
		}
		if m, err := cellar.ParseMoment(i.BestBy); err == nil && m.Time.Before(now) {
			d := Doubt{Instrument: i, Why: "it was good until " + day(m.Time), From: m.Time.AddDate(0, 0, 1)}
			d.collect(s, now)
			if len(d.Readings) > 0 {
				out = append(out, d)
			}
		}
	}
	return out
}

func checksOf(i *cellar.Instrument, now time.Time) []check {
	var out []check
	for _, r := range i.Records {
		if !r.Counts() || r.At.After(now) {
			continue
		}
		switch b := r.Body.(type) {
		case cellar.PHCheck:
			buffer, err1 := cellar.ParseNumber(b.Buffer)
			read, err2 := cellar.ParseNumber(b.Read)
			if err1 != nil || err2 != nil {
				continue
			}
			off := read - buffer
			c := check{at: r.At, good: math.Abs(off) <= TrustedOff}
			c.says = fmt.Sprintf("on %s it read %s in the buffer of %s, %+.2f off", day(r.At), b.Read, b.Buffer, off)
			out = append(out, c)
		case cellar.Calibration:
			out = append(out, check{at: r.At, good: b.Passed != "no", says: "on " + day(r.At) + " its calibration failed"})
		}
	}
	slices.SortStableFunc(out, func(a, b check) int { return a.at.Compare(b.at) })
	// Buffers read within an hour are one check, and it is as good as the worst of them.
	var sessions []check
	for _, c := range out {
		last := len(sessions) - 1
		switch {
		case last < 0 || c.at.Sub(sessions[last].at) > time.Hour:
			sessions = append(sessions, c)
		case !c.good && sessions[last].good:
			sessions[last] = c
		}
	}
	return sessions
}

// reads are the readings that a kind of instrument makes.
var reads = map[string][]string{
	"ph-meter": {cellar.ReadPH}, "hydrometer": {cellar.ReadDensity}, "refractometer": {cellar.ReadDensity}, "thermometer": {cellar.ReadTemperature},
	"titration-kit": {cellar.ReadTA}, "so2-kit": {cellar.ReadFreeSO2, cellar.ReadTotalSO2}, "malic-kit": {cellar.ReadMalic}, "chromatography": {cellar.ReadChromatogram},
}

// collect finds the readings of the stretch.
func (d *Doubt) collect(s *cellar.State, now time.Time) {
	kinds := reads[d.Instrument.Type]
	alone := true
	for _, o := range s.Instruments {
		alone = alone && (o == d.Instrument || o.Type != d.Instrument.Type)
	}
	for _, r := range s.Records.All() {
		b, ok := r.Body.(cellar.Reading)
		if !ok || !r.Counts() || r.At.After(now) || r.At.Before(d.From) || !d.To.IsZero() && r.At.After(d.To) {
			continue
		}
		named := b.Instrument == d.Instrument.Slug
		if !named && (b.Instrument != "" || !alone || !slices.Contains(kinds, b.What)) {
			continue
		}
		title := b.What
		if k, ok := cellar.LookupReadable(b.What); ok {
			title = k.Title
		}
		d.Readings = append(d.Readings, Doubted{Record: r, Value: title + " " + b.Value.String(), Named: named, Doses: dosesAfter(s, r, b, now)})
	}
	slices.SortStableFunc(d.Readings, func(a, b Doubted) int {
		return cmp.Or(a.Record.At.Compare(b.Record.At), cmp.Compare(a.Record.Entry.ID, b.Record.Entry.ID))
	})
}

// dosesAfter are the additions of sulfur dioxide that a reading was the last of its
// kind for: pH and SO2 readings only, since a dose is reckoned from no other.
func dosesAfter(s *cellar.State, r *cellar.Record, b cellar.Reading, now time.Time) []*cellar.Record {
	if b.What != cellar.ReadPH && b.What != cellar.ReadFreeSO2 || len(r.Parcels) == 0 {
		return nil
	}
	var out []*cellar.Record
	for _, o := range s.Records.All() {
		if !o.Counts() || o.At.Before(r.At) || o.At.After(now) || !shares(o.Parcels, r.Parcels) {
			continue
		}
		switch body := o.Body.(type) {
		case cellar.Reading:
			if body.What == b.What && o != r {
				return out
			}
		case cellar.Addition:
			if body.BringsSO2() {
				out = append(out, o)
			}
		}
	}
	return out
}

func shares(a, b []cellar.ParcelID) bool {
	return slices.ContainsFunc(a, func(id cellar.ParcelID) bool { return slices.Contains(b, id) })
}
