package advise

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/cellar"
	"elevage/internal/fill"
)

// A word is a name that conditions may use: what it measures, what it means, what
// would make it known, and how it is found for a subject.
type word struct {
	name  string
	typ   *cel.Type
	means string
	// ask is what to do so that it becomes known, as it stands after "waiting on".
	ask string
	// read is the reading that makes it known, "" for none.
	read     string
	decimals int   // of a number in a sentence; 0: two
	of       Scope // subjects that have it: OfCellar all, OfVessel vessels and parcels, OfParcel parcels, OfInstrument instruments
	// get is its value; nil where it is not known.
	get func(*subject) ref.Val
}

func (w *word) celType() *cel.Type { return w.typ }

// label is the word as a figure is headed.
func (w *word) label() string {
	label, _, _ := strings.Cut(w.means, "; ")
	return label
}

var (
	tBool, tInt, tNumber, tText = cel.BoolType, cel.IntType, cel.DoubleType, cel.StringType
	tTexts                      = cel.ListType(cel.StringType)
)

// vocabulary is every word by its name; language the checker that knows them.
var vocabulary, words, language = func() (map[string]*word, []word, *cel.Env) {
	all := declaredWords()
	sort.Slice(all, func(i, j int) bool { return all[i].name < all[j].name })
	index := make(map[string]*word, len(all))
	for i := range all {
		w := &all[i]
		if index[w.name] != nil {
			panic("advise: two words are " + w.name)
		}
		index[w.name] = w
	}
	env, err := newLanguage(all)
	if err != nil {
		panic("advise: the vocabulary does not stand: " + err.Error())
	}
	return index, all, env
}()

// Words describes the vocabulary for the reference page: name, type, meaning.
func Words() [][3]string {
	out := make([][3]string, len(words))
	for i, w := range words {
		out[i] = [3]string{w.name, cel.FormatCELType(w.typ), w.means}
	}
	return out
}

func declaredWords() []word {
	var all []word
	all = append(all, cellarWords()...)
	all = append(all, lotWords()...)
	all = append(all, vesselWords()...)
	all = append(all, instrumentWords()...)
	all = append(all, wineWords()...)
	all = append(all, eventWords()...)
	all = append(all, primaryWords()...)
	all = append(all, yeastWords()...)
	all = append(all, malolacticWords()...)
	all = append(all, toppingWords()...)
	all = append(all, troubleWords()...)
	return append(all, sulfiteWords()...)
}

func yes(b bool) ref.Val       { return types.Bool(b) }
func text(t string) ref.Val    { return types.String(t) }
func num(n float64) ref.Val    { return types.Double(n) }
func count(n int) ref.Val      { return types.Int(n) }
func texts(t []string) ref.Val { return types.DefaultTypeAdapter.NativeToValue(t) }

