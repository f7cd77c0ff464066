package cellar

import (
	"fmt"
	"math"
	"slices"
)

// A flow is any entry that moves wine: a movement, a press, a bottling.
type flow struct {
	how     string
	lot     string // of wine from outside
	becomes string // lot of all destinations; "" as found
	from    []Portion
	to      []Portion
	losses  []Loss
	rest    string // where the remainder of the sources goes; "" it stays
	form    string // of what arrives; "" as it was
	stage   *stage // of what arrives; nil as it was
	count   int    // of bottles that arrive
	outside bool   // it was in no vessel before
}

// draw is what one source gives.
type draw struct {
	vessel   vessel
	held     *contents // before; nil if the vessel was empty
	memory   *memory
	want     float64 // L; NaN until it is known
	variance float64
	all      bool // the source is empty afterwards
	emptied  bool // it was emptied
}

func (d *draw) available() float64 {
	if d.held == nil {
		return 0
	}
	return d.held.volume
}

func (d *draw) fruit() bool { return d.held != nil && d.held.parcel.Form == FormFruit }

// in is what one destination gets.
type in struct {
	portion  Portion
	vessel   vessel
	volume   float64 // L; NaN until it is known
	variance float64
}

// loss is wine that leaves by a door.
type loss struct {
	door   string
	volume float64
}

// settled is a flow with every volume known.
type settled struct {
	draws   []draw
	ins     []in
	losses  []loss  // what leaves the cellar's wine, by which door
	gained  float64 // more went in than came out: from nowhere
	arrives float64 // sum over ins
}

// settle finds the volumes that an entry leaves open, and says what does not add
// up. One source without a volume gives what went elsewhere; one destination
// without gets what is left; several share, which is a finding.
func (s *step) settle(w *flow) settled {
	set := settled{draws: s.draws(w)}
	into, intoVar, open := s.destinations(w, &set)
	lost := s.losses(w, &set)
	if len(w.from) == 0 {
		set.dropOpen(s, open)
		set.sum()
		return set
	}
	out := s.settleDraws(w, set.draws, into+lost, open > 0 || len(set.ins) == 0 && lost == 0)
	rest := out - into - lost
	switch {
	case open > 0:
		set.share(s, open, max(0, rest), intoVar)
		if rest < -2*sqrt(outVariance(set.draws)+intoVar)-dust {
			s.unbalanced(out, into, lost)
		}
		set.gained = max(0, -rest)
	case len(set.ins) == 0 && w.rest == "":
		set.leave(DoorRemoval, rest)
		set.gained = max(0, -rest)
	case w.rest != "" && rest > 0:
		set.leave(w.rest, rest)
	default:
		if math.Abs(rest) > 2*sqrt(outVariance(set.draws)+intoVar)+dust {
			s.unbalanced(out, into, lost)
		}
		set.leave(LossUnknown, rest)
		set.gained = max(0, -rest)
	}
	set.sum()
	return set
}

func (s *settled) leave(door string, volume float64) {
	if volume > 0 {
		s.losses = append(s.losses, loss{door, volume})
	}
}

// evaporates is what part of all that is drawn evaporates.
func (s *settled) evaporates() float64 {
	var drawn, gone float64
	for i := range s.draws {
		drawn += s.draws[i].want
	}
	for _, l := range s.losses {
		if l.door == LossEvaporation {
			gone += l.volume
		}
	}
	if drawn <= 0 {
		return 0
	}
	return clampShare(gone / drawn)
}

func (s *settled) sum() {
	for _, i := range s.ins {
		s.arrives += i.volume
	}
}

func (s *step) unbalanced(out, into, lost float64) {
	s.find(s.r, FoundUnbalanced, fmt.Sprintf("%s L came out, %s L went in and %s L was lost: %s L is not accounted for",
		figure(out), figure(into), figure(lost), figure(math.Abs(out-into-lost))))
}

func (s *step) draws(w *flow) []draw {
	draws := make([]draw, 0, len(w.from))
	for _, p := range w.from {
		v := s.vessel(p.Vessel)
		d := draw{vessel: v, held: v.holds(), memory: v.state().memory, want: math.NaN(), all: p.All}
		if q, variance, ok := s.volume(p.Volume, "the volume from "+v.Slug); ok {
			d.want, d.variance = q, variance
		}
		// One vessel may be named twice, by an earlier name.
		if k := slices.IndexFunc(draws, func(o draw) bool { return o.vessel == v }); k >= 0 {
			draws[k].want += d.want
			draws[k].variance += d.variance
			draws[k].all = draws[k].all || d.all
			continue
		}
		draws = append(draws, d)
	}
	return draws
}

