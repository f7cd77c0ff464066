package cellar

import (
	"fmt"
	"math"
	"strings"

	"elevage/science/quantity"
)

// apply reckons one entry that counts into the state so far.
func (f *fold) apply(r *Record) {
	switch b := r.Body.(type) {
	case LotStarted, VesselNamed, InstrumentNamed, Strike:
		// described beforehand: a name is valid for the whole of a record
	case Purchase:
		f.state.Stores = append(f.state.Stores, r)
	case FruitReceived:
		f.fruit(r, b)
	case Crush:
		f.crush(r, b)
	case Press:
		f.press(r, b)
	case Movement:
		f.move(flow{r: r, how: b.How, lot: b.Lot, becomes: b.Becomes, from: b.From, to: b.To, losses: b.Losses, rest: b.Rest})
	case Bottling:
		f.bottling(r, b)
	case Opened:
		f.opened(r, b)
	case Dip, Addition, Reading, ControlKept, Inoculation, Stirring, Warmth, Treatment, Verdict:
		f.act(r)
	case Care:
		v := f.vessel(r, b.Vessel)
		v.Records = append(v.Records, r)
		if c := f.holds[v.Slug]; c != nil {
			touch(r, c.parcel)
		}
	case PHCheck:
		f.instrument(r, b.Instrument)
	case Calibration:
		f.instrument(r, b.Instrument)
	case Tasting:
		f.about(r, cmpOr(b.Bottling, b.Vessel), b.Lot)
	case Note:
		f.instrument(r, b.Instrument)
		f.about(r, b.Vessel, b.Lot)
	case Done:
		f.about(r, b.Vessel, b.Lot)
	case Attachment:
		f.about(r, b.Vessel, b.Lot)
		if to := f.state.records[b.To]; to != nil && b.Vessel == "" {
			for _, id := range to.Parcels {
				touch(r, f.state.parcels[id])
			}
		}
	}
}

// about puts an entry with the parcel in a vessel, the empty vessel, or the lot.
func (f *fold) about(r *Record, vessel, lot string) {
	if vessel != "" {
		v := f.vessel(r, vessel)
		if c := f.holds[v.Slug]; c != nil {
			touch(r, c.parcel)
		} else {
			v.Records = append(v.Records, r)
		}
		return
	}
	if lot != "" {
		l := f.lot(r, lot)
		l.Records = append(l.Records, r)
	}
}

func (f *fold) instrument(r *Record, name string) {
	if name == "" {
		return
	}
	i := f.state.instruments[strings.ToLower(name)]
	if i == nil {
		i = &Instrument{InstrumentNamed: InstrumentNamed{Slug: strings.ToLower(name)}}
		f.state.instruments[i.Slug] = i
		f.state.Instruments = append(f.state.Instruments, i)
	}
	i.Records = append(i.Records, r)
}

// place is the vessel and lot that an act names.
func place(b Body) (vessel, lot string) {
	switch b := b.(type) {
	case Dip:
		return b.Vessel, ""
	case Addition:
		return b.Vessel, b.Lot
	case Reading:
		return b.Vessel, b.Lot
	case ControlKept:
		return b.Vessel, ""
	case Inoculation:
		return b.Vessel, b.Lot
	case Stirring:
		return b.Vessel, ""
	case Warmth:
		return b.Vessel, b.Lot
	case Treatment:
		return b.Vessel, ""
	case Verdict:
		return b.Vessel, b.Lot
	}
	return "", ""
}

// act reckons something done to the wine in one vessel.
func (f *fold) act(r *Record) {
	vessel, lot := place(r.Body)
	if vessel == "" {
		f.about(r, "", lot)
		return
	}
	v := f.vessel(r, vessel)
	if b, ok := r.Body.(Reading); ok && b.Control {
		if p := f.controls[v.Slug]; p != nil {
			touch(r, p)
			return
		}
	}
	c := f.holds[v.Slug]
	if c == nil {
		f.actOnEmpty(r, v)
		return
	}
	f.actOn(r, v, c)
}

// actOnEmpty: a day's act need not follow in the order of the day's other
// entries. It belongs to what was in the vessel earlier that day, or waits for
// what comes into it later that day.
func (f *fold) actOnEmpty(r *Record, v *Vessel) {
	if r.Entry.Happened.Precision == Day {
		from, _ := r.Entry.Happened.Bounds()
		if n := len(v.Parcels); n > 0 && !v.Parcels[n-1].End.Before(from) {
			if _, dip := r.Body.(Dip); !dip {
				touch(r, v.Parcels[n-1])
				return
			}
		}
		f.waiting[v.Slug] = append(f.waiting[v.Slug], r)
		return
	}
	f.findEmpty(r, v)
}