func cellarWords() []word {
	return []word{
		{name: "today", typ: celTypes[date], of: OfCellar, means: "the day of the plan", get: func(s *subject) ref.Val { return s.plan.today }},
		{name: "month", typ: tInt, of: OfCellar, means: "the month, 1 to 12", get: func(s *subject) ref.Val { return count(int(s.plan.Now.Month())) }},
		{name: "never_on_record", typ: celTypes[date], of: OfCellar, means: "the day of what has not happened, before every other", get: func(*subject) ref.Val { return never }},
		{name: "cellar.winter", typ: tBool, of: OfCellar, means: "whether it is one of the three cold months", get: func(s *subject) ref.Val {
			m := int(s.plan.Now.Month())
			if s.plan.Prefs.South {
				m = (m+5)%12 + 1
			}
			return yes(m == 12 || m <= 2)
		}},
		{name: "cellar.law", typ: tText, of: OfCellar, means: "whose law is kept: us, eu, eu-organic, or home", get: func(s *subject) ref.Val { return text(s.plan.Prefs.law()) }},
		{name: "cellar.fermenting", typ: tInt, of: OfCellar, means: "vessels in which sugar is fermenting", get: func(s *subject) ref.Val { return count(s.plan.fermenting) }},
		{name: "cellar.ferments", typ: tText, of: OfCellar, means: "how many vessels ferment, in words", get: func(s *subject) ref.Val {
			if s.plan.fermenting == 1 {
				return text("One vessel ferments")
			}
			return text(fmt.Sprintf("%d vessels ferment", s.plan.fermenting))
		}},
		{name: "cellar.wines", typ: tInt, of: OfCellar, means: "vessels that hold wine or must", get: func(s *subject) ref.Val { return count(s.plan.wines) }},
		{name: "at.metabisulfite_bought", typ: celTypes[date], of: OfCellar, means: "day on which metabisulfite was last bought; never if it is not on record", get: func(s *subject) ref.Val { return s.plan.bought("potassium-metabisulfite", "sodium-metabisulfite") }},
		{name: "cellar.packet", typ: celTypes[mass], of: OfCellar, means: "weight of the malolactic culture on the shelf", ask: "the packet of culture written among the stores, with its weight", get: func(s *subject) ref.Val { return s.plan.packet.weight() }},
		{name: "cellar.packet_treats", typ: celTypes[volume], of: OfCellar, means: "volume that the culture on the shelf is rated for", ask: "the volume that the packet of culture is rated for, written among the stores", get: func(s *subject) ref.Val { return s.plan.packet.rated() }},
		{name: "cellar.ready_for_culture", typ: tText, of: OfCellar, means: "vessels with dry wine that waits for malolactic culture, with litres, as the culture calculator reads them", get: func(s *subject) ref.Val { return text(s.plan.readyForCulture()) }},
		{name: "scale.step", typ: celTypes[mass], of: OfCellar, means: "smallest division of the finest scale; 0.1 g if none is written", get: func(s *subject) ref.Val { return measure{kind: mass, v: s.plan.scaleStep} }},
		{name: "cellar.ph_due", typ: tBool, of: OfCellar, means: "whether a pH reading is due today", get: func(s *subject) ref.Val { return yes(s.plan.dueRead(cellar.ReadPH)) }},
		{name: "cellar.titration_due", typ: tBool, of: OfCellar, means: "whether a titration of acidity is due today", get: func(s *subject) ref.Val { return yes(s.plan.dueRead(cellar.ReadTA)) }},
		{name: "cellar.sulfite_test_due", typ: tBool, of: OfCellar, means: "whether a test of sulfur dioxide is due today", get: func(s *subject) ref.Val {
			return yes(s.plan.dueRead(cellar.ReadFreeSO2) || s.plan.dueRead(cellar.ReadTotalSO2))
		}},
		{name: "at.walked", typ: celTypes[date], of: OfCellar, means: "day of the last walk along all vessels that was ticked", get: func(s *subject) ref.Val { return s.plan.lastTick("monthly-walk") }},
		{name: "meter.named", typ: tBool, of: OfCellar, means: "whether a pH meter is written among the instruments", get: func(s *subject) ref.Val { return yes(s.plan.meter != nil) }},
		{name: "at.meter_checked", typ: celTypes[date], of: OfCellar, means: "day of the pH meter's last check or calibration", get: func(s *subject) ref.Val { return s.plan.meterChecked }},
	}
}

func lotWords() []word {
	of := func(get func(*cellar.Lot) ref.Val) func(*subject) ref.Val {
		return func(s *subject) ref.Val {
			if s.lot == nil {
				return nil
			}
			return get(s.lot)
		}
	}
	return []word{
		{name: "lot.name", typ: tText, of: OfParcel, means: "the lot's name", get: of(func(l *cellar.Lot) ref.Val { return text(l.Title()) })},
		{name: "lot.colour", typ: tText, of: OfParcel, means: "red, white, rosé, orange, or empty", get: of(func(l *cellar.Lot) ref.Val { return text(l.Colour) })},
		{name: "lot.malolactic", typ: tText, of: OfParcel, means: "what is meant to happen to its malic acid: wanted, kept-from, or empty where nothing is decided; where nothing was said of a lot, what all lots agree on that it was put together from", get: func(s *subject) ref.Val {
			if s.lot == nil {
				return nil
			}
			return text(s.plan.State.Wish(s.lot))
		}},
		{name: "lot.style", typ: tText, of: OfParcel, means: "style in the person's words", get: of(func(l *cellar.Lot) ref.Val { return text(l.Style) })},
		{name: "lot.protocol", typ: tText, of: OfParcel, means: "name of the protocol that the lot was told to follow, or empty", get: of(func(l *cellar.Lot) ref.Val { return text(l.Protocol) })},
		{name: "lot.tags", typ: tTexts, of: OfParcel, means: "tags of the lot", get: of(func(l *cellar.Lot) ref.Val { return texts(l.Tags) })},
		{name: "lot.vintage", typ: tInt, of: OfParcel, means: "year of harvest, 0 if not written", get: of(func(l *cellar.Lot) ref.Val { return count(l.Vintage) })},
		{name: "lot.parcels", typ: tInt, of: OfParcel, means: "vessels that the lot is in", get: of(func(l *cellar.Lot) ref.Val { return count(len(l.Holds())) })},
	}
}

