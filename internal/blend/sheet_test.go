package blend

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/science/quantity"
)

func TestSheets(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "candidates")
		again := rapid.IntRange(-1, n-1).Draw(t, "again")
		seed := rapid.Uint64().Draw(t, "seed")
		s, err := NewSheet(n, again, []string{"Ada", "Ben"}, seed)
		if err != nil {
			t.Fatal(err)
		}
		same, _ := NewSheet(n, again, []string{"Ada", "Ben"}, seed)
		if !reflect.DeepEqual(s, same) {
			t.Fatal("the same seed gives another sheet")
		}
		want := n
		if again >= 0 {
			want++
		}
		codes := map[string]int{}
		for _, g := range s.Glasses {
			codes[g.Code] = g.Blend
			if len(g.Code) != 3 {
				t.Errorf("code %q", g.Code)
			}
		}
		if len(codes) != want || len(s.Glasses) != want {
			t.Errorf("%d glasses, %d codes, want %d", len(s.Glasses), len(codes), want)
		}
		for _, f := range s.Tasters {
			got := slices.Sorted(slices.Values(f.Codes))
			var all []string
			for _, g := range s.Glasses {
				all = append(all, g.Code)
			}
			if slices.Sort(all); !slices.Equal(got, all) {
				t.Errorf("%s gets %v of %v", f.Taster, f.Codes, all)
			}
		}
	})
}

// Orders are drawn evenly: each of three glasses comes first a third of the time.
func TestOrdersAreEven(t *testing.T) {
	t.Parallel()
	first := map[int]int{}
	const n = 3000
	for seed := range uint64(n) {
		s, err := NewSheet(3, -1, []string{"Ada"}, seed)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range s.Glasses {
			if g.Code == s.Tasters[0].Codes[0] {
				first[g.Blend]++
			}
		}
	}
	for b := range 3 { // five standard deviations of a binomial count
		if d := first[b] - n/3; d < -130 || d > 130 {
			t.Errorf("candidate %d came first %d times of %d", b, first[b], n)
		}
	}
}

func TestBadSheets(t *testing.T) {
	t.Parallel()
	for name, try := range map[string]func() (Sheet, error){
		"one candidate": func() (Sheet, error) { return NewSheet(1, -1, []string{"Ada"}, 1) }, "six": func() (Sheet, error) { return NewSheet(6, -1, []string{"Ada"}, 1) },
		"nobody tastes": func() (Sheet, error) { return NewSheet(3, -1, nil, 1) }, "one that is not there twice": func() (Sheet, error) { return NewSheet(3, 3, []string{"Ada"}, 1) },
	} {
		if _, err := try(); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// A blend that was found is made: the entries it becomes give the wine that was
// foreseen, and leave no vessel part full that was to be emptied.
func TestMadeBlendIsTheOneForeseen(t *testing.T) {
	t.Parallel()
	entries, now := written(t, merlot, cabernet)
	sources, err := Sources(cellar.Fold(entries, cellar.Options{}), nil, now)
	if err != nil {
		t.Fatal(err)
	}
	a := find(t, Wish{Sources: sources, Whole: true, Into: []quantity.Volume{54, 23}})
	if len(a.Blends) == 0 {
		t.Fatalf("%+v", a.Conflict)
	}
	i := slices.IndexFunc(a.Blends, func(b Blend) bool { return len(b.Parts) == 2 })
	b := a.Blends[i]
	when := cellar.At(now.Add(time.Hour))
	if _, err := b.Drafts(when, "cuvee", []Vessel{{"d1", 54}}); err == nil {
		t.Error("77 L went into 54")
	}
	drafts, err := b.Drafts(when, "cuvee", []Vessel{{"d1", 54}, {"d2", 23}, {"d3", 10}})
	if err != nil {
		t.Fatal(err)
	}
	m := drafts[0].Body.(cellar.Movement)
	if len(m.From) != 2 || !m.From[0].All || len(m.To) != 2 || m.To[1].Volume.Value != "23" || m.Becomes != "cuvee" {
		t.Errorf("%+v", m)
	}
	pen := cellar.Pen{Cellar: "test", Random: rand.NewChaCha8([32]byte{2})}
	made, err := pen.Write(now.Add(time.Hour), append([]cellar.Draft{{Happened: when, Body: cellar.LotStarted{Slug: "cuvee", Colour: "red"}}, {Happened: when, Body: cellar.VesselNamed{Slug: "d1"}}, {Happened: when, Body: cellar.VesselNamed{Slug: "d2"}}}, drafts...)...)
	if err != nil {
		t.Fatal(err)
	}
	after := cellar.Fold(append(entries, made...), cellar.Options{})
	if after.Findings.Len() != 0 || after.In("c1") != nil || after.In("c2") != nil || after.In("d1").Lot != "cuvee" {
		t.Errorf("%+v", after.Findings.Slice())
	}
	w, err := compose.Of(after, after.In("d1").ID, now.Add(2*time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "alcohol", w.Alcohol.Value.Percent(), b.Wine.Alcohol.Value.Percent(), 1e-9)
	near(t, "pH", float64(w.PH.Value), float64(b.Wine.PH.Value), 1e-6)
	near(t, "share of merlot", shares(after, after.In("d1").ID, now.Add(2*time.Hour))[ByVariety]["Merlot"], 54./77, 1e-9)
	sheet, err := NewSheet(2, 0, []string{"Ada"}, 9)
	if err != nil {
		t.Fatal(err)
	}
	trial := sheet.Trial([]Blend{b, a.Blends[0]}, 100*quantity.Millilitre)
	if err := (cellar.Draft{Happened: when, Body: trial}).Check(); err != nil {
		t.Errorf("the sheet cannot be kept: %v", err)
	}
	if len(trial.Rows) != 3 || trial.Seed != "9" {
		t.Errorf("%+v", trial)
	}
}
