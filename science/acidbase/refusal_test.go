package acidbase_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// sound is a measured wine that everything accepts.
func sound() acidbase.Measured {
	return acidbase.Measured{PH: 3.45, TA: 6.4, EndPoint: 8.2, Malic: 2.5, Alcohol: 13, Temperature: 20}
}

// Bad input names the field.
func TestRefusals(t *testing.T) {
	t.Parallel()
	anchor := func(change func(*acidbase.Measured)) error {
		r := sound()
		change(&r)
		_, err := acidbase.Anchor(r)
		return err
	}
	wine := must(acidbase.Anchor(sound()))(t)
	for _, tc := range []struct {
		name, field string
		err         error
	}{
		{"pH as TA", "pH", anchor(func(r *acidbase.Measured) { r.PH = 6.4 })},
		{"pH not a number", "pH", anchor(func(r *acidbase.Measured) { r.PH = quantity.PH(math.NaN()) })},
		{"no end point", "end point", anchor(func(r *acidbase.Measured) { r.EndPoint = 0 })},
		{"end point as TA", "end point", anchor(func(r *acidbase.Measured) { r.EndPoint = 82 })},
		{"TA missing", "titratable acidity", anchor(func(r *acidbase.Measured) { r.TA = 0 })},
		{"TA in mg/L", "titratable acidity", anchor(func(r *acidbase.Measured) { r.TA = 6400 })},
		{"TA as no acid", "acid that titratable acidity is expressed as", anchor(func(r *acidbase.Measured) { r.TAAs = 200 })},
		{"malic negative", "malic acid", anchor(func(r *acidbase.Measured) { r.Malic = -0.1 })},
		{"malic not a number", "malic acid", anchor(func(r *acidbase.Measured) { r.Malic = quantity.Concentration(math.NaN()) })},
		{"SO2 in mg/L taken for g/L", "free SO2", anchor(func(r *acidbase.Measured) { r.FreeSO2 = 30 })},
		{"alcohol of a spirit", "alcohol", anchor(func(r *acidbase.Measured) { r.Alcohol = 40 })},
		{"temperature in Fahrenheit", "temperature", anchor(func(r *acidbase.Measured) { r.Temperature = 68 })},
		{"dose too large", "dose of tartaric acid", second(wine.Add(acidbase.TartaricAcid, 500))},
		{"dose negative", "dose of tartaric acid", second(wine.Add(acidbase.TartaricAcid, -1))},
		{"no such agent", "agent", second(wine.Add(99, 1))},
		{"more malic than there is", "malic acid converted", second(wine.Malolactic(2.6))},
		{"curve beyond the malic there is", "malic acid converted", second(wine.MalolacticCurve(3))},
		{"one point", "points", second(wine.TitrationCurve(3, 8, 1))},
		{"pH off the scale", "pH", second(wine.TitrationCurve(3, 80, 5))},
		{"no sample", "sample", second(wine.TAOfSample(7, 0, 0.1))},
		{"negative volume", "volume", third(acidbase.Mix(acidbase.Part{Composition: wine.Composition, Volume: -1}))},
		{"nothing mixed", "volume mixed", third(acidbase.Mix())},
		{"target pH", "target pH", second(wine.DoseForPH(acidbase.TartaricAcid, 12))},
		{"shift", "pK shift with ethanol", second(acidbase.NewMedium(12, 20, acidbase.WithCarboxylShift(1)))},
		{"ion size", "ion size", second(acidbase.NewMedium(12, 20, acidbase.WithActivity(acidbase.DebyeHuckel(-1))))},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var bad *quantity.RangeError
			if !errors.As(tc.err, &bad) || bad.Field != tc.field {
				t.Errorf("got %v, want a *quantity.RangeError on %q", tc.err, tc.field)
			}
		})
	}
}

func second[T any](_ T, err error) error        { return err }
func third[T, U any](_ T, _ U, err error) error { return err }

