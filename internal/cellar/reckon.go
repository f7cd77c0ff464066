package cellar

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// reckon makes the run of one entry that counts.
func (s *step) reckon() {
	switch b := s.r.Body.(type) {
	case LotStarted, VesselNamed, InstrumentNamed, Prices, Strike:
		// described beforehand: a name is valid for the whole of a record
	case Purchase:
		s.note(noteMark{node: s.node, where: withStores})
	case FruitReceived:
		s.fruit(b)
	case Crush:
		s.crush(b)
	case Press:
		s.press(b)
	case Movement:
		s.move(flow{how: b.How, lot: b.Lot, becomes: b.Becomes, from: b.From, to: b.To, losses: b.Losses, rest: b.Rest})
	case Bottling:
		s.bottling(b)
	case Opened:
		s.opened(b)
	case Dip, Addition, Reading, ControlKept, Inoculation, Stirring, Warmth, Treatment, Verdict:
		s.act()
	case Care:
		v := s.vessel(b.Vessel)
		s.note(noteMark{node: s.node, where: withVessel, line: v.line()})
		if c := v.holds(); c != nil {
			s.touch(s.node, c.parcel)
		}
	case PHCheck:
		s.instrument(b.Instrument)
	case Calibration:
		s.instrument(b.Instrument)
	case Tasting:
		s.about(cmpOr(b.Bottling, b.Vessel), b.Lot)
	case Sample:
		s.about("", b.Lot)
	case Trial:
		s.trial(b)
	case Note:
		s.instrument(b.Instrument)
		s.about(b.Vessel, b.Lot)
	case Done:
		s.about(b.Vessel, b.Lot)
	case Attachment:
		s.about(b.Vessel, b.Lot) // what it is attached to is found when all is reckoned
	}
	for i := range s.run.slots {
		s.wake(vessel{s, i, s.run.slots[i].line.slug})
	}
}

// haunt makes the run of a struck reading: nothing comes of it but that it was
// known for a while.
func (s *step) haunt() {
	if b, ok := s.r.Body.(Reading); ok && b.Vessel != "" {
		if v := s.vessel(b.Vessel); v.holds() != nil && !b.Control {
			s.remember(v, b)
		}
	}
}

// remember carries a reading along with the wine.
func (s *step) remember(v vessel, b Reading) {
	if b.Value.IsZero() {
		return
	}
	o := v.own()
	o.memory = o.memory.with(b.What, remembered{n: s.actor, at: s.r.At, struck: s.actor.struckAt})
}

// about puts an entry with the parcel in a vessel, the empty vessel, or the lot.
func (s *step) about(vessel, lot string) {
	if vessel != "" {
		v := s.vessel(vessel)
		if c := v.holds(); c != nil {
			s.touch(s.node, c.parcel)
		} else {
			s.note(noteMark{node: s.node, where: withVessel, line: v.line()})
		}
		return
	}
	if lot != "" {
		s.note(noteMark{node: s.node, where: withLot, name: s.lot(lot).Slug})
	}
}

// trial puts a bench trial with every wine that was in it.
func (s *step) trial(b Trial) {
	seen := map[string]bool{}
	for _, name := range b.vessels(nil) {
		if slug := s.names.vessel(name); !seen[slug] {
			seen[slug] = true
			s.about(name, "")
		}
	}
	if len(seen) == 0 {
		s.about("", b.Lot)
	}
}

func (s *step) instrument(name string) {
	if name != "" {
		s.note(noteMark{node: s.node, where: withInstrument, name: strings.ToLower(name)})
	}
}

// place is the vessel and lot that an act names.
func place(b Body) (vessel, lot string) {
	switch b := b.(type) {
	case Dip:
		return b.Vessel, ""
	case Addition:
		return b.Vessel, b.Lot
	case Reading:
		return b.Vessel, b.Lot
	case ControlKept:
		return b.Vessel, ""
	case Inoculation:
		return b.Vessel, b.Lot
	case Stirring:
		return b.Vessel, ""
	case Warmth:
		return b.Vessel, b.Lot
	case Treatment:
		return b.Vessel, ""
	case Verdict:
		return b.Vessel, b.Lot
	}
	return "", ""
}

// act reckons something done to the wine in one vessel.
func (s *step) act() {
	slug, lot := place(s.r.Body)
	if slug == "" {
		s.about("", lot)
		return
	}
	v := s.vessel(slug)
	if b, ok := s.r.Body.(Reading); ok && b.Control {
		if p := v.state().control; p != nil {
			s.touch(s.node, p)
			return
		}
	}
	if v.holds() == nil {
		s.actOnEmpty(v)
		return
	}
	s.actOn(v)
}

