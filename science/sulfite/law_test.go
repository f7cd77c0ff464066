package sulfite_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"elevage/science/quantity"
	"elevage/science/sulfite"
)

func contains(s, part string) bool { return strings.Contains(s, part) }

// No exported function or method may take a Target (or a Molecular) and a Rule side
// by side, receivers included: that is what keeps one rule's target from meeting
// another rule's constant.
func TestNoTargetMeetsAStrangersRule(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	functions := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file := must[*ast.File](t)(parser.ParseFile(token.NewFileSet(), name, nil, 0))
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || !f.Name.IsExported() {
				continue
			}
			functions++
			taken := map[string]int{}
			for _, list := range []*ast.FieldList{f.Recv, f.Type.Params} {
				if list == nil {
					continue
				}
				for _, field := range list.List {
					if id, ok := field.Type.(*ast.Ident); ok {
						taken[id.Name] += max(len(field.Names), 1)
					}
				}
			}
			if taken["Rule"] > 0 && taken["Target"]+taken["Molecular"] > 0 || taken["Target"]+taken["Molecular"] > 1 {
				t.Errorf("%s takes a rule and what belongs to a rule", f.Name.Name)
			}
		}
	}
	if functions < 30 {
		t.Errorf("only %d functions were looked at", functions)
	}
}

func TestRuleNames(t *testing.T) {
	t.Parallel()
	for _, r := range sulfite.Rules() {
		back, err := sulfite.ParseRule(r.String())
		if err != nil || back != r {
			t.Errorf("%v came back as %v (%v)", r, back, err)
		}
		if r.Label() == "" || r.Source().Text == "" {
			t.Errorf("%v has no label or source", r)
		}
	}
	if sulfite.Default != sulfite.Handbook {
		t.Error("the targets people quote belong to the handbook constant")
	}
}

func FuzzParseRule(f *testing.F) {
	for _, s := range []string{"handbook", "oiv", "oiv-slope", "", "OIV", "1.81", "no rule"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := sulfite.ParseRule(s)
		if err == nil && r.String() != s {
			t.Fatalf("%q was read as %q", s, r)
		}
		if err != nil && !contains(err.Error(), "allowed is") {
			t.Fatalf("%v does not say what is allowed", err)
		}
	})
}

func drawWine(t *rapid.T) sulfite.Wine {
	return wine(rapid.Float64Range(2.8, 4.2).Draw(t, "pH"), rapid.Float64Range(0, 20).Draw(t, "% vol"), rapid.Float64Range(20, 40).Draw(t, "°C"))
}

func drawRule(t *rapid.T) sulfite.Rule { return rapid.SampledFrom(sulfite.Rules()).Draw(t, "rule") }

func TestTargetAndMolecularAreInverse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r, w := drawRule(t), drawWine(t)
		amount := quantity.Concentration(rapid.Float64Range(0.1, 2).Draw(t, "mg/L")) * mg
		aim := must[sulfite.Target](t)(r.Target(amount))
		free := must[quantity.Concentration](t)(aim.Free(w))
		if free > 1 {
			return // more than a wine may hold
		}
		m := must[sulfite.Molecular](t)(r.Molecular(free, w))
		if math.Abs(float64(m.Amount()-amount)) > 1e-12*float64(amount) || m.Rule() != r || aim.Rule() != r {
			t.Fatalf("%v became %v by %v", amount, m, aim.Rule())
		}
		enough, err := aim.Met(free*1.0001, w)
		short, err2 := aim.Met(free*0.9999, w)
		if err != nil || err2 != nil || !enough || short {
			t.Fatalf("met %v, short %v", enough, short)
		}
	})
}

func TestMolecularOrders(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r, w := drawRule(t), drawWine(t)
		f := func(w sulfite.Wine) float64 { return must[sulfite.Share](t)(r.Share(w)).Fraction }
		higher := w
		higher.PH += 0.05
		if f(higher) >= f(w) {
			t.Fatal("a higher pH must leave less molecular SO2")
		}
		if r == sulfite.Handbook {
			return
		}
		if w.Alcohol < 19 {
			stronger := w
			stronger.Alcohol++
			if f(stronger) <= f(w) {
				t.Fatal("more alcohol must leave more molecular SO2")
			}
		}
		if w.Temperature < 39 {
			warmer := w
			warmer.Temperature++
			if f(warmer) <= f(w) {
				t.Fatal("warmth must leave more molecular SO2")
			}
		}
	})
}

