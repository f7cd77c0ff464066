package track

import (
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// An act is something that could be done today.
type act struct {
	what, caution string
	c             change
	open          bool // as the wine lies
}

// remedies are the acts that may bring a conversion to its end, one change at a time
// so that the result teaches something.
func (p *posterior) remedies() []act {
	warm := quantity.Celsius(21)
	starter := malolactic.Starter
	now := p.season.temps[p.season.now]
	var out []act
	for _, a := range []act{
		{"warm to 21 °C", "bring the wine there slowly and leave the vessel room to expand", change{temperature: &warm}, now < 20.5},
		{"cool to 21 °C", "slowly: a cold shock stops bacteria too", change{temperature: &warm}, now > 25},
		{"stir the lees", "gently, without air; what it does is a judgement", change{stir: true}, true},
		{"add an acclimatised starter", "what stopped the first bacteria may stop these: settle the cause first", change{inoculate: &starter}, true},
	} {
		if a.open {
			out = append(out, a)
		}
	}
	return out
}

// whatIfs sets the finish side by side for the things that could be done today.
// All share the same draws and the same future, so they differ by the act alone.
func (p *posterior) whatIfs() []WhatIf {
	acts := append([]act{{what: "wait"}}, p.remedies()...)
	acts = append(acts, act{what: "sulfite now (30 mg/L)", caution: "stops most conversions; what malic acid is left stays, or goes on later, in the bottle too",
		c: change{sulfite: 30 * quantity.MilligramPerLitre}})
	thin := p.everyOf(400)
	var out []WhatIf
	for _, a := range acts {
		fates := p.thinned(thin)
		if a.c != (change{}) {
			fates = p.follow(a.c, thin)
		}
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
