package track

import (
	"strings"
	"testing"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// still is an invented wine on which nothing moves: spots stay strong, acidity stands.
func still(t testing.TB, edit func(*Facts), more ...string) Input {
	t.Helper()
	facts, err := ReadFacts(strings.NewReader(`{"name":"invented","colour":"red","volume_l":54,"abv_pct":12.5,"temp_c":20,"ph":3.5,"ta_g_l":6.3,
		"free_so2_mg_l":0,"total_so2_mg_l":15,"malic_g_l":2.2,"inoculated":"2026-10-01","inoculation":"rehydrated"}`))
	if err != nil {
		t.Fatal(err)
	}
	if edit != nil {
		edit(&facts)
	}
	rows := append([]string{"2026-11-05,chromatogram,strong", "2026-11-20,chromatogram,strong", "2026-11-20,malic,1.9", "2026-12-10,malic,1.9", "2026-12-10,chromatogram,strong"}, more...)
	readings, bad, err := ReadReadings(strings.NewReader("at,what,value\n"+strings.Join(rows, "\n")+"\n"), true)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	return Input{Facts: facts, Readings: readings, At: day("2026-12-11")}
}

// Each wine was held back by one thing; the belief's counterfactuals must name it
// first. That cold, low pH, alcohol and SO2 hold bacteria back is testdata and
// sources of science/malolactic.
func TestCausesNameWhatHeldItBack(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		want string
		edit func(*Facts)
		more []string
	}{
		{"cold", func(f *Facts) { v := quantity.Celsius(12); f.Temperature = &v }, nil},
		{"low pH", func(f *Facts) { v := quantity.PH(3.08); f.PH = &v }, nil},
		{"alcohol", func(f *Facts) { v := quantity.Strength(15.6); f.Alcohol = &v }, nil},
		{"free SO2", nil, []string{"2026-10-03,free_so2,25"}},
		{"bound SO2", func(f *Facts) { v := 90 * quantity.MilligramPerLitre; f.TotalSO2 = &v }, nil},
	} {
		t.Run(c.want, func(t *testing.T) {
			t.Parallel()
			b, err := Malo(still(t, c.edit, c.more...))
			if err != nil {
				t.Fatal(err)
			}
			if b.Stuck == nil || len(b.Stuck.Causes) == 0 {
				t.Fatalf("no causes; states %+v", b.State)
			}
			first := b.Stuck.Causes[0]
			if first.What != c.want || first.Harm < worthHarm {
				t.Errorf("first cause %+v", first)
			}
			if !strings.Contains(b.Stuck.Says[0], c.want) {
				t.Errorf("says %q", b.Stuck.Says)
			}
			for _, x := range b.Stuck.Causes {
				if x.Harm < -0.02 {
					t.Errorf("%s is said to have helped: %+v", x.What, x)
				}
			}
		})
	}
}

// A wine in fair conditions that stands still has no cause that can be seen, and
// the belief must say so instead of naming one.
func TestNoCauseIsInvented(t *testing.T) {
	t.Parallel()
	b, err := Malo(still(t, nil))
	if err != nil {
		t.Fatal(err)
	}
	if b.Stuck == nil {
		t.Fatalf("not thought stuck: %+v", b.State)
	}
	if len(b.Stuck.Causes) > 0 && b.Stuck.Causes[0].Harm >= worthHarm || !strings.Contains(b.Stuck.Says[0], "Nothing that was logged") {
		t.Errorf("causes %+v, says %q", b.Stuck.Causes, b.Stuck.Says[0])
	}
	if len(b.Stuck.Unseen) == 0 || len(b.Stuck.Tries) < 3 {
		t.Errorf("%+v", b.Stuck)
	}
}

func TestAConversionUnderWayHasNoCauses(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At = day("2026-10-16")
	b, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	if b.Stuck != nil {
		t.Errorf("%+v with states %+v", b.Stuck, b.State)
	}
}

// A try is worth its days only if the wine is worth more than they cost per chance won.
func TestTryBreaksEven(t *testing.T) {
	t.Parallel()
	b, err := Malo(still(t, func(f *Facts) { v := quantity.Celsius(12); f.Temperature = &v }))
	if err != nil || b.Stuck == nil {
		t.Fatal(err, b.State)
	}
	for i, try := range b.Stuck.Tries {
		if i > 1 && try.Gain > b.Stuck.Tries[i-1].Gain {
			t.Error("not the most helpful first")
		}
		if try.BreakEven == 0 {
			continue
		}
		if pays := try.BreakEven*try.Gain - try.Days; pays < -1 || pays > 1 {
			t.Errorf("%+v does not break even", try)
		}
	}
}

// Bacteria added to a stopped wine bring their own cells and lag, and can stop too.
func TestAddedBacteria(t *testing.T) {
	t.Parallel()
	in := still(t, nil)
	wins := func(how malolactic.Inoculation) float64 {
		p := sample(&in)
		n := 0.0
		for _, f := range p.follow(change{inoculate: &how}, 1) {
			if f.finish <= float64(p.season.now+trying) {
				n++
			}
		}
		return n / float64(len(p.fates))
	}
	if err := in.settle(); err != nil {
		t.Fatal(err)
	}
	starter, native := wins(malolactic.Starter), wins(malolactic.Native)
	if !(starter > native+0.1) {
		t.Errorf("over in %d days: starter %.2f, native %.2f", trying, starter, native)
	}
	if starter > 0.95 {
		t.Errorf("a starter in a wine that stopped for no known reason finishes with %.2f: its own stops are forgotten", starter)
	}

	// Logged, and still standing a month later: it stopped again.
	in = still(t, nil, "2026-12-11,inoculate,starter", "2027-01-15,malic,1.9", "2027-01-15,chromatogram,strong", "2027-02-10,malic,1.9")
	at := func(on string) State {
		in.At = day(on)
		b, err := Malo(in)
		if err != nil {
			t.Fatal(err)
		}
		return b.State
	}
	soon, late := at("2026-12-21"), at("2027-02-11")
	if late.Stalled < soon.Stalled+0.2 || late.Stalled < late.Active || late.Stalled < late.Lagging {
		t.Errorf("nothing moved for two months after bacteria were added: %+v, ten days after they were %+v", late, soon)
	}
}