// At 20 °C the two OIV rules are one; below, the slope carries on where the table
// has no entry, and says so.
func TestSlopeMeetsTheTable(t *testing.T) {
	t.Parallel()
	for abv := 0.0; abv <= 20; abv += 2.5 {
		table := must[sulfite.Share](t)(sulfite.OIV.Share(wine(3.5, abv, 20)))
		slope := must[sulfite.Share](t)(sulfite.OIVSlope.Share(wine(3.5, abv, 20)))
		near(t, "constant at 20 °C", slope.PK, table.PK, 1e-12)
		if slope.Extrapolated || table.Extrapolated {
			t.Error("20 °C is in the table")
		}
	}
	cellar := must[sulfite.Share](t)(sulfite.OIVSlope.Share(wine(3.4, 12, 12)))
	if !cellar.Extrapolated {
		t.Error("12 °C lies outside the table and must be marked")
	}
	// The reference list: extrapolating the table to a 12 °C cellar would give 0.58 of
	// what the thermodynamic slope gives.
	table20 := must[sulfite.Share](t)(sulfite.OIV.Share(wine(3.4, 12, 20))).PK
	table25 := must[sulfite.Share](t)(sulfite.OIV.Share(wine(3.4, 12, 25))).PK
	line := table20 - 8*(table25-table20)/5
	near(t, "ratio at 12 °C", 1/(1+math.Pow(10, 3.4-line))/cellar.Fraction, 0.58, 0.01)
}

func drawProduct(t *rapid.T) sulfite.Product {
	s := rapid.SampledFrom(sulfite.Salts()[:5]).Draw(t, "salt")
	k := rapid.Float64Range(0.3, 1).Draw(t, "strength")
	switch rapid.IntRange(0, 3).Draw(t, "form") {
	case 0:
		return must[sulfite.Product](t)(sulfite.Powder(s, k))
	case 1:
		return must[sulfite.Product](t)(sulfite.Tablets(s, quantity.Mass(rapid.Float64Range(0.05, 5).Draw(t, "each")), k))
	case 2:
		return must[sulfite.Product](t)(sulfite.StockSolution(s, quantity.Concentration(rapid.Float64Range(50, 200).Draw(t, "g/L salt")), k))
	}
	return must[sulfite.Product](t)(sulfite.Solution(sulfite.SulfurDioxide, quantity.Concentration(rapid.Float64Range(20, 60).Draw(t, "g/L")), k))
}

// A dose to the aim is the dose half way and the rest after: volumes of solution
// included. What it says it reaches is what the same amount read forwards reaches.
func TestDosesAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		now := quantity.Concentration(rapid.Float64Range(0, 30).Draw(t, "now")) * mg
		aim := now + quantity.Concentration(rapid.Float64Range(0.1, 80).Draw(t, "by"))*mg
		a := sulfite.Addition{
			Volume: quantity.Volume(rapid.Float64Range(1, 5000).Draw(t, "L")), FreeNow: now, TotalNow: now + 20*mg, FreeAfter: aim,
			Binding: rapid.Float64Range(0, 0.8).Draw(t, "binding"), Product: drawProduct(t),
		}
		all := must[sulfite.Dose](t)(a.Dose())
		if math.Abs(float64(all.Free-aim)) > 1e-12 {
			t.Fatalf("aimed at %v, reached %v", aim, all.Free)
		}
		half := a
		half.FreeAfter = (now + aim) / 2
		first := must[sulfite.Dose](t)(half.Dose())
		rest := a
		rest.Volume, rest.FreeNow, rest.TotalNow = first.Volume, first.Free, first.Total
		second := must[sulfite.Dose](t)(rest.Dose())
		sum := func(f func(sulfite.Amount) float64) (float64, float64) {
			return f(first.Take) + f(second.Take), f(all.Take)
		}
		for _, f := range []func(sulfite.Amount) float64{
			func(a sulfite.Amount) float64 { return a.Mass.Grams() },
			func(a sulfite.Amount) float64 { return a.Volume.Litres() },
			func(a sulfite.Amount) float64 { return a.Pieces },
		} {
			if two, one := sum(f); math.Abs(two-one) > 1e-9*(1+one) {
				t.Fatalf("two doses take %v, one takes %v", two, one)
			}
		}
		if math.Abs(float64(second.Total-all.Total)) > 1e-12 || !all.TotalKnown {
			t.Fatalf("total after two %v, after one %v", second.Total, all.Total)
		}
		// SO2 is neither made nor lost
		balance := all.Total.In(all.Volume) - a.TotalNow.In(a.Volume) - all.SO2
		if math.Abs(float64(balance)) > 1e-9*(1+all.SO2.Grams()) {
			t.Fatalf("%v g of SO2 unaccounted for", balance)
		}
		amount := a.Product.Holding(all.SO2)
		if back := a.Product.SO2In(amount); math.Abs(float64(back-all.SO2)) > 1e-12*(1+float64(all.SO2)) {
			t.Fatalf("%v g of SO2 came back as %v", all.SO2, back)
		}
	})
}

