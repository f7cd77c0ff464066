package blend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/science/quantity"
)

// A Sheet is a blind tasting: glasses under codes that tell nothing, in an order of
// each taster's own. The same seed gives the same sheet, so that the key can be
// found again.
type Sheet struct {
	Seed    uint64
	Glasses []Glass // in the order of their codes
	Tasters []Flight
}

// A Glass is one sample.
type Glass struct {
	Code   string // three figures
	Blend  int    // which of the blends it is, from 0
	Repeat bool   // it is there a second time, to see whether a taster finds it again
}

// A Flight is the order in which one taster gets the glasses.
type Flight struct {
	Taster string
	Codes  []string
}

// Most of a tasting: more than five candidates tire the tongue (handbook, a proposal).
const (
	mostCandidates = 5
	mostTasters    = 30
)

// NewSheet draws codes and orders for 2 to 5 candidates. Again is one that is poured
// twice under two codes, to repeat the favourite blind; -1 for none.
func NewSheet(candidates, again int, tasters []string, seed uint64) (Sheet, error) {
	var bad []fault.Field
	if candidates < 2 || candidates > mostCandidates {
		bad = append(bad, fault.Field{Name: "candidates", Given: strconv.Itoa(candidates), Allowed: fmt.Sprintf("2 to %d", mostCandidates)})
	}
	if again < -1 || again >= candidates {
		bad = append(bad, fault.Field{Name: "poured twice", Given: strconv.Itoa(again), Allowed: "one of the candidates, or none"})
	}
	if len(tasters) == 0 || len(tasters) > mostTasters {
		bad = append(bad, fault.Field{Name: "tasters", Given: strconv.Itoa(len(tasters)), Allowed: fmt.Sprintf("1 to %d", mostTasters)})
	}
	if err := fault.BadFields("draw tasting sheet", bad...); err != nil {
		return Sheet{}, err
	}
	rng := rand.New(rand.NewPCG(seed, 0x5a17)) //nolint:gosec // an order of glasses, no secret
	s := Sheet{Seed: seed}
	pour := func(blend int, repeat bool) {
		code := ""
		for code == "" || slices.ContainsFunc(s.Glasses, func(g Glass) bool { return g.Code == code }) {
			code = strconv.Itoa(100 + rng.IntN(900))
		}
		s.Glasses = append(s.Glasses, Glass{code, blend, repeat})
	}
	for i := range candidates {
		pour(i, false)
	}
	if again >= 0 {
		pour(again, true)
	}
	slices.SortFunc(s.Glasses, func(a, b Glass) int { return cmpCodes(a.Code, b.Code) })
	for _, t := range tasters {
		f := Flight{Taster: t}
		for _, i := range rng.Perm(len(s.Glasses)) {
			f.Codes = append(f.Codes, s.Glasses[i].Code)
		}
		s.Tasters = append(s.Tasters, f)
	}
	return s, nil
}

func cmpCodes(a, b string) int {
	x, _ := strconv.Atoi(a)
	y, _ := strconv.Atoi(b)
	return x - y
}

// Trial is the sheet as an entry to be filled in with scores and words: what is in
// each glass of a given size. The blends are those that the glasses count.
func (s *Sheet) Trial(blends []Blend, glass quantity.Volume) cellar.Trial {
	t := cellar.Trial{What: "blend", Seed: strconv.FormatUint(s.Seed, 10), Sample: cellar.M(litres(glass.Millilitres()), "mL")}
	for _, f := range s.Tasters {
		t.Tasters = append(t.Tasters, f.Taster)
	}
	for _, g := range s.Glasses {
		row := cellar.TrialRow{Code: g.Code}
		if g.Blend < len(blends) {
			b := &blends[g.Blend]
			for _, p := range b.Parts {
				row.Parts = append(row.Parts, cellar.Portion{Vessel: p.Source.Vessel, Volume: cellar.M(litres(glass.Millilitres()*float64(p.Volume/b.Volume)), "mL")})
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// litres writes a volume to a hundredth, which is as fine as it can be poured.
func litres(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

// A Vessel is one that a blend goes into, with the room that is in it once the
// blend's parts were taken out.
type Vessel struct {
	Slug string
	Size quantity.Volume
}

// Rooms are the vessels that a blend can go into: those that hold nothing, and those
// of its own parts that it empties. In the order of a walk.
func (b *Blend) Rooms(s *cellar.State) []Vessel {
	var out []Vessel
	for _, v := range s.Vessels {
		if v.Gone || v.Bottles || v.Capacity() <= 0 {
			continue
		}
		emptied := slices.ContainsFunc(b.Parts, func(p Part) bool { return p.Source.Vessel == v.Slug && p.All })
		if v.Holds == nil || emptied {
			out = append(out, Vessel{v.Slug, v.Capacity()})
		}
	}
	return out
}

// Drafts are the entries that make the blend: one movement out of its sources into
// vessels, filled one after the other, as a lot. What the vessels cannot hold is
// fault.Invalid.
func (b *Blend) Drafts(when cellar.Moment, lot string, into []Vessel) ([]cellar.Draft, error) {
	m := cellar.Movement{How: "blending", Becomes: lot}
	for _, p := range b.Parts {
		from := cellar.Portion{Vessel: p.Source.Vessel, All: p.All}
		if !p.All {
			from.Volume = cellar.M(litres(p.Volume.Litres()), "L")
		}
		m.From = append(m.From, from)
	}
	left := b.Volume
	for _, v := range into {
		if left <= 0 {
			break
		}
		pour := min(left, v.Size)
		m.To = append(m.To, cellar.Portion{Vessel: v.Slug, Volume: cellar.M(litres(pour.Litres()), "L")})
		left -= pour
	}
	const drop = 1e-3
	if left.Litres() > drop {
		return nil, fault.BadFields("make blend", fault.Field{Name: "into", Given: fmt.Sprintf("room for %.1f L", (b.Volume - left).Litres()), Allowed: fmt.Sprintf("vessels that hold %.1f L", b.Volume.Litres())})
	}
	d := cellar.Draft{Happened: when, Body: m}
	return []cellar.Draft{d}, d.Check()
}

// ByChance is how likely it is that some glass of k is put first by at least most of n
// tasters who cannot tell them apart: 1 − n!/kⁿ times the coefficient of xⁿ in
// (Σ xʲ/j!, j < most)ᵏ. It is 1 for nobody.
func ByChance(n, k, most int) float64 {
	if n <= 0 || k <= 0 || most <= 0 {
		return 1
	}
	ways := make([]float64, n+1) // of j tasters over the glasses so far, none with as many, over j!
	ways[0] = 1
	for range k {
		next := make([]float64, n+1)
		for j, w := range ways {
			term := 1.0
			for i := 0; i < most && i+j <= n; i++ {
				next[i+j] += w * term
				term /= float64(i + 1)
			}
		}
		ways = next
	}
	p := ways[n]
	for i := 1; i <= n; i++ {
		p *= float64(i) / float64(k)
	}
	return max(0, min(1, 1-p))
}
