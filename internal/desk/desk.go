// Package desk keeps what lies on a winemaker's desk: the state of the cellar,
// the belief about every parcel and what is due, all as of one moment. Pages,
// the API and the command line read from the same desk, so that they show the
// same figures.
//
//	d := desk.New(book, "home", desk.Options{})
//	v, err := d.View(ctx, time.Now())
//	v.Plan.Acts            // what is due, soon or waiting
//	v.Of(parcel.ID).Malo   // the belief about a parcel
//
// Beliefs are functions of what was entered and of the day. They are kept until
// either changes, and only those that changed are computed anew.
package desk

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/fill"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/primary"
	"elevage/science/malolactic"
)

// Entries is what a desk needs of a ledger.
type Entries interface {
	// After returns the entries of a cellar in the order in which they arrived,
	// leaving out the first n.
	After(ctx context.Context, cellar string, n int) ([]cellar.Entry, error)
}

// Options shape a desk.
type Options struct {
	Workers   int // beliefs computed at a time; 0: one for each processor
	Particles int // of the malolactic belief; 0: its default
	Zone      *time.Location
	Protocols *advise.Library // nil: the built-in ones
	Prefs     advise.Prefs
	// Shown is the plan that was shown last, before this desk was set up; its
	// Windows are enough. nil: none.
	Shown *advise.Today
}

// A Desk is safe for use by many at once.
type Desk struct {
	entries Entries
	cellar  string
	opts    Options

	mu    sync.Mutex // held while the book is brought up to date
	book  *cellar.Book
	read  int // entries of the ledger that are in the book
	state *cellar.State
	as    time.Time // the moment that state is as of
	news  news

	rounds sync.Mutex // held for a round of beliefs, which takes longer
	view   *View
	topper *fill.Topper  // of the state that it was made for
	tops   *cellar.State // that state
	malo   *shelf[*track.Belief]
	so2    *shelf[*ageing.Belief]
	must   *shelf[*primary.Belief]
	suit   *shelf[*track.Suitability]
	slow   *shelf[*primary.Diagnosis]

	progress progress
	ready    atomic.Bool
}

// New sets up a desk for one cellar of a ledger.
func New(entries Entries, cellarKey string, opts Options) *Desk {
	if opts.Workers == 0 {
		opts.Workers = runtime.GOMAXPROCS(0)
	}
	if opts.Zone == nil {
		opts.Zone = time.UTC
	}
	return &Desk{entries: entries, cellar: cellarKey, opts: opts, book: cellar.NewBook(time.Time{}), malo: newShelf[*track.Belief](), so2: newShelf[*ageing.Belief](), must: newShelf[*primary.Belief](), suit: newShelf[*track.Suitability](), slow: newShelf[*primary.Diagnosis]()}
}

// A Standing is one parcel that lies in the cellar now, with what is believed of it.
type Standing struct {
	Parcel *cellar.Parcel
	Lot    *cellar.Lot
	Vessel *cellar.Vessel

	// Malo is the belief about malolactic conversion, nil where none is wanted
	// or none has begun. MaloTrouble says why there is none although it was asked for.
	Malo        *track.Belief
	MaloTrouble string
	// Sources are the entries behind Malo's readings: its Line n is Sources[n-1].
	Sources []cellar.ID

	// Outlook is what is to be expected before bacteria go in, nil once they have; Alone
	// is the same if none are given and it is left to start by itself.
	Outlook *track.Suitability
	Alone   *malolactic.Outlook

	// Primary is the belief about primary fermentation, nil for what is dry or was
	// never must here.
	Primary        *primary.Belief
	PrimaryTrouble string

	// Slow is what holds a primary fermentation back, nil while it is likely to come dry.
	Slow *primary.Diagnosis

	// SO2 is the belief about sulfur dioxide, nil where none was added or measured.
	SO2        *ageing.Belief
	SO2Trouble string
}

// A View is everything as of one moment. It is not to be changed.
type View struct {
	Now       time.Time
	State     *cellar.State
	Standings []*Standing // in the order of a walk through the cellar
	Plan      advise.Today
	Prices    Prices // by which tests and "finished" are judged

	byParcel map[cellar.ParcelID]*Standing
}

// Of is the standing of a parcel, nil if it no longer lasts.
func (v *View) Of(id cellar.ParcelID) *Standing { return v.byParcel[id] }

