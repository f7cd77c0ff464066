package cellar

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"elevage/science/quantity"
)

// A Warning is said before an entry is kept.
type Warning struct {
	Code string
	Says string // a sentence with the figures of this case
	// Stop holds the entry back until it is overruled in words that are kept. Ask holds
	// it back until it is said again, all the same: it cannot be true by what was written
	// so far, and becomes true if something is still to be written. Otherwise it is only
	// said.
	Stop, Ask bool
	// Vessel is the one that the record knows too little wine in, or too much.
	Vessel string
}

// Warnings are what was found by Weigh.
type Warnings []Warning

// Stops are those that hold the entry back.
func (w Warnings) Stops() []Warning {
	var out []Warning
	for _, one := range w {
		if one.Stop {
			out = append(out, one)
		}
	}
	return out
}

// Held are those that hold the entry back, be it for words or for a word.
func (w Warnings) Held() []Warning {
	var out []Warning
	for _, one := range w {
		if one.Stop || one.Ask {
			out = append(out, one)
		}
	}
	return out
}

func (w *Warnings) ask(code, vessel, format string, args ...any) {
	*w = append(*w, Warning{Code: code, Vessel: vessel, Says: fmt.Sprintf(format, args...), Ask: true})
}

func (w *Warnings) stop(code, format string, args ...any) {
	*w = append(*w, Warning{Code: code, Says: fmt.Sprintf(format, args...), Stop: true})
}

func (w *Warnings) say(code, format string, args ...any) {
	*w = append(*w, Warning{Code: code, Says: fmt.Sprintf(format, args...)})
}

// The codes of warnings.
const (
	WarnTenTimes      = "ten-times-usual"
	WarnOverLimit     = "over-the-legal-limit"
	WarnSO2Early      = "so2-before-malolactic-end"
	WarnSO2Must       = "so2-in-must"
	WarnSorbate       = "sorbate-with-bacteria"
	WarnLysozyme      = "lysozyme-with-bacteria"
	WarnCitric        = "citric-before-malolactic"
	WarnUnlikely      = "unlikely-reading"
	WarnJump          = "jump-from-last-reading"
	WarnToppingSO2    = "topping-with-so2"
	WarnEmpty         = "empty-vessel"
	WarnOverdrawn     = "overdrawn"
	WarnOverfull      = "overfull"
	WarnFuture        = "future"
	WarnKeptFrom      = "malolactic-not-wanted"
	WarnCultureInSO2  = "culture-into-sulfited"
	WarnUnweighedDose = "dose-not-weighed"
	WarnNowhere       = "into-itself"
	WarnLeftOver      = "left-over"
)

// Weigh looks at a draft before it is kept: a dose ten times the usual or over a
// legal limit, SO2 before a wanted malolactic fermentation is over, sorbate
// where lactic bacteria may live, a reading far outside what wine has, and wine taken
// from where the record knows none. It changes nothing. What it stops may be overruled
// in words (Draft.Overruled), what it asks may be said again. Now is the moment of
// writing.
func Weigh(s *State, now time.Time, d Draft) Warnings {
	var out Warnings
	if from, _ := d.Happened.Bounds(); from.After(now) {
		out.say(WarnFuture, "This is for %s, which has not come yet.", d.Happened)
	}
	weighThen(s, now, d, &out)
	switch b := d.Body.(type) {
	case Addition:
		weighAddition(s, b, &out)
	case Reading:
		weighReading(s, b, &out)
	case Movement:
		weighMovement(s, b, &out)
	case Crush:
		weighRoom(s, b.From, b.To, &out)
	case Press:
		weighPress(s, b, &out)
	case Bottling:
		weighBottling(s, b, &out)
	case Opened:
		weighOpened(s, b, &out)
	case Inoculation:
		weighInoculation(s, b, &out)
	case Stirring:
		s.holds(b.Vessel, &out)
	case Treatment:
		s.holds(b.Vessel, &out)
	case ControlKept:
		p := s.taken(b.Vessel, &out)
		if v, _, err := b.Volume.Volume(); p != nil && err == nil && v > p.Volume+2*p.Spread {
			out.ask(WarnOverdrawn, b.Vessel, "By the record %s holds %s: %s is more than that.", b.Vessel, about(p.Volume, p.Spread), b.Volume)
		}
	}
	return out
}

