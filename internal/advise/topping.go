package advise

import (
	"fmt"
	"strings"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/fill"
	"elevage/science/quantity"
)

// room is what the vessel lacks to be full, 0 if its size is not known; and air is what
// stands above its wine.
func (s *subject) room() quantity.Volume {
	room, _ := fill.Room(s.vessel)
	return room
}

func (s *subject) air() quantity.Volume {
	air, _ := fill.Air(s.vessel)
	return air
}

// toppingLimit is the total SO2 that a topping wine may have here; none for a wine
// whose bacteria are done or not wanted.
func (s *subject) toppingLimit() (limit quantity.Concentration, limited bool) {
	if s.parcel == nil {
		return 0, false
	}
	return s.plan.topper.MostSO2(s.vessel.Slug, s.room())
}

// converting says whether bacteria are at work, or wanted and not yet given.
func (s *subject) converting() bool {
	c, wanted := s.conversion(), s.wanted()
	return !c.over && !c.givenUp && (c.started || wanted != nil && *wanted)
}

// settled says whether neither yeast nor bacteria are wanted here any more.
func (s *subject) settled() bool {
	if s.parcel.Form != cellar.FormWine && s.parcel.Form != cellar.FormBottle {
		return false
	}
	c, wanted, dry := s.conversion(), s.wanted(), s.dry()
	return c.over || c.givenUp || wanted != nil && !*wanted && dry != nil && *dry
}

// protected says whether a settled wine had sulfur dioxide since it settled: a dose,
// or a test that found 10 mg/L free and more (a proposal).
func (s *subject) protected() bool {
	if !s.settled() {
		return false
	}
	since := s.life.pressed
	if c := s.conversion(); c.over {
		since = c.finished
	} else if c.givenUp {
		since = s.life.mlGivenUp
	} else if s.life.dry.After(since) {
		since = s.life.dry
	}
	if s.life.sulfited.After(since) {
		return true
	}
	k := s.life.last(cellar.ReadFreeSO2)
	return k != nil && k.at.After(since) && k.value >= 0.010
}

// candidates are the wines of this cellar that may top this one up, best first, in
// words with what is to be minded: those that package fill finds nothing against.
func (s *subject) candidates() string {
	const most = 3
	var out []string
	for _, t := range s.plan.topper.For(s.vessel.Slug, s.room()) {
		if !t.OK || len(out) == most {
			break // those that may stand first
		}
		words := t.From.Slug + " (" + s.plan.State.Lot(t.Wine.Lot).Title()
		if says := t.Says(); says != "" {
			words += ": " + says
		}
		out = append(out, words+")")
	}
	return strings.Join(out, ", ")
}

func toppingWords() []word {
	return []word{
		{name: "topping.candidates", typ: tText, of: OfParcel, means: "wines of the cellar that may top this one up, best first; empty if none fits", get: func(s *subject) ref.Val { return text(s.candidates()) }},
		{name: "topping.max_total", typ: celTypes[concentration], of: OfParcel, means: "total SO2 that a topping wine may have so that it brings at most 3 mg/L; unknown where there is no such limit", get: func(s *subject) ref.Val {
			if limit, ok := s.toppingLimit(); ok {
				return measure{kind: concentration, v: float64(limit), unit: "mg/L"}
			}
			return nil
		}},
		{name: "topping.rule", typ: tText, of: OfParcel, means: "with which wine, in a sentence", get: func(s *subject) ref.Val { return text(s.toppingRule()) }},
		{name: "malolactic.settled", typ: tBool, of: OfParcel, means: "whether nothing is to come of it any more: over, given up, or not wanted in a wine shown to be dry", get: func(s *subject) ref.Val { return yes(s.settled()) }},
		{name: "wine.protected", typ: tBool, of: OfParcel, means: "whether its fermentations are settled and sulfur dioxide was added, or found, since", get: func(s *subject) ref.Val { return yes(s.protected()) }},
		{name: "malolactic.under_way", typ: tBool, of: OfParcel, means: "whether bacteria are at work, or wanted and not yet given, and not shown to be done", get: func(s *subject) ref.Val { return yes(s.converting()) }},
	}
}

func (s *subject) toppingRule() string {
	var b strings.Builder
	if limit, ok := s.toppingLimit(); ok {
		fmt.Fprintf(&b, "Bacteria are at work or to come: top only with wine of at most %.0f mg/L total SO2. ", limit.MgPerL())
	} else {
		b.WriteString("Top only with sound wine whose malic acid is gone or as settled as this one's. ")
	}
	if c := s.candidates(); c != "" {
		b.WriteString("In the cellar: " + c + ".")
	} else {
		b.WriteString("No wine in the cellar is known to fit: a smaller vessel, glass beads, or gas that is renewed at each opening.")
	}
	return b.String()
}