// What anchoring solves for, from roomy to impossible.
func TestWhatAnchorSolvesFor(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name   string
		change func(*acidbase.Measured)
		want   acidbase.Solved
	}{
		{"the usual wine", func(*acidbase.Measured) {}, acidbase.SolvedShared},
		{"tartaric acid measured", func(r *acidbase.Measured) { r.Tartaric = acidbase.Given(1.5 * quantity.GramPerLitre) }, acidbase.SolvedOther},
		{"other acids given", func(r *acidbase.Measured) { r.Other = acidbase.Given(0.01 * quantity.MolPerLitre) }, acidbase.SolvedTartaric},
		{"little room", func(r *acidbase.Measured) { r.TA = 3.9 }, acidbase.SolvedTartaric},
		{"no room for tartaric acid", func(r *acidbase.Measured) { r.TA = 3 }, acidbase.SolvedMinor},
		{"tartaric acid measured, no room for the rest", func(r *acidbase.Measured) { r.TA, r.Tartaric = 4.5, acidbase.Given(2*quantity.GramPerLitre) }, acidbase.SolvedMinor},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r := sound()
			tc.change(&r)
			w := must(acidbase.Anchor(r))(t)
			if w.Solved != tc.want {
				t.Errorf("solved: %v, want %v", w.Solved, tc.want)
			}
			if (w.MinorShare < 1) != (w.Solved == acidbase.SolvedMinor) {
				t.Errorf("minor share %g with %v", w.MinorShare, w.Solved)
			}
			near(t, "pH", float64(must(w.PH())(t)), float64(r.PH), 1e-11)
			near(t, "TA", must(w.TA(r.EndPoint, acidbase.Tartaric))(t).GPerL(), r.TA.GPerL(), 1e-11)
		})
	}
}

func TestContradictionIsNamed(t *testing.T) {
	t.Parallel()
	r := sound()
	r.TA, r.Malic = 3, 6
	_, err := acidbase.Anchor(r)
	var c *acidbase.Contradiction
	if !errors.As(err, &c) {
		t.Fatalf("got %v, want a *Contradiction", err)
	}
	if c.Needed <= c.TA || !strings.Contains(err.Error(), "3.00 g/L") {
		t.Errorf("%v (%+v)", err, c)
	}
}

func TestUnreachableTarget(t *testing.T) {
	t.Parallel()
	w := must(acidbase.Anchor(sound()))(t)
	_, err := w.DoseForPH(acidbase.TartaricAcid, 3.9)
	var u *acidbase.Unreachable
	if !errors.As(err, &u) {
		t.Fatalf("got %v, want *Unreachable", err)
	}
	if !strings.Contains(err.Error(), "tartaric acid cannot bring pH to 3.9") {
		t.Error(err)
	}
}

// Beyond what the activity equation was made for, a solution says so.
func TestExtrapolationIsFlagged(t *testing.T) {
	t.Parallel()
	wine := acidbase.Composition{Tartaric: 3, Malic: 2, StrongIons: 0.03, Alcohol: 12, Temperature: 20}
	brine, cold := wine, wine
	brine.InertSalt, cold.Temperature = 0.7, -3
	for name, tc := range map[string]struct {
		c    acidbase.Composition
		want bool
	}{"wine": {wine, false}, "brine": {brine, true}, "below freezing": {cold, true}} {
		if s := must(tc.c.Solve())(t); s.Extrapolated != tc.want {
			t.Errorf("%s: extrapolated %v at I = %g", name, s.Extrapolated, s.IonicStrength)
		}
	}
}

// No number may bring it to a panic or to a silent NaN.
func FuzzAnchor(f *testing.F) {
	f.Add(3.45, 6.4, 8.2, 2.5, 13.0, 20.0)
	f.Add(3.45, 3.0, 7.0, 6.0, 13.0, 20.0)
	f.Add(2.0, 30.0, 9.0, 0.0, 0.0, -5.0)
	f.Add(5.0, 0.11, 5.0, 100.0, 20.0, 40.0)
	f.Add(math.NaN(), math.Inf(1), -1.0, math.MaxFloat64, math.SmallestNonzeroFloat64, math.Inf(-1))
	f.Fuzz(func(t *testing.T, ph, ta, end, malic, abv, celsius float64) {
		w, err := acidbase.Anchor(acidbase.Measured{
			PH: quantity.PH(ph), TA: quantity.Concentration(ta), EndPoint: quantity.PH(end), Malic: quantity.Concentration(malic),
			Alcohol: quantity.Strength(abv), Temperature: quantity.Celsius(celsius),
		})
		if err != nil {
			return
		}
		got, err := w.PH()
		if err != nil {
			t.Fatal(err)
		}
		back, err := w.TA(w.EndPoint, acidbase.Tartaric)
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(float64(got)-ph) < 1e-8) || !(math.Abs(back.GPerL()-ta) < 1e-8*(1+ta)) {
			t.Fatalf("anchored on pH %g, TA %g: gives %g, %g (%v)", ph, ta, got, back, w.Solved)
		}
	})
}
