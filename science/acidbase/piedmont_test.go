package acidbase

import (
	"bufio"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"elevage/science/quantity"
)

// piedmontWine is one row of Forina, Armanino, Castino, Ubigli 1986.
type piedmontWine struct {
	name                     string
	alcohol                  quantity.Strength
	ta, ashAlkalinity        quantity.Molarity // fixed acidity to pH 7, alkalinity of ash
	tartaric, malic, uronic  quantity.Concentration
	ph                       quantity.PH
	potassium, calcium, magn quantity.Concentration
	phosphate, chloride      quantity.Concentration
}

// piedmontWines reads the table if ELEVAGE_REFERENCE names a folder that holds
// it; it is not part of this repository because its licence for redistribution
// is not settled.
func piedmontWines(t *testing.T) []piedmontWine {
	t.Helper()
	root := os.Getenv("ELEVAGE_REFERENCE")
	if root == "" {
		t.Skip("set ELEVAGE_REFERENCE to the folder with data/acid-base/forina-1986-piedmont-wines.csv to run this")
	}
	f, err := os.Open(filepath.Join(root, "data", "acid-base", "forina-1986-piedmont-wines.csv"))
	if err != nil {
		t.Skip(err)
	}
	defer f.Close()
	r := csv.NewReader(bufio.NewReader(f))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	var wines []piedmontWine
	for _, row := range rows[1:] {
		get := func(name string) float64 {
			v, err := strconv.ParseFloat(strings.TrimSpace(row[column[name]]), 64)
			if err != nil {
				t.Fatalf("%s: %s: %v", row[0], name, err)
			}
			return v
		}
		wines = append(wines, piedmontWine{
			name: row[0], alcohol: quantity.Strength(get("alcohol")),
			ta:            quantity.Molarity(get("acidity")) * quantity.MillimolPerLitre,
			ashAlkalinity: quantity.Molarity(get("alcal_ash")) * quantity.MillimolPerLitre,
			tartaric:      quantity.Concentration(get("tartaric")), malic: quantity.Concentration(get("malic")),
			uronic: quantity.Concentration(get("uronic")), ph: quantity.PH(get("pH")),
			potassium: quantity.Concentration(get("potassium")) * quantity.MilligramPerLitre,
			calcium:   quantity.Concentration(get("calcium")) * quantity.MilligramPerLitre,
			magn:      quantity.Concentration(get("magnesium")) * quantity.MilligramPerLitre,
			phosphate: quantity.Concentration(get("phosphate")) * quantity.MilligramPerLitre,
			chloride:  quantity.Concentration(get("chloride")) * quantity.MilligramPerLitre,
		})
	}
	return wines
}

// predict follows the recipe: organic anion charge is the alkalinity of ash;
// the lumped acid is sized so that titration to pH 7 gives the fixed acidity.
func (w *piedmontWine) predict(t *testing.T, shift float64, mono bool) (ph float64) {
	m, err := NewMedium(w.alcohol, 20, WithCarboxylShift(shift))
	if err != nil {
		t.Fatal(err)
	}
	c := Composition{Tartaric: w.tartaric, Malic: w.malic}
	p := problem{medium: &m, tot: c.totals()}
	var unit totals
	if mono {
		unit[Lactic] = 1
	} else {
		unit[Lactic], unit[Succinic] = otherAsLactic, otherAsSuccinic
	}
	// At pH 7 the charge is ash alkalinity + fixed acidity.
	want := (w.ashAlkalinity + w.ta).MolPerL()
	base := p.tot
	s := state{lnh: -7 * math.Ln10, h: 1e-7, ionic: 0.1}
	for range 100 {
		need, square, per, perSq := p.split(&s, &base, &unit)
		x := (want - need) / per
		s.square = square + x*perSq
		s.ionic = p.ionicStrength(&s, want)
		for i := range p.tot {
			p.tot[i] = base[i] + x*unit[i]
		}
	}
	p.strong = w.ashAlkalinity.MolPerL()
	e, err := p.solve(state{lnh: -8, ionic: 0.03})
	if err != nil {
		t.Fatal(w.name, err)
	}
	return -e.lnh / math.Ln10
}

func meanSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean) / float64(len(x)-1)
	}
	return mean, math.Sqrt(sd)
}

func TestPiedmontExplore(t *testing.T) {
	wines := piedmontWines(t)
	for _, shift := range []float64{0, 0.007, 0.0135} {
		for _, mono := range []bool{true, false} {
			var d []float64
			for i := range wines {
				d = append(d, wines[i].predict(t, shift, mono)-float64(wines[i].ph))
			}
			m, s := meanSD(d)
			t.Logf("shift %g mono %v bias %.3f sd %.3f", shift, mono, m, s)
		}
	}
	// anchored
	var dT, dS, r []float64
	kinds := map[Solved]int{}
	for _, w := range wines {
		a, err := Anchor(Measured{PH: w.ph, TA: Tartaric.FromEquivalents(w.ta), EndPoint: 7, Malic: w.malic, Alcohol: w.alcohol, Temperature: 20})
		if err != nil {
			t.Log(w.name, err)
			continue
		}
		kinds[a.Solved]++
		dT = append(dT, float64(a.Tartaric-w.tartaric))
		dS = append(dS, (a.StrongIons - w.ashAlkalinity).MmolPerL())
		b, err := Anchor(Measured{PH: w.ph, TA: Tartaric.FromEquivalents(w.ta), EndPoint: 7, Malic: w.malic, Tartaric: Given(w.tartaric), Alcohol: w.alcohol, Temperature: 20})
		if err != nil {
			t.Log(w.name, err)
			continue
		}
		a2, _ := a.Malolactic(w.malic)
		b2, _ := b.Malolactic(w.malic)
		pa, _ := a2.PH()
		pb, _ := b2.PH()
		r = append(r, float64(pa-w.ph)-float64(pb-w.ph))
		if len(r) < 12 {
			t.Logf("T %.2f meas %.2f S %.1f / %.1f alk %.1f other %.1f mM  dpH %.3f %.3f", a.Tartaric, w.tartaric, a.StrongIons.MmolPerL(), b.StrongIons.MmolPerL(), w.ashAlkalinity.MmolPerL(), b.Other.MmolPerL(), pa-w.ph, pb-w.ph)
		}
	}
	t.Log(kinds)
	m, s := meanSD(dT)
	t.Logf("tartaric solved-measured %.3f %.3f", m, s)
	m, s = meanSD(dS)
	t.Logf("strong %.3f %.3f", m, s)
	m, s = meanSD(r)
	t.Logf("mlf dpH diff %.4f %.4f", m, s)
}