func TestDoseRisesWithBindingAndAge(t *testing.T) {
	t.Parallel()
	at := func(binding, k float64) float64 {
		p := must[sulfite.Product](t)(sulfite.Powder(sulfite.PotassiumMetabisulfite, k))
		return must[sulfite.Dose](t)(sulfite.Addition{Volume: 54, FreeAfter: 30 * mg, Binding: binding, Product: p}.Dose()).Take.Mass.Grams()
	}
	near(t, "half binds: twice the dose", at(0.5, 1), 2*at(0, 1), 1e-9)
	near(t, "half the strength: twice the powder", at(0, 0.5), 2*at(0, 1), 1e-9)
	old := must[float64](t)(sulfite.AgedStrength(1, 2*365.25, sulfite.OpenedLossPerYear))
	near(t, "two years open", old, 0.81, 1e-9)
	// potassium stays when SO2 has aged away, so an old jar brings more of it
	fresh, aged := pure(t, sulfite.PotassiumMetabisulfite), must[sulfite.Product](t)(sulfite.Powder(sulfite.PotassiumMetabisulfite, 0.5))
	near(t, "potassium of an old jar", aged.Brings(aged.Holding(1)).Potassium.Grams(), 2*fresh.Brings(fresh.Holding(1)).Potassium.Grams(), 1e-9)
}

func TestNothingToAdd(t *testing.T) {
	t.Parallel()
	d := must[sulfite.Dose](t)(sulfite.Addition{Volume: 23, FreeNow: 35 * mg, FreeAfter: 30 * mg, Product: pure(t, sulfite.PotassiumMetabisulfite)}.Dose())
	if d.Take != (sulfite.Amount{}) || d.Free != 35*mg || d.TotalKnown {
		t.Errorf("a wine above its aim got %+v", d)
	}
}

// The ways to name one product are one product: a 10 % stock solution, the same
// strength as SO2, and the powder in it.
func TestProductsAgree(t *testing.T) {
	t.Parallel()
	stock := must[sulfite.Product](t)(sulfite.StockSolution(sulfite.PotassiumMetabisulfite, 100, 1))
	liquid := must[sulfite.Product](t)(sulfite.Solution(sulfite.PotassiumMetabisulfite, quantity.Concentration(100*sulfite.PotassiumMetabisulfite.SO2Fraction()), 1))
	powder := pure(t, sulfite.PotassiumMetabisulfite)
	near(t, "stock and liquid", stock.Holding(1).Volume.Litres(), liquid.Holding(1).Volume.Litres(), 1e-15)
	near(t, "stock and powder", 100*stock.Holding(1).Volume.Litres(), powder.Holding(1).Mass.Grams(), 1e-12)
	tablets := must[sulfite.Product](t)(sulfite.Tablets(sulfite.PotassiumMetabisulfite, 0.25, 1))
	near(t, "tablets", tablets.Holding(1).Pieces, 4, 1e-12)
	for _, c := range []struct {
		amount sulfite.Amount
		want   string
	}{{powder.Holding(1), "1.74 g"}, {stock.Holding(1), "17.4 mL"}, {tablets.Holding(1), "4.00 tablets"}} {
		if c.amount.String() != c.want {
			t.Errorf("%q, want %q", c.amount, c.want)
		}
	}
}

func TestFreeAndTotalAreInverse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var in []sulfite.Content
		for _, b := range sulfite.Binders {
			in = append(in, sulfite.Content{Binder: b, Amount: quantity.Concentration(rapid.Float64Range(0, 0.2).Draw(t, b.Name))})
		}
		free := quantity.Concentration(rapid.Float64Range(0.5, 80).Draw(t, "free")) * mg
		held := must[quantity.Concentration](t)(sulfite.Bound(free, in))
		back := must[quantity.Concentration](t)(sulfite.FreeOf(free+held, in))
		if math.Abs(float64(back-free)) > 1e-9*float64(free) {
			t.Fatalf("%v came back as %v", free, back)
		}
		more := must[quantity.Concentration](t)(sulfite.Bound(free*1.1, in))
		ceiling := quantity.Concentration(0)
		for _, c := range in {
			ceiling += c.Amount * quantity.Concentration(c.Binder.Ceiling())
		}
		if more < held || more > ceiling {
			t.Fatalf("bound %v, then %v, ceiling %v", held, more, ceiling)
		}
		share := must[float64](t)(sulfite.BindingOf(0, free, in))
		if math.Abs(share-float64(held/(held+free))) > 1e-12 {
			t.Fatalf("share %v of %v + %v", share, held, free)
		}
	})
}

