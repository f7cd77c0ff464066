package blend

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"elevage/internal/fault"
	"elevage/science/quantity"
)

// Pour is the blend of volumes that somebody chose, by vessel, judged by the limits
// and targets of a wish: Broken and Close say which limits it breaks or barely keeps.
// A volume to within a hundredth of a litre of all there is empties the source. What
// cannot be poured is fault.Invalid.
func (w *Wish) Pour(volumes map[string]quantity.Volume) (Blend, error) {
	if err := w.checkWants(); err != nil {
		return Blend{}, err
	}
	f := &finder{wish: *w}
	var bad []fault.Field
	total := 0.0
	var litres []float64
	for _, s := range w.Sources {
		v, asked := volumes[s.Vessel]
		if !asked {
			continue
		}
		switch on := s.Volume.Litres(); {
		case !(v >= 0) || math.IsInf(v.Litres(), 0) || v.Litres() > on+pourable:
			bad = append(bad, fault.Field{Name: s.Vessel, Given: figure(v.Litres()) + " L", Allowed: fmt.Sprintf("0 to %.2f L, all there is", on)})
		case v == 0:
		default:
			if on-v.Litres() <= pourable {
				v = s.Volume
			}
			f.sources, litres = append(f.sources, s), append(litres, v.Litres())
			total += v.Litres()
		}
	}
	for _, vessel := range slices.Sorted(maps.Keys(volumes)) {
		if !w.has(vessel) {
			bad = append(bad, fault.Field{Name: "vessel", Given: vessel, Allowed: "one that holds wine"})
		}
	}
	if len(bad) == 0 && total == 0 {
		bad = append(bad, fault.Field{Name: "volume", Given: "0 L", Allowed: "more than nothing of at least one wine"})
	}
	if err := fault.BadFields("pour blend", bad...); err != nil {
		return Blend{}, err
	}
	f.prepare()
	for i := range litres {
		litres[i] /= total
	}
	b, err := f.blend(litres, total, "")
	if err != nil {
		return Blend{}, err
	}
	for _, l := range w.Limits {
		if !f.keepsOne(l, &b, litres) {
			b.Broken = append(b.Broken, l)
		}
	}
	f.fill(&b)
	return b, nil
}

// Alone are the wines of a blend by themselves, all that there is of each, judged as
// by Pour.
func (w *Wish) Alone(b *Blend) ([]Blend, error) {
	var out []Blend
	for _, p := range b.Parts {
		one, err := w.Pour(map[string]quantity.Volume{p.Source.Vessel: p.Source.Volume})
		if err != nil {
			return nil, err
		}
		one.Why = p.Source.Vessel + " by itself"
		out = append(out, one)
	}
	return out, nil
}

// pourable is the finest that is poured, and written into an entry.
const pourable = 0.01

func (w *Wish) has(vessel string) bool {
	return slices.ContainsFunc(w.Sources, func(s Source) bool { return s.Vessel == vessel })
}
