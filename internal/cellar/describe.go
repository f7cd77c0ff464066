package cellar

import (
	"fmt"
	"strings"
)

// describe reads what lots, vessels and instruments are called and are. A name
// is valid for the whole of a record, also for entries that come before the
// one that gives it.
func (f *fold) describe(records []*Record) {
	for _, r := range records {
		if r.Other || len(r.Struck) > 0 {
			continue
		}
		switch b := r.Body.(type) {
		case LotStarted:
			f.describeLot(r, b)
		case VesselNamed:
			f.describeVessel(r, b)
		case InstrumentNamed:
			f.describeInstrument(r, b)
		case Bottling:
			f.describeBottles(r, b)
		}
	}
	f.otherNames()
}

func (f *fold) describeLot(r *Record, b LotStarted) {
	b.Slug = strings.ToLower(b.Slug)
	l := f.state.lots[b.Slug]
	if l == nil {
		l = &Lot{LotStarted: b}
		f.state.lots[b.Slug] = l
		f.state.Lots = append(f.state.Lots, l)
	} else {
		if !b.Anew {
			f.twoNames(r, "lot", b.Slug, l.Records[0])
		}
		if !r.Beyond || l.Records[0].Beyond {
			b.Was = append(b.Was, l.Was...)
			l.LotStarted = b
		}
	}
	l.Records = append(l.Records, r)
}

func (f *fold) describeVessel(r *Record, b VesselNamed) {
	b.Slug = strings.ToLower(b.Slug)
	v := f.state.vessels[b.Slug]
	if v == nil {
		v = &Vessel{VesselNamed: b, Known: true}
		f.state.vessels[b.Slug] = v
		f.state.Vessels = append(f.state.Vessels, v)
	} else {
		if !b.Anew {
			f.twoNames(r, "vessel", b.Slug, v.Records[0])
		}
		if !r.Beyond || v.Records[0].Beyond {
			b.Was = append(b.Was, v.Was...)
			v.VesselNamed = b
		}
	}
	v.Records = append(v.Records, r)
}

// describeBottles makes the vessel that stands for a bottling's bottles.
func (f *fold) describeBottles(r *Record, b Bottling) {
	slug := strings.ToLower(b.Slug)
	if v := f.state.vessels[slug]; v != nil {
		f.twoNames(r, "bottling or vessel", slug, v.Records[0])
		return
	}
	v := &Vessel{VesselNamed: VesselNamed{Slug: slug, Type: "bottles", Place: b.Place}, Known: true, Bottles: true, Records: []*Record{r}}
	f.state.vessels[slug] = v
	f.state.Vessels = append(f.state.Vessels, v)
}

func (f *fold) describeInstrument(r *Record, b InstrumentNamed) {
	b.Slug = strings.ToLower(b.Slug)
	i := f.state.instruments[b.Slug]
	if i == nil {
		i = &Instrument{InstrumentNamed: b, Known: true}
		f.state.instruments[b.Slug] = i
		f.state.Instruments = append(f.state.Instruments, i)
	} else {
		if !b.Anew {
			f.twoNames(r, "instrument", b.Slug, i.Records[0])
		}
		i.InstrumentNamed = b
	}
	i.Records = append(i.Records, r)
}

func (f *fold) twoNames(r *Record, what, slug string, first *Record) {
	g := f.find(r, FoundTwoNames, fmt.Sprintf("there is a %s called %s already: if it is the same one, say that this describes it anew; if not, one of them needs another name", what, slug))
	g.Entries = append(g.Entries, first.Entry.ID)
}

// otherNames makes earlier names valid, unless something else is called so now.
func (f *fold) otherNames() {
	for _, l := range f.state.Lots {
		for _, w := range l.Was {
			if f.state.lots[w] == nil {
				f.state.lots[w] = l
			}
		}
	}
	for _, v := range f.state.Vessels {
		for _, w := range v.Was {
			if f.state.vessels[w] == nil {
				f.state.vessels[w] = v
			}
		}
	}
}

// unnamed stands for a name that an entry leaves out.
const unnamed = "unnamed"

// vessel finds the vessel an entry names. One that nothing describes is taken
// as it is named, so that no wine is lost, and is a finding.
func (f *fold) vessel(r *Record, name string) *Vessel {
	slug := cmpOr(strings.ToLower(name), unnamed)
	if v := f.state.vessels[slug]; v != nil {
		return v
	}
	v := &Vessel{VesselNamed: VesselNamed{Slug: slug}}
	f.state.vessels[slug] = v
	f.state.Vessels = append(f.state.Vessels, v)
	says := "no vessel is called " + slug
	if slug == unnamed {
		says = "no vessel is named"
	}
	f.find(r, FoundUnknownVessel, says).Vessel = slug
	return v
}

// lot finds the lot an entry names, as vessel does.
func (f *fold) lot(r *Record, name string) *Lot {
	slug := cmpOr(strings.ToLower(name), unnamed)
	if l := f.state.lots[slug]; l != nil {
		return l
	}
	l := &Lot{LotStarted: LotStarted{Slug: slug}}
	f.state.lots[slug] = l
	f.state.Lots = append(f.state.Lots, l)
	says := "no lot is called " + slug
	if slug == unnamed {
		says = "it is not written of which lot this wine is"
	}
	f.find(r, FoundUnknownLot, says).Lot = slug
	return l
}
