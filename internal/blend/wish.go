package blend

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/compose"
	"elevage/internal/fault"
	"elevage/internal/track"
	"elevage/internal/track/gather"
	"elevage/science/quantity"
)

// A Source is wine on hand.
type Source struct {
	Vessel string
	Wine   compose.Wine // all from one call of compose.All, so that shared errors are shared
	Volume quantity.Volume
	// Shares are what part of its volume comes from where, by kind and name:
	// "variety" → "Merlot" → 0.9. What is not written down is in none.
	Shares map[string]map[string]float64
	// Free is free sulfur dioxide as it was read last, nil if it was not read or if
	// something came in since.
	Free *FreeRead
	// Unfinished says why it is better left out: sugar or malic acid that may still
	// ferment. Find leaves it out unless the wish says Unfinished.
	Unfinished string
	// Converted says by which belief its malolactic conversion is over; "" where that
	// was declared, or does not matter.
	Converted string
}

// A FreeRead is a reading of free sulfur dioxide.
type FreeRead struct {
	Value quantity.Concentration
	At    time.Time
}

// Kinds by which shares are known.
const (
	ByVariety = "variety"
	ByPlace   = "place"
	ByVintage = "vintage"
	ByLot     = "lot"
)

// Sources are all wines of a cellar that can be poured together at a moment: what
// stands in vessels as wine, not must and not bottles. Beliefs about conversions, where
// there are any, say what malic acid is left and whether a conversion is over.
func Sources(s *cellar.State, beliefs map[cellar.ParcelID]*track.Belief, at time.Time) ([]Source, error) {
	var ids []cellar.ParcelID
	for _, v := range s.Vessels {
		if p := v.Holds; p != nil && p.Form == cellar.FormWine && p.At(at).Volume > 0 {
			ids = append(ids, p.ID)
		}
	}
	wines, err := compose.AllBelieving(s, ids, at, gather.Courses(beliefs, at.Location()))
	if err != nil {
		return nil, err
	}
	out := make([]Source, len(ids))
	for i, id := range ids {
		p := s.Parcel(id)
		out[i] = Source{Vessel: p.Vessel, Wine: wines[i], Volume: wines[i].Volume.Value, Shares: shares(s, id, at), Free: freeRead(p, at)}
		out[i].Unfinished, out[i].Converted = standing(s.Wish(s.Lot(p.Lot)) == cellar.MalolacticWanted, &wines[i], beliefs[id])
	}
	return out, nil
}

// shares adds up where a wine comes from.
func shares(s *cellar.State, id cellar.ParcelID, at time.Time) map[string]map[string]float64 {
	out := map[string]map[string]float64{}
	add := func(kind, name string, share float64) {
		if name == "" {
			return
		}
		if out[kind] == nil {
			out[kind] = map[string]float64{}
		}
		out[kind][name] += share
	}
	for _, o := range s.Origins(id, at) {
		lot := s.Lot(o.Lot)
		if lot == nil {
			continue
		}
		variety, place := lot.Variety, lot.Origin
		if o.Fruit != nil {
			if o.Fruit.Variety != "" {
				variety = o.Fruit.Variety
			}
			if o.Fruit.Block != "" {
				place = strings.TrimSpace(o.Fruit.Grower + " " + o.Fruit.Block)
			}
		}
		add(ByVariety, variety, o.Share)
		add(ByPlace, place, o.Share)
		add(ByLot, lot.Slug, o.Share)
		if lot.Vintage != 0 {
			add(ByVintage, fmt.Sprint(lot.Vintage), o.Share)
		}
	}
	return out
}

// freeRead is the last reading of free sulfur dioxide that still holds: none after
// sulfite or other wine came in.
func freeRead(p *cellar.Parcel, at time.Time) *FreeRead {
	for i := len(p.Events) - 1; i >= 0; i-- {
		r := p.Events[i]
		if r.At.After(at) || !r.Counts() {
			continue
		}
		switch b := r.Body.(type) {
		case cellar.Addition:
			if product, known := cellar.LookupProduct(b.Product); known && product.SO2 > 0 {
				return nil
			}
		case cellar.Reading:
			if b.What != cellar.ReadFreeSO2 || b.Control {
				continue
			}
			v, _, err := b.Value.Concentration()
			late := slices.ContainsFunc(p.Inflows, func(in cellar.Inflow) bool { return in.At.After(r.At) && !in.At.After(at) })
			if err != nil || late {
				return nil
			}
			return &FreeRead{v, r.At}
		}
	}
	return nil
}

