package blend

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"elevage/internal/fault"
	"elevage/science/quantity"
)

// A Short is a limit that stands in the way.
type Short struct {
	Limit Limit
	// Nearest is as near as the blend comes to the limit while all others are kept, in
	// the property's own unit (shares and strengths as they are, concentrations in
	// g/L); By is how far that is off.
	Nearest, By float64
	Says        string
}

// Told are Nearest and By as a page writes them, with their unit.
func (s *Short) Told() (nearest, by string) {
	p := properties[s.Limit.p]
	tell := func(v float64) string {
		return strings.TrimSpace(strconv.FormatFloat(v*p.shown, 'f', 2, 64) + " " + p.unit)
	}
	return tell(s.Nearest), tell(s.By)
}

// A Conflict says why there is no blend.
type Conflict struct {
	// Limits are a smallest set that cannot be kept together: without any one of them
	// there would be a blend.
	Limits []Short
	// Most is the greatest volume that keeps all limits, where only the volume stands
	// in the way; 0 otherwise.
	Most quantity.Volume
	Says string
}

func tooMany(n, most int) error {
	return fault.BadFields("find blend", fault.Field{Name: "sources", Given: fmt.Sprint(n), Allowed: fmt.Sprintf("at most %d wines where each is to be emptied or left alone", most)})
}

// conflict finds a smallest set of limits that cannot be kept together, and for each
// by how much it would have to give way.
func (f *finder) conflict() (*Conflict, error) {
	volume := f.wish.Least.Litres()
	var onHand float64
	for _, s := range f.sources {
		onHand += s.Volume.Litres()
	}
	if volume > onHand {
		return &Conflict{Most: quantity.Volume(onHand), Says: fmt.Sprintf("%s L are wanted and %s L are on hand", figure(volume), figure(onHand))}, nil
	}
	rows, err := f.rowsOf(f.wish.Limits...)
	if err != nil {
		return nil, err
	}
	some, err := f.possible(rows, 0)
	if err != nil {
		return nil, err
	}
	if some {
		most, err := f.greatest()
		if err != nil && !errors.Is(err, errNone) {
			return nil, err
		}
		return f.tooMuch(most), nil
	}
	// Leave rows out one by one, as long as what is left cannot be kept either.
	core := slices.Clone(rows)
	for i := 0; i < len(core); {
		without := slices.Delete(slices.Clone(core), i, i+1)
		ok, err := f.possible(without, 0)
		if err != nil {
			return nil, err
		}
		if ok {
			i++
		} else {
			core = without
		}
	}
	c := &Conflict{}
	for i := range core {
		s, err := f.short(core, i)
		if err != nil {
			return nil, err
		}
		c.Limits = append(c.Limits, s)
	}
	c.Says = c.words()
	return c, nil
}

// possible says whether rows can be kept together in a volume; 0 for a drop.
func (f *finder) possible(rows []*row, volume float64) (bool, error) {
	if volume == 0 {
		volume = 1e-3
	}
	_, err := f.best(&task{rows: rows, volume: volume})
	if errors.Is(err, errNone) {
		return false, nil
	}
	return err == nil, err
}

// tooMuch is a conflict about volumes only.
func (f *finder) tooMuch(most float64) *Conflict {
	c := &Conflict{Most: quantity.Volume(most)}
	switch least := f.wish.Least.Litres(); {
	case least > most+1e-9:
		c.Says = fmt.Sprintf("%s L are wanted; within the limits %s L can be made at most", figure(least), figure(most))
	case f.wish.Whole:
		c.Says = fmt.Sprintf("no choice of whole vessels keeps the limits; if some may be left part full, up to %s L can be made", figure(most))
	default:
		c.Says = fmt.Sprintf("up to %s L can be made, which fill none of the vessels", figure(most))
	}
	return c
}

// short finds how near a blend comes to one row of a core while it keeps the others.
func (f *finder) short(core []*row, i int) (Short, error) {
	r := core[i]
	x, err := f.best(&task{rows: core, volume: 1e-3, elastic: map[*row]bool{r: true}})
	if err != nil {
		return Short{}, err
	}
	b, err := f.blend(x, 1, "")
	if err != nil {
		return Short{}, err
	}
	s := Short{Limit: r.limit, Nearest: f.valueOf(r.limit, &b, x)}
	s.By = math.Abs(s.Nearest - r.at)
	p := properties[r.limit.p]
	unit, name := "", p.name
	if p.unit != "" {
		unit = " " + p.unit
	}
	if r.limit.p == share {
		name = "the share of " + r.limit.name
	}
	edge, end := "at least", "at most"
	if !r.upper {
		edge, end = "at most", "at least"
	}
	s.Says = fmt.Sprintf("%s %s %s%s: the others allow %s %s%s, off by %s%s", name, end, figure(r.at*p.shown), unit, edge, figure(s.Nearest*p.shown), unit, figure(s.By*p.shown), unit)
	return s, nil
}

func (c *Conflict) words() string {
	if len(c.Limits) == 1 {
		return "no blend of these wines can keep " + c.Limits[0].Limit.String() + ": " + c.Limits[0].Says
	}
	names := make([]string, len(c.Limits))
	for i, s := range c.Limits {
		names[i] = s.Limit.String()
	}
	return "these limits cannot be kept together: " + strings.Join(names, "; ")
}