// WeighAll weighs drafts that are written together, one after another: what an earlier
// one brings into a vessel is no shortage for a later one, and what it takes away leaves
// room.
func WeighAll(s *State, now time.Time, drafts ...Draft) []Warnings {
	out := make([]Warnings, len(drafts))
	changed := map[string]bool{}
	for i, d := range drafts {
		out[i] = slices.DeleteFunc(Weigh(s, now, d), func(w Warning) bool { return w.Ask && changed[w.Vessel] })
		if moves(d.Body) {
			for _, v := range d.Body.vessels(nil) {
				changed[v] = true
			}
		}
	}
	return out
}

// moves says whether an entry changes how much is in its vessels.
func moves(b Body) bool {
	switch b.(type) {
	case Movement, FruitReceived, Crush, Press, Dip, Bottling, Opened, VesselNamed:
		return true
	}
	return false
}

// weighThen warns of what is taken from a vessel before anything had come into it.
// A day without an hour is reckoned as its noon, which is easily overlooked.
func weighThen(s *State, now time.Time, d Draft, out *Warnings) {
	var from []Portion
	switch b := d.Body.(type) {
	case Movement:
		from = b.From
	case Crush:
		from = b.From
	case Press:
		from = b.From
	case Bottling:
		from = b.From
	}
	at := d.Happened.Reckoned(now)
	for _, p := range from {
		v := s.Vessel(p.Vessel)
		if v == nil || v.Holds == nil || !at.Before(v.Holds.Began) {
			continue
		}
		then := slices.ContainsFunc(v.Parcels, func(p *Parcel) bool { return !at.Before(p.Began) && (!p.Ended() || at.Before(p.End)) })
		if !then {
			out.ask(WarnEmpty, p.Vessel, "By the record %s held nothing at %s: what is in it came at %s, which is noon where only the day is written.", p.Vessel, at.Format("15:04 on 2 Jan"), v.Holds.Began.In(at.Location()).Format("15:04 on 2 Jan"))
		}
	}
}

// holds is the parcel in a vessel; an empty one is said.
func (s *State) holds(vessel string, out *Warnings) *Parcel {
	p := s.In(vessel)
	if p == nil && vessel != "" {
		out.say(WarnEmpty, "By the record %s is empty.", vessel)
	}
	return p
}

// taken is the parcel that wine is taken from; there being none is asked about, since
// what filled the vessel may still be to be written.
func (s *State) taken(vessel string, out *Warnings) *Parcel {
	p := s.In(vessel)
	if p == nil {
		out.ask(WarnEmpty, vessel, "By the record %s is empty: nothing can have come from it, unless what filled it is still to be written down.", vessel)
	}
	return p
}

// absurd is how many times the usual dose is stopped.
const absurd = 10

// Legal limits of total sulfur dioxide in dry wine. They are for wine to be sold;
// a household need not keep them, and the law in force where one lives decides.
const (
	limitUS      = 350 * quantity.MilligramPerLitre // 27 CFR 4.22(b)(1), 2004 edition
	limitEURed   = 150 * quantity.MilligramPerLitre // Regulation (EU) 2019/934, annex I part B A.1(a)
	limitEUWhite = 200 * quantity.MilligramPerLitre // the same, A.1(b): white and rosé
)

// mustSO2 is the sulfur dioxide in must above which a later malolactic
// fermentation is at risk: not more than about 50 mg/L before crush if it is
// wanted (Australian Wine Research Institute, "Ask the AWRI: malolactic
// fermentation issues explored").
const mustSO2 = 50 * quantity.MilligramPerLitre