// Sugar and malic acid that may still ferment: 2 g/L, the usual meaning of dry
// (handbook), and 0.3 g/L where conversion is wanted (common practice, no source).
const (
	fermentable = 2 * quantity.GramPerLitre
	convertible = 0.3 * quantity.GramPerLitre
)

// standing says what of a wine may still ferment, or else by which belief its
// conversion is over. A belief counts by its decision: one that only thinks a wine
// finished leaves it unfinished.
func standing(wanted bool, w *compose.Wine, b *track.Belief) (unfinished, converted string) {
	switch {
	case w.Sugar.How != compose.Assumed && w.Sugar.Value > fermentable:
		return fmt.Sprintf("%.0f g/L of sugar may ferment again", w.Sugar.Value.GPerL()), ""
	case !wanted:
	case b != nil:
		return believed(b)
	case w.Malic.How == compose.Assumed:
		return "whether its malolactic conversion is over was neither read nor declared", ""
	case w.Malic.Value > convertible:
		return fmt.Sprintf("%.1f g/L of malic acid are still to be converted", w.Malic.Value.GPerL()), ""
	}
	return "", ""
}

// believed is standing by a belief about a conversion.
func believed(b *track.Belief) (unfinished, converted string) {
	by := "by the belief of " + b.At.Format("2 January 2006")
	left := fmt.Sprintf("%.2f g/L of malic acid (%.2f to %.2f)", b.Malic.Q50.GPerL(), b.Malic.Q05.GPerL(), b.Malic.Q95.GPerL())
	switch b.Decision.Call {
	case track.CallFinished:
		return "", "its malolactic conversion is over, " + by
	case track.CallStalled:
		return "its malolactic conversion is stalled with " + left + ", " + by, ""
	case track.CallNotYet:
		return left + " are still to be converted, " + by, ""
	}
	return "whether its malolactic conversion is over can't be told: " + left + ", " + by, ""
}

// property is what a limit or target is about.
type property uint8

const (
	alcohol property = iota
	ta
	ph
	sugar
	va
	totalSO2
	malic
	share
	freeSO2 // of the parts: it does not mix by volume
)

var properties = [...]struct {
	name, unit string
	shown      float64 // number shown per number held
	scale      float64 // a difference that matters, to weigh one violation against another
}{
	alcohol: {"alcohol", "% vol", 1, 0.2}, ta: {"titratable acidity", "g/L", 1, 0.3}, ph: {"pH", "", 1, 0.05}, sugar: {"sugar", "g/L", 1, 0.5},
	va: {"volatile acidity", "g/L", 1, 0.05}, totalSO2: {"total SO2", "mg/L", 1000, 0.01}, malic: {"malic acid", "g/L", 1, 0.2}, share: {"share", "%", 100, 0.03},
	freeSO2: {"free SO2", "mg/L", 1000, 0.005},
}

// of is the property of a wine, with one standard deviation.
func (p property) of(w *compose.Wine) (v, sd float64) {
	c := func(f compose.Figure[quantity.Concentration]) (float64, float64) {
		return f.Value.GPerL(), f.SD.GPerL()
	}
	switch p {
	case alcohol:
		return w.Alcohol.Value.Percent(), w.Alcohol.SD.Percent()
	case ta:
		return c(w.TA)
	case ph:
		return float64(w.PH.Value), float64(w.PH.SD)
	case sugar:
		return c(w.Sugar)
	case va:
		return c(w.VA)
	case totalSO2:
		return c(w.TotalSO2)
	case malic:
		return c(w.Malic)
	}
	return math.NaN(), 0
}

// A Limit must be kept. Make one with PH, Alcohol and so on; an infinite end is none.
type Limit struct {
	p          property
	kind, name string // of a share
	low, high  float64
}

