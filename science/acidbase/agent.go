package acidbase

import (
	"fmt"

	"elevage/science/quantity"
	"elevage/science/root"
)

// An Agent is something that is added to must or wine and shifts its acidity.
type Agent uint8

// Agents, as pure substances. A product's strength and water content are the caller's business.
const (
	TartaricAcid Agent = iota
	MalicAcid          // L or DL: the same in pH and titratable acidity, but bacteria convert only L
	LacticAcid
	CitricAcid             // anhydrous
	CitricAcidMonohydrate  // with one water
	PotassiumBicarbonate   // potassium hydrogen carbonate
	PotassiumCarbonate     // anhydrous
	CalciumCarbonate       // plain, not seeded for the double salt
	SodiumBicarbonate      // sodium hydrogen carbonate; not allowed in wine in most places
	PotassiumTartrate      // neutral, anhydrous K2C4H4O6
	PotassiumBitartrate    // potassium hydrogen tartrate, cream of tartar
	PotassiumMetabisulfite // its SO2 is taken to stay free
	SodiumMetabisulfite    // likewise
	PotassiumHydroxide     // for the bench, not for wine
	SodiumHydroxide        // for the bench, not for wine
	agentCount
)

// agentFacts is what one mole of an agent brings.
type agentFacts struct {
	name, formula     string
	molarMass         float64 // g/mol, IUPAC standard atomic weights
	acid              Acid
	acids             float64 // moles of that acid
	potassium, sodium float64
	calcium           float64
	carbonDioxide     float64 // moles that leave
}

var agents = [agentCount]agentFacts{
	TartaricAcid:           {name: "tartaric acid", formula: "C4H6O6", molarMass: 150.087, acid: Tartaric, acids: 1},
	MalicAcid:              {name: "malic acid", formula: "C4H6O5", molarMass: 134.087, acid: Malic, acids: 1},
	LacticAcid:             {name: "lactic acid", formula: "C3H6O3", molarMass: 90.078, acid: Lactic, acids: 1},
	CitricAcid:             {name: "citric acid", formula: "C6H8O7", molarMass: 192.123, acid: Citric, acids: 1},
	CitricAcidMonohydrate:  {name: "citric acid monohydrate", formula: "C6H8O7·H2O", molarMass: 210.138, acid: Citric, acids: 1},
	PotassiumBicarbonate:   {name: "potassium bicarbonate", formula: "KHCO3", molarMass: 100.115, potassium: 1, carbonDioxide: 1},
	PotassiumCarbonate:     {name: "potassium carbonate", formula: "K2CO3", molarMass: 138.205, potassium: 2, carbonDioxide: 1},
	CalciumCarbonate:       {name: "calcium carbonate", formula: "CaCO3", molarMass: 100.087, calcium: 1, carbonDioxide: 1},
	SodiumBicarbonate:      {name: "sodium bicarbonate", formula: "NaHCO3", molarMass: 84.007, sodium: 1, carbonDioxide: 1},
	PotassiumTartrate:      {name: "potassium tartrate", formula: "K2C4H4O6", molarMass: 226.267, acid: Tartaric, acids: 1, potassium: 2},
	PotassiumBitartrate:    {name: "potassium bitartrate", formula: "KC4H5O6", molarMass: 188.177, acid: Tartaric, acids: 1, potassium: 1},
	PotassiumMetabisulfite: {name: "potassium metabisulfite", formula: "K2S2O5", molarMass: 222.312, acid: Sulfurous, acids: 2, potassium: 2},
	SodiumMetabisulfite:    {name: "sodium metabisulfite", formula: "Na2S2O5", molarMass: 190.095, acid: Sulfurous, acids: 2, sodium: 2},
	PotassiumHydroxide:     {name: "potassium hydroxide", formula: "KOH", molarMass: 56.105, potassium: 1},
	SodiumHydroxide:        {name: "sodium hydroxide", formula: "NaOH", molarMass: 39.997, sodium: 1},
}

// Known says whether a is one of the package's constants.
func (a Agent) Known() bool { return a < agentCount }

// String is the trade's name.
func (a Agent) String() string {
	if !a.Known() {
		return fmt.Sprintf("agent %d", uint8(a))
	}
	return agents[a].name
}

// Formula is the chemical formula.
func (a Agent) Formula() string {
	if !a.Known() {
		return ""
	}
	return agents[a].formula
}

// An Ion is a metal that an agent may bring.
type Ion uint8

// The ions.
const (
	Potassium Ion = iota
	Sodium
	Calcium
)

// Brings is how much of an ion, g/L, a dose brings by molar mass; 0 for an ion that is
// not in it and for an agent that is not Known.
func (a Agent) Brings(ion Ion, dose quantity.Concentration) quantity.Concentration {
	if !a.Known() {
		return 0
	}
	f := &agents[a]
	moles := dose.GPerL() / f.molarMass
	switch ion {
	case Potassium:
		return quantity.Concentration(moles * f.potassium * potassiumMass)
	case Sodium:
		return quantity.Concentration(moles * f.sodium * sodiumMass)
	case Calcium:
		return quantity.Concentration(moles * f.calcium * calciumMass)
	}
	return 0
}