func vesselWords() []word {
	of := func(get func(*cellar.Vessel) ref.Val) func(*subject) ref.Val {
		return func(s *subject) ref.Val {
			if s.vessel == nil {
				return nil
			}
			return get(s.vessel)
		}
	}
	size := "the vessel's size"
	return []word{
		{name: "vessel.name", typ: tText, of: OfVessel, means: "the vessel's short name", get: of(func(v *cellar.Vessel) ref.Val { return text(v.Slug) })},
		{name: "vessel.type", typ: tText, of: OfVessel, means: strings.Join(cellar.VesselTypes, ", "), get: of(func(v *cellar.Vessel) ref.Val { return text(v.Type) })},
		{name: "vessel.empty", typ: tBool, of: OfVessel, means: "whether it holds nothing", get: of(func(v *cellar.Vessel) ref.Val { return yes(v.Holds == nil) })},
		{name: "vessel.size", typ: celTypes[volume], of: OfVessel, means: "what it holds when full", ask: size, get: of(func(v *cellar.Vessel) ref.Val {
			if v.Capacity() == 0 {
				return nil
			}
			return measure{kind: volume, v: float64(v.Capacity())}
		})},
		{name: "vessel.headspace", typ: celTypes[volume], of: OfVessel, means: "air above the wine, less the gap that was written down for the vessel", ask: size, get: of(func(v *cellar.Vessel) ref.Val {
			air, ok := fill.Air(v)
			if !ok {
				return nil
			}
			return measure{kind: volume, v: float64(air)}
		})},
		{name: "at.emptied", typ: celTypes[date], of: OfVessel, means: "day on which it was last emptied", get: func(s *subject) ref.Val {
			if s.vessel == nil || s.vessel.Emptied.IsZero() {
				return never
			}
			return on(s.vessel.Emptied, s.plan.zone)
		}},
		{name: "at.cleaned", typ: celTypes[date], of: OfVessel, means: "day on which it was last cleaned, rinsed or steamed", get: func(s *subject) ref.Val { return s.cared("cleaned", "rinsed", "steamed") }},
		{name: "vessel.cared_with", typ: tText, of: OfVessel, means: "with what it was last cared for, in lower case", get: func(s *subject) ref.Val {
			with := ""
			for _, r := range s.vessel.Records {
				if b, ok := r.Body.(cellar.Care); ok && r.Counts() {
					with = strings.ToLower(strings.TrimSpace(b.With + " " + b.Words))
				}
			}
			return text(with)
		}},
		{name: "at.sulfured", typ: celTypes[date], of: OfVessel, means: "day on which sulfur was last burned in it or a holding solution renewed", get: func(s *subject) ref.Val { return s.cared("sulfured") }},
		{name: "at.inspected", typ: celTypes[date], of: OfVessel, means: "day on which it was last looked over", get: func(s *subject) ref.Val { return s.cared("inspected", "swelled", "repaired") }},
	}
}

func instrumentWords() []word {
	return []word{
		{name: "instrument.name", typ: tText, of: OfInstrument, means: "the instrument's short name", get: func(s *subject) ref.Val {
			if s.instrument == nil {
				return nil
			}
			return text(s.instrument.Slug)
		}},
		{name: "instrument.type", typ: tText, of: OfInstrument, means: strings.Join(cellar.InstrumentTypes, ", "), get: func(s *subject) ref.Val {
			if s.instrument == nil {
				return nil
			}
			return text(s.instrument.Type)
		}},
		{name: "at.checked", typ: celTypes[date], of: OfInstrument, means: "day of its last check or calibration", get: func(s *subject) ref.Val {
			if s.instrument == nil {
				return nil
			}
			return s.plan.lastCheck(s.instrument)
		}},
		{name: "instrument.off", typ: tNumber, of: OfInstrument, means: "by how much the meter read wrong in its last check, without sign; pH", ask: "a check in a buffer", get: func(s *subject) ref.Val {
			if off, ok := checkError(s.instrument); ok {
				return num(off)
			}
			return nil
		}},
		{name: "at.best_by", typ: celTypes[date], of: OfInstrument, means: "its best-by day", ask: "its best-by day", get: func(s *subject) ref.Val {
			if s.instrument == nil {
				return nil
			}
			m, err := cellar.ParseMoment(s.instrument.BestBy)
			if err != nil {
				return nil
			}
			return on(m.Time, s.plan.zone)
		}},
	}
}