// Conversions are the beliefs about malolactic conversion, by parcel; none of a Look.
func (v *View) Conversions() map[cellar.ParcelID]*track.Belief {
	out := map[cellar.ParcelID]*track.Belief{}
	for _, s := range v.Standings {
		if s.Malo != nil {
			out[s.Parcel.ID] = s.Malo
		}
	}
	return out
}

// OfLot are the standings of a lot.
func (v *View) OfLot(lot *cellar.Lot) []*Standing {
	var out []*Standing
	for _, s := range v.Standings {
		if s.Lot == lot {
			out = append(out, s)
		}
	}
	return out
}

// View brings the desk up to date and returns what lies on it. It waits for
// beliefs that have to be computed; Working tells how far that has come.
func (d *Desk) View(ctx context.Context, now time.Time) (*View, error) {
	d.rounds.Lock()
	defer d.rounds.Unlock()
	v, err := d.Look(ctx, now)
	if err != nil {
		return nil, err
	}
	if d.view != nil && d.view.State == v.State && d.view.Now.Equal(v.Now) {
		return d.view, nil
	}
	if err := d.believe(ctx, v); err != nil {
		return nil, err
	}
	if err := d.plan(v); err != nil {
		return nil, err
	}
	d.view = v
	d.ready.Store(true)
	return v, nil
}

// Look is a View without beliefs and plan, and waits for neither: enough to
// understand what somebody logs, and to say it back.
func (d *Desk) Look(ctx context.Context, now time.Time) (*View, error) {
	// To the end of the minute: what was logged in it has happened.
	now = now.In(d.opts.Zone).Truncate(time.Minute).Add(time.Minute - time.Millisecond)
	state, err := d.stateAt(ctx, now)
	if err != nil {
		return nil, err
	}
	v := &View{Now: now, State: state, Prices: PricesOf(state), byParcel: map[cellar.ParcelID]*Standing{}}
	v.lineUp()
	return v, nil
}

// stateAt reads what is new in the ledger. Within a day the same entries give the
// same state.
func (d *Desk) stateAt(ctx context.Context, now time.Time) (*cellar.State, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	fresh, err := d.entries.After(ctx, d.cellar, d.read)
	if err != nil {
		return nil, err
	}
	if len(fresh) == 0 && d.state != nil && sameDay(d.as, now) {
		return d.state, nil
	}
	if len(fresh) > 0 {
		change := d.book.Apply(fresh...)
		if d.read > 0 { // what the first reading of a ledger brings up is nobody's news
			d.news.add(change)
		}
		d.read += len(fresh)
	}
	d.book.SetNow(now)
	d.state, d.as = d.book.State(), now
	return d.state, nil
}

// plan works out what is due. The plan that was shown last is handed on, so that
// a date moves only when something was learned.
func (d *Desk) plan(v *View) (err error) {
	in := d.PlanInput(v)
	in.Previous = d.opts.Shown
	if d.tops != v.State {
		d.topper, d.tops = fill.NewTopper(v.State, v.Conversions(), v.Now), v.State
	}
	in.Topper = d.topper
	if d.view != nil {
		in.Previous = &d.view.Plan
	}
	v.Plan, err = advise.Plan(in)
	if v.Plan.Acts == nil {
		v.Plan.Acts = []advise.Act{} // a program that reads the plan finds an empty list, not null
	}
	return err
}

// PlanInput is what the plan of a view is made of.
func (d *Desk) PlanInput(v *View) advise.Input {
	in := advise.Input{State: v.State, Now: v.Now, Protocols: d.opts.Protocols, Prefs: d.opts.Prefs,
		Beliefs: v.Conversions(), Ageing: map[cellar.ParcelID]*ageing.Belief{},
		Primary: map[cellar.ParcelID]*primary.Belief{}}
	for _, s := range v.Standings {
		if s.Primary != nil {
			in.Primary[s.Parcel.ID] = s.Primary
		}
		if s.SO2 != nil {
			in.Ageing[s.Parcel.ID] = s.SO2
		}
	}
	return in
}

// sameDay says whether nothing that depends on the clock can have changed but
// the age of figures: entries of the future are found by the day.
func sameDay(a, b time.Time) bool {
	ay, am, ad := a.Date()
	by, bm, bd := b.Date()
	return ay == by && am == bm && ad == bd
}
