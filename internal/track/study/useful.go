package study

import (
	"fmt"
	"io"
	"math"
	"sync"

	"elevage/internal/track"
)

// A Policy decides, looking weekly, what to read and when to call a lot finished.
type Policy struct {
	Name string
	Play func(l *Lot, particles int) Outcome
}

// An Outcome is what a policy came to on one lot.
type Outcome struct {
	Called  int     // day called finished, −1 for never
	Stalled int     // day treated as stalled, −1 for never
	Tests   float64 // money
	Minutes float64
}

// A Bill is the cost of a policy over lots, in the money of track.DefaultCosts.
type Bill struct {
	Policy                                   string
	Lots, False, Late                        int
	Tests, Minutes, Wrong, Unprotected, Lost float64
}

// Total is all of it per lot.
func (b Bill) Total() float64 {
	return (b.Tests + b.Minutes + b.Wrong + b.Unprotected + b.Lost) / float64(b.Lots)
}

// Policies are the advice, the rules used by hand, fixed sheets, and an oracle that
// sees the malic acid at each weekly look and pays nothing.
var Policies = []Policy{
	{"the advice, from weekly pH", func(l *Lot, particles int) Outcome { return playAdvice(l, particles, track.PH) }},
	{"the advice alone, nothing read unless advised", func(l *Lot, particles int) Outcome { return playAdvice(l, particles) }},
	{"a sheet every week from day 21 until clear", playWeeklySheet},
	{"six weeks", func(*Lot, int) Outcome { return Outcome{42, -1, 0, 0} }},
	{"pH flat for two weeks", playFlat},
	{"oracle", func(l *Lot, _ int) Outcome {
		o := Outcome{-1, -1, 0, 0}
		for d := 7; d <= span; d += 7 {
			if o.Called < 0 && l.Malic[d] < 0.1 {
				o.Called = d
			}
			if o.Stalled < 0 && l.Stall >= 0 && d >= l.Stall {
				o.Stalled = d
			}
		}
		return o
	}},
}

// playAdvice looks weekly, and on the day that a test is advised for, and makes it on that
// day; besides, only the temperature and what is named are read as they come.
func playAdvice(l *Lot, particles int, weekly ...track.What) Outcome {
	o := Outcome{-1, -1, 0, 0}
	has := map[track.What]bool{track.Temperature: true}
	for _, w := range weekly {
		has[w] = true
	}
	readings := Set{Has: has}.Pick(l.Readings)
	ask := func(d int) track.Belief {
		b, err := track.Malo(track.Input{Facts: l.Facts, Readings: readings, At: Start.AddDate(0, 0, d),
			Options: track.Options{Particles: particles}})
		if err != nil {
			panic(err) // the world makes no input that cannot be judged
		}
		return b
	}
	watched := append([]track.Reading(nil), readings...)
	for last, d := 0, 7; d <= span; {
		o.Minutes += phMinutes(watched, last, d)
		b := ask(d)
		if n := b.NextTest; n.On != nil && dayOf(n.On) <= float64(d) {
			if r := l.Read(track.What(n.What), d); r.What != "" {
				readings = append(readings, r)
				for _, t := range n.Options {
					if t.What == n.What {
						o.Tests, o.Minutes = o.Tests+t.Cost, o.Minutes+t.Minutes
					}
				}
				b = ask(d)
			}
		}
		switch {
		case b.Decision.Call == track.CallFinished:
			o.Called = d
			return o
		case b.Decision.Call == track.CallStalled && o.Stalled < 0:
			o.Stalled = d
			return o
		}
		last, d = d, d/7*7+7
		if n := b.NextTest; n.On != nil {
			d = min(d, max(last+1, int(dayOf(n.On))))
		}
	}
	return o
}

// phMinutes are spent on reading pH from one day to another; nobody reads on once a
// lot is called.
func phMinutes(readings []track.Reading, after, until int) float64 {
	minutes := 0.0
	for _, r := range readings {
		if d := int(r.On.Sub(Start).Hours() / 24); r.What == track.PH && d > after && d <= until {
			minutes += 10
		}
	}
	return minutes
}