// wineWords are the last reading of each kind and how old it is.
func wineWords() []word {
	all := []word{
		{name: "wine.form", typ: tText, of: OfParcel, means: "fruit, must, wine or bottle", get: func(s *subject) ref.Val { return text(s.parcel.Form) }},
		{name: "wine.volume", typ: celTypes[volume], of: OfParcel, means: "volume", get: func(s *subject) ref.Val {
			if s.parcel.Volume <= 0 {
				return nil
			}
			return measure{kind: volume, v: float64(s.parcel.Volume)}
		}},
		{name: "wine.headspace_share", typ: tNumber, of: OfParcel, means: "room above the wine as a share of the vessel", ask: "the vessel's size", get: func(s *subject) ref.Val {
			air, ok := fill.Air(s.vessel)
			if !ok || s.vessel.Capacity() <= 0 {
				return nil
			}
			return num(float64(air / s.vessel.Capacity()))
		}},
		{name: "wine.faults", typ: tTexts, of: OfParcel, means: "faults named at the last tasting", get: func(s *subject) ref.Val { return texts(s.life.faults) }},
		{name: "wine.so2_added", typ: celTypes[concentration], of: OfParcel, means: "sulfur dioxide added to this wine in all", get: func(s *subject) ref.Val {
			if s.parcel.Volume <= 0 {
				return nil
			}
			return measure{kind: concentration, v: float64(s.parcel.Amount(cellar.SubstanceSO2)) / float64(s.parcel.Volume)}
		}},
		{name: "wine.sorbate", typ: tBool, of: OfParcel, means: "whether sorbate was added", get: func(s *subject) ref.Val { return yes(s.parcel.Amount("potassium-sorbate") > 0) }},
		{name: "wine.molecular_so2", typ: celTypes[concentration], of: OfParcel, means: "molecular SO2 by the measured free SO2 and pH, handbook constant", ask: "free SO2 and pH, measured", get: func(s *subject) ref.Val { return s.molecular() }},
	}
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		name := strings.ReplaceAll(r.What, "-", "_")
		ask := "a reading of " + r.Title
		typ, get := readingWord(r)
		if typ == nil {
			continue
		}
		decimals := 0
		if r.Dims != nil && r.Dims[0] == cellar.Gravity {
			decimals = 3
		}
		all = append(all,
			word{name: "wine." + name, typ: typ, decimals: decimals, of: OfParcel, means: r.Title + "; as last read", ask: ask, read: r.What, get: get},
			word{name: "at.read_" + name, typ: celTypes[date], of: OfParcel, means: fmt.Sprintf("day of the last reading of %s", r.Title), get: func(s *subject) ref.Val { return s.life.readOn(r.What, s.plan.zone) }})
	}
	return all
}

// readingWord says how a reading enters the conditions: as a figure of its kind,
// a number, or a word.
func readingWord(r *cellar.Readable) (*cel.Type, func(*subject) ref.Val) {
	if len(r.Words) > 0 {
		return tText, func(s *subject) ref.Val {
			if l := s.last(r.What); l != nil {
				return text(l.word)
			}
			return nil
		}
	}
	of := func(k kind, unit string, decimals int) (*cel.Type, func(*subject) ref.Val) {
		return celTypes[k], func(s *subject) ref.Val {
			if l := s.last(r.What); l != nil {
				return measure{kind: k, v: l.value, unit: unit, decimals: decimals}
			}
			return nil
		}
	}
	switch r.Dims[0] {
	case cellar.Concentration:
		decimals := 0
		if r.Unit == "g/L" {
			decimals = 2
		}
		return of(concentration, r.Unit, decimals)
	case cellar.Temperature:
		return of(temperature, "", 0)
	case cellar.Strength:
		return of(alcohol, "", 1)
	case cellar.Acidity, cellar.Gravity, cellar.Turbidity:
		return tNumber, func(s *subject) ref.Val {
			if l := s.last(r.What); l != nil {
				return num(l.value)
			}
			return nil
		}
	}
	return nil, nil
}

// checkError is how far the last check in a buffer was off, without sign.
func checkError(i *cellar.Instrument) (float64, bool) {
	off, found := 0.0, false
	for _, r := range i.Records {
		b, ok := r.Body.(cellar.PHCheck)
		if !ok || !r.Counts() {
			continue
		}
		buffer, err1 := cellar.ParseNumber(b.Buffer)
		read, err2 := cellar.ParseNumber(b.Read)
		if err1 == nil && err2 == nil {
			off, found = math.Abs(read-buffer), true
		}
	}
	return off, found
}
