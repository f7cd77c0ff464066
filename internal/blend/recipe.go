package blend

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"elevage/internal/fault"
	"elevage/science/quantity"
)

// Recipe is the blend in words that ReadRecipe reads: "c1=12.25 c2=20", vessels and
// litres to a hundredth.
func (b *Blend) Recipe() string {
	parts := make([]string, len(b.Parts))
	for i, p := range b.Parts {
		parts[i] = p.Source.Vessel + "=" + litres(p.Volume.Litres())
	}
	slices.Sort(parts)
	return strings.Join(parts, " ")
}

// ReadRecipe reads vessels and volumes such as "c1=12.25 c2=20" or "c1=6, c2=4,5": litres
// unless a unit follows the number, each vessel once. The error is fault.Invalid.
func ReadRecipe(text string) (map[string]quantity.Volume, error) {
	out := map[string]quantity.Volume{}
	var bad []fault.Field
	const most = 2000
	if len(text) > most {
		return nil, fault.BadFields("read recipe", fault.Field{Name: "recipe", Given: text[:40] + "…", Allowed: fmt.Sprintf("up to %d letters", most)})
	}
	for part := range strings.FieldsFuncSeq(text, func(c rune) bool { return c == ' ' || c == ';' || c == '\t' || c == '\n' }) {
		part = strings.TrimRight(part, ",")
		slug, amount, ok := strings.Cut(part, "=")
		slug = strings.ToLower(slug)
		v, fine := 0.0, false
		if ok && slug != "" {
			v, fine = litresOf(amount)
		}
		_, twice := out[slug]
		switch {
		case !fine:
			bad = append(bad, fault.Field{Name: "recipe", Given: part, Allowed: fmt.Sprintf("a vessel and %g to %g litres, such as c1=12.5", pourable, mostLitres)})
		case twice:
			bad = append(bad, fault.Field{Name: "recipe", Given: part, Allowed: "each vessel once"})
		default:
			out[slug] = quantity.Volume(v)
		}
	}
	if len(bad) == 0 && len(out) == 0 {
		bad = append(bad, fault.Field{Name: "recipe", Given: text, Allowed: "vessels and litres, such as c1=12.5 c2=20"})
	}
	return out, fault.BadFields("read recipe", bad...)
}

// Of makes volumes into parts of a whole: 6 and 4 of 23 L are 13.8 and 9.2 L.
func Of(whole quantity.Volume, parts map[string]quantity.Volume) map[string]quantity.Volume {
	var sum quantity.Volume
	for _, v := range parts {
		sum += v
	}
	out := make(map[string]quantity.Volume, len(parts))
	for vessel, v := range parts {
		out[vessel] = whole * v / sum
	}
	return out
}

// Shares are what parts of the blend's volume come from where, by kind, the greatest
// first: Merlot 0.6. What is not written down is in none.
func (b *Blend) Shares(kind string) []Named {
	sums := map[string]float64{}
	for _, p := range b.Parts {
		for name, share := range p.Source.Shares[kind] {
			sums[name] += share * float64(p.Volume/b.Volume)
		}
	}
	out := make([]Named, 0, len(sums))
	for name, share := range sums {
		out = append(out, Named{name, share})
	}
	slices.SortFunc(out, func(a, b Named) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), strings.Compare(a.Name, b.Name))
	})
	return out
}

// A Named is a part of a blend by name.
type Named struct {
	Name  string
	Share float64
}

// Left is what stays in the vessel that a part is taken from.
func (p *Part) Left() quantity.Volume {
	if p.All {
		return 0
	}
	return max(0, p.Source.Volume-p.Volume)
}
