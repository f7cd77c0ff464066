package track

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"elevage/science/bayes"
	"elevage/science/quantity"
)

// What calibration can promise by stage, and what it cannot. In worlds of the model
// itself 90 % intervals hold nine truths in ten over all parcels. Picked by the stage
// that the truth is in, which nobody sees, they hold the rare and extreme less often (a stop that
// looks like an end) and the common more often; no belief that is right on the whole
// does otherwise. The table is what a belief of this model could reach at best
// in another world.
func TestStagesUnderTheModel(t *testing.T) {
	if testing.Short() {
		t.Skip("a study")
	}
	t.Parallel()
	stages := []string{"lag", "bulk", "tail", "finished", "stalled"}
	var table strings.Builder
	for _, set := range []struct {
		name string
		has  []What
	}{
		{"pH", []What{PH, PHCheck7, PHControl}},
		{"pH+TA", []What{PH, PHCheck7, PHControl, TA}},
		{"pH+airlock", []What{PH, PHCheck7, PHControl, Bubble}},
		{"all", []What{PH, PHCheck7, PHControl, TA, Bubble, Chromatogram, Malic}},
	} {
		rng := rand.New(rand.NewPCG(8, 8))
		var all bayes.Coverage
		held := map[string]*bayes.Coverage{}
		for _, s := range stages {
			held[s] = &bayes.Coverage{}
		}
		for run := range *rankRuns {
			in := rankInput(rng)
			in.Readings = slices.DeleteFunc(in.Readings, func(r Reading) bool { return !slices.Contains(set.has, r.What) })
			if err := in.settle(); err != nil {
				t.Fatal(err)
			}
			in.Options.Faults.Outlier, in.Options.Faults.LockTemper = 0, 1
			in.Options.Seed, in.Options.Particles = uint64(run+1), 400
			truth := invent(&in, rng)
			now := outward(spread[quantity.Concentration](nowOf(sample(&in).fates), 6))
			for _, c := range []*bayes.Coverage{&all, held[truth.stage()]} {
				c.Add(float64(now.Q05), float64(now.Q95), truth.fates[0].now)
			}
		}
		fmt.Fprintf(&table, "| %s | %.2f |", set.name, all.Share())
		for _, s := range stages {
			fmt.Fprintf(&table, " %.2f of %d |", held[s].Share(), held[s].Total)
		}
		table.WriteString("\n")
		// outward rounds the ends away from the middle, so only too few is a fault.
		if slack := 3 * math.Sqrt(0.09/float64(*rankRuns)); all.Share() < 0.9-slack {
			t.Errorf("%s: 90 %% intervals hold %.2f", set.name, all.Share())
		}
	}
	t.Log("\n" + table.String())
	if *rankOut != "" {
		text := fmt.Sprintf("# What calibration can promise by stage\n\nWorlds of the model itself, %d parcels a set of readings: how often the 90 %% interval of malic acid held the truth, over all and by the stage that the truth was in. Made by\n\n"+
			"    go test ./internal/track -run TestStagesUnderTheModel -ranks %d -ranks-out \"$PWD/docs/studies\"\n\n"+
			"| readings | over all | %s |\n|---|---|%s\n%s", *rankRuns, *rankRuns, strings.Join(stages, " | "), strings.Repeat("---|", len(stages)), table.String())
		if err := os.WriteFile(filepath.Join(*rankOut, "stages.md"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// stage of a truth, as the studies of other worlds name it.
func (p *posterior) stage() string {
	f := &p.fates[0]
	switch {
	case f.now < float64(p.in.Options.Limit):
		return "finished"
	case f.stall <= float64(p.season.now):
		return "stalled"
	case f.m0-f.now < 0.1:
		return "lag"
	case f.now < 0.5:
		return "tail"
	}
	return "bulk"
}
