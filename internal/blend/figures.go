package blend

import "elevage/internal/compose"

// A Figure is one property of a blend as it is told: in its unit, with one standard
// deviation, and how it is known.
type Figure struct {
	Wanted
	Value, SD float64
	How       compose.How
	Trouble   string // why there is none
}

// Figures are the properties of a blend that mix or are solved, in the order in which
// they are asked; free sulfur dioxide is not among them (Blend.Free).
func (b *Blend) Figures() []Figure {
	var out []Figure
	known := &b.Wine
	if len(b.Parts) == 1 { // one wine alone is known as it was read
		known = &b.Parts[0].Source.Wine
	}
	for _, w := range CanWant {
		if w.p == share || w.p == freeSO2 {
			continue
		}
		f := Figure{Wanted: w, How: howKnown(w.p, known)}
		f.Value, f.SD = w.p.of(&b.Wine)
		f.Value, f.SD = f.Value*properties[w.p].shown, f.SD*properties[w.p].shown
		if w.p == ph {
			f.Trouble = b.Wine.PHTrouble
		}
		out = append(out, f)
	}
	return out
}

func howKnown(p property, w *compose.Wine) compose.How {
	switch p {
	case alcohol:
		return w.Alcohol.How
	case ta:
		return w.TA.How
	case ph:
		return w.PH.How
	case sugar:
		return w.Sugar.How
	case va:
		return w.VA.How
	case totalSO2:
		return w.TotalSO2.How
	}
	return w.Malic.How
}

// Off is how far a blend is above (or, negative, below) a target, in the unit that it
// is told in.
func (m *Miss) Off() float64 {
	return m.By * m.Target.tolerance * properties[m.Target.p].shown
}

// Unit is the unit that the target is told in; "" for pH.
func (m *Miss) Unit() string { return properties[m.Target.p].unit }

// Met says whether a target is met within what hardly matters.
func (m *Miss) Met() bool { return m.By >= -1-hair && m.By <= 1+hair }