func playWeeklySheet(l *Lot, _ int) Outcome {
	o := Outcome{-1, -1, 0, 0}
	for d := 21; d <= span; d += 7 {
		o.Tests, o.Minutes = o.Tests+1, o.Minutes+30
		if l.Read(track.Chromatogram, d).Text == track.SpotNone {
			o.Called = d
			return o
		}
		if d >= 84 && o.Stalled < 0 { // nine sheets with a spot: something is done about it
			o.Stalled = d
			return o
		}
	}
	return o
}

func playFlat(l *Lot, _ int) Outcome {
	readings := Set{Has: map[track.What]bool{track.PH: true}}.Pick(l.Readings)
	o := Outcome{-1, -1, 0, 0}
	for d := 7; d <= span; d += 7 {
		o.Minutes += phMinutes(readings, d-7, d)
		if _, done := rules(l, readings, d); done[1] {
			o.Called = d
			return o
		}
	}
	return o
}

func (b *Bill) add(l *Lot, o Outcome) {
	c := track.DefaultCosts()
	b.Lots++
	b.Tests += o.Tests
	b.Minutes += c.Minute * o.Minutes
	end := span
	switch {
	case o.Called >= 0:
		end = o.Called
		if m := l.Malic[o.Called]; m >= 0.1 {
			b.Wrong += c.FalseFinished * math.Min(1, m/float64(track.Trace))
			if m > float64(track.Trace) {
				b.False++
			}
		}
	case o.Stalled >= 0:
		end = o.Stalled
	}
	if l.Finish >= 0 && l.Finish < end {
		b.Unprotected += c.UnprotectedDay * float64(end-l.Finish)
		if end-l.Finish > 21 {
			b.Late++
		}
	}
	if l.Stall >= 0 && l.Finish < 0 && l.Stall < end {
		b.Lost += c.LostDay * float64(end-l.Stall)
	}
}

// Useful plays every policy on n lots.
func Useful(first, n, particles, cores int) []*Bill {
	bills := make([]*Bill, len(Policies))
	for i, p := range Policies {
		bills[i] = &Bill{Policy: p.Name}
	}
	var mu sync.Mutex
	var wg sync.WaitGroup
	next := make(chan uint64)
	for range cores {
		wg.Go(func() {
			for seed := range next {
				for i, p := range Policies {
					l := NewLot(seed) // anew, so that no policy's readings disturb another's
					o := p.Play(l, particles)
					mu.Lock()
					bills[i].add(l, o)
					mu.Unlock()
				}
			}
		})
	}
	for seed := first; seed < first+n; seed++ {
		next <- uint64(seed)
	}
	close(next)
	wg.Wait()
	return bills
}

// PrintBills writes the table.
func PrintBills(w io.Writer, bills []*Bill) {
	c := track.DefaultCosts()
	fmt.Fprintf(w, "Prices: a false end %g (in proportion below 0.25 g/L), a finished day unprotected %g, a stalled day unseen %g, a minute %g; a sheet 1 and 30 minutes, a strip 8 and 30 minutes, a pH reading 10 minutes. All are assumptions. From cost to stalls unseen the columns are costs a lot.\n\n", c.FalseFinished, c.UnprotectedDay, c.LostDay, c.Minute)
	fmt.Fprintf(w, "| policy | lots | cost a lot | tests | minutes | false ends | unprotected | stalls unseen | called with over 0.25 g/L | over three weeks late |\n|---|---|---|---|---|---|---|---|---|---|\n")
	for _, b := range bills {
		n := float64(b.Lots)
		fmt.Fprintf(w, "| %s | %d | %.1f | %.1f | %.1f | %.1f | %.1f | %.1f | %d | %d |\n", b.Policy, b.Lots, b.Total(), b.Tests/n, b.Minutes/n, b.Wrong/n, b.Unprotected/n, b.Lost/n, b.False, b.Late)
	}
}