// actOnEmpty: a day's act need not follow in the order of the day's other
// entries. It belongs to what was in the vessel earlier that day, or waits for
// what comes into it later that day.
func (s *step) actOnEmpty(v vessel) {
	if s.r.Entry.Happened.Precision == Day {
		from, _ := s.r.Entry.Happened.Bounds()
		if last := v.state().last; last != nil && !v.state().ended.Before(from) {
			if _, dip := s.r.Body.(Dip); !dip {
				s.touch(s.node, last)
				return
			}
		}
		o := v.own()
		o.waiting = append(slices.Clip(o.waiting), s.node)
		return
	}
	s.findEmpty(s.node, v.line())
}

func (s *step) findEmpty(n *node, l *line) {
	s.note(noteMark{node: n, where: withVessel, line: l})
	if says := emptySays(n, l.slug); says != "" {
		s.find(n.rec, FoundEmptyVessel, says).Vessel = l.slug
	}
}

// emptySays tells of an act on a vessel that held nothing; "" if that is as it should be.
func emptySays(n *node, slug string) string {
	if b, ok := n.rec.Body.(Dip); ok {
		if v, _, err := b.Volume.Volume(); err == nil && v == 0 {
			return "" // it was empty, as the record says
		}
	}
	info, _ := InfoOf(n.rec.Entry.Kind)
	return fmt.Sprintf("this %s is of %s, which held nothing", info.Title, slug)
}

// wake lets the acts of a day that waited for a vessel to be filled follow: they
// cannot have been before there was wine.
func (s *step) wake(v vessel) {
	if v.holds() == nil || len(v.state().waiting) == 0 {
		return
	}
	waiting, own := v.state().waiting, s.r
	v.own().waiting = nil
	for _, w := range waiting {
		if _, to := w.rec.Entry.Happened.Bounds(); !s.node.at.Before(to) || v.holds() == nil {
			s.findEmpty(w, v.line())
			continue
		}
		r := *w.rec
		r.At = s.node.at
		s.run.more().moved = append(s.run.more().moved, w)
		s.r, s.actor = &r, w
		s.actOn(v)
		s.r, s.actor = own, s.node
	}
}

func (s *step) actOn(v vessel) {
	c := v.holds()
	s.touch(s.actor, c.parcel)
	switch b := s.r.Body.(type) {
	case Dip:
		s.dip(v, c, b)
	case Addition:
		s.addition(v, c, b)
	case Reading:
		s.remember(v, b)
	case Inoculation:
		s.inoculation(v, c, b)
	case Verdict:
		s.verdict(v, c, b)
	case ControlKept:
		v.own().control = c.parcel
		if !b.Volume.IsZero() {
			s.move(flow{how: "removal", from: []Portion{{Vessel: b.Vessel}}, losses: []Loss{{LossSample, b.Volume}}})
		}
	}
}

// dip re-anchors a volume; off by more than both ± allow, it is a finding.
func (s *step) dip(v vessel, c *contents, b Dip) {
	if c.parcel.Form == FormFruit {
		return // fruit is reckoned by weight: how high it stands is only noted
	}
	unstated := unstatedSpread
	if b.How == "weight" {
		unstated = weighedSpread
	}
	measured, variance, err := volumeOf(b.Volume, unstated)
	if err != nil {
		s.find(s.r, FoundBadFigure, err.Error()).Vessel = v.Slug
		return
	}
	if off := measured - c.volume; math.Abs(off) > 2*sqrt(variance+c.variance)+dust {
		s.find(s.r, FoundVolumeOff, fmt.Sprintf("%s was found to hold %s L where the record says %s ± %s L: %s L is not accounted for",
			v.Slug, figure(measured), figure(c.volume), figure(sqrt(c.variance)), figure(math.Abs(off)))).about(c)
	}
	if measured <= dust {
		s.transfer(Transfer{From: c.parcel.ID, Door: DoorReanchored, Volume: litres(c.volume), Share: 1, Amounts: c.amounts, Ahead: true})
		s.hold(v, nil)
		s.end(v, c.parcel)
		return
	}
	s.reanchor(c, measured)
	s.hold(v, c.reanchored(measured, variance))
}

// reanchor notes that a measurement moves the record's volume. What was added
// was added: no amount goes through that door.
func (s *step) reanchor(c *contents, measured float64) {
	t := Transfer{To: c.parcel.ID, Door: DoorReanchored, Volume: litres(measured - c.volume), Ahead: true}
	if measured < c.volume {
		t = Transfer{From: c.parcel.ID, Door: DoorReanchored, Volume: litres(c.volume - measured), Ahead: true}
	}
	s.transfer(t)
}