// Limits. Concentrations are of the blend; shares are of its volume.
func Alcohol(low, high quantity.Strength) Limit {
	return Limit{p: alcohol, low: low.Percent(), high: high.Percent()}
}

// TA limits titratable acidity, as tartaric acid to pH 8.2.
func TA(low, high quantity.Concentration) Limit { return between(ta, low, high) }

// PH limits the pH that is solved for the blend.
func PH(low, high quantity.PH) Limit { return Limit{p: ph, low: float64(low), high: float64(high)} }

// Sugar limits residual sugar.
func Sugar(low, high quantity.Concentration) Limit { return between(sugar, low, high) }

// VA limits volatile acidity, as acetic acid.
func VA(low, high quantity.Concentration) Limit { return between(va, low, high) }

// TotalSO2 limits total sulfur dioxide.
func TotalSO2(low, high quantity.Concentration) Limit { return between(totalSO2, low, high) }

// FreeSO2 limits free sulfur dioxide. Wines poured together bind it anew, and where it
// settles is not reckoned; but it lies between the least and the greatest of the parts:
// at the greatest, what all parts bind and leave free adds up to at least all there
// is, at the least to at most that. So it is kept by wines that keep it themselves.
func FreeSO2(low, high quantity.Concentration) Limit { return between(freeSO2, low, high) }

// Malic limits malic acid.
func Malic(low, high quantity.Concentration) Limit { return between(malic, low, high) }

// ShareOf limits the part of the volume that comes from a variety, place, vintage or
// lot: 0 to 1.
func ShareOf(kind, name string, low, high float64) Limit {
	return Limit{p: share, kind: kind, name: name, low: low, high: high}
}

func between(p property, low, high quantity.Concentration) Limit {
	return Limit{p: p, low: low.GPerL(), high: high.GPerL()}
}

// String reads, for example, "pH 3.3 to 3.6" or "share of Merlot at least 85 %".
func (l Limit) String() string {
	f := properties[l.p]
	name, unit := f.name, ""
	if l.p == share {
		name = "share of " + l.name
	}
	if f.unit != "" {
		unit = " " + f.unit
	}
	low, high := figure(l.low*f.shown), figure(l.high*f.shown)
	switch {
	case l.low == l.high:
		return name + " " + low + unit
	case math.IsInf(l.high, 1) && math.IsInf(l.low, -1):
		return name + " of any kind"
	case math.IsInf(l.high, 1), l.p == share && l.high >= 1:
		return name + " at least " + low + unit
	case math.IsInf(l.low, -1), l.low <= 0 && l.p != ph:
		return name + " at most " + high + unit
	}
	return name + " " + low + " to " + high + unit
}

