package advise

import (
	"fmt"
	"sort"
	"strings"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// toppingRise is the total SO2 that topping may bring into a converting wine. Total
// SO2 is workable for bacteria up to 30 to 40 mg/L (AWRI); 3 mg/L leaves that room
// alone. A proposal.
const toppingRise = 3 * quantity.MilligramPerLitre

// room is the air above the wine beyond what is usually left; 0 if the size is not known.
func (s *subject) room() quantity.Volume {
	room, ok := s.vessel.Ullage()
	if !ok {
		return 0
	}
	if gap, _, err := s.vessel.Headgap.Volume(); err == nil {
		room -= gap
	}
	return max(0, room)
}

// toppingLimit is the total SO2 that a topping wine may have here: for a converting
// wine what raises it by toppingRise, from
//
//	ΔSO2 = V_top · total / V_lot
//
// and none for a wine whose bacteria are done or not wanted.
func (s *subject) toppingLimit() (limit quantity.Concentration, limited bool) {
	if s.parcel == nil || !s.converting() || s.room() <= 0 || s.parcel.Volume <= 0 {
		return 0, false
	}
	return quantity.Concentration(float64(toppingRise) * float64(s.parcel.Volume) / float64(s.room())), true
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
// or a test that found 10 mg/L free and more.
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
// words: the same colour, sound, and as far along in malic acid and sulfur dioxide
// as this wine needs.
func (s *subject) candidates() string {
	type candidate struct {
		words string
		rank  float64
	}
	limit, limited := s.toppingLimit()
	var found []candidate
	for _, o := range s.plan.all {
		if o.scope != OfParcel || o.parcel == s.parcel || o.lot.Colour != s.lot.Colour || o.parcel.Form != cellar.FormWine || o.fermenting() {
			continue
		}
		if o.life.sick.After(o.life.sound) || len(o.life.faults) > 0 || o.parcel.Volume < s.room() {
			continue
		}
		if !limited && o.converting() { // unfinished malic acid would come along
			continue
		}
		words, rank := o.vessel.Slug+" ("+o.lot.Title(), 0.0
		if o.lot != s.lot {
			rank++
		}
		if limited {
			total, known := o.totalSO2()
			if !known || total > limit {
				continue
			}
			if o.life.last(cellar.ReadTotalSO2) != nil {
				words += fmt.Sprintf(", total SO2 %.0f mg/L", total.MgPerL())
			} else {
				words += fmt.Sprintf(", %.0f mg/L SO2 added on record", total.MgPerL())
			}
		}
		if s.vessel.Type == "barrel" && o.vessel.Type != "barrel" {
			rank -= 0.5 // a full barrel is not opened to fill another
		}
		found = append(found, candidate{words + ")", rank + float64(o.parcel.Volume)/1e4})
	}
	if len(found) == 0 {
		return ""
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].rank < found[j].rank })
	var out []string
	for _, f := range found[:min(3, len(found))] {
		out = append(out, f.words)
	}
	return strings.Join(out, ", ")
}

// totalSO2 is what was measured last, or else what was added.
func (s *subject) totalSO2() (quantity.Concentration, bool) {
	if k := s.life.last(cellar.ReadTotalSO2); k != nil && !s.life.sulfited.After(k.at) {
		return quantity.Concentration(k.value), true
	}
	if s.parcel.Volume <= 0 || s.life.crushed.IsZero() && s.life.sulfited.IsZero() {
		return 0, false // wine from outside brings what nobody wrote down
	}
	return s.parcel.Amount(cellar.SubstanceSO2).Per(s.parcel.Volume), true
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
