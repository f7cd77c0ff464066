package fill

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/track"
	"elevage/internal/track/gather"
	"elevage/science/quantity"
)

// A Topping is a wine that could fill a vessel's room.
type Topping struct {
	From   *cellar.Vessel
	Wine   compose.Wine
	Litres quantity.Volume // what it would give: the room, or all there is
	// Judgements are the reasons, those against it first.
	Judgements []Judgement
	OK         bool // nothing speaks against it

	rank float64
}

// A Judgement is one reason for or against.
type Judgement struct {
	About string // "SO2", "malic acid", "sugar", "style", "year", "health", "room"
	OK    bool
	Says  string
}

// Thresholds of a judgement. These are choices of this program, no facts about wine:
// what they lead to is shown in figures beside them.
const (
	mostRise    = 3 * quantity.MilligramPerLitre // of total SO2 in a wine that is to convert
	mostMalic   = 0.05 * quantity.GramPerLitre   // brought into a wine that is done with it
	malicGone   = 0.1 * quantity.GramPerLitre    // the usual limit of "over", common practice, no source
	mostSugar   = 0.2 * quantity.GramPerLitre    // brought into a dry wine
	mostVA      = 0.02 * quantity.GramPerLitre   // rise of volatile acidity
	labelShare  = 0.10                           // of another wine, from which labels may mind; common practice, no source
	leastLitres = 0.05 * quantity.Litre
)

// A Topper judges which wine may top which, as of one moment. What the wines are made
// of is worked out once, when it is first asked for.
type Topper struct {
	state   *cellar.State
	now     time.Time
	beliefs map[cellar.ParcelID]*track.Belief
	wines   map[cellar.ParcelID]compose.Wine
	stands  []*cellar.Vessel // that hold wine, in the order of the walk
	tales   map[cellar.ParcelID]tale
}

// A tale is what a wine's history says of it, read once.
type tale struct {
	over bool   // its conversion is over or given up, by a person's word or a belief's decision
	sick string // why it passes for sick; "" if it does not
}

// NewTopper is for a cellar as of a moment, with what is believed of conversions:
// a wine that a belief decides to call finished passes for finished.
func NewTopper(s *cellar.State, beliefs map[cellar.ParcelID]*track.Belief, now time.Time) *Topper {
	return &Topper{state: s, beliefs: beliefs, now: now}
}

// Toppings are the wines that could fill what a vessel lacks, best first. It is nil
// if the vessel lacks nothing or holds no wine.
func Toppings(s *cellar.State, beliefs map[cellar.ParcelID]*track.Belief, vessel string, now time.Time) []Topping {
	t := NewTopper(s, beliefs, now)
	v := s.Vessel(vessel)
	if v == nil {
		return nil
	}
	return t.For(vessel, condition(v, now).Room)
}

// For are the wines that could fill a room above the wine in a vessel, best first:
// nil where there is no room to speak of, or no wine.
func (t *Topper) For(vessel string, room quantity.Volume) []Topping {
	into, ok := t.wineIn(vessel)
	if !ok || room < leastLitres {
		return nil
	}
	v := t.state.Vessel(vessel)
	var out []Topping
	for _, o := range t.stands {
		if o == v {
			continue
		}
		j := judge{s: t.state, told: t, into: into, vessel: v, room: room, from: t.wines[o.Holds.ID], source: o}
		out = append(out, j.all())
	}
	slices.SortStableFunc(out, func(a, b Topping) int {
		if a.OK != b.OK {
			if a.OK {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.From.Slug, b.From.Slug))
	})
	return out
}

// MostSO2 is the total SO2 that a wine may have which fills a room above a converting
// one, so that it raises the total by no more than mostRise:
//
//	S_top = S_lot + rise · (V_top + V_lot) / V_top
//
// where S_lot counts for nothing if it was never read and no dose is on record. It is false where the wine is not to convert any more.
func (t *Topper) MostSO2(vessel string, room quantity.Volume) (quantity.Concentration, bool) {
	into, ok := t.wineIn(vessel)
	if !ok || room <= 0 {
		return 0, false
	}
	j := judge{s: t.state, told: t, into: into, vessel: t.state.Vessel(vessel), room: room}
	if !j.converting(&into) {
		return 0, false
	}
	return least(into.TotalSO2) + quantity.Concentration(float64(mostRise)*float64((room+into.Volume.Value)/room)), true
}

func (t *Topper) wineIn(vessel string) (compose.Wine, bool) {
	if t.wines == nil {
		t.workOut()
	}
	v := t.state.Vessel(vessel)
	if v == nil || v.Holds == nil {
		return compose.Wine{}, false
	}
	w, ok := t.wines[v.Holds.ID]
	return w, ok
}

