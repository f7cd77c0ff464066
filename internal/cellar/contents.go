package cellar

import (
	"math"
	"slices"
	"strings"

	"elevage/science/quantity"
)

// contents is what is in a vessel from one entry to the next. It is never
// changed once made: each entry that touches the vessel makes a new one.
type contents struct {
	parcel   *head
	volume   float64 // L
	variance float64 // L², of volume
	weight   quantity.Mass
	count    int // of bottles
	amounts  []Amount
	roots    []Root
	stage    stage
}

// same says whether two contents tell the same.
func (c *contents) same(o *contents) bool {
	if c == o {
		return true
	}
	return c != nil && o != nil && sameHead(c.parcel, o.parcel) && c.volume == o.volume && c.variance == o.variance &&
		c.weight == o.weight && c.count == o.count && c.stage == o.stage && slices.Equal(c.amounts, o.amounts) &&
		slices.Equal(c.roots, o.roots)
}

// fruitYield is the liquid that a kilogram of fruit is reckoned to hold where
// wine is poured onto it, for shares only: 0.65 to 0.75, from memory, unverified.
const fruitYield = 0.7

// liquid is the volume to weigh the contents by when wine joins it.
func (c *contents) liquid() float64 {
	if c.volume > 0 {
		return c.volume
	}
	return fruitYield * c.weight.Kilograms()
}

// stage is what is known, by what people declared and did, about the wine's
// two fermentations; it goes with the wine.
type stage struct {
	fermented bool // it is wine: primary fermentation lies behind it
	bacteria  bool // a malolactic culture was given, or conversion seen
	converted bool // malolactic fermentation was declared finished, or given up
}

// join is the stage of two wines put together: what lives in one lives in
// both, what is finished must be finished in both.
func (s stage) join(o stage) stage {
	return stage{s.fermented && o.fermented, s.bacteria || o.bacteria, s.converted && o.converted}
}

func litres(v float64) quantity.Volume { return quantity.Volume(v) }

func sqrt(v float64) float64 { return math.Sqrt(max(0, v)) }

// unstatedSpread is taken as one standard deviation, as a share of a volume,
// where the person stated none: "volume in a carboy by nominal size, 2 to 5 %",
// from memory, unverified.
const unstatedSpread = 0.02

// weighedSpread is the same for a vessel that was weighed: "better than 1 %",
// common practice, no source.
const weighedSpread = 0.01

// volumeOf reads a volume and its variance, taking an unstated ± as a share of it.
func volumeOf(m *Measure, unstated float64) (v, variance float64, err error) {
	q, s, err := m.Volume()
	if err != nil {
		return 0, 0, err
	}
	v, sd := float64(q), float64(s)
	if m.Spread == "" {
		sd = unstated * math.Abs(v)
	}
	return v, sd * sd, nil
}

// scale is a part of amounts.
func scaleAmounts(as []Amount, part float64) []Amount {
	if len(as) == 0 || part == 1 {
		return as
	}
	out := make([]Amount, len(as))
	for i, a := range as {
		out[i] = Amount{a.Substance, quantity.Mass(float64(a.Mass) * part)}
	}
	return out
}

// addAmounts merges two sorted lists.
func addAmounts(a, b []Amount) []Amount {
	if len(a) == 0 {
		return b
	}
	if len(b) == 0 {
		return a
	}
	out := make([]Amount, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		switch c := strings.Compare(a[0].Substance, b[0].Substance); {
		case c < 0:
			out, a = append(out, a[0]), a[1:]
		case c > 0:
			out, b = append(out, b[0]), b[1:]
		default:
			out = append(out, Amount{a[0].Substance, a[0].Mass + b[0].Mass})
			a, b = a[1:], b[1:]
		}
	}
	return append(append(out, a...), b...)
}

// mixRoots weighs the shares of two wines by their volumes.
func mixRoots(a []Root, va float64, b []Root, vb float64) []Root {
	switch {
	case len(b) == 0 || vb <= 0:
		return a
	case len(a) == 0 || va <= 0:
		return b
	}
	wa, wb := va/(va+vb), vb/(va+vb)
	out := make([]Root, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		switch c := strings.Compare(string(a[0].Parcel), string(b[0].Parcel)); {
		case c < 0:
			out, a = append(out, Root{a[0].Parcel, a[0].Lot, a[0].Share * wa}), a[1:]
		case c > 0:
			out, b = append(out, Root{b[0].Parcel, b[0].Lot, b[0].Share * wb}), b[1:]
		default:
			out = append(out, Root{a[0].Parcel, a[0].Lot, a[0].Share*wa + b[0].Share*wb})
			a, b = a[1:], b[1:]
		}
	}
	for _, r := range a {
		out = append(out, Root{r.Parcel, r.Lot, r.Share * wa})
	}
	for _, r := range b {
		out = append(out, Root{r.Parcel, r.Lot, r.Share * wb})
	}
	return slices.Clip(out)
}

// with is the contents with more of some substances in it.
func (c *contents) with(more []Amount) *contents {
	n := *c
	n.amounts = addAmounts(c.amounts, more)
	return &n
}
