package cellar

import "fmt"

// fruit puts fruit into its lot and, if it waits in a vessel, there.
func (s *step) fruit(b FruitReceived) {
	l := s.lot(b.Lot)
	w, err := b.Net()
	if err != nil {
		s.find(s.r, FoundBadFigure, "the weight of the fruit: "+err.Error()).Lot = l.Slug
		return
	}
	s.note(noteMark{node: s.node, where: withLot, name: l.Slug, fruit: w, unlisted: b.Vessel != ""})
	if b.Vessel == "" {
		return
	}
	v := s.vessel(b.Vessel)
	root := []Root{{s.self(v), l.Slug, 1}}
	n := contents{weight: w, roots: root}
	if c := v.holds(); c != nil {
		n = *c
		n.roots = mixRoots(c.roots, float64(c.weight), root, float64(w))
		n.weight += w
	} else {
		n.parcel = s.begin(head{ID: s.self(v), Lot: l.Slug, Vessel: v.Slug, Form: FormFruit, Began: s.r.At, Start: s.r.Entry.ID})
	}
	s.touch(s.node, n.parcel)
	s.hold(v, &n)
}

// self is the id of a parcel that begins in a vessel with this entry.
func (s *step) self(v vessel) ParcelID { return ParcelID(string(s.r.Entry.ID) + "/" + v.Slug) }

// crush turns fruit into must: weight into volume.
func (s *step) crush(b Crush) {
	p := s.crushed(b)
	var total float64
	ins := make([]in, 0, len(b.To))
	for _, q := range b.To {
		vol, variance, err := volumeOf(q.Volume, unstatedSpread)
		if err != nil {
			s.find(s.r, FoundBadFigure, "the must in "+q.Vessel+": "+err.Error()).Vessel = q.Vessel
			continue
		}
		ins = append(ins, in{portion: q, vessel: s.vessel(q.Vessel), volume: vol, variance: variance})
		total += vol
	}
	// The litres of must count where the fruit was, then it moves on as must.
	var weight float64
	for i := range p.sources {
		weight += p.sources[i].volume
	}
	for i := range p.sources {
		d := &p.sources[i]
		if weight > 0 {
			d.volume *= total / weight
		} else {
			d.volume = total / float64(len(p.sources))
		}
		s.transfer(Transfer{To: d.parcel, Door: DoorFruit, Volume: litres(d.volume), Ahead: true})
	}
	outside := len(p.sources) == 0
	if outside { // straight from receipt
		p.sources = []giver{{door: DoorFruit, volume: total}}
	}
	p.volume = total
	w := flow{how: "crush", lot: b.Lot, becomes: b.Lot, form: FormMust, stage: &stage{}, outside: outside}
	if b.Juice {
		w.form = FormWine
	}
	if len(ins) == 0 {
		s.lose(p, loss{door: DoorUnknown, volume: total}, 1)
	}
	for _, q := range ins {
		share := 1 / float64(len(ins))
		if total > 0 {
			share = q.volume / total
		}
		s.put(w, q, p, share)
	}
}

// crushed takes the fruit out of the vessels it waited in; it is weighed in by its
// weight, in the same units for all sources.
func (s *step) crushed(b Crush) *pool {
	from := b.From
	if len(from) == 0 { // crushed where it stood
		for _, p := range b.To {
			if c := s.vessel(p.Vessel).holds(); c != nil && c.parcel.Form == FormFruit {
				from = append(from, Portion{Vessel: p.Vessel})
			}
		}
	}
	p := newPool()
	for _, q := range from {
		v := s.vessel(q.Vessel)
		c := v.holds()
		if c == nil || c.parcel.Form != FormFruit {
			s.find(s.r, FoundEmptyVessel, "there was no fruit in "+v.Slug+" to crush").Vessel = v.Slug
			continue
		}
		s.touch(s.node, c.parcel)
		p.join(c, v.state().memory, float64(c.weight), 1)
		s.hold(v, nil)
		s.end(v, c.parcel)
	}
	return p
}

func (s *step) press(b Press) {
	w := flow{how: "press", from: b.From, to: b.To, losses: b.Losses, form: FormWine}
	if !b.Drained {
		w.rest = LossPomace
	}
	// Reds are pressed after their primary fermentation, whites before.
	for _, p := range b.From {
		c := s.vessel(p.Vessel).holds()
		if c == nil {
			continue
		}
		switch s.lot(c.parcel.Lot).Colour {
		case "white", "rosé":
		default:
			st := c.stage
			st.fermented = true
			w.stage = &st
		}
	}
	s.move(w)
}

func (s *step) bottling(b Bottling) {
	size, _, err := b.Size.Volume()
	if err != nil {
		s.find(s.r, FoundBadFigure, "the size of the bottles: "+err.Error())
		return
	}
	for _, p := range b.From {
		if v := s.vessel(p.Vessel); v.holds() != nil {
			s.decide(v, v.holds())
		}
	}
	total := float64(size) * float64(b.Count)
	// Bottles are filled to the millilitre: their count is the measure.
	to := Portion{Vessel: b.Slug, Volume: &Measure{Value: fmt.Sprintf("%.6g", total), Unit: "L", Spread: fmt.Sprintf("%.6g", total*0.005)}}
	s.move(flow{how: "bottling", becomes: b.Lot, from: b.From, to: []Portion{to}, losses: b.Losses, form: FormBottle, count: b.Count})
}

func (s *step) opened(b Opened) {
	v := s.vessel(b.Bottling)
	c := v.holds()
	n := max(1, b.Count)
	if c == nil || c.count == 0 {
		s.find(s.r, FoundOverOpened, fmt.Sprintf("%d opened of %s, of which none was left", n, v.Slug)).Vessel = v.Slug
		return
	}
	s.touch(s.node, c.parcel)
	if n > c.count {
		s.find(s.r, FoundOverOpened, fmt.Sprintf("%d opened of %s, of which %d were left", n, v.Slug, c.count)).about(c)
		n = c.count
	}
	left := *c
	share := float64(n) / float64(c.count)
	left.count -= n
	left.volume *= 1 - share
	left.variance *= (1 - share) * (1 - share)
	left.amounts = scaleAmounts(c.amounts, 1-share)
	s.transfer(Transfer{From: c.parcel.ID, Door: DoorOpened, Volume: litres(c.volume * share), Share: share, Amounts: scaleAmounts(c.amounts, share)})
	if left.count == 0 {
		s.hold(v, nil)
		s.end(v, c.parcel)
		return
	}
	s.hold(v, &left)
}