// volume reads a volume if one is written; one that cannot be read is a finding.
func (s *step) volume(m *Measure, what string) (v, variance float64, ok bool) {
	if m.IsZero() {
		return 0, 0, false
	}
	v, variance, err := volumeOf(m, unstatedSpread)
	if err != nil || v < 0 {
		says := what + ": a volume is not less than nothing"
		if err != nil {
			says = what + ": " + err.Error()
		}
		s.find(s.r, FoundBadFigure, says)
		return 0, 0, false
	}
	return v, variance, true
}

func (s *step) destinations(w *flow, set *settled) (into, variance float64, open int) {
	set.ins = make([]in, 0, len(w.to))
	for _, p := range w.to {
		i := in{portion: p, vessel: s.vessel(p.Vessel), volume: math.NaN()}
		if v, vv, ok := s.volume(p.Volume, "the volume into "+p.Vessel); ok {
			i.volume, i.variance = v, vv
			into, variance = into+v, variance+vv
		} else {
			open++
		}
		set.ins = append(set.ins, i)
	}
	return into, variance, open
}

func (s *step) losses(w *flow, set *settled) (lost float64) {
	for _, l := range w.losses {
		if v, _, ok := s.volume(l.Volume, "the loss to "+l.Kind); ok {
			set.leave(l.Kind, v)
			lost += v
		}
	}
	return lost
}

// share gives destinations without a volume what is left over.
func (s *settled) share(st *step, open int, rest, intoVar float64) {
	each := rest / float64(open)
	variance := outVariance(s.draws) + intoVar
	if open > 1 {
		st.find(st.r, FoundMissingVolume, fmt.Sprintf("it is not written how much went into each of %d vessels: %s L is shared out evenly", open, figure(rest)))
		variance += math.Pow(each/2, 2) // an even share is a guess
	}
	for k := range s.ins {
		if math.IsNaN(s.ins[k].volume) {
			s.ins[k].volume, s.ins[k].variance = each, variance
		}
	}
}

// dropOpen counts nothing for wine from outside of which it is not written how much it was.
func (s *settled) dropOpen(st *step, open int) {
	if open == 0 {
		return
	}
	st.find(st.r, FoundMissingVolume, "it is not written how much came from outside: nothing is counted")
	kept := s.ins[:0]
	for _, i := range s.ins {
		if !math.IsNaN(i.volume) {
			kept = append(kept, i)
		}
	}
	s.ins = kept
}

// settleDraws finds how much each source gives, and returns the sum. needed is
// what is known to have gone elsewhere; with openEnd that is not all.
func (s *step) settleDraws(w *flow, draws []draw, needed float64, openEnd bool) (out float64) {
	var open []*draw
	for i := range draws {
		d := &draws[i]
		stated := !math.IsNaN(d.want)
		switch {
		case d.fruit(): // it has no volume of its own to be drained
			if !stated {
				open = append(open, d)
				continue
			}
		case d.all || w.rest != "" && (len(w.to) > 0 || !stated) || !stated && openEnd:
			s.drain(w, d)
		case !stated:
			open = append(open, d)
			continue
		}
		out += d.want
	}
	if len(open) == 0 {
		return out
	}
	missing := max(0, needed-out)
	var held, variance float64
	for _, d := range open {
		held += d.available()
		if d.held != nil {
			variance += d.held.variance
		}
	}
	// As much as they all held, to within its ±: each was emptied.
	emptied := held > 0 && len(open) > 1 && math.Abs(missing-held) <= 2*sqrt(variance)+dust
	if len(open) > 1 && !emptied {
		s.find(s.r, FoundMissingVolume, fmt.Sprintf("it is not written how much came from each of %d vessels: %s L is shared by what they held", len(open), figure(missing)))
	}
	for _, d := range open {
		share := 1 / float64(len(open))
		if held > 0 {
			share = d.available() / held
		}
		d.want = missing * share
		d.variance = math.Pow(unstatedSpread*d.want, 2)
		d.all = d.all || emptied
		out += d.want
	}
	return out
}

// drain empties a source. A volume that was measured as it came out is worth more
// than the record's figure, unless the entry says where the remainder went.
func (s *step) drain(w *flow, d *draw) {
	stated := !math.IsNaN(d.want)
	if d.held != nil && stated && d.all && w.rest == "" {
		s.reanchor(d.held, d.want)
		d.held = d.held.reanchored(d.want, d.variance)
	}
	if d.held == nil {
		if !stated {
			d.want = 0
		}
		d.all = true
		return
	}
	d.want, d.variance, d.all = d.held.volume, d.held.variance, true
}

func outVariance(draws []draw) (sum float64) {
	for i := range draws {
		sum += draws[i].variance
	}
	return sum
}