func weighAddition(s *State, b Addition, out *Warnings) {
	parcel := s.holds(b.Vessel, out)
	product, known := LookupProduct(b.Product)
	if !known || parcel == nil {
		return
	}
	weighDose(s, b, product, parcel, out)
	st, wanted := parcel.stage, s.wanted(parcel)
	mayLive := st.fermented && (wanted || st.bacteria)
	if product.SO2 > 0 && mayLive && !st.converted {
		out.stop(WarnSO2Early, "Malolactic fermentation is wanted in %s and has not been declared over: sulfur dioxide now may stop it.", b.Vessel)
	}
	if product.Lactic && mayLive {
		out.stop(WarnSorbate, "Lactic bacteria may live in %s: with sorbate they make a smell of geranium leaves, for which there is no remedy.", b.Vessel)
	}
	if b.Product == "lysozyme" && wanted && !st.converted {
		out.stop(WarnLysozyme, "Malolactic fermentation is wanted in %s and has not been declared over: lysozyme kills its bacteria. It is made from egg and must be declared as an allergen.", b.Vessel)
	}
	if b.Product == "citric-acid" && wanted && !st.converted {
		out.say(WarnCitric, "Malolactic fermentation is wanted in %s: bacteria turn citric acid into acetic acid and diacetyl (from memory, no source).", b.Vessel)
	}
}

// weighDose weighs how much it is.
func weighDose(s *State, b Addition, product *Product, parcel *Parcel, out *Warnings) {
	if parcel.Volume <= 0 {
		return
	}
	mass, err := b.Mass(parcel.Volume)
	of := product.Title
	if product.SO2 > 0 {
		mass, err = b.SO2(parcel.Volume)
		of = "SO2"
	}
	if err != nil {
		out.say(WarnUnweighedDose, "How much this brings cannot be reckoned: %v.", err)
		return
	}
	rate := mass.Per(parcel.Volume)
	if product.Usual > 0 && rate > absurd*product.Usual {
		out.stop(WarnTenTimes, "%s into %s L is %s mg/L %s: more than ten times the most that is usual, %s mg/L (%s).",
			b.Amount, figure(parcel.Volume.Litres()), figure(rate.MgPerL()), of, figure(product.Usual.MgPerL()), product.Source)
	}
	if product.SO2 == 0 {
		return
	}
	total := (parcel.Amount(SubstanceSO2) + mass).Per(parcel.Volume)
	eu := limitEURed
	if lot := s.Lot(parcel.Lot); lot != nil && (lot.Colour == "white" || lot.Colour == "rosé") {
		eu = limitEUWhite
	}
	const law = "(27 CFR 4.22; Regulation (EU) 2019/934; for wine to be sold, dry; the law where you live decides)"
	switch {
	case total > limitUS:
		out.stop(WarnOverLimit, "With this, %s has been given %s mg/L SO2 in all: the limit is %s mg/L in the United States and %s in the European Union %s.",
			b.Vessel, figure(total.MgPerL()), figure(limitUS.MgPerL()), figure(eu.MgPerL()), law)
	case total > eu:
		out.say(WarnOverLimit, "With this, %s has been given %s mg/L SO2 in all: the limit in the European Union is %s mg/L total %s.",
			b.Vessel, figure(total.MgPerL()), figure(eu.MgPerL()), law)
	}
	if !parcel.stage.fermented && s.wanted(parcel) && total > mustSO2 {
		out.say(WarnSO2Must, "With this, the must in %s has been given %s mg/L SO2: above about %s mg/L the malolactic fermentation you want is at risk, months from now.",
			b.Vessel, figure(total.MgPerL()), figure(mustSO2.MgPerL()))
	}
}

// wanted says whether malolactic fermentation is wanted in a parcel's lot.
func (s *State) wanted(p *Parcel) bool {
	return s.Wish(s.Lot(p.Lot)) == MalolacticWanted
}

