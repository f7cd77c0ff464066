package track

import (
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// whatIfs sets the finish side by side for the things that could be done today.
// All share the same draws and the same future, so they differ by the act alone.
func (p *posterior) whatIfs() []WhatIf {
	warm := quantity.Celsius(21)
	starter := malolactic.Starter
	acts := []struct {
		what, caution string
		c             change
		open          bool
	}{
		{"wait", "", change{}, true},
		{"warm to 21 °C", "bring the wine there slowly and leave the vessel room to expand", change{temperature: &warm}, p.season.temps[p.season.now] < 20.5},
		{"stir the lees", "gently, without air; what it does is a judgement", change{stir: true}, true},
		{"add an acclimatised starter", "what stopped the first bacteria may stop these: settle the cause first", change{inoculate: &starter}, true},
		{"sulfite now (30 mg/L)", "ends the conversion for most purposes; what malic acid is left stays", change{sulfite: 30 * quantity.MilligramPerLitre}, true},
	}
	thin := max(1, len(p.fates)/300)
	var out []WhatIf
	for _, a := range acts {
		if !a.open {
			continue
		}
		fates := p.follow(a.c, thin)
		w := WhatIf{What: a.what, Finish: p.finish(fates), Caution: a.caution}
		for i := range fates {
			if fates[i].finish <= float64(p.season.now+30) {
				w.Within++
			}
		}
		w.Within = round(w.Within/float64(len(fates)), 3)
		out = append(out, w)
	}
	return out
}
