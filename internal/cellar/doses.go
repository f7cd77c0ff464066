package cellar

import (
	"fmt"
	"math"

	"elevage/science/quantity"
)

// sugarVolume is what a gram of sugar adds to the volume, in L: 0.618 mL/g
// (27 CFR 24.304), 0.62 computed from sucrose densities, 0.625 by Cornell's table.
const sugarVolume = 0.00062

func (s *step) addition(v vessel, c *contents, b Addition) {
	more, err := b.substances(litres(c.volume))
	if err != nil && c.parcel.Form != FormFruit {
		g := s.find(s.r, FoundBadFigure, "how much was added cannot be reckoned: "+err.Error())
		g.Vessel, g.Note = v.Slug, true
	}
	s.weighAddition(v, c, b, more)
	s.decide(v, c)
	n := c.with(more)
	if grow := growth(b); grow > 0 && n.volume > 0 {
		n.volume += grow
		n.variance += math.Pow(unstatedSpread*grow, 2)
	}
	if len(more) > 0 || n.volume != c.volume {
		s.transfer(Transfer{To: c.parcel.ID, Door: DoorAddition, Volume: litres(n.volume - c.volume), Amounts: more})
		s.hold(v, n)
	}
}

// growth is what an addition adds to the volume, in L.
func growth(b Addition) float64 {
	if vol, _, err := b.Amount.Volume(); err == nil {
		return float64(vol)
	}
	if b.Product == "sugar" {
		if m, err := b.Amount.Mass(); err == nil {
			return m.Grams() * sugarVolume
		}
	}
	return 0
}

// weighAddition looks back at what an addition did to a wine at that stage.
func (s *step) weighAddition(v vessel, c *contents, b Addition, more []Amount) {
	lot := s.lot(c.parcel.Lot)
	if b.BringsSO2() && c.stage.fermented && !c.stage.converted && (c.stage.bacteria || lot.Malolactic == MalolacticWanted) {
		says := "sulfur dioxide went in before malolactic fermentation was declared finished"
		if len(more) > 0 && c.volume > 0 {
			for _, a := range more {
				if a.Substance == SubstanceSO2 {
					says += fmt.Sprintf(": %s mg/L", figure(a.Mass.Per(litres(c.volume)).MgPerL()))
				}
			}
		}
		s.find(s.r, FoundSO2Early, says).about(c)
	}
	if p, ok := productIndex[b.Product]; ok && p.Lactic && c.stage.fermented && (c.stage.bacteria || lot.Malolactic == MalolacticWanted) {
		s.find(s.r, FoundSorbate, "sorbate in a wine that may hold lactic bacteria: they turn it into a taint of geranium that has no remedy").about(c)
	}
	if b.For.IsZero() || c.volume == 0 {
		return
	}
	meant, _, err := b.For.Volume()
	if err != nil {
		return
	}
	if off := math.Abs(float64(meant) - c.volume); off > max(0.05*c.volume, 2*sqrt(c.variance)) {
		s.find(s.r, FoundDoseVolume, fmt.Sprintf("this dose of %s was reckoned for %s L; %s held %s L", dayOf(s.r.At), figure(float64(meant)), v.Slug, figure(c.volume))).about(c)
	}
}

// hardSO2 is the total sulfur dioxide above which a malolactic culture rarely
// takes: workable 30 to 40, hard 40 to 60 mg/L (Australian Wine Research
// Institute, "Ask the AWRI: malolactic fermentation issues explored"); 60 as the
// line is a proposal.
const hardSO2 = 60 * quantity.MilligramPerLitre

func (s *step) inoculation(v vessel, c *contents, b Inoculation) {
	if b.Of != "malolactic" {
		return
	}
	s.decide(v, c)
	n := *c
	n.stage.bacteria = b.How != "native" || n.stage.bacteria
	n.stage.converted = false
	v.own().holds = &n
	if b.How == "native" {
		return
	}
	for _, a := range c.amounts {
		if a.Substance == SubstanceSO2 && c.volume > 0 && a.Mass.Per(litres(c.volume)) > hardSO2 {
			s.find(s.r, FoundCultureSulfite, fmt.Sprintf("a culture went into wine that has been given %s mg/L sulfur dioxide in all: above %s mg/L it rarely takes",
				figure(a.Mass.Per(litres(c.volume)).MgPerL()), figure(hardSO2.MgPerL()))).about(c)
		}
	}
}

func (s *step) verdict(v vessel, c *contents, b Verdict) {
	n := *c
	switch b.Says {
	case VerdictDry:
		n.stage.fermented = true
	case VerdictMalolacticStarted, VerdictMalolacticStuck:
		n.stage.bacteria, n.stage.converted = true, false
	case VerdictMalolacticFinished, VerdictMalolacticGivenUp:
		n.stage.fermented, n.stage.converted = true, true
	default:
		return
	}
	s.decide(v, c)
	v.own().holds = &n
}