// Converting says whether malolactic fermentation is wanted in a parcel, or was
// started in it, and has been neither declared over nor given up.
func (s *State) Converting(p *Parcel) bool {
	return p.stage.fermented && !p.stage.converted && (p.stage.bacteria || s.wanted(p))
}

func weighReading(s *State, b Reading, out *Warnings) {
	p := s.In(b.Vessel)
	if p == nil && b.Vessel != "" && !b.Control && b.Drawn == "" {
		s.holds(b.Vessel, out)
	}
	r, ok := LookupReadable(b.What)
	if !ok || len(r.Words) > 0 || r.High == 0 {
		return
	}
	v, ok := inUnit(b.Value, r.Unit)
	if !ok {
		return
	}
	// Outside the usual range by more than half of it is not wine.
	slack := (r.High - r.Low) / 2
	if b.What == ReadTemperature {
		slack = 20
	}
	unit := r.Unit
	if unit == "pH" {
		unit = ""
	}
	says := fmt.Sprintf("%s %s is outside what wine and must usually have, %g to %g %s: two digits swapped, another unit, or another vessel?", r.Title, b.Value, r.Low, r.High, unit)
	switch {
	case v < r.Low-slack || v > r.High+slack || v < 0 && r.Low >= 0:
		out.stop(WarnUnlikely, "%s", says)
	case v < r.Low || v > r.High:
		out.say(WarnUnlikely, "%s", says)
	case p != nil && !b.Control:
		weighJump(p, b, r, v, out)
	}
}

// inUnit is a measure's number in a unit of the same dimension; densities are only
// compared on one scale.
func inUnit(m *Measure, unit string) (float64, bool) {
	want, known := LookupUnit(unit)
	n, err := m.Number()
	if err != nil || !known {
		return 0, false
	}
	u, ok := LookupUnit(m.unit())
	if !ok || u.Dimension == Gravity && u != want || u.Dimension != want.Dimension && !(want.Dimension == Acidity && u.Dimension == Number) {
		return 0, false
	}
	return (u.base(n) - want.offset) / want.factor, true
}

// jumps are changes from one reading to the next that are asked about: more than
// any of the changes wine goes through in the cellar. Common practice, no source.
var jumps = map[string]float64{ReadPH: 0.4, ReadTA: 3, ReadAlcohol: 3}

func weighJump(p *Parcel, b Reading, r *Readable, v float64, out *Warnings) {
	most, ok := jumps[b.What]
	if !ok {
		return
	}
	for i := len(p.Events) - 1; i >= 0; i-- {
		last, ok := p.Events[i].Body.(Reading)
		if !ok || last.What != b.What || last.Control || last.As != b.As {
			continue
		}
		before, ok := inUnit(last.Value, r.Unit)
		if !ok {
			continue
		}
		if math.Abs(v-before) > most {
			out.say(WarnJump, "%s was %s on %s, and is %s now: another vessel, or two digits swapped?", r.Title, last.Value, p.Events[i].At.Format("2 Jan"), b.Value)
		}
		return
	}
}

