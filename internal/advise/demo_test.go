package advise_test

import (
	"fmt"
	"os"
	"testing"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/gather"
)

func demoInput(t testing.TB, now time.Time) advise.Input {
	entries, err := demo.Entries(now)
	if err != nil {
		t.Fatal(err)
	}
	in := advise.Input{State: cellar.Fold(entries, cellar.Options{Now: now}), Now: now, Beliefs: map[cellar.ParcelID]*track.Belief{}, Ageing: map[cellar.ParcelID]*ageing.Belief{}}
	for _, p := range in.State.Parcels {
		if m, _, ok := gather.Malolactic(in.State, p, now); ok {
			m.Options.Particles = 300
			b, err := track.Malo(m)
			if err != nil {
				t.Fatal(err)
			}
			in.Beliefs[p.ID] = &b
		}
		if a, ok := gather.Sulfur(in.State, p, now); ok {
			b, err := ageing.Believe(a)
			if err != nil {
				t.Log(p.Vessel, err)
				continue
			}
			in.Ageing[p.ID] = &b
		}
	}
	return in
}

func TestDemoScratch(t *testing.T) {
	if os.Getenv("SHOW") == "" {
		t.Skip()
	}
	now := time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)
	in := demoInput(t, now)
	p, err := advise.Plan(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range p.Acts {
		about := ""
		if a.About != nil {
			about = " ~" + a.About.String()
		}
		fmt.Println(a.Standing, "|", a.Vessel, a.Instrument, "|", a.LotName, "|", a.Do, a.Amount, a.Unit, "|", a.From, a.To, about, "|", a.WaitingOn, "|", a.Why, a.Order)
	}
	for _, h := range p.Held {
		fmt.Println("HELD", h)
	}
	for _, b := range p.Batches {
		fmt.Println("BATCH", b.Title, b.Says)
	}
	for _, q := range p.Quiet {
		fmt.Println("QUIET", q)
	}
	fmt.Println("COME BACK", p.ComeBack, p.For, p.Minutes)
	if lot := os.Getenv("LOT"); lot != "" {
		e, err := advise.Explain(in, lot)
		fmt.Println(e.Text(), err)
	}
}
