package compose

import (
	"fmt"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// Fruit read in the vineyard tells of its must for so long, and no better than
// that: two samples of 100 berries give about ±1 Brix, some 5 % of it (from memory,
// unverified); the pH rises on skins by 0.1 to 0.3 (from memory, unverified).
const (
	sampleLasts    = 14 * 24 * time.Hour
	sampleSpread   = 0.05
	samplePHSpread = 0.1
)

// How says how a figure is known.
type How uint8

// Ways to know a figure, from best to worst.
const (
	Read     How = iota // read in this wine since anything last came in
	Believed            // of malic acid: by all that was read of its conversion
	Reckon              // carried on from readings: mixed, added to, converted
	Assumed             // more than half of it rests on what wines usually hold
)

func (h How) String() string {
	return [...]string{"read", "believed", "reckoned", "assumed"}[min(h, Assumed)]
}

// A Figure is a value with one standard deviation and how it is known.
type Figure[Q ~float64] struct {
	Value, SD Q
	How       How
	Read      time.Time // when it was read last in this wine; zero unless How is Read
}

// A Wine is what a parcel is made of at a moment.
type Wine struct {
	Parcel cellar.ParcelID // "" for a blend that is only reckoned
	Lot    string
	At     time.Time
	Volume Figure[quantity.Volume]

	Alcohol Figure[quantity.Strength]
	// TA is as tartaric acid to pH 8.2; VA as acetic acid.
	Sugar, TA, Tartaric, Malic, Lactic, VA, Potassium, TotalSO2 Figure[quantity.Concentration]
	// PH is solved from the composition, at 20 °C, and as it was read where it was.
	// PHTrouble says why there is none.
	PH        Figure[quantity.PH]
	PHTrouble string
	// Composition is what the pH was solved from, to reckon on with.
	Composition acidbase.Composition

	body  body
	names []string // of causes, by key
}

// Of is what a parcel was made of at a moment, by everything that was read and done
// until then. It is fault.NotFound for a parcel that did not hold anything then.
func Of(s *cellar.State, id cellar.ParcelID, at time.Time) (Wine, error) {
	wines, err := All(s, []cellar.ParcelID{id}, at)
	if err != nil {
		return Wine{}, err
	}
	return wines[0], nil
}

// All is Of for several parcels at once, with their errors in common, as Mix needs.
func All(s *cellar.State, ids []cellar.ParcelID, at time.Time) ([]Wine, error) {
	return AllBelieving(s, ids, at, nil)
}

// wines shows parcels, once the walk has come to the moment.
func (w *walk) wines(ids []cellar.ParcelID, at time.Time) ([]Wine, error) {
	out := make([]Wine, len(ids))
	for i, id := range ids {
		p, c := w.state.Parcel(id), w.cells[id]
		if p == nil || c == nil || p.At(at).Volume <= 0 {
			return nil, fault.New(fault.NotFound, "compose wine", "this parcel held no wine on %s: %s", at.Format(time.DateOnly), id)
		}
		level := p.At(at)
		out[i] = c.wine(w, at)
		out[i].Parcel, out[i].Lot = id, p.Lot
		out[i].Volume = Figure[quantity.Volume]{Value: level.Volume, SD: level.Spread, How: Reckon}
	}
	return out, nil
}

// wine shows a cell.
func (c *cell) wine(w *walk, at time.Time) Wine {
	b := c.now(w, at)
	wine := Wine{At: at, body: b, names: w.names}
	wine.show()
	last := func(k int, f *Figure[quantity.Concentration]) {
		if n := len(c.reads[k]); n > 0 {
			f.How, f.Read = Read, c.reads[k][n-1].at
		}
	}
	last(sugar, &wine.Sugar)
	last(ta, &wine.TA)
	last(tartaric, &wine.Tartaric)
	last(malic, &wine.Malic)
	if _, believed := c.course.at(at); believed {
		wine.Malic.How, wine.Malic.Read = Believed, time.Time{}
	}
	last(lactic, &wine.Lactic)
	last(acetic, &wine.VA)
	last(potassium, &wine.Potassium)
	last(so2, &wine.TotalSO2)
	if n := len(c.reads[alcohol]); n > 0 {
		wine.Alcohol.How, wine.Alcohol.Read = Read, c.reads[alcohol][n-1].at
	}
	if c.ph.f.e != nil && wine.PHTrouble == "" {
		wine.PH.How, wine.PH.Read = Read, c.ph.at
	}
	return wine
}

// show fills in the figures from the body.
func (w *Wine) show() {
	b := &w.body
	how := func(k int) How {
		if b.assumed[k] > 0.5 {
			return Assumed
		}
		return Reckon
	}
	c := func(k int) Figure[quantity.Concentration] {
		return Figure[quantity.Concentration]{Value: gPerL(b.f[k].v), SD: gPerL(b.f[k].sd()), How: how(k)}
	}
	w.Alcohol = Figure[quantity.Strength]{Value: percentVol(b.f[alcohol].v), SD: percentVol(b.f[alcohol].sd()), How: how(alcohol)}
	w.Sugar, w.TA, w.Malic, w.Lactic = c(sugar), c(ta), c(malic), c(lactic)
	w.VA, w.Potassium, w.TotalSO2, w.Tartaric = c(acetic), c(potassium), c(so2), c(tartaric)
	if b.assumed[strong] <= 0.5 && w.Tartaric.How == Assumed {
		w.Tartaric.How = Reckon // solved for with the pH
	}
	w.solve()
}

// solve finds the pH of the composition and carries its errors along.
func (w *Wine) solve() {
	b := &w.body
	w.PHTrouble = ""
	if b.assumed[strong] > 0.5 {
		w.PHTrouble = "its pH and titratable acidity were never read together"
		return
	}
	v := make([]float64, parts)
	for k := range v {
		v[k] = b.f[k].v
	}
	w.Composition = composition(v)
	out, err := propagate(b.f[:], func(v []float64) ([]float64, error) {
		c := composition(v)
		ph, err := c.PH()
		return []float64{float64(ph)}, err
	})
	if err != nil {
		w.PHTrouble = fmt.Sprintf("its pH cannot be solved: %v", err)
		return
	}
	w.PH = Figure[quantity.PH]{Value: quantity.PH(out[0].v), SD: quantity.PH(out[0].sd()), How: Reckon}
}

// A Part is a volume of one wine that goes into a blend.
type Part struct {
	Wine   Wine
	Volume quantity.Volume
}

// Mix is the blend of several wines, which must come from one call of All, so that
// errors they share are shared. Contraction is left out: two wines contract by less
// than 0.01 % (science/strength).
func Mix(in ...Part) (Wine, error) {
	var total quantity.Volume
	for _, p := range in {
		if err := quantity.Check("volume of "+string(p.Wine.Parcel), p.Volume.Litres(), "L", 0, 1e9); err != nil {
			return Wine{}, err
		}
		total += p.Volume
	}
	if total <= 0 {
		return Wine{}, fault.BadFields("mix wines", fault.Field{Name: "volume", Given: "0 L", Allowed: "more than nothing of at least one wine"})
	}
	var bodies []*body
	var shares []fig
	out := Wine{Volume: Figure[quantity.Volume]{Value: total, How: Reckon}}
	for i := range in {
		if in[i].Volume == 0 {
			continue
		}
		bodies = append(bodies, &in[i].Wine.body)
		shares = append(shares, exactly(float64(in[i].Volume/total)))
		if in[i].Wine.At.After(out.At) {
			out.At = in[i].Wine.At
		}
		out.names = in[i].Wine.names
	}
	out.body = blend(bodies, shares)
	out.show()
	return out, nil
}