// CO2 is the carbon dioxide, g/L, that a dose of a carbonate sets free by stoichiometry;
// 0 for any other agent.
func (a Agent) CO2(dose quantity.Concentration) quantity.Concentration {
	if !a.Known() {
		return 0
	}
	return quantity.Concentration(dose.GPerL() / agents[a].molarMass * agents[a].carbonDioxide * facts[Carbonic].molarMass)
}

// NeutralisesPerGram is the titratable acidity, as tartaric acid, that a gram per
// litre takes away at once (negative: that it brings, each acid hydrogen counted
// once). Stoichiometry; what is left out: precipitation.
func (a Agent) NeutralisesPerGram() float64 {
	if !a.Known() {
		return 0
	}
	f := &agents[a]
	eq := f.potassium + f.sodium + 2*f.calcium - f.acids*facts[f.acid].protons
	return Tartaric.FromEquivalents(quantity.Molarity(eq / f.molarMass)).GPerL()
}

// mostDose is where a dose is taken for a slip of the pen.
const mostDose = 50.0 // g/L

// Add dissolves a dose (0 to 50 g/L) of an agent. The carbon dioxide of
// carbonates is taken to have left; nothing has precipitated yet (see
// Precipitate for what comes after). The small change of volume is left out.
func (c *Composition) Add(a Agent, dose quantity.Concentration) (Composition, error) {
	if !a.Known() {
		return *c, quantity.Check("agent", float64(a), "", 0, float64(agentCount-1))
	}
	if err := quantity.Check("dose of "+agents[a].name, dose.GPerL(), "g/L", 0, mostDose); err != nil {
		return *c, err
	}
	f := &agents[a]
	moles := dose.GPerL() / f.molarMass
	out := *c
	if f.acids > 0 {
		*out.amount(f.acid) += f.acid.Concentration(quantity.Molarity(moles * f.acids))
	}
	out.StrongIons += quantity.Molarity(moles * (f.potassium + f.sodium + 2*f.calcium))
	out.Potassium += quantity.Concentration(moles * f.potassium * potassiumMass)
	out.Calcium += quantity.Concentration(moles * f.calcium * calciumMass)
	return out, nil
}

// Unreachable says that no dose up to 50 g/L brings a wine to a target.
type Unreachable struct {
	Agent          Agent
	What           string // "pH" or "titratable acidity"
	Target, AtZero float64
	AtMost         float64 // value with the largest dose
	Unit           string
}

// Error says what was wanted and how far the agent reaches.
func (u *Unreachable) Error() string {
	unit := u.Unit
	if unit != "" {
		unit = " " + unit
	}
	return fmt.Sprintf("%s cannot bring %s to %.4g%s: it is %.4g%s without and %.4g%s with %g g/L",
		u.Agent, u.What, u.Target, unit, u.AtZero, unit, u.AtMost, unit, mostDose)
}

// DoseForPH is how much of an agent brings the wine to a pH, before anything
// precipitates; *Unreachable if none does.
func (c *Composition) DoseForPH(a Agent, target quantity.PH) (quantity.Concentration, error) {
	if err := quantity.Check("target pH", float64(target), "", 2, 9); err != nil {
		return 0, err
	}
	return c.dose(a, "pH", "", float64(target), func(m *Medium, c *Composition) (float64, error) {
		s, err := m.Solve(c)
		return float64(s.PH), err
	})
}

// DoseForTA is how much of an agent brings the titratable acidity, expressed as
// an acid and titrated to an end point, to a target; *Unreachable if none does.
func (c *Composition) DoseForTA(a Agent, target quantity.Concentration, end quantity.PH, as Acid) (quantity.Concentration, error) {
	if err := quantity.Check("target titratable acidity", target.GPerL(), "g/L", 0, mostAcid); err != nil {
		return 0, err
	}
	return c.dose(a, "titratable acidity", "g/L", target.GPerL(), func(m *Medium, c *Composition) (float64, error) {
		eq, err := m.TA(c, end)
		return as.FromEquivalents(eq).GPerL(), err
	})
}

func (c *Composition) dose(a Agent, what, unit string, target float64, measure func(*Medium, *Composition) (float64, error)) (quantity.Concentration, error) {
	m, err := c.Medium()
	if err != nil {
		return 0, err
	}
	var failed error
	at := func(dose float64) float64 {
		out, err := c.Add(a, quantity.Concentration(dose))
		if err != nil {
			failed = err
			return 0
		}
		v, err := measure(&m, &out)
		if err != nil {
			failed = err
		}
		return v - target
	}
	low, high := at(0), at(mostDose)
	if failed != nil {
		return 0, failed
	}
	dose, err := root.Between(at, 0, mostDose)
	if err != nil {
		return 0, &Unreachable{Agent: a, What: what, Unit: unit, Target: target, AtZero: low + target, AtMost: high + target}
	}
	return quantity.Concentration(dose), failed
}
