package advise

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"elevage/internal/cellar"
)

// basis is a fingerprint of what an act rests on: the entries of its wine, or of
// its vessel. While it stays the same, nothing was learned.
func (p *plan) basis(s *subject) string {
	h := sha256.New()
	if s.life != nil {
		for _, r := range s.life.learned {
			h.Write([]byte(r.Entry.ID))
		}
	} else if s.vessel != nil {
		for _, r := range s.vessel.Records {
			h.Write([]byte(r.Entry.ID))
		}
	}
	if s.instrument != nil {
		for _, r := range s.instrument.Records {
			h.Write([]byte(r.Entry.ID))
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}

// small is how far, in days, a forecast may move before it is moved on the plan
// although something was learned. A proposal.
const small = 2

// keepStill holds windows of forecasts where they were unless something was
// learned and they moved by more than a little; then it says so.
func (p *plan) keepStill() {
	if p.Previous == nil {
		return
	}
	for i := range p.acts {
		a := &p.acts[i]
		old := p.Previous.Find(a.ID)
		if old == nil || old.From == nil || a.From == nil || len(a.WaitingOn) > 0 || len(old.WaitingOn) > 0 {
			continue
		}
		shift := dayNumber(a.From.Time) - dayNumber(old.From.Time)
		forecast := a.About != nil
		switch {
		case shift == 0:
			a.Moved = old.Moved
		case a.open && shift > 0 && (a.since == nil || a.since.Before(p.local(old.From.Time))), // its turn came on an earlier day, and that day stands
			forecast && (old.Basis == a.Basis || shift <= small && shift >= -small):
			a.From, a.About, a.To, a.Moved = p.again(old.From), p.again(old.About), p.again(old.To), old.Moved
			a.Overdue = 0
			p.stand(a)
		case old.Basis != a.Basis:
			a.Moved = &Moved{From: Day{p.local(old.From.Time)}, To: *a.From, Because: p.lesson(a.Parcel)}
		}
	}
}

// again is a day of an earlier plan, in this plan's zone.
func (p *plan) again(d *Day) *Day {
	if d == nil {
		return nil
	}
	return &Day{p.local(d.Time)}
}

// lesson is what was written last of a wine.
func (p *plan) lesson(id cellar.ParcelID) string {
	for _, s := range p.all {
		if s.parcel == nil || s.parcel.ID != id || s.life == nil {
			continue
		}
		var last *cellar.Record
		for _, r := range s.life.learned {
			if _, tick := r.Body.(cellar.Done); !tick && (last == nil || r.Entry.Written.After(last.Entry.Written)) {
				last = r
			}
		}
		if last != nil {
			return p.told(last)
		}
	}
	return "an entry was written"
}

// told says in a few words what an entry taught.
func (p *plan) told(r *cellar.Record) string {
	when := p.when(r.At)
	switch b := r.Body.(type) {
	case cellar.Reading:
		title := b.What
		if k, ok := cellar.LookupReadable(b.What); ok {
			title = k.Title
		}
		return strings.TrimSpace(fmt.Sprintf("%s %s on %s", title, b.Value, when))
	case cellar.Addition:
		return fmt.Sprintf("%s %s added on %s", b.Amount, cellar.ProductTitle(b.Product), when)
	}
	info, _ := cellar.InfoOf(r.Entry.Kind)
	return info.Title + " on " + when
}
