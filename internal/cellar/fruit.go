package cellar

import "fmt"

// fruit puts fruit into its lot and, if it waits in a vessel, there.
func (f *fold) fruit(r *Record, b FruitReceived) {
	l := f.lot(r, b.Lot)
	w, err := b.Weight.Mass()
	if err != nil {
		f.find(r, FoundBadFigure, "the weight of the fruit: "+err.Error()).Lot = l.Slug
		return
	}
	l.Fruit += w
	if b.Vessel == "" {
		l.Records = append(l.Records, r)
		return
	}
	v := f.vessel(r, b.Vessel)
	self := ParcelID(string(r.Entry.ID) + "/" + v.Slug)
	c := f.holds[v.Slug]
	n := contents{weight: w, roots: []Root{{self, l.Slug, 1}}}
	if c != nil {
		n = *c
		n.roots = mixRoots(c.roots, float64(c.weight), []Root{{self, l.Slug, 1}}, float64(w))
		n.weight += w
	} else {
		n.parcel = f.begin(flow{r: r, form: FormFruit}, v, self, l.Slug, "", &pool{})
	}
	touch(r, n.parcel)
	f.hold(r, v, &n)
}

// crush turns fruit into must: weight into volume.
func (f *fold) crush(r *Record, b Crush) {
	from := b.From
	if len(from) == 0 { // crushed where it stood
		for _, p := range b.To {
			if c := f.holds[f.vessel(r, p.Vessel).Slug]; c != nil && c.parcel.Form == FormFruit {
				from = append(from, Portion{Vessel: p.Vessel})
			}
		}
	}
	p := &pool{lots: make(map[string]float64), empty: true}
	for _, q := range from {
		v := f.vessel(r, q.Vessel)
		c := f.holds[v.Slug]
		if c == nil || c.parcel.Form != FormFruit {
			f.find(r, FoundEmptyVessel, "there was no fruit in "+v.Slug+" to crush").Vessel = v.Slug
			continue
		}
		touch(r, c.parcel)
		// Fruit weighs in by its weight, in the same units for all sources.
		p.join(c, float64(c.weight), 1)
		f.hold(r, v, nil)
		f.end(r, v, c.parcel)
	}
	var total float64
	ins := make([]in, 0, len(b.To))
	for _, q := range b.To {
		vol, variance, err := volumeOf(q.Volume, unstatedSpread)
		if err != nil {
			f.find(r, FoundBadFigure, "the must in "+q.Vessel+": "+err.Error()).Vessel = q.Vessel
			continue
		}
		ins = append(ins, in{portion: q, vessel: f.vessel(r, q.Vessel), volume: vol, variance: variance})
		total += vol
	}
	w := flow{r: r, how: "crush", lot: b.Lot, becomes: b.Lot, from: from, form: FormMust, stage: &stage{}}
	if b.Juice {
		w.form = FormWine
	}
	p.volume = total // from here on litres of must
	for i := range p.parents {
		p.parents[i].Volume = litres(total / float64(len(p.parents)))
	}
	if len(ins) == 0 && len(p.amounts) > 0 {
		f.pass(r, DoorUnknown, "", 0, p.amounts)
	}
	for _, q := range ins {
		f.pass(r, DoorFruit, q.vessel.Slug, q.volume, nil)
		share := 1 / float64(len(ins))
		if total > 0 {
			share = q.volume / total
		}
		f.put(w, q, p, share)
	}
}

func (f *fold) press(r *Record, b Press) {
	w := flow{r: r, how: "press", from: b.From, to: b.To, losses: b.Losses, form: FormWine}
	if !b.Drained {
		w.rest = LossPomace
	}
	// Reds are pressed after their primary fermentation, whites before.
	for _, p := range b.From {
		c := f.holds[f.vessel(r, p.Vessel).Slug]
		if c == nil {
			continue
		}
		switch f.lot(r, c.parcel.Lot).Colour {
		case "white", "rosé":
		default:
			s := c.stage
			s.fermented = true
			w.stage = &s
		}
	}
	f.move(w)
}

func (f *fold) bottling(r *Record, b Bottling) {
	size, _, err := b.Size.Volume()
	if err != nil {
		f.find(r, FoundBadFigure, "the size of the bottles: "+err.Error())
		return
	}
	total := float64(size) * float64(b.Count)
	// Bottles are filled to the millilitre: their count is the measure.
	to := Portion{Vessel: b.Slug, Volume: &Measure{Value: fmt.Sprintf("%.6g", total), Unit: "L", Spread: fmt.Sprintf("%.6g", total*0.005)}}
	f.move(flow{r: r, how: "bottling", becomes: b.Lot, from: b.From, to: []Portion{to}, losses: b.Losses, form: FormBottle, count: b.Count})
}

func (f *fold) opened(r *Record, b Opened) {
	v := f.vessel(r, b.Bottling)
	c := f.holds[v.Slug]
	n := max(1, b.Count)
	if c == nil || c.count == 0 {
		f.find(r, FoundOverOpened, fmt.Sprintf("%d opened of %s, of which none was left", n, v.Slug)).Vessel = v.Slug
		return
	}
	touch(r, c.parcel)
	if n > c.count {
		g := f.find(r, FoundOverOpened, fmt.Sprintf("%d opened of %s, of which %d were left", n, v.Slug, c.count))
		g.Vessel, g.Lot = v.Slug, c.parcel.Lot
		n = c.count
	}
	left := *c
	share := float64(n) / float64(c.count)
	left.count -= n
	left.volume *= 1 - share
	left.amounts = scaleAmounts(c.amounts, 1-share)
	f.pass(r, DoorOpened, v.Slug, -c.volume*share, scaleAmounts(c.amounts, share))
	if left.count == 0 {
		f.hold(r, v, nil)
		f.end(r, v, c.parcel)
		return
	}
	f.hold(r, v, &left)
}
