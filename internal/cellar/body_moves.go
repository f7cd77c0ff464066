package cellar

import (
	"fmt"

	"elevage/science/quantity"
)

// A Portion is wine, must or fruit taken from or put into one vessel.
type Portion struct {
	Vessel string `json:"vessel"`
	// Volume that was taken or put in. Left out of a source it is what went
	// elsewhere, and everything if that is not known either; left out of a
	// destination it is what was left over.
	Volume *Measure `json:"volume,omitempty"`
	// All says that the source was emptied, whatever the record held.
	All bool `json:"all,omitempty"`
	// Part names a fraction of a press: "free run", "hard press".
	Part string `json:"part,omitempty"`
}

// Losses by kind: the doors by which wine leaves without going into a vessel.
const (
	LossLees        = "lees"
	LossSample      = "sample"
	LossSpill       = "spill"
	LossEvaporation = "evaporation"
	LossPomace      = "pomace"
	LossUnknown     = "unknown"
)

// Losses are the kinds of loss that an entry may state.
var Losses = []string{LossLees, LossSample, LossSpill, LossEvaporation, LossPomace, LossUnknown}

// A Loss is wine that went nowhere.
type Loss struct {
	Kind   string   `json:"kind"` // of Losses
	Volume *Measure `json:"volume"`
}

// MovementKinds say how wine moved. They are words for the reader: what
// happens to volumes follows from where from, where to and how much alone.
var MovementKinds = []string{"filling", "racking", "topping", "splitting", "blending", "settling", "saignée", "removal", "return"}

// A Movement takes wine out of vessels, or from outside the cellar, and puts it
// into vessels, or lets it leave.
//
// The lot of the wine goes with it into an empty vessel; wine that joins other
// wine becomes part of the lot that is there. Becomes says otherwise: the wine
// in every destination is then of that lot.
type Movement struct {
	How     string    `json:"how,omitempty"`     // of MovementKinds
	Lot     string    `json:"lot,omitempty"`     // of wine that comes from outside
	Becomes string    `json:"becomes,omitempty"` // lot of the wine in all destinations
	From    []Portion `json:"from,omitempty"`    // none: from outside
	To      []Portion `json:"to,omitempty"`      // none: it leaves the cellar
	Losses  []Loss    `json:"losses,omitempty"`
	// Rest says where the remainder of an emptied source went: "lees" for a
	// racking. Without it what is not moved stays in the source.
	Rest  string `json:"rest,omitempty"`
	Gas   string `json:"gas,omitempty"`
	Words string `json:"words,omitempty"`
}

// Kind is KindMovement.
func (Movement) Kind() Kind { return KindMovement }

func (b Movement) check(c *checker) {
	c.oneOf("how", b.How, false, MovementKinds...)
	c.slug("lot", b.Lot, len(b.From) == 0 && len(b.To) > 0)
	c.slug("becomes", b.Becomes, false)
	if len(b.From) == 0 && len(b.To) == 0 {
		c.bad("from", "", "a vessel it came from or a vessel it went to")
	}
	c.portions("from", b.From)
	c.portions("to", b.To)
	if len(b.From) == 0 {
		for i, p := range b.To {
			c.amount(fmt.Sprintf("volume into %s", b.To[i].Vessel), p.Volume, true, Volume)
		}
	}
	for _, l := range b.Losses {
		c.oneOf("loss", l.Kind, true, Losses...)
		c.amount("loss to "+l.Kind, l.Volume, true, Volume)
	}
	c.oneOf("rest", b.Rest, false, Losses...)
	c.text("gas", b.Gas, maxName)
	c.text("words", b.Words, maxText)
}

func (c *checker) portions(name string, ps []Portion) {
	if len(ps) > 200 {
		c.bad(name, itoa(len(ps))+" vessels", "at most 200")
	}
	seen := make(map[string]bool, len(ps))
	for _, p := range ps {
		c.slug(name+" vessel", p.Vessel, true)
		if seen[p.Vessel] {
			c.bad(name+" vessel", p.Vessel, "each vessel once")
		}
		seen[p.Vessel] = true
		c.amount("volume "+name+" "+p.Vessel, p.Volume, false, Volume)
		c.text("part", p.Part, maxName)
	}
}

