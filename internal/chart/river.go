package chart

import (
	"fmt"
	"math"
	"time"
)

// Tone is how dense a band is drawn; it follows the wine, and the table names it.
type Tone int

// The tones, from the densest.
const (
	Dark   Tone = iota // red
	Middle             // rosé, or red must on skins
	Light              // white
)

func (t Tone) String() string {
	switch t {
	case Light:
		return "white"
	case Middle:
		return "rosé"
	}
	return "red"
}

func (t Tone) strength() float64 {
	switch t {
	case Light:
		return 0.2
	case Middle:
		return 0.42
	}
	return 0.72
}

// RiverPoint says that from a moment on the band holds so many litres; none ends it.
type RiverPoint struct {
	At     time.Time
	Litres float64
}

// RiverMark is an entry on a band, or ahead of now something expected.
type RiverMark struct {
	At    time.Time
	Label string
	Shape Shape
}

// Band is one lot (or one parcel) as it flows on.
type Band struct {
	ID, Name string
	Tone     Tone
	Points   []RiverPoint // in order of time
	Marks    []RiverMark
}

// litres is what the band holds at a moment.
func (b Band) litres(t time.Time) float64 {
	v := 0.0
	for _, p := range b.Points {
		if p.At.After(t) {
			break
		}
		v = p.Litres
	}
	return v
}

func (b Band) most() float64 {
	m := 0.0
	for _, p := range b.Points {
		m = math.Max(m, p.Litres)
	}
	return m
}

// Flow is wine that leaves one band for another: a split, a topping, a blend.
// The bands' own points say what they hold before and after.
type Flow struct {
	From, To string // ids of bands
	At       time.Time
	Litres   float64
}

// River shows a cellar over time: bands as thick as their volume, which branch
// and join; ahead of now they are hatched.
type River struct {
	ID, Title, Desc string
	Bands           []Band // from the top
	Flows           []Flow
	Now             time.Time
	From, To        time.Time
}

// Name is the title.
func (c River) Name() string { return c.Title }

func (c River) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	total, alive := 0.0, 0
	for _, b := range c.Bands {
		if v := b.litres(c.Now); v > 0 {
			total += v
			alive++
		}
	}
	return fmt.Sprintf("%d lots over time, each as thick as its volume; %d of them hold %s now.", len(c.Bands), alive, litres(total))
}

// Table lists what each band held from when, its entries, and every flow.
func (c River) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"date", "lot", "what", "volume"}}
	names := map[string]string{}
	var rows []tableRow
	for _, b := range c.Bands {
		names[b.ID] = b.Name
		for _, q := range b.Points {
			rows = append(rows, tableRow{q.At, []string{day(q.At, c.Now), b.Name, "holds (" + b.Tone.String() + ")", litres(q.Litres)}})
		}
		for _, m := range b.Marks {
			what := m.Label
			if !c.Now.IsZero() && m.At.After(c.Now) {
				what += " (expected)"
			}
			rows = append(rows, tableRow{m.At, []string{day(m.At, c.Now), b.Name, what, ""}})
		}
	}
	for _, f := range c.Flows {
		rows = append(rows, tableRow{f.At, []string{day(f.At, c.Now), names[f.From], "to " + names[f.To], litres(f.Litres)}})
	}
	t.Rows = inOrder(rows)
	return t
}

// litres writes a volume: whole litres from ten on, tenths below.
func litres(v float64) string {
	if v >= 10 {
		return fixed(v, 0) + " L"
	}
	return fixed(v, 1) + " L"
}