func TestSpread(t *testing.T) {
	t.Parallel()
	hand := sulfite.Measurement{Free: 30 * mg, FreeSD: 4 * mg, Wine: wine(3.5, 12, 20), PHSD: 0.058}
	s := must[sulfite.Spread](t)(sulfite.Handbook.Spread(hand))
	point := must[sulfite.Molecular](t)(sulfite.Handbook.Molecular(hand.Free, hand.Wine)).Amount()
	if !s.Interval.Holds(point) || s.Interval.Width() < 0.2*point {
		t.Errorf("%v against %+v", point, s.Interval)
	}
	near(t, "0.05 pH", 100*-must[sulfite.Share](t)(sulfite.Handbook.Share(hand.Wine)).Sensitivity()*0.05, 11.3, 0.1)
	near(t, "share of pH", s.FromPH, 0.131, 0.001)
	near(t, "share of free SO2", s.FromFree, 0.133, 0.001)
	sure := must[sulfite.Spread](t)(sulfite.OIVSlope.Spread(sulfite.Measurement{Free: 60 * mg, FreeSD: 8.881784197001252e-16 * mg, Wine: wine(3.5871524810791016, 1.445555733459102, 20), PHSD: 5.551115123125783e-17}))
	if i := sure.Interval; i.Q05 > i.Q50 || i.Q50 > i.Q95 { // found by the property below
		t.Errorf("with next to no doubt: %+v", i)
	}
	rapid.Check(t, func(t *rapid.T) {
		r := drawRule(t)
		m := sulfite.Measurement{
			Free: quantity.Concentration(rapid.Float64Range(0, 60).Draw(t, "free")) * mg, FreeSD: quantity.Concentration(rapid.Float64Range(0, 8).Draw(t, "SD")) * mg,
			Wine: drawWine(t), PHSD: rapid.Float64Range(0, 0.15).Draw(t, "pH SD"),
		}
		s := must[sulfite.Spread](t)(r.Spread(m))
		if !(s.Interval.Q05 <= s.Interval.Q50 && s.Interval.Q50 <= s.Interval.Q95 && s.Interval.Q05 >= 0) {
			t.Fatalf("%+v", s)
		}
		aim := must[sulfite.Target](t)(r.Target(0.5 * mg))
		p := must[float64](t)(aim.Shortfall(m))
		if p < 0 || p > 1+1e-12 {
			t.Fatalf("probability %v", p)
		}
		less := m
		less.Free *= 0.9
		if q := must[float64](t)(aim.Shortfall(less)); q < p-1e-9 {
			t.Fatalf("less free SO2 is surer to reach the aim: %v then %v", p, q)
		}
		// the probability and the quantiles are one distribution
		if s.Interval.Q50 > 0.05*mg && s.Interval.Q50 < 5*mg && m.FreeSD > 0.1*mg && m.Free > 8*m.FreeSD {
			mid := must[sulfite.Target](t)(r.Target(s.Interval.Q50))
			if half := must[float64](t)(mid.Shortfall(m)); math.Abs(half-0.5) > 1e-6 {
				t.Fatalf("the median has probability %v", half)
			}
		}
	})
}

func TestBottlingAllowance(t *testing.T) {
	t.Parallel()
	a := must[quantity.Bounds[quantity.Concentration]](t)(sulfite.BottlingAllowance(sulfite.Filling{Dissolved: 0.8 * mg, Headspace: 2.8 * mg}))
	near(t, "poor practice", a.Likely.MgPerL(), 9, 1e-9) // practice: costs 9 to 20 mg/L over weeks
	if a.Low >= a.Likely || a.Likely >= a.High {
		t.Errorf("%+v", a)
	}
	near(t, "1 L of air over 20 L", must[quantity.Concentration](t)(sulfite.HeadspaceAir(1, 20, 20)).MgPerL(), 13.9, 0.05)
	powder := pure(t, sulfite.PotassiumMetabisulfite)
	aim := must[sulfite.Target](t)(sulfite.Handbook.Target(0.5 * mg))
	need := sulfite.Need{Wine: wine(3.4, 12, 20), Volume: 23, FreeNow: 18 * mg, Product: powder, Binding: sulfite.LaterBinding}
	plain := must[sulfite.Met](t)(aim.Dose(need))
	need.Allowance = 5 * mg
	more := must[sulfite.Met](t)(aim.Dose(need))
	near(t, "allowance", (more.Wanted - plain.Wanted).MgPerL(), 5, 1e-9)
	if more.After.Low >= more.After.Likely || more.After.Likely >= more.After.High || more.After.Likely != more.Wanted && math.Abs(float64(more.After.Likely-more.Wanted)) > 1e-12 {
		t.Errorf("%+v for %v", more.After, more.Wanted)
	}
	shown := must[float64](t)(sulfite.ShownBinding(4*mg, 34*mg, 60*mg))
	near(t, "shown binding", shown, 0.5, 1e-12)
}
