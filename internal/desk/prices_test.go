package desk

import (
	"slices"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/track"
)

// Nothing written down: the program's proposal. Written down: the person's own, whole; what
// they leave out is as proposed, and what is struck out no longer counts.
func TestPricesAreThePersonsOwn(t *testing.T) {
	t.Parallel()
	book := demoBook(t)
	d := New(book, demo.Key, Options{Particles: few})
	if p := view(t, d, evening).Prices; !p.Proposed || p.Costs != track.DefaultCosts() || !slices.Equal(p.Tests, track.DefaultTests()) {
		t.Fatalf("nothing was written down, and the prices are %+v", p)
	}
	own := cellar.Prices{Money: "EUR", Tests: []cellar.TestPrice{{What: cellar.ReadChromatogram, Cost: "2,50", Minutes: "45"}, {What: cellar.ReadMalic, Cannot: true}}, LostDay: "3"}
	before := view(t, d, evening)
	write(t, book, evening, own)
	after := view(t, d, evening)
	p := after.Prices
	if c, ok := p.Price(cellar.ReadChromatogram); !ok || c.Cost != 2.5 || c.Minutes != 45 {
		t.Errorf("a chromatogram is %+v, %v", c, ok)
	}
	if _, ok := p.Price(cellar.ReadMalic); ok {
		t.Error("a test that cannot be made is priced")
	}
	want := track.DefaultCosts()
	want.LostDay = 3
	if p.Costs != want || p.Proposed || p.Money != "EUR" {
		t.Errorf("%+v", p)
	}

	// The advice follows: no malic test is offered, the spot has its own price.
	asked := 0
	for _, s := range after.Standings {
		if s.Malo == nil {
			continue
		}
		was := before.Of(s.Parcel.ID).Malo
		if was.Malic != s.Malo.Malic || was.State != s.Malo.State {
			t.Errorf("%s: prices changed what is believed of the wine", s.Vessel.Slug)
		}
		for _, o := range s.Malo.NextTest.Options {
			switch o.What {
			case string(track.Malic):
				t.Errorf("%s: a malic test is advised that cannot be made", s.Vessel.Slug)
			case string(track.Chromatogram):
				asked++
				if o.Cost != 2.5 || o.Minutes != 45 {
					t.Errorf("%s: a chromatogram at %v and %v min", s.Vessel.Slug, o.Cost, o.Minutes)
				}
			}
		}
		// By hand: a week's wait is 7·(unprotected·finished + lost·stalled).
		if w, was := s.Malo.Decision.CostWaiting, 7*(want.UnprotectedDay*s.Malo.State.Finished+3*s.Malo.State.Stalled); w-was > 0.02 || was-w > 0.02 {
			t.Errorf("%s: waiting a week costs %v, by hand %v", s.Vessel.Slug, w, was)
		}
	}
	if asked == 0 {
		t.Error("no chromatogram was weighed")
	}

	later := evening.Add(2 * time.Minute)
	entries := write(t, book, later, cellar.Prices{Minute: "0"})
	if p := view(t, d, later).Prices; p.LostDay != track.DefaultCosts().LostDay || p.Minute != 0 || p.Money != "" {
		t.Errorf("the latest does not count as a whole: %+v", p)
	}
	write(t, book, later, cellar.Strike{Target: entries[0].ID, Reason: "not mine"})
	if p := view(t, d, later).Prices; p.LostDay != 3 {
		t.Errorf("with the latest struck out the one before counts: %+v", p)
	}
}

// Bounds of prices, by what is wrong.
func TestPricesThatCannotBeMeant(t *testing.T) {
	t.Parallel()
	for name, b := range map[string]cellar.Prices{
		"negative":   {Tests: []cellar.TestPrice{{What: cellar.ReadTA, Cost: "-1"}}},
		"twice":      {Tests: []cellar.TestPrice{{What: cellar.ReadTA}, {What: cellar.ReadTA, Cost: "2"}}},
		"unknown":    {Tests: []cellar.TestPrice{{What: "nose", Cost: "2"}}},
		"no mistake": {FalseFinished: "0"},
		"words":      {LostDay: "a lot"},
	} {
		if err := (cellar.Draft{Happened: cellar.At(evening), Body: b}).Check(); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}
