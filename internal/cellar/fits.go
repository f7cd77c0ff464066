package cellar

import (
	"fmt"

	"elevage/internal/fault"
	"elevage/science/quantity"
)

// A vessel filled to the brim holds more than it is called: brimful is how many times
// as much at most. Common practice, no source.
const brimful = 1.1

// packed is the most fruit that a litre can hold, in kilograms: berries without any air
// between them, as heavy as must of 30 °Brix and a little more (OIV-MA-AS2-02: 1.13 kg/L).
const packed = 1.2

// CheckIn is Check, and says what of a draft no vessel of the cellar could hold: more put
// in than it is large, more taken at once than it is large. Where only the record stands
// against a draft, because a vessel is empty or full by what was written so far, that is
// no reason: what was done before may be written later, and Weigh asks. Vessels whose
// size is not known hold anything.
func (d Draft) CheckIn(s *State) error {
	if err := d.Check(); err != nil {
		return err
	}
	f := fitting{state: s}
	switch b := d.Body.(type) {
	case Movement:
		for _, p := range b.From {
			f.holds("volume from "+p.Vessel, p.Volume, p.Vessel)
		}
		f.into("volume to ", b.To)
		f.allOf("volume to ", b.From, b.To)
	case Crush:
		f.into("must in ", b.To)
	case Press:
		f.into("wine in ", b.To)
		f.allOf("wine in ", b.From, b.To)
	case Dip:
		f.holds("volume", b.Volume, b.Vessel)
	case ControlKept:
		f.holds("volume", b.Volume, b.Vessel)
	case FruitReceived:
		f.fruit(b)
	case Bottling:
		for _, p := range b.From {
			f.holds("volume from "+p.Vessel, p.Volume, p.Vessel)
		}
		f.bottles(b)
	}
	return fault.BadFields("check "+string(d.Body.Kind()), f.fields...)
}

// fitting is a draft held against the sizes of its vessels.
type fitting struct {
	checker
	state *State
}

// size is what a vessel holds when full; false if that is not known.
func (f *fitting) size(vessel string) (quantity.Volume, bool) {
	v := f.state.Vessel(vessel)
	if v == nil || v.Bottles || v.Capacity() <= 0 {
		return 0, false
	}
	return v.Capacity(), true
}

// holds checks a volume that was in a vessel, all of it at once.
func (f *fitting) holds(name string, volume *Measure, vessel string) {
	size, sized := f.size(vessel)
	v, _, err := volume.Volume()
	if sized && err == nil && v > brimful*size {
		f.bad(name, volume.String(), fmt.Sprintf("up to %s L, all that %s holds; if its size is written down wrong, put that right first", figure(size.Litres()), vessel))
	}
}

func (f *fitting) into(name string, to []Portion) {
	for _, p := range to {
		f.holds(name+p.Vessel, p.Volume, p.Vessel)
	}
}

// sizes is what all of some vessels hold together; false if one is not known, or waits
// with fruit, which is reckoned by weight.
func (f *fitting) sizes(of []Portion) (sum quantity.Volume, names string, known bool) {
	for i, p := range of {
		size, sized := f.size(p.Vessel)
		if !sized {
			return 0, "", false
		}
		sum += size
		switch {
		case i == 0:
			names = p.Vessel
		case i == len(of)-1:
			names += " and " + p.Vessel
		default:
			names += ", " + p.Vessel
		}
	}
	return sum, names, len(of) > 0
}

// allOf checks that no more arrives than the vessels it came from can have held; it is
// told where the most arrived.
func (f *fitting) allOf(name string, from, to []Portion) {
	size, names, known := f.sizes(from)
	if !known || len(f.fields) > 0 {
		return
	}
	var sum quantity.Volume
	var most Portion
	var greatest quantity.Volume
	for _, p := range to {
		v, _, err := p.Volume.Volume()
		if err != nil {
			continue
		}
		if sum += v; v > greatest {
			most, greatest = p, v
		}
	}
	if sum > brimful*size {
		given := most.Volume.String()
		if len(to) > 1 {
			given = figure(sum.Litres()) + " L in all"
		}
		f.bad(name+most.Vessel, given, fmt.Sprintf("up to %s L, all that %s can hold; if a size is written down wrong, put that right first", figure(size.Litres()), names))
	}
}

func (f *fitting) bottles(b Bottling) {
	size, names, known := f.sizes(b.From)
	each, _, err := b.Size.Volume()
	if !known || err != nil || each <= 0 || len(f.fields) > 0 {
		return
	}
	if filled := each * quantity.Volume(b.Count); filled > brimful*size {
		f.bad("count", itoa(b.Count), fmt.Sprintf("up to %d bottles of %s, out of the %s L that %s holds; if a size is written down wrong, put that right first", int(size/each), b.Size, figure(size.Litres()), names))
	}
}

func (f *fitting) fruit(b FruitReceived) {
	size, sized := f.size(b.Vessel)
	net, err := b.Net()
	if sized && err == nil && net.Kilograms() > packed*size.Litres() {
		f.bad("weight", b.Weight.String(), fmt.Sprintf("up to %s kg into %s, which holds %s L; if its size is written down wrong, put that right first", figure(packed*size.Litres()), b.Vessel, figure(size.Litres())))
	}
}