func (f *fold) findEmpty(r *Record, v *Vessel) {
	v.Records = append(v.Records, r)
	if b, ok := r.Body.(Dip); ok {
		if n, _, err := b.Volume.Volume(); err == nil && n == 0 {
			return // it was empty, as the record says
		}
	}
	info, _ := InfoOf(r.Entry.Kind)
	f.find(r, FoundEmptyVessel, fmt.Sprintf("this %s is of %s, which held nothing", info.Title, v.Slug)).Vessel = v.Slug
}

// wake lets the acts of a day that waited for a vessel to be filled follow.
func (f *fold) wake(r *Record, v *Vessel) {
	waiting := f.waiting[v.Slug]
	if len(waiting) == 0 {
		return
	}
	delete(f.waiting, v.Slug)
	for _, w := range waiting {
		if _, to := w.Entry.Happened.Bounds(); r.At.Before(to) && f.holds[v.Slug] != nil {
			w.At, f.moved = r.At, true // it cannot have been before there was wine
			f.actOn(w, v, f.holds[v.Slug])
		} else {
			f.findEmpty(w, v)
		}
	}
}

func (f *fold) giveUpWaiting() {
	for slug, waiting := range f.waiting {
		for _, w := range waiting {
			f.findEmpty(w, f.state.vessels[slug])
		}
	}
	clear(f.waiting)
}

func (f *fold) actOn(r *Record, v *Vessel, c *contents) {
	touch(r, c.parcel)
	switch b := r.Body.(type) {
	case Dip:
		f.dip(r, v, c, b)
	case Addition:
		f.addition(r, v, c, b)
	case Inoculation:
		f.inoculation(r, v, c, b)
	case Verdict:
		f.verdict(v, c, b)
	case ControlKept:
		f.controls[v.Slug] = c.parcel
		if !b.Volume.IsZero() {
			f.move(flow{r: r, how: "removal", from: []Portion{{Vessel: b.Vessel}}, losses: []Loss{{LossSample, b.Volume}}})
		}
	}
}

// dip re-anchors a volume; off by more than both ± allow, it is a finding.
func (f *fold) dip(r *Record, v *Vessel, c *contents, b Dip) {
	if c.parcel.Form == FormFruit {
		return // fruit is reckoned by weight: how high it stands is only noted
	}
	unstated := unstatedSpread
	if b.How == "weight" {
		unstated = weighedSpread
	}
	measured, variance, err := volumeOf(b.Volume, unstated)
	if err != nil {
		f.find(r, FoundBadFigure, err.Error()).Vessel = v.Slug
		return
	}
	if off := measured - c.volume; math.Abs(off) > 2*sqrt(variance+c.variance)+dust {
		g := f.find(r, FoundVolumeOff, fmt.Sprintf("%s was found to hold %s L where the record says %s ± %s L: %s L is not accounted for",
			v.Slug, figure(measured), figure(c.volume), figure(sqrt(c.variance)), figure(math.Abs(off))))
		g.Vessel, g.Lot, g.Parcel = v.Slug, c.parcel.Lot, c.parcel.ID
	}
	if measured <= dust {
		f.pass(r, DoorReanchored, v.Slug, -c.volume, c.amounts)
		f.hold(r, v, nil)
		f.end(r, v, c.parcel)
		return
	}
	f.reanchor(r, v, c, measured-c.volume)
	f.hold(r, v, c.reanchored(measured, variance))
}

// reanchor notes that a measurement moves the record's volume. What was added
// was added: no amount goes through that door.
func (f *fold) reanchor(r *Record, v *Vessel, c *contents, by float64) {
	f.pass(r, DoorReanchored, v.Slug, by, nil)
}

// sugarVolume is what a gram of sugar adds to the volume, in L: 0.618 mL/g
// (27 CFR 24.304), 0.62 computed from sucrose densities, 0.625 by Cornell's table.
const sugarVolume = 0.00062