func weighMovement(s *State, b Movement, out *Warnings) {
	var arriving, held, spread quantity.Volume
	known, whole := len(b.From) > 0, false // what is there is known; some give what is not said
	for _, from := range b.From {
		p := s.taken(from.Vessel, out)
		if p == nil || p.Form == FormFruit {
			known = false
			continue
		}
		v, _, err := from.Volume.Volume()
		if err != nil || from.Volume.IsZero() {
			held, spread, whole = held+p.Volume, spread+p.Spread, true
			continue
		}
		arriving, held = arriving+v, held+v
		if v > p.Volume+2*p.Spread {
			out.ask(WarnOverdrawn, from.Vessel, "By the record %s holds %s: %s is more than that.", from.Vessel, about(p.Volume, p.Spread), from.Volume)
		}
	}
	if gone, told := goneIn(b); known && whole && told && gone > held+2*spread {
		names := make([]string, len(b.From))
		for i, p := range b.From {
			names[i] = p.Vessel
		}
		verb := "holds"
		if len(names) > 1 {
			verb = "hold"
		}
		out.ask(WarnOverdrawn, names[0], "By the record %s %s %s: %s L is more than that.", strings.Join(names, " and "), verb, about(held, spread), figure(gone.Litres()))
	}
	for _, to := range b.To {
		v, _, err := to.Volume.Volume()
		if err != nil && len(b.To) == 1 {
			v, err = arriving, nil
		}
		if room, ok := s.roomIn(to.Vessel, b.From); ok && err == nil && v > room {
			out.ask(WarnOverfull, to.Vessel, "By the record %s has room for %s L, not for %s.", to.Vessel, figure(room.Litres()), figure(v.Litres())+" L")
		}
	}
	// A wine may be racked and returned; nothing is topped with itself.
	if b.How == "topping" && len(b.From) == 1 && len(b.To) == 1 && b.From[0].Vessel == b.To[0].Vessel {
		out.stop(WarnNowhere, "%s cannot be topped from %s itself: is another vessel meant?", b.To[0].Vessel, b.From[0].Vessel)
	}
	weighTopping(s, b, out)
}

// about is a volume with its ±: "22.3 ± 0.4 L".
func about(v, spread quantity.Volume) string {
	return fmt.Sprintf("%s ± %.1f L", figure(v.Litres()), spread.Litres())
}

// goneIn is what a movement says arrived or was lost; not told where it says neither.
func goneIn(b Movement) (gone quantity.Volume, told bool) {
	for _, p := range b.To {
		if v, _, err := p.Volume.Volume(); err == nil {
			gone, told = gone+v, true
		}
	}
	lost, known := lostIn(b.Losses)
	return gone + lost, known && (told || lost > 0)
}

// weighRoom warns of vessels that cannot hold what goes into them.
func weighRoom(s *State, from, to []Portion, out *Warnings) {
	for _, p := range to {
		v, _, err := p.Volume.Volume()
		room, ok := s.roomIn(p.Vessel, from)
		if ok && err == nil && v > room {
			out.ask(WarnOverfull, p.Vessel, "By the record %s has room for %s L, not for %s.", p.Vessel, figure(room.Litres()), figure(v.Litres())+" L")
		}
	}
}

// weighPress warns of more wine than there was must.
func weighPress(s *State, b Press, out *Warnings) {
	var must, spread, ran quantity.Volume
	whole := false
	for _, p := range b.From {
		held := s.taken(p.Vessel, out)
		if held == nil {
			return
		}
		whole = whole || held.Form == FormFruit // reckoned by weight
		must, spread = must+held.Volume, spread+held.Spread
	}
	for _, p := range b.To {
		if v, _, err := p.Volume.Volume(); err == nil {
			ran += v
		}
	}
	if !whole && ran > must+2*spread {
		out.ask(WarnOverdrawn, b.From[0].Vessel, "By the record there were %s of must: %s L is more than that.", about(must, spread), figure(ran.Litres()))
	}
	weighRoom(s, b.From, b.To, out)
}

