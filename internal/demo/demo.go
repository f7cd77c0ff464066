// Package demo writes the ledger of an invented cellar: two people, a dozen lots
// of three vintages, each in another situation. Names, places and numbers are
// made up; nothing here is a fact about wine, and every page of the demo says so.
//
//	entries, err := demo.Entries(time.Now())
//
// The story is told backwards from the day it is opened, so that it is always
// in the middle of things: "inoculated nine days ago" stays nine days.
package demo

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"time"

	"elevage/internal/cellar"
)

// Key and Title name the demo's cellar.
const (
	Key   = "demo"
	Title = "Elder Hollow"
)

// The two people of the story, invented.
const (
	runa  = "Runa"
	corin = "Corin"
)

// Entries is the whole ledger as of a moment, in the order in which it was
// written. The same moment gives the same entries.
func Entries(now time.Time) ([]cellar.Entry, error) {
	s := &story{now: now, random: rand.NewChaCha8([32]byte(bytes.Repeat([]byte{7}, 32)))}
	things(s)
	for _, lot := range lots {
		lot(s)
	}
	meterLog(s)
	return s.entries, s.err
}

// lots are told in the order of the first page of each.
var lots = []func(*story){tempranillo, pinot, riesling, cabernetFranc, merlot, zweigelt, syrah, petite, grenache, blaufrankisch, dornfelder, nebbiolo}

// A story collects entries; the first thing that goes wrong ends it.
type story struct {
	now     time.Time
	random  *rand.ChaCha8
	again   int // how many times it was told before, with other names
	entries []cellar.Entry
	err     error
}

// write keeps bodies as having happened days ago at an hour, told by a person.
func (s *story) write(daysAgo, hour int, by string, bodies ...cellar.Body) []cellar.ID {
	if s.err != nil {
		return nil
	}
	y, m, d := s.now.AddDate(0, 0, -daysAgo).Date()
	at := time.Date(y, m, d, hour, 10, 0, 0, s.now.Location())
	if at.After(s.now) {
		at = s.now.Add(-time.Minute)
	}
	drafts := make([]cellar.Draft, len(bodies))
	for i, b := range bodies {
		drafts[i] = cellar.Draft{Happened: cellar.At(at.Add(time.Duration(i) * time.Minute)), Body: b}
		if drafts[i].Happened.Time.After(s.now) {
			drafts[i].Happened = cellar.At(s.now)
		}
	}
	pen := cellar.Pen{Cellar: Key, By: by, Device: "invented", Random: s.random}
	written := at.Add(time.Duration(len(bodies)+5) * time.Minute)
	if written.After(s.now) {
		written = s.now
	}
	entries, err := pen.Write(written, drafts...)
	if err != nil {
		s.err = fmt.Errorf("demo, %d days ago: %w", daysAgo, err)
		return nil
	}
	if s.again > 0 {
		entries = s.renamed(entries)
	}
	s.entries = append(s.entries, entries...)
	ids := make([]cellar.ID, len(entries))
	for i, e := range entries {
		ids[i] = e.ID
	}
	return ids
}

// year is the calendar year of a day before the story's now.
func (s *story) year(daysAgo int) int { return s.now.AddDate(0, 0, -daysAgo).Year() }

func m(value, unit string) *cellar.Measure { return cellar.M(value, unit) }

func ph(vessel, v string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadPH, Value: m(v, "pH"), Instrument: "meter"}
}

func ta(vessel, v string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadTA, Value: m(v, "g/L"), As: "tartaric", EndPoint: "8.2", Instrument: "titration"}
}

func malic(vessel, v string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadMalic, Value: m(v, "g/L"), Method: "strip"}
}

func paper(vessel, spot string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadChromatogram, Value: m(spot, "")}
}

func temp(vessel, v, unit string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadTemperature, Value: m(v, unit), Instrument: "probe"}
}

func alcohol(vessel, v string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadAlcohol, Value: m(v, "% vol"), Method: "two densities"}
}

func freeSO2(vessel, v string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadFreeSO2, Value: m(v, "mg/L"), Method: "aspiration", Instrument: "so2-kit"}
}

func totalSO2(vessel, v string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadTotalSO2, Value: m(v, "mg/L"), Method: "aspiration", Instrument: "so2-kit"}
}

func bubble(vessel, v, unit string) cellar.Body {
	return cellar.Reading{Vessel: vessel, What: cellar.ReadBubble, Value: m(v, unit)}
}

func kmbs(vessel, grams string) cellar.Body {
	return cellar.Addition{Vessel: vessel, Product: "potassium-metabisulfite", Amount: m(grams, "g"), Purpose: "protect"}
}

func fill(lot, vessel, volume, unit string) cellar.Body {
	return cellar.Movement{How: "filling", Lot: lot, To: []cellar.Portion{{Vessel: vessel, Volume: m(volume, unit)}}}
}

func culture(vessel, how, amount string) cellar.Body {
	b := cellar.Inoculation{Vessel: vessel, Of: "malolactic", How: how, Culture: "freeze-dried, invented"}
	if amount != "" {
		b.Amount = m(amount, "g")
	}
	return b
}

func dry(vessel string) cellar.Body {
	return cellar.Verdict{Vessel: vessel, Says: cellar.VerdictDry, Evidence: "0.994 three days running, sugar tablet under 1 g/L"}
}

func stir(vessel string) cellar.Body { return cellar.Stirring{Vessel: vessel, What: "lees"} }

// crushed brings fruit in, crushes it and presses it days later.
func (s *story) crushed(lot, bin string, daysAgo, pressed int, kilograms, must string, to ...cellar.Portion) {
	s.write(daysAgo, 9, runa, cellar.FruitReceived{Lot: lot, Vessel: bin, Weight: m(kilograms, "kg"), Warmth: m("17", "°C"), Condition: "sound"},
		cellar.Crush{Lot: lot, From: []cellar.Portion{{Vessel: bin, All: true}}, To: []cellar.Portion{{Vessel: bin, Volume: m(must, "L")}}, Destemmed: "all"})
	s.write(daysAgo-1, 18, corin, cellar.Inoculation{Vessel: bin, Of: "primary", How: "rehydrated", Culture: "dried yeast, invented"})
	s.write(daysAgo-4, 19, corin, cellar.Stirring{Vessel: bin, What: "punch-down"}, cellar.Reading{Vessel: bin, What: cellar.ReadDensity, Value: m("1.058", "SG")})
	s.write(pressed, 10, runa, cellar.Press{From: []cellar.Portion{{Vessel: bin, All: true}}, To: to})
	s.write(pressed, 16, corin, cellar.Care{Vessel: bin, What: "cleaned", With: "hot soda, rinsed"})
	for _, p := range to {
		s.write(pressed-3, 19, corin, dry(p.Vessel))
	}
}