func (t *Topper) workOut() {
	t.wines = map[cellar.ParcelID]compose.Wine{}
	var ids []cellar.ParcelID
	for _, v := range t.state.Vessels {
		if !v.Bottles && v.Holds != nil && v.Holds.Form == cellar.FormWine && v.Holds.At(t.now).Volume > 0 {
			ids, t.stands = append(ids, v.Holds.ID), append(t.stands, v)
		}
	}
	wines, err := compose.AllBelieving(t.state, ids, t.now, gather.Courses(t.beliefs, t.now.Location()))
	if err != nil { // a parcel that is there now and held nothing now cannot be
		t.stands = nil
		return
	}
	for i, id := range ids {
		t.wines[id] = wines[i]
	}
}

// tale reads a wine's history.
func (t *Topper) tale(id cellar.ParcelID) tale {
	if told, ok := t.tales[id]; ok {
		return told
	}
	var out tale
	for _, h := range t.state.History(id) {
		if !h.Counts() {
			continue
		}
		switch b := h.Body.(type) {
		case cellar.Verdict:
			switch b.Says {
			case cellar.VerdictSick:
				out.sick = "it was declared sick"
			case cellar.VerdictSound:
				out.sick = ""
			case cellar.VerdictMalolacticFinished, cellar.VerdictMalolacticGivenUp:
				out.over = out.over || h.Share >= 0.5
			case cellar.VerdictMalolacticStarted, cellar.VerdictMalolacticStuck:
				out.over = out.over && h.Share < 0.5
			}
		case cellar.Tasting:
			out.sick = ""
			if len(b.Faults) > 0 {
				out.sick = "a fault was tasted in it: " + b.Faults[0]
			}
		}
	}
	if b := t.beliefs[id]; b != nil && b.Decision.Call == track.CallFinished {
		out.over = true
	}
	if t.tales == nil {
		t.tales = map[cellar.ParcelID]tale{}
	}
	t.tales[id] = out
	return out
}

// judge holds one wine against another.
type judge struct {
	s              *cellar.State
	told           *Topper
	vessel, source *cellar.Vessel
	into, from     compose.Wine
	room           quantity.Volume
	t              Topping
	share          float64
}

func (j *judge) say(about string, ok bool, format string, args ...any) {
	j.t.Judgements = append(j.t.Judgements, Judgement{about, ok, fmt.Sprintf(format, args...)})
}

func (j *judge) all() Topping {
	litres := min(j.room, j.from.Volume.Value)
	j.t = Topping{From: j.source, Wine: j.from, Litres: litres, OK: true}
	j.share = float64(litres / (litres + j.into.Volume.Value))
	j.sulfur()
	j.malic()
	j.sugar()
	j.health()
	j.style()
	j.roomLeft()
	slices.SortStableFunc(j.t.Judgements, func(a, b Judgement) int {
		switch {
		case a.OK == b.OK:
			return 0
		case b.OK:
			return -1
		}
		return 1
	})
	for _, g := range j.t.Judgements {
		j.t.OK = j.t.OK && g.OK
	}
	return j.t
}

// rise is by how much the topping moves a concentration.
func (j *judge) rise(from, into compose.Figure[quantity.Concentration]) quantity.Concentration {
	return quantity.Concentration(j.share * float64(from.Value-into.Value))
}

// converting says whether a wine's conversion is wanted and not over.
func (j *judge) converting(w *compose.Wine) bool {
	lot := j.s.Lot(w.Lot)
	if j.s.Wish(lot) != cellar.MalolacticWanted {
		return false
	}
	return !j.told.tale(w.Parcel).over
}

// least is the total SO2 of a wine as it can be counted on: none, where nobody read it
// or wrote down a dose.
func least(f compose.Figure[quantity.Concentration]) quantity.Concentration {
	if f.How == compose.Assumed {
		return 0
	}
	return f.Value
}

// sulfur: ΔSO2 = V_top (SO2_top − SO2_lot) / (V_top + V_lot).
func (j *judge) sulfur() {
	into := j.into.TotalSO2
	into.Value = least(into)
	rise := j.rise(j.from.TotalSO2, into)
	switch {
	case !j.converting(&j.into):
		if j.from.TotalSO2.How == compose.Assumed {
			j.say("SO2", true, "its SO2 was never read: read it first")
			j.t.rank += 0.3
		}
	case j.from.TotalSO2.How == compose.Assumed:
		j.say("SO2", false, "%s is still to convert, and the SO2 of this wine was never read", j.vessel.Slug)
	case rise > mostRise:
		j.say("SO2", false, "%s is still to convert: its total SO2 would rise by %.0f mg/L (%.0f mg/L here)", j.vessel.Slug, rise.MgPerL(), j.from.TotalSO2.Value.MgPerL())
	case rise <= 0:
		j.say("SO2", true, "does not raise the total SO2")
	default:
		j.say("SO2", true, "raises the total SO2 by %.1f mg/L", rise.MgPerL())
	}
}