// weighBottling warns of more in bottles than there was wine, and of wine that neither
// went into bottles nor stayed in the vessel: more than a tenth, since the lees that a
// bottling leaves are less (common practice, no source).
func weighBottling(s *State, b Bottling, out *Warnings) {
	var held, spread, drawn quantity.Volume
	for _, p := range b.From {
		in := s.taken(p.Vessel, out)
		if in == nil {
			continue
		}
		held, spread = held+in.Volume, spread+in.Spread
		if v, _, err := p.Volume.Volume(); err == nil && !p.Volume.IsZero() {
			drawn += v
		} else {
			drawn += in.Volume
		}
	}
	lost, known := lostIn(b.Losses)
	size, _, err := b.Size.Volume()
	filled := size * quantity.Volume(b.Count)
	if left := drawn - filled - lost; err == nil && known && left > drawn/10+2*spread {
		out.say(WarnLeftOver, "%d bottles of %s are %s L, and %s L come out: %s L would be unaccounted for. If wine stays in the vessel, say how much was drawn; if it was lost, say as what.",
			b.Count, b.Size, figure(filled.Litres()), figure(drawn.Litres()), figure(left.Litres()))
	}
	if err == nil && held > 0 && filled > held+2*spread {
		out.ask(WarnOverdrawn, b.From[0].Vessel, "%d bottles of %s are %s L: by the record there were %s.", b.Count, b.Size, figure(filled.Litres()), about(held, spread))
	}
}

// lostIn adds up losses; not known if the volume of one is not.
func lostIn(losses []Loss) (lost quantity.Volume, known bool) {
	for _, l := range losses {
		v, _, err := l.Volume.Volume()
		if err != nil {
			return 0, false
		}
		lost += v
	}
	return lost, true
}

func weighOpened(s *State, b Opened, out *Warnings) {
	if p := s.taken(b.Bottling, out); p != nil && max(1, b.Count) > p.Count {
		out.ask(WarnOverdrawn, b.Bottling, "By the record %d bottles are left of %s: %d is more than that.", p.Count, b.Bottling, b.Count)
	}
}

// roomIn is the room in a vessel, which is all of it if it is racked and returned,
// with 1 % for what a nominal size is worth.
func (s *State) roomIn(vessel string, from []Portion) (quantity.Volume, bool) {
	v := s.Vessel(vessel)
	if v == nil || v.Capacity() == 0 {
		return 0, false
	}
	size := v.Capacity() * 1.01
	for _, f := range from {
		if s.Vessel(f.Vessel) == v {
			return size, true
		}
	}
	if v.Holds != nil {
		size -= v.Holds.Volume
	}
	return size, true
}

// weighTopping warns of sulfited wine going into wine that is to convert.
func weighTopping(s *State, b Movement, out *Warnings) {
	for _, to := range b.To {
		into := s.In(to.Vessel)
		if into == nil || !s.Converting(into) {
			continue
		}
		for _, from := range b.From {
			source := s.In(from.Vessel)
			if source == nil || source.ID == into.ID || source.Volume <= 0 {
				continue
			}
			so2 := source.Amount(SubstanceSO2).Per(source.Volume)
			if so2 <= 0 {
				continue
			}
			says := fmt.Sprintf("The wine in %s was given %s mg/L SO2, and %s is still to convert: bacteria may stop.", from.Vessel, figure(so2.MgPerL()), to.Vessel)
			if v, _, err := to.Volume.Volume(); err == nil && into.Volume+v > 0 {
				says += fmt.Sprintf(" %s L of it would bring %s mg/L.", figure(v.Litres()), figure(so2.In(v).Per(into.Volume+v).MgPerL()))
			}
			out.stop(WarnToppingSO2, "%s", says)
		}
	}
}

func weighInoculation(s *State, b Inoculation, out *Warnings) {
	p := s.holds(b.Vessel, out)
	if p == nil || b.Of != "malolactic" || b.How == "native" {
		return
	}
	if lot := s.Lot(p.Lot); s.Wish(lot) == MalolacticKeptFrom {
		out.stop(WarnKeptFrom, "%s is to be kept from malolactic fermentation.", lot.Title())
	}
	if p.Volume <= 0 {
		return
	}
	if so2 := p.Amount(SubstanceSO2).Per(p.Volume); so2 > hardSO2 {
		out.stop(WarnCultureInSO2, "The wine in %s has been given %s mg/L SO2 in all: above %s mg/L a malolactic culture rarely takes (Australian Wine Research Institute).",
			b.Vessel, figure(so2.MgPerL()), figure(hardSO2.MgPerL()))
	}
}