func figure(v float64) string {
	s := fmt.Sprintf("%.3f", v)
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// A Target is aimed at: how far a blend is off is told in its tolerance.
type Target struct {
	Limit
	tolerance float64
}

// Aim makes a target of a limit whose ends are the same, with the tolerance within
// which it hardly matters, in the property's own unit.
func Aim[Q ~float64](at Limit, tolerance Q) Target {
	return Target{at, float64(tolerance)}
}

// AlcoholIs and the like make a limit of one value, to be aimed at.
func AlcoholIs(v quantity.Strength) Limit { return Alcohol(v, v) }

// TAIs aims at a titratable acidity.
func TAIs(v quantity.Concentration) Limit { return TA(v, v) }

// PHIs aims at a pH.
func PHIs(v quantity.PH) Limit { return PH(v, v) }

// A Wish is what a blend is to be.
type Wish struct {
	Sources []Source
	Limits  []Limit
	Targets []Target
	// Least and Most are how much is to be made; zero: any amount, and all there is.
	Least, Most quantity.Volume
	// Whole says that no source may be left part full: each is emptied or left alone.
	Whole bool
	// Into are the sizes of vessels that it is to fill; some of them are filled to the
	// last drop, and what is left over, at most Reserve of it, tops up.
	Into []quantity.Volume
	// Reserve is the share that may be left over for topping; 0: 5 %, common practice.
	Reserve float64
	// Unfinished takes in wines that may still ferment.
	Unfinished bool
}

const usualReserve = 0.05

// check says what is wrong with a wish.
func (w *Wish) check() error {
	var bad []fault.Field
	if len(w.Sources) == 0 {
		bad = append(bad, fault.Field{Name: "sources", Allowed: "at least one wine"})
	}
	if len(w.Sources) > 60 {
		bad = append(bad, fault.Field{Name: "sources", Given: fmt.Sprint(len(w.Sources)), Allowed: "at most 60 wines"})
	}
	if err := fault.BadFields("find blend", bad...); err != nil {
		return err
	}
	return w.checkWants()
}

// checkWants says what is wrong with limits, targets and volumes.
func (w *Wish) checkWants() error {
	var bad []fault.Field
	for _, l := range w.Limits {
		if !(l.low <= l.high) {
			bad = append(bad, fault.Field{Name: properties[l.p].name, Given: figure(l.low) + " to " + figure(l.high), Allowed: "the lower end first"})
		}
		if l.p == share && (l.low < 0 || l.high > 1) {
			bad = append(bad, fault.Field{Name: "share of " + l.name, Given: figure(l.low) + " to " + figure(l.high), Allowed: "0 to 1"})
		}
	}
	for _, t := range w.Targets {
		if t.p == freeSO2 {
			bad = append(bad, fault.Field{Name: "free SO2 aimed at", Given: t.String(), Allowed: "limits only: what is free settles anew in a blend; dose it afterwards"})
			continue
		}
		if t.low != t.high || !(t.tolerance > 0) || math.IsInf(t.low, 0) {
			bad = append(bad, fault.Field{Name: properties[t.p].name + " aimed at", Given: t.String(), Allowed: "one value and a tolerance of more than 0"})
		}
	}
	if w.Least < 0 || w.Most < 0 || w.Most > 0 && w.Least > w.Most {
		bad = append(bad, fault.Field{Name: "volume", Given: figure(w.Least.Litres()) + " to " + figure(w.Most.Litres()) + " L", Allowed: "the lesser first"})
	}
	if w.Reserve < 0 || w.Reserve > 0.5 {
		bad = append(bad, fault.Field{Name: "reserve", Given: figure(w.Reserve), Allowed: "0 to 0.5"})
	}
	return fault.BadFields("find blend", bad...)
}

// needsPH says whether anything hangs on the pH.
func (w *Wish) needsPH() bool {
	return slices.ContainsFunc(w.Limits, func(l Limit) bool { return l.p == ph }) || slices.ContainsFunc(w.Targets, func(t Target) bool { return t.p == ph })
}

// An Excluded source is one that Find left out.
type Excluded struct {
	Vessel string
	Why    string
}

// usable are the sources that can be reckoned with, and those that cannot.
func (w *Wish) usable() (in []Source, out []Excluded) {
	for _, s := range w.Sources {
		switch {
		case s.Volume <= 0:
			out = append(out, Excluded{s.Vessel, "nothing is left of it"})
		case s.Unfinished != "" && !w.Unfinished:
			out = append(out, Excluded{s.Vessel, s.Unfinished})
		case w.freeTrouble(&s) != "":
			out = append(out, Excluded{s.Vessel, w.freeTrouble(&s)})
		case w.needsPH() && s.Wine.PHTrouble != "":
			out = append(out, Excluded{s.Vessel, s.Wine.PHTrouble})
		default:
			in = append(in, s)
		}
	}
	return in, out
}

// freeTrouble says why a source cannot be in a blend whose free sulfur dioxide is
// limited.
func (w *Wish) freeTrouble(s *Source) string {
	for _, l := range w.Limits {
		if l.p != freeSO2 {
			continue
		}
		if s.Free == nil {
			return "its free SO2 was not read since anything came in, and " + l.String() + " is wanted"
		}
		if v := s.Free.Value.GPerL(); v < l.low || v > l.high {
			return fmt.Sprintf("its free SO2 was %s mg/L, and %s is wanted", figure(s.Free.Value.MgPerL()), l)
		}
	}
	return ""
}