// FruitReceived is fruit that comes in by weight. In a vessel it waits there
// as fruit; without one it only belongs to its lot.
type FruitReceived struct {
	Lot       string   `json:"lot"`
	Vessel    string   `json:"vessel,omitempty"`
	Weight    *Measure `json:"weight"`         // as the scale showed it
	Tare      *Measure `json:"tare,omitempty"` // of crates weighed along: it is taken off
	Grower    string   `json:"grower,omitempty"`
	Block     string   `json:"block,omitempty"`
	Variety   string   `json:"variety,omitempty"`
	Picked    string   `json:"picked,omitempty"` // a moment
	Warmth    *Measure `json:"warmth,omitempty"` // temperature inside the bin
	RotPct    *Measure `json:"rot,omitempty"`    // share of rotten clusters
	Price     *Measure `json:"price,omitempty"`  // of the whole
	Condition string   `json:"condition,omitempty"`
}

// Kind is KindFruit.
func (FruitReceived) Kind() Kind { return KindFruit }

// Net is the weight of the fruit alone: what the scale showed less the crates.
func (b FruitReceived) Net() (quantity.Mass, error) {
	w, err := b.Weight.Mass()
	if err != nil || b.Tare.IsZero() {
		return w, err
	}
	t, err := b.Tare.Mass()
	return max(0, w-t), err
}

func (b FruitReceived) check(c *checker) {
	c.slug("lot", b.Lot, true)
	c.slug("vessel", b.Vessel, false)
	c.amount("weight", b.Weight, true, Mass)
	c.amount("tare", b.Tare, false, Mass)
	if w, err := b.Weight.Mass(); err == nil && !b.Tare.IsZero() {
		if t, err := b.Tare.Mass(); err == nil && t >= w {
			c.bad("tare", b.Tare.String(), "less than the weight with them, "+b.Weight.String())
		}
	}
	c.text("grower", b.Grower, maxName)
	c.text("block", b.Block, maxName)
	c.text("variety", b.Variety, maxName)
	c.moment("picked", b.Picked)
	c.measure("temperature", b.Warmth, false, Temperature)
	c.amount("rot", b.RotPct, false, Ratio)
	c.amount("price", b.Price, false, Currency)
	c.text("condition", b.Condition, maxText)
}

// Crush turns fruit into must on skins. The fruit comes out of the vessels it
// waited in, all of it, or straight from receipt when From is empty.
type Crush struct {
	Lot       string    `json:"lot"`
	From      []Portion `json:"from,omitempty"`
	To        []Portion `json:"to"`
	Destemmed string    `json:"destemmed,omitempty"` // "all", "part", "none"
	Crushed   string    `json:"crushed,omitempty"`   // "all", "part", "none"
	Juice     bool      `json:"juice,omitempty"`     // true when pressed at once: no skins
	Words     string    `json:"words,omitempty"`
}

// Kind is KindCrush.
func (Crush) Kind() Kind { return KindCrush }

func (b Crush) check(c *checker) {
	c.slug("lot", b.Lot, true)
	c.portions("from", b.From)
	c.portions("to", b.To)
	if len(b.To) == 0 {
		c.bad("to", "", "the vessel that the must went into")
	}
	for _, p := range b.To {
		c.amount("must in "+p.Vessel, p.Volume, true, Volume)
	}
	c.oneOf("destemmed", b.Destemmed, false, "all", "part", "none")
	c.oneOf("crushed", b.Crushed, false, "all", "part", "none")
	c.text("words", b.Words, maxText)
}

// Press parts liquid from skins: the sources are emptied, what does not go
// into a vessel is pomace. Drained says that only free run was taken and the
// skins stayed.
type Press struct {
	From    []Portion `json:"from"`
	To      []Portion `json:"to"`
	Drained bool      `json:"drained,omitempty"`
	Losses  []Loss    `json:"losses,omitempty"`
	Density *Measure  `json:"density,omitempty"` // of the wine when pressed
	Words   string    `json:"words,omitempty"`
}

// Kind is KindPress.
func (Press) Kind() Kind { return KindPress }

