package track

import (
	"math"
	"math/rand/v2"
	"testing"

	"elevage/science/bayes"
)

// withSibling adds to a random parcel a sibling with a plan of its own: parted in
// mid-course, or apart all along.
func withSibling(rng *rand.Rand) Input {
	in := rankInput(rng)
	start, last := *in.Facts.Inoculated, int(in.At.Sub(*in.Facts.Inoculated).Hours()/24)
	s := Sibling{Name: "b", Facts: in.Facts}
	from := 0
	if rng.Float64() < 0.6 {
		from = 5 + rng.IntN(last-8)
		s.Parted = start.AddDate(0, 0, from)
		for _, r := range in.Readings {
			if !r.On.After(s.Parted) {
				s.Shared = append(s.Shared, r)
			}
		}
	}
	s.Own = rankRows(rng, start, from, last, *in.Facts.PH)
	in.Siblings = []Sibling{s}
	return in
}

// Ranks of the truth with a sibling read beside it (Talts et al. 2018), on worlds
// drawn from the model itself; and over the same worlds, 90 % intervals hold the
// truth nine times in ten and are narrower than the parcel's own readings alone allow.
func TestSiblingsUnderTheModel(t *testing.T) {
	if testing.Short() {
		t.Skip("a study")
	}
	t.Parallel()
	names := []string{"malic acid now", "initial malic acid", "work done", "rate now", "day of the end", "stop (z)", "half-saturation", "lot factor"}
	const draws = 99
	ranks := make([][]int, len(names))
	rng := rand.New(rand.NewPCG(24, 9))
	var with, alone bayes.Coverage
	var wide, narrow float64
	for run := range *rankRuns {
		in := withSibling(rng)
		if err := in.settle(); err != nil {
			t.Fatal(err)
		}
		in.Options.Faults.Outlier, in.Options.Faults.LockTemper = 0, 1
		in.Options.Seed = uint64(run + 1)
		truth := rankStats(invent(&in, rng), 0)
		p := sample(&in)
		got := make([][]float64, len(names))
		for _, i := range rng.Perm(len(p.fates))[:draws] {
			for k, v := range rankStats(p, i) {
				got[k] = append(got[k], v)
			}
		}
		for k := range names {
			ranks[k] = append(ranks[k], bayes.Rank(got[k], truth[k]))
		}
		interval := func(p *posterior, c *bayes.Coverage) float64 {
			s := spread[float64](nowOf(p.fates), 6)
			c.Add(s.Q05, s.Q95, truth[0])
			return s.Q95 - s.Q05
		}
		narrow += interval(p, &with)
		in.Siblings = nil
		wide += interval(sample(&in), &alone)
	}
	for k, name := range names {
		if r := bayes.TestRanks(ranks[k], draws, 20, 0.01/float64(len(names)), 7); !r.Uniform() {
			t.Errorf("%s: ranks leave the band: %.2f over %.2f, histogram %v", name, r.Worst, r.Limit, r.Histogram)
		}
	}
	n := float64(*rankRuns)
	t.Logf("90 %% intervals of malic acid: with a sibling %.3f g/L wide, holding %.2f; alone %.3f, %.2f", narrow/n, with.Share(), wide/n, alone.Share())
	if slack := 3 * math.Sqrt(0.09/n); math.Abs(with.Share()-0.9) > slack {
		t.Errorf("with a sibling 90 %% intervals hold %.2f", with.Share())
	}
	if narrow >= wide {
		t.Errorf("with a sibling the interval is no narrower: %.3f against %.3f g/L", narrow/n, wide/n)
	}
}

// A sibling that is the parcel over again, with nothing of its own, changes nothing.
func TestSharedReadingsAreNotCountedTwice(t *testing.T) {
	t.Parallel()
	in := carboy(t)
	in.At, in.Options.Brief = day("2026-11-05"), true
	before, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	in.Siblings = []Sibling{{Name: "b", Facts: in.Facts, Parted: day("2026-11-05"), Shared: in.Readings}}
	after, err := Malo(in)
	if err != nil {
		t.Fatal(err)
	}
	if before.Malic != after.Malic || before.PFinished != after.PFinished {
		t.Errorf("%+v became %+v", before.Malic, after.Malic)
	}
}

// What a sibling shows counts, and less so the longer they have been apart.
func TestASiblingsAssayCounts(t *testing.T) {
	t.Parallel()
	at := day("2026-11-05")
	ask := func(parted string) Belief {
		in := carboy(t)
		in.At, in.Options.Brief = at, true
		in.Readings = upTo(in.Readings, day("2026-10-20"))
		if parted != "" {
			s := Sibling{Name: "b", Facts: in.Facts, Shared: in.Readings}
			for i := range 3 {
				s.Own = append(s.Own, Reading{On: at.AddDate(0, 0, -2+i), What: Malic, Value: 0.6, Text: "0.6"})
			}
			if parted != "apart" {
				s.Parted = day(parted)
			}
			in.Siblings = []Sibling{s}
		}
		b, err := Malo(in)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	width := func(b Belief) float64 { return float64(b.Malic.Q95 - b.Malic.Q05) }
	alone, late, apart := ask(""), ask("2026-11-03"), ask("apart")
	if !(width(late) < width(apart) && width(apart) < width(alone)) {
		t.Errorf("widths: just parted %.2f, apart all along %.2f, alone %.2f g/L", width(late), width(apart), width(alone))
	}
	if late.Malic.Q50 < 0.45 || late.Malic.Q50 > 0.75 {
		t.Errorf("parted two days ago from wine that reads 0.6 g/L three times: %+v", late.Malic)
	}
}
