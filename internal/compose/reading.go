package compose

import (
	"math"

	"elevage/internal/cellar"
	"elevage/science/acidbase"
	"elevage/science/quantity"
	"elevage/science/strength"
)

func gPerL(v float64) quantity.Concentration { return quantity.Concentration(v) }
func molPerL(v float64) quantity.Molarity    { return quantity.Molarity(v) }
func percentVol(v float64) quantity.Strength { return quantity.Strength(v) }

// roomTemperature is where a pH is reckoned.
const roomTemperature quantity.Temperature = 20

// A spread is how far a reading of a kind may be trusted, one standard deviation:
// a fixed part and a part of the value. Of a reading with a stated ± that is used
// instead; one from a laboratory is taken for twice as good.
type spread struct{ fixed, part float64 }

// From the handbook's table of reading errors, session offsets included; all from
// memory, unverified, but for alcohol (1.8 % between wineries, Butzke 2002).
var spreads = map[string]spread{
	cellar.ReadPH:        {0.06, 0},
	cellar.ReadTA:        {0.2, 0},
	cellar.ReadMalic:     {0.1, 0.05},
	cellar.ReadLactic:    {0.1, 0.05},
	cellar.ReadAlcohol:   {0, 0.018},
	cellar.ReadSugar:     {0.3, 0.05},
	cellar.ReadTartaric:  {0.2, 0.05},
	cellar.ReadPotassium: {0.03, 0.05},
	cellar.ReadVA:        {0.05, 0.05},
	cellar.ReadTotalSO2:  {0.005, 0.05},
}

func (s spread) of(v float64) float64 { return math.Hypot(s.fixed, s.part*v) }

// partOf are the readings that say at once what a part is.
var partOf = map[string]int{
	cellar.ReadMalic: malic, cellar.ReadLactic: lactic, cellar.ReadAlcohol: alcohol, cellar.ReadSugar: sugar, cellar.ReadTartaric: tartaric,
	cellar.ReadPotassium: potassium, cellar.ReadVA: acetic, cellar.ReadTotalSO2: so2, cellar.ReadTA: ta,
}

// grasp reads a measurement as a figure of a part; ok is false if it says nothing
// of one. A result "under x" is taken for half of x, give or take.
func (w *walk) grasp(r *cellar.Record, b cellar.Reading) (part int, f fig, ok bool) {
	part, known := partOf[b.What]
	v, stated := 0.0, 0.0
	switch {
	case b.What == cellar.ReadDensity:
		return w.graspDensity(r, b)
	case !known:
		return 0, fig{}, false
	case b.What == cellar.ReadAlcohol:
		s, err := b.Value.Strength()
		if err != nil {
			return 0, fig{}, false
		}
		v, stated = s.Percent(), statedSpread(b.Value)
	case b.What == cellar.ReadTA || b.What == cellar.ReadVA:
		c, s, ok := acidity(b)
		if !ok {
			return 0, fig{}, false
		}
		v, stated = c.GPerL(), s.GPerL()
	default:
		c, s, err := b.Value.Concentration()
		if err != nil {
			return 0, fig{}, false
		}
		v, stated = c.GPerL(), s.GPerL()
	}
	sd := spreads[b.What].of(v)
	if b.Lab != "" {
		sd /= 2
	}
	if stated > 0 {
		sd = stated
	}
	switch b.Value.Bound() {
	case "<":
		v, sd = v/2, v/math.Sqrt(12)
	case ">":
		return 0, fig{}, false // at least so much: no figure to go on with
	}
	return part, read(v, w.key("read/"+string(r.Entry.ID)), sd), true
}

func statedSpread(m *cellar.Measure) float64 {
	s, err := cellar.ParseNumber(m.Spread)
	if err != nil {
		return 0
	}
	return s
}

// endFactor is what a titration to pH 7.0 is multiplied by to be one to 8.2, where
// the wine's own curve is not known: 3 ± 2 % more, from memory. The standards differ
// by end point (OIV 7.0, AOAC 8.2).
const endFactor, endFactorSpread = 1.03, 0.02

// acidity is a titratable acidity as tartaric, or a volatile one as acetic acid.
func acidity(b cellar.Reading) (c, sd quantity.Concentration, ok bool) {
	to := acidbase.Tartaric
	if b.What == cellar.ReadVA {
		to = acidbase.Acetic
	}
	as, known := acidNames[b.As]
	if b.As == "" {
		as, known = to, true
	}
	if !known {
		return 0, 0, false
	}
	c, sd, err := b.Value.Concentration()
	if err != nil {
		n, err := b.Value.Number()
		if err != nil || b.Value.Unit != "meq/L" {
			return 0, 0, false
		}
		return to.FromEquivalents(molPerL(n * 1e-3)), to.FromEquivalents(molPerL(statedSpread(b.Value) * 1e-3)), true
	}
	return as.Convert(c, to), as.Convert(sd, to), true
}

var acidNames = map[string]acidbase.Acid{"tartaric": acidbase.Tartaric, "malic": acidbase.Malic, "lactic": acidbase.Lactic, "citric": acidbase.Citric,
	"sulfuric": acidbase.Sulfuric, "acetic": acidbase.Acetic, "succinic": acidbase.Succinic}

// graspDensity reads the sugar of a must off its density, by OIV-MA-AS2-02 Table II,
// before it ferments; in a fermenting must a float does not tell.
func (w *walk) graspDensity(r *cellar.Record, b cellar.Reading) (part int, f fig, ok bool) {
	brix, err := b.Value.MustBrix()
	if err != nil {
		return 0, fig{}, false
	}
	s, err := strength.FermentableSugar(brix)
	if err != nil {
		return 0, fig{}, false
	}
	// Low and high of the table's range lie further apart than one standard
	// deviation each way; the float adds 0.3 Brix, some 3 g/L.
	return sugar, read(s.Likely.GPerL(), w.key("read/"+string(r.Entry.ID)), 6), true
}