func (b Press) check(c *checker) {
	if len(b.From) == 0 {
		c.bad("from", "", "the vessel that was pressed")
	}
	if len(b.To) == 0 {
		c.bad("to", "", "the vessel that the wine went into")
	}
	c.portions("from", b.From)
	c.portions("to", b.To)
	for _, p := range b.To {
		c.amount("wine in "+p.Vessel, p.Volume, true, Volume)
	}
	for _, l := range b.Losses {
		c.oneOf("loss", l.Kind, true, Losses...)
		c.amount("loss to "+l.Kind, l.Volume, true, Volume)
	}
	c.measure("density", b.Density, false, Gravity)
	c.text("words", b.Words, maxText)
}

// Dip is what a vessel was found to hold: it re-anchors the volume.
type Dip struct {
	Vessel string   `json:"vessel"`
	Volume *Measure `json:"volume"`
	How    string   `json:"how,omitempty"` // "stick", "weight", "mark"
	Words  string   `json:"words,omitempty"`
}

// Kind is KindDip.
func (Dip) Kind() Kind { return KindDip }

func (b Dip) check(c *checker) {
	c.slug("vessel", b.Vessel, true)
	c.amount("volume", b.Volume, true, Volume)
	c.oneOf("how", b.How, false, "stick", "weight", "mark", "ullage")
	c.text("words", b.Words, maxText)
}

// Bottling fills bottles. They are kept as a vessel of their own, named by
// Slug, that holds the lot until the last one is opened.
type Bottling struct {
	Slug    string    `json:"slug"`
	Lot     string    `json:"lot,omitempty"` // if it becomes another lot
	From    []Portion `json:"from"`
	Count   int       `json:"count"`
	Size    *Measure  `json:"size"`
	Closure string    `json:"closure,omitempty"`
	Place   string    `json:"place,omitempty"`
	Losses  []Loss    `json:"losses,omitempty"`
	Words   string    `json:"words,omitempty"`
}

// Kind is KindBottling.
func (Bottling) Kind() Kind { return KindBottling }

func (b Bottling) check(c *checker) {
	c.slug("bottling", b.Slug, true)
	c.slug("lot", b.Lot, false)
	if len(b.From) == 0 {
		c.bad("from", "", "the vessel that was bottled")
	}
	c.portions("from", b.From)
	if b.Count < 1 || b.Count > 10_000_000 {
		c.bad("count", itoa(b.Count), "1 bottle or more")
	}
	c.amount("size", b.Size, true, Volume)
	c.text("closure", b.Closure, maxName)
	c.text("place", b.Place, maxName)
	for _, l := range b.Losses {
		c.oneOf("loss", l.Kind, true, Losses...)
		c.amount("loss to "+l.Kind, l.Volume, true, Volume)
	}
	c.text("words", b.Words, maxText)
}

// Opened takes bottles out of a bottling.
type Opened struct {
	Bottling string `json:"bottling"`
	Count    int    `json:"count,omitempty"` // 0 reads as 1
	Why      string `json:"why,omitempty"`   // "drunk", "given", "lost", "sold", "tested"
	Score    string `json:"score,omitempty"` // in the person's own scale
	Words    string `json:"words,omitempty"`
}

// Kind is KindOpened.
func (Opened) Kind() Kind { return KindOpened }

func (b Opened) check(c *checker) {
	c.slug("bottling", b.Bottling, true)
	if b.Count < 0 || b.Count > 10_000_000 {
		c.bad("count", itoa(b.Count), "1 bottle or more")
	}
	c.oneOf("why", b.Why, false, "drunk", "given", "lost", "sold", "tested")
	c.text("score", b.Score, maxName)
	c.text("words", b.Words, maxText)
}

func portionVessels(names []string, ps []Portion) []string {
	for i := range ps {
		names = append(names, ps[i].Vessel)
	}
	return names
}

func (b Movement) vessels(n []string) []string {
	return portionVessels(portionVessels(n, b.From), b.To)
}
func (b Crush) vessels(n []string) []string    { return portionVessels(portionVessels(n, b.From), b.To) }
func (b Press) vessels(n []string) []string    { return portionVessels(portionVessels(n, b.From), b.To) }
func (b Dip) vessels(n []string) []string      { return append(n, b.Vessel) }
func (b Bottling) vessels(n []string) []string { return append(portionVessels(n, b.From), b.Slug) }
func (b Opened) vessels(n []string) []string   { return append(n, b.Bottling) }
func (b FruitReceived) vessels(n []string) []string {
	if b.Vessel == "" {
		return n
	}
	return append(n, b.Vessel)
}
