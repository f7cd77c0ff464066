package desk

import (
	"context"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/gather"
	"elevage/internal/track/primary"
	"elevage/science/malolactic"
)

// progress counts the beliefs of the round under way.
type progress struct{ done, of atomic.Int64 }

// Ready says whether a first round of beliefs is done.
func (d *Desk) Ready() bool { return d.ready.Load() }

// Working tells how many beliefs of the round under way are done; of is 0 when nothing is.
func (d *Desk) Working() (done, of int) {
	return int(d.progress.done.Load()), int(d.progress.of.Load())
}

// lineUp finds every parcel that lasts, in the order of a walk.
func (v *View) lineUp() {
	for _, vessel := range v.State.Vessels {
		if p := vessel.Holds; p != nil {
			s := &Standing{Parcel: p, Lot: v.State.Lot(p.Lot), Vessel: vessel}
			v.Standings = append(v.Standings, s)
			v.byParcel[p.ID] = s
		}
	}
	sort.SliceStable(v.Standings, func(i, j int) bool { return before(v.Standings[i].Vessel, v.Standings[j].Vessel) })
}

// believe computes what is not known yet of every standing.
func (d *Desk) believe(ctx context.Context, v *View) error {
	d.malo.turn()
	d.so2.turn()
	d.must.turn()
	d.suit.turn()
	d.slow.turn()
	d.progress.done.Store(0)
	d.progress.of.Store(int64(len(v.Standings)))
	defer d.progress.of.Store(0)
	work := make(chan *Standing)
	var wg sync.WaitGroup
	for range min(d.opts.Workers, max(1, len(v.Standings))) {
		wg.Go(func() {
			for s := range work {
				d.stand(v, s)
				d.progress.done.Add(1)
			}
		})
	}
	err := feed(ctx, work, v.Standings)
	wg.Wait()
	return err
}

func feed(ctx context.Context, work chan<- *Standing, standings []*Standing) error {
	defer close(work)
	for _, s := range standings {
		select {
		case work <- s:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

// before is the order of a walk: by the place in it, then by place and name.
func before(a, b *cellar.Vessel) bool {
	if a.Walk != b.Walk {
		return a.Walk < b.Walk
	}
	if a.Place != b.Place {
		return a.Place < b.Place
	}
	return a.Slug < b.Slug
}

// stand computes the beliefs about one parcel. A belief that cannot be had is
// told in words next to the parcel; it stops nothing else.
func (d *Desk) stand(v *View, s *Standing) {
	if in, sources, ok := gather.Malolactic(v.State, s.Parcel, v.Now, d.opinion(v)); ok {
		s.Sources = sources
		b, err := d.converts(v, in)
		if err != nil {
			s.MaloTrouble = err.Error()
		} else {
			s.Malo = b
		}
	}
	if f, ok := gather.BeforeBacteria(v.State, s.Parcel, v.Now); ok {
		o, err := d.foresees(f, malolactic.Direct)
		if err != nil {
			s.MaloTrouble = err.Error()
		} else {
			s.Outlook = o
		}
		if alone, err := d.foresees(f, malolactic.Native); err == nil { // else the one above says why not
			s.Alone = &alone.Outlook
		}
	}
	if in, ok := gather.Primary(v.State, s.Parcel, v.Now); ok {
		b, err := remember(d.must, in, func() (*primary.Belief, error) {
			b, err := primary.Believe(in)
			return &b, err
		})
		if err != nil {
			s.PrimaryTrouble = err.Error()
		} else {
			s.Primary = b
		}
		if err == nil && b.Sticks >= mayStick {
			if slow, err := remember(d.slow, in, func() (*primary.Diagnosis, error) {
				g, err := primary.Diagnose(in)
				return &g, err
			}); err != nil {
				s.PrimaryTrouble = err.Error()
			} else {
				s.Slow = slow
			}
		}
	}
	if in, ok := gather.Sulfur(v.State, s.Parcel, v.Now); ok {
		b, err := remember(d.so2, in, func() (*ageing.Belief, error) {
			b, err := ageing.Believe(in)
			return &b, err
		})
		if err != nil {
			s.SO2Trouble = err.Error()
		} else {
			s.SO2 = b
		}
	}
}

// foresees is what is to be expected of a wine if bacteria went in today, in a way.
func (d *Desk) foresees(f track.Facts, how malolactic.Inoculation) (*track.Suitability, error) {
	type asked struct {
		Facts track.Facts
		How   malolactic.Inoculation
	}
	return remember(d.suit, asked{f, how}, func() (*track.Suitability, error) {
		o, err := track.Suit(f, how)
		return &o, err
	})
}

// converts is the belief about a conversion, judged by the person's own prices.
func (d *Desk) converts(v *View, in track.Input) (*track.Belief, error) {
	in.Options.Particles = d.opts.Particles
	in.Options.Tests, in.Options.Costs = v.Prices.Options()
	return remember(d.malo, in, func() (*track.Belief, error) {
		b, err := track.Malo(in)
		return &b, err
	})
}

// opinion is what was believed of a wine before it was poured together with another.
func (d *Desk) opinion(v *View) gather.Opinion {
	var of gather.Opinion
	of = func(p *cellar.Parcel, at time.Time) *track.Belief {
		in, _, ok := gather.Malolactic(v.State, p, at, of)
		if !ok {
			return nil
		}
		b, err := d.converts(v, in)
		if err != nil { // what was read of it last stands
			return nil
		}
		return b
	}
	return of
}

// mayStick is the chance of not coming dry from which the causes are worth showing.
const mayStick = 0.2

// remember takes a belief from the shelf or computes it and puts it there.
func remember[T any](s *shelf[T], input any, compute func() (T, error)) (T, error) {
	k, err := keyOf(input)
	if err != nil {
		var none T
		return none, err
	}
	if v, ok := s.get(k); ok {
		return v, nil
	}
	v, err := compute()
	if err == nil {
		s.put(k, v)
	}
	return v, err
}
