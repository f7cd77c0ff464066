package advise

import (
	"slices"
	"strings"

	"elevage/internal/cellar"
)

// write checks what entry a step writes.
func (b *builder) write(s *Step, f *writeFile) *draft {
	if f == nil {
		return nil
	}
	d := &draft{kind: cellar.Kind(f.Entry.text), line: f.Entry.line, words: b.template("words", f.Words),
		fields: map[string]string{"product": f.Product, "what": f.What, "how": f.How, "says": f.Says, "purpose": f.Purpose}}
	d.set = b.formula("set", f.Set, celTypes[temperature])
	oneOf := func(name, given string, allowed []string) {
		if !slices.Contains(allowed, given) {
			b.bad(d.line, name, given, strings.Join(allowed, ", "))
		}
	}
	switch d.kind {
	case cellar.KindAddition:
		if !cellar.SlugOK(f.Product) {
			b.bad(d.line, "product", f.Product, "a short name such as potassium-metabisulfite")
		}
	case cellar.KindReading:
		if _, ok := cellar.LookupReadable(f.What); !ok {
			b.bad(d.line, "what", f.What, readables())
		}
	case cellar.KindInoculation:
		oneOf("what", f.What, cellar.Ferments)
		oneOf("how", f.How, cellar.Inoculations)
	case cellar.KindVerdict:
		oneOf("says", f.Says, cellar.Verdicts)
	case cellar.KindTreatment:
		oneOf("what", f.What, cellar.Treatments)
	case cellar.KindCare:
		oneOf("what", f.What, cellar.Cares)
	case cellar.KindMovement:
		oneOf("how", f.How, cellar.MovementKinds)
	case cellar.KindStirring:
		oneOf("what", f.What, []string{"lees", "punch-down", "pump-over", "rack-and-return"})
	case cellar.KindWarmth:
		if d.set == nil {
			b.bad(d.line, "set", "", "a temperature such as celsius(20)")
		}
	case cellar.KindTasting, cellar.KindPHCheck, cellar.KindControl, cellar.KindDip, cellar.KindPress, cellar.KindBottling, cellar.KindNote, cellar.KindLot:
	default:
		b.bad(d.line, "entry", f.Entry.text, "addition, reading, inoculation, verdict, treatment, care, movement, stirring, warmth, tasting, ph-check, control, dip, press, bottling, note, lot")
	}
	if s.Of == OfCellar && d.kind != cellar.KindNote {
		b.bad(d.line, "entry", f.Entry.text, "note, for a step about the cellar")
	}
	return d
}

func readables() string {
	var names []string
	for _, r := range cellar.Readables {
		names = append(names, r.What)
	}
	return strings.Join(names, ", ")
}

// body is the half-written entry: what was planned is filled in, what only the
// person can know is left open.
func (d *draft) body(s *subject, r reckoned) cellar.Body {
	words, _ := d.words.fill(s)
	vessel, lot := "", ""
	if s.vessel != nil {
		vessel = s.vessel.Slug
	}
	if s.lot != nil {
		lot = s.lot.Slug
	}
	switch d.kind {
	case cellar.KindAddition:
		a := cellar.Addition{Vessel: vessel, Product: d.fields["product"], Purpose: d.fields["purpose"], Words: words}
		if r.working != nil && r.unit != "" {
			a.Amount, a.Planned = cellar.M(r.text, r.unit), cellar.M(r.text, r.unit)
		}
		if r.stock {
			a.Solution, a.Strength = true, cellar.M("10", "%")
		}
		if s.parcel.Volume > 0 {
			a.For = cellar.M(numeral(float64(s.parcel.Volume)), "L")
		}
		return a
	case cellar.KindReading:
		return cellar.Reading{Vessel: vessel, What: d.fields["what"], Words: words}
	case cellar.KindInoculation:
		return cellar.Inoculation{Vessel: vessel, Of: d.fields["what"], How: d.fields["how"], Words: words}
	case cellar.KindVerdict:
		return cellar.Verdict{Vessel: vessel, Says: d.fields["says"], Evidence: words}
	case cellar.KindTreatment:
		return cellar.Treatment{Vessel: vessel, What: d.fields["what"], Words: words}
	case cellar.KindCare:
		return cellar.Care{Vessel: vessel, What: d.fields["what"], Words: words}
	case cellar.KindStirring:
		return cellar.Stirring{Vessel: vessel, What: d.fields["what"], Words: words}
	case cellar.KindMovement:
		return d.movement(s, vessel, words)
	case cellar.KindWarmth:
		w := cellar.Warmth{Vessel: vessel, Words: words}
		if v, _, err := d.set.eval(s); err == nil && v != nil {
			if t, ok := v.(measure); ok {
				w.Set = cellar.M(numeral(t.v), "°C")
			}
		}
		return w
	case cellar.KindTasting:
		return cellar.Tasting{Vessel: vessel, Words: words}
	case cellar.KindPHCheck:
		c := cellar.PHCheck{Words: words}
		if s.instrument != nil {
			c.Instrument = s.instrument.Slug
		} else if s.plan.meter != nil {
			c.Instrument = s.plan.meter.Slug
		}
		return c
	case cellar.KindControl:
		return cellar.ControlKept{Vessel: vessel, Volume: cellar.M("100", "mL"), Kept: "frozen", Words: words}
	case cellar.KindDip:
		return cellar.Dip{Vessel: vessel, Words: words}
	case cellar.KindPress:
		return cellar.Press{From: []cellar.Portion{{Vessel: vessel, All: true}}, Words: words}
	case cellar.KindBottling:
		return cellar.Bottling{From: []cellar.Portion{{Vessel: vessel, All: true}}, Size: cellar.M("750", "mL"), Words: words}
	case cellar.KindLot:
		l := s.lot.LotStarted
		return l
	}
	return cellar.Note{Vessel: vessel, Lot: lot, Words: words}
}

func (d *draft) movement(s *subject, vessel, words string) cellar.Body {
	m := cellar.Movement{How: d.fields["how"], Words: words}
	if m.How == "topping" {
		m.To = []cellar.Portion{{Vessel: vessel}}
		if room := s.room(); room > 0 {
			m.To[0].Volume = cellar.M(numeral(float64(room)), "L")
		}
		return m
	}
	m.From = []cellar.Portion{{Vessel: vessel, All: true}}
	m.Rest = cellar.LossLees
	return m
}
