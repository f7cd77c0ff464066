package track

import (
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
)

// sixty is an invented parcel of sixty readings over ten weeks.
func sixty(t testing.TB) Input {
	in := carboy(t)
	in.Readings = nil
	start := day("2026-10-01")
	for i := 0; i < 15; i++ {
		on := start.AddDate(0, 0, 4+5*i)
		gone := 1.8 / (1 + 40*math.Exp(-0.12*float64(4+5*i)))
		add := func(w What, v float64) {
			in.Readings = append(in.Readings, Reading{On: on, What: w, Value: v, Text: fmt.Sprintf("%.2f", v)})
		}
		add(PH, 3.45+0.045*gone+0.02*float64(i%3-1))
		add(TA, 6.4-0.56*gone+0.1*float64(i%4-2)/2)
		add(Temperature, 19+float64(i%3))
		add(Bubble, 120+300/(0.05+gone*(1.8-gone)))
	}
	in.At = start.AddDate(0, 0, 75)
	return in
}

func BenchmarkBelief60Readings(b *testing.B) {
	in := sixty(b)
	b.ReportAllocs()
	for i := 0; i < b.N; i++ {
		if _, err := Malo(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBrief60Readings(b *testing.B) {
	in := sixty(b)
	in.Options.Brief = true
	for i := 0; i < b.N; i++ {
		if _, err := Malo(in); err != nil {
			b.Fatal(err)
		}
	}
}

// One of three siblings of sixty readings each.
func BenchmarkTwoSiblings(b *testing.B) {
	in := sixty(b)
	for i := range 2 {
		s := Sibling{Name: fmt.Sprint(i), Facts: in.Facts, Parted: day("2026-10-20"), Shared: upTo(in.Readings, day("2026-10-20"))}
		s.Own = append(s.Own, in.Readings[len(s.Shared):]...)
		in.Siblings = append(in.Siblings, s)
	}
	for b.Loop() {
		if _, err := Malo(in); err != nil {
			b.Fatal(err)
		}
	}
}

// A cellar of forty lots, each of sixty readings, on as many cores as the run has
// (-cpu 2 for the aim of docs/inference.md).
func BenchmarkFortyLots(b *testing.B) {
	lots := make([]Input, 40)
	for i := range lots {
		lots[i] = sixty(b)
		lots[i].At = lots[i].At.AddDate(0, 0, -i)
		lots[i].Options.Seed = uint64(i + 1)
	}
	for b.Loop() {
		var next atomic.Int64
		var wg sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				for i := next.Add(1) - 1; i < int64(len(lots)); i = next.Add(1) - 1 {
					if _, err := Malo(lots[i]); err != nil {
						b.Error(err)
					}
				}
			})
		}
		wg.Wait()
	}
}
