package track

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"elevage/science/quantity"
)

// Malo is the belief about the malolactic conversion of one parcel on Input.At.
// Readings need not be in order. It returns an error only for input that cannot be
// judged (no day, inoculation in the future); missing facts make it wider, not
// impossible, and are named among the flags.
func Malo(in Input) (Belief, error) {
	if err := in.settle(); err != nil {
		return Belief{}, err
	}
	p := sample(&in)
	b := Belief{Name: in.Facts.Name, At: Date{in.At}, Model: ModelVersion, Limit: in.Options.Limit}
	b.Draws = column(p.fates, func(f *fate) float64 { return f.now })
	b.Malic = outward(spread[quantity.Concentration](b.Draws, 6))
	b.Initial = spread[quantity.Concentration](column(p.fates, func(f *fate) float64 { return f.m0 }), 3)
	b.Rate = spread[quantity.Concentration](column(p.fates, func(f *fate) float64 { return f.rate }), 4)
	b.State = p.states()
	b.PFinished = b.State.Finished
	b.Finish = p.finish(p.fates)
	b.Decision = p.decide(b.State)
	b.Flags = p.assumptions()
	for _, q := range p.kin {
		b.Siblings = append(b.Siblings, q.Name)
	}
	b.Sampler = p.sampling(b.PFinished)
	if b.Sampler.ESS < lowESS {
		b.Flags = append(b.Flags, Flag{Kind: "sampler", Message: "the readings pull against each other so hard that these figures are rough: read them loosely"})
	}
	if in.Options.Brief {
		return b, nil
	}
	b.PH, b.TA = p.acidity()
	b.Fan = p.fan(b.Finish)
	b.NextTest = p.nextTest(b.Decision, b.State)
	if b.Decision.Call == CallCannotTell && b.NextTest.On != nil {
		on := "today"
		if b.NextTest.On.After(in.At) {
			on = "on " + b.NextTest.On.String()
		}
		b.Decision.Reason += fmt.Sprintf(" What would help most: %s %s.", testNames[What(b.NextTest.What)], on)
	}
	b.WhatIf = p.whatIfs()
	b.Flags = append(b.Flags, p.arrived()...)
	b.Stuck = p.stuck(b.State)
	var flags []Flag
	b.Readings, flags = p.pulls(float64(b.Malic.Q50))
	b.Flags = append(b.Flags, flags...)
	if len(flags) > 0 && b.NextTest.What == string(None) {
		b.NextTest.Reason = "First settle what does not add up: make that reading again, on a sample from this vessel."
	}
	b.Evidence = p.story(&b)
	return b, nil
}

func (p *posterior) sampling(gone float64) Sampling {
	ess := math.Max(1, p.draws.ESS)
	return Sampling{Seed: p.in.Options.Seed, Particles: len(p.fates), ESS: round(ess, 0), Steps: p.draws.Steps,
		Error: round(math.Sqrt(gone*(1-gone)/ess), 4)}
}

// assumptions names what was not known and what stood in for it.
func (p *posterior) assumptions() []Flag {
	f := &p.facts
	var missing []string
	for _, m := range []struct {
		lacks bool
		text  string
	}{
		{f.PH == nil, fmt.Sprintf("pH (taken as %.2f)", float64(firstPH(p.used)))},
		{f.TA == nil, fmt.Sprintf("titratable acidity (%.1f g/L)", float64(assumed.ta))},
		{f.Alcohol == nil, fmt.Sprintf("alcohol (%g %% vol)", float64(assumed.alcohol))},
		{f.Temperature == nil && !p.readEarly(Temperature), fmt.Sprintf("temperature (%g °C)", float64(assumed.temperature))},
		{f.TotalSO2 == nil, fmt.Sprintf("total SO2 (%g mg/L)", assumed.total.MgPerL())},
		{f.Inoculated == nil, "date of inoculation (first reading)"},
		{f.Inoculation == nil, "way of inoculating (direct)"},
	} {
		if m.lacks {
			missing = append(missing, m.text)
		}
	}
	flags := []Flag{}
	if len(missing) > 0 {
		flags = append(flags, Flag{Kind: "assumption", Message: "not known, so assumed: " + strings.Join(missing, ", ")})
	}
	if len(f.Unrecognised) > 0 {
		flags = append(flags, Flag{Kind: "assumption", Message: "facts that nobody here understands were left out: " + strings.Join(f.Unrecognised, ", ")})
	}
	if p.chem.doubtful {
		flags = append(flags, Flag{Kind: "chemistry", Message: "the pH and titratable acidity given hardly fit one wine; check their unit and end point"})
	}
	return flags
}

// early is how many days may go by before a figure of the start is called assumed: until
// then hardly anything has happened.
const early = 3

// readEarly says whether something was read within the first days.
func (p *posterior) readEarly(what What) bool {
	return slices.ContainsFunc(p.used, func(r Reading) bool { return r.What == what && p.season.day(r.On) <= early })
}

// story tells the case in a winemaker's words.
func (p *posterior) story(b *Belief) []string {
	var s []string
	day := p.season.now
	s = append(s, fmt.Sprintf("Day %d since inoculation (%s). Malic acid now %.2f g/L, 9 in 10 between %.2f and %.2f; it began at about %.1f.",
		day, p.how, float64(b.Malic.Q50), float64(b.Malic.Q05), float64(b.Malic.Q95), float64(b.Initial.Q50)))
	if len(b.Siblings) > 0 {
		s = append(s, "Readings of "+strings.Join(b.Siblings, " and ")+", of the same wine and bacteria, count as well.")
	}
	s = append(s, fmt.Sprintf("Lagging %s, active %s, stalled %s, finished %s.",
		percent(b.State.Lagging), percent(b.State.Active), percent(b.State.Stalled), percent(b.State.Finished)))
	switch {
	case b.Finish.Q50 == nil:
		s = append(s, "As things stand it may well never finish by itself.")
	case b.State.Finished < 0.5:
		s = append(s, fmt.Sprintf("Half the chance is that it is finished by %s.", b.Finish.Q50))
	}
	var top *Pull
	for i := range b.Readings {
		r := &b.Readings[i]
		if top == nil || math.Abs(float64(r.Shift)) > math.Abs(float64(top.Shift)) {
			top = r
		}
	}
	if top != nil && math.Abs(float64(top.Shift)) >= 0.03 {
		s = append(s, fmt.Sprintf("What moved this most: %s %s on %s; without it the malic acid would be put at %.2f g/L.",
			ReadingWords(top.What), top.Value, top.On, float64(top.Malic)))
	}
	for _, f := range b.Flags {
		if f.Kind == "contradiction" {
			s = append(s, sentence(f.Message))
		}
	}
	return s
}

// sentence makes a clause one. "pH" stays as it is.
func sentence(clause string) string {
	if !strings.HasPrefix(clause, "pH") {
		clause = strings.ToUpper(clause[:1]) + clause[1:]
	}
	return clause + "."
}
