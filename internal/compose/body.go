package compose

import (
	"elevage/internal/cellar"
	"elevage/science/acidbase"
)

// What a body is made of. Alcohol is in % vol, other and strong in mol/L of charge,
// all else in g/L.
const (
	alcohol = iota
	sugar
	tartaric
	malic
	lactic
	succinic
	citric
	acetic
	potassium
	calcium
	so2
	other
	strong
	ta // as tartaric acid, to pH 8.2
	parts
)

// A body is a wine at a moment.
type body struct {
	f [parts]fig
	// assumed is the share of the volume for which a part was never read; of strong,
	// the share whose pH was never read together with a TA.
	assumed [parts]float64
}

// blend pours bodies together by shares that add up to 1.
func blend(bodies []*body, shares []fig) body {
	if len(bodies) == 1 {
		return *bodies[0]
	}
	var out body
	for k := range out.f {
		for i, b := range bodies {
			out.f[k] = out.f[k].plus(b.f[k].times(shares[i].v))
			out.assumed[k] += b.assumed[k] * shares[i].v
		}
		// What shares are uncertain by moves the blend towards one part or another.
		for i, b := range bodies {
			for _, e := range shares[i].e {
				out.f[k] = out.f[k].with(e.key, e.c*b.f[k].v)
			}
		}
	}
	return out
}

// A usual is what a wine or must is taken to hold until it is read: a middling
// value and one standard deviation, wide enough that it is seldom believed.
type usual struct{ v, sd float64 }

// Usual wines and musts. Succinic, citric, acetic and lactic acid are those that
// acidbase.Anchor assumes; everything else is from memory, unverified, and only
// stands where nothing was read: figures that rest on it are told as assumed. Calcium
// is left out unless it was added: Anchor does without it. A must has none of the sulfur
// dioxide that nobody wrote down, but for the 10 mg/L or so that yeast makes itself.
var (
	usualWine = [parts]usual{
		alcohol: {13, 1.2}, sugar: {1.5, 1.5}, tartaric: {1.9, 0.6}, malic: {1.5, 1}, lactic: {acidbase.AssumedLactic.GPerL(), 0.4},
		succinic: {acidbase.AssumedSuccinic.GPerL(), 0.2}, citric: {acidbase.AssumedCitric.GPerL(), 0.15}, acetic: {acidbase.AssumedAcetic.GPerL(), 0.15},
		potassium: {1.0, 0.25}, so2: {0.03, 0.03}, other: {0.02, 0.01}, strong: {0.024, 0.008}, ta: {6, 1},
	}
	usualMust = [parts]usual{
		sugar: {220, 30}, tartaric: {5, 1.3}, malic: {3, 1.3}, citric: {0.25, 0.1}, potassium: {1.6, 0.4}, so2: {0, 0.01}, other: {0.01, 0.01}, strong: {0.035, 0.01}, ta: {7, 1.5},
	}
)

// unread is a body of which nothing was read.
func (w *walk) unread(of [parts]usual, what string) body {
	var b body
	for k, u := range of {
		b.f[k] = exactly(u.v)
		if u.sd > 0 {
			b.f[k] = read(u.v, w.key(what+"/"+partNames[k]), u.sd)
		}
		b.assumed[k] = 1
	}
	return b
}

var partNames = [parts]string{"alcohol", "sugar", "tartaric acid", "malic acid", "lactic acid", "succinic acid", "citric acid", "acetic acid",
	"potassium", "calcium", "total SO2", "other acids", "strong ions", "titratable acidity"}

// An effect is what a gram in a litre of something added does to each part.
type effect [parts]float64

// agentOf are the additions whose acid and ions are known.
var agentOf = map[string]acidbase.Agent{
	"tartaric-acid": acidbase.TartaricAcid, "malic-acid": acidbase.MalicAcid, "lactic-acid": acidbase.LacticAcid, "citric-acid": acidbase.CitricAcid,
	"potassium-bicarbonate": acidbase.PotassiumBicarbonate, "potassium-carbonate": acidbase.PotassiumCarbonate, "calcium-carbonate": acidbase.CalciumCarbonate,
	"cream-of-tartar": acidbase.PotassiumBitartrate,
}

// effectOf is the effect of a substance that an addition brings, by the name under
// which the cellar carries it. Sulfur dioxide is carried apart from its potassium;
// in wine it stands as hydrogen sulfite and bound, so that its charge takes that of
// its potassium back, which is left out of the strong ions with it.
func effectOf(substance string) (e effect, known bool) {
	switch substance {
	case cellar.SubstanceSO2:
		e[so2] = 1
		return e, true
	case "sugar":
		e[sugar] = 1
		return e, true
	}
	agent, ok := agentOf[substance]
	if !ok {
		return e, false
	}
	var none acidbase.Composition
	c, err := none.Add(agent, 1)
	if err != nil {
		return e, false
	}
	e[tartaric], e[malic], e[lactic], e[citric] = float64(c.Tartaric), float64(c.Malic), float64(c.Lactic), float64(c.Citric)
	e[potassium], e[calcium], e[strong] = float64(c.Potassium), float64(c.Calcium), float64(c.StrongIons)
	e[ta] = -agent.NeutralisesPerGram()
	return e, true
}

// composition is a body in the terms of package acidbase, at 20 °C.
func composition(v []float64) acidbase.Composition {
	at0 := func(k int) float64 { return max(0, v[k]) }
	return acidbase.Composition{
		Tartaric: gPerL(at0(tartaric)), Malic: gPerL(at0(malic)), Lactic: gPerL(at0(lactic)), Succinic: gPerL(at0(succinic)), Citric: gPerL(at0(citric)),
		Acetic: gPerL(at0(acetic)), Potassium: gPerL(at0(potassium)), Calcium: gPerL(at0(calcium)), Other: molPerL(at0(other)), StrongIons: molPerL(v[strong]),
		Alcohol: percentVol(min(at0(alcohol), 20)), Temperature: roomTemperature,
	}
}
