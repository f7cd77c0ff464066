package advise

import (
	"math"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// A look is one reading, in the base unit of what it reads.
type look struct {
	at     time.Time
	value  float64
	plus   float64 // stated ±, 0 if none
	below  bool    // the result was "under value"
	word   string
	method string
	rec    *cellar.Record
}

// A life is what happened to the wine of one parcel, here and in the vessels it
// came from, as far as conditions ask for it.
type life struct {
	looks map[string][]look // by what was read, in time; control samples left out

	began, fruit, crushed, pressed, pitched    time.Time
	bacteria, racked, topped, stirred, capped  time.Time
	sulfited, sulfitedFirst, nutrient, fined   time.Time
	acid, oakIn, oakOut, filtered, chilled     time.Time
	tasted, control, dipped, warmed            time.Time
	copper, blended, bacteriaFirst             time.Time
	together                                   time.Time // several wines were put together into this one
	primaryStarted, dry, mlStarted, mlFinished time.Time
	mlStuck, mlGivenUp, sick, sound            time.Time
	opened                                     time.Time

	lastDose quantity.Concentration // of SO2, per litre of the wine it went into

	rot       float64              // share of rotten clusters, highest that was written
	warmFruit quantity.Temperature // highest temperature of the fruit
	// finishedShare is the part of the wine whose malolactic fermentation was
	// declared finished, by the parcels in which it was.
	finishedShare float64
	finishedBy    map[cellar.ParcelID]float64

	alive       bool // a culture was given to some of the wine, however little
	nutrients   int
	doses       int // of sulfur dioxide
	setTo       *quantity.Temperature
	bacteriaHow string
	faults      []string
	done        map[string]tick // by step
	newest      *cellar.Record  // the last entry that tells something of the wine
	entries     int
	learned     []*cellar.Record // in the order in which they were written
}

// A tick is the last word on a planned act.
type tick struct {
	at      time.Time
	skipped bool
	words   string
	count   int
}

// majority is the share of a wine from which on what happened to a part of it is
// taken to have happened to the wine. A proposal.
const majority = 0.5

// trace is the share from which on an addition to a part is an addition to the wine.
// A proposal.
const trace = 0.1

// newLife reads the history of a parcel.
func newLife(s *cellar.State, p *cellar.Parcel) *life {
	l := &life{looks: map[string][]look{}, finishedBy: map[cellar.ParcelID]float64{}, done: map[string]tick{}, began: p.Began}
	if lot := s.Lot(p.Lot); lot != nil {
		for _, r := range lot.Records {
			if b, ok := r.Body.(cellar.FruitReceived); ok && r.Counts() {
				l.fruitIn(b, r.At)
			}
		}
	}
	for _, h := range s.History(p.ID) {
		if !h.Counts() {
			continue
		}
		l.entries++
		l.learned = append(l.learned, h.Record)
		l.newest = h.Record
		if h.Share >= majority {
			l.majority(h, s, p)
		}
		if _, culture := h.Body.(cellar.Inoculation); culture {
			l.alive = true // a drop of a culture is a culture
		}
		if v, ok := h.Body.(cellar.Verdict); ok && v.Says == cellar.VerdictMalolacticFinished && h.Share >= trace {
			if l.finishedBy[h.Parcel] == 0 {
				l.finishedShare += h.Share
			}
			l.finishedBy[h.Parcel], l.mlFinished = h.Share, h.At
		}
		if h.Share >= trace {
			l.part(h, s.Parcel(h.Parcel))
		}
	}
	return l
}

// majority takes what must have happened to most of the wine to count for it.
func (l *life) majority(h cellar.Happening, s *cellar.State, p *cellar.Parcel) {
	at := h.At
	switch b := h.Body.(type) {
	case cellar.Reading:
		if !b.Control {
			l.read(b, h.Record)
		}
	case cellar.FruitReceived:
		l.fruitIn(b, at)
	case cellar.Crush:
		l.crushed = at
	case cellar.Press:
		l.pressed = at
	case cellar.Movement:
		l.moved(b, h, s, p)
	case cellar.Inoculation:
		if b.Of == "primary" {
			l.pitched = at
			break
		}
		if l.bacteriaFirst.IsZero() {
			l.bacteriaFirst = at
		}
		l.bacteria, l.bacteriaHow = at, b.How
	case cellar.Stirring:
		if b.What == "" || b.What == "lees" {
			l.stirred = at
		} else {
			l.capped = at
		}
	case cellar.Warmth:
		if t, err := b.Set.Temperature(); err == nil {
			l.warmed, l.setTo = at, &t
		}
	case cellar.Treatment:
		l.treated(b, at)
	case cellar.Verdict:
		l.verdict(b, at)
	case cellar.Tasting:
		l.tasted, l.faults = at, b.Faults
	case cellar.Opened:
		l.opened = at
	case cellar.Dip:
		l.dipped = at
	case cellar.ControlKept:
		l.control = at
	case cellar.Done:
		step := stepOf(b.Task)
		l.done[step] = tick{at: at, skipped: b.Skipped, words: b.Words, count: l.done[step].count + 1}
	}
}

// part takes what counts when it happened to a part of the wine.
func (l *life) part(h cellar.Happening, where *cellar.Parcel) {
	b, ok := h.Body.(cellar.Addition)
	if !ok {
		return
	}
	product, _ := cellar.LookupProduct(b.Product)
	purpose := b.Purpose
	if purpose == "" && product != nil {
		purpose = product.Purpose
	}
	switch {
	case b.BringsSO2():
		if l.sulfitedFirst.IsZero() {
			l.sulfitedFirst = h.At
		}
		l.sulfited = h.At
		l.doses++
		if v, _ := where.VolumeAt(h.At); v > 0 {
			if m, err := b.SO2(v); err == nil {
				l.lastDose = m.Per(v)
			}
		}
	case b.Product == "copper-sulfate":
		l.copper, l.fined = h.At, h.At
	case purpose == "nutrient":
		l.nutrient = h.At
		l.nutrients++
	case purpose == "fining":
		l.fined = h.At
	case purpose == "acid" || purpose == "deacidify":
		l.acid = h.At
	case purpose == "oak":
		l.oakIn = h.At
	}
}

// moved tells a racking from a topping: a movement that began a parcel brought its
// wine there, one that joins wine in a vessel tops it up.
func (l *life) moved(b cellar.Movement, h cellar.Happening, s *cellar.State, p *cellar.Parcel) {
	where := s.Parcel(h.Parcel)
	began := where != nil && where.Start == h.Entry.ID
	if began && (b.How == "blending" || len(b.From) > 1) {
		l.together = h.At
	}
	switch {
	case began && b.How == "blending":
		l.blended = h.At
	case began && len(b.From) > 0:
		l.racked = h.At
	case !began && h.Parcel == p.ID && len(b.To) > 0 && slices.ContainsFunc(b.To, func(to cellar.Portion) bool { return to.Vessel == p.Vessel }):
		l.topped = h.At
	}
}

func (l *life) fruitIn(b cellar.FruitReceived, at time.Time) {
	l.fruit = at
	if rot, err := b.RotPct.Fraction(); err == nil {
		l.rot = max(l.rot, rot)
	}
	if t, err := b.Warmth.Temperature(); err == nil {
		l.warmFruit = max(l.warmFruit, t)
	}
}

func (l *life) treated(b cellar.Treatment, at time.Time) {
	switch b.What {
	case "filtration":
		l.filtered = at
	case "chilling":
		l.chilled = at
	case "oak-in":
		l.oakIn = at
	case "oak-out":
		l.oakOut = at
	case "topping-gas":
		l.topped = at
	}
}

func (l *life) verdict(b cellar.Verdict, at time.Time) {
	switch b.Says {
	case cellar.VerdictPrimaryStarted:
		l.primaryStarted = at
	case cellar.VerdictDry:
		l.dry = at
	case cellar.VerdictMalolacticStarted:
		l.mlStarted = at
	case cellar.VerdictMalolacticStuck:
		l.mlStuck = at
	case cellar.VerdictMalolacticGivenUp:
		l.mlGivenUp = at
	case cellar.VerdictSick:
		l.sick = at
	case cellar.VerdictSound:
		l.sound = at
	}
}

// read keeps a reading that can be understood; one that cannot is the cellar's
// finding, not ours.
func (l *life) read(b cellar.Reading, rec *cellar.Record) {
	r, ok := cellar.LookupReadable(b.What)
	if !ok || b.Value.IsZero() {
		return
	}
	k := look{at: rec.At, method: b.Method, rec: rec, below: b.Value.Bound() == "<"}
	if len(r.Words) > 0 {
		k.word = b.Value.Value
	} else if v, plus, err := baseValue(r, b.Value); err == nil {
		k.value, k.plus = v, plus
	} else {
		return
	}
	l.looks[b.What] = append(l.looks[b.What], k)
}

// baseValue is a reading in the base unit of what it reads: g/L, °C, % vol, SG.
func baseValue(r *cellar.Readable, m *cellar.Measure) (v, plus float64, err error) {
	switch r.Dims[0] {
	case cellar.Concentration:
		c, s, err := m.Concentration()
		return float64(c), float64(s), err
	case cellar.Temperature:
		t, err := m.Temperature()
		return float64(t), 0, err
	case cellar.Strength:
		a, err := m.Strength()
		return float64(a), 0, err
	case cellar.Gravity:
		sg, err := m.Gravity()
		return float64(sg), 0, err
	}
	v, err = m.Number()
	if err == nil && m.Spread != "" {
		if s, bad := cellar.ParseNumber(m.Spread); bad == nil {
			plus = s
		}
	}
	return v, plus, err
}

func (l *life) last(what string) *look {
	ks := l.looks[what]
	if len(ks) == 0 {
		return nil
	}
	return &ks[len(ks)-1]
}

// before is the last reading that is at least so long before the last one.
func (l *life) before(what string, gap time.Duration) *look {
	ks := l.looks[what]
	if len(ks) < 2 {
		return nil
	}
	limit := ks[len(ks)-1].at.Add(-gap)
	for i := len(ks) - 2; i >= 0; i-- {
		if !ks[i].at.After(limit) {
			return &ks[i]
		}
	}
	return nil
}

func (l *life) readOn(what string, in *time.Location) measure {
	if k := l.last(what); k != nil {
		return on(k.at, in)
	}
	return never
}

// flat is for how long the last reading has not moved by more than the step.
func (l *life) flat(what string, step float64) time.Duration {
	ks := l.looks[what]
	if len(ks) < 2 {
		return 0
	}
	end := ks[len(ks)-1]
	since := end.at
	for i := len(ks) - 2; i >= 0 && math.Abs(ks[i].value-end.value) <= step+1e-9; i-- {
		since = ks[i].at
	}
	return end.at.Sub(since)
}

// stepOf is the step of a task's key: what stands before the first stroke.
func stepOf(task string) string {
	step, _, _ := strings.Cut(task, "/")
	return step
}
