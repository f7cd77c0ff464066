package chart

import (
	"fmt"
	"math"
	"strings"
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

// Band is wine in one vessel as it flows on.
type Band struct {
	ID, Name string
	Reach    string // id of the wine it belongs to; "": it stands for itself
	Tone     Tone
	Bottled  bool         // drawn hollow
	Points   []RiverPoint // in order of time
	Marks    []RiverMark
}

// A Reach is a wine in all the vessels it was in: its bands are drawn together under
// its name.
type Reach struct {
	ID, Name string
	Link     string // page of the wine; "" for none
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

// Flow is wine that leaves one band for another: a racking, a topping, a blend.
// The bands' own points say what they hold before and after.
type Flow struct {
	From, To string // ids of bands
	At       time.Time
	Litres   float64
}

// River shows a cellar over time: bands as thick as their volume, which branch
// and join; ahead of now they are hatched.
//
// The bands of one reach lie together under its name, and wine that moves on whole
// goes on in the row it was in; reaches lie in the order in which they begin.
type River struct {
	ID, Title, Desc string
	Reaches         []Reach
	Bands           []Band
	Flows           []Flow
	Now             time.Time
	From, To        time.Time
	// PerYear is how wide a year is drawn, in user units; 0 fits the whole to the
	// size. A wider drawing is for a page that lets it slide under a window.
	PerYear float64
}

// Name is the title.
func (c River) Name() string { return c.Title }

func (c River) describe() string {
	if c.Desc != "" {
		return c.Desc
	}
	reaches, alive := map[string]bool{}, map[string]bool{}
	total := 0.0
	for _, b := range c.Bands {
		reaches[b.reach()] = true
		if v := b.litres(c.Now); v > 0 {
			total += v
			alive[b.reach()] = true
		}
	}
	return fmt.Sprintf("%d wines over time, each as thick as its volume; %d of them hold %s now.", len(reaches), len(alive), litres(total))
}

func (b Band) reach() string {
	if b.Reach == "" {
		return "\x00" + b.ID // no reach is called that
	}
	return b.Reach
}

// full is the band's name in words that stand alone.
func (c River) full(b Band) string {
	for _, r := range c.Reaches {
		if r.ID == b.Reach && b.Reach != "" {
			return r.Name + ", " + b.Name
		}
	}
	return b.Name
}

// Table has one row for each band: since when and until when, what it held at first,
// at most and now, where that came from and went, and the marks on it.
func (c River) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"wine", "from", "until", "at first", "at most", "now", "came from", "went to", "marked"}}
	name := map[string]string{}
	for _, b := range c.Bands {
		name[b.ID] = c.full(b)
	}
	into, out := map[string][]string{}, map[string][]string{}
	for _, f := range c.Flows {
		into[f.To] = append(into[f.To], fmt.Sprintf("%s: %s of %s", day(f.At, c.Now), litres(f.Litres), name[f.From]))
		out[f.From] = append(out[f.From], fmt.Sprintf("%s: %s to %s", day(f.At, c.Now), litres(f.Litres), name[f.To]))
	}
	var rows []tableRow
	for _, b := range c.Bands {
		if len(b.Points) == 0 {
			continue
		}
		until, now := "", "–"
		if last := b.Points[len(b.Points)-1]; !(last.Litres > 0) {
			until = day(last.At, c.Now)
		}
		if v := b.litres(c.Now); v > 0 {
			now = litres(v)
		}
		var marks []string
		for _, m := range b.Marks {
			words := day(m.At, c.Now) + ": " + m.Label
			if !c.Now.IsZero() && m.At.After(c.Now) {
				words += " (expected)"
			}
			marks = append(marks, words)
		}
		first := b.Points[0]
		rows = append(rows, tableRow{first.At, []string{c.full(b) + " (" + b.Tone.String() + ")", day(first.At, c.Now), until, litres(first.Litres), litres(b.most()), now,
			strings.Join(into[b.ID], "; "), strings.Join(out[b.ID], "; "), strings.Join(marks, "; ")}})
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