func (f *fold) addition(r *Record, v *Vessel, c *contents, b Addition) {
	more, err := b.substances(litres(c.volume))
	if err != nil && c.parcel.Form != FormFruit {
		g := f.find(r, FoundBadFigure, "how much was added cannot be reckoned: "+err.Error())
		g.Vessel, g.Note = v.Slug, true
	}
	f.weighAddition(r, v, c, b, more)
	n := c.with(more)
	if grow := growth(b); grow > 0 && n.volume > 0 {
		n.volume += grow
		n.variance += math.Pow(unstatedSpread*grow, 2)
	}
	if len(more) > 0 || n.volume != c.volume {
		f.pass(r, DoorAddition, v.Slug, n.volume-c.volume, scaleAmounts(more, -1))
		f.hold(r, v, n)
	}
}

// growth is what an addition adds to the volume, in L.
func growth(b Addition) float64 {
	if vol, _, err := b.Amount.Volume(); err == nil {
		return float64(vol)
	}
	if b.Product == "sugar" {
		if m, err := b.Amount.Mass(); err == nil {
			return m.Grams() * sugarVolume
		}
	}
	return 0
}

// weighAddition looks back at what an addition did to a wine at that stage.
func (f *fold) weighAddition(r *Record, v *Vessel, c *contents, b Addition, more []Amount) {
	about := func(g *Finding) { g.Vessel, g.Lot, g.Parcel = v.Slug, c.parcel.Lot, c.parcel.ID }
	lot := f.lot(r, c.parcel.Lot)
	if b.BringsSO2() && c.stage.fermented && !c.stage.converted && (c.stage.bacteria || lot.Malolactic == MalolacticWanted) {
		says := "sulfur dioxide went in before malolactic fermentation was declared finished"
		if len(more) > 0 && c.volume > 0 {
			for _, a := range more {
				if a.Substance == SubstanceSO2 {
					says += fmt.Sprintf(": %s mg/L", figure(a.Mass.Per(litres(c.volume)).MgPerL()))
				}
			}
		}
		about(f.find(r, FoundSO2Early, says))
	}
	if p, ok := productIndex[b.Product]; ok && p.Lactic && c.stage.fermented && (c.stage.bacteria || lot.Malolactic == MalolacticWanted) {
		about(f.find(r, FoundSorbate, "sorbate in a wine that may hold lactic bacteria: they turn it into a taint of geranium that has no remedy"))
	}
	if b.For.IsZero() || c.volume == 0 {
		return
	}
	meant, _, err := b.For.Volume()
	if err != nil {
		return
	}
	if off := math.Abs(float64(meant) - c.volume); off > max(0.05*c.volume, 2*sqrt(c.variance)) {
		about(f.find(r, FoundDoseVolume, fmt.Sprintf("this dose was reckoned for %s L; %s held %s L", figure(float64(meant)), v.Slug, figure(c.volume))))
	}
}

// hardSO2 is the total sulfur dioxide above which a malolactic culture rarely
// takes: workable 30 to 40, hard 40 to 60 mg/L (Australian Wine Research
// Institute, malolactic frequently asked questions and starter fact sheet).
const hardSO2 = 60 * quantity.MilligramPerLitre

func (f *fold) inoculation(r *Record, v *Vessel, c *contents, b Inoculation) {
	if b.Of != "malolactic" {
		return
	}
	n := *c
	n.stage.bacteria = b.How != "native" || n.stage.bacteria
	n.stage.converted = false
	f.holds[v.Slug] = &n
	if b.How == "native" {
		return
	}
	for _, a := range c.amounts {
		if a.Substance == SubstanceSO2 && c.volume > 0 && a.Mass.Per(litres(c.volume)) > hardSO2 {
			g := f.find(r, FoundCultureSulfite, fmt.Sprintf("a culture went into wine that has been given %s mg/L sulfur dioxide in all: above %s mg/L it rarely takes",
				figure(a.Mass.Per(litres(c.volume)).MgPerL()), figure(hardSO2.MgPerL())))
			g.Vessel, g.Lot, g.Parcel = v.Slug, c.parcel.Lot, c.parcel.ID
		}
	}
}

func (f *fold) verdict(v *Vessel, c *contents, b Verdict) {
	n := *c
	switch b.Says {
	case VerdictDry:
		n.stage.fermented = true
	case VerdictMalolacticStarted, VerdictMalolacticStuck:
		n.stage.bacteria, n.stage.converted = true, false
	case VerdictMalolacticFinished, VerdictMalolacticGivenUp:
		n.stage.fermented, n.stage.converted = true, true
	default:
		return
	}
	f.holds[v.Slug] = &n
}
