package fill

import (
	"cmp"
	"math"
	"slices"

	"elevage/internal/compose"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// A Vessel is one that a volume may be put into.
type Vessel struct {
	Slug string
	Size quantity.Volume // filled to the gap that is kept
}

// A Set is vessels that are filled to the last drop.
type Set struct {
	Vessels []Vessel
	Filled  quantity.Volume
	Over    quantity.Volume // left over, to top up with
	// Chance is that of there being enough to fill them all, for the ± of the volume.
	Chance float64
}

// What is left over for topping: about 5 % is usual (common practice, no source);
// more than mostOver is no set that ends full.
const (
	usualOver = 0.05
	mostOver  = 0.12
)

// Sets finds the sets of vessels that a volume fills, with a little left over to top
// up with: those that leave about 5 % come first, and of like ones those of fewer
// vessels. All sums of all vessels are looked at.
func Sets(volume, spread quantity.Volume, vessels []Vessel) []Set {
	sums := map[int]Set{0: {}}
	sorted := slices.Clone(vessels)
	slices.SortFunc(sorted, func(a, b Vessel) int {
		return cmp.Or(cmp.Compare(b.Size, a.Size), cmp.Compare(a.Slug, b.Slug))
	})
	for _, v := range sorted {
		if v.Size <= 0 {
			continue
		}
		next := make(map[int]Set, 2*len(sums))
		for k, s := range sums {
			next[k] = s
		}
		for _, s := range sums {
			sum := s.Filled + v.Size
			if sum > volume {
				continue
			}
			k := int(math.Round(sum.Litres() * 100))
			if old, ok := next[k]; !ok || len(old.Vessels) > len(s.Vessels)+1 {
				next[k] = Set{Vessels: append(slices.Clip(s.Vessels), v), Filled: sum}
			}
		}
		sums = next
	}
	var out []Set
	for _, s := range sums {
		s.Over = volume - s.Filled
		if len(s.Vessels) == 0 || s.Over > mostOver*volume {
			continue
		}
		s.Chance = 1
		if spread > 0 {
			s.Chance = 0.5 * math.Erfc(-float64(s.Over/spread)/math.Sqrt2)
		}
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b Set) int {
		return cmp.Or(cmp.Compare(a.rank(volume), b.rank(volume)), cmp.Compare(a.Filled, b.Filled))
	})
	const most = 8
	return out[:min(len(out), most)]
}

// rank weighs how far what is left over is from usual against another vessel.
func (s *Set) rank(volume quantity.Volume) float64 {
	return math.Abs(float64(s.Over/volume)-usualOver)/usualOver + 0.25*float64(len(s.Vessels))
}

// After is what is left of a volume after losses, each a share of what is there: 8 %
// to the gross lees and twice 2 % to rackings leave 65.7 of 74 L.
func After(volume quantity.Volume, losses ...float64) quantity.Volume {
	for _, l := range losses {
		volume *= quantity.Volume(1 - l)
	}
	return volume
}

// dryExtract is what a dry wine is taken to hold besides alcohol and water: 25 g/L,
// from memory. It hardly moves how a wine expands.
const dryExtract = 25 * quantity.GramPerLitre

// Shrinks is by how much a wine's volume falls when it cools from one temperature to
// another, negative when it warms (science/strength: OIML R 22 and ICUMSA SPS-4; the
// vessel's own expansion left out). Volume is as at from. Alcohol up to 25 % vol, 0 to
// 40 °C, else a *quantity.RangeError.
func Shrinks(w compose.Wine, volume quantity.Volume, from, to quantity.Temperature) (quantity.Volume, error) {
	extract := dryExtract
	if w.Sugar.How != compose.Assumed {
		extract += w.Sugar.Value
	}
	k, err := strength.Expansion(w.Alcohol.Value, extract, from, to)
	if err != nil {
		return 0, err
	}
	return quantity.Volume(float64(volume) * (1 - k)), nil
}