func (j *judge) malic() {
	if j.converting(&j.into) {
		j.say("malic acid", true, "%s is still to convert: malic acid does no harm", j.vessel.Slug)
		return
	}
	into := j.s.Lot(j.into.Lot)
	wanted := j.s.Wish(into) == cellar.MalolacticWanted
	rise := j.rise(j.from.Malic, j.into.Malic)
	switch {
	case !wanted: // it was kept from converting, or nobody decided
	case j.from.Malic.How == compose.Assumed:
		j.say("malic acid", false, "%s is done converting, and the malic acid of this wine was never read", j.vessel.Slug)
	case rise > mostMalic:
		j.say("malic acid", false, "%s is done converting: it would get %.2f g/L of malic acid back", j.vessel.Slug, rise.GPerL())
	case j.converting(&j.from): // however little of it: bacteria at work come along
		j.say("malic acid", false, "%s is done converting, and this wine's own conversion is not known to be over", j.vessel.Slug)
	case j.from.Malic.Value > malicGone:
		j.say("malic acid", true, "brings back %.2f g/L of malic acid, no more", max(0, rise.GPerL()))
	default:
		j.say("malic acid", true, "its malic acid is gone too")
	}
}

func (j *judge) sugar() {
	if rise := j.rise(j.from.Sugar, j.into.Sugar); j.from.Sugar.How != compose.Assumed && rise > mostSugar {
		j.say("sugar", false, "it would bring %.1f g/L of sugar that may ferment", rise.GPerL())
	}
}

// health: sound wine only, and no more volatile acidity.
func (j *judge) health() {
	if rise := j.rise(j.from.VA, j.into.VA); j.from.VA.How != compose.Assumed && rise > mostVA {
		j.say("health", false, "volatile acidity would rise by %.2f g/L", rise.GPerL())
	}
	sick := j.told.tale(j.from.Parcel).sick
	if sick != "" {
		j.say("health", false, "%s", sick)
	}
}

// style: the same wine, or one like it and no younger.
func (j *judge) style() {
	a, b := j.s.Lot(j.into.Lot), j.s.Lot(j.from.Lot)
	if a == nil || b == nil {
		return
	}
	if a == b {
		j.say("style", true, "the same lot")
		return
	}
	j.t.rank++
	switch {
	case a.Colour != "" && b.Colour != "" && a.Colour != b.Colour:
		j.say("style", false, "%s into %s", b.Colour, a.Colour)
	case a.Variety != "" && a.Variety == b.Variety:
		j.say("style", true, "the same variety")
		j.t.rank -= 0.3
	}
	if j.share > labelShare {
		j.say("style", true, "%.0f %% of the wine would be %s: labels may mind", 100*j.share, b.Title())
		j.t.rank += 0.2
	}
	switch {
	case a.Vintage == 0 || b.Vintage == 0:
	case b.Vintage > a.Vintage:
		j.say("year", true, "younger by %s: the same or an older wine is usual", years(b.Vintage-a.Vintage))
		j.t.rank += 0.3
	case b.Vintage < a.Vintage:
		j.say("year", true, "older by %s", years(a.Vintage-b.Vintage))
	}
}

// roomLeft: what the wine that is taken leaves behind.
func (j *judge) roomLeft() {
	left := j.from.Volume.Value - j.t.Litres
	switch size := j.source.Capacity(); {
	case j.t.Litres < j.room-leastLitres:
		j.say("room", true, "fills %.1f of the %.1f L", j.t.Litres.Litres(), j.room.Litres())
		j.t.rank += 0.5
	case left < leastLitres:
		j.say("room", true, "is used up by it")
		j.t.rank -= 0.2
	case size > 0 && j.source.Type == "jug":
		j.t.rank -= 0.1 // kept for this
	default:
		j.say("room", true, "leaves %s with %.1f L", j.source.Slug, left.Litres())
		j.t.rank += 0.4
	}
}

// Says is the first reason in words: why not, or what is to be minded.
func (t *Topping) Says() string {
	for _, g := range t.Judgements {
		if g.About == "SO2" || !g.OK {
			return g.Says
		}
	}
	if len(t.Judgements) > 0 {
		return t.Judgements[0].Says
	}
	return ""
}

func years(n int) string {
	if n == 1 {
		return "1 year"
	}
	return fmt.Sprintf("%d years", n)
}
