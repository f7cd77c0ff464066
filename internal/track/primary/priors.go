package primary

import (
	"math"

	"elevage/science/bayes"
	"elevage/science/cited"
)

// Coordinates of the lot. After the fixed ones come the knots of the wandering
// activity up to now, the instruments' offsets, and in the model of a stall its time
// and its fading.
const (
	zSugar = iota
	zNitrogen
	zLag
	zBeta
	zDeath
	zBrake
	zTail
	zExtract
	fixed
)

// knotDays are where the activity's wandering is set, days from pitching.
var knotDays = [...]float64{1, 3, 5.5, 9, 14, 21, 32}

// Wandering of the activity: SD of ln, and what carries over to the next knot. A
// judgement: nutrients, cap work and air come and go, and the law is a flask's.
const (
	wanderSD    = 0.20
	wanderCarry = 0.5
)

// wildYeast stands for the few living cells of a wild ferment, g/L: a proposal.
const wildYeast = 0.003

// lotPriors are those of the reference, with what was measured put in.
func lotPriors(in Input) [fixed]bayes.Prior {
	memory := func(s string) cited.Source { return cited.Source{Text: s, Mark: cited.Memory} }
	ours := func(s string) cited.Source { return cited.Source{Text: s, Mark: cited.Proposal} }
	p := [fixed]bayes.Prior{
		zSugar:    {Name: "sugar at pitching", Unit: "g/L", Family: bayes.Normal, Location: 220, Spread: 40, Low: 60, High: 400, Source: ours("musts of the trade; the first density tells")},
		zNitrogen: {Name: "assimilable nitrogen", Unit: "g/L", Family: bayes.LogNormal, Location: 0.150, Spread: 0.45, Low: 0.01, High: 1, Source: memory("low tens to 250 mg/L in one state in one season")},
		zLag:      {Name: "lag at 20 °C", Unit: "h", Family: bayes.LogNormal, Location: 12, Spread: 0.7, Source: memory("the law has none; 12 h, log-SD 0.6, and what varies in the living yeast pitched shows as more of the same")},
		zBeta:     {Name: "speed against the flask", Family: bayes.LogNormal, Location: 0.8, Spread: 0.3, Source: memory("flask data run faster than cellars")},
		zDeath:    {Name: "loss of cells against the flask", Family: bayes.LogNormal, Location: 0.15, Spread: 1.0, Source: ours("the reference's 1 (log-SD 0.7) is for the law without a brake and lets 13 to 27 % of musts at 15 to 28 °C stick; with brake and tail, 0.15 lets 6 to 10 % stick. Cramer et al. 2002 doubt cell death as the cause")},
		zBrake:    {Name: "ethanol that halves the use of sugar", Unit: "g/L in the law's own yield", Family: bayes.LogNormal, Location: 150, Spread: 0.6, Source: ours("reversible inhibition; without it every slowing would be read as dying")},
		zTail:     {Name: "slowness of the last sugar against the flask", Family: bayes.LogNormal, Location: 1.5, Spread: 0.6, Source: ours("fructose is left for last; a law that ends abruptly calls dryness too early")},
		zExtract:  {Name: "extract that is not sugar", Unit: "g/L as sucrose", Family: bayes.Normal, Location: 24, Spread: 4, Source: cited.Source{Text: "OIV-MA-AS2-02 Table II against all Brix as sugar: 24 g/L at 20 Brix; spread ours", Mark: cited.Computed}},
	}
	if in.Nitrogen != nil {
		sd := 0.15
		if in.Nitrogen.SD > 0 {
			sd = math.Max(0.03, in.Nitrogen.SD.GPerL()/in.Nitrogen.Value.GPerL())
		}
		p[zNitrogen].Location, p[zNitrogen].Spread = in.Nitrogen.Value.GPerL(), math.Hypot(sd, 0.15) // the test, and what yeast can use of it
		p[zNitrogen].Source = ours("as measured, 15 % for what yeast can use")
	}
	if in.Wild {
		p[zLag].Location, p[zLag].Spread, p[zLag].Source = 30, 0.8, ours("wild ferment")
	}
	return p
}

// hazard of a stall per day: the base, times what the sources name as stress. The
// factors are judgements; Input.StallOdds sets the base.
func (in Input) hazard() (perDay float64, why []string) {
	h := in.StallOdds
	hot := in.assumed()
	cold := hot
	for _, t := range in.Warmth {
		if !t.At.After(in.At) {
			hot, cold = max(hot, t.Value), min(cold, t.Value)
		}
	}
	if hot > 32 {
		h *= 5
		why = append(why, "the liquid was above 32 °C")
	}
	if cold < 13 && in.Red {
		h *= 2
		why = append(why, "the liquid was below 13 °C")
	}
	if in.Nitrogen != nil && in.Nitrogen.Value.MgPerL() < 120 && len(in.Nutrients) == 0 {
		h *= 1.5
		why = append(why, "little nitrogen")
	}
	if in.PH > 0 && in.PH < 3.1 {
		h *= 1.5
		why = append(why, "pH under 3.1")
	}
	return h, why
}
